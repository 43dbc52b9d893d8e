"""A strict reader of the full-size pages that we write, and what of a drawing they show.

Of each page it takes the lines inside its window (what the page clips to) and those outside (bars, seams). Where the
window lies on the drawing no page says: it is found from the lines themselves. Words and colours are passed over.
"""

from __future__ import annotations

import base64
import binascii
import math
import re
import zlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from cutpath.readback.lines import MisreadError, figures
from cutpath.values.drawing import Drawing, Role, Stroke
from cutpath.values.pattern import Point

_PT_MM = 25.4 / 72
_BAR_MM, _BAR_SLACK_MM = 100.0, 0.001
_CELL_MM = 0.05
_GRID_MM = 0.02
"""Well over what rounding moves a page, and well under what moves it to be seen."""
_DIGITS = 7
"""Figures of the file have so many digits."""

_OBJECT = re.compile(rb"(\d+) 0 obj\s(.*?)\sendobj", re.DOTALL)
_STREAM = re.compile(rb"/Length (\d+)\s*>>\s*stream\r?\n")
_FILTERS = b"/Filter [ /ASCII85Decode /FlateDecode ]"
_TEXT = re.compile(rb"\((?:[^()\\]|\\.)*\)", re.DOTALL)
_IDLE = frozenset({"w", "d", "RG", "rg", "BT", "ET", "Tf", "TL", "Tj", "T*", "Tm", "j", "J", "M", "gs"})
_PAINTS = frozenset({"S", "f", "f*", "B", "n"})
_NUMBERS = {"m": 2, "l": 2, "re": 4, "cm": 6}

Box = tuple[float, float, float, float]
"""x, y, width, height."""


@dataclass(slots=True)
class PaperPage:
    """What stands on a page, mm from its lower left corner: lines as points, and whether they are closed."""

    side_mm: tuple[float, float]
    windows: list[Box] = field(default_factory=list)
    inside: list[tuple[list[Point], bool]] = field(default_factory=list)
    outside: list[tuple[list[Point], bool]] = field(default_factory=list)

    def slack_mm(self) -> float:
        """Return how far a figure of this page may be off by its digits."""
        most = max((abs(v) for line, _ in self.inside for p in line for v in p), default=1.0) / _PT_MM
        return 0.5 * 10.0 ** (len(str(math.ceil(max(most, 1.0)) - 1)) - _DIGITS) * _PT_MM


def read_pdf(data: bytes) -> list[PaperPage]:
    """Return the pages in their order.

    Raises
    ------
    MisreadError
    """
    objects = _objects(data)
    root = _named(data[data.rindex(b"trailer") :], b"Root") if b"trailer" in data else None
    catalog = objects.get(root or 0, b"")
    view = objects.get(_named(catalog, b"ViewerPreferences") or 0, b"")
    if b"/PrintScaling /None" not in view:
        raise MisreadError("pages that a printer may scale")
    kids = re.search(rb"/Kids \[([^\]]*)\]", objects.get(_named(catalog, b"Pages") or 0, b""))
    if kids is None:
        raise MisreadError("no pages")
    return [_page(objects, int(number)) for number in re.findall(rb"(\d+) 0 R", kids[1])]


def against_pages(pages: Sequence[PaperPage], drawing: Drawing) -> Iterator[str]:
    """Tell what of a drawing the pages leave out or show elsewhere, and where a bar of 100 mm is missing or is not."""
    for number, page in enumerate(pages, 1):
        for upright, words in ((0, "lower"), (1, "left")):
            if not any(_is_bar(line, upright) for line, _ in page.outside):
                yield f"page {number}: no bar of 100 mm along the {words} edge"
    strokes = _Strokes([s for s in drawing.strokes if len(s.points) > 1])
    laid: list[tuple[PaperPage, list[_Laid]]] = []
    for number, page in enumerate(pages[1:], 2):
        if len(page.windows) != 1:
            yield f"page {number}: {len(page.windows)} windows"
        elif page.inside:
            laid.append((page, strokes.ways_to_lay(page)))
            if not laid[-1][1]:
                yield f"page {number}: lines that are not those of the drawing, or not where they lie in it"
    grids = _grids(laid)
    if laid and not grids:
        yield "pages that do not lie beside each other"
    shown = _shown(laid, grids)
    for k, stroke in enumerate(strokes.all):
        if stroke.role is not Role.REFERENCE and not _covered(stroke, shown.get(k, ())):
            yield f"{stroke.piece} {stroke.name}: not whole on the pages"


