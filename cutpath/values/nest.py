"""Blanks, rolls and the places of blanks on rolls.

Roll frame: x runs along the roll from the end that is drawn first, y across it from 0 to the roll's width.
A blank is flipped (x -> -x) if asked, turned about (0, 0) counter-clockwise, then moved by (x_mm, y_mm).
Blanks keep ``gap_mm`` from each other and ``edge_trim_mm`` from the roll's long edges and both cross-cuts.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import chain, pairwise

from cutpath.tolerances import POINT_MM
from cutpath.values.held import Held
from cutpath.values.pattern import Polyline

QUARTER_TURNS = (0.0, 90.0, 180.0, 270.0)
"""How a piece of a job may lie: plain lead sheet is alike along the roll and across it."""


class Objective(StrEnum):
    """What the nest makes least: lead drawn, or whole rolls bought; either less the worth of what is kept."""

    DRAWN = "drawn"
    BOUGHT = "bought"


STEPS_PER_SECOND = 5_000_000
"""Steps of the search for each second of a budget; many machines take more."""


@dataclass(frozen=True, slots=True)
class Budget(Held):
    """What a search may spend: either work or seconds.

    Attributes
    ----------
    work : int or None
        Steps for each thread. They are counted, and no clock is read, so that the same problem, work, seed and threads
        give the same nest on any machine, however busy.
    seconds : float or None
        Counted as `STEPS_PER_SECOND`, less what it takes to make the search ready; lists of few pieces, of which more
        steps are taken in a second, get a tenth more (`nesting/run.py`). A clock sees that a machine which
        is too slow or too busy for that ends in time; the nest is sound, but may then differ from run to run.
    """

    work: int | None = None
    seconds: float | None = None

    def __post_init__(self) -> None:
        wrong = []
        if (self.work is None) == (self.seconds is None):
            wrong.append(self.wrong("work, seconds", (self.work, self.seconds), "one of the two"))
        if self.seconds is not None and self.seconds < 0:
            wrong.append(self.wrong("seconds", self.seconds, "0 or more"))
        self.hold(wrong)

    @property
    def steps(self) -> int:
        """Steps for each thread, before anything is taken off for making ready."""
        return self.work if self.work is not None else round((self.seconds or 0.0) * STEPS_PER_SECOND)

    def part(self, share: float) -> Budget:
        """Return a share of the budget."""
        if self.work is not None:
            return Budget(work=round(self.work * share))
        return Budget(seconds=(self.seconds or 0.0) * share)


@dataclass(frozen=True, slots=True)
class Blank(Held):
    """A plain shape to be cut ``quantity`` times.

    Outline and holes are rings of points in mm, in either way round; ``turns_deg`` lists the turns that are allowed,
    in degrees, and ``may_flip`` lets it lie face down too.
    """

    id: str
    quantity: int
    outline: Polyline
    holes: tuple[Polyline, ...] = ()
    turns_deg: tuple[float, ...] = (0.0, 180.0)
    may_flip: bool = False

    def __post_init__(self) -> None:
        wrong = [
            self.wrong(name, ring, "three points or more, two numbers each")
            for name, rings in (("outline", (self.outline,)), ("holes", self.holes))
            for ring in rings
            if len(ring) < 3 or not all(len(point) == 2 and all(map(math.isfinite, point)) for point in ring)
        ]
        if not self.turns_deg or not all(map(math.isfinite, self.turns_deg)):
            wrong.append(self.wrong("turns_deg", self.turns_deg, "one turn or more, in degrees"))
        self.hold(wrong)


@dataclass(frozen=True, slots=True)
class Roll(Held):
    """A kind of roll on the list; ``quantity`` None means as many as wanted.

    ``material`` empty fits every lead. ``offcut`` marks a piece already owned, which is used first when it serves;
    ``owned`` a whole roll that is in stock. ``price`` is of a whole roll, None where nobody knows it. ``exact`` is
    False where nobody measured the length.
    """

    width_mm: float
    length_mm: float
    quantity: int | None = None
    material: str = ""
    offcut: bool = False
    name: str = ""
    owned: bool = False
    price: float | None = None
    exact: bool = True

    @property
    def in_stock(self) -> bool:
        """Whether nothing is bought for it."""
        return self.offcut or self.owned

    def is_of(self, material: str) -> bool:
        """Tell whether pieces of a material may be cut from it."""
        return self.material in ("", material)

    _over_zero = frozenset({"width_mm", "length_mm"})
    _from_zero = frozenset({"quantity"})


def mean_price(rolls: Iterable[Roll]) -> float | None:
    """Return the mean price of a mm2 of those rolls that may be bought; None where one of them has no price."""
    bought = [roll for roll in rolls if not roll.in_stock]
    prices = [roll.price / (roll.width_mm * roll.length_mm) for roll in bought if roll.price is not None]
    return math.fsum(prices) / len(prices) if prices and len(prices) == len(bought) else None


@dataclass(frozen=True, slots=True)
class OffcutRule(Held):
    """Which rectangles are worth keeping: least sides in mm, and worth as a share of new lead (0 to 1)."""

    least_length_mm: float = 300.0
    least_width_mm: float = 150.0
    worth: float = 0.5

    def __post_init__(self) -> None:
        self.hold(() if 0.0 <= self.worth <= 1.0 else [self.wrong("worth", self.worth, "from 0 to 1")])

    @property
    def sides_mm(self) -> tuple[float, float]:
        """Least sides, the longer first."""
        sides = self.least_length_mm, self.least_width_mm
        return max(sides), min(sides)

    def holds(self, one_mm: float, other_mm: float) -> bool:
        """Tell whether a rectangle with these sides is worth keeping."""
        long, short = self.sides_mm
        return max(one_mm, other_mm) >= long - POINT_MM and min(one_mm, other_mm) >= short - POINT_MM


Division = tuple[int, ...]
"""The joints at which a run is divided, ascending, with both of its ends: (0, ..., last)."""


@dataclass(frozen=True, slots=True)
class RunLength:
    """A length of a run from joint ``first`` to joint ``last``, laps included in the blank's outline."""

    first: int
    last: int
    blank: Blank


