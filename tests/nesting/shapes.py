"""Blanks for the tests of nesting, drawn by hand or at random."""

from __future__ import annotations

import math
import random

from cutpath.values.nest import Blank, NestProblem, Roll

LADDER = tuple(Roll(float(w), length) for w in range(150, 601, 30) for length in (3000.0, 6000.0))


def plate(name: str, length: float, width: float, quantity: int = 1) -> Blank:
    return Blank(name, quantity, ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width)))


def stepped(name: str, teeth: int, pitch_deg: float = 35.0, course: float = 75.0, *, left: bool = False,
            quantity: int = 1, turns: tuple[float, ...] = (0.0, 180.0)) -> Blank:  # fmt: skip
    """A step flashing by the geometry of plumb risers and level joints, in the strip frame (derived)."""
    p = math.radians(pitch_deg)
    s, c = math.sin(p), math.cos(p)
    water, turn_in, along = 65.0, 25.0, course / s
    points = [(0.0, 0.0), (teeth * along, 0.0)]
    for k in range(teeth, 0, -1):
        points.append((water * s / c + k * along + turn_in * s, water + turn_in * c))
        points.append((water * s / c + (k - 1) * along + (course + turn_in) * s, water + (course + turn_in) * c))
    if left:
        points = [(-x, y) for x, y in reversed(points)]
    return Blank(name, quantity, tuple(points), (), turns)


def skyline(rng: random.Random, name: str) -> Blank:
    """A piece with a straight lower edge and a random upper one."""
    length, corners = rng.uniform(200.0, 900.0), rng.randint(2, 7)
    xs = sorted(rng.uniform(0.0, length) for _ in range(corners))
    upper = [(x, rng.uniform(60.0, 150.0)) for x in reversed(xs)]
    points = [(0.0, 0.0), (length, 0.0), (length, 50.0), *upper, (0.0, 50.0)]
    return Blank(name, rng.randint(1, 3), tuple(points))


def problem(*blanks: Blank, rolls: tuple[Roll, ...] = LADDER, gap: float = 0.0, trim: float = 0.0) -> NestProblem:
    return NestProblem(blanks, rolls, gap, trim)
