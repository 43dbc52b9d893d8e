"""The flashing over the top of a lean-to roof from in front, and a section."""

from __future__ import annotations

from collections.abc import Iterable

from cutpath.families.fronts import Face, Names, flashing_section, front_elevation, gauge_mm, joints_beside
from cutpath.families.laid import Laid
from cutpath.paper.wall_sheet import Elevation
from cutpath.values.leadwork import TopAbutment

_NAMES = Names("wall", "flashing", "wall")


def views(laid: Laid[TopAbutment]) -> Iterable[Elevation]:
    """Draw the wall and a section."""
    flashing = laid.survey
    face = Face(
        label=flashing.head.label,
        names=_NAMES,
        pitch_deg=flashing.pitch_deg,
        width_mm=flashing.length_mm,
        upstand_mm=flashing.upstand_mm,
        cover_mm=flashing.cover_mm,
        turn_in_mm=flashing.turn_in_mm,
        stops_mm=(flashing.stop_left_mm, flashing.stop_right_mm),
    )
    yield front_elevation(face, laid.lengths, joints_beside(laid), (), gauge_mm(laid))
    yield flashing_section(face, laid.lengths[0].pattern)
