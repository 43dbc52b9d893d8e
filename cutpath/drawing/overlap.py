"""Where straight segments run on top of each other."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, pairwise

from cutpath.drawing.route import lengths_mm
from cutpath.tolerances import POINT_MM
from cutpath.values.pattern import Point, Polyline

Segment = tuple[Point, Point]


@dataclass(frozen=True, slots=True)
class Overlap:
    """Segments ``first`` < ``second`` share a stretch: from ``start_mm`` to ``end_mm`` along the second."""

    first: int
    second: int
    start_mm: float
    end_mm: float

    @property
    def length_mm(self) -> float:
        """Length of the shared stretch."""
        return self.end_mm - self.start_mm


def segments_of(points: Polyline, *, closed: bool) -> Iterator[Segment]:
    """Yield the straight segments of a polyline, with the one back to the start when ``closed``."""
    yield from pairwise(points)
    if closed:
        yield (points[-1], points[0])


def overlaps(segments: Sequence[Segment], within_mm: float, owner: Sequence[int] = ()) -> tuple[Overlap, ...]:
    """Find every pair of segments that run along each other, of one ``owner`` where segments have owners.

    Both ends of the shorter segment lie within ``within_mm`` of the line of the longer one, and they share a
    stretch longer than `POINT_MM`. Segments that only touch or cross do not count. Pairs come in order.
    """
    import numpy as np
    import shapely

    if len(segments) < 2:
        return ()
    flat = chain.from_iterable(chain.from_iterable(segments))
    ends = np.fromiter(flat, float, 4 * len(segments)).reshape(-1, 2, 2)
    boxes = shapely.box(*(ends.min(axis=1) - within_mm).T, *(ends.max(axis=1) + within_mm).T)
    first, second = shapely.STRtree(boxes).query(boxes)
    later = first < second
    if owner:
        whose = np.asarray(owner)
        later &= whose[first] == whose[second]
    first, second = first[later], second[later]
    length = lengths_mm(*(ends[:, 1] - ends[:, 0]).T)
    swap = length[first] < length[second]
    base, short = np.where(swap, second, first), np.where(swap, first, second)
    sound = (length[base] > 0) & (length[short] > 0)
    first, second, base, short = first[sound], second[sound], base[sound], short[sound]

    direction = (ends[base, 1] - ends[base, 0]) / length[base][:, None]
    from_base = ends[short] - ends[base, 0][:, None, :]
    along = from_base[..., 0] * direction[:, None, 0] + from_base[..., 1] * direction[:, None, 1]
    aside = from_base[..., 1] * direction[:, None, 0] - from_base[..., 0] * direction[:, None, 1]
    low = np.clip(along.min(axis=1), 0, length[base])
    high = np.clip(along.max(axis=1), 0, length[base])
    hit = (np.abs(aside).max(axis=1) <= within_mm) & (high - low > POINT_MM)

    found = []
    for i, j, b, lo, hi, d in zip(first[hit], second[hit], base[hit], low[hit], high[hit], direction[hit], strict=True):
        (ux, uy), (x, y) = ((ends[j, 1] - ends[j, 0]) / length[j]).tolist(), (ends[b, 0] - ends[j, 0]).tolist()
        (dx, dy) = d.tolist()
        at = sorted((x + dx * s) * ux + (y + dy * s) * uy for s in (float(lo), float(hi)))
        found.append(Overlap(int(i), int(j), max(0.0, at[0]), min(float(length[j]), at[1])))
    return tuple(sorted(found, key=lambda o: (o.first, o.second)))


def merged(spans: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    """Join intervals that touch or overlap; ascending."""
    joined: list[tuple[float, float]] = []
    for start, end in sorted(spans):
        if joined and start <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((start, end))
    return joined
