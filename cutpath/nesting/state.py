"""The state of the search: lanes in bundles, as arrays, and what can be asked of them.

Terminology
-----------
Bundle: lanes side by side across a stretch of one roll width; bundles of one width follow each other on rolls.
Cost of a bundle: roll width x length, in mm2, on the cheapest roll width that holds its lanes, less the worth of what
is kept: the strip beside its lanes, and what is free behind the shorter of them. The length is that of the longest
lane, or (`Stock.charge`) lies between that and the mean of all lanes.
"""

# mypy: disable-error-code="no-any-return, return-value, assignment, arg-type"
# Reason: inside compiled code, whole numbers of arrays and of Python are one type.

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from cutpath.nesting.compiled import compiled, inner
from cutpath.nesting.lean import by_address

if TYPE_CHECKING:
    from numpy.typing import NDArray

NONE = -1
NEVER = 1e300
ENDLESS, COUNTED = 1 << 60, 1 << 59  # ticks of a width without end; capacities under the second are of counted rolls
LANES, BUNDLES, CHANCE = 0, 1, 2  # places in `State.count`; the first two are rows of `State.free` as well
_TIMES, _PLUS = np.uint64(6364136223846793005), np.uint64(1442695040888963407)  # Knuth's, from memory, unverified
_DRAWN_BITS = 31  # of chance: the upper ones of 64, for the lower ones repeat soon
_MOST_DRAWN = (1 << _DRAWN_BITS) - 1
RATE, NARROW = 0, 1  # places in `Stock.worth`
LONGEST, BESIDE = 0, 1  # places in `Stock.charge`
LONG, SHORT, GAP = 0, 1, 2  # places in `Stock.kept`
LANE, FORMS, KEPT, WIDTH = 0, 1, 2, 3  # columns of `Scratch.plan`


@by_address
class Stock(NamedTuple):
    """Roll widths to choose from.

    Attributes
    ----------
    width, length : array of int
        Room across and along, in ticks.
    price : array of float
        Cost of a tick of length, in mm2.
    capacity : array of int
        Ticks of length that there are in all.
    left : array of float
        Where each bundle takes a roll of its own: the share of what it leaves of the roll that counts, less of it the
        shorter the bundle is. Else 0.
    endless : array of bool
        There is no end of this width, only what is drawn counts, and no later width is cheaper.
    worth : array of float
        `RATE`: of a square tick of a kept offcut, in mm2 of new lead. `NARROW`: width of a free strip up to which no
        wider roll pays for the strip that it would keep.
    kept : array of int
        `LONG`, `SHORT`: least sides of a kept offcut in ticks. `GAP`: what a side loses to the gap.
    full : array of int
        Ticks of length that are to be filled of a width; each more of them costs ``dear`` on top of its price.
    dear : array of float
        See ``full``, in mm2.
    charge : array of float
        `LONGEST`: share of the longest lane in the length that a bundle costs; the rest is the mean length of its
        lanes, by width. `BESIDE`: how much more than its price the strip beside the lanes costs.
    """

    width: NDArray[np.int64]
    length: NDArray[np.int64]
    price: NDArray[np.float64]
    capacity: NDArray[np.int64]
    left: NDArray[np.float64]
    full: NDArray[np.int64]
    dear: NDArray[np.float64]
    endless: NDArray[np.bool_]
    worth: NDArray[np.float64]
    kept: NDArray[np.int64]
    charge: NDArray[np.float64]


@by_address
class Kinds(NamedTuple):
    """What is known of blanks, and of pieces and their groups: the copies of a blank, or the lengths of a run.

    Attributes
    ----------
    codes, n_codes : array of int
        ``codes[b, r, i]`` for i < ``n_codes[b, r]`` are those that make sense for blank b in row r.
    form_blank : array of int
        Blank of each form.
    near : array of int
        ``near[g, i]`` are groups like g, ascending in unlikeness, each as often as it has pieces.
    piece_at : array of int
        ``piece_at[g]`` to ``piece_at[g + 1]`` are the pieces of group g.
    group, follows : array of int
        For each piece, its group, and the next length of its run; `NONE` at the end of a run.
    joints : array of int
        First and last joint of each blank that is a length of a run.
    table_at, stride, table : array of int
        Length from joint i to joint j of the run of blank b: ``table[table_at[b] + i * stride[b] + j]``; `NONE` where
        there is no such length.
    """

    codes: NDArray[np.int64]
    n_codes: NDArray[np.int64]
    form_blank: NDArray[np.int64]
    near: NDArray[np.int64]
    piece_at: NDArray[np.int64]
    group: NDArray[np.int64]
    follows: NDArray[np.int64]
    joints: NDArray[np.int64]
    table_at: NDArray[np.int64]
    stride: NDArray[np.int64]
    table: NDArray[np.int64]


