"""The drawing of a ticket: the piece on its blank with keyed points and running dimensions.

Picture coordinates are those of `TicketSheet`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from html import escape

from cutpath.paper.dimensions import spread
from cutpath.paper.fixing_marks import fixing_signs
from cutpath.paper.markup import element, number, path, svg
from cutpath.plane import distance_mm
from cutpath.reports.account.marking import MarkedPoint, Marking
from cutpath.reports.pictures.roll_picture import pattern_lines
from cutpath.reports.pictures.ticket_letters import letters
from cutpath.reports.pictures.ticket_sheet import FOOT, SIDE, TicketSheet, picture_tall_mm
from cutpath.values.fixing import Fixing
from cutpath.values.pattern import FlatPattern, Point, StationUse

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
_SAME = 0.15  # a guide that lies nearer than this to a line is not drawn over it
_BREAK = 0.8  # a guide in line with a line ends so far from it
_APART = 2.9  # figures of one row stand at least this far from each other
_OVER = 2.0  # so far a row may pass the ends of the blank, clear of the heights

_Told = tuple[str, str, str]
"""Of a figure the guide to it over the blank and the leader from there, both paths, and its markup."""


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
    sheet = TicketSheet(pattern, marking, fixings, scale)
    outline = "".join(path(sheet.at(ring), closed=True) for ring in (pattern.outline, *pattern.holes))
    told = [*_along(sheet, below=True), *_along(sheet, below=False), *_heights(sheet)]
    leaders = "".join(lead for _, lead, _ in told)
    x, y = sheet.datum
    return svg(
        sheet.length + 2 * SIDE,
        picture_tall_mm(marking, scale),
        element("rect", x=SIDE, y=sheet.head, width=sheet.length, height=sheet.tall, class_="blank"),
        element("path", d=outline, class_="piece", fill_rule="evenodd"),
        *(element("path", d=guide, class_="guide") for guide, _, _ in told if guide),
        element("path", d=leaders, class_="leader") if leaders else "",
        *(element("path", d=path(sheet.at(line)), class_=class_) for class_, line in pattern_lines(pattern)),
        *(figure for _, _, figure in told),
        *letters(sheet),
        *(
            element("path", d="".join(path(c, closed=sign.closed) for c in sign.contours), class_=sign.class_)
            for sign in fixing_signs(fixings, lambda point: sheet.at((point,))[0])
        ),
        element("circle", cx=x, cy=y, r=1.1, class_="datum"),
        title=title,
    )


def _rows(sheet: TicketSheet, *, below: bool) -> Sequence[MarkedPoint]:
    """Return the points that are dimensioned along the edge, below it or above the blank."""
    if not sheet.marking.steps:
        return [*_told(sheet), *_middles(sheet)] if below else []
    uses = (StationUse.RISER_FOOT, StationUse.END) if below else (StationUse.START,)
    capitals = [p for p in sheet.marking.points if p.step is None and below]
    return [p for p in sheet.marking.points if p.use in uses] + capitals


def _told(sheet: TicketSheet) -> list[MarkedPoint]:
    """Return the points whose places are written: all but those of an ellipse."""
    round_it = {key for line in sheet.marking.lines if line.ellipse for key in line.keys}
    return [p for p in sheet.marking.points if p.key not in round_it]


def _middles(sheet: TicketSheet) -> list[MarkedPoint]:
    """Return the middle of each ellipse."""
    found = [line.ellipse for line in sheet.marking.lines if line.ellipse]
    return [MarkedPoint("", "middle", e.along_mm, e.square_mm) for e in found]


def _guide(sheet: TicketSheet, start: Point, end: Point) -> str:
    """Return a level or plumb guide as a path, left out where a line of the piece lies along it.

    It ends clear of such a line: a snip that runs on in a guide would be cut too far.
    """
    way = 0 if abs(end[0] - start[0]) > abs(end[1] - start[1]) else 1
    across = 1 - way
    rest = [(min(start[way], end[way]), max(start[way], end[way]))]
    for ends in sheet.stretches:
        if all(abs(at[across] - start[across]) < _SAME for at in ends):
            low, high = sorted(at[way] for at in ends)
            parts = (part for a, b in rest for part in ((a, min(b, low - _BREAK)), (max(a, high + _BREAK), b)))
            rest = [part for part in parts if part[1] - part[0] > _SAME]
    corners = (((a, start[1]), (b, start[1])) if way == 0 else ((start[0], a), (start[0], b)) for a, b in rest)
    return "".join(path(part) for part in corners if distance_mm(*part) > _SAME)


def _along(sheet: TicketSheet, *, below: bool) -> Iterable[_Told]:
    """Write the distances along the edge."""
    edge, last = (sheet.bottom, sheet.bottom + FOOT) if below else (sheet.head, 1.0)
    start = edge + (2.0 if below else -2.0)
    own = sorted(_in_row(sheet, _rows(sheet, below=below)).items(), key=lambda told: told[1])
    low, high = SIDE - _OVER, SIDE + sheet.length + _OVER - (len(own) - 1) * _APART
    for i, ((along, (x, y)), place) in enumerate(zip(own, spread([x for _, (x, _) in own], _APART), strict=True)):
        at = max(low, min(high, place - i * _APART)) + i * _APART  # the row ends with the blank
        yield (
            _guide(sheet, (x, y), (x, edge)),
            path(((x, edge), (at, start))),
            _figure(str(along), at, start + (0.6 if below else -0.6), below=below),
        )
    if below and own:
        words = "measure from here"
        anchor = "end" if sheet.pattern.mirrored else "start"
        yield (
            "",
            "",
            element("text", words, x=sheet.datum[0], y=last + 0.4, class_="words", text_anchor=anchor),
        )


def _in_row(sheet: TicketSheet, points: Iterable[MarkedPoint]) -> Mapping[int, Point]:
    """Return the distances to write along one edge, each with the place on paper of a point that has it.

    Points of a curve, which has its table, are told where they stand clear of all others. Where a row cannot hold
    the rest, corners of the outline are told first, and points of steps, which have their table, last.
    """
    corners = sheet.marking.lines[0].keys
    curved = {key for run in sheet.marking.curves for key in run} - {point.key for point in sheet.marking.lettered}
    own: dict[int, Point] = {}
    for point in sorted(points, key=lambda p: (p.step is not None, p.key in curved, p.key not in corners)):
        x, y = sheet.place_of(point)
        if point.key in curved:
            held = all(abs(x - other) >= _APART for other, _ in own.values())
        else:
            held = len(own) * _APART <= sheet.length + 2 * _OVER
        if held:
            own.setdefault(point.along_mm, (x, y))
    return own


def _heights(sheet: TicketSheet) -> Iterable[_Told]:
    """Write the heights of points at the side of the corner, those of the far half at the far side."""
    on_curves = {key for run in sheet.marking.curves for key in run}
    told = [p for p in _told(sheet) if p.step is None or p.use is StationUse.RISER_FOOT]
    shown = [*(p for p in told if p.key not in on_curves), *_middles(sheet)]
    levels = sorted(shown, key=lambda p: p.square_exact_mm)
    highest = max(_told(sheet), key=lambda p: p.square_exact_mm, default=None)
    levels += [highest] if highest and highest not in levels and not sheet.marking.steps else []
    extremes = (*levels[:1], *levels[-1:])
    for left in (True, False):
        own: dict[int, Point] = {}
        for point in levels:
            x, y = sheet.place_of(point)
            if point in extremes or left == (x < SIDE + sheet.length / 2):
                own.setdefault(point.square_mm, (x, y))
        edge = SIDE if left else SIDE + sheet.length
        yield from _heights_beside(sheet, own, edge, -1.0 if left else 1.0)


def _heights_beside(sheet: TicketSheet, own: Mapping[int, Point], edge: float, way: float) -> Iterable[_Told]:
    """Write heights at one side, apart from each other as far as they can be read; too many are thinned out."""
    kept = own
    if len(own) > 1 and (len(own) - 1) * _APART > sheet.tall + 2 * _APART:
        every = math.ceil(len(own) * _APART / (sheet.tall))
        kept = {h: at for i, (h, at) in enumerate(own.items()) if i % every == 0}
    # Up the sheet is down in y, so that they are spread by their distance from the foot.
    rises = spread([sheet.bottom - y for _, y in kept.values()], _APART)
    over = max(0.0, max(rises, default=0.0) - (sheet.tall))  # nothing stands above the picture
    rises = [rise - over for rise in rises]
    for (height, (x, y)), rise in zip(kept.items(), rises, strict=True):
        at = sheet.bottom - rise
        leader = path(((edge, y), (edge + way * 1.5, y), (edge + way * 3.3, at)))
        anchor = "end" if way < 0 else "start"
        place = {"x": edge + way * 3.7, "y": at + 0.35 * _FIGURE}
        yield (
            _guide(sheet, (x, y), (edge, y)),
            leader,
            element("text", str(height), **place, class_="figure", text_anchor=anchor),
        )


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
