"""Lists and data of a folder read again and held against the batch: pieces, areas, hashes."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from cutpath.readback.lines import MisreadError
from cutpath.readback.pages import against_report, against_tickets
from cutpath.values.batch import Batch
from cutpath.values.pattern import Point

_RATIO = 1e-9
"""Relative slack of sums of areas."""


def against_batch(files: Mapping[str, bytes], batch: Batch) -> Iterator[tuple[str, str]]:
    """Yield file and fault where manifest, account or lists of a folder are not those of the batch.

    Every file has to be listed in the manifest with its own hash, and every file that the manifest lists be there.
    """
    for path, check in (
        ("manifest.json", _manifest),
        ("yield.json", _account),
        ("cutting-list.csv", _cutting_list),
        ("setting-out.csv", _setting_out),
    ):
        if path in files:
            try:
                yield from ((path, fault) for fault in check(files, path, batch))
            except (MisreadError, UnicodeDecodeError, KeyError, TypeError, ValueError) as error:
                yield path, f"it does not read: {error}"


Asked = tuple[str, Callable[[bytes, Any], Iterator[str]], bytes, Any]
"""A page to be read again: its name, what reads it, its bytes, and what they are held against."""


def pages_of(files: Mapping[str, bytes], batch: Batch) -> list[Asked]:
    """Return the pages of a folder, each with no more than it takes to read it again, in whatever process."""
    pages: tuple[tuple[str, Callable[[bytes, Any], Iterator[str]], Any], ...] = (
        ("report.html", against_report, (*(job.name for job in batch.jobs), *(sheet.id for sheet in batch.sheets))),
        ("tickets.html", against_tickets, {piece.id: piece.pattern for piece in batch.pieces}),
    )
    return [(path, check, files[path], told) for path, check, told in pages if path in files]


def against_page(asked: Asked) -> Iterator[str]:
    """Yield what is wrong with a page of `pages_of`."""
    _, check, data, told = asked
    try:
        yield from check(data, told)
    except (MisreadError, UnicodeDecodeError, KeyError, TypeError, ValueError) as error:
        yield f"it does not read: {error}"


def _json(data: bytes) -> Any:  # noqa: ANN401 - whatever the file holds
    def once(pairs: list[tuple[str, object]]) -> dict[str, object]:
        found = dict(pairs)
        if len(found) != len(pairs):
            raise MisreadError("a key that stands twice")
        return found

    def no_number(word: str) -> float:
        raise MisreadError(f"{word} is no figure")

    return json.loads(data.decode(), object_pairs_hook=once, parse_constant=no_number)


def _manifest(files: Mapping[str, bytes], path: str, batch: Batch) -> Iterator[str]:
    told = _json(files[path])
    listed = {entry["path"]: entry["sha256"] for entry in told["files"]}
    if told["units"] != "mm" or told["version"] != batch.version or told["seed"] != batch.seed:
        yield "another unit, version or seed"
    if len(listed) != len(told["files"]) or listed.keys() != files.keys() - {path}:
        yield "it lists other files than there are"
    for name, digest in listed.items():
        if name in files and hashlib.sha256(files[name]).hexdigest() != digest:
            yield f"another hash than that of {name}"


def _area_mm2(points: Sequence[Point]) -> float:
    ends = zip(points, (*points[1:], points[0]), strict=True)
    return abs(math.fsum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in ends)) / 2


def _account(files: Mapping[str, bytes], path: str, batch: Batch) -> Iterator[str]:
    told = _json(files[path])
    totals, rolls = told["totals"], told["rolls"]
    area = {p.id: _area_mm2(p.pattern.outline) - math.fsum(map(_area_mm2, p.pattern.holes)) for p in batch.pieces}
    pieces = math.fsum(area[p.id] * p.quantity for p in batch.pieces)
    if not math.isclose(totals["pieces_mm2"], pieces, rel_tol=_RATIO):
        yield f"{totals['pieces_mm2']:.1f} mm2 of pieces, they are {pieces:.1f} mm2"
    if [roll["id"] for roll in rolls] != [sheet.id for sheet in batch.sheets]:
        yield "it has other rolls"
        return
    for roll, sheet in zip(rolls, batch.sheets, strict=True):
        lead = math.fsum(area[placement.id] for placement in sheet.nested.placements)
        drawn = sheet.nested.drawn_mm * sheet.nested.roll.width_mm
        parts = roll["pieces_mm2"] + roll["offcuts_mm2"] + roll["scrap_mm2"]
        if not (
            math.isclose(roll["pieces_mm2"], lead, rel_tol=_RATIO)
            and math.isclose(roll["drawn_mm2"], drawn, rel_tol=_RATIO)
            and math.isclose(parts, drawn, rel_tol=_RATIO)
            and math.isclose(roll["drawn_kg"], drawn / 1e6 * sheet.lead.mass_kg_m2, rel_tol=_RATIO)
        ):
            yield f"{roll['id']} does not close"


def _rows(data: bytes) -> list[dict[str, str]]:
    rows = list(csv.reader(io.StringIO(data.decode(), newline=""), strict=True))
    if not rows or any(len(row) != len(rows[0]) for row in rows):
        raise MisreadError("rows of unlike length")
    return [dict(zip(rows[0], row, strict=True)) for row in rows[1:]]


def _cutting_list(files: Mapping[str, bytes], path: str, batch: Batch) -> Iterator[str]:
    rows = _rows(files[path])
    if [row["id"] for row in rows] != [piece.id for piece in batch.pieces]:
        yield "it lists other pieces"
        return
    for row, piece in zip(rows, batch.pieces, strict=True):
        sides = [max(c) - min(c) for c in zip(*piece.pattern.outline, strict=True)]
        off = max(abs(float(row[key]) - side) for key, side in zip(("length_mm", "width_mm"), sides, strict=True))
        if off > 0.051 or int(row["quantity"]) != piece.quantity or int(row["code"]) != piece.lead.code:
            yield f"{piece.id} has another size, number or lead"


def _setting_out(files: Mapping[str, bytes], path: str, batch: Batch) -> Iterator[str]:
    known = {piece.id for piece in batch.pieces}
    if other := {row["piece"] for row in _rows(files[path])} - known:
        yield f"points of {', '.join(sorted(other)[:3])}, which are not cut"
