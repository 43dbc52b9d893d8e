"""Soakers: one flat pattern for each size and hand.

Drawn with the upper face towards the viewer: the tail at x = 0, the head at the right, the roof leg at the bottom,
the upstand at the top. That is the right hand, as seen by a person who faces the wall with the roof rising to the
right.
"""

from __future__ import annotations

from cutpath.families.frame import LABEL_CLEAR_MM, Shape, to_pattern
from cutpath.values.pattern import FlatPattern, Fold, FoldWay, LabelBox, Snip, Station
from cutpath.values.survey import Soakers


def soaker(survey: Soakers) -> FlatPattern:
    """Develop a right-handed soaker: upstand folded forward, head turned down over the slate or tile.

    The turn-down is freed from the upstand by a snip along the upstand's fold line.
    """
    long, roof, up, down = survey.length_mm, survey.roof_mm, survey.upstand_mm, survey.turn_down_mm
    shoulder = long - down
    snips = (Snip("snip at the head", ((long, roof), (shoulder, roof))),) if down else ()
    folds = [Fold("upstand", (0.0, roof), (shoulder, roof), 90.0, FoldWay.FORWARD)]
    if down:
        folds.append(Fold("turn-down", (shoulder, 0.0), (shoulder, roof), 90.0, FoldWay.BACK))
    clear = LABEL_CLEAR_MM
    return to_pattern(
        Shape(
            family="soaker",
            sides=(
                ((0.0, 0.0), "free edge"),
                ((long, 0.0), "head"),
                ((long, roof), "head of upstand"),
                ((long, roof + up), "top of upstand"),
                ((0.0, roof + up), "tail of upstand"),
                ((0.0, roof), "tail"),
            ),
            folds=tuple(folds),
            label=LabelBox((clear, clear), 0.0, max(shoulder - 2 * clear, 1.0), max(roof - 2 * clear, 1.0)),
            length_mm=long,
            snips=snips,
            stations=(
                Station("upstand fold, tail", (0.0, roof)),
                Station("upstand fold, head", (shoulder, roof)),
                Station("turn-down fold at the free edge", (shoulder, 0.0)),
            ),
        )
    )
