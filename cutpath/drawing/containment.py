"""Which closed contours lie inside which: what lies deepest is cut first, before it can come loose."""

from __future__ import annotations

from collections.abc import Sequence

from cutpath.values.drawing import Role, Stroke
from cutpath.values.pattern import Polyline


def round_each(rings: Sequence[Polyline]) -> list[list[int]]:
    """Return for each ring the numbers of the rings that lie round it, whole rings only."""
    import shapely

    out: list[list[int]] = [[] for _ in rings]
    if rings:
        shapes = shapely.polygons([shapely.linearrings(ring) for ring in rings])
        inner, outer = shapely.STRtree(shapes).query(shapes, predicate="within")
        for i, o in zip(inner.tolist(), outer.tolist(), strict=True):
            if i != o:
                out[i].append(o)
    return out


def depths(strokes: Sequence[Stroke]) -> dict[int, int]:
    """Return for each cut among strokes, by its number, how many closed cuts lie round it.

    An open cut belongs to the inside of its piece.
    """
    cuts = [k for k, s in enumerate(strokes) if s.role in (Role.INNER, Role.OUTER)]
    rings = [k for k in cuts if strokes[k].closed]
    depth = {k: len(around) for k, around in zip(rings, round_each([strokes[k].points for k in rings]), strict=True)}
    of_piece = {strokes[k].piece: depth[k] for k in rings if strokes[k].role is Role.OUTER}
    return {k: depth.get(k, of_piece.get(strokes[k].piece, 0) + 1) for k in cuts}
