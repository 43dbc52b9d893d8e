"""A blank measuring sheet as one page of PDF, A4: sketches with lettered dimensions, and places to write them in."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from math import fsum
from typing import TYPE_CHECKING

from cutpath.jobs.measuring import Blank, MeasuringSheet
from cutpath.paper.brickwork import View
from cutpath.paper.dimensions import FIGURE, between, lettered
from cutpath.paper.ink import Contours, Ink, Words, line
from cutpath.paper.section import cut_wall
from cutpath.paper.text import millimetres
from cutpath.plane import bounds_mm
from cutpath.trade import cautions
from cutpath.values.looks import BLACK, BLUE, GREEN, GREY
from cutpath.values.pattern import Point
from cutpath.writers.pages import A4_MM
from cutpath.writers.pdf import MM
from cutpath.writers.pdf_frame import canvas_on

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

_MARGIN_MM = 14.0
_ROOM_MM = A4_MM[0] - 2 * _MARGIN_MM
_SKETCH_MM = 125.0  # height at most
_BETWEEN_MM = 8.0
_LETTER_MM = 4.2  # height of the letters
_ROW_MM = 7.8
_JOINTS, _JOINTS_A_ROW = 20, 10
_FAINT, _PALE = "#9aa3a9", "#eef1f3"

_LOOKS: dict[str, tuple[str, float, str]] = {
    "brick": ("#c9c0b8", 0.13, ""),
    "bed-joint": ("#9a8f86", 0.18, ""),
    "tile": (_FAINT, 0.13, ""),
    "slate": (GREY, 0.13, "#ffffff"),
    "roof-line": (BLACK, 0.45, ""),
    "wall-edge": (BLACK, 0.3, ""),
    "lead": (_FAINT, 0.25, _PALE),
    "section-lead": (GREY, 0.9, ""),
    "wood": (GREY, 0.2, "#efe6d8"),
    "roll-band": (GREY, 0.2, "#efe6d8"),
    "guide": (BLACK, 0.16, ""),
    "dimension": (BLACK, 0.22, ""),
    "arrow": ("", 0.0, BLACK),
    "origin": (BLACK, 0.16, "#ffffff"),
    "outline": (BLACK, 0.4, ""),
    "fold": (BLUE, 0.3, ""),
    "mark": (GREEN, 0.3, ""),
}
"""Colour and width of the lines of each class, and what they are filled with; lines of other classes are left out."""

_WATER_LINE = "mark water-line"
_DASHES = {"fold": [2.2 * MM, 0.9 * MM], _WATER_LINE: [4.0 * MM, 0.8 * MM, 0.6 * MM, 0.8 * MM]}
_WORDS = ("words soft", "letter")
_NOT_OF_SOAKERS = frozenset({"lead", _WATER_LINE})
"""What is left out of the wall on which soakers are measured: the flashing over them is another detail's."""


Picture = tuple[str, Sequence[Ink]]
"""A caption, and what is drawn."""


def measuring_page(sheet: MeasuringSheet, pictures: Sequence[Picture]) -> bytes:
    """Write the sheet; the same input always gives the same bytes.

    Parameters
    ----------
    sheet : MeasuringSheet
    pictures : sequence of Picture
        Of its specimen, with their figures.
    """
    out = io.BytesIO()
    canvas = canvas_on(out, f"Measuring sheet: {sheet.kind}", pagesize=(A4_MM[0] * MM, A4_MM[1] * MM))
    drawn, letters = lettered_pictures(sheet, pictures)
    _Page(canvas).draw(sheet, drawn, letters)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def lettered_pictures(sheet: MeasuringSheet, pictures: Sequence[Picture]) -> tuple[list[Picture], Mapping[str, str]]:
    """Return the pictures with letters for figures, and the letter of each key that they show."""
    own = [("the wall" if sheet.kind == "soakers" else words, inks) for words, inks in pictures]
    if sheet.kind == "chimney":
        along = millimetres(sheet.specimen.detail["slope_length"])
        own = [(words, [*inks, *_level_too(inks, along)]) for words, inks in own]
    drawn = [*own, *_sketches(sheet.kind)]
    found = {ink.text.rpartition(": ")[2] for _, inks in drawn for ink in inks if isinstance(ink, Words)}
    sizes = {**sheet.specimen.job, **sheet.specimen.detail, **_SKETCHED.get(sheet.kind, {})}
    letters: dict[str, str] = {}
    forms: dict[str, str] = {}
    for blank in (*sheet.of_job, *sheet.fields):
        plain = _figure(blank, _size(sizes, blank.key)), f"[{blank.key}]"
        figure, form = sheet.specimen.figures.get(blank.key, plain)
        if figure in found:
            letters[blank.key] = chr(ord("A") + len(letters))
            forms[figure] = form
    if sheet.kind == "outline":
        letters, forms = {"size": "A\u00d7B"}, {"325": "A", "175": "B"}
    of_figure = {figure: _KEY.sub(lambda key: letters[key[1]], form) for figure, form in forms.items()}
    joints = [_joints_in(inks) if sheet.joints else {} for _, inks in drawn]
    most = max(map(len, joints))  # a front with two of the same joints shows its width alone
    shown = [of_figure | own if len(own) == most else of_figure for own in joints]
    pairs = zip(drawn, shown, strict=True)
    return [(words, _shown(lettered(inks, told), sheet.kind)) for (words, inks), told in pairs], letters


