"""Forbidden shifts (no-fit intervals): where two forms would overlap, as exact unions of open intervals.

With form b raised by dy over form a, a shift s = x_b - x_a is forbidden when the forms overlap. Two trapezoids
that share a range of heights forbid one open interval; the union over all pairs of trapezoids is kept whole, so
that teeth find their way between teeth and under overhangs. Ends are rounded outwards to ticks.

Forms of one row only ask from where on b lies clear behind a, which is the most that the right side of a reaches beyond
the left side of b at any height: `clear_behind`, from the outer sides alone, in a tenth of the time.
"""

# mypy: disable-error-code="no-any-return, return-value, assignment, arg-type"
# Reason: inside compiled code, whole numbers of arrays and of Python are one type.

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from cutpath.nesting.compiled import inner
from cutpath.nesting.lean import by_address
from cutpath.nesting.ticks import TICKS_PER_MM

if TYPE_CHECKING:
    from collections.abc import Sequence, Sized

    from numpy.typing import NDArray

    from cutpath.nesting.shapes import Form

_TICKS = float(TICKS_PER_MM)
_THIN_MM = 1e-6  # trapezoids that share less height than this only touch
_STRAIGHT_MM = 1e-9  # by which a side may leave a straight line, far less than a tick
_CLEAR = -(1 << 40)  # ticks: forms that share no height lie clear of each other anywhere
_SLACK_TICKS = 0.01  # rounding of sums of coordinates must not cost a tick
MOST_INTERVALS = 512
_RISE_BITS = 27  # hold how far one form is raised over another, either way
_SIZE_BITS = 10  # hold the number of intervals
_ALONE = np.int64(1) << 62  # marks a place that is itself the only interval
_END_BITS = 30  # hold an end of it
_END = np.int64(1) << (_END_BITS - 1)
_PAIRS = 200  # of trapezoids: so many count as one more step of work
_SPREAD = np.uint64(
    11400714819323198485
)  # 2^64 over the golden ratio: multiplicative hashing (from memory, unverified)
_FREE = -1  # the key of a slot that is not taken
_Side = tuple[float, float, float, float]  # a straight stretch of one: low y, high y, x at either
_KEY, _PLACE = 0, 1  # columns of `Memory.slots`
KEYS, ENDS, WORK, FOUND, STOP = 0, 1, 2, 3, 4  # places in `Memory.count`


@by_address
class FormArrays(NamedTuple):
    """All forms as arrays: shapes in mm one form after another, box sizes in ticks, areas in square ticks.

    Attributes
    ----------
    trapezoids, first : array
        Trapezoids as rows (low y, high y, left end at low y, its slope, right end at low y, its slope), ascending;
        those of form f are rows ``first[f]`` to ``first[f + 1]``.
    sides, side_at : array
        Outer sides as rows (low y, high y, x at low y, slope), ascending; the left side of form f is rows
        ``side_at[2 * f]`` to ``side_at[2 * f + 1]``, its right side those up to ``side_at[2 * f + 2]``.
    twin : array of int
        For each form the first one that has the same trapezoids; shapes of the others are left out.
    side : array of int
        For each code (2 * form + row) from where to where the form reaches on the edge of its lane, in ticks.
    """

    trapezoids: NDArray[np.float64]
    first: NDArray[np.int64]
    sides: NDArray[np.float64]
    side_at: NDArray[np.int64]
    length: NDArray[np.int64]
    width: NDArray[np.int64]
    area: NDArray[np.float64]
    twin: NDArray[np.int64]
    side: NDArray[np.int64]


@by_address
class Memory(NamedTuple):
    """Remembered intervals: an open-addressed table, and a pool of interval ends.

    A row of ``slots`` is a key and a place, which `many`, `low_of` and `high_of` read: mostly there is one interval,
    and its ends are in the place itself. ``count`` holds how many `KEYS` are in the table and `ENDS` in the pool, the
    `WORK` done, how many pairs had their intervals `FOUND` anew, and whether the search is to `STOP`.
    """

    slots: NDArray[np.int64]
    pool: NDArray[np.int32]
    count: NDArray[np.int64]
    work: NDArray[np.int64]


def form_arrays(forms: Sequence[Form]) -> FormArrays:
    """Gather forms into arrays."""
    known: dict[int, int] = {}
    twin = [known.setdefault(id(form.trapezoids), f) for f, form in enumerate(forms)]
    shapes = [
        form.trapezoids if f == t else form.trapezoids[:0] for f, (form, t) in enumerate(zip(forms, twin, strict=True))
    ]
    y0, y1, left0, left1, right0, right1 = np.concatenate(shapes).T
    sides = [side for shape in shapes for side in _outer_sides(shape.tolist())]
    low, high, x0, x1 = np.array([stretch for side in sides for stretch in side]).T
    return FormArrays(
        np.column_stack([y0, y1, left0, (left1 - left0) / (y1 - y0), right0, (right1 - right0) / (y1 - y0)]),
        _starts(shapes),
        np.column_stack([low, high, x0, (x1 - x0) / (high - low)]),
        _starts(sides),
        np.array([form.length for form in forms], dtype=np.int64),
        np.array([form.width for form in forms], dtype=np.int64),
        np.array([form.area_mm2 * TICKS_PER_MM**2 for form in forms]),
        np.array(twin, dtype=np.int64),
        np.array([_side(form, row) for form in forms for row in (0, 1)], dtype=np.int64),
    )


