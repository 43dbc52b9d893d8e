"""Back gutters in the job file, and their survey."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Discriminator, Field, Tag

from cutpath.families.fillets import fillet_of
from cutpath.families.site import (
    Site,
    head_of,
    pitch_of,
)
from cutpath.families.tables import (
    DetailTable,
    FilletTable,
    Length,
    LengthOrNought,
    Means,
    OwnPitch,
    PartTable,
    by_kind,
)
from cutpath.values.leadwork import BackGutter, CornerWork


class BackGutterSizes(PartTable):
    """Sizes of a back gutter."""

    side: Annotated[LengthOrNought, Means("past the arris")] | None = Field(
        default=None, description="past each arris, mm; 150"
    )
    upstand: Annotated[Length, Means("upstand")] | None = Field(default=None, description="up the back face, mm; 100")
    sole: Annotated[Length, Means("sole")] | None = Field(
        default=None, description="level, from the stack to the roof, mm; 150"
    )
    up_roof: Annotated[Length, Means("up the roof")] | None = Field(
        default=None, description="up the roof along the lead, over the fillet, mm; 225"
    )
    fillet: Annotated[
        Annotated[FilletTable, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(by_kind)
    ] = Field(default=True, description="the tilting fillet in mm, or false for none")
    corners: Literal["bossed", "welded"] = Field(default="bossed", description="how the corners are made")


class BackGutterTable(BackGutterSizes, DetailTable):
    """A back gutter behind a stack, with the part up the roof over a tilting fillet."""

    kind: Literal["back gutter"] = Field(description="back gutter")
    width: Annotated[Length, Means("chimney width")] = Field(description="along the back face, arris to arris, mm")
    pitch: OwnPitch = None


def survey(site: Site, table: BackGutterTable) -> BackGutter:
    """Survey one detail from its table."""
    fact = site.desk.fact
    return BackGutter(
        head=head_of(site, table, "back_gutter", quantity=table.quantity, hands=()),
        pitch_deg=pitch_of(site, table.pitch),
        width_mm=table.width,
        side_mm=fact("gutter_side") if table.side is None else table.side,
        upstand_mm=table.upstand or fact("gutter_upstand"),
        sole_mm=table.sole or fact("gutter_sole"),
        up_roof_mm=table.up_roof or fact("gutter_up_roof"),
        fillet=fillet_of(site, table, "gutter_fillet_foot"),
        turn_over_mm=fact("gutter_turn_over"),
        corners=CornerWork(table.corners),
        roll_core_mm=fact("roll_core"),
        roll_under_mm=fact("roll_undercloak"),
        roll_over_mm=fact("roll_overcloak"),
    )
