"""The best place for one piece of a strip among the others.

A level line across the strip is chosen by chance, and along it the best place is exact, because forbidden shifts are
known as intervals (`beside`) and the depths are linear between their ends. The best of some lines is looked at closely.
"""

# ruff: noqa: NPY002 - inside compiled code each thread has one generator of its own, seeded where it starts
# mypy: disable-error-code="no-any-return, return-value, assignment, arg-type"
# Reason: inside compiled code, whole numbers of arrays and of Python are one type.

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from cutpath.nesting.beside import GRID, WORK, Beside, find, high_of, low_of, many, place_of, place_of_known, row_of
from cutpath.nesting.compiled import inner
from cutpath.nesting.lean import ahead
from cutpath.nesting.shifts import FormArrays
from cutpath.nesting.strip import ACROSS, FORM, LOOK, MOST_ENDS, Bench, Strip, X, Y
from cutpath.nesting.ticks import TICKS_PER_MM

if TYPE_CHECKING:
    from numpy.typing import NDArray

_COST, _FORM, _X, _Y = 0, 1, 2, 3  # places in `Bench.place`
PASSED = 4  # pieces that are only looked at: so many count as one more step of work
_FAR = 1e12  # ticks, as a number with a point
_SAMPLES = 8  # lines tried for a piece before the best place is looked at more closely
_LEVEL, _NEAR = 0.4, 0.3  # shares of them level with a corner of another piece, and near where it lies
_NEAR_PLACES = 40
_NEAR_ALONG = 40 * TICKS_PER_MM  # looked at to each side of the best place, and `_NEAR_PLACES` across
_REFINED = 16  # places across by which it is shifted first then


@inner
def depth(forms: FormArrays, table: Beside, a: int, xa: int, ya: int, b: int, xb: int, yb: int) -> int:
    """Depth of the overlap of two forms in ticks, 0 when they are apart."""
    up = yb - ya
    if (
        xa + forms.length[a] <= xb or xb + forms.length[b] <= xa
        or up >= table.wide[a] or -up >= table.wide[b]
    ):  # fmt: skip
        return 0
    at, sign, move = find(forms, table, a, b, up)
    s = sign * (xb - xa - move)
    for k in range(many(table, at)):
        low, high = low_of(table, at, k), high_of(table, at, k)
        if low < s < high:
            return max(1, min(s - low, high - s, table.size[GRID] * min(table.wide[a] - up, up + table.wide[b])))
    return 0


@inner
def _gather(
    forms: FormArrays, table: Beside, bench: Bench, lay: NDArray[np.int64], piece: int, form: int, y: int, left: int,
    right: int, many_others: int,
) -> int:  # fmt: skip
    """Find all that a piece may overlap along a level line; return how many intervals there are."""
    wide, grid = table.wide[form], table.size[GRID]
    top, end = y + wide, right + forms.length[form]
    near, tops, fars = bench.near, bench.top, bench.far
    seen = 0
    for s in range(many_others):  # no branches: which pieces are near nobody could foretell
        j = bench.others[s]
        near[seen] = j
        seen += int((lay[Y, j] < top) & (tops[j] > y) & (lay[X, j] < end) & (fars[j] > left))
    for s in range(seen):
        j = near[s]
        number, sign, move = row_of(forms, table, lay[FORM, j], form, y - lay[Y, j])
        ahead(table.rows, place_of(table, number))
        bench.number[s], bench.sign[s], bench.move[s] = number, sign, move + lay[X, j]
    lows, highs, deeps, hefts = bench.low, bench.high, bench.deep, bench.heft
    n = 0
    for s in range(seen):
        j = bench.near[s]
        at = place_of_known(forms, table, lay[FORM, j], form, y - lay[Y, j], bench.number[s])
        sign, move = bench.sign[s], bench.move[s]
        deep = grid * min(tops[j] - y, top - lay[Y, j])
        for k in range(many(table, at)):
            low, high = low_of(table, at, k), high_of(table, at, k)
            if n == MOST_ENDS:
                break
            if sign < 0:
                low, high = -high, -low
            low, high = low + move, high + move
            lows[n], highs[n], deeps[n], hefts[n] = low, high, deep, bench.pair[piece, j]
            n += int((low < right) & (high > left))
    table.count[WORK] += seen + 2 + many_others // PASSED
    return n


