"""Forbidden shifts (no-fit intervals): where two forms would overlap, as exact unions of open intervals.

With form b raised by dy over form a, a shift s = x_b - x_a is forbidden when the forms overlap. Two trapezoids
that share a range of heights forbid one open interval; the union over all pairs of trapezoids is kept whole, so
that teeth find their way between teeth and under overhangs. Ends are rounded outwards to ticks.
"""

# mypy: disable-error-code="no-any-return, return-value, assignment, arg-type"
# Reason: inside compiled code, whole numbers of arrays and of Python are one type.

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from cutpath.nesting.compiled import inner
from cutpath.nesting.lean import by_address
from cutpath.nesting.ticks import TICKS_PER_MM

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from cutpath.nesting.shapes import Form

_TICKS = float(TICKS_PER_MM)
_THIN_MM = 1e-6  # trapezoids that share less height than this only touch
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
_KEY, _PLACE = 0, 1  # columns of `Memory.slots`
KEYS, ENDS, WORK, FOUND = 0, 1, 2, 3  # places in `Memory.count`


@by_address
class FormArrays(NamedTuple):
    """All forms as arrays: trapezoids in mm one form after another, box sizes in ticks, areas in square ticks.

    ``twin`` is for each form the first one that has the same trapezoids; those of the others are left out. ``side``
    holds for each code (2 * form + row) from where to where the form reaches on the edge of its lane, in ticks.
    """

    trapezoids: NDArray[np.float64]
    first: NDArray[np.int64]
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
    `WORK` done, and how many pairs had their intervals `FOUND` anew.
    """

    slots: NDArray[np.int64]
    pool: NDArray[np.int32]
    count: NDArray[np.int64]
    work: NDArray[np.int64]


def form_arrays(forms: Sequence[Form]) -> FormArrays:
    """Gather forms into arrays."""
    known: dict[int, int] = {}
    twin = [known.setdefault(id(form.trapezoids), f) for f, form in enumerate(forms)]
    counts = [len(form.trapezoids) if f == t else 0 for f, (form, t) in enumerate(zip(forms, twin, strict=True))]
    return FormArrays(
        np.concatenate([forms[f].trapezoids for f in sorted(known.values())]),
        np.concatenate([[0], np.cumsum(counts)]).astype(np.int64),
        np.array([form.length for form in forms], dtype=np.int64),
        np.array([form.width for form in forms], dtype=np.int64),
        np.array([form.area_mm2 * TICKS_PER_MM**2 for form in forms]),
        np.array(twin, dtype=np.int64),
        np.array([_side(form, row) for form in forms for row in (0, 1)], dtype=np.int64),
    )


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
        np.zeros(4, dtype=np.int64),
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
        ay0, ay1, al0, al1, ar0, ar1 = (
            traps[i, 0],
            traps[i, 1],
            traps[i, 2],
            traps[i, 3],
            traps[i, 4],
            traps[i, 5],
        )
        per = 1.0 / (ay1 - ay0)
        left, right = (al1 - al0) * per, (ar1 - ar0) * per
        for j in range(forms.first[b], forms.first[b + 1]):
            by0 = traps[j, 0] + rise
            if by0 >= ay1 - _THIN_MM:
                break  # trapezoids ascend by their lower ends
            by1 = traps[j, 1] + rise
            y0, y1 = max(ay0, by0), min(ay1, by1)
            if y1 - y0 <= _THIN_MM:
                continue
            per = 1.0 / (by1 - by0)
            ta0, ta1, tb0, tb1 = y0 - ay0, y1 - ay0, (y0 - by0) * per, (y1 - by0) * per
            low0 = al0 + left * ta0 - traps[j, 4] - (traps[j, 5] - traps[j, 4]) * tb0
            low1 = al0 + left * ta1 - traps[j, 4] - (traps[j, 5] - traps[j, 4]) * tb1
            high0 = ar0 + right * ta0 - traps[j, 2] - (traps[j, 3] - traps[j, 2]) * tb0
            high1 = ar0 + right * ta1 - traps[j, 2] - (traps[j, 3] - traps[j, 2]) * tb1
            low = int(np.floor(min(low0, low1) * _TICKS + _SLACK_TICKS))
            high = int(np.ceil(max(high0, high1) * _TICKS - _SLACK_TICKS))
            if high <= low:
                continue
            # Find the stored intervals that this one overlaps: p is the first, q one past the last.
            p = 0
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
