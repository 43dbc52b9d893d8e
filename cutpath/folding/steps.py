"""Step flashings against wall and roof: wall frame, x level, y plumb, z out of the wall."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from cutpath.folding.gap import (
    Ends,
    Gap,
    PlaneLine,
    Wanted,
    cos_sin,
    edges_on,
    from_lines,
    from_to,
    in_joint,
    missing,
    on,
    unknown,
    within,
)
from cutpath.folding.space import Array, Folded
from cutpath.tolerances import FOLD_DEVIATION_MM
from cutpath.values.leadwork import CornerKind, EndCut, StepFlashing, Tongue
from cutpath.values.pattern import Fold, FoldUse
from cutpath.values.survey import BedJoint

_Axes = dict[Fold, Array]
"""Folds and their ends in the wall frame."""


def step_gaps(survey: StepFlashing, faces: Sequence[Folded], snips: Array, ends: Ends) -> list[Gap]:
    """Compare a length of step flashing; the lowest one carries the return, where there is one."""
    joints: dict[int | None, BedJoint] = {j.number: j for j in survey.joints}
    round_corner = {face.fold.joint for face in faces if face.fold and face.fold.use is FoldUse.RETURN_TURN_IN}
    found: list[Gap] = []
    for face in faces:
        x, y, z = face.corners.T
        if face.is_still:
            found += [on(z, "the wall face stands off the wall"), *_wall_face(survey, face, faces, snips, ends)]
        elif (joint := joints.get(face.step)) is not None:
            off = (y - joint.y_mm - joint.slope * x) / math.hypot(1.0, joint.slope)
            found += in_joint(face.name, off, -z, survey.turn_in_mm)
            begun = _begun_on(survey, joint, faces) if ends[0] else survey
            found.append(_turn_in_edges((begun, survey), joint, face, mitred=joint.number in round_corner))
            # The lower end is cut plumb in the flat; folded into a joint that falls away from it, it splays by this.
            start = survey.set_back_mm - survey.turn_in_mm * max(0.0, -joint.slope)
            if survey.tongue is None:  # else the wall goes on below the change
                found.append(within(x, start, math.inf, f"the {face.name} reaches past the lower end"))
        elif face.use is FoldUse.ROOF_LINE and survey.cover_mm:
            found += _cover(survey, face)
        elif face.use is FoldUse.CHANGE_OF_PITCH and survey.cover_mm and survey.tongue and ends[0]:
            found += _tongue_cover(survey, survey.tongue, face, faces)
        elif face.use not in {FoldUse.ARRIS, FoldUse.RETURN_TURN_IN}:
            found.append(unknown(face))
    wanted: Wanted = {(FoldUse.ROOF_LINE, None): survey.cover_mm}
    if survey.tongue and ends[0]:
        wanted[FoldUse.CHANGE_OF_PITCH, None] = survey.cover_mm
    return [*found, *missing(faces, wanted), *_return(survey, faces, wanted=ends[0])]


def _begun_on(survey: StepFlashing, joint: BedJoint, faces: Sequence[Folded]) -> StepFlashing:
    """Return the run on which the fold in a joint begins: that below a change of pitch for teeth under a tongue."""
    if survey.tongue is None:
        return survey
    reaching = {f.step for f in faces if f.axis.size and f.axis[:, 0].max() > -FOLD_DEVIATION_MM}
    tooth = min((j.number for j in survey.joints if j.number in reaching), default=0)
    return survey.tongue.below if joint.number <= tooth else survey


def _turn_in_edges(runs: tuple[StepFlashing, StepFlashing], joint: BedJoint, face: Folded, *, mitred: bool) -> Gap:
    """Hold the edges of a step's turn-in, seen in its joint, to the lines on which the sheet was cut there.

    It begins on its riser or the lower end, drawn on past the joint, or on the mitre with a return in the same joint;
    it ends on the next riser or the upper end. So neighbours neither gape nor lie on each other. ``runs`` are those on
    which it begins and to which it belongs.
    """
    begun, survey = runs
    size = math.hypot(1.0, joint.slope)
    c, s = 1.0 / size, joint.slope / size
    head, toe = (face.axis[at(face.axis[:, 0]), :2] for at in (np.argmin, np.argmax))

    def folded(way: tuple[float, float]) -> tuple[float, float]:
        return (way[0] * c + way[1] * s, way[1] * c - way[0] * s)

    start = (1.0, 1.0) if mitred else folded(_start_way(begun, head + (0.0 if begun is survey else _end_of(begun))))
    stop = folded(_stop_way(survey, toe))
    length = float((toe - head) @ (c, s))
    lines: list[PlaneLine] = [((0.0, 0.0), (1.0, 0.0)), ((0.0, survey.turn_in_mm), (1.0, 0.0))]
    lines += [((0.0, 0.0), start), ((length, 0.0), stop)]
    along = (face.corners[:, :2] - head) @ np.array([c, s])
    return edges_on(
        np.column_stack([along, -face.corners[:, 2]]), lines, f"an end of the {face.name} stands off its neighbour"
    )


def _start_way(survey: StepFlashing, head: Array) -> tuple[float, float]:
    """Return the way of the line on which a step was cut at the start of its fold: the lower end, or a riser."""
    at_lower = abs(head[0] - survey.set_back_mm) <= FOLD_DEVIATION_MM
    return (0.0, 1.0) if at_lower else cos_sin(survey.riser_deg)


def _stop_way(survey: StepFlashing, toe: Array) -> tuple[float, float]:
    """Return the way of the line on which a step was cut at the end of its fold: a riser, or the upper end.

    Below a change of pitch, and at it, that is as on the run below.
    """
    if survey.tongue and toe[0] < FOLD_DEVIATION_MM:
        return _stop_way(survey.tongue.below, toe + _end_of(survey.tongue.below))
    upper = (0.0, 1.0) if survey.upper_end is EndCut.PLUMB else cos_sin(survey.pitch_deg + 90.0)
    at_upper = from_lines(toe[None], [(tuple(_end_of(survey)), upper)])[0, 0] <= FOLD_DEVIATION_MM
    return upper if at_upper else cos_sin(survey.riser_deg)


def _end_of(survey: StepFlashing) -> Array:
    """Return the upper end on the roof line."""
    return survey.slope_mm * np.array(cos_sin(survey.pitch_deg))


def _cover(survey: StepFlashing, face: Folded) -> list[Gap]:
    """Hold a cover to the roof, which stands square to the wall along the slope; its ends are square to the fold."""
    c, s = cos_sin(survey.pitch_deg)
    x, y, z = face.corners.T
    along = face.axis[:, 0] * c + face.axis[:, 1] * s
    up_slope = x * c + y * s
    ends = np.minimum(np.abs(np.roll(up_slope, -1) - up_slope), np.abs(np.roll(z, -1) - z))
    return [
        on(ends, "an edge of the cover is not square"),
        on(y * c - x * s, "the cover stands off the roof"),
        from_to(z, 0.0, survey.cover_mm, f"the cover is not {survey.cover_mm:g} mm wide"),
        from_to(up_slope, float(along.min()), float(along.max()), "an end of the cover is not square"),
    ]


def _tongue_cover(survey: StepFlashing, tongue: Tongue, face: Folded, faces: Sequence[Folded]) -> list[Gap]:
    """Hold the cover of a tongue to the roof below the change, beside the wall, as far as its part on the wall goes."""
    c, s = cos_sin(tongue.pitch_deg)
    wall = next(f for f in faces if f.is_still).corners
    reach = float((-wall[np.abs(wall[:, 1] * c - wall[:, 0] * s) <= FOLD_DEVIATION_MM][:, :2] @ (c, s)).max(initial=0))
    x, y, z = face.corners.T
    up_slope = x * c + y * s
    off = np.minimum(np.abs(np.roll(up_slope, -1) - up_slope), np.abs(np.roll(z, -1) - z))
    return [
        on(y * c - x * s, "the tongue's cover stands off the roof below the change"),
        from_to(up_slope, -reach, 0.0, f"the tongue's cover does not lie {reach:.1f} mm down the roof, as on the wall"),
        from_to(z, 0.0, survey.cover_mm, f"the tongue's cover is not {survey.cover_mm:g} mm wide"),
        on(off, "an edge of the tongue's cover is not square"),
    ]


def _wall_face(survey: StepFlashing, wall: Folded, faces: Sequence[Folded], snips: Array, ends: Ends) -> list[Gap]:
    """Hold the wall face to the run, and what goes on beyond a change of pitch to the run below."""
    ring, cuts = wall.corners[:, :2], snips[:, :2]
    axes = {f.fold: f.axis[:, :2] for f in faces if f.fold and f.on_still}
    lower: PlaneLine = ((survey.set_back_mm, 0.0), (0.0, 1.0))
    if survey.tongue is None or not ends[0]:
        past = 0.0 if survey.tongue else max(survey.set_back_mm - float(ring[:, 0].min()), 0.0)
        return [Gap(past, "lead reaches past the lower end"), *_teeth(survey, ring, axes, cuts, ends, [lower])]
    here, there = _parted(ring, 1), _parted(ring, -1)
    if not len(there):
        return [Gap(survey.tongue.lap_mm, "the tongue is missing")]
    above = {fold: axis for fold, axis in axes.items() if axis[:, 0].max() > FOLD_DEVIATION_MM}
    found = _teeth(survey, here, above, cuts[cuts[:, 0] > FOLD_DEVIATION_MM], ends, [lower])
    shift, below = _end_of(survey.tongue.below), survey.tongue.below
    beyond = {fold: axis + shift for fold, axis in axes.items() if axis[:, 0].min() < -FOLD_DEVIATION_MM}
    cuts = cuts[cuts[:, 0] < -FOLD_DEVIATION_MM]
    lines = _tongue_ends(below, beyond)
    leaning = cos_sin(survey.riser_deg)  # a riser that leans back may cross the change above the tongue
    lines += [(tuple(toe(survey, joint) + shift), leaning) for joint in survey.joints]
    found += _teeth(below, there + shift, beyond, cuts + shift, (False, True), lines)
    c, s = cos_sin(below.pitch_deg)
    on_roof = there[np.abs(there[:, 1] * c - there[:, 0] * s) <= FOLD_DEVIATION_MM]
    short = below.lapped_mm - float((-on_roof @ (c, s)).max(initial=0.0))
    return [
        *found,
        Gap(max(short, 0.0), f"the tongue does not lie {below.lapped_mm:g} mm along the roof below the change"),
    ]


def _parted(ring: Array, side: int) -> Array:
    """Return the part of a ring on one side of x = 0, 1 for x > 0; where it falls apart it is joined on that line."""
    out = []
    for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        if a[0] * side >= -FOLD_DEVIATION_MM:
            out.append(a)
        if min(a[0], b[0]) < -FOLD_DEVIATION_MM and max(a[0], b[0]) > FOLD_DEVIATION_MM:
            out.append(a + (b - a) * (a[0] / (a[0] - b[0])))
    part = np.array(out).reshape(-1, 2)
    return part if np.abs(part[:, 0]).max(initial=0.0) > FOLD_DEVIATION_MM else part[:0]


def _tongue_ends(below: StepFlashing, axes: _Axes) -> list[PlaneLine]:
    """Return the lines on which a tongue may end, besides the risers of the run below: its lower end, or on a tooth.

    On a tooth it ends a lap from the change, along a riser's way, or sooner by what leaves a fold to dress.
    """
    lines: list[PlaneLine] = [((below.set_back_mm, 0.0), (0.0, 1.0))]
    (c, s), (rise_x, rise_y) = cos_sin(below.pitch_deg), cos_sin(below.riser_deg)
    steps = {fold.joint for fold in axes if fold.use is FoldUse.STEP_TURN_IN}
    for joint in below.joints:
        if joint.number not in steps:
            continue
        far = (below.slope_mm - below.lapped_mm) * c
        up = (joint.y_mm + joint.slope * far - far * s / c) / (rise_y - joint.slope * rise_x)
        x = min(far, far + up * rise_x, toe(below, joint)[0] - below.least_fold_mm)
        return [*lines, ((x, joint.y_mm + joint.slope * x), (rise_x, rise_y))]
    return lines


def _teeth(
    survey: StepFlashing, corners: Array, axes: _Axes, snips: Array, ends: Ends, lower: Sequence[PlaneLine]
) -> list[Gap]:
    """Hold the edges of a wall face to the survey, and see that nothing is cut away below the water line.

    An edge that is no fold lies on the roof line, the lower or the upper end, or on a riser through the place where
    a bed joint dips to the water line, or where the user ends the step on it. A fold on a joint ends there too, unless
    the upper end cuts it off sooner.

    Parameters
    ----------
    corners, axes, snips
        The ring, the folds and the corners of cuts, in the run's own wall frame.
    lower
        Lines of the lower end; only the first is held to be reached.
    """
    c, s = cos_sin(survey.pitch_deg)
    water = survey.water_line_mm
    roof: PlaneLine = ((0.0, 0.0), (c, s))
    square = (-s, c)
    upper: PlaneLine = (tuple(_end_of(survey)), (0.0, 1.0) if survey.upper_end is EndCut.PLUMB else square)
    risers: list[PlaneLine] = [(toe(survey, joint), cos_sin(survey.riser_deg)) for joint in survey.joints]
    folds: list[PlaneLine] = [(tuple(axis[0]), tuple(axis[1] - axis[0])) for axis in axes.values()]
    apart = from_lines(corners, [roof, lower[0], upper, *lower[1:], *risers, *folds])
    edges = np.maximum(apart, np.roll(apart, -1, axis=0)).min(axis=1)
    found = [Gap(float(edges.max()), "an edge of the wall face follows no joint, riser, end or roof line")]
    nearest = np.maximum(apart, np.roll(apart, -1, axis=0)).min(axis=0)[1:3]  # of all edges, from either end
    found += [
        Gap(float(far), f"the run does not reach its {name} end")
        for far, there, name in zip(nearest, ends, ("lower", "upper"), strict=True)
        if there
    ]

    def height(points: Array) -> Array:
        above: Array = points[:, 1] * c - points[:, 0] * s
        return above

    for points, what in ((corners, "lead"), (snips, "a snip")):
        above = height(points)
        depth = np.minimum(above, water - above)
        depth[from_lines(points, lower).min(axis=1) <= FOLD_DEVIATION_MM] = 0.0
        found.append(Gap(float(depth.max(initial=0.0)), f"{what} is cut away below the water line"))
    turned_in = {fold.joint: axis for fold, axis in axes.items() if fold.use is FoldUse.STEP_TURN_IN}
    if turned_in:
        toes = np.array([axis[np.argmax(axis[:, 0])] for axis in turned_in.values()])
        chosen: dict[int | None, float | None] = {j.number: j.end_x_mm for j in survey.joints}
        wanted = np.array([math.nan if (x := chosen.get(number)) is None else x for number in turned_in])
        off = np.where(np.isnan(wanted), np.abs(height(toes) - water), np.abs(toes[:, 0] - wanted))
        short = np.minimum(off, from_lines(toes, [upper])[:, 0])
        short[toes[:, 0] > _end_of(survey)[0]] = 0.0  # a fold that goes on beyond a change of pitch
        found.append(Gap(float(short.max()), "a fold ends away from the water line"))
    return found


def toe(survey: StepFlashing, joint: BedJoint) -> tuple[float, float]:
    """Return where a step ends: at the user's choice, or where y = y0 + s x dips to the water line.

    That is y = x tan p + w / cos p.
    """
    if joint.end_x_mm is not None:
        return (joint.end_x_mm, joint.y_mm + joint.slope * joint.end_x_mm)
    c, s = cos_sin(survey.pitch_deg)
    x = (joint.y_mm - survey.water_line_mm / c) / (s / c - joint.slope)
    return (x, joint.y_mm + joint.slope * x)


def _return(survey: StepFlashing, faces: Sequence[Folded], *, wanted: bool) -> list[Gap]:
    """Hold a return to the next face (x = 0, z < 0), from its foot up to its joint, and its turn-in to that joint."""
    corner = survey.corner
    legs = [f for f in faces if f.use is FoldUse.ARRIS]
    tucks = [f for f in faces if f.use is FoldUse.RETURN_TURN_IN]
    if not wanted or corner.kind is CornerKind.NONE:
        return [unknown(face) for face in (*legs, *tucks)]
    # It turns into the joint of the user's choice, else into that of the first step.
    steps = [j for j in survey.joints if any(face.step == j.number for face in faces)]
    chosen = [j for j in survey.joints if j.number == corner.joint] if corner.joint is not None else steps[:1]
    joints: dict[int | None, BedJoint] = {j.number: j for j in chosen}
    if len(legs) != 1 or len(tucks) != 1:
        return [Gap(corner.length_mm, "the return round the corner is missing")]
    own = joints.get(tucks[0].fold.joint) if tucks[0].fold else None
    if own is None:
        return [Gap(corner.length_mm, f"the {tucks[0].name} is not in the joint of the return")]
    joint, reach = own, corner.length_mm
    first = any(face.step == joint.number for face in faces)
    (x, y, z), (in_x, in_y, in_z) = legs[0].corners.T, tucks[0].corners.T
    return [
        on(x, "the return stands off the next face"),
        from_to(z, -reach, 0.0, f"the return does not reach {reach:g} mm"),
        from_to(y, corner.foot_mm, joint.y_mm, "the return misses its foot or its joint"),
        *in_joint(tucks[0].name, in_y - joint.y_mm, in_x, survey.turn_in_mm),
        from_to(in_z, -reach, 0.0, f"the {tucks[0].name} is not as long as the return ({reach:g} mm)"),
        edges_on(
            np.column_stack([-in_z, in_x]),
            [
                ((0.0, 0.0), (1.0, 0.0)),
                ((0.0, survey.turn_in_mm), (1.0, 0.0)),
                ((reach, 0.0), (0.0, 1.0)),
                ((0.0, 0.0), (1.0, 1.0) if first else (0.0, 1.0)),  # a mitre where the first step is in the same joint
            ],
            f"an end of the {tucks[0].name} stands off its neighbour",
        ),
    ]


def levels(survey: StepFlashing) -> tuple[float, ...]:
    """Return the heights between which the ends of lengths are plain lines that have to lap."""
    return -survey.cover_mm, 0.0, survey.water_line_mm


def lower_end(survey: StepFlashing, height_mm: float) -> tuple[float, float]:
    """Return the point of the strip frame at a height, square to the roof, on the plumb lower end of a run."""
    c, s = cos_sin(survey.pitch_deg)
    return (survey.set_back_mm + height_mm * s) / c, height_mm
