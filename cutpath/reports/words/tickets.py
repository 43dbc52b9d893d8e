"""Tickets: one page to each distinct piece, by which a roofer marks it out, cuts and folds it without a machine.

One HTML file with its style and drawings inside; nothing is fetched, nothing runs.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from html import escape
from math import ceil, fsum

from cutpath.hands import each
from cutpath.paper.fixing_marks import SIGNS
from cutpath.paper.markup import HERE, drawing, element, framed, html_table, number
from cutpath.paper.measure import POINT_MM, rows, text_mm
from cutpath.paper.text import fixed, kilograms, unbroken
from cutpath.plain import in_words
from cutpath.plane import distance_mm
from cutpath.reports.account.cutting_list import face_down
from cutpath.reports.account.marking import LineKind, MarkedPoint, Marking, marking, step_numbers
from cutpath.reports.account.shape import alike, movement_mm, movement_span, pattern_kg
from cutpath.reports.pictures.isometric import Folded, folded_pieces
from cutpath.reports.pictures.pattern_picture import angle_words, bevel_words, fold_groups
from cutpath.reports.pictures.picture_style import PICTURE_STYLE
from cutpath.reports.pictures.qr import qr_svg
from cutpath.reports.pictures.ticket_picture import SIDE, step_key, ticket_picture, ticket_scale
from cutpath.reports.words.handwork import cutting_order, fold_lines, folding_order, line_keys, marking_order
from cutpath.reports.words.plain_lines import PlainLine, ellipse_words, loose_points, plain_lines
from cutpath.reports.words.ticket_style import STYLE
from cutpath.tolerances import POINT_MM as SAME_MM
from cutpath.trade import cautions, fixings
from cutpath.trade.rules import Practice, figure
from cutpath.values.batch import Batch
from cutpath.values.fixing import FixingKind
from cutpath.values.pattern import TURN_INS, Edge, FlatPattern, Fold, MarkKind, PartKind
from cutpath.values.piece import Piece, fixed_by
from cutpath.values.survey import Job

_ROWS = 18
"""Rows of a table of points before it goes on beside itself."""

_NOTE = 240
"""Letters of a job's note that stand on a ticket."""

_ROLLS_NAMED = 3

_SMALL_MM, _FEW = 400.0, 8
"""Largest side of a piece, and most lines of its tables, for half a sheet."""

_OFFSETS = 10
"""Points of a curve in one row."""

_PAGE_MM = 197.0
"""Height of a page less its margins and the foot with its cautions."""

_DOT = " · "
"""Between the facts of a piece."""

_HARD = "\u00a0"
"""A space at which no line ends."""

_UNBROKEN = 40
"""Letters of a fact that is never broken over two lines."""

_ORDERS = ("Mark", "Cut", "Fold")

_FOLDED_MM, _ISOMETRIC_MM = 57.0, 76.0
"""Height of the folded piece below a drawing, with its caption, and its width."""

_WIDE_MM = 273.0
"""Width of a page less its margins and the gap between drawing and words."""

_HALF_MM = 132.0
"""Width of half a page less its margins and the gap between drawing and folded piece."""

_KEY_MM, _KEY_ACROSS_MM = 36.0, 58.0
"""Height of the key to a step, and its width with the gap before it."""

_BESIDE_MM = 135.0
"""Longest drawing on paper beside which there is room for the folded piece."""

_FOOT_MM = 8.0
"""Height of the cautions at the foot of a page where a drawing stands beside its words."""

_STEPS_MM = 12.5
"""Width of the table of steps, in mm to each point of its letters' size."""

_SQUARE_MM = 14.0

_ACROSS_MM, _BESIDE_SQUARE_MM = 263.0, 243.0
"""Width of lines above the drawing, and of those that the square stands beside."""


def tickets_html(batch: Batch, run: str = "") -> str:
    """Return the tickets of a batch, see `ticket_parts`."""
    return "".join(ticket_parts(batch, run))


