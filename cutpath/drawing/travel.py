"""The order in which lines are run: as the work demands, and with little way made in the air.

Terminology
-----------
Group: the lines of one piece, and of the pieces that lie inside its holes; it is finished before the next is begun.
Class: the lines of a group that may be run in any order among each other; classes follow one another.
Way in, way out: where the head goes down and comes up. An open line may be run from either end; a closed one from
any of its corners, where it also ends. A choice is one such pair.
Unit: what is ordered: a line, or all the lettering of a piece, which is written as it is read.
Tour: one order of a group's units, begun near one corner of the group.

Method: for each group one tour from each of its four corners, by nearest neighbour and exchanges; the order of
groups and the tour of each by nearest neighbour, then exchanges (2-opt and moves of up to three groups), with an
exact choice of tours between; then the same exchanges inside each class; last the exact choice of every way in, by
dynamic programming.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise, permutations, product
from typing import TYPE_CHECKING

from cutpath.drawing.toolline import ToolLine
from cutpath.tolerances import POINT_MM
from cutpath.values.drawing import LETTERING
from cutpath.values.pattern import Point

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_FEW = 5  # units whose orders are all tried: 120 at most
_ROUNDS = 40  # of exchanges, at most; each round tries every exchange once
_SETTLE = 3
_LONGEST_MOVE = 3  # groups, or lines of a class, moved together
_LONGEST_CLASS = 400  # lines of one class beyond which exchanges inside it are left out


@dataclass(frozen=True, slots=True)
class Chosen:
    """A line to run: its number, and the corner (closed) or end (open: 0 as drawn, 1 from its end) to begin at."""

    line: int
    start: int


@dataclass(frozen=True, slots=True)
class _Choices:
    ins: list[Array]  # for each unit the possible ways in, shape (n, 2)
    outs: list[Array]
    codes: list[tuple[int, ...]]  # what `Chosen.start` says for each


@dataclass(frozen=True, slots=True)
class _Tour:
    units: tuple[int, ...]
    picks: tuple[int, ...]
    inside_mm: float


def travel_mm(lines: Sequence[ToolLine], order: Sequence[Chosen], start: Point) -> float:
    """Give the way made in the air from ``start`` through all lines."""
    total, at = 0.0, start
    for chosen in order:
        line = lines[chosen.line]
        if line.closed:
            begin = end = line.points[chosen.start]
        else:
            begin, end = (line.points[0], line.points[-1])[:: -1 if chosen.start else 1]
        total += math.dist(at, begin)
        at = end
    return total


def as_drawn(lines: Sequence[ToolLine], groups: Sequence[int], classes: Sequence[tuple[int, ...]]) -> list[Chosen]:
    """Give the plain order: group after group, class after class, each line as it is drawn."""
    order = sorted(range(len(lines)), key=lambda n: (groups[n], classes[n], n))
    return [Chosen(n, (lines[n].starts or (0,))[0] if lines[n].closed else 0) for n in order]


def shortened(
    lines: Sequence[ToolLine], groups: Sequence[int], classes: Sequence[tuple[int, ...]], start: Point
) -> list[Chosen]:
    """Order lines so that little way is made in the air from ``start`` on.

    Parameters
    ----------
    lines : sequence of ToolLine
    groups : sequence of int
        The group of each line.
    classes : sequence of tuple of int
        The class of each line; lower ones first, within the group.
    start : Point

    Notes
    -----
    For a few units the order is the best there is; for more it is the best that exchanges find.
    """
    if not lines:
        return []
    units = _units(lines, groups, classes)
    of_group, of_class = [groups[u[0]] for u in units], [classes[u[0]] for u in units]
    choices = _choices(lines, units)
    by_group: dict[int, dict[tuple[int, ...], list[int]]] = {}
    for n, (group, cls) in enumerate(zip(of_group, of_class, strict=True)):
        by_group.setdefault(group, {}).setdefault(cls, []).append(n)
    stacks = [[members[c] for c in sorted(members)] for _, members in sorted(by_group.items())]
    if len(units) <= _FEW:
        return _chosen(lines, units, _best_of_all(stacks, choices, start), choices, start)
    tours = [_tours(stack, of_group, of_class, choices) for stack in stacks]
    sequence = [n for group, tour in _order_groups(tours, choices, start) for n in tours[group][tour].units]
    found = _chosen(lines, units, _settled(sequence, of_group, of_class, choices, start), choices, start)
    return min((found, as_drawn(lines, groups, classes)), key=lambda order: travel_mm(lines, order, start))


def _best_of_all(stacks: Sequence[Sequence[Sequence[int]]], choices: _Choices, start: Point) -> list[int]:
    """Give the best of all orders of a few units, by trying each with its best ways in."""
    classes = [[list(permutations(members)) for members in stack] for stack in stacks]
    orders = (
        [n for g in order for members in inner[g] for n in members]
        for order in permutations(range(len(stacks)))
        for inner in product(*(product(*stack) for stack in classes))
    )
    return min(orders, key=lambda order: _least_mm(order, choices, start))


def _least_mm(sequence: Sequence[int], choices: _Choices, start: Point) -> float:
    """Give the way in the air through units in a given order, with the best ways in."""
    picks = _picks(sequence, choices, start)
    total, at = 0.0, start
    for n, pick in zip(sequence, picks, strict=True):
        (x0, y0), (x1, y1) = choices.ins[n][pick], choices.outs[n][pick]
        total += math.dist(at, (x0, y0))
        at = (x1, y1)
    return total


def polished(
    lines: Sequence[ToolLine], groups: Sequence[int], classes: Sequence[tuple[int, ...]], start: Point
) -> list[Chosen]:
    """Shorten the way in the air without changing the order of groups and classes in which the lines are given."""
    if not lines:
        return []
    units = _units(lines, groups, classes)
    of_group, of_class = [groups[u[0]] for u in units], [classes[u[0]] for u in units]
    choices = _choices(lines, units)
    return _chosen(lines, units, _settled(list(range(len(units))), of_group, of_class, choices, start), choices, start)


def _units(
    lines: Sequence[ToolLine], groups: Sequence[int], classes: Sequence[tuple[int, ...]]
) -> list[tuple[int, ...]]:
    """Put the strokes of a piece's lettering together, to be written as they follow each other; all else is single."""
    units: list[list[int]] = []
    for n, line in enumerate(lines):
        same = line.name == LETTERING and bool(units)
        last = units[-1][-1] if units else 0
        if same and lines[last].name == LETTERING and (groups[last], classes[last]) == (groups[n], classes[n]):
            units[-1].append(n)
        else:
            units.append([n])
    return [tuple(u) for u in units]


