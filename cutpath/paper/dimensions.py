"""Dimensions as drawings carry them: extension lines, dimension lines with arrowheads, figures above the line.

Habits of ISO 129-1 as textbooks on it give them (the standard's own text was not read): narrow lines, a small gap at
the object, a short overrun; figures above the line and readable from below or from the right; running dimensions from
one origin, which is a small circle, with an arrowhead at each end and the figure beside its extension line.

Paper coordinates: mm, x to the right, y downwards.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from cutpath import sure
from cutpath.paper.ink import WORD_WIDTH, Contours, Ink, Words, line
from cutpath.tolerances import POINT_MM, STRAIGHT_DEG
from cutpath.values.pattern import Point

FIGURE = 2.4
"""Size of a dimension's figures on paper, in mm."""

GAP, OVERRUN = 0.8, 1.2
"""Of an extension line, in mm on paper: free at the object, and beyond the dimension line."""

ROW = 5.0
"""Distance between rows of dimensions, in mm on paper."""

_ARROW, _ARROW_HALF = 1.9, 0.32
_CLEAR = 0.7  # between a line and the figure above it
_LEAST_APART = 1.15 * FIGURE


def readable_deg(turn_deg: float) -> float:
    """Turn a text by half a turn where it would stand on its head; a plumb text reads upwards."""
    turn = (turn_deg + 180.0) % 360.0 - 180.0
    if turn >= 90.0 - STRAIGHT_DEG:
        return turn - 180.0
    return turn + 180.0 if turn < -90.0 - STRAIGHT_DEG else turn


def width_mm(text: str, size_mm: float = FIGURE) -> float:
    """Return about how wide a text is set."""
    return WORD_WIDTH * size_mm * len(text)


def _unit(a: Point, b: Point) -> Point:
    size = math.hypot(b[0] - a[0], b[1] - a[1])
    return (b[0] - a[0]) / size, (b[1] - a[1]) / size


def _plus(a: Point, d: Point, by: float) -> Point:
    return a[0] + d[0] * by, a[1] + d[1] * by


def arrow(tip: Point, towards: Point) -> Contours:
    """Return a narrow filled arrowhead at ``tip`` that points in the unit direction ``towards``."""
    (x, y), (dx, dy) = tip, towards
    heel = (x - dx * _ARROW, y - dy * _ARROW)
    a = (heel[0] - dy * _ARROW_HALF, heel[1] + dx * _ARROW_HALF)
    b = (heel[0] + dy * _ARROW_HALF, heel[1] - dx * _ARROW_HALF)
    return line("arrow", tip, a, b, closed=True)


def between(a: Point, b: Point, off: Point, figure: str) -> list[Ink]:
    """Dimension the stretch from ``a`` to ``b`` on a line that stands ``off`` (a vector) from it.

    Where the stretch is too short the arrowheads stand outside, pointing at each other, and so does the figure.
    """
    p, q = (a[0] + off[0], a[1] + off[1]), (b[0] + off[0], b[1] + off[1])
    d = _unit(p, q)
    size = math.hypot(q[0] - p[0], q[1] - p[1])
    inks: list[Ink] = []
    reach = math.hypot(*off)
    if reach > GAP:
        o = (off[0] / reach, off[1] / reach)
        inks += [line("guide", _plus(end, o, GAP), _plus(end, o, reach + OVERRUN)) for end in (a, b)]
    wide = width_mm(figure)
    inside = size >= wide
    arrows_inside = size >= 3.2 * _ARROW
    ends = (p, q) if arrows_inside else (_plus(p, d, -2 * _ARROW), _plus(q, d, 2 * _ARROW))
    ways = (-1.0, 1.0) if arrows_inside else (1.0, -1.0)
    turn = readable_deg(math.degrees(sure.atan2(d[1], d[0])))
    if inside:
        middle: Point = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
    else:
        # The figure stands beyond the end at which a reader's eye arrives: q, on a lengthened dimension line.
        middle = _plus(q, d, (_ARROW if arrows_inside else 2 * _ARROW) + 0.5 + wide / 2)
        ends = (ends[0], _plus(q, d, (_ARROW if arrows_inside else 2 * _ARROW) + 0.5 + wide))
    inks.append(line("dimension", *ends))
    inks += [arrow(p, (d[0] * ways[0], d[1] * ways[0])), arrow(q, (d[0] * ways[1], d[1] * ways[1]))]
    inks.append(Words(figure, _above(middle, turn), "figure", FIGURE, "middle", turn))
    return inks


