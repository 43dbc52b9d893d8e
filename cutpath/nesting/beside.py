"""What free placement remembers of pairs of forms: the shifts that they forbid, on a grid across the strip.

Two forms with b raised by so much over a forbid the same shifts as their mirror images do, with the sign changed, and
as a lowered by as much under b. So forms that are mirror images of each other share a *base*. A row of the table is
for two bases, the lower number first, the second mirrored against the first or not, and one place across. All rows lie
one behind another; where the table is too small for that, the latest takes the place of what was there.

Terminology
-----------
Place across: how far up a form lies, in steps of the grid. ``wide`` is how many of them a form takes, rounded up.
"""

# mypy: disable-error-code="no-any-return, return-value, assignment, arg-type"
# Reason: inside compiled code, whole numbers of arrays and of Python are one type.

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from cutpath.nesting.compiled import inner
from cutpath.nesting.lean import by_address
from cutpath.nesting.shifts import MOST_INTERVALS, FormArrays, work_out
from cutpath.nesting.ticks import TICKS_PER_MM
from cutpath.tolerances import POINT_MM

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from cutpath.nesting.shapes import Form

_NONE = -1
_TAG, _LOW, _HIGH, _MORE = 0, 1, 2, 3  # places in a row of `Beside.rows`
_BASE, _MIRRORED, _TAKE, _HEAD, _TAIL = 0, 1, 2, 3, 4  # places in a form's part of `Beside.family`
_FOUR, _EIGHT = 2, 3  # bits of so many
_FAR = 1 << 29  # ticks
_MOST_BITS = 21  # of the number of a row: 32 MB
_LEAST_POOL_BITS = 13
_PAIRS = 20  # of trapezoids: so many count as one more step of work
GRID, BITS = 0, 1  # places in `Beside.size`
_USED, WORK = 0, 1  # places in `Beside.count`


@by_address
class Beside(NamedTuple):
    """The table, and what leads to its rows.

    Attributes
    ----------
    wide, loose : arrays of int, for each form
        Places across that it takes; 1 where its length is no whole number of ticks, so that its mirror image lies aside
        by less than one.
    family : array of int
        Eight numbers a form, some of them not used: its `BASE`, whether it is `MIRRORED` against that, at how many
        places across it meets another besides those of the other (`TAKE`), and what it adds to the number of a row in
        which it stands first (`HEAD`) or second (`TAIL`).
    image : array of int, shape (bases, 2)
        A form as the base is, and one mirrored, -1 where there is none.
    rows : array of int32
        Four numbers a row: which of the rows that share this place it is, lower and upper end of its interval, and
        where in ``pool`` there are more of them (-1: there is one, or none where the ends are the wrong way round).
    pool : array of int32
        Number of intervals and their ends, for one row after another.
    size : array of int
        The `GRID` in ticks, and `BITS` of the number of a row.
    count : array of int
        How much of ``pool`` is used, and the `WORK` done.
    ends : array of int
        Intervals that are being worked out.
    """

    wide: NDArray[np.int64]
    loose: NDArray[np.int64]
    family: NDArray[np.int64]
    image: NDArray[np.int64]
    rows: NDArray[np.int32]
    pool: NDArray[np.int32]
    size: NDArray[np.int64]
    count: NDArray[np.int64]
    ends: NDArray[np.int64]