def _choices(lines: Sequence[ToolLine], units: Sequence[tuple[int, ...]]) -> _Choices:
    import numpy as np

    ins, outs, codes = [], [], []
    for unit in units:
        first, last = lines[unit[0]], lines[unit[-1]]
        if len(unit) == 1 and first.closed:
            own = first.starts or tuple(range(len(first.points)))
            ins.append(np.asarray([first.points[k] for k in own], dtype=float))
            outs.append(ins[-1])
        else:
            own = (first.starts or (0, 1)) if len(unit) == 1 else (0, 1)
            ends = np.asarray([first.points[0], last.ring[-1]], dtype=float)
            ins.append(ends[list(own)])
            outs.append(ends[::-1][list(own)])
        codes.append(own)
    return _Choices(ins, outs, codes)


def _tours(
    stack: Sequence[Sequence[int]], groups: Sequence[int], classes: Sequence[tuple[int, ...]], choices: _Choices
) -> list[_Tour]:
    """Give a tour of a group from near each corner of its box."""
    import numpy as np

    every = np.concatenate([choices.ins[n] for members in stack for n in members])
    (x0, y0), (x1, y1) = every.min(axis=0).tolist(), every.max(axis=0).tolist()
    found: dict[tuple[int, ...], _Tour] = {}
    for corner in ((x0, y0), (x1, y0), (x1, y1), (x0, y1)):
        near = _nearest(stack, choices, corner)
        tour = _tour(_exchanged(near, groups, classes, choices, corner, anew=True), choices, corner)
        found.setdefault((*tour.units, *tour.picks), tour)
    return list(found.values())