def _joints_in(inks: Iterable[Ink]) -> dict[str, str]:
    """Return the figures of bed joints in a picture, each with its letter."""
    texts = [ink.text for ink in inks if isinstance(ink, Words) and ink.text[:1].isdigit() and ": " in ink.text]
    return {text: f"J{text.partition(':')[0]}" for text in texts}


_KEY = re.compile(r"\[([\w.]+)\]")


def _size(sizes: object, key: str) -> object:
    """Return what stands under a key, or under one in the table under a key."""
    for part in key.split("."):
        sizes = sizes.get(part) if isinstance(sizes, Mapping) else None
    return sizes


def _figure(blank: Blank, size: object) -> str:
    """Return a size as its figure stands in a picture."""
    if not isinstance(size, int | float) or isinstance(size, bool):
        return "none"
    return f"{size:g}°" if blank.unit == "deg" else millimetres(size)


def _shown(inks: Iterable[Ink], kind: str) -> list[Ink]:
    """Return what of a picture belongs on a measuring sheet: no fixings, folds, laps or numbers of pieces."""
    left_out = _NOT_OF_SOAKERS if kind == "soakers" else frozenset()

    def belongs(ink: Ink) -> bool:
        if isinstance(ink, Words):
            return ink.class_ in _WORDS
        known = ink.class_ == _WATER_LINE or ink.class_.partition(" ")[0] in _LOOKS.keys() - {"mark"}
        return known and ink.class_ not in left_out

    return [ink for ink in inks if belongs(ink)]


_SKETCH = View(4.0, mirrored=False)
"""Of what is sketched here, in mm."""


def _hanging() -> list[Ink]:
    """Cut a cover flashing: turned into its chase, hanging over an upstand."""
    at, top = _SKETCH.at, 105.0
    inks: list[Ink] = [*cut_wall(_SKETCH, -35.0, 150.0)]
    inks.append(line("lead", *_SKETCH.all(((3.0, 55.0), (3.0, -25.0), (105.0, -25.0)))))
    inks.append(line("section-lead", *_SKETCH.all(((-27.0, top), (8.0, top), (8.0, 0.0)))))
    inks += between(at((8.0, top)), at((8.0, 0.0)), (9.0, 0.0), "105")
    inks += between(at((-27.0, top)), at((0.0, top)), (0.0, -5.0), "27")
    inks.append(Words("upstand of what lies under it", at((15.0, -40.0)), "words soft", FIGURE, "start"))
    return inks


def _soaker() -> list[Ink]:
    """Cut a soaker square to the slope: up the wall, and on the roof under the covering."""
    at = _SKETCH.at
    inks: list[Ink] = [*cut_wall(_SKETCH, -35.0, 130.0), line("roof-line", *_SKETCH.all(((0.0, 0.0), (145.0, 0.0))))]
    inks.append(line("section-lead", *_SKETCH.all(((2.5, 76.0), (2.5, 2.5), (104.0, 2.5)))))
    inks += between(at((2.5, 0.0)), at((2.5, 76.0)), (9.0, 0.0), "76")
    inks += between(at((0.0, 0.0)), at((104.0, 0.0)), (0.0, 7.0), "104")
    return inks


