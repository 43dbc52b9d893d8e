"""Specimen patterns, pieces and rolls that the tests of drawings and writers share."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

from hypothesis import strategies as st

from cutpath.drawing.sheet import draw as drawn
from cutpath.values.batch import Sheet
from cutpath.values.nest import NestedRoll, Offcut, Placement, Roll
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
    Snip,
)
from cutpath.values.piece import Piece
from cutpath.values.survey import Hand, Lead

LEAD = Lead(code=4, thickness_mm=1.8, mass_kg_m2=20.41, colour="blue")


def _pattern(outline, label, *, holes=(), snips=(), folds=(), marks=()):
    return FlatPattern(
        family="outline",
        part=PartKind.PLAIN,
        outline=tuple(outline),
        edges=tuple(Edge(f"edge {k}", EdgeUse.OWN) for k in range(len(outline))),
        holes=tuple(holes),
        snips=tuple(snips),
        folds=tuple(folds),
        marks=tuple(marks),
        stations=(),
        label=label,
        length_mm=max(x for x, _ in outline),
        run_offset=(0.0, 0.0),
        mirrored=False,
    )


def stepped(steps=5, pitch_deg=35.0, gauge_mm=75.0, water_mm=65.0, turn_in_mm=25.0, ends_mm=90.0):
    """A strip with plumb risers: steps on level joints, a snip at the end of each turn-in, a water line."""
    p = math.radians(pitch_deg)
    foot = [(water_mm / math.cos(p) + k * gauge_mm) for k in range(steps + 1)]  # joint heights; the first is no fold
    along = [(j - water_mm / math.cos(p)) / math.tan(p) for j in foot]

    def strip(x, y):
        return (x * math.cos(p) + y * math.sin(p), -x * math.sin(p) + y * math.cos(p))

    shift = ends_mm - strip(along[0], foot[0])[0]

    def at(x, y):
        u, v = strip(x, y)
        return (u + shift, v)

    top = [at(along[0], foot[0])]
    snips, folds = [], []
    for k in range(1, steps + 1):
        top += [at(along[k - 1], foot[k] + turn_in_mm), at(along[k], foot[k] + turn_in_mm)]
        folds.append(
            Fold(f"joint {k}", FoldUse.OWN, at(along[k - 1], foot[k]), at(along[k], foot[k]), 90.0, FoldWay.BACK),
        )
        snips.append(Snip(f"snip {k}", (at(along[k], foot[k] + turn_in_mm), at(along[k], foot[k]))))
    last = snips.pop()  # the last turn-in ends at the outline
    end = last.points[1]
    length = end[0] + ends_mm
    outline = [(0.0, 0.0), (length, 0.0), (length, water_mm), end, *reversed(top), (0.0, water_mm)]
    return _pattern(
        outline,
        LabelBox((10.0, 8.0), 0.0, length - 20.0, water_mm - 16.0),
        snips=snips,
        folds=folds,
        marks=[
            Mark("water line", MarkKind.WATER_LINE, ((0.0, water_mm), (length, water_mm))),
            Mark("lap", MarkKind.LAP, ((60.0, 0.0), (60.0, water_mm))),
        ],
    )


def soaker(length_mm=190.0, width_mm=175.0):
    """A plain rectangle with an upstand fold and a turn-down at the head."""
    outline = [(0.0, 0.0), (length_mm, 0.0), (length_mm, width_mm), (0.0, width_mm)]
    head = length_mm - 25.0
    return _pattern(
        outline,
        LabelBox((5.0, 5.0), 0.0, length_mm - 35.0, 90.0),
        folds=[
            Fold("upstand", FoldUse.UPSTAND, (0.0, 100.0), (length_mm, 100.0), 90.0, FoldWay.FORWARD),
            Fold("head", FoldUse.TURN_DOWN, (head, 0.0), (head, width_mm), 90.0, FoldWay.BACK),
        ],
    )


def holed():
    """A plate with a rectangular and a round hole, bossing marks at two corners."""
    outline = [(0.0, 0.0), (600.0, 0.0), (600.0, 300.0), (0.0, 300.0)]
    ring = tuple((450 + 60 * math.cos(-math.tau * k / 24), 150 + 60 * math.sin(-math.tau * k / 24)) for k in range(24))
    window = ((60.0, 60.0), (60.0, 220.0), (300.0, 220.0), (300.0, 60.0))
    return _pattern(
        outline,
        LabelBox((20.0, 235.0), 0.0, 500.0, 55.0),
        holes=(window, ring),
        marks=[
            Mark("corner A", MarkKind.BOSSING, ((0.0, 40.0), (40.0, 0.0))),
            Mark("corner B", MarkKind.BOSSING, ((560.0, 0.0), (600.0, 40.0))),
        ],
    )


def gusset():
    """A triangle too small for any lettering."""
    return _pattern([(0.0, 0.0), (40.0, 0.0), (0.0, 40.0)], LabelBox((3.0, 3.0), 0.0, 14.0, 14.0))


def hand_mirrored(pattern):
    """The other hand: mirrored in x, contours turned round, the label box upright again."""
    wide = max(x for x, _ in pattern.outline)

    def m(point):
        return (wide - point[0], point[1])

    box = pattern.label
    assert box.turn_deg == 0
    return replace(
        pattern,
        outline=tuple(m(p) for p in reversed(pattern.outline)),
        holes=tuple(tuple(m(p) for p in reversed(h)) for h in pattern.holes),
        snips=tuple(replace(s, points=tuple(map(m, s.points))) for s in pattern.snips),
        folds=tuple(replace(f, start=m(f.start), end=m(f.end)) for f in pattern.folds),
        marks=tuple(replace(k, points=tuple(map(m, k.points))) for k in pattern.marks),
        label=replace(box, corner=(wide - box.corner[0] - box.width_mm, box.corner[1])),
        mirrored=not pattern.mirrored,
    )


def piece(pattern, name="A-S1-R1", quantity=1, hand=None, *, may_flip=False):
    return Piece(
        id=name,
        job="Kiln Cottage",
        detail="S1",
        number=1,
        of=1,
        hand=hand,
        quantity=quantity,
        lead=LEAD,
        pattern=pattern,
        where="kiln.toml: detail[0]",
        may_flip=may_flip,
    )


PIECES = {
    p.id: p
    for p in (
        piece(stepped(), "A-S1-R1", 2, Hand.RIGHT),
        piece(hand_mirrored(stepped()), "A-S1-L1", 2, Hand.LEFT),
        piece(stepped(3, 42.5, 80.0), "A-S2-R1", 1, Hand.RIGHT),
        piece(soaker(), "A-K1-1", 4, None, may_flip=True),
        piece(holed(), "B-P1-1", 1, None, may_flip=True),
        piece(gusset(), "B-A1-G1", 2, None, may_flip=True),
    )
}


def place(name, copy, *, turn=0.0, flipped=False, left=0.0, low=0.0):
    """A placement whose box has its lower left corner at (left, low)."""
    turned = {0: (1, 0), 90: (0, 1), 180: (-1, 0), 270: (0, -1)}.get(turn)
    cos, sin = turned or (math.cos(math.radians(turn)), math.sin(math.radians(turn)))
    side = -1 if flipped else 1
    outline = PIECES[name].pattern.outline
    spun = [(side * x * cos - y * sin, side * x * sin + y * cos) for x, y in outline]
    return Placement(name, copy, turn, flipped, left - min(x for x, _ in spun), low - min(y for _, y in spun))


def sheet(placements, *, width=450.0, length=6000.0, drawn=None, offcuts=()):
    return Sheet("code4-01", LEAD, NestedRoll(Roll(width, length), drawn or length, tuple(placements), tuple(offcuts)))


def full_sheet():
    """Both hands interlocked by hand, soakers, a plate with holes, gussets, a flipped plate and a kept offcut."""
    return sheet(
        [
            place("A-S1-R1", 1),
            place("A-S1-R1", 2, turn=180.0, left=65.4, low=125.0),
            place("A-S1-L1", 1, left=1000.0),
            place("A-S1-L1", 2, turn=180.0, left=934.6, low=125.0),
            place("A-S2-R1", 1, left=1060.0, low=290.0),
            place("A-K1-1", 1, left=100.0, low=275.0),
            place("A-K1-1", 2, left=290.0, low=275.0, flipped=True),
            place("A-K1-1", 3, left=1850.0, low=0.0, turn=180.0, flipped=True),
            place("A-K1-1", 4, left=1850.0, low=175.0, turn=90.0),
            place("B-P1-1", 1, left=2050.0, low=0.0, flipped=True),
            place("B-A1-G1", 1, left=2050.0, low=300.0),
            place("B-A1-G1", 2, left=2100.0, low=300.0),
        ],
        drawn=2650.0,
        offcuts=[Offcut(2150.0, 300.0, 500.0, 150.0)],
    )


@cache
def full():
    """The full sheet as it is drawn."""
    return drawn(full_sheet(), PIECES)


@st.composite
def sheets(draw):
    """Rolls 900 mm wide with specimens in a row, each turned and flipped in its own way."""
    placements = []
    left = 0.0
    for name in draw(st.lists(st.sampled_from(sorted(PIECES)), min_size=1, max_size=4, unique=True)):
        for copy in range(1, draw(st.integers(1, PIECES[name].quantity)) + 1):
            turn = draw(st.sampled_from([0.0, 90.0, 180.0, 270.0, 17.25]))
            flipped = draw(st.booleans())
            left += draw(st.floats(0, 30, allow_nan=False))
            low = draw(st.floats(0, 60, allow_nan=False))
            placements.append(place(name, copy, turn=turn, flipped=flipped, left=left, low=low))
            left += 950.0
    return sheet(placements, width=900.0, length=12000.0, drawn=left)
