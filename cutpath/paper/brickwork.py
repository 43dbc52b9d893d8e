"""A wall as lines: bed joints as measured, bricks only suggested.

Lines stand in the wall frame of `cutpath.values.survey`; a `View` carries them to paper.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

from cutpath.paper.ink import Contours, Ink
from cutpath.paper.text import millimetres
from cutpath.values.pattern import Point, Polyline
from cutpath.values.survey import BedJoint

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

BRICK_MM = 225.0
"""A stretcher with its joint, to suggest the bond: 215 + 10 (metric brick, read); no brick was measured."""

STONE_MM = 110.0
"""A course higher than this is stone, suggested twice as long as it is high."""

_BED_MM = 30.0  # how far a bed that was chosen for one step is drawn beyond it


@dataclass(frozen=True, slots=True)
class View:
    """Wall frame to paper at one to ``scale``; ``mirrored`` for a left hand, which rises to the left.

    ``origin`` is the point of the wall from which coordinates are counted.
    """

    scale: float
    mirrored: bool
    origin: Point = (0.0, 0.0)

    def shifted(self, origin: Point) -> View:
        """Return the view of a frame whose origin stands at a point of this one."""
        return replace(self, origin=(self.origin[0] + origin[0], self.origin[1] + origin[1]))

    def at(self, point: Point) -> Point:
        """Return the place on paper of a point of the wall."""
        x = (point[0] + self.origin[0]) / self.scale
        return (-x if self.mirrored else x), -(point[1] + self.origin[1]) / self.scale

    def all(self, points: Iterable[Point]) -> tuple[Point, ...]:
        """Return the places on paper of several points."""
        return tuple(self.at(point) for point in points)

    def way(self, direction: Point) -> Point:
        """Return the direction on paper of a direction on the wall."""
        return (-direction[0] if self.mirrored else direction[0]), -direction[1]


def joint_lines(view: View, joints: Sequence[BedJoint], wall: BaseGeometry) -> list[Ink]:
    """Draw each bed joint over the wall, level on the next face at x < 0; a bed chosen for one step only along it."""
    inks: list[Ink] = []
    for joint, parts in zip(joints, _courses(tuple(joints), wall), strict=True):
        contours = tuple(map(view.all, parts))
        if contours:
            data = (("joint", str(joint.number)), ("height", millimetres(joint.y_mm)))
            inks.append(Contours(contours, "bed-joint", data=data))
    return inks


@lru_cache(maxsize=8)
def _courses(joints: tuple[BedJoint, ...], wall: BaseGeometry) -> list[list[tuple[Point, ...]]]:
    """Return the parts of each bed joint that lie on a wall; kept as the perpends are."""
    x0, _, x1, _ = wall.bounds
    courses: list[list[Point]] = []
    start = 0.0
    for joint in joints:
        left, right = min(x0, 0.0), x1
        if joint.end_x_mm is not None:
            left, right, start = start - _BED_MM, joint.end_x_mm + _BED_MM, joint.end_x_mm
        course = [(left, joint.height_mm(max(left, 0.0))), (right, joint.height_mm(right))]
        if left < 0.0 < right:
            course.insert(1, (0.0, joint.y_mm))
        courses.append(course)
    return all_inside(courses, wall)


def left_out_joints(view: View, joints: Sequence[BedJoint], wall: BaseGeometry) -> list[Ink]:
    """Dash the joints whose numbers are missing among the measured ones, evenly spaced between their neighbours."""
    x0, _, x1, _ = wall.bounds
    inks: list[Ink] = []
    for low, high in pairwise(joints):
        count = high.number - low.number
        for n in range(1, count):
            share = n / count
            ends = [(x, low.height_mm(x) * (1 - share) + high.height_mm(x) * share) for x in (max(x0, 0.0), x1)]
            parts = tuple(view.all(part) for part in inside(ends, wall))
            if parts:
                inks.append(Contours(parts, "bed-joint left-out", data=(("left-out", str(low.number + n)),)))
    return inks


def bricks(view: View, joints: Sequence[BedJoint], wall: BaseGeometry) -> list[Ink]:
    """Suggest the bond: perpends at every stretcher, half a stretcher on in every other course.

    Where a joint between two is missing, or beds were chosen step by step, no bond is known and none is suggested.
    """
    found = _perpends(tuple(joints), wall)
    return [Contours(tuple(view.all(part) for part in found), "brick")] if found else []


@lru_cache(maxsize=8)
def _perpends(joints: tuple[BedJoint, ...], wall: BaseGeometry) -> list[tuple[Point, ...]]:
    """Return the perpends on a wall; kept, since a wall is drawn at several scales until it fits."""
    x0, y0, x1, _ = wall.bounds
    perpends: list[tuple[Point, Point]] = []
    for low, high in pairwise((None, *joints)):
        assert high is not None  # noqa: S101 - only the first of the pairs begins with nothing
        if high.end_x_mm is not None or (low is not None and high.number != low.number + 1):
            continue
        rise = high.y_mm - (low.y_mm if low else 0.0)
        brick = BRICK_MM if low is None or rise <= STONE_MM else 2 * rise
        start = brick / 2 if high.number % 2 else brick
        right = [start + i * brick for i in range(math.ceil(max(x1, 0.0) / brick))]
        left = [-(1.5 * brick - start) - i * brick for i in range(math.ceil(max(-x0, 0.0) / brick))]
        for x in (*left, *right):
            across = max(x, 0.0)
            bottom = low.height_mm(across) if low else y0
            perpends.append(((x, bottom), (x, high.height_mm(across))))
    return [part for parts in all_inside(perpends, wall) for part in parts]


def inside(points: Sequence[Point], wall: BaseGeometry) -> list[tuple[Point, ...]]:
    """Return the parts of a line that lie on a wall."""
    return all_inside([points], wall)[0]


def all_inside(lines: Sequence[Sequence[Point]], wall: BaseGeometry) -> list[list[tuple[Point, ...]]]:
    """Return for each of several lines its parts that lie on a wall."""
    from shapely import LineString, intersection

    cuts = intersection(wall, [LineString(points) for points in lines]) if lines else ()
    return [
        [points_of(part) for part in getattr(cut, "geoms", [cut]) if isinstance(part, LineString) and part.length > 0]
        for cut in cuts
    ]


def points_of(part: BaseGeometry) -> Polyline:
    """Return the points of a line or a ring of shapely's."""
    return tuple((x, y) for x, y in part.coords)
