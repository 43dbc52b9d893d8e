"""Free placement on one strip: blanks of any outline, pressed together until they no longer come apart.

All pieces lie on a strip of given width and length, at first with overlaps. One that overlaps is taken up and laid
again where the weighted depths of its overlaps are least: a level line across the strip is chosen by chance, and along
it the best place is exact, because forbidden shifts are known as intervals (`shifts`) and the depths are linear between
their ends. Overlaps that stay gain weight until they give way (guided local search). When nothing overlaps any more
the strip is made shorter, and so on. Flips, holes and every allowed turn come in by their forms alone.

Terminology
-----------
Depth: how far one form must move to come free of another: along the strip as the intervals say, or across it until
their boxes part, whichever is less.
Layout: array of shape (3, pieces), with the rows `FORM`, and `X` and `Y` in ticks.
"""

# ruff: noqa: NPY002 - inside compiled code each thread has one generator of its own, seeded where it starts
# mypy: disable-error-code="no-any-return, return-value, assignment, arg-type"
# Reason: inside compiled code, whole numbers of arrays and of Python are one type.

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from cutpath.nesting.compiled import compiled, inner
from cutpath.nesting.lean import by_address
from cutpath.nesting.shifts import WORK, FormArrays, Memory, high_of, look_up, low_of, many

if TYPE_CHECKING:
    from numpy.typing import NDArray

FORM, X, Y = 0, 1, 2  # rows of a layout
_ACROSS, _GRID, _LOOK = 0, 1, 2  # places in `Strip.size`
_LOW, _HIGH, _DEEP = 0, 1, 2  # columns of `Bench.lines`
_COST, _FORM, _X, _Y = 0, 1, 2, 3  # places in `Bench.place`
_ENDLESS = 1 << 60  # ticks
_MOST_ENDS = 4096  # intervals looked at on one line
_SAMPLES = 8  # lines tried for a piece before the best place is looked at more closely
_NOT_YET = -1
_TRIED_ACROSS = 20  # places across the strip for the first layout
_STALE = 60  # passes without less overlap
_STRIKES = 2  # times it is then tried again, with weights as at first
_BETTER = 0.98  # less overlap than this share counts as less
_GROWTH, _DEEP_GROWTH, _DECAY = 1.2, 0.8, 0.95  # of weights in each pass
_STEP, _LEAST_STEP = 0.01, 0.0005  # by which a strip is made shorter, as a share of its length
_TRIES = 3  # at one length before the step is halved


@by_address
class Strip(NamedTuple):
    """What is to be laid: forms that each piece may take (padded), their number, weight of its overlaps, and sizes.

    ``size`` holds, in ticks, the strip's width (`_ACROSS`), the `_GRID` across it, and half the length of which a line
    takes notice (`_LOOK`).
    """

    ways: NDArray[np.int64]
    n_ways: NDArray[np.int64]
    base: NDArray[np.float64]
    size: NDArray[np.int64]


@by_address
class Bench(NamedTuple):
    """Working memory of one worker.

    Attributes
    ----------
    lines, heft : arrays
        Intervals on a line (low end, high end, way across in ticks) and the weights of their overlaps.
    place : array of float, shape (4,)
        Best place of a piece so far: weighted depth, form, x, y.
    pair : array of float
        Weight of the overlap of each pair.
    deep : array of int
        Depth of the overlap of each pair, in ticks (upper half).
    least, trial : arrays of int
        The layout with the least overlap, and the one that is pressed.
    turn : array of int
        Pieces in the order in which they are laid again.
    """

    lines: NDArray[np.int64]
    heft: NDArray[np.float64]
    place: NDArray[np.float64]
    pair: NDArray[np.float64]
    deep: NDArray[np.int64]
    least: NDArray[np.int64]
    trial: NDArray[np.int64]
    turn: NDArray[np.int64]


def new_bench(pieces: int) -> Bench:
    """Return working memory for so many pieces."""
    return Bench(
        np.zeros((_MOST_ENDS, 3), dtype=np.int64),
        np.zeros(_MOST_ENDS),
        np.zeros(4),
        np.ones((pieces, pieces)),
        np.zeros((pieces, pieces), dtype=np.int64),
        np.zeros((3, pieces), dtype=np.int64),
        np.zeros((3, pieces), dtype=np.int64),
        np.zeros(pieces, dtype=np.int64),
    )


