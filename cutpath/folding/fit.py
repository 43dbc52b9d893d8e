"""How well a folded piece fits what was surveyed, by formulas of its own: none of the pattern code is used.

Every part of the sheet is held to the surface it is meant for. A turn-in lies in the plane of its bed joint, from
the face of the wall to the depth of the chase; wall faces lie on the wall, returns on the next face, covers and
roof legs on the roof. A part that lies wholly on its surface stands in no brick; only turn-ins are let into it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cutpath.folding.space import STILL, Array, Folded
from cutpath.tolerances import FOLD_DEVIATION_MM
from cutpath.values.survey import (
    Apron,
    BedJoint,
    CornerKind,
    CoverFlashing,
    Detail,
    EndCut,
    Soakers,
    StepFlashing,
)

Ends = tuple[bool, bool]


@dataclass(frozen=True, slots=True)
class Gap:
    """By how much something misses its place, and what it is, in words that follow "folded up, "."""

    mm: float
    what: str


def run_to_space(detail: Detail) -> Array:
    """Give the 4 x 4 matrix that lays the run frame of a detail on the wall or the roof; see `cutpath.values.proof`."""
    match detail:
        case StepFlashing():
            return _tilted(detail.pitch_deg)
        case CoverFlashing():
            return _tilted(detail.slope_deg)
        case Apron():
            c, s = _cos_sin(detail.pitch_deg)
            # Below the front fold the sheet lies on the roof, which falls away from the face (+z) at the pitch.
            return np.array([[1.0, 0, 0, 0], [0, s, c, 0], [0, -c, s, 0], [0, 0, 0, 1]])
        case _:
            return np.eye(4)


def gaps(detail: Detail, family: str, faces: Sequence[Folded], snips: Array, *, ends: Ends) -> list[Gap]:
    """Compare a folded piece with its survey.

    Parameters
    ----------
    family : str
        Of the pattern: a detail may give more than one.
    faces : sequence of Folded
        In the space of `run_to_space`, right-handed.
    snips : array
        Corners of snips that lie in the still face (n x 3), in the same space.
    ends : (bool, bool)
        Whether the piece holds the lower (or left) and the upper (or right) end of the run.
    """
    match detail:
        case StepFlashing():
            return [*_step(detail, faces, snips), *_step_return(detail, faces, wanted=ends[0])]
        case CoverFlashing():
            return _cover(detail, faces)
        case Soakers():
            return _soaker(detail, faces)
        case Apron() if family == "gusset":
            return _gusset(detail, faces)
        case Apron():
            return _apron(detail, faces, ends)
        case _:
            return []


def _cos_sin(angle_deg: float) -> tuple[float, float]:
    return math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))


def _tilted(angle_deg: float) -> Array:
    c, s = _cos_sin(angle_deg)
    return np.array([[c, -s, 0, 0], [s, c, 0, 0], [0, 0, 1, 0], [0, 0, 0, 1]])


def _on(values: Array, what: str, at: float = 0.0) -> Gap:
    """Hold all values to ``at``."""
    return Gap(float(np.abs(values - at).max()), what)


def _from_to(values: Array, low: float, high: float, what: str) -> Gap:
    """Hold values to span from ``low`` to ``high``, no more and no less."""
    return Gap(max(abs(float(values.min()) - low), abs(float(values.max()) - high)), what)


def _within(values: Array, low: float, high: float, what: str) -> Gap:
    """Hold every value between ``low`` and ``high``."""
    return Gap(max(low - float(values.min()), float(values.max()) - high, 0.0), what)


def _unknown(face: Folded) -> Gap:
    """Give a part that nothing surveyed calls for; its size is what it is out by."""
    return Gap(float(np.ptp(face.corners, axis=0).max()), f"the part beyond the fold '{face.name}' belongs nowhere")


def _turn_in(name: str, off: Array, depth: Array, turn_in_mm: float) -> list[Gap]:
    """Hold a turn-in to its joint (``off`` is the height above it) and to the depth of the chase."""
    return [
        _on(off, f"the {name} lies off its joint"),
        _from_to(depth, 0.0, turn_in_mm, f"the {name} misses the depth of the chase ({turn_in_mm:g} mm)"),
    ]


# --- step flashing -------------------------------------------------------------------------------------------------


def _step(survey: StepFlashing, faces: Sequence[Folded], snips: Array) -> list[Gap]:
    joints = {f"turn-in {j.number}": j for j in survey.joints}
    found: list[Gap] = []
    for face in faces:
        x, y, z = face.corners.T
        if face.name == STILL:
            found += [_on(z, "the wall face stands off the wall"), *_wall_face(survey, face, faces, snips)]
        elif (joint := joints.get(face.name)) is not None:
            off = (y - joint.y_mm - joint.slope * x) / math.hypot(1.0, joint.slope)
            found += _turn_in(face.name, off, -z, survey.turn_in_mm)
            # The lower end is cut plumb in the flat; folded into a joint that falls away from it, it splays by this.
            splay = survey.turn_in_mm * max(0.0, -joint.slope)
            found.append(
                _within(x, survey.set_back_mm - splay, math.inf, f"the {face.name} reaches past the lower end")
            )
        elif not (face.name == "arris" or face.name.startswith("return turn-in ")):
            found.append(_unknown(face))
    return found


def _wall_face(survey: StepFlashing, wall: Folded, faces: Sequence[Folded], snips: Array) -> list[Gap]:
    """Hold the edges of the wall face to the survey, and see that nothing is cut away below the water line.

    An edge that is no fold lies on the roof line, the lower or the upper end, or on a riser through the place where
    a bed joint dips to the water line. A fold on a joint ends there too, unless the upper end cuts it off sooner.
    """
    c, s = _cos_sin(survey.pitch_deg)
    water = survey.water_line_mm
    lower = ((survey.set_back_mm, 0.0), (0.0, 1.0))
    end = (survey.slope_mm * c, survey.slope_mm * s)
    upper = (end, (0.0, 1.0) if survey.upper_end is EndCut.PLUMB else (-s, c))
    riser = _cos_sin(survey.riser_deg)
    risers = [(_toe(survey, joint), riser) for joint in survey.joints]
    hung = [f.axis[:, :2] for f in faces if f.parent == STILL]
    folds = [(tuple(axis[0]), tuple(axis[1] - axis[0])) for axis in hung]
    corners = wall.corners[:, :2]
    apart = _from_lines(corners, [((0.0, 0.0), (c, s)), lower, upper, *risers, *folds])
    edges = np.maximum(apart, np.roll(apart, -1, axis=0)).min(axis=1)
    found = [Gap(float(edges.max()), "an edge of the wall face follows no joint, riser, end or roof line")]

    def height(points: Array) -> Array:
        above: Array = points[:, 1] * c - points[:, 0] * s
        return above

    for points, what in ((corners, "lead"), (snips[:, :2], "a snip")):
        above = height(points)
        depth = np.minimum(above, water - above)
        depth[np.abs(_from_lines(points, [lower])[:, 0]) <= FOLD_DEVIATION_MM] = 0.0
        found.append(Gap(float(depth.max(initial=0.0)), f"{what} is cut away below the water line"))
    toes = [
        axis[np.argmin(height(axis))]
        for f, axis in zip([f for f in faces if f.parent == STILL], hung, strict=True)
        if f.name != "arris"
    ]
    if toes:
        ends = np.array(toes)
        short = np.minimum(np.abs(height(ends) - water), _from_lines(ends, [upper])[:, 0])
        found.append(Gap(float(short.max()), "a fold ends away from the water line"))
    return found


def _toe(survey: StepFlashing, joint: BedJoint) -> tuple[float, float]:
    """Where a joint y = y0 + s x dips to the water line y = x tan p + w / cos p."""
    c, s = _cos_sin(survey.pitch_deg)
    x = (joint.y_mm - survey.water_line_mm / c) / (s / c - joint.slope)
    return (x, joint.y_mm + joint.slope * x)


PlaneLine = tuple[tuple[float, ...], tuple[float, ...]]


def _from_lines(points: Array, lines: Sequence[PlaneLine]) -> Array:
    """Distances (points x lines) from lines given by a point and a direction."""
    at, way = (np.array(part, dtype=float) for part in zip(*lines, strict=True))
    square = np.column_stack([-way[:, 1], way[:, 0]]) / np.hypot(*way.T)[:, None]
    apart: Array = np.abs(points @ square.T - (at * square).sum(axis=1))
    return apart


def _step_return(survey: StepFlashing, faces: Sequence[Folded], *, wanted: bool) -> list[Gap]:
    corner = survey.corner
    legs = [f for f in faces if f.name == "arris"]
    tucks = [f for f in faces if f.name.startswith("return turn-in ")]
    if not wanted or corner.kind is CornerKind.NONE:
        return [_unknown(face) for face in (*legs, *tucks)]
    if not legs or not tucks:
        return [Gap(corner.length_mm, "the return round the corner is missing")]
    reach = corner.length_mm
    numbers = {f"return turn-in {j.number}": j for j in survey.joints}
    found = []
    for tuck in tucks:
        x, y, z = tuck.corners.T
        joint = numbers.get(tuck.name)
        if joint is None:
            found.append(_unknown(tuck))
            continue
        found += _turn_in(tuck.name, y - joint.y_mm, x, survey.turn_in_mm)
        found.append(_from_to(z, -reach, 0.0, f"the {tuck.name} is not as long as the return ({reach:g} mm)"))
        for leg in legs:
            found.append(
                _from_to(leg.corners[:, 1], corner.foot_mm, joint.y_mm, "the return misses its foot or its joint")
            )
    for leg in legs:
        x, _, z = leg.corners.T
        found += [
            _on(x, "the return stands off the next face"),
            _from_to(z, -reach, 0.0, f"the return does not reach {reach:g} mm"),
        ]
    return found


# --- cover flashing, soaker ----------------------------------------------------------------------------------------


def _cover(survey: CoverFlashing, faces: Sequence[Folded]) -> list[Gap]:
    c, s = _cos_sin(survey.slope_deg)
    found: list[Gap] = []
    for face in faces:
        x, y, z = face.corners.T
        up = y * c - x * s  # square to the chase
        if face.name == STILL:
            lean = np.minimum(np.abs(np.roll(x, -1) - x), np.abs(np.roll(up, -1) - up))
            found += [
                _on(z, "the flashing stands off the wall"),
                _from_to(up, 0.0, survey.cover_mm, f"the flashing does not cover {survey.cover_mm:g} mm"),
                _on(lean, "an edge is neither plumb nor along the chase"),
            ]
        elif face.name == "turn-in":
            found += _turn_in(face.name, up - survey.cover_mm, -z, survey.turn_in_mm)
        else:
            found.append(_unknown(face))
    return [*found, *_missing(faces, {"turn-in": survey.turn_in_mm})]


def _soaker(survey: Soakers, faces: Sequence[Folded]) -> list[Gap]:
    shoulder, roof, up, down = (
        survey.length_mm - survey.turn_down_mm,
        survey.roof_mm,
        survey.upstand_mm,
        survey.turn_down_mm,
    )
    found: list[Gap] = []
    for face in faces:
        x, y, z = face.corners.T
        if face.name == STILL:
            found += [
                _on(z, "the roof leg stands off the roof"),
                _from_to(x, 0.0, shoulder, f"the roof leg is not {shoulder:g} mm long"),
                _from_to(y, 0.0, roof, f"the roof leg is not {roof:g} mm wide"),
            ]
        elif face.name == "upstand":
            found += [
                _on(y, "the upstand stands off the wall", roof),
                _from_to(x, 0.0, survey.length_mm, f"the upstand is not {survey.length_mm:g} mm long"),
                _from_to(z, 0.0, up, f"the upstand is not {up:g} mm high"),
            ]
        elif face.name == "turn-down":
            found += [
                _on(x, "the turn-down is not square to the roof at the head", shoulder),
                _from_to(y, 0.0, roof, f"the turn-down is not {roof:g} mm wide"),
                _from_to(z, -down, 0.0, f"the turn-down is not {down:g} mm deep"),
            ]
        else:
            found.append(_unknown(face))
    return [*found, *_missing(faces, {"upstand": up, "turn-down": down})]


def _missing(faces: Sequence[Folded], wanted: dict[str, float]) -> list[Gap]:
    """Parts that must be there, by name and size; the size is what a missing one is out by."""
    there = {face.name for face in faces}
    return [Gap(size, f"the {name} is missing") for name, size in wanted.items() if size and name not in there]


# --- apron ---------------------------------------------------------------------------------------------------------


def _apron(survey: Apron, faces: Sequence[Folded], ends: Ends) -> list[Gap]:
    c, s = _cos_sin(survey.pitch_deg)
    up, width, turn_in = survey.upstand_mm, survey.width_mm, survey.turn_in_mm
    arrises = {"left arris": 0.0, "right arris": width}
    found: list[Gap] = []
    for face in faces:
        x, y, z = face.corners.T
        off_roof = y * c + z * s
        if face.name == STILL:
            found += [
                _on(off_roof, "the cover stands off the roof"),
                _from_to(z * c - y * s, 0.0, survey.cover_mm, f"the cover is not {survey.cover_mm:g} mm wide"),
            ]
        elif face.name == "front":
            found += [
                _on(z, "the upstand stands off the front face"),
                _within(x, 0.0, width, "the upstand reaches past an arris"),
                _from_to(y, 0.0, up, f"the upstand is not {up:g} mm high"),
            ]
        elif face.name in arrises:
            found += [
                _on(x, f"the return at the {face.name} stands off the side", arrises[face.name]),
                _within(z, -survey.side_mm, 0.0, f"the return at the {face.name} reaches past the side's end"),
                _within(y, 0.0, up, f"the return at the {face.name} reaches above its joint"),
                _from_to(off_roof, 0.0, up * c, f"the return at the {face.name} does not stand on the roof"),
            ]
        elif face.name.endswith("turn-in"):
            depth = {"left arris": x, "right arris": width - x}.get(face.parent, -z)
            found += _turn_in(face.name, y - up, depth, turn_in)
        else:
            found.append(_unknown(face))
    sides = {f"{side} arris": survey.side_mm for side, there in (("left", ends[0]), ("right", ends[1])) if there}
    return [*found, *_missing(faces, {"front": up, "turn-in": turn_in, **sides})]


def _gusset(survey: Apron, faces: Sequence[Folded]) -> list[Gap]:
    """Hold a gusset to the roof beside a return: the side's length by the return's reach up the slope."""
    p = math.radians(survey.pitch_deg)
    reach = min(survey.side_mm / math.cos(p), survey.upstand_mm / math.sin(p))
    found = []
    for face in faces:
        sides = np.linalg.norm(np.roll(face.corners, -1, axis=0) - face.corners, axis=1)
        square = (
            len(sides) == 4 and abs(np.linalg.norm(face.corners[2] - face.corners[0]) - math.hypot(*sides[:2])) < 1e-9
        )
        wanted = sorted((survey.side_mm, reach) * 2)
        off = float(np.abs(np.sort(sides) - wanted).max()) if square else reach
        found.append(Gap(off, "the gusset misses its opening"))
    return found
