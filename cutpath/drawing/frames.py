"""Frames: a roll longer than the machine's reach is fed on, and worked window by window.

Window: the stretch of roll that the machine reaches, ``length`` long. Seam: the line across the roll up to which a
window is worked; two windows that follow each other both reach half an overlap beyond it. A piece that begins before
the seam and that the window holds whole is cut there, even beyond the seam; the seam is laid where the first piece
begins that the window does not hold. A piece that no window holds is cut off at the seam and taken up in the next one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from cutpath.tolerances import POINT_MM
from cutpath.values.pattern import Point, Polyline

Span = tuple[float, float]
"""Where a piece stands along the roll, from and to, in mm."""

_MOST_SEAMS = 24  # other places for a seam that are looked at


@dataclass(frozen=True, slots=True)
class Window:
    """What the machine reaches, from ``start_mm`` to ``end_mm``, and the stretch between seams that it works."""

    start_mm: float
    end_mm: float
    from_mm: float
    to_mm: float

    def holds(self, span: Span) -> bool:
        """Tell whether a piece stands in it whole."""
        return self.start_mm - POINT_MM <= span[0] and span[1] <= self.end_mm + POINT_MM


def frame_count(long_mm: float, frame_mm: float, overlap_mm: float) -> int:
    """Count frames of a fixed step over a length: 1, or ceil((L - V) / (F - V)). Derived."""
    if long_mm <= frame_mm + POINT_MM:
        return 1
    return math.ceil((long_mm - overlap_mm) / (frame_mm - overlap_mm) - POINT_MM)


def windows(
    long_mm: float,
    frame_mm: float,
    overlap_mm: float,
    spans: Sequence[Span],
    sound: Callable[[Window], bool] = lambda _: True,
) -> tuple[Window, ...]:
    """Lay windows over a sheet so that as many pieces as can be stand whole in one of them.

    Parameters
    ----------
    long_mm, frame_mm, overlap_mm : float
    spans : sequence of (low, high)
        Where along the roll each piece stands.
    sound : callable
        Tells whether the roll may be fed on after a window with such a seam; where it may not, the seam is laid where
        another piece begins, the last that will do. Where none will do the seam stays.
    """
    out: list[Window] = []
    start = from_ = 0.0
    while long_mm > start + frame_mm + POINT_MM:
        end = start + frame_mm
        held = [(low, high) for low, high in spans if high - low <= frame_mm - overlap_mm / 2]
        seam = _seam(held, end, from_, end - overlap_mm / 2)
        others = sorted({low for low, _ in spans if from_ + overlap_mm < low < seam}, reverse=True)
        laid = [Window(start, end, from_, place) for place in (seam, *others[:_MOST_SEAMS])]
        out.append(next((window for window in laid if sound(window)), laid[0]))
        from_ = out[-1].to_mm
        start = from_ - overlap_mm / 2
    out.append(Window(start, long_mm, from_, long_mm))
    return tuple(out)


def home(span: Span, laid: Sequence[Window]) -> int | None:
    """Return the window in which a piece is cut whole, by its number from 0; None where no window holds it."""
    last = len(laid) - 1
    return next(
        (k for k, window in enumerate(laid) if window.holds(span) and (k == last or span[0] < window.to_mm)), None
    )


def _seam(spans: Sequence[Span], end: float, last: float, far: float) -> float:
    """Return the seam after a window that ends at ``end``: where the first piece begins that the window does not hold.

    ``spans`` are those of pieces that the window after such a seam holds. Those that began before the ``last`` seam and
    still do not end here are held by none.
    """
    return min((low for low, high in spans if high > end + POINT_MM and last + POINT_MM < low < far), default=far)


def clipped(line: Polyline, low_mm: float, high_mm: float) -> list[Polyline]:
    """Return the parts of an open polyline between two lines across the roll."""
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
