"""Moves of the annealing: each plans one or two changed lanes in scratch, and changes nothing yet."""

# mypy: disable-error-code="no-any-return, return-value, assignment, arg-type"
# Reason: inside compiled code, whole numbers of arrays and of Python are one type.

from __future__ import annotations

from cutpath.nesting.compiled import inner
from cutpath.nesting.shifts import FormArrays
from cutpath.nesting.state import (
    BUNDLES,
    FORMS,
    KEPT,
    LANE,
    LANES,
    NONE,
    WIDTH,
    Kinds,
    Scratch,
    State,
    Stock,
    Tuning,
    across_of,
    any_piece,
    below,
    enter_bundle,
    index_of,
    widest,
)

_FAR = 4  # most places by which a joint of a run moves at once

# Moves are drawn from `_OWN_LANE` lots; of each kind are those from the bound before it up to its own. What lies well
# beside each other moves best together: a third of all moves take two pieces at once (measured: EXPERIMENTS.md).
_ONE_NEAR, _ONE_ANYWHERE, _TWO_ANYWHERE, _TWO_NEAR = 18, 26, 46, 76  # pieces that go elsewhere, or near a partner
_SWAP_NEAR, _SWAP_ANY = 93, 101  # two pieces, partners or any
_JOIN_TAIL, _SWAP_TAILS = 102, 111
_REVERSE, _CHANGE_WIDTH, _OWN_LANE = 119, 127, 141
# One in so many:
_ANY_ROW, _BESIDE_PARTNER, _NEW_BUNDLE = 8, 3, 3  # goes to a row by chance, beside a partner, to a new bundle
_OTHER_ROLL, _ALL_ROOM, _AS_NARROW = 4, 4, 16  # widths: of the roll before, all that a neighbour spares, what is needed
# A lane's width is changed in one of `_WIDTH_WAYS`: to fill the roll, at a neighbour's cost, or (the rest) by itself.
_WIDTH_WAYS, _FILL_ROLL, _FROM_NEIGHBOUR = 4, 0, 1
_STEPS_FROM_NEIGHBOUR, _STEPS, _STEPS_TIMES = 12, 8, 4  # bounds of by how many steps
_SPARE_OF_ROLL = 2  # a lane with a new second row takes what its roll has to spare
_TURNED = 3  # most forms after the first that change rows at once


@inner
def _copy_out(state: State, scratch: Scratch, which: int, lane: int, start: int, stop: int, at: int) -> int:
    """Copy forms start..stop of a lane to scratch from place ``at``; return the place after the last."""
    for i in range(start, stop):
        scratch.code[which, at] = state.lane_code[lane, i]
        scratch.piece[which, at] = state.lane_piece[lane, i]
        scratch.x[which, at] = state.lane_x[lane, i]
        at += 1
    return at


@inner
def _code_for(state: State, kinds: Kinds, blank: int, row: int) -> int:
    """Return a code of the blank in ``row``; in the other row when it has none there."""
    n = kinds.n_codes[blank, row]
    if n == 0:
        row = 1 - row
        n = kinds.n_codes[blank, row]
    return kinds.codes[blank, row, 0 if n == 1 else below(state, n)]


@inner
def _widest_of(forms: FormArrays, scratch: Scratch, which: int, n: int) -> tuple[int, int]:
    """Return the width of the widest planned form in either row, 0 where a row holds none."""
    low, high = 0, 0
    for i in range(n):
        code = scratch.code[which, i]
        if code & 1:
            high = max(high, forms.width[code >> 1])
        else:
            low = max(low, forms.width[code >> 1])
    return low, high


@inner
def _partner(state: State, kinds: Kinds, piece: int) -> int:
    """Another piece, mostly one that is like ``piece``."""
    group = kinds.group[piece]
    most = kinds.near.shape[1]
    for _ in range(4):
        pick = min(below(state, most), below(state, most))
        other = kinds.near[group, pick]
        first, stop = kinds.piece_at[other], kinds.piece_at[other + 1]
        found = first + below(state, stop - first)
        if found != piece and state.mine[found]:
            return found
    return any_piece(state)


