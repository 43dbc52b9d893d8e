"""Tickets: one page to each distinct piece, by which a roofer marks it out, cuts and folds it without a machine.

One HTML file with its style and drawings inside; nothing is fetched, nothing runs.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import escape

from cutpath.plane import distance_mm
from cutpath.reports.account.cutting_list import face_down
from cutpath.reports.account.marking import LineKind, MarkedPoint, Marking, marking
from cutpath.reports.account.shape import movement_mm, movement_span, pattern_kg, same_cut
from cutpath.reports.markup import element, html_table, number
from cutpath.reports.pictures.fixing_marks import SIGNS
from cutpath.reports.pictures.isometric import folded_picture
from cutpath.reports.pictures.pattern_picture import fold_groups
from cutpath.reports.pictures.picture_style import PICTURE_STYLE
from cutpath.reports.pictures.qr import qr_svg
from cutpath.reports.pictures.ticket_picture import step_key, ticket_picture
from cutpath.reports.text import fixed, kilograms, millimetres
from cutpath.reports.words.handwork import cutting_order, fold_lines, folding_order, line_keys, marking_order
from cutpath.reports.words.ticket_style import STYLE
from cutpath.tolerances import POINT_MM
from cutpath.trade import cautions, fixings
from cutpath.trade.rules import Practice, figure
from cutpath.values.batch import Batch
from cutpath.values.fixing import FixingKind
from cutpath.values.pattern import MarkKind
from cutpath.values.piece import Piece, fixed_by
from cutpath.values.proof import Proof

_WELDED = re.compile(r"\bweld\b|\bseam\b")

_ROWS = 18
"""Rows of a table of points before it goes on beside itself."""

_ROOMY, _LOW_MM = 18, 30.0
"""With no more rows than this there is room for larger letters; over a step's key, where the drawing is no taller."""

_BESIDE_MM = 135.0
"""Longest drawing on paper beside which there is room for the folded piece."""

_SQUARE_MM = 14.0

LEVEL = frozenset({"apron", "cover flashing", "abutment flashing", "back gutter"})
RISING = frozenset({"valley gutter"})
"""Families without a hand whose lengths follow each other from the left, and from the bottom up."""


@dataclass(frozen=True, slots=True)
class _Run:
    """What tickets say of the run: its name, and by piece the rolls it lies face down on, and rolls with names."""

    name: str
    down: Mapping[str, Sequence[str]]
    named: Mapping[str, Sequence[str]]


def tickets_html(batch: Batch, run: str = "") -> str:
    """Make the tickets of a batch: a page of A4, lying, to each piece that differs from the others of its job.

    Each goes to the bench alone, so that each bears the cautions of its own piece. The square on it holds the name of
    the ``run``, where there is one, and the piece's.
    """
    title = "Tickets: " + ", ".join(job.name for job in batch.jobs)
    proofs = {proof.piece: proof for proof in batch.proofs}
    told = _Run(run, face_down(batch), _named_rolls(batch))
    pages = [
        _page(group, batch.practice, _cautions(group[0], batch), proofs.get(group[0].id), told)
        for group in alike(batch.pieces)
    ]
    head = (
        element("meta", charset="utf-8"),
        element("meta", name="viewport", content="width=device-width, initial-scale=1"),
        element("title", escape(title)),
        element("style", PICTURE_STYLE + STYLE),
    )
    body = element("body", *pages)
    return "<!DOCTYPE html>\n" + element("html", element("head", *head), body, lang="en") + "\n"


def alike(pieces: Iterable[Piece]) -> list[list[Piece]]:
    """Gather the pieces of a job that are cut, folded and marked alike from the same lead."""
    groups: dict[object, list[Piece]] = {}
    for piece in pieces:
        groups.setdefault((piece.job, piece.lead, piece.hand, same_cut(piece.pattern)), []).append(piece)
    return list(groups.values())


def _page(
    group: Sequence[Piece],
    practice: Practice,
    minded: Sequence[str],
    proof: Proof | None,
    run: _Run,
) -> str:
    piece, marked = group[0], marking(group[0].pattern)
    names = ", ".join(p.id for p in group)
    picture, scale = ticket_picture(piece.pattern, marked, names, piece.fixings)
    return element(
        "article",
        _head(group, names, run.name),
        _facts(group, marked, scale),
        _on_rolls(group, run),
        element("div", picture, _folded(piece, proof, marked.length_mm / scale), class_="pictures"),
        element(
            "div",
            element("section", *_tables(marked)),
            element(
                "section", *_lines(marked, mirrored=piece.pattern.mirrored), _list("Fix", fixing_lines(piece, practice))
            ),
            element(
                "section",
                _list("Mark", marking_order(piece.pattern, marked)),
                _list("Cut", cutting_order(piece.pattern, marked)),
                _list("Fold", folding_order(piece.pattern)),
            ),
            class_="columns",
        ),
        element("footer", *(element("p", escape(caution)) for caution in minded)),
        class_="ticket roomy" if _roomy(marked, scale) else "ticket",
    )


