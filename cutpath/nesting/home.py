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
from cutpath.values.pattern import Point, Polyline

_Rings = tuple[Polyline, ...]


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
        """Give a nest of `problem` as one of the problem that was given."""
        return replace(found, rolls=tuple(self._roll(nested) for nested in found.rolls)) if self.moves else found

    def _roll(self, nested: NestedRoll) -> NestedRoll:
        width = nested.roll.width_mm
        offcuts = nested.offcuts
        if self.mirrored:
            offcuts = tuple(replace(o, y_mm=width - o.y_mm - o.width_mm) for o in offcuts)
        return replace(
            nested, placements=tuple(self._placement(p, width) for p in nested.placements), offcuts=offcuts
        )

    def _placement(self, placed: Placement, width_mm: float) -> Placement:
        turn, corner = self.moves[placed.id]
        ((dx, dy),) = turned([corner], placed.turn_deg, flipped=placed.flipped)
        x, y = placed.x_mm - dx, placed.y_mm - dy
        turn += placed.turn_deg
        if self.mirrored:
            y, turn = width_mm - y, 180.0 - turn
        places = FILE_DECIMALS + 2
        return replace(placed, turn_deg=turn % 360.0, x_mm=round(x, places), y_mm=round(y, places))


def at_home(problem: NestProblem) -> Home:
    """Bring a problem home; give it as it is where the turns of some blank leave no way back."""
    if not all(_closed(blank, -1.0) for blank in problem.shapes):
        return Home(problem, mirrored=False, moves={})
    as_given, mirrored = (_brought_home(problem, mirrored=mirrored) for mirrored in (False, True))
    first = [[(blank.outline, blank.holes) for blank in home.problem.shapes] for home in (as_given, mirrored)]
    return mirrored if first[1] < first[0] else as_given


def _closed(blank: Blank, sign: float) -> bool:
    """Tell whether for every allowed turn t, 180 deg + t, or 180 deg - t with ``sign`` -1, is allowed too."""
    turns = {turn % 360.0 for turn in blank.turns_deg}
    return all((180.0 + sign * turn) % 360.0 in turns for turn in turns)


def _brought_home(problem: NestProblem, *, mirrored: bool) -> Home:
    moves: dict[str, tuple[float, Point]] = {}

    def home(blank: Blank) -> Blank:
        rings, turn, corner = _first(blank, mirrored=mirrored)
        moves[blank.id] = turn, corner
        return replace(blank, outline=rings[0], holes=rings[1:])

    blanks = tuple(home(blank) for blank in problem.blanks)
    runs = tuple(
        replace(run, sections=tuple(replace(section, blank=home(section.blank)) for section in run.sections))
        for run in problem.runs
    )
    return Home(replace(problem, blanks=blanks, runs=runs), mirrored, moves)


def _first(blank: Blank, *, mirrored: bool) -> tuple[_Rings, float, Point]:
    """Give the rings of a blank at home, the turn that brought it there, and where its corner was then."""
    ways: list[tuple[_Rings, float, Point]] = []
    for turn in (0.0, 180.0) if _closed(blank, 1.0) else (0.0,):
        rings = [turned(ring, turn, flipped=mirrored) for ring in (blank.outline, *blank.holes)]
        x0, y0 = min(x for x, _ in rings[0]), min(y for _, y in rings[0])
        outline, *holes = (_ring([(x - x0, y - y0) for x, y in ring]) for ring in rings)
        ways.append(((outline, *sorted(holes)), turn, (x0, y0)))
    return min(ways)


def _ring(points: Sequence[Point]) -> Polyline:
    """Give a ring counter-clockwise from its least point, on the grid of drawings."""
    grid = [(round(x, COORDINATE_DECIMALS), round(y, COORDINATE_DECIMALS)) for x, y in points]
    area = sum(xa * yb - xb * ya for (xa, ya), (xb, yb) in zip(grid, (*grid[1:], grid[0]), strict=True))
    if area < 0.0:
        grid.reverse()
    least = grid.index(min(grid))
    return tuple(grid[least:] + grid[:least])
