"""Plain outlines from a JSON file: the input of the nest command."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, FiniteFloat

from cutpath.ceilings import FARTHEST_MM, OUTLINE_POINTS
from cutpath.errors import Finding, Refused, refuse_faults
from cutpath.families.outline.job import HOLES_KEEP_CLEAR, thin
from cutpath.intake.checking import THAT_PRINT, Strict, check
from cutpath.intake.parsing import parse_json
from cutpath.tolerances import LEAST_STROKE_MM
from cutpath.units import length_mm, written
from cutpath.values.nest import Blank


def _mm(value: object) -> object:
    """Read a length that carries its unit; numbers, of which a list has many, go by."""
    return length_mm(value) if isinstance(value, str) else value


Degrees = Annotated[FiniteFloat, Field(strict=False, ge=-36_000, le=36_000)]
Coordinate = Annotated[FiniteFloat, Field(strict=False, ge=-FARTHEST_MM, le=FARTHEST_MM), BeforeValidator(_mm)]
PointRow = Annotated[list[Coordinate], Field(min_length=2, max_length=2)]
RingRow = Annotated[list[PointRow], Field(min_length=3, max_length=OUTLINE_POINTS)]


class _Row(Strict):
    """One shape and how often it is wanted."""

    id: Annotated[str, THAT_PRINT] = Field(min_length=1, description="a name")
    quantity: int = Field(1, ge=1, description="how many, 1 or more")
    outline: RingRow = Field(description="a list of points [x, y] in mm")
    holes: list[RingRow] = Field(default_factory=list, description="lists of points [x, y] in mm")
    turns_deg: list[Degrees] = Field(default=[0.0, 180.0], min_length=1, description="allowed turns in degrees")
    may_flip: bool = Field(default=False, description="true when it may be cut face down")


class _File(Strict):
    """The whole file."""

    units: Literal["mm"] = Field(description='"mm"')
    gap_mm: Coordinate = Field(0.0, ge=0, description="least gap between pieces in mm")
    pieces: list[_Row] = Field(min_length=1, description="a list of pieces")


@dataclass(frozen=True, slots=True)
class Blanks:
    """What the file asks for: blanks, and the least gap between them in mm."""

    blanks: tuple[Blank, ...]
    gap_mm: float


def parse_blanks(text: str, file: str) -> Blanks:
    """Read ``PIECES.json``.

    Raises
    ------
    Refused
        With every fault of the file; outlines that are not simple shapes are found by the nest.
    """
    data = parse_json(text, file, "CP107")
    if isinstance(data, Finding):
        raise Refused([data])
    value, findings = check(_File, data, file)
    if value is None:
        raise Refused(finding for _, finding in findings)
    faults = [*_twice(value.pieces, file)]
    for number, row in enumerate(value.pieces, 1):
        faults += _unfit(row, f"{file}: pieces[{number}]")
    refuse_faults(faults)
    return Blanks(tuple(map(_blank, value.pieces)), value.gap_mm)


def _twice(rows: list[_Row], file: str) -> Iterator[Finding]:
    counts = Counter(row.id for row in rows)
    for name in sorted(name for name, count in counts.items() if count > 1):
        yield Finding("CP109", f"{file}: pieces", f"the id {name} stands more than once", "each id once", "Rename one.")


def _unfit(row: _Row, where: str) -> Iterator[Finding]:
    """Find a shape of too many points, one without size, or holes that leave next to no lead.

    A shape that is none at all is found when it is made ready.
    """
    count = sum(map(len, (row.outline, *row.holes)))
    if count > OUTLINE_POINTS:
        yield Finding(
            "CP107",
            where,
            f"a shape of {count:,} points, with its holes",
            f"accepted: {OUTLINE_POINTS:,} points at most",
            "Leave out points that stand nearly in line; half a millimetre is enough for lead.",
        )
    elif _speck(row.outline):
        yield Finding(
            "CP409",
            f"{where}.outline",
            f"the outline of {written(row.id)} is less than {LEAST_STROKE_MM} mm across",
            f"a shape at least {LEAST_STROKE_MM} mm long and wide",
            "Give the points in mm.",
        )
    elif row.holes:
        for found in _too_near(row):
            yield Finding("CP409", f"{where}.holes", f"{written(row.id)}: {found}", *HOLES_KEEP_CLEAR)


def _too_near(row: _Row) -> Iterable[str]:
    from shapely import Polygon

    shape = Polygon(row.outline, row.holes)
    return thin(shape) if shape.is_valid else ()


def _blank(row: _Row) -> Blank:
    holes = tuple(_ring(hole) for hole in row.holes)
    return Blank(row.id, row.quantity, _ring(row.outline), holes, tuple(row.turns_deg), row.may_flip)


def _speck(points: list[PointRow]) -> bool:
    """Tell whether a shape is too short or narrow for any stroke of a machine to be made of it."""
    return min(max(p[axis] for p in points) - min(p[axis] for p in points) for axis in (0, 1)) < LEAST_STROKE_MM


def _ring(points: list[PointRow]) -> tuple[tuple[float, float], ...]:
    """Return the points as pairs; a ring that ends with its first point again is the same ring."""
    ring = tuple((float(x), float(y)) for x, y in points)
    return ring[:-1] if len(ring) > 3 and ring[0] == ring[-1] else ring