def _tour(units: Sequence[int], choices: _Choices, corner: Point) -> _Tour:
    import numpy as np

    picks = _picks(units, choices, corner)
    ins = np.asarray([choices.ins[n][p] for n, p in zip(units, picks, strict=True)])
    outs = np.asarray([choices.outs[n][p] for n, p in zip(units, picks, strict=True)])
    return _Tour(tuple(units), tuple(picks), float(np.hypot(*(ins[1:] - outs[:-1]).T).sum()))


def _nearest(stack: Sequence[Sequence[int]], choices: _Choices, corner: Point) -> list[int]:
    """Give the lines in the order in which each is the nearest to where the one before ended."""
    import numpy as np

    lines: list[int] = []
    at = np.asarray(corner)
    for members in stack:
        ins = np.concatenate([choices.ins[n] for n in members])
        outs = np.concatenate([choices.outs[n] for n in members])
        sizes = [len(choices.ins[n]) for n in members]
        first = np.concatenate([[0], np.cumsum(sizes)])
        owner = np.repeat(np.arange(len(members)), sizes)
        left = np.zeros(len(ins))
        for _ in members:
            k = int((np.hypot(ins[:, 0] - at[0], ins[:, 1] - at[1]) + left).argmin())
            m = int(owner[k])
            lines.append(members[m])
            left[first[m] : first[m + 1]] = np.inf
            at = outs[k]
    return lines


def _order_groups(tours: Sequence[Sequence[_Tour]], choices: _Choices, start: Point) -> list[tuple[int, int]]:
    """Give the order of groups, each with one of its tours."""
    import numpy as np

    flat = [(g, t) for g, own in enumerate(tours) for t in range(len(own))]
    group = np.asarray([g for g, _ in flat])
    first = [tours[g][t] for g, t in flat]
    ins = np.asarray([choices.ins[t.units[0]][t.picks[0]] for t in first])
    outs = np.asarray([choices.outs[t.units[-1]][t.picks[-1]] for t in first])
    inside = np.asarray([t.inside_mm for t in first])
    # Row k + 1: from the end of tour k; row 0: from the start. Each step also pays for the tour that it leads to.
    ends = np.concatenate([[start], outs])
    step = np.hypot(*(ends[:, None, :] - ins[None, :, :]).transpose(2, 0, 1)) + inside
    # The tour of the same group that begins nearest to where this one ends: what reversal makes of it.
    back = np.asarray([_turned_round(k, group, ins, outs) for k in range(len(flat))])
    of_group = [np.flatnonzero(group == g) for g in range(len(tours))]

    at, taken, sequence = 0, np.zeros(len(flat)), []
    for _ in tours:
        k = int((step[at] + taken).argmin())
        sequence.append(k)
        taken[group == group[k]] = np.inf
        at = k + 1
    best = _best_tours(sequence, group, of_group, step)
    for _ in range(_ROUNDS):
        improved = _moved(_reversed(best, back, step), back, step)
        improved = _best_tours(improved, group, of_group, step)
        if _cost(improved, step) > _cost(best, step) - POINT_MM:
            break
        best = improved
    return [flat[k] for k in best]


def _turned_round(k: int, group: NDArray[np.int64], ins: Array, outs: Array) -> int:
    import numpy as np

    own = np.flatnonzero(group == group[k])
    return int(own[np.hypot(*(ins[own] - outs[k]).T).argmin()])


def _cost(sequence: Sequence[int], step: Array) -> float:
    return float(sum(step[a, b] for a, b in zip([0, *(k + 1 for k in sequence)], sequence, strict=False)))


