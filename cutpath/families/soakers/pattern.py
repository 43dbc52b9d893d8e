"""Soakers: one flat pattern for each size and hand.

Drawn with the upper face towards the viewer: the tail at x = 0, the head at the right, the roof leg at the bottom,
the upstand at the top. That is the right hand, as seen by a person who faces the wall with the roof rising to the
right.
"""

from __future__ import annotations

from cutpath.families.frame import Shape, label_in, to_pattern
from cutpath.values.leadwork import Soakers
from cutpath.values.pattern import (
    Edge,
    EdgeUse,
    FlatPattern,
    Fold,
    FoldUse,
    FoldWay,
    PartKind,
    Snip,
    Stance,
    Station,
    StationUse,
)


def soaker(survey: Soakers) -> FlatPattern:
    """Develop a right-handed soaker: upstand folded forward, head turned down over the slate or tile.

    The turn-down is freed from the upstand by a snip along the upstand's fold line. It hangs the soaker on the slate or
    tile; a soaker without one is nailed through its head (from memory, unverified).
    """
    long, roof, up, down = survey.length_mm, survey.roof_mm, survey.upstand_mm, survey.turn_down_mm
    shoulder = long - down
    snips = (Snip("snip at the head", ((long, roof), (shoulder, roof))),) if down else ()
    folds = [Fold("upstand", FoldUse.UPSTAND, (0.0, roof), (shoulder, roof), 90.0, FoldWay.FORWARD)]
    if down:
        folds.append(Fold("turn-down", FoldUse.TURN_DOWN, (shoulder, 0.0), (shoulder, roof), 90.0, FoldWay.BACK))
    return to_pattern(
        Shape(
            family="soaker",
            part=PartKind.SOAKER,
            sides=(
                ((0.0, 0.0), Edge("free edge", EdgeUse.COVERED)),
                ((long, 0.0), Edge("head", EdgeUse.END if down else EdgeUse.HEAD)),
                ((long, roof), Edge("head of the upstand", EdgeUse.END)),
                ((long, roof + up), Edge("top of the upstand", EdgeUse.TOP)),
                ((0.0, roof + up), Edge("tail of the upstand", EdgeUse.END)),
                ((0.0, roof), Edge("tail", EdgeUse.END)),
            ),
            folds=tuple(folds),
            label=label_in(0.0, 0.0, shoulder, roof),
            length_mm=long,
            snips=snips,
            stations=(
                Station("upstand fold, tail", StationUse.START, (0.0, roof), FoldUse.UPSTAND),
                Station("upstand fold, head", StationUse.END, (shoulder, roof), FoldUse.UPSTAND),
                Station("turn-down fold at the free edge", StationUse.START, (shoulder, 0.0), FoldUse.TURN_DOWN),
            ),
            stance=Stance.LYING,
        )
    )