@inner
def _plan(scratch: Scratch, which: int, lane: int, n: int, kept: int, height: int) -> None:
    scratch.plan[which, LANE] = lane
    scratch.plan[which, FORMS] = n
    scratch.plan[which, KEPT] = kept
    scratch.plan[which, WIDTH] = height if n else 0


@inner
def _plan_lanes(
    forms: FormArrays, stock: Stock, tuning: Tuning, state: State, scratch: Scratch,
    a: int, n: int, kept_a: int, b: int, m: int, kept_b: int,
) -> bool:  # fmt: skip
    """Plan two lanes, either of which may be empty, or the first alone (b `NONE`); False when one has no room.

    So many of their first forms are as they were.
    """
    ha = _width_for(forms, stock, tuning, state, scratch, 0, a, n)
    hb = _width_for(forms, stock, tuning, state, scratch, 1, b, m) if b != NONE else 0
    if (n and ha == 0) or (m and hb == 0):
        return False
    _plan(scratch, 0, a, n, kept_a if ha == state.lane_height[a] else 0, ha)
    _plan(scratch, 1, b, m, kept_b if b != NONE and hb == state.lane_height[b] else 0, hb)
    return True


@inner
def _width_for(
    forms: FormArrays, stock: Stock, tuning: Tuning, state: State, scratch: Scratch, which: int, lane: int, n: int
) -> int:
    """Return the width of ``lane`` for its planned forms; 0 when its bundle has no room.

    A single row is as wide as it needs, so that what its roll has beside it counts as a strip. A lane that gets its
    second row takes all that its roll has to spare, or any width up to that of both rows. Else it stays as it is, or is
    widened.
    """
    height = state.lane_height[lane]
    low, high = _widest_of(forms, scratch, which, n)
    needed = max(low, high)
    free = height - across_of(state, state.lane_bundle[lane])
    most = free + widest(stock)
    if needed > most:
        return 0
    if min(low, high) == 0:
        return needed
    for i in range(1, state.lane_n[lane]):
        if (state.lane_code[lane, i] ^ state.lane_code[lane, 0]) & 1:
            return height if needed <= height else min(most, _stepped_up(tuning, needed))
    most = min(most, low + high)
    free += stock.width[state.bundle_class[state.lane_bundle[lane]]]
    if needed <= free <= most and below(state, _SPARE_OF_ROLL) == 0:
        return free
    return min(most, _stepped_up(tuning, needed + below(state, most - needed + 1)))


@inner
def _stepped_up(tuning: Tuning, height: int) -> int:
    """Round a width up to the step, so that few different widths are about."""
    return (height + tuning.step - 1) // tuning.step * tuning.step


@inner
def _move_piece(
    forms: FormArrays, stock: Stock, kinds: Kinds, tuning: Tuning, state: State, scratch: Scratch,
    piece: int, near: int, count: int,
) -> bool:  # fmt: skip
    """Take ``count`` pieces from ``piece`` on out of their lane and put them elsewhere, beside a partner if asked."""
    a = state.piece_lane[piece]
    i = index_of(state, a, piece)
    count = min(count, state.lane_n[a] - i)
    target = _partner(state, kinds, piece) if near else any_piece(state)
    b = state.piece_lane[target]
    j = index_of(state, b, target)
    if a == b and i <= j < i + count:
        return False
    row = 1 - (state.lane_code[b, j] & 1)
    if not near or below(state, _ANY_ROW) == 0:
        row = below(state, 2)
    if not near or below(state, 2):
        j += 1
    if a == b:
        if j > i:
            j -= count
        n = _copy_out(state, scratch, 0, a, 0, i, 0)
        n = _copy_out(state, scratch, 0, a, i + count, state.lane_n[a], n)
        for k in range(n - 1, j - 1, -1):
            scratch.code[0, k + count] = scratch.code[0, k]
            scratch.piece[0, k + count] = scratch.piece[0, k]
            scratch.x[0, k + count] = scratch.x[0, k]
        at, which = j, 0
    else:
        if state.lane_n[b] + count > scratch.code.shape[1]:
            return False
        na = _copy_out(state, scratch, 0, a, 0, i, 0)
        na = _copy_out(state, scratch, 0, a, i + count, state.lane_n[a], na)
        nb = _copy_out(state, scratch, 1, b, 0, j, 0)
        nb = _copy_out(state, scratch, 1, b, j, state.lane_n[b], nb + count)
        at, which = j, 1
    for k in range(count):
        moved = state.lane_piece[a, i + k]
        code = state.lane_code[a, i + k]
        if count == 1:
            code = _code_for(state, kinds, kinds.form_blank[code >> 1], row)
        scratch.code[which, at + k] = code
        scratch.piece[which, at + k] = moved
    if a == b:
        return _plan_lanes(forms, stock, tuning, state, scratch, a, state.lane_n[a], min(i, j), NONE, 0, 0)
    return _plan_lanes(forms, stock, tuning, state, scratch, a, na, i, b, nb, j)


