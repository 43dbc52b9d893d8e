"""Tickets: one page to each distinct piece, by which a roofer marks it out, cuts and folds it without a machine.

One HTML file with its style and drawings inside; nothing is fetched, nothing runs.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from html import escape
from urllib.parse import quote

from cutpath.paper.markup import HERE, drawing, element, framed, number
from cutpath.paper.text import unbroken
from cutpath.reports.account.marking import Marking, marking
from cutpath.reports.account.shape import alike, pattern_kg
from cutpath.reports.pictures.isometric import Folded
from cutpath.reports.pictures.picture_style import PICTURE_STYLE
from cutpath.reports.pictures.qr import qr_svg
from cutpath.reports.pictures.step_key import step_key
from cutpath.reports.pictures.ticket_picture import SCALES, ticket_picture
from cutpath.reports.words.fixing_words import fixing_lines
from cutpath.reports.words.handwork import cutting_order, folding_order, marking_order, welding_order
from cutpath.reports.words.plain_lines import loose_points, plain_lines
from cutpath.reports.words.ticket_facts import (
    DOT,
    Bench,
    bench_of,
    facts_of,
    note_of,
    numbered_words,
    title_of,
    turned_words,
)
from cutpath.reports.words.ticket_layout import Layout, Lists, Place, Told, is_small, laid_out
from cutpath.reports.words.ticket_style import STYLE
from cutpath.reports.words.ticket_tables import line_items, tables_of, tables_of_plain
from cutpath.trade import cautions, fixings
from cutpath.trade.rules import Practice
from cutpath.values.batch import Batch
from cutpath.values.pattern import PartKind
from cutpath.values.piece import Piece
from cutpath.workers import each

_LINES = "Lines, by their points"

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
    bench = bench_of(batch, run)
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


def _sheets(bench: Bench, made: Iterable[tuple[_Asked, tuple[Layout, str]]]) -> Iterable[str]:
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


def _alone(bench: Bench, waiting: list[tuple[_Asked, str]]) -> Iterable[str]:
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


def _ticket(bench: Bench, asked: _Asked) -> tuple[Layout, str]:
    """Make the ticket of pieces that are alike."""
    group, folded = asked.group, asked.folded
    piece, marked = group[0], marking(group[0].pattern)
    names = ", ".join(p.id for p in group)
    title = (names, *title_of(group, bench))
    facts, note = facts_of(group, marked, bench.rolls), note_of(bench.jobs.get(piece.job))
    strong = [text for text in (turned_words(group, bench), numbered_words(group, marked)) if text]
    lists = _lists(piece, marked, bench.practice)
    lines = plain_lines(piece.pattern, marked) if marked.rectangle else []
    loose = loose_points(marked) if marked.rectangle else []
    above = (f"{facts}{DOT}{_drawn(SCALES[-1])}", note, *strong)
    told = Told(title, above, lists, asked.minded, marked, lines, loose, folded)
    laid = laid_out(told, small=not asked.alone and is_small(marked, fixed=bool(piece.fixings)))
    picture = drawing(ticket_picture(piece.pattern, marked, names, piece.fixings, laid.scale))
    key = element("figure", drawing(step_key(marked, piece.pattern))) if marked.steps else ""
    shown = {place: _folded(piece, folded) if place is laid.place else "" for place in Place}
    beside = shown[Place.DRAWING] + (key if laid.key_up else "")
    tables = "".join(tables_of_plain(marked, lines, loose) if marked.rectangle else tables_of(marked))
    aside = element("div", shown[Place.WORDS], class_="aside") if shown[Place.WORDS] else ""
    half = laid.layout is Layout.HALF
    words = [_list(*one) for one in lists]
    return laid.layout, element(
        "article",
        _head(title, bench),
        element("p", _whole_facts(f"{facts}{DOT}{_drawn(laid.scale)}"), class_="facts"),
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
    """Return what is told in lists, each with its heading, in the order of the work; none is empty."""
    pattern = piece.pattern
    lists = (
        (_LINES, [] if marked.rectangle else line_items(pattern, marked)),
        ("Mark", marking_order(pattern, marked)),
        ("Cut", cutting_order(pattern, marked)),
        ("Roll" if pattern.part is PartKind.SLEEVE else "Fold", folding_order(pattern, marked)),
        ("Weld", welding_order(pattern, marked)),
        ("Fix", fixing_lines(piece, practice)),
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


def _head(title: Sequence[str], bench: Bench) -> str:
    names, quantity, what, errand = title
    return element(
        "header",
        element("h1", escape(names)),
        element("p", element("strong", quantity), escape(what)),
        element("p", escape(errand)),
        element("div", qr_svg(f"{bench.run} {names}".strip(), _SQUARE_MM), class_="square"),
    )


def _drawn(scale: float) -> str:
    return f"drawn {unbroken(f'1 : {number(scale)}')}"


def _whole_facts(facts: str) -> str:
    """Return the facts as markup, in which no short one is broken over two lines."""
    told = facts.split(DOT)
    return DOT.join(element("span", escape(f)) if len(f) <= _UNBROKEN else escape(f) for f in told)


def _list(title: str, lines: Sequence[str]) -> str:
    """Write a list under its heading: steps of work are counted, lines are not."""
    kind, class_ = ("ul", "lines") if title == _LINES else ("ol", None)
    return element("h2", title) + element(kind, *(element("li", escape(item)) for item in lines), class_=class_)
