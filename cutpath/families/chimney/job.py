"""Chimneys in the job file: a whole one from one entry, with what the user wrote of its parts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Any, Final, Literal

from pydantic import Discriminator, Field, Tag

from cutpath import sure
from cutpath.families.apron.job import ApronSizes
from cutpath.families.back_gutter.job import BackGutterSizes
from cutpath.families.cover_flashing.job import CoverSizes
from cutpath.families.desk import Desk
from cutpath.families.soakers.job import SoakerTable
from cutpath.families.step_flashing.job import StepSizes
from cutpath.families.tables import (
    CoursingOrName,
    Length,
    LengthOrNought,
    Means,
    OwnCovering,
    OwnPitch,
    PartTable,
    Quantity,
    Sized,
    by_kind,
)
from cutpath.units import deg_text, mm_text


class StepFlashingPart(StepSizes):
    """The step flashings up both sides of a chimney."""

    clearance: Annotated[LengthOrNought, Means("clearance")] | None = Field(
        default=None, description="from the top of the soakers to the water line, mm; 5"
    )
    soakers: Annotated[
        Annotated[SoakerTable, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(by_kind)
    ] = Field(default=True, description="true for soakers by the covering, or their sizes in mm")


class StepAndCoverPart(StepSizes):
    """Step flashings with a cover up both sides of a chimney, for profiled tiles."""

    cover: Annotated[Length, Means("cover")] | None = Field(
        default=None, description="on the roof, mm; 150, or 200 in severe exposure"
    )
    covering: OwnCovering = None


class CoverPart(CoverSizes):
    """The cover flashing over the back gutter of a chimney."""

    returns: Annotated[Length, Means("return")] | None = Field(
        default=None, description="round the arris at each end, mm; 150"
    )


class ChimneyTable(Sized):
    """A whole chimney: soakers, both step flashings, apron, back gutter and cover flashing, made to go together."""

    kind: Literal["chimney"] = Field(description="chimney")
    quantity: Quantity = Field(default=1, description="how many chimneys alike; a whole number")
    width: Annotated[Length, Means("chimney width")] = Field(description="across the roof, arris to arris, mm")
    depth: Annotated[Length, Means("chimney depth")] | None = Field(
        default=None, description="front to back, measured level, mm; slope_length may take its place, or prove it"
    )
    slope_length: Annotated[Length, Means("chimney depth")] | None = Field(
        default=None,
        description="front to back, measured along the slope, mm; beside depth it proves the pitch",
    )
    pitch: OwnPitch = None
    coursing: CoursingOrName = Field(
        default=None, description="name of a coursing of this job, or the joints themselves in mm, for all faces"
    )
    corners: Literal["bossed", "welded"] = Field(
        default="bossed", description="how the corners of apron and back gutter are made"
    )
    step_flashing: Annotated[
        Annotated[StepFlashingPart, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(by_kind)
    ] = Field(default=True, description="the sides over soakers, their sizes in mm, or false for none")
    step_and_cover: Annotated[
        Annotated[StepAndCoverPart, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(by_kind)
    ] = Field(default=False, description="the sides with a cover instead of soakers, true or their sizes in mm")
    apron: Annotated[
        Annotated[ApronSizes, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(by_kind)
    ] = Field(default=True, description="the apron's sizes in mm, or false for none")
    back_gutter: Annotated[
        Annotated[BackGutterSizes, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(by_kind)
    ] = Field(default=True, description="the back gutter's sizes in mm, or false for none")
    cover_flashing: Annotated[
        Annotated[CoverPart, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(by_kind)
    ] = Field(default=True, description="the sizes of the cover flashing over the gutter in mm, or false for none")


FITTING_ORDER = ("apron", "step_flashing", "step_and_cover", "back_gutter", "cover_flashing")

KINDS = {
    "apron": "apron",
    "step_flashing": "step flashing",
    "step_and_cover": "step and cover",
    "back_gutter": "back gutter",
    "cover_flashing": "cover flashing",
}


def parts_wanted(table: ChimneyTable) -> list[str]:
    """Return the keys of the parts that are to be made, in fitting order; a cover on the sides stands for soakers."""
    wanted = [key for key in FITTING_ORDER if getattr(table, key) is not False]
    if "step_and_cover" in wanted and "step_flashing" in wanted:
        wanted.remove("step_flashing")
    return wanted


def own_table(table: ChimneyTable, key: str) -> PartTable:
    """Return what the user wrote for a part; empty where it was only ``true`` or nothing."""
    own = getattr(table, key)
    return own if isinstance(own, PartTable) else PartTable()


def given(table: ChimneyTable, key: str) -> dict[str, Any]:
    """Return what the user wrote for a part, by the names of the fields."""
    own = own_table(table, key)
    return {name: getattr(own, name) for name in own.model_fields_set}


def kinds(table: ChimneyTable) -> list[tuple[str, str, PartTable]]:
    """Return key and kind of every part that is to be made, in fitting order, with what the user wrote of it."""
    return [(key, KINDS[key], own_table(table, key)) for key in parts_wanted(table)]


@dataclass(frozen=True, slots=True)
class Stack:
    """A chimney as measured: its place in the file, its table, pitch, length along the slope, and level depth."""

    desk: Desk
    path: str
    table: ChimneyTable
    pitch_deg: float
    slope_mm: float

    @property
    def depth_mm(self) -> float:
        """Front to back, level."""
        return self.slope_mm * sure.cos(math.radians(self.pitch_deg))

    @property
    def rise_mm(self) -> float:
        """Height of the roof line at the back arris above that at the lower arris."""
        return self.slope_mm * sure.sin(math.radians(self.pitch_deg))


def measured(desk: Desk, path: str, table: ChimneyTable, pitch_deg: float) -> Stack:
    """Take a chimney's length along the slope from whichever way it was measured; both ways have to give its pitch.

    Raises
    ------
    LeftOutError
        When it was measured neither way, or both ways differ, or its sides are wanted in both ways.
    """
    level, slope = table.depth, table.slope_length
    if level is None and slope is None:
        raise desk.refuse(
            "CP104",
            f"{path}.depth",
            "neither depth nor slope_length",
            "needed: one of the two; depth is measured level, slope_length along the roof",
            "Measure the stack from front to back.",
        )
    if level is not None and slope is not None:
        _both_ways(desk, path, (level, slope), pitch_deg)
    if table.step_and_cover is not False and "step_flashing" in table.model_fields_set and table.step_flashing:
        raise desk.refuse(
            "CP111",
            f"{path}.step_and_cover",
            "step_and_cover and step_flashing are both given",
            "accepted: one of the two up the sides",
            "Keep step_flashing over soakers, or step_and_cover for profiled tiles.",
        )
    along = (slope or 0.0) if level is None else level / sure.cos(math.radians(pitch_deg))
    return Stack(desk, path, table, pitch_deg, along)


_FAIR_DEG: Final = 1.5
"""A pitch is measured as near as this, or to a few millimetres of the depth that it gives where a roof is flat (our own
figures)."""
_FAIR_MM: Final = 5.0


def _both_ways(desk: Desk, path: str, measured_mm: tuple[float, float], pitch_deg: float) -> None:
    """Hold a depth and a length along the slope to the pitch of the roof, which they give once more.

    Raises
    ------
    LeftOutError
        When one of the three is wrong.
    """
    (level, slope), pitch = measured_mm, math.radians(pitch_deg)
    fair = max(_FAIR_MM, slope * sure.sin(pitch) * math.radians(_FAIR_DEG))
    if abs(slope * sure.cos(pitch) - level) <= fair:
        return
    told = f"{mm_text(level)} level and {mm_text(slope)} along the slope"
    given = f"make a roof of {deg_text(math.degrees(sure.acos(level / slope)))}" if level < slope else "are no roof"
    raise desk.refuse(
        "CP111",
        f"{path}.slope_length",
        f"{told} {given}, and the pitch is {deg_text(pitch_deg)}",
        f"about {mm_text(round(level / sure.cos(pitch)))} along the slope at this pitch, or one of the two alone",
        "Measure depth, slope_length and pitch again.",
    )
