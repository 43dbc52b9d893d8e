"""A published layout of 266 blanks on one sheet, judged and accounted for, and what our own nest makes of it."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from cutpath.nesting import judge, nest, one_after_another
from cutpath.pieces import pieces_of
from cutpath.profiles import lead_table
from cutpath.reports.account.yields import account
from cutpath.tolerances import AREA_MM2
from cutpath.units import length_mm
from cutpath.values.batch import Batch, MaterialNest, Sheet
from cutpath.values.leadwork import PlainOutline
from cutpath.values.nest import Blank, Budget, Nest, NestedRoll, NestProblem, Offcut, OffcutRule, Placement, Roll
from cutpath.values.survey import DetailHead, Job, Origin

pytestmark = pytest.mark.nests

IN = length_mm("1 in")
ACROSS, ALONG = 7, 38
LEAD = lead_table()[4]
SHEET = Roll(width_mm=30 * IN, length_mm=96 * IN)
STANDING = ((0.0, 0.0), (2.5 * IN, 0.5 * IN), (2.5 * IN, 4.0 * IN), (0.0, 4.5 * IN))
"""The blank with its parallel sides, 4 1/2 and 3 1/2 in, across the sheet."""

JOB = Job(
    name="blanks",
    mark="B",
    file="blanks.toml",
    notes="",
    exposure="normal",
    details=(
        PlainOutline(
            head=DetailHead("T", Origin("blanks.toml", "detail[1]"), LEAD, ACROSS * ALONG, (), 1500.0, 100.0),
            outline=STANDING,
            holes=(),
            cuts=(),
            folds=(),
            may_flip=False,
        ),
    ),
)


def problem(turns_deg: tuple[float, ...] = (0.0, 180.0)) -> NestProblem:
    pieces, findings = pieces_of([JOB])
    assert findings == ()
    blanks = tuple(Blank(p.id, p.quantity, p.pattern.outline, turns_deg=turns_deg) for p in pieces)
    return NestProblem(blanks, (replace(SHEET, quantity=1),), offcuts=OffcutRule(90 * IN, 1.5 * IN))


def published() -> Nest:
    """7 across the sheet, turned by turns, in 38 rows along it; the long waste strip is kept."""
    (blank,) = problem().blanks
    places = []
    for row in range(ALONG):
        for column in range(ACROSS):
            turn = 180.0 * (column % 2)
            x, y = row * 2.5 * IN, column * 4.0 * IN
            corner = (x + 2.5 * IN, y + 4.5 * IN) if turn else (x, y)
            places.append(Placement(blank.id, row * ACROSS + column + 1, turn, False, *corner))
    strip = Offcut(0.0, 28.5 * IN, 95 * IN, 1.5 * IN)
    rolls = (NestedRoll(replace(SHEET, quantity=1), 95 * IN, tuple(places), (strip,)),)
    return Nest(rolls, 2660 * IN**2, 30 * 95 * IN**2, strip.area_mm2, 2660 * IN**2, optimal=False)


def batch(result: Nest, *, turns_deg: tuple[float, ...] = (0.0, 180.0)) -> Batch:
    pieces, _ = pieces_of([JOB])
    material = MaterialNest(LEAD, problem(turns_deg), result, None)
    sheets = tuple(Sheet(f"code4-{i:02d}", LEAD, nested) for i, nested in enumerate(result.rolls, 1))
    return Batch((JOB,), pieces, (material,), sheets, (), 1, "test")


def test_the_published_layout_satisfies_the_judge() -> None:
    """Source: Sheet Metal Drafting, p. 25 (7 across x 38 along, 266 blanks)."""
    result = published()
    assert len(result.rolls[0].placements) == 266
    assert judge(problem(), result) == ()


@pytest.mark.parametrize("nudge_mm", [-0.01, 0.01])
def test_the_published_layout_is_tight_so_the_judge_sees_a_nudge(nudge_mm: float) -> None:
    """Source: derived (neighbours in a row touch along their slanting sides)."""
    result = published()
    (roll,) = result.rolls
    fourth = replace(roll.placements[3], y_mm=roll.placements[3].y_mm + nudge_mm)
    moved = replace(roll, placements=(*roll.placements[:3], fourth, *roll.placements[4:]))
    assert [f.code for f in judge(problem(), replace(result, rolls=(moved,)))] == ["CP503"]


def test_waste_of_the_published_layout() -> None:
    """Source: Sheet Metal Drafting, p. 25 (waste strips 172.5 in2); all waste 220 in2 on 30 x 96 in is derived.

    Each row also wastes a triangle of 5/8 in2 at each end (derived).
    """
    roll = account(batch(published()))["rolls"][0]
    strips = roll["offcuts_mm2"] + roll["rest_mm2"]
    assert strips / IN**2 == pytest.approx(172.5, abs=1e-9)
    assert (strips + roll["scrap_mm2"]) / IN**2 == pytest.approx(220.0, abs=1e-9)
    assert roll["scrap_mm2"] / IN**2 == pytest.approx(ALONG * 2 * 0.625, abs=1e-9)
    assert roll["pieces_mm2"] == pytest.approx(2660 * IN**2, abs=AREA_MM2)


@cache
def our_own(quantity: int | None) -> Nest:
    """What our search makes of the blanks, free to turn by quarters; sound in any case."""
    asked = replace(problem((0.0, 90.0, 180.0, 270.0)), rolls=(replace(SHEET, quantity=quantity),))
    result = nest(asked, Budget(work=1_000_000), seed=1)
    assert judge(asked, result) == ()
    assert sum(len(roll.placements) for roll in result.rolls) == ACROSS * ALONG
    return result


def test_our_nest_is_sound_and_better_than_one_after_another() -> None:
    """Source: derived (no less than the blanks' 2660 in2, and less than each blank in its own 2 1/2 in)."""
    result = our_own(None)
    assert 2660 * IN**2 - AREA_MM2 <= result.bound_mm2 <= result.drawn_mm2 + AREA_MM2
    assert result.drawn_mm2 < 266 * 2.5 * 30 * IN**2


@pytest.mark.parametrize("quantity", [None, 1])
def test_our_nest_draws_no_more_than_the_published_layout(quantity: int | None) -> None:
    """Source: Sheet Metal Drafting, p. 25 (266 blanks from 95 in of one sheet 30 in wide)."""
    assert our_own(quantity).drawn_mm2 <= 30 * 95 * IN**2 + AREA_MM2


def test_one_after_another_needs_far_more_than_the_published_layout() -> None:
    """Source: derived (each blank in its own 2 1/2 in of a roll as wide as the sheet)."""
    endless = replace(problem(), rolls=(replace(SHEET, quantity=None),))
    assert one_after_another(endless).drawn_mm2 == pytest.approx(266 * 2.5 * 30 * IN**2, rel=1e-9)
