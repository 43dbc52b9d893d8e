"""The drawings of a ticket: the piece on its blank with keyed points and running dimensions, and one step as a key.

Picture coordinates are millimetres on paper; the weather face is towards the viewer, the straight edge below.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from html import escape
from itertools import pairwise

from cutpath.paper.dimensions import spread
from cutpath.paper.fixing_marks import fixing_signs
from cutpath.paper.markup import element, number, path, svg
from cutpath.plane import bounds_mm, distance_mm
from cutpath.reports.account.marking import LineKind, MarkedPoint, Marking
from cutpath.reports.pictures.roll_picture import pattern_lines
from cutpath.tolerances import POINT_MM
from cutpath.values.fixing import Fixing
from cutpath.values.pattern import FlatPattern, FoldUse, MarkKind, Point, Polyline, StationUse

SCALES = (
    1.0,
    1.5,
    2.0,
    2.5,
    3.0,
    3.5,
    4.0,
    4.5,
    5.0,
    5.5,
    6.0,
    6.5,
    7.0,
    7.5,
    8.0,
    9.0,
    10.0,
    11.0,
    12.5,
    15.0,
    20.0,
    25.0,
    50.0,
    100.0,
)
"""Scales to choose from: millimetres of lead to one of paper."""

_FIGURE = 2.5  # letter size of a figure on paper, in mm
_CLEAR = 3.6  # numbers of lines stand at least this far from each other
_SAME = 0.15  # a guide that lies nearer than this to a line is not drawn over it
_BREAK = 0.8  # a guide in line with a line ends so far from it
_TALL, _BROAD = 1.2, 0.92  # half a letter's height, and half its breadth, in mm
_HALF_LINE = 0.2  # a letter that stands nearer to the middle of a drawn line than this takes a part of it away, in mm
_PLAINLY = 0.3  # by so much a letter stands nearer to its own point than to any other
_APART = 2.9  # figures of one row stand at least this far from each other
_OVER = 2.0  # so far a row may pass the ends of the blank, clear of the heights
SIDE, _FOOT = 12.0, 11.0


def ticket_picture(
    pattern: FlatPattern,
    marking: Marking,
    title: str,
    fixings: Sequence[Fixing],
    scale: float,
) -> str:
    """Draw a piece on its blank: every line, the keys of its points, and how far they lie from the corner.

    Below the straight edge stand the distances along it: of a piece with steps the feet of the risers and the ends of
    the folds, above it the heads; of any other piece every point. At the sides stand the heights.

    A rectangular piece has the numbers of its lines in place of the letters of its points. ``scale`` is millimetres of
    lead to one of paper.
    """
    return _Picture(pattern, marking, fixings, scale).svg(title)


def picture_tall_mm(marking: Marking, scale: float) -> float:
    """Return the height of a drawing with its dimensions, on paper."""
    return _head_mm(marking) + marking.width_mm / scale + _FOOT + 2.5


def _head_mm(marking: Marking) -> float:
    return 9.0 if marking.steps else 2.0  # room for the row of heads above the blank


@dataclass(frozen=True)
class _Picture:
    pattern: FlatPattern
    marking: Marking
    fixings: Sequence[Fixing]
    scale: float

    @cached_property
    def _length(self) -> float:
        return self.marking.length_mm / self.scale

    @cached_property
    def _head(self) -> float:
        return _head_mm(self.marking)

    @cached_property
    def _bottom(self) -> float:
        return self._head + self.marking.width_mm / self.scale

    def _at(self, points: Iterable[Point]) -> Polyline:
        return tuple((SIDE + x / self.scale, self._bottom - y / self.scale) for x, y in points)

    def _on_paper(self, point: MarkedPoint) -> Point:
        along, square = point.along_exact_mm, point.square_exact_mm
        x = self.marking.length_mm - along if self.pattern.mirrored else along
        return self._at(((x, square),))[0]

    def svg(self, title: str) -> str:
        outline = "".join(path(self._at(ring), closed=True) for ring in (self.pattern.outline, *self.pattern.holes))
        told = [*self._along(below=True), *self._along(below=False), *self._heights()]
        leaders = "".join(lead for _, lead, _ in told)
        left, right = SIDE, SIDE + self._length
        corner = right if self.pattern.mirrored else left
        return svg(
            self._length + 2 * SIDE,
            picture_tall_mm(self.marking, self.scale),
            element("rect", x=left, y=self._head, width=self._length, height=self._bottom - self._head, class_="blank"),
            element("path", d=outline, class_="piece", fill_rule="evenodd"),
            *(element("path", d=guide, class_="guide") for guide, _, _ in told if guide),
            element("path", d=leaders, class_="leader") if leaders else "",
            *(element("path", d=path(self._at(line)), class_=class_) for class_, line in pattern_lines(self.pattern)),
            *(figure for _, _, figure in told),
            *self._keys(),
            *(
                element("path", d="".join(path(c, closed=sign.closed) for c in sign.contours), class_=sign.class_)
                for sign in fixing_signs(self.fixings, lambda point: self._at((point,))[0])
            ),
            element("circle", cx=corner, cy=self._bottom, r=1.1, class_="datum"),
            title=title,
        )

    def _rows(self, *, below: bool) -> Sequence[MarkedPoint]:
        """Return the points that are dimensioned along the edge, below it or above the blank."""
        if not self.marking.steps:
            return [*self._told(), *self._middles()] if below else []
        uses = (StationUse.RISER_FOOT, StationUse.END) if below else (StationUse.START,)
        capitals = [p for p in self.marking.points if p.step is None and below]
        return [p for p in self.marking.points if p.use in uses] + capitals

    def _told(self) -> list[MarkedPoint]:
        """Return the points whose places are written: all but those of an ellipse."""
        round_it = {key for line in self.marking.lines if line.ellipse for key in line.keys}
        return [p for p in self.marking.points if p.key not in round_it]

    def _middles(self) -> list[MarkedPoint]:
        """Return the middle of each ellipse."""
        found = [line.ellipse for line in self.marking.lines if line.ellipse]
        return [MarkedPoint("", "middle", e.along_mm, e.square_mm) for e in found]

    @cached_property
    def _cuts(self) -> Sequence[tuple[Point, Point]]:
        """Every straight stretch of the piece's edges."""
        rings = (self._at((*ring, ring[0])) for ring in (self.pattern.outline, *self.pattern.holes))
        return [stretch for ring in rings for stretch in pairwise(ring)]

    @cached_property
    def _segments(self) -> Sequence[tuple[Point, Point]]:
        """Every straight stretch of the piece's edges, folds, snips and marks, and of the blank."""
        lines = (self._at(line) for _, line in pattern_lines(self.pattern))
        length, width = self.marking.length_mm, self.marking.width_mm
        blank = self._at(((0.0, 0.0), (length, 0.0), (length, width), (0.0, width), (0.0, 0.0)))
        return [*self._cuts, *(stretch for line in (*lines, blank) for stretch in pairwise(line))]

    def _guide(self, start: Point, end: Point) -> str:
        """Return a level or plumb guide as a path, left out where a line of the piece lies along it.

        It ends clear of such a line: a snip that runs on in a guide would be cut too far.
        """
        way = 0 if abs(end[0] - start[0]) > abs(end[1] - start[1]) else 1
        across = 1 - way
        rest = [(min(start[way], end[way]), max(start[way], end[way]))]
        for ends in self._segments:
            if all(abs(at[across] - start[across]) < _SAME for at in ends):
                low, high = sorted(at[way] for at in ends)
                parts = (part for a, b in rest for part in ((a, min(b, low - _BREAK)), (max(a, high + _BREAK), b)))
                rest = [part for part in parts if part[1] - part[0] > _SAME]
        corners = (((a, start[1]), (b, start[1])) if way == 0 else ((start[0], a), (start[0], b)) for a, b in rest)
        return "".join(path(part) for part in corners if distance_mm(*part) > _SAME)

    def _along(self, *, below: bool) -> Iterable[tuple[str, str, str]]:
        """Yield for each distance along the edge the guide to it over the blank, the leader from there, and its figure.

        The first two are paths, a figure is markup.
        """
        edge, last = (self._bottom, self._bottom + _FOOT) if below else (self._head, 1.0)
        start = edge + (2.0 if below else -2.0)
        own = sorted(self._in_row(self._rows(below=below)).items(), key=lambda told: told[1])
        low, high = SIDE - _OVER, SIDE + self._length + _OVER - (len(own) - 1) * _APART
        for i, ((along, (x, y)), place) in enumerate(zip(own, spread([x for _, (x, _) in own], _APART), strict=True)):
            at = max(low, min(high, place - i * _APART)) + i * _APART  # the row ends with the blank
            yield (
                self._guide((x, y), (x, edge)),
                path(((x, edge), (at, start))),
                _figure(str(along), at, start + (0.6 if below else -0.6), below=below),
            )
        if below and own:
            x = SIDE + (self._length if self.pattern.mirrored else 0.0)
            words = "measure from here"
            anchor = "end" if self.pattern.mirrored else "start"
            yield "", "", element("text", words, x=x, y=last + 0.4, class_="words", text_anchor=anchor)

    def _in_row(self, points: Iterable[MarkedPoint]) -> Mapping[int, Point]:
        """Return the distances to write along one edge, each with the place on paper of a point that has it.

        Points of a curve, which has its table, are told where they stand clear of all others. Where a row cannot hold
        the rest, corners of the outline are told first, and points of steps, which have their table, last.
        """
        corners = self.marking.lines[0].keys
        curved = {key for run in self.marking.curves for key in run} - {point.key for point in self.marking.lettered}
        own: dict[int, Point] = {}
        for point in sorted(points, key=lambda p: (p.step is not None, p.key in curved, p.key not in corners)):
            x, y = self._on_paper(point)
            if point.key in curved:
                held = all(abs(x - other) >= _APART for other, _ in own.values())
            else:
                held = len(own) * _APART <= self._length + 2 * _OVER
            if held:
                own.setdefault(point.along_mm, (x, y))
        return own

    def _heights(self) -> Iterable[tuple[str, str, str]]:
        """Write the heights of points at the side of the corner, those of the far half at the far side."""
        on_curves = {key for run in self.marking.curves for key in run}
        told = [p for p in self._told() if p.step is None or p.use is StationUse.RISER_FOOT]
        shown = [*(p for p in told if p.key not in on_curves), *self._middles()]
        levels = sorted(shown, key=lambda p: p.square_exact_mm)
        highest = max(self._told(), key=lambda p: p.square_exact_mm, default=None)
        levels += [highest] if highest and highest not in levels and not self.marking.steps else []
        extremes = (*levels[:1], *levels[-1:])
        for left in (True, False):
            own: dict[int, Point] = {}
            for point in levels:
                x, y = self._on_paper(point)
                if point in extremes or left == (x < SIDE + self._length / 2):
                    own.setdefault(point.square_mm, (x, y))
            edge = SIDE if left else SIDE + self._length
            yield from self._heights_beside(own, edge, -1.0 if left else 1.0)

    def _heights_beside(self, own: Mapping[int, Point], edge: float, way: float) -> Iterable[tuple[str, str, str]]:
        """Write heights at one side, apart from each other as far as they can be read; too many are thinned out."""
        kept = own
        if len(own) > 1 and (len(own) - 1) * _APART > self._bottom - self._head + 2 * _APART:
            every = math.ceil(len(own) * _APART / (self._bottom - self._head))
            kept = {h: at for i, (h, at) in enumerate(own.items()) if i % every == 0}
        # Up the sheet is down in y, so that they are spread by their distance from the foot.
        rises = spread([self._bottom - y for _, y in kept.values()], _APART)
        over = max(0.0, max(rises, default=0.0) - (self._bottom - self._head))  # nothing stands above the picture
        rises = [rise - over for rise in rises]
        for (height, (x, y)), rise in zip(kept.items(), rises, strict=True):
            at = self._bottom - rise
            leader = path(((edge, y), (edge + way * 1.5, y), (edge + way * 3.3, at)))
            anchor = "end" if way < 0 else "start"
            place = {"x": edge + way * 3.7, "y": at + 0.35 * _FIGURE}
            yield (
                self._guide((x, y), (edge, y)),
                leader,
                element("text", str(height), **place, class_="figure", text_anchor=anchor),
            )

    def _keys(self) -> Iterable[str]:
        """Letter the capitals beside their points, and number each step in its middle, clear of what is there."""
        if self.marking.rectangle:
            yield from self._numbers()
            return
        centre = self._at(((self.marking.length_mm / 2, self.marking.width_mm / 2),))[0]
        signs = [self._at((fixing.at,))[0] for fixing in self.fixings]
        taken: list[_Box] = [_Box(x, y, 0.8, 0.8) for x, y in signs]
        datum = (SIDE + (self._length if self.pattern.mirrored else 0.0), self._bottom)
        taken.append(_Box(*datum, 0.95, 0.95))
        dots = [(point, self._on_paper(point)) for point in self.marking.lettered]
        for n in self.marking.steps:
            a, b = self._on_paper(self.marking.point(f"{n}a")), self._on_paper(self.marking.point(f"{n}b"))
            end = self._on_paper(fold_end(self.marking, n))
            x, y = (a[0] + b[0] + end[0]) / 3, (a[1] + b[1] + end[1]) / 3
            places = [at for dx, dy in _NEAR_MIDDLE if self._on_lead(at := (x + dx, y + dy))] or [(x, y)]
            tooth = max(a[1], end[1])
            yield self._placed(str(n), [*places, *self._beyond_the_ends(n, (x, y))], taken, tooth=tooth)
        for _, at in dots:
            yield element("circle", cx=at[0], cy=at[1], r=0.5, class_="datum")
            taken.append(_Box(*at, 0.4, 0.4))
        for point, (x, y) in dots:
            dx = 1.0 if x < centre[0] else -1.0
            dy = -1.0 if point.square_exact_mm < 0.25 * self.marking.width_mm else 1.0
            others = [place for other, place in [*dots, (None, datum)] if other is not point and place != (x, y)]
            yield self._placed(point.key, [(x + dx * i, y + dy * k) for i, k in _ROUND_A_POINT], taken, (x, y), others)

    def _beyond_the_ends(self, step: int, middle: Point) -> list[Point]:
        """Return places in the waste beyond an end of the piece, for the number of a first or last step too narrow."""
        ways = [way for way, end in ((-1.0, 0), (1.0, -1)) if step == self.marking.steps[end]]
        back = -1.0 if self.pattern.mirrored else 1.0
        places = ((middle[0] + way * back * dx, middle[1] + dy) for way in ways for dx, dy in _BESIDE_A_STEP)
        return [at for at in places if not self._on_lead(at)]

    def _on_lead(self, at: Point) -> bool:
        """Tell whether a place lies inside the outline: a line from it to the left meets an odd number of edges."""
        ring = self._at((*self.pattern.outline, self.pattern.outline[0]))
        met = sum(
            (a[1] > at[1]) != (b[1] > at[1]) and a[0] + (b[0] - a[0]) * (at[1] - a[1]) / (b[1] - a[1]) < at[0]
            for a, b in pairwise(ring)
        )
        return met % 2 == 1

    def _placed(
        self,
        text: str,
        places: Sequence[Point],
        taken: list[_Box],
        own: Point | None = None,
        others: Sequence[Point] = (),
        tooth: float = math.inf,
    ) -> str:
        """Write letters with their middle at the best of some places, and note what they take; the first is liked most.

        Letters over letters or signs are the worst, then letters off the blank, then letters that stand nearer to one
        of ``others`` than to their own point, then letters over cuts, then letters below the foot of their ``tooth``,
        then letters over other lines.
        A little off the blank at its sides there is room before the heights.
        """
        middle, high = SIDE + self._length / 2, self._bottom - self._head
        sheet, wider = (_Box(middle, self._head + high / 2, self._length / 2 + off, high / 2) for off in (0.0, 2.2))
        boxes = [_Box(x, y, _BROAD * len(text), _TALL) for x, y in places]
        reach = 2 * max(distance_mm(places[0], at) for at in places) + 4.0
        around = _Box(*places[0], reach, reach)
        near, cuts = ([ends for ends in of if around.meets(*ends)] for of in (self._segments, self._cuts))
        inked = [_Box(box.x, box.y, box.broad + _HALF_LINE, box.tall + _HALF_LINE) for box in boxes]
        best, box = math.inf, boxes[0]
        for rank, tried in enumerate(boxes):
            worse = (
                100 * sum(tried.touches(other) for other in taken)
                + 8 * (not sheet.holds(tried.x, tried.y))
                + 50 * (not wider.holds(tried.x, tried.y))
                + 12 * (tried.y > tooth)
                + 25 * (own is not None and _nearer((tried.x, tried.y), own, others))
                + rank / len(boxes)
            )
            if worse < best:
                worse += 10 * sum(inked[rank].meets(*ends) for ends in near)
                worse += 5 * sum(inked[rank].meets(*ends) for ends in cuts)
            if worse < best:
                best, box = worse, tried
            if best < 1:
                break  # nothing is in its way, and it is liked most of those
        taken.append(box)
        return element("text", text, x=box.x, y=box.y + 0.9, class_="letter key", text_anchor="middle")

    def _numbers(self) -> Iterable[str]:
        """Write the number of each line of a rectangular piece on it, or in a hole, clear of what is there."""
        taken = [self._at((fixing.at,))[0] for fixing in self.fixings]
        drawn = [[self._on_paper(self.marking.point(key)) for key in line.keys] for line in self.marking.lines[1:]]
        for count, (line, ends) in enumerate(zip(self.marking.lines[1:], drawn, strict=True), 1):
            others = [stretch for other in drawn if other is not ends for stretch in pairwise(other)]
            if line.kind is LineKind.HOLE:
                x0, y0, x1, y1 = bounds_mm(ends)
                places = [((x0 + x1) / 2, (y0 + y1) / 2)] * 2
                places[0] = (places[0][0] - 0.25 * (x1 - x0), places[0][1])
            else:
                (x0, y0), (x1, y1) = max(pairwise(ends), key=lambda stretch: distance_mm(*stretch))
                places = [(x0 + (x1 - x0) * share, y0 + (y1 - y0) * share) for share in (0.5, 0.4, 0.6, 0.3, 0.7)]
            free = [at for at in places if all(distance_mm(at, other) >= _CLEAR for other in taken)] or places[:1]
            apart = (at for at in free if not any(_Box(*at, 1.2, 1.4).meets(*stretch) for stretch in others))
            x, y = next(apart, free[0])
            taken.append((x, y))
            yield element("text", str(count), x=x, y=y + 0.9, class_="letter key", text_anchor="middle")


