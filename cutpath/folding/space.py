"""Faces folded up in space about their hinges, as rigid parts.

A place is a 4 x 4 matrix that carries a face from the flat pattern frame (z = 0, weather face towards +z) into space.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from cutpath import sure
from cutpath.folding.sheet import Hinge, HingedSheet
from cutpath.tolerances import AREA_MM2, FOLD_DEVIATION_MM
from cutpath.values.pattern import Fold, FoldUse, FoldWay, Side

Array = NDArray[np.float64]

STILL = "sheet"
"""Name of the face that stays where it is while the others are folded."""


@dataclass(frozen=True, slots=True)
class Folded:
    """A face in space.

    ``corners`` (n x 3) in outline order; ``fold`` that it hangs on, None of the still face; ``parent`` the fold on
    which the face beyond that hangs; ``axis`` (2 x 3) the ends of its fold, none for the still face.
    """

    index: int
    fold: Fold | None
    parent: Fold | None
    place: Array
    corners: Array
    axis: Array

    @property
    def name(self) -> str:
        """Its name, for messages alone."""
        return self.fold.name if self.fold else STILL

    @property
    def is_still(self) -> bool:
        """Whether it is the face that stays where it is."""
        return self.fold is None

    @property
    def use(self) -> FoldUse | None:
        """What its fold is for, None of the still face."""
        return self.fold.use if self.fold else None

    @property
    def side(self) -> Side | None:
        """Which of two alike it is."""
        return self.fold.side if self.fold else None

    @property
    def step(self) -> int | None:
        """Number of the joint into which it turns, where it is the turn-in of a step."""
        return self.fold.joint if self.fold and self.fold.use is FoldUse.STEP_TURN_IN else None

    @property
    def on_still(self) -> bool:
        """Whether it hangs on the still face."""
        return self.fold is not None and self.parent is None


def turn_about(hinge: Hinge, moving: int) -> Array:
    """Return the matrix that folds the face ``moving`` about its hinge, in the pattern frame."""
    (x, y), (x1, y1) = hinge.fold.start, hinge.fold.end
    size = math.hypot(x1 - x, y1 - y)
    dx, dy = (x1 - x) / size, (y1 - y) / size
    # A turn about the fold's direction lifts what lies to the left of it: towards the viewer, forward.
    forward = hinge.fold.way is FoldWay.FORWARD
    angle = math.radians(hinge.fold.angle_deg) * (1 if forward == (moving == hinge.left) else -1)
    c, s = sure.cos(angle), sure.sin(angle)
    turn = np.eye(4)
    turn[:3, :3] = [
        [c + dx * dx * (1 - c), dx * dy * (1 - c), dy * s],
        [dx * dy * (1 - c), c + dy * dy * (1 - c), -dx * s],
        [-dy * s, dx * s, c],
    ]
    turn[:3, 3] = np.array([x, y, 0.0]) - turn[:3, :3] @ [x, y, 0.0]
    return turn


def still_face(sheet: HingedSheet, to_run: Array, window: tuple[float, float]) -> int:
    """Choose the face that stays: of those that hang on a fold, the one that stands on most of y = 0.

    ``to_run`` carries the pattern frame into the run frame; only the stretch ``window`` of x counts there.
    """
    hinged = {face for hinge in sheet.hinges for face in (hinge.left, hinge.right)} or range(len(sheet.faces))
    low, high = window
    upright = 1.0 if to_run[0, 0] > 0 else -1.0  # a mirrored ring runs clockwise

    def foot_mm(face: int) -> float:
        ring = shapely.get_coordinates(sheet.faces[face].exterior) @ to_run[:2, :2].T + to_run[:2, 3]
        on_line = np.abs(ring[:, 1]) <= FOLD_DEVIATION_MM
        ahead = np.diff(np.clip(ring[:, 0], low, high)) * upright
        return float(ahead[on_line[:-1] & on_line[1:] & (ahead > 0)].sum())

    return max(hinged, key=lambda face: (foot_mm(face), sheet.faces[face].area))


def fold_up(sheet: HingedSheet, root: int, at: Array) -> tuple[list[Folded], list[tuple[str, float]]]:
    """Fold every face that hangs, directly or through others, on the face ``root``; that one is placed by ``at``.

    Returns
    -------
    faces, gaps
        ``gaps`` holds (name of fold, mm) for folds that close a ring of faces: how far the ring gapes.
    """
    hanging: dict[int, list[Hinge]] = {}
    for hinge in sheet.hinges:
        hanging.setdefault(hinge.left, []).append(hinge)
        hanging.setdefault(hinge.right, []).append(hinge)
    folded = {root: _placed(sheet, root, None, None, at)}
    used: set[Hinge] = set()
    gaps = []
    line = deque([root])
    while line:
        parent = line.popleft()
        for hinge in hanging.get(parent, []):
            if hinge in used:
                continue
            used.add(hinge)
            child = hinge.right if hinge.left == parent else hinge.left
            place = folded[parent].place @ turn_about(hinge, child)
            face = _placed(sheet, child, hinge.fold, folded[parent].fold, place)
            if child in folded:
                gap = np.linalg.norm(face.corners - folded[child].corners, axis=1).max()
                gaps.append((hinge.fold.name, float(gap)))
            else:
                folded[child] = face
                line.append(child)
    return list(folded.values()), gaps


def carried(face: Folded, move: Array) -> Folded:
    """Return the face carried into another space by a 4 x 4 matrix."""

    def moved(points: Array) -> Array:
        return points @ move[:3, :3].T + move[:3, 3]

    return replace(face, place=move @ face.place, corners=moved(face.corners), axis=moved(face.axis))


def _placed(sheet: HingedSheet, index: int, fold: Fold | None, parent: Fold | None, place: Array) -> Folded:
    def carried(flat: Array) -> Array:
        return flat @ place[:3, :2].T + place[:3, 3]

    corners = carried(shapely.get_coordinates(sheet.faces[index].exterior)[:-1])
    axis = carried(np.array([fold.start, fold.end]) if fold else np.empty((0, 2)))
    return Folded(index, fold, parent, place, corners, axis)


def clashes(faces: Sequence[Folded], sheet: HingedSheet) -> Iterator[tuple[Folded, Folded]]:
    """Find pairs of folded faces that pass through one another, or lie on one another.

    Faces may touch along a line. Faces joined by worked lead, directly or through others, are not compared.
    """
    if len(faces) < 2:
        return
    low = np.array([f.corners.min(axis=0) for f in faces]) - FOLD_DEVIATION_MM
    high = np.array([f.corners.max(axis=0) for f in faces])
    near: NDArray[np.bool_] = np.all(low[:, None] <= high[None], axis=2)
    worked = _together(sheet)
    for i, j in zip(*np.nonzero(np.triu(near & near.T, 1)), strict=True):
        a, b = faces[i], faces[j]
        if worked[a.index] != worked[b.index] and _clash(a, b, sheet.faces):
            yield a, b


def _together(sheet: HingedSheet) -> list[int]:
    """Return each face a number, so that those joined by seams, directly or through others, bear the same one."""
    number = list(range(len(sheet.faces)))
    for a, b in sheet.seams:
        one, other = number[a], number[b]
        number = [one if n == other else n for n in number]
    return number


def _clash(a: Folded, b: Folded, flat: Sequence[Polygon]) -> bool:
    if np.abs(heights_above(a, b)).max() <= FOLD_DEVIATION_MM:
        back = np.linalg.inv(b.place)
        upon = Polygon((a.corners @ back[:3, :3].T + back[:3, 3])[:, :2])
        return float(upon.intersection(flat[b.index]).area) > AREA_MM2
    return crosses(a, b)


def crosses(a: Folded, b: Folded) -> bool:
    """Tell whether two faces pass through one another; they may touch along a line, or lie on one another."""
    from_b, from_a = heights_above(a, b), heights_above(b, a)
    if not (_both_sides(from_a) and _both_sides(from_b)):
        return False
    way = np.cross(a.place[:3, 2], b.place[:3, 2])
    way /= np.linalg.norm(way)
    spans_a, spans_b = _spans(a.corners @ way, from_b), _spans(b.corners @ way, from_a)
    return any(min(a1, b1) - max(a0, b0) > FOLD_DEVIATION_MM for a0, a1 in spans_a for b0, b1 in spans_b)


def heights_above(face: Folded, plane: Folded) -> Array:
    """Return the heights of a face's corners above the plane of another."""
    heights: Array = (face.corners - plane.place[:3, 3]) @ plane.place[:3, 2]
    return heights


def _both_sides(heights: Array) -> bool:
    return bool(heights.min() < -FOLD_DEVIATION_MM and heights.max() > FOLD_DEVIATION_MM)


def _spans(along: Array, heights: Array) -> list[tuple[float, float]]:
    """Return the stretches of the line of two planes that lie inside a face, from where its edges cross that line."""
    after, above = np.roll(along, -1), heights >= 0
    crossing = above != np.roll(above, -1)
    share = heights[crossing] / (heights[crossing] - np.roll(heights, -1)[crossing])
    at = np.sort(along[crossing] + share * (after[crossing] - along[crossing]))
    return list(zip(at[::2].tolist(), at[1::2].tolist(), strict=True))


def axes(x: Sequence[float], y: Sequence[float], z: Sequence[float], at: Sequence[float]) -> Array:
    """Return the 4 x 4 matrix that carries the three axes of a space to these, and its origin to ``at``."""
    move = np.eye(4)
    move[:3] = np.column_stack([x, y, z, at])
    return move
