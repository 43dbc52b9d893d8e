"""Valley gutters in the job file, and their survey."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Discriminator, Field, Tag

from cutpath.families.fillets import fillet_of
from cutpath.families.site import (
    Site,
    head_of,
    pitch_of,
)
from cutpath.families.tables import DetailTable, FilletTable, Length, Means, OwnLap, OwnPitch, Pitch, by_kind
from cutpath.trade.physics import valley_pitch_deg
from cutpath.values.leadwork import ValleyGutter


class ValleyGutterTable(DetailTable):
    """A valley gutter between two roofs whose eaves meet square in plan, in lapped lengths."""

    kind: Literal["valley gutter"] = Field(description="valley gutter")
    lap: OwnLap = None
    length: Annotated[Length, Means("long run")] = Field(description="along the valley, mm")
    pitch: OwnPitch = None
    other_pitch: Pitch | None = Field(
        default=None, description="pitch of the other roof, degrees or rise to run; the same if left out"
    )
    width: Annotated[Length, Means("sheet")] | None = Field(
        default=None, description="whole sheet, half on each roof, mm; 450"
    )
    fillet: Annotated[
        Annotated[FilletTable, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(by_kind)
    ] = Field(default=True, description="the tilting fillets, foot counted from the middle, in mm, or false for none")


def survey(site: Site, table: ValleyGutterTable) -> ValleyGutter:
    """Survey one detail from its table."""
    desk = site.desk
    pitch = pitch_of(site, table.pitch)
    other = table.other_pitch or pitch
    true = valley_pitch_deg(pitch, other)
    return ValleyGutter(
        head=head_of(site, table, "valley_gutter", quantity=table.quantity, hands=(), roof_deg=true),
        pitch_deg=pitch,
        other_pitch_deg=other,
        true_pitch_deg=true,
        length_mm=table.length,
        width_mm=table.width or desk.fact("valley_width"),
        fillet=fillet_of(site, table, "valley_fillet_foot"),
        turn_over_mm=desk.fact("gutter_turn_over"),
    )
