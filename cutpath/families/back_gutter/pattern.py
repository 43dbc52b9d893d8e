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

from cutpath.errors import Finding
from cutpath.families.fillets import bad_fillet, fillet_bends
from cutpath.families.frame import LABEL_CLEAR_MM, Shape, mirror_image, to_pattern
from cutpath.plane import turned
from cutpath.tolerances import POINT_MM
from cutpath.trade.rules import said
from cutpath.values.pattern import FlatPattern, Fold, FoldWay, LabelBox, Mark, MarkKind, Point, Snip, Station
from cutpath.values.survey import BackGutter, CornerWork


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
    arrises = [("left", 0.0)] * (start < 0.0) + [("right", w)] * (end > w)
    bends = fillet_bends(survey.fillet, survey.up_roof_mm) if survey.fillet else []
    folds = [
        Fold("wall", (left, 0.0), (right, 0.0), 90.0, FoldWay.FORWARD),
        Fold("sole", (left, -sole), (right, -sole), survey.pitch_deg, FoldWay.FORWARD),
        *(
            Fold(name, (start, -sole - at), (end, -sole - at), abs(bend), FoldWay.FORWARD if bend > 0 else FoldWay.BACK)
            for name, at, bend in bends
        ),
        *(Fold(f"{side} arris", (x, 0.0), (x, up), 90.0, FoldWay.BACK) for side, x in arrises),
    ]
    outer = {"left": start, "right": end}
    snips: list[Snip] = []
    marks = _roll_marks(survey, start, end)
    if survey.corners is CornerWork.WELDED:
        snips = [
            Snip(f"cut at the {side} end of the sole", ((outer[side], 0.0), (x, 0.0), (x, -sole)))
            for side, x in arrises
        ]
    else:
        marks += [Mark(f"{side} end of the sole", MarkKind.BOSSING, ((x, 0.0), (x, -sole))) for side, x in arrises]
    clear = LABEL_CLEAR_MM
    flat = min([survey.up_roof_mm, *(at for _, at, _ in bends)])
    feet = [m.points[0][0] for m in marks if m.kind is MarkKind.ROLL]
    box = (max([left, *(x for x in feet if start > 0.0)]), min([right, *(x for x in feet if start <= 0.0)]))
    return to_pattern(
        Shape(
            family="back gutter",
            sides=(
                ((start, bottom), "free edge"),
                ((end, bottom), "right end"),
                ((end, up), "top of upstand"),
                ((start, up), "left end"),
            ),
            folds=tuple(folds),
            label=LabelBox(
                (box[0] + clear, -sole - flat + clear),
                0.0,
                max(box[1] - box[0] - 2 * clear, 1.0),
                max(flat - 2 * clear, 1.0),
            ),
            length_mm=end - start,
            snips=tuple(snips),
            marks=tuple(marks),
            stations=(
                Station("free edge, left end", (start, bottom)),
                *(Station(f"{name}, left end", (start, -sole - at)) for name, at, _ in bends),
                Station("sole fold, left", (left, -sole)),
                Station("wall fold, left", (left, 0.0)),
                *(Station(f"{side} arris at the top of the upstand", (x, up)) for side, x in arrises),
                *(Station("foot of the roll", m.points[0]) for m in marks if m.kind is MarkKind.ROLL),
                Station("sole fold, right", (right, -sole)),
                Station("wall fold, right", (right, 0.0)),
                *(Station(f"{name}, right end", (end, -sole - at)) for name, at, _ in bends),
                Station("free edge, right end", (end, bottom)),
            ),
        )
    )


def _roll_marks(survey: BackGutter, start: float, end: float) -> list[Mark]:
    """Mark the foot of the roll on a length that ends over or under it."""
    if start <= -survey.side_mm + POINT_MM and end >= survey.width_mm + survey.side_mm - POINT_MM:
        return []
    under_foot, over_foot = _roll_feet(survey)
    lower = start < 0.0 or start <= -survey.side_mm + POINT_MM
    x = under_foot if lower else over_foot
    name = "foot of the roll, undercloak beyond" if lower else "foot of the roll, overcloak beyond"
    return [Mark(name, MarkKind.ROLL, ((x, -survey.sole_mm - survey.up_roof_mm), (x, survey.upstand_mm)))]


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
    along = level / math.cos(p)
    # Frame: x down the roof from where sole and roof meet, y square to the roof; the roof's part below y = 0.
    sole_end, heel = turned(((survey.sole_mm, 0.0), (level, 0.0)), survey.pitch_deg)
    wing, out = survey.sole_mm, survey.side_mm
    sides: tuple[tuple[Point, str], ...] = (
        ((wing, -out), "free edge"),
        ((along, -out), "lower end"),
        ((along, 0.0), "return end"),
        (heel, "weld to return"),
        (sole_end, "weld to sole"),
        ((0.0, 0.0), "weld to wing"),
        ((wing, 0.0), "weld to the end of the wing"),
    )
    clear = LABEL_CLEAR_MM
    return to_pattern(
        Shape(
            family="gusset",
            sides=sides,
            folds=(Fold("roof line", (wing, 0.0), (along, 0.0), 90.0, FoldWay.FORWARD),),
            label=LabelBox(
                (wing + clear, -out + clear), 0.0, max(along - wing - 2 * clear, 1.0), max(out - 2 * clear, 1.0)
            ),
            length_mm=along,
            stations=(
                Station("where sole and roof meet", (0.0, 0.0)),
                Station("end of the wing", (wing, 0.0)),
                Station("arris", sole_end),
                Station("lower end on the roof line", (along, 0.0)),
                Station("lower end at the return", heel),
            ),
        )
    )