def ticket_parts(batch: Batch, run: str = "", folded: Mapping[str, Folded] | None = None) -> list[str]:
    """Make the tickets of a batch: a page of A4, lying, to each piece that differs from the others of its job.

    They come in parts that follow each other: of large batches they are tens of MB, and each copy would be as much.
    Each goes to the bench alone, so that each bears the cautions of its own piece. The square on it holds the name of
    the ``run``, where there is one, and the piece's. ``folded`` are the pieces of the batch drawn folded up, where
    they are there already.
    """
    shown = folded_pieces(batch) if folded is None else folded
    title = "Tickets: " + "; ".join(job.name for job in batch.jobs)
    bench = _bench(batch, run)
    groups = alike(batch.pieces)
    asked = [_Asked(g, _cautions(g[0], batch), shown.get(g[0].id)) for g in groups]
    tickets = each("tickets", _ticket, bench, asked, len(groups))
    sheets = _sheets(bench, zip(asked, tickets, strict=True))
    return list(framed(title, PICTURE_STYLE + STYLE, element("main", HERE), sheets))


@dataclass(frozen=True, slots=True)
class _Bench:
    """What tickets tell of a batch beside the pieces: the run's name, jobs by name, and rolls by piece.

    ``down`` are pieces that lie face down, with their rolls; ``hidden_side`` as in `Batch`. ``lengths`` are how many
    of a detail's pieces, of one hand, follow each other in a course.
    """

    run: str
    practice: Practice
    jobs: Mapping[str, Job]
    rolls: Mapping[str, Sequence[str]]
    down: Mapping[str, Sequence[str]]
    hidden_side: bool
    lengths: Mapping[object, int]


def _bench(batch: Batch, run: str) -> _Bench:
    return _Bench(
        run,
        dict(batch.practice),
        {job.name: job for job in batch.jobs},
        _rolls(batch),
        face_down(batch),
        batch.hidden_side,
        Counter(_run_of(piece) for piece in (*batch.pieces, *batch.beside) if piece.pattern.course),
    )


def _run_of(piece: Piece) -> object:
    return piece.job, piece.detail, piece.hand


def _rolls(batch: Batch) -> Mapping[str, Sequence[str]]:
    """Return for each piece the rolls that it is cut from, with the names of their own that some have."""
    found: dict[str, dict[str, None]] = {}
    for sheet in batch.sheets:
        name = f" ({sheet.nested.roll.name})" if sheet.nested.roll.name else ""
        for placement in sheet.nested.placements:
            found.setdefault(placement.id, {})[sheet.id + name] = None
    return {piece: tuple(rolls) for piece, rolls in found.items()}


def _sheets(bench: _Bench, made: Iterable[tuple[_Asked, tuple[Layout, str]]]) -> Iterable[str]:
    """Return each ticket a sheet of its own, but two small ones that follow each other one between them.

    A small one that has no other beside it is made anew for a whole sheet.
    """
    waiting: list[tuple[_Asked, str]] = []
    for asked, (layout, ticket) in made:
        if layout is Layout.HALF and waiting:
            yield element("div", waiting.pop()[1], ticket, class_="pair")
        elif layout is Layout.HALF:
            waiting.append((asked, ticket))
        else:
            yield from _alone(bench, waiting)
            yield ticket
    yield from _alone(bench, waiting)


def _alone(bench: _Bench, waiting: list[tuple[_Asked, str]]) -> Iterable[str]:
    while waiting:
        yield _ticket(bench, replace(waiting.pop()[0], alone=True))[1]


@dataclass(frozen=True, slots=True)
class _Asked:
    """Pieces that are alike, the cautions to be minded with them, and how one looks when it is folded.

    ``alone`` asks for a whole sheet, however small they are.
    """

    group: Sequence[Piece]
    minded: Sequence[str]
    folded: Folded | None
    alone: bool = False