def _cautions(piece: Piece, batch: Batch) -> tuple[str, ...]:
    """Choose what to mind with one piece."""
    return cautions.for_piece(
        welded=is_welded(piece, batch.pieces),
        turned_in=bool(fixings.turn_ins(piece.pattern)),
        heavy=pattern_kg(piece.pattern, piece.lead) > batch.practice["lift_at_waist_lower_filter"].value,
    )


def is_welded(piece: Piece, pieces: Iterable[Piece]) -> bool:
    """Tell whether a piece is leadwelded: at edges of its own, or where a cut or hole takes another of its detail."""
    own = any(_WELDED.search(edge) for edge in piece.pattern.edges)
    if own or not (piece.pattern.snips or piece.pattern.holes):
        return own
    others = (other for other in pieces if (other.job, other.detail) == (piece.job, piece.detail))
    return any(_WELDED.search(edge) for other in others for edge in other.pattern.edges)


def _roomy(marked: Marking, scale: float) -> bool:
    """Tell whether a ticket has room for larger letters: few rows, and with a step's key no tall drawing above it."""
    others = sum(p.key.isupper() for p in marked.points)
    rows = (len(marked.steps) + 1 if marked.steps else 0) + min(others, _ROWS + 1)
    return rows <= _ROOMY and (not marked.steps or marked.width_mm / scale <= _LOW_MM)


def _folded(piece: Piece, proof: Proof | None, length_mm: float) -> str:
    """Give the folded piece beside the drawing of a short one, empty where there is no room or nothing is folded."""
    if proof is None or length_mm > _BESIDE_MM:
        return ""
    drawn = folded_picture(piece, proof, piece.id, lettered=False)
    return "" if drawn is None else element("div", drawn.picture, element("span", escape(drawn.words)))


def _hand(piece: Piece) -> str:
    if piece.hand is None:
        return (
            ", right hand; for a left one turn the blank over, then mark it" if piece.pattern.family == "soaker" else ""
        )
    return f", {piece.hand.value} hand"


def _head(group: Sequence[Piece], names: str, run: str) -> str:
    piece, quantity = group[0], sum(p.quantity for p in group)
    details = dict.fromkeys(p.detail for p in group)
    way = ", from the bottom up" if piece.hand or piece.pattern.family in RISING else ""
    way = ", from the left" if piece.pattern.family in LEVEL and not piece.hand else way
    order = ", ".join(dict.fromkeys(f"{p.number} of {p.of}" for p in group if p.of > 1))
    return element(
        "header",
        element("h1", escape(names)),
        element(
            "p",
            element("strong", f"cut {quantity}"),
            escape(f" {piece.pattern.family}{_hand(piece)}"),
        ),
        element(
            "p",
            escape(
                f"{piece.job}, detail{'s' if len(details) > 1 else ''} {', '.join(details)}"
                + (f"; fitting order {order}{way}" if order else "")
            ),
        ),
        element("div", qr_svg(f"{run} {names}".strip(), _SQUARE_MM), class_="square"),
    )


def _facts(group: Sequence[Piece], marked: Marking, scale: float) -> str:
    lead, pattern = group[0].lead, group[0].pattern
    moves, span = movement_mm(pattern), movement_span()
    facts = (
        f"{lead.material}, {lead.colour}, {number(lead.thickness_mm)} mm",
        f"blank {whole(marked.length_mm)} × {whole(marked.width_mm)} mm, corners square",
        f"{kilograms(pattern_kg(pattern, lead))} kg each",
        f"thermal movement {fixed(moves, 1)} mm {span}",
        f"worst rounding {fixed(marked.worst.rounding_mm, 2)} mm, at {marked.worst.key}",
        f"drawn 1 : {number(scale)}",
    )
    return element("p", escape(" · ".join(facts)), class_="facts")


def _named_rolls(batch: Batch) -> Mapping[str, Sequence[str]]:
    """Return for each piece the rolls with names of their own that it is cut from."""
    found: dict[str, dict[str, None]] = {}
    for sheet in batch.sheets:
        for placement in sheet.nested.placements if sheet.nested.roll.name else ():
            found.setdefault(placement.id, {})[f"{sheet.id} ({sheet.nested.roll.name})"] = None
    return {piece: tuple(rolls) for piece, rolls in found.items()}