def _objects(data: bytes) -> Mapping[int, bytes]:
    """Return the objects of a file by number, each where the table of objects says.

    Raises
    ------
    MisreadError
    """
    end = re.search(rb"startxref\s+(\d+)\s+%%EOF\s*\Z", data)
    if not data.startswith(b"%PDF-1.") or end is None:
        raise MisreadError("no beginning or end of a PDF")
    table = re.match(rb"xref\s+0 (\d+)\s+", data[int(end[1]) :])
    if table is None:
        raise MisreadError("no table of objects")
    start = int(end[1]) + table.end()
    out: dict[int, bytes] = {}
    for number, place in enumerate(re.findall(rb"(\d{10}) \d{5} ([nf])", data[start : start + 20 * int(table[1])])):
        if place[1] == b"n":
            found = _OBJECT.match(data, int(place[0]))
            if found is None or int(found[1]) != number:
                raise MisreadError(f"object {number} is not where the table says")
            out[number] = found[2]
    return out


def _named(text: bytes, key: bytes) -> int | None:
    found = re.search(rb"/" + key + rb" (\d+) 0 R", text)
    return int(found[1]) if found else None


def _page(objects: Mapping[int, bytes], number: int) -> PaperPage:
    """Return the page that is an object of a file.

    Raises
    ------
    MisreadError
    """
    text = objects.get(number, b"")
    box = re.search(rb"/MediaBox \[ 0 0 (\S+) (\S+) \]", text)
    if box is None or b"/Rotate 0" not in text:
        raise MisreadError(f"page of object {number}: no plain sides")
    wide, high = figures([box[1].decode("latin-1"), box[2].decode("latin-1")], "a page's sides")
    page = PaperPage((wide * _PT_MM, high * _PT_MM))
    _run(page, _TEXT.sub(b"", _content(objects.get(_named(text, b"Contents") or 0, b""))).decode("latin-1"))
    return page


def _content(stream: bytes) -> bytes:
    """Return what a stream holds, unpacked.

    Raises
    ------
    MisreadError
    """
    head = _STREAM.search(stream)
    if head is None or _FILTERS not in stream[: head.end()]:
        raise MisreadError("a page without a packed stream")
    packed = stream[head.end() : head.end() + int(head[1])]
    try:
        return zlib.decompress(base64.a85decode(packed.strip().removesuffix(b"~>")))
    except (ValueError, binascii.Error, zlib.error) as error:
        raise MisreadError(f"a page that does not unpack: {error}") from None


def _run(page: PaperPage, content: str) -> None:
    """Follow what draws on a page.

    Raises
    ------
    MisreadError
        A line drawn in a turned or moved frame is none of ours.
    """
    pen = _Pen(page)
    numbers: list[str] = []
    for word in content.split():
        if word[0] in "-.0123456789[]/":
            numbers.append(word)
            continue
        count = _NUMBERS.get(word, 0)
        if len(numbers) < count:
            raise MisreadError(f"{word} without its figures")
        pen.does(word, [v if word == "cm" else v * _PT_MM for v in figures(numbers[-count:], word)] if count else [])
        numbers = []
    if pen.kept:
        raise MisreadError("a page that ends within a frame")


_SQUARE = [1.0, 0.0, 0.0, 1.0, 0.0, 0.0]


