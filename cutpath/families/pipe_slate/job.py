"""Slates for pipes in the job file, and their survey."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from cutpath.families.site import (
    Site,
    head_of,
    pitch_of,
)
from cutpath.families.tables import DetailTable, Length, Means, OwnPitch
from cutpath.values.leadwork import PipeSlate


class PipeSlateTable(DetailTable):
    """A slate of lead with a sleeve for a plumb pipe through the roof."""

    kind: Literal["lead slate"] = Field(description="lead slate")
    pipe: Annotated[Length, Means("pipe")] = Field(description="diameter of the pipe, outside, mm")
    pitch: OwnPitch = None
    clearance: Annotated[Length, Means("pipe clearance")] | None = Field(
        default=None, description="between pipe and sleeve, mm; 3"
    )
    sleeve: Annotated[Length, Means("sleeve")] | None = Field(
        default=None, description="height above the roof on the upper side, mm; 150"
    )
    seam: Annotated[Length, Means("seam")] | None = Field(default=None, description="lap of the sleeve's seam, mm; 25")
    side: Annotated[Length, Means("pipe base")] | None = Field(
        default=None, description="base beside the hole, mm; 150"
    )
    below: Annotated[Length, Means("pipe base")] | None = Field(
        default=None, description="base below the hole, mm; 150"
    )
    above: Annotated[Length, Means("pipe base")] | None = Field(
        default=None, description="base above the hole, mm; 200"
    )


def survey(site: Site, table: PipeSlateTable) -> PipeSlate:
    """Survey one detail from its table."""
    fact = site.desk.fact
    return PipeSlate(
        head=head_of(site, table, "pipe_slate", quantity=table.quantity, hands=()),
        pitch_deg=pitch_of(site, table.pitch),
        pipe_mm=table.pipe,
        clearance_mm=table.clearance or fact("pipe_clearance"),
        sleeve_mm=table.sleeve or fact("pipe_sleeve"),
        seam_mm=table.seam or fact("pipe_seam"),
        side_mm=table.side or fact("pipe_base_side"),
        below_mm=table.below or fact("pipe_base_below"),
        above_mm=table.above or fact("pipe_base_above"),
    )