@inner
def depth(forms: FormArrays, memory: Memory, a: int, xa: int, ya: int, b: int, xb: int, yb: int) -> int:
    """Depth of the overlap of two forms in ticks, 0 when they are apart."""
    if (
        xa + forms.length[a] <= xb or xb + forms.length[b] <= xa
        or ya + forms.width[a] <= yb or yb + forms.width[b] <= ya
    ):  # fmt: skip
        return 0
    place = look_up(forms, memory, a, b, yb - ya)
    s = xb - xa
    for k in range(many(place)):
        low, high = low_of(memory, place, k), high_of(memory, place, k)
        if low < s < high:
            across = min(ya + forms.width[a] - yb, yb + forms.width[b] - ya)
            return max(1, min(s - low, high - s, across))
    return 0


@inner
def _line(  # noqa: C901 - one loop without calls, for speed
    forms: FormArrays, memory: Memory, strip: Strip, bench: Bench, lay: NDArray[np.int64], piece: int, form: int,
    y: int, centre: int, long: int, limit: float,
) -> tuple[float, int]:  # fmt: skip
    """Return the least weighted depth below ``limit`` along a level line near ``centre``, and its x (-1: none)."""
    last = long - forms.length[form]
    if last < 0:
        return limit, -1
    left = max(0, min(centre - strip.size[_LOOK], last))
    right = min(last, centre + strip.size[_LOOK])
    right = max(left, right)
    wide = forms.width[form]
    n = 0
    for j in range(lay.shape[1]):
        if j == piece:
            continue
        other, xj, yj = lay[FORM, j], lay[X, j], lay[Y, j]
        if yj >= y + wide or y >= yj + forms.width[other]:
            continue
        if xj >= right + forms.length[form] or xj + forms.length[other] <= left:
            continue
        place = look_up(forms, memory, other, form, y - yj)
        across = min(yj + forms.width[other] - y, y + wide - yj)
        memory.count[WORK] += 1
        for k in range(many(place)):
            low, high = low_of(memory, place, k) + xj, high_of(memory, place, k) + xj
            if high <= left or low >= right or n == _MOST_ENDS:
                continue
            bench.lines[n, _LOW], bench.lines[n, _HIGH], bench.lines[n, _DEEP] = low, high, across
            bench.heft[n] = bench.pair[piece, j]
            n += 1
    memory.count[WORK] += 2
    best, best_x = limit, -1
    start = np.random.randint(0, 2 * n + 2)
    for k in range(2 * n + 2):
        c = (start + k) % (2 * n + 2)
        if c == 2 * n:
            x = left
        elif c == 2 * n + 1:
            x = right
        else:
            x = bench.lines[c >> 1, c & 1]
        if x < left or x > right:
            continue
        total = 0.0
        for m in range(n):
            low, high = bench.lines[m, _LOW], bench.lines[m, _HIGH]
            if low < x < high:
                total += bench.heft[m] * min(x - low, high - x, bench.lines[m, _DEEP])
                if total >= best:
                    break
        if total < best:
            best, best_x = total, x
            if best == 0.0:
                break
    return best, best_x