def _starts(parts: Sequence[Sized]) -> NDArray[np.int64]:
    """Return from where to where each part reaches when all are put one behind another."""
    return np.concatenate([[0], np.cumsum([len(part) for part in parts])]).astype(np.int64)


def _outer_sides(shape: Sequence[Sequence[float]]) -> tuple[list[_Side], list[_Side]]:
    """Return the leftmost and the rightmost ends of trapezoids at any height, ascending."""
    left: list[_Side] = []
    right: list[_Side] = []
    for low, high in pairwise(sorted({y for row in shape for y in row[:2]})):
        here = [row for row in shape if row[0] < (low + high) / 2 < row[1]]
        if not here or high - low <= _THIN_MM:
            continue
        for found, at, outermost in ((left, 2, min), (right, 4, max)):
            x0, x1 = outermost(([_x_at(row, at, y) for y in (low, high)] for row in here), key=math.fsum)
            if found and _goes_on(found[-1], low, high, x0, x1):
                low0, _, x, _ = found.pop()
                found.append((low0, high, x, x1))
            else:
                found.append((low, high, x0, x1))
    return left, right


def _x_at(row: Sequence[float], at: int, y: float) -> float:
    """Return where the end of a trapezoid that stands in columns ``at`` on is at height ``y``."""
    return row[at] + (row[at + 1] - row[at]) * (y - row[0]) / (row[1] - row[0])


def _goes_on(side: _Side, low: float, high: float, x0: float, x1: float) -> bool:
    """Tell whether a stretch of side goes on straight to the next one."""
    first, last, x, end = side
    straight = x + (x1 - x) * (low - first) / (high - first)
    return last == low and max(abs(straight - x0), abs(straight - end)) <= _STRAIGHT_MM


def _side(form: Form, row: int) -> tuple[int, int]:
    """Return from where to where a form reaches on its lower (row 0) or upper edge, rounded inwards to ticks."""
    t = form.trapezoids
    touching = t[t[:, 0] <= t[:, 0].min(), 2:6:2] if row == 0 else t[t[:, 1] >= t[:, 1].max(), 3:6:2]
    return math.ceil(touching[:, 0].min() * TICKS_PER_MM), math.floor(touching[:, 1].max() * TICKS_PER_MM)


def new_memory(bits: int = 19) -> Memory:
    """Return an empty memory for about 2 ** (bits - 1) pairs."""
    size = 1 << bits
    return Memory(
        np.full((size, 2), -1, dtype=np.int64),
        np.empty(size * 12, dtype=np.int32),
        np.zeros(5, dtype=np.int64),
        np.empty(2 * MOST_INTERVALS + 4, dtype=np.int64),
    )


@inner
def work_out(  # noqa: C901 - one loop without calls, for speed
    forms: FormArrays, a: int, b: int, dy: int, work: NDArray[np.int64]
) -> int:
    """Fill ``work`` with the intervals (low, high, low, high, ...) in ticks, ascending; return how many there are."""
    traps = forms.trapezoids
    rise = dy / _TICKS
    n = 0
    for i in range(forms.first[a], forms.first[a + 1]):
        ay0, ay1 = traps[i, 0] - rise, traps[i, 1] - rise
        al, left, ar, right = traps[i, 2], traps[i, 3], traps[i, 4], traps[i, 5]
        p = 0  # the stored interval met last: those of the next pair are mostly near it
        for j in range(forms.first[b], forms.first[b + 1]):
            by0 = traps[j, 0]
            y0 = max(ay0, by0)
            shared = min(ay1, traps[j, 1]) - y0
            if shared <= _THIN_MM:
                if by0 >= ay1 - _THIN_MM:
                    break  # trapezoids ascend by their lower ends
                continue
            ta, tb = y0 - ay0, y0 - by0
            bl, br = traps[j, 2] + traps[j, 3] * tb, traps[j, 4] + traps[j, 5] * tb
            lowest = (al + left * ta - br + min(0.0, (left - traps[j, 5]) * shared)) * _TICKS + _SLACK_TICKS
            highest = (ar + right * ta - bl + max(0.0, (right - traps[j, 3]) * shared)) * _TICKS - _SLACK_TICKS
            if p < n and work[2 * p] <= lowest and highest <= work[2 * p + 1]:
                continue
            low, high = int(np.floor(lowest)), int(np.ceil(highest))
            if high <= low:
                continue
            # Find the stored intervals that this one overlaps: p is the first, q one past the last.
            p = min(p, n)
            while p > 0 and work[2 * p - 1] > low:
                p -= 1
            while p < n and work[2 * p + 1] <= low:
                p += 1
            q = p
            while q < n and work[2 * q] < high:
                q += 1
            if q > p:
                low = min(low, work[2 * p])
                high = max(high, work[2 * q - 1])
            if q == p:
                if n == MOST_INTERVALS:  # rather one wide interval than a lost one
                    work[0] = min(low, work[0])
                    work[1] = max(high, work[2 * n - 1])
                    n = 1
                    continue
                for m in range(n - 1, p - 1, -1):
                    work[2 * m + 2] = work[2 * m]
                    work[2 * m + 3] = work[2 * m + 1]
                n += 1
            elif q > p + 1:
                gone = q - p - 1
                for m in range(q, n):
                    work[2 * (m - gone)] = work[2 * m]
                    work[2 * (m - gone) + 1] = work[2 * m + 1]
                n -= gone
            work[2 * p] = low
            work[2 * p + 1] = high
    return n


