"""``cutpath stock``: the shop's rolls, part rolls and offcuts, and the runs that draw on them."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from math import fsum
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from cutpath.cli.helping import Listing
from cutpath.cli.options import json_option, settled
from cutpath.cli.talk import answer, now, say, say_findings
from cutpath.cli.typed import LENGTH, LENGTH_OR_ABOUT, Number, Whole
from cutpath.errors import Finding, refuse_faults
from cutpath.plain import seen
from cutpath.units import mm_text

if TYPE_CHECKING:
    from cutpath.stock import StockFile
    from cutpath.values.stock import Change, Holding

F = TypeVar("F", bound=Callable[..., Any])


class _Label(click.ParamType[int]):
    name = "label"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:  # noqa: ANN401
        if isinstance(value, int):
            return value
        digits = str(value).strip().upper().removeprefix("S")
        if not (digits.isdecimal() and len(digits) < _LONGEST_LABEL and int(digits)):
            self.fail(f"{value} is not a label; labels look like S0017", param, ctx)
        return int(digits)


_LONGEST_LABEL = 15
LABEL = _Label()


def stock_option(function: F) -> F:
    """Name the stock file."""
    return click.option(
        "path",
        "--stock",
        type=click.Path(path_type=Path, dir_okay=False),
        metavar="FILE",
        help="The stock file; without it, the one that is settled, or one in the system's folder for a program's data.",
    )(function)


csv_option = click.option("--csv", "as_csv", is_flag=True, help="Print CSV on standard output, for a spreadsheet.")
note_option = click.option("--note", default="", metavar="TEXT", help="A note to keep with it.")
place_option = click.option("--place", metavar="TEXT", help="Where it lies.")
batch_option = click.option("--batch", metavar="TEXT", help="The batch mark on it.")
cost_option = click.option("--cost", type=Number(), metavar="MONEY", help="What each cost, in your own money.")


@click.group("stock", cls=Listing)
def command() -> None:
    """Keep the account of the shop's rolls, part rolls and kept offcuts, and of every kilogram that moves.

    `cutpath make --stock` nests on what is there and reserves it; `commit` books what was cut, `release` gives it back.
    """


def stock_path(path: Path | None) -> Path | None:
    """Return where the stock file lies: the one named, settled or usual; None where a user has no home."""
    from cutpath import stock

    named = settled(()).stock if path is None else path
    return Path(named) if named else stock.default_path()


def stock_file(path: Path | None, *, create: bool = False) -> StockFile:
    """Return the stock file named, settled or usual; say what of broken off runs was settled, and where there is none.

    ``create`` says that the command makes the file.
    """
    from cutpath import shop

    file, told = shop.opened(stock_path(path))
    say_findings(told)
    if not create and not file.exists():
        say(f"There is no stock file {file.path} yet; cutpath stock add makes one.")
    return file


def _show(change: Change, *, as_json: bool) -> None:
    """Print what is on the shelf now by a change."""
    from cutpath.reports.words.stock_list import item_rows, item_table

    gone = set(change.gone)
    rows = item_rows(item for item in change.put if item.number not in gone)
    if as_json:
        answer(items=rows)
    elif rows:
        click.echo(seen(item_table(rows)))


def _doubts(width_mm: float | None, length_mm: float | None, *, whole: bool = False) -> list[Finding]:
    """Hold what is told of a roll against what rolls are, by the shop's own ranges where it has them."""
    from cutpath.trade.in_force import in_force
    from cutpath.trade.plausible import check_roll

    return check_roll(in_force(settled(()).practice)[1], {"width": width_mm, "length": length_mm}, whole=whole)


@command.command("add")
@stock_option
@click.option("--code", type=Whole(), metavar="N", required=True, help="Lead code.")
@click.option("--width", type=LENGTH, required=True, help="Width of the roll.")
@click.option("--length", type=LENGTH_OR_ABOUT, required=True, help='Length; "about 4 m" where nobody measured it.')
@click.option(
    "--quantity", type=Whole(), metavar="N", default=1, show_default=True, help="How many alike; each gets a label."
)
@click.option(
    "--kind", type=click.Choice(["roll", "part roll", "offcut"]), default="roll", show_default=True, help="What it is."
)
@click.option("--about", is_flag=True, help="Nobody measured the length: tickets will say to measure it first.")
@place_option
@batch_option
@cost_option
@note_option
@json_option
def add_command(
    path: Path | None,
    code: int,
    width: float,
    length: tuple[float, bool],
    quantity: int,
    kind: str,
    *,
    about: bool,
    place: str | None,
    batch: str | None,
    cost: float | None,
    note: str,
    as_json: bool,
) -> None:
    """Put rolls, part rolls or offcuts on the shelf; write the label on each."""
    from cutpath import stock
    from cutpath.profiles import lead_table
    from cutpath.values.stock import Kind

    known = lead_table()
    if code not in known:
        raise click.BadParameter(
            f"there is no code {code}; choose one of {', '.join(map(str, known))}", param_hint="--code"
        )
    delivery = stock.Delivery(
        code=code,
        mass_kg_m2=known[code].mass_kg_m2,
        width_mm=width,
        length_mm=length[0],
        kind=Kind(kind),
        quantity=quantity,
        place=place or "",
        batch=batch or "",
        cost=cost,
        exact=not (about or length[1]),
    )
    at = now()

    doubts = _doubts(width, length[0], whole=kind == Kind.ROLL)

    def put(holding: Holding) -> Change:
        refuse_faults(doubts)
        return stock.add(holding, delivery, at, note)

    change = stock_file(path, create=True).change(put, create=True)
    say_findings(doubts)
    _show(change, as_json=as_json)