@dataclass(slots=True)
class _Pen:
    """What draws on a page: the way begun, boxes that may become a window, and whether there is one."""

    page: PaperPage
    lines: list[tuple[list[Point], bool]] = field(default_factory=list)
    boxes: list[Box] = field(default_factory=list)
    clipped: bool = False
    moved: bool = False
    kept: list[tuple[bool, bool]] = field(default_factory=list)

    def does(self, word: str, own: Sequence[float]) -> None:
        """Follow one word of a page with its figures in mm.

        Raises
        ------
        MisreadError
        """
        if word in _PAINTS:
            self._paints(word)
        elif word in "mlh":
            self._goes(word, own)
        elif word == "re":
            self.boxes.append((own[0], own[1], own[2], own[3]))
        elif word in {"W", "W*"} and self.boxes and not self.lines:
            self.page.windows += self.boxes
            self.clipped = True
        elif word == "q":
            self.kept.append((self.clipped, self.moved))
        elif word == "Q" and self.kept:
            self.clipped, self.moved = self.kept.pop()
        elif word == "cm":
            self.moved = self.moved or own != _SQUARE
        elif word not in _IDLE:
            raise MisreadError(f"{word[:20]} on a page of straight lines")

    def _goes(self, word: str, own: Sequence[float]) -> None:
        """Go on to a point, or back to where the way began.

        Raises
        ------
        MisreadError
        """
        if word == "m":
            self.lines.append(([(own[0], own[1])], False))
        elif not self.lines:
            raise MisreadError("a way that begins nowhere")
        elif word == "l":
            self.lines[-1][0].append((own[0], own[1]))
        else:
            self.lines[-1] = (self.lines[-1][0], True)

    def _paints(self, word: str) -> None:
        """Draw the way that was gone.

        Raises
        ------
        MisreadError
        """
        if word != "n" and self.moved:
            raise MisreadError("a line in a frame of its own")
        if word == "S":
            (self.page.inside if self.clipped else self.page.outside).extend(self.lines)
        self.lines, self.boxes = [], []


def _is_bar(line: Sequence[Point], upright: int) -> bool:
    """Tell whether a line is 100 mm along the page's lower edge (0) or its left edge (1)."""
    if len(line) != 2:
        return False
    run = [abs(line[0][k] - line[1][k]) for k in (0, 1)]
    return abs(run[upright] - _BAR_MM) <= _BAR_SLACK_MM >= run[1 - upright]


@dataclass(frozen=True, slots=True)
class _Laid:
    """One way in which a page can lie on a drawing: how far it is moved, and the numbers of the strokes it shows."""

    move: Point
    strokes: tuple[int, ...]


class _Strokes:
    """The strokes of a drawing, found by where they begin."""

    def __init__(self, strokes: Sequence[Stroke]) -> None:
        self.all = strokes
        self._alike: dict[tuple[int, bool], list[int]] = {}
        self._at: dict[tuple[int, bool, int, int], list[int]] = {}
        for k, stroke in enumerate(strokes):
            kind, (x, y) = (len(stroke.points), stroke.closed), stroke.points[0]
            self._alike.setdefault(kind, []).append(k)
            self._at.setdefault((*kind, math.floor(x / _CELL_MM), math.floor(y / _CELL_MM)), []).append(k)

    def ways_to_lay(self, page: PaperPage) -> list[_Laid]:
        """Return every way to lay a page on the drawing: several where pieces are alike."""
        slack = 3 * page.slack_mm()
        line, shut = min(page.inside, key=lambda own: len(self._alike.get((len(own[0]), own[1]), ())))
        ways = []
        for k in self._alike.get((len(line), shut), ()):
            move = (self.all[k].points[0][0] - line[0][0], self.all[k].points[0][1] - line[0][1])
            numbers = [self._stroke(points, move, slack, closed=closed) for points, closed in page.inside]
            if None not in numbers:
                ways.append(_Laid(move, tuple(n for n in numbers if n is not None)))
        return ways

    def _stroke(self, line: Sequence[Point], move: Point, slack: float, *, closed: bool) -> int | None:
        """Return the stroke that a moved line is; None where there is none."""
        column, row = (math.floor((line[0][k] + move[k]) / _CELL_MM) for k in (0, 1))
        beside = ((len(line), closed, column + i, row + j) for i in (-1, 0, 1) for j in (-1, 0, 1))
        near = (n for cell in beside for n in self._at.get(cell, ()))
        return next((n for n in near if _same(line, self.all[n].points, move, slack)), None)


