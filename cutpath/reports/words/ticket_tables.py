"""Where a ticket's points and lines are, as tables and as a list."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import ceil

from cutpath.paper.markup import element, html_table
from cutpath.reports.account.marking import LineKind, MarkedPoint, Marking, whole_mm
from cutpath.reports.pictures.pattern_picture import angle_words, bevel_words
from cutpath.reports.words.handwork import fold_lines, line_keys
from cutpath.reports.words.plain_lines import PlainLine, ellipse_words
from cutpath.reports.words.ticket_layout import OFFSETS, ROWS
from cutpath.values.pattern import FlatPattern


def tables_of(marked: Marking) -> Iterable[str]:
    """Write the points of a piece: those of its steps, the lettered ones, and those of each curve."""
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


def tables_of_plain(marked: Marking, lines: Sequence[PlainLine], loose: Iterable[MarkedPoint]) -> Iterable[str]:
    """Write a rectangular piece as its size and a table of its lines."""
    yield element("p", f"{whole_mm(marked.length_mm)} × {whole_mm(marked.width_mm)} mm, a rectangle", class_="size")
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


def line_items(pattern: FlatPattern, marked: Marking) -> list[str]:
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
