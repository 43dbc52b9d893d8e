"""Which closed contours lie inside which: what lies deepest is cut first, before it can come loose."""

from __future__ import annotations

from collections.abc import Sequence

from cutpath.values.pattern import Polyline


def round_each(rings: Sequence[Polyline]) -> list[list[int]]:
    """Give for each ring the numbers of the rings that lie round it, whole rings only."""
    import shapely

    out: list[list[int]] = [[] for _ in rings]
    if rings:
        shapes = shapely.polygons([shapely.linearrings(ring) for ring in rings])
        inner, outer = shapely.STRtree(shapes).query(shapes, predicate="within")
        for i, o in zip(inner.tolist(), outer.tolist(), strict=True):
            if i != o:
                out[i].append(o)
    return out
