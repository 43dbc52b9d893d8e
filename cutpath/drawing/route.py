"""Local search for the order in which stops are visited: 2-opt and Or-opt, with an exact choice of each stop's variant.

Terminology
-----------
Stop: what is visited once, such as a line or all the lines of a piece.
Variant: one way to run a stop, from its entry point to its exit point; a node of the search.
Rapid travel: the way made with the head up, from the exit of one variant to the entry of the next.
2-opt: a stretch of the order turned round. Or-opt: up to three stops moved elsewhere together, either way round.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING, Protocol

from cutpath.tolerances import POINT_MM

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Nodes = NDArray[np.int64]

_ROUNDS = 40  # of exchanges, at most; each round tries every exchange once
_LONGEST_MOVE = 3  # stops moved together
_SHORT = 45  # stops of a tour up to which plain sums are quicker than arrays, as measured
FEW_WAYS = 16  # from the variants of one stop to those of the next, likewise


@dataclass(frozen=True, slots=True)
class Network:
    """Variants and what it costs to go from one to the next, in mm.

    Attributes
    ----------
    stop : array of int, shape (n,)
        The stop of each variant.
    step : array, shape (n + 1, n)
        Row 0: from the start to each variant; row k + 1: from the exit of variant k. What a variant costs by itself
        is in its column.
    leave : array, shape (n,)
        From the exit of each variant to where the tour has to end; zeros where it may end anywhere.
    ins, outs : array, shape (n, 2)
        Where each variant is entered, and where it is left.
    """

    stop: Nodes
    step: Array
    leave: Array
    ins: Array
    outs: Array

    def turned(self) -> Nodes:
        """Return for each variant that of its stop which serves best where a stretch is run the other way round.

        Run so, a stop is entered near where it was left.
        """
        import numpy as np

        same = self.stop[:, None] == self.stop
        apart, (left, entered) = np.full(same.shape, np.inf), same.nonzero()
        apart[same] = lengths_mm(*(self.outs[left] - self.ins[entered]).T)
        turned: Nodes = apart.argmin(axis=1)
        return turned

    def cost_mm(self, tour: Sequence[int]) -> float:
        """Return what a tour of variants costs; it holds one at least."""
        rows = [0, *(k + 1 for k in tour[:-1])]
        ways = (self.step[a, b] for a, b in zip(rows, tour, strict=True))
        return math.fsum((*ways, self.leave[tour[-1]]))


def lengths_mm(dx: Array, dy: Array) -> Array:
    """Return the lengths of ways; `np.hypot` goes by the system's library in its last bits."""
    import numpy as np

    lengths: Array = np.sqrt(dx * dx + dy * dy)
    return lengths


def network(ins: Array, outs: Array, stop: Nodes, *, start: Array, end: Array | None, inside: Array) -> Network:
    """Return the network of variants with straight ways between them.

    Parameters
    ----------
    ins, outs : array, shape (n, 2)
        Entry and exit points, in mm.
    stop : array of int, shape (n,)
    start, end : array, shape (2,)
        Where the tour begins, and where it has to end; None: anywhere.
    inside : array, shape (n,)
        What each variant costs by itself, in mm.
    """
    import numpy as np

    exits = np.concatenate([[start], outs])
    step = lengths_mm(*(np.subtract.outer(a, b) for a, b in zip(exits.T, ins.T, strict=True))) + inside
    leave = np.zeros(len(ins)) if end is None else lengths_mm(*(outs - end).T)
    return Network(stop, step, leave, ins, outs)


def nearest_neighbour(net: Network) -> list[int]:
    """Return the tour that always goes on to the nearest variant of a stop not yet visited."""
    import numpy as np

    at, barred, tour = 0, np.zeros(len(net.stop)), []
    for _ in range(len(np.unique(net.stop))):
        k = int((net.step[at] + barred).argmin())
        tour.append(k)
        barred[net.stop == net.stop[k]] = np.inf
        at = k + 1
    return tour