def _best_tours(
    sequence: Sequence[int], group: NDArray[np.int64], of_group: Sequence[NDArray[np.int64]], step: Array
) -> list[int]:
    """Choose the tour of every group exactly, the order of groups being given."""
    import numpy as np

    rows = [of_group[int(group[k])] for k in sequence]
    costs = step[0, rows[0]]
    came: list[NDArray[np.int64]] = []
    for before, here in pairwise(rows):
        through = costs[:, None] + step[np.ix_(before + 1, here)]
        came.append(through.argmin(axis=0))
        costs = through.min(axis=0)
    pick = int(costs.argmin())
    chosen = [int(rows[-1][pick])]
    for n in range(len(came) - 1, -1, -1):
        pick = int(came[n][pick])
        chosen.append(int(rows[n][pick]))
    return chosen[::-1]


def _reversed(sequence: list[int], back: NDArray[np.int64], step: Array) -> list[int]:
    """Turn stretches round wherever that shortens the way (2-opt), each tour becoming the one from its other end."""
    import numpy as np

    n = len(sequence)
    for i in range(n - 1):
        s = np.asarray(sequence)
        r = back[s]
        before = s[i - 1] + 1 if i else 0
        forward = np.concatenate([[0.0], np.cumsum(step[s[i:-1] + 1, s[i + 1 :]])])
        backward = np.concatenate([[0.0], np.cumsum(step[r[i + 1 :] + 1, r[i:-1]])])
        old = step[before, s[i]] + forward
        new = step[before, r[i:]] + backward
        old[:-1] += step[s[i:-1] + 1, s[i + 1 :]]
        new[:-1] += step[r[i] + 1, s[i + 1 :]]
        gain = old - new
        j = int(gain.argmax())
        if gain[j] > POINT_MM:
            sequence = [*sequence[:i], *r[i : i + j + 1][::-1].tolist(), *sequence[i + j + 1 :]]
    return sequence


def _moved(sequence: list[int], back: NDArray[np.int64], step: Array) -> list[int]:
    """Move up to three groups together to wherever that shortens the way, either way round."""
    import numpy as np

    n = len(sequence)
    for size in range(1, min(_LONGEST_MOVE, n - 1) + 1):
        for i in range(n - size + 1):
            part, rest = sequence[i : i + size], np.asarray([*sequence[:i], *sequence[i + size :]])
            ends = np.concatenate([[0], rest + 1])
            joined = np.append(step[ends[:-1], rest], 0.0)
            after = ends[i]
            left = step[after, part[0]]
            if i + size < n:
                left += step[part[-1] + 1, sequence[i + size]] - step[after, sequence[i + size]]
            inner = sum(step[a + 1, b] for a, b in pairwise(part))
            turned = back[np.asarray(part)][::-1].tolist()
            inner_turned = sum(step[a + 1, b] for a, b in pairwise(turned))
            best: tuple[float, int, list[int]] | None = None
            for body, own in ((part, inner), (turned, inner_turned)):
                paid = step[ends, body[0]] + own - joined
                paid[:-1] += step[body[-1] + 1, rest]
                k = int(paid.argmin())
                if best is None or paid[k] < best[0]:
                    best = (float(paid[k]), k, body)
            assert best is not None  # noqa: S101 - the loop ran twice
            if best[0] < left + inner - POINT_MM:
                kept = rest.tolist()
                sequence = [*kept[: best[1]], *best[2], *kept[best[1] :]]
    return sequence


def _settled(
    sequence: list[int], groups: Sequence[int], classes: Sequence[tuple[int, ...]], choices: _Choices, start: Point
) -> list[int]:
    """Exchange and choose anew in turn, until nothing changes or `_SETTLE` rounds are over."""
    for number in range(_SETTLE):
        better = _exchanged(sequence, groups, classes, choices, start, anew=not number)
        if better == sequence:
            break
        sequence = better
    return sequence


