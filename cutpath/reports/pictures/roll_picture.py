"""A roll as a picture to scale, in rows that fit a sheet of paper.

Picture coordinates are millimetres on paper, x along the roll to the right, y downwards.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from math import ceil, floor, fsum

from cutpath.paper.ink import WORD_WIDTH
from cutpath.paper.lettering import best_place, lettering
from cutpath.paper.markup import element, hatched, path, svg
from cutpath.paper.text import millimetres
from cutpath.paper.wall_sheet import BESIDE
from cutpath.plane import bounds_mm
from cutpath.reports.account.shape import placed
from cutpath.reports.account.square_cuts import between
from cutpath.reports.pictures.job_grounds import Ground
from cutpath.tolerances import POINT_MM
from cutpath.values.batch import Sheet
from cutpath.values.nest import Offcut, Placement
from cutpath.values.pattern import FlatPattern, Point, Polyline

SCALE = 12.5
"""Millimetres of lead to one millimetre of paper."""

ROW_MM = 2100.0
"""Longest stretch of roll in one row."""

REST_MM = 120.0
"""How much of the rest of a roll is shown beyond the cross-cut, at most; a row and this fill an A4 sheet."""

RULE_MM = 100.0
"""Spacing of the rule's ticks."""

RULE_NUMBERED = 5
"""Every so many ticks there is a figure."""

KEPT_INSET = 0.5
"""Distance on paper between a kept offcut's true edge and its dashed outline."""

_WORDS = 2.7  # size of the words at the cross-cut, as the page's style has it
_SHORT = BESIDE - 1.0  # paper mm of a picture that stands beside another, so that there is a gap between them
_EDGE, _FOOT = 3.0, 6.5  # paper mm beside and below the roll
_HEAD, _HEAD_WORDS = 4.0, 8.0  # above it, for the numbers of cuts; where words stand over them


@dataclass(frozen=True, slots=True)
class _Laid:
    """One copy of a piece on its roll, in roll coordinates.

    ``words`` are its id, and that it lies face down where not all do; ``ground`` is that of its job, None for white.
    """

    words: str
    outline: Polyline
    holes: tuple[Polyline, ...]
    lines: tuple[tuple[str, Polyline], ...]
    ground: Ground | None

    @property
    def span(self) -> tuple[float, float]:
        x0, _, x1, _ = bounds_mm(self.outline)
        return x0, x1


def roll_rows(
    sheet: Sheet,
    patterns: Mapping[str, FlatPattern],
    grounds: Mapping[str, Ground] | None = None,
    name: str = "",
    *,
    hidden_side: bool = False,
) -> list[str]:
    """Draw what is cut from a roll as one SVG picture per row, at one to `SCALE`.

    Scrap is hatched; pieces carry their id and lie on the ground of their job by ``grounds``, else on white, folds
    dashed; kept offcuts carry their size; straight cuts that go right across are numbered as they follow each other;
    the last row ends with the cross-cut and the beginning of what stays on the roll. Rows after the first say what
    they go on with, since a page may begin with them.

    Parameters
    ----------
    sheet : Sheet
    patterns : mapping of str to FlatPattern
        By id of piece.
    grounds : mapping of str to Ground, optional
        By id of piece.
    name : str, optional
        Of the roll, or of the rolls that are cut alike; the sheet's id by itself.
    hidden_side : bool, optional
        As in `Batch`: all lie face down, and none says so of itself.
    """
    laid = [
        _laid(patterns[p.id], p, (grounds or {}).get(p.id), " face down" if p.flipped and not hidden_side else "")
        for p in sheet.nested.placements
    ]
    ends = row_ends(sheet.nested.drawn_mm, [piece.span for piece in laid])
    return [
        _Row(sheet, f"{sheet.id}-row-{i}", start, end, name or sheet.id).picture(laid)
        for i, (start, end) in enumerate(zip((0.0, *ends), ends, strict=False), 1)
    ]


def is_short(sheet: Sheet) -> bool:
    """Tell whether a roll is drawn in one row so short that two pictures stand beside each other."""
    nested = sheet.nested
    shown = nested.drawn_mm + min(REST_MM, sheet.rest_mm)
    return 2 * _EDGE + shown / SCALE <= _SHORT


def row_ends(drawn_mm: float, spans: Sequence[tuple[float, float]]) -> list[float]:
    """Return where each row ends: the fewest rows, none longer than `ROW_MM`, that part the fewest pieces.

    Rows break at ends of pieces, at whole rows or at equal parts; of two ways that part as many pieces, the one
    whose longest row is the shorter is taken.
    """
    count = max(1, ceil((drawn_mm - POINT_MM) / ROW_MM))
    places = {x1 for _, x1 in spans} | {drawn_mm * i / count for i in range(1, count)}
    places |= {i * ROW_MM for i in range(1, count)} | {drawn_mm - i * ROW_MM for i in range(1, count)}
    parted = {x: sum(x0 + POINT_MM < x < x1 - POINT_MM for x0, x1 in spans) for x in places if 0 < x < drawn_mm}
    parted[drawn_mm] = 0
    ways: dict[float, tuple[int, float, list[float]]] = {0.0: (0, 0.0, [])}
    for _ in range(count):
        longer: dict[float, tuple[int, float, list[float]]] = {}
        for start, (pieces, longest, ends) in ways.items():
            for end in sorted(parted):
                if start < end <= start + ROW_MM + POINT_MM:
                    way = (pieces + parted[end], max(longest, end - start), [*ends, end])
                    longer[end] = min(longer.get(end, way), way)
        ways = longer
    return ways[drawn_mm][2]


