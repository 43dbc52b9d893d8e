"""One piece at full size as a pattern of card, ply or film: its lines, its number and hand, its folds in words.

The pattern lies with its weather face up, as the piece is marked from it. Words stand on the pattern itself, so that
it can be used again without any paper beside it; what finds no room there stands below it, for reference.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from cutpath.drawing.fold_letters import HEIGHTS_MM, lettered_folds
from cutpath.drawing.fold_notes import fold_words, pattern_notes
from cutpath.drawing.label import label_place, label_strokes
from cutpath.drawing.lettering import letter
from cutpath.drawing.sheet import CHECK_BAR_MM, pattern_strokes
from cutpath.plane import bounds_mm
from cutpath.values.drawing import LETTERING, Drawing, Note, Role, Stroke
from cutpath.values.pattern import FlatPattern, Fold, Point, Polyline
from cutpath.values.piece import Piece

_BELOW_MM = 10.0
_LINE_MM = 10.0


def template(piece: Piece) -> Drawing:
    """Draw one piece as a pattern in its own frame: mm, weather face up, lower left corner at (0, 0)."""
    pattern = piece.pattern
    strokes = [replace(s, piece=piece.id) for s in pattern_strokes(pattern)]
    words = [*_label(piece), *(line for _, lines in _lettered(piece) for line in lines)]
    strokes += [_written(points, Role.MARK, piece.id) for points in words]
    _, _, long, wide = bounds_mm(pattern.outline)
    title = f"{piece.id}, {piece.job}: pattern of {piece.lead.material}"
    return Drawing(title, long, wide, (*strokes, *_beside(piece, title)))


def template_notes(piece: Piece) -> tuple[Note, ...]:
    """Return notes for paper for those folds on which the pattern has no room for letters."""
    bare = tuple(fold for fold, lines in _lettered(piece) if not lines)
    return tuple(pattern_notes(replace(piece.pattern, folds=bare)))


def fold_list(pattern: FlatPattern) -> tuple[tuple[str, str], ...]:
    """Return which way and how far folds go, seen with the weather face up, and the names of those that go alike."""
    names: dict[str, list[str]] = {}
    for fold in pattern.folds:
        names.setdefault(fold_words(fold), []).append(fold.name)
    return tuple((way, ", ".join(_in_short(alike))) for way, alike in names.items())


def _in_short(names: Sequence[str]) -> Iterator[str]:
    """Yield names, of those that are numbered one after another only the first and the last."""
    counted = [(name.rpartition(" ")[0], name.rpartition(" ")[2]) for name in names]
    runs: list[list[int]] = []
    for k, (stem, figure) in enumerate(counted):
        before = counted[k - 1]
        follows = k > 0 and stem == before[0] and figure.isdigit() and before[1].isdigit()
        if follows and int(figure) == int(before[1]) + 1:
            runs[-1].append(k)
        else:
            runs.append([k])
    for run in runs:
        yield f"{names[run[0]]} to {counted[run[-1]][1]}" if len(run) > 2 else ", ".join(names[k] for k in run)


def _label(piece: Piece) -> tuple[Polyline, ...]:
    """Letter the number and hand; a pattern serves every copy, so it names none."""
    one = replace(piece, quantity=1)
    place = label_place(one)
    return () if place is None else label_strokes(one, 1, place, flipped=False)


def _lettered(piece: Piece) -> list[tuple[Fold, list[Polyline]]]:
    """Letter each fold with which way and how far it goes."""
    return lettered_folds(piece.pattern, fold_words, _label(piece))


def _beside(piece: Piece, title: str) -> list[Stroke]:
    """Return what stands below the pattern and is not for the machine: the check bar, whose it is, its folds."""
    y = -_BELOW_MM
    lines = [((0.0, y), (CHECK_BAR_MM, y)), *(((x, y - 3.0), (x, y + 3.0)) for x in (0.0, CHECK_BAR_MM))]
    words = [
        title,
        f"{piece.number} of {piece.of}" + (f", {piece.hand.value} hand" if piece.hand else "") + ", weather face up",
        *(f"fold {way}: {names}" for way, names in fold_list(piece.pattern)),
    ]
    strokes = [Stroke(Role.REFERENCE, line, closed=False, piece="", name="check bar") for line in lines]
    strokes += _words(f"{CHECK_BAR_MM:g} mm", (CHECK_BAR_MM + 5, y - 2.5))
    for k, text in enumerate(words, 1):
        strokes += _words(text, (0.0, y - 3 - k * _LINE_MM))
    return strokes


def _words(text: str, at: Point) -> Sequence[Stroke]:
    lines = (tuple((x + at[0], y + at[1]) for x, y in line) for line in letter(text, HEIGHTS_MM[0]))
    return [_written(line, Role.REFERENCE, "") for line in lines]


def _written(points: Polyline, role: Role, piece: str) -> Stroke:
    closed = points[0] == points[-1]
    return Stroke(role, points[:-1] if closed else points, closed, piece, LETTERING)
