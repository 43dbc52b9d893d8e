"""Kept offcuts: free rectangles in the drawn part of a roll that are worth putting back on the shelf.

A coarse grid finds where a rectangle lies free; its sides are then pushed out to the blanks and the roll's
edges. The grid takes every cell that a blank or its gap touches, so that what is found is always free.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from cutpath.nesting.shapes import Form
from cutpath.nesting.ticks import TICKS_PER_MM
from cutpath.tolerances import POINT_MM
from cutpath.values.nest import NestProblem, Offcut, Roll

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_CELL_MM = 10.0  # side of the grid's cells: coarse, since sides are pushed out afterwards


def free_rectangles(
    problem: NestProblem, roll: Roll, drawn_mm: float, laid: Sequence[tuple[Form, int, int]]
) -> tuple[Offcut, ...]:
    """Return the rectangles worth keeping, disjoint and apart from every blank by the gap.

    Parameters
    ----------
    laid : sequence of (form, x, y)
        Corners in ticks in the room; the room's corner lies at edge trim less half the gap from the roll's.
    """
    import numpy as np

    rule = problem.offcuts
    if not rule.holds(roll.width_mm, drawn_mm):
        return ()
    home = problem.edge_trim_mm - problem.gap_mm / 2
    parts = [form.trapezoids + np.array([y, y, x, x, x, x]) / TICKS_PER_MM + home for form, x, y in laid]
    solid = np.concatenate(parts) if parts else np.empty((0, 6))
    half = problem.gap_mm / 2  # trapezoids carry the other half
    boxes = np.column_stack(
        [solid[:, 2:4].min(axis=1), solid[:, 0], solid[:, 4:6].max(axis=1), solid[:, 1]]
    ) + np.array([-half, -half, half, half])
    taken = _grid(solid, half, roll.width_mm, drawn_mm)
    kept: list[Offcut] = []
    # First what is sure to be large enough, then what holds as many cells as the least offcut may hold at worst.
    for spare in (0, 1):
        sides = [
            max(1, math.ceil(side / _CELL_MM) if not spare else int(side // _CELL_MM) - 1) for side in rule.sides_mm
        ]
        while (cells := _largest(taken, *sides)) is not None:
            offcut = _pushed_out(cells, boxes, solid, half, roll.width_mm, drawn_mm)
            if not rule.holds(offcut.length_mm, offcut.width_mm):
                taken[cells[0] : cells[1], cells[2] : cells[3]] = True
                continue
            kept.append(offcut)
            edges = np.array(
                [[offcut.x_mm, offcut.y_mm, offcut.x_mm + offcut.length_mm, offcut.y_mm + offcut.width_mm]]
            )
            boxes = np.concatenate([boxes, edges])
            # Half the gap is added to what is solid, but offcuts lie side by side without one.
            solid = np.concatenate([solid, edges[:, [1, 3, 0, 0, 2, 2]] + half * np.array([1, -1, 1, 1, -1, -1])])
            _take(taken, *edges[0])
    return tuple(kept)


def _grid(solid: NDArray[np.float64], half: float, width_mm: float, drawn_mm: float) -> NDArray[np.bool_]:
    """Return the cells (across, along) that a trapezoid with half the gap round it touches."""
    import numpy as np

    rows, columns = max(1, math.ceil(width_mm / _CELL_MM)), max(1, math.ceil(drawn_mm / _CELL_MM))
    first = np.clip(np.floor((solid[:, 0] - half) / _CELL_MM), 0, rows).astype(np.int64)
    last = np.clip(np.ceil((solid[:, 1] + half) / _CELL_MM), first, rows).astype(np.int64)
    # One entry for each row of cells and each trapezoid that reaches into it.
    which = np.repeat(np.arange(len(solid)), last - first)
    row = np.arange(len(which)) + np.repeat(first - np.concatenate([[0], np.cumsum(last - first)])[:-1], last - first)
    left, right = _between(solid[which], row * _CELL_MM - half, (row + 1) * _CELL_MM + half)
    start = np.clip(np.floor((left - half) / _CELL_MM), 0, columns).astype(np.int64)
    stop = np.clip(np.ceil((right + half) / _CELL_MM), start, columns).astype(np.int64)
    edges = np.zeros((rows, columns + 1), dtype=np.int64)
    np.add.at(edges, (row, start), 1)
    np.add.at(edges, (row, stop), -1)
    taken = np.cumsum(edges, axis=1)[:, :-1] > 0
    if width_mm % _CELL_MM:
        taken[-1] = True
    if drawn_mm % _CELL_MM:
        taken[:, -1] = True
    return taken


def _reach(solid: NDArray[np.float64], low: float, high: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the left and right ends of those trapezoids that stand between two levels, cut to these levels."""
    import numpy as np

    rows = solid[(solid[:, 0] < high) & (solid[:, 1] > low)]
    return _between(rows, np.full(len(rows), low), np.full(len(rows), high))


