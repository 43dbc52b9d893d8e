"""Parts of gutters against the roof and its tilting fillet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from cutpath import sure
from cutpath.folding.due import Points, of_folds
from cutpath.folding.flat import Flat
from cutpath.folding.gap import Ends, Gap, from_to, on, reach, square_ends
from cutpath.folding.space import Array, Folded
from cutpath.tolerances import POINT_MM
from cutpath.values.leadwork import TiltingFillet
from cutpath.values.survey import BedJoint


def section(fillet: TiltingFillet | None, reach_mm: float) -> list[tuple[float, float]]:
    """Return the corners of the sheet in a section across the roof: (along the roof, square to it), as far as it goes.

    It lies on the roof up to the fillet's foot, climbs the face to the crest, falls to the fillet's back, lies on.
    """
    corners = [(0.0, 0.0)]
    if fillet is not None:
        run = fillet.height_mm / sure.tan(math.radians(fillet.face_deg))
        corners += [
            (fillet.foot_mm, 0.0),
            (fillet.foot_mm + run, fillet.height_mm),
            (fillet.foot_mm + fillet.width_mm, 0.0),
        ]
    corners.append((corners[-1][0] + reach_mm, 0.0))
    kept, left = corners[:1], reach_mm
    for (x0, y0), (x1, y1) in pairwise(corners):
        size = math.hypot(x1 - x0, y1 - y0)
        share = min(1.0, left / size)
        kept.append((x0 + (x1 - x0) * share, y0 + (y1 - y0) * share))
        left -= size
        if left <= POINT_MM:
            break
    return kept


def up_roof(
    parts: Sequence[tuple[str, Array, Array]], fillet: TiltingFillet | None, reach_mm: float, start_mm: float = 0.0
) -> list[Gap]:
    """Hold the parts up a roof to it and its fillet, given by name and coordinates (along the roof, square to it).

    The still one has no name; ``start_mm`` is where the first part begins along the roof.
    """
    corners = section(fillet, reach_mm)
    found: list[Gap] = []
    if len(parts) != len(corners) - 1:
        found.append(Gap(reach_mm, f"{len(parts)} parts lie up the roof instead of {len(corners) - 1}"))
    begins = [start_mm, *([0.0] * len(parts))]
    for (name, along, square), ((x0, y0), (x1, y1)), begin in zip(parts, pairwise(corners), begins, strict=False):
        size = math.hypot(x1 - x0, y1 - y0)
        c, s = (x1 - x0) / size, (y1 - y0) / size
        part = "the part on the roof" if not name else f"the part beyond '{name}'"
        found += [
            on((square - y0) * c - (along - x0) * s, f"{part} stands off the roof or its fillet"),
            from_to((along - x0) * c + (square - y0) * s, begin, size, f"{part} misses its length"),
        ]
    return found


def along(faces: Sequence[Folded], length_mm: float, ends: Ends) -> list[Gap]:
    """Hold every part of a gutter that runs with the slope to the whole run, its ends square."""
    found: list[Gap] = []
    for face in faces:
        found += [
            reach(
                face.corners[:, 0],
                (0.0, length_mm),
                ends,
                f"the gutter does not reach from end to end ({length_mm:g} mm)",
            ),
            square_ends(face, "an end of the gutter is not square"),
        ]
    return found


def ends_of_all_folds(_: object, flat: Flat, __: Sequence[BedJoint]) -> Points:
    """Yield the ends of every fold: those of a gutter that runs with the slope."""
    for use in dict.fromkeys(fold.use for fold, _ in flat.folds):
        yield from of_folds(flat, use)