@dataclass(frozen=True, slots=True)
class RunChoice:
    """A run whose lengths the nest may choose.

    Attributes
    ----------
    id : str
    lengths : tuple of RunLength
        Every length that may be cut. A division is sound when each two joints that follow each other in it are the
        ends of one of these.
    even : Division
        The division that would be cut without a choice. A chosen one has as many lengths.
    """

    id: str
    lengths: tuple[RunLength, ...]
    even: Division

    def blanks(self, division: Division) -> tuple[Blank, ...]:
        """Return the lengths of a division, from the first joint up.

        Raises
        ------
        KeyError
            Two joints that follow each other are not the ends of a length.
        """
        by_ends = {(s.first, s.last): s.blank for s in self.lengths}
        return tuple(by_ends[ends] for ends in pairwise(division))

    def evenly(self) -> RunChoice:
        """Return the run with its even lengths only, so that nothing is left to choose."""
        ends = set(pairwise(self.even))
        return replace(self, lengths=tuple(s for s in self.lengths if (s.first, s.last) in ends))


@dataclass(frozen=True, slots=True)
class NestProblem(Held):
    """Everything a nest needs, for one material.

    Attributes
    ----------
    blanks : tuple of Blank
    rolls : tuple of Roll
    runs : tuple of RunChoice
        Runs that the nest divides as suits the rolls, on top of the blanks.
    gap_mm, edge_trim_mm : float
    offcuts : OffcutRule
    objective : Objective
    opening_mm2 : float
        What it costs to open a roll, beside its lead: as lead in mm2. Only least bought counts it.
    """

    blanks: tuple[Blank, ...]
    rolls: tuple[Roll, ...]
    gap_mm: float = 0.0
    edge_trim_mm: float = 0.0
    offcuts: OffcutRule = OffcutRule()
    objective: Objective = Objective.DRAWN
    runs: tuple[RunChoice, ...] = ()
    opening_mm2: float = 0.0

    _from_zero = frozenset({"opening_mm2"})

    @property
    def shapes(self) -> tuple[Blank, ...]:
        """Every blank that may lie on a roll: those given, then the lengths of each run."""
        return self.blanks + tuple(length.blank for run in self.runs for length in run.lengths)

    def to_cut(self) -> tuple[tuple[int, int], ...]:
        """Return the index in `shapes` and the quantity of everything to be cut while every run is divided evenly."""
        out = [(index, blank.quantity) for index, blank in enumerate(self.blanks)]
        at = len(self.blanks)
        for run in self.runs:
            index = {(s.first, s.last): at + i for i, s in enumerate(run.lengths)}
            out += [(index[ends], 1) for ends in pairwise(run.even)]
            at += len(run.lengths)
        return tuple(out)

    def divided(self, divisions: Sequence[Division] | None = None) -> NestProblem:
        """Return the problem with its runs divided (None: evenly), so that only blanks are left."""
        chosen = [run.even for run in self.runs] if divisions is None else divisions
        lengths = [run.blanks(joints) for run, joints in zip(self.runs, chosen, strict=True)]
        return replace(self, blanks=self.blanks + tuple(chain.from_iterable(lengths)), runs=())


@dataclass(frozen=True, slots=True)
class Placement:
    """One copy (counted from 1) of a blank on a roll."""

    id: str
    copy: int
    turn_deg: float
    flipped: bool
    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True)
class Offcut:
    """A kept rectangle on the drawn part of a roll: lower left corner, length along x, width along y."""

    x_mm: float
    y_mm: float
    length_mm: float
    width_mm: float

    @property
    def area_mm2(self) -> float:
        """Area of the rectangle in mm2."""
        return self.length_mm * self.width_mm


@dataclass(frozen=True, slots=True)
class NestedRoll:
    """One roll with what is cut from it; ``drawn_mm`` is the length up to the square cross-cut."""

    roll: Roll
    drawn_mm: float
    placements: tuple[Placement, ...]
    offcuts: tuple[Offcut, ...]


@dataclass(frozen=True, slots=True)
class Nest:
    """A whole result for one material.

    Attributes
    ----------
    rolls : tuple of NestedRoll
    pieces_mm2, drawn_mm2, offcuts_mm2 : float
        Area of all copies; roll width x length drawn; kept rectangles inside what was drawn.
    bound_mm2 : float
        No arrangement of these blanks on these rolls draws less than this.
    optimal : bool
        The bound was met.
    divisions : tuple of Division
        How each run of the problem was divided.
    """

    rolls: tuple[NestedRoll, ...]
    pieces_mm2: float
    drawn_mm2: float
    offcuts_mm2: float
    bound_mm2: float
    optimal: bool
    divisions: tuple[Division, ...] = ()

    @property
    def yield_ratio(self) -> float:
        """Area of pieces over area drawn; 1 when nothing was drawn."""
        return self.pieces_mm2 / self.drawn_mm2 if self.drawn_mm2 else 1.0