@inner
def _swap_pieces(
    forms: FormArrays, stock: Stock, kinds: Kinds, tuning: Tuning, state: State, scratch: Scratch,
    piece: int, other: int,
) -> bool:  # fmt: skip
    """Let two pieces change places."""
    a, b = state.piece_lane[piece], state.piece_lane[other]
    i, j = index_of(state, a, piece), index_of(state, b, other)
    code_a, code_b = state.lane_code[a, i], state.lane_code[b, j]
    blank_a, blank_b = kinds.form_blank[code_a >> 1], kinds.form_blank[code_b >> 1]
    if blank_a == blank_b:
        return False
    code_there = _code_for(state, kinds, blank_a, code_b & 1)
    code_here = _code_for(state, kinds, blank_b, code_a & 1)
    return _put_two(
        forms, stock, tuning, state, scratch, a, i, other, code_here, b, j, piece, code_there
    )  # fmt: skip


@inner
def _put_two(
    forms: FormArrays, stock: Stock, tuning: Tuning, state: State, scratch: Scratch,
    a: int, i: int, piece_a: int, code_a: int, b: int, j: int, piece_b: int, code_b: int,
) -> bool:  # fmt: skip
    """Put one piece in place i of lane a and another in place j of lane b, instead of what lies there."""
    n = _copy_out(state, scratch, 0, a, 0, state.lane_n[a], 0)
    scratch.code[0, i] = code_a
    scratch.piece[0, i] = piece_a
    if a == b:
        scratch.code[0, j] = code_b
        scratch.piece[0, j] = piece_b
        return _plan_lanes(forms, stock, tuning, state, scratch, a, n, min(i, j), NONE, 0, 0)
    m = _copy_out(state, scratch, 1, b, 0, state.lane_n[b], 0)
    scratch.code[1, j] = code_b
    scratch.piece[1, j] = piece_b
    return _plan_lanes(forms, stock, tuning, state, scratch, a, n, i, b, m, j)


@inner
def _shift_joint(
    forms: FormArrays, stock: Stock, kinds: Kinds, tuning: Tuning, state: State, scratch: Scratch, piece: int,
) -> bool:  # fmt: skip
    """Make a length of a run longer or shorter at the cost of the next one."""
    after = kinds.follows[piece]
    if after == NONE or not state.mine[after]:
        return False
    a, b = state.piece_lane[piece], state.piece_lane[after]
    i, j = index_of(state, a, piece), index_of(state, b, after)
    code_a, code_b = state.lane_code[a, i], state.lane_code[b, j]
    low, high = kinds.form_blank[code_a >> 1], kinds.form_blank[code_b >> 1]
    change = 1 + min(below(state, _FAR), below(state, _FAR))
    joint = kinds.joints[low, 1] + (change if below(state, 2) else -change)
    first, last = kinds.joints[low, 0], kinds.joints[high, 1]
    if not first < joint < last:
        return False
    at, stride = kinds.table_at[low], kinds.stride[low]
    low, high = kinds.table[at + first * stride + joint], kinds.table[at + joint * stride + last]
    if low == NONE or high == NONE:
        return False
    code_a, code_b = _code_for(state, kinds, low, code_a & 1), _code_for(state, kinds, high, code_b & 1)
    return _put_two(forms, stock, tuning, state, scratch, a, i, piece, code_a, b, j, after, code_b)


