"""Single-stroke lettering, drawn for this project, for a pencil or a pen.

Letters stand on a grid of ten units to the capital height. Proportions follow the idea of ISO 3098 type B (line 1,
clear space between letters 2, between words 6 units; from memory, unverified: the standard was not read in its own
text). Spaces here run between centre lines, so they are one line width more.
A letter O is broad, a zero is narrow and carries a slash; a letter I has two feet, a one has a flag.
"""

from __future__ import annotations

import math
import unicodedata
from functools import cache

from cutpath import sure
from cutpath.values.pattern import Point, Polyline

GRID = 10.0
"""Grid units to the height of a capital."""
LETTER_SPACE = 3.0
WORD_SPACE = 7.0
LINE_PITCH = 16.0
"""Grid units from one baseline to the next."""

_ARC_STEP_DEG = 22.5
"""Chord of a curve: on a 10 mm letter it leaves the arc by less than 0.1 mm, under the width of a pencil line."""

_Glyph = tuple[float, tuple[Polyline, ...]]  # advance width, strokes

_ALIKE = str.maketrans({"–": "-", "—": "-", "−": "-", "’": "'", "‘": "'", "“": '"', "”": '"', "⁄": "/", "⌀": "Ø"})


def _arc(cx: float, cy: float, rx: float, ry: float, start_deg: float, end_deg: float) -> list[Point]:
    """Return points of an elliptic arc: its ends, and between them the whole steps from 0 degrees, so every summit."""
    low, high = sorted((start_deg, end_deg))
    steps = range(math.floor(low / _ARC_STEP_DEG) + 1, math.ceil(high / _ARC_STEP_DEG))
    angles = [low, *(k * _ARC_STEP_DEG for k in steps), high]
    if start_deg > end_deg:
        angles.reverse()
    turns = map(math.radians, angles)
    return [(round(cx + rx * sure.cos(a), 4), round(cy + ry * sure.sin(a), 4)) for a in turns]


def _line(*parts: Point | list[Point]) -> Polyline:
    """Join points and arcs to one stroke, leaving out points that repeat."""
    points: list[Point] = []
    for part in parts:
        for point in part if isinstance(part, list) else [part]:
            if not points or math.dist(points[-1], point) > 0:
                points.append(point)
    return tuple(points)


def _ring(cx: float, cy: float, rx: float, ry: float) -> Polyline:
    ring = _arc(cx, cy, rx, ry, 0, 360)
    return (*ring[:-1], ring[0])


def _dot(x: float, y: float) -> Polyline:
    return ((x, y), (x + 1, y), (x + 1, y + 1), (x, y + 1), (x, y))


