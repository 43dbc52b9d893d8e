"""Whether the parts of a chimney go together: how far each goes round an arris, and how far one lies over another."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from cutpath import sure
from cutpath.errors import Finding, Severity
from cutpath.families.apron.job import ApronTable
from cutpath.families.back_gutter.job import BackGutterTable
from cutpath.families.chimney.job import Stack
from cutpath.families.cover_flashing.job import CoverFlashingTable
from cutpath.families.family import Part
from cutpath.families.step_flashing.job import StepAndCoverTable, StepFlashingTable
from cutpath.families.tables import DetailTable
from cutpath.tolerances import POINT_MM
from cutpath.trade.limits import slope_lap
from cutpath.trade.rules import held
from cutpath.units import mm_text


class Way(StrEnum):
    """Which way a part runs once it is round the arris, by what measures the stack there."""

    WIDE = "wide"
    DEEP = "deep"


@dataclass(frozen=True, slots=True)
class Reach:
    """How far a part is asked to pass an arris, by its key, over or under what, and how far its lead goes there."""

    key: str
    mm: float
    over: str
    way: Way
    lead_mm: float


def reaches(stack: Stack, made: Sequence[Part]) -> list[Reach]:
    """Return how far the parts pass the arrises, in fitting order."""
    return [reach for key, table in made for reach in _reach(stack, key, table)]


_OVER_THE_SIDES = "over the upper ends of the side flashings"


def _reach(stack: Stack, key: str, table: DetailTable) -> Iterator[Reach]:
    if isinstance(table, StepFlashingTable | StepAndCoverTable) and table.return_ is not None:
        mm = table.return_.length
        yield Reach(f"{key}.return.length", mm, "over the apron on the front", Way.WIDE, mm)
    elif isinstance(table, ApronTable):
        under = "under the side flashings"
        yield Reach(f"{key}.side", table.side or 0.0, under, Way.DEEP, _on_the_roof_mm(stack, table))
    elif isinstance(table, BackGutterTable):
        yield Reach(f"{key}.side", table.side or 0.0, _OVER_THE_SIDES, Way.DEEP, table.side or 0.0)
    elif isinstance(table, CoverFlashingTable):
        yield Reach(f"{key}.returns", table.returns, _OVER_THE_SIDES, Way.DEEP, table.returns)


def _on_the_roof_mm(stack: Stack, apron: ApronTable) -> float:
    """Return how far, level, an apron's side goes up the roof: at most to where the roof is as high as its upstand."""
    return min(apron.side or 0.0, (apron.upstand or 0.0) / sure.tan(math.radians(stack.pitch_deg)))


def short_overlaps(stack: Stack, reached: Sequence[Reach]) -> list[Finding]:
    """Find parts that pass an arris by less than a level lap, so that they do not cover what lies under them."""
    least = stack.desk.practice["least_lap"]
    return [
        finding
        for reach in reached
        for finding in held(
            least, stack.desk.where(f"{stack.path}.{reach.key}"), reach.mm, "least_lap_at_an_arris", over=reach.over
        )
    ]


def past_the_stack(stack: Stack, reached: Sequence[Reach]) -> list[Finding]:
    """Find parts that go round an arris and on past the next one, where the stack has ended."""
    rooms = {Way.WIDE: stack.table.width, Way.DEEP: stack.depth_mm}
    return [
        stack.desk.finding(
            "CP412",
            f"{stack.path}.{reach.key}",
            f"{mm_text(reach.lead_mm)} round the arris of a stack that is {mm_text(room)} {reach.way}",
            f"at most {mm_text(room)}, where the next arris is",
            f"Write {reach.key} = {math.floor(room)} or less, or measure the stack again.",
        )
        for reach in reached
        if reach.lead_mm > (room := rooms[reach.way]) + POINT_MM
    ]


def crossing_returns(stack: Stack, reached: Sequence[Reach]) -> list[str]:
    """Say by how much the returns of both sides lie over each other on a narrow front."""
    room = stack.table.width
    return [
        f"the two returns lie over each other by {mm_text(2 * reach.mm - room)} on a front of {mm_text(room)}"
        for reach in reached
        if reach.way is Way.WIDE and 2 * reach.mm > room + POINT_MM
    ]


def laps_on_the_roof(stack: Stack, made: Sequence[Part], on_roof_deg: float | None) -> list[Finding]:
    """Warn where apron and cover, or cover and back gutter, lie too little over each other down the slope.

    Over soakers neither does: they lie in the courses between.
    """
    tables = [table for _, table in made if isinstance(table, ApronTable | BackGutterTable)]
    if on_roof_deg is None or not tables:
        return []
    desk, p = stack.desk, math.radians(stack.pitch_deg)
    least = slope_lap(on_roof_deg, desk.practice)
    if math.isinf(least.value):
        return []  # refused with the returns of the sides, which lap over the apron
    laps: list[tuple[str, float, str]] = []
    for table in tables:
        if isinstance(table, ApronTable):
            laps.append(("apron.upstand", _on_the_roof_mm(stack, table) / sure.cos(p), "apron_side_under_a_cover"))
        elif isinstance(table, BackGutterTable):
            laps.append(("back_gutter.side", (table.side or 0.0) / sure.cos(p), "gutter_side_over_a_cover"))
    past = math.ceil(least.value * sure.cos(p))
    return [
        finding
        for key, lap, sentence in laps
        for finding in held(least, desk.where(f"{stack.path}.{key}"), lap, sentence, slope=on_roof_deg, past=past)
    ]


def bad_cover(stack: Stack, room: float, upstand: float, hang: float) -> list[Finding]:
    """Find a cover flashing that hangs on the sole, that ends above the upstand, or covers it by less than its rule."""
    rule = stack.desk.practice["cover_flashing_cover"]
    over = hang - (room - upstand)
    key = f"{stack.path}.cover_flashing.cover"
    if hang >= room - POINT_MM:
        return [
            stack.desk.finding(
                "CP412",
                key,
                f"a cover flashing that hangs {mm_text(hang)} below its joint, which is {mm_text(room)} above the sole",
                "a free edge clear of the sole",
                "Let it hang down less, or take a lower upstand so that it turns into another joint.",
            )
        ]
    return list(
        held(
            rule,
            stack.desk.where(key),
            over,
            "cover_over_the_gutter",
            severity=None if over > POINT_MM else Severity.FAULT,
            hang=math.ceil(room - upstand + rule.value - POINT_MM),
        )
    )