@inner
def _swap_tails(
    forms: FormArrays, stock: Stock, tuning: Tuning, state: State, scratch: Scratch,
    a: int, i: int, b: int, j: int,
) -> bool:  # fmt: skip
    """Let lanes a and b change what lies from place i and from place j on; j past the end joins the tail on."""
    if a == b:
        return False
    na, nb = state.lane_n[a], state.lane_n[b]
    if i + nb - j > scratch.code.shape[1] or j + na - i > scratch.code.shape[1]:
        return False
    n = _copy_out(state, scratch, 0, a, 0, i, 0)
    n = _copy_out(state, scratch, 0, b, j, nb, n)
    m = _copy_out(state, scratch, 1, b, 0, j, 0)
    m = _copy_out(state, scratch, 1, a, i, na, m)
    return _plan_lanes(forms, stock, tuning, state, scratch, a, n, i, b, m, j)


@inner
def _reverse(
    forms: FormArrays, stock: Stock, kinds: Kinds, tuning: Tuning, state: State, scratch: Scratch, a: int
) -> bool:
    """Turn the order of a stretch of a lane round, or let its forms change rows."""
    n = state.lane_n[a]
    i, j = below(state, n), below(state, n)
    if i > j:
        i, j = j, i
    _copy_out(state, scratch, 0, a, 0, n, 0)
    if i == j or below(state, 2):
        j = min(j, i + _TURNED)
        for k in range(i, j + 1):
            code = scratch.code[0, k]
            code = _code_for(state, kinds, kinds.form_blank[code >> 1], 1 - (code & 1))
            scratch.code[0, k] = code
    else:
        for k in range(i, j + 1):
            scratch.code[0, k] = state.lane_code[a, i + j - k]
            scratch.piece[0, k] = state.lane_piece[a, i + j - k]
    return _plan_lanes(forms, stock, tuning, state, scratch, a, n, i, NONE, 0, 0)


@inner
def _change_height(
    forms: FormArrays, stock: Stock, tuning: Tuning, state: State, scratch: Scratch, a: int,
) -> bool:  # fmt: skip
    """Make a lane of two rows wider or narrower: by steps, by all the slack of its bundle, or at a neighbour's cost."""
    n = _copy_out(state, scratch, 0, a, 0, state.lane_n[a], 0)
    low, high = _widest_of(forms, scratch, 0, n)
    if min(low, high) == 0:
        return False
    bundle = state.lane_bundle[a]
    height = state.lane_height[a]
    needed = max(low, high)
    across = across_of(state, bundle)
    way = below(state, _WIDTH_WAYS)
    step = tuning.step
    if way == _FILL_ROLL:  # or fill the next one's width
        c = state.bundle_class[bundle] + below(state, 2)
        if c >= stock.width.size or below(state, _OTHER_ROLL) == 0:
            c = max(0, state.bundle_class[bundle] - 1)
        new = height + stock.width[c] - across
    elif way == _FROM_NEIGHBOUR and state.bundle_n[bundle] > 1:
        b = state.bundle_lane[bundle, below(state, state.bundle_n[bundle])]
        if b == a:
            return False
        m = _copy_out(state, scratch, 1, b, 0, state.lane_n[b], 0)
        low, high = _widest_of(forms, scratch, 1, m)
        spared = state.lane_height[b] - max(low, high)
        give = step * (1 + below(state, _STEPS_FROM_NEIGHBOUR)) if below(state, _ALL_ROOM) else spared
        give = min(give, spared)
        if give <= 0:
            return False
        _plan(scratch, 0, a, n, 0, height + give)
        _plan(scratch, 1, b, m, 0, state.lane_height[b] - give)
        return True
    else:
        change = step * (1 + below(state, _STEPS) * below(state, _STEPS_TIMES))
        new = _stepped_up(tuning, height + change if below(state, 2) else height - change)
        if below(state, _AS_NARROW) == 0:
            new = needed
    new = max(new, needed)
    if new == height or across - height + new > widest(stock):
        return False
    _plan(scratch, 0, a, n, 0, new)
    _plan(scratch, 1, NONE, 0, 0, 0)
    return True