@inner
def _cost(bench: Bench, n: int, x: int, limit: float) -> float:
    """Return the weighted depth at a place on the line, or any at or above ``limit`` where it is no less."""
    total = 0.0
    lows, highs, deeps, hefts = bench.low, bench.high, bench.deep, bench.heft
    for m in range(n):
        total += hefts[m] * max(0, min(x - lows[m], highs[m] - x, deeps[m]))
        if total >= limit:
            break
    return total


@inner
def _mark_dear(bench: Bench, n: int, limit: float) -> int:
    """Mark on intervals where their overlap alone costs ``limit``; return how many there are of such marks."""
    lows, highs, dear_low, dear_high = bench.low, bench.high, bench.dear_low, bench.dear_high
    dear = 0
    for m in range(n):
        d = np.int64(min(limit / bench.heft[m], _FAR)) + 1
        dear_low[dear], dear_high[dear] = lows[m] + d - 1, highs[m] - d + 1
        dear += int((d <= bench.deep[m]) & (2 * d <= highs[m] - lows[m]))
    return dear


@inner
def _beyond(bench: Bench, dear: int, x: int, end: int) -> tuple[int, int]:
    """Return the next x to look at, and how far it is worth it from there; the first is ``x`` where it is not dear."""
    dear_low, dear_high = bench.dear_low, bench.dear_high
    far, near = x, end
    for m in range(dear):
        begun = dear_low[m] < x
        far = max(far, dear_high[m] if begun else x)
        near = min(near, end if begun else dear_low[m])
    return far, near


@inner
def _stretch(bench: Bench, n: int, x: int, near: int, best: float, best_x: int) -> tuple[float, int]:
    """Return the least weighted depth below ``best`` at ends of intervals, and of the stretch, and its x."""
    for k in range(-1, 2 * n + 1):
        end = x
        if k == 2 * n:
            end = near
        elif k >= 0:
            end = bench.low[k >> 1] if k & 1 == 0 else bench.high[k >> 1]
        if x <= end <= near:
            total = _cost(bench, n, end, best)
            if total < best:
                best, best_x = total, end
    return best, best_x


@inner
def _sweep(bench: Bench, n: int, left: int, right: int, limit: float) -> tuple[float, int]:
    """Return the least weighted depth below ``limit`` from ``left`` to ``right``, and its x (-1: none).

    It begins by chance, so that of places without overlap any may be found.
    """
    dear = _mark_dear(bench, n, limit)
    best, best_x = limit, -1
    start = np.random.randint(left, right + 1)
    for half in range(2):
        x, end = (start, right) if half == 0 else (left, start - 1)
        while x <= end:
            far, near = _beyond(bench, dear, x, end)
            if far > x:
                x = far
                continue
            best, best_x = _stretch(bench, n, x, near, best, best_x)
            if best == 0.0:
                return best, best_x
            x = near + 1
    return best, best_x


@inner
def _line(
    forms: FormArrays, table: Beside, strip: Strip, bench: Bench, lay: NDArray[np.int64], piece: int, form: int,
    y: int, centre: int, long: int, limit: float,
) -> tuple[float, int]:  # fmt: skip
    """Return the least weighted depth below ``limit`` along a level line near ``centre``, and its x (-1: none)."""
    last = long - forms.length[form]
    if last < 0:
        return limit, -1
    left = max(0, min(centre - strip.size[LOOK], last))
    right = max(left, min(last, centre + strip.size[LOOK]))
    n = _gather(forms, table, bench, lay, piece, form, y, left, right, lay.shape[1] - 1)
    return _sweep(bench, n, left, right, limit)


@inner
def _y(room: int) -> int:
    """Return a place across the strip by chance, more often against either edge."""
    chance = np.random.random()
    if chance < 0.1:
        return 0
    if chance < 0.2:
        return room
    return np.random.randint(0, room + 1)


