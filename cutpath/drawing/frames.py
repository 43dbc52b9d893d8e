"""Frames: a roll longer than the machine's reach is fed on, and set to marks that were drawn before.

Window: the stretch of roll that the machine reaches, ``length`` long. Seam: the line across the roll up to which a
window is worked; two windows that follow each other both reach half an overlap beyond it. A piece that a window holds
whole is cut there, even beyond the seam; the seam is laid where the first piece begins that the window does not hold.
A piece that no window holds is cut off at the seam and taken up in the next one.

Registration marks stand at both edges of the roll, as far apart as they can be: two marks b apart, each met within
e, turn the sheet by up to 2 e / b, which is 2 e r / b at a reach of r. Derived.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from cutpath.tolerances import POINT_MM
from cutpath.values.machine import MARK_MM
from cutpath.values.pattern import Point, Polyline


@dataclass(frozen=True, slots=True)
class Window:
    """What the machine reaches, from ``start_mm`` to ``end_mm``, and the stretch between seams that it works."""

    start_mm: float
    end_mm: float
    from_mm: float
    to_mm: float


def frame_count(long_mm: float, frame_mm: float, overlap_mm: float) -> int:
    """Count frames of a fixed step over a length: 1, or ceil((L - V) / (F - V)). Derived."""
    if long_mm <= frame_mm + POINT_MM:
        return 1
    return math.ceil((long_mm - overlap_mm) / (frame_mm - overlap_mm) - POINT_MM)


def registration_error_mm(apart_mm: float, each_mm: float, reach_mm: float) -> float:
    """Give how far a line ``reach_mm`` away may miss: two marks ``apart_mm`` apart, each met within ``each_mm``."""
    return 2 * each_mm * reach_mm / apart_mm


def windows(
    long_mm: float, frame_mm: float, overlap_mm: float, spans: Sequence[tuple[float, float]]
) -> tuple[Window, ...]:
    """Lay windows over a sheet so that as many pieces as can be stand whole in one of them.

    Parameters
    ----------
    long_mm, frame_mm, overlap_mm : float
    spans : sequence of (low, high)
        Where along the roll each piece stands.
    """
    out: list[Window] = []
    start = from_ = 0.0
    while long_mm > start + frame_mm + POINT_MM:
        far = start + frame_mm - overlap_mm / 2
        seam = _seam(spans, start + frame_mm, from_, far)
        out.append(Window(start, start + frame_mm, from_, seam))
        start, from_ = seam - overlap_mm / 2, seam
    out.append(Window(start, long_mm, from_, long_mm))
    return tuple(out)


def _seam(spans: Sequence[tuple[float, float]], end: float, last: float, far: float) -> float:
    """Give the seam after a window that ends at ``end``: where the first piece begins that the window does not hold.

    Pieces that began before the ``last`` seam and still do not end here are held by no window.
    """
    return min((low for low, high in spans if high > end + POINT_MM and last + POINT_MM < low < far), default=far)


def clipped(line: Polyline, low_mm: float, high_mm: float) -> list[Polyline]:
    """Give the parts of an open polyline between two lines across the roll."""
    parts: list[list[Point]] = []
    for a, b in pairwise(line):
        cut = _between(a, b, low_mm, high_mm)
        if cut is None:
            continue
        if parts and parts[-1][-1] == cut[0]:
            parts[-1].append(cut[1])
        else:
            parts.append(list(cut))
    if len(parts) > 1 and line[0] == line[-1] and parts[0][0] == parts[-1][-1]:
        parts[0] = [*parts.pop(), *parts[0][1:]]
    return [tuple(p) for p in parts]


def _between(a: Point, b: Point, low: float, high: float) -> tuple[Point, Point] | None:
    run = b[0] - a[0]
    if abs(run) <= POINT_MM:
        return (a, b) if low <= a[0] < high and a != b else None
    t = sorted(((low - a[0]) / run, (high - a[0]) / run))
    t0, t1 = max(0.0, t[0]), min(1.0, t[1])
    if t1 - t0 <= POINT_MM / abs(run):
        return None

    def at(t: float) -> Point:
        return a if t == 0 else b if t == 1 else (a[0] + run * t, a[1] + (b[1] - a[1]) * t)

    return at(t0), at(t1)


def marks_at(seam_mm: float, width_mm: float, inset_mm: float) -> tuple[tuple[Point, ...], tuple[Polyline, ...]]:
    """Give the two registration marks of a seam: their middles, and the strokes of their crosses."""
    middles = ((seam_mm, inset_mm), (seam_mm, width_mm - inset_mm))
    arm = MARK_MM / 2
    strokes = [line for x, y in middles for line in (((x - arm, y), (x + arm, y)), ((x, y - arm), (x, y + arm)))]
    return middles, tuple(strokes)