def _ticket(bench: _Bench, asked: _Asked) -> tuple[Layout, str]:
    """Make the ticket of pieces that are alike."""
    group = asked.group
    piece, marked = group[0], marking(group[0].pattern)
    names = ", ".join(p.id for p in group)
    layouts = (Layout.OVER, Layout.SIDE) if asked.alone else _layouts(piece, marked)
    lines = [] if marked.rectangle else _line_items(piece.pattern, marked)
    fix = fixing_lines(piece, bench.practice)
    orders = (
        marking_order(piece.pattern, marked),
        cutting_order(piece.pattern, marked),
        folding_order(piece.pattern, marked),
    )
    folded, note = _folded(piece, asked.folded), _note(bench.jobs.get(piece.job))
    broad_mm = asked.folded.broad_mm if asked.folded else 0.0
    told = _Words(lines, fix, orders, folded, broad_mm, note, _turned(group, bench), _numbered(group, marked))
    laid = _laid(group, marked, layouts, told, bench.rolls)
    folded = told.folded if laid.folded else ""
    picture = ticket_picture(piece.pattern, marked, names, piece.fixings, laid.scale)
    key = "".join(_key(piece.pattern, marked))
    beside = laid.layout is Layout.SIDE  # the key then stands below the drawing
    return laid.layout, element(
        "article",
        _head(group, names, bench),
        element("p", _whole_facts(laid.facts), class_="facts"),
        element("p", escape(note), class_="note") if note else "",
        *(
            element("p", element("strong", escape(words)), class_="facts")
            for words in (told.turned, told.numbered)
            if words
        ),
        element(
            "div",
            element(
                "div",
                drawing(picture),
                element("div", folded, key, class_="below") if key and beside else folded,
                class_="pictures",
            ),
            element(
                "div",
                element("section", *(_plain(piece.pattern, marked) if marked.rectangle else _tables(marked))),
                element("section", "" if beside else key, _told("Lines, by their points", lines), _list("Fix", fix)),
                element("section", *(_list(title, order) for title, order in zip(_ORDERS, orders, strict=True))),
                class_="columns",
            ),
            class_="body",
        ),
        element("footer", *(element("p", escape(caution)) for caution in asked.minded)),
        class_=f"ticket {laid.layout.value} {laid.size.value[0]}",
    )


def _key(pattern: FlatPattern, marked: Marking) -> Iterable[str]:
    if marked.steps:
        yield element("figure", drawing(step_key(marked, pattern)))


def _told(title: str, items: Sequence[str]) -> str:
    if not items:
        return ""
    return element("h2", title) + element("ul", *(element("li", escape(item)) for item in items), class_="lines")


class Layout(Enum):
    """How a ticket is laid out: the drawing over the words, or beside them, or on half a sheet."""

    OVER = "over"
    SIDE = "side"
    HALF = "half"

    @property
    def rooms(self) -> tuple[tuple[float, float], ...]:
        """Rooms for the blank on paper, along and square, in mm, the largest first: it takes what the words leave."""
        return {
            "over": ((238.0, 95.0), (238.0, 78.0), (238.0, 62.0), (238.0, 47.0)),
            "side": ((128.0, 140.0), (128.0, 110.0), (128.0, 88.0)),
            "half": ((100.0, 56.0),),
        }[self.value]

    @property
    def room(self) -> tuple[float, float]:
        """The room that there is in any case."""
        return self.rooms[-1]


def _layouts(piece: Piece, marked: Marking) -> Sequence[Layout]:
    """Return the layouts to choose from: half a sheet for what is small and plain.

    Points by the dozen need the whole width below the drawing.
    """
    told = len(marked.lines) - 1 if marked.rectangle else 2 * len(marked.lettered)
    if max(marked.length_mm, marked.width_mm) <= _SMALL_MM and told <= _FEW and not (marked.curves or piece.fixings):
        return (Layout.HALF,)
    if not marked.rectangle and len(marked.lettered) > _ROWS:
        return (Layout.OVER,)
    return (Layout.OVER, Layout.SIDE)


def _cautions(piece: Piece, batch: Batch) -> tuple[str, ...]:
    """Choose what to mind with one piece."""
    return cautions.for_piece(
        welded=fixings.is_welded(piece.pattern),
        turned_in=bool(fixings.turn_ins(piece.pattern)),
        heavy=pattern_kg(piece.pattern, piece.lead) > batch.practice["lift_at_waist_lower"].value,
    )


