"""``cutpath recut``: spoilt pieces once more, on what is left."""

from __future__ import annotations

from collections.abc import Container
from contextlib import closing
from dataclasses import replace as with_
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cutpath.cli.options import json_option, rolls_option, settled
from cutpath.cli.run import folder_of
from cutpath.cli.talk import ProgressLine, answer, now, say, say_findings, say_reserved
from cutpath.cli.typed import Whole

if TYPE_CHECKING:
    from cutpath.again import Earlier
    from cutpath.output import Written
    from cutpath.values.batch import Batch, Made, Planned
    from cutpath.values.nest import Roll
    from cutpath.values.stock import Run

_WORK = 2_000_000


@click.command("recut")
@click.argument("which", metavar="FOLDER|RUN")
@click.argument("pieces", nargs=-1, required=True, metavar="PIECE...")
@click.option("--count", type=Whole(min=1), default=1, show_default=True, metavar="N", help="How many of each piece.")
@click.option(
    "now_jobs",
    "--job",
    multiple=True,
    metavar="FILE",
    help="Cut the pieces as this job file has them now, measured anew; may be repeated: all of the run's jobs.",
)
@rolls_option
@click.option(
    "--stock",
    is_flag=False,
    flag_value="",
    metavar="[FILE]",
    help="Nest on what the stock holds, what is left of the run first, and reserve it; another file: --stock=FILE.",
)
@click.option("--no-stock", is_flag=True, help="Draw on no stock, whatever the settings say.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("recut"),
    show_default=True,
    metavar="DIR",
    help="New folder for everything that is written.",
)
@click.option("--replace", is_flag=True, help="Put the result in the place of an earlier result in DIR.")
@click.option(
    "--work", type=Whole(min=0), metavar="STEPS", default=_WORK, show_default=True, help="Steps of the search."
)
@click.option("--seed", type=Whole(min=0), metavar="N", help="Seed of the search; that of the run if left out.")
@json_option
def command(
    which: str,
    pieces: tuple[str, ...],
    count: int,
    now_jobs: tuple[str, ...],
    rolls: str | None,
    stock: str | None,
    out: Path,
    work: int,
    seed: int | None,
    *,
    no_stock: bool,
    replace: bool,
    as_json: bool,
) -> None:
    """Cut a spoilt piece once more, or several, with the name, marks, folds and ticket of the first.

    FOLDER or RUN is the run that it was cut in. Without --stock or --rolls it is nested on what that run left of its
    own rolls, and where these do not do on the list that is settled; or on the stock where the settings say so. What
    other re-cuts took, whose folders lie beside DIR or beside the run, is not there any more. The result is a run of
    its own, written for the machines and in the formats of the first. With --stock, its commit also puts the spoilt
    piece on the scrap pile.
    """
    from cutpath import again, output, pipeline, shop
    from cutpath.machines.beds import rolls_within
    from cutpath.recutting import on_rolls, recut
    from cutpath.shelf import labelled, on_what_is_left, wanting

    chosen = settled((), rolls=rolls, stock=False if no_stock else stock)
    stock, to_buy = chosen.stock, chosen.rolls
    first = again.earlier(folder_of(which, Path(stock) if stock else None))
    reads: list[str | Path] = [first.folder / output.MANIFEST, *now_jobs, *([to_buy] if to_buy else [])]
    place = click.get_current_context().with_resource(output.claim_folder(out, replace_old=replace, reads=reads))
    say_findings(place.findings)
    more = recut(first, pieces, count, jobs=now_jobs, work=work, seed=seed)
    line = ProgressLine()

    def nested(plan: Planned) -> Batch:
        with closing(line):
            return pipeline.nest_batch(plan, report=line)

    def reserved() -> tuple[Made, Written]:
        shelf, told = shop.shelf_for(Path(stock) if stock else None, place, to_buy)
        say_findings(told)
        with wanting(shelf.remedy):
            narrow, plan = on_what_is_left(shelf, more.planned, first.run, more.tools)
            batch = nested(plan)
        drawn = narrow.drawn(batch)
        made = more.made(batch, labelled(batch, drawn))
        run = shop.run_of(narrow, made, drawn, place.target, now())
        known = shelf.file.read().runs.get(first.run)
        if known is None:
            say(f"Run {first.run} does not draw on this stock: what was spoilt of it is not booked.")
        else:
            run = with_(run, spoilt=more.spoilt)
            _say_what_is_yet_to_be_committed(known, {piece.lead.code for piece in more.planned.pieces})
        return made, shop.put(shelf.file, run, made.files, place)

    if stock is None:
        with wanting("" if to_buy else "Draw on the stock with --stock, or name rolls with --rolls LIST."):
            left = _rolls(first, place.target, more.planned, rolls, to_buy)
            made = more.made(nested(on_rolls(more.planned, rolls_within(left, more.tools))))
        written = place.put(made.files)
    else:
        made, written = shop.until_kept(reserved, say_findings)
    findings = (*made.batch.findings, *written.findings)
    if as_json:
        say_findings(findings)
        answer(folder=str(written.path), files=list(made.files), run=made.run, of=first.run, reserved=stock is not None)
        return
    _tell_rolls(made.batch)
    say_findings(findings)
    if stock is not None:
        say_reserved(made.run)
    say(f"{len(made.files)} files are in {written.path}/")


