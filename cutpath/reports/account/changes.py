"""What became of pieces since a job was measured anew: alike, changed by how much and where, new, or gone."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, TypedDict

from cutpath.paper.text import fixed, table
from cutpath.plane import moved
from cutpath.tolerances import POINT_MM
from cutpath.values.pattern import FlatPattern, Polyline
from cutpath.values.piece import Piece


class ChangeRow(TypedDict):
    """One piece before and now.

    ``quantity`` is how many there are now, ``before`` how many there were. Of a changed one, ``moved_mm`` is by how
    much a line of it moved at most, from the corner that the piece is set out from, and ``line`` which; ``also`` says
    what else changed in words. ``cut`` to ``delivered`` tell how far it is, None where nobody knows.
    """

    piece: str
    job: str
    state: Literal["alike", "changed", "new", "gone"]
    quantity: int
    before: int
    moved_mm: float
    line: str
    also: str
    cut: bool | None
    folded: int | None
    packed: int | None
    delivered: int | None


@dataclass(frozen=True, slots=True)
class _Feature:
    """A line of a pattern: which of its kind it is, its name for people, its points, and of a fold its angle."""

    key: tuple[object, ...]
    words: str
    points: Polyline
    angle_deg: float = 0.0


def changes(before: Sequence[Piece], now: Sequence[Piece]) -> list[ChangeRow]:
    """Hold pieces against those of the same numbers before, in their order, those that are gone last."""
    old, new = {piece.id: piece for piece in before}, {piece.id: piece for piece in now}
    rows = [_row(old.get(name), piece) for name, piece in new.items()]
    return rows + [_row(piece, None) for name, piece in old.items() if name not in new]


def _row(before: Piece | None, now: Piece | None) -> ChangeRow:
    piece = now or before
    assert piece is not None  # noqa: S101 - one of them is given
    state: Literal["alike", "changed", "new", "gone"] = "new" if before is None else "gone" if now is None else "alike"
    moved_mm, line, also = 0.0, "", ""
    if before is not None and now is not None:
        moved_mm, line, other = _moved(before.pattern, now.pattern)
        words = [*_other_words(before, now), *other]
        also = "; ".join(words)
        state = "changed" if words or moved_mm > POINT_MM else "alike"
    return {
        "piece": piece.id,
        "job": piece.job,
        "state": state,
        "quantity": now.quantity if now else 0,
        "before": before.quantity if before else 0,
        "moved_mm": moved_mm if state == "changed" else 0.0,
        "line": line if moved_mm > POINT_MM else "",
        "also": also,
        "cut": None,
        "folded": None,
        "packed": None,
        "delivered": None,
    }


def _other_words(before: Piece, now: Piece) -> Iterator[str]:
    if before.lead != now.lead:
        yield f"{now.lead.material} instead of {before.lead.material}"
    if before.hand is not now.hand:
        yield "another hand"
    if before.quantity != now.quantity:
        yield _number_words(before.quantity, now.quantity)


def _number_words(before: int, now: int) -> str:
    return f"{now} off instead of {before}"


def only_counted(row: ChangeRow) -> bool:
    """Tell whether nothing but how many there are of a piece changed, so that those that are cut are right."""
    return (
        row["state"] == "changed" and not row["line"] and row["also"] == _number_words(row["before"], row["quantity"])
    )


def _moved(before: FlatPattern, now: FlatPattern) -> tuple[float, str, list[str]]:
    """Return by how much a line moved at most, its name, and in words which lines are new, gone or folded otherwise.

    The two lie with the ends together that they are set out from: of a left hand the right one.
    """
    old, new = {line.key: line for line in _lines(before)}, {line.key: line for line in _lines(now)}
    longer_mm = max(x for x, _ in now.outline) - max(x for x, _ in before.outline)
    dx = longer_mm if now.mirrored else 0.0
    ways = [(_apart_mm(moved(old[k].points, dx, 0.0), line.points), line.words) for k, line in new.items() if k in old]
    moved_mm, words = max(ways, default=(0.0, ""), key=_mm)
    other = [f"without {line.words}" for key, line in old.items() if key not in new]
    other += [f"with {line.words}" for key, line in new.items() if key not in old]
    turned = [(abs(old[k].angle_deg - line.angle_deg), line.words) for k, line in new.items() if k in old]
    turned_deg, fold = max(turned, default=(0.0, ""), key=_mm)
    if turned_deg > _SAME_DEG:
        other.insert(0, f"{fold}, {fixed(turned_deg, 1)} deg off")
    more = len(other) - _MOST_NAMED
    return (
        moved_mm,
        words,
        [*other[:_MOST_NAMED], *([f"and {more} line{'s' if more > 1 else ''} more"] if more > 0 else [])],
    )


def _mm(told: tuple[float, str]) -> float:
    return told[0]


_MOST_NAMED = 3
_SAME_DEG = 0.05  # what is not seen in the figures of a ticket


def _lines(pattern: FlatPattern) -> Iterator[_Feature]:
    """Yield every line that is cut, folded or marked; of those alike, the first is known as the first, and so on."""
    seen: Counter[tuple[object, ...]] = Counter()

    def line(what: tuple[object, ...], words: str, points: Polyline, angle_deg: float = 0.0) -> _Feature:
        seen[what] += 1
        return _Feature((*what, seen[what]), words, points, angle_deg)

    for edge, start, end in pattern.sides():
        yield line(("edge", edge.use, edge.joint), edge.name, (start, end))
    for hole in pattern.holes:
        yield line(("hole",), "a hole", (*hole, hole[0]))
    for snip in pattern.snips:
        yield line(("snip", snip.use), snip.name, snip.points)
    for fold in pattern.folds:
        what = ("fold", fold.use, fold.joint, fold.side, fold.way)
        yield line(what, f"fold {fold.name}", (fold.start, fold.end), fold.angle_deg)
    for mark in pattern.marks:
        yield line(("mark", mark.kind, mark.use, mark.side), f"mark {mark.name}", mark.points)


def _apart_mm(before: Polyline, now: Polyline) -> float:
    """Return by how much a line's points moved at most, or how far two lines are apart where these do not pair off."""
    if len(before) == len(now):
        ways = (now, now[::-1])
        return min(max(math.dist(a, b) for a, b in zip(before, way, strict=True)) for way in ways)
    return max(max(_from_mm(point, line) for point in points) for points, line in ((before, now), (now, before)))


