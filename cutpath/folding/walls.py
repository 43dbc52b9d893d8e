"""Cover flashings, soakers, aprons and top-edge abutments against wall and roof; frames of `cutpath.values.proof`."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from cutpath.folding.gap import (
    Ends,
    Gap,
    PlaneLine,
    Wanted,
    at_ends,
    boxed,
    cos_sin,
    edges_on,
    from_to,
    in_joint,
    missing,
    on,
    reach,
    square_ends,
    unknown,
    upstand,
    within,
)
from cutpath.folding.space import Array, Folded
from cutpath.values.pattern import FoldUse, Side
from cutpath.values.survey import Apron, CornerWork, CoverFlashing, Soakers, TopAbutment


def cover_gaps(survey: CoverFlashing, faces: Sequence[Folded], ends: Ends) -> list[Gap]:
    """Compare a length of cover flashing, with its returns where it goes round the arrises."""
    c, s = cos_sin(survey.slope_deg)
    cover, length, side = survey.cover_mm, survey.length_mm, survey.return_mm
    arrises: dict[Side | None, float] = {Side.LEFT: 0.0, Side.RIGHT: length}
    found: list[Gap] = []
    for face in faces:
        x, y, z = face.corners.T
        up = y * c - x * s  # square to the chase
        if face.is_still:
            lean = np.minimum(np.abs(np.roll(x, -1) - x), np.abs(np.roll(up, -1) - up))
            found += [
                on(z, "the flashing stands off the wall"),
                from_to(up, 0.0, cover, f"the flashing does not cover {cover:g} mm"),
                on(lean, "an edge is neither plumb nor along the chase"),
                reach(x, (0.0, length * c), ends, f"the flashing does not reach from end to end ({length:g} mm)"),
            ]
        elif face.use is FoldUse.ARRIS and face.side in arrises and side:
            found += [
                on(x, f"the return at the {face.name} stands off the side", arrises[face.side]),
                from_to(z, -side, 0.0, f"the return at the {face.name} does not reach {side:g} mm"),
                from_to(up, 0.0, cover, f"the return at the {face.name} does not cover {cover:g} mm"),
            ]
        elif face.fold is not None and face.fold.is_turn_in:
            depth = _depth(face, length)
            found += in_joint(face.name, up - cover, depth, survey.turn_in_mm)
            if side:
                found.append(_mitred(face, depth, survey.turn_in_mm, length, side))
        else:
            found.append(unknown(face))
    wanted = at_ends(FoldUse.ARRIS, (side, side), ends) | {(FoldUse.TURN_IN, None): survey.turn_in_mm}
    return [*found, *missing(faces, wanted)]


def _depth(face: Folded, width_mm: float) -> Array:
    """Return how deep a turn-in lies behind its face: the front, or the return at one of the arrises."""
    x, _, z = face.corners.T
    if face.parent is None or face.parent.use is not FoldUse.ARRIS:
        inwards: Array = -z
    else:
        inwards = x if face.parent.side is Side.LEFT else width_mm - x
    return inwards


def _mitred(face: Folded, depth: Array, turn_in_mm: float, width_mm: float, back_mm: float) -> Gap:
    """Hold the edges of a turn-in between arrises x = 0 and x = width to its joint, its depth, its ends and mitres."""
    along, lines = face.corners[:, 0], _depth_lines(turn_in_mm)
    if face.on_still:
        ends = (0.0, width_mm)
        mitres: list[PlaneLine] = [((0.0, 0.0), (1.0, 1.0)), ((width_mm, 0.0), (-1.0, 1.0))]
        lines += [((end, 0.0), (0.0, 1.0)) for end in (float(along.min()), float(along.max())) if end not in ends]
    else:
        along, mitres = -face.corners[:, 2], [((0.0, 0.0), (1.0, 1.0))]
        lines.append(((back_mm, 0.0), (0.0, 1.0)))
    return edges_on(np.column_stack([along, depth]), [*lines, *mitres], f"the {face.name} has a stray edge or mitre")


def _depth_lines(turn_in_mm: float) -> list[PlaneLine]:
    return [((0.0, 0.0), (1.0, 0.0)), ((0.0, turn_in_mm), (1.0, 0.0))]


def soaker_gaps(survey: Soakers, faces: Sequence[Folded]) -> list[Gap]:
    """Compare a soaker: roof leg, upstand, and the head turned down square to the roof."""
    roof, up, down = survey.roof_mm, survey.upstand_mm, survey.turn_down_mm
    shoulder = survey.length_mm - down
    found: list[Gap] = []
    for face in faces:
        x, y, z = face.corners.T
        found.append(boxed(face, "an edge of the soaker is not square"))
        if face.is_still:
            found += [
                on(z, "the roof leg stands off the roof"),
                from_to(x, 0.0, shoulder, f"the roof leg is not {shoulder:g} mm long"),
                from_to(y, 0.0, roof, f"the roof leg is not {roof:g} mm wide"),
            ]
        elif face.use is FoldUse.UPSTAND:
            found += [
                on(y, "the upstand stands off the wall", roof),
                from_to(x, 0.0, survey.length_mm, f"the upstand is not {survey.length_mm:g} mm long"),
                from_to(z, 0.0, up, f"the upstand is not {up:g} mm high"),
            ]
        elif face.use is FoldUse.TURN_DOWN:
            found += [
                on(x, "the turn-down is not square to the roof at the head", shoulder),
                from_to(y, 0.0, roof, f"the turn-down is not {roof:g} mm wide"),
                from_to(z, -down, 0.0, f"the turn-down is not {down:g} mm deep"),
            ]
        else:
            found.append(unknown(face))
    return [*found, *missing(faces, {(FoldUse.UPSTAND, None): up, (FoldUse.TURN_DOWN, None): down})]


def _on_falling_roof(face: Folded, pitch_deg: float, cover_mm: float) -> list[Gap]:
    """Hold a cover to a roof that falls away from the foot of the wall."""
    c, s = cos_sin(pitch_deg)
    _, y, z = face.corners.T
    return [
        square_ends(face, "an end of the cover is not square"),
        on(y * c + z * s, "the cover stands off the roof"),
        from_to(z * c - y * s, 0.0, cover_mm, f"the cover is not {cover_mm:g} mm wide"),
    ]


def apron_gaps(survey: Apron, faces: Sequence[Folded], ends: Ends) -> list[Gap]:
    """Compare a length of apron; its returns stand on the roof, which rises at the pitch beside the stack."""
    c, s = cos_sin(survey.pitch_deg)
    up, width, side = survey.upstand_mm, survey.width_mm, survey.side_mm
    arrises: dict[Side | None, float] = {Side.LEFT: 0.0, Side.RIGHT: width}
    back = min(side, up * c / s)  # a return ends where the roof beside the stack has risen to its joint
    profile: list[PlaneLine] = [((0.0, 0.0), (c, s)), ((0.0, up), (1.0, 0.0)), ((0.0, 0.0), (0.0, 1.0))]
    profile.append(((back, 0.0), (0.0, 1.0)))
    found: list[Gap] = []
    for face in faces:
        x, y, z = face.corners.T
        if face.is_still:
            found += [
                *upstand(face, up),
                reach(x, (0.0, width), ends, "the upstand does not reach from arris to arris"),
            ]
        elif face.use is FoldUse.FRONT:
            found += _on_falling_roof(face, survey.pitch_deg, survey.cover_mm)
            past = side if survey.corners is CornerWork.WELDED else 0.0  # beside bossed corners the lead is worked
            found.append(reach(x, (-past, width + past), ends, "the cover does not reach from end to end"))
        elif face.use is FoldUse.ARRIS and face.side in arrises:
            found += [
                on(x, f"the return at the {face.name} stands off the side", arrises[face.side]),
                from_to(z, -back, 0.0, f"the return at the {face.name} does not reach {back:.1f} mm"),
                within(y, 0.0, up, f"the return at the {face.name} reaches above its joint"),
                from_to(y * c + z * s, 0.0, up * c, f"the return at the {face.name} does not stand on the roof"),
                edges_on(np.column_stack([-z, y]), profile, f"the return at the {face.name} has a stray edge"),
            ]
        elif face.fold is not None and face.fold.is_turn_in:
            depth = _depth(face, width)
            found += in_joint(face.name, y - up, depth, survey.turn_in_mm)
            if side:
                found.append(_mitred(face, depth, survey.turn_in_mm, width, back))
        else:
            found.append(unknown(face))
    wanted: Wanted = {(FoldUse.FRONT, None): survey.cover_mm, (FoldUse.TURN_IN, None): survey.turn_in_mm}
    wanted |= at_ends(FoldUse.ARRIS, (side, side), ends)
    return [*found, *missing(faces, wanted)]


def apron_gusset_gaps(survey: Apron, faces: Sequence[Folded]) -> list[Gap]:
    """Hold a gusset to the roof beside a return: a rectangle, the side's length by the return's reach up the slope."""
    c, s = cos_sin(survey.pitch_deg)
    up_slope = min(survey.side_mm / c, survey.upstand_mm / s)
    found = []
    for face in faces:
        sides = np.linalg.norm(np.roll(face.corners, -1, axis=0) - face.corners, axis=1)
        wanted = np.sort([survey.side_mm, up_slope] * 2)
        off = up_slope
        if len(sides) == len(wanted):
            across = float(np.linalg.norm(face.corners[2] - face.corners[0]))
            off = max(float(np.abs(np.sort(sides) - wanted).max()), abs(across - math.hypot(*sides[:2])))
        found.append(Gap(off, "the gusset misses its opening"))
    return found


def abutment_gaps(survey: TopAbutment, faces: Sequence[Folded], ends: Ends) -> list[Gap]:
    """Compare a length of a top-edge abutment; its stop ends stand against the walls across its ends."""
    c, s = cos_sin(survey.pitch_deg)
    up, stops = survey.upstand_mm, (survey.stop_left_mm, survey.stop_right_mm)
    run = (0.0, survey.length_mm)
    walls: dict[Side | None, tuple[float, float]] = {Side.LEFT: (run[0], stops[0]), Side.RIGHT: (run[1], stops[1])}
    found: list[Gap] = []
    for face in faces:
        x, y, z = face.corners.T
        if face.is_still:
            found += [*upstand(face, up), reach(x, run, ends, "the upstand does not reach from end to end")]
        elif face.use is FoldUse.FRONT:
            found += _on_falling_roof(face, survey.pitch_deg, survey.cover_mm)
            found.append(reach(x, run, ends, "the cover does not reach from end to end"))
        elif face.use is FoldUse.STOP_END and face.side in walls:
            (wall, height), off_roof, down = walls[face.side], y * c + z * s, z * c - y * s
            found += [
                on(x, f"the {face.name} stands off its wall", wall),
                within(z, 0.0, math.inf, f"the {face.name} runs into the wall behind"),
                within(off_roof, 0.0, math.inf, f"the {face.name} runs into the roof"),
            ]
            if face.parent is not None and face.parent.use is FoldUse.FRONT:
                found.append(from_to(off_roof, 0.0, height, f"the {face.name} is not {height:g} mm high"))
                if survey.corners is CornerWork.WELDED:
                    profile = np.column_stack([down, off_roof])
                    found.append(edges_on(profile, _stop_lines(survey, height), f"the {face.name} has a stray edge"))
        elif face.use is FoldUse.TURN_IN:
            found += in_joint(face.name, y - up, -z, survey.turn_in_mm)
            found.append(square_ends(face, "an end of the turn-in is not square"))
        else:
            found.append(unknown(face))
    wanted: Wanted = {(FoldUse.FRONT, None): survey.cover_mm, (FoldUse.TURN_IN, None): survey.turn_in_mm}
    wanted |= at_ends(FoldUse.STOP_END, stops, ends)
    return [*found, *missing(faces, wanted)]


def _stop_lines(survey: TopAbutment, height_mm: float) -> list[PlaneLine]:
    """Return the lines that bound a welded stop end: (down the roof, square to it).

    The roof, its top, the end of the cover, plumb in the corner, and down from the head of the upstand to the top
    where the upstand's corner is lower than that.
    """
    c, s = cos_sin(survey.pitch_deg)
    lines: list[PlaneLine] = [((0.0, 0.0), (1.0, 0.0)), ((0.0, height_mm), (1.0, 0.0))]
    lines += [((survey.cover_mm, 0.0), (0.0, 1.0)), ((0.0, 0.0), (-s, c))]
    if survey.upstand_mm * c < height_mm:
        lines.append(((0.0, height_mm), (-survey.upstand_mm * s, survey.upstand_mm * c - height_mm)))
    return lines
