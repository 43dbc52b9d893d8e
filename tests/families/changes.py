"""Random roofs that change their pitch, and what must be covered there, by formulas of the tests' own."""

from __future__ import annotations

import math
from dataclasses import replace

from hypothesis import assume
from hypothesis import strategies as st
from shapely import Polygon, box

from cutpath.values.leadwork import CornerKind, EndCut, Tongue
from cutpath.values.survey import BedJoint
from tests.properties.measure import to_wall
from tests.properties.surveys import figures, job_of, pieces_of, step_flashings


@st.composite
def upper_reaches(draw, cover=False):
    """The run above a change of pitch; the one below it is in its tongue.

    One wall with uneven courses; steeper or flatter above, and always steeper where there is a cover.
    """
    low = draw(step_flashings(corners=(CornerKind.NONE, CornerKind.INTEGRAL)))
    above = draw(st.integers(150, 600)) / 10
    if cover:
        above = low.pitch_deg + draw(st.integers(1, 200)) / 10
        assume(above <= 65)
        low = replace(low, cover_mm=draw(figures(150, 250)), stock_widths_mm=(300.0, 330.0, 360.0, 390.0, 450.0))
    lap = draw(figures(100, 250))
    assume(low.slope_mm - low.set_back_mm / math.cos(math.radians(low.pitch_deg)) >= lap)
    slope = draw(figures(400, 3000))
    joints = list(low.joints)
    number, course = joints[-1].number, draw(figures(55, 120))
    rise = slope * math.sin(math.radians(above)) + low.water_line_mm / math.cos(math.radians(above)) + 400
    while joints[-1].y_mm < low.joints[-1].y_mm + rise:
        number += 1
        joints.append(BedJoint(number, joints[-1].y_mm + course, joints[-1].slope))
    low = replace(low, joints=tuple(joints), upper_end=EndCut.PLUMB, lapped_mm=lap, skip_short=draw(st.booleans()))
    p = math.radians(low.pitch_deg)
    x, y = low.slope_mm * math.cos(p), low.slope_mm * math.sin(p)
    riser = low.riser_deg if low.riser_deg > above + 15 else 90.0
    return replace(
        low,
        head=replace(low.head, label="D2"),
        pitch_deg=above,
        slope_mm=slope,
        joints=tuple(BedJoint(j.number, j.y_mm + j.slope * x - y, j.slope) for j in joints),
        riser_deg=riser,
        set_back_mm=0.0,
        upper_end=draw(st.sampled_from(EndCut)),
        corner=replace(low.corner, kind=CornerKind.NONE, length_mm=0.0, joint=None, foot_mm=0.0),
        lapped_mm=0.0,
        tongue=Tongue(low),
    )


def of_one_hand(survey, hand):
    """The lengths of a run for one hand, in fitting order; the example is dropped when there are none."""
    return [piece for piece in pieces_of(survey) if piece.hand is hand]


def both_reaches(survey):
    """The job of a whole wall, and its pieces: the run below the change first."""
    low = survey.tongue.below
    return replace(job_of(low), details=(low, survey)), [*pieces_of(low), *pieces_of(survey)]


def change_of(low):
    p = math.radians(low.pitch_deg)
    return low.slope_mm * math.cos(p), low.slope_mm * math.sin(p)


def face_on_wall(survey, piece):
    """What shows of a length on its own wall: below its folds, above its roof lines."""
    pattern = piece.pattern
    folds = [f for f in pattern.folds if f.name.startswith("turn-in ")]
    named = {s.name: at for s, at in zip(pattern.stations, on_wall(survey, pattern), strict=True)}
    feet = [at for name, at in named.items() if name == "tongue, foot of its end"]
    feet += [at for name, at in named.items() if name.endswith((" at the roof line", " at the roof edge"))]
    return Polygon([*sorted(feet), *reversed(in_order(folds, survey, pattern))])


def on_wall(survey, pattern):
    return to_wall(pattern, [station.at for station in pattern.stations], survey.pitch_deg)


def in_order(folds, survey, pattern):
    """Ends of the folds, from the lower end up."""
    ends = [sorted(to_wall(pattern, (f.start, f.end), survey.pitch_deg)) for f in folds]
    return [at for pair in sorted(ends, key=lambda pair: pair[1]) for at in pair]


def must_be_covered(low, faces):
    """The last tooth of a run above its water line, and all its lead within the lap of its upper end."""
    x, y = change_of(low)
    p = math.radians(low.pitch_deg)
    lead = faces[0]
    for face in faces[1:]:
        lead = lead.union(face)
    lap = box(x - low.lapped_mm * math.cos(p), y - 4000, x, y + 2000)
    return lead.intersection(lap)


def last_tooth(low, piece):
    """The last step's part above the water line, of the topmost length of a run."""
    folds = [f for f in piece.pattern.folds if f.name.startswith("turn-in ")]
    head, toe = in_order(folds, low, piece.pattern)[-2:]
    p, r = math.radians(low.pitch_deg), math.radians(low.riser_deg)
    way = (0.0, 1.0) if abs(head[0] - low.set_back_mm) < 1e-6 else (math.cos(r), math.sin(r))
    # From the head down the riser to the water line y = x tan p + w / cos p.
    t = (head[1] - head[0] * math.tan(p) - low.water_line_mm / math.cos(p)) / (way[1] - way[0] * math.tan(p))
    foot = (head[0] - t * way[0], head[1] - t * way[1])
    end = (toe[0], toe[0] * math.tan(p) + low.water_line_mm / math.cos(p))
    return Polygon([foot, end, toe, head])
