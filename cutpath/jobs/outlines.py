"""Plain outlines: points written in the job file, or a drawing that lies beside it."""

from __future__ import annotations

from cutpath.jobs.desk import Desk
from cutpath.jobs.schema import FoldTable, OutlineTable
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

        return read_outline(desk, f"{path}.dxf", head, table)
    return PlainOutline(
        head=head,
        outline=tuple(table.points or ()),
        holes=tuple(tuple(hole) for hole in table.holes),
        cuts=tuple(tuple(cut) for cut in table.cuts),
        folds=tuple(_fold(fold) for fold in table.folds),
        may_flip=table.may_flip,
    )


def _fold(fold: FoldTable) -> tuple[tuple[float, float], tuple[float, float], float]:
    return fold.from_, fold.to, fold.angle