@command.command("list")
@stock_option
@click.option("--code", type=Whole(), metavar="N", help="Only of this lead code.")
@click.option("--free", is_flag=True, help="Only what is kept for no run.")
@csv_option
@json_option
def list_command(path: Path | None, code: int | None, *, free: bool, as_csv: bool, as_json: bool) -> None:
    """List what is on the shelf."""
    from cutpath.reports.words.stock_list import item_csv, item_rows, item_table

    items = stock_file(path).read().items.values()
    rows = item_rows(i for i in items if code in (None, i.code) and not (free and i.run))
    if as_json:
        answer(items=rows)
    else:
        click.echo(item_csv(rows) if as_csv else seen(item_table(rows)), nl=not as_csv)


@command.command("take")
@stock_option
@click.argument("label", type=LABEL)
@click.option("--length", type=LENGTH, help="Only this length off it; the rest gets a new label.")
@click.option("--scrap", is_flag=True, help="Onto the scrap pile.")
@note_option
@json_option
def take_command(path: Path | None, label: int, length: float | None, *, scrap: bool, note: str, as_json: bool) -> None:
    """Take an item, or a length off it, for work that no run knows of."""
    from cutpath import stock
    from cutpath.values.stock import label_of

    at = now()
    doubts = _doubts(None, length)

    def take(holding: Holding) -> Change:
        change = stock.take(holding, label, at, length_mm=length, scrap=scrap, note=note)
        refuse_faults(doubts)  # a short length is soon cut off: only what no length can be is told
        return change

    change = stock_file(path).change(take)
    _show(change, as_json=as_json)
    part = "all of it" if length is None else f"{mm_text(length)} of it"
    say(f"{label_of(label)}: {part} is {'on the scrap pile' if scrap else 'taken by hand'}")


@command.command("adjust")
@stock_option
@click.argument("label", type=LABEL)
@click.option("--width", type=LENGTH, help="Width as measured.")
@click.option("--length", type=LENGTH_OR_ABOUT, help="Length as measured.")
@click.option("--about/--exact", "about", default=None, help="Whether the length is an estimate.")
@place_option
@batch_option
@cost_option
@note_option
@json_option
def adjust_command(
    path: Path | None,
    label: int,
    width: float | None,
    length: tuple[float, bool] | None,
    *,
    about: bool | None,
    place: str | None,
    batch: str | None,
    cost: float | None,
    note: str,
    as_json: bool,
) -> None:
    """Put right what is written of an item: its size as measured, where it lies, what it cost."""
    from cutpath import stock

    if all(given is None for given in (width, length, about, place, batch, cost)) and not note:
        raise click.UsageError('nothing to put right: give what is right, such as --length "3.6 m"')
    length_mm, is_about = length or (None, False)
    about = True if is_about and about is None else about
    at = now()
    doubts = _doubts(width, length_mm)

    def put_right(holding: Holding) -> Change:
        change = stock.adjust(
            holding,
            label,
            at,
            width_mm=width,
            length_mm=length_mm,
            place=place,
            batch=batch,
            cost=cost,
            exact=None if about is None else not about,
            note=note,
        )
        refuse_faults(doubts)
        return change

    change = stock_file(path).change(put_right)
    say_findings(doubts)
    _show(change, as_json=as_json)


