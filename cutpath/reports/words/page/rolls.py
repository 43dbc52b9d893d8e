"""The rolls as pictures, those that are cut alike once, and what their lines and grounds mean."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import TypeVar

from cutpath.paper.markup import drawing, element, hatched, number, path, rectangle
from cutpath.paper.text import counted, kilograms, millimetres, percent, unbroken
from cutpath.reports.account.yields import Account, RollTally
from cutpath.reports.pictures.figures import in_pairs
from cutpath.reports.pictures.job_grounds import Ground, job_grounds
from cutpath.reports.pictures.roll_picture import SCALE, is_short, pattern_lines, roll_rows
from cutpath.tolerances import FILE_DECIMALS
from cutpath.trade.cautions import in_short
from cutpath.values.batch import Batch, Sheet
from cutpath.values.pattern import FlatPattern
from cutpath.workers import each

T = TypeVar("T")
_ALWAYS_THERE = frozenset({"piece", "scrap", "across", "cross-cut"})
"""What the key of the rolls always tells."""


@dataclass(frozen=True, slots=True)
class _Laid:
    """Rolls cut alike by their names, and what the picture of the first is made from: patterns, grounds of pieces.

    ``hidden_side`` as in `Batch`.
    """

    ids: Sequence[str]
    sheet: Sheet
    patterns: Mapping[str, FlatPattern]
    grounds: Mapping[str, Ground]
    hidden_side: bool


def rolls_html(batch: Batch, account: Account, *, cautioned: bool) -> str:
    """Show every roll, under a key to the lines, and a word on the cautions where there are any."""
    tallies = {tally["id"]: tally for tally in account["rolls"]}
    patterns = {piece.id: piece.pattern for piece in batch.pieces}
    grounds = _grounds(batch)
    of_piece = {piece.id: grounds[piece.job] for piece in batch.pieces} if grounds else {}
    laid = [
        _Laid([s.id for s in alike], alike[0], _on(alike[0], patterns), _on(alike[0], of_piece), batch.hidden_side)
        for alike in _alike(batch.sheets)
    ]
    work = sum(len(one.sheet.nested.placements) for one in laid)
    shown = each("report, roll by roll", _rows_of, None, laid, work)
    return element(
        "section",
        element(
            "div",
            element("h2", "Rolls", id="rolls"),
            element("p", escape(in_short("under Before you start")), class_="mind") if cautioned else "",
            _key(laid, hidden_side=batch.hidden_side),
            _job_key(batch, grounds),
            class_="opening",
        ),
        *in_pairs(
            (_roll(one, tallies[one.sheet.id], rows), is_short(one.sheet))
            for one, rows in zip(laid, shown, strict=True)
        ),
        class_="rolls",
    )


_SAMPLE = (0.5, 0.5, 9.0, 3.0)
"""Where a sample of an area lies in its place in the key."""


def _key(laid: Sequence[_Laid], *, hidden_side: bool) -> str:
    """Say what the lines and hatchings mean that are in the pictures of these rolls, and which face lies up."""
    ways = {(p.id, p.flipped): one.patterns[p.id] for one in laid for p in one.sheet.nested.placements}
    up = "up, where they are not called face down" if any(down for _, down in ways) else "up"
    drawn = {class_ for (_, down), pattern in ways.items() for class_, _ in pattern_lines(pattern, flipped=down)}
    drawn |= {"kept"} if any(one.sheet.nested.offcuts for one in laid) else set()
    entries = (
        ("piece", "outer cut"),
        ("snip", "snip or inner cut"),
        ("fold back", "fold back, away from you"),
        ("fold forward", "fold forward, towards you"),
        ("mark water-line", "water line, marked only"),
        ("mark lap", "lap, marked only"),
        ("mark bossing", "bossing line, marked only"),
        ("mark wood-cored-roll", "foot of a wood-cored roll, marked only"),
        ("mark centre", "line up the roof, marked only"),
        ("scrap", "scrap"),
        ("kept", "kept offcut"),
        ("across", "straight cut right across, numbered above the roll in the order of cutting, the cross-cut last"),
        ("cross-cut", "square cross-cut"),
    )
    return element(
        "p",
        *(_key_entry(_sample(class_), words) for class_, words in entries if class_ in drawn | _ALWAYS_THERE),
        element(
            "span",
            f"Scale {unbroken(f'1 : {number(SCALE)}')} when printed at 100 %. Pieces lie with their weather face "
            f"{'down' if hidden_side else up}. "
            "Figures below each roll are measured from the end that comes off first.",
        ),
        class_="key",
    )


def _key_entry(sample: str, words: str) -> str:
    picture = element(
        "svg",
        sample,
        xmlns="http://www.w3.org/2000/svg",
        viewBox="0 0 10 4",
        style="width:calc(10mm * var(--zoom))",
    )
    return element("span", picture, escape(words))


def _grounds(batch: Batch) -> dict[str, Ground]:
    """Return the ground of each job that has pieces on the rolls, none where it is one job alone."""
    cut = {piece.job for piece in batch.pieces}
    return job_grounds(job.name for job in batch.jobs if job.name in cut)


def _job_key(batch: Batch, grounds: Mapping[str, Ground]) -> str:
    """Say which ground the pieces of each job lie on."""
    if not grounds:
        return ""
    marks = {job.name: job.mark for job in batch.jobs}
    entries = (
        _key_entry(ground.laid(*_SAMPLE) + rectangle("piece", *_SAMPLE, style="fill:none"), f"{marks[name]}: {name}")
        for name, ground in grounds.items()
    )
    heard = element("span", "Pieces by job, each job with a colour and a pattern of its own:")
    return element("p", heard, *entries, class_="key jobs")


def _sample(class_: str) -> str:
    if class_ == "scrap":
        return hatched(*_SAMPLE)
    if class_ in ("piece", "kept"):
        return rectangle(class_, *_SAMPLE)
    return element("path", d=path(((0.0, 2.0), (10.0, 2.0))), class_=class_)


def _alike(sheets: Sequence[Sheet]) -> list[list[Sheet]]:
    """Gather rolls that are cut alike, within the files' decimals, in the order of the first of each."""
    found: dict[object, list[Sheet]] = {}
    for sheet in sheets:
        nested = sheet.nested
        laid = tuple(
            (p.id, p.turn_deg, p.flipped, round(p.x_mm, FILE_DECIMALS), round(p.y_mm, FILE_DECIMALS))
            for p in nested.placements
        )
        key = (sheet.lead, nested.roll, round(nested.drawn_mm, FILE_DECIMALS), laid, nested.offcuts)
        found.setdefault(key, []).append(sheet)
    return list(found.values())


