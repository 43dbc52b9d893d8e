"""Laps between consecutive lengths: no cut edge may lie bare, and each must be covered by at least the lap."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, Polygon

from cutpath.folding.claim import claims_of
from cutpath.folding.flat import reach_mm
from cutpath.folding.gap import cos_sin, with_leeway
from cutpath.folding.space import Array
from cutpath.tolerances import AREA_MM2, FOLD_DEVIATION_MM
from cutpath.values.leadwork import StepFlashing
from cutpath.values.survey import Detail


@dataclass(frozen=True, slots=True)
class Lap:
    """The least lap of two lengths, and by how much a cut edge of one reaches out from the other."""

    least_mm: float
    bare_mm: float


@dataclass(frozen=True, slots=True)
class Length:
    """A length in the right-handed run frame (x along the run, y square to it): rings (n x 2), counter-clockwise.

    ``outline`` of the whole sheet, ``shown`` of the part that shows on the wall.
    """

    outline: Array
    shown: Array


def lap(detail: Detail, low: Length, high: Length) -> Lap:
    """Measure the lap of two consecutive lengths, the lower or left one first."""
    claims = claims_of(detail)
    foot, levels = claims.foot_mm, claims.levels(detail)
    least = min(reach_mm(low.outline, level, 1) - reach_mm(high.outline, level, -1) for level in levels)
    upper_end, lower_end = _end(low.shown, 1, foot), _end(high.shown, -1, foot)
    return Lap(least, max(_bare_mm(upper_end, high.outline), _bare_mm(lower_end, low.outline)))


def bare_at_change(
    below: StepFlashing, low: Sequence[Array], teeth: Sequence[Array], high: Array
) -> tuple[float, float]:
    """Measure what a length above a change of pitch leaves open of the run below, seen on the wall.

    The last tooth of that run must be covered whole, down to its lower end, and all of its lead within the lap of the
    change.

    Parameters
    ----------
    low : sequence of array
        Rings (n x 2) of the wall faces of the lengths below, in their wall frame.
    teeth : sequence of array
        Their folds on bed joints (2 x 2).
    high : array
        Ring of the wall face above, in the frame of the run below.

    Returns
    -------
    width_mm, height_mm
        Level and plumb size of what lies open.
    """
    (c, s), (rise_x, rise_y) = cos_sin(below.pitch_deg), cos_sin(below.riser_deg)
    lead = shapely.union_all([Polygon(ring) for ring in low])
    x0, y0, x1, y1 = lead.buffer(1.0).bounds
    last = max(teeth, key=lambda axis: float(axis[:, 0].max()))
    head = last[np.argmin(last[:, 0])]
    slant = (y1 - y0) / rise_y
    foot, top = head - slant * np.array([rise_x, rise_y]), head + slant * np.array([rise_x, rise_y])
    beyond_riser = Polygon([foot, (x1 + abs(slant), foot[1]), (x1 + abs(slant), top[1]), top])
    far = (below.slope_mm - below.lapped_mm) * c
    left, right = ((x, x * s / c + below.water_line_mm / c) for x in (x0, x1))
    above_water = Polygon([left, right, (x1, max(y1, right[1])), (x0, max(y1, right[1]))])
    own = shapely.box(below.set_back_mm, y0, x1, y1)  # a tooth that goes on below another change belongs to that run
    tooth = lead.intersection(beyond_riser).intersection(above_water).intersection(own)
    wanted = shapely.union_all([tooth, lead.intersection(shapely.box(far, y0, x1, y1))])
    bare = wanted.difference(with_leeway(Polygon(high)))
    if bare.area <= AREA_MM2:
        return 0.0, 0.0
    x0, y0, x1, y1 = bare.bounds
    return x1 - x0, y1 - y0


def _end(ring: Array, side: int, foot_mm: float | None) -> LineString:
    """Return the cut edge that rises from the foot of a ring at its greatest (side 1) or least (side -1) x.

    The foot lies at height ``foot_mm``; None: it is the lowest of the ring.
    """
    level = float(ring[:, 1].min()) if foot_mm is None else foot_mm
    off = np.abs(ring[:, 1] - level)
    on_foot = np.flatnonzero(off <= off.min() + FOLD_DEVIATION_MM)
    foot = on_foot[np.argmax(ring[on_foot, 0] * side)]
    # The ring runs counter-clockwise: along the foot first, then up its greater end; down its lesser one.
    return LineString([ring[foot], ring[(foot + side) % len(ring)]])


def _bare_mm(edge: LineString, other: Array) -> float:
    outside = edge.difference(with_leeway(Polygon(other)))
    return float(outside.length)
