"""Valley gutters, in lapped lengths.

Run frame: x up along the gutter, y across the sheet; the middle fold lies on y = 0. Between two roofs that meet square
in plan it bends by the angle between them, whose cosine is cos p x cos q (derived); the folds over the tilting fillets
follow on either side.
"""

from __future__ import annotations

import math
from dataclasses import replace

from cutpath import sure
from cutpath.errors import Finding
from cutpath.families.fillets import bad_fillet, fillet_bends
from cutpath.families.strips import Bend, strip
from cutpath.values.leadwork import ValleyGutter
from cutpath.values.pattern import FlatPattern, FoldUse, Side, Stance


def valley_bend_deg(survey: ValleyGutter) -> float:
    """Return the bend of the valley's middle fold out of the flat."""
    one, other = math.radians(survey.pitch_deg), math.radians(survey.other_pitch_deg)
    return math.degrees(sure.acos(sure.cos(one) * sure.cos(other)))


def check_valley(survey: ValleyGutter) -> tuple[Finding, ...]:
    """Find fillets over which the sheet does not reach."""
    return tuple(bad_fillet(survey.head, survey.fillet, survey.width_mm / 2, "width"))


def valley_length(
    survey: ValleyGutter, start_mm: float, end_mm: float, lap_below_mm: float | None, lap_above_mm: float | None
) -> FlatPattern:
    """Develop the length of a valley gutter between two distances up the valley."""
    half = survey.width_mm / 2
    over = fillet_bends(survey.fillet, half) if survey.fillet else []
    bends: list[Bend] = [
        *(_on(Side.FIRST_ROOF, bend, -1.0) for bend in reversed(over)),
        Bend("middle", FoldUse.VALLEY, 0.0, valley_bend_deg(survey)),
        *(_on(Side.SECOND_ROOF, bend, 1.0) for bend in over),
    ]
    laps = (lap_below_mm, lap_above_mm)
    return strip("valley gutter", (-half, half), bends, (start_mm, end_mm), laps, Stance.LYING)


def _on(roof: Side, bend: Bend, way: float) -> Bend:
    """Return a fold over a fillet as it lies on one of the roofs."""
    return replace(bend, name=f"{bend.name}, {roof.value}", at_mm=way * bend.at_mm, side=roof)
