"""``cutpath batches``: many batches from a list."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cutpath.cli import completing
from cutpath.cli.options import json_option
from cutpath.cli.talk import ProgressLine, answer, now, say
from cutpath.cli.typed import Whole

if TYPE_CHECKING:
    from collections.abc import Sequence
    from contextlib import AbstractContextManager

    from cutpath.batches.crews import Crew
    from cutpath.batches.many import Outcome


@click.command("batches")
@click.argument("listed", metavar="LIST", type=click.Path(path_type=Path), shell_complete=completing.files)
@click.option(
    "--workers",
    type=Whole(min=1),
    metavar="N",
    help="Processes, each of which makes one batch at a time; two for three cores if left out. The files are the same.",
)
@click.option(
    "--cluster",
    metavar="ADDRESS",
    help="Have the workers of a Dask cluster make them, by its scheduler's address such as tcp://HOST:8786. They need "
    "this version of cutpath, and no disk of this machine.",
)
@click.option("--replace", is_flag=True, help="Put results in the place of earlier results in their folders.")
@click.option(
    "--missing", is_flag=True, help="Make only batches whose folder holds no result: go on where it broke off."
)
@json_option
def command(
    listed: Path, workers: int | None, cluster: str | None, *, replace: bool, missing: bool, as_json: bool
) -> None:
    """Make many batches: a TOML file lists them, each with its jobs and a folder of its own.

    \b
        rolls = "ladder-30"            # the top: for all of them
        seconds = 10                   # counted as work, so any machine makes the same files
        [[batch]]
        name = "north"
        jobs = ["north/*.toml", "north/orders.xlsx"]
        folder = "cut/north"

    A batch, or the top, may say what a settings file does (rolls, practice, machine, gap, formats, stock) and what the
    options of make do (seconds or work, seed, least, opening, edge_trim, keep, worth, even_lengths, either_face,
    hidden_side, in_frames, labels, one_label, templates = true); settings = FILE stands in the place of the settings
    files that are found. Files are looked for from the folder of the list. A batch that is refused is named with its
    findings, and the others are made; then the command exits with 1. Batches that draw on one stock are made one after
    another.
    """  # noqa: D301 - the sign with which click keeps lines as they are
    from cutpath.batches import many
    from cutpath.batches.listing import read_list

    if workers is not None and cluster is not None:
        raise click.UsageError("--workers are processes of this machine; --cluster has its own: give one of them")
    if replace and missing:
        raise click.UsageError("--replace makes every batch anew, --missing only those that are not there: give one")
    entries = read_list(listed)
    context = click.get_current_context()
    line = ProgressLine()
    context.call_on_close(line.close)
    ended: list[Outcome] = []

    def told(outcome: Outcome) -> None:
        ended.append(outcome)
        line.close()
        _tell(outcome, f"{len(ended)} of {len(entries)}")
        line.stage("batches", len(ended), len(entries))

    crew = context.with_resource(_crew(workers, cluster, len(entries)))
    line.stage("batches", 0, len(entries))
    outcomes = many.make_all(entries, crew, many.How(now, replace_old=replace, missing=missing), told)
    line.close()
    if as_json:
        answer(batches=[_row(outcome) for outcome in outcomes])
    else:
        click.echo(_table(outcomes))
    failed = sum(outcome.state is many.State.FAILED for outcome in outcomes)
    if failed:
        say(f"{failed} of {len(entries)} batches failed; what was wrong stands above. Then: --missing makes the rest.")
        context.exit(1)


def _crew(workers: int | None, cluster: str | None, batches: int) -> AbstractContextManager[Crew]:
    from cutpath.batches import crews
    from cutpath.workers import cores

    if cluster is not None:
        return crews.cluster(cluster)
    return crews.processes(min(workers or crews.processes_for(cores()), batches))


def _tell(outcome: Outcome, how_far: str) -> None:
    """Say how one batch ended, and why where it failed; what a batch that was made has to say stands in its report."""
    from cutpath.batches.many import State
    from cutpath.errors import Severity
    from cutpath.reports.account.yield_tables import summary

    name = f"{how_far}, {outcome.entry.name}:"
    match outcome.state:
        case State.THERE:
            say(f"{name} there already")
        case State.FAILED:
            say(f"{name} failed")
            for finding in outcome.findings:
                if finding.severity is Severity.FAULT:
                    say(f"    fault: {finding}")
        case State.MADE:
            assert outcome.account is not None  # noqa: S101 - a batch that is made has one
            warned = sum(finding.severity is Severity.WARNING for finding in outcome.findings)
            more = f" {warned} warning{'s' if warned > 1 else ''}: see its report." if warned else ""
            say(f"{name} {summary(outcome.account)}{more}")


def _row(outcome: Outcome) -> dict[str, object]:
    return {
        "name": outcome.entry.name,
        "state": outcome.state.value,
        "folder": str(outcome.folder),
        "findings": [asdict(finding) for finding in outcome.findings],
        "files": list(outcome.files),
        "run": outcome.run,
        "account": outcome.account,
    }


def _table(outcomes: Sequence[Outcome]) -> str:
    from cutpath.paper.text import kilograms, percent, table

    rows = []
    for outcome in outcomes:
        if outcome.account is None:
            figures = ["-", "-", "-", "-"]
        else:
            totals = outcome.account["totals"]
            rolls = len(outcome.account["rolls"])
            figures = [str(totals["pieces"]), str(rolls), kilograms(totals["drawn_kg"]), percent(totals["yield"])]
        rows.append([outcome.entry.name, outcome.state.value, *figures, outcome.run, str(outcome.folder)])
    head = ("batch", "", "pieces", "rolls", "drawn kg", "yield", "run", "folder")
    return table(head, rows, left=frozenset({0, 1, 6, 7}))
