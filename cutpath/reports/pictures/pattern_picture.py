"""A flat pattern as a dimensioned picture to scale, with a legend of its folds.

The weather face is towards the viewer. Dimensions run from the straight edge and from the square corner at the piece's
lower end, as a tape is held, so that roundings do not add up; no size is given twice.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import islice, pairwise
from typing import TYPE_CHECKING, NamedTuple

from cutpath import sure
from cutpath.paper.dimensions import between, running
from cutpath.paper.fixing_marks import fixing_signs
from cutpath.paper.ink import MARGIN, Contours, Ink, Words, picture
from cutpath.paper.markup import number
from cutpath.paper.text import millimetres
from cutpath.paper.wall_sheet import SCALES
from cutpath.plane import bounds_mm, distance_mm
from cutpath.reports.account.setting_out import running_dimensions
from cutpath.reports.pictures.roll_picture import pattern_lines
from cutpath.tolerances import POINT_MM
from cutpath.values.fixing import Fixing
from cutpath.values.pattern import (
    EdgeUse,
    FlatPattern,
    Fold,
    FoldUse,
    MarkKind,
    Point,
    Polyline,
    Side,
    Station,
    StationUse,
)

if TYPE_CHECKING:
    from shapely import LineString

LONGEST, TALLEST = 92.0, 52.0
"""Room for the shape itself on paper, in mm, without its dimensions: the piece folded and the key stand beside it."""

_SCALES = sorted({*SCALES, 7.5})

_OFF, _OFF_TOP = 4.0, 9.0  # from the shape to a dimension line; at the top there is room for the depth of turn-ins
_LETTER = 2.4
_SIGN, _TRIED = 1.0, 8  # half of a sign or letter on paper, and places for a figure that are looked at
# least distances on paper from the middle of a letter
_CLEAR_OF_SIGN, _CLEAR_OF_LETTER, _CLEAR_OF_EDGE, _CLEAR_OF_MARK = 1.8, 2.5, 1.3, 1.0
_ALONG, _ASIDE = (0.5, 0.3, 0.7, 0.2, 0.8), (0.0, 1.3, 1.8)
"""Shares of a fold, and distances from it into the sheet on paper, at which its letter may stand, in this order."""
_BEYOND = {
    FoldUse.STEP_TURN_IN: EdgeUse.TURN_IN,
    FoldUse.TURN_IN: EdgeUse.TURN_IN,
    FoldUse.RETURN_TURN_IN: EdgeUse.RETURN_TURN_IN,
}
"""The edge beyond a fold, up to which its depth is measured."""

_NUMBERED = {
    FoldUse.STEP_TURN_IN: "turn-in",
    FoldUse.RETURN_TURN_IN: "return turn-in",
    FoldUse.OWN: "fold",
}
"""What folds that bear numbers are called together."""

_BELOW = frozenset(
    {
        StationUse.RISER_FOOT,
        StationUse.LOWER_END,
        StationUse.UPPER_END,
        StationUse.OPEN_EDGE_START,
        StationUse.OPEN_EDGE_END,
        StationUse.TONGUE_COVER_WALL,
        StationUse.TONGUE_COVER_EDGE,
    }
)
"""Stations of a stepped piece that are dimensioned along its straight edge, beside the foot of the arris."""

_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True, slots=True)
class FoldGroup:
    """Folds of a pattern that are alike: a letter in the picture, a name, way, angle, count and depth in mm.

    ``depth_mm`` is how far the folded part reaches beyond the fold, None where no edge lies beyond it.
    """

    letter: str
    name: str
    way: str
    angle_deg: float
    folds: tuple[Fold, ...]
    depth_mm: float | None

    @property
    def use(self) -> FoldUse:
        """What the folds are for."""
        return self.folds[0].use

    @property
    def words(self) -> str:
        """The legend's line, without the letter."""
        times = f"{len(self.folds)} × " if len(self.folds) > 1 else ""
        depth = "" if self.depth_mm is None else f", {millimetres(self.depth_mm)} mm deep"
        return f"{times}{self.name}: fold {self.way} {number(round(self.angle_deg, 1))}°{depth}"


def fold_groups(pattern: FlatPattern) -> list[FoldGroup]:
    """Gather a pattern's folds by use, side, way, angle and depth, in the order they first occur."""
    found: dict[tuple[FoldUse, Side | None, str, float, float | None], list[Fold]] = {}
    for fold in pattern.folds:
        depth = _depth_mm(pattern, fold)
        key = (
            fold.use,
            fold.side,
            fold.way.value,
            round(fold.angle_deg, 1),
            None if depth is None else round(depth, 1),
        )
        found.setdefault(key, []).append(fold)
    return [
        FoldGroup(_LETTERS[i % len(_LETTERS)], _NUMBERED.get(use, folds[0].name), way, angle, tuple(folds), depth)
        for i, ((use, _, way, angle, depth), folds) in enumerate(found.items())
    ]


