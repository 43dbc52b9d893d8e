"""Free placement on one strip: blanks of any outline, pressed together until they no longer come apart.

All pieces lie on a strip of given width and length, at first with overlaps. One that overlaps is taken up and laid
again where the weighted depths of its overlaps are least (`laying`). Overlaps that stay gain weight until they give way
(guided local search). When nothing overlaps any more the strip is made shorter, and so on. Flips, holes and every
allowed turn come in by their forms alone.

A strip that is too short for it has its layouts with the least overlap kept; large pieces of one of them change places,
and it is tried again. The last share of the work only presses the best layout, in smaller and smaller steps.
"""

# ruff: noqa: NPY002 - inside compiled code each thread has one generator of its own, seeded where it starts
# mypy: disable-error-code="no-any-return, return-value, assignment, arg-type"
# Reason: inside compiled code, whole numbers of arrays and of Python are one type.

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from cutpath.nesting.beside import GRID, WORK, Beside, find, high_of, low_of, many
from cutpath.nesting.compiled import compiled, inner, power
from cutpath.nesting.laying import PASSED, box_in, depth, lay_again
from cutpath.nesting.shifts import FormArrays
from cutpath.nesting.strip import ACROSS, FORM, LEAST, MOST_ENDS, MOST_KEPT, Bench, Strip, X, Y

if TYPE_CHECKING:
    from numpy.typing import NDArray

_ENDLESS = 1 << 60  # ticks
_NOT_YET = -1
_TRIED_ACROSS = 20  # places across the strip for the first layout
_STALE = 60  # passes without less overlap
_STRIKES = 2  # times it is then tried again, with weights as at first
_BETTER = 0.98  # less overlap than this share counts as less
_GROWTH, _DEEP_GROWTH, _DECAY = 1.2, 0.8, 0.95  # of weights in each pass
_STEP, _EXPLORING_STEP = 0.01, 0.002  # by which a strip is made shorter, as a share: at first, once that failed
_PRESSING_STEP, _LAST_STEP = 0.001, 0.00005  # the same for the rest of the work
_SPREAD = 0.25  # of the chance by which one of them is taken: a share of those that are kept
_ANY = 0.3  # share of changes in which one of the pieces may be small
_OTHERS = 10  # pieces looked at for one of another shape


@inner
def _overlaps(forms: FormArrays, table: Beside, bench: Bench, lay: NDArray[np.int64], long: int) -> float:
    """Note where boxes end and how deep each pair overlaps; return the sum of it, and by how much forms stick out."""
    total = 0.0
    n = lay.shape[1]
    for i in range(n):
        box_in(forms, table, bench, lay, i)
        total += max(0, bench.far[i] - long)
        for j in range(i + 1, n):
            d = depth(forms, table, lay[FORM, i], lay[X, i], lay[Y, i], lay[FORM, j], lay[X, j], lay[Y, j])
            bench.depth[i, j] = d
            total += d
    table.count[WORK] += 2 * n + n * n // PASSED
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
            bench.total[MOST_KEPT] = least
            return False
        _weigh(strip, bench)
        _shuffle(bench.turn)
        for i in bench.turn:
            if _touches(forms, table, lay, i, long):
                lay_again(forms, table, strip, bench, lay, i, long)


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
    if at == MOST_KEPT:
        return held
    held = min(held + 1, MOST_KEPT)
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
        held = _keep(bench, trial, bench.total[MOST_KEPT], held)
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
            if n == MOST_ENDS:
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
