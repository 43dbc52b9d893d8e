"""Tickets: one page to each distinct piece, by which a roofer marks it out, cuts and folds it without a machine.

One HTML file with its style and drawings inside; nothing is fetched, nothing runs.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from html import escape
from math import ceil
from urllib.parse import quote

from cutpath.paper.fixing_marks import SIGNS
from cutpath.paper.markup import HERE, drawing, element, framed, html_table, number
from cutpath.paper.text import fixed, kilograms, unbroken
from cutpath.plain import in_words
from cutpath.plane import distance_mm
from cutpath.reports.account.cutting_list import face_down
from cutpath.reports.account.marking import LineKind, MarkedPoint, Marking, marking, step_numbers
from cutpath.reports.account.shape import alike, movement_mm, movement_span, pattern_kg
from cutpath.reports.pictures.isometric import Folded
from cutpath.reports.pictures.pattern_picture import angle_words, bevel_words, fold_groups
from cutpath.reports.pictures.picture_style import PICTURE_STYLE
from cutpath.reports.pictures.qr import qr_svg
from cutpath.reports.pictures.step_key import step_key
from cutpath.reports.pictures.ticket_picture import SCALES, ticket_picture
from cutpath.reports.words.handwork import cutting_order, fold_lines, folding_order, line_keys, marking_order
from cutpath.reports.words.plain_lines import PlainLine, ellipse_words, loose_points, plain_lines
from cutpath.reports.words.ticket_layout import OFFSETS, ROWS, Layout, Lists, Place, Told, is_small, laid_out
from cutpath.reports.words.ticket_style import STYLE
from cutpath.tolerances import POINT_MM as SAME_MM
from cutpath.trade import cautions, fixings
from cutpath.trade.rules import Practice, figure
from cutpath.values.batch import Batch
from cutpath.values.fixing import FixingKind
from cutpath.values.pattern import TURN_INS, Edge, FlatPattern, Fold, MarkKind, PartKind
from cutpath.values.piece import Piece, fixed_by
from cutpath.values.survey import Job
from cutpath.workers import each

_NOTE = 240
"""Letters of a job's note that stand on a ticket."""

_ROLLS_NAMED = 3

_DOT = " · "
"""Between the facts of a piece."""

_LINES = "Lines, by their points"

_HARD = "\u00a0"
"""A space at which no line ends."""

_UNBROKEN = 40
"""Letters of a fact that is never broken over two lines."""

_SQUARE_MM = 14.0


def ticket_parts(batch: Batch, run: str, folded: Mapping[str, Folded]) -> list[str]:
    """Make the tickets of a batch: a page of A4, lying, to each piece that differs from the others of its job.

    They come in parts that follow each other: of large batches they are tens of MB, and each copy would be as much.
    Each goes to the bench alone, so that each bears the cautions of its own piece. The square on it holds the name of
    the ``run``, where there is one, and the piece's. ``folded`` are the pieces of the batch drawn folded up.
    """
    title = "Tickets: " + "; ".join(job.name for job in batch.jobs)
    bench = _bench(batch, run)
    groups = alike(batch.pieces)
    asked = [_Asked(g, _cautions(g[0], batch), folded.get(g[0].id)) for g in groups]
    tickets = each("tickets", _ticket, bench, asked, len(groups))
    sheets = _sheets(bench, zip(asked, tickets, strict=True))
    return list(framed(title, PICTURE_STYLE + STYLE, element("main", HERE), sheets))


def ticket_places(pieces: Iterable[Piece]) -> dict[str, str]:
    """Return for each piece the place in the file of tickets that has its ticket, which may be that of several."""
    return {piece.id: _place(group) for group in alike(pieces) for piece in group}


def _place(group: Sequence[Piece]) -> str:
    return f"ticket-{quote(group[0].id, safe='')}"


@dataclass(frozen=True, slots=True)
class _Bench:
    """What tickets tell of a batch beside the pieces: the run's name, jobs by name, pieces by roll.

    ``down`` are pieces that lie face down, with their rolls; ``hidden_side`` as in `Batch`. ``lengths`` are how many
    of a detail's pieces, of one hand, follow each other in a course.
    """

    run: str
    practice: Practice
    jobs: Mapping[str, Job]
    rolls: Mapping[str, Mapping[str, int]]
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


