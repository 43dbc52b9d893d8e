"""``cutpath run``: how far the runs are that draw on the stock."""

from __future__ import annotations

from pathlib import Path

import click

from cutpath.cli.options import json_option
from cutpath.cli.stock import note_option, stock_file, stock_option
from cutpath.cli.talk import answer, now, say
from cutpath.plain import seen


@click.group("run")
def command() -> None:
    """Follow the runs that were made with --stock: which rolls are cut, which pieces folded, packed and delivered.

    A run is known by the first letters of its name; the square on each ticket holds it and the piece's.
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
@click.argument("things", nargs=-1, metavar="[ROLL|PIECE]...")
@click.option("--count", type=int, metavar="N", help="How many of each piece; 0 takes back what was told.")
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
    """Tell that rolls of RUN are cut, or pieces folded, packed or delivered: all of them, or those named."""
    from cutpath import stock
    from cutpath.values.stock import Stage

    at = now()
    change = stock_file(path).change(
        lambda h: stock.tell(h, run, Stage(stage), at, things=things, count=count, note=note)
    )
    told = change.done
    say(
        f"{len(told)} {'roll' if stage == 'cut' else 'piece'}{'s' if len(told) != 1 else ''} of {told[0].run}: {stage}"
        if told
        else "there was nothing to tell"
    )
    if as_json:
        answer(told=[{"run": d.run, "stage": d.stage.value, "thing": d.thing, "count": d.count} for d in told])