def _seam_mm(page: PaperPage, axis: int) -> float:
    """Return how far the window beside a page's own lies off along x (0) or y (1); 0 where there is none."""
    low, size = page.windows[0][axis], page.windows[0][axis + 2]
    across = page.windows[0][3 - axis]
    for line, _ in page.outside:
        run = [abs(line[0][k] - line[-1][k]) for k in (0, 1)]
        if len(line) == 2 and run[axis] < _GRID_MM and abs(run[1 - axis] - across) < _GRID_MM:
            at = line[0][axis] - low
            return size - 2 * min(at, size - at)
    return 0.0


def _off_grid(page: PaperPage, way: _Laid, grid: Point) -> float:
    """Return how far off a grid of pages, given by one of its corners, a page lies; mm along x or y."""
    offs = []
    for axis in (0, 1):
        off, step = page.windows[0][axis] + way.move[axis] - grid[axis], _seam_mm(page, axis)
        offs.append(abs(off - step * round(off / step)) if step else abs(off))
    return max(offs)


def _grids(laid: Sequence[tuple[PaperPage, Sequence[_Laid]]]) -> list[Point]:
    """Return a corner of each grid in which all pages can lie."""
    page, ways = min(laid, key=lambda own: len(own[1]), default=(None, ()))
    if page is None:
        return []
    corners = [(page.windows[0][0] + way.move[0], page.windows[0][1] + way.move[1]) for way in ways]
    return [
        corner
        for corner in corners
        if all(any(_off_grid(other, way, corner) < _GRID_MM for way in own) for other, own in laid)
    ]


def _shown(laid: Sequence[tuple[PaperPage, Sequence[_Laid]]], grids: Sequence[Point]) -> dict[int, list[Box]]:
    """Return by the number of each stroke the windows through which it is seen, in the drawing's frame."""
    found: dict[int, list[Box]] = {}
    for page, ways in laid:
        x, y, wide, high = page.windows[0]
        for way in ways:
            if any(_off_grid(page, way, grid) < _GRID_MM for grid in grids):
                for k in way.strokes:
                    found.setdefault(k, []).append((x + way.move[0], y + way.move[1], wide, high))
    return found


def _same(line: Sequence[Point], points: Sequence[Point], move: Point, slack: float) -> bool:
    return all(
        abs(x + move[0] - u) <= slack and abs(y + move[1] - v) <= slack
        for (x, y), (u, v) in zip(line, points, strict=True)
    )


def _covered(stroke: Stroke, windows: Sequence[Box]) -> bool:
    """Tell whether every part of a stroke lies in one of the windows."""
    ends = [*stroke.points[1:], *(stroke.points[:1] if stroke.closed else ())]
    return all(_in_windows(a, b, windows) for a, b in zip(stroke.points, ends, strict=False))


def _in_windows(a: Point, b: Point, windows: Sequence[Box]) -> bool:
    spans = sorted(span for window in windows if (span := _span(a, b, window)) is not None)
    reached = 0.0
    for first, last in spans:
        if first > reached + 1e-6:
            return False
        reached = max(reached, last)
    return reached >= 1 - 1e-6


def _span(a: Point, b: Point, window: Box) -> tuple[float, float] | None:
    """Return from where to where a segment runs through a window, its edges a thousandth of a millimetre wide."""
    first, last = 0.0, 1.0
    for k in (0, 1):
        low, high, run = window[k] - 1e-3, window[k] + window[k + 2] + 1e-3, b[k] - a[k]
        if abs(run) < 1e-12:
            if not low <= a[k] <= high:
                return None
            continue
        enter, leave = sorted(((low - a[k]) / run, (high - a[k]) / run))
        first, last = max(first, enter), min(last, leave)
    return (first, last) if first <= last else None
