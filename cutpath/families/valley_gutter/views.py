"""A valley gutter laid open, and cut square to the valley."""

from __future__ import annotations

import math
from collections.abc import Iterable

from cutpath import sure
from cutpath.families.laid import Laid
from cutpath.families.slopes import Slope, slope_elevation
from cutpath.paper.brickwork import View
from cutpath.paper.dimensions import angle, between
from cutpath.paper.ink import Ink, line
from cutpath.paper.markup import number
from cutpath.paper.section import BEYOND_MM, fillet_in_section, levels, profile, section, up_slope
from cutpath.paper.text import millimetres
from cutpath.paper.wall_sheet import Elevation
from cutpath.plane import bounds_mm, moved, to_run_frame, turned
from cutpath.tolerances import POINT_MM
from cutpath.values.leadwork import ValleyGutter
from cutpath.values.pattern import FlatPattern


def views(laid: Laid[ValleyGutter]) -> Iterable[Elevation]:
    """Draw the valley laid open, and a section."""
    valley = laid.survey
    half = valley.width_mm / 2
    folds = "lines along it: folds along the middle and the feet, crests and backs of the fillets"
    folds = folds if valley.fillet else "line along it: fold along the middle"
    slope = Slope(
        turn_deg=0.0,
        levels=(-half, 0.0, half),
        number_at=(half / 4, half / 2),
        along_wall=False,
        folds=f"{folds}; one roof lies above, the other below",
    )
    fall = number(round(valley.true_pitch_deg, 1))
    yield slope_elevation(
        slope,
        laid.hand,
        laid.lengths,
        title=f"{laid.label}: the valley with its lead",
        words=f"laid open, lower end at the left; the valley rises at {fall}°",
    )
    if laid.is_first_hand:
        yield valley_section(valley, laid.lengths[0].pattern)


def valley_section(survey: ValleyGutter, pattern: FlatPattern) -> Elevation:
    """Cut a valley gutter square to the valley, seen by a person who looks up it."""
    right, left = valley_slopes_deg(survey)  # the second roof lies to the left of a person who looks up
    corners = profile(pattern, 0.0)
    _, low, _, top = bounds_mm(to_run_frame(pattern, pattern.outline))
    at = next(i for i, y in enumerate(levels(pattern, low, top)) if abs(y) <= POINT_MM)
    (x0, y0), (x1, y1) = corners[at - 1], corners[at]  # the part of the second roof that comes down to the middle
    turn = -left - math.degrees(sure.atan2(y1 - y0, x1 - x0))
    lead = turned(moved(corners, -x1, -y1), turn)
    reach = survey.width_mm / 2 + BEYOND_MM

    def draw(view: View) -> list[Ink]:
        ends = [(-reach * sure.cos(math.radians(left)), reach * sure.sin(math.radians(left)))]
        ends.append((reach * sure.cos(math.radians(right)), reach * sure.sin(math.radians(right))))
        inks: list[Ink] = [line("roof-line", *view.all((ends[0], (0.0, 0.0), ends[1])))]
        inks += fillet_in_section(view, survey.fillet, (0.0, 0.0), right)
        inks += fillet_in_section(view, survey.fillet, (0.0, 0.0), left, side=-1)
        inks.append(line("section-lead", *view.all(lead), piece="gutter"))
        for end, slope, way in ((lead[0], left, -1.0), (lead[-1], right, 1.0)):
            foot = up_slope(survey.fillet.foot_mm if survey.fillet else math.hypot(*end), slope)
            square = math.radians(slope)
            off = (way * sure.sin(square) * 5.0, sure.cos(square) * 5.0)
            stretch = [(0.0, 0.0), (way * foot[0], foot[1])]
            a, b = view.all(stretch if way > 0 else reversed(stretch))
            inks += between(a, b, off, millimetres(math.hypot(*foot)))
        origin = view.at((0.0, 0.0))
        # The angles stand farther out than the dimensions, which lie below the roofs too.
        out = (survey.fillet.foot_mm if survey.fillet else survey.width_mm / 2) / view.scale + 10.0
        for way in (-1.0, 1.0):  # level as far as an angle needs it: in flat valleys it would cross the dimensions
            legs = [(origin[0] + way * far, origin[1]) for far in (out - 6.0, out + 2.0)]
            inks.append(line("guide", *legs))
        inks += angle(origin, -right, 0.0, out, f"{number(round(right, 1))}°")
        inks += angle(origin, 180.0, 180.0 + left, out, f"{number(round(left, 1))}°")
        return inks

    over = ", measured over its fillet; figured is the foot of the fillet" if survey.fillet else ""
    notes = [f"half of the sheet, {millimetres(survey.width_mm / 2)} mm, lies on each roof{over}"]
    notes.append("square to the valley the roofs stand flatter than their pitch: use these angles for a template only")
    return section(
        draw,
        title=f"{survey.head.label}: section square to the valley",
        words="looking up the valley",
        notes=notes,
    )


def valley_slopes_deg(survey: ValleyGutter) -> tuple[float, float]:
    """Return the slopes of the first and second roof in a section square to the valley.

    Both roofs contain the valley, so each stands against the section's own level by the angle between its normal and
    the normal of the slope of the valley (derived).
    """
    t = math.radians(survey.true_pitch_deg)

    def across(pitch_deg: float) -> float:
        return math.degrees(sure.acos(min(1.0, sure.cos(math.radians(pitch_deg)) / sure.cos(t))))

    return across(survey.pitch_deg), across(survey.other_pitch_deg)
