"""From a cut roll and its pieces to strokes with roles.

Order of work: marks, folds, inner cuts, outer cuts, then what is not for the machine. Pieces follow each other
along the roll. Among closed contours the deepest nested comes first, so that nothing is cut loose before what
lies inside it is done; a piece nested in another's hole is therefore cut before that hole.

The same line is never drawn twice for one piece: a stretch of a fold, snip or mark that runs on a cut (or, for a
mark, on a fold) is left out. Closed contours always stay whole, so that areas can be read back from a file;
neighbours that touch share an edge, which `cutpath.drawing.preflight.shared_cuts` counts and reports.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from itertools import chain, islice

from cutpath import sure
from cutpath.drawing.containment import depths
from cutpath.drawing.fold_letters import lettered_folds, way_letter
from cutpath.drawing.label import LabelPlace, label_edge, label_place, label_strokes, label_words
from cutpath.drawing.leaders import Bare, led
from cutpath.drawing.lettering import letter, text_width_mm
from cutpath.drawing.overlap import Segment, merged, overlaps, segments_of
from cutpath.paper.text import millimetres
from cutpath.tolerances import COORDINATE_DECIMALS, POINT_MM
from cutpath.values.batch import Sheet
from cutpath.values.drawing import LETTERING, Drawing, Role, Stroke
from cutpath.values.nest import Offcut, Placement, Roll
from cutpath.values.pattern import FlatPattern, FoldWay, MarkKind, Point, Polyline
from cutpath.values.piece import Piece

CHECK_BAR_MM = 100.0
"""Length of the bar by which a drawing's scale is checked."""

_MARGIN_MM = 15.0  # clear space between the roll and what stands beside it
_TEXT_MM = 10.0
_STUB_MM = 50.0  # the roll's edges run on past the cross-cut by this, where there is roll left
_LEGEND = f"cut {Role.INNER}, then {Role.OUTER}; draw {Role.MARK} and {Role.FOLD}, never score them"
FOLDS = (
    "beside a fold: F forward, towards you as the sheet lies, B back, away from you; "
    "90 degrees unless an angle stands there"
)
_NEAR_TIE = 1e-3  # of the last decimal: nearer to a half than that, arithmetic may round the other way
_CUTS = (Role.INNER, Role.OUTER)
_RANK = {role: k for k, role in enumerate(Role)}


def placer(placement: Placement) -> Callable[[Point], Point]:
    """Return the map from a pattern's own frame to the roll: flip x to -x, turn about (0, 0), move.

    Quarter turns are exact: no sine or cosine enters.
    """
    cos, sin = _turn(placement.turn_deg)
    side = -1.0 if placement.flipped else 1.0

    def place(point: Point) -> Point:
        x, y = side * point[0], point[1]
        return (x * cos - y * sin + placement.x_mm, x * sin + y * cos + placement.y_mm)

    return place


def _turn(turn_deg: float) -> tuple[float, float]:
    exact = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    turn = math.radians(turn_deg)
    return exact.get(turn_deg % 360.0, (sure.cos(turn), sure.sin(turn)))


def copy_name(piece: Piece, copy: int) -> str:
    """Name one copy of a piece: its id, with ``/copy`` behind it when there are several."""
    return f"{piece.id}/{copy}" if piece.quantity > 1 else piece.id


def pattern_strokes(pattern: FlatPattern) -> tuple[Stroke, ...]:
    """Return a pattern's own lines in its own frame as strokes, no line twice; ``piece`` is left empty.

    Cuts outweigh folds, folds outweigh marks, and among equals the first outweighs the later.
    """
    wanted = [Stroke(Role.OUTER, pattern.outline, closed=True, piece="", name="outline")]
    wanted += [Stroke(Role.INNER, h, True, "", f"hole {k}") for k, h in enumerate(pattern.holes, 1)]  # noqa: FBT003
    wanted += [Stroke(Role.INNER, s.points, closed=False, piece="", name=s.name) for s in pattern.snips]
    wanted += [Stroke(Role.FOLD, (f.start, f.end), False, "", f.name, f.way) for f in pattern.folds]  # noqa: FBT003
    wanted += [Stroke(Role.MARK, m.points, False, "", m.name, m.kind) for m in pattern.marks]  # noqa: FBT003
    return without_repeats(wanted)


