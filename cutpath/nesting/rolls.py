"""Bundles onto rolls: one behind another, on as few rolls as can be."""

from __future__ import annotations

from collections.abc import Sequence

from cutpath.nesting.assemble import CutRoll, Lay
from cutpath.nesting.fit import rolls_run_out
from cutpath.nesting.model import Bundle, Model, lays_of
from cutpath.nesting.shapes import Room
from cutpath.nesting.stock import Supply
from cutpath.values.nest import NestProblem

_MOST_TRIES = 20_000
_MOST_SEARCHED = 200


def onto_rolls(
    problem: NestProblem, model: Model, supply: Supply, rooms: Sequence[Room], bundles: Sequence[Bundle]
) -> list[tuple[int, list[Bundle]]]:
    """Lay bundles on the fewest rolls, as (room, bundles); each roll is then the shortest of its width for them.

    Raises
    ------
    Refused
        CP502 when counted rolls do not suffice.
    """  # noqa: DOC501 - a helper makes it
    opened: list[tuple[int, list[Bundle]]] = []
    left: list[Bundle] = []
    for entry, choices in enumerate(supply.rooms):
        mine = sorted((s for s in bundles if s.roll == entry), key=lambda s: -s.length)
        if not choices:
            left += mine
            continue
        longest = max(rooms[r].length for r in choices)
        bins = [[mine[i] for i in held] for held in fewest_bins([s.length for s in mine], longest)]
        number = rooms[choices[0]].roll.quantity
        if number is not None and len(bins) > number:
            left += [bundle for lost in bins[number:] for bundle in lost]
            bins = bins[:number]
        for held in bins:
            room = min((r for r in choices if rooms[r].length >= _long(held)), key=lambda r: rooms[r].length)
            opened.append((room, held))
    if left:
        raise rolls_run_out(_names(problem, model, left))
    return opened


def cut_roll(model: Model, room: int, bundles: Sequence[Bundle]) -> CutRoll:
    """Lay bundles one behind another on a roll of a kind (index of its room)."""
    return CutRoll(room, tuple(_in_a_row(model, bundles)))


def fewest_bins(lengths: Sequence[int], most: int) -> list[list[int]]:
    """Return the indices of ``lengths``, which descend, in the fewest bins that hold ``most`` each; none is longer.

    First fit decreasing, and where that takes more bins than the sum of lengths asks for, a search for one bin less
    at a time. The search gives up after `_MOST_TRIES`, and leaves more than `_MOST_SEARCHED` lengths as they are.
    """
    import numpy as np

    bins: list[list[int]] = []
    left = np.full(len(lengths), most, dtype=np.int64)
    for i, length in enumerate(lengths):
        home = int(np.argmax(left >= length))
        left[home] -= length
        if home == len(bins):
            bins.append([])
        bins[home].append(i)
    while len(lengths) <= _MOST_SEARCHED and len(bins) > -(-sum(lengths) // most):
        fewer = _in_bins(lengths, most, len(bins) - 1)
        if fewer is None:
            break
        bins = fewer
    return bins


def _in_bins(lengths: Sequence[int], most: int, count: int) -> list[list[int]] | None:
    """Put lengths in ``count`` bins; None when that cannot be done, or was not found in time."""
    left = [most] * count
    bins: list[list[int]] = [[] for _ in range(count)]
    tries = 0

    def put(i: int) -> bool:
        nonlocal tries
        if i == len(lengths):
            return True
        tries += 1
        for b in sorted({room: b for b, room in enumerate(left) if room >= lengths[i]}.values(), key=lambda b: left[b]):
            left[b] -= lengths[i]
            bins[b].append(i)
            if tries <= _MOST_TRIES and put(i + 1):
                return True
            left[b] += lengths[i]
            bins[b].pop()
        return False

    return bins if put(0) else None


def _long(bundles: Sequence[Bundle]) -> int:
    return sum(bundle.length for bundle in bundles)


def _in_a_row(model: Model, bundles: Sequence[Bundle]) -> list[Lay]:
    lays: list[Lay] = []
    along = 0
    for bundle in bundles:
        lays += [Lay(v.form, v.x + along, v.y) for v in lays_of(model, bundle)]
        along += bundle.length
    return lays


def _names(problem: NestProblem, model: Model, bundles: Sequence[Bundle]) -> list[str]:
    codes = [int(code) for bundle in bundles for lane in bundle.lanes for code in lane.codes]
    shapes = problem.shapes
    return [shapes[blank].id for blank in sorted(model.forms[code >> 1].blank for code in codes)]
