"""Sheets that folding up says nothing of, held to their sizes in the flat.

Where corners are worked nothing folds: the uncut sheet is put together from plain rectangles and turn-ins, mitred
where two of them meet behind an arris. A shape of the user's own is held to the points that were given.
"""

from __future__ import annotations

import numpy as np
from shapely import LineString, Point, Polygon

from cutpath.folding.claim import claims_of
from cutpath.folding.flat import Flat, misfit
from cutpath.folding.gap import Gap
from cutpath.tolerances import FOLD_DEVIATION_MM, POINT_MM
from cutpath.values.leadwork import CornerWork
from cutpath.values.survey import Detail


def worked_gaps(detail: Detail, flat: Flat) -> list[Gap]:
    """Hold the outline of a sheet with worked corners to what was surveyed, up to the turn-ins."""
    claims = claims_of(detail)
    if claims.as_given is not None:
        return claims.as_given(detail, flat)
    found = _along_the_edge(flat)
    if getattr(detail, "corners", None) is not CornerWork.BOSSED:
        return found
    wanted = claims.sheet(detail, flat)
    if wanted is not None:
        found.append(misfit(flat, wanted, "the sheet about its worked corners misses its sizes"))
    return [*found, *_inner_ends(detail, flat)]


def _along_the_edge(flat: Flat) -> list[Gap]:
    """Hold folds to the inside of the sheet: one that runs on along a cut edge is drawn too long."""
    edge = Polygon(flat.ring).boundary.buffer(POINT_MM)
    return [
        Gap(float(length), f"the fold '{fold.name}' runs on along a cut edge")
        for fold, ends in flat.folds
        if (length := LineString(ends).intersection(edge).length) > FOLD_DEVIATION_MM
    ]


def _inner_ends(detail: Detail, flat: Flat) -> list[Gap]:
    """Hold the folds that end inside the sheet to the corners about which it is worked."""
    corners = claims_of(detail).worked_about(detail)
    edge = Polygon(flat.ring).boundary
    found = []
    for fold, ends in flat.folds:
        for end in ends:
            if edge.distance(Point(*end)) > FOLD_DEVIATION_MM:
                off = float(np.linalg.norm(np.array(corners) - end, axis=1).min())
                found.append(
                    Gap(off, f"the fold '{fold.name}' ends away from the corner about which the lead is worked")
                )
    return found
