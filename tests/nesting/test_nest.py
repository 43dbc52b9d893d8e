"""The nest as a whole: sound, repeatable, no worse than it must be."""

# ruff: noqa: S311 - chance here makes cases, not secrets

import itertools
import random
import re
import time
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

import cutpath.nesting
from cutpath.errors import Refused
from cutpath.nesting import bound_mm2, judge, nest, one_after_another
from cutpath.nesting.anneal import anneal
from cutpath.nesting.guard import keeping_best
from cutpath.values.nest import Blank, Budget, Objective, OffcutRule, Roll
from tests.gate import gate
from tests.nesting.shapes import LADDER, plate, problem, skyline, stepped

pytestmark = pytest.mark.nests

TOOTHED = problem(*(stepped(f"S{i}", 6 + i % 4, 30.0 + 5 * (i % 3), left=i % 2 == 1, quantity=2) for i in range(8)),
                  plate("C", 800.0, 100.0, 4))  # fmt: skip


RAGGED = Blank("K", 5, ((0, 0), (170, 30), (230, 190), (90, 240), (-40, 130)), turns_deg=(0.0, 90.0, 180.0, 270.0))


SOME = Budget(work=200_000)
"""For what is compared with itself, and need not be good."""


@cache
def once(task):
    return nest(task, SOME, seed=5)


def test_teeth_go_into_teeth_and_progress_tells_better_and_better_yields():
    told = []
    found = nest(TOOTHED, Budget(work=500_000), seed=1, progress=told.append)
    assert found.yield_ratio > 0.77
    assert one_after_another(TOOTHED).yield_ratio < 0.70
    assert [p.yield_ratio for p in told] == sorted(p.yield_ratio for p in told)
    assert told[-1].drawn_mm2 == pytest.approx(found.drawn_mm2, rel=1e-6)


@pytest.mark.parametrize(("examples", "work"), [(6, 60_000), pytest.param(30, 300_000, marks=pytest.mark.slow)])
def test_random_skylines_on_random_rolls_satisfy_the_judge(examples, work):
    @settings(max_examples=examples)
    @given(
        seed=st.integers(0, 10**6),
        spaces=st.sampled_from([(0.0, 0.0), (3.3, 0.0), (2.0, 4.0)]),
        objective=st.sampled_from([Objective.DRAWN, Objective.BOUGHT]),
    )
    def sound(seed, spaces, objective):
        rng = random.Random(seed)
        blanks = [skyline(rng, f"K{i}") for i in range(rng.randint(1, 8))]
        rolls = (*rng.sample(LADDER, 3), Roll(600.0, 3000.0))
        rolls += (Roll(rng.uniform(200, 500), rng.uniform(1000, 2000), rng.randint(1, 2), offcut=True),)
        task = replace(problem(*blanks, rolls=rolls, gap=spaces[0], trim=spaces[1]), objective=objective)
        found = nest(task, Budget(work=work), seed=seed)
        assert judge(task, found) == ()
        assert sum(len(r.placements) for r in found.rolls) == sum(b.quantity for b in blanks)
        assert found.bound_mm2 <= found.drawn_mm2 * (1 + 1e-9)

    sound()


@pytest.mark.parametrize("left", [False, True])
def test_of_hands_that_may_be_flipped_the_fewer_lie_face_down(left):
    most = [replace(stepped(f"M{i}", 8 + i, left=left), may_flip=True) for i in range(3)]
    one = replace(stepped("O", 9, left=not left), may_flip=True)
    task = problem(*most, one, plate("C", 900.0, 110.0))
    found = nest(task, Budget(work=200_000), seed=1)
    assert judge(task, found) == ()
    assert {p.id for roll in found.rolls for p in roll.placements if p.flipped} == {"O"}


def test_turned_over_a_pair_takes_less_lead():
    pair = [stepped("R", 12), stepped("L", 12, left=True)]
    plain = nest(problem(*pair), Budget(work=200_000), seed=1)
    turned = nest(problem(*(replace(blank, may_flip=True) for blank in pair)), Budget(work=200_000), seed=1)
    twice = nest(problem(replace(pair[0], quantity=2)), Budget(work=200_000), seed=1)
    assert turned.drawn_mm2 < 0.97 * plain.drawn_mm2
    assert turned.drawn_mm2 == pytest.approx(twice.drawn_mm2, rel=1e-3)


@pytest.mark.parametrize("seed", gate(range(3), 0))
def test_a_mirrored_list_gives_the_same_yield(seed):
    rng = random.Random(seed)
    blanks = [skyline(rng, f"K{i}") for i in range(6)]
    mirrored = [replace(b, outline=tuple((-x, y) for x, y in reversed(b.outline))) for b in blanks]
    one, other = (nest(problem(*list_), Budget(work=133_333), seed=seed) for list_ in (blanks, mirrored))
    assert one.drawn_mm2 == other.drawn_mm2
    assert one.yield_ratio == pytest.approx(other.yield_ratio, rel=1e-12)
    assert [r.roll for r in one.rolls] == [r.roll for r in other.rolls]


