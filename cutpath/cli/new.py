"""``cutpath new``: a job file or an order sheet to begin with."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import click

from cutpath.cli import completing
from cutpath.cli.kinds import find_kind, no_such_kind
from cutpath.cli.options import json_option
from cutpath.cli.talk import answer, say, say_findings

SHEET_WORDS = "order sheet"


@click.command("new")
@click.argument("words", nargs=-1, required=True, metavar="KIND", shell_complete=completing.kinds)
@click.option("--out", metavar="FILE", help="File to write, - for standard output; KIND.toml if left out.")
@json_option
def command(words: tuple[str, ...], out: str | None, *, as_json: bool) -> None:
    """Write a commented job file for a KIND of detail, such as step flashing, with figures to put your own in place of.

    `cutpath kinds` lists the kinds. The file passes `cutpath check` as it is; nothing is ever written over.
    `cutpath new order sheet` writes a blank sheet (XLSX, or CSV by --out FILE.csv) that takes many jobs, a row to each
    rectangle or plain detail; make, check and pieces read it like a job file.
    """
    from cutpath import output
    from cutpath.jobs.order_sheet import is_sheet
    from cutpath.jobs.starters import starter

    name = " ".join(words)
    if name.lower() == SHEET_WORDS:
        _order_sheet(out, as_json=as_json)
        return
    found = find_kind(name)
    if found is None:
        raise no_such_kind(name)
    target = out or f"{found.kind.replace(' ', '-')}.toml"
    if is_sheet(Path(target)):
        raise click.BadParameter(f"{target}: a job file ends in .toml; that is an order sheet", param_hint="--out")
    text = starter(found.kind, target if target != "-" else "job.toml")
    if target != "-" or not as_json:
        with _nothing_replaced():
            sink = click.get_current_context().with_resource(output.claim_text(None if target == "-" else Path(target)))
        say_findings(sink(text).findings)
    if target != "-":
        say(f"{target} is written: put your own figures in it, then run: cutpath check {target}")
    if as_json:
        answer(kind=found.kind, file=None if target == "-" else target, text=text)


@contextmanager
def _nothing_replaced() -> Iterator[None]:
    """Let a file that is there already be told with the one way out that this command has."""
    from cutpath.errors import Refused

    try:
        yield
    except Refused as refusal:
        remedy = "Give another name with --out; nothing is ever written over."
        raise Refused(replace(f, remedy=remedy) if f.code == "CP701" else f for f in refusal.findings) from None


def _order_sheet(out: str | None, *, as_json: bool) -> None:
    """Write a blank order sheet.

    Raises
    ------
    Refused
        CP702 where there is no room to make a workbook.
    """
    from cutpath import output
    from cutpath.errors import Finding, Refused
    from cutpath.jobs.order_sheet import template_csv, template_xlsx

    target = out or "order-sheet.xlsx"
    context = click.get_current_context()
    text = "" if target.lower().endswith(".xlsx") else template_csv()
    if not text:
        with _nothing_replaced():
            place = context.with_resource(output.claim_file(Path(target)))
        try:
            data = template_xlsx()
        except OSError as error:  # sheets are made in a file of the system's own folder for such
            found = f"the folder for temporary files cannot be written: {(error.strerror or str(error)).lower()}"
            raise Refused([Finding("CP702", target, found, "a disk with room", "Make room there.")]) from None
        say_findings((*place.findings, *place.put_file(data).findings))
    elif target != "-" and not target.lower().endswith(".csv"):
        raise click.BadParameter(f"{target}: an order sheet ends in .xlsx or .csv", param_hint="--out")
    elif target != "-" or not as_json:
        with _nothing_replaced():
            sink = context.with_resource(output.claim_text(None if target == "-" else Path(target)))
        say_findings(sink(text).findings)
    if target != "-":
        say(f"{target} is written: fill in a row for each thing, then run: cutpath check {target}")
    if as_json:
        answer(kind=SHEET_WORDS, file=None if target == "-" else target, text=text)
