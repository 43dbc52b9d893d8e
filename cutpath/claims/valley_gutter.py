"""Valley gutters against their two roofs; frames of `cutpath.values.proof`."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from cutpath import sure
from cutpath.folding.claim import Claims
from cutpath.folding.gap import Ends, Gap, cos_sin, unknown
from cutpath.folding.on_roofs import along, ends_of_all_folds, up_roof
from cutpath.folding.space import Folded
from cutpath.recheck.second import Second
from cutpath.recheck.sizes import check_fillet
from cutpath.recheck.slopes import check_valley, valley_rise
from cutpath.values.leadwork import ValleyGutter
from cutpath.values.pattern import OVER_FILLET, FoldUse, Side


def valley_gaps(survey: ValleyGutter, faces: Sequence[Folded], ends: Ends) -> list[Gap]:
    """Hold a valley to its two roofs; the second lies in z = 0, the first beyond the angle between their normals."""
    one, other = cos_sin(survey.pitch_deg), cos_sin(survey.other_pitch_deg)
    bend = sure.acos(float(np.dot((one[1], 0.0, one[0]), (0.0, other[1], other[0]))))
    c, s = sure.cos(bend), sure.sin(bend)
    there = {(face.use, face.side): face for face in faces}
    found = along(faces, survey.length_mm, ends)
    for first, roof in ((FoldUse.VALLEY, Side.FIRST_ROOF), (None, Side.SECOND_ROOF)):
        parts = []
        for key in ((first, None), *((use, roof) for use in OVER_FILLET)):
            if (face := there.pop(key, None)) is not None:
                _, y, z = face.corners.T
                on_second = roof is Side.SECOND_ROOF
                name = "" if face.is_still else face.name
                parts.append((name, y, z) if on_second else (name, z * s - y * c, y * s + z * c))
        found += up_roof(parts, survey.fillet, survey.width_mm / 2)
    return [*found, *(unknown(face) for face in there.values())]


CLAIMS = Claims(
    gaps=lambda survey, piece: valley_gaps(survey, piece.faces, piece.ends),
    levels=lambda survey: (-survey.width_mm / 2, survey.width_mm / 2),
    points=ends_of_all_folds,
)

SECOND = Second(
    "valley_gutter",
    sizes=(
        ("length", "length_mm", ""),
        ("width", "width_mm", "valley_width"),
        ("turn_over", "turn_over_mm", "gutter_turn_over"),  # no key of a job
    ),
    run_mm=lambda valley: valley.length_mm,
    further=lambda asked, valley: check_fillet(asked, valley.fillet, "valley_fillet_foot"),
    survey=check_valley,
    rise=lambda _, valley: valley_rise(valley.pitch_deg, valley.other_pitch_deg),
)
