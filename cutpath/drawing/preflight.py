"""The last look at a drawing before it is written: what a writer's own checks let through, is caught here."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import chain

from cutpath.drawing.overlap import Segment, overlaps, segments_of
from cutpath.drawing.route import lengths_mm
from cutpath.errors import Finding, Severity
from cutpath.tolerances import AREA_MM2, OVERLAP_DEPTH_MM, POINT_MM
from cutpath.values.drawing import Drawing, Role, Stroke

_CUTS = (Role.INNER, Role.OUTER)


def preflight(drawing: Drawing) -> tuple[Finding, ...]:
    """Find what no machine should be given.

    Faults (CP601): a coordinate that is not a finite number; a stroke of fewer than two points, with a step of no
    length, or closed and with its first point repeated; a closed contour or a cut that crosses or touches itself, or
    encloses nothing; a stroke for the machine outside the sheet; a line drawn twice for one piece, or twice among
    sheet-wide strokes. Cuts that two neighbours share are no fault: see `shared_cuts`.
    """
    found: list[Finding] = []
    for stroke in _suspect(drawing):
        found += [_fault(drawing, _name(stroke), *words) for words in _stroke_faults(drawing, stroke)]
    if not found and _repeats_anywhere(drawing):  # this needs sound strokes
        found += _repeats(drawing)
    return tuple(found)


def common_cuts(drawing: Drawing) -> tuple[int, float]:
    """Count the pairs of pieces that share a stretch of cut, and give the length shared in all, in mm."""
    strokes = [s for s in drawing.strokes if s.role in _CUTS]
    segments = [(k, g) for k, s in enumerate(strokes) for g in segments_of(s.points, closed=s.closed)]
    shared: dict[tuple[str, str], list[float]] = {}
    for o in overlaps([g for _, g in segments], OVERLAP_DEPTH_MM):
        one, other = sorted(strokes[segments[n][0]].piece for n in (o.first, o.second))
        if one != other:
            shared.setdefault((one, other), []).append(o.length_mm)
    return len(shared), math.fsum(length for lengths in shared.values() for length in lengths)


def shared_cuts(counts: Mapping[str, tuple[int, float]]) -> tuple[Finding, ...]:
    """Note once for all rolls (CP602) that neighbours share cuts, along which a machine runs once for each.

    Parameters
    ----------
    counts : mapping of str to (int, float)
        What `common_cuts` gives, by the titles of drawings that have passed `preflight`.
    """
    found = {title: count for title, count in counts.items() if count[1] >= _WORTH_A_WORD_MM}
    if not found:
        return ()
    pairs, length_mm = sum(n for n, _ in found.values()), math.fsum(mm for _, mm in found.values())
    return (
        Finding(
            "CP602",
            next(iter(found)) if len(found) == 1 else f"{len(found)} rolls",
            f"{pairs} {'pairs of pieces touch' if pairs != 1 else 'pair of pieces touches'} along "
            f"{length_mm / 1000:.1f} m",
            "one cut there frees both",
            "Cut there once, though drawings of the roll show it for each piece. A machine cuts it once where its "
            "profile has shared_once = true; else a gap in the nest keeps the cuts apart.",
            Severity.NOTE,
        ),
    )


_WORTH_A_WORD_MM = 50.0
"""Less comes to 0.0 m as it is written."""


def _name(stroke: Stroke) -> str:
    return " ".join(filter(None, (stroke.piece, stroke.name))) or stroke.role.value


def _fault(drawing: Drawing, name: str, found: str, accepted: str) -> Finding:
    return Finding(
        "CP601",
        drawing.place,
        f"{name}: {found}",
        accepted,
        "Nothing was written. This is a fault of the program or of an outline given to it: please check that outline.",
    )


def _suspect(drawing: Drawing) -> list[Stroke]:
    """Return the strokes of which all together do not show that they are sound, for a look at each."""
    import numpy as np
    import shapely

    strokes = drawing.strokes
    sizes = np.fromiter((len(s.points) for s in strokes), np.int64, len(strokes))
    closed = np.fromiter((s.closed for s in strokes), bool, len(strokes))
    least = np.where(closed, 3, 2)
    if not strokes or (sizes < least).any():
        return list(strokes)
    flat = np.fromiter(
        chain.from_iterable(chain.from_iterable(s.points for s in strokes)), float, 2 * int(sizes.sum())
    ).reshape(-1, 2)
    first = np.cumsum(sizes) - sizes
    doubt = ~np.logical_and.reduceat(np.isfinite(flat).all(axis=1), first)
    if doubt.any():
        return list(strokes)
    owner = np.repeat(np.arange(len(strokes)), sizes)
    after = np.arange(1, len(flat) + 1)
    after[first + sizes - 1] = first  # from the last point back to the first
    steps = lengths_mm(*(flat[after] - flat).T)
    steps[(first + sizes - 1)[~closed]] = np.inf  # but not of an open line
    doubt |= np.minimum.reduceat(steps, first) <= 2 * POINT_MM
    rings = np.flatnonzero(closed)
    held = closed[owner]
    shapes = shapely.polygons(shapely.linearrings(flat[held], indices=np.repeat(np.arange(rings.size), sizes[rings])))
    doubt[rings[~shapely.is_valid(shapes) | (shapely.area(shapes) <= 2 * AREA_MM2)]] = True
    open_cuts = np.fromiter((s.role in _CUTS and not s.closed for s in strokes), bool, len(strokes))
    cuts = np.flatnonzero(open_cuts)
    held = open_cuts[owner]
    lines = shapely.linestrings(flat[held], indices=np.repeat(np.arange(cuts.size), sizes[cuts]))
    doubt[cuts[~shapely.is_simple(lines)]] = True
    inside = ((flat >= 0.0) & (flat <= (drawing.length_mm, drawing.width_mm))).all(axis=1)
    beside = np.fromiter((s.role is Role.REFERENCE for s in strokes), bool, len(strokes))
    doubt |= ~np.logical_and.reduceat(inside, first) & ~beside
    return [strokes[k] for k in np.flatnonzero(doubt)]


def _repeats_anywhere(drawing: Drawing) -> bool:
    """Tell whether any line is drawn twice for one owner, by one look at all lines together."""
    owners = {name: k for k, name in enumerate(dict.fromkeys(s.piece for s in drawing.strokes))}
    segments: list[Segment] = []
    owner: list[int] = []
    for stroke in drawing.strokes:
        own = list(segments_of(stroke.points, closed=stroke.closed))
        segments += own
        owner += [owners[stroke.piece]] * len(own)
    return bool(overlaps(segments, POINT_MM, owner))


def _stroke_faults(drawing: Drawing, stroke: Stroke) -> Iterator[tuple[str, str]]:
    import shapely

    points = stroke.points
    if not all(math.isfinite(c) for p in points for c in p):
        yield "a coordinate is not a number", "every coordinate is a finite number of mm"
        return
    least = 3 if stroke.closed else 2
    if len(points) < least:
        yield f"{len(points)} point(s)", f"at least {least} points"
        return
    if stroke.closed and math.dist(points[0], points[-1]) <= POINT_MM:
        yield "the first point is repeated at the end", "closed by its flag alone"
        return
    short = [a for a, b in segments_of(points, closed=stroke.closed) if math.dist(a, b) <= POINT_MM]
    if short:
        yield f"a step of no length at x {short[0][0]:.1f}, y {short[0][1]:.1f} mm", "every step has a length"
        return
    if stroke.closed:
        area = shapely.Polygon(points)
        if not area.is_valid or area.area <= AREA_MM2:
            yield "the contour crosses or touches itself, or encloses nothing", "a simple contour with an area"
    elif stroke.role in _CUTS and not shapely.LineString(points).is_simple:
        yield "the cut crosses itself", "a cut that does not cross itself"
    if stroke.role is not Role.REFERENCE:
        yield from _outside(drawing, stroke)


def _outside(drawing: Drawing, stroke: Stroke) -> Iterator[tuple[str, str]]:
    slack = OVERLAP_DEPTH_MM
    for x, y in stroke.points:
        if not (-slack <= x <= drawing.length_mm + slack and -slack <= y <= drawing.width_mm + slack):
            yield (
                f"reaches x {x:.1f}, y {y:.1f} mm, outside the sheet",
                f"x from 0 to {drawing.length_mm:.1f} and y from 0 to {drawing.width_mm:.1f} mm",
            )
            return


def _repeats(drawing: Drawing) -> Iterator[Finding]:
    owners: dict[str, list[Stroke]] = {}
    for stroke in drawing.strokes:
        owners.setdefault(stroke.piece, []).append(stroke)
    for strokes in owners.values():
        yield from _repeats_of(drawing, strokes)


def _repeats_of(drawing: Drawing, strokes: Sequence[Stroke]) -> Iterator[Finding]:
    segments = [(k, g) for k, s in enumerate(strokes) for g in segments_of(s.points, closed=s.closed)]
    told = set()
    for o in overlaps([g for _, g in segments], POINT_MM):
        pair = (segments[o.first][0], segments[o.second][0])
        if pair not in told:
            told.add(pair)
            first, second = strokes[pair[0]], strokes[pair[1]]
            yield _fault(
                drawing,
                _name(second),
                f"{o.length_mm:.1f} mm of it lie on {first.name or first.role.value}",
                "no line twice for one piece",
            )
