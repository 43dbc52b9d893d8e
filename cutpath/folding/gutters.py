"""Gutters, saddles and lead slates against the roof; frames of `cutpath.values.proof`."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from cutpath.folding.gap import (
    Ends,
    Gap,
    Wanted,
    at_ends,
    boxed,
    corners_at,
    cos_sin,
    from_to,
    missing,
    on,
    reach,
    square_ends,
    unknown,
    upstand,
    within,
)
from cutpath.folding.space import Array, Folded
from cutpath.tolerances import POINT_MM
from cutpath.values.pattern import OVER_FILLET, FoldUse, Side
from cutpath.values.survey import (
    AbutmentGutter,
    BackGutter,
    CornerWork,
    PipeSlate,
    RidgeSaddle,
    TiltingFillet,
    ValleyGutter,
)


def _section(fillet: TiltingFillet | None, reach_mm: float) -> list[tuple[float, float]]:
    """Return the corners of the sheet in a section across the roof: (along the roof, square to it), as far as it goes.

    It lies on the roof up to the fillet's foot, climbs the face to the crest, falls to the fillet's back, lies on.
    """
    corners = [(0.0, 0.0)]
    if fillet is not None:
        run = fillet.height_mm / math.tan(math.radians(fillet.face_deg))
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


def _up_roof(
    parts: Sequence[tuple[str, Array, Array]], fillet: TiltingFillet | None, reach_mm: float, start_mm: float = 0.0
) -> list[Gap]:
    """Hold the parts up a roof to it and its fillet, given by name and coordinates (along the roof, square to it).

    The still one has no name; ``start_mm`` is where the first part begins along the roof.
    """
    corners = _section(fillet, reach_mm)
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


def back_gutter_gaps(survey: BackGutter, faces: Sequence[Folded], ends: Ends) -> list[Gap]:
    """Compare a back gutter: upstand on the back face, level sole, up the roof over the fillet, returns."""
    c, s = cos_sin(survey.pitch_deg)
    up, width, sole, side = survey.upstand_mm, survey.width_mm, survey.sole_mm, survey.side_mm
    arrises: dict[Side | None, float] = {Side.LEFT: 0.0, Side.RIGHT: width}
    # A welded corner's wing lies on the roof beside the sole, in one with the part up the roof.
    wing = sole if survey.corners is CornerWork.WELDED and side and any(ends) else 0.0
    back, whole = _run(survey, ends)
    roof: dict[FoldUse | None, tuple[str, Array, Array]] = {}
    found: list[Gap] = []
    for face in faces:
        x, y, z = face.corners.T
        if face.is_still:
            found += [*upstand(face, up), from_to(x, *back, "the upstand does not reach from end to end")]
        elif face.use is FoldUse.WALL:
            found += [
                on(y, "the sole is not level"),
                from_to(z, 0.0, sole, f"the sole is not {sole:g} mm wide"),
                from_to(x, *back, "the sole does not reach from end to end"),
                square_ends(face, "an end of the sole is not square"),
            ]
        elif face.use is FoldUse.ARRIS and face.side in arrises:
            found += [
                on(x, f"the return at the {face.name} stands off the side", arrises[face.side]),
                from_to(z, -side, 0.0, f"the return at the {face.name} does not reach {side:g} mm"),
                from_to(y, 0.0, up, f"the return at the {face.name} is not {up:g} mm high"),
            ]
        elif face.use in (FoldUse.SOLE, *OVER_FILLET):
            roof[face.use] = (face.name, (z - sole) * c + y * s, y * c - (z - sole) * s)
            found += [
                from_to(x, *whole, "the part up the roof does not reach from end to end"),
                square_ends(face, "an end up the roof is not square"),
            ]
        else:
            found.append(unknown(face))
    parts = [roof[use] for use in (FoldUse.SOLE, *OVER_FILLET) if use in roof]
    found += _up_roof(parts, survey.fillet, survey.up_roof_mm, -wing)
    wanted: Wanted = {(FoldUse.WALL, None): sole, (FoldUse.SOLE, None): sole}
    return [*found, *missing(faces, wanted | at_ends(FoldUse.ARRIS, (side, side), ends))]


def _run(survey: BackGutter, ends: Ends) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the ends of a length, between the arrises and past them; two lengths meet over a roll in the middle.

    The lower one goes on from its foot of the roll by the undercloak, the upper one from the other by the overcloak.
    """
    middle, half = survey.width_mm / 2, survey.roll_core_mm / 2
    low = 0.0 if ends[0] else middle + half - survey.roll_over_mm
    high = survey.width_mm if ends[1] else middle - half + survey.roll_under_mm
    past = survey.side_mm
    return (low, high), (low - past if ends[0] else low, high + past if ends[1] else high)