def improved(net: Network, tour: Sequence[int]) -> list[int]:
    """Return a tour that neither 2-opt, Or-opt nor another choice of variants shortens, or that ran out of rounds."""
    of_stop: dict[int, list[int]] = {}
    stops = net.stop.tolist()
    for k, stop in enumerate(stops):
        of_stop.setdefault(stop, []).append(k)
    rows = [of_stop[stop] for stop in stops]
    turned = net.turned().tolist()
    ways = _OneByOne(net.step.tolist(), net.leave.tolist()) if len(tour) <= _SHORT else _AllAtOnce(net.step, net.leave)
    plain = ways.step if isinstance(ways, _OneByOne) else None
    best = _best_variants(net, plain, rows, tour)
    for _ in range(_ROUNDS):
        moved = _or_opt(ways, turned, _two_opt(ways, turned, best))
        if moved == best:
            break
        found = _best_variants(net, plain, rows, moved)
        if net.cost_mm(found) > net.cost_mm(best) - POINT_MM:
            break
        best = found
    return best


def _best_variants(
    net: Network, plain: list[list[float]] | None, rows: Sequence[list[int]], tour: Sequence[int]
) -> list[int]:
    """Choose the variant of every stop exactly, by dynamic programming, the order of stops being given.

    ``plain`` has the steps as lists, for short tours; ``rows`` all variants of its stop for each variant.
    """
    import numpy as np

    costs: list[float] = net.step[0].take(rows[tour[0]]).tolist()
    came: list[list[int]] = []
    for before, here in pairwise(rows[k] for k in tour):
        if plain is not None and len(before) * len(here) <= FEW_WAYS:
            outs = [plain[k + 1] for k in before]
            paid = [[cost + out[k] for cost, out in zip(costs, outs, strict=True)] for k in here]
            costs = list(map(min, paid))
            came.append([own.index(least) for own, least in zip(paid, costs, strict=True)])
        else:
            through = np.asarray(costs)[:, None] + net.step[np.asarray(before)[:, None] + 1, here]
            costs = through.min(axis=0).tolist()
            came.append(through.argmin(axis=0).tolist())
    last = rows[tour[-1]]
    ends = [cost + leave for cost, leave in zip(costs, net.leave.take(last).tolist(), strict=True)]
    pick = ends.index(min(ends))
    chosen = [last[pick]]
    for k, own in zip(reversed(tour[:-1]), reversed(came), strict=True):
        pick = own[pick]
        chosen.append(rows[k][pick])
    return chosen[::-1]


class _Ways(Protocol):
    """What exchanges gain and cost, in mm."""

    def turning(self, tour: Sequence[int], back: Sequence[int], i: int) -> list[float]:
        """Return what is gained where the stretch from ``i`` is turned round, for each of its last places.

        ``back`` has what serves in place of each variant of the tour, the other way round.
        """

    def held(self, tour: list[int]) -> _Held:
        """Return a tour as `moving` takes it."""

    def moving(self, held: _Held, i: int, bodies: Sequence[list[int]]) -> tuple[float, float, int, int]:
        """Find where stretches that could stand for that from ``i`` cost least, before, in and behind the rest.

        Returns
        -------
        stays, least, which, k
            What the first of ``bodies`` costs at ``i``; the least cost, of which of them, and before which of the rest.
        """


@dataclass(frozen=True, slots=True)
class _Held:
    """A tour; with plain sums also the steps on to each of its variants and from the last, and what those on cost."""

    tour: list[int]
    nodes: Nodes | None = None
    on: list[list[float]] = field(default_factory=list)
    paid: list[float] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _OneByOne:
    """Sums over plain lists, for short tours: there calls of numpy take longer than what they do."""

    step: list[list[float]]
    leave: list[float]

    def turning(self, tour: Sequence[int], back: Sequence[int], i: int) -> list[float]:
        step, leave = self.step, self.leave
        before, first, turned_on = step[tour[i - 1] + 1 if i else 0], tour[i], step[back[i] + 1]
        gains, forward, backward = [], 0.0, 0.0
        for j in range(i, len(tour) - 1):
            after = tour[j + 1]
            on = step[tour[j] + 1][after]
            gains.append((before[first] + forward + on) - (before[back[j]] + backward + turned_on[after]))
            forward, backward = forward + on, backward + step[back[j + 1] + 1][back[j]]
        gains.append((before[first] + forward + leave[tour[-1]]) - (before[back[-1]] + backward + leave[back[i]]))
        return gains

    def held(self, tour: list[int]) -> _Held:
        on = [self.step[0], *(self.step[k + 1] for k in tour)]
        return _Held(tour, on=on, paid=[row[k] for row, k in zip(on, tour, strict=False)])

    def moving(self, held: _Held, i: int, bodies: Sequence[list[int]]) -> tuple[float, float, int, int]:
        tour, on, after = held.tour, held.on, i + len(bodies[0])
        rest = tour[:i] + tour[after:]
        froms = on[: i + 1] + on[after + 1 :]
        joined = held.paid[:i] + [on[i][k] for k in tour[after : after + 1]] + held.paid[after + 1 :]
        found = []
        for body in bodies:
            first, behind, inner = body[0], self.step[body[-1] + 1], _inner_mm(self.step, body)
            paid = [
                row[first] + inner - direct + behind[k] for row, direct, k in zip(froms, joined, rest, strict=False)
            ]
            paid.append(froms[-1][first] + inner - self.leave[rest[-1]] + self.leave[body[-1]])
            found.append(paid)
        leasts = [min(paid) for paid in found]
        which = leasts.index(min(leasts))
        return found[0][i], leasts[which], which, found[which].index(leasts[which])


