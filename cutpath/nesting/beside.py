"""What free placement remembers of pairs: forbidden shifts on a grid across the strip, so few that they are all kept.

Two forms with b raised by dy over a forbid the same shifts as the two mirrored, with the sign changed, and as a raised
by -dy over b. So forms that are mirror images of each other share a *base*, and a row of the table is kept for two
bases, the lower first, the second mirrored against the first or not, and one of the places across. All of these lie
one behind the other; where they are more than the table has rows, the latest takes the place of what was there.

Terminology
-----------
Place across: how far up a form lies, in steps of the grid; ``wide`` is how many of them a form takes, rounded up.
"""

# mypy: disable-error-code="no-any-return, return-value, assignment, arg-type"
# Reason: inside compiled code, whole numbers of arrays and of Python are one type.

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from cutpath.nesting.compiled import inner
from cutpath.nesting.lean import by_address
from cutpath.nesting.shifts import _MOST_INTERVALS, FormArrays, work_out
from cutpath.nesting.ticks import TICKS_PER_MM
from cutpath.tolerances import POINT_MM

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from cutpath.nesting.shapes import Form

_PAIRS = 200
_NONE = -1
_TAG, _LOW, _HIGH, _MORE = 0, 1, 2, 3  # columns of `Beside.rows`
_FAR = 1 << 29  # ticks
_MOST_BITS = 21
_LEAST_POOL_BITS = 13
USED, WORK, FOUND = 0, 2, 3


@by_address
class Beside(NamedTuple):
    """The table, and what leads to its rows.

    Attributes
    ----------
    base, mirrored, wide, loose : arrays of int, for each form
        Its base; 1 where it is the mirror image of that; places across that it takes; 1 where its length is no whole
        number of ticks, so that mirroring moves it by less than one.
    image : array of int, shape (bases, 2)
        A form as its base is, and one mirrored, -1 where there is none.
    take, row, before : arrays of int, for each base
        Places across that it may lie over or under another, its first row, and the sum of ``take`` of those before it.
    rows : array of int32, shape (n, 4)
        What stands there, lower and upper end of the interval, and where in ``pool`` there are more of them.
    pool : array of int32
        Number of intervals and their ends, one after another.
    """

    base: NDArray[np.int64]
    mirrored: NDArray[np.int64]
    wide: NDArray[np.int64]
    loose: NDArray[np.int64]
    image: NDArray[np.int64]
    take: NDArray[np.int64]
    row: NDArray[np.int64]
    before: NDArray[np.int64]
    rows: NDArray[np.int32]
    pool: NDArray[np.int32]
    count: NDArray[np.int64]
    work: NDArray[np.int64]
    grid: NDArray[np.int64]