_NEAR_MIDDLE = (
    *((0.0, dy) for dy in (0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0)),
    *((dx, dy) for dy in (0.0, 1.5, 3.0, 4.5, 6.0) for dx in (-1.5, 1.5, -3.0, 3.0, -4.5, 4.5)),
)
"""Places of a step's number from the middle of its fold and riser, in mm, in the order in which they are liked."""

_BESIDE_A_STEP = tuple((dx, dy) for dx in (2.0, 3.0, 4.0, 5.0, 6.0) for dy in (-2.0, -1.0, 0.0, 1.0, 2.0))
"""Places of the number of a first or last step beside it, beyond the end of the piece, in mm."""

_ROUND_A_POINT = (
    *((1.9, 2.0), (-1.9, 2.0), (1.9, -2.0), (-1.9, -2.0), (2.1, 0.0), (-2.1, 0.0), (0.0, 2.2), (0.0, -2.2)),
    *((2.8, 1.0), (-2.8, 1.0), (2.8, -1.0), (-2.8, -1.0), (1.6, 3.0), (-1.6, 3.0), (1.6, -3.0), (-1.6, -3.0)),
    *((1.0, 3.0), (-1.0, 3.0), (1.0, -3.0), (-1.0, -3.0)),
    *((3.2, 3.0), (-3.2, 3.0), (3.2, -3.0), (-3.2, -3.0), (3.4, 0.0), (-3.4, 0.0), (0.0, 3.6), (0.0, -3.6)),
)
"""Places of a letter from its point, in mm: towards the middle of the sheet first."""