def _say_what_is_yet_to_be_committed(first: Run, codes: Container[int]) -> None:
    """Say which rolls of the run, of some codes, leave nothing on the shelf as long as they are not committed."""
    from cutpath.values.stock import RunState

    uncut = [cut.sheet for cut in first.cuts if cut not in first.booked and cut.code in codes]
    if first.state is RunState.RESERVED and uncut:
        say(f"{', '.join(uncut)} of run {first.id} is not committed, so what it leaves is not on the shelf yet.")
        say(f"To cut from that, first: cutpath stock commit {first.id} {' '.join(uncut)}")


def _tell_rolls(batch: Batch) -> None:
    """Tell which pieces come from which roll, and how much is drawn off it."""
    from cutpath.paper.text import millimetres
    from cutpath.units import mm_text

    for sheet in batch.sheets:
        roll = sheet.nested.roll
        names = ", ".join(dict.fromkeys(placement.id for placement in sheet.nested.placements))
        size = f"{millimetres(roll.width_mm)} x {mm_text(roll.length_mm)}"
        click.echo(f"{names} from {sheet.id}: {roll.name or 'a roll'}, {size}, draw {mm_text(sheet.nested.drawn_mm)}")


def _rolls(
    first: Earlier, target: Path, planned: Planned, named: str | None, settled_ones: str | None
) -> tuple[Roll, ...]:
    """Return what a run left, less what other re-cuts took of it; a list's rolls where that does not do, or is named.

    A re-cut that lies where the new one is to lie gives way to it, and took nothing.
    """
    from cutpath.intake.files import is_closed
    from cutpath.profiles.rolls import rolls_list
    from cutpath.recutting import recuts_in, what_is_left
    from cutpath.shelf import enough

    if named is not None:
        return rolls_list(named)
    folders = dict.fromkeys((first.folder.resolve().parent, target.parent))
    for folder in folders:
        if is_closed(folder):
            say(f"{folder}/ cannot be listed: what a re-cut that lies there took of it is not left out.")
    recuts = recuts_in(folders)
    left, took = what_is_left(first, [run for run in recuts if run.folder != target])
    for recut in took:
        say(f"What {recut.folder} took of it is left out: delete that folder if it is not cut.")
    if first.made_from.stock is not None:
        say("Its rolls came from a stock: what it left of them may be taken since. --stock draws on what is there.")
    return left if settled_ones is None else enough(planned, left, rolls_list(settled_ones))