def new_beside(forms: Sequence[Form], grid: int, most: int) -> Beside:
    """Return an empty table on a grid in ticks, no larger than ``most`` rows need."""
    base, mirrored, image = _bases(forms)
    wide = np.array([-(-form.width // grid) for form in forms], dtype=np.int64)
    take = wide[image[:, 0]] + 1
    before = np.cumsum(take) - take
    each = np.arange(len(take), 0, -1) * take + take.sum() - before
    bits = max(1, min(_MOST_BITS, (2 * int(each.sum()) - 1).bit_length(), most.bit_length()))
    head, tail = 2 * (np.cumsum(each) - each - np.arange(len(take)) * take - before), 2 * before + take
    family = np.zeros((len(forms), 1 << _EIGHT), dtype=np.int64)
    family[:, : _TAIL + 1] = np.column_stack([base, mirrored, take[base], head[base], tail[base]])
    return Beside(
        wide,
        np.array([_is_loose(form) for form in forms], dtype=np.int64),
        family.ravel(),
        image,
        np.full(4 << bits, _NONE, dtype=np.int32),
        np.empty(1 << max(_LEAST_POOL_BITS, bits), dtype=np.int32),
        np.array([grid, bits], dtype=np.int64),
        np.zeros(2, dtype=np.int64),
        np.empty(2 * MOST_INTERVALS + 4, dtype=np.int64),
    )


def _right(form: Form) -> float:
    return float(form.trapezoids[:, 4:6].max())


def _is_loose(form: Form) -> bool:
    return abs(_right(form) * TICKS_PER_MM - form.length) > POINT_MM * TICKS_PER_MM


def _mirrored(form: Form) -> NDArray[np.float64]:
    """Return the trapezoids of a form turned left to right."""
    y0, y1, left0, left1, right0, right1 = form.trapezoids.T
    long = _right(form)
    turned = np.column_stack([y0, y1, long - right0, long - right1, long - left0, long - left1])
    return turned[np.lexsort((turned[:, 2], turned[:, 1], turned[:, 0]))]


def _bases(forms: Sequence[Form]) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Return the base of each form, whether it is the mirror image of that, and the forms of each base."""
    base = np.zeros(len(forms), dtype=np.int64)
    mirrored = np.zeros(len(forms), dtype=np.int64)
    images: list[list[int]] = []
    known: dict[int, int] = {}
    alike: dict[tuple[int, int, int, int], list[int]] = {}
    for f, form in enumerate(forms):
        twin = known.setdefault(id(form.trapezoids), f)
        if twin != f:
            base[f], mirrored[f] = base[twin], mirrored[twin]
            continue
        others = alike.setdefault((form.blank, len(form.trapezoids), form.length, form.width), [])
        over = _mirrored(form)
        for other in others:
            first, second = images[other]
            if second == _NONE and float(np.abs(over - forms[first].trapezoids).max()) <= POINT_MM:
                base[f], mirrored[f], images[other][1] = other, 1, f
                break
        else:
            base[f] = len(images)
            others.append(len(images))
            images.append([f, _NONE])
    return base, mirrored, np.array(images, dtype=np.int64)


@inner
def row_of(forms: FormArrays, table: Beside, a: int, b: int, up: int) -> tuple[int, int, int]:
    """Return the number of the row of what (a, b) forbid with b so many places above a, its sign, and how far moved.

    From ``low_of`` to ``high_of``, times the sign and moved, it is forbidden for b to lie further along than a. Boxes
    of a and b must meet at these places.
    """
    family = table.family
    i, j = a << _EIGHT, b << _EIGHT
    turned = family[i + _MIRRORED] ^ family[j + _MIRRORED]
    sign = 1
    if family[i + _BASE] > family[j + _BASE]:
        i, j, up, sign = j, i, -up, -1
    back = family[i + _MIRRORED]
    both = family[i + _TAKE] * (2 * family[j + _BASE] + turned) + family[j + _TAKE] * turned
    number = family[i + _HEAD] + family[j + _TAIL] + both + up
    return number, sign * (1 - 2 * back), (forms.length[a] - forms.length[b]) * back


@inner
def place_of(table: Beside, number: int) -> int:
    """Return where the row of a number stands in ``rows``, or would stand."""
    return (number & ((1 << table.size[BITS]) - 1)) << _FOUR


@inner
def place_of_known(forms: FormArrays, table: Beside, a: int, b: int, up: int, number: int) -> int:
    """Return where the row of a number stands, which is that of (a, b, up); it is worked out when it is new."""
    at = place_of(table, number)
    if table.rows[at + _TAG] != number >> table.size[BITS]:
        if table.family[(a << _EIGHT) + _BASE] > table.family[(b << _EIGHT) + _BASE]:
            _fill(forms, table, number, b, a, -up)
        else:
            _fill(forms, table, number, a, b, up)
    return at


@inner
def find(forms: FormArrays, table: Beside, a: int, b: int, up: int) -> tuple[int, int, int]:
    """Return where the row of (a, b, up) stands, worked out when it is new, its sign, and how far moved (`row_of`)."""
    number, sign, move = row_of(forms, table, a, b, up)
    return place_of_known(forms, table, a, b, up, number), sign, move


@inner
def _fill(forms: FormArrays, table: Beside, number: int, first: int, second: int, up: int) -> None:
    """Work out a row: what two forms forbid, the base of lower number first."""
    family, i, j = table.family, first << _EIGHT, second << _EIGHT
    p, q, turned = family[i + _BASE], family[j + _BASE], family[i + _MIRRORED] ^ family[j + _MIRRORED]
    one, two = table.image[p, 0], table.image[q, turned]
    back = two == _NONE
    if back:
        one, two = table.image[p, 1], table.image[q, 0]
    a, b = forms.twin[one], forms.twin[two]
    ends, rows, pool, count = table.ends, table.rows, table.pool, table.count
    n = work_out(forms, a, b, up * table.size[GRID], ends)
    count[WORK] += 2 + (forms.first[a + 1] - forms.first[a]) * (forms.first[b + 1] - forms.first[b]) // _PAIRS
    if n > 1 and count[_USED] + 2 * n + 1 > pool.size:
        for k in range(0, rows.size, 1 << _FOUR):
            rows[k + _TAG] = _NONE
        count[_USED] = 0
    slack = max(table.loose[one], table.loose[two])
    move = forms.length[one] - forms.length[two]
    at, here = place_of(table, number), count[_USED]
    least, most = _FAR, -_FAR
    for k in range(n):
        low, high = ends[2 * k] - slack, ends[2 * k + 1] + slack
        if back:
            low, high = move - high, move - low
        least, most = min(least, low), max(most, high)
        if n > 1:
            pool[here + 1 + 2 * k], pool[here + 2 + 2 * k] = low, high
    rows[at + _TAG], rows[at + _MORE] = number >> table.size[BITS], _NONE
    rows[at + _LOW], rows[at + _HIGH] = least, most
    if n > 1:
        pool[here] = n
        rows[at + _MORE] = here
        count[_USED] += 2 * n + 1


@inner
def many(table: Beside, at: int) -> int:
    """Return the number of intervals in a row."""
    more = table.rows[at + _MORE]
    if more >= 0:
        return np.int64(table.pool[more])
    return 1 if table.rows[at + _LOW] < table.rows[at + _HIGH] else 0


@inner
def low_of(table: Beside, at: int, k: int) -> int:
    """Return the lower end of interval k."""
    more = table.rows[at + _MORE]
    return np.int64(table.rows[at + _LOW] if more < 0 else table.pool[more + 1 + 2 * k])


@inner
def high_of(table: Beside, at: int, k: int) -> int:
    """Return the upper end of interval k."""
    more = table.rows[at + _MORE]
    return np.int64(table.rows[at + _HIGH] if more < 0 else table.pool[more + 2 + 2 * k])