@inner
def clear_behind(forms: FormArrays, a: int, b: int, dy: int) -> int:
    """Return the shift, in ticks, from which on b lies clear of a: the upper end of the last interval."""
    a, b = forms.twin[a], forms.twin[b]
    sides, rise = forms.sides, dy / _TICKS
    i, last_i = forms.side_at[2 * a + 1], forms.side_at[2 * a + 2]
    j, last_j = forms.side_at[2 * b], forms.side_at[2 * b + 1]
    most = -np.inf
    while i < last_i and j < last_j:
        ay0, ay1 = sides[i, 0] - rise, sides[i, 1] - rise
        by0, by1 = sides[j, 0], sides[j, 1]
        y0 = max(ay0, by0)
        shared = min(ay1, by1) - y0
        if shared > _THIN_MM:
            apart = sides[i, 2] + sides[i, 3] * (y0 - ay0) - sides[j, 2] - sides[j, 3] * (y0 - by0)
            most = max(most, apart + max(0.0, (sides[i, 3] - sides[j, 3]) * shared))
        if ay1 < by1:
            i += 1
        else:
            j += 1
    return int(np.ceil(most * _TICKS - _SLACK_TICKS)) if most > -np.inf else _CLEAR


@inner
def look_up(forms: FormArrays, memory: Memory, a: int, b: int, dy: int) -> int:
    """Return the place of the intervals of (a, b, dy), working them out when they are new."""
    slots = memory.slots
    a, b = forms.twin[a], forms.twin[b]
    key = ((np.int64(a) * forms.length.size + b) << _RISE_BITS) + dy + (1 << (_RISE_BITS - 1))
    mask = slots.shape[0] - 1
    mixed = np.uint64(key) * _SPREAD
    home = np.int64(mixed ^ (mixed >> np.uint64(29))) & mask
    slot = home
    while slots[slot, _KEY] != _FREE:
        if slots[slot, _KEY] == key:
            return slots[slot, _PLACE]
        slot = (slot + 1) & mask
    n = work_out(forms, a, b, dy, memory.work)
    memory.count[FOUND] += 1
    memory.count[WORK] += 1 + (forms.first[a + 1] - forms.first[a]) * (forms.first[b + 1] - forms.first[b]) // _PAIRS
    if memory.count[KEYS] * 2 > slots.shape[0] or memory.count[ENDS] + 2 * n > memory.pool.size:
        slots[:, _KEY] = _FREE
        memory.count[KEYS] = 0
        memory.count[ENDS] = 0
        slot = home
    if n == 1 and memory.work[0] >= -_END and memory.work[1] < _END:
        place = _ALONE + ((memory.work[0] + _END) << _END_BITS) + memory.work[1] + _END
    else:
        start = memory.count[ENDS]
        for m in range(2 * n):
            memory.pool[start + m] = memory.work[m]
        memory.count[ENDS] += 2 * n
        place = (start << _SIZE_BITS) + n
    memory.count[KEYS] += 1
    slots[slot, _KEY] = key
    slots[slot, _PLACE] = place
    return place


@inner
def many(place: int) -> int:
    """Return the number of intervals at a place."""
    return 1 if place >= _ALONE else place & ((1 << _SIZE_BITS) - 1)


@inner
def low_of(memory: Memory, place: int, k: int) -> int:
    """Return the lower end of interval k."""
    if place >= _ALONE:
        return ((place >> _END_BITS) & ((1 << _END_BITS) - 1)) - _END
    return memory.pool[(place >> _SIZE_BITS) + 2 * k]


@inner
def high_of(memory: Memory, place: int, k: int) -> int:
    """Return the upper end of interval k."""
    if place >= _ALONE:
        return (place & ((1 << _END_BITS) - 1)) - _END
    return memory.pool[(place >> _SIZE_BITS) + 2 * k + 1]
