"""Cover flashings in the job file, and their survey."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Literal

from pydantic import Field

from cutpath.families.site import (
    HANDS,
    Site,
    head_of,
)
from cutpath.families.tables import DetailTable, HandWord, Length, LengthOrNought, Means, OwnLap, PartTable, Rake
from cutpath.tolerances import POINT_MM
from cutpath.units import written
from cutpath.values.leadwork import CoverFlashing
from cutpath.values.survey import Detail


class CoverSizes(PartTable):
    """Sizes of a cover flashing."""

    lap: OwnLap = None
    cover: Annotated[Length, Means("cover")] | None = Field(
        default=None, description="down over the upstand, mm; 75, the least allowed"
    )
    turn_in: Annotated[Length, Means("turn in")] | None = Field(
        default=None, description="depth turned into the chase, mm; 25"
    )


class CoverFlashingTable(CoverSizes, DetailTable):
    """A cover flashing: turned into a chase, hanging over an upstand."""

    kind: Literal["cover flashing"] = Field(description="cover flashing")
    length: Annotated[Length, Means("run")] = Field(description="along the chase, mm")
    slope: Rake = Field(default=0.0, description="rake of the chase, degrees or rise to run; level if left out")
    hands: HandWord | None = Field(
        default=None, description="which way a raking chase rises as you face the wall: left, right or pair"
    )
    returns: Annotated[LengthOrNought, Means("return")] = Field(
        default=0.0, description="round the arris at each end of a level chase, mm; none if left out"
    )


def gutter_under(cover: CoverFlashing, own: Sequence[Detail], before: Sequence[Detail]) -> Detail | None:
    """Return the back gutter over which a cover flashing with returns hangs: as wide, of its own entry or before it.

    A job file does not name it; where several are as wide, the last one before is meant.
    """
    if not cover.return_mm:
        return None
    for details in (own, before):
        for detail in reversed(details):
            if detail.covered_mm is not None and abs(detail.covered_mm - cover.length_mm) <= POINT_MM:
                return detail
    return None


def survey(site: Site, table: CoverFlashingTable) -> CoverFlashing:
    """Survey one detail from its table."""
    desk = site.desk
    raking = table.slope > 0
    if raking and table.hands is None:
        raise desk.refuse(
            "CP104",
            f"{site.path}.hands",
            "nothing",
            "needed on a raking chase: left, right or pair, as the chase rises as you face the wall",
            "Add hands = ..., left, right or pair.",
        )
    if not raking and table.hands is not None:
        raise desk.refuse(
            "CP111",
            f"{site.path}.hands",
            f"hands {written(table.hands)} on a level chase",
            "accepted: hands with slope; a level cover flashing has none",
            "Take the line out, or add slope = ...",
        )
    if raking and table.returns:
        raise desk.refuse(
            "CP111",
            f"{site.path}.returns",
            "returns on a raking chase",
            "accepted: returns round both arrises of a level chase",
            "Take one of the lines out.",
        )
    hands = HANDS[table.hands] if table.hands else ()
    return CoverFlashing(
        head=head_of(site, table, "cover_flashing", quantity=table.quantity, hands=hands),
        length_mm=table.length,
        slope_deg=table.slope,
        cover_mm=table.cover or desk.fact("cover_flashing_cover"),
        turn_in_mm=table.turn_in or desk.fact("turn_in"),
        return_mm=table.returns,
    )