@by_address
class State(NamedTuple):
    """Lanes and bundles as arrays; a free lane has no bundle, a free bundle no lanes.

    ``used`` sums the lengths of the bundles on each roll width. ``free`` stacks free `LANES` and `BUNDLES`;
    ``count`` holds how many of each are free, and the state of `CHANCE`. Of the pieces only ``own`` ones move, those
    that are ``mine``: several workers may have a state each whose lanes and bundles are the same arrays (`together`).
    """

    lane_n: NDArray[np.int64]
    lane_code: NDArray[np.int64]
    lane_piece: NDArray[np.int64]
    lane_x: NDArray[np.int64]
    lane_height: NDArray[np.int64]
    lane_length: NDArray[np.int64]
    lane_bundle: NDArray[np.int64]
    bundle_n: NDArray[np.int64]
    bundle_lane: NDArray[np.int64]
    bundle_class: NDArray[np.int64]
    bundle_length: NDArray[np.int64]
    used: NDArray[np.int64]
    piece_lane: NDArray[np.int64]
    free: NDArray[np.int64]
    count: NDArray[np.int64]
    own: NDArray[np.int64]
    mine: NDArray[np.bool_]


@by_address
class Scratch(NamedTuple):
    """Two lanes in the making.

    ``plan`` holds for each of them: the `LANE`, how many `FORMS` are in it, how many of the first are `KEPT` in their
    places, its `WIDTH`. The second lane is `NONE` when only one changes.
    """

    code: NDArray[np.int64]
    piece: NDArray[np.int64]
    x: NDArray[np.int64]
    before: NDArray[np.int64]
    reach: NDArray[np.int64]
    plan: NDArray[np.int64]


class Tuning(NamedTuple):
    """How to anneal: share of lane area in the cost (per tick x tick), and step of lane widths in ticks.

    One in ``joints`` moves shifts a joint of a run; none when it is 0.
    """

    share: float
    step: int
    joints: int


@inner
def below(state: State, n: int) -> int:
    """Return a whole number from 0 to n - 1, drawn by a linear congruential generator."""
    seed = np.uint64(state.count[CHANCE]) * _TIMES + _PLUS
    state.count[CHANCE] = np.int64(seed)
    return (np.int64(seed >> np.uint64(64 - _DRAWN_BITS)) * n) >> _DRAWN_BITS


@inner
def chance(state: State) -> float:
    """Return a number between 0 and 1, never 0, drawn by chance."""
    return (below(state, _MOST_DRAWN) + 0.5) / float(_MOST_DRAWN)


@inner
def any_piece(state: State) -> int:
    """Return a piece that may move, drawn by chance."""
    return state.own[below(state, state.own.size)]


@compiled
def marginal(stock: Stock, c: int, used: int, along: int, charged: int) -> float:
    """Return the cost of ``along`` more ticks on roll width c, ``charged`` of them; endless if ``used`` leaves less."""
    if used + along > stock.capacity[c]:
        return NEVER
    cost = stock.price[c] * charged
    if used + charged > stock.full[c]:
        cost += stock.dear[c] * (used + charged - max(used, stock.full[c]))
    if stock.left[c] > 0.0:
        cost += stock.left[c] * stock.price[c] * (stock.length[c] - charged) * charged / stock.length[c]
    return cost


@inner
def beside(stock: Stock, c: int, across: int, charged: int) -> float:
    """Return what the strip beside lanes on roll width c costs on top of its price."""
    if stock.charge[BESIDE] == 0.0:
        return 0.0
    return stock.charge[BESIDE] * stock.price[c] * charged * (stock.width[c] - across) / stock.width[c]


