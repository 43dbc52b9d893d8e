"""A flat pattern as a dimensioned picture to scale, with a legend of its folds.

Picture coordinates are millimetres on paper; the weather face is towards the viewer.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape
from itertools import pairwise

from cutpath.plane import bounds_mm
from cutpath.reports.markup import element, number, path, svg
from cutpath.reports.roll_picture import pattern_lines
from cutpath.reports.setting_out import running_dimensions
from cutpath.reports.text import millimetres
from cutpath.tolerances import POINT_MM
from cutpath.values.pattern import FlatPattern, Fold, MarkKind, Point, Polyline

SCALES = (5.0, 8.0, 10.0, 12.5, 15.0, 20.0, 25.0, 50.0, 100.0)
"""Scales to choose from: millimetres of lead to one of paper."""

LONGEST, TALLEST = 150.0, 58.0
"""Room for the shape itself on paper, in mm, without its dimensions."""

_FIGURE = 2.4  # letter size of a dimension on paper
_GAP = 4.6  # distance between rows of dimensions
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True, slots=True)
class FoldGroup:
    """Folds of a pattern that are alike: a letter in the picture, a name, way, angle, count and depth in mm.

    ``depth_mm`` is how far the folded part reaches beyond the fold, None where no edge bears the fold's name.
    """

    letter: str
    name: str
    way: str
    angle_deg: float
    folds: tuple[Fold, ...]
    depth_mm: float | None

    @property
    def words(self) -> str:
        """The legend's line, without the letter."""
        times = f"{len(self.folds)} × " if len(self.folds) > 1 else ""
        depth = "" if self.depth_mm is None else f", {millimetres(self.depth_mm)} mm deep"
        return f"{times}{self.name}: fold {self.way} {number(round(self.angle_deg, 1))}°{depth}"


def fold_groups(pattern: FlatPattern) -> list[FoldGroup]:
    """Gather a pattern's folds by name (less its number), way, angle and depth, in the order they first occur."""
    found: dict[tuple[str, str, float, float | None], list[Fold]] = {}
    for fold in pattern.folds:
        depth = _depth_mm(pattern, fold)
        key = (
            re.sub(r"\s*\d+$", "", fold.name),
            fold.way.value,
            round(fold.angle_deg, 1),
            None if depth is None else round(depth, 1),
        )
        found.setdefault(key, []).append(fold)
    return [
        FoldGroup(_LETTERS[i % len(_LETTERS)], name, way, angle, tuple(folds), depth)
        for i, ((name, way, angle, depth), folds) in enumerate(found.items())
    ]


def _depth_mm(pattern: FlatPattern, fold: Fold) -> float | None:
    """Give the distance from a fold to the edge of the same name, where that is parallel to it."""
    (x0, y0), (x1, y1) = fold.start, fold.end
    size = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
    if fold.name not in pattern.edges or size <= POINT_MM:
        return None
    i = pattern.edges.index(fold.name)
    ends = (pattern.outline[i], pattern.outline[(i + 1) % len(pattern.outline)])
    a, b = (abs((x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)) / size for x, y in ends)
    return a if abs(a - b) <= 0.05 else None


def pattern_picture(pattern: FlatPattern, title: str) -> tuple[str, float]:
    """Draw a pattern with its overall sizes, levels, running dimensions and fold letters.

    Returns
    -------
    picture, scale
        SVG, and millimetres of lead to one of paper.
    """
    _, _, length, width = bounds_mm(pattern.outline)
    fit = max(length / LONGEST, width / TALLEST)
    scale = next((s for s in SCALES if s >= fit - POINT_MM), SCALES[-1])
    return _Picture(pattern, length, width, scale).svg(title), scale


