"""The order in which lines are run: as the work demands, and with little rapid travel.

Terminology
-----------
Group: the lines of one piece, and of the pieces that lie inside its holes; it is finished before the next is begun.
Class: the lines of a group that may be run in any order among each other; classes follow one another.
Entry point, exit point: where the head goes down and comes up. An open line may be run from either end; a closed one
from any of its corners, where it also ends. A choice is one such pair.
Unit: what is ordered: a line, or a word of lettering, which is written as it is read.
Tour: one order of a group's units, begun near one corner of the group.
Rapid travel: the way made with the head up.

Method: for each group one tour from each of its four corners; the order of groups and the tour of each; then each
class once more, between its fixed neighbours; last the exact choice of every entry point, by dynamic programming. The
local search, 2-opt and Or-opt, is that of `cutpath.drawing.route` for groups and classes alike.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import groupby, pairwise, permutations, product
from typing import TYPE_CHECKING

from cutpath.drawing import route
from cutpath.drawing.toolline import ToolLine, goes_on
from cutpath.values.pattern import Point

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_FEW = 5  # units whose orders are all tried: 120 at most
_SETTLE = 3
_ANEW_FROM = 4  # units of a class from which other orders than the given one are tried as well
_MOST_VARIANTS = 600  # entry points of one class that are all looked at
_BEST_STARTS = 2  # orders of a class that are improved, the shortest first
_ALIKE_MM = 10.0  # within which lines of two groups stand alike
_LONGEST_CLASS = 400  # lines of one class beyond which exchanges inside it are left out

Keys = Sequence[tuple[int, tuple[int, ...]]]
"""Group and class of each unit."""

_Look = tuple[object, ...]


@dataclass(frozen=True, slots=True)
class Known:
    """What was found for groups and for classes before, for others that look alike; units by their place among them.

    Attributes
    ----------
    tours : dict
        The order of a group from each of its corners.
    runs : dict
        The order of a class, each unit with its choice, between two points.
    """

    tours: dict[_Look, list[list[int]]] = field(default_factory=dict)
    runs: dict[_Look, list[tuple[int, int]]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Chosen:
    """A line to run: its number, and the corner (closed) or end (open: 0 as drawn, 1 from its end) to begin at."""

    line: int
    start: int


@dataclass(frozen=True, slots=True)
class _Choices:
    ins: list[Array]  # for each unit its possible entry points, shape (n, 2)
    outs: list[Array]
    codes: list[tuple[int, ...]]  # what `Chosen.start` says for each
    open: list[bool]  # whether a unit is no closed line
    known: Known

    def look(self, units: Sequence[int], at: Sequence[float] | Array) -> _Look:
        """Return where units may begin and end, seen from a point, as coarsely as decides between orders."""
        import numpy as np

        ends = np.asarray([(self.ins[n][0], self.outs[n][0]) for n in units]) - at
        return (tuple(self.codes[n] for n in units), np.rint(ends / _ALIKE_MM).tobytes())


@dataclass(frozen=True, slots=True)
class _Tour:
    units: tuple[int, ...]
    picks: tuple[int, ...]
    inside_mm: float


def travel_mm(lines: Sequence[ToolLine], order: Sequence[Chosen], start: Point) -> float:
    """Return the rapid travel from ``start`` through all lines."""
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
    """Return the plain order: group after group, class after class, each line as it is drawn."""
    order = sorted(range(len(lines)), key=lambda n: (groups[n], classes[n], n))
    return [Chosen(n, (lines[n].starts or (0,))[0] if lines[n].closed else 0) for n in order]


def shortened(
    lines: Sequence[ToolLine],
    groups: Sequence[int],
    classes: Sequence[tuple[int, ...]],
    start: Point,
    known: Known | None = None,
) -> list[Chosen]:
    """Order lines so that rapid travel is short from ``start`` on.

    Parameters
    ----------
    lines : sequence of ToolLine
    groups : sequence of int
        The group of each line.
    classes : sequence of tuple of int
        The class of each line; lower ones first, within the group.
    start : Point
    known : Known or None
        From calls before, to be added to.

    Notes
    -----
    For a few units the order is the best there is; for more it is the best that exchanges find.
    """
    if not lines:
        return []
    units = _units(lines)
    keys = [(groups[u[0]], classes[u[0]]) for u in units]
    choices = _choices(lines, units, known or Known())
    by_group: dict[int, dict[tuple[int, ...], list[int]]] = {}
    for n, (group, cls) in enumerate(keys):
        by_group.setdefault(group, {}).setdefault(cls, []).append(n)
    stacks = [[members[c] for c in sorted(members)] for _, members in sorted(by_group.items())]
    if len(units) <= _FEW:
        return _chosen(lines, units, _best_of_all(stacks, choices, start), choices, start)
    tours = [_tours(stack, keys, choices) for stack in stacks]
    sequence = [n for tour in _order_groups(tours, choices, start) for n in tour.units]
    found = _chosen(lines, units, _settled(sequence, keys, choices, start), choices, start)
    return min((found, as_drawn(lines, groups, classes)), key=lambda order: travel_mm(lines, order, start))


def _best_of_all(stacks: Sequence[Sequence[Sequence[int]]], choices: _Choices, start: Point) -> list[int]:
    """Return the best of all orders of a few units, by trying each with its best entry points."""
    classes = [[list(permutations(members)) for members in stack] for stack in stacks]
    orders = (
        [n for g in order for members in inner[g] for n in members]
        for order in permutations(range(len(stacks)))
        for inner in product(*(product(*stack) for stack in classes))
    )
    return min(orders, key=lambda order: _least_mm(order, choices, start))


def _least_mm(sequence: Sequence[int], choices: _Choices, start: Point) -> float:
    """Return the rapid travel through units in a given order, with the best entry points."""
    picks = _picks(sequence, choices, start)
    total, at = 0.0, start
    for n, pick in zip(sequence, picks, strict=True):
        (x0, y0), (x1, y1) = choices.ins[n][pick], choices.outs[n][pick]
        total += math.dist(at, (x0, y0))
        at = (x1, y1)
    return total


def polished(
    lines: Sequence[ToolLine],
    groups: Sequence[int],
    classes: Sequence[tuple[int, ...]],
    start: Point,
    known: Known | None = None,
) -> list[Chosen]:
    """Shorten the rapid travel without changing the order of groups and classes in which the lines are given."""
    if not lines:
        return []
    units = _units(lines)
    keys = [(groups[u[0]], classes[u[0]]) for u in units]
    choices = _choices(lines, units, known or Known())
    return _chosen(lines, units, _settled(list(range(len(units))), keys, choices, start), choices, start)


def _units(lines: Sequence[ToolLine]) -> list[tuple[int, ...]]:
    """Put the strokes of a word together, to be written as they follow each other; all else is single."""
    units: list[list[int]] = []
    for n, line in enumerate(lines):
        if units and goes_on(line, lines[n - 1]):
            units[-1].append(n)
        else:
            units.append([n])
    return [tuple(u) for u in units]


def _choices(lines: Sequence[ToolLine], units: Sequence[tuple[int, ...]], known: Known) -> _Choices:
    import numpy as np

    ins, outs, codes, is_open = [], [], [], []
    for unit in units:
        first, last = lines[unit[0]], lines[unit[-1]]
        is_open.append(len(unit) > 1 or not first.closed)
        if not is_open[-1]:
            own = first.starts or tuple(range(len(first.points)))
            ins.append(np.asarray([first.points[k] for k in own], dtype=float))
            outs.append(ins[-1])
        else:
            own = (first.starts or (0, 1)) if len(unit) == 1 else (0, 1)
            ends = np.asarray([first.points[0], last.ring[-1]], dtype=float)
            ins.append(ends[list(own)])
            outs.append(ends[::-1][list(own)])
        codes.append(own)
    return _Choices(ins, outs, codes, is_open, known)


def _tours(stack: Sequence[Sequence[int]], keys: Keys, choices: _Choices) -> list[_Tour]:
    """Return a tour of a group from near each corner of its box."""
    import numpy as np

    members = [n for own in stack for n in own]
    every = np.concatenate([choices.ins[n] for n in members])
    (x0, y0), (x1, y1) = every.min(axis=0).tolist(), every.max(axis=0).tolist()
    corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    look, known = (tuple(map(len, stack)), *choices.look(members, (x0, y0))), choices.known.tours
    if look not in known:
        place = {n: k for k, n in enumerate(members)}
        orders = [_exchanged(_nearest(stack, choices, c), keys, choices, c, anew=True) for c in corners]
        known[look] = [[place[n] for n in order] for order in orders]
    found: dict[tuple[int, ...], _Tour] = {}
    for corner, order in zip(corners, known[look], strict=True):
        tour = _tour([members[k] for k in order], choices, corner)
        found.setdefault((*tour.units, *tour.picks), tour)
    return list(found.values())


def _nearest(stack: Sequence[Sequence[int]], choices: _Choices, corner: Point) -> list[int]:
    """Return the units, class by class, in the order in which each is the nearest to where the one before ended."""
    import numpy as np

    out: list[int] = []
    at = np.asarray(corner, dtype=float)
    for members in stack:
        variants = [(unit, code) for unit in members for code in range(len(choices.ins[unit]))]
        tour = route.nearest_neighbour(_between(variants, choices, at, None))
        out += [variants[k][0] for k in tour]
        unit, code = variants[tour[-1]]
        at = choices.outs[unit][code]
    return out


def _between(variants: Sequence[tuple[int, int]], choices: _Choices, at: Array, to: Array | None) -> route.Network:
    """Return the network of units by their choices, between two points."""
    import numpy as np

    ins, outs = (np.asarray([side[unit][code] for unit, code in variants]) for side in (choices.ins, choices.outs))
    stop = np.asarray([unit for unit, _ in variants])
    return route.network(ins, outs, stop, start=at, end=to, inside=np.zeros(len(variants)))


def _tour(units: Sequence[int], choices: _Choices, corner: Point) -> _Tour:
    import numpy as np

    picks = _picks(units, choices, corner)
    ins = np.asarray([choices.ins[n][p] for n, p in zip(units, picks, strict=True)])
    outs = np.asarray([choices.outs[n][p] for n, p in zip(units, picks, strict=True)])
    return _Tour(tuple(units), tuple(picks), float(route.lengths_mm(*(ins[1:] - outs[:-1]).T).sum()))


def _order_groups(tours: Sequence[Sequence[_Tour]], choices: _Choices, start: Point) -> list[_Tour]:
    """Return one tour of every group, in order."""
    import numpy as np

    flat = [tour for own in tours for tour in own]
    net = route.network(
        np.asarray([choices.ins[t.units[0]][t.picks[0]] for t in flat]),
        np.asarray([choices.outs[t.units[-1]][t.picks[-1]] for t in flat]),
        np.asarray([g for g, own in enumerate(tours) for _ in own]),
        start=np.asarray(start),
        end=None,
        inside=np.asarray([t.inside_mm for t in flat]),
    )
    return [flat[k] for k in route.improved(net, route.nearest_neighbour(net))]


def _settled(sequence: list[int], keys: Keys, choices: _Choices, start: Point) -> list[int]:
    """Exchange and choose anew in turn, until nothing changes or `_SETTLE` rounds are over."""
    for _ in range(_SETTLE):
        better = _exchanged(sequence, keys, choices, start, anew=False)
        if better == sequence:
            break
        sequence = better
    return sequence


def _exchanged(sequence: Sequence[int], keys: Keys, choices: _Choices, start: Point, *, anew: bool) -> list[int]:
    """Shorten the rapid travel inside each class; entry points of closed lines are those chosen exactly before.

    With ``anew``, other orders are tried as well: as drawn, and by nearest neighbour from either end of the class.
    """
    import numpy as np

    picks = _picks(sequence, choices, start)
    out: list[int] = []
    at = np.asarray(start, dtype=float)
    for _, run in groupby(range(len(sequence)), key=lambda k: keys[sequence[k]]):
        own = list(run)
        after = own[-1] + 1
        to = choices.ins[sequence[after]][picks[after]] if after < len(sequence) else None
        found = [(sequence[k], picks[k]) for k in own]
        if 1 < len(own) <= _LONGEST_CLASS:
            found = _shorter(found, choices, at, to, anew=anew and len(own) >= _ANEW_FROM)
        out += [unit for unit, _ in found]
        at = choices.outs[found[-1][0]][found[-1][1]]
    return out


def _shorter(
    run: Sequence[tuple[int, int]], choices: _Choices, at: Array, to: Array | None, *, anew: bool
) -> list[tuple[int, int]]:
    """Return the units of a class, each with its choice, in a shorter order between two fixed points."""
    import numpy as np

    end = None if to is None else np.rint((to - at) / _ALIKE_MM).tobytes()
    look, known = (anew, end, *choices.look([unit for unit, _ in run], at)), choices.known.runs
    if look in known:
        found = [(run[k][0], code) for k, code in known[look]]
        if _way_mm(found, choices, at, to) <= _way_mm(run, choices, at, to):
            return found
    found = _searched(run, choices, at, to, anew=anew)
    place = {unit: k for k, (unit, _) in enumerate(run)}
    known[look] = [(place[unit], code) for unit, code in found]
    return found


def _way_mm(run: Sequence[tuple[int, int]], choices: _Choices, at: Array, to: Array | None) -> float:
    """Return the rapid travel from one point through units to another."""
    ends = [(choices.ins[unit][code].tolist(), choices.outs[unit][code].tolist()) for unit, code in run]
    after = [begin for begin, _ in ends] + ([] if to is None else [to.tolist()])
    return math.fsum(map(math.dist, [at.tolist(), *(out for _, out in ends)], after))


def _searched(
    run: Sequence[tuple[int, int]], choices: _Choices, at: Array, to: Array | None, *, anew: bool
) -> list[tuple[int, int]]:
    """Return the order that the local search finds, from the one given and with ``anew`` from others too."""
    every = [(unit, code) for unit, _ in run for code in range(len(choices.ins[unit]))]
    # With very many entry points a closed line keeps its own until all are chosen exactly again.
    variants = (
        every
        if len(every) <= _MOST_VARIANTS
        else [
            (unit, code)
            for unit, pick in run
            for code in ((pick, 1 - pick) if _may_be_turned(choices, unit) else (pick,))
        ]
    )
    net = _between(variants, choices, at, to)
    node = {variant: k for k, variant in enumerate(variants)}
    given = [node[variant] for variant in run]
    tours = [given]
    if anew:
        tours.append(sorted(given, key=lambda k: variants[k][0]))
        tours += [route.nearest_neighbour(_between(variants, choices, s, to)) for s in _ends(variants, choices)]
    best = dict.fromkeys(map(tuple, sorted(tours, key=net.cost_mm)[:_BEST_STARTS]))  # some are found twice
    return [variants[k] for k in min((route.improved(net, tour) for tour in best), key=net.cost_mm)]


def _may_be_turned(choices: _Choices, unit: int) -> bool:
    """Tell whether a unit is open and may be run from either end."""
    return choices.open[unit] and len(choices.ins[unit]) == 2


def _ends(variants: Sequence[tuple[int, int]], choices: _Choices) -> list[Array]:
    """Return the two ends of the longer way across a class."""
    import numpy as np

    every = np.asarray([side[unit][code] for unit, code in variants for side in (choices.ins, choices.outs)])
    axis = int(np.ptp(every, axis=0).argmax())
    return [every[every[:, axis].argmin()], every[every[:, axis].argmax()]]


def _picks(sequence: Sequence[int], choices: _Choices, start: Point) -> list[int]:
    """Choose every entry point exactly, the order of lines being given."""
    import numpy as np

    ins = choices.ins[sequence[0]]
    costs: list[float] = route.lengths_mm(ins[:, 0] - start[0], ins[:, 1] - start[1]).tolist()
    came: list[list[int]] = []
    for before, here in pairwise(sequence):
        outs, ins = choices.outs[before], choices.ins[here]
        if len(outs) * len(ins) <= route.FEW_WAYS:
            ends = list(zip(costs, outs.tolist(), strict=True))
            paid = [
                [c + math.sqrt((u - x) * (u - x) + (v - y) * (v - y)) for c, (u, v) in ends] for x, y in ins.tolist()
            ]
            costs = list(map(min, paid))
            came.append([own.index(least) for own, least in zip(paid, costs, strict=True)])
        else:
            through = np.asarray(costs)[:, None] + route.lengths_mm(
                np.subtract.outer(outs[:, 0], ins[:, 0]), np.subtract.outer(outs[:, 1], ins[:, 1])
            )
            costs = through.min(axis=0).tolist()
            came.append(through.argmin(axis=0).tolist())
    pick = costs.index(min(costs))
    picks = [pick]
    for k in reversed(came):
        pick = k[pick]
        picks.append(pick)
    return picks[::-1]


def _chosen(
    lines: Sequence[ToolLine],
    units: Sequence[tuple[int, ...]],
    sequence: Sequence[int],
    choices: _Choices,
    start: Point,
) -> list[Chosen]:
    """Return the lines of the units, their entry points chosen exactly."""
    out: list[Chosen] = []
    for n, pick in zip(sequence, _picks(sequence, choices, start), strict=True):
        code = choices.codes[n][pick]
        if len(units[n]) == 1:
            out.append(Chosen(units[n][0], code))
        else:
            own = units[n][::-1] if code else units[n]
            out += [Chosen(k, 0 if lines[k].closed else code) for k in own]
    return out