@command.command("history")
@stock_option
@click.argument("label", type=LABEL, required=False)
@click.option("--run", default="", metavar="RUN", help="Only what belongs to this run.")
@csv_option
@json_option
def history_command(path: Path | None, label: int | None, run: str, *, as_csv: bool, as_json: bool) -> None:
    """List every movement, or those of one LABEL or run, from the first on."""
    from cutpath import stock
    from cutpath.reports.words.stock_list import movement_csv, movement_rows, movement_table
    from cutpath.values.stock import label_of

    file = stock_file(path)
    name = stock.known_run(file.read(), run).id if run else ""
    entries = file.movements(label, name)
    if label is not None and not entries and not run:
        stock.any_item(file.read(), label)
    numbers = {p.item for e in entries for p in e.movement.postings if p.item is not None}
    rows = movement_rows(((e.number, e.movement) for e in entries), {n: label_of(n) for n in numbers})
    if as_json:
        answer(movements=rows)
    else:
        click.echo(movement_csv(rows) if as_csv else seen(movement_table(rows)), nl=not as_csv)


@command.command("commit")
@stock_option
@click.argument("run")
@click.argument("rolls", nargs=-1, metavar="[ROLL]...")
@note_option
@json_option
def commit_command(path: Path | None, run: str, rolls: tuple[str, ...], note: str, *, as_json: bool) -> None:
    """Book what RUN cut: write the new labels on the part rolls and offcuts, and throw the scrap on the pile.

    With ROLL, as the run's tickets name it (code4-01), that roll alone; the others stay kept for the run. The first
    letters of a run will do where only one of those still to be cut begins so.
    """
    from cutpath import stock
    from cutpath.values.stock import RunState, Verb

    at = now()
    change = stock_file(path).change(lambda holding: stock.commit(holding, run, at, note, rolls))
    _show(change, as_json=as_json)
    for movement in change.movements:
        if movement.verb is Verb.SPOIL:
            say(f"{movement.run}: {movement.note}: on the scrap pile")
    booked = change.runs[0]
    if booked.state is RunState.COMMITTED:
        say(f"{booked.id} is committed")
    else:
        left = ", ".join(cut.sheet for cut in booked.cuts if not cut.booked)
        say(f"{booked.id}: booked {len(booked.booked)} of {len(booked.cuts)} rolls; left are {left}")


@command.command("undo")
@stock_option
@click.argument("entries", type=click.IntRange(min=1), nargs=-1, required=True, metavar="ENTRY...")
@note_option
@json_option
def undo_command(path: Path | None, entries: tuple[int, ...], note: str, *, as_json: bool) -> None:
    """Take back a wrong entry, or several: a delivery, a roll that was committed, what was taken, a collection.

    ENTRY is its number in the history, where it stays, and so does its undoing. What nothing was made of since can be
    undone; of several the latest goes first, and all are undone or none. A roll that a run cut is kept for that run
    again. Scrap that was collected meanwhile comes off what was collected by the books, or off the difference where it
    was weighed.
    """
    from cutpath import stock
    from cutpath.reports.words.stock_list import movement_rows, movement_table
    from cutpath.values.stock import label_of

    file, at = stock_file(path), now()
    latest_first = sorted(set(entries), reverse=True)
    changes = file.change_by_history(partial(stock.undo, number=number, at=at, note=note) for number in latest_first)
    numbers = {p.item: label_of(p.item) for c in changes for m in c.movements for p in m.postings if p.item is not None}
    moved = [movement for change in changes for movement in change.movements]
    history = list(file.movements())
    rows = movement_rows(((e.number, e.movement) for e in history if e.movement in moved), numbers)
    answer(movements=rows) if as_json else click.echo(seen(movement_table(rows)))
    for run in dict.fromkeys(change.runs[0].id for change in changes if change.runs):
        say(f"{run} is reserved again: cutpath run show {run}")
    undone = {e.movement.undoes for e in history}
    in_one = {(e.movement.at, e.movement.verb) for e in history if e.number in entries}
    beside = [e.number for e in history if (e.movement.at, e.movement.verb) in in_one and e.number not in undone]
    if beside:
        say(f"Booked in one with it, and not undone: {', '.join(map(str, beside))}")


@command.command("release")
@stock_option
@click.argument("run")
@note_option
@json_option
def release_command(path: Path | None, run: str, note: str, *, as_json: bool) -> None:
    """Give back what was kept for RUN, which is not cut."""
    from cutpath import stock

    at = now()
    change = stock_file(path).change(lambda holding: stock.release(holding, run, at, note))
    _show(change, as_json=as_json)
    say(f"{change.runs[0].id} is released")


@command.command("scrap")
@stock_option
@json_option
def scrap_command(path: Path | None, *, as_json: bool) -> None:
    """Say what lies on the scrap pile, by code."""
    from cutpath.reports.words.stock_list import scrap_rows, scrap_table

    rows = scrap_rows(stock_file(path).read().balances)
    answer(scrap=rows) if as_json else click.echo(scrap_table(rows))


