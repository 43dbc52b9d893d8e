"""Setting-out figures: where each point of a piece lies on a square blank, to be marked with rule and square."""

from __future__ import annotations

from collections.abc import Iterable
from math import floor
from typing import TypedDict

from cutpath.plane import bounds_mm
from cutpath.reports.text import csv_text, fixed
from cutpath.tolerances import FILE_DECIMALS
from cutpath.values.pattern import FlatPattern, Point
from cutpath.values.piece import Piece


class SettingOutRow(TypedDict):
    """One station of one piece.

    The piece is set out on a square-cornered blank of ``blank_length_mm`` x ``blank_width_mm``, weather face up,
    straight edge towards the worker. ``along_mm`` runs along the straight edge from the blank's ``corner`` at
    the piece's lower end (left; right for a left hand), ``square_mm`` square to that edge. Both are rounded to
    whole millimetres and given exactly beside; ``worst_rounding_mm`` is the largest rounding on the piece.
    """

    piece: str
    job: str
    blank_length_mm: float
    blank_width_mm: float
    corner: str
    station: str
    along_mm: int
    square_mm: int
    along_exact_mm: float
    square_exact_mm: float
    worst_rounding_mm: float


def setting_out(pieces: Iterable[Piece]) -> list[SettingOutRow]:
    """List the stations of every piece in running order from its lower end; a piece without any is left out."""
    return [row for piece in pieces for row in _rows(piece)]


def running_dimensions(pattern: FlatPattern) -> list[tuple[str, Point]]:
    """Give each station's name and its (along, square) in mm from the lower end's corner, in running order."""
    _, _, length_mm, _ = bounds_mm(pattern.outline)
    found = [(s.name, (length_mm - s.at[0] if pattern.mirrored else s.at[0], s.at[1])) for s in pattern.stations]
    return sorted(found, key=lambda item: item[1][0])


def _rows(piece: Piece) -> list[SettingOutRow]:
    _, _, length_mm, width_mm = bounds_mm(piece.pattern.outline)
    stations = running_dimensions(piece.pattern)
    worst = max((abs(_whole(v) - v) for _, at in stations for v in at), default=0.0)
    return [
        {
            "piece": piece.id,
            "job": piece.job,
            "blank_length_mm": length_mm,
            "blank_width_mm": width_mm,
            "corner": "lower right" if piece.pattern.mirrored else "lower left",
            "station": name,
            "along_mm": _whole(along),
            "square_mm": _whole(square),
            "along_exact_mm": along,
            "square_exact_mm": square,
            "worst_rounding_mm": worst,
        }
        for name, (along, square) in stations
    ]


def _whole(length_mm: float) -> int:
    """Round to the nearest whole millimetre, a half upwards."""
    return floor(length_mm + 0.5)


def setting_out_csv(pieces: Iterable[Piece]) -> str:
    """Write the setting-out as CSV, a line to a station; exact figures to `FILE_DECIMALS`."""
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