@dataclass(frozen=True, slots=True)
class _Picture:
    pattern: FlatPattern
    length: float
    width: float
    scale: float

    _LEFT = 13.0  # paper mm beside the shape for its overall width
    _RIGHT = 15.0
    _TOP = 3.0

    def _x(self, x_mm: float) -> float:
        return self._LEFT + x_mm / self.scale

    def _y(self, y_mm: float) -> float:
        return self._TOP + (self.width - y_mm) / self.scale

    def _at(self, points: Iterable[Point]) -> Polyline:
        return tuple((self._x(x), self._y(y)) for x, y in points)

    def svg(self, title: str) -> str:
        running = self._running()
        runs = 0.0 if not running else 2.0 + 0.62 * _FIGURE * max(len(text) for _, _, text in running)
        bottom = self._y(0.0)
        contours = "".join(path(self._at(ring), closed=True) for ring in (self.pattern.outline, *self.pattern.holes))
        return svg(
            self._LEFT + self.length / self.scale + self._RIGHT,
            bottom + 2.0 + runs + _GAP + 1.0,
            element("path", d=contours, class_="piece", fill_rule="evenodd"),
            *(
                element("path", d=path(self._at(points)), class_=class_)
                for class_, points in pattern_lines(self.pattern)
            ),
            *self._letters(),
            *self._running_marks(running, bottom + 2.0 + runs),
            *self._level_marks(),
            *_dimension_level(
                self._x(0.0),
                self._x(self.length),
                bottom,
                bottom + 2.0 + runs + _GAP,
                millimetres(self.length),
            ),
            *self._width_mark(),
            title=title,
        )

    def _letters(self) -> Iterable[str]:
        for group in fold_groups(self.pattern):
            for fold in group.folds:
                ((x0, y0), (x1, y1)) = self._at((fold.start, fold.end))
                yield element(
                    "text",
                    group.letter,
                    x=(x0 + x1) / 2,
                    y=(y0 + y1) / 2 + 0.8,
                    class_="letter",
                    text_anchor="middle",
                )

    def _running(self) -> list[tuple[float, float, str]]:
        """Give x, y and figure of what is dimensioned along the straight edge: riser feet, or every station."""
        stations = running_dimensions(self.pattern)
        feet = [item for item in stations if re.fullmatch(r"riser \d+ foot", item[0])]
        found: list[tuple[float, float, str]] = []
        for _, (along, square) in feet or stations:
            near = found and abs(along - abs(found[-1][0] - self._datum)) < _FIGURE * self.scale
            if along > POINT_MM and along < self.length - POINT_MM and not near:
                found.append((abs(self._datum - along), square, millimetres(along)))
        return found

    @property
    def _datum(self) -> float:
        """The x of the corner from which running dimensions are counted."""
        return self.length if self.pattern.mirrored else 0.0

    def _running_marks(self, running: Sequence[tuple[float, float, str]], foot: float) -> Iterable[str]:
        for x_mm, y_mm, figure in running:
            x = self._x(x_mm)
            yield element("path", d=path(((x, self._y(y_mm)), (x, foot))), class_="guide")
            yield _figure(figure, x - 0.5, foot, upwards=True, anchor="start")
        if running:
            x, y = self._x(self._datum), self._y(0.0)
            yield element("path", d=path(((x, y), (x, foot))), class_="guide")
            yield _figure("0", x - 0.5, foot, upwards=True, anchor="start")

    def _levels(self) -> list[float]:
        """Give the heights of level edges, folds and marks, from the lowest point to the highest."""
        lines: list[tuple[Point, Point]] = [(f.start, f.end) for f in self.pattern.folds]
        lines += [(m.points[0], m.points[-1]) for m in self.pattern.marks if m.kind is MarkKind.WATER_LINE]
        lines += list(pairwise((*self.pattern.outline, self.pattern.outline[0])))
        level = {round(a[1], 1) for a, b in lines if abs(a[1] - b[1]) <= POINT_MM}
        return sorted({0.0, round(self.width, 1), *level})

    def _level_marks(self) -> Iterable[str]:
        levels = self._levels()
        if len(levels) < 3:
            return
        x = self._x(self.length) + 4.0
        yield element("path", d=path(((x, self._y(levels[0])), (x, self._y(levels[-1])))), class_="dimension")
        last = float("inf")
        for low, high in pairwise(levels):
            middle = min((self._y(low) + self._y(high)) / 2 + 0.35 * _FIGURE, last - 1.05 * _FIGURE)
            last = middle
            yield _figure(millimetres(high - low), x + 1.2, middle, anchor="start")
        for level in levels:
            yield _slash(x, self._y(level))
            yield element(
                "path",
                d=path(((self._x(self.length) + 1.0, self._y(level)), (x + 1.0, self._y(level)))),
                class_="guide",
            )

    def _width_mark(self) -> Iterable[str]:
        x, top, bottom = 6.5, self._y(self.width), self._y(0.0)
        yield element("path", d=path(((x, top), (x, bottom))), class_="dimension")
        for y in (top, bottom):
            yield _slash(x, y)
            yield element("path", d=path(((x - 1.0, y), (self._x(0.0) - 1.0, y))), class_="guide")
        yield _figure(millimetres(self.width), x - 1.0, (top + bottom) / 2, upwards=True, anchor="middle")


def _dimension_level(x0: float, x1: float, edge: float, y: float, figure: str) -> Iterable[str]:
    """Draw a level dimension at ``y`` with its extension lines down from ``edge``."""
    yield element("path", d=path(((x0, y), (x1, y))), class_="dimension")
    for x in (x0, x1):
        yield _slash(x, y)
        yield element("path", d=path(((x, edge + 1.0), (x, y + 1.0))), class_="guide")
    yield _figure(figure, (x0 + x1) / 2, y - 0.8, anchor="middle")


def _slash(x: float, y: float) -> str:
    return element("path", d=path(((x - 0.8, y + 0.8), (x + 0.8, y - 0.8))), class_="dimension")


def _figure(text: str, x: float, y: float, *, anchor: str, upwards: bool = False) -> str:
    turn = f"rotate(-90 {number(x)} {number(y)})" if upwards else None
    return element(
        "text", escape(text), x=x, y=y, font_size=_FIGURE, class_="figure", text_anchor=anchor, transform=turn
    )