def _depth_mm(pattern: FlatPattern, fold: Fold) -> float | None:
    """Return the distance from a fold to the edge beyond it, where that is parallel to it."""
    (x0, y0), (x1, y1) = fold.start, fold.end
    size = distance_mm(fold.start, fold.end)
    edges = ((a, b) for edge, a, b in pattern.sides() if (edge.use, edge.joint) == (_BEYOND.get(fold.use), fold.joint))
    ends = next(edges, None)
    if ends is None or size <= POINT_MM:
        return None
    a, b = (abs((x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)) / size for x, y in ends)
    return a if abs(a - b) <= 0.05 < a else None


def _is_start_of(station: Station, fold: FoldUse) -> bool:
    return station.use is StationUse.START and station.fold is fold


def angle_words(pattern: FlatPattern) -> str:
    """Say at what angles to the straight edge joints and risers stand; empty where a pattern has neither."""
    folds = [(f.start, f.end) for f in pattern.folds if f.use is FoldUse.STEP_TURN_IN]
    risers = [(a, b) for edge, a, b in pattern.sides() if edge.use is EdgeUse.RISER]
    found = [(name, _angles(lines)) for name, lines in (("joints", folds), ("risers", risers)) if lines]
    said = [f"{name} at {angles} to the straight edge" for name, angles in found if angles]
    return ", ".join(said)


def bevel_words(pattern: FlatPattern) -> str:
    """Say at what angles the edges that lean stand to the straight edge; empty where none leans."""
    ends = pairwise((*pattern.outline, pattern.outline[0]))
    found = sorted({round(math.degrees(sure.atan2(abs(b[1] - a[1]), abs(b[0] - a[0]))), 1) for a, b in ends})
    leaning = [f"{number(angle)}°" for angle in found if 0.0 < angle < 90.0]
    return f"edges at {', '.join(leaning)} to the straight edge" if leaning else ""


def _angles(lines: Iterable[tuple[Point, Point]]) -> str:
    """Return the acute angle of lines to the level, or the range of it; empty where all are level."""
    found = {round(math.degrees(sure.atan2(abs(b[1] - a[1]), abs(b[0] - a[0]))), 1) for a, b in lines}
    low, high = min(found), max(found)
    if high == 0.0:
        return ""
    return f"{number(low)}°" if low == high else f"{number(low)}° to {number(high)}°"


class PatternPicture(NamedTuple):
    """A pattern on paper: SVG, millimetres of lead to one of paper, and its width there in mm."""

    picture: str
    scale: float
    width_mm: float


def pattern_picture(pattern: FlatPattern, title: str, fixings: Sequence[Fixing] = ()) -> PatternPicture:
    """Draw a pattern with running dimensions along and square to it, depths of turn-ins, fold letters and fixings."""
    _, _, length, width = bounds_mm(pattern.outline)
    fit = max(length / LONGEST, width / TALLEST)
    scale = next((s for s in _SCALES if s >= fit - POINT_MM), _SCALES[-1])
    inks = _OnPaper(pattern, fixings, length, width, scale).inks()
    x0, _, x1, _ = bounds_mm(point for ink in inks for point in ink.points)
    return PatternPicture(picture(inks, title, scale=number(scale)), scale, x1 - x0 + 2 * MARGIN)