class Size(Enum):
    """Sizes of letters below a drawing, the largest first: the class that sets them, and points."""

    LARGE = ("large", 11.0)
    ROOMY = ("roomy", 9.5)
    USUAL = ("usual", 8.0)
    TIGHT = ("tight", 7.0)

    @property
    def points(self) -> float:
        """Size of the letters."""
        return self.value[1]


_WANTED = ({Size.LARGE, Size.ROOMY}, {Size.USUAL})
"""Letters in the order in which they are wanted; of two drawings that leave as good ones the larger is taken."""

_FOLDED_WORTH = 1.3
"""How many times larger a drawing must be that leaves no room for the folded piece."""


@dataclass(frozen=True, slots=True)
class _Words:
    """The words of a ticket: lines, fixings, the orders of work, the folded piece as markup, its note, how it lies.

    ``folded_mm`` is the breadth of the folded piece; ``numbered`` tells of steps that other pieces number otherwise.
    """

    lines: Sequence[str]
    fix: Sequence[str]
    orders: Sequence[Sequence[str]]
    folded: str
    folded_mm: float
    note: str
    turned: str
    numbered: str

    @property
    def above(self) -> tuple[str, ...]:
        """What stands above the drawing, across the page."""
        return (self.note, self.turned, self.numbered)


@dataclass(frozen=True, slots=True)
class _Laid:
    """How a ticket is laid out: scale of its drawing, facts, size of letters, whether the folded piece is shown.

    ``fits`` tells whether all of it is known to go on its page; ``cost`` is less for a drawing that shows more.
    """

    layout: Layout
    scale: float
    facts: str
    size: Size
    folded: bool
    fits: bool
    cost: float


def _laid(
    group: Sequence[Piece],
    marked: Marking,
    layouts: Sequence[Layout],
    told: _Words,
    rolls: Mapping[str, Sequence[str]],
) -> _Laid:
    """Return the largest drawing that leaves room for letters to be read at the bench, else what fits best."""

    def at(layout: Layout, room: tuple[float, float]) -> _Laid:
        if layout is Layout.HALF and told.folded:
            room = (min(room[0], _HALF_MM - told.folded_mm - 2 * SIDE), room[1])
        scale = ticket_scale(marked, room)
        drawn = marked.width_mm / scale
        shown = bool(told.folded) and (layout is not Layout.OVER or marked.length_mm / scale <= _BESIDE_MM)
        facts = _facts(group, marked, scale, rolls)
        told_above = ((facts, _BESIDE_SQUARE_MM), *((words, _ACROSS_MM) for words in told.above))
        head = 12.0 + fsum(3.5 * rows(text, room_mm, 8.0) for text, room_mm in told_above if text)
        size: Size | None = Size.USUAL
        if layout is Layout.SIDE:
            below = (_ISOMETRIC_MM if shown else 0.0) + (_KEY_ACROSS_MM if marked.steps else 0.0)
            size = _side_size(
                group[0].pattern,
                marked,
                _WIDE_MM - max(marked.length_mm / scale + 2 * SIDE, below),
                _PAGE_MM - _FOOT_MM - head,
                [told.lines, told.fix, *told.orders],
            )
            if drawn + 20.0 + (_FOLDED_MM if shown else _KEY_MM if marked.steps else 0.0) + head > _PAGE_MM:
                size = None
        elif layout is Layout.OVER:
            mark, cut, fold = told.orders
            columns = (["", *told.lines, "", "", *told.fix, ""], ["", "", *mark, "", "", *cut, "", "", *fold])
            taken = max(drawn + (22.5 if marked.steps else 16.0), 62.0 if shown else 0.0)
            size = _size(marked, taken, head, columns)
        cost = scale * (_FOLDED_WORTH if told.folded and not shown else 1.0)
        return _Laid(layout, scale, facts, size or Size.TIGHT, shown, size is not None, cost)

    tried = [at(layout, room) for layout in layouts for room in layout.rooms]
    for wanted in _WANTED:
        if found := [laid for laid in tried if laid.fits and laid.size in wanted]:
            return min(found, key=lambda laid: (laid.cost, laid.layout is Layout.OVER))
    smallest = [
        laid for laid in tried if laid.scale == max(other.scale for other in tried if other.layout is laid.layout)
    ]
    return min(smallest, key=lambda laid: (not laid.fits, laid.cost if laid.fits else laid.layout is not Layout.OVER))


