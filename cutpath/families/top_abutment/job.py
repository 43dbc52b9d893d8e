"""Flashings over the top edge of a lean-to in the job file, and their survey."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import Field

from cutpath import sure
from cutpath.families.apron.job import usual_cover_mm
from cutpath.families.coverings import doubt_pitch
from cutpath.families.site import (
    Site,
    head_of,
    pitch_of,
    pitch_origin,
)
from cutpath.families.tables import DetailTable, Length, Means, OwnCovering, OwnLap, OwnPitch
from cutpath.tolerances import POINT_MM
from cutpath.values.leadwork import CornerWork, TopAbutment


class TopAbutmentTable(DetailTable):
    """A flashing along a level wall over the top edge of a lean-to roof."""

    kind: Literal["top-edge abutment"] = Field(description="top-edge abutment")
    lap: OwnLap = None
    length: Annotated[Length, Means("long run")] = Field(description="along the wall, mm")
    pitch: OwnPitch = None
    covering: OwnCovering = None
    upstand: Annotated[Length, Means("upstand")] | None = Field(
        default=None, description="up the wall, mm; 75, the least allowed"
    )
    cover: Annotated[Length, Means("cover")] | None = Field(
        default=None,
        description="down the roof, mm; 150, 200 in severe exposure, or a lap at this pitch if longer",
    )
    turn_in: Annotated[Length, Means("turn in")] | None = Field(
        default=None, description="depth turned into the bed joint, mm; 25"
    )
    stop_ends: Literal["none", "left", "right", "both"] = Field(
        default="none", description="ends, as you face the wall, that are turned up against a wall across them"
    )
    stop_height: Annotated[Length, Means("upstand")] | None = Field(
        default=None,
        description="height of a stop end, square to the roof, mm; 75, or as high as the upstand in the corner",
    )
    corners: Literal["bossed", "welded"] = Field(default="bossed", description="how stop ends are made")


def survey(site: Site, table: TopAbutmentTable) -> TopAbutment:
    """Survey one detail from its table."""
    desk = site.desk
    if table.stop_height is not None and table.stop_ends == "none":
        raise desk.refuse(
            "CP111",
            f"{site.path}.stop_height",
            "stop_height is given without stop_ends",
            "accepted: the height of stop ends, where there are any",
            'Add stop_ends = "left", "right" or "both", or take the line out.',
        )
    pitch_deg, upstand_mm = pitch_of(site, table.pitch), table.upstand or desk.fact("upstand")
    doubt_pitch(desk, site.covering, pitch_deg, pitch_origin(site, table.pitch))
    height = table.stop_height or max(desk.fact("stop_end"), stop_height_mm(upstand_mm, pitch_deg))
    return TopAbutment(
        head=head_of(site, table, "abutment", quantity=table.quantity, hands=()),
        pitch_deg=pitch_deg,
        length_mm=table.length,
        upstand_mm=upstand_mm,
        cover_mm=table.cover or usual_cover_mm(site, pitch_deg),
        turn_in_mm=table.turn_in or desk.fact("turn_in"),
        stop_left_mm=height if table.stop_ends in ("left", "both") else 0.0,
        stop_right_mm=height if table.stop_ends in ("right", "both") else 0.0,
        corners=CornerWork(table.corners),
        covering=site.covering,
    )


def stop_height_mm(upstand_mm: float, pitch_deg: float) -> float:
    """Return how high a stop end stands, square to the roof, that comes up the corner as high as the upstand.

    Notes
    -----
    Source: geometry (derived); rounded up to what a tape reads.
    """
    return float(math.ceil(upstand_mm * sure.cos(math.radians(pitch_deg)) - POINT_MM))