@cache
def _glyphs() -> dict[str, _Glyph]:
    p_bowl = _line((0, 10), _arc(3.1, 7.35, 2.7, 2.65, 90, -90), (0, 4.7))
    o_body = _line(_arc(3.4, 6.6, 3.4, 3.4, 0, 180), _arc(3.4, 3.4, 3.4, 3.4, 180, 360), (6.8, 6.6))
    six = (_ring(2.7, 2.9, 2.7, 2.9), _line(_arc(4.7, 2.9, 4.7, 7.1, 90, 180)))
    capitals: dict[str, _Glyph] = {
        "A": (6.4, (((0, 0), (3.2, 10), (6.4, 0)), ((1.12, 3.5), (5.28, 3.5)))),
        "B": (
            6.0,
            (
                ((0, 0), (0, 10)),
                _line((0, 10), _arc(3.1, 7.6, 2.4, 2.4, 90, -90), (0, 5.2)),
                _line((3.1, 5.2), _arc(3.4, 2.6, 2.6, 2.6, 90, -90), (0, 0)),
            ),
        ),
        "C": (6.2, (_line(_arc(3.3, 6.7, 3.3, 3.3, 30, 180), _arc(3.3, 3.3, 3.3, 3.3, 180, 330)),)),
        "D": (
            6.2,
            (
                _line(
                    (0, 0),
                    (0, 10),
                    (2.4, 10),
                    _arc(2.6, 6.4, 3.6, 3.6, 90, 0),
                    _arc(2.6, 3.6, 3.6, 3.6, 0, -90),
                    (0, 0),
                ),
            ),
        ),
        "E": (5.4, (((5.4, 10), (0, 10), (0, 0), (5.4, 0)), ((0, 5.2), (4.4, 5.2)))),
        "F": (5.2, (((5.2, 10), (0, 10), (0, 0)), ((0, 5.2), (4.2, 5.2)))),
        "G": (
            6.6,
            (_line(_arc(3.3, 6.7, 3.3, 3.3, 30, 180), _arc(3.3, 3.3, 3.3, 3.3, 180, 360), (6.6, 4.7), (3.8, 4.7)),),
        ),
        "H": (6.0, (((0, 0), (0, 10)), ((6, 0), (6, 10)), ((0, 5.2), (6, 5.2)))),
        "I": (3.2, (((0, 0), (3.2, 0)), ((1.6, 0), (1.6, 10)), ((0, 10), (3.2, 10)))),
        "J": (4.8, (_line((4.8, 10), _arc(2.4, 2.5, 2.4, 2.5, 0, -160)),)),
        "K": (6.0, (((0, 0), (0, 10)), ((5.8, 10), (0, 3.8)), ((2.05, 5.9914), (6.0, 0)))),
        "L": (5.2, (((0, 10), (0, 0), (5.2, 0)),)),
        "M": (7.2, (((0, 0), (0, 10), (3.6, 3.2), (7.2, 10), (7.2, 0)),)),
        "N": (6.2, (((0, 0), (0, 10), (6.2, 0), (6.2, 10)),)),
        "O": (6.8, (o_body,)),
        "P": (5.8, (((0, 0), (0, 10)), p_bowl)),
        "Q": (6.8, (o_body, ((4.0, 3.0), (6.8, -0.4)))),
        "R": (6.0, (((0, 0), (0, 10)), p_bowl, ((2.8, 4.7), (6.0, 0)))),
        "S": (6.0, (_line(_arc(3.0, 7.5, 2.8, 2.5, 25, 270), _arc(3.0, 2.5, 3.0, 2.5, 90, -155)),)),
        "T": (6.0, (((0, 10), (6, 10)), ((3, 10), (3, 0)))),
        "U": (6.2, (_line((0, 10), _arc(3.1, 3.1, 3.1, 3.1, 180, 360), (6.2, 10)),)),
        "V": (6.4, (((0, 10), (3.2, 0), (6.4, 10)),)),
        "W": (8.4, (((0, 10), (2.1, 0), (4.2, 7.6), (6.3, 0), (8.4, 10)),)),
        "X": (6.2, (((0, 0), (6.2, 10)), ((0, 10), (6.2, 0)))),
        "Y": (6.2, (((0, 10), (3.1, 4.8), (6.2, 10)), ((3.1, 4.8), (3.1, 0)))),
        "Z": (6.0, (((0, 10), (6, 10), (0, 0), (6, 0)),)),
        "Ø": (6.8, (o_body, ((0.2, -0.6), (6.6, 10.6)))),
    }
    digits: dict[str, _Glyph] = {
        "0": (5.4, (_ring(2.7, 5, 2.7, 5), ((1.6, 2.8), (3.8, 7.2)))),
        "1": (5.4, (((0.9, 7.8), (3.0, 10), (3.0, 0)),)),
        "2": (5.4, (_line(_arc(2.7, 7.3, 2.7, 2.7, 165, -38), (0, 0), (5.4, 0)),)),
        "3": (5.4, (_line(_arc(2.6, 7.6, 2.4, 2.4, 150, -90), _arc(2.6, 2.6, 2.8, 2.6, 90, -155)),)),
        "4": (5.4, (((4.1, 0), (4.1, 10), (0, 2.8)), ((0, 2.8), (5.4, 2.8)))),
        "5": (5.4, (_line((4.9, 10), (0.8, 10), _arc(2.5, 3.2, 2.9, 3.2, 128, -145)),)),
        "6": (5.4, six),
        "7": (5.4, (((0, 10), (5.4, 10), (1.7, 0)),)),
        "8": (5.4, (_ring(2.7, 7.6, 2.35, 2.4), _ring(2.7, 2.6, 2.7, 2.6))),
        "9": (5.4, tuple(tuple((round(5.4 - x, 4), round(10 - y, 4)) for x, y in s) for s in six)),
    }
    signs: dict[str, _Glyph] = {
        " ": (WORD_SPACE - 2 * LETTER_SPACE, ()),
        "-": (4.0, (((0.2, 4.6), (3.8, 4.6)),)),
        "_": (5.0, (((0, -1), (5, -1)),)),
        "/": (4.4, (((0, -0.6), (4.4, 10.6)),)),
        ".": (1.0, (_dot(0, 0),)),
        ",": (1.0, (((1, 1), (1, 0), (0, -1.6)),)),
        ":": (1.0, (_dot(0, 1), _dot(0, 6))),
        ";": (1.0, (((1, 2), (1, 1), (0, -0.6)), _dot(0, 6))),
        "(": (2.3, (_line(_arc(5.2, 5, 5.2, 6.8, 125, 235)),)),
        ")": (2.3, (_line(_arc(-2.9, 5, 5.2, 6.8, 55, -55)),)),
        "+": (5.4, (((0, 4.6), (5.4, 4.6)), ((2.7, 1.9), (2.7, 7.3)))),
        "×": (4.6, (((0, 2.3), (4.6, 6.9)), ((0, 6.9), (4.6, 2.3)))),
        "=": (5.4, (((0, 3.4), (5.4, 3.4)), ((0, 5.9), (5.4, 5.9)))),
        "°": (2.8, (_ring(1.4, 8.6, 1.4, 1.4),)),
        "'": (0.6, (((0.3, 10), (0.3, 7)),)),
        '"': (2.4, (((0.3, 10), (0.3, 7)), ((2.1, 10), (2.1, 7)))),
        "%": (7.0, (_ring(1.5, 8.1, 1.5, 1.9), _ring(5.5, 1.9, 1.5, 1.9), ((0.8, 0), (6.2, 10)))),
        "#": (
            6.4,
            (((1.4, 0.6), (2.6, 9.4)), ((3.8, 0.6), (5.0, 9.4)), ((0, 3.4), (6.0, 3.4)), ((0.4, 6.6), (6.4, 6.6))),
        ),
        "*": (4.6, (((2.3, 9.8), (2.3, 4.6)), ((0, 8.5), (4.6, 5.9)), ((0, 5.9), (4.6, 8.5)))),
        "&": (
            6.4,
            (
                _line((6.4, 0), (1.3, 6.7), _arc(2.9, 7.9, 1.8, 2.1, 200, -22.5)),
                _line((4.563, 7.0964), _arc(2.6, 2.6, 2.6, 2.6, 125, 330), (6.2, 4.4)),
            ),
        ),
        "?": (5.0, (_line(_arc(2.5, 7.5, 2.5, 2.5, 160, -50), (2.5, 4.2), (2.5, 2.8)), _dot(2.0, 0))),
        "!": (1.0, (((0.5, 10), (0.5, 2.8)), _dot(0, 0))),
    }
    return capitals | digits | signs