def _size(marked: Marking, drawn_mm: float, head_mm: float, columns: Sequence[Sequence[str]]) -> Size | None:
    """Return the largest letters in which the columns below a drawing end above the foot of the page; None if none do.

    ``drawn_mm`` and ``head_mm`` are what drawing and head take of its height; ``columns`` the texts of the middle and
    the right column, a heading to each list.
    """
    room = _PAGE_MM - drawn_mm - head_mm
    key = _KEY_MM if marked.steps else 0.0
    cells = len(marked.steps) + 3 if marked.steps else 0
    cells += min(len(marked.lettered), _ROWS) + 1 if not marked.rectangle else 2 * len(marked.lines) + 2
    beside = 2.0 if not marked.rectangle and len(marked.lettered) > _ROWS else 1.0
    named = 3.3 + 0.2 * max((len(point.name) for point in marked.lettered), default=0)  # mm a point of letters' size
    for size in Size:
        table = size.points * (max(11.5, named) if marked.steps else 13.0 if marked.rectangle else named * beside)
        rest = max(60.0, 263.0 - table)
        middle, right = max(54.0, rest / 2.35), max(72.0, rest * 1.35 / 2.35)
        tall = (
            cells * (size.points * 1.15 * POINT_MM + 0.95),
            key + text_mm(columns[0], middle - 5.0, size.points, 1.22, 0.7),
            text_mm(columns[1], right - 5.0, size.points, 1.22, 0.7),
        )
        if max(tall) <= room:
            return size
    return None


def _side_size(
    pattern: FlatPattern, marked: Marking, width_mm: float, room_mm: float, lists: Sequence[Sequence[str]]
) -> Size | None:
    """Return the largest letters in which everything beside a drawing ends above the foot of the page; None if none.

    ``lists`` are the texts under each heading; ``room_mm`` is what head and foot leave of the page's height.
    """
    cells = sum(2 * ceil(len(curve) / _OFFSETS) for curve in marked.curves)
    cells += len(marked.steps) + 2 if marked.steps else 0
    lines = plain_lines(pattern, marked) if marked.rectangle else ()
    cells += sum(2 * ceil(len(line.corners) / _OFFSETS) for line in lines)
    texts = list(itertools.chain(*lists))
    for size in Size:
        count = cells + (len(loose_points(marked)) if marked.rectangle else len(marked.lettered)) + 1
        count += sum(_rows_of(line, width_mm - 14.0, size.points) for line in lines)
        table = count * (size.points * 1.15 * POINT_MM + 0.95) + (10.0 if marked.rectangle else 4.5)
        heads = sum(1 for told in lists if told) * (size.points * 1.45 * POINT_MM + 2.4) + 6.0
        words = text_mm(texts, width_mm - 5.0, size.points, 1.22, 0.7)
        if table + heads + words <= room_mm and (not marked.steps or width_mm >= _STEPS_MM * size.points):
            return size
    return None


def _rows_of(line: PlainLine, width_mm: float, size_pt: float) -> int:
    """Return in how many rows a line of a rectangle's table is set: one, where both its columns have the room."""
    if rows(f"{line.what} {line.where}", width_mm, size_pt) == 1:
        return 1
    return max(rows(line.what, width_mm / 2, size_pt), rows(line.where, width_mm / 2, size_pt))


def _folded(piece: Piece, drawn: Folded | None) -> str:
    """Return the folded piece, empty where nothing is folded."""
    if drawn is None:
        return ""
    return element("div", drawing(drawn.picture(piece.id, lettered=False)), element("span", escape(drawn.words)))


def _note(job: Job | None) -> str:
    """Return the job's note, cut short where it is long; the report has the whole."""
    words = " ".join(job.notes.split()) if job else ""
    short = words if len(words) <= _NOTE else words[:_NOTE].rsplit(" ", 1)[0] + " … (all of it in the report)"
    return f"Job note: {short}" if words else ""


