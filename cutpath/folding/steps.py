"""Step flashings against wall and roof: wall frame, x level, y plumb, z out of the wall."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from cutpath.folding.gap import (
    Ends,
    Gap,
    PlaneLine,
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
from cutpath.folding.space import STILL, Array, Folded
from cutpath.tolerances import FOLD_DEVIATION_MM
from cutpath.values.survey import BedJoint, CornerKind, EndCut, StepFlashing, Tongue


def step_gaps(survey: StepFlashing, faces: Sequence[Folded], snips: Array, ends: Ends) -> list[Gap]:
    """Compare a length of step flashing; the lowest one carries the return, where there is one."""
    joints = {f"turn-in {j.number}": j for j in survey.joints}
    round_corner = {face.name.removeprefix("return ") for face in faces if face.name.startswith("return turn-in ")}
    found: list[Gap] = []
    for face in faces:
        x, y, z = face.corners.T
        if face.name == STILL:
            found += [on(z, "the wall face stands off the wall"), *_wall_face(survey, face, faces, snips, ends)]
            if ends[0]:
                found += _tongue(survey, face)
        elif (joint := joints.get(face.name)) is not None:
            off = (y - joint.y_mm - joint.slope * x) / math.hypot(1.0, joint.slope)
            found += in_joint(face.name, off, -z, survey.turn_in_mm)
            found.append(_turn_in_edges(survey, joint, face, mitred=face.name in round_corner))
            # The lower end is cut plumb in the flat; folded into a joint that falls away from it, it splays by this.
            start = survey.set_back_mm - survey.turn_in_mm * max(0.0, -joint.slope)
            found.append(within(x, start, math.inf, f"the {face.name} reaches past the lower end"))
        elif face.name == "roof line" and survey.cover_mm:
            found += _cover(survey, face)
        elif face.name == "change of pitch" and survey.cover_mm and survey.tongue and ends[0]:
            found += _tongue_cover(survey, survey.tongue, face)
        elif not (face.name == "arris" or face.name.startswith("return turn-in ")):
            found.append(unknown(face))
    wanted = {"roof line": survey.cover_mm}
    if survey.tongue and ends[0]:
        wanted["change of pitch"] = survey.cover_mm
    return [*found, *missing(faces, wanted), *_return(survey, faces, wanted=ends[0])]


def _turn_in_edges(survey: StepFlashing, joint: BedJoint, face: Folded, *, mitred: bool) -> Gap:
    """Hold the edges of a step's turn-in, seen in its joint, to the lines on which the sheet was cut there.

    It begins on its riser or the lower end, drawn on past the joint, or on the mitre with a return in the same joint;
    it ends on the next riser or the upper end. So neighbours neither gape nor lie on each other.
    """
    size = math.hypot(1.0, joint.slope)
    c, s = 1.0 / size, joint.slope / size
    head, toe = (face.axis[at(face.axis[:, 0]), :2] for at in (np.argmin, np.argmax))
    end = (survey.slope_mm * cos_sin(survey.pitch_deg)[0], survey.slope_mm * cos_sin(survey.pitch_deg)[1])
    riser, plumb = cos_sin(survey.riser_deg), (0.0, 1.0)
    square = cos_sin(survey.pitch_deg + 90.0)
    upper = plumb if survey.upper_end is EndCut.PLUMB else square

    def folded(way: tuple[float, float]) -> tuple[float, float]:
        return (way[0] * c + way[1] * s, way[1] * c - way[0] * s)

    at_lower = abs(head[0] - survey.set_back_mm) <= FOLD_DEVIATION_MM
    at_upper = from_lines(toe[None], [(end, upper)])[0, 0] <= FOLD_DEVIATION_MM
    start = (1.0, 1.0) if mitred else folded(plumb if at_lower else riser)
    stop = folded(upper if at_upper else riser)
    length = float((toe - head) @ (c, s))
    lines: list[PlaneLine] = [((0.0, 0.0), (1.0, 0.0)), ((0.0, survey.turn_in_mm), (1.0, 0.0))]
    lines += [((0.0, 0.0), start), ((length, 0.0), stop)]
    along = (face.corners[:, :2] - head) @ np.array([c, s])
    return edges_on(
        np.column_stack([along, -face.corners[:, 2]]), lines, f"an end of the {face.name} stands off its neighbour"
    )


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


def _tongue_cover(survey: StepFlashing, tongue: Tongue, face: Folded) -> list[Gap]:
    """Hold the cover of a tongue to the roof below the change, beside the wall, for the length of the lap."""
    c, s = cos_sin(tongue.pitch_deg)
    x, y, z = face.corners.T
    up_slope = x * c + y * s
    off = np.minimum(np.abs(np.roll(up_slope, -1) - up_slope), np.abs(np.roll(z, -1) - z))
    return [
        on(y * c - x * s, "the tongue's cover stands off the roof below the change"),
        from_to(up_slope, -tongue.lap_mm, 0.0, f"the tongue's cover does not lie {tongue.lap_mm:g} mm down the roof"),
        from_to(z, 0.0, survey.cover_mm, f"the tongue's cover is not {survey.cover_mm:g} mm wide"),
        on(off, "an edge of the tongue's cover is not square"),
    ]


def _wall_face(survey: StepFlashing, wall: Folded, faces: Sequence[Folded], snips: Array, ends: Ends) -> list[Gap]:
    """Hold the edges of the wall face to the survey, and see that nothing is cut away below the water line.

    An edge that is no fold lies on the roof line, the lower or the upper end, or on a riser through the place where
    a bed joint dips to the water line, or where the user ends the step on it. A fold on a joint ends there too, unless
    the upper end cuts it off sooner. A tongue goes on below the lower end, on the roof beyond the change of pitch.
    """
    c, s = cos_sin(survey.pitch_deg)
    water = survey.water_line_mm
    roof: PlaneLine = ((0.0, 0.0), (c, s))
    lower: PlaneLine = ((survey.set_back_mm, 0.0), (0.0, 1.0))
    end = (survey.slope_mm * c, survey.slope_mm * s)
    upper: PlaneLine = (end, (0.0, 1.0) if survey.upper_end is EndCut.PLUMB else (-s, c))
    risers: list[PlaneLine] = [(toe(survey, joint), cos_sin(survey.riser_deg)) for joint in survey.joints]
    hung = [f.axis[:, :2] for f in faces if f.parent == STILL]
    folds: list[PlaneLine] = [(tuple(axis[0]), tuple(axis[1] - axis[0])) for axis in hung]
    corners = wall.corners[:, :2]
    corners = corners[corners[:, 0] >= survey.set_back_mm - FOLD_DEVIATION_MM] if survey.tongue else corners
    apart = from_lines(corners, [roof, lower, upper, *risers, *folds])
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

    for points, what in ((corners, "lead"), (snips[:, :2], "a snip")):
        above = height(points)
        depth = np.minimum(above, water - above)
        depth[from_lines(points, [lower])[:, 0] <= FOLD_DEVIATION_MM] = 0.0
        found.append(Gap(float(depth.max(initial=0.0)), f"{what} is cut away below the water line"))
    hung_at = [f for f in faces if f.name.startswith("turn-in ")]
    if hung_at:
        toes = np.array([f.axis[np.argmax(f.axis[:, 0]), :2] for f in hung_at])
        chosen = {f"turn-in {j.number}": j.end_x_mm for j in survey.joints}
        wanted = np.array([math.nan if (x := chosen.get(f.name)) is None else x for f in hung_at])
        off = np.where(np.isnan(wanted), np.abs(height(toes) - water), np.abs(toes[:, 0] - wanted))
        short = np.minimum(off, from_lines(toes, [upper])[:, 0])
        found.append(Gap(float(short.max()), "a fold ends away from the water line"))
    return found


def _tongue(survey: StepFlashing, wall: Folded) -> list[Gap]:
    """Hold a tongue to the roof below the change: a lap along it, and up to the lower of the two water lines."""
    corners = wall.corners[:, :2]
    beyond = corners[corners[:, 0] < survey.set_back_mm - FOLD_DEVIATION_MM]
    if survey.tongue is None:
        return [Gap(float(np.ptp(beyond, axis=0).max()), "lead reaches past the lower end")] if len(beyond) else []
    c, s = cos_sin(survey.tongue.pitch_deg)
    lap = survey.tongue.lap_mm
    high = min(survey.water_line_mm, survey.water_line_mm * c / cos_sin(survey.pitch_deg)[0])
    wanted = np.array([[0.0, 0.0], [-lap * c, -lap * s], [-lap * c - high * s, high * c - lap * s], [0.0, high / c]])
    apart = np.linalg.norm(corners[:, None] - wanted[None], axis=2)
    strays = np.linalg.norm(beyond[:, None] - wanted[None], axis=2).min(axis=1, initial=math.inf)
    return [
        Gap(float(apart.min(axis=0).max()), f"the tongue does not lie {lap:g} mm along the roof below the change"),
        Gap(float(strays.max(initial=0.0)), "lead reaches past the tongue"),
    ]


def toe(survey: StepFlashing, joint: BedJoint) -> tuple[float, float]:
    """Give where a step ends: at the user's choice, or where y = y0 + s x dips to the water line.

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
    legs = [f for f in faces if f.name == "arris"]
    tucks = [f for f in faces if f.name.startswith("return turn-in ")]
    if not wanted or corner.kind is CornerKind.NONE:
        return [unknown(face) for face in (*legs, *tucks)]
    # It turns into the joint of the user's choice, else into that of the first step.
    steps = [j for j in survey.joints if any(face.name == f"turn-in {j.number}" for face in faces)]
    chosen = [j for j in survey.joints if j.number == corner.joint] if corner.joint is not None else steps[:1]
    joints = {f"return turn-in {j.number}": j for j in chosen}
    if len(legs) != 1 or len(tucks) != 1:
        return [Gap(corner.length_mm, "the return round the corner is missing")]
    if tucks[0].name not in joints:
        return [Gap(corner.length_mm, f"the {tucks[0].name} is not in the joint of the return")]
    joint, reach = joints[tucks[0].name], corner.length_mm
    first = any(face.name == f"turn-in {joint.number}" for face in faces)
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