def without_repeats(strokes: Sequence[Stroke]) -> tuple[Stroke, ...]:
    """Leave out what an earlier stroke already draws; closed strokes stay whole."""
    segments: list[Segment] = []
    owner: list[tuple[int, int]] = []
    for k, stroke in enumerate(strokes):
        for n, segment in enumerate(segments_of(stroke.points, closed=stroke.closed)):
            segments.append(segment)
            owner.append((k, n))
    drawn: dict[int, dict[int, list[tuple[float, float]]]] = {}
    for o in overlaps(segments, POINT_MM):
        k, n = owner[o.second]
        if not strokes[k].closed:
            drawn.setdefault(k, {}).setdefault(n, []).append((o.start_mm, o.end_mm))
    kept: list[Stroke] = []
    for k, stroke in enumerate(strokes):
        if k in drawn:
            kept += [replace(stroke, points=p) for p in _left_over(stroke.points, drawn[k])]
        else:
            kept.append(stroke)
    return tuple(kept)


def _left_over(points: Polyline, drawn: Mapping[int, list[tuple[float, float]]]) -> list[Polyline]:
    """Cut the ``drawn`` stretches, in mm along each segment, out of a polyline."""
    parts: list[list[Point]] = []
    for n, (start, end) in enumerate(segments_of(points, closed=False)):
        length = math.dist(start, end)

        def at(s: float, start: Point = start, end: Point = end, length: float = length) -> Point:
            t = s / length
            return (start[0] + (end[0] - start[0]) * t, start[1] + (end[1] - start[1]) * t)

        edge = 0.0
        for low, high in [*merged(drawn.get(n, ())), (length, length)]:
            if low - edge > POINT_MM:
                a = start if edge <= POINT_MM else at(edge)
                b = end if length - low <= POINT_MM else at(low)
                if parts and parts[-1][-1] == a:
                    parts[-1].append(b)
                else:
                    parts.append([a, b])
            edge = max(edge, high)
    return [tuple(p) for p in parts]


_Letters = tuple[tuple[FoldWay, Polyline], ...]


@dataclass(frozen=True, slots=True)
class _Ready:
    """What all copies of a piece have in common."""

    piece: Piece
    strokes: tuple[Stroke, ...]
    label: LabelPlace | None
    ways: tuple[_Letters, _Letters]  # of its folds, face up and face down


@dataclass(frozen=True, slots=True)
class _Placed:
    corner: Point  # least x and least y of the outline: pieces follow each other along the roll by it
    strokes: tuple[Stroke, ...]


def draw(sheet: Sheet, pieces: Mapping[str, Piece], *, caution: str = "", cuts_only: bool = False) -> Drawing:
    """Draw one roll with every piece that is cut from it.

    Parameters
    ----------
    sheet : Sheet
        Its placements name ``pieces`` by id.
    pieces : mapping of str to Piece
    caution : str
        A line to stand beside the roll, not for the machine.
    cuts_only : bool
        The cuts of the pieces and nothing else, to look at where no drawing is wanted.

    Returns
    -------
    Drawing
        As long as the roll is drawn and as wide as the roll; mm; lower left corner of the roll at (0, 0). Strokes
        beside the roll stand above it (y beyond the width), so that the roll's corner stays the drawing's corner.
        The raw end, the cross-cut and kept offcuts have roles of their own: who cuts them, decides the shop.

    Raises
    ------
    KeyError
        When a placement names a piece that is not there.
    """
    ready = {name: _ready(pieces[name], cuts_only=cuts_only) for name in {p.id for p in sheet.nested.placements}}
    placed = [_place(p, ready[p.id], lettered=not cuts_only) for p in sheet.nested.placements]
    beside, unlettered = _led(sheet, placed, ready)
    placed.sort(key=lambda p: (p.corner, p.strokes[0].piece))
    roll = sheet.nested.roll
    return Drawing(
        title=f"{sheet.id}: {sheet.lead.material}, roll {_roll_size(roll)} mm",
        length_mm=sheet.nested.drawn_mm,
        width_mm=roll.width_mm,
        strokes=tuple(_in_order(placed)) if cuts_only else (*beside, *_in_order(placed), *_beside(sheet, caution)),
        unlettered=unlettered,
        roll=sheet.id,
    )


def _led(sheet: Sheet, placed: Sequence[_Placed], ready: Mapping[str, _Ready]) -> tuple[list[Stroke], tuple[str, ...]]:
    """Write numbers of small pieces into the waste beside them; return too which pieces have none even so."""
    nested = sheet.nested
    bare, names = [], {}
    for placement, piece in zip(nested.placements, placed, strict=True):
        own = ready[placement.id]
        if own.label is None:
            outline = piece.strokes[0]
            names[outline.piece] = placement.id
            words = " ".join(label_words(own.piece, placement.copy, flipped=placement.flipped))
            bare.append(Bare(outline.piece, words, outline.points))
    kept = [_corners(o) for o in nested.offcuts]
    outlines = [p.strokes[0].points for p in placed]
    found = led(bare, outlines, kept, (nested.drawn_mm, nested.roll.width_mm))
    strokes = [_lettering(points, Role.MARK) for one in found for points in one.letters]
    strokes += [Stroke(Role.MARK, _rounded(one.line), closed=False, piece="", name="leader") for one in found]
    there = {one.piece for one in found}
    return strokes, tuple(dict.fromkeys(id_ for name, id_ in names.items() if name not in there))