def _on_rolls(group: Sequence[Piece], run: _Run) -> str:
    """Say from which rolls that have a name a piece is cut, and on which it lies face down; empty without either."""
    named = list(dict.fromkeys(roll for piece in group for roll in run.named.get(piece.id, ())))
    more = f" and {len(named) - _ROLLS_NAMED} more" if len(named) > _ROLLS_NAMED else ""
    words = f"Cut from {'; '.join(named[:_ROLLS_NAMED])}{more}." if named else ""
    return (element("p", escape(words), class_="facts") if words else "") + _turned(group, run.down)


_ROLLS_NAMED = 3


def _turned(group: Sequence[Piece], down: Mapping[str, Sequence[str]]) -> str:
    """Say which pieces lie face down on their rolls; empty when none does."""
    rolls = [f"{piece.id} on {', '.join(dict.fromkeys(down[piece.id]))}" for piece in group if piece.id in down]
    if not rolls:
        return ""
    words = f"Face down on the roll: {'; '.join(rolls)}. Cut it out as it lies there, turn it over, then mark and fold."
    return element("p", element("strong", escape(words)), class_="facts")


def whole(length_mm: float) -> str:
    """Give a length to the nearest whole millimetre, as a point at its end is given."""
    return str(MarkedPoint("", "", length_mm, 0.0).along_mm)


def _tables(marked: Marking) -> Iterable[str]:
    if marked.steps:
        head = ("step", "a along", "up", "b along", "up", "c along", "up", "d along", "up")
        rows = [(str(n), *(cell for key in "abcd" for cell in _cells(marked.point(f"{n}{key}")))) for n in marked.steps]
        last = marked.point(f"{marked.steps[-1]}e")
        rows.append((f"{last.key}", *_cells(last), *[""] * 6))
        yield html_table(head, rows, left=frozenset({0}), class_="steps")
    others = [p for p in marked.points if p.key.isupper()]
    tables = []
    for start in range(0, len(others), _ROWS):
        rows = [(p.key, *_cells(p), p.name) for p in others[start : start + _ROWS]]
        tables.append(html_table(("point", "along", "up", ""), rows, left=frozenset({0, 3}), class_="points"))
    yield element("div", *tables, class_="beside" if len(tables) <= 2 else "beside many")


def _cells(point: MarkedPoint) -> tuple[str, str]:
    return str(point.along_mm), str(point.square_mm)


def _lines(marked: Marking, *, mirrored: bool) -> Iterable[str]:
    if marked.steps:
        yield element("figure", step_key(marked, mirrored=mirrored))
    items = [f"Outline: {line_keys(marked.lines[0])}"]
    items += [f"Hole: {line_keys(line)}" for line in marked.lines if line.kind is LineKind.HOLE]
    snips = [line_keys(line) for line in marked.lines if line.kind is LineKind.SNIP]
    items += [f"Snips: {', '.join(snips)}"] if snips else []
    folds = fold_lines(marked)
    items += [f"Folds: {'; '.join(folds)}"] if folds else []
    marks = [f"{line.name} {line_keys(line)}" for line in marked.lines if line.kind is LineKind.MARK]
    items += [f"Marked only: {'; '.join(marks)}"] if marks else []
    yield element("h2", "Lines, by their points")
    yield element("ul", *(element("li", escape(item)) for item in items), class_="lines")


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
        counts = Counter(fixing.on for fixing in fixed_by(piece, FixingKind.CLIP))
        sizes: dict[str, float] = {}
        for name, line in edges:
            sizes[name] = sizes.get(name, 0.0) + distance_mm(*line)
        under = ", ".join(f"{counts[name]} under the {name} of {millimetres(size)} mm" for name, size in sizes.items())
        total = f"{counts.total()} clips: " if len(sizes) > 1 else ""
        each = under if total else under.replace(" under", " clips under", 1)
        lines.append(
            f"{total}{each} ({SIGNS[FixingKind.CLIP]}s), one near each end, {least.value:g} to {figure(most)} apart "
            f"({most.source}); fixed before the edge is dressed down."
        )
    depths = [g.depth_mm for g in fold_groups(piece.pattern) if "turn-in" in g.name and g.depth_mm is not None]
    bare = practice["turn_in_unpainted"]
    if max(depths, default=0.0) > bare.value + POINT_MM:
        lines.append(
            f"Bitumen paint on both sides of what goes more than {figure(bare)} into a joint "
            f"({bare.source.partition(':')[0]})."
        )
    nails = fixed_by(piece, FixingKind.NAIL)
    if nails:
        spacing = practice["nail_spacing"]
        lines.append(
            f"{len(nails)} copper nails ({SIGNS[FixingKind.NAIL]}es) in a row below the {nails[0].on}, at most "
            f"{figure(spacing)} apart ({spacing.confidence.value}); leave the sides free to move."
        )
    return lines
