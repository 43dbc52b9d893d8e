"""A list and its mirror image are nested as one problem, and so draw the same lead.

Blanks are brought home: turned by 180 deg where that puts their outline first in order, with the lower left corner of
their box at (0, 0), and outlines begun at their least point. Of the list and its mirror image, that one is nested whose
outlines then come first. The way back mirrors rolls across their width, which turns every blank from t to 180 - t deg;
a list with a blank that may not be turned so is nested as it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from cutpath.nesting.shapes import turned
from cutpath.tolerances import COORDINATE_DECIMALS, FILE_DECIMALS
from cutpath.values.nest import Blank, Nest, NestedRoll, NestProblem, Placement
from cutpath.values.pattern import Point

_Ring = tuple[tuple[int, int], ...]
_STEPS_PER_MM = 10**COORDINATE_DECIMALS


@dataclass(frozen=True, slots=True)
class Home:
    """A problem brought home, and the way back.

    Attributes
    ----------
    problem : NestProblem
    mirrored : bool
    moves : dict
        By the id of a blank, the turn that brought it home, in degrees, and where its corner was then.
    """

    problem: NestProblem
    mirrored: bool
    moves: dict[str, tuple[float, Point]]

    def back(self, found: Nest) -> Nest:
        """Return a nest of `problem` as one of the problem that was given."""
        return replace(found, rolls=tuple(self._roll(nested) for nested in found.rolls)) if self.moves else found

    def _roll(self, nested: NestedRoll) -> NestedRoll:
        width = nested.roll.width_mm
        offcuts = nested.offcuts
        if self.mirrored:
            offcuts = tuple(replace(o, y_mm=width - o.y_mm - o.width_mm) for o in offcuts)
        return replace(nested, placements=tuple(self._placement(p, width) for p in nested.placements), offcuts=offcuts)

    def _placement(self, placed: Placement, width_mm: float) -> Placement:
        turn, corner = self.moves[placed.id]
        ((dx, dy),) = turned([corner], placed.turn_deg, flipped=placed.flipped)
        x, y = placed.x_mm - dx, placed.y_mm - dy
        turn += placed.turn_deg
        if self.mirrored:
            y, turn = width_mm - y, 180.0 - turn
        places = FILE_DECIMALS + 2
        return replace(placed, turn_deg=turn % 360.0, x_mm=round(x, places), y_mm=round(y, places))


def turned_over(found: Nest) -> Nest:
    """Return a nest with every piece face down: each roll's mirror image across its width, from the same end."""
    return replace(found, rolls=tuple(map(_roll_over, found.rolls)))


def _roll_over(nested: NestedRoll) -> NestedRoll:
    width = nested.roll.width_mm
    return replace(
        nested,
        placements=tuple(
            replace(p, flipped=not p.flipped, turn_deg=(180.0 - p.turn_deg) % 360.0, y_mm=width - p.y_mm)
            for p in nested.placements
        ),
        offcuts=tuple(replace(o, y_mm=width - o.y_mm - o.width_mm) for o in nested.offcuts),
    )


def at_home(problem: NestProblem) -> Home:
    """Bring a problem home; return it as it is where the turns of some blank leave no way back."""
    if not all(_closed(blank, -1.0) for blank in problem.shapes):
        return Home(problem, mirrored=False, moves={})
    mirrored = False
    for blank in problem.shapes:
        as_given, other = (_first(blank, mirrored=hand).rings for hand in (False, True))
        if as_given != other:
            mirrored = other < as_given
            break
    return _brought_home(problem, mirrored=mirrored)


def _closed(blank: Blank, sign: float) -> bool:
    """Tell whether for every allowed turn t, 180 deg + t, or 180 deg - t with ``sign`` -1, is allowed too."""
    turns = {turn % 360.0 for turn in blank.turns_deg}
    return all((180.0 + sign * turn) % 360.0 in turns for turn in turns)


def _brought_home(problem: NestProblem, *, mirrored: bool) -> Home:
    moves: dict[str, tuple[float, Point]] = {}

    def home(blank: Blank) -> Blank:
        first = _first(blank, mirrored=mirrored)
        moves[blank.id] = first.turn_deg, first.corner
        outline, *holes = (tuple((x / _STEPS_PER_MM, y / _STEPS_PER_MM) for x, y in ring) for ring in first.rings)
        return replace(blank, outline=outline, holes=tuple(holes))

    blanks = tuple(home(blank) for blank in problem.blanks)
    runs = tuple(
        replace(run, lengths=tuple(replace(length, blank=home(length.blank)) for length in run.lengths))
        for run in problem.runs
    )
    return Home(replace(problem, blanks=blanks, runs=runs), mirrored, moves)


@dataclass(frozen=True, slots=True)
class _First:
    """Rings at home in steps of the grid of drawings, the turn that brought them there, and their corner then."""

    rings: tuple[_Ring, ...]
    turn_deg: float
    corner: Point


def _first(blank: Blank, *, mirrored: bool) -> _First:
    """Bring a blank home; of the two half turns, that one whose rings come first."""
    hand = -1.0 if mirrored else 1.0
    rings = [[(hand * x, y) for x, y in ring] for ring in (blank.outline, *blank.holes)]
    x0, y0 = min(x for x, _ in rings[0]), min(y for _, y in rings[0])
    x1, y1 = max(x for x, _ in rings[0]), max(y for _, y in rings[0])
    steps = [[(round((x - x0) * _STEPS_PER_MM), round((y - y0) * _STEPS_PER_MM)) for x, y in r] for r in rings]
    as_given = _First(_in_order(steps), 0.0, (x0, y0))
    if not _closed(blank, 1.0):
        return as_given
    long, wide = round((x1 - x0) * _STEPS_PER_MM), round((y1 - y0) * _STEPS_PER_MM)
    turned_over = _in_order([[(long - x, wide - y) for x, y in ring] for ring in steps])
    return as_given if as_given.rings <= turned_over else _First(turned_over, 180.0, (-x1, -y1))


def _in_order(rings: Sequence[Sequence[tuple[int, int]]]) -> tuple[_Ring, ...]:
    """Return rings counter-clockwise, each from its least point, holes sorted."""
    outline, *holes = (_begun_at_least(ring) for ring in rings)
    return (outline, *sorted(holes))


def _begun_at_least(ring: Sequence[tuple[int, int]]) -> _Ring:
    double_area = sum(xa * yb - xb * ya for (xa, ya), (xb, yb) in zip(ring, (*ring[1:], ring[0]), strict=True))
    points = tuple(ring) if double_area >= 0 else tuple(reversed(ring))
    least = points.index(min(points))
    return points[least:] + points[:least]