@inner
def _y(strip: Strip, room: int) -> int:
    """Return a place across the strip by chance: on the grid, or against either edge."""
    chance = np.random.random()
    if chance < 0.1:
        return 0
    if chance < 0.2:
        return room
    grid = strip.size[_GRID]
    return np.random.randint(0, room // grid + 1) * grid


@inner
def _lay_again(
    forms: FormArrays, memory: Memory, strip: Strip, bench: Bench, lay: NDArray[np.int64], piece: int, long: int
) -> float:
    """Move a piece to the best place found, looked at closely; return its weighted depth there.

    Looking closely at more places than one gave less in the same time.
    """
    place = bench.place
    form, centre = lay[FORM, piece], lay[X, piece]
    cost, x = _line(forms, memory, strip, bench, lay, piece, form, lay[Y, piece], centre, long, 1e300)
    place[_COST], place[_FORM], place[_X], place[_Y] = cost, form, max(x, 0), lay[Y, piece]
    for sample in range(_SAMPLES):
        if place[_COST] == 0.0:
            break
        form = strip.ways[piece, np.random.randint(0, strip.n_ways[piece])]
        room = strip.size[_ACROSS] - forms.width[form]
        y = _y(strip, room)
        if sample % 3 == 0:
            y = min(room, max(0, lay[Y, piece] + np.random.randint(-40, 41) * strip.size[_GRID]))
            middle = centre
        else:
            middle = np.random.randint(0, max(1, long - forms.length[form]))
        cost, x = _line(forms, memory, strip, bench, lay, piece, form, y, middle, long, place[_COST])
        if x >= 0:
            place[_COST], place[_FORM], place[_X], place[_Y] = cost, form, x, y
    _refine(forms, memory, strip, bench, lay, piece, place, long)
    lay[FORM, piece], lay[X, piece], lay[Y, piece] = int(place[_FORM]), int(place[_X]), int(place[_Y])
    return place[_COST]


@inner
def _refine(
    forms: FormArrays, memory: Memory, strip: Strip, bench: Bench, lay: NDArray[np.int64], piece: int,
    place: NDArray[np.float64], long: int,
) -> None:  # fmt: skip
    """Shift a place across the strip in ever smaller steps while its depth falls."""
    form = int(place[_FORM])
    room = strip.size[_ACROSS] - forms.width[form]
    step = 16 * strip.size[_GRID]
    while step >= strip.size[_GRID] and place[_COST] > 0.0:
        moved = False
        for sign in (-1, 1):
            y = min(room, max(0, int(place[_Y]) + sign * step))
            if y == int(place[_Y]):
                continue
            cost, x = _line(forms, memory, strip, bench, lay, piece, form, y, int(place[_X]), long, place[_COST])
            if x >= 0:
                place[_COST], place[_X], place[_Y] = cost, x, y
                moved = True
        if not moved:
            step //= 2


@inner
def _overlaps(forms: FormArrays, memory: Memory, lay: NDArray[np.int64], out: NDArray[np.int64], long: int) -> float:
    """Fill ``out`` with the depth of each pair (upper half); return their sum, and by how much forms stick out."""
    total = 0.0
    n = lay.shape[1]
    for i in range(n):
        total += max(0, lay[X, i] + forms.length[lay[FORM, i]] - long)
        for j in range(i + 1, n):
            d = depth(forms, memory, lay[FORM, i], lay[X, i], lay[Y, i], lay[FORM, j], lay[X, j], lay[Y, j])
            out[i, j] = d
            total += d
    memory.count[WORK] += n
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
    forms: FormArrays, memory: Memory, strip: Strip, bench: Bench, lay: NDArray[np.int64], long: int, work: int,
    stop: NDArray[np.bool_],
) -> bool:  # fmt: skip
    """Lay overlapping pieces again until none overlap; else ``lay`` is where they overlapped least."""
    _weigh_anew(strip, bench)
    least = np.inf
    stale = strikes = 0
    while True:
        total = _overlaps(forms, memory, lay, bench.deep, long)
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
            _overlaps(forms, memory, lay, bench.deep, long)
        if strikes > _STRIKES or memory.count[WORK] >= work or stop[0]:
            _copy(bench.least, lay)
            return False
        _weigh(strip, bench)
        _shuffle(bench.turn)
        for i in bench.turn:
            if _touches(forms, memory, lay, i, long):
                _lay_again(forms, memory, strip, bench, lay, i, long)


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
    for i in range(bench.deep.shape[0]):
        for j in range(i + 1, bench.deep.shape[1]):
            deepest = max(deepest, bench.deep[i, j])
    for i in range(bench.deep.shape[0]):
        for j in range(i + 1, bench.deep.shape[1]):
            weight = bench.pair[i, j]
            if bench.deep[i, j] > 0:
                weight *= _GROWTH + _DEEP_GROWTH * bench.deep[i, j] / deepest
            else:
                weight = max(strip.base[i, j], _DECAY * weight)
            bench.pair[i, j] = bench.pair[j, i] = weight


@inner
def _touches(forms: FormArrays, memory: Memory, lay: NDArray[np.int64], i: int, long: int) -> bool:
    """Tell whether a piece overlaps another or sticks out of the strip."""
    if lay[X, i] + forms.length[lay[FORM, i]] > long:
        return True
    for j in range(lay.shape[1]):
        if j != i and depth(forms, memory, lay[FORM, i], lay[X, i], lay[Y, i], lay[FORM, j], lay[X, j], lay[Y, j]) > 0:
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
def _shorten(forms: FormArrays, lay: NDArray[np.int64], long: int) -> None:
    """Take out of the strip, at a place by chance, what it is longer than ``long``."""
    excess = reach(forms, lay) - long
    cut = np.random.randint(0, max(1, long))
    for i in range(lay.shape[1]):
        length = forms.length[lay[FORM, i]]
        if lay[X, i] + length // 2 > cut:
            lay[X, i] -= excess
        lay[X, i] = max(0, min(lay[X, i], long - length))