@pytest.mark.parametrize("seed", gate((0, 6, 10), 6))
def test_one_more_width_does_not_draw_more(seed):
    """In list 6 nearly all pieces suit the width that is added, and yet lie better together on a wider one."""
    rng = random.Random(seed + 50)
    blanks = [replace(skyline(rng, f"K{i}"), quantity=1) for i in range(6)]
    few = tuple(roll for roll in LADDER if roll.width_mm in {300.0, 450.0})
    task = replace(problem(*blanks, rolls=few), offcuts=OffcutRule(worth=0.0))
    narrow = nest(task, Budget(work=666_666), seed=1)
    wide = nest(replace(task, rolls=(*few, Roll(240.0, 6000.0))), Budget(work=666_666), seed=1)
    assert wide.drawn_mm2 <= narrow.drawn_mm2 + 1.0


def test_quarter_turns_and_flips_are_used_where_allowed():
    tall = Blank("T", 4, ((0, 0), (140, 0), (140, 900), (0, 900)), turns_deg=(0.0, 90.0, 180.0, 270.0))
    hook = Blank("F", 4, ((0, 0), (600, 0), (600, 60), (60, 60), (60, 140), (0, 140)), may_flip=True)
    found = nest(problem(tall, hook), Budget(work=500_000), seed=2)
    assert {p.turn_deg for r in found.rolls for p in r.placements if p.id == "T"} <= {90.0, 270.0}
    assert found.yield_ratio > 0.8


def test_holes_stay_holes():
    ring = Blank("R", 3, ((0, 0), (200, 0), (200, 140), (0, 140)), (((50, 40), (50, 100), (150, 100), (150, 40)),))
    found = nest(problem(ring), Budget(work=200_000), seed=2)
    assert found.pieces_mm2 == pytest.approx(3 * (200 * 140 - 100 * 60))


def test_a_piece_that_fits_no_roll_is_named_with_the_roll_it_needs():
    task = problem(plate("BIG", 900.0, 610.0), plate("LONG", 6500.0, 100.0), plate("FINE", 100.0, 100.0), trim=5.0)
    with pytest.raises(Refused) as refused:
        nest(task, Budget(work=100_000), seed=0)
    big, long = refused.value.findings
    assert (big.code, big.where) == ("CP501", "BIG")
    assert "620 mm wide" in big.found
    assert "620 mm wide" in big.remedy
    assert (long.code, long.where) == ("CP501", "LONG")
    assert "6510 mm long" in long.remedy
    with pytest.raises(Refused) as refused:  # what is left of a roll has a length with decimals
        nest(problem(plate("LONG", 900.0, 100.0), rolls=(Roll(300.0, 899.728),)), Budget(work=100_000), seed=0)
    assert refused.value.findings[0].accepted == "a roll that long; those as wide are 899 mm long"
    with pytest.raises(Refused) as refused:
        nest(problem(plate("LONG", 900.0, 100.0), rolls=()), Budget(work=100_000), seed=0)
    assert refused.value.findings[0].sentence.endswith("it takes a roll of its lead, and there is none")


def test_rolls_that_run_out_are_a_finding():
    task = problem(plate("A", 900.0, 150.0, 5), rolls=(Roll(150.0, 1000.0, 4),))
    with pytest.raises(Refused) as refused:
        nest(task, Budget(work=200_000), seed=0)
    assert [f.code for f in refused.value.findings] == ["CP502"]
    assert refused.value.findings[0].found == "the rolls are used up with 1 piece still to cut: A"


def test_the_last_counted_roll_is_found():
    task = problem(plate("A", 900.0, 150.0, 8), rolls=(Roll(300.0, 1800.0, 2),))
    found = nest(task, Budget(work=300_000), seed=0)
    assert found.optimal
    assert len(found.rolls) == 2


def test_an_offcut_that_serves_is_used_first():
    task = problem(plate("A", 900.0, 150.0, 2), rolls=(*LADDER, Roll(160.0, 1850.0, 1, offcut=True)))
    found = nest(task, Budget(work=300_000), seed=0)
    assert [r.roll.offcut for r in found.rolls] == [True]


def test_least_bought_buys_less_than_least_drawn():
    lead = {Objective.DRAWN: 0.0, Objective.BOUGHT: 0.0}
    for seed in (2, 5):  # lists for which whole rolls make a difference
        rng = random.Random(seed)
        task = problem(*(skyline(rng, f"K{i}") for i in range(7)))
        for objective in lead:
            found = nest(replace(task, objective=objective), Budget(work=150_000), seed=1)
            lead[objective] += sum(r.roll.width_mm * r.roll.length_mm for r in found.rolls)
    assert lead[Objective.BOUGHT] < lead[Objective.DRAWN]


