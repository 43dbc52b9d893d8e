"""Annealing of lanes and bundles, compiled.

The cost is roll width x bundle length less the worth of what is kept, summed, plus a share of lane width x lane
length. The share makes every lane count, not only the longest of its bundle, and rewards slack that later moves can
use; it is large at first and small at the end (`search`). So that lanes of any length can be put side by side to fill a
roll's width, bundles are charged by the mean length of their lanes at first (`Stock.charge`). Moves change at most two
lanes; they are worked out in scratch lanes and carried over only when accepted.
"""

# mypy: disable-error-code="no-any-return, return-value, assignment, arg-type"
# Reason: inside compiled code, whole numbers of arrays and of Python are one type.

from __future__ import annotations

from cutpath.nesting.compiled import compiled, inner, log, power
from cutpath.nesting.lanes import TOO_LONG, lay_lane
from cutpath.nesting.moves import propose
from cutpath.nesting.shifts import STOP, WORK, FormArrays, Memory
from cutpath.nesting.state import (
    FORMS,
    KEPT,
    LANE,
    LANES,
    LONGEST,
    NONE,
    RATE,
    WIDTH,
    Kinds,
    Scratch,
    State,
    Stock,
    Tuning,
    any_piece,
    below,
    beside,
    carry_over,
    chance,
    cost_with,
    leave_bundle,
    pick_class,
    put_back,
    settle,
    size_with,
    take_off,
    worth_kept,
)

_SWAP_LANES_EVERY = 20  # tries, on the mean
_HEAT_EVERY = 64  # tries heat is worked out anew, and looked whether to stop, a power of 2
_TRY_WORK = 2  # steps that a try counts, beside those for what it lays


@inner
def _least_length(forms: FormArrays, scratch: Scratch, which: int) -> int:
    """Return a length under which no lane is that holds the planned forms.

    It is their area over the lane's width, and what either row takes side by side along its edge of the lane.
    """
    lane, n, height = scratch.plan[which, LANE], scratch.plan[which, FORMS], scratch.plan[which, WIDTH]
    if lane == NONE or n == 0:
        return 0
    total = 0.0
    along0, along1 = 0, 0
    longest = 0
    for i in range(n):
        code = scratch.code[which, i]
        form = code >> 1
        total += forms.area[form]
        at = max(0, (along1 if code & 1 else along0) - forms.side[code, 0])
        longest = max(longest, at + forms.length[form])
        if code & 1:
            along1 = at + forms.side[code, 1]
        else:
            along0 = at + forms.side[code, 1]
    return max(longest, int(total / height))


@inner
def _longest_of_use(
    state: State, stock: Stock, tuning: Tuning, longest: int, most: float, which: int,
    sa: int, sb: int, a: int, ha: int, la: int, b: int, hb: int, lb: int,
) -> int:  # fmt: skip
    """Return how long lane a or b (``which`` 0 or 1) may get before bundles sa and sb cost more than ``most``."""
    bundle, other, height = (sb, sa, hb) if which else (sa, sb, ha)
    most -= tuning.share * (ha * la if which else hb * lb)
    if bundle != other:
        most -= cost_with(state, stock, other, other, a, ha, la, b, hb, lb)
    if stock.worth[RATE] > 0.0:
        most += worth_kept(state, stock, bundle)
    across, along, charged = size_with(state, stock, bundle, a, ha, la, b, hb, lb)
    c = pick_class(stock, state.used, across, along, charged)
    if stock.left[c] > 0.0:
        return longest
    share = tuning.share * height
    price = stock.price[c] + beside(stock, c, across, 1)
    for d in range(stock.width.size):
        if across <= stock.width[d]:
            price = min(price, stock.price[d] + beside(stock, d, across, 1))
    if stock.charge[LONGEST] < 1.0:
        own = (1.0 - stock.charge[LONGEST]) * height / across
        most -= price * (charged - stock.charge[LONGEST] * along - own * (lb if which else la))
        share += price * own
        price *= stock.charge[LONGEST]
    limit = most / (price + share)
    if share > 0.0:
        limit = min(limit, (most - price * along) / share)
    return int(max(0.0, min(limit + 1.0, float(longest))))