@dataclass(frozen=True, slots=True)
class _Box:
    """What letters or a sign take on paper: the middle, and half of breadth and height, in mm."""

    x: float
    y: float
    broad: float
    tall: float

    def holds(self, x: float, y: float) -> bool:
        """Tell whether a point lies inside."""
        return abs(x - self.x) <= self.broad and abs(y - self.y) <= self.tall

    def touches(self, other: _Box) -> bool:
        """Tell whether two boxes lie over each other."""
        return abs(other.x - self.x) < self.broad + other.broad and abs(other.y - self.y) < self.tall + other.tall

    def meets(self, a: Point, b: Point) -> bool:
        """Tell whether a straight stretch passes through."""
        first, last = 0.0, 1.0
        for start, step, middle, half in (
            (a[0], b[0] - a[0], self.x, self.broad),
            (a[1], b[1] - a[1], self.y, self.tall),
        ):
            if abs(step) < POINT_MM:
                if abs(start - middle) > half:
                    return False
                continue
            enters, leaves = sorted(((middle - half - start) / step, (middle + half - start) / step))
            first, last = max(first, enters), min(last, leaves)
        return first <= last


def _nearer(letter: Point, own: Point, others: Sequence[Point]) -> bool:
    """Tell whether a letter could be taken for that of another point: one as near to it, or nearer, as its own."""
    return any(distance_mm(letter, other) < distance_mm(letter, own) + _PLAINLY for other in others)


