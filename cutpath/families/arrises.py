"""Folds, points and edges of sheets that go round arrises, and of the turn-ins of their faces."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from cutpath.values.pattern import Edge, EdgeUse, Fold, FoldUse, FoldWay, Point, Side, Station, StationUse

Arris = tuple[Side, float]
"""Which arris, and its place along the run."""

TURN_IN = Edge("turn-in", EdgeUse.TURN_IN)
RETURN_TURN_IN = Edge("return turn-in", EdgeUse.RETURN_TURN_IN)
MITRE = Edge("mitre", EdgeUse.MITRE)
LEFT_END = Edge("left end", EdgeUse.END)

Outline = list[tuple[Point, Edge]]
"""Points of an outline, each with the edge that begins there."""


def round_the_left(right: Sequence[tuple[Point, Edge]], width_mm: float) -> Outline:
    """Return the mirror image of what goes round the right end of a face, in outline order, with the left end last."""
    points = [(width_mm - x, y) for (x, y), _ in reversed(right)]
    return list(zip(points, [*(edge for _, edge in reversed(right[:-1])), LEFT_END], strict=True))


def arrises_of(width_mm: float, start_mm: float, end_mm: float) -> list[Arris]:
    """Return the arrises at 0 and ``width_mm`` that a length between two distances goes round."""
    return [(Side.LEFT, 0.0)] * (start_mm < 0.0) + [(Side.RIGHT, width_mm)] * (end_mm > width_mm)


def arris_folds(arrises: Iterable[Arris], ends: Callable[[float], tuple[Point, Point]]) -> list[Fold]:
    """Return the folds at arrises; ``ends`` gives those of the fold at a place along the run, foot first."""
    return [Fold(f"{side.value} arris", FoldUse.ARRIS, *ends(x), 90.0, FoldWay.BACK, side=side) for side, x in arrises]


def arris_stations(
    arrises: Iterable[Arris], where: str, use: StationUse, at: Callable[[float], Point]
) -> list[Station]:
    """Return the stations at one end of the folds at arrises; ``where`` says which end in words."""
    return [Station(f"{side.value} arris at the {where}", use, at(x), FoldUse.ARRIS, side=side) for side, x in arrises]


def turn_in_fold(start: Point, end: Point, *, on_face: bool) -> Fold:
    """Return the fold of a straight turn-in, that of the face or of a return."""
    name, use = ("turn-in", FoldUse.TURN_IN) if on_face else ("return turn-in", FoldUse.RETURN_TURN_IN)
    return Fold(name, use, start, end, 90.0, FoldWay.BACK)
