"""Back gutters behind a stack: upstand, level sole, and up the roof over a tilting fillet.

Run frame: x level along the back face from the left arris (x = 0) to the right one (x = width), seen by a person
who stands up the roof and faces the stack; y up the sheet. The upstand stands above y = 0; the sole lies below it
down to y = -sole; the roof's part below that. The roof meets the level sole at the pitch, so that fold bends p; the
sole stands sole x tan p above the roof where it meets the stack (derived).

Corners. Past each arris the sheet below y = 0 lies flat on the roof as a wing, the upstand goes on round the arris.
Bossed: worked from the uncut sheet; where sole and wing part is marked, nothing is cut. Welded: a cut along y = 0
and down the end of the sole frees the wing from the return; a gusset closes the triangle between sole and roof in
the plane of the stack's side, goes on under the return, and turns out on to the roof below the wing.

A level sole is never lapped. Where one length is too long, it is divided once, at a wood-cored roll at mid-length,
so that each half runs out at its own end; a third length would have no outlet.
"""

from __future__ import annotations

import math

from cutpath import sure
from cutpath.errors import Finding
from cutpath.families.arrises import arris_folds, arris_stations, arrises_of
from cutpath.families.fillets import bad_fillet, fillet_bends
from cutpath.families.frame import LABEL_CLEAR_MM, Shape, label_in, mirror_image, to_pattern
from cutpath.plane import turned
from cutpath.tolerances import POINT_MM
from cutpath.trade.rules import said
from cutpath.values.leadwork import BackGutter, CornerWork
from cutpath.values.pattern import (
    Course,
    Edge,
    EdgeUse,
    FlatPattern,
    Fold,
    FoldUse,
    FoldWay,
    Mark,
    MarkKind,
    MarkUse,
    PartKind,
    Point,
    Side,
    Snip,
    SnipUse,
    Stance,
    Station,
    StationUse,
)


def lay_out(survey: BackGutter) -> tuple[tuple[tuple[FlatPattern, int], ...], tuple[Finding, ...]]:
    """Develop a back gutter in one length or two, with its gussets.

    Returns
    -------
    patterns, findings
        Patterns and how many of each a set needs; none when a finding is a fault.
    """
    over = bad_fillet(survey.head, survey.fillet, survey.up_roof_mm, "up_roof")
    findings = [*over, *_bad_length(survey)]
    if findings:
        return (), tuple(findings)
    patterns = [_length(survey, start, end) for start, end in lengths_mm(survey)]
    right = gusset(survey)
    gussets = [right, mirror_image(right)] if right else []
    return tuple((pattern, 1) for pattern in [*patterns, *gussets]), ()


def lengths_mm(survey: BackGutter) -> list[tuple[float, float]]:
    """Return the ends of each length: one, or two that meet over a wood-cored roll at mid-length."""
    start, end = -survey.side_mm, survey.width_mm + survey.side_mm
    if end - start <= survey.head.longest_mm + POINT_MM:
        return [(start, end)]
    under_foot, over_foot = _roll_feet(survey)
    return [(start, under_foot + survey.roll_under_mm), (over_foot - survey.roll_over_mm, end)]


def _roll_feet(survey: BackGutter) -> tuple[float, float]:
    """Return the two feet of the roll: the lower sheet comes to the first, the upper sheet to the second."""
    middle, half = survey.width_mm / 2, survey.roll_core_mm / 2
    return middle - half, middle + half


def _bad_length(survey: BackGutter) -> list[Finding]:
    where, longest = survey.head.origin.key, survey.head.longest_mm
    found = []
    if survey.side_mm > 0 and survey.corners is CornerWork.WELDED and survey.side_mm <= 2 * LABEL_CLEAR_MM:
        found.append(
            Finding(
                "CP412",
                where("side"),
                f"{survey.side_mm:g} mm past the arris",
                "room for a return and a gusset, or none at all",
                "take the side about 150 mm past the stack, or have the corners bossed",
            )
        )
    worst = max(end - start for start, end in lengths_mm(survey))
    if worst > longest + POINT_MM:
        found.append(said("gutter_too_wide", where("width"), width=survey.width_mm, length=worst, longest=longest))
    return found


