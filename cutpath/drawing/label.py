"""Where a piece's lettering stands: clear of cuts, folds and marks, inside its label box if it can, never mirrored.

A piece too small for that gets smaller letters, anywhere on it, and in the end its number without that of the copy.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cutpath import sure
from cutpath.drawing.lettering import GRID, LINE_PITCH, letter, text_width_mm
from cutpath.errors import Finding, Severity
from cutpath.plane import bounds_mm, turned
from cutpath.values.pattern import LabelBox, Point, Polyline
from cutpath.values.piece import Piece, has_face

if TYPE_CHECKING:
    from shapely import Geometry

HEIGHTS_MM = (10.0, 7.0, 5.0)
"""Capital heights that are tried, the largest first (7 and 10 mm are heights of ISO 3098; 5 mm is the least that a
pencil writes legibly on lead: common practice, no source)."""

SMALL_MM = 3.5
"""Height on pieces with no room for more: a height of ISO 3098, for a pen (from memory, unverified)."""

_CLEAR_SHARE = 0.3  # clear space round lettering, as a share of its height; a comma reaches 0.16 below its line
_TRIES = (9, 7)  # places tried along and across the label box


@dataclass(frozen=True, slots=True)
class LabelPlace:
    """Where all copies of a piece are lettered alike: the rectangle filled, capital height, number of lines.

    ``counted`` is False where there is no room to say which copy it is.
    """

    box: LabelBox
    height_mm: float
    lines: int
    counted: bool = True


def label_words(piece: Piece, copy: int, *, flipped: bool = False, counted: bool = True) -> tuple[str, ...]:
    """Return the words on one copy: its id, its hand, that it lies face down, ``copy/quantity`` when there are several.

    A flat piece without hand may be ``flipped`` and nobody need know.
    """
    words = [piece.id]
    if piece.hand is not None:
        words.append(piece.hand.value)
    if flipped and has_face(piece):
        words.append("face down")
    if piece.quantity > 1 and counted:
        words.append(f"{copy}/{piece.quantity}")
    return tuple(words)


def label_place(piece: Piece) -> LabelPlace | None:
    """Find the largest lettering, on the fewest lines, that stands clear inside the label box; None when none does.

    What finds no room there is looked for anywhere on the piece, smaller, and in the end without the copy's number.

    The last copy has the longest words, face down where it may be, so what holds for it holds for every copy.
    """
    import shapely

    pattern = piece.pattern
    sheet = shapely.Polygon(pattern.outline, pattern.holes)
    lines = [s.points for s in pattern.snips] + [(f.start, f.end) for f in pattern.folds]
    avoid = shapely.MultiLineString([*lines, *(m.points for m in pattern.marks)])
    low_x, low_y, high_x, high_y = bounds_mm(pattern.outline)
    anywhere = LabelBox((low_x, low_y), 0.0, high_x - low_x, high_y - low_y)
    rooms = [(pattern.label, h) for h in HEIGHTS_MM]
    rooms += [(anywhere, HEIGHTS_MM[-1]), (pattern.label, SMALL_MM), (anywhere, SMALL_MM)]
    for counted in (True, False) if piece.quantity > 1 else (True,):
        words = label_words(piece, piece.quantity, flipped=piece.may_flip, counted=counted)
        for room, height in rooms:
            for count in range(1, len(words) + 1):
                size = _block(_arranged(words, count), height)
                box = _free_place(room, *size, _CLEAR_SHARE * height, sheet, avoid)
                if box is not None:
                    return LabelPlace(box, height, count, counted)
    return None


def label_strokes(piece: Piece, copy: int, place: LabelPlace, *, flipped: bool) -> tuple[Polyline, ...]:
    """Return the lettering of one copy in the pattern's own frame.

    A piece that will be ``flipped`` gets its letters mirrored here, so that they read right on the lead.
    """
    strokes: list[Polyline] = []
    box, turn = place.box, math.radians(place.box.turn_deg)
    cos, sin, (left, low) = sure.cos(turn), sure.sin(turn), place.box.corner
    words = label_words(piece, copy, flipped=flipped, counted=place.counted)
    for k, text in enumerate(_arranged(words, place.lines)):
        base = LINE_PITCH * (place.lines - 1 - k) * place.height_mm / GRID
        indent = (box.width_mm - text_width_mm(text, place.height_mm)) / 2
        for stroke in letter(text, place.height_mm):  # as `_in_box`
            along = [(box.width_mm - (x + indent) if flipped else x + indent, y + base) for x, y in stroke]
            strokes.append(tuple([(left + x * cos - y * sin, low + x * sin + y * cos) for x, y in along]))
    return tuple(strokes)


def label_edge(place: LabelPlace) -> Polyline:
    """Return a line round the lettering and through it, which other lettering keeps off."""
    wide, high = place.box.width_mm, place.box.height_mm
    corners = ((0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high), (0.0, 0.0), (wide, high))
    return tuple(_in_box(place.box, x, y) for x, y in corners)


def label_findings(names: Iterable[str], pieces: Mapping[str, Piece]) -> tuple[Finding, ...]:
    """Note every piece whose number stands neither on it nor in the waste beside it; once for all its copies."""
    bare = [pieces[name] for name in dict.fromkeys(names)]
    return tuple(
        Finding(
            "CP411",
            piece.where,
            f"no room on {piece.id}, nor in the waste beside each, for its lettering at {SMALL_MM:g} mm high",
            f"a clear space of {_least(piece)}",
            "Write the number on by hand as soon as the piece is cut, or have stick-on labels made (--labels).",
            Severity.NOTE,
        )
        for piece in bare
    )


def _least(piece: Piece) -> str:
    words = label_words(piece, piece.quantity, flipped=piece.may_flip, counted=False)
    wide, high = _block(_arranged(words, len(words)), SMALL_MM)
    return f"{wide:.0f} × {high:.0f} mm"


def _arranged(words: tuple[str, ...], lines: int) -> tuple[str, ...]:
    """Put one word on each line, and what is left over on the last."""
    return (*words[: lines - 1], " ".join(words[lines - 1 :]))


def _block(lines: tuple[str, ...], height: float) -> tuple[float, float]:
    wide = max(text_width_mm(text, height) for text in lines)
    return wide, (GRID + LINE_PITCH * (len(lines) - 1)) * height / GRID


def _in_box(box: LabelBox, x: float, y: float) -> Point:
    """Map a point of the box, ``x`` along and ``y`` up from its corner, to the pattern's frame."""
    x, y = turned(((x, y),), box.turn_deg)[0]
    return box.corner[0] + x, box.corner[1] + y