def _roll(laid: _Laid, tally: RollTally, rows: Sequence[str]) -> str:
    """Show a roll, or several that are cut alike, by the rows of its picture."""
    roll, lead = laid.sheet.nested.roll, laid.sheet.lead
    alike = f"{len(laid.ids)} rolls cut alike, each: " if len(laid.ids) > 1 else ""
    owned = "in stock:" if roll.in_stock else "roll"
    facts = (
        f"{lead.material}, {lead.colour}",
        f"{owned} {millimetres(roll.width_mm)} × {millimetres(roll.length_mm)} mm"
        + (f" ({roll.name})" if roll.name else ""),
        f"{kilograms(tally['drawn_kg'] + tally['rest_kg'])} kg whole",
        f"draw {millimetres(tally['drawn_mm'])} mm",
        counted(tally["pieces"], "piece"),
        *([f"{counted(n, 'straight cut')} right across"] if (n := tally["square_cuts"]) else []),
        f"yield {percent(tally['yield'])}",
        f"scrap {kilograms(tally['scrap_kg'])} kg",
    )
    told = "\u00a0· ".join(map(unbroken, facts))  # a line ends between two facts, not in one
    first, *others = map(drawing, rows)
    return element(
        "article",
        element(
            "div",
            element("h3", escape(", ".join(laid.ids))),
            element("p", escape(alike + told), class_="facts"),
            first,
            class_="together",
        ),
        *others,
        class_="roll",
    )


def _on(sheet: Sheet, things: Mapping[str, T]) -> dict[str, T]:
    """Return those of the things that belong to pieces on a roll, by the pieces' numbers."""
    return {p.id: things[p.id] for p in sheet.nested.placements if p.id in things}


def _rows_of(_: None, one: _Laid) -> list[str]:
    name, others = one.sheet.id, len(one.ids) - 1
    names = f"{name} and {others} alike" if others else name
    return roll_rows(one.sheet, one.patterns, one.grounds, names, hidden_side=one.hidden_side)
