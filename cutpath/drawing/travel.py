"""The order in which lines are run: as the work demands, and with little way made in the air.

Terminology
-----------
Group: the lines of one piece, and of the pieces that lie inside its holes; it is finished before the next is begun.
Class: the lines of a group that may be run in any order among each other; classes follow one another.
Way in, way out: where the head goes down and comes up. An open line may be run from either end; a closed one from
any of its corners, where it also ends. A choice is one such pair.
Tour: one order of a group's lines, begun near one corner of the group.

Method: for each group one tour from each of its four corners, by nearest neighbour; the order of groups and the
tour of each by nearest neighbour, then exchanges (2-opt and moves of up to three groups), with an exact choice of
tours between; then 2-opt inside each class; last the exact choice of every way in, by dynamic programming.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from cutpath.drawing.toolline import ToolLine
from cutpath.tolerances import POINT_MM
from cutpath.values.pattern import Point

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_ROUNDS = 40  # of exchanges, at most; each round tries every exchange once
_LONGEST_MOVE = 3  # groups moved together
_TWO_OPT_MOST = 400  # lines of one class beyond which exchanges inside it are left out


@dataclass(frozen=True, slots=True)
class Chosen:
    """A line to run: its number, and the corner (closed) or end (open: 0 as drawn, 1 from its end) to begin at."""

    line: int
    start: int


@dataclass(frozen=True, slots=True)
class _Choices:
    ins: list[Array]  # for each line the possible ways in, shape (n, 2)
    outs: list[Array]
    codes: list[tuple[int, ...]]  # what `Chosen.start` says for each


@dataclass(frozen=True, slots=True)
class _Tour:
    lines: tuple[int, ...]
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
    """
    if not lines:
        return []
    choices = _choices(lines)
    by_group: dict[int, dict[tuple[int, ...], list[int]]] = {}
    for n, (group, cls) in enumerate(zip(groups, classes, strict=True)):
        by_group.setdefault(group, {}).setdefault(cls, []).append(n)
    stacks = [[members[c] for c in sorted(members)] for _, members in sorted(by_group.items())]
    tours = [_tours(stack, choices) for stack in stacks]
    sequence = [n for group, tour in _order_groups(tours, choices, start) for n in tours[group][tour].lines]
    plain = [c.line for c in as_drawn(lines, groups, classes)]
    return min(
        (_chosen(_exchanged(s, groups, classes, choices, start), choices, start) for s in (sequence, plain)),
        key=lambda order: travel_mm(lines, order, start),
    )


def _choices(lines: Sequence[ToolLine]) -> _Choices:
    import numpy as np

    ins, outs, codes = [], [], []
    for line in lines:
        points = np.asarray(line.points, dtype=float)
        if line.closed:
            own = line.starts or tuple(range(len(points)))
            ins.append(points[list(own)])
            outs.append(ins[-1])
            codes.append(own)
        else:
            own = line.starts or (0, 1)
            ends = points[[0, -1]]
            ins.append(ends[list(own)])
            outs.append(ends[::-1][list(own)])
            codes.append(own)
    return _Choices(ins, outs, codes)


def _tours(stack: Sequence[Sequence[int]], choices: _Choices) -> list[_Tour]:
    """Give a tour of a group from near each corner of its box."""
    import numpy as np

    every = np.concatenate([choices.ins[n] for members in stack for n in members])
    (x0, y0), (x1, y1) = every.min(axis=0), every.max(axis=0)
    found: dict[tuple[int, ...], _Tour] = {}
    for corner in ((x0, y0), (x1, y0), (x1, y1), (x0, y1)):
        tour = _nearest(stack, choices, np.asarray(corner))
        found.setdefault((*tour.lines, *tour.picks), tour)
    return list(found.values())


