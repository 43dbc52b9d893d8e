"""Where a piece's lettering stands: inside its label box, clear of cuts, folds and marks, and never mirrored."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from cutpath.drawing.lettering import GRID, LINE_PITCH, letter, text_width_mm
from cutpath.errors import Finding, Severity
from cutpath.values.batch import Sheet
from cutpath.values.pattern import FlatPattern, LabelBox, Point, Polyline
from cutpath.values.piece import Piece

if TYPE_CHECKING:
    from shapely import Geometry

HEIGHTS_MM = (10.0, 7.0, 5.0)
"""Capital heights that are tried, the largest first (7 and 10 mm are heights of ISO 3098; 5 mm is the least that a
pencil writes legibly on lead: common practice, no source)."""

_CLEAR_SHARE = 0.3  # clear space round lettering, as a share of its height; a comma reaches 0.16 below its line
_TRIES = (9, 7)  # places tried along and across the label box


def label_lines(piece: Piece, copy: int) -> tuple[str, ...]:
    """Give the words on one copy: the piece's id, its hand, and ``copy/quantity`` when there are several."""
    words = [piece.id]
    if piece.hand is not None:
        words.append(piece.hand.value)
    if piece.quantity > 1:
        words.append(f"{copy}/{piece.quantity}")
    return tuple(words)


def label_strokes(piece: Piece, copy: int, *, flipped: bool) -> tuple[Polyline, ...]:
    """Give the lettering of one copy in the pattern's own frame; empty when it fits nowhere.

    A piece that will be ``flipped`` gets its letters mirrored here, so that they read right on the lead.
    """
    found = _fit(piece.pattern, label_lines(piece, copy))
    if found is None:
        return ()
    box, height, lines = found
    strokes = []
    for k, text in enumerate(lines):
        base = LINE_PITCH * (len(lines) - 1 - k) * height / GRID
        indent = (box.width_mm - text_width_mm(text, height)) / 2
        strokes += [
            tuple(_in_box(box, x + indent, y + base, flipped=flipped) for x, y in stroke)
            for stroke in letter(text, height)
        ]
    return tuple(strokes)


def label_findings(sheet: Sheet, pieces: Mapping[str, Piece]) -> tuple[Finding, ...]:
    """Note every piece on a roll whose lettering fits nowhere inside its label box; once for all copies alike."""
    missing = {
        p.id: pieces[p.id]
        for p in sheet.nested.placements
        if _fit(pieces[p.id].pattern, label_lines(pieces[p.id], p.copy)) is None
    }
    return tuple(
        Finding(
            "CP411",
            piece.where,
            f"no room on {piece.id} for its lettering at {HEIGHTS_MM[-1]:g} mm high",
            f"a clear space of {_least(label_lines(piece, piece.quantity))} inside the label box",
            "Write the number on by hand, as soon as the piece is cut.",
            Severity.NOTE,
        )
        for piece in missing.values()
    )


def _least(lines: tuple[str, ...]) -> str:
    wide, high = _block(lines, HEIGHTS_MM[-1])
    return f"{wide:.0f} × {high:.0f} mm"


def _layouts(words: tuple[str, ...]) -> Iterable[tuple[str, ...]]:
    yield (" ".join(words),)
    if len(words) > 1:
        yield (words[0], " ".join(words[1:]))
    if len(words) > 2:
        yield words


def _block(lines: tuple[str, ...], height: float) -> tuple[float, float]:
    wide = max(text_width_mm(text, height) for text in lines)
    return wide, (GRID + LINE_PITCH * (len(lines) - 1)) * height / GRID


def _in_box(box: LabelBox, x: float, y: float, *, flipped: bool = False) -> Point:
    """Map a point of the box, ``x`` along and ``y`` up from its corner, to the pattern's frame."""
    turn = math.radians(box.turn_deg)
    cos, sin = math.cos(turn), math.sin(turn)
    if flipped:
        x = box.width_mm - x
    return (box.corner[0] + x * cos - y * sin, box.corner[1] + x * sin + y * cos)


def _fit(pattern: FlatPattern, words: tuple[str, ...]) -> tuple[LabelBox, float, tuple[str, ...]] | None:
    """Find the largest lettering, on the fewest lines, that stands clear: the rectangle it fills, height, lines."""
    import shapely

    sheet = shapely.Polygon(pattern.outline, pattern.holes)
    lines = [s.points for s in pattern.snips] + [(f.start, f.end) for f in pattern.folds]
    avoid = shapely.MultiLineString([*lines, *(m.points for m in pattern.marks)])
    for height in HEIGHTS_MM:
        for layout in _layouts(words):
            box = _free_place(pattern.label, *_block(layout, height), _CLEAR_SHARE * height, sheet, avoid)
            if box is not None:
                return box, height, layout
    return None


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
