"""Free placement on one strip: blanks of any outline, pressed together until they no longer come apart.

All pieces lie on a strip of given width and length, at first with overlaps. One that overlaps is taken up and laid
again where the weighted depths of its overlaps are least: a level line across the strip is chosen by chance, and along
it the best place is exact, because forbidden shifts are known as intervals (`beside`) and the depths are linear between
their ends. Overlaps that stay gain weight until they give way (guided local search). When nothing overlaps any more
the strip is made shorter, and so on. Flips, holes and every allowed turn come in by their forms alone.

A strip that is too short for it has its layouts with the least overlap kept; large pieces of one of them change places,
and it is tried again. The last share of the work only presses the best layout, in smaller and smaller steps.

Terminology
-----------
Depth: how far one form must move to come free of another: along the strip as the intervals say, or across it until
their boxes part, whichever is less.
Layout: array of shape (3, pieces), with the rows `FORM`, `X` in ticks, and `Y` in places across (`beside`).
"""

# ruff: noqa: NPY002 - inside compiled code each thread has one generator of its own, seeded where it starts
# mypy: disable-error-code="no-any-return, return-value, assignment, arg-type"
# Reason: inside compiled code, whole numbers of arrays and of Python are one type.

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from cutpath.nesting.beside import GRID, WORK, Beside, find, high_of, low_of, many, place_of, place_of_known, row_of
from cutpath.nesting.compiled import compiled, inner, power
from cutpath.nesting.lean import ahead, by_address
from cutpath.nesting.shifts import FormArrays
from cutpath.nesting.ticks import TICKS_PER_MM

if TYPE_CHECKING:
    from numpy.typing import NDArray

FORM, X, Y = 0, 1, 2  # rows of a layout
ACROSS, LOOK, LEAST = 0, 1, 2  # places in `Strip.size`
_COST, _FORM, _X, _Y = 0, 1, 2, 3  # places in `Bench.place`
_ENDLESS = 1 << 60  # ticks
_PASSED = 4  # pieces that are only looked at: so many count as one more step of work
_FAR = 1e12  # ticks, as a number with a point
_MOST_ENDS = 1024  # intervals looked at on one line
_SAMPLES = 8  # lines tried for a piece before the best place is looked at more closely
_LEVEL, _NEAR = 0.4, 0.3  # shares of them level with a corner of another piece, and near where it lies
_NEAR_PLACES = 40
_NEAR_ALONG = 40 * TICKS_PER_MM  # looked at to each side of the best place, and `_NEAR_PLACES` across
_REFINED = 16  # places across by which it is shifted first then
_NOT_YET = -1
_TRIED_ACROSS = 20  # places across the strip for the first layout
_STALE = 60  # passes without less overlap
_STRIKES = 2  # times it is then tried again, with weights as at first
_BETTER = 0.98  # less overlap than this share counts as less
_GROWTH, _DEEP_GROWTH, _DECAY = 1.2, 0.8, 0.95  # of weights in each pass
_STEP, _EXPLORING_STEP = 0.01, 0.002  # by which a strip is made shorter, as a share: at first, once that failed
_PRESSING_STEP, _LAST_STEP = 0.001, 0.00005  # the same for the rest of the work
_KEPT = 50  # layouts with overlaps
_SPREAD = 0.25  # of the chance by which one of them is taken: a share of those that are kept
_ANY = 0.3  # share of changes in which one of the pieces may be small
_OTHERS = 10  # pieces looked at for one of another shape


@by_address
class Strip(NamedTuple):
    """What is to be laid: forms that each piece may take (padded), their number, weight of its overlaps, and sizes.

    ``size`` holds, in ticks, the strip's width (`ACROSS`), half the length of which a line takes notice (`LOOK`), and
    the length without which some piece finds no room (`LEAST`). ``large`` names the pieces that make up most of the
    area.
    """

    ways: NDArray[np.int64]
    n_ways: NDArray[np.int64]
    base: NDArray[np.float64]
    size: NDArray[np.int64]
    large: NDArray[np.int64]