def _laid(pattern: FlatPattern, placement: Placement, ground: Ground | None, face: str) -> _Laid:
    def at(points: Polyline) -> Polyline:
        return placed(points, placement)

    return _Laid(
        placement.id + (face if pattern.folds else ""),
        at(pattern.outline),
        tuple(at(hole) for hole in pattern.holes),
        tuple((class_, at(points)) for class_, points in pattern_lines(pattern, flipped=placement.flipped)),
        ground,
    )


def pattern_lines(pattern: FlatPattern, *, flipped: bool = False) -> Iterable[tuple[str, Polyline]]:
    """Return every snip, fold and mark of a pattern with the class that the page's style draws it by.

    Folds go as they are seen, the other way where the pattern is ``flipped``.
    """
    for snip in pattern.snips:
        yield "snip", snip.points
    for fold in pattern.folds:
        way = fold.way.turned if flipped else fold.way
        yield f"fold {way.value}", (fold.start, fold.end)
    for mark in pattern.marks:
        yield f"mark {mark.kind.value.replace(' ', '-')}", mark.points


@dataclass(frozen=True, slots=True)
class _Row:
    """The stretch of a roll from ``start`` to ``end`` mm."""

    sheet: Sheet
    id: str
    start: float
    end: float
    name: str

    @property
    def _head(self) -> float:
        return _HEAD_WORDS if self.start or self.end >= self.sheet.nested.drawn_mm else _HEAD

    @property
    def _paper(self) -> float:
        return _SHORT if is_short(self.sheet) else 2 * _EDGE + (ROW_MM + REST_MM) / SCALE

    @property
    def _width(self) -> float:
        return self.sheet.nested.roll.width_mm

    def _x(self, x_mm: float) -> float:
        return _EDGE + (x_mm - self.start) / SCALE

    def _y(self, y_mm: float) -> float:
        return self._head + (self._width - y_mm) / SCALE

    def _at(self, points: Iterable[Point]) -> Polyline:
        return tuple((self._x(x), self._y(y)) for x, y in points)

    def picture(self, laid: Sequence[_Laid]) -> str:
        shown = [p for p in laid if p.span[0] < self.end - POINT_MM and p.span[1] > self.start + POINT_MM]
        kept = [o for o in self.sheet.nested.offcuts if o.x_mm < self.end and o.x_mm + o.length_mm > self.start]
        cuts = list(enumerate(between(self.sheet.nested, (p.span for p in laid)), 1))
        window = element(
            "rect",
            x=self._x(self.start),
            y=self._head,
            width=(self.end - self.start) / SCALE,
            height=self._width / SCALE,
        )
        return svg(
            self._paper,
            self._head + self._width / SCALE + _FOOT,
            element("clipPath", window, id=self.id),
            hatched(self._x(self.start), self._head, (self.end - self.start) / SCALE, self._width / SCALE),
            element(
                "g",
                *self._grounds(shown),
                *map(self._piece, shown),
                *map(self._offcut, kept),
                clip_path=f"url(#{self.id})",
            ),
            *self._borders(),
            *map(self._label, shown),
            *map(self._offcut_label, kept),
            *(
                part
                for k, x in cuts
                if self.start + POINT_MM < x <= self.end + POINT_MM
                for part in self._cut_across(k, x)
            ),
            *self._rule(),
            title=f"{self.sheet.id}, {millimetres(self.start)} to {millimetres(self.end)} mm",
        )

    def _line(self, x0: float, y0: float, x1: float, y1: float, class_: str) -> str:
        return element("path", d=path(((x0, y0), (x1, y1))), class_=class_)

    def _grounds(self, shown: Sequence[_Laid]) -> Iterable[str]:
        """Lay the ground of each job under its pieces."""
        for ground in dict.fromkeys(piece.ground for piece in shown):
            if ground is None:
                continue
            own = (ring for p in shown if p.ground == ground for ring in (p.outline, *p.holes))
            contours = "".join(path(self._at(ring), closed=True) for ring in own)
            id_ = f"{self.id}-{ground.id}"
            yield element("clipPath", element("path", d=contours, clip_rule="evenodd"), id=id_)
            box = (self._x(self.start), self._head, (self.end - self.start) / SCALE, self._width / SCALE)
            yield element("g", ground.laid(*box), clip_path=f"url(#{id_})")

    def _piece(self, piece: _Laid) -> str:
        contours = "".join(path(self._at(ring), closed=True) for ring in (piece.outline, *piece.holes))
        lines = (element("path", d=path(self._at(points)), class_=class_) for class_, points in piece.lines)
        return element(
            "path", d=contours, class_="piece", fill_rule="evenodd", style=None if piece.ground is None else "fill:none"
        ) + "".join(lines)

    def _label(self, piece: _Laid) -> str:
        place = best_place(
            piece.words,
            self._at(piece.outline),
            [self._at(hole) for hole in piece.holes],
            [self._at(points) for _, points in piece.lines],
            (self._x(self.start), self._x(self.end)),
            always=self.start <= fsum(piece.span) / 2 <= self.end,
        )
        return "" if place is None else lettering(piece.words, place, "id")

    def _offcut(self, offcut: Offcut) -> str:
        def corners(inset: float) -> Polyline:
            left, right = offcut.x_mm + inset, offcut.x_mm + offcut.length_mm - inset
            low, high = offcut.y_mm + inset, offcut.y_mm + offcut.width_mm - inset
            return self._at(((left, low), (right, low), (right, high), (left, high)))

        ground = element("path", d=path(corners(0.0), closed=True), class_="ground")
        return ground + element("path", d=path(corners(KEPT_INSET * SCALE), closed=True), class_="kept")

    def _offcut_label(self, offcut: Offcut) -> str:
        left = max(offcut.x_mm, self.start)
        right = min(offcut.x_mm + offcut.length_mm, self.end)
        low, high = offcut.y_mm, offcut.y_mm + offcut.width_mm
        box = self._at(((left, low), (right, low), (right, high), (left, high)))
        text = f"keep {millimetres(offcut.length_mm)} × {millimetres(offcut.width_mm)}"
        middle = offcut.x_mm + offcut.length_mm / 2
        always = self.start <= middle <= self.end
        place = best_place(text, box, (), (), (box[0][0], box[1][0]), always=always)
        return "" if place is None else lettering(text, place, "keep")

    def _borders(self) -> Iterable[str]:
        """Draw the long edges, the roll's end or the break at either side, the cross-cut and what stays on the roll."""
        left, right, bottom = self._x(self.start), self._x(self.end), self._head + self._width / SCALE
        yield from (self._line(left, y, right, y, "edge") for y in (self._head, bottom))
        yield self._line(left, self._head, left, bottom, "edge" if self.start == 0 else "break")
        nested = self.sheet.nested
        goes_on = f"{self.name}, continued" if self.start else ""
        if goes_on:
            yield self._words(goes_on, 1.0)
        if self.end < nested.drawn_mm:
            yield self._line(right, self._head, right, bottom, "break")
            return
        rest = self.sheet.rest_mm
        if rest:
            stub = self._x(self.end + min(rest, REST_MM))
            yield from (self._line(right, y, stub, y, "rest") for y in (self._head, bottom))
            yield self._line(stub, self._head, stub, bottom, "rest")
        yield self._line(right, self._head - 2.0, right, bottom + 2.0, "cross-cut")
        stays = "stays on the roll" if self.sheet.rest_kept else "beyond it is scrap: too small to keep"
        beyond = f"{millimetres(rest)} mm {stays}" if rest else "the whole roll"
        words = f"cross-cut at {millimetres(nested.drawn_mm)} mm; {beyond}"
        clear = 1.0 + WORD_WIDTH * _WORDS * len(f"{goes_on}   ") if goes_on else 1.0
        yield self._words(words, max(clear, min(right - 1.0, self._paper - 1.0 - WORD_WIDTH * _WORDS * len(words))))

    def _words(self, words: str, left: float) -> str:
        return element("text", escape(words), x=left, y=self._head - 4.0, class_="words")

    def _cut_across(self, number: int, x_mm: float) -> Iterable[str]:
        """Draw a straight cut across the whole roll with its number, counted along the roll."""
        x = self._x(x_mm)
        if x_mm < self.sheet.nested.drawn_mm - POINT_MM:
            yield self._line(x, self._head - 1.2, x, self._head + self._width / SCALE, "across")
        beside = -0.7 if x > self._x(self.end) - 2.0 else 0.7
        anchor = "end" if beside < 0 else "start"
        yield element("text", str(number), x=x + beside, y=self._head - 0.4, class_="cut-number", text_anchor=anchor)

    def _rule(self) -> Iterable[str]:
        """Draw a rule along the lower edge, in mm from the roll's end."""
        top = self._head + self._width / SCALE + 1.0
        first, last = ceil(self.start / RULE_MM), floor(self.end / RULE_MM)
        for i in range(first, last + 1):
            x, numbered = self._x(i * RULE_MM), i % RULE_NUMBERED == 0
            yield self._line(x, top, x, top + (1.8 if numbered else 1.0), "tick")
            if numbered:
                yield element("text", millimetres(i * RULE_MM), x=x, y=top + 4.4, class_="figure", text_anchor="middle")