@command.command("collect")
@stock_option
@click.option("codes", "--code", type=Whole(), metavar="N", multiple=True, help="Only this lead code; may be repeated.")
@click.option(
    "--weighed",
    type=Number(),
    metavar="KG",
    help="What all of it weighed; any difference from the books goes to an account of its own.",
)
@note_option
@json_option
def collect_command(
    path: Path | None, codes: tuple[int, ...], weighed: float | None, note: str, *, as_json: bool
) -> None:
    """Book the scrap pile as collected, and print the note that goes with it."""
    from cutpath import stock
    from cutpath.reports.words.stock_list import collection_note, collection_rows
    from cutpath.trade.plausible import check_weighed

    at = now()
    change = stock_file(path).change(lambda holding: stock.collect(holding, at, codes, weighed_kg=weighed, note=note))
    rows = collection_rows(change.movements)
    if weighed is not None:
        say_findings(check_weighed(fsum(row["kg"] for row in rows), weighed))
    if as_json:
        answer(collected=rows)
    else:
        click.echo(seen(collection_note(rows, at, note, weighed=weighed is not None)), nl=False)


@command.command("labels")
@stock_option
@click.argument("labels", type=LABEL, nargs=-1, metavar="[LABEL]...")
@click.option("--run", default="", metavar="RUN", help="What came back on the shelf from this run.")
@click.option(
    "--grid",
    type=click.Choice(["2x7", "2x8", "3x7", "3x8"]),
    default="3x7",
    show_default=True,
    help="Labels across and down a sheet of A4.",
)
@click.option(
    "--page", type=(LENGTH, LENGTH), metavar="WIDTH HEIGHT", help="A label printer's page, in place of a sheet."
)
@click.option(
    "--first", type=Whole(min=1), metavar="N", default=1, show_default=True, help="The first place that is not used up."
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    default=Path("labels.pdf"),
    show_default=True,
    metavar="FILE",
    help="The PDF file.",
)
@click.option("--replace", is_flag=True, help="Write over FILE when it is there already.")
@json_option
def labels_command(
    path: Path | None,
    labels: tuple[int, ...],
    run: str,
    grid: str,
    page: tuple[float, float] | None,
    *,
    first: int,
    out: Path,
    replace: bool,
    as_json: bool,
) -> None:
    """Write stick-on labels as PDF: of each LABEL, of what came from a run, or of all that is on the shelf."""
    from cutpath import output, stock
    from cutpath.reports.words.stock_list import label_lines
    from cutpath.writers.label_sheets import GRIDS, Label, label_sheets, single

    file = stock_file(path)
    holding = file.read()
    wanted = [stock.any_item(holding, number) for number in labels]
    if run:
        entries = file.movements(run=stock.known_run(holding, run).id)
        numbers = {p.item for e in entries for p in e.movement.postings if p.mass_ug > 0}
        wanted += [item for number, item in holding.items.items() if number in numbers]
    elif not labels:
        wanted = list(holding.items.values())
    if not wanted:
        raise click.UsageError("there is nothing on the shelf to label")
    made = [Label(item.label, label_lines(item), item.label) for item in wanted]
    try:
        data = label_sheets(made, GRIDS[grid] if page is None else single(*page), first)
    except ValueError as error:
        raise click.UsageError(str(error)) from error
    place = click.get_current_context().with_resource(output.claim_file(out, replace_old=replace, reads=[file.path]))
    say_findings((*place.findings, *place.put_file(data).findings))
    say(f"{len(made)} labels in {out}; print at 100 %, and try the sheet on plain paper first")
    if as_json:
        answer(file=str(out), labels=len(made))


@command.command("check")
@stock_option
@json_option
def check_command(path: Path | None, *, as_json: bool) -> None:
    """See that every kilogram of the stock is accounted for; exit 1 where it is not."""
    from cutpath import stock
    from cutpath.errors import Refused

    found = stock.check(stock_file(path))
    if found:
        raise Refused(found)
    answer() if as_json else click.echo("the stock balances")


@command.command("backup")
@stock_option
@click.argument("target", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE")
@click.option("--replace", is_flag=True, help="Write over FILE when it is there already.")
@json_option
def backup_command(path: Path | None, target: Path, *, replace: bool, as_json: bool) -> None:
    """Copy the stock to FILE, whole or not at all, while others go on working with it."""
    from cutpath import output

    file = stock_file(path)
    place = click.get_current_context().with_resource(output.claim_file(target, replace_old=replace, reads=[file.path]))
    say_findings(place.findings)
    written = place.put_file(file.copy())
    say_findings(written.findings)
    say(f"the stock as it is now is copied to {written.path}")
    if as_json:
        answer(file=str(written.path))
