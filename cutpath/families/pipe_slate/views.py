"""A lead slate cut up the roof through the middle of its pipe."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from cutpath import sure
from cutpath.families.laid import Laid
from cutpath.paper.brickwork import View
from cutpath.paper.dimensions import FIGURE, between
from cutpath.paper.ink import Ink, Words, line
from cutpath.paper.markup import number
from cutpath.paper.section import BEYOND_MM, section, up_slope
from cutpath.paper.text import millimetres
from cutpath.paper.wall_sheet import Elevation
from cutpath.values.leadwork import PipeSlate
from cutpath.values.pattern import PartKind
from cutpath.values.piece import Piece


def views(laid: Laid[PipeSlate]) -> Iterable[Elevation]:
    """Draw the section."""
    yield pipe_section(laid.survey, laid.lengths)


def pipe_section(survey: PipeSlate, pieces: Sequence[Piece]) -> Elevation:
    """Cut a lead slate up the roof through the middle of the pipe; x = 0 is its axis."""
    p = math.radians(survey.pitch_deg)
    bore, sleeve = survey.pipe_mm / 2, survey.pipe_mm / 2 + survey.clearance_mm
    top = sleeve * sure.tan(p) + survey.sleeve_mm
    low, high = (
        up_slope(way * (sleeve / sure.cos(p) + reach), survey.pitch_deg)
        for way, reach in ((-1, survey.below_mm), (1, survey.above_mm))
    )
    feet = [(-sleeve, -sleeve * sure.tan(p)), (sleeve, sleeve * sure.tan(p))]
    clearance = millimetres(survey.clearance_mm)
    ids = {piece.pattern.part: piece.id for piece in reversed(pieces)}
    base, tube = ids.get(PartKind.BASE, ""), ids.get(PartKind.SLEEVE, "")

    def draw(view: View) -> list[Ink]:
        beyond = BEYOND_MM * sure.cos(p), BEYOND_MM * sure.sin(p)
        ends = (low[0] - beyond[0], low[1] - beyond[1]), (high[0] + beyond[0], high[1] + beyond[1])
        inks: list[Ink] = [line("roof-line", *view.all(ends))]
        pipe = (((x, -BEYOND_MM), (x, top + BEYOND_MM / 2)) for x in (-bore, bore))
        inks += (line("wall-edge", *view.all(side)) for side in pipe)
        for end, foot in zip((low, high), feet, strict=True):
            inks.append(line("section-lead", *view.all((end, foot)), piece=base))
            inks.append(line("section-lead", *view.all((foot, (foot[0], top))), piece=tube))
        off = (sure.sin(p) * 5.0, sure.cos(p) * 5.0)
        inks += between(view.at(low), view.at(feet[0]), off, millimetres(survey.below_mm))
        inks += between(view.at(feet[1]), view.at(high), off, millimetres(survey.above_mm))
        inks += between(view.at(feet[1]), view.at((sleeve, top)), (-3.5, 0.0), millimetres(survey.sleeve_mm))
        lower = survey.sleeve_mm + feet[1][1] - feet[0][1]
        inks += between(view.at(feet[0]), view.at((-sleeve, top)), (-8.0, 0.0), millimetres(lower))
        inks += between(view.at((-bore, top)), view.at((bore, top)), (0.0, -7.0), millimetres(survey.pipe_mm))
        # The height inside the pipe, clear of the base however steep it is, and the number beside it.
        x, y = view.at((-sleeve, top / 2))
        inks.append(Words(tube, (x + FIGURE + 0.8, y), "id", FIGURE, "middle", -90.0))
        x, y = view.at(high)
        inks.append(Words(base, (x - 1.0, y - 1.5), "id", FIGURE, "end"))
        return inks

    return section(
        draw,
        title=f"{survey.head.label}: section through the lead slate",
        words=f"through the middle of the pipe, roof rising to the right at {number(round(survey.pitch_deg, 1))}°",
        notes=(
            f"the sleeve stands {clearance} mm clear of the pipe all round and is leadwelded to the base",
            f"the base reaches {millimetres(survey.side_mm)} mm to either side of the sleeve",
        ),
        smallest=10.0,
    )
