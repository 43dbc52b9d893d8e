"""Aprons in the job file, and their survey."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from cutpath.families.coverings import doubt_pitch
from cutpath.families.site import (
    Site,
    head_of,
    pitch_of,
    pitch_origin,
)
from cutpath.families.tables import DetailTable, Length, LengthOrNought, Means, OwnCovering, OwnLap, OwnPitch, PartTable
from cutpath.trade.limits import SEVERE, free_lap_mm, lap_over
from cutpath.values.leadwork import Apron, CornerWork


class ApronSizes(PartTable):
    """Sizes of an apron."""

    lap: OwnLap = None
    side: Annotated[LengthOrNought, Means("past the arris")] | None = Field(
        default=None, description="past each arris, mm; 150"
    )
    upstand: Annotated[Length, Means("upstand")] | None = Field(
        default=None, description="up the face, mm; 75, the least allowed"
    )
    cover: Annotated[Length, Means("cover")] | None = Field(
        default=None,
        description="down the roof, mm; 150, 200 in severe exposure, or a lap at this pitch if longer",
    )
    turn_in: Annotated[Length, Means("turn in")] | None = Field(
        default=None, description="depth turned into the bed joint, mm; 25"
    )
    corners: Literal["bossed", "welded"] = Field(default="bossed", description="how the corners are made")


class ApronTable(ApronSizes, DetailTable):
    """A front apron with its side returns."""

    kind: Literal["apron"] = Field(description="apron")
    width: Annotated[Length, Means("face width")] = Field(description="along the face, arris to arris, mm")
    pitch: OwnPitch = None
    covering: OwnCovering = None


def survey(site: Site, table: ApronTable) -> Apron:
    """Survey one detail from its table."""
    desk = site.desk
    pitch = pitch_of(site, table.pitch)
    if not site.part:  # of a stack its sides tell
        doubt_pitch(desk, site.covering, pitch, pitch_origin(site, table.pitch))
    return Apron(
        head=head_of(site, table, "apron", quantity=table.quantity, hands=()),
        pitch_deg=pitch,
        width_mm=table.width,
        side_mm=desk.fact("apron_side") if table.side is None else table.side,
        upstand_mm=table.upstand or desk.fact("upstand"),
        cover_mm=table.cover or usual_cover_mm(site, pitch),
        turn_in_mm=table.turn_in or desk.fact("turn_in"),
        corners=CornerWork(table.corners),
        covering=site.covering,
    )


def usual_cover_mm(site: Site, pitch_deg: float) -> float:
    """Return the cover of an apron, or over a top edge, of which nothing was written: no less than a lap down there."""
    practice = site.desk.practice
    usual = practice["apron_cover_severe" if site.desk.job.exposure == SEVERE else "apron_cover"].value
    return max(usual, free_lap_mm(lap_over(pitch_deg, site.covering, practice).value, practice))