@dataclass(frozen=True, slots=True)
class _OnPaper:
    """A pattern on paper, its lower left corner at (0, 0)."""

    pattern: FlatPattern
    fixings: Sequence[Fixing]
    length: float
    width: float
    scale: float

    def _at(self, point: Point) -> Point:
        return point[0] / self.scale, -point[1] / self.scale

    def _all(self, points: Iterable[Point]) -> Polyline:
        return tuple(self._at(point) for point in points)

    def inks(self) -> list[Ink]:
        """Return everything that is drawn, from the back to the front."""
        rings = tuple(self._all(ring) for ring in (self.pattern.outline, *self.pattern.holes))
        lines = (Contours((self._all(points),), class_) for class_, points in pattern_lines(self.pattern))
        letters = self._letters()
        return [
            Contours(rings, "piece", closed=True),
            *lines,
            *self._along(),
            *self._square(),
            *self._depths([at for _, at in letters]),
            *self._returns(),
            *fixing_signs(self.fixings, self._at),
            *(Words(letter, (x, y + 0.35 * _LETTER), "letter", _LETTER) for letter, (x, y) in letters),
        ]

    def _letters(self) -> list[tuple[str, Point]]:
        """Return the letter of each fold with the place of its middle, which hides no sign and no other letter."""
        from shapely import LinearRing, LineString

        rings = (LinearRing(self._all(ring)) for ring in (self.pattern.outline, *self.pattern.holes))
        marks = (LineString(self._all(mark.points)) for mark in self.pattern.marks)
        lines = [*((ring, _CLEAR_OF_EDGE) for ring in rings), *((mark, _CLEAR_OF_MARK) for mark in marks)]
        taken = [(self._at(fixing.at), _CLEAR_OF_SIGN) for fixing in self.fixings]
        letters: list[tuple[str, Point]] = []
        for group in fold_groups(self.pattern):
            for fold in group.folds:
                letters.append((group.letter, _letter_at(self._all((fold.start, fold.end)), taken, lines)))
                taken.append((letters[-1][1], _CLEAR_OF_LETTER))
        return letters

    @property
    def _datum(self) -> float:
        """The x of the corner from which running dimensions are counted."""
        return self.length if self.pattern.mirrored else 0.0

    def _along(self) -> Iterable[Ink]:
        """Dimension along the straight edge: below, ends and feet of risers, else every station; above, heads."""
        stations = running_dimensions(self.pattern)
        heads = [at for station, at in stations if _is_start_of(station, FoldUse.STEP_TURN_IN)]
        stepped = any(station.use is StationUse.RISER_FOOT for station, _ in stations)
        below = [at for s, at in stations if not stepped or s.use in _BELOW or _is_start_of(s, FoldUse.ARRIS)]
        if not stations:
            below = [(abs(self._datum - x), y) for x, y in (*self.pattern.outline, *self._hole_ends(0))]
        marks = self._marks([*below, (self.length, 0.0)])
        along = (-1.0 if self.pattern.mirrored else 1.0, 0.0)
        corner = self._at((self._datum, 0.0))
        yield from running((corner[0], corner[1] + _OFF), along, (0.0, 1.0), marks)
        if heads:
            top = self._at((self._datum, self.width))
            yield from running((top[0], top[1] - _OFF_TOP), along, (0.0, -1.0), self._marks(heads))

    def _marks(self, found: Iterable[tuple[float, float]]) -> list[tuple[Point, str]]:
        """Return each distance along once, with the lowest point that stands there."""
        lowest: dict[float, float] = {}
        for along, square in found:
            key = round(along, 1)
            lowest[key] = min(square, lowest.get(key, square))
        return [
            (self._at((abs(self._datum - along), lowest[along])), millimetres(along))
            for along in sorted(lowest)
            if along > 0.0
        ]

    def _square(self) -> Iterable[Ink]:
        """Dimension level edges, folds and the water line from the straight edge, on the side away from the datum."""
        side = -1.0 if self.pattern.mirrored else 1.0
        end = 0.0 if self.pattern.mirrored else self.length
        found = dict.fromkeys(self._levels(), end) | {round(y, 1): x for x, y in self._hole_ends(1)}
        marks = [(self._at((found[level], level)), millimetres(level)) for level in sorted(found) if level > 0.0]
        x, y = self._at((end, 0.0))
        yield from running((x + side * _OFF, y), (0.0, -1.0), (side, 0.0), marks)

    def _hole_ends(self, axis: int) -> list[Point]:
        """Return where holes begin and end along an axis, 0 for x and 1 for y, each at the middle of the other."""
        ends = []
        for x0, y0, x1, y1 in map(bounds_mm, self.pattern.holes):
            x, y = (x0 + x1) / 2, (y0 + y1) / 2
            ends += [(x, y0), (x, y1)] if axis else [(x0, y), (x1, y)]
        return ends

    def _levels(self) -> list[float]:
        """Return the heights of level edges, folds, the water line and where a curved foot is lowest and highest."""
        lines: list[tuple[Point, Point]] = [(f.start, f.end) for f in self.pattern.folds]
        lines += [(m.points[0], m.points[-1]) for m in self.pattern.marks if m.kind is MarkKind.WATER_LINE]
        lines += list(pairwise((*self.pattern.outline, self.pattern.outline[0])))
        level = {round(a[1], 1) for a, b in lines if abs(a[1] - b[1]) <= POINT_MM}
        feet = [round(s.at[1], 1) for s in self.pattern.stations if s.use is StationUse.SLEEVE_FOOT]
        return sorted({0.0, round(self.width, 1), *level, *([min(feet), max(feet)] if feet else [])})

    def _depths(self, letters: Sequence[Point]) -> Iterable[Ink]:
        """Dimension the depth of turn-ins that lie askew, once to each depth, where the figure stands clear."""
        askew: dict[float, list[Fold]] = {}
        for group in fold_groups(self.pattern):
            if group.depth_mm is not None:
                folds = [fold for fold in group.folds if abs(fold.start[1] - fold.end[1]) > POINT_MM]
                askew.setdefault(round(group.depth_mm, 1), []).extend(folds)
        for depth_mm, folds in askew.items():
            places = islice(((fold, share) for share in (0.3, 0.7) for fold in folds), _TRIED)
            drawn = (self._depth(fold, share, depth_mm) for fold, share in places)
            if folds:
                clear = (inks for inks in drawn if self._clear(inks, letters))
                yield from next(clear, None) or self._depth(folds[0], 0.3, depth_mm)

    def _depth(self, fold: Fold, share: float, depth_mm: float) -> list[Ink]:
        """Dimension the depth of a fold at a share of its length."""
        (x0, y0), (x1, y1) = fold.start, fold.end
        size = math.hypot(x1 - x0, y1 - y0)
        # Square to the fold, to the side on which its edge lies: upwards, since turn-ins lie above their folds.
        up = 1.0 if x1 > x0 else -1.0
        square = (-(y1 - y0) / size * up, (x1 - x0) / size * up)
        foot = (x0 + share * (x1 - x0), y0 + share * (y1 - y0))
        edge = (foot[0] + square[0] * depth_mm, foot[1] + square[1] * depth_mm)
        return between(self._at(foot), self._at(edge), (0.0, 0.0), millimetres(depth_mm))

    def _clear(self, inks: Iterable[Ink], letters: Sequence[Point]) -> bool:
        """Tell whether the figure among them stands clear of edges, signs and letters."""
        from shapely import LinearRing, Polygon, box

        figure = next(Polygon(ink.points) for ink in inks if isinstance(ink, Words))
        rings = (LinearRing(self._all(ring)) for ring in (self.pattern.outline, *self.pattern.holes))
        signs = [self._at(fixing.at) for fixing in self.fixings]
        near = (box(x - _SIGN, y - _SIGN, x + _SIGN, y + _SIGN) for x, y in (*signs, *letters))
        return not any(figure.intersects(other) for other in (*rings, *near))

    def _returns(self) -> Iterable[Ink]:
        """Dimension the free edges of a return, outside it."""
        for edge, a, b in self.pattern.sides():
            size = math.hypot(b[0] - a[0], b[1] - a[1])
            if (
                edge.use in {EdgeUse.RETURN_FOOT, EdgeUse.RETURN_END}
                and min(abs(a[0] - b[0]), abs(a[1] - b[1])) > POINT_MM
            ):
                # The outline runs counter-clockwise: outside is to the right, on paper with y downwards.
                out = ((b[1] - a[1]) / size * _OFF, (b[0] - a[0]) / size * _OFF)
                yield from between(self._at(a), self._at(b), out, millimetres(size))


def _letter_at(
    fold: Polyline, taken: Sequence[tuple[Point, float]], lines: Sequence[tuple[LineString, float]]
) -> Point:
    """Return the first place along a fold, else beside it on the sheet, that is clear of what is there, on paper.

    ``taken`` are signs and other letters, each with its least distance. The middle of the fold is taken unless one of
    them is in its way.
    """
    from shapely import Point as Spot

    (x0, y0), (x1, y1) = fold
    size = math.hypot(x1 - x0, y1 - y0) or 1.0
    down = 1.0 if x1 > x0 else -1.0  # square to the fold, down the paper: what turns in lies above its fold
    square = (-(y1 - y0) / size * down, (x1 - x0) / size * down)
    found: list[tuple[float, Point]] = []
    for aside in _ASIDE:
        for share in _ALONG:
            x, y = x0 + share * (x1 - x0) + aside * square[0], y0 + share * (y1 - y0) + aside * square[1]
            room = min((max(abs(x - sx), abs(y - sy)) / clear for (sx, sy), clear in taken), default=1.0)
            if found:
                room = min(room, *(line.distance(Spot(x, y)) / clear for line, clear in lines))
            if room >= 1.0:
                return x, y
            found.append((room, (x, y)))
    return max(found)[1]
