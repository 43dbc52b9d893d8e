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
Layout: array of shape (3, pieces): form, x and y in ticks.
"""

# ruff: noqa: NPY002 - inside compiled code each thread has one generator of its own, seeded where it starts
# mypy: disable-error-code="no-any-return, return-value, assignment, arg-type"
# Reason: inside compiled code, whole numbers of arrays and of Python are one type.

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from cutpath.nesting.compiled import compiled, inner
from cutpath.nesting.lean import by_address
from cutpath.nesting.shifts import Memory, Shapes, high_of, look_up, low_of, many

if TYPE_CHECKING:
    from numpy.typing import NDArray

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

    ``size`` holds the strip's width, the grid across it, and half the length that a line looks at, in ticks.
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
    """Give working memory for so many pieces."""
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
def depth(shapes: Shapes, memory: Memory, a: int, xa: int, ya: int, b: int, xb: int, yb: int) -> int:
    """Depth of the overlap of two forms in ticks, 0 when they are apart."""
    if (
        xa + shapes.length[a] <= xb or xb + shapes.length[b] <= xa
        or ya + shapes.width[a] <= yb or yb + shapes.width[b] <= ya
    ):  # fmt: skip
        return 0
    place = look_up(shapes, memory, a, b, yb - ya)
    s = xb - xa
    for k in range(many(place)):
        low, high = low_of(memory, place, k), high_of(memory, place, k)
        if low < s < high:
            across = min(ya + shapes.width[a] - yb, yb + shapes.width[b] - ya)
            return max(1, min(s - low, high - s, across))
    return 0


@inner
def _line(  # noqa: C901 - one loop without calls, for speed
    shapes: Shapes, memory: Memory, strip: Strip, bench: Bench, lay: NDArray[np.int64], piece: int, form: int, y: int,
    centre: int, long: int, limit: float,
) -> tuple[float, int]:  # fmt: skip
    """Give the least weighted depth below ``limit`` along a level line near ``centre``, and its x (-1: none)."""
    last = long - shapes.length[form]
    if last < 0:
        return limit, -1
    left = max(0, min(centre - strip.size[2], last))
    right = min(last, centre + strip.size[2])
    right = max(left, right)
    wide = shapes.width[form]
    n = 0
    for j in range(lay.shape[1]):
        if j == piece:
            continue
        other, xj, yj = lay[0, j], lay[1, j], lay[2, j]
        if yj >= y + wide or y >= yj + shapes.width[other]:
            continue
        if xj >= right + shapes.length[form] or xj + shapes.length[other] <= left:
            continue
        place = look_up(shapes, memory, other, form, y - yj)
        across = min(yj + shapes.width[other] - y, y + wide - yj)
        memory.count[2] += 1
        for k in range(many(place)):
            low, high = low_of(memory, place, k) + xj, high_of(memory, place, k) + xj
            if high <= left or low >= right or n == _MOST_ENDS:
                continue
            bench.lines[n, 0], bench.lines[n, 1], bench.lines[n, 2] = low, high, across
            bench.heft[n] = bench.pair[piece, j]
            n += 1
    memory.count[2] += 2
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
            low, high = bench.lines[m, 0], bench.lines[m, 1]
            if low < x < high:
                total += bench.heft[m] * min(x - low, high - x, bench.lines[m, 2])
                if total >= best:
                    break
        if total < best:
            best, best_x = total, x
            if best == 0.0:
                break
    return best, best_x


@inner
def _y(strip: Strip, room: int) -> int:
    """Give a place across the strip by chance: on the grid, or against either edge."""
    chance = np.random.random()
    if chance < 0.1:
        return 0
    if chance < 0.2:
        return room
    grid = strip.size[1]
    return np.random.randint(0, room // grid + 1) * grid


@inner
def _lay_again(
    shapes: Shapes, memory: Memory, strip: Strip, bench: Bench, lay: NDArray[np.int64], piece: int, long: int
) -> float:
    """Move a piece to the best place found, looked at closely; give its weighted depth there.

    Looking closely at more places than one gave less in the same time.
    """
    place = bench.place
    form, centre = lay[0, piece], lay[1, piece]
    cost, x = _line(shapes, memory, strip, bench, lay, piece, form, lay[2, piece], centre, long, 1e300)
    place[0], place[1], place[2], place[3] = cost, form, max(x, 0), lay[2, piece]
    for sample in range(_SAMPLES):
        if place[0] == 0.0:
            break
        form = strip.ways[piece, np.random.randint(0, strip.n_ways[piece])]
        room = strip.size[0] - shapes.width[form]
        y = _y(strip, room)
        if sample % 3 == 0:
            y = min(room, max(0, lay[2, piece] + np.random.randint(-40, 41) * strip.size[1]))
            middle = centre
        else:
            middle = np.random.randint(0, max(1, long - shapes.length[form]))
        cost, x = _line(shapes, memory, strip, bench, lay, piece, form, y, middle, long, place[0])
        if x >= 0:
            place[0], place[1], place[2], place[3] = cost, form, x, y
    _refine(shapes, memory, strip, bench, lay, piece, place, long)
    lay[0, piece], lay[1, piece], lay[2, piece] = int(place[1]), int(place[2]), int(place[3])
    return place[0]


@inner
def _refine(
    shapes: Shapes, memory: Memory, strip: Strip, bench: Bench, lay: NDArray[np.int64], piece: int,
    place: NDArray[np.float64], long: int,
) -> None:  # fmt: skip
    """Shift a place across the strip in ever smaller steps while its depth falls."""
    form = int(place[1])
    room = strip.size[0] - shapes.width[form]
    step = 16 * strip.size[1]
    while step >= strip.size[1] and place[0] > 0.0:
        moved = False
        for sign in (-1, 1):
            y = min(room, max(0, int(place[3]) + sign * step))
            if y == int(place[3]):
                continue
            cost, x = _line(shapes, memory, strip, bench, lay, piece, form, y, int(place[2]), long, place[0])
            if x >= 0:
                place[0], place[2], place[3] = cost, x, y
                moved = True
        if not moved:
            step //= 2


@inner
def _overlaps(shapes: Shapes, memory: Memory, lay: NDArray[np.int64], out: NDArray[np.int64], long: int) -> float:
    """Fill ``out`` with the depth of each pair (upper half); give their sum, and by how much forms stick out."""
    total = 0.0
    n = lay.shape[1]
    for i in range(n):
        total += max(0, lay[1, i] + shapes.length[lay[0, i]] - long)
        for j in range(i + 1, n):
            d = depth(shapes, memory, lay[0, i], lay[1, i], lay[2, i], lay[0, j], lay[1, j], lay[2, j])
            out[i, j] = d
            total += d
    memory.count[2] += n
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
    shapes: Shapes, memory: Memory, strip: Strip, bench: Bench, lay: NDArray[np.int64], long: int, work: int,
    stop: NDArray[np.bool_],
) -> bool:  # fmt: skip
    """Lay overlapping pieces again until none overlap; else ``lay`` is where they overlapped least."""
    _weigh_anew(strip, bench)
    least = np.inf
    stale = strikes = 0
    while True:
        total = _overlaps(shapes, memory, lay, bench.deep, long)
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
            _overlaps(shapes, memory, lay, bench.deep, long)
        if strikes > _STRIKES or memory.count[2] >= work or stop[0]:
            _copy(bench.least, lay)
            return False
        _weigh(strip, bench)
        _shuffle(bench.turn)
        for i in bench.turn:
            if _touches(shapes, memory, lay, i, long):
                _lay_again(shapes, memory, strip, bench, lay, i, long)


@inner
def _weigh_anew(strip: Strip, bench: Bench) -> None:
    """Give overlaps the weights that they have at first."""
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
def _touches(shapes: Shapes, memory: Memory, lay: NDArray[np.int64], i: int, long: int) -> bool:
    """Tell whether a piece overlaps another or sticks out of the strip."""
    if lay[1, i] + shapes.length[lay[0, i]] > long:
        return True
    for j in range(lay.shape[1]):
        if j != i and depth(shapes, memory, lay[0, i], lay[1, i], lay[2, i], lay[0, j], lay[1, j], lay[2, j]) > 0:
            return True
    return False


@inner
def reach(shapes: Shapes, lay: NDArray[np.int64]) -> int:
    """Length of strip that a layout takes, in ticks."""
    far = 0
    for i in range(lay.shape[1]):
        far = max(far, lay[1, i] + shapes.length[lay[0, i]])
    return far


@inner
def _shorten(shapes: Shapes, lay: NDArray[np.int64], long: int) -> None:
    """Take out of the strip, at a place by chance, what it is longer than ``long``."""
    excess = reach(shapes, lay) - long
    cut = np.random.randint(0, max(1, long))
    for i in range(lay.shape[1]):
        length = shapes.length[lay[0, i]]
        if lay[1, i] + length // 2 > cut:
            lay[1, i] -= excess
        lay[1, i] = max(0, min(lay[1, i], long - length))


@inner
def _swap(shapes: Shapes, strip: Strip, lay: NDArray[np.int64], long: int) -> None:
    """Let two pieces by chance change places."""
    n = lay.shape[1]
    i, j = np.random.randint(0, n), np.random.randint(0, n)
    xi, yi, xj, yj = lay[1, i], lay[2, i], lay[1, j], lay[2, j]
    for k, x, y in ((i, xj, yj), (j, xi, yi)):
        lay[1, k] = max(0, min(x, long - shapes.length[lay[0, k]]))
        lay[2, k] = max(0, min(y, strip.size[0] - shapes.width[lay[0, k]]))


@compiled
def press(
    shapes: Shapes, memory: Memory, strip: Strip, bench: Bench, lay: NDArray[np.int64], work: int, seed: int,
    stop: NDArray[np.bool_],
) -> None:  # fmt: skip
    """Make a layout without overlaps shorter and shorter, until ``work`` is done or ``stop`` is set.

    ``lay`` becomes the shortest layout found.
    """
    np.random.seed(seed)
    memory.count[2] = 0
    trial = bench.trial
    _copy(lay, trial)
    step = _STEP
    tries = 0
    least = _least(shapes, strip)
    long = max(least, int(reach(shapes, lay) * (1.0 - step)))
    _shorten(shapes, trial, long)
    while memory.count[2] < work and reach(shapes, lay) > least and not stop[0]:
        if _separate(shapes, memory, strip, bench, trial, long, work, stop):
            _copy(trial, lay)
            tries = 0
        else:
            tries += 1
        if 0 < tries < _TRIES:
            _swap(shapes, strip, trial, long)
            continue
        if tries == _TRIES:
            step = max(_LEAST_STEP, step / 2)
            tries = 0
            _copy(lay, trial)
        long = max(least, int(reach(shapes, lay) * (1.0 - step)))
        _shorten(shapes, trial, long)


@inner
def _least(shapes: Shapes, strip: Strip) -> int:
    """Give the length without which some piece finds no room."""
    least = 0
    for i in range(len(strip.ways)):
        own = shapes.length[strip.ways[i, 0]]
        for w in range(1, strip.n_ways[i]):
            own = min(own, shapes.length[strip.ways[i, w]])
        least = max(least, own)
    return least


@compiled
def first_layout(
    shapes: Shapes, memory: Memory, strip: Strip, bench: Bench, order: NDArray[np.int64], lay: NDArray[np.int64]
) -> None:
    """Fill ``lay``: one piece after another where it reaches least far along the strip."""
    for piece in range(lay.shape[1]):
        lay[0, piece] = _NOT_YET
    for piece in order:
        best, best_form, best_x, best_y = 1 << 60, 0, 0, 0
        for w in range(strip.n_ways[piece]):
            form = strip.ways[piece, w]
            room = strip.size[0] - shapes.width[form]
            for k in range(_TRIED_ACROSS + 1):
                y = room * k // _TRIED_ACROSS // strip.size[1] * strip.size[1]
                x = _leftmost(shapes, memory, bench, lay, form, y)
                if x + shapes.length[form] < best:
                    best, best_form, best_x, best_y = x + shapes.length[form], form, x, y
        lay[0, piece], lay[1, piece], lay[2, piece] = best_form, best_x, best_y


@inner
def _leftmost(shapes: Shapes, memory: Memory, bench: Bench, lay: NDArray[np.int64], form: int, y: int) -> int:
    """Give the least x at height ``y`` where a form overlaps nothing; where too much lies there, the end of all."""
    n = beyond = 0
    for j in range(lay.shape[1]):
        if lay[0, j] != _NOT_YET:
            beyond = max(beyond, lay[1, j] + shapes.length[lay[0, j]])
    for j in range(lay.shape[1]):
        other, xj, yj = lay[0, j], lay[1, j], lay[2, j]
        if other == _NOT_YET or yj >= y + shapes.width[form] or y >= yj + shapes.width[other]:
            continue
        place = look_up(shapes, memory, other, form, y - yj)
        for k in range(many(place)):
            if n == _MOST_ENDS:
                return beyond
            bench.lines[n, 0], bench.lines[n, 1] = low_of(memory, place, k) + xj, high_of(memory, place, k) + xj
            n += 1
    x = 0
    moved = True
    while moved:
        moved = False
        for m in range(n):
            if bench.lines[m, 0] < x < bench.lines[m, 1]:
                x = bench.lines[m, 1]
                moved = True
    return x