def test_a_result_at_its_bound_says_optimal_and_stops_early(monkeypatch):
    work = []

    def counted(*given):
        work.append(given[7])
        return anneal(*given)

    monkeypatch.setattr("cutpath.nesting.cooling.anneal", counted)
    found = nest(problem(plate("A", 1000.0, 150.0, 4)), Budget(work=10_000_000), seed=0)
    assert found.optimal
    assert found.drawn_mm2 == pytest.approx(found.bound_mm2)
    assert sum(work) < 1_000_000


@pytest.mark.parametrize("objective", Objective)
def test_an_interrupted_nest_is_sound_where_the_best_is_asked_for_and_none_else(objective):
    count, task = 0, replace(TOOTHED, objective=objective)

    def stop(_) -> None:
        nonlocal count
        count += 1
        if count == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        nest(task, Budget(work=9_000_000), seed=1, progress=stop)
    count = 0
    with keeping_best():
        found = nest(task, Budget(work=9_000_000), seed=1, progress=stop)
    assert judge(task, found) == ()


def test_the_bound_knows_what_widths_allow():
    task = problem(plate("A", 1000.0, 310.0, 3))
    assert bound_mm2(task) == pytest.approx(3 * 330.0 * 1000.0)
    assert Polygon(task.blanks[0].outline).area * 3 < bound_mm2(task)


def test_kept_offcuts_meet_the_rule_and_are_found():
    task = replace(problem(plate("A", 1000.0, 310.0), rolls=(Roll(600.0, 3000.0),)), offcuts=OffcutRule(300.0, 150.0))
    found = nest(task, Budget(work=200_000), seed=0)
    (offcut,) = found.rolls[0].offcuts
    assert (offcut.length_mm, offcut.width_mm) == pytest.approx((1000.0, 290.0))
    assert judge(task, found) == ()


@pytest.mark.parametrize("gap", [0.0, 3.0])
@pytest.mark.parametrize("high", [323.7, 318.0, 300.0, 301.1])
def test_an_offcut_of_just_the_least_size_is_found_wherever_it_lies(high, gap):
    roll = Roll(high + gap + 150.0, 1000.0)
    task = problem(plate("A", 700.0 - gap, high), plate("B", 700.0 - gap, high), rolls=(roll,), gap=gap)
    found = one_after_another(replace(task, offcuts=OffcutRule(300.0, 150.0)))
    sizes = [sorted((o.length_mm, o.width_mm)) for nested in found.rolls for o in nested.offcuts]
    assert sizes == [pytest.approx([150.0, 700.0 - gap])] * 2


def test_published_nest_of_266_blanks():
    """Sheet Metal Drafting p. 25: 266 trapezoids out of a sheet 30 x 96 in; all waste 220 in2 (derived)."""
    inch = 25.4
    points = ((0, 0), (4.5 * inch, 0), (4.0 * inch, 2.5 * inch), (0.5 * inch, 2.5 * inch))
    task = problem(Blank("B", 266, points), rolls=(Roll(30 * inch, 96 * inch, 1),))
    found = nest(task, Budget(work=300_000), seed=0)
    assert sum(len(r.placements) for r in found.rolls) == 266
    waste = (found.drawn_mm2 - found.pieces_mm2) / inch**2
    assert waste <= 220.0


@pytest.mark.parametrize("budget", [Budget(work=0), Budget(work=1), Budget(seconds=0.0)])
@pytest.mark.parametrize("copies", [3, 96, 300])
def test_no_budget_still_gives_a_nest(copies, budget):
    found = nest(problem(plate("A", 300.0, 100.0, copies), rolls=(Roll(150.0, 3000.0),)), budget)
    assert sum(len(r.placements) for r in found.rolls) == copies


@pytest.mark.parametrize("task", [TOOTHED, problem(RAGGED)], ids=["lanes", "free"])
def test_with_work_no_clock_is_read(task, monkeypatch):
    def clock():
        raise AssertionError("a clock was read")

    given = once(task)
    for name in ("time", "monotonic", "perf_counter", "process_time", "thread_time", "time_ns", "perf_counter_ns"):
        monkeypatch.setattr(time, name, clock)
    assert nest(task, SOME, seed=5) == given
    with pytest.raises(AssertionError, match="clock was read"):
        nest(task, Budget(seconds=1.0))


def test_only_the_guard_knows_of_time():
    room = Path(cutpath.nesting.__file__).parent
    knowing = {
        file.name
        for file in room.glob("*.py")
        if re.search(r"^\s*(import|from) time\b", file.read_text(), re.MULTILINE)
    }
    assert knowing == {"guard.py"}


def test_a_slow_machine_gives_the_same_nest_for_the_same_work(monkeypatch):
    """Every look at the clock is an hour later than the one before it: only a search that reads it changes."""
    looks = itertools.count(0.0, 3600.0)
    given = once(TOOTHED)
    monkeypatch.setattr(time, "perf_counter", lambda: next(looks))
    assert nest(TOOTHED, SOME, seed=5) == given
    late = nest(TOOTHED, Budget(seconds=2.0), seed=5)
    assert judge(TOOTHED, late) == ()
