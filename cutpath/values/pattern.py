"""A developed flat shape with everything that is cut, folded and marked on it.

Terminology
-----------
Weather face: the side that shows when the piece is fitted; patterns are drawn with it towards the viewer.
Fold forward: the moving part comes towards the viewer; fold back: it goes away from the viewer.
Fold angle: how far the sheet is bent out of the flat; 90 for a turn-in.
Snip: an open cut inside the outline that starts on the outline.
Thickness is neglected in the development (Sheet Metal Drafting, ch. 1).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

Point = tuple[float, float]
Polyline = tuple[Point, ...]


class FoldWay(StrEnum):
    """Which way the moving part goes, seen with the weather face towards the viewer."""

    FORWARD = "forward"
    BACK = "back"


class MarkKind(StrEnum):
    """What a mark line tells."""

    WATER_LINE = "water line"
    LAP = "lap"
    BOSSING = "bossing"
    ROLL = "wood-cored roll"
    CENTRE = "centre"


@dataclass(frozen=True, slots=True)
class Fold:
    """A fold line from ``start`` to ``end``; ``angle_deg`` out of the flat, 0 < angle < 180."""

    name: str
    start: Point
    end: Point
    angle_deg: float
    way: FoldWay


@dataclass(frozen=True, slots=True)
class Snip:
    """An open cut; its first point lies on the outline."""

    name: str
    points: Polyline


@dataclass(frozen=True, slots=True)
class Mark:
    """A line to be drawn, never cut."""

    name: str
    kind: MarkKind
    points: Polyline


@dataclass(frozen=True, slots=True)
class Station:
    """A point to be set out by hand: its name and place in the pattern frame."""

    name: str
    at: Point


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
    edges : tuple of str
        Name of the edge from point i to point i + 1.
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
    outline: Polyline
    edges: tuple[str, ...]
    holes: tuple[Polyline, ...]
    snips: tuple[Snip, ...]
    folds: tuple[Fold, ...]
    marks: tuple[Mark, ...]
    stations: tuple[Station, ...]
    label: LabelBox
    length_mm: float
    run_offset: Point
    mirrored: bool