def _between(
    solid: NDArray[np.float64], low: NDArray[np.float64], high: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the left and right ends of trapezoids, each cut to levels of its own."""
    import numpy as np

    y0, y1 = solid[:, 0], solid[:, 1]
    at = np.column_stack([(np.clip(level, y0, y1) - y0) / (y1 - y0) for level in (low, high)])
    lefts = solid[:, 2:3] + at * (solid[:, 3:4] - solid[:, 2:3])
    rights = solid[:, 4:5] + at * (solid[:, 5:6] - solid[:, 4:5])
    return lefts.min(axis=1, initial=math.inf), rights.max(axis=1, initial=-math.inf)


def _take(taken: NDArray[np.bool_], x0: float, y0: float, x1: float, y1: float) -> None:
    rows = slice(max(0, int(y0 // _CELL_MM)), math.ceil(y1 / _CELL_MM))
    taken[rows, max(0, int(x0 // _CELL_MM)) : math.ceil(x1 / _CELL_MM)] = True


def _largest(taken: NDArray[np.bool_], long: int, short: int) -> tuple[int, int, int, int] | None:
    """Return the largest free block of at least so many cells: rows first to last + 1, columns likewise.

    A block that begins or ends amid rows that are alike is never the largest, so these count as one.
    """
    import numpy as np

    best: tuple[int, int, int, int] | None = None
    best_area = 0
    firsts = np.flatnonzero(np.append(True, (taken[1:] != taken[:-1]).any(axis=1)))
    rows, lasts = taken[firsts], np.append(firsts[1:], len(taken)).tolist()
    for i, first in enumerate(firsts.tolist()):
        held = np.zeros(taken.shape[1], dtype=np.bool_)
        for row, last in zip(rows[i:], lasts[i:], strict=True):
            held |= row
            start, length = _longest_run(held)
            if length < min(long, short):
                break
            high = last - first
            need = long if high < long else short
            if high >= short and length >= need and length * high > best_area:
                best, best_area = (first, last, start, start + length), length * high
    return best


def _longest_run(held: NDArray[np.bool_]) -> tuple[int, int]:
    import numpy as np

    ends = np.flatnonzero(np.diff(np.concatenate([[True], held, [True]]).astype(np.int8)))
    if not len(ends):
        return 0, 0
    lengths = ends[1::2] - ends[::2]
    pick = int(lengths.argmax())
    return int(ends[2 * pick]), int(lengths[pick])


def _pushed_out(
    cells: tuple[int, int, int, int],
    boxes: NDArray[np.float64],
    solid: NDArray[np.float64],
    half: float,
    width_mm: float,
    drawn_mm: float,
) -> Offcut:
    y0, y1, x0, x1 = (cell * _CELL_MM for cell in cells)
    y1, x1 = min(y1, width_mm), min(x1, drawn_mm)
    left, right = _reach(solid, y0 - half, y1 + half)
    x0 = float((right[right + half <= x0 + POINT_MM] + half).max(initial=0.0))
    x1 = float((left[left - half >= x1 - POINT_MM] - half).min(initial=drawn_mm))
    beside = boxes[(boxes[:, 0] < x1 - POINT_MM) & (boxes[:, 2] > x0 + POINT_MM)]
    if ((beside[:, 3] > y0 + POINT_MM) & (beside[:, 1] < y1 - POINT_MM)).any():
        return Offcut(x0, y0, x1 - x0, y1 - y0)  # a leaning side stands by: it may come nearer above or below
    y0 = float(beside[beside[:, 3] <= y0 + POINT_MM, 3].max(initial=0.0))
    y1 = float(beside[beside[:, 1] >= y1 - POINT_MM, 1].min(initial=width_mm))
    return Offcut(x0, y0, x1 - x0, y1 - y0)
