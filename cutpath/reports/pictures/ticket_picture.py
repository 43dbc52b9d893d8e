"""The drawings of a ticket: the piece on its blank with keyed points and running dimensions, and one step as a key.

Picture coordinates are millimetres on paper; the weather face is towards the viewer, the straight edge below.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import escape

from cutpath.paper.dimensions import spread
from cutpath.paper.fixing_marks import fixing_signs
from cutpath.paper.markup import element, number, path, svg
from cutpath.plane import bounds_mm, distance_mm
from cutpath.reports.account.marking import MarkedPoint, Marking
from cutpath.reports.pictures.roll_picture import pattern_lines
from cutpath.tolerances import POINT_MM
from cutpath.values.fixing import Fixing
from cutpath.values.pattern import FlatPattern, Point, Polyline, StationUse

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
_CLEAR = 3.6  # points nearer than this share the key of the first; the table has them all
_APART = 2.9  # figures of one row stand at least this far from each other
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


def ticket_scale(marking: Marking, room: tuple[float, float]) -> float:
    """Return the largest scale at which a blank fits: ``room`` is along and square, in mm, without its dimensions."""
    fit = max(marking.length_mm / room[0], marking.width_mm / room[1])
    return next((s for s in SCALES if s >= fit - POINT_MM), SCALES[-1])


@dataclass(frozen=True, slots=True)
class _Picture:
    pattern: FlatPattern
    marking: Marking
    fixings: Sequence[Fixing]
    scale: float

    @property
    def _length(self) -> float:
        return self.marking.length_mm / self.scale

    @property
    def _head(self) -> float:
        return 9.0 if self.marking.steps else 2.0  # room for the row of heads above the blank

    @property
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
        left, right = SIDE, SIDE + self._length
        corner = right if self.pattern.mirrored else left
        return svg(
            self._length + 2 * SIDE,
            self._bottom + _FOOT + 2.5,
            element("rect", x=left, y=self._head, width=self._length, height=self._bottom - self._head, class_="blank"),
            element("path", d=outline, class_="piece", fill_rule="evenodd"),
            *(element("path", d=path(self._at(line)), class_=class_) for class_, line in pattern_lines(self.pattern)),
            *(
                element("path", d="".join(path(c, closed=sign.closed) for c in sign.contours), class_=sign.class_)
                for sign in fixing_signs(self.fixings, lambda point: self._at((point,))[0])
            ),
            *self._along(below=True),
            *self._along(below=False),
            *self._heights(),
            *self._keys(),
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

    def _along(self, *, below: bool) -> Iterable[str]:
        edge, last = (self._bottom, self._bottom + _FOOT) if below else (self._head, 1.0)
        taken: list[float] = []
        for point in self._rows(below=below):
            x, y = self._on_paper(point)
            if any(abs(x - other) < _APART for other in taken):
                continue
            taken.append(x)
            start = edge + (2.0 if below else -2.0)
            yield element("path", d=path(((x, y), (x, start))), class_="guide")
            yield _figure(str(point.along_mm), x, start + (0.6 if below else -0.6), below=below)
        if below and taken:
            x = SIDE + (self._length if self.pattern.mirrored else 0.0)
            words = "measure from here"
            anchor = "end" if self.pattern.mirrored else "start"
            yield element("text", words, x=x, y=last + 0.4, class_="words", text_anchor=anchor)

    def _heights(self) -> Iterable[str]:
        """Write the heights of points at the side of the corner, those of the far half at the far side."""
        on_curves = {key for run in self.marking.curves for key in run}
        told = [p for p in self._told() if p.step is None or p.use is StationUse.RISER_FOOT]
        shown = [*(p for p in told if p.key not in on_curves), *self._middles()]
        levels = sorted(shown, key=lambda p: p.square_exact_mm)
        extremes = (*levels[:1], *levels[-1:])
        for left in (True, False):
            own: dict[int, Point] = {}
            for point in levels:
                x, y = self._on_paper(point)
                if point in extremes or left == (x < SIDE + self._length / 2):
                    own.setdefault(point.square_mm, (x, y))
            edge = SIDE - 1.5 if left else SIDE + self._length + 1.5
            yield from self._heights_beside(own, edge, -1.0 if left else 1.0)

    def _heights_beside(self, own: Mapping[int, Point], edge: float, way: float) -> Iterable[str]:
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
            yield element("path", d=path(((x, y), (edge, y), (edge + way * 1.8, at))), class_="guide")
            anchor = "end" if way < 0 else "start"
            place = {"x": edge + way * 2.2, "y": at + 0.35 * _FIGURE}
            yield element("text", str(height), **place, class_="figure", text_anchor=anchor)

    def _keys(self) -> Iterable[str]:
        """Letter the capitals beside their points, and number each step in its middle."""
        centre = self._at(((self.marking.length_mm / 2, self.marking.width_mm / 2),))[0]
        taken: list[Point] = []
        if self.marking.rectangle:
            yield from self._numbers()
            return
        for point in self.marking.lettered:
            x, y = self._on_paper(point)
            if point.step is None:
                yield element("circle", cx=x, cy=y, r=0.5, class_="datum")
                if any(distance_mm((x, y), other) < _CLEAR for other in taken):
                    continue
                taken.append((x, y))
                dx = 1.9 if x < centre[0] else -1.9
                dy = -1.2 if point.square_exact_mm < 0.25 * self.marking.width_mm else 2.9
                yield element("text", point.key, x=x + dx, y=y + dy, class_="letter key", text_anchor="middle")
        for n in self.marking.steps:
            a, b = self._on_paper(self.marking.point(f"{n}a")), self._on_paper(self.marking.point(f"{n}b"))
            end = self._on_paper(fold_end(self.marking, n))
            x, y = (a[0] + b[0] + end[0]) / 3, (a[1] + b[1] + end[1]) / 3
            yield element("text", str(n), x=x, y=y + 0.9, class_="letter key", text_anchor="middle")

    def _numbers(self) -> Iterable[str]:
        """Write the number of each line of a rectangular piece on it, clear of the numbers before it."""
        taken: list[Point] = []
        for count, line in enumerate(self.marking.lines[1:], 1):
            ends = [self._on_paper(self.marking.point(key)) for key in line.keys]
            if line.ellipse:
                ends = [ends[0], ends[0]]
            (x0, y0), (x1, y1) = ends[0], ends[-1]
            places = [(x0 + (x1 - x0) * share, y0 + (y1 - y0) * share) for share in (0.5, 0.4, 0.6, 0.3, 0.7)]
            x, y = next((at for at in places if all(distance_mm(at, other) >= _CLEAR for other in taken)), places[0])
            taken.append((x, y))
            yield element("text", str(count), x=x, y=y + 0.9, class_="letter key", text_anchor="middle")


def fold_end(marking: Marking, step: int) -> MarkedPoint:
    """Return the point where a step's fold ends: the foot of the next riser, or its own point e on the last step."""
    later = [n for n in marking.steps if n > step]
    return marking.point(f"{later[0]}a" if later else f"{step}e")


def step_key(marking: Marking, *, mirrored: bool) -> str:
    """Draw one step of the piece, enlarged, with its points lettered a to e."""
    free = [n for n in marking.steps if distance_mm(*_places(marking, n)[1:3]) > POINT_MM]
    step = free[len(free) // 2]
    a, b, c, d = _places(marking, step)
    end = fold_end(marking, step)
    e = (end.along_exact_mm, end.square_exact_mm)
    back = -1.0 if mirrored else 1.0
    x0, y0, x1, y1 = bounds_mm((a, b, c, d, e))
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
    return svg(
        wide + 2 * margin,
        tall + 10.0,
        lines("mark water-line", (a[0] - shift, a[1]), (e[0] + shift, e[1])),
        lines("outline", b, c, d),
        lines("snip", a, b),
        lines("snip", d, e),
        lines("fold back", b, e),
        letter("a", a, 0.0, 4.2),
        letter("b", b, -2.4, 0.6),
        letter("c", c, -1.2, -1.2),
        letter("d", d, 2.4, 0.4),
        letter("next a, or e", e, 0.0, 4.2),
        title=f"Key to the points of a step, drawn from step {step}",
    )


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