def _length(survey: BackGutter, start: float, end: float) -> FlatPattern:
    w, up, sole = survey.width_mm, survey.upstand_mm, survey.sole_mm
    bottom = -sole - survey.up_roof_mm
    left, right = max(start, 0.0), min(end, w)
    arrises = arrises_of(w, start, end)
    bends = fillet_bends(survey.fillet, survey.up_roof_mm) if survey.fillet else []
    folds = [
        Fold("wall", FoldUse.WALL, (left, 0.0), (right, 0.0), 90.0, FoldWay.FORWARD),
        Fold("sole", FoldUse.SOLE, (left, -sole), (right, -sole), survey.pitch_deg, FoldWay.FORWARD),
        *(bend.fold((start, -sole - bend.at_mm), (end, -sole - bend.at_mm)) for bend in bends),
        *arris_folds(arrises, lambda x: ((x, 0.0), (x, up))),
    ]
    outer = {Side.LEFT: start, Side.RIGHT: end}
    there = [side for side, _ in arrises]
    # Beside an arris the end lies open on the roof; at a roll it is held by that.
    left_end, right_end = (EdgeUse.FREE if side in there else EdgeUse.END for side in (Side.LEFT, Side.RIGHT))
    snips: list[Snip] = []
    marks = _roll_marks(survey, start, end)
    if survey.corners is CornerWork.WELDED:
        snips = [
            Snip(f"cut at the {side.value} end of the sole", ((outer[side], 0.0), (x, 0.0), (x, -sole)), SnipUse.CUT)
            for side, x in arrises
        ]
    else:
        marks += [
            Mark(f"{side.value} end of the sole", MarkKind.BOSSING, ((x, 0.0), (x, -sole)), side=side)
            for side, x in arrises
        ]
    flat = min([survey.up_roof_mm, *(bend.at_mm for bend in bends)])
    feet = [m.points[0][0] for m in marks if m.kind is MarkKind.ROLL]
    box = (max([left, *(x for x in feet if start > 0.0)]), min([right, *(x for x in feet if start <= 0.0)]))
    return to_pattern(
        Shape(
            family="back gutter",
            part=PartKind.LENGTH,
            sides=(
                ((start, bottom), Edge("free edge", EdgeUse.COVERED)),
                ((end, bottom), Edge("right end", right_end)),
                ((end, up), Edge("top of the upstand", EdgeUse.TOP)),
                ((start, up), Edge("left end", left_end)),
            ),
            folds=tuple(folds),
            label=label_in(box[0], -sole - flat, box[1] - box[0], flat),
            length_mm=end - start,
            snips=tuple(snips),
            marks=tuple(marks),
            stations=(
                Station("free edge, left end", StationUse.OPEN_EDGE_START, (start, bottom)),
                *(bend.station("left end", StationUse.START, (start, -sole - bend.at_mm)) for bend in bends),
                Station("sole fold, left", StationUse.START, (left, -sole), FoldUse.SOLE),
                Station("wall fold, left", StationUse.START, (left, 0.0), FoldUse.WALL),
                *arris_stations(arrises, "top of the upstand", StationUse.END, lambda x: (x, up)),
                *(
                    Station("foot of the roll", StationUse.ROLL_FOOT, m.points[0])
                    for m in marks
                    if m.kind is MarkKind.ROLL
                ),
                Station("sole fold, right", StationUse.END, (right, -sole), FoldUse.SOLE),
                Station("wall fold, right", StationUse.END, (right, 0.0), FoldUse.WALL),
                *(bend.station("right end", StationUse.END, (end, -sole - bend.at_mm)) for bend in bends),
                Station("free edge, right end", StationUse.OPEN_EDGE_END, (end, bottom)),
            ),
            stance=Stance.BEFORE_A_ROOF,
            course=Course.LEVEL,
        )
    )


def _roll_marks(survey: BackGutter, start: float, end: float) -> list[Mark]:
    """Mark the foot of the roll on a length that ends over or under it."""
    if start <= -survey.side_mm + POINT_MM and end >= survey.width_mm + survey.side_mm - POINT_MM:
        return []
    under_foot, over_foot = _roll_feet(survey)
    lower = start < 0.0 or start <= -survey.side_mm + POINT_MM
    x = under_foot if lower else over_foot
    name, use = ("undercloak", MarkUse.UNDERCLOAK) if lower else ("overcloak", MarkUse.OVERCLOAK)
    points = ((x, -survey.sole_mm - survey.up_roof_mm), (x, survey.upstand_mm))
    return [Mark(f"foot of the roll, {name} beyond", MarkKind.ROLL, points, use)]


def gusset(survey: BackGutter) -> FlatPattern | None:
    """Develop the gusset of the right-hand welded corner; None where none is needed. The left one is its mirror image.

    Seen from beside the stack, the roof rising to the left: a triangle under the level line of sole and return, as
    long as both, down to the roof; and the part that turns out on to the roof from the end of the wing. Edges butt:
    the leadwelder adds laps for a lapped seam.
    """
    if survey.corners is not CornerWork.WELDED or survey.side_mm == 0:
        return None
    p = math.radians(survey.pitch_deg)
    level = survey.sole_mm + survey.side_mm
    along = level / sure.cos(p)
    # Frame: x down the roof from where sole and roof meet, y square to the roof; the roof's part below y = 0.
    sole_end, heel = turned(((survey.sole_mm, 0.0), (level, 0.0)), survey.pitch_deg)
    wing, out = survey.sole_mm, survey.side_mm
    sides: tuple[tuple[Point, Edge], ...] = (
        ((wing, -out), Edge("free edge", EdgeUse.COVERED)),
        ((along, -out), Edge("lower end", EdgeUse.END)),
        ((along, 0.0), Edge("return end", EdgeUse.RETURN_END)),
        (heel, Edge("weld to the return", EdgeUse.WELD)),
        (sole_end, Edge("weld to the sole", EdgeUse.WELD)),
        ((0.0, 0.0), Edge("weld to the wing", EdgeUse.WELD)),
        ((wing, 0.0), Edge("weld to the end of the wing", EdgeUse.WELD)),
    )
    return to_pattern(
        Shape(
            family="gusset",
            part=PartKind.GUSSET,
            sides=sides,
            folds=(Fold("roof line", FoldUse.ROOF_LINE, (wing, 0.0), (along, 0.0), 90.0, FoldWay.FORWARD),),
            label=label_in(wing, -out, along - wing, out),
            length_mm=along,
            stations=(
                Station("where sole and roof meet", StationUse.GUSSET_TIP, (0.0, 0.0)),
                Station("end of the wing", StationUse.START, (wing, 0.0), FoldUse.ROOF_LINE),
                Station("arris", StationUse.GUSSET_ARRIS, sole_end),
                Station("lower end on the roof line", StationUse.END, (along, 0.0), FoldUse.ROOF_LINE),
                Station("lower end at the return", StationUse.GUSSET_HEEL, heel),
            ),
        )
    )