def _covering() -> list[Ink]:
    """Cut a step flashing with its cover square to the slope: turned into a joint, down the wall and over the tiles."""
    at = _SKETCH.at
    inks: list[Ink] = [*cut_wall(_SKETCH, -35.0, 130.0), line("roof-line", *_SKETCH.all(((0.0, 0.0), (190.0, 0.0))))]
    inks.append(line("section-lead", *_SKETCH.all(((-25.0, 100.0), (2.5, 100.0), (2.5, 3.0), (155.0, 3.0)))))
    inks += between(at((0.0, 0.0)), at((155.0, 0.0)), (0.0, 7.0), "155")
    return inks


def _rectangle() -> list[Ink]:
    """Show how a plain rectangle is given, with a fold."""
    inks: list[Ink] = [line("outline", (0, 0), (60, 0), (60, -30), (0, -30), closed=True)]
    inks.append(line("fold", (0, -24), (60, -24)))
    inks += between((0.0, 0.0), (60.0, 0.0), (0.0, 6.0), "325")
    inks += between((60.0, 0.0), (60.0, -30.0), (6.0, 0.0), "175")
    inks.append(Words("fold", (30.0, -25.0), "words soft", FIGURE))
    return inks


def _sketches(kind: str) -> list[Picture]:
    """Draw what no picture of a wall shows of a kind."""
    if kind == "soakers":
        return [("a soaker, cut square to the slope", _soaker())]
    if kind == "step and cover":
        return [("the cover on the roof, cut square to the slope", _covering())]
    if kind == "outline":
        return [("a rectangle with a fold", _rectangle())]
    return [("section", _hanging())] if kind == "cover flashing" else []


def _apart_mm(inks: Iterable[Ink]) -> float:
    """Return how far apart the letters of bed joints stand in a picture, at least; inf where there are not two."""
    levels = sorted(ink.at[1] for ink in inks if isinstance(ink, Words) and ink.text.startswith("J"))
    return min((b - a for a, b in pairwise(levels)), default=math.inf)


_SQUARE_DEG = 90.0


def _level_too(inks: Sequence[Ink], along: str) -> list[Ink]:
    """Dimension level, above the wall, a figure that a picture has along a slope; nothing where it has not."""
    turned = [(at, ink) for at, ink in enumerate(inks) if isinstance(ink, Words) and ink.turn_deg % _SQUARE_DEG]
    sloping = [at for at, ink in turned if ink.text.rpartition(": ")[2] == along]
    pairs = [(inks[at - 5], inks[at - 4]) for at in sloping]
    guides = [pair for pair in pairs if {ink.class_ for ink in pair} == {"guide"}]
    if not guides:
        return []
    top = min(y for ink in inks for _, y in ink.points) - FIGURE  # clear of the word above the arris
    ends = [sorted(guide.points[0] for guide in pair) for pair in guides]
    low, high = max(ends, key=lambda pair: math.dist(*pair))
    level = between((low[0], top), (high[0], top), (0.0, -4.0), "434")
    return [line("guide", high, (high[0], top)), *level]


_SKETCHED: dict[str, dict[str, object]] = {"chimney": {"depth": 434}, "soakers": {"upstand": 76, "roof": 104}}
"""Sizes by which the figures of a sketch are known, where its specimen has none."""