def _exchanged(
    sequence: Sequence[int],
    groups: Sequence[int],
    classes: Sequence[tuple[int, ...]],
    choices: _Choices,
    start: Point,
    *,
    anew: bool,
) -> list[int]:
    """Shorten the way inside each class; the ways in are those chosen exactly before.

    With ``anew``, other orders are tried as well: as drawn, and from either end of the class by nearest neighbour.
    """
    import numpy as np

    picked = _picks(sequence, choices, start)
    ways = [(choices.ins[n][p], choices.outs[n][p]) for n, p in zip(sequence, picked, strict=True)]
    out: list[int] = []
    at = np.asarray(start, dtype=float)
    for _, run in groupby(range(len(sequence)), key=lambda k: (groups[sequence[k]], classes[sequence[k]])):
        own = list(run)
        best = list(range(len(own)))
        last = ways[own[-1]][1]
        if 1 < len(own) <= _LONGEST_CLASS:
            ins, outs = (np.asarray([ways[k][side] for k in own]) for side in (0, 1))
            to = ways[own[-1] + 1][0] if own[-1] + 1 < len(sequence) else None
            firsts = [(best, [False] * len(own))]
            if anew and len(own) > _LONGEST_MOVE:
                drawn = sorted(best, key=lambda k: sequence[own[k]])
                firsts += [(drawn, [False] * len(own)), *(_sweep(ins, outs, far) for far in _ends(ins, outs))]
            found = [_shorter(ins, outs, order, turned, at, to) for order, turned in firsts]
            _, best, last = min(found, key=lambda f: f[0])
        out += [sequence[own[k]] for k in best]
        at = last
    return out


def _ends(ins: Array, outs: Array) -> list[Array]:
    """Give the two ends of the longer way across a class."""
    import numpy as np

    every = np.concatenate([ins, outs])
    axis = int(np.ptp(every, axis=0).argmax())
    return [every[every[:, axis].argmin()], every[every[:, axis].argmax()]]


def _sweep(ins: Array, outs: Array, at: Array) -> tuple[list[int], list[bool]]:
    """Give the order by nearest neighbour from ``at`` on, and which lines are turned round in it."""
    import numpy as np

    ends = np.concatenate([ins, outs])
    count = len(ins)
    order: list[int] = []
    turned: list[bool] = []
    left = np.zeros(2 * count)
    for _ in range(count):
        k = int((np.hypot(ends[:, 0] - at[0], ends[:, 1] - at[1]) + left).argmin())
        n = k % count
        order.append(n)
        turned.append(k >= count)
        left[[n, n + count]] = np.inf
        at = ends[(k + count) % (2 * count)]
    return order, turned


def _shorter(
    ins: Array, outs: Array, order: Sequence[int], turned: Sequence[bool], at: Array, to: Array | None
) -> tuple[float, list[int], Array]:
    """Give the way, the order and the end of a shorter run between two fixed points.

    The best exchange is made until none gains: a stretch turned round, else up to three lines moved elsewhere. A
    line that is turned round swaps its ways in and out.
    """
    import numpy as np

    order = list(order)
    swap = np.asarray(turned)[:, None]
    ins, outs = np.where(swap, outs[order], ins[order]), np.where(swap, ins[order], outs[order])
    while True:
        # Gap p lies before line p; behind the last line is the fixed end, or nothing to pay for.
        before = np.concatenate([[at], outs])
        after = np.concatenate([ins, [outs[-1] if to is None else to]])
        paid = np.full((len(order) + 1, 1), 1.0)
        paid[-1] = to is not None
        gaps = np.hypot(*(before - after).T) * paid[:, 0]
        gain, low, high, gap, back = _turn(ins, outs, before, after, paid, gaps)
        if gain <= POINT_MM:
            gain, low, high, gap, back = _move(ins, outs, before, after, paid, gaps)
        if gain <= POINT_MM:
            return float(gaps.sum()), order, outs[-1]
        part = list(range(low, high + 1))[:: -1 if back else 1]
        rest = [k for k in range(len(order)) if not low <= k <= high]
        place = gap if gap <= low else gap - len(part)
        new = [*rest[:place], *part, *rest[place:]]
        order = [order[k] for k in new]
        ins, outs = ins[new], outs[new]
        if back:
            span = slice(place, place + len(part))
            ins[span], outs[span] = outs[span].copy(), ins[span].copy()


