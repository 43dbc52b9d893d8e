"""A gutter beside a wall laid open, and cut square to the slope."""

from __future__ import annotations

from collections.abc import Iterable

from cutpath.families.laid import Laid
from cutpath.families.slopes import Slope, slope_elevation
from cutpath.paper.brickwork import View
from cutpath.paper.dimensions import between
from cutpath.paper.ink import Ink, line
from cutpath.paper.markup import number
from cutpath.paper.section import BELOW_MM, BEYOND_MM, cut_wall, profile, section
from cutpath.paper.text import millimetres
from cutpath.paper.wall_sheet import Elevation
from cutpath.plane import moved
from cutpath.values.leadwork import AbutmentGutter
from cutpath.values.pattern import FlatPattern


def views(laid: Laid[AbutmentGutter]) -> Iterable[Elevation]:
    """Draw the gutter laid open, and a section."""
    gutter = laid.survey
    slope = Slope(
        turn_deg=gutter.pitch_deg,
        levels=(-gutter.sole_mm - gutter.edge_mm, gutter.upstand_mm),
        number_at=(-gutter.sole_mm / 2, gutter.sole_mm),
        along_wall=True,
        folds="line that runs out at both ends: where wall and roof meet; upstand above it, sole and the turned-up "
        "edge below",
    )
    side, pitch = laid.hand.value if laid.hand else "right", number(round(gutter.pitch_deg, 1))
    yield slope_elevation(
        slope,
        laid.hand,
        laid.lengths,
        title=f"{laid.label}: the gutter beside the wall",
        words=f"facing the wall, roof rising to the {side} at {pitch}°; sole laid open",
    )
    if laid.is_first_hand:
        yield abutment_section(gutter, laid.lengths[0].pattern)


def abutment_section(survey: AbutmentGutter, pattern: FlatPattern) -> Elevation:
    """Cut a gutter beside a wall square to the slope."""
    lead = moved(profile(pattern, -90.0), 0.0, survey.upstand_mm)
    far = survey.sole_mm + BEYOND_MM

    def draw(view: View) -> list[Ink]:
        inks: list[Ink] = [*cut_wall(view, -BELOW_MM, survey.upstand_mm + BEYOND_MM)]
        inks.append(line("roof-line", *view.all(((0.0, 0.0), (far, 0.0)))))
        inks.append(line("section-lead", *view.all(lead), piece="gutter"))
        inks += between(
            view.at((0.0, 0.0)), view.at((0.0, survey.upstand_mm)), (-6.0, 0.0), millimetres(survey.upstand_mm)
        )
        inks += between(view.at((0.0, 0.0)), view.at((survey.sole_mm, 0.0)), (0.0, 7.0), millimetres(survey.sole_mm))
        edge = view.at((survey.sole_mm, 0.0)), view.at((survey.sole_mm, survey.edge_mm))
        inks += between(*edge, (6.0, 0.0), millimetres(survey.edge_mm))
        return inks

    return section(
        draw,
        title=f"{survey.head.label}: section square to the slope",
        words="wall to the left, sole on the roof",
        notes=["the outer edge is turned up under the covering", "a cover flashing over the upstand is not part of it"],
    )