@inner
def lay_again(
    forms: FormArrays, table: Beside, strip: Strip, bench: Bench, lay: NDArray[np.int64], piece: int, long: int
) -> float:
    """Move a piece to the best place found, looked at closely; return its weighted depth there."""
    place = bench.place
    for j in range(lay.shape[1] - 1):
        bench.others[j] = j if j < piece else j + 1
    form, centre = lay[FORM, piece], lay[X, piece]
    cost, x = _line(forms, table, strip, bench, lay, piece, form, lay[Y, piece], centre, long, 1e300)
    place[_COST], place[_FORM], place[_X], place[_Y] = cost, form, max(x, 0), lay[Y, piece]
    for _ in range(_SAMPLES):
        if place[_COST] == 0.0:
            break
        form = strip.ways[piece, np.random.randint(0, strip.n_ways[piece])]
        room = (strip.size[ACROSS] - forms.width[form]) // table.size[GRID]
        kind = np.random.random()
        if kind < _LEVEL and lay.shape[1] > 1:
            y = min(room, max(0, _level(forms, table, lay, piece, form)))
            middle = np.random.randint(0, max(1, long - forms.length[form]))
        elif kind < _LEVEL + _NEAR:
            y = min(room, max(0, lay[Y, piece] + np.random.randint(-_NEAR_PLACES, _NEAR_PLACES + 1)))
            middle = centre
        else:
            y = _y(room)
            middle = np.random.randint(0, max(1, long - forms.length[form]))
        cost, x = _line(forms, table, strip, bench, lay, piece, form, y, middle, long, place[_COST])
        if x >= 0:
            place[_COST], place[_FORM], place[_X], place[_Y] = cost, form, x, y
    _refine(forms, table, strip, bench, lay, piece, place, long)
    lay[FORM, piece], lay[X, piece], lay[Y, piece] = int(place[_FORM]), int(place[_X]), int(place[_Y])
    box_in(forms, table, bench, lay, piece)
    return place[_COST]


@inner
def box_in(forms: FormArrays, table: Beside, bench: Bench, lay: NDArray[np.int64], i: int) -> None:
    """Note where the box of a piece ends."""
    bench.far[i] = lay[X, i] + forms.length[lay[FORM, i]]
    bench.top[i] = lay[Y, i] + table.wide[lay[FORM, i]]


@inner
def _level(forms: FormArrays, table: Beside, lay: NDArray[np.int64], piece: int, form: int) -> int:
    """Return a place across by chance at which a corner of a piece comes level with one of another."""
    j = np.random.randint(0, lay.shape[1] - 1)
    if j >= piece:
        j += 1
    other = lay[FORM, j]
    a, b = forms.twin[form], forms.twin[other]
    p = np.random.randint(2 * forms.first[a], 2 * forms.first[a + 1])
    q = np.random.randint(2 * forms.first[b], 2 * forms.first[b + 1])
    rise = (forms.trapezoids[q >> 1, q & 1] - forms.trapezoids[p >> 1, p & 1]) * TICKS_PER_MM / table.size[GRID]
    return lay[Y, j] + int(np.floor(rise) if np.random.random() < 0.5 else np.ceil(rise))


@inner
def _refine(
    forms: FormArrays, table: Beside, strip: Strip, bench: Bench, lay: NDArray[np.int64], piece: int,
    place: NDArray[np.float64], long: int,
) -> None:  # fmt: skip
    """Shift a place across the strip in ever smaller steps while its depth falls, and along it no further than near."""
    form, x, y = int(place[_FORM]), int(place[_X]), int(place[_Y])
    left, right = max(0, x - _NEAR_ALONG), min(long - forms.length[form], x + _NEAR_ALONG)
    if right < left:  # it is longer than the strip
        return
    lowest = max(0, y - _NEAR_PLACES)
    highest = min((strip.size[ACROSS] - forms.width[form]) // table.size[GRID], y + _NEAR_PLACES)
    near = 0
    for s in range(lay.shape[1] - 1):
        j = bench.others[s]
        bench.others[near] = j
        near += int(
            (lay[Y, j] < highest + table.wide[form]) & (bench.top[j] > lowest)
            & (lay[X, j] < right + forms.length[form]) & (bench.far[j] > left)
        )  # fmt: skip
    step = _REFINED
    while step >= 1 and place[_COST] > 0.0:
        moved = False
        for sign in (-1, 1):
            y = min(highest, max(lowest, int(place[_Y]) + sign * step))
            if y == int(place[_Y]):
                continue
            n = _gather(forms, table, bench, lay, piece, form, y, left, right, near)
            cost, x = _sweep(bench, n, left, right, place[_COST])
            if x >= 0:
                place[_COST], place[_X], place[_Y] = cost, x, y
                moved = True
        if not moved:
            step //= 2
