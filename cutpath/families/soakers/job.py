"""Soakers in the job file, on their own or in the table of a step flashing, and their survey."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Literal

from pydantic import Field

from cutpath.errors import Finding, Severity
from cutpath.families.coverings import doubt_pitch, gauge_in_double_lap
from cutpath.families.desk import LeftOutError
from cutpath.families.site import (
    Site,
    head_of,
    pitch_origin,
    sets_of,
)
from cutpath.families.tables import (
    Code,
    Count,
    DetailTable,
    HandWord,
    Label,
    Length,
    LengthOrNought,
    Means,
    Sized,
)
from cutpath.trade.coverings import soaker_count, soaker_length_mm
from cutpath.units import mm_text
from cutpath.values.leadwork import Soakers
from cutpath.values.survey import DetailHead


class SoakerTable(Sized):
    """Soakers to the step flashing in which they stand."""

    label: Label | None = Field(default=None, description="short name on the pieces, 1 to 4 capitals and digits")
    code: Code | None = Field(default=None, description="lead code, instead of the job's")
    upstand: Annotated[Length, Means("upstand")] | None = Field(
        default=None, description="up the wall, mm; 75, or what the water line leaves"
    )
    roof: Annotated[Length, Means("on the roof")] | None = Field(
        default=None, description="under the covering, mm; 100"
    )
    headlap: Annotated[LengthOrNought, Means("headlap")] | None = Field(
        default=None, description="headlap of the covering here, mm, instead of the job's"
    )
    count: Count | None = Field(default=None, description="soakers to the run; one to each course if left out")


class SoakersTable(DetailTable):
    """Soakers on their own."""

    kind: Literal["soakers"] = Field(description="soakers")
    hands: HandWord | None = Field(
        default=None,
        description="which way the roof rises as you face the wall: left, right or pair; a pair if left out, or blanks "
        "for either hand where count is given",
    )
    length: Annotated[Length, Means("run")] | None = Field(
        default=None, description="along the slope, mm; may be left out where count is given"
    )
    upstand: Annotated[Length, Means("upstand")] | None = Field(default=None, description="up the wall, mm; 75")
    roof: Annotated[Length, Means("on the roof")] | None = Field(
        default=None, description="under the covering, mm; 100"
    )
    headlap: Annotated[LengthOrNought, Means("headlap")] | None = Field(
        default=None, description="headlap of the covering here, mm, instead of the job's"
    )
    count: Count | None = Field(
        default=None,
        description="soakers in one run, or in all where no hand is given; one to each course if left out",
    )


_COUNT_OFF = 0.2
"""A count of soakers this part away from the courses of the run asks for a second look."""


def soakers_alone(site: Site, table: SoakersTable) -> Soakers:
    """Survey soakers that stand in a table of their own."""
    desk = site.desk
    if table.length is None and table.count is None:
        raise desk.refuse(
            "CP104",
            f"{site.path}.length",
            "neither length nor count",
            "needed: the length of the run, which is divided by the gauge, or the number of soakers",
            "Add length = ... or count = ...",
        )
    plain = table.count is not None and table.hands is None
    hands = () if plain else sets_of(site, table)
    if plain:
        desk.tell(
            "CP113",
            f"{site.path}.count",
            f"{table.count} soakers and no hand given, so {table.count} blanks are cut",
            "write hands = left, right or pair: then count is that of one run, and a pair is two",
            "Nothing to do: it is drawn for a roof that rises to the right; for the other hand turn the blank "
            "over before it is marked and folded.",
            Severity.NOTE,
        )
    head = head_of(site, table, "soakers", quantity=table.quantity, hands=hands)
    if site.covering is not None and desk.job.pitch is not None:
        covering = site.covering if table.headlap is None else replace(site.covering, headlap_mm=table.headlap)
        doubt_pitch(desk, covering, desk.job.pitch, pitch_origin(site, None))
    return soakers_of(site, table, head, table.length, table.upstand or desk.fact("soaker_upstand"))


def soakers_of(
    site: Site, table: SoakersTable | SoakerTable, head: DetailHead, slope_mm: float | None, upstand_mm: float
) -> Soakers:
    """Survey soakers from their table, for a run ``slope_mm`` long or by their count alone.

    Raises
    ------
    LeftOutError
        When no covering takes soakers, or none is known; the findings say why.
    """
    desk = site.desk
    covering = site.covering
    if covering is None:
        if desk.job.covering is not None or "covering" in desk.lost:
            raise LeftOutError(site.path)
        raise desk.refuse(
            "CP104",
            "covering",
            "nothing",
            "needed for soakers: slates or plain tiles, by name or by length with headlap or gauge",
            "Add covering = ... at the top of the file.",
        )
    if covering.single_lap:
        raise desk.refuse(
            "CP412",
            site.path,
            f"soakers under {covering.name}",
            "a double-lap covering, with a soaker to each course of slates or plain tiles",
            'Over a covering in single lap use kind = "step and cover" (step_and_cover on a chimney).',
        )
    if table.headlap is not None:
        path = f"{site.path}.headlap"
        gauge = gauge_in_double_lap(desk, path, covering.name, covering.length_mm, table.headlap)
        covering = replace(covering, headlap_mm=table.headlap, gauge_mm=gauge)
    courses = soaker_count(slope_mm, covering.gauge_mm) if slope_mm is not None else None
    desk.add(_odd_count(site, table, courses))
    turn_down, leg_mm = desk.fact("soaker_turn_down"), covering.gauge_mm + covering.headlap_mm
    if turn_down >= leg_mm:
        raise desk.refuse(
            "CP204",
            site.path,
            f"soaker_turn_down is {mm_text(turn_down)}, and these soakers lie {mm_text(leg_mm)} up the roof",
            f"less than {mm_text(leg_mm)}",
            "Correct the figure in the shop's own rules, or take it out to go by the usual one.",
        )
    return Soakers(
        head=head,
        count=table.count or courses or 1,
        length_mm=soaker_length_mm(covering.gauge_mm, covering.headlap_mm, turn_down),
        upstand_mm=upstand_mm,
        roof_mm=table.roof or desk.fact("soaker_roof"),
        turn_down_mm=turn_down,
        gauge_mm=covering.gauge_mm,
    )


def _odd_count(site: Site, table: SoakersTable | SoakerTable, courses: int | None) -> list[Finding]:
    """Warn of a count that is far from the courses that the run crosses."""
    count = table.count
    if count is None or courses is None or "count" in table.confirmed:
        return []
    if abs(count - courses) <= max(_COUNT_OFF * courses, 2):
        return []
    return [
        site.desk.finding(
            "CP112",
            f"{site.path}.count",
            f"{count} soakers to a run that crosses {courses} courses",
            "one to each course",
            'Check count, length and gauge. If it is right, add confirmed = ["count"] to the same table.',
            Severity.WARNING,
        )
    ]
