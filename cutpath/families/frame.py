"""From a shape drawn in a run's own frame to a finished flat pattern in the pattern frame."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeVar

from cutpath import sure
from cutpath.plane import bounds_mm, mirrored, moved, same_point
from cutpath.values.pattern import (
    Course,
    Edge,
    FlatPattern,
    Fold,
    LabelBox,
    Mark,
    MarkKind,
    MarkUse,
    PartKind,
    Point,
    Polyline,
    Snip,
    Stance,
    Station,
)

T = TypeVar("T")

LABEL_CLEAR_MM = 8.0
"""Lettering keeps this far from cuts, folds and marks; common practice, no source."""


def label_in(left_mm: float, low_mm: float, width_mm: float, height_mm: float) -> LabelBox:
    """Return the room for lettering in a rectangle, clear of its sides; 1 mm either way where they leave none."""
    clear = LABEL_CLEAR_MM
    return LabelBox(
        (left_mm + clear, low_mm + clear), 0.0, max(width_mm - 2 * clear, 1.0), max(height_mm - 2 * clear, 1.0)
    )


def between_laps(
    laps_mm: tuple[float | None, float | None], ends_mm: tuple[float, float], height_mm: float
) -> tuple[float, float]:
    """Return between which places along a length lettering stands: its lap marks, or its ends.

    Its ends where the marks leave less than twice the height of the part on which it stands.
    """
    start, end = (end if lap is None else lap for lap, end in zip(laps_mm, ends_mm, strict=True))
    return ends_mm if end - start < 2 * height_mm else (start, end)


@dataclass(frozen=True, slots=True)
class Shape:
    """A right-handed shape in the run frame; ``sides`` pairs each outline point with the edge it starts."""

    family: str
    part: PartKind
    sides: tuple[tuple[Point, Edge], ...]
    folds: tuple[Fold, ...]
    label: LabelBox
    length_mm: float
    snips: tuple[Snip, ...] = ()
    marks: tuple[Mark, ...] = ()
    stations: tuple[Station, ...] = ()
    holes: tuple[Polyline, ...] = ()
    stance: Stance = Stance.UPRIGHT
    course: Course | None = None


def to_pattern(shape: Shape) -> FlatPattern:
    """Move a right-handed shape so that its lowest and leftmost points are at 0, and remember the move.

    The outline must run counter-clockwise.
    """
    outline = tuple(point for point, _ in shape.sides)
    x0, y0, _, _ = bounds_mm(outline)
    pattern = FlatPattern(
        family=shape.family,
        part=shape.part,
        outline=outline,
        edges=tuple(edge for _, edge in shape.sides),
        holes=shape.holes,
        snips=shape.snips,
        folds=shape.folds,
        marks=shape.marks,
        stations=shape.stations,
        label=shape.label,
        length_mm=shape.length_mm,
        run_offset=(0.0, 0.0),
        mirrored=False,
        stance=shape.stance,
        course=shape.course,
    )
    return replace(_shifted(pattern, -x0, -y0), run_offset=(x0, y0))


def lap_marks(below: T | None, above: T | None, line: Callable[[T], Polyline], *, level: bool = False) -> list[Mark]:
    """Mark where the next lower length ends and the next higher one begins; one mark where both do so.

    Parameters
    ----------
    below, above : place along the run, or None without a neighbour
    line : callable
        The line across the sheet at such a place.
    level : bool
        The lengths follow each other from left to right instead of upwards.
    """
    before, after = ("on the left", "on the right") if level else ("below", "above")
    end, start = f"end of the length {before}", f"start of the length {after}"
    if below is not None and above is not None:
        a, b = line(below), line(above)
        if all(same_point(p, q) for p, q in zip(a, b, strict=True)):
            return [Mark(f"lap: {end}, {start}", MarkKind.LAP, a, MarkUse.BOTH_LENGTHS)]
    ends = ((end, MarkUse.LENGTH_BELOW, below), (start, MarkUse.LENGTH_ABOVE, above))
    return [Mark(f"lap: {name}", MarkKind.LAP, line(at), use) for name, use, at in ends if at is not None]


def mirror_image(pattern: FlatPattern) -> FlatPattern:
    """Return the other hand: x -> width - x, so that the pattern still starts at x = 0.

    The outline is reversed to run counter-clockwise again; folds keep their way, since the weather face still
    shows. The label keeps its reading direction: its box is mirrored, its text never.
    """
    width = bounds_mm(pattern.outline)[2]

    def flip(points: Polyline) -> Polyline:
        return moved(mirrored(points), width, 0.0)

    def flip_point(point: Point) -> Point:
        return flip((point,))[0]

    # Point i of the reversed ring is old point -i; the edge that starts there is the one that ended there.
    edges = tuple(reversed(pattern.edges))
    box = pattern.label
    far = _box_end(box)
    return replace(
        pattern,
        outline=mirrored_ring(pattern.outline),
        edges=edges,
        holes=tuple(tuple(reversed(flip(h))) for h in pattern.holes),
        snips=tuple(replace(s, points=flip(s.points)) for s in pattern.snips),
        folds=tuple(replace(f, start=flip_point(f.start), end=flip_point(f.end)) for f in pattern.folds),
        marks=tuple(replace(m, points=flip(m.points)) for m in pattern.marks),
        stations=tuple(replace(s, at=flip_point(s.at)) for s in pattern.stations),
        label=replace(box, corner=flip_point(far), turn_deg=-box.turn_deg),
        mirrored=not pattern.mirrored,
    )


def mirrored_ring(outline: Polyline) -> Polyline:
    """Return the outline of the other hand, which runs counter-clockwise again from the image of its first point."""
    flipped = moved(mirrored(outline), bounds_mm(outline)[2], 0.0)
    return (flipped[0], *flipped[:0:-1])


def _box_end(box: LabelBox) -> Point:
    """Return the lower right corner of a label box as it is read."""
    turn = math.radians(box.turn_deg)
    return (box.corner[0] + box.width_mm * sure.cos(turn), box.corner[1] + box.width_mm * sure.sin(turn))


def _shifted(pattern: FlatPattern, dx: float, dy: float) -> FlatPattern:
    def shift(point: Point) -> Point:
        return (point[0] + dx, point[1] + dy)

    return replace(
        pattern,
        outline=moved(pattern.outline, dx, dy),
        holes=tuple(moved(h, dx, dy) for h in pattern.holes),
        snips=tuple(replace(s, points=moved(s.points, dx, dy)) for s in pattern.snips),
        folds=tuple(replace(f, start=shift(f.start), end=shift(f.end)) for f in pattern.folds),
        marks=tuple(replace(m, points=moved(m.points, dx, dy)) for m in pattern.marks),
        stations=tuple(replace(s, at=shift(s.at)) for s in pattern.stations),
        label=replace(pattern.label, corner=shift(pattern.label.corner)),
    )