def _hand(piece: Piece) -> str:
    if piece.hand is None:
        return (
            ", right hand; for a left one turn the blank over, then mark it"
            if piece.pattern.part is PartKind.SOAKER
            else ""
        )
    return f", {piece.hand.value} hand"


def _head(group: Sequence[Piece], names: str, bench: _Bench) -> str:
    piece, quantity = group[0], sum(p.quantity for p in group)
    job = bench.jobs.get(piece.job)
    details = dict.fromkeys(p.detail for p in group)
    way = f", {piece.pattern.course.value}" if piece.pattern.course and bench.lengths[_run_of(piece)] > 1 else ""
    order = _fitting_order(group)
    return element(
        "header",
        element("h1", escape(names)),
        element(
            "p",
            element("strong", f"{quantity} off:"),
            escape(f" {piece.pattern.family}{_hand(piece)}"),
        ),
        element(
            "p",
            escape(
                f"{piece.job}, detail{'s' if len(details) > 1 else ''} {', '.join(details)}"
                + (f"; {order}{way}" if order else "")
                + "".join(f"; {words}" for words in (job.errand if job else ()))
            ),
        ),
        element("div", qr_svg(f"{bench.run} {names}".strip(), _SQUARE_MM), class_="square"),
    )


def _fitting_order(group: Sequence[Piece]) -> str:
    """Say when pieces that are alike are fitted: ``fit second and third of 4``; empty where each is the only one."""
    numbers: dict[int, dict[str, None]] = {}
    for piece in group:
        if piece.of > 1:
            numbers.setdefault(piece.of, {})[_ordinal(piece.number)] = None
    return f"fit {', '.join(f'{in_words(own)} of {of}' for of, own in numbers.items())}" if numbers else ""


