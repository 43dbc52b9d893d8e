"""Arcs of tool paths: their angle and length, and chords for formats that have no arcs."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from cutpath import sure
from cutpath.tolerances import POINT_MM
from cutpath.values.pattern import Point, Polyline
from cutpath.values.toolpath import ToolMove


def turn_rad(start: Point, move: ToolMove) -> float:
    """Return the angle of an arc from ``start``; positive counter-clockwise; 0 for a straight move."""
    if move.centre is None:
        return 0.0
    (cx, cy), (x, y) = move.centre, move.to
    a = sure.atan2(start[1] - cy, start[0] - cx)
    b = sure.atan2(y - cy, x - cx)
    turn = (b - a) % math.tau
    return turn if move.ccw else turn - math.tau


def move_mm(start: Point, move: ToolMove) -> float:
    """Return the length of a move."""
    if move.centre is None:
        return math.dist(start, move.to)
    return abs(turn_rad(start, move)) * math.dist(move.centre, move.to)


def length_mm(start: Point, moves: Iterable[ToolMove]) -> float:
    """Return the length of all moves."""
    total = 0.0
    for move in moves:
        total += move_mm(start, move)
        start = move.to
    return total


def chords(radius_mm: float, turn: float, sagitta_mm: float) -> int:
    """Count the chords of an arc of ``turn`` rad that leave it by no more than ``sagitta_mm``.

    A chord over the angle t leaves a circle by R (1 - cos(t/2)); a full circle takes ceil(pi / acos(1 - e/R)). Derived.
    """
    if sagitta_mm >= radius_mm:
        return max(1, math.ceil(abs(turn) / math.pi - POINT_MM))
    return max(1, math.ceil(abs(turn) / (2 * sure.acos(1 - sagitta_mm / radius_mm)) - POINT_MM))


def flattened(start: Point, moves: Sequence[ToolMove], sagitta_mm: float) -> Polyline:
    """Return the path as a polyline from ``start``, its arcs as chords."""
    points = [start]
    for move in moves:
        if move.centre is not None:
            turn = turn_rad(points[-1], move)
            cx, cy = move.centre
            radius = math.dist(move.centre, move.to)
            first = sure.atan2(points[-1][1] - cy, points[-1][0] - cx)
            count = chords(radius, turn, sagitta_mm)
            for k in range(1, count):
                a = first + turn * k / count
                points.append((cx + radius * sure.cos(a), cy + radius * sure.sin(a)))
        points.append(move.to)
    return tuple(points)
