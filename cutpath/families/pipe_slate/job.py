"""Slates for pipes in the job file, and their survey."""

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
from cutpath.families.tables import DetailTable, Length, Means, OwnCovering, OwnPitch
from cutpath.tolerances import POINT_MM
from cutpath.trade.limits import free_lap_mm, lap_over
from cutpath.trade.rules import Practice
from cutpath.values.leadwork import PipeSlate


class PipeSlateTable(DetailTable):
    """A slate of lead with a sleeve for a plumb pipe through the roof."""

    kind: Literal["lead slate"] = Field(description="lead slate")
    pipe: Annotated[Length, Means("pipe")] = Field(description="diameter of the pipe, outside, mm")
    pitch: OwnPitch = None
    covering: OwnCovering = None
    clearance: Annotated[Length, Means("pipe clearance")] | None = Field(
        default=None, description="between pipe and sleeve, mm; 3"
    )
    sleeve: Annotated[Length, Means("sleeve")] | None = Field(
        default=None, description="height above the roof on the upper side, mm; 150"
    )
    seam: Annotated[Length, Means("seam")] | None = Field(default=None, description="lap of the sleeve's seam, mm; 25")
    side: Annotated[Length, Means("pipe base")] | None = Field(
        default=None, description="base beside the hole, mm; 150, 200 at 22.5 deg and flatter"
    )
    below: Annotated[Length, Means("pipe base")] | None = Field(
        default=None, description="base below the hole, mm; 150, or a lap at this pitch if longer"
    )
    above: Annotated[Length, Means("pipe base")] | None = Field(
        default=None, description="base above the hole, mm; 200, or a lap at this pitch if longer"
    )


def survey(site: Site, table: PipeSlateTable) -> PipeSlate:
    """Survey one detail from its table: what is left out of its base goes by the pitch."""
    fact, pitch_deg = site.desk.fact, pitch_of(site, table.pitch)
    doubt_pitch(site.desk, site.covering, pitch_deg, pitch_origin(site, table.pitch))
    lap = free_lap_mm(lap_over(pitch_deg, site.covering, site.desk.practice).value, site.desk.practice)
    return PipeSlate(
        head=head_of(site, table, "pipe_slate", quantity=table.quantity, hands=()),
        pitch_deg=pitch_deg,
        pipe_mm=table.pipe,
        clearance_mm=table.clearance or fact("pipe_clearance"),
        sleeve_mm=table.sleeve or fact("pipe_sleeve"),
        seam_mm=table.seam or fact("pipe_seam"),
        side_mm=table.side or fact(side_rule(pitch_deg, site.desk.practice)),
        below_mm=table.below or max(fact("pipe_base_below"), lap),
        above_mm=table.above or max(fact("pipe_base_above"), lap),
        covering=site.covering,
    )


def side_rule(pitch_deg: float, practice: Practice) -> str:
    """Return the name of the figure for the base beside the pipe, on a roof of this pitch."""
    flat = pitch_deg < practice["pipe_base_flat"].value + POINT_MM
    return "pipe_base_side_flat" if flat else "pipe_base_side"
