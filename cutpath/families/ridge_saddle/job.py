"""Ridge saddles in the job file, and their survey."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from cutpath.families.site import (
    Site,
    head_of,
    pitch_of,
)
from cutpath.families.tables import DetailTable, Length, Means, OwnPitch
from cutpath.values.leadwork import CornerWork, RidgeSaddle


class RidgeSaddleTable(DetailTable):
    """A saddle where a ridge runs into a wall."""

    kind: Literal["ridge saddle"] = Field(description="ridge saddle")
    pitch: OwnPitch = None
    width: Annotated[Length, Means("sheet")] | None = Field(default=None, description="across the ridge, mm; 450")
    length: Annotated[Length, Means("sheet")] | None = Field(
        default=None, description="along the ridge and up the wall, mm; 450"
    )
    upstand: Annotated[Length, Means("upstand")] | None = Field(
        default=None, description="of the length, up the wall, mm; 150"
    )
    corners: Literal["bossed", "welded"] = Field(default="bossed", description="how the corner is made")


def survey(site: Site, table: RidgeSaddleTable) -> RidgeSaddle:
    """Survey one detail from its table."""
    fact = site.desk.fact
    return RidgeSaddle(
        head=head_of(site, table, "saddle", quantity=table.quantity, hands=()),
        pitch_deg=pitch_of(site, table.pitch),
        width_mm=table.width or fact("saddle_size"),
        length_mm=table.length or fact("saddle_size"),
        upstand_mm=table.upstand or fact("saddle_upstand"),
        corners=CornerWork(table.corners),
    )