@inner
def _swap(forms: FormArrays, strip: Strip, lay: NDArray[np.int64], long: int) -> None:
    """Let two pieces by chance change places."""
    n = lay.shape[1]
    i, j = np.random.randint(0, n), np.random.randint(0, n)
    xi, yi, xj, yj = lay[X, i], lay[Y, i], lay[X, j], lay[Y, j]
    for k, x, y in ((i, xj, yj), (j, xi, yi)):
        lay[X, k] = max(0, min(x, long - forms.length[lay[FORM, k]]))
        lay[Y, k] = max(0, min(y, strip.size[_ACROSS] - forms.width[lay[FORM, k]]))


@compiled
def press(
    forms: FormArrays, memory: Memory, strip: Strip, bench: Bench, lay: NDArray[np.int64], work: int, seed: int,
    stop: NDArray[np.bool_],
) -> None:  # fmt: skip
    """Make a layout without overlaps shorter and shorter, until ``work`` is done or ``stop`` is set.

    ``lay`` becomes the shortest layout found.
    """
    np.random.seed(seed)
    memory.count[WORK] = 0
    trial = bench.trial
    _copy(lay, trial)
    step = _STEP
    tries = 0
    least = _least(forms, strip)
    long = max(least, int(reach(forms, lay) * (1.0 - step)))
    _shorten(forms, trial, long)
    while memory.count[WORK] < work and reach(forms, lay) > least and not stop[0]:
        if _separate(forms, memory, strip, bench, trial, long, work, stop):
            _copy(trial, lay)
            tries = 0
        else:
            tries += 1
        if 0 < tries < _TRIES:
            _swap(forms, strip, trial, long)
            continue
        if tries == _TRIES:
            step = max(_LEAST_STEP, step / 2)
            tries = 0
            _copy(lay, trial)
        long = max(least, int(reach(forms, lay) * (1.0 - step)))
        _shorten(forms, trial, long)


@inner
def _least(forms: FormArrays, strip: Strip) -> int:
    """Return the length without which some piece finds no room."""
    least = 0
    for i in range(len(strip.ways)):
        own = forms.length[strip.ways[i, 0]]
        for w in range(1, strip.n_ways[i]):
            own = min(own, forms.length[strip.ways[i, w]])
        least = max(least, own)
    return least


@compiled
def first_layout(
    forms: FormArrays, memory: Memory, strip: Strip, bench: Bench, order: NDArray[np.int64], lay: NDArray[np.int64]
) -> None:
    """Fill ``lay``: one piece after another where it reaches least far along the strip."""
    for piece in range(lay.shape[1]):
        lay[FORM, piece] = _NOT_YET
    for piece in order:
        best, best_form, best_x, best_y = _ENDLESS, 0, 0, 0
        for w in range(strip.n_ways[piece]):
            form = strip.ways[piece, w]
            room = strip.size[_ACROSS] - forms.width[form]
            for k in range(_TRIED_ACROSS + 1):
                y = room * k // _TRIED_ACROSS // strip.size[_GRID] * strip.size[_GRID]
                x = _leftmost(forms, memory, bench, lay, form, y)
                if x + forms.length[form] < best:
                    best, best_form, best_x, best_y = x + forms.length[form], form, x, y
        lay[FORM, piece], lay[X, piece], lay[Y, piece] = best_form, best_x, best_y


@inner
def _leftmost(forms: FormArrays, memory: Memory, bench: Bench, lay: NDArray[np.int64], form: int, y: int) -> int:
    """Return the least x at height ``y`` where a form overlaps nothing; where too much lies there, the end of all."""
    n = beyond = 0
    for j in range(lay.shape[1]):
        if lay[FORM, j] != _NOT_YET:
            beyond = max(beyond, lay[X, j] + forms.length[lay[FORM, j]])
    for j in range(lay.shape[1]):
        other, xj, yj = lay[FORM, j], lay[X, j], lay[Y, j]
        if other == _NOT_YET or yj >= y + forms.width[form] or y >= yj + forms.width[other]:
            continue
        place = look_up(forms, memory, other, form, y - yj)
        for k in range(many(place)):
            if n == _MOST_ENDS:
                return beyond
            bench.lines[n, _LOW], bench.lines[n, _HIGH] = low_of(memory, place, k) + xj, high_of(memory, place, k) + xj
            n += 1
    x = 0
    moved = True
    while moved:
        moved = False
        for m in range(n):
            if bench.lines[m, _LOW] < x < bench.lines[m, _HIGH]:
                x = bench.lines[m, _HIGH]
                moved = True
    return x