@inner
def widest(stock: Stock) -> int:
    """Return the greatest roll width."""
    most = 0
    for c in range(stock.width.size):
        most = max(most, stock.width[c])
    return most


@inner
def worth_of(stock: Stock, across: int, along: int) -> float:
    """Return what a free rectangle is worth as an offcut, in mm2 of new lead."""
    across -= stock.kept[GAP]
    along -= stock.kept[GAP]
    if min(across, along) < stock.kept[SHORT] or max(across, along) < stock.kept[LONG]:
        return 0.0
    return stock.worth[RATE] * across * along


@compiled
def worth_of_all(stock: Stock, across: NDArray[np.int64], along: NDArray[np.int64]) -> float:
    """Return what free rectangles, shape (n,), are worth together."""
    total = 0.0
    for i in range(across.size):
        total += worth_of(stock, across[i], along[i])
    return total


@compiled
def pick_class(stock: Stock, used: NDArray[np.int64], across: int, along: int, charged: int) -> int:
    """Return the roll width on which a bundle costs least; `NONE` when it goes on none."""
    best = NONE
    least = NEVER
    for c in range(stock.width.size):
        if across <= stock.width[c] and along <= stock.length[c]:
            strip = worth_of(stock, stock.width[c] - across, along)
            cost = marginal(stock, c, used[c], along, charged) + beside(stock, c, across, charged) - strip
            if cost < least:
                best, least = c, cost
            if stock.endless[c] and (strip > 0.0 or stock.width[c] - across <= stock.worth[NARROW]):
                break  # widths ascend, so every later one costs more
    return best


@inner
def index_of(state: State, lane: int, piece: int) -> int:
    """Return the place of a piece in its lane."""
    for i in range(state.lane_n[lane]):
        if state.lane_piece[lane, i] == piece:
            return i
    return NONE


@inner
def across_of(state: State, bundle: int) -> int:
    """Sum the widths of a bundle's lanes."""
    total = 0
    for i in range(state.bundle_n[bundle]):
        total += state.lane_height[state.bundle_lane[bundle, i]]
    return total


@inner
def size_with(
    state: State, stock: Stock, bundle: int, a: int, ha: int, la: int, b: int, hb: int, lb: int
) -> tuple[int, int, int]:
    """Return width, length and charged length of a bundle with lanes a and b changed to width h and length l.

    h = 0 takes one away.
    """
    across, along, area = 0, 0, 0
    for i in range(state.bundle_n[bundle]):
        lane = state.bundle_lane[bundle, i]
        if lane == a:
            across += ha
            area += ha * la
            along = max(along, la if ha else 0)
        elif lane == b:
            across += hb
            area += hb * lb
            along = max(along, lb if hb else 0)
        else:
            across += state.lane_height[lane]
            area += state.lane_height[lane] * state.lane_length[lane]
            along = max(along, state.lane_length[lane])
    share = stock.charge[LONGEST]
    if share < 1.0 and across:
        return across, along, int(share * along + (1.0 - share) * area / across)
    return across, along, along


@inner
def ends_with(
    state: State, stock: Stock, bundle: int, along: int, a: int, ha: int, la: int, b: int, hb: int, lb: int
) -> float:
    """Return the worth of what is free behind lanes of a bundle ``along`` long; lanes a and b as in `size_with`."""
    if stock.worth[RATE] == 0.0:
        return 0.0
    total = 0.0
    for i in range(state.bundle_n[bundle]):
        lane = state.bundle_lane[bundle, i]
        if lane == a:
            total += worth_of(stock, ha, along - la)
        elif lane == b:
            total += worth_of(stock, hb, along - lb)
        else:
            total += worth_of(stock, state.lane_height[lane], along - state.lane_length[lane])
    return total


@inner
def worth_kept(state: State, stock: Stock, bundle: int) -> float:
    """Return the worth of what a bundle keeps, as it is."""
    across, along, _ = size_with(state, stock, bundle, NONE, 0, 0, NONE, 0, 0)
    strip = worth_of(stock, stock.width[state.bundle_class[bundle]] - across, along)
    return strip + ends_with(state, stock, bundle, along, NONE, 0, 0, NONE, 0, 0)