def _free_place(
    box: LabelBox, wide: float, high: float, clear: float, sheet: Geometry, avoid: Geometry
) -> LabelBox | None:
    """Find the clear rectangle of the given size inside ``box`` that is nearest to the box's middle."""
    import numpy as np
    import shapely

    slack_x, slack_y = box.width_mm - wide, box.height_mm - high
    if slack_x < 0 or slack_y < 0:
        return None
    tries = [
        (slack_x * i / (_TRIES[0] - 1), slack_y * j / (_TRIES[1] - 1))
        for i in range(_TRIES[0])
        for j in range(_TRIES[1])
    ]
    tries.sort(key=lambda t: (abs(t[0] - slack_x / 2) + abs(t[1] - slack_y / 2), t))
    rectangles = [
        [
            _in_box(box, x + dx, y + dy)
            for dx, dy in (
                (-clear, -clear),
                (wide + clear, -clear),
                (wide + clear, high + clear),
                (-clear, high + clear),
            )
        ]
        for x, y in tries
    ]
    areas = shapely.polygons(np.asarray(rectangles))
    shapely.prepare(sheet)
    shapely.prepare(avoid)
    free = np.flatnonzero(shapely.contains(sheet, areas) & ~shapely.intersects(avoid, areas))
    if not free.size:
        return None
    x, y = tries[int(free[0])]
    return LabelBox(_in_box(box, x, y), box.turn_deg, wide, high)