def _ordinal(number: int) -> str:
    """Return a number as it counts in a row: ``second``, ``21st``."""
    if number <= len(_FIRST):
        return _FIRST[number - 1]
    last = {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{'th' if number % 100 in {11, 12, 13} else last}"


_FIRST = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")


def _facts(group: Sequence[Piece], marked: Marking, scale: float, rolls: Mapping[str, Sequence[str]]) -> str:
    lead, pattern = group[0].lead, group[0].pattern
    moves, span = movement_mm(pattern), movement_span()
    own = list(dict.fromkeys(roll for piece in group for roll in rolls.get(piece.id, ())))
    named = own if len(own) <= _ROLLS_NAMED + 1 else own[:_ROLLS_NAMED]
    more = f" and {len(own) - len(named)} more" if len(own) > len(named) else ""
    worst = fixed(marked.worst.rounding_mm, 2)
    place = "" if marked.rectangle or worst == "0.00" else marked.place_of(marked.worst)
    facts = (
        *([f"Cut from {', '.join(named)}{more}"] if own else []),
        f"{lead.material}, {lead.colour}, {number(lead.thickness_mm)} mm",
        f"blank {whole(marked.length_mm)} × {whole(marked.width_mm)} mm, corners square",
        f"{kilograms(pattern_kg(pattern, lead))} kg each",
        f"thermal movement {fixed(moves, 1)} mm {span.replace(' °', _HARD + '°')}",
        f"worst rounding {worst} mm{f', {place}' if place else ''}",
        f"drawn {unbroken(f'1 : {number(scale)}')}",
    )
    return _DOT.join(facts)


def _whole_facts(facts: str) -> str:
    """Return the facts as markup, in which no short one is broken over two lines."""
    told = facts.split(_DOT)
    return _DOT.join(element("span", escape(f)) if len(f) <= _UNBROKEN else escape(f) for f in told)


def _turned(group: Sequence[Piece], bench: _Bench) -> str:
    """Say which pieces lie face down on their rolls, and what to do with them; empty when none does."""
    down = [piece for piece in group if piece.id in bench.down]
    if not down:
        return ""
    if bench.hidden_side:
        return (
            "Letters, folds and marks are on the side that is hidden once it is fitted: fold it by its letters, seen "
            "from that side. This ticket shows the other side: only to mark out from it by hand, turn the piece over."
        )
    rolls = "; ".join(f"{piece.id} on {', '.join(dict.fromkeys(bench.down[piece.id]))}" for piece in down)
    return f"Face down on the roll: {rolls}. Cut it out as it lies there, turn it over, then mark and fold."


def _numbered(group: Sequence[Piece], marked: Marking) -> str:
    """Say of pieces that are alike which joints their steps belong to, where those are not the joints of the first."""
    if not marked.steps:
        return ""
    own = {piece.id: step_numbers(piece.pattern) for piece in group}
    others = [f"{n[0]} to {n[-1]} of {name}" for name, n in own.items() if n != marked.steps]
    if not others:
        return ""
    return f"Steps {marked.steps[0]} to {marked.steps[-1]} here, of {group[0].id}, are {in_words(others)}."


def whole(length_mm: float) -> str:
    """Return a length to the nearest whole millimetre, as a point at its end is given."""
    return str(MarkedPoint("", "", length_mm, 0.0).along_mm)


def _tables(marked: Marking) -> Iterable[str]:
    if marked.steps:
        head = ("step", "a along", "up", "b along", "up", "c along", "up", "d along", "up")
        rows = [(str(n), *(cell for key in "abcd" for cell in _cells(marked.point(f"{n}{key}")))) for n in marked.steps]
        last = marked.point(f"{marked.steps[-1]}e")
        rows.append((f"{last.key}", *_cells(last), *[""] * 6))
        yield html_table(head, rows, left=frozenset({0}), class_="steps", caption="Points of the steps, in mm")
    others = marked.lettered
    tables = []
    for start in range(0, len(others), _ROWS):
        rows = [(p.key, *_cells(p), p.name) for p in others[start : start + _ROWS]]
        tables.append(
            html_table(
                ("point", "along", "up", "name"), rows, left=frozenset({0, 3}), class_="points", caption="Points, in mm"
            )
        )
    yield element("div", *tables, class_="beside" if len(tables) <= 2 else "beside many")
    for count, run in enumerate(marked.curves, 1):
        yield from _offsets(f"curve {count}", [marked.point(key) for key in run])


def _offsets(name: str, points: Sequence[MarkedPoint]) -> Iterable[str]:
    """Write a curve from the corner on."""
    if points[0].along_exact_mm > points[-1].along_exact_mm:
        points = points[::-1]
    yield from _in_rows(name, points, f"Offsets of {name}, in mm")


def _in_rows(name: str, points: Sequence[MarkedPoint], caption: str) -> Iterable[str]:
    """Write points as two rows, along and up, and go on below, in rows that are alike, where there are many."""
    each = ceil(len(points) / max(1, ceil(len(points) / _OFFSETS)))
    for start in range(0, len(points), max(1, each)):
        part = points[start : start + each]
        rows = [("up", *(str(p.square_mm) for p in part))]
        head = (f"{name}, along", *(str(p.along_mm) for p in part))
        yield html_table(head, rows, left=frozenset({0}), class_="curve", caption=caption)


def _plain(pattern: FlatPattern, marked: Marking) -> Iterable[str]:
    """Write a rectangular piece as its size and a table of its lines."""
    yield element("p", f"{whole(marked.length_mm)} × {whole(marked.width_mm)} mm, a rectangle", class_="size")
    lines = plain_lines(pattern, marked)
    rows = [(str(line.number), line.what, line.where) for line in lines]
    rows += [("", p.name, f"{p.along_mm} along, {p.square_mm} up") for p in loose_points(marked)]
    if rows:
        yield html_table(
            ("line", "what", "where"), rows, left=frozenset({0, 1, 2}), class_="plain", caption="Lines, in mm"
        )
    for line in lines:
        yield from _in_rows(line.what, line.corners, f"Corners of {line.what}, in mm")


def _cells(point: MarkedPoint) -> tuple[str, str]:
    return str(point.along_mm), str(point.square_mm)


def _line_items(pattern: FlatPattern, marked: Marking) -> list[str]:
    """List the lines of a piece by their points."""
    items = [
        f"{word}: {ellipse_words(line.ellipse) if line.ellipse else line_keys(line, marked.curves)}"
        for kind, word in ((LineKind.OUTLINE, "Outline"), (LineKind.HOLE, "Hole"))
        for line in marked.lines
        if line.kind is kind
    ]
    snips = [line_keys(line) for line in marked.lines if line.kind is LineKind.SNIP]
    items += [f"Snips: {', '.join(snips)}"] if snips else []
    folds = fold_lines(marked)
    items += [f"Folds: {'; '.join(folds)}"] if folds else []
    marks = [f"{line_keys(line)} {line.name}" for line in marked.lines if line.kind is LineKind.MARK]
    items += [f"Marked only: {'; '.join(marks)}"] if marks else []
    angles = angle_words(pattern) or bevel_words(pattern)
    items += [f"Bevels: {angles}"] if angles and not marked.curved else []
    return items


def _list(title: str, lines: Sequence[str]) -> str:
    if not lines:
        return ""
    return element("h2", title) + element("ol", *(element("li", escape(line)) for line in lines))


def fixing_lines(piece: Piece, practice: Practice) -> list[str]:
    """Say how many wedges, clips and nails hold a piece, by which rules, and when its turn-in is painted."""
    lines = []
    count = len(fixed_by(piece, FixingKind.WEDGE))
    if count:
        steps = any(fixings.is_step(fold) for fold in fixings.turn_ins(piece.pattern))
        spacing = practice["wedge_spacing"]
        each = f"one at every step ({practice['wedges_a_step'].source}), and " if steps else ""
        lapped = any(mark.kind is MarkKind.LAP for mark in piece.pattern.marks)
        lines.append(
            f"{count} lead wedges ({SIGNS[FixingKind.WEDGE]}s): {each}at most {figure(spacing)} apart, "
            f"at each change of direction, {practice['wedges_a_piece'].value:g} or more a piece "
            f"({spacing.source.partition(':')[0]})." + (" At a lap one wedge holds both lengths." if lapped else "")
        )
    edges = fixings.free_edges(piece.pattern)
    if edges:
        least, most = practice["clip_spacing_least"], practice["clip_spacing_most"]
        clips = fixed_by(piece, FixingKind.CLIP)
        counts = Counter(fixing.on for fixing in clips)
        nearest = min(
            (distance_mm(a.at, b.at) for a, b in itertools.pairwise(clips) if a.on == b.on), default=least.value
        )
        span = f"{least.value:g} to {figure(most)}" if nearest > least.value - SAME_MM else f"at most {figure(most)}"
        sizes: dict[Fold | Edge, float] = {}
        for edge, line in edges:
            sizes[edge] = sizes.get(edge, 0.0) + distance_mm(*line)
        several = len(sizes) > 1
        under = [
            f"{f'{counts[on]} ' if several else ''}under the {on.name}, {whole(size)} mm long"
            for on, size in sizes.items()
        ]
        lines.append(
            f"{counts.total()} clips ({SIGNS[FixingKind.CLIP]}s){': ' if several else ' '}{in_words(under)}; one near "
            f"each end, {span} apart ({most.source}). Fix them before the edge is dressed down."
        )
    depths = [g.depth_mm for g in fold_groups(piece.pattern) if g.use in TURN_INS and g.depth_mm is not None]
    bare = practice["turn_in_unpainted"]
    if max(depths, default=0.0) > bare.value + SAME_MM:
        lines.append(
            f"Bitumen paint on both sides of what goes more than {figure(bare)} into a joint "
            f"({bare.source.partition(':')[0]})."
        )
    nails = fixed_by(piece, FixingKind.NAIL)
    if nails:
        spacing = practice["nail_spacing"]
        lines.append(
            f"{len(nails)} copper nails ({SIGNS[FixingKind.NAIL]}es) in a row below the {nails[0].on.name}, at most "
            f"{figure(spacing)} apart ({spacing.confidence.value}); leave the sides free to move."
        )
    return lines
