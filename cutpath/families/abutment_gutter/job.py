"""Gutters beside a wall in the job file, and their survey."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from cutpath.families.site import (
    Site,
    head_of,
    pitch_of,
    sets_of,
)
from cutpath.families.tables import DetailTable, HandWord, Length, Means, OwnLap, OwnPitch
from cutpath.values.leadwork import AbutmentGutter


class AbutmentGutterTable(DetailTable):
    """A gutter up the slope beside a wall, under the covering, in lapped lengths."""

    kind: Literal["secret gutter"] = Field(description="secret gutter")
    hands: HandWord = Field(
        default="pair", description="which way the roof rises as you face the wall: left, right or pair"
    )
    lap: OwnLap = None
    length: Annotated[Length, Means("long run")] = Field(description="along the slope, mm")
    pitch: OwnPitch = None
    upstand: Annotated[Length, Means("upstand")] | None = Field(default=None, description="up the wall, mm; 100")
    sole: Annotated[Length, Means("sole")] | None = Field(
        default=None, description="on the roof, from the wall to the turned-up edge, mm; 100"
    )
    edge: Annotated[Length, Means("edge")] | None = Field(default=None, description="outer edge turned up, mm; 40")


def survey(site: Site, table: AbutmentGutterTable) -> AbutmentGutter:
    """Survey one detail from its table."""
    fact = site.desk.fact
    pitch = pitch_of(site, table.pitch)
    hands = sets_of(site, table)
    return AbutmentGutter(
        head=head_of(site, table, "abutment_gutter", quantity=table.quantity, hands=hands, roof_deg=pitch),
        pitch_deg=pitch,
        length_mm=table.length,
        upstand_mm=table.upstand or fact("abutment_gutter_upstand"),
        sole_mm=table.sole or fact("abutment_gutter_sole"),
        edge_mm=table.edge or fact("abutment_gutter_edge"),
    )
