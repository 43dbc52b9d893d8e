"""Letters of points, numbers of steps and of lines on a ticket's drawing, clear of all that is there."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from cutpath.paper.markup import element
from cutpath.plane import bounds_mm, distance_mm
from cutpath.reports.account.marking import LineKind
from cutpath.reports.pictures.ticket_sheet import SIDE, TicketSheet
from cutpath.tolerances import POINT_MM
from cutpath.values.pattern import Point

_CLEAR = 3.6  # numbers of lines stand at least this far from each other
_TALL, _BROAD = 1.2, 0.92  # half a letter's height, and half its breadth, in mm
_HALF_LINE = 0.2  # a letter that stands nearer to the middle of a drawn line than this takes a part of it away, in mm
_PLAINLY = 0.3  # by so much a letter stands nearer to its own point than to any other


def letters(sheet: TicketSheet) -> Iterable[str]:
    """Letter the capitals beside their points, and number each step in its middle; or each line of a rectangle."""
    return _numbers(sheet) if sheet.marking.rectangle else _keys(sheet)


def _keys(sheet: TicketSheet) -> Iterable[str]:
    """Letter the capitals beside their points, and number each step in its middle."""
    centre = sheet.at(((sheet.marking.length_mm / 2, sheet.marking.width_mm / 2),))[0]
    taken: list[_Box] = [_Box(x, y, 0.8, 0.8) for x, y in sheet.signs]
    datum = sheet.datum
    taken.append(_Box(*datum, 0.95, 0.95))
    dots = [(point, sheet.place_of(point)) for point in sheet.marking.lettered]
    for n in sheet.marking.steps:
        a, b = (
            sheet.place_of(sheet.marking.point(f"{n}a")),
            sheet.place_of(sheet.marking.point(f"{n}b")),
        )
        end = sheet.place_of(sheet.marking.fold_end(n))
        x, y = (a[0] + b[0] + end[0]) / 3, (a[1] + b[1] + end[1]) / 3
        places = [at for dx, dy in _NEAR_MIDDLE if _on_lead(sheet, at := (x + dx, y + dy))] or [(x, y)]
        tooth = max(a[1], end[1])
        yield _placed(sheet, str(n), [*places, *_beyond_the_ends(sheet, n, (x, y))], taken, tooth=tooth)
    for _, at in dots:
        yield element("circle", cx=at[0], cy=at[1], r=0.5, class_="datum")
        taken.append(_Box(*at, 0.4, 0.4))
    for point, (x, y) in dots:
        dx = 1.0 if x < centre[0] else -1.0
        dy = -1.0 if point.square_exact_mm < 0.25 * sheet.marking.width_mm else 1.0
        others = [place for other, place in [*dots, (None, datum)] if other is not point and place != (x, y)]
        yield _placed(sheet, point.key, [(x + dx * i, y + dy * k) for i, k in _ROUND_A_POINT], taken, (x, y), others)


def _beyond_the_ends(sheet: TicketSheet, step: int, middle: Point) -> list[Point]:
    """Return places in the waste beyond an end of the piece, for the number of a first or last step too narrow."""
    ways = [way for way, end in ((-1.0, 0), (1.0, -1)) if step == sheet.marking.steps[end]]
    back = -1.0 if sheet.pattern.mirrored else 1.0
    places = ((middle[0] + way * back * dx, middle[1] + dy) for way in ways for dx, dy in _BESIDE_A_STEP)
    return [at for at in places if not _on_lead(sheet, at)]


def _on_lead(sheet: TicketSheet, at: Point) -> bool:
    """Tell whether a place lies inside the outline: a line from it to the left meets an odd number of edges."""
    ring = sheet.at((*sheet.pattern.outline, sheet.pattern.outline[0]))
    met = sum(
        (a[1] > at[1]) != (b[1] > at[1]) and a[0] + (b[0] - a[0]) * (at[1] - a[1]) / (b[1] - a[1]) < at[0]
        for a, b in pairwise(ring)
    )
    return met % 2 == 1


def _placed(
    sheet: TicketSheet,
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
    middle, high = SIDE + sheet.length / 2, sheet.tall
    blank, wider = (_Box(middle, sheet.head + high / 2, sheet.length / 2 + off, high / 2) for off in (0.0, 2.2))
    boxes = [_Box(x, y, _BROAD * len(text), _TALL) for x, y in places]
    reach = 2 * max(distance_mm(places[0], at) for at in places) + 4.0
    around = _Box(*places[0], reach, reach)
    near, cuts = ([ends for ends in of if around.meets(*ends)] for of in (sheet.stretches, sheet.cuts))
    inked = [_Box(box.x, box.y, box.broad + _HALF_LINE, box.tall + _HALF_LINE) for box in boxes]
    best, box = math.inf, boxes[0]
    for rank, tried in enumerate(boxes):
        worse = (
            100 * sum(tried.touches(other) for other in taken)
            + 8 * (not blank.holds(tried.x, tried.y))
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


def _numbers(sheet: TicketSheet) -> Iterable[str]:
    """Write the number of each line of a rectangular piece on it, or in a hole, clear of what is there."""
    taken = [*sheet.signs]
    drawn = [[sheet.place_of(sheet.marking.point(key)) for key in line.keys] for line in sheet.marking.lines[1:]]
    for count, (line, ends) in enumerate(zip(sheet.marking.lines[1:], drawn, strict=True), 1):
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