def _known(text: str) -> list[_Glyph]:
    glyphs = _glyphs()
    unknown: _Glyph = (5.0, (((0.0, 0.0), (5.0, 0.0), (5.0, 10.0), (0.0, 10.0), (0.0, 0.0)),))
    found = []
    for sign in text.translate(_ALIKE).upper():
        parts = [sign] if sign in glyphs else unicodedata.normalize("NFKD", sign).translate(_ALIKE).upper()
        found += [glyphs.get(p, unknown) for p in parts if not unicodedata.combining(p)]
    return found


def text_width_mm(text: str, height_mm: float) -> float:
    """Return the width in mm of ``text`` written with capitals ``height_mm`` high, from ink edge to ink edge."""
    glyphs = _known(text)
    units = math.fsum(width for width, _ in glyphs) + LETTER_SPACE * max(0, len(glyphs) - 1)
    return units * height_mm / GRID


def letter(text: str, height_mm: float) -> tuple[Polyline, ...]:
    """Write ``text`` as single-stroke polylines.

    The baseline is y = 0, writing starts at x = 0 and runs along x; capitals are ``height_mm`` high. Small
    letters become capitals, accents are dropped, a sign that the alphabet lacks becomes an empty box. A stroke
    that comes round to its start repeats its first point.
    """
    scale = height_mm / GRID
    strokes: list[Polyline] = []
    pen = 0.0
    for width, glyph in _known(text):
        strokes += [tuple([((pen + x) * scale, y * scale) for x, y in stroke]) for stroke in glyph]
        pen += width + LETTER_SPACE
    return tuple(strokes)
