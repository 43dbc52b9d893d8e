"""Plain outlines in the job file: points, or a drawing that lies beside it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field

from cutpath.ceilings import OUTLINE_MEETINGS, OUTLINE_POINTS
from cutpath.errors import Finding, Severity
from cutpath.families.desk import Desk
from cutpath.families.site import (
    Site,
    head_of,
)
from cutpath.families.tables import (
    DetailTable,
    FoldAngle,
    Means,
    Point,
    Sides,
    Sized,
    Words,
)
from cutpath.intake.checking import Strict
from cutpath.tolerances import POINT_MM, READ_MM
from cutpath.trade.plausible import Written, check_size, check_specks
from cutpath.units import mm_text
from cutpath.values.leadwork import PlainOutline
from cutpath.values.survey import DetailHead

if TYPE_CHECKING:
    from shapely import LineString, Polygon


class FoldTable(Sized):
    """A fold line of a plain outline."""

    from_: Point = Field(alias="from", description="one end, x and y in mm")
    to: Point = Field(description="the other end, x and y in mm")
    angle: FoldAngle = Field(
        default=90.0,
        description="degrees out of the flat; above 0 towards a person who sees the weather face, below 0 away",
    )


class LayersTable(Strict):
    """Layers of the drawing."""

    outline: Words = Field(default="OUTER", description="layer of the closed outline")
    cut: Words = Field(default="INNER", description="layer of holes and open cuts")
    fold: Words = Field(default="FOLD", description="layer of fold lines")


class OutlineTable(DetailTable):
    """A plain shape: a rectangle by its size, points in the file, or a drawing beside it."""

    kind: Literal["outline"] = Field(description="outline")
    points: list[Point] | None = Field(
        default=None, min_length=3, max_length=OUTLINE_POINTS, description="corners of the outline, x and y in mm"
    )
    size: Sides | None = Field(
        default=None,
        description='a plain rectangle by its sides, across and up, such as "325 x 175", instead of points',
    )
    holes: list[Annotated[list[Point], Field(min_length=3, max_length=OUTLINE_POINTS)]] = Field(
        default=[], description="corners of each hole, x and y in mm"
    )
    cuts: list[Annotated[list[Point], Field(min_length=2, max_length=OUTLINE_POINTS)]] = Field(
        default=[], description="points of each open cut, x and y in mm"
    )
    folds: list[FoldTable] = Field(default=[], description="fold lines, ends in mm and angle in degrees")
    may_flip: bool = Field(default=False, description="true when it may be cut face down")
    dxf: Annotated[Words, Means("shape")] | None = Field(
        default=None, description="a DXF drawing beside the job file, instead of points"
    )
    layers: LayersTable = Field(default=LayersTable(), description="layers of the drawing")
    unit: Literal["mm", "cm", "m", "in", "ft"] | None = Field(
        default=None, description="unit of the drawing, when the drawing does not say"
    )
    fold_angle: FoldAngle = Field(
        default=90.0, description="angle of the folds of the drawing, degrees out of the flat"
    )


def survey(site: Site, table: OutlineTable) -> PlainOutline:
    """Survey one detail from its table."""
    head = head_of(site, table, "outline", quantity=table.quantity, hands=())
    return survey_outline(site.desk, site.path, head, table)


_WAYS = ("points", "size", "dxf")
_WITH_POINTS = ("holes", "cuts", "folds")


_WITH_DRAWING = ("layers", "unit", "fold_angle")


def survey_outline(desk: Desk, path: str, head: DetailHead, table: OutlineTable) -> PlainOutline:
    """Survey a plain outline as written or drawn; nothing is turned, closed or repaired.

    Raises
    ------
    LeftOutError
        When keys do not go together or the drawing cannot be used; the findings say why.
    """
    ways = [key for key in _WAYS if getattr(table, key) is not None]
    if len(ways) != 1:
        raise desk.refuse(
            "CP111" if ways else "CP104",
            f"{path}.{ways[-1] if ways else 'points'}",
            f"{ways[0]} and {ways[-1]} are both given" if ways else "neither points, size nor dxf",
            "needed: points or a size written here, or a drawing",
            "Take one of them out." if ways else 'Add size = "325 x 175", points = [[x, y], ...] or dxf = ...',
        )
    for key in _WITH_POINTS if table.dxf is not None else _WITH_DRAWING:
        if key in table.model_fields_set:
            with_key = "points or size" if key in _WITH_POINTS else "dxf"
            raise desk.refuse(
                "CP111",
                f"{path}.{key}",
                f"{key} is given without {with_key}",
                f"accepted: {key} with {with_key} only",
                "Take the line out.",
            )
    if table.dxf is not None:
        from cutpath.families.outline.drawing import read_outline

        drawn = read_outline(desk, f"{path}.dxf", head, table)
        _count_points(desk, f"{path}.dxf", drawn)
        odd = [*_odd_shape(desk, path, drawn, table), *_stray(desk, path, drawn, drawing=True)]
        desk.add(odd or _narrow(desk, path, drawn, drawing=True))
        return drawn
    written = PlainOutline(
        head=head,
        outline=_rectangle(*table.size) if table.size else tuple(table.points or ()),
        holes=tuple(tuple(hole) for hole in table.holes),
        cuts=tuple(tuple(cut) for cut in table.cuts),
        folds=tuple(_fold(fold) for fold in table.folds),
        may_flip=table.may_flip,
    )
    _count_points(desk, path, written)
    odd = [*_odd_shape(desk, path, written, table), *_stray(desk, path, written, drawing=False)]
    desk.add(odd or [*_specks(desk, path, table), *_narrow(desk, path, written)])
    return written


def _narrow(desk: Desk, path: str, shape: PlainOutline, *, drawing: bool = False) -> Iterator[Finding]:
    """Doubt folds so near an edge or another that they look like slips, such as centimetres among millimetres."""
    for place, between in _narrow_folds(shape) if shape.folds else ():
        yield desk.finding(
            "CP112",
            f"{path}.dxf" if drawing else f"{path}.folds[{place}]",
            f"a fold with {mm_text(between)} between it and the edge or fold beside it",
            f"usual: {mm_text(_NARROW_MM)} and more (common practice, no source: less can hardly be dressed)",
            "Measure again, and check the unit.",
            Severity.WARNING,
        )


def _count_points(desk: Desk, path: str, shape: PlainOutline) -> None:
    """Refuse a shape of more points than can be worked with in any time.

    Raises
    ------
    LeftOutError
        When it has.
    """
    count = sum(len(line) for line in (shape.outline, *shape.holes, *shape.cuts)) + 2 * len(shape.folds)
    if count > OUTLINE_POINTS:
        raise desk.refuse(
            "CP107",
            path,
            f"a shape of {count:,} points, with its holes, cuts and folds",
            f"accepted: {OUTLINE_POINTS:,} points at most",
            "Leave out points that stand nearly in line; half a millimetre is enough for lead.",
        )
    lines = [*shape.cuts, *((start, end) for start, end, _ in shape.folds)]
    if len(lines) > 1 or any(len(line) > 2 for line in lines):
        meetings = _meetings([pair for line in lines for pair in pairwise(line)])
        if meetings > OUTLINE_MEETINGS:
            raise desk.refuse(
                "CP107",
                path,
                f"cuts and folds that meet at more than {OUTLINE_MEETINGS:,} places",
                f"accepted: {OUTLINE_MEETINGS:,} at most",
                "Leave out lines that are drawn more than once, or are no cuts and folds.",
            )


def _meetings(segments: Sequence[tuple[Point, Point]]) -> int:
    """Count where segments meet or all but do, each place once; counting ends when there are too many."""
    from shapely import STRtree, linestrings

    lines = linestrings(segments)
    tree, count = STRtree(lines), -len(lines)
    for start in range(0, len(lines), 100):
        some = lines[start : start + 100]
        count += tree.query(some, predicate="dwithin", distance=READ_MM).shape[1]
        if count > 2 * OUTLINE_MEETINGS:
            break
    return (count + 1) // 2


def _rectangle(across_mm: float, up_mm: float) -> tuple[tuple[float, float], ...]:
    return (0.0, 0.0), (across_mm, 0.0), (across_mm, up_mm), (0.0, up_mm)


def _specks(desk: Desk, path: str, table: OutlineTable) -> Iterator[Finding]:
    """Doubt coordinates that are next to nothing: metres, written as bare numbers among millimetres."""
    rings = [("points", "points", table.points or ())]
    rings += [(f"{key}[{n}]", key, ring) for key in ("holes", "cuts") for n, ring in enumerate(getattr(table, key), 1)]
    for way, key, ring in rings:
        confirm, confirmed = f'confirmed = ["{key}"]', key in table.confirmed
        yield from check_specks(
            desk.sizes["coordinate"], ring, desk.where(f"{path}.{way}"), confirm, confirmed=confirmed
        )


def _odd_shape(desk: Desk, path: str, shape: PlainOutline, table: OutlineTable) -> list[Finding]:
    """Hold the sides of a shape against what they can be: metres as bare numbers, a drawing in another unit."""
    key = next(key for key in _WAYS if getattr(table, key) is not None)
    sides = [max(values) - min(values) for values in zip(*shape.outline, strict=True)]
    way, confirmed = f'confirmed = ["{key}"]', key in table.confirmed
    for size, side in (("shape", max(sides)), ("shape width", min(sides))):
        which = f"[{sides.index(side) + 1}]" if table.size else ""
        where = f"{desk.file}: {path}.{key}{which}"
        finding = check_size(desk.sizes[size], Written(where, side, None, way, confirmed))
        if finding:
            return [finding]
    return []


def _stray(desk: Desk, path: str, outline: PlainOutline, *, drawing: bool) -> Iterator[Finding]:
    """Find holes, cuts and folds that lie where they cannot; the shape itself is judged when it is developed."""
    lines = [(f"cuts[{place}]", cut) for place, cut in enumerate(outline.cuts, start=1)]
    lines += [(f"folds[{place}]", (start, end)) for place, (start, end, _) in enumerate(outline.folds, start=1)]
    if not lines and not outline.holes:
        return
    from shapely import LineString, Polygon

    shape = Polygon(outline.outline, outline.holes)
    if shape.is_valid:
        for found in thin(shape):
            yield desk.finding("CP409", f"{path}.dxf" if drawing else f"{path}.holes", found, *HOLES_KEEP_CLEAR)
    for key, found in _misplaced([(key, LineString(points)) for key, points in lines], shape):
        yield desk.finding(
            "CP409",
            f"{path}.dxf" if drawing else f"{path}.{key}",
            found,
            "cuts and folds from edge to edge or inside the shape, each line once",
            "Correct its ends; nothing is trimmed for you.",
        )


_NARROW_MM = 10.0
"""A strip beside a fold that is narrower can hardly be dressed (common practice, no source)."""


def _narrow_folds(shape: PlainOutline) -> Iterator[tuple[int, float]]:
    """Find folds that run beside an edge or another fold so near that what lies between is no part, by their places."""
    from shapely import LineString, STRtree, union_all

    folds = [LineString((start, end)) for start, end, _ in shape.folds]
    rings = ((*ring, ring[0]) for ring in (shape.outline, *shape.holes))
    lines = [*folds, *(LineString(side) for ring in rings for side in pairwise(ring))]
    tree = STRtree(lines)
    for place, fold in enumerate(folds):
        near = tree.query(fold, predicate="dwithin", distance=_NARROW_MM)
        beside = union_all([lines[at] for at in near if at != place])
        if fold.length > 4 * _NARROW_MM and beside.buffer(_NARROW_MM - POINT_MM).covers(fold):
            yield place + 1, float(fold.interpolate(0.5, normalized=True).distance(beside))


HOLES_KEEP_CLEAR = (
    "holes that keep clear of the edge and of each other",
    "Measure again: no lead can be left as narrow as that.",
)
"""What is accepted beside holes, and what to do."""


def thin(shape: Polygon) -> Iterator[str]:
    """Say where a hole leaves next to no lead beside the edge, or beside another hole."""
    from shapely import STRtree, shortest_line

    rings = [shape.exterior, *shape.interiors]
    pairs = STRtree(rings).query(rings, predicate="dwithin", distance=READ_MM).T.tolist()
    for one, other in sorted((one, other) for one, other in pairs if one < other):
        hole, beside = (one, f"hole {other}") if one else (other, "the outline")
        between = shortest_line(rings[hole], rings[other if one else 0])
        x, y = between.coords[0]
        yield f"hole {hole} comes within {between.length:.2g} mm of {beside}, at {x:.6g}, {y:.6g}"


def _misplaced(lines: Sequence[tuple[str, LineString]], shape: Polygon) -> Iterator[tuple[str, str]]:
    """Say of cuts and folds, by their keys, which have no length, leave the shape, or lie on its edge or each other."""
    if not lines:
        return
    from shapely import STRtree

    room = shape.buffer(POINT_MM) if shape.is_valid else None
    edge = shape.boundary.buffer(READ_MM) if shape.is_valid else None
    drawn = [line for _, line in lines]
    near = [line.buffer(READ_MM) for line in drawn]
    on: dict[int, int] = {}
    for one, other in STRtree(drawn).query(drawn, predicate="dwithin", distance=READ_MM).T.tolist():
        if one != other and near[one].covers(drawn[other]):
            on.setdefault(max(one, other), min(one, other))
    for place, (key, line) in enumerate(lines):
        what = _called(key)[0]
        if line.length <= POINT_MM:
            yield key, f"a {what} without length"
        elif room is not None and not room.covers(line):
            yield key, f"a {what} that leaves the shape"
        elif edge is not None and edge.covers(line):
            yield key, f"a {what} along the edge"
        elif place in on:
            yield key, f"a {what} on {' '.join(_called(lines[on[place]][0]))}"


def _called(key: str) -> tuple[str, str]:
    """Return what a key names, and which of them: cut and 1 of ``cuts[1]``."""
    what, _, number = key.rstrip("]").partition("s[")
    return what, number


def _fold(fold: FoldTable) -> tuple[tuple[float, float], tuple[float, float], float]:
    return fold.from_, fold.to, fold.angle
