"""Parts against a wall, and covers on the roof below it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from cutpath.folding.gap import Gap, PlaneLine, cos_sin, edges_on, from_to, on, square_ends
from cutpath.folding.space import Array, Folded
from cutpath.values.pattern import FoldUse, Side


def on_falling_roof(face: Folded, pitch_deg: float, cover_mm: float) -> list[Gap]:
    """Hold a cover to a roof that falls away from the foot of the wall."""
    c, s = cos_sin(pitch_deg)
    _, y, z = face.corners.T
    return [
        square_ends(face, "an end of the cover is not square"),
        on(y * c + z * s, "the cover stands off the roof"),
        from_to(z * c - y * s, 0.0, cover_mm, f"the cover is not {cover_mm:g} mm wide"),
    ]


def depth_behind(face: Folded, width_mm: float) -> Array:
    """Return how deep a turn-in lies behind its face: the front, or the return at one of the arrises."""
    x, _, z = face.corners.T
    if face.parent is None or face.parent.use is not FoldUse.ARRIS:
        inwards: Array = -z
    else:
        inwards = x if face.parent.side is Side.LEFT else width_mm - x
    return inwards


def mitred(face: Folded, depth: Array, turn_in_mm: float, width_mm: float, back_mm: float) -> Gap:
    """Hold the edges of a turn-in between arrises x = 0 and x = width to its joint, its depth, its ends and mitres."""
    along, lines = face.corners[:, 0], depth_lines(turn_in_mm)
    if face.on_still:
        ends = (0.0, width_mm)
        mitres: list[PlaneLine] = [((0.0, 0.0), (1.0, 1.0)), ((width_mm, 0.0), (-1.0, 1.0))]
        lines += [((end, 0.0), (0.0, 1.0)) for end in (float(along.min()), float(along.max())) if end not in ends]
    else:
        along, mitres = -face.corners[:, 2], [((0.0, 0.0), (1.0, 1.0))]
        lines.append(((back_mm, 0.0), (0.0, 1.0)))
    return edges_on(np.column_stack([along, depth]), [*lines, *mitres], f"the {face.name} has a stray edge or mitre")


def turned_in_round(faces: Sequence[Folded], turn_in_mm: float) -> list[Gap]:
    """Find returns round an arris that do not turn into the joint; ``turn_in_mm`` is what a missing one is out by."""
    there = {face.parent.side for face in faces if face.use is FoldUse.RETURN_TURN_IN and face.parent is not None}
    return [
        Gap(turn_in_mm, f"the turn-in of the return at the {face.name} is missing")
        for face in faces
        if face.use is FoldUse.ARRIS and face.side not in there
    ]


def depth_lines(turn_in_mm: float) -> list[PlaneLine]:
    """Return the lines at the face of the wall and at the depth of the chase: (along the joint, into it)."""
    return [((0.0, 0.0), (1.0, 0.0)), ((0.0, turn_in_mm), (1.0, 0.0))]
