"""Flashings over the top edge of a lean-to in the job file, and their survey."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from cutpath.families.site import (
    Site,
    head_of,
    pitch_of,
)
from cutpath.families.tables import (
    DetailTable,
    Length,
    Means,
    Pitch,
)
from cutpath.trade.limits import (
    SEVERE,
)
from cutpath.values.survey import (
    CornerWork,
    TopAbutment,
)


class TopAbutmentTable(DetailTable):
    """A flashing along a level wall over the top edge of a lean-to roof."""

    kind: Literal["top-edge abutment"] = Field(description="top-edge abutment")
    lap: Annotated[Length, Means("lap")] | None = Field(
        default=None, description="lap between lengths, mm, instead of the rule's"
    )
    length: Annotated[Length, Means("run")] = Field(description="along the wall, mm")
    pitch: Pitch | None = Field(
        default=None, description="pitch of the roof, degrees or rise to run, instead of the job's"
    )
    upstand: Annotated[Length, Means("upstand")] | None = Field(
        default=None, description="up the wall, mm; 75, the least allowed"
    )
    cover: Annotated[Length, Means("cover")] | None = Field(
        default=None, description="down the roof, mm; 150, or 200 in severe exposure"
    )
    turn_in: Annotated[Length, Means("turn in")] | None = Field(
        default=None, description="depth turned into the bed joint, mm; 25"
    )
    stop_ends: Literal["none", "left", "right", "both"] = Field(
        default="none", description="ends, as you face the wall, that are turned up against a wall across them"
    )
    stop_height: Annotated[Length, Means("upstand")] | None = Field(
        default=None, description="height of a stop end, square to the roof, mm; 75"
    )
    corners: Literal["bossed", "welded"] = Field(default="bossed", description="how stop ends are made")


def survey(site: Site, table: TopAbutmentTable) -> TopAbutment:
    """Survey one detail from its table."""
    desk = site.desk
    severe = desk.job.exposure == SEVERE
    if table.stop_height is not None and table.stop_ends == "none":
        raise desk.refuse(
            "CP111",
            f"{site.path}.stop_height",
            "stop_height is given without stop_ends",
            "accepted: the height of stop ends, where there are any",
            'Add stop_ends = "left", "right" or "both", or take the line out.',
        )
    height = table.stop_height or desk.fact("stop_end")
    return TopAbutment(
        head=head_of(site, table, "abutment", quantity=table.quantity, hands=()),
        pitch_deg=pitch_of(site, table.pitch),
        length_mm=table.length,
        upstand_mm=table.upstand or desk.fact("upstand"),
        cover_mm=table.cover or desk.fact("apron_cover_severe" if severe else "apron_cover"),
        turn_in_mm=table.turn_in or desk.fact("turn_in"),
        stop_left_mm=height if table.stop_ends in ("left", "both") else 0.0,
        stop_right_mm=height if table.stop_ends in ("right", "both") else 0.0,
        corners=CornerWork(table.corners),
    )