class _Page:
    """Lays out one page from the top down; heights in mm from its lower edge."""

    def __init__(self, canvas: Canvas) -> None:
        self._canvas = canvas
        self._y = A4_MM[1] - _MARGIN_MM
        self._joint_mm = _LETTER_MM

    def draw(self, sheet: MeasuringSheet, pictures: Sequence[Picture], letters: Mapping[str, str]) -> None:
        self._head(sheet)
        self._job(sheet.of_job, letters)
        below = len(sheet.fields) * _ROW_MM + (_JOINTS_MM if sheet.joints else 0.0) + _FOOT_MM
        self._pictures(pictures, _SQUARED_MM if sheet.kind == "outline" else self._y - below)
        for blank in sheet.fields:
            self._field(blank, letters.get(blank.key, ""))
        if sheet.joints:
            self._joints()
        if sheet.kind == "outline":
            self._squares()
        else:
            self._rest()
        self._foot(sheet)

    def _text(self, words: str, x: float, size: float, *, font: str = "Helvetica", colour: str = BLACK) -> None:
        self._canvas.setFillColor(colour)
        self._canvas.setFont(font, size)
        self._canvas.drawString(x * MM, self._y * MM, words)

    def _rule(self, x0: float, x1: float, y: float) -> None:
        self._canvas.setStrokeColor(GREY)
        self._canvas.setLineWidth(0.2 * MM)
        self._canvas.setDash()
        self._canvas.line(x0 * MM, y * MM, x1 * MM, y * MM)

    def _head(self, sheet: MeasuringSheet) -> None:
        self._y -= 5.0
        self._text(f"Measuring sheet: {sheet.kind}", _MARGIN_MM, 16, font="Helvetica-Bold")
        self._y -= 5.0
        self._text(sheet.says, _MARGIN_MM, 8.5)
        self._y -= 3.8
        self._text(_HOW, _MARGIN_MM, 7, colour=GREY)
        self._y -= 2.0

    def _job(self, blanks: Sequence[Blank], letters: Mapping[str, str]) -> None:
        """Draw what is asked of the job, in two columns."""
        own = [Blank("", "measured by, on", ""), *blanks]
        own = [*own[1:], own[0]]
        half = (_ROOM_MM - 6.0) / 2
        for place in range(0, len(own), 2):
            self._y -= 7.4
            for column, blank in enumerate(own[place : place + 2]):
                x = _MARGIN_MM + column * (half + 6.0)
                self._label(blank, x, letters.get(blank.key, ""), half)
        self._y -= 4.0

    def _label(self, blank: Blank, x: float, letter: str, room: float) -> None:
        """Write what a blank asks, and its key, above its line; or what there is to choose from."""
        words = _JOB_WORDS.get(blank.key, blank.says)
        shown = f"{letter}  {words}" if letter else words
        self._text(shown, x, 7.5, font="Helvetica-Bold" if letter else "Helvetica")
        start = x + 2.0 + self._wide(shown, 7.5, bold=bool(letter))
        if blank.choices:
            self._text(" / ".join(blank.choices), start, 7.5)
        else:
            self._rule(start, x + room - self._wide(blank.key, 6) - 1.5, self._y - 0.8)
        self._text(blank.key, x + room - self._wide(blank.key, 6), 6, colour=GREY)

    def _wide(self, text: str, size: float, *, bold: bool = False) -> float:
        return float(self._canvas.stringWidth(text, "Helvetica-Bold" if bold else "Helvetica", size)) / MM

    def _pictures(self, pictures: Sequence[Picture], room_mm: float) -> None:
        """Draw pictures beside or below each other, as large as the page has room for, each over its caption."""
        boxes = [bounds_mm(point for ink in inks for point in ink.points) for _, inks in pictures]
        wide, high = [x1 - x0 for x0, _, x1, _ in boxes], [y1 - y0 for _, y0, _, y1 in boxes]
        room, all_of = min(room_mm, _SKETCH_MM), range(len(boxes))

        def scale_of(rows: Sequence[Sequence[int]]) -> float:
            across = min((_ROOM_MM - _BETWEEN_MM * (len(row) - 1)) / fsum(wide[at] for at in row) for row in rows)
            return min(across, (room - _CAPTION_MM * len(rows)) / fsum(max(high[at] for at in row) for row in rows))

        ways = [[all_of[at : at + count] for at in all_of[::count]] for count in range(len(boxes), 0, -1)]
        rows = max(ways, key=scale_of)
        scale = min(scale_of(rows), _LARGEST)
        for row in rows:
            x = (A4_MM[0] - fsum(wide[place] for place in row) * scale - _BETWEEN_MM * (len(row) - 1)) / 2
            low = self._y - max(high[place] for place in row) * scale
            self._y = low - 4.0
            for place in row:
                words, inks = pictures[place]
                self._joint_mm = min(_LETTER_MM, _apart_mm(inks) * scale)
                x0, _, _, y1 = boxes[place]
                self._inks(inks, (x - x0 * scale, low + y1 * scale), scale)
                middle = x + wide[place] * scale / 2
                self._text(words, middle - self._wide(words, 7.5) / 2, 7.5, colour=GREY)
                x += wide[place] * scale + _BETWEEN_MM
            self._y -= _CAPTION_MM - 4.0

    def _inks(self, inks: Sequence[Ink], origin: Point, scale: float) -> None:
        def at(point: Point) -> Point:
            return (origin[0] + point[0] * scale) * MM, (origin[1] - point[1] * scale) * MM

        for ink in inks:
            if isinstance(ink, Contours):
                self._line(ink, [[at(p) for p in contour] for contour in ink.contours])
        for ink in inks:
            if isinstance(ink, Words):
                self._words(ink, at(ink.at))

    def _line(self, ink: Contours, contours: Sequence[Sequence[Point]]) -> None:
        colour, width, fill = _LOOKS[ink.class_.split()[0]]
        canvas, path = self._canvas, self._canvas.beginPath()
        for contour in contours:
            path.moveTo(*contour[0])
            for point in contour[1:]:
                path.lineTo(*point)
            if ink.closed:
                path.close()
        if colour:
            canvas.setStrokeColor(colour)
            canvas.setLineWidth(width * MM)
        canvas.setDash(_DASHES.get(ink.class_, []))
        canvas.setLineJoin(1)
        if fill:
            canvas.setFillColor(fill)
        canvas.drawPath(path, stroke=int(bool(colour)), fill=int(bool(fill) and ink.closed))
        canvas.setDash()

    def _words(self, ink: Words, at: Point) -> None:
        """Write a letter on a white ground, so that it is read on any hatching, or a word."""
        letter = ink.class_ == "letter"
        short = letter and len(ink.text) <= _SHORT
        size = (self._joint_mm if ink.text.startswith("J") else _LETTER_MM) * MM if short else ink.size_mm * 1.1 * MM
        if letter and not short:
            size = 3.0 * MM
        canvas = self._canvas
        canvas.saveState()
        canvas.translate(*at)
        if not short:
            canvas.rotate(-ink.turn_deg)
        canvas.setFont("Helvetica-Bold" if letter else "Helvetica", size)
        wide = canvas.stringWidth(ink.text, "Helvetica-Bold" if letter else "Helvetica", size)
        x = {"start": 0.0, "middle": -wide / 2, "end": -wide}[ink.anchor]
        if letter:
            canvas.setFillColor("#ffffff")
            canvas.rect(x - 0.4 * MM, -0.12 * size, wide + 0.8 * MM, 0.95 * size, stroke=0, fill=1)
        canvas.setFillColor(BLACK if letter else GREY)
        canvas.drawString(x, 0, ink.text)
        canvas.restoreState()

    def _field(self, blank: Blank, letter: str) -> None:
        """Draw one row: letter, what it asks, a line to write on or words to choose from, key."""
        from reportlab.lib.utils import simpleSplit

        self._y -= _ROW_MM
        self._text(letter, _MARGIN_MM, 11 if len(letter) == 1 else 8, font="Helvetica-Bold")
        key = blank.key
        lines = simpleSplit(blank.says, "Helvetica", 8, _ASKS_MM * MM)[:2]
        level = self._y
        self._y += 2.6 if len(lines) > 1 else 0.0
        for words in lines:
            self._text(words, _MARGIN_MM + 8.0, 8)
            self._y -= 3.2
        self._y = level
        start = _MARGIN_MM + 8.0 + _ASKS_MM + 3.0
        end = A4_MM[0] - _MARGIN_MM - _KEY_MM
        if blank.choices:
            self._text("  /  ".join(blank.choices), start, 9)
        else:
            self._rule(start, end, level - 0.8)
            self._text({"mm": "mm", "deg": "°"}.get(blank.unit, ""), end + 0.8, 7, colour=GREY)
        self._text(key, A4_MM[0] - _MARGIN_MM - self._wide(key, 6.5), 6.5, colour=GREY)

    def _joints(self) -> None:
        """Draw boxes for the heights of bed joints."""
        self._y -= 8.0
        words = "Bed joints up the lower corner, each plumb from the roof line there, bottom up:"
        self._text(words, _MARGIN_MM, 8)
        key = "coursing.joints"
        self._text(key, A4_MM[0] - _MARGIN_MM - self._wide(key, 6.5), 6.5, colour=GREY)
        box = _ROOM_MM / _JOINTS_A_ROW
        self._y -= 1.5
        canvas = self._canvas
        canvas.setStrokeColor(GREY)
        canvas.setFillColor(GREY)
        canvas.setLineWidth(0.2 * MM)
        canvas.setFont("Helvetica", 6)
        for row in range(_JOINTS // _JOINTS_A_ROW):
            self._y -= _BOX_MM
            for place in range(_JOINTS_A_ROW):
                x = _MARGIN_MM + place * box
                canvas.rect(x * MM, self._y * MM, box * MM, _BOX_MM * MM, stroke=1, fill=0)
                canvas.drawString((x + 0.8) * MM, (self._y + _BOX_MM - 2.4) * MM, f"J{row * _JOINTS_A_ROW + place + 1}")
            canvas.setDash([1.0 * MM, 1.0 * MM])
            middle = (self._y + _BOX_MM / 2) * MM
            canvas.line(_MARGIN_MM * MM, middle, (_MARGIN_MM + _ROOM_MM) * MM, middle)
            canvas.setDash()
        for words, key, start, end in _OTHER_COURSES:
            if not start:
                self._y -= 5.2
            self._asked(words, key, _MARGIN_MM + start * _ROOM_MM, _MARGIN_MM + end * _ROOM_MM)

    def _asked(self, words: str, key: str, x0: float, x1: float) -> None:
        """Ask something in small letters, with a line to write on and its key."""
        self._text(words, x0, 7.5)
        end = x1 - self._wide(key, 6)
        self._rule(x0 + 2.0 + self._wide(words, 7.5), end - 1.5, self._y - 0.8)
        self._text(key, end, 6, colour=GREY)

    def _squares(self) -> None:
        """Draw squared paper to sketch a shape on, 5 mm each."""
        canvas, low = self._canvas, _MARGIN_MM + 8.0
        self._y -= 7.0
        self._text(
            "Sketch of any other shape, each corner with its distance across and up from the first:", _MARGIN_MM, 8
        )
        high = 5.0 * int((self._y - 2.0 - low) / 5.0)
        wide = 5.0 * int(_ROOM_MM / 5.0)
        canvas.setStrokeColor("#c8d0d4")
        canvas.setLineWidth(0.1 * MM)
        for k in range(int(wide / 5.0) + 1):
            canvas.line((_MARGIN_MM + 5 * k) * MM, low * MM, (_MARGIN_MM + 5 * k) * MM, (low + high) * MM)
        for k in range(int(high / 5.0) + 1):
            canvas.line(_MARGIN_MM * MM, (low + 5 * k) * MM, (_MARGIN_MM + wide) * MM, (low + 5 * k) * MM)
        self._y = low

    def _rest(self) -> None:
        """Leave what is left of the page for notes, where that is more than a strip."""
        low = _MARGIN_MM + 10.0
        self._y -= 8.0
        if self._y - low > _ROOM_FOR_NOTES_MM:
            self._rule(_MARGIN_MM, A4_MM[0] - _MARGIN_MM, self._y + 4.0)
            self._text("notes, and a sketch of anything out of the ordinary:", _MARGIN_MM, 7.5, colour=GREY)

    def _foot(self, sheet: MeasuringSheet) -> None:
        from reportlab.lib.utils import simpleSplit

        texts = [cautions.text_of(name) for name in sheet.specimen.cautions]
        lines = simpleSplit(" ".join(texts), "Helvetica", 7, _ROOM_MM * MM)
        lines.append(f"cutpath new {sheet.kind} writes the job file that these go into.")
        self._y = _MARGIN_MM - 4.0 + 3.1 * len(lines)
        for words in lines:
            self._text(words, _MARGIN_MM, 7, colour=BLACK if words is not lines[-1] else GREY)
            self._y -= 3.1


_HOW = (
    "A bare number is mm; write the unit of any other: 1.2 m, 23 5/8 in. What stands behind a semicolon is taken if "
    "you leave it out. Small grey words: keys of the job file."
)
_LARGEST = 1.7  # a picture is not blown up further
_CAPTION_MM, _ROOM_FOR_NOTES_MM = 7.0, 20.0
_JOINTS_MM, _FOOT_MM, _SQUARED_MM = 42.0, 34.0, 48.0  # heights: of the joints, the foot, a sketch above squared paper
_SHORT = 3  # letters that are set large
_ASKS_MM, _KEY_MM = 88.0, 32.0
_BOX_MM = 12.0  # of one joint: its height at the corner, and its second reading below
_OTHER_COURSES = (
    ("or where all courses are alike: brick and joint", "coursing.gauge", 0.0, 0.48),
    ("and the first joint", "coursing.first_joint", 0.52, 1.0),
    ("or out of level: each joint again in the lower half, from the same level line; level distance between the two",
     "coursing.second_reading", 0.0, 1.0),
    ("or, in stone without courses, steps of your own: the rise of each in the upper half, its run in the lower",
     "coursing.steps", 0.0, 1.0),
)  # fmt: skip
"""What takes the place of plain joints: words, key, and where it begins and ends across the page."""
_JOB_WORDS = {
    "name": "job", "notes": "notes", "customer": "customer", "site": "site", "order": "order", "due": "wanted by",
    "pitch": "pitch of the roof", "covering": "covering", "exposure": "exposure",
}  # fmt: skip
"""Shorter words for what is asked of every job."""