def _rolls(batch: Batch) -> Mapping[str, Mapping[str, int]]:
    """Return for each piece how many are cut from which roll, with the names of their own that some have."""
    found: dict[str, Counter[str]] = {}
    for sheet in batch.sheets:
        name = f" ({sheet.nested.roll.name})" if sheet.nested.roll.name else ""
        for placement in sheet.nested.placements:
            found.setdefault(placement.id, Counter())[sheet.id + name] += 1
    return found


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
    group, folded = asked.group, asked.folded
    piece, marked = group[0], marking(group[0].pattern)
    names = ", ".join(p.id for p in group)
    title = (names, *_title(group, bench))
    facts, note = _facts(group, marked, bench.rolls), _note(bench.jobs.get(piece.job))
    strong = [text for text in (_turned(group, bench), _numbered(group, marked)) if text]
    lists = _lists(piece, marked, bench.practice)
    lines = plain_lines(piece.pattern, marked) if marked.rectangle else []
    loose = loose_points(marked) if marked.rectangle else []
    above = (f"{facts}{_DOT}{_drawn(SCALES[-1])}", note, *strong)
    told = Told(title, above, lists, asked.minded, marked, lines, loose, folded)
    laid = laid_out(told, small=not asked.alone and is_small(marked, fixed=bool(piece.fixings)))
    picture = drawing(ticket_picture(piece.pattern, marked, names, piece.fixings, laid.scale))
    key = element("figure", drawing(step_key(marked, piece.pattern))) if marked.steps else ""
    shown = {place: _folded(piece, folded) if place is laid.place else "" for place in Place}
    beside = shown[Place.DRAWING] + (key if laid.key_up else "")
    tables = "".join(_plain(marked, lines, loose) if marked.rectangle else _tables(marked))
    aside = element("div", shown[Place.WORDS], class_="aside") if shown[Place.WORDS] else ""
    half = laid.layout is Layout.HALF
    words = [_list(*one) for one in lists]
    return laid.layout, element(
        "article",
        _head(title, bench),
        element("p", _whole_facts(f"{facts}{_DOT}{_drawn(laid.scale)}"), class_="facts"),
        element("p", escape(note), class_="note") if note else "",
        *(element("p", element("strong", escape(text)), class_="facts") for text in strong),
        element(
            "div",
            element(
                "div",
                picture,
                element("div", beside, class_="below") if beside and laid.layout is Layout.SIDE else beside,
                class_="pictures",
            ),
            element(
                "div",
                element("section", *((aside, tables) if half else (tables, aside))),
                element("section", "" if laid.key_up else key, *words[: laid.split]),
                element("section", *words[laid.split :]) if laid.split < len(words) else "",
                class_=f"columns {laid.columns}",
            ),
            class_="body",
        ),
        element("footer", *(element("p", escape(caution)) for caution in asked.minded)),
        class_=f"ticket {laid.layout.value} {laid.size.name_of_class}",
        id=_place(group),
    )


def _lists(piece: Piece, marked: Marking, practice: Practice) -> Lists:
    """Return what is told in lists, each with its heading, in the order in which it is read; none is empty."""
    pattern = piece.pattern
    lists = (
        (_LINES, [] if marked.rectangle else _line_items(pattern, marked)),
        ("Fix", fixing_lines(piece, practice)),
        ("Mark", marking_order(pattern, marked)),
        ("Cut", cutting_order(pattern, marked)),
        ("Roll" if pattern.part is PartKind.SLEEVE else "Fold", folding_order(pattern, marked)),
    )
    return tuple((title, tuple(lines)) for title, lines in lists if lines)


def _cautions(piece: Piece, batch: Batch) -> tuple[str, ...]:
    """Choose what to mind with one piece."""
    return cautions.for_piece(
        welded=fixings.is_welded(piece.pattern),
        turned_in=bool(fixings.turn_ins(piece.pattern)),
        heavy=pattern_kg(piece.pattern, piece.lead) > batch.practice["lift_at_waist_lower"].value,
    )


def _folded(piece: Piece, drawn: Folded | None) -> str:
    """Return the folded piece, empty where nothing is folded."""
    if drawn is None:
        return ""
    return element(
        "div",
        drawing(drawn.picture(piece.id, lettered=False)),
        element("span", escape(drawn.words)),
        class_="folded",
    )


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


