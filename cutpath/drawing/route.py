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
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from cutpath.tolerances import POINT_MM

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Nodes = NDArray[np.int64]

_ROUNDS = 40  # of exchanges, at most; each round tries every exchange once
_LONGEST_MOVE = 3  # stops moved together


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
    turned : array of int, shape (n,)
        The variant of the same stop that serves best where a stretch is run the other way round.
    """

    stop: Nodes
    step: Array
    leave: Array
    turned: Nodes

    def cost_mm(self, tour: Sequence[int]) -> float:
        """Return what a tour of variants costs; it holds one at least."""
        rows = [0, *(k + 1 for k in tour[:-1])]
        ways = (self.step[a, b] for a, b in zip(rows, tour, strict=True))
        return math.fsum((*ways, self.leave[tour[-1]]))


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
    step = np.hypot(*(exits[:, None, :] - ins[None, :, :]).transpose(2, 0, 1)) + inside
    leave = np.zeros(len(ins)) if end is None else np.hypot(*(outs - end).T)
    # Run the other way round, a stop is entered near where it was left.
    apart = np.hypot(*(outs[:, None, :] - ins[None, :, :]).transpose(2, 0, 1))
    apart[stop[:, None] != stop[None, :]] = np.inf
    return Network(stop, step, leave, apart.argmin(axis=1))


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
    best = best_variants(net, tour)
    for _ in range(_ROUNDS):
        moved = _or_opt(net, _two_opt(net, best))
        if moved == best:
            break
        found = best_variants(net, moved)
        if net.cost_mm(found) > net.cost_mm(best) - POINT_MM:
            break
        best = found
    return best


def best_variants(net: Network, tour: Sequence[int]) -> list[int]:
    """Choose the variant of every stop exactly, by dynamic programming, the order of stops being given."""
    import numpy as np

    rows = [np.flatnonzero(net.stop == net.stop[k]) for k in tour]
    costs = net.step[0, rows[0]]
    came: list[Nodes] = []
    for before, here in pairwise(rows):
        through = costs[:, None] + net.step[np.ix_(before + 1, here)]
        came.append(through.argmin(axis=0))
        costs = through.min(axis=0)
    pick = int((costs + net.leave[rows[-1]]).argmin())
    chosen = [int(rows[-1][pick])]
    for n in range(len(came) - 1, -1, -1):
        pick = int(came[n][pick])
        chosen.append(int(rows[n][pick]))
    return chosen[::-1]


def _two_opt(net: Network, tour: list[int]) -> list[int]:
    """Turn stretches round wherever that shortens the way."""
    import numpy as np

    step, turned = net.step, net.turned
    for i in range(len(tour)):
        s = np.asarray(tour)
        r = turned[s]
        before = s[i - 1] + 1 if i else 0
        forward = np.concatenate([[0.0], np.cumsum(step[s[i:-1] + 1, s[i + 1 :]])])
        backward = np.concatenate([[0.0], np.cumsum(step[r[i + 1 :] + 1, r[i:-1]])])
        old = step[before, s[i]] + forward + _on(net, s[i:], s[i + 1 :])
        new = step[before, r[i:]] + backward + _on(net, np.full(len(s) - i, r[i]), s[i + 1 :])
        gain = old - new
        j = int(gain.argmax())
        if gain[j] > POINT_MM:
            tour = [*tour[:i], *r[i : i + j + 1][::-1].tolist(), *tour[i + j + 1 :]]
    return tour


def _on(net: Network, last: Nodes, after: Nodes) -> Array:
    """Return the cost from each of ``last`` on to the one that follows it, and from the last of them to the end."""
    import numpy as np

    return np.append(net.step[last[:-1] + 1, after], net.leave[last[-1]])


def _or_opt(net: Network, tour: list[int]) -> list[int]:
    """Move up to three stops together to wherever that shortens the way, either way round."""
    import numpy as np

    step, leave = net.step, net.leave
    n = len(tour)
    for size in range(1, min(_LONGEST_MOVE, n - 1) + 1):
        for i in range(n - size + 1):
            part, rest = tour[i : i + size], np.asarray([*tour[:i], *tour[i + size :]])
            ends = np.concatenate([[0], rest + 1])
            joined = np.append(step[ends[:-1], rest], leave[rest[-1]])
            bodies = list(_both_ways(net, part))
            best: tuple[float, int, list[int]] | None = None
            for body, inner in bodies:
                paid = step[ends, body[0]] + inner - joined
                paid[:-1] += step[body[-1] + 1, rest]
                paid[-1] += leave[body[-1]]
                k = int(paid.argmin())
                if best is None or paid[k] < best[0]:
                    best = (float(paid[k]), k, body)
                if body is bodies[0][0]:
                    now = float(paid[i])
            if best is not None and best[0] < now - POINT_MM:
                kept = rest.tolist()
                tour = [*kept[: best[1]], *best[2], *kept[best[1] :]]
    return tour


def _both_ways(net: Network, part: list[int]) -> Iterator[tuple[list[int], float]]:
    """Yield a stretch as it is and turned round, each with what it costs inside, first entry left out."""
    for body in (part, net.turned[part][::-1].tolist()):
        yield body, float(math.fsum(net.step[a + 1, b] for a, b in pairwise(body)))