@dataclass(frozen=True, slots=True)
class _AllAtOnce:
    """The same sums, to the last bit, over arrays, for long tours."""

    step: Array
    leave: Array

    def turning(self, tour: Sequence[int], back: Sequence[int], i: int) -> list[float]:
        import numpy as np

        step, s, r = self.step, np.asarray(tour[i:]), np.asarray(back[i:])
        before, after = step[tour[i - 1] + 1 if i else 0], s[1:]
        on, forward, on_turned, backward = np.zeros((4, len(s)))
        on[:-1], on[-1] = step[s[:-1] + 1, after], self.leave[s[-1]]
        on_turned[:-1], on_turned[-1] = step[r[0] + 1].take(after), self.leave[r[0]]
        on[:-1].cumsum(out=forward[1:])
        step[r[1:] + 1, r[:-1]].cumsum(out=backward[1:])
        gains: list[float] = ((before[s[0]] + forward + on) - (before.take(r) + backward + on_turned)).tolist()
        return gains

    def held(self, tour: list[int]) -> _Held:
        import numpy as np

        return _Held(tour, np.asarray(tour))

    def moving(self, held: _Held, i: int, bodies: Sequence[list[int]]) -> tuple[float, float, int, int]:
        import numpy as np

        tour = np.asarray(held.nodes)
        after = np.concatenate((tour[:i], tour[i + len(bodies[0]) :]))
        ends = np.concatenate(((0,), after + 1))
        joined = np.empty(len(ends))
        joined[:-1], joined[-1] = self.step[ends[:-1], after], self.leave[after[-1]]
        stays, found = 0.0, []
        for which, body in enumerate(bodies):
            paid = self.step[:, body[0]].take(ends)
            paid += _inner_mm(self.step, body)
            paid -= joined
            paid[:-1] += self.step[body[-1] + 1].take(after)
            paid[-1] += self.leave[body[-1]]
            stays = float(paid[i]) if which == 0 else stays
            k = int(paid.argmin())
            found.append((float(paid[k]), which, k))
        least, which, k = min(found)
        return stays, least, which, k


def _inner_mm(step: Array | list[list[float]], body: Sequence[int]) -> float:
    """Return what a stretch costs inside, its first entry left out."""
    return 0.0 if len(body) == 1 else math.fsum(step[a + 1][b] for a, b in pairwise(body))


def _two_opt(ways: _Ways, turned: Sequence[int], tour: list[int]) -> list[int]:
    """Turn stretches round wherever that shortens the way."""
    back = [turned[k] for k in tour]
    for i in range(len(tour)):
        gains = ways.turning(tour, back, i)
        most = max(gains)
        if most > POINT_MM:
            j = i + gains.index(most)
            tour = [*tour[:i], *back[i : j + 1][::-1], *tour[j + 1 :]]
            back = [turned[k] for k in tour]
    return tour


def _or_opt(ways: _Ways, turned: Sequence[int], tour: list[int]) -> list[int]:
    """Move up to three stops together to wherever that shortens the way, either way round."""
    for size in range(1, min(_LONGEST_MOVE, len(tour) - 1) + 1):
        held = ways.held(tour)
        for i in range(len(tour) - size + 1):
            part = tour[i : i + size]
            reverse = [turned[k] for k in reversed(part)]
            bodies = (part,) if reverse == part else (part, reverse)
            stays, least, which, k = ways.moving(held, i, bodies)
            if least < stays - POINT_MM:
                rest = [*tour[:i], *tour[i + size :]]
                tour = [*rest[:k], *bodies[which], *rest[k:]]
                held = ways.held(tour)
    return tour
