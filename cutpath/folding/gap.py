"""How far parts of a folded piece miss their places: the few comparisons that every family is held to."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely import remove_repeated_points
from shapely.geometry.base import BaseGeometry

from cutpath import sure
from cutpath.errors import Finding
from cutpath.folding.space import Array, Folded
from cutpath.tolerances import FOLD_DEVIATION_MM, POINT_MM
from cutpath.values.pattern import FoldUse, Side

Ends = tuple[bool, bool]
"""Whether a piece holds the lower (or left) and the upper (or right) end of its run."""


PlaneLine = tuple[tuple[float, ...], tuple[float, ...]]
"""A point and a direction."""


@dataclass(frozen=True, slots=True)
class Gap:
    """By how much something misses its place, and what it is, in words that go on after how it came there."""

    mm: float
    what: str


AT_FAULT = "Do not cut it: the pattern is at fault, not your survey. Report it with the job file."
"""What to do where lead misses what was surveyed."""


def misses(where: str, how: str, compared: Sequence[Gap], code: str = "CP413") -> list[Finding]:
    """Return one finding for all that misses its place: the worst, and how many more there are.

    ``how`` it came there opens the finding, such as "folded up".
    """
    over = sorted((gap for gap in compared if gap.mm > FOLD_DEVIATION_MM), key=lambda gap: -gap.mm)
    if not over:
        return []
    more = f" (and {len(over) - 1} more)" if over[1:] else ""
    found = f"{how}, {over[0].what}: out by {over[0].mm:.3f} mm{more}"
    return [Finding(code, where, found, f"at most {FOLD_DEVIATION_MM:g} mm", AT_FAULT)]


def cos_sin(angle_deg: float) -> tuple[float, float]:
    """Return cosine and sine of an angle in degrees."""
    return sure.cos(math.radians(angle_deg)), sure.sin(math.radians(angle_deg))


def with_leeway(shape: BaseGeometry) -> BaseGeometry:
    """Return a shape wider all round by the deviation that arithmetic may leave.

    Corners that only rounding has parted are one first: of such there is no mitre.
    """
    return remove_repeated_points(shape, POINT_MM).buffer(FOLD_DEVIATION_MM, join_style="mitre")


def on(values: Array, what: str, at: float = 0.0) -> Gap:
    """Hold all values to ``at``."""
    return Gap(float(np.abs(values - at).max(initial=0.0)), what)


def from_to(values: Array, low: float, high: float, what: str) -> Gap:
    """Hold values to span from ``low`` to ``high``, no more and no less."""
    return Gap(max(abs(float(values.min()) - low), abs(float(values.max()) - high)), what)


def within(values: Array, low: float, high: float, what: str) -> Gap:
    """Hold every value between ``low`` and ``high``."""
    return Gap(max(low - float(values.min()), float(values.max()) - high, 0.0), what)


def reach(values: Array, run: tuple[float, float], ends: Ends, what: str) -> Gap:
    """Hold values to begin and end with the run, at those ends of it that the piece holds, and to go no further."""
    low, high = float(values.min()) - run[0], run[1] - float(values.max())
    return Gap(max(*(abs(end) if there else -end for end, there in zip((low, high), ends, strict=True)), 0.0), what)


def square_ends(face: Folded, what: str) -> Gap:
    """Hold every edge of a part either along x or square to it."""
    edges = np.abs(np.roll(face.corners, -1, axis=0) - face.corners)
    return on(np.minimum(edges[:, 0], np.hypot(edges[:, 1], edges[:, 2])), what)


def boxed(face: Folded, what: str) -> Gap:
    """Hold every edge of a part along an axis of space."""
    edges = np.sort(np.abs(np.roll(face.corners, -1, axis=0) - face.corners), axis=1)
    return on(np.hypot(edges[:, 0], edges[:, 1]), what)


def from_lines(points: Array, lines: Sequence[PlaneLine]) -> Array:
    """Return the distances (points x lines) of points of a plane from lines in it."""
    at, way = (np.array(part, dtype=float) for part in zip(*lines, strict=True))
    square = np.column_stack([-way[:, 1], way[:, 0]]) / np.hypot(*way.T)[:, None]
    apart: Array = np.abs(points @ square.T - (at * square).sum(axis=1))
    return apart


def edges_on(corners: Array, lines: Sequence[PlaneLine], what: str) -> Gap:
    """Hold every edge between consecutive corners, in a plane, to one of the lines."""
    apart = from_lines(corners, lines)
    return on(np.maximum(apart, np.roll(apart, -1, axis=0)).min(axis=1), what)


def corners_at(face: Folded, wanted: Sequence[tuple[float, float]], what: str) -> Gap:
    """Hold the corners of a part, in x and y, to where they should be, in whatever order."""
    apart = np.linalg.norm(face.corners[:, None, :2] - np.array(wanted)[None], axis=2)
    return Gap(float(max(apart.min(axis=0).max(), apart.min(axis=1).max())), what)


def in_joint(name: str, off: Array, depth: Array, turn_in_mm: float) -> list[Gap]:
    """Hold a turn-in to its joint (``off`` is the height above it) and to the depth of the chase, corner by corner."""
    span = from_to(depth, 0.0, turn_in_mm, f"the {name} misses the depth of the chase ({turn_in_mm:g} mm)")
    uneven = on(np.minimum(np.abs(depth), np.abs(depth - turn_in_mm)), span.what)
    return [on(off, f"the {name} lies off its joint"), max(span, uneven, key=lambda gap: gap.mm)]


def upstand(face: Folded, up_mm: float) -> list[Gap]:
    """Hold a part to the wall z = 0, from its foot at y = 0 up to its height."""
    return [
        on(face.corners[:, 2], "the upstand stands off the wall"),
        from_to(face.corners[:, 1], 0.0, up_mm, f"the upstand is not {up_mm:g} mm high"),
        square_ends(face, "an end of the upstand is not square"),
    ]


def unknown(face: Folded) -> Gap:
    """Return a part that nothing surveyed calls for; its size is what it is out by."""
    return Gap(float(np.ptp(face.corners, axis=0).max()), f"the part beyond the fold '{face.name}' belongs nowhere")


Wanted = dict[tuple[FoldUse, Side | None], float]
"""Sizes of parts that must be there, by the folds on which they hang."""


def missing(faces: Sequence[Folded], wanted: Wanted) -> list[Gap]:
    """Find parts that must be there and are not; the size is what a missing one is out by."""
    there = {(face.use, face.side) for face in faces}
    return [Gap(size, f"the {_words(*key)} is missing") for key, size in wanted.items() if size and key not in there]


def _words(use: FoldUse, side: Side | None) -> str:
    return f"{side.value} {use.value}" if side else use.value


def at_ends(use: FoldUse, sizes: tuple[float, float], ends: Ends) -> Wanted:
    """Return the parts that belong to the ends a piece holds, with their sizes."""
    return {(use, side): size for side, size, there in zip((Side.LEFT, Side.RIGHT), sizes, ends, strict=True) if there}