def new_beside(forms: Sequence[Form], used: Sequence[int], grid: int) -> Beside:
    """Return an empty table for some of the forms, and a grid in ticks."""
    base, mirrored, image = _bases(forms, used)
    wide = np.array([-(-form.width // grid) for form in forms], dtype=np.int64)
    loose = np.array([_is_loose(form) for form in forms], dtype=np.int64)
    take = wide[image[:, 0]] + 1
    before = np.concatenate([[0], np.cumsum(take)[:-1]]).astype(np.int64)
    total = take.sum()
    bases = len(take)
    behind = np.arange(bases, 0, -1)  # bases from each on, itself among them
    each = behind * take + (total - before)
    row = np.concatenate([[0], np.cumsum(each)[:-1]]).astype(np.int64)
    rows = 2 * int(each.sum())
    bits = min(_MOST_BITS, max(1, (rows - 1).bit_length()))
    return Beside(
        base, mirrored, wide, loose, image, take, row, before,
        np.full((1 << bits, 4), -1, dtype=np.int32),
        np.zeros(1 << max(_LEAST_POOL_BITS, bits - 2), dtype=np.int32),
        np.zeros(4, dtype=np.int64),
        np.empty(2 * _MOST_INTERVALS + 4, dtype=np.int64),
        np.array([grid, bits], dtype=np.int64),
    )  # fmt: skip


def _is_loose(form: Form) -> bool:
    box = float(form.trapezoids[:, 4:6].max()) * TICKS_PER_MM
    return abs(box - form.length) > 0.01


def _mirror(form: Form) -> NDArray[np.float64]:
    y0, y1, left0, left1, right0, right1 = form.trapezoids.T
    long = float(form.trapezoids[:, 4:6].max())
    turned = np.column_stack([y0, y1, long - right0, long - right1, long - left0, long - left1])
    return turned[np.lexsort((turned[:, 2], turned[:, 1], turned[:, 0]))]


def _bases(
    forms: Sequence[Form], used: Sequence[int]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    base = np.full(len(forms), _NONE, dtype=np.int64)
    mirrored = np.zeros(len(forms), dtype=np.int64)
    images: list[list[int]] = []
    by_array: dict[int, int] = {}
    by_size: dict[tuple[int, int, int, int], list[int]] = {}
    for f in used:
        form = forms[f]
        twin = by_array.get(id(form.trapezoids))
        if twin is not None:
            base[f], mirrored[f] = base[twin], mirrored[twin]
            continue
        by_array[id(form.trapezoids)] = f
        key = form.blank, len(form.trapezoids), form.length, form.width
        image = _mirror(form)
        for b in by_size.setdefault(key, []):
            first = images[b][0]
            if images[b][1] == _NONE and float(np.abs(image - forms[first].trapezoids).max()) <= POINT_MM:
                base[f], mirrored[f], images[b][1] = b, 1, f
                break
        else:
            base[f] = len(images)
            by_size[key].append(len(images))
            images.append([f, _NONE])
    return base, mirrored, np.array(images, dtype=np.int64)


@inner
def find(forms: FormArrays, table: Beside, a: int, b: int, up: int) -> tuple[int, int, int]:
    """Return the row of what (a, b) forbid with b so many places above a, the sign of it, and by how much it is moved.

    A shift x_b - x_a is forbidden between ``sign * end + move`` of both ends.
    """
    first, second = a, b
    sign, move = 1, 0
    if table.base[a] > table.base[b]:
        first, second = b, a
        up = -up
        sign = -1
    turned = table.mirrored[first] ^ table.mirrored[second]
    if table.mirrored[first]:
        sign = -sign
        move = forms.length[a] - forms.length[b]
    p, q = table.base[first], table.base[second]
    index = (
        2 * (table.row[p] + (q - p) * table.take[p] + table.before[q] - table.before[p])
        + turned * (table.take[p] + table.take[q])
        + up + table.take[q]
    )  # fmt: skip
    rows = table.rows
    at, tag = index & (table.rows.shape[0] - 1), index >> table.grid[1]
    if rows[at, _TAG] != tag:
        _fill(forms, table, at, tag, p, q, turned, up)
    return at, sign, move


@inner
def _fill(forms: FormArrays, table: Beside, at: int, tag: int, p: int, q: int, turned: int, up: int) -> None:
    """Work out a row."""
    one, two = table.image[p, 0], table.image[q, turned]
    back = two < 0
    if back:
        one, two = table.image[p, 1], table.image[q, 0]
    a, b = forms.twin[one], forms.twin[two]
    ends = table.work
    n = work_out(forms, a, b, up * table.grid[0], ends)
    table.count[FOUND] += 1
    table.count[WORK] += 2 + (forms.first[a + 1] - forms.first[a]) * (forms.first[b + 1] - forms.first[b]) // 20
    if back:
        move = forms.length[one] - forms.length[two]
        for k in range(n):
            low, high = ends[2 * k], ends[2 * k + 1]
            ends[2 * k], ends[2 * k + 1] = move - high, move - low
    slack = max(table.loose[one], table.loose[two])
    rows = table.rows
    if n > 1 and table.count[USED] + 2 * n + 1 > table.pool.size:
        for k in range(rows.shape[0]):
            rows[k, _TAG] = _NONE
        table.count[USED] = 0
    low, high = _FAR, -_FAR
    for k in range(n):
        low = min(low, ends[2 * k] - slack)
        high = max(high, ends[2 * k + 1] + slack)
    rows[at, _TAG], rows[at, _LOW], rows[at, _HIGH], rows[at, _MORE] = tag, low, high, _NONE
    if n > 1:
        here = table.count[USED]
        table.pool[here] = n
        for k in range(n):
            table.pool[here + 1 + 2 * k] = ends[2 * k] - slack
            table.pool[here + 2 + 2 * k] = ends[2 * k + 1] + slack
        rows[at, _MORE] = here
        table.count[USED] += 2 * n + 1


@inner
def many(table: Beside, at: int) -> int:
    """Return the number of intervals in a row."""
    more = table.rows[at, _MORE]
    if more >= 0:
        return table.pool[more]
    return 1 if table.rows[at, _LOW] < table.rows[at, _HIGH] else 0


@inner
def low_of(table: Beside, at: int, k: int) -> int:
    """Return the lower end of interval k."""
    more = table.rows[at, _MORE]
    return np.int64(table.rows[at, _LOW] if more < 0 else table.pool[more + 1 + 2 * k])


@inner
def high_of(table: Beside, at: int, k: int) -> int:
    """Return the upper end of interval k."""
    more = table.rows[at, _MORE]
    return np.int64(table.rows[at, _HIGH] if more < 0 else table.pool[more + 2 + 2 * k])
