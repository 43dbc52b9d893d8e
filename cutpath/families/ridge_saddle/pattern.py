"""Ridge saddles: where a ridge runs into a wall, up the wall and down both slopes.

Run frame: x across the ridge, y up the sheet, both from the point where the ridge meets the wall. The roof's part
lies below y = 0, folded along the ridge (x = 0) by twice the pitch; the wall's part stands above.

Each slope stands square to the wall along its own slope line, so the folds on y = 0 bend 90. About the point the wall
needs 180 + 2p and the roof 180: together 2p more than flat sheet has (derived). Bossed: the lead is worked out there
from the uncut sheet. Welded: a cut up the middle of the wall's part opens by 2p, and a gusset fills it.
"""

from __future__ import annotations

import math

from cutpath import sure
from cutpath.errors import Finding
from cutpath.families.frame import LABEL_CLEAR_MM, Shape, label_in, to_pattern
from cutpath.tolerances import POINT_MM
from cutpath.values.leadwork import CornerWork, RidgeSaddle
from cutpath.values.pattern import (
    Edge,
    EdgeUse,
    FlatPattern,
    Fold,
    FoldUse,
    FoldWay,
    LabelBox,
    Mark,
    MarkKind,
    PartKind,
    Side,
    Snip,
    SnipUse,
    Stance,
    Station,
    StationUse,
)


def bad_upstand(survey: RidgeSaddle) -> tuple[Finding, ...]:
    """Find a sheet that goes up the wall whole, so that nothing of it lies on the ridge."""
    if survey.upstand_mm < survey.length_mm - POINT_MM:
        return ()
    return (
        Finding(
            "CP412",
            survey.head.origin.key("upstand"),
            f"{survey.upstand_mm:g} mm up the wall of a sheet {survey.length_mm:g} mm long",
            "a sheet that is longer than that, with the rest of it on the ridge",
            "Take a longer sheet, or less of it up the wall.",
        ),
    )


def saddle(survey: RidgeSaddle) -> FlatPattern:
    """Develop the sheet of a ridge saddle."""
    half, up = survey.width_mm / 2, survey.upstand_mm
    down = survey.length_mm - up
    p = math.radians(survey.pitch_deg)
    welded = survey.corners is CornerWork.WELDED
    reach = min(up / sure.cos(p), half / sure.sin(p))
    marks = [
        Mark(
            f"bossing, {side.value}",
            MarkKind.BOSSING,
            ((0.0, 0.0), (way * reach * sure.sin(p), reach * sure.cos(p))),
            side=side,
        )
        for side, way in ((Side.LEFT, -1), (Side.RIGHT, 1))
    ]
    return to_pattern(
        Shape(
            family="ridge saddle",
            part=PartKind.SADDLE,
            sides=(
                ((-half, -down), Edge("lower edge", EdgeUse.FREE)),
                ((half, -down), Edge("right edge", EdgeUse.FREE)),
                ((half, up), Edge("top of the upstand", EdgeUse.TOP)),
                ((-half, up), Edge("left edge", EdgeUse.FREE)),
            ),
            folds=(
                Fold("ridge", FoldUse.RIDGE, (0.0, -down), (0.0, 0.0), 2 * survey.pitch_deg, FoldWay.BACK),
                Fold("wall, left", FoldUse.WALL, (-half, 0.0), (0.0, 0.0), 90.0, FoldWay.FORWARD, side=Side.LEFT),
                Fold("wall, right", FoldUse.WALL, (0.0, 0.0), (half, 0.0), 90.0, FoldWay.FORWARD, side=Side.RIGHT),
            ),
            label=label_in(0.0, -down, half, down),
            length_mm=max(survey.width_mm, survey.length_mm),
            snips=(Snip("cut up the wall", ((0.0, up), (0.0, 0.0)), SnipUse.CUT),) if welded else (),
            marks=() if welded else tuple(marks),
            stations=(
                Station("ridge at the lower edge", StationUse.START, (0.0, -down), FoldUse.RIDGE),
                Station("ridge at the wall", StationUse.END, (0.0, 0.0), FoldUse.RIDGE),
                Station("wall fold, left", StationUse.START, (-half, 0.0), FoldUse.WALL, side=Side.LEFT),
                Station("wall fold, right", StationUse.END, (half, 0.0), FoldUse.WALL, side=Side.RIGHT),
            ),
            stance=Stance.BEFORE_A_ROOF,
        )
    )


def gusset(survey: RidgeSaddle) -> FlatPattern | None:
    """Develop the gusset of a welded saddle: it stands on the ridge and opens by twice the pitch; None if bossed.

    Drawn point up, its upper edge along x. Edges butt: the leadwelder adds laps for a lapped seam.
    """
    if survey.corners is not CornerWork.WELDED:
        return None
    p = math.radians(survey.pitch_deg)
    half, high = survey.upstand_mm * sure.sin(p), survey.upstand_mm * sure.cos(p)
    clear = LABEL_CLEAR_MM
    weld = Edge("weld to the saddle", EdgeUse.WELD)
    tall = max((high - 2 * clear) / 2, 1.0)
    return to_pattern(
        Shape(
            family="gusset",
            part=PartKind.GUSSET,
            sides=(((-half, 0.0), Edge("top of the upstand", EdgeUse.TOP)), ((half, 0.0), weld), ((0.0, high), weld)),
            folds=(),
            label=LabelBox((-half / 3, min(clear, high / 4)), 0.0, 2 * half / 3, min(tall, high / 4)),
            length_mm=max(2 * half, high),
            stations=(Station("foot on the ridge", StationUse.GUSSET_TIP, (0.0, high)),),
        )
    )
