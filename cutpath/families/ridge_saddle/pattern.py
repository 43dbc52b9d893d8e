"""Ridge saddles: where a ridge runs into a wall, up the wall and down both slopes.

Run frame: x across the ridge, y up the sheet, both from the point where the ridge meets the wall. The roof's part
lies below y = 0, folded along the ridge (x = 0) by twice the pitch; the wall's part stands above.

Each slope stands square to the wall along its own slope line, so the folds on y = 0 bend 90. About the point the wall
needs 180 + 2p and the roof 180: together 2p more than flat sheet has (derived). Bossed: the lead is worked out there
from the uncut sheet. Welded: a cut up the middle of the wall's part opens by 2p, and a gusset fills it.
"""

from __future__ import annotations

import math

from cutpath.families.frame import LABEL_CLEAR_MM, Shape, to_pattern
from cutpath.values.pattern import FlatPattern, Fold, FoldWay, LabelBox, Mark, MarkKind, Snip, Station
from cutpath.values.survey import CornerWork, RidgeSaddle


def saddle(survey: RidgeSaddle) -> FlatPattern:
    """Develop the sheet of a ridge saddle."""
    half, up = survey.width_mm / 2, survey.upstand_mm
    down = survey.length_mm - up
    p = math.radians(survey.pitch_deg)
    welded = survey.corners is CornerWork.WELDED
    reach = min(up / math.cos(p), half / math.sin(p))
    marks = [
        Mark(f"bossing, {side}", MarkKind.BOSSING, ((0.0, 0.0), (way * reach * math.sin(p), reach * math.cos(p))))
        for side, way in (("left", -1), ("right", 1))
    ]
    clear = LABEL_CLEAR_MM
    return to_pattern(
        Shape(
            family="ridge saddle",
            sides=(
                ((-half, -down), "lower edge"),
                ((half, -down), "right edge"),
                ((half, up), "top of upstand"),
                ((-half, up), "left edge"),
            ),
            folds=(
                Fold("ridge", (0.0, -down), (0.0, 0.0), 2 * survey.pitch_deg, FoldWay.BACK),
                Fold("wall, left", (-half, 0.0), (0.0, 0.0), 90.0, FoldWay.FORWARD),
                Fold("wall, right", (0.0, 0.0), (half, 0.0), 90.0, FoldWay.FORWARD),
            ),
            label=LabelBox((clear, -down + clear), 0.0, max(half - 2 * clear, 1.0), max(down - 2 * clear, 1.0)),
            length_mm=max(survey.width_mm, survey.length_mm),
            snips=(Snip("cut up the wall", ((0.0, up), (0.0, 0.0))),) if welded else (),
            marks=() if welded else tuple(marks),
            stations=(
                Station("ridge at the lower edge", (0.0, -down)),
                Station("ridge at the wall", (0.0, 0.0)),
                Station("wall fold, left", (-half, 0.0)),
                Station("wall fold, right", (half, 0.0)),
            ),
        )
    )


def gusset(survey: RidgeSaddle) -> FlatPattern | None:
    """Develop the gusset of a welded saddle: it stands on the ridge and opens by twice the pitch; None if bossed.

    Drawn point up, its upper edge along x. Edges butt: the leadwelder adds laps for a lapped seam.
    """
    if survey.corners is not CornerWork.WELDED:
        return None
    p = math.radians(survey.pitch_deg)
    half, high = survey.upstand_mm * math.sin(p), survey.upstand_mm * math.cos(p)
    clear = LABEL_CLEAR_MM
    tall = max((high - 2 * clear) / 2, 1.0)
    return to_pattern(
        Shape(
            family="gusset",
            sides=(((-half, 0.0), "top of upstand"), ((half, 0.0), "weld to saddle"), ((0.0, high), "weld to saddle")),
            folds=(),
            label=LabelBox((-half / 3, min(clear, high / 4)), 0.0, 2 * half / 3, min(tall, high / 4)),
            length_mm=max(2 * half, high),
            stations=(Station("foot on the ridge", (0.0, high)),),
        )
    )
