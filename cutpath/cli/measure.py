"""``cutpath measure``: a blank measuring sheet to take to the roof."""

from __future__ import annotations

from pathlib import Path

import click

from cutpath.cli import completing
from cutpath.cli.kinds import find_kind, no_such_kind
from cutpath.cli.options import json_option
from cutpath.cli.talk import answer, say, say_findings


@click.command("measure")
@click.argument("words", nargs=-1, required=True, metavar="KIND", shell_complete=completing.kinds)
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="The PDF; measure-KIND.pdf if left out.",
)
@click.option("--replace", is_flag=True, help="Write over FILE when it is there already.")
@json_option
def command(words: tuple[str, ...], out: Path | None, *, replace: bool, as_json: bool) -> None:
    """Write a blank measuring sheet (PDF, A4) for a KIND of detail: a sketch of what to measure, and places for it.

    Each letter of the sketch is a line to fill in, with its key of the job file beside it. `cutpath kinds` lists the
    kinds; `cutpath new KIND` writes the job file that the figures go into.
    """
    from cutpath import output, pipeline

    name = " ".join(words)
    found = find_kind(name)
    if found is None:
        raise no_such_kind(name)
    target = out or Path(f"measure-{found.kind.replace(' ', '-')}.pdf")
    place = click.get_current_context().with_resource(output.claim_file(target, replace_old=replace))
    say_findings((*place.findings, *place.put_file(pipeline.measuring_sheet(found.kind)).findings))
    say(f"{target} is written; print it on A4")
    if as_json:
        answer(kind=found.kind, file=str(target))
