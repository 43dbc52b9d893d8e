"""Sheets that folding up says nothing of, held to their sizes in the flat.

Where corners are worked nothing folds: the uncut sheet is put together from plain rectangles and turn-ins, mitred
where two of them meet behind an arris. A shape of the user's own is held to the points that were given.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely import LineString, Point, Polygon, box, hausdorff_distance
from shapely.geometry.base import BaseGeometry

from cutpath.folding.flat import Flat, carried, to_run
from cutpath.folding.gap import Gap, cos_sin
from cutpath.tolerances import AREA_MM2, FOLD_DEVIATION_MM, POINT_MM
from cutpath.values.pattern import FoldWay
from cutpath.values.survey import Apron, BackGutter, CornerWork, Detail, PlainOutline, RidgeSaddle, TopAbutment


def worked_gaps(detail: Detail, flat: Flat) -> list[Gap]:
    """Hold the outline of a sheet with worked corners to what was surveyed, up to the turn-ins."""
    if isinstance(detail, PlainOutline):
        return _as_given(detail, flat)
    found = _along_the_edge(flat)
    if getattr(detail, "corners", None) is not CornerWork.BOSSED:
        return found
    wanted = _sheet(detail, flat)
    if wanted is not None:
        found.append(_misfit(flat, wanted, "the sheet about its worked corners misses its sizes"))
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
    match detail:
        case Apron():
            corners = [(0.0, 0.0), (detail.width_mm, 0.0)]
        case TopAbutment():
            corners = [(0.0, 0.0), (detail.length_mm, 0.0)]
        case BackGutter():
            corners = [(x, y) for x in (0.0, detail.width_mm) for y in (0.0, -detail.sole_mm)]
        case _:
            corners = [(0.0, 0.0)]
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


def _misfit(flat: Flat, wanted: BaseGeometry, what: str) -> Gap:
    sheet = Polygon(flat.ring)
    if sheet.symmetric_difference(wanted).area <= AREA_MM2:
        return Gap(0.0, what)
    return Gap(float(hausdorff_distance(sheet.boundary, wanted.boundary)), what)


def _as_given(survey: PlainOutline, flat: Flat) -> list[Gap]:
    """Hold a shape of the user's own to the points, holes, cuts and folds that were given; none is repaired."""
    pattern, size = flat.piece.pattern, float(np.ptp(flat.ring, axis=0).max())
    cut = [point for line in (*survey.holes, *survey.cuts) for point in line]
    cut += [point for start, end, _ in survey.folds for point in (start, end)]
    folds = [points for _, points in flat.folds]
    drawn = [*(carried(line, to_run(flat.piece)) for line in pattern.holes), *folds]
    drawn += [carried(snip.points, to_run(flat.piece)) for snip in pattern.snips]
    there = np.vstack([*drawn, np.empty((0, 2))])
    given = np.array(cut).reshape(-1, 2)
    apart = np.linalg.norm(given[:, None] - there[None], axis=2) if len(cut) and len(there) else np.zeros((1, 1))
    bends = [fold.angle_deg * (1 if fold.way is FoldWay.FORWARD else -1) for fold in pattern.folds]
    same = len(given) == len(there) and bends == [bend for *_, bend in survey.folds]
    return [
        _misfit(flat, Polygon(survey.outline), "the outline is not the one that was given"),
        Gap(float(max(apart.min(axis=0).max(), apart.min(axis=1).max())), "a hole, cut or fold is not as it was given"),
        Gap(0.0 if same else size, "holes, cuts and folds are not those that were given"),
    ]


def _sheet(detail: Detail, flat: Flat) -> BaseGeometry | None:
    low, high = float(flat.ring[:, 0].min()), float(flat.ring[:, 0].max())
    match detail:
        case Apron():
            left, right = _ends(flat, -detail.side_mm, detail.width_mm + detail.side_mm, (low, high))
            sheet = box(left, -detail.cover_mm, right, detail.upstand_mm)
            return sheet.union(_turned_in(detail, left, right))
        case TopAbutment():
            left, right = _ends(flat, -detail.stop_left_mm, detail.length_mm + detail.stop_right_mm, (low, high))
            up = detail.upstand_mm
            strip = box(max(left, 0.0), up, min(right, detail.length_mm), up + detail.turn_in_mm)
            return box(left, -detail.cover_mm, right, up).union(strip)
        case BackGutter():
            left, right = _ends(flat, -detail.side_mm, detail.width_mm + detail.side_mm, (low, high))
            return box(left, -detail.sole_mm - detail.up_roof_mm, right, detail.upstand_mm)
        case RidgeSaddle():
            half = detail.width_mm / 2
            return box(-half, detail.upstand_mm - detail.length_mm, half, detail.upstand_mm)
        case _:
            return None


def _ends(flat: Flat, left: float, right: float, own: tuple[float, float]) -> tuple[float, float]:
    """Return the ends of a length: of the run where it holds them, its own where it laps (those are proved as laps)."""
    return left if flat.ends[0] else own[0], right if flat.ends[1] else own[1]


def _turned_in(survey: Apron, left: float, right: float) -> BaseGeometry:
    """Return the turn-ins, of the front from arris to arris, of each side to where the roof has risen to the joint."""
    up, t, width = survey.upstand_mm, survey.turn_in_mm, survey.width_mm
    c, s = cos_sin(survey.pitch_deg)
    back = min(survey.side_mm, up * c / s)
    parts = []
    stretches = [(max(left, 0.0), min(right, width))]
    stretches += [(-back, 0.0)] * (left < 0.0) + [(width, width + back)] * (right > width)
    arrises = [0.0] * (left < 0.0) + [width] * (right > width)
    for start, end in stretches:
        at = np.array([[start, up], [end, up], [end, up + t], [start, up + t]])
        at[2, 0] -= t if end in arrises else 0.0
        at[3, 0] += t if start in arrises else 0.0
        parts.append(Polygon(at))
    return shapely.union_all(parts)