def _above(point: Point, turn_deg: float) -> Point:
    turn = math.radians(turn_deg)
    return point[0] + sure.sin(turn) * _CLEAR, point[1] - sure.cos(turn) * _CLEAR


def running(
    origin: Point, along: Point, out: Point, marks: Sequence[tuple[Point, str]], *, beyond_mm: float = 0.0
) -> list[Ink]:
    """Dimension points by running dimensions from one origin.

    Parameters
    ----------
    origin : Point
        Where the dimension line begins, marked by a small circle.
    along, out : Point
        Unit vectors: the dimension line's direction, and the way its extension lines run on from the object; the two
        stand square to each other.
    marks : sequence of (Point, str)
        Points of the object in ascending distance along, each with its figure. A point of no extent (on the
        dimension line itself) gets no extension line.
    beyond_mm : float
        How far along the first figure stands at least, where another row ends at the origin.
    """
    places = [(m[0] - origin[0]) * along[0] + (m[1] - origin[1]) * along[1] for m, _ in marks]
    depths = [(origin[0] - m[0]) * out[0] + (origin[1] - m[1]) * out[1] for m, _ in marks]
    shown = spread([beyond_mm, *places], _LEAST_APART)
    inks: list[Ink] = [_circle(origin)]
    if places:
        inks.append(line("dimension", origin, _plus(origin, along, places[-1])))
    turn = readable_deg(math.degrees(sure.atan2(out[1], out[0])))
    forward = sure.cos(math.radians(turn)) * out[0] + sure.sin(math.radians(turn)) * out[1] > 0
    for (point, figure), place, depth, at in zip(
        [(origin, "0"), *marks], [0.0, *places], [0.0, *depths], shown, strict=True
    ):
        foot = _plus(origin, along, place)
        end = _plus(_plus(origin, along, at), out, OVERRUN + (1.6 if abs(at - place) > POINT_MM else 0.0))
        start = _plus(point, out, min(GAP, max(depth, 0.0)))
        inks.append(line("guide", start, _plus(foot, out, 0.4), end))
        if place:
            inks.append(arrow(foot, along))
        tip = _plus(end, out, 0.5)
        # The figure's middle height stands on its extension line.
        down = (-sure.sin(math.radians(turn)), sure.cos(math.radians(turn)))
        tip = _plus(tip, down, 0.35 * FIGURE)
        inks.append(Words(figure, tip, "figure", FIGURE, "start" if forward else "end", turn))
    return inks


def _circle(centre: Point) -> Contours:
    points = tuple(
        (centre[0] + 0.7 * sure.cos(math.radians(a)), centre[1] + 0.7 * sure.sin(math.radians(a)))
        for a in range(0, 360, 30)
    )
    return line("origin", *points, closed=True)


def spread(places: Sequence[float], apart: float) -> list[float]:
    """Move ascending places as little as need be (least squares) so that each stands ``apart`` from the next."""
    groups: list[tuple[float, int]] = []
    for i, place in enumerate(places):
        total, count = place - i * apart, 1
        while groups and groups[-1][0] / groups[-1][1] > total / count:
            before = groups.pop()
            total, count = total + before[0], count + before[1]
        groups.append((total, count))
    level = [total / count for total, count in groups for _ in range(count)]
    return [value + i * apart for i, value in enumerate(level)]


def angle(apex: Point, from_deg: float, to_deg: float, radius: float, figure: str) -> list[Ink]:
    """Dimension the angle between two directions (degrees clockwise from x, ``from_deg`` < ``to_deg``) by an arc."""

    def on(a_deg: float, r: float = radius) -> Point:
        return apex[0] + r * sure.cos(math.radians(a_deg)), apex[1] + r * sure.sin(math.radians(a_deg))

    steps = max(2, math.ceil((to_deg - from_deg) / 6))
    arc = [on(from_deg + (to_deg - from_deg) * i / steps) for i in range(steps + 1)]
    inks: list[Ink] = [line("dimension", *arc)]
    for tip, a, way in ((arc[0], from_deg, 1.0), (arc[-1], to_deg, -1.0)):
        inks.append(arrow(tip, (way * sure.sin(math.radians(a)), -way * sure.cos(math.radians(a)))))
    middle = on((from_deg + to_deg) / 2, radius + 0.8 + width_mm(figure) / 2)
    inks.append(Words(figure, (middle[0], middle[1] + 0.35 * FIGURE), "figure", FIGURE))
    return inks


