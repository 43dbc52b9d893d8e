"""Setting-out figures: where each point of a piece lies on a square blank, to be marked with rule and square."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypedDict

from cutpath.paper.text import csv_text, fixed
from cutpath.plane import bounds_mm
from cutpath.reports.account.marking import marking
from cutpath.tolerances import FILE_DECIMALS
from cutpath.values.pattern import FlatPattern, Point, Station
from cutpath.values.piece import Piece
from cutpath.workers import each


class SettingOutRow(TypedDict):
    """One point of one piece.

    The piece is set out on a square-cornered blank of ``blank_length_mm`` x ``blank_width_mm``, weather face up,
    straight edge towards the worker. ``along_mm`` runs along the straight edge from the blank's ``corner`` at
    the piece's lower end (left; right for a left hand), ``square_mm`` square to that edge. Both are rounded to
    whole millimetres and given exactly beside; ``worst_rounding_mm`` is the largest rounding on the piece.
    ``point`` is its key on the ticket, ``station`` its name; ``outline`` counts the corners round the outline from 1,
    along the straight edge first, and is empty for a point that is no corner. Of a curve only so many points are
    given that straight joints stand off by `CURVE_MARK_MM`.
    """

    piece: str
    job: str
    blank_length_mm: float
    blank_width_mm: float
    corner: str
    point: str
    station: str
    outline: int | None
    along_mm: int
    square_mm: int
    along_exact_mm: float
    square_exact_mm: float
    worst_rounding_mm: float


def setting_out(pieces: Iterable[Piece]) -> list[SettingOutRow]:
    """List the points of every piece in running order from its lower end."""
    listed = list(pieces)
    return [row for rows in each("set out", _rows, None, listed, len(listed)) for row in rows]


def running_dimensions(pattern: FlatPattern) -> list[tuple[Station, Point]]:
    """Return each station and its (along, square) in mm from the lower end's corner, in running order."""
    _, _, length_mm, _ = bounds_mm(pattern.outline)
    found = [(s, (length_mm - s.at[0] if pattern.mirrored else s.at[0], s.at[1])) for s in pattern.stations]
    return sorted(found, key=lambda item: item[1][0])


def _rows(_: None, piece: Piece) -> list[SettingOutRow]:
    marked = marking(piece.pattern)
    worst_mm = marked.worst.rounding_mm
    corners = {key: number for number, key in enumerate(marked.lines[0].keys, 1)}
    return [
        {
            "piece": piece.id,
            "job": piece.job,
            "blank_length_mm": marked.length_mm,
            "blank_width_mm": marked.width_mm,
            "corner": marked.corner,
            "point": point.key,
            "station": point.name,
            "outline": corners.get(point.key),
            "along_mm": point.along_mm,
            "square_mm": point.square_mm,
            "along_exact_mm": point.along_exact_mm,
            "square_exact_mm": point.square_exact_mm,
            "worst_rounding_mm": worst_mm,
        }
        for point in sorted(marked.points, key=lambda point: point.along_exact_mm)
    ]


def setting_out_csv(pieces: Iterable[Piece]) -> str:
    """Write the setting-out as CSV, a line to a point; exact figures to `FILE_DECIMALS`."""
    return csv_text(
        tuple(SettingOutRow.__annotations__),
        (
            {
                **row,
                "blank_length_mm": _exact(row["blank_length_mm"]),
                "blank_width_mm": _exact(row["blank_width_mm"]),
                "along_exact_mm": _exact(row["along_exact_mm"]),
                "square_exact_mm": _exact(row["square_exact_mm"]),
                "worst_rounding_mm": _exact(row["worst_rounding_mm"]),
            }
            for row in setting_out(pieces)
        ),
    )


def _exact(length_mm: float) -> str:
    return fixed(length_mm, FILE_DECIMALS)