_Exchange = tuple[float, int, int, int, bool]  # gain; lines from and to; gap to put them in; turned round


def _turn(ins: Array, outs: Array, before: Array, after: Array, paid: Array, gaps: Array) -> _Exchange:
    """Give the best stretch to turn round where it is."""
    import numpy as np

    new_in = np.hypot(*(before[:-1, None, :] - outs[None, :, :]).transpose(2, 0, 1))
    new_out = np.hypot(*(ins[:, None, :] - after[None, 1:, :]).transpose(2, 0, 1)) * paid[1:, 0]
    gain = np.triu(gaps[:-1, None] + gaps[None, 1:] - new_in - new_out)
    i, j = divmod(int(gain.argmax()), len(ins))
    return float(gain[i, j]), i, j, i, True


def _move(ins: Array, outs: Array, before: Array, after: Array, paid: Array, gaps: Array) -> _Exchange:
    """Give the best place for up to three lines to move to, either way round."""
    import numpy as np

    count = len(ins)
    best: _Exchange = (0.0, 0, 0, 0, False)
    to_in, to_out = (np.hypot(*(before[:, None, :] - w[None, :, :]).transpose(2, 0, 1)) for w in (ins, outs))
    from_in, from_out = (np.hypot(*(after[:, None, :] - w[None, :, :]).transpose(2, 0, 1)) * paid for w in (ins, outs))
    for size in range(1, min(_LONGEST_MOVE, count - 1) + 1):
        first = np.arange(count - size + 1)
        last = first + size - 1
        bridge = np.hypot(*(before[first] - after[last + 1]).T) * paid[last + 1, 0]
        freed = gaps[first] + gaps[last + 1] - bridge
        for back in (False, True):
            heads, tails = (to_out[:, last], from_in[:, first]) if back else (to_in[:, first], from_out[:, last])
            gain = freed[None, :] - (heads + tails - gaps[:, None])
            gap = np.arange(count + 1)[:, None]
            gain[(gap >= first[None, :]) & (gap <= last[None, :] + 1)] = -np.inf
            p, k = divmod(int(gain.argmax()), len(first))
            best = max(best, (float(gain[p, k]), int(first[k]), int(last[k]), p, back))
    return best


def _picks(sequence: Sequence[int], choices: _Choices, start: Point) -> list[int]:
    """Choose every way in exactly, the order of lines being given."""
    import numpy as np

    ins = choices.ins[sequence[0]]
    costs = np.hypot(ins[:, 0] - start[0], ins[:, 1] - start[1])
    came: list[NDArray[np.int64]] = []
    for before, here in pairwise(sequence):
        outs, ins = choices.outs[before], choices.ins[here]
        through = costs[:, None] + np.hypot(
            outs[:, 0][:, None] - ins[:, 0][None, :], outs[:, 1][:, None] - ins[:, 1][None, :]
        )
        k = through.argmin(axis=0)
        came.append(k)
        costs = through[k, np.arange(len(k))]
    pick = int(costs.argmin())
    picks = [pick]
    for k in reversed(came):
        pick = int(k[pick])
        picks.append(pick)
    return picks[::-1]


def _chosen(
    lines: Sequence[ToolLine],
    units: Sequence[tuple[int, ...]],
    sequence: Sequence[int],
    choices: _Choices,
    start: Point,
) -> list[Chosen]:
    """Choose the ways in exactly, and give the lines of the units."""
    out: list[Chosen] = []
    for n, pick in zip(sequence, _picks(sequence, choices, start), strict=True):
        code = choices.codes[n][pick]
        if len(units[n]) == 1:
            out.append(Chosen(units[n][0], code))
        else:
            own = units[n][::-1] if code else units[n]
            out += [Chosen(k, 0 if lines[k].closed else code) for k in own]
    return out
