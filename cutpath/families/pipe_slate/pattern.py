"""Lead slates: a flat base on the roof with a hole, and a sleeve that stands plumb round the pipe.

The sleeve is a cylinder cut by the roof. Counted round from the seam on the upper side, its foot drops by
r tan p (1 - cos a) to the lower side (derived); the hole is the same curve seen in the roof, an ellipse 2r wide and
2r / cos p long. Curves become chords that stand off by `CHORD_SAGITTA_MM` at most, with corners at the same places
on hole and sleeve, so that the two meet corner to corner. Curves are those of the middle of the sheet: the half of its
thickness that lies inside is held by the clearance.
"""

from __future__ import annotations

import math

from cutpath import sure
from cutpath.errors import Finding
from cutpath.families.frame import Shape, label_in, to_pattern
from cutpath.tolerances import CHORD_SAGITTA_MM, POINT_MM
from cutpath.values.leadwork import PipeSlate
from cutpath.values.pattern import (
    Edge,
    EdgeUse,
    FlatPattern,
    Mark,
    MarkKind,
    MarkUse,
    PartKind,
    Point,
    Side,
    Stance,
    Station,
    StationUse,
)


def radius_mm(survey: PipeSlate) -> float:
    """Return the sleeve's radius: the pipe's, and the clearance round it."""
    return survey.pipe_mm / 2 + survey.clearance_mm


def bad_clearance(survey: PipeSlate) -> tuple[Finding, ...]:
    """Find a sleeve that would not go over its pipe: half of its sheet lies inside the line by which it is cut."""
    clearance, half = survey.clearance_mm, survey.head.lead.thickness_mm / 2
    if clearance >= half - POINT_MM:
        return ()
    return (
        Finding(
            "CP412",
            survey.head.origin.key("clearance"),
            f"{clearance:g} mm between pipe and sleeve, in lead {2 * half:g} mm thick",
            f"at least {half:g} mm, half of its thickness, or the sleeve does not go over the pipe",
            "Leave the key out, or add what the pipe needs to move.",
        ),
    )


def chords(survey: PipeSlate) -> int:
    """Return the number of chords round the pipe, a multiple of 8, for which neither curve stands off too far.

    Chords of the ellipse stand off by a circle's figure, stretched by 1 / cos p at most; those of the developed
    edge by s^2 tan p / 8r for a step s round the pipe.
    """
    r, p = radius_mm(survey), math.radians(survey.pitch_deg)
    round_hole = math.pi / sure.acos(1 - min(CHORD_SAGITTA_MM * sure.cos(p) / r, 1.0))
    along_edge = 2 * math.pi * r / math.sqrt(8 * r * CHORD_SAGITTA_MM / sure.tan(p))
    return 8 * math.ceil(max(round_hole, along_edge) / 8)


def base(survey: PipeSlate) -> FlatPattern:
    """Develop the base: seen from above, the lower edge along x, the hole's middle at the run frame's origin."""
    r, p, n = radius_mm(survey), math.radians(survey.pitch_deg), chords(survey)
    half_long = r / sure.cos(p)
    side, low, high = r + survey.side_mm, -half_long - survey.below_mm, half_long + survey.above_mm
    hole = tuple(
        (r * sure.sin(a), half_long * sure.cos(a)) for a in (2 * math.pi * k / n for k in range(n))
    )  # clockwise from the upper end
    return to_pattern(
        Shape(
            family="lead slate",
            part=PartKind.BASE,
            sides=(
                ((-side, low), Edge("lower edge", EdgeUse.END)),
                ((side, low), Edge("right edge", EdgeUse.COVERED)),
                ((side, high), Edge("upper edge", EdgeUse.HEAD)),
                ((-side, high), Edge("left edge", EdgeUse.COVERED)),
            ),
            folds=(),
            label=label_in(-side, low, 2 * side, survey.below_mm),
            length_mm=max(2 * side, high - low),
            marks=(Mark("up the roof", MarkKind.CENTRE, ((0.0, half_long), (0.0, high))),),
            stations=(
                Station("hole, left", StationUse.HOLE_SIDE, (-r, 0.0), side=Side.LEFT),
                Station("hole, lower end", StationUse.HOLE_LOW, (0.0, -half_long)),
                Station("hole, upper end", StationUse.HOLE_HIGH, (0.0, half_long)),
                Station("hole, right", StationUse.HOLE_SIDE, (r, 0.0), side=Side.RIGHT),
            ),
            holes=(hole,),
            stance=Stance.LYING,
        )
    )


def foot_mm(survey: PipeSlate, round_mm: float) -> float:
    """Return the sleeve's length at a distance round the pipe from the seam's line on the upper side."""
    r, p = radius_mm(survey), math.radians(survey.pitch_deg)
    return survey.sleeve_mm + r * sure.tan(p) * (1 - sure.cos(round_mm / r))


def sleeve(survey: PipeSlate) -> FlatPattern:
    """Develop the sleeve, seen from outside and turned over: its level top along x, its foot above.

    The seam is on the upper side of the pipe, where it is shortest; the lap goes on beyond the full girth.
    """
    r, n = radius_mm(survey), chords(survey)
    girth = 2 * math.pi * r
    end = girth + survey.seam_mm
    step = girth / n
    other_edge = ((girth, 0.0), (girth, foot_mm(survey, girth)))
    stops = [*(step * k for k in range(math.ceil(end / step - POINT_MM))), end]
    foot: list[Point] = [(x, foot_mm(survey, x)) for x in reversed(stops)]
    edges = [Edge("weld to the base", EdgeUse.WELD)] * (len(foot) - 1)
    return to_pattern(
        Shape(
            family="sleeve",
            part=PartKind.SLEEVE,
            sides=(
                ((0.0, 0.0), Edge("top of the sleeve", EdgeUse.TOP)),
                ((end, 0.0), Edge("outer edge of the seam", EdgeUse.SEAM_OVER)),
                *zip(foot, [*edges, Edge("inner edge of the seam", EdgeUse.SEAM_UNDER)], strict=True),
            ),
            folds=(),
            label=label_in(0.0, 0.0, girth, survey.sleeve_mm),
            length_mm=end,
            marks=(Mark("line of the inner edge", MarkKind.LAP, other_edge, MarkUse.SEAM),),
            stations=tuple(
                Station(
                    f"foot, {name}", StationUse.SLEEVE_FOOT, (girth * k / 8, foot_mm(survey, girth * k / 8)), number=k
                )
                for k, name in enumerate(
                    (
                        "inner edge of the seam",
                        "1/8 round",
                        "1/4 round",
                        "3/8 round",
                        "lower side",
                        "5/8 round",
                        "3/4 round",
                        "7/8 round",
                        "line of the inner edge",
                    )
                )
            ),
            stance=Stance.LYING,
        )
    )