@inner
def _decide(
    forms: FormArrays, memory: Memory, stock: Stock, tuning: Tuning, state: State, scratch: Scratch,
    longest: int, threshold: float,
) -> bool:  # fmt: skip
    """Lay the planned lanes; carry them over when the cost rises by no more than ``threshold``.

    Each lane counts with the least that it can be until it is laid. The second is laid first: it is the one that gains
    a piece, and so the one for which a move is mostly turned down.
    """
    plan = scratch.plan
    a, ha, b, hb = plan[0, LANE], plan[0, WIDTH], plan[1, LANE], plan[1, WIDTH]
    sa = state.lane_bundle[a]
    sb = state.lane_bundle[b] if b != NONE else sa
    most = threshold + tuning.share * state.lane_height[a] * state.lane_length[a] + take_off(state, stock, sa)
    if sb != sa:
        most += take_off(state, stock, sb)
    if b != NONE:
        most += tuning.share * state.lane_height[b] * state.lane_length[b]
    la, lb = _least_length(forms, scratch, 0), _least_length(forms, scratch, 1)
    cost = tuning.share * (ha * la + hb * lb) + cost_with(state, stock, sa, sb, a, ha, la, b, hb, lb)
    accepted = cost <= most
    for which in range(1, -1, -1):
        lane, n, height = plan[which, LANE], plan[which, FORMS], plan[which, WIDTH]
        if not accepted or lane == NONE or n == 0:
            continue
        limit = _longest_of_use(state, stock, tuning, longest, most, which, sa, sb, a, ha, la, b, hb, lb)
        laid = lay_lane(
            forms, memory, scratch.code[which], n, plan[which, KEPT], height, limit, scratch.x[which],
            scratch.before, scratch.reach,
        )  # fmt: skip
        if laid == TOO_LONG:
            accepted = False
            continue
        if which:
            lb = laid
        else:
            la = laid
        cost = tuning.share * (ha * la + hb * lb) + cost_with(state, stock, sa, sb, a, ha, la, b, hb, lb)
        accepted = cost <= most
    if not accepted:
        put_back(state, sa)
        if sb != sa:
            put_back(state, sb)
        return False
    carry_over(state, scratch, 0, a, plan[0, FORMS], ha, la)
    if b != NONE:
        carry_over(state, scratch, 1, b, plan[1, FORMS], hb, lb)
    settle(state, stock, sa)
    if sb != sa:
        settle(state, stock, sb)
    return True


@inner
def _give_back(state: State, lane: int) -> None:
    """Free a lane that was opened for a move which was then turned down."""
    leave_bundle(state, lane)
    state.free[LANES, state.count[LANES]] = lane
    state.count[LANES] += 1


@inner
def _swap_lanes(stock: Stock, state: State, threshold: float, a: int, b: int) -> bool:
    """Let two lanes of different bundles change places."""
    sa, sb = state.lane_bundle[a], state.lane_bundle[b]
    if sa == sb:
        return False
    ha, la, hb, lb = state.lane_height[a], state.lane_length[a], state.lane_height[b], state.lane_length[b]
    most = threshold + take_off(state, stock, sa) + take_off(state, stock, sb)
    if cost_with(state, stock, sa, sb, a, hb, lb, b, ha, la) > most:
        put_back(state, sa)
        put_back(state, sb)
        return False
    for k in range(state.bundle_n[sa]):
        if state.bundle_lane[sa, k] == a:
            state.bundle_lane[sa, k] = b
    for k in range(state.bundle_n[sb]):
        if state.bundle_lane[sb, k] == b:
            state.bundle_lane[sb, k] = a
    state.lane_bundle[a], state.lane_bundle[b] = sb, sa
    settle(state, stock, sa)
    settle(state, stock, sb)
    return True


@compiled
def anneal(
    forms: FormArrays, memory: Memory, stock: Stock, kinds: Kinds, tuning: Tuning, state: State,
    scratch: Scratch, work: int, hot: float, cold: float,
) -> int:  # fmt: skip
    """Anneal for ``work`` units, cooling from ``hot`` to ``cold`` mm2 in even ratios; return the moves accepted."""
    start = memory.count[WORK]
    longest = stock.length[0]  # a plain 0 here would have callees compiled once more, for that number
    for c in range(1, stock.length.size):
        longest = max(longest, stock.length[c])
    accepted = 0
    tries = 0
    heat = hot
    while memory.count[WORK] - start < work:
        if tries & (_HEAT_EVERY - 1) == 0:
            if memory.count[STOP]:
                break
            heat = hot * power(cold / hot, (memory.count[WORK] - start) / work)
        tries += 1
        memory.count[WORK] += _TRY_WORK
        threshold = -heat * log(chance(state))
        if below(state, _SWAP_LANES_EVERY) == 0:
            a, b = state.piece_lane[any_piece(state)], state.piece_lane[any_piece(state)]
            accepted += _swap_lanes(stock, state, threshold, a, b)
        elif propose(forms, stock, kinds, tuning, state, scratch):
            if _decide(forms, memory, stock, tuning, state, scratch, longest, threshold):
                accepted += 1
            elif scratch.plan[1, LANE] != NONE and state.lane_n[scratch.plan[1, LANE]] == 0:
                _give_back(state, scratch.plan[1, LANE])
    return accepted
