"""Plain outlines: points written in the job file, or a drawing that lies beside it."""

from __future__ import annotations

from collections.abc import Iterator

from cutpath.errors import Finding
from cutpath.jobs.desk import Desk
from cutpath.jobs.schema import FoldTable, OutlineTable
from cutpath.tolerances import POINT_MM
from cutpath.trade.plausible import Written, check_size
from cutpath.values.survey import DetailHead, PlainOutline

_WITH_POINTS = ("holes", "cuts", "folds")
_WITH_DRAWING = ("layers", "unit", "fold_angle")


def survey_outline(desk: Desk, path: str, head: DetailHead, table: OutlineTable) -> PlainOutline:
    """Survey a plain outline as written or drawn; nothing is turned, closed or repaired.

    Raises
    ------
    LeftOutError
        When keys do not go together or the drawing cannot be used; the findings say why.
    """
    if (table.points is None) == (table.dxf is None):
        both = table.points is not None
        raise desk.refuse(
            "CP111" if both else "CP104",
            f"{path}.dxf" if both else f"{path}.points",
            "dxf beside points" if both else "neither points nor dxf",
            "needed: points written here, or a drawing",
            "Take one of the two out." if both else "Add points = [[x, y], ...] or dxf = ...",
        )
    for key in _WITH_POINTS if table.dxf is not None else _WITH_DRAWING:
        if key in table.model_fields_set:
            with_key = "points" if key in _WITH_POINTS else "dxf"
            raise desk.refuse(
                "CP111",
                f"{path}.{key}",
                f"{key} without {with_key}",
                f"accepted: {key} with {with_key}",
                "Take the line out.",
            )
    if table.dxf is not None:
        from cutpath.jobs.dxf_outline import read_outline

        drawn = read_outline(desk, f"{path}.dxf", head, table)
        desk.add([*_odd_shape(desk, path, drawn, table), *_stray(desk, path, drawn, drawing=True)])
        return drawn
    written = PlainOutline(
        head=head,
        outline=tuple(table.points or ()),
        holes=tuple(tuple(hole) for hole in table.holes),
        cuts=tuple(tuple(cut) for cut in table.cuts),
        folds=tuple(_fold(fold) for fold in table.folds),
        may_flip=table.may_flip,
    )
    desk.add([*_odd_shape(desk, path, written, table), *_stray(desk, path, written, drawing=False)])
    return written


def _odd_shape(desk: Desk, path: str, shape: PlainOutline, table: OutlineTable) -> list[Finding]:
    """Hold the longer side of a shape against what it can be: metres as bare numbers, a drawing in another unit."""
    key = "points" if table.dxf is None else "dxf"
    sides = [max(values) - min(values) for values in zip(*shape.outline, strict=True)]
    side = Written(f"{desk.file}: {path}.{key}", max(sides), None, f'confirmed = ["{key}"]', key in table.confirmed)
    finding = check_size(desk.sizes["shape"], side)
    return [finding] if finding else []


def _stray(desk: Desk, path: str, outline: PlainOutline, *, drawing: bool) -> Iterator[Finding]:
    """Find cuts and folds that leave the shape or have no length; the shape itself is judged when it is developed."""
    lines = [(f"cuts[{place}]", cut) for place, cut in enumerate(outline.cuts, start=1)]
    lines += [(f"folds[{place}]", (start, end)) for place, (start, end, _) in enumerate(outline.folds, start=1)]
    if not lines:
        return
    from shapely import LineString, Polygon

    shape = Polygon(outline.outline, outline.holes)
    room = shape.buffer(POINT_MM) if shape.is_valid else None
    for key, points in lines:
        line = LineString(points)
        if line.length > POINT_MM and (room is None or room.covers(line)):
            continue
        what = key.partition("[")[0].removesuffix("s")
        yield desk.finding(
            "CP409",
            f"{path}.dxf" if drawing else f"{path}.{key}",
            f"a {what} that leaves the shape" if line.length > POINT_MM else f"a {what} without length",
            "cuts and folds from edge to edge or inside the shape",
            "Correct its ends; nothing is trimmed for you.",
        )


def _fold(fold: FoldTable) -> tuple[tuple[float, float], tuple[float, float], float]:
    return fold.from_, fold.to, fold.angle