def back_gutter_gusset_gaps(survey: BackGutter, faces: Sequence[Folded]) -> list[Gap]:
    """Hold a gusset to the side of the stack, between the level of the sole and the roof, and to the roof below.

    Seen square to the stack's side: x down the roof from where sole and roof meet, y square to the roof.
    """
    c, s = cos_sin(survey.pitch_deg)
    sole, level = survey.sole_mm, survey.sole_mm + survey.side_mm
    on_side = [(0.0, 0.0), (sole, 0.0), (level / c, 0.0), (level * c, level * s), (sole * c, sole * s)]
    found: list[Gap] = []
    for face in faces:
        x, y, z = face.corners.T
        if face.is_still:
            found += [
                on(z, "the gusset stands off the side"),
                corners_at(face, on_side, "the gusset misses its opening"),
            ]
        elif face.use is FoldUse.ROOF_LINE:
            found += [
                on(y, "the gusset's foot stands off the roof"),
                square_ends(face, "an end of the gusset's foot is not square"),
                from_to(z, 0.0, survey.side_mm, f"the gusset's foot is not {survey.side_mm:g} mm wide"),
                from_to(x, sole, level / c, "the gusset's foot misses its length"),
            ]
        else:
            found.append(unknown(face))
    return [*found, *missing(faces, {(FoldUse.ROOF_LINE, None): survey.side_mm})]


def valley_gaps(survey: ValleyGutter, faces: Sequence[Folded], ends: Ends) -> list[Gap]:
    """Hold a valley to its two roofs; the second lies in z = 0, the first beyond the angle between their normals."""
    one, other = cos_sin(survey.pitch_deg), cos_sin(survey.other_pitch_deg)
    bend = math.acos(float(np.dot((one[1], 0.0, one[0]), (0.0, other[1], other[0]))))
    c, s = math.cos(bend), math.sin(bend)
    there = {(face.use, face.side): face for face in faces}
    found = _along(faces, survey.length_mm, ends)
    for first, roof in ((FoldUse.VALLEY, Side.FIRST_ROOF), (None, Side.SECOND_ROOF)):
        parts = []
        for key in ((first, None), *((use, roof) for use in OVER_FILLET)):
            if (face := there.pop(key, None)) is not None:
                _, y, z = face.corners.T
                on_second = roof is Side.SECOND_ROOF
                name = "" if face.is_still else face.name
                parts.append((name, y, z) if on_second else (name, z * s - y * c, y * s + z * c))
        found += _up_roof(parts, survey.fillet, survey.width_mm / 2)
    return [*found, *(unknown(face) for face in there.values())]


def _along(faces: Sequence[Folded], length_mm: float, ends: Ends) -> list[Gap]:
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


def abutment_gutter_gaps(survey: AbutmentGutter, faces: Sequence[Folded], ends: Ends) -> list[Gap]:
    """Compare a gutter beside a wall, square to the slope: y square to the roof, z out of the wall."""
    sole, edge = survey.sole_mm, survey.edge_mm
    found = _along(faces, survey.length_mm, ends)
    for face in faces:
        _, y, z = face.corners.T
        if face.is_still:
            found += upstand(face, survey.upstand_mm)
        elif face.use is FoldUse.WALL:
            found += [on(y, "the sole stands off the roof"), from_to(z, 0.0, sole, f"the sole is not {sole:g} mm wide")]
        elif face.use is FoldUse.OUTER_EDGE:
            found += [
                on(z, "the outer edge is not square to the roof", sole),
                from_to(y, 0.0, edge, f"the outer edge is not {edge:g} mm high"),
            ]
        else:
            found.append(unknown(face))
    return [*found, *missing(faces, {(FoldUse.WALL, None): sole, (FoldUse.OUTER_EDGE, None): edge})]


