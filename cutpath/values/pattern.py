"""A developed flat shape with everything that is cut, folded and marked on it.

Terminology
-----------
Weather face: the side that shows when the piece is fitted; patterns are drawn with it towards the viewer.
Fold forward: the moving part comes towards the viewer; fold back: it goes away from the viewer.
Fold angle: how far the sheet is bent out of the flat; 90 for a turn-in.
Snip: an open cut inside the outline that starts on the outline.
Name: what people read on tickets and pictures. What a feature is, is told by its use, joint and side; no code reads
names.
Thickness is neglected in the development (Sheet Metal Drafting, ch. 1).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

Point = tuple[float, float]
Polyline = tuple[Point, ...]


class FoldWay(StrEnum):
    """Which way the moving part goes, seen with the weather face towards the viewer."""

    FORWARD = "forward"
    BACK = "back"

    @property
    def turned(self) -> FoldWay:
        """The way as it is seen with the weather face down."""
        return FoldWay.BACK if self is FoldWay.FORWARD else FoldWay.FORWARD


class Side(StrEnum):
    """Of two alike, which one: left or right as the pattern is developed, or the roof of a valley."""

    LEFT = "left"
    RIGHT = "right"
    FIRST_ROOF = "first roof"
    SECOND_ROOF = "second roof"


class FoldUse(StrEnum):
    """What a fold is for."""

    STEP_TURN_IN = "turn-in of a step"
    TURN_IN = "turn-in"
    RETURN_TURN_IN = "turn-in of a return"
    ARRIS = "arris"
    ROOF_LINE = "roof line"
    CHANGE_OF_PITCH = "change of pitch"
    FRONT = "front"
    WALL = "wall"
    SOLE = "sole"
    FILLET_FOOT = "foot of a fillet"
    FILLET_CREST = "crest of a fillet"
    FILLET_BACK = "back of a fillet"
    STOP_END = "stop end"
    UPSTAND = "upstand"
    TURN_DOWN = "turn-down"
    OUTER_EDGE = "outer edge"
    RIDGE = "ridge"
    VALLEY = "middle of a valley"
    OWN = "of the user's own"


TURN_INS = frozenset({FoldUse.STEP_TURN_IN, FoldUse.TURN_IN, FoldUse.RETURN_TURN_IN})
"""Folds by which lead enters a joint or chase."""

OVER_FILLET = (FoldUse.FILLET_FOOT, FoldUse.FILLET_CREST, FoldUse.FILLET_BACK)
"""Folds over a tilting fillet, from the gutter up."""


class EdgeUse(StrEnum):
    """What an edge is.

    Of the two edges that meet in a welded seam, ``WELD`` is the one that counts its length, ``WELD_BESIDE`` the other.
    """

    ROOF_LINE = "on the roof line"
    COVER = "cover edge"
    FREE = "free edge"
    COVERED = "under the covering"
    END = "end"
    HEAD = "head"
    TOP = "top"
    TURN_IN = "turn-in"
    RETURN_TURN_IN = "turn-in of a return"
    RISER = "riser"
    MITRE = "mitre"
    ARRIS = "arris"
    RETURN_FOOT = "foot of a return"
    RETURN_END = "end of a return"
    TONGUE = "tongue"
    WELD = "weld"
    WELD_BESIDE = "weld, counted at its other edge"
    SEAM_OVER = "seam, over"
    SEAM_UNDER = "seam, under"
    OWN = "of the user's own"


LIES_OPEN = frozenset({EdgeUse.COVER, EdgeUse.FREE})
"""Edges that the wind could lift."""

WELDS = frozenset({EdgeUse.WELD, EdgeUse.WELD_BESIDE})
"""Edges that meet another one, to be welded."""

SEAMS = frozenset({EdgeUse.SEAM_OVER, EdgeUse.SEAM_UNDER})
"""Edges of a sleeve that lie on each other, to be welded."""


class SnipUse(StrEnum):
    """What a snip is for: to free a part that is folded, or to open the sheet where it is welded or the user wants."""

    FREES = "frees a fold"
    CUT = "cut"


class MarkKind(StrEnum):
    """What a mark line tells."""

    WATER_LINE = "water line"
    LAP = "lap"
    BOSSING = "bossing"
    ROLL = "wood-cored roll"
    CENTRE = "centre"


class MarkUse(StrEnum):
    """What ends or begins at a mark, where its kind leaves that open; below is also on the left, above on the right."""

    LENGTH_BELOW = "end of the length below"
    LENGTH_ABOVE = "start of the length above"
    BOTH_LENGTHS = "end of the length below, start of the length above"
    TONGUE_ABOVE = "end of the tongue above"
    CHANGE_OF_PITCH = "change of pitch"
    SEAM = "other edge of a seam"
    UNDERCLOAK = "undercloak beyond the foot of a roll"
    OVERCLOAK = "overcloak beyond the foot of a roll"


class StationUse(StrEnum):
    """Where a station stands; of a fold, ``START`` and ``END`` from left to right, or from its foot up."""

    START = "start of a fold"
    END = "end of a fold"
    RISER_FOOT = "foot of a riser"
    TOP_START = "start of the top of a turn-in"
    TOP_END = "end of the top of a turn-in"
    LOWER_END = "lower end at the roof"
    UPPER_END = "upper end at the roof"
    CHANGE_OF_PITCH = "change of pitch at the roof"
    OPEN_EDGE_START = "start of a cover edge or free edge"
    OPEN_EDGE_END = "end of a cover edge or free edge"
    TONGUE_FOOT = "foot of a tongue's end"
    TONGUE_TOOTH = "tooth at the change of pitch"
    TONGUE_COVER_WALL = "end of a tongue's cover at the wall"
    TONGUE_COVER_EDGE = "end of a tongue's cover at the cover edge"
    RETURN_FOOT = "outer foot of a return"
    ROLL_FOOT = "foot of a roll"
    GUSSET_TIP = "tip of a gusset"
    GUSSET_ARRIS = "arris, on a gusset"
    GUSSET_HEEL = "lower end of a gusset at the return"
    HOLE_SIDE = "side of a hole"
    HOLE_LOW = "lower end of a hole"
    HOLE_HIGH = "upper end of a hole"
    SLEEVE_FOOT = "foot of a sleeve"


class PartKind(StrEnum):
    """What a pattern is of its detail."""

    LENGTH = "length of a run"
    CORNER_PIECE = "corner piece"
    GUSSET = "gusset"
    BASE = "base"
    SLEEVE = "sleeve"
    SOAKER = "soaker"
    SADDLE = "saddle"
    PLAIN = "plain outline"


RUN_PARTS = frozenset({PartKind.LENGTH, PartKind.CORNER_PIECE})
"""Parts that follow each other along a run."""


class Stance(StrEnum):
    """How a part is fitted: upright on a wall, so that some are best looked at from high up, or lying on a roof."""

    UPRIGHT = "upright"
    BEFORE_A_ROOF = "upright, with a roof rising before it"
    LYING = "lying"


class Course(StrEnum):
    """In which order the parts of a detail are fitted."""

    UP = "from the bottom up"
    LEVEL = "from the left"


@dataclass(frozen=True, slots=True)
class Fold:
    """A fold line from ``start`` to ``end``; ``angle_deg`` out of the flat, 0 < angle < 180.

    ``joint`` is the number of the bed joint into which it turns, ``side`` which of two alike it is.
    """

    name: str
    use: FoldUse
    start: Point
    end: Point
    angle_deg: float
    way: FoldWay
    joint: int | None = None
    side: Side | None = None

    @property
    def is_turn_in(self) -> bool:
        """Whether lead enters a joint or chase by it."""
        return self.use in TURN_INS


@dataclass(frozen=True, slots=True)
class Edge:
    """What an edge of the outline is; ``joint`` as of a fold."""

    name: str
    use: EdgeUse
    joint: int | None = None


@dataclass(frozen=True, slots=True)
class Snip:
    """An open cut; its first point lies on the outline."""

    name: str
    points: Polyline
    use: SnipUse = SnipUse.FREES


@dataclass(frozen=True, slots=True)
class Mark:
    """A line to be drawn, never cut."""

    name: str
    kind: MarkKind
    points: Polyline
    use: MarkUse | None = None
    side: Side | None = None


@dataclass(frozen=True, slots=True)
class Station:
    """A point to be set out by hand: its name and place in the pattern frame.

    Attributes
    ----------
    fold : FoldUse or None
        The fold that it is an end of.
    number : int or None
        Of a bed joint; of a sleeve's foot, how many eighths round it.
    """

    name: str
    use: StationUse
    at: Point
    fold: FoldUse | None = None
    number: int | None = None
    side: Side | None = None

    @property
    def what(self) -> StationKey:
        """All that tells it from the other stations of a pattern, but for its name."""
        return self.use, self.fold, self.number, self.side


StationKey = tuple[StationUse, FoldUse | None, int | None, Side | None]


@dataclass(frozen=True, slots=True)
class LabelBox:
    """Where lettering may stand: a rectangle from ``corner``, ``width`` along ``turn_deg``, ``height`` square to it."""

    corner: Point
    turn_deg: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class FlatPattern:
    """A flat pattern in its own frame: mm, the straight (lower) edge along x, lowest point at y = 0, leftmost at x = 0.

    Attributes
    ----------
    family : str
        The trade's name of what it is, such as ``step flashing``, ``soaker``, ``gusset`` or ``outline``.
    outline : tuple of Point
        Counter-clockwise, open (the last point is not the first again), simple.
    part : PartKind
    stance : Stance
    course : Course or None
        None where the parts of a detail follow in no order.
    edges : tuple of Edge
        The edge from point i to point i + 1.
    holes : tuple of tuple of Point
        Clockwise.
    snips, folds, marks, stations, label
    length_mm : float
        The developed length that the limits are held against.
    run_offset : Point
        Right-handed run frame = (pattern point, mirrored back if ``mirrored``) + ``run_offset``.
    mirrored : bool
        True for a left hand.
    """

    family: str
    part: PartKind
    outline: Polyline
    edges: tuple[Edge, ...]
    holes: tuple[Polyline, ...]
    snips: tuple[Snip, ...]
    folds: tuple[Fold, ...]
    marks: tuple[Mark, ...]
    stations: tuple[Station, ...]
    label: LabelBox
    length_mm: float
    run_offset: Point
    mirrored: bool
    stance: Stance = Stance.UPRIGHT
    course: Course | None = None

    def sides(self) -> Iterator[tuple[Edge, Point, Point]]:
        """Iterate over the edges of the outline with their ends."""
        for i, edge in enumerate(self.edges):
            yield edge, self.outline[i], self.outline[(i + 1) % len(self.outline)]