def _corners(offcut: Offcut) -> Polyline:
    far, top = offcut.x_mm + offcut.length_mm, offcut.y_mm + offcut.width_mm
    return ((offcut.x_mm, offcut.y_mm), (far, offcut.y_mm), (far, top), (offcut.x_mm, top))


@lru_cache(maxsize=128)  # of some 24 kB each (measured); what is cut often lies on roll after roll
def _ready(piece: Piece, *, cuts_only: bool) -> _Ready:
    """Make a piece ready to be placed, once for all rolls that it lies on."""
    label, strokes = label_place(piece), pattern_strokes(piece.pattern)
    if cuts_only:
        return _Ready(piece, tuple(s for s in strokes if s.role in _CUTS), label, ((), ()))
    ways = (_fold_letters(piece, label, flipped=False), _fold_letters(piece, label, flipped=True))
    return _Ready(piece, strokes, label, ways)


def _fold_letters(piece: Piece, label: LabelPlace | None, *, flipped: bool) -> _Letters:
    """Return the letters beside a piece's folds, each stroke with the way of its fold, for a piece that lies so."""
    taken = [] if label is None else [label_edge(label)]
    lettered = lettered_folds(piece.pattern, partial(way_letter, flipped=flipped), taken, flipped=flipped)
    return tuple((fold.way, points) for fold, letters in lettered for points in letters)


def without_fold_letters(drawing: Drawing) -> Drawing:
    """Return a drawing without the letters beside its folds, for paper, which has words there."""
    kept = (stroke for stroke in drawing.strokes if stroke.name != LETTERING or stroke.tells is None)
    return replace(drawing, strokes=tuple(kept))


def turned_over(tells: FoldWay | MarkKind | None) -> FoldWay | MarkKind | None:
    """Return what a line says on a piece that lies face down: a fold goes the other way."""
    return tells.turned if isinstance(tells, FoldWay) else tells


def _place(placement: Placement, ready: _Ready, *, lettered: bool) -> _Placed:
    name, flipped = copy_name(ready.piece, placement.copy), placement.flipped
    ways = ready.ways[flipped]
    letters: tuple[Polyline, ...] = ()
    if lettered and ready.label is not None:
        letters = label_strokes(ready.piece, placement.copy, ready.label, flipped=flipped)
    own, *written = _carried(
        [[s.points for s in ready.strokes], [points for _, points in ways], list(letters)], placement
    )
    strokes = []
    for stroke, points in zip(ready.strokes, own, strict=True):
        if flipped and stroke.closed:  # keep outlines counter-clockwise and holes clockwise
            points = (points[0], *points[:0:-1])
        tells = turned_over(stroke.tells) if flipped else stroke.tells
        strokes.append(Stroke(stroke.role, points, stroke.closed, name, stroke.name, tells))
    told = [turned_over(way) if flipped else way for way, _ in ways] + [None] * len(letters)
    for tells, points in zip(told, chain(*written), strict=True):
        closed = points[0] == points[-1]
        strokes.append(Stroke(Role.MARK, points[:-1] if closed else points, closed, name, LETTERING, tells))
    outline = strokes[0].points
    corner = (min(x for x, _ in outline), min(y for _, y in outline))
    return _Placed(corner, tuple(strokes))


def _carried(parts: Sequence[Sequence[Polyline]], placement: Placement) -> list[list[Polyline]]:
    """Carry lines from a pattern's own frame to the roll, as `placer` does, and round them as `_rounded` does."""
    import numpy as np

    lines = [points for part in parts for points in part]
    count = sum(map(len, lines))
    flat = np.fromiter(chain.from_iterable(chain.from_iterable(lines)), float, 2 * count).reshape(count, 2)
    cos, sin = _turn(placement.turn_deg)
    x, y = (-flat[:, 0] if placement.flipped else flat[:, 0]), flat[:, 1]
    moved = np.stack([x * cos - y * sin + placement.x_mm, x * sin + y * cos + placement.y_mm], axis=1)
    scaled = moved * 10**COORDINATE_DECIMALS
    rounded = np.rint(scaled) / 10**COORDINATE_DECIMALS + 0.0
    for at in zip(*np.nonzero(np.abs(np.abs(scaled - np.floor(scaled)) - 0.5) < _NEAR_TIE), strict=True):
        rounded[at] = round(float(moved[at]), COORDINATE_DECIMALS) + 0.0  # which way is for the exact figure to say
    points = iter(zip(*rounded.T.tolist(), strict=True))
    return [[tuple(islice(points, len(line))) for line in part] for part in parts]