def _title(group: Sequence[Piece], bench: _Bench) -> tuple[str, str, str]:
    """Return what the head says behind the number: how many, what it is, whose and when it is fitted."""
    piece, quantity = group[0], sum(p.quantity for p in group)
    job = bench.jobs.get(piece.job)
    details = dict.fromkeys(p.detail for p in group)
    way = f", {piece.pattern.course.value}" if piece.pattern.course and bench.lengths[_run_of(piece)] > 1 else ""
    order = _fitting_order(group)
    return (
        f"{quantity} off:",
        f" {piece.pattern.family}{_hand(piece)}",
        f"{piece.job}, detail{'s' if len(details) > 1 else ''} {', '.join(details)}"
        + (f"; {order}{way}" if order else "")
        + "".join(f"; {words}" for words in (job.errand if job else ())),
    )


def _head(title: Sequence[str], bench: _Bench) -> str:
    names, quantity, what, errand = title
    return element(
        "header",
        element("h1", escape(names)),
        element("p", element("strong", quantity), escape(what)),
        element("p", escape(errand)),
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


def _cut_from(group: Sequence[Piece], rolls: Mapping[str, Mapping[str, int]]) -> str:
    """Say from which rolls pieces that are alike are cut, and how many from each; empty before they are nested."""
    counts: Counter[str] = Counter()
    for piece in group:
        counts.update(rolls.get(piece.id, {}))
    if len(counts) <= 1:
        return "".join(f"Cut from {roll}" for roll in counts)
    told = [f"{count} from {roll}" for roll, count in counts.items()]
    if len(told) > _ROLLS_NAMED + 1:
        others = list(counts.values())[_ROLLS_NAMED:]
        told[_ROLLS_NAMED:] = [f"{sum(others)} from {len(others)} more"]
    return f"Cut {', '.join(told)}"


def _facts(group: Sequence[Piece], marked: Marking, rolls: Mapping[str, Mapping[str, int]]) -> str:
    lead, pattern = group[0].lead, group[0].pattern
    moves, span = movement_mm(pattern), movement_span()
    cut_from = _cut_from(group, rolls)
    worst = fixed(marked.worst.rounding_mm, 2)
    place = "" if marked.rectangle or worst == "0.00" else marked.place_of(marked.worst)
    facts = (
        *([cut_from] if cut_from else []),
        f"{lead.material}, {lead.colour}, {number(lead.thickness_mm)} mm",
        f"blank {whole(marked.length_mm)} × {whole(marked.width_mm)} mm, corners square",
        f"{kilograms(pattern_kg(pattern, lead))} kg each",
        f"thermal movement {fixed(moves, 1)} mm {span.replace(' °', _HARD + '°')}",
        f"worst rounding {worst} mm{f', {place}' if place else ''}",
    )
    return _DOT.join(facts)


def _drawn(scale: float) -> str:
    return f"drawn {unbroken(f'1 : {number(scale)}')}"


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
    for start in range(0, len(others), ROWS):
        rows = [(p.key, *_cells(p), p.name) for p in others[start : start + ROWS]]
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
    each = ceil(len(points) / max(1, ceil(len(points) / OFFSETS)))
    for start in range(0, len(points), max(1, each)):
        part = points[start : start + each]
        rows = [("up", *(str(p.square_mm) for p in part))]
        head = (f"{name}, along", *(str(p.along_mm) for p in part))
        yield html_table(head, rows, left=frozenset({0}), class_="curve", caption=caption)


def _plain(marked: Marking, lines: Sequence[PlainLine], loose: Iterable[MarkedPoint]) -> Iterable[str]:
    """Write a rectangular piece as its size and a table of its lines."""
    yield element("p", f"{whole(marked.length_mm)} × {whole(marked.width_mm)} mm, a rectangle", class_="size")
    rows = [(str(line.number), line.what, line.where) for line in lines]
    rows += [("", p.name, f"{p.along_mm} along, {p.square_mm} up") for p in loose]
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
    """Write a list under its heading: steps of work are counted, lines are not."""
    kind, class_ = ("ul", "lines") if title is _LINES else ("ol", None)
    return element("h2", title) + element(kind, *(element("li", escape(item)) for item in lines), class_=class_)


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
        if len(sizes) > 1:
            each = in_words([f"{counts[on]} under the {on.name} ({whole(size)} mm)" for on, size in sizes.items()])
            where = f": {each}"
        else:
            where = next(f" under the {on.name}, {whole(size)} mm long" for on, size in sizes.items())
        lines.append(
            f"{counts.total()} clips ({SIGNS[FixingKind.CLIP]}s){where}; one near "
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
