"""What a notebook asks for in one call: shapes of pieces, and drawings as bytes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from cutpath.values.batch import Batch, Sheet
from cutpath.values.drawing import Drawing
from cutpath.values.pattern import FlatPattern
from cutpath.values.piece import Piece

if TYPE_CHECKING:
    from shapely import Polygon


def polygon(shape: Piece | FlatPattern) -> Polygon:
    """Return the outline of a piece with its holes, weather face up, in mm.

    Examples
    --------
    >>> import cutpath
    >>> planned = cutpath.plan([{"name": "Plates", "detail": [
    ...     {"kind": "outline", "points": [[0, 0], [325, 0], [325, 175], [0, 175]], "quantity": 4}]}])
    >>> cutpath.polygon(planned.pieces[0]).area
    56875.0
    """
    import shapely

    pattern = shape.pattern if isinstance(shape, Piece) else shape
    return shapely.Polygon(pattern.outline, pattern.holes)


def draw(sheet: Sheet, pieces: Batch | Mapping[str, Piece]) -> Drawing:
    """Return the drawing of one roll of a batch, at full size, in mm; x along the roll from the end drawn first.

    ``pieces`` is the batch, or its pieces by their ids. See `cutpath.drawing.sheet.draw`.
    """
    from cutpath.drawing.sheet import draw as drawn

    return drawn(sheet, {piece.id: piece for piece in pieces.pieces} if isinstance(pieces, Batch) else pieces)


def dxf(drawing: Drawing, *, r12: bool = False) -> bytes:
    """Return a drawing as a DXF file, R2000 or R12; mm, a layer to each role."""
    from cutpath.writers.dxf import to_dxf

    return to_dxf(drawing, release="R12" if r12 else "R2000").encode()


def svg(drawing: Drawing) -> bytes:
    """Return a drawing as an SVG file; one user unit is one mm, a group to each role."""
    from cutpath.writers.svg import to_svg

    return to_svg(drawing).encode()
