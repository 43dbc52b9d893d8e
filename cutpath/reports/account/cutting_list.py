"""The cutting list: every piece with its size, its mass and the rolls it is cut from."""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum
from typing import TypedDict

from cutpath.paper.text import ROUNDED, csv_text, fixed, kilograms, millimetres, table
from cutpath.plane import bounds_mm
from cutpath.reports.account.shape import movement_mm, movement_span, pattern_kg
from cutpath.values.batch import Batch
from cutpath.values.piece import Piece, has_face

DEVELOPED = (
    "Developed: the length that counts for the longest length of a code and for thermal movement; what slants past "
    "its ends is left out."
)
"""What is said below a list with developed lengths."""


class CuttingRow(TypedDict):
    """One piece of the list.

    ``number`` of ``of`` is the place in fitting order from the bottom up; ``length_mm`` x ``width_mm`` is the
    rectangle that bounds the flat piece, along and square to its straight edge; ``developed_mm`` is the
    length that the limits are held against, ``movement_mm`` how much that length grows from coldest to warmest, see
    `movement_span`; ``rolls`` names the rolls it is cut from, none before nesting, and ``face_down`` says how many
    copies lie there with their weather face down, where that matters.
    """

    id: str
    job: str
    detail: str
    family: str
    hand: str | None
    number: int
    of: int
    quantity: int
    code: int
    length_mm: float
    width_mm: float
    developed_mm: float
    movement_mm: float
    each_kg: float
    total_kg: float
    rolls: list[str]
    face_down: int


def cutting_list(source: Batch | Sequence[Piece]) -> list[CuttingRow]:
    """List pieces in the order given, one row to a piece id; a batch adds the rolls."""
    pieces = source.pieces if isinstance(source, Batch) else source
    sheets = source.sheets if isinstance(source, Batch) else ()
    cut_from: dict[str, list[str]] = {piece.id: [] for piece in pieces}
    for sheet in sheets:
        for id_ in dict.fromkeys(p.id for p in sheet.nested.placements):
            cut_from[id_].append(sheet.id)
    down = face_down(source) if isinstance(source, Batch) else {}
    return [_row(piece, cut_from[piece.id], len(down.get(piece.id, ()))) for piece in pieces]


def face_down(batch: Batch) -> dict[str, list[str]]:
    """Return for each piece whose faces differ the rolls on which it lies face down, once for each copy."""
    found: dict[str, list[str]] = {piece.id: [] for piece in batch.pieces if has_face(piece)}
    for sheet in batch.sheets:
        for placement in sheet.nested.placements:
            if placement.flipped and placement.id in found:
                found[placement.id].append(sheet.id)
    return {piece: rolls for piece, rolls in found.items() if rolls}


def _row(piece: Piece, rolls: list[str], down: int) -> CuttingRow:
    x0, y0, x1, y1 = bounds_mm(piece.pattern.outline)
    each_kg = pattern_kg(piece.pattern, piece.lead)
    return {
        "id": piece.id,
        "job": piece.job,
        "detail": piece.detail,
        "family": piece.pattern.family,
        "hand": None if piece.hand is None else piece.hand.value,
        "number": piece.number,
        "of": piece.of,
        "quantity": piece.quantity,
        "code": piece.lead.code,
        "length_mm": x1 - x0,
        "width_mm": y1 - y0,
        "developed_mm": piece.pattern.length_mm,
        "movement_mm": movement_mm(piece.pattern),
        "each_kg": each_kg,
        "total_kg": piece.quantity * each_kg,
        "rolls": rolls,
        "face_down": down,
    }


def cutting_list_csv(rows: Sequence[CuttingRow]) -> str:
    """Write the list as CSV; lengths to 0.1 mm, masses to a gram, several rolls parted by spaces."""
    return csv_text(
        tuple(CuttingRow.__annotations__),
        (
            {
                **row,
                **{key: f"{row[key]:.1f}" for key in ("length_mm", "width_mm", "developed_mm", "movement_mm")},
                **{key: f"{row[key]:.3f}" for key in ("each_kg", "total_kg")},
                "rolls": " ".join(row["rolls"]),
            }
            for row in rows
        ),
    )


def cutting_list_table(rows: Sequence[CuttingRow]) -> str:
    """Lay the list out for a terminal, job by job, with the number of pieces and their mass below."""
    head = (
        "piece", "what", "hand", "n of m", "cut", "code", "length x width mm", "developed", "thermal mm",
        "kg each", "kg", "rolls",
    )  # fmt: skip
    left = frozenset({0, 1, 2, 11})
    jobs = dict.fromkeys(row["job"] for row in rows)
    parts = [f"{job}\n\n{table(head, [_cells(r) for r in rows if r['job'] == job], left=left)}\n" for job in jobs]
    count, mass = sum(row["quantity"] for row in rows), fsum(row["total_kg"] for row in rows)
    moves = f"Thermal: thermal movement of that length {movement_span()}, in mm"
    return "\n".join(
        (*parts, f"{DEVELOPED} {moves}. {ROUNDED}\n{count} piece{'s' if count != 1 else ''}, {kilograms(mass)} kg\n")
    )


def _cells(row: CuttingRow) -> tuple[str, ...]:
    return (
        row["id"],
        row["family"],
        row["hand"] or "-",
        f"{row['number']} of {row['of']}",
        str(row["quantity"]),
        str(row["code"]),
        f"{millimetres(row['length_mm'])} x {millimetres(row['width_mm'])}",
        millimetres(row["developed_mm"]),
        fixed(row["movement_mm"], 1),
        kilograms(row["each_kg"]),
        kilograms(row["total_kg"]),
        " ".join(row["rolls"]) or "-",
    )