def _nearest(stack: Sequence[Sequence[int]], choices: _Choices, at: Array) -> _Tour:
    import numpy as np

    lines: list[int] = []
    picks: list[int] = []
    inside = 0.0
    for members in stack:
        ins = np.concatenate([choices.ins[n] for n in members])
        outs = np.concatenate([choices.outs[n] for n in members])
        sizes = [len(choices.ins[n]) for n in members]
        first = np.concatenate([[0], np.cumsum(sizes)])
        owner = np.repeat(np.arange(len(members)), sizes)
        left = np.zeros(len(ins))
        for _ in members:
            way = np.hypot(ins[:, 0] - at[0], ins[:, 1] - at[1]) + left
            k = int(way.argmin())
            m = int(owner[k])
            inside += float(way[k]) if lines else 0.0
            lines.append(members[m])
            picks.append(k - int(first[m]))
            left[first[m] : first[m + 1]] = np.inf
            at = outs[k]
    return _Tour(tuple(lines), tuple(picks), inside)


def _order_groups(tours: Sequence[Sequence[_Tour]], choices: _Choices, start: Point) -> list[tuple[int, int]]:
    """Give the order of groups, each with one of its tours."""
    import numpy as np

    flat = [(g, t) for g, own in enumerate(tours) for t in range(len(own))]
    group = np.asarray([g for g, _ in flat])
    first = [tours[g][t] for g, t in flat]
    ins = np.asarray([choices.ins[t.lines[0]][t.picks[0]] for t in first])
    outs = np.asarray([choices.outs[t.lines[-1]][t.picks[-1]] for t in first])
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


def _exchanged(
    sequence: Sequence[int],
    groups: Sequence[int],
    classes: Sequence[tuple[int, ...]],
    choices: _Choices,
    start: Point,
) -> list[int]:
    """Turn stretches of one class round wherever that shortens the way; the ways in are those chosen exactly before."""
    import numpy as np

    picked = _picks(sequence, choices, start)
    out = list(sequence)
    low = 0
    while low < len(out):
        high = low
        key = (groups[out[low]], classes[out[low]])
        while high < len(out) and (groups[out[high]], classes[out[high]]) == key:
            high += 1
        if 2 < high - low <= _TWO_OPT_MOST:
            at = np.asarray(start) if not low else choices.outs[out[low - 1]][picked[low - 1]]
            to = choices.ins[out[high]][picked[high]] if high < len(out) else None
            ins = np.asarray([choices.ins[n][p] for n, p in zip(out[low:high], picked[low:high], strict=True)])
            outs = np.asarray([choices.outs[n][p] for n, p in zip(out[low:high], picked[low:high], strict=True)])
            order = _two_opt(ins, outs, at, to)
            out[low:high] = [out[low + k] for k in order]
        low = high
    return out


def _two_opt(ins: Array, outs: Array, at: Array, to: Array | None) -> list[int]:
    import numpy as np

    count = len(ins)
    order = list(range(count))
    ins, outs = ins.copy(), outs.copy()
    for _ in range(4 * count):
        before = np.concatenate([[at], outs[:-1]])
        after = ins[1:] if to is None else np.concatenate([ins[1:], [to]])
        old_in = np.hypot(*(before - ins).T)
        old_out = np.zeros(count)
        old_out[: len(after)] = np.hypot(*(outs[: len(after)] - after).T)
        new_in = np.hypot(*(before[:, None, :] - outs[None, :, :]).transpose(2, 0, 1))
        new_out = np.zeros((count, count))
        new_out[:, : len(after)] = np.hypot(*(ins[:, None, :] - after[None, :, :]).transpose(2, 0, 1))
        gain = np.triu(old_in[:, None] + old_out[None, :] - new_in - new_out)
        i, j = divmod(int(gain.argmax()), count)
        if gain[i, j] <= POINT_MM:
            break
        order[i : j + 1] = order[i : j + 1][::-1]
        turned_ins, turned_outs = outs[i : j + 1][::-1].copy(), ins[i : j + 1][::-1].copy()
        ins[i : j + 1], outs[i : j + 1] = turned_ins, turned_outs
    return order


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


def _chosen(sequence: Sequence[int], choices: _Choices, start: Point) -> list[Chosen]:
    picks = _picks(sequence, choices, start)
    return [Chosen(n, choices.codes[n][p]) for n, p in zip(sequence, picks, strict=True)]