@inner
def take_off(state: State, stock: Stock, bundle: int) -> float:
    """Take a bundle's length off what is used; return what that saves."""
    if state.bundle_n[bundle] == 0:
        return 0.0
    c = state.bundle_class[bundle]
    across, along, charged = size_with(state, stock, bundle, NONE, 0, 0, NONE, 0, 0)
    state.used[c] -= along
    saved = marginal(stock, c, state.used[c], along, charged) + beside(stock, c, across, charged)
    return saved - worth_kept(state, stock, bundle) if stock.worth[RATE] > 0.0 else saved


@inner
def put_back(state: State, bundle: int) -> None:
    """Add a bundle's length to what is used."""
    if state.bundle_n[bundle] > 0:
        state.used[state.bundle_class[bundle]] += state.bundle_length[bundle]


@inner
def cost_with(
    state: State, stock: Stock, one: int, other: int, a: int, ha: int, la: int, b: int, hb: int, lb: int
) -> float:
    """Return the cost of two bundles (or one, where both are the same) that were taken off, lanes a and b changed."""
    across, along, charged = size_with(state, stock, one, a, ha, la, b, hb, lb)
    c = NONE
    cost = 0.0
    if across:
        c = pick_class(stock, state.used, across, along, charged)
        if c == NONE:
            return NEVER
        cost = marginal(stock, c, state.used[c], along, charged) - worth_of(stock, stock.width[c] - across, along)
        cost += beside(stock, c, across, charged) - ends_with(state, stock, one, along, a, ha, la, b, hb, lb)
    if other != one:
        across_2, along_2, charged_2 = size_with(state, stock, other, a, ha, la, b, hb, lb)
        if across_2:
            if c != NONE:
                state.used[c] += along
            d = pick_class(stock, state.used, across_2, along_2, charged_2)
            if d == NONE:
                cost = NEVER
            else:
                cost += marginal(stock, d, state.used[d], along_2, charged_2)
                cost -= worth_of(stock, stock.width[d] - across_2, along_2)
                cost += beside(stock, d, across_2, charged_2)
                cost -= ends_with(state, stock, other, along_2, a, ha, la, b, hb, lb)
            if c != NONE:
                state.used[c] -= along
    return cost


@inner
def leave_bundle(state: State, lane: int) -> None:
    """Take a lane out of its bundle; an empty bundle becomes free."""
    bundle = state.lane_bundle[lane]
    n = state.bundle_n[bundle] - 1
    for i in range(n):
        if state.bundle_lane[bundle, i] == lane:
            state.bundle_lane[bundle, i] = state.bundle_lane[bundle, n]
            break
    state.bundle_n[bundle] = n
    state.lane_bundle[lane] = NONE
    if n == 0:
        state.free[BUNDLES, state.count[BUNDLES]] = bundle
        state.count[BUNDLES] += 1


@inner
def enter_bundle(state: State, lane: int, bundle: int) -> None:
    """Put a lane into a bundle."""
    state.bundle_lane[bundle, state.bundle_n[bundle]] = lane
    state.bundle_n[bundle] += 1
    state.lane_bundle[lane] = bundle


@inner
def carry_over(state: State, scratch: Scratch, which: int, lane: int, n: int, height: int, length: int) -> None:
    """Put scratch lane ``which`` in the place of ``lane``; an empty one frees the lane."""
    state.lane_n[lane] = n
    if n == 0:
        leave_bundle(state, lane)
        state.free[LANES, state.count[LANES]] = lane
        state.count[LANES] += 1
        return
    for i in range(n):
        state.lane_code[lane, i] = scratch.code[which, i]
        piece = scratch.piece[which, i]
        state.lane_piece[lane, i] = piece
        state.lane_x[lane, i] = scratch.x[which, i]
        state.piece_lane[piece] = lane
    state.lane_height[lane] = height
    state.lane_length[lane] = length


@compiled
def settle(state: State, stock: Stock, bundle: int) -> None:
    """Choose a bundle's roll width and add its length to what is used."""
    if state.bundle_n[bundle] == 0:
        return
    across, along, charged = size_with(state, stock, bundle, NONE, 0, 0, NONE, 0, 0)
    c = pick_class(stock, state.used, across, along, charged)
    state.bundle_class[bundle] = c
    state.bundle_length[bundle] = along
    state.used[c] += along
