"""The strokes of a roll held against the pieces that are cut from it, by a way of its own from pattern to roll."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from cutpath import sure
from cutpath.values.batch import Sheet
from cutpath.values.drawing import LETTERING, Drawing, Role, Stroke
from cutpath.values.nest import Placement
from cutpath.values.pattern import FoldWay, Point
from cutpath.values.piece import Piece

_SLACK_MM = 1e-5
"""A drawing has 7 decimals; a hundredth of a micrometre is lost by turning."""

_SHARES = (0.0, 1e-3, 0.21, 0.5, 0.79, 0.999, 1.0)
"""Where along a line it is looked whether it is drawn: both ends and five places between."""

Array = np.ndarray[tuple[int, ...], np.dtype[np.float64]]


def against_pieces(drawing: Drawing, sheet: Sheet, pieces: Mapping[str, Piece]) -> Iterator[str]:
    """Tell where a roll's strokes are not the outlines, holes, snips, folds and marks of its pieces where they lie.

    Letters are left out; folds have to go the way that they go on a piece as it lies.
    """
    own: dict[str, list[Stroke]] = {}
    for stroke in drawing.strokes:
        if stroke.piece and stroke.name != LETTERING and stroke.role is not Role.REFERENCE:
            own.setdefault(stroke.piece, []).append(stroke)
    first: dict[tuple[str, bool], list[Array]] = {}
    for placement in sheet.nested.placements:
        piece = pieces[placement.id]
        name = f"{piece.id}/{placement.copy}" if piece.quantity > 1 else piece.id
        strokes = own.pop(name, [])
        lines = [_back(stroke.points, placement) for stroke in strokes]
        known = first.get((piece.id, placement.flipped))
        if known is not None and _alike(known, lines):
            continue
        faults = list(_faults(piece, placement, strokes, lines))
        if not faults:
            first.setdefault((piece.id, placement.flipped), lines)
        yield from (f"{name}: {fault}" for fault in faults)
    yield from (f"{name} is drawn, and does not lie there" for name in own)


def _back(points: Sequence[Point], placement: Placement) -> Array:
    """Carry points from the roll back to the pattern: move, turn back, turn over."""
    turn = complex(sure.cos(math.radians(placement.turn_deg)), -sure.sin(math.radians(placement.turn_deg)))
    flat = np.array(points, dtype=float)
    at = (flat[:, 0] - placement.x_mm + 1j * (flat[:, 1] - placement.y_mm)) * turn
    return np.stack([-at.real if placement.flipped else at.real, at.imag], axis=1)


def _alike(one: Sequence[Array], other: Sequence[Array]) -> bool:
    if [line.shape for line in one] != [line.shape for line in other]:
        return False
    return not one or bool((abs(np.concatenate(one) - np.concatenate(other)) <= 2 * _SLACK_MM).all())


def _faults(piece: Piece, placement: Placement, strokes: Sequence[Stroke], lines: Sequence[Array]) -> Iterator[str]:
    pattern = piece.pattern
    both = list(zip(strokes, lines, strict=True))
    outer = [line for stroke, line in both if stroke.role is Role.OUTER]
    inner = [line for stroke, line in both if stroke.role is Role.INNER and stroke.closed]
    if not all(stroke.closed for stroke in strokes if stroke.role is Role.OUTER):
        yield "an outline that is open"
    for what, rings, wanted in (("outline", outer, [pattern.outline]), ("hole", inner, pattern.holes)):
        if len(rings) != len(wanted) or not all(map(_same_ring, rings, map(_array, wanted))):
            yield f"{what} is not that of the piece"
    cuts = _segments([_closed(ring) for ring in (pattern.outline, *pattern.holes)])
    snips = [(_array(s.points), None) for s in pattern.snips]
    folds = [(_array((f.start, f.end)), _way(f.way, flipped=placement.flipped)) for f in pattern.folds]
    marks = [(_array(m.points), None) for m in pattern.marks]
    for what, role, wanted_lines in (
        ("snip", Role.INNER, snips),
        ("fold", Role.FOLD, folds),
        ("mark", Role.MARK, marks),
    ):
        drawn = [(stroke, line) for stroke, line in both if stroke.role is role and not stroke.closed]
        drawn = [(stroke, line) for stroke, line in drawn if what != "mark" or stroke.name != "leader"]
        asked = _segments([line for line, _ in wanted_lines])
        if not _lie_on([line for _, line in drawn], asked):
            yield f"a {what} is drawn where the piece has none"
        if not _lie_on([line for line, _ in wanted_lines], np.concatenate([cuts, _segments([ln for _, ln in drawn])])):
            yield f"a {what} of the piece is not drawn, or not whole"
        cuts = np.concatenate([cuts, asked])
        for stroke, line in drawn if what == "fold" else ():
            ways = {way for fold, way in wanted_lines if _lie_on([line], _segments([fold]))}
            if ways and stroke.tells not in ways:
                yield f"{stroke.name} is told to go {stroke.tells}"


def _way(way: FoldWay, *, flipped: bool) -> FoldWay:
    if not flipped:
        return way
    return FoldWay.BACK if way is FoldWay.FORWARD else FoldWay.FORWARD


def _array(points: Sequence[Point]) -> Array:
    return np.array(points, dtype=float).reshape(-1, 2)


def _closed(points: Sequence[Point]) -> Array:
    return _array((*points, points[0]))


def _same_ring(one: Array, other: Array) -> bool:
    """Tell whether two rings are one, wherever they begin and whichever way they run."""
    if one.shape != other.shape:
        return False
    for ring in (one, one[::-1]):
        at = int(np.argmin(np.hypot(*(ring - other[0]).T)))
        if (abs(np.roll(ring, -at, axis=0) - other) <= _SLACK_MM).all():
            return True
    return False


def _segments(lines: Sequence[Array]) -> Array:
    """Return the straight parts of lines, shape (n, 2, 2)."""
    if not lines:
        return np.empty((0, 2, 2))
    return np.concatenate([np.stack([line[:-1], line[1:]], axis=1) for line in lines])


def _lie_on(lines: Sequence[Array], others: Array) -> bool:
    """Tell whether lines lie on straight parts of others, as far as places along them tell."""
    parts = _segments(lines)
    if not len(parts):
        return True
    if not len(others):
        return False
    share = np.array(_SHARES)[None, :, None]
    at = (parts[:, :1] * (1 - share) + parts[:, 1:] * share).reshape(-1, 1, 2)
    start, way = others[None, :, 0], (others[:, 1] - others[:, 0])[None]
    along = ((at - start) * way).sum(axis=2) / np.maximum((way**2).sum(axis=2), 1e-18)
    near = start + np.clip(along, 0.0, 1.0)[..., None] * way
    return bool(((at - near) ** 2).sum(axis=2).min(axis=1).max() <= (2 * _SLACK_MM) ** 2)