def saddle_gaps(survey: RidgeSaddle, faces: Sequence[Folded]) -> list[Gap]:
    """Hold a saddle to the wall (z = 0) and to both slopes, which run out from it (+z) and fall from the ridge."""
    c, s = cos_sin(survey.pitch_deg)
    half, up, down = survey.width_mm / 2, survey.upstand_mm, survey.length_mm - survey.upstand_mm
    roofs: dict[tuple[FoldUse | None, Side | None], float] = {
        (FoldUse.WALL, Side.RIGHT): 1.0,
        (FoldUse.RIDGE, None): -1.0,
    }
    walls: dict[tuple[FoldUse | None, Side | None], float] = {(None, None): 1.0, (FoldUse.WALL, Side.LEFT): -1.0}
    found: list[Gap] = []
    for face in faces:
        x, y, z = face.corners.T
        key = face.use, face.side
        x = x * (roofs | walls).get(key, 1.0)  # both slopes as though they fell to the right
        off_roof, along = x * s + y * c, x * c - y * s
        if key in roofs:
            found += [
                on(off_roof, "a slope of the saddle stands off its roof"),
                from_to(z, 0.0, down, f"the saddle does not reach {down:g} mm along the ridge"),
                from_to(along, 0.0, half, f"the saddle does not reach {half:g} mm down the slope"),
            ]
        elif key in walls:
            found += [
                on(z, "the upstand stands off the wall"),
                within(off_roof, 0.0, up, f"the upstand is higher than {up:g} mm"),
            ]
        else:
            found.append(unknown(face))
    wanted: Wanted = {
        (FoldUse.RIDGE, None): half,
        (FoldUse.WALL, Side.RIGHT): half,
        (FoldUse.WALL, Side.LEFT): half,
    }
    return [*found, *missing(faces, wanted)]


def saddle_gusset_gaps(survey: RidgeSaddle, faces: Sequence[Folded]) -> list[Gap]:
    """Hold a gusset to the opening over the ridge: as high as the upstand's edges beside it, opening by 2 p."""
    c, s = cos_sin(survey.pitch_deg)
    up = survey.upstand_mm
    opening = [(-up * s, 0.0), (up * s, 0.0), (0.0, up * c)]
    return [corners_at(face, opening, "the gusset misses its opening") for face in faces]


def pipe_base_gaps(survey: PipeSlate, faces: Sequence[Folded], hole: Array) -> list[Gap]:
    """Hold the hole to where a plumb sleeve meets the roof: seen in plan it is round."""
    c, _ = cos_sin(survey.pitch_deg)
    r = survey.pipe_mm / 2 + survey.clearance_mm
    corners = np.vstack([face.corners for face in faces])
    sides = (-r - survey.side_mm, r + survey.side_mm)
    ends = (-r / c - survey.below_mm, r / c + survey.above_mm)
    return [
        *([] if len(hole) else [Gap(2 * r, "the hole is missing")]),
        *(boxed(face, "an edge of the base is not square") for face in faces),
        on(np.hypot(hole[:, 0], hole[:, 1] * c), "the hole does not fit the sleeve", r),
        from_to(corners[:, 0], *sides, "the base misses its width"),
        from_to(corners[:, 1], *ends, "the base misses its length"),
    ]


def sleeve_gaps(survey: PipeSlate, faces: Sequence[Folded]) -> list[Gap]:
    """Roll a sleeve round its pipe and hold its foot to the roof; it is drawn upside down, its level top on y = 0."""
    r, slope = survey.pipe_mm / 2 + survey.clearance_mm, math.tan(math.radians(survey.pitch_deg))
    corners = np.vstack([face.corners for face in faces])
    round_mm, down = corners[:, 0], corners[:, 1]
    top = r * slope + survey.sleeve_mm  # above the roof at the pipe's middle
    up_roof = r * np.cos(round_mm / r)  # in plan, from the pipe's middle; the seam stands on the upper side
    foot = down > survey.sleeve_mm / 2
    return [
        on((top - down - up_roof * slope)[foot], "the sleeve's foot stands off the roof"),
        on(down[~foot], "the sleeve's top is not level"),
        *(
            from_to(round_mm[at], 0.0, 2 * math.pi * r + survey.seam_mm, "the sleeve misses its girth and seam")
            for at in (foot, ~foot)
        ),
    ]