def _rounded(points: Iterable[Point]) -> Polyline:
    """Round to the decimals of a file, so that every format carries the same numbers, and lose minus zero."""
    return tuple((round(x, COORDINATE_DECIMALS) + 0.0, round(y, COORDINATE_DECIMALS) + 0.0) for x, y in points)


def _lettering(points: Polyline, role: Role) -> Stroke:
    """Return a line of lettering that belongs to the sheet."""
    closed = points[0] == points[-1]
    return Stroke(role, _rounded(points[:-1] if closed else points), closed, "", LETTERING)


def _in_order(placed: Sequence[_Placed]) -> list[Stroke]:
    everything = [(k, s) for k, p in enumerate(placed) for s in p.strokes]
    cuts = [(k, s) for k, s in everything if s.role in (Role.INNER, Role.OUTER)]
    depth = depths([s for _, s in cuts])
    order = sorted(range(len(cuts)), key=lambda n: (-depth[n], _RANK[cuts[n][1].role], cuts[n][0], n))
    drawn = [s for role in (Role.MARK, Role.FOLD) for _, s in everything if s.role is role]
    return drawn + [cuts[n][1] for n in order]


def _beside(sheet: Sheet, caution: str) -> list[Stroke]:
    """Return what is not for the machine: roll edge, cross-cut, kept offcuts, check bar and words beside the roll."""
    nested, width = sheet.nested, sheet.nested.roll.width_mm
    end = min(nested.roll.length_mm, nested.drawn_mm + _STUB_MM)
    lines = [
        _beside_pieces(Role.REFERENCE, [(0.0, 0.0), (end, 0.0)], "roll edge"),
        _beside_pieces(Role.REFERENCE, [(0.0, width), (end, width)], "roll edge"),
        _beside_pieces(Role.SQUARING, [(0.0, 0.0), (0.0, width)], "raw end"),
        _beside_pieces(Role.CROSS, [(nested.drawn_mm, 0.0), (nested.drawn_mm, width)], "cross-cut"),
    ]
    for k, offcut in enumerate(nested.offcuts, 1):
        x, y = offcut.x_mm, offcut.y_mm
        far, top = x + offcut.length_mm, y + offcut.width_mm
        lines.append(_beside_pieces(Role.KEPT, [(x, y), (far, y), (far, top), (x, top), (x, y)], f"kept offcut {k}"))
    strokes = sorted(without_repeats(lines), key=lambda s: _RANK[s.role])
    for offcut in nested.offcuts:
        strokes += _offcut_words(offcut)

    bar, tick = width + _MARGIN_MM, 5.0
    strokes += [
        _beside_pieces(Role.REFERENCE, [(0.0, bar), (CHECK_BAR_MM, bar)], "check bar"),
        _beside_pieces(Role.REFERENCE, [(0.0, bar - tick), (0.0, bar + tick)], "check bar"),
        _beside_pieces(Role.REFERENCE, [(CHECK_BAR_MM, bar - tick), (CHECK_BAR_MM, bar + tick)], "check bar"),
    ]
    strokes += _words(f"{millimetres(CHECK_BAR_MM)} mm", (CHECK_BAR_MM + 10.0, bar - _TEXT_MM / 2), _TEXT_MM)
    size = f"roll {_roll_size(nested.roll)} mm"
    title = f"{sheet.id}  {sheet.lead.material}  {size}  cross-cut at {millimetres(nested.drawn_mm)} mm"
    line = bar + tick + _MARGIN_MM
    for text in filter(None, (title, _LEGEND, FOLDS, caution)):
        strokes += _words(text, (0.0, line), _TEXT_MM)
        line += 2 * _TEXT_MM
    return strokes


def _beside_pieces(role: Role, points: Sequence[Point], name: str) -> Stroke:
    return Stroke(role, _rounded(points), closed=False, piece="", name=name)


def _words(text: str, at: Point, height_mm: float) -> list[Stroke]:
    lines = (tuple((x + at[0], y + at[1]) for x, y in line) for line in letter(text, height_mm))
    return [_lettering(line, Role.REFERENCE) for line in lines]


def _offcut_words(offcut: Offcut) -> list[Stroke]:
    text = f"keep {millimetres(offcut.length_mm)} × {millimetres(offcut.width_mm)}"
    wide = text_width_mm(text, _TEXT_MM)
    if wide > offcut.length_mm or offcut.width_mm < 2 * _TEXT_MM:
        return []
    at = (
        offcut.x_mm + (offcut.length_mm - wide) / 2,
        offcut.y_mm + (offcut.width_mm - _TEXT_MM) / 2,
    )
    return _words(text, at, _TEXT_MM)


def _roll_size(roll: Roll) -> str:
    return f"{millimetres(roll.width_mm)} × {millimetres(roll.length_mm)}"