def _from_mm(point: tuple[float, float], line: Polyline) -> float:
    return min(_off_mm(point, *ends) for ends in pairwise(line)) if len(line) > 1 else math.dist(point, line[0])


def _off_mm(point: tuple[float, float], start: tuple[float, float], end: tuple[float, float]) -> float:
    """Return the distance of a point from a straight piece of a line."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    square = dx * dx + dy * dy
    along = ((point[0] - start[0]) * dx + (point[1] - start[1]) * dy) / square if square else 0.0
    share = min(1.0, max(0.0, along))
    return math.dist(point, (start[0] + share * dx, start[1] + share * dy))


def changes_table(rows: Sequence[ChangeRow]) -> str:
    """Lay the changes out for a terminal: what is not alike piece by piece, then how many are; progress where known."""
    shown = [row for row in rows if row["state"] != "alike"]
    alike = [row["piece"] for row in rows if row["state"] == "alike"]
    told = any(row["cut"] is not None for row in rows)
    head = ("piece", "now", "mm", "most at", "also", *(("cut", "folded", "packed", "delivered") if told else ()))
    cells = [
        (
            row["piece"],
            row["state"],
            fixed(row["moved_mm"], 1) if row["moved_mm"] else "-",
            row["line"] or "-",
            row["also"] or "-",
            *(_progress(row) if told else ()),
        )
        for row in shown
    ]
    parts = [table(head, cells, left=frozenset({0, 1, 3, 4, 5}))] if cells else []
    if alike:
        parts.append(f"alike: {', '.join(alike)}")
    return "\n\n".join(parts)


def _progress(row: ChangeRow) -> tuple[str, str, str, str]:
    cut = "-" if row["cut"] is None else "cut" if row["cut"] else "not yet"
    folded, packed, delivered = (
        "-" if row[key] is None else str(row[key]) for key in ("folded", "packed", "delivered")
    )
    return cut, folded, packed, delivered
