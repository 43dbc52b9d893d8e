"""A finished nest made tidy for hands: like pieces the same way round, pieces of one job together; no lead moves.

What is cut stays where it is; only which of two like pieces lies in a place changes, and how a piece that looks the
same after a half turn is said to be turned. So nothing is longer than before, whatever the search found.

* **Like pieces the same way round.** A soaker, or any piece that a half turn brings back onto itself, is turned by 0 or
  90 deg, never by 180 or 270, so that its fold and its number stand on the same side all along a row and one chalk
  line serves them all.
* **One job together.** Like outlines of several jobs lie wherever the search put them. They are dealt out in the order
  of the list, in which the pieces of a job and of a wall follow each other, along the rolls.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace

from cutpath.nesting.shapes import turned
from cutpath.tolerances import FILE_DECIMALS
from cutpath.values.nest import Blank, Nest, NestedRoll, NestProblem, Placement
from cutpath.values.pattern import Point, Polyline

_HALF = 180.0
_Ring = tuple[tuple[int, int], ...]
_Likeness = tuple[tuple[_Ring, ...], tuple[float, ...], bool]


def tidy(problem: NestProblem, found: Nest) -> Nest:
    """Return the nest with like pieces the same way round and dealt out in the order of the list."""
    blanks = {blank.id: blank for blank in problem.shapes}
    rolls = [replace(r, placements=tuple(_facing(blanks[p.id], p) for p in r.placements)) for r in found.rolls]
    return replace(found, rolls=_dealt(problem.blanks, rolls))


def _facing(blank: Blank, placed: Placement) -> Placement:
    """Return the placement of a piece that a half turn brings back onto itself turned by less than 180 deg."""
    turn = placed.turn_deg % 360.0
    if turn < _HALF or all(t % 360.0 != turn - _HALF for t in blank.turns_deg):
        return placed
    before = [turned(ring, turn, flipped=placed.flipped) for ring in (blank.outline, *blank.holes)]
    after = [turned(ring, turn - _HALF, flipped=placed.flipped) for ring in (blank.outline, *blank.holes)]
    (ax, ay), (bx, by) = _corner(before[0]), _corner(after[0])
    if _rings(before, (ax, ay)) != _rings(after, (bx, by)):
        return placed
    places = FILE_DECIMALS + 2
    x, y = round(placed.x_mm + ax - bx, places), round(placed.y_mm + ay - by, places)
    return replace(placed, turn_deg=turn - _HALF, x_mm=x, y_mm=y)


def _corner(ring: Iterable[Point]) -> Point:
    xs, ys = zip(*ring, strict=True)
    return min(xs), min(ys)


def _rings(rings: Sequence[Iterable[Point]], corner: Point) -> tuple[_Ring, ...]:
    """Return rings from their corner in steps of files, each as the set of its points in order round it."""
    steps = 10**FILE_DECIMALS
    out = []
    for ring in rings:
        points = _corners([(round((x - corner[0]) * steps), round((y - corner[1]) * steps)) for x, y in ring])
        first = points.index(min(points))
        out.append(tuple(points[first:] + points[:first]))
    return tuple(sorted(out))


def _corners(ring: _Ring | list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return a ring without the points where it goes straight on, such as the ends of folds."""
    before, after = (*ring[-1:], *ring[:-1]), (*ring[1:], *ring[:1])
    return [
        (x, y)
        for (xa, ya), (x, y), (xb, yb) in zip(before, ring, after, strict=True)
        if (x - xa) * (yb - y) != (y - ya) * (xb - x)
    ]


def _likeness(blank: Blank) -> _Likeness:
    steps = 10 ** (FILE_DECIMALS + 2)

    def ring(points: Polyline) -> _Ring:
        return tuple(_corners([(round(x * steps), round(y * steps)) for x, y in points]))

    return (ring(blank.outline), *map(ring, blank.holes)), blank.turns_deg, blank.may_flip


def _dealt(blanks: Sequence[Blank], rolls: Sequence[NestedRoll]) -> tuple[NestedRoll, ...]:
    """Deal like blanks out over their places, along each roll and roll by roll, in the order of the list."""
    likeness = {blank.id: _likeness(blank) for blank in blanks}
    waiting: dict[_Likeness, list[tuple[str, int]]] = defaultdict(list)
    for blank in blanks:
        waiting[likeness[blank.id]] += [(blank.id, copy) for copy in range(1, blank.quantity + 1)]
    turns = {key: iter(names) for key, names in waiting.items()}

    def anew(placed: Placement) -> Placement:
        if placed.id not in likeness:
            return placed
        name, copy = next(turns[likeness[placed.id]])
        return replace(placed, id=name, copy=copy)

    return tuple(
        replace(r, placements=tuple(anew(p) for p in sorted(r.placements, key=lambda p: (p.x_mm, p.y_mm))))
        for r in rolls
    )