def hatching(shape: object, apart: float, turn_deg: float) -> Iterable[tuple[Point, Point]]:
    """Return hatch lines over a shapely shape: parallel lines at ``turn_deg``, ``apart``, cut to it."""
    import shapely
    from shapely.geometry.base import BaseGeometry

    assert isinstance(shape, BaseGeometry)  # noqa: S101 - narrows the type that shapely leaves open
    x0, y0, x1, y1 = shape.bounds
    c, s = sure.cos(math.radians(turn_deg)), sure.sin(math.radians(turn_deg))
    corners = [(x, y) for x in (x0, x1) for y in (y0, y1)]
    offsets = [-x * s + y * c for x, y in corners]
    reach = math.hypot(x1 - x0, y1 - y0)
    mid = ((x0 + x1) / 2) * c + ((y0 + y1) / 2) * s
    at = [i * apart for i in range(math.ceil(min(offsets) / apart), math.floor(max(offsets) / apart) + 1)]
    if not at:
        return
    ends = [[(u * c - o * s, u * s + o * c) for u in (mid - reach, mid + reach)] for o in at]
    for cut in shapely.intersection(shape, shapely.linestrings(ends)):
        for part in getattr(cut, "geoms", [cut]):
            if isinstance(part, shapely.LineString) and part.length > 0:
                (ax, ay), (bx, by) = part.coords[0], part.coords[-1]
                yield (ax, ay), (bx, by)


def lettered(inks: Sequence[Ink], letters: Mapping[str, str]) -> list[Ink]:
    """Return a picture with letters in place of the figures of its dimensions.

    Dimensions of which no figure has a letter are left out whole, with their lines and arrowheads.

    Parameters
    ----------
    inks : sequence of Ink
        As `between`, `running` and `angle` made them, among others.
    letters : mapping of str to str
        Figure as it is written -> letter. A name before a figure, such as ``A1: 665``, does not count; of running
        dimensions the whole is looked for, such as ``3: 270``.
    """
    out: list[Ink] = []
    at = 0
    while at < len(inks):
        size, kept = _running_at(inks, at, letters)
        if not size:
            size, kept = _between_at(inks, at, letters)
        out += kept if size else [inks[at]]
        at += size or 1
    return out


def _classes(inks: Sequence[Ink], at: int, count: int) -> tuple[str, ...]:
    return tuple(ink.class_ for ink in inks[at : at + count])


def _between_at(inks: Sequence[Ink], at: int, letters: Mapping[str, str]) -> tuple[int, list[Ink]]:
    """Return how many inks the dimension of a stretch or an angle takes from here on, and what is left of it."""
    for guides in (2, 0):
        size = guides + 4
        if _classes(inks, at, size) == ("guide",) * guides + ("dimension", "arrow", "arrow", "figure"):
            *lines, figure = inks[at : at + size]
            new = _with_letter(figure, letters)
            return size, [*lines, new] if new else []
    return 0, []


def _running_at(inks: Sequence[Ink], at: int, letters: Mapping[str, str]) -> tuple[int, list[Ink]]:
    """Return how many inks running dimensions take from here on, and what is left of them."""
    if _classes(inks, at, 1) != ("origin",):
        return 0, []
    end = at + 1 + (_classes(inks, at + 1, 1) == ("dimension",))
    kept, found = list(inks[at:end]), False
    while True:
        marks = (("guide", "arrow", "figure"), ("guide", "figure"))
        size = next((len(mark) for mark in marks if _classes(inks, end, len(mark)) == mark), 0)
        if not size:
            return end - at, kept if found else []
        *lines, figure = inks[end : end + size]
        new = _with_letter(figure, letters, whole=True)
        if new or size == _NOUGHT:
            kept += [*lines, new or figure]
            found = found or new is not None
        end += size


_NOUGHT = 2  # inks of the mark at the origin, which has no arrowhead


def _with_letter(figure: Ink, letters: Mapping[str, str], *, whole: bool = False) -> Words | None:
    assert isinstance(figure, Words)  # noqa: S101 - the last of a dimension's inks
    named = ": " in figure.text
    text = letters.get(figure.text) if named or not whole else None
    text = text or (None if whole else letters.get(figure.text.rpartition(": ")[2]))
    return replace(figure, text=text, class_="letter") if text else None
