"""A drawing to each pattern of a job: laid out with its sizes, folded beside it, with what its letters mean."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from html import escape

from cutpath.paper.fixing_marks import fixing_key
from cutpath.paper.markup import element, number
from cutpath.paper.text import millimetres, unbroken
from cutpath.paper.wall_sheet import BESIDE
from cutpath.plane import bounds_mm
from cutpath.reports.account.shape import same_cut
from cutpath.reports.pictures.figures import captioned, folded_figure, in_pairs, with_key
from cutpath.reports.pictures.isometric import Folded
from cutpath.reports.pictures.pattern_picture import angle_words, fold_groups, pattern_picture
from cutpath.values.pattern import FlatPattern
from cutpath.values.piece import Piece

_KEY_MM = 62.0
"""Least width of a key beside a pattern, on paper."""


def drawings(pieces: Sequence[Piece], folded: Mapping[str, Folded]) -> Iterable[str]:
    """Yield a drawing to each distinct pattern of a lead, named after all that share it; narrow ones two by two."""
    return in_pairs((element("figure", inside), narrow) for inside, narrow in _drawings(pieces, folded))


def _drawings(pieces: Sequence[Piece], folded: Mapping[str, Folded]) -> Iterable[tuple[str, bool]]:
    """Yield what is in each drawing, and whether it is narrow: a small pattern, with nothing folded beside it."""
    alike: dict[object, list[Piece]] = {}
    for piece in pieces:
        alike.setdefault((piece.lead, same_cut(piece.pattern)), []).append(piece)
    shown: dict[object, str] = {}
    for group in alike.values():
        pattern, first = group[0].pattern, group[0]
        names = ", ".join(f"{p.id} ({p.quantity} off)" if p.quantity > 1 else p.id for p in group)
        picture, scale, wide = pattern_picture(pattern, names, first.fixings)
        hand = f"{first.hand.value} hand, " if first.hand else ""
        x0, y0, x1, y1 = bounds_mm(pattern.outline)
        words = (
            f"{pattern.family}, {hand}{first.lead.material}, {millimetres(x1 - x0)} × {millimetres(y1 - y0)} mm, "
            f"{unbroken(f'1 : {number(scale)}')}"
        )
        legend = [
            element("li", element("b", g.letter), escape(f" {g.words}"), class_=f"fold-{g.way}")
            for g in fold_groups(pattern)
        ]
        legend += [element("li", escape(fixing_key(first.fixings)))] if first.fixings else []
        like = shown.setdefault(_looks(first), first.id)
        if like != first.id:
            legend.append(element("li", escape(f"Folded like {like}")))
        caption = element("figcaption", element("b", escape(names)), element("span", escape(words)))
        flat, key = captioned(caption, picture), element("ul", *legend, *_legend_notes(pattern), class_="legend")
        shape = folded.get(first.id) if like == first.id else None
        if shape is None:
            yield with_key(flat, key), wide <= BESIDE
        else:
            yield flat + with_key(folded_figure(shape, names), key, max(shape.size_mm[0], _KEY_MM)), False


def _looks(piece: Piece) -> object:
    """Return what pieces share that look alike when they are folded, longer or shorter."""
    folds = frozenset((g.use, g.folds[0].side, g.way, round(g.angle_deg)) for g in fold_groups(piece.pattern))
    return (piece.pattern.family, piece.hand, piece.pattern.mirrored, folds) if folds else piece.id


def _legend_notes(pattern: FlatPattern) -> Iterable[str]:
    angles = angle_words(pattern)
    if angles:
        yield element("li", escape(angles[:1].upper() + angles[1:]))
    if pattern.marks:
        marks = "; ".join(dict.fromkeys(mark.name for mark in pattern.marks))
        yield element("li", escape(f"Marked: {marks}"))
