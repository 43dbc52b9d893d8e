"""``cutpath run``: how far the runs are that draw on the stock."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cutpath.cli.helping import Listing
from cutpath.cli.options import json_option
from cutpath.cli.stock import note_option, stock_file, stock_option, stock_path
from cutpath.cli.talk import answer, now, say, say_findings
from cutpath.cli.typed import Whole
from cutpath.plain import seen

if TYPE_CHECKING:
    from cutpath.reports.words.run_list import Progress


def folder_of(which: str, path: Path | None) -> Path:
    """Return the folder of a run, named by itself or by the run's name in the stock.

    Raises
    ------
    Refused
        CP802 where the stock knows no such run.
    """
    from cutpath import stock
    from cutpath.errors import Finding, Refused

    folder = Path(which)
    if os.path.isdir(folder):
        return folder
    holding = stock_file(path).read()
    if not any(name.startswith(which) for name in holding.runs):
        found, wanted = "there is no such folder, and the stock knows no such run", "the folder of a run, or its name"
        remedy = "`cutpath run list` shows the runs of the stock and their folders."
        raise Refused([Finding("CP802", which, found, wanted, remedy)])
    return Path(stock.known_run(holding, which).out)


@click.group("run", cls=Listing)
def command() -> None:
    """Follow runs: which rolls are cut, which pieces folded, packed and delivered; what changed since; the same again.

    A run that was made with --stock is known by the first letters of its name; the square on each ticket holds it and
    the piece's. To repeat and to compare, the folder of any run will do.
    """


@command.command("list")
@stock_option
@click.option("--all", "every", is_flag=True, help="Also those that were released, or delivered whole.")
@json_option
def list_command(path: Path | None, *, every: bool, as_json: bool) -> None:
    """List runs, how far each is, and the rolls that are kept for it."""
    from cutpath.reports.words.run_list import run_rows, run_table

    file = stock_file(path)
    rows = run_rows([(run, file.done(run.id)) for run in file.read().runs.values()], every=every)
    answer(runs=rows) if as_json else click.echo(seen(run_table(rows)))


@command.command("show")
@stock_option
@click.argument("run")
@json_option
def show_command(path: Path | None, run: str, *, as_json: bool) -> None:
    """Show the rolls and pieces of RUN, and how many of each are cut, folded, packed and delivered."""
    from cutpath import stock
    from cutpath.reports.words.run_list import progress, progress_table

    file = stock_file(path)
    found = stock.known_run(file.read(), run)
    told = progress(found, file.done(found.id))
    answer(**told) if as_json else click.echo(seen(progress_table(told)))


@command.command("done")
@stock_option
@click.argument("run")
@click.argument("stage", type=click.Choice(["cut", "folded", "packed", "delivered"]))
@click.argument("things", nargs=-1, metavar="[ROLL|PIECE|JOB]...")
@click.option("--count", type=Whole(), metavar="N", help="How many of each piece by now, in all; 0 takes it back.")
@note_option
@json_option
def done_command(
    path: Path | None,
    run: str,
    stage: str,
    things: tuple[str, ...],
    *,
    count: int | None,
    note: str,
    as_json: bool,
) -> None:
    """Book that rolls of RUN are cut, or pieces folded, packed or delivered: all of them, or those named.

    JOB is a job's name, or the letters that it alone begins with: all of its pieces.
    """
    from cutpath import stock
    from cutpath.values.stock import Stage

    at, file = now(), stock_file(path)
    known = stock.known_run(file.read(), run)
    before = file.done(known.id)
    change = file.change(
        lambda h: stock.tell(h, known.id, Stage(stage), at, things=things, count=count, note=note, before=before)
    )
    told = change.done
    total = sum(d.count for d in told)
    say(
        f"{total} {'roll' if stage == 'cut' else 'piece'}{'s' if total != 1 else ''} of {told[0].run}: {stage}"
        if told
        else "there is nothing to book"
    )
    unbooked = [cut.sheet for cut in known.cuts if cut not in known.booked]
    if stage == Stage.CUT and (rolls := [d.thing for d in told if d.count and d.thing in unbooked]):
        say(f"The stock has what they left once they are booked: cutpath stock commit {known.id} {' '.join(rolls)}")
    if as_json:
        answer(told=[{"run": d.run, "stage": d.stage.value, "thing": d.thing, "count": d.count} for d in told])


@command.command("repeat")
@click.argument("which", metavar="FOLDER|RUN")
@stock_option
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    help="Write what is made to this new folder.",
)
@click.option("--replace", is_flag=True, help="Put it in the place of an earlier result in DIR.")
@json_option
def repeat_command(which: str, path: Path | None, out: Path | None, *, replace: bool, as_json: bool) -> None:
    """Make a run once more from what its manifest keeps, and say whether every byte is the same; exit 1 if not.

    Nothing is searched or booked: the pieces lie as they lay. Without --out nothing is written.
    """
    import contextlib

    from cutpath import __version__, again, output
    from cutpath.errors import Finding, Refused

    run = again.earlier(folder_of(which, path))
    with contextlib.ExitStack() as leaving:
        reads = [run.folder / output.MANIFEST]
        place = leaving.enter_context(output.claim_folder(out, replace_old=replace, reads=reads)) if out else None
        made = again.repeat(run)
        differ = again.differences(run, made)
        say_findings([*again.touched(run), *again.changed_inputs(run.made_from)])
        if place is not None:
            written = place.put(made.files)
            say_findings((*place.findings, *written.findings))
            say(f"{len(made.files)} files are in {written.path}/; nothing is booked, it is the same run")
    if differ:
        names, before = output.names_in_words(differ), run.manifest.version
        found = f"cutpath {before} made {names} differently" + ("" if before == __version__ else f" from {__version__}")
        remedy = "Check what was made before you go by it."
        raise Refused([Finding("CP708", f"run {run.run}", found, "the same bytes", remedy)])
    if as_json:
        answer(run=run.run, files=list(made.files))
    else:
        click.echo(f"run {run.run}: made once more, all {len(made.files)} files are the same")


@command.command("compare")
@click.argument("which", metavar="FOLDER|RUN")
@click.argument("jobs", nargs=-1, metavar="[JOB]...")
@stock_option
@json_option
def compare_command(which: str, jobs: tuple[str, ...], path: Path | None, *, as_json: bool) -> None:
    """Say piece by piece what became of a run's job since: alike, changed by how much and where, new, or gone.

    Without JOB, its job files as they are now. Where the stock knows the run, it says which pieces are cut already.
    """
    from cutpath import again
    from cutpath.reports.account.changes import changes, changes_table, only_counted

    run = again.earlier(folder_of(which, path))
    if not jobs and "-" in run.made_from.asked.jobs:
        raise click.UsageError("the job came through standard input: name the file that it is in now")
    before, now_, left_out = again.compared(run, jobs)
    rows = changes(before, now_)
    known = _progress_of(run.run, path)
    if known is not None:
        cut = {roll["roll"] for roll in known["rolls"] if roll["cut"]}
        told = {piece["piece"]: piece for piece in known["pieces"]}
        for row in rows:
            if (own := told.get(row["piece"])) is not None:
                row["cut"] = bool(own["rolls"]) and cut.issuperset(own["rolls"])
                row["folded"], row["packed"], row["delivered"] = own["folded"], own["packed"], own["delivered"]
    if as_json:
        answer(run=run.run, pieces=rows, left_out=left_out)
        return
    click.echo(seen(changes_table(rows)))
    counts = [(state, sum(row["state"] == state for row in rows)) for state in ("changed", "new", "gone", "alike")]
    say(f"{', '.join(f'{count} {state}' for state, count in counts if count)} of run {run.run}")
    counted = [row for row in rows if only_counted(row)]
    again_ = [row["piece"] for row in rows if row["state"] == "changed" and row["cut"] and row not in counted]
    if again_:
        files = " ".join(f"--job {job}" for job in jobs or run.made_from.asked.jobs)
        say(f"Cut already and changed: cutpath recut {run.run} {' '.join(again_)} {files}")
    if more := [f"{n} of {row['piece']}" for row in counted if (n := row["quantity"] - row["before"]) > 0]:
        say(f"Alike, but more are wanted: {', '.join(more)}: make these as a job of their own")
    if left_out:
        say(f"Left out, in none of these files: {', '.join(left_out)}")


def _progress_of(name: str, path: Path | None) -> Progress | None:
    """Return how far a run is; None where no stock knows it."""
    from cutpath.reports.words.run_list import progress

    usual = stock_path(None) if path is None else path
    file = stock_file(path) if usual is not None and (path is not None or usual.exists()) else None
    run = None if file is None else file.read().runs.get(name)
    return None if file is None or run is None else progress(run, file.done(name))
