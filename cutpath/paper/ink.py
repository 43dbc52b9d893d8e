"""What a picture is made of: lines and words on paper, before they are SVG.

Paper coordinates: mm, x to the right, y downwards; a turn is in degrees, clockwise positive, as in SVG.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape

from cutpath import sure
from cutpath.paper.markup import element, number, path, svg
from cutpath.plane import bounds_mm, moved
from cutpath.values.pattern import Point, Polyline

WORD_WIDTH = 0.58
"""Width of a letter as a share of its size, on the average of the usual sans serifs; common practice, no source."""

MARGIN = 1.5
"""White paper left round a picture, in mm."""


@dataclass(frozen=True, slots=True)
class Contours:
    """A line of one or more contours; ``data`` are names and values that a reader of the picture can rely on."""

    contours: tuple[Polyline, ...]
    class_: str
    closed: bool = False
    data: tuple[tuple[str, str], ...] = ()

    @property
    def points(self) -> Polyline:
        """Every point of every contour."""
        return tuple(point for contour in self.contours for point in contour)


@dataclass(frozen=True, slots=True)
class Words:
    """A short text: ``at`` is the start, middle or end of its base line as ``anchor`` says; turned about that point."""

    text: str
    at: Point
    class_: str
    size_mm: float
    anchor: str = "middle"
    turn_deg: float = 0.0

    @property
    def points(self) -> Polyline:
        """Corners of the box that the letters fill, about."""
        width = WORD_WIDTH * self.size_mm * len(self.text)
        left = {"start": 0.0, "middle": -width / 2, "end": -width}[self.anchor]
        turn = math.radians(self.turn_deg)
        c, s = sure.cos(turn), sure.sin(turn)
        corners = (
            (left, 0.2 * self.size_mm),
            (left + width, 0.2 * self.size_mm),
            (left + width, -0.75 * self.size_mm),
            (left, -0.75 * self.size_mm),
        )
        return tuple((self.at[0] + x * c - y * s, self.at[1] + x * s + y * c) for x, y in corners)


Ink = Contours | Words


def line(class_: str, *points: Point, closed: bool = False, **data: str) -> Contours:
    """Return a line of one contour."""
    return Contours((points,), class_, closed, tuple(data.items()))


def picture(inks: Sequence[Ink], title: str, **data: str) -> str:
    """Lay inks on a sheet just large enough for them, as SVG.

    The group that holds them says in ``data-origin`` where the point (0, 0) of their coordinates lies.
    """
    x0, y0, x1, y1 = bounds_mm(point for ink in inks for point in ink.points)
    dx, dy = MARGIN - x0, MARGIN - y0
    known = {f"data_{name}": value for name, value in data.items()}
    return svg(
        x1 + dx + MARGIN,
        y1 + dy + MARGIN,
        element("g", *_elements(inks, dx, dy), data_origin=f"{number(dx)} {number(dy)}", **known),
        title=title,
    )


def _elements(inks: Iterable[Ink], dx: float, dy: float) -> Iterable[str]:
    for ink in inks:
        if isinstance(ink, Contours):
            d = "".join(path(moved(contour, dx, dy), closed=ink.closed) for contour in ink.contours)
            rule = "evenodd" if ink.closed and len(ink.contours) > 1 else None
            known = {f"data_{name}": value for name, value in ink.data}
            yield element("path", d=d, class_=ink.class_, fill_rule=rule, **known)
        else:
            x, y = ink.at[0] + dx, ink.at[1] + dy
            turn = f"rotate({number(ink.turn_deg)} {number(x)} {number(y)})" if ink.turn_deg else None
            yield element(
                "text",
                escape(ink.text),
                x=x,
                y=y,
                font_size=ink.size_mm,
                class_=ink.class_,
                text_anchor=ink.anchor,
                transform=turn,
            )