@by_address
class Bench(NamedTuple):
    """Working memory of one worker.

    Attributes
    ----------
    far, top : arrays of int
        Where the box of each piece ends along the strip, in ticks, and across it.
    others : array of int
        Pieces of which a line takes notice.
    near, number, sign, move : arrays of int
        Those of them that may be met on the line, and the rows of what they forbid (`beside.row_of`).
    low, high, deep, heft : arrays
        Intervals on a line, their ends and the way across in ticks, and the weights of their overlaps.
    dear_low, dear_high : arrays of int
        Lines on which one overlap alone costs as much as the best place so far, ends left out.
    place : array of float, shape (4,)
        Best place of a piece so far: weighted depth, form, x, y.
    pair : array of float
        Weight of the overlap of each pair.
    depth : array of int
        Depth of the overlap of each pair, in ticks (upper half).
    least, trial : arrays of int
        The layout with the least overlap, and the one that is pressed.
    turn : array of int
        Pieces in the order in which they are laid again.
    kept, total : arrays
        Layouts with overlaps at the length that is tried, and the sum of depths of each; the last of ``total`` is that
        of ``least``.
    """

    far: NDArray[np.int64]
    top: NDArray[np.int64]
    others: NDArray[np.uint64]
    near: NDArray[np.uint64]
    number: NDArray[np.int64]
    sign: NDArray[np.int64]
    move: NDArray[np.int64]
    low: NDArray[np.int64]
    high: NDArray[np.int64]
    deep: NDArray[np.int64]
    heft: NDArray[np.float64]
    dear_low: NDArray[np.int64]
    dear_high: NDArray[np.int64]
    place: NDArray[np.float64]
    pair: NDArray[np.float64]
    depth: NDArray[np.int64]
    least: NDArray[np.int64]
    trial: NDArray[np.int64]
    turn: NDArray[np.int64]
    kept: NDArray[np.int64]
    total: NDArray[np.float64]