def fold_end(marking: Marking, step: int) -> MarkedPoint:
    """Return the point where a step's fold ends: the foot of the next riser, or its own point e on the last step."""
    later = [n for n in marking.steps if n > step]
    return marking.point(f"{later[0]}a" if later else f"{step}e")


def step_key(marking: Marking, pattern: FlatPattern) -> str:
    """Draw one step of the piece, enlarged, with its points lettered a to e.

    The water line is level where some feet of risers stand above it; what lies on the fold at an arris is not cut.
    """
    free = [n for n in marking.steps if distance_mm(*_places(marking, n)[1:3]) > POINT_MM]
    step = free[len(free) // 2]
    a, b, c, d = _places(marking, step)
    end = fold_end(marking, step)
    e = (end.along_exact_mm, end.square_exact_mm)
    water = next(marking.point(line.keys[0]) for line in marking.lines if line.use is MarkKind.WATER_LINE)
    level = water.square_exact_mm
    back = -1.0 if pattern.mirrored else 1.0
    x0, y0, x1, y1 = bounds_mm((a, b, c, d, e, (a[0], level)))
    scale = max((x1 - x0) / 40.0, (y1 - y0) / 24.0)
    wide, tall, margin = (x1 - x0) / scale, (y1 - y0) / scale, 6.0

    def at(point: Point) -> Point:
        x = (point[0] - x0) / scale
        return (margin + (wide - x if back < 0 else x), 4.0 + tall - (point[1] - y0) / scale)

    def lines(class_: str, *points: Point) -> str:
        return element("path", d=path(tuple(at(p) for p in points)), class_=class_)

    def letter(text: str, point: Point, dx: float, dy: float) -> str:
        x, y = at(point)
        return element("text", text, x=x + dx * back, y=y + dy, class_="letter key", text_anchor="middle")

    shift = 4.0 * scale
    head = _arris_head(marking, pattern, step) or a
    return svg(
        wide + 2 * margin,
        tall + 10.0,
        lines("mark water-line", (a[0] - shift, level), (e[0] + shift, level)),
        lines("outline", b, c, d),
        lines("fold back", a, head) if head != a else "",
        lines("snip", head, b) if distance_mm(head, b) > POINT_MM else "",
        lines("snip", d, e),
        lines("fold back", b, e),
        letter("a", a, 0.0, 4.2),
        letter("b", b, -2.4, 0.6),
        letter("c", c, -1.2, -1.2),
        letter("d", d, 2.4, 0.4),
        letter("next a, or e" if len(marking.steps) > 1 else "e", e, 0.0, 4.2),
        title=f"Key to the points of a step, drawn from step {step}",
    )


def _arris_head(marking: Marking, pattern: FlatPattern, step: int) -> Point | None:
    """Return the upper end of the fold at the arris, where the first step begins there; None for any other step."""
    fold = next((i for i, fold in enumerate(pattern.folds) if fold.use is FoldUse.ARRIS), None)
    if fold is None or step != marking.steps[0]:
        return None
    keys = [line.keys for line in marking.lines if line.kind is LineKind.FOLD][fold]
    top = max(map(marking.point, keys), key=lambda point: point.square_exact_mm)
    return top.along_exact_mm, top.square_exact_mm


def _places(marking: Marking, step: int) -> tuple[Point, Point, Point, Point]:
    found = [marking.point(f"{step}{letter}") for letter in "abcd"]
    a, b, c, d = ((p.along_exact_mm, p.square_exact_mm) for p in found)
    return a, b, c, d


def _figure(text: str, x: float, y: float, *, below: bool) -> str:
    """Write a figure upwards beside its guide line, ending or beginning at ``y``."""
    x += 0.35 * _FIGURE
    return element(
        "text",
        escape(text),
        x=x,
        y=y,
        class_="figure",
        text_anchor="end" if below else "start",
        transform=f"rotate(-90 {number(x)} {number(y)})",
    )