@inner
def _new_lane(
    forms: FormArrays,
    stock: Stock,
    tuning: Tuning,
    state: State,
    scratch: Scratch,
    a: int,
    i: int,
    j: int,
    bundle: int,
) -> bool:
    """Return places i to j of lane a a lane of their own, in ``bundle`` or (`NONE`) in a new one."""
    if state.count[LANES] == 0 or (bundle == NONE and state.count[BUNDLES] == 0):
        return False
    if bundle != NONE and state.bundle_n[bundle] == state.bundle_lane.shape[1]:
        return False
    if bundle == NONE and i == 0 and j == state.lane_n[a] and state.bundle_n[state.lane_bundle[a]] == 1:
        return False
    na = _copy_out(state, scratch, 0, a, 0, i, 0)
    na = _copy_out(state, scratch, 0, a, j, state.lane_n[a], na)
    nb = _copy_out(state, scratch, 1, a, i, j, 0)
    most = widest(stock) - (0 if bundle == NONE else across_of(state, bundle))
    low, high = _widest_of(forms, scratch, 1, nb)
    hb = max(low, high)
    if min(low, high):
        hb = max(hb, min(most, state.lane_height[a]))
    ha = _width_for(forms, stock, tuning, state, scratch, 0, a, na)
    if hb > most or (na and ha == 0):
        return False
    fresh = bundle == NONE
    if fresh:
        state.count[BUNDLES] -= 1
        bundle = state.free[BUNDLES, state.count[BUNDLES]]
        state.bundle_length[bundle] = 0
        state.bundle_class[bundle] = 0
    state.count[LANES] -= 1
    b = state.free[LANES, state.count[LANES]]
    state.lane_n[b] = 0
    state.lane_height[b] = 0
    state.lane_length[b] = 0
    enter_bundle(state, b, bundle)
    _plan(scratch, 0, a, na, i if ha == state.lane_height[a] else 0, ha)
    _plan(scratch, 1, b, nb, nb if na == 0 and hb == state.lane_height[a] else 0, hb)
    return True


@inner
def propose(forms: FormArrays, stock: Stock, kinds: Kinds, tuning: Tuning, state: State, scratch: Scratch) -> bool:
    """Draw a move at random and plan it; False when what was drawn cannot be done."""
    piece = any_piece(state)
    if tuning.joints and below(state, tuning.joints) == 0:
        return _shift_joint(forms, stock, kinds, tuning, state, scratch, piece)
    a = state.piece_lane[piece]
    kind = below(state, _OWN_LANE)
    if kind < _TWO_NEAR:
        near = kind < _ONE_NEAR or kind >= _TWO_ANYWHERE
        many = 1 if kind < _ONE_ANYWHERE else 2
        return _move_piece(forms, stock, kinds, tuning, state, scratch, piece, int(near), many)
    if kind < _SWAP_ANY:
        other = _partner(state, kinds, piece) if kind < _SWAP_NEAR else any_piece(state)
        if below(state, _BESIDE_PARTNER) == 0:  # next to a good partner rather than in its place
            b = state.piece_lane[other]
            j = index_of(state, b, other) + 2 * below(state, 2) - 1
            if 0 <= j < state.lane_n[b]:
                other = state.lane_piece[b, j]
        return other != piece and _swap_pieces(forms, stock, kinds, tuning, state, scratch, piece, other)
    if kind < _SWAP_TAILS:
        other = any_piece(state)
        b = state.piece_lane[other]
        j = state.lane_n[b] if kind < _JOIN_TAIL else index_of(state, b, other)
        return _swap_tails(forms, stock, tuning, state, scratch, a, index_of(state, a, piece), b, j)
    if kind < _REVERSE:
        return _reverse(forms, stock, kinds, tuning, state, scratch, a)
    if kind < _CHANGE_WIDTH:
        return _change_height(forms, stock, tuning, state, scratch, a)
    bundle = NONE
    if below(state, _NEW_BUNDLE):
        bundle = state.lane_bundle[state.piece_lane[any_piece(state)]]
    i, j = 0, state.lane_n[a]
    way = below(state, 3)
    if way < 2:
        i = index_of(state, a, piece)
    if way == 1:
        j = i + 1
    return _new_lane(forms, stock, tuning, state, scratch, a, i, j, bundle)