def new_bench(pieces: int) -> Bench:
    """Return working memory for so many pieces."""
    low, high, deep, dear_low, dear_high = (np.zeros(_MOST_ENDS + 1, dtype=np.int64) for _ in range(5))
    return Bench(
        np.zeros(pieces, dtype=np.int64),
        np.zeros(pieces, dtype=np.int64),
        np.zeros(pieces + 1, dtype=np.uint64),
        np.zeros(pieces + 1, dtype=np.uint64),
        np.zeros(pieces, dtype=np.int64),
        np.zeros(pieces, dtype=np.int64),
        np.zeros(pieces, dtype=np.int64),
        low,
        high,
        deep,
        np.zeros(_MOST_ENDS + 1),
        dear_low,
        dear_high,
        np.zeros(4),
        np.ones((pieces, pieces)),
        np.zeros((pieces, pieces), dtype=np.int64),
        np.zeros((3, pieces), dtype=np.int64),
        np.zeros((3, pieces), dtype=np.int64),
        np.zeros(pieces, dtype=np.int64),
        np.zeros((_KEPT, 3, pieces), dtype=np.int64),
        np.zeros(_KEPT + 1),
    )


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
            if n == _MOST_ENDS:
                break
            if sign < 0:
                low, high = -high, -low
            low, high = low + move, high + move
            lows[n], highs[n], deeps[n], hefts[n] = low, high, deep, bench.pair[piece, j]
            n += int((low < right) & (high > left))
    table.count[WORK] += seen + 2 + many_others // _PASSED
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
def _lay_again(
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
    _box_in(forms, table, bench, lay, piece)
    return place[_COST]


@inner
def _box_in(forms: FormArrays, table: Beside, bench: Bench, lay: NDArray[np.int64], i: int) -> None:
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


@inner
def _overlaps(forms: FormArrays, table: Beside, bench: Bench, lay: NDArray[np.int64], long: int) -> float:
    """Note where boxes end and how deep each pair overlaps; return the sum of it, and by how much forms stick out."""
    total = 0.0
    n = lay.shape[1]
    for i in range(n):
        _box_in(forms, table, bench, lay, i)
        total += max(0, bench.far[i] - long)
        for j in range(i + 1, n):
            d = depth(forms, table, lay[FORM, i], lay[X, i], lay[Y, i], lay[FORM, j], lay[X, j], lay[Y, j])
            bench.depth[i, j] = d
            total += d
    table.count[WORK] += 2 * n + n * n // _PASSED
    return total


@inner
def _copy(source: NDArray[np.int64], goal: NDArray[np.int64]) -> None:
    """Make a layout the same as another; numba's own way of it would be compiled with words for its errors."""
    for i in range(source.shape[0]):
        for j in range(source.shape[1]):
            goal[i, j] = source[i, j]


@inner
def _shuffle(turn: NDArray[np.int64]) -> None:
    """Put whole numbers from 0 up in an order by chance."""
    for i in range(turn.size):
        turn[i] = i
    for i in range(turn.size - 1, 0, -1):
        j = np.random.randint(0, i + 1)
        turn[i], turn[j] = turn[j], turn[i]


@inner
def _separate(
    forms: FormArrays, table: Beside, strip: Strip, bench: Bench, lay: NDArray[np.int64], long: int, work: int,
    stop: NDArray[np.bool_],
) -> bool:  # fmt: skip
    """Lay overlapping pieces again until none overlap; else ``lay`` is where they overlapped least."""
    _weigh_anew(strip, bench)
    least = np.inf
    stale = strikes = 0
    while True:
        total = _overlaps(forms, table, bench, lay, long)
        stale = 0 if total < _BETTER * least else stale + 1
        if total < least:
            least = total
            _copy(lay, bench.least)
        if total == 0.0:
            return True
        if stale >= _STALE:
            strikes += 1
            stale = 0
            _copy(bench.least, lay)
            _weigh_anew(strip, bench)
            _overlaps(forms, table, bench, lay, long)
        if strikes > _STRIKES or table.count[WORK] >= work or stop[0]:
            _copy(bench.least, lay)
            bench.total[_KEPT] = least
            return False
        _weigh(strip, bench)
        _shuffle(bench.turn)
        for i in bench.turn:
            if _touches(forms, table, lay, i, long):
                _lay_again(forms, table, strip, bench, lay, i, long)


@inner
def _weigh_anew(strip: Strip, bench: Bench) -> None:
    """Return overlaps the weights that they have at first."""
    for i in range(bench.pair.shape[0]):
        for j in range(bench.pair.shape[1]):
            bench.pair[i, j] = strip.base[i, j]


@inner
def _weigh(strip: Strip, bench: Bench) -> None:
    """Let the weights of pairs that overlap grow, by their depth, and the others fall."""
    deepest = 1
    for i in range(bench.depth.shape[0]):
        for j in range(i + 1, bench.depth.shape[1]):
            deepest = max(deepest, bench.depth[i, j])
    for i in range(bench.depth.shape[0]):
        for j in range(i + 1, bench.depth.shape[1]):
            weight = bench.pair[i, j]
            if bench.depth[i, j] > 0:
                weight *= _GROWTH + _DEEP_GROWTH * bench.depth[i, j] / deepest
            else:
                weight = max(strip.base[i, j], _DECAY * weight)
            bench.pair[i, j] = bench.pair[j, i] = weight


@inner
def _touches(forms: FormArrays, table: Beside, lay: NDArray[np.int64], i: int, long: int) -> bool:
    """Tell whether a piece overlaps another or sticks out of the strip."""
    if lay[X, i] + forms.length[lay[FORM, i]] > long:
        return True
    for j in range(lay.shape[1]):
        if j != i and depth(forms, table, lay[FORM, i], lay[X, i], lay[Y, i], lay[FORM, j], lay[X, j], lay[Y, j]) > 0:
            return True
    return False


@inner
def reach(forms: FormArrays, lay: NDArray[np.int64]) -> int:
    """Return the length of strip that a layout takes, in ticks."""
    far = 0
    for i in range(lay.shape[1]):
        far = max(far, lay[X, i] + forms.length[lay[FORM, i]])
    return far


@inner
def _shorten(forms: FormArrays, strip: Strip, lay: NDArray[np.int64], step: float) -> int:
    """Make a layout shorter by a share of its length, at a place by chance; return its length."""
    was = reach(forms, lay)
    long = max(strip.size[LEAST], int(was * (1.0 - step)))
    cut = np.random.randint(0, max(1, long))
    for i in range(lay.shape[1]):
        length = forms.length[lay[FORM, i]]
        if lay[X, i] + length // 2 > cut:
            lay[X, i] -= was - long
        lay[X, i] = max(0, min(lay[X, i], long - length))
    return long


@inner
def _swap(forms: FormArrays, table: Beside, strip: Strip, lay: NDArray[np.int64], long: int) -> None:
    """Let the middles of two pieces by chance change places, mostly large ones that are not alike."""
    many_large = strip.large.size
    i = j = strip.large[np.random.randint(0, many_large)]
    for _ in range(_OTHERS):
        j = strip.large[np.random.randint(0, many_large)]
        if strip.ways[i, 0] != strip.ways[j, 0]:
            break
    if np.random.random() < _ANY:
        j = np.random.randint(0, lay.shape[1])
    grid = table.size[GRID]
    fi, fj = lay[FORM, i], lay[FORM, j]
    xi, yi = lay[X, i] + forms.length[fi] // 2, lay[Y, i] * grid + forms.width[fi] // 2
    xj, yj = lay[X, j] + forms.length[fj] // 2, lay[Y, j] * grid + forms.width[fj] // 2
    for k, x, y in ((i, xj, yj), (j, xi, yi)):
        f = lay[FORM, k]
        room = (strip.size[ACROSS] - forms.width[f]) // grid
        lay[X, k] = max(0, min(x - forms.length[f] // 2, long - forms.length[f]))
        lay[Y, k] = max(0, min((y - forms.width[f] // 2) // grid, room))


@inner
def _keep(bench: Bench, lay: NDArray[np.int64], total: float, held: int) -> int:
    """Put a layout in its place among those that are kept, the least overlap first; return how many there are."""
    at = held
    while at > 0 and bench.total[at - 1] > total:
        at -= 1
    if at == _KEPT:
        return held
    held = min(held + 1, _KEPT)
    for k in range(held - 1, at, -1):
        _copy(bench.kept[k - 1], bench.kept[k])
        bench.total[k] = bench.total[k - 1]
    _copy(lay, bench.kept[at])
    bench.total[at] = total
    return held


@compiled
def press(
    forms: FormArrays, table: Beside, strip: Strip, bench: Bench, lay: NDArray[np.int64], work: int,
    explored: float, seed: int, stop: NDArray[np.bool_],
) -> None:  # fmt: skip
    """Make a layout shorter and shorter, until ``work`` is done or ``stop`` is set.

    ``lay`` becomes the shortest layout found without overlaps, and stays as it is where there is none.
    """
    np.random.seed(seed)
    table.count[WORK] = 0
    _explore(forms, table, strip, bench, lay, int(work * explored), stop)
    since = table.count[WORK]
    trial = bench.trial
    while table.count[WORK] < work and reach(forms, lay) > strip.size[LEAST] and not stop[0]:
        done = (table.count[WORK] - since) / (work - since)
        _copy(lay, trial)
        long = _shorten(forms, strip, trial, _PRESSING_STEP * power(_LAST_STEP / _PRESSING_STEP, done))
        if _separate(forms, table, strip, bench, trial, long, work, stop):
            _copy(trial, lay)


@inner
def _explore(
    forms: FormArrays, table: Beside, strip: Strip, bench: Bench, lay: NDArray[np.int64], work: int,
    stop: NDArray[np.bool_],
) -> None:  # fmt: skip
    """Make a layout shorter, and where that fails, let pieces of one that nearly did change places."""
    trial = bench.trial
    step = _STEP
    held = 0
    _copy(lay, trial)
    long = _shorten(forms, strip, trial, step)
    while table.count[WORK] < work and reach(forms, lay) > strip.size[LEAST] and not stop[0]:
        apart = _separate(forms, table, strip, bench, trial, long, work, stop)
        if apart:
            _copy(trial, lay)
            held = 0
        if apart or step > _EXPLORING_STEP:
            step = step if apart else max(_EXPLORING_STEP, step / 2)
            _copy(lay, trial)
            long = _shorten(forms, strip, trial, step)
            continue
        held = _keep(bench, trial, bench.total[_KEPT], held)
        _copy(bench.kept[min(held - 1, int(abs(np.random.normal()) * _SPREAD * held))], trial)
        _swap(forms, table, strip, trial, long)


@compiled
def first_layout(
    forms: FormArrays, table: Beside, strip: Strip, bench: Bench, order: NDArray[np.int64], lay: NDArray[np.int64]
) -> None:
    """Fill ``lay``: one piece after another where it reaches least far along the strip."""
    for piece in range(lay.shape[1]):
        lay[FORM, piece] = _NOT_YET
    for piece in order:
        best, best_form, best_x, best_y = _ENDLESS, 0, 0, 0
        for w in range(strip.n_ways[piece]):
            form = strip.ways[piece, w]
            room = (strip.size[ACROSS] - forms.width[form]) // table.size[GRID]
            for k in range(_TRIED_ACROSS + 1):
                y = room * k // _TRIED_ACROSS
                x = _leftmost(forms, table, bench, lay, form, y)
                if x + forms.length[form] < best:
                    best, best_form, best_x, best_y = x + forms.length[form], form, x, y
        lay[FORM, piece], lay[X, piece], lay[Y, piece] = best_form, best_x, best_y


@inner
def _leftmost(forms: FormArrays, table: Beside, bench: Bench, lay: NDArray[np.int64], form: int, y: int) -> int:
    """Return the least x at height ``y`` where a form overlaps nothing; where too much lies there, the end of all."""
    n = beyond = 0
    for j in range(lay.shape[1]):
        if lay[FORM, j] != _NOT_YET:
            beyond = max(beyond, lay[X, j] + forms.length[lay[FORM, j]])
    for j in range(lay.shape[1]):
        other, xj, yj = lay[FORM, j], lay[X, j], lay[Y, j]
        if other == _NOT_YET or yj >= y + table.wide[form] or y >= yj + table.wide[other]:
            continue
        at, sign, move = find(forms, table, other, form, y - yj)
        for k in range(many(table, at)):
            if n == _MOST_ENDS:
                return beyond
            low, high = low_of(table, at, k), high_of(table, at, k)
            if sign < 0:
                low, high = -high, -low
            bench.low[n], bench.high[n] = low + xj + move, high + xj + move
            n += 1
    x = 0
    moved = True
    while moved:
        moved = False
        for m in range(n):
            if bench.low[m] < x < bench.high[m]:
                x = bench.high[m]
                moved = True
    return x
