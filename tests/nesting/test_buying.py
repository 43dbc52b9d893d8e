"""Least bought: what it costs, that it never costs more than the nest it begins from, and when a roll is opened."""

# ruff: noqa: S311 - chance here makes cases, not secrets

import random
from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutpath.nesting import judge, nest
from cutpath.nesting.buying import Buying
from cutpath.nesting.guard import Guard
from cutpath.nesting.model import choose_rolls, model_of, single
from cutpath.nesting.opened import Opened, Shop
from cutpath.nesting.outlay import Outlay
from cutpath.nesting.pool import Pool
from cutpath.nesting.run import _DRAWN_SHARE
from cutpath.nesting.shapes import forms, rooms
from cutpath.nesting.stock import supply_of
from cutpath.values.nest import Budget, Nest, NestedRoll, NestProblem, Objective, Offcut, OffcutRule, Roll
from cutpath.values.settings import Settings
from tests.nesting.shapes import LADDER, plate, problem, skyline
from tests.properties.surveys import for_all

pytestmark = pytest.mark.nests

WHOLE = 300.0 * 3000.0


def bought(task: NestProblem, **changes: object) -> NestProblem:
    return replace(task, objective=Objective.BOUGHT, **changes)  # type: ignore[arg-type]


def one_roll(roll: Roll, drawn_mm: float, *kept: Offcut) -> Nest:
    return Nest((NestedRoll(roll, drawn_mm, (), kept),), 0.0, roll.width_mm * drawn_mm, 0.0, 0.0, optimal=False)


@pytest.mark.parametrize(
    ("roll", "drawn_mm", "kept", "costs"),
    [
        (Roll(300.0, 3000.0), 3000.0, (), WHOLE),
        (Roll(300.0, 3000.0), 2000.0, (), WHOLE - 0.5 * 300.0 * 1000.0),
        (Roll(300.0, 3000.0), 2900.0, (), WHOLE),  # 100 mm are too short to be kept
        (Roll(300.0, 3000.0), 2900.0, (Offcut(0, 0, 400, 150),), WHOLE - 0.5 * 400 * 150),
        (Roll(120.0, 3000.0), 1000.0, (), 120.0 * 3000.0),  # and so narrow a rest too
    ],
)
def test_a_roll_costs_its_lead_less_the_worth_of_what_is_kept(roll, drawn_mm, kept, costs):
    task = bought(problem(plate("A", 100.0, 100.0), rolls=(roll,)))
    assert Outlay.of(task).of_nest(one_roll(roll, drawn_mm, *kept)) == pytest.approx(costs)
    opened = replace(task, opening_mm2=7000.0)
    assert Outlay.of(opened).of_nest(one_roll(roll, drawn_mm, *kept)) == pytest.approx(costs + 7000.0)


def test_least_drawn_does_not_ask_what_is_bought():
    roll = Roll(300.0, 3000.0, price=90.0)
    task = problem(plate("A", 100.0, 100.0), rolls=(roll, Roll(450.0, 3000.0, price=500.0)))
    assert Outlay.of(replace(task, opening_mm2=7000.0)).of_nest(one_roll(roll, 2000.0)) == pytest.approx(600_000.0)


def test_prices_count_where_every_roll_has_one():
    dear, cheap = Roll(300.0, 3000.0, price=120.0), Roll(300.0, 3000.0, price=60.0, name="cheap")
    outlay = Outlay.of(bought(problem(plate("A", 100.0, 100.0), rolls=(dear, cheap))))
    assert outlay.opened_mm2(dear) == pytest.approx(2 * outlay.opened_mm2(cheap))
    assert outlay.opened_mm2(dear) + outlay.opened_mm2(cheap) == pytest.approx(2 * WHOLE)
    known = Outlay.of(bought(problem(plate("A", 100.0, 100.0), rolls=(dear, Roll(450.0, 3000.0)))))
    assert known.opened_mm2(dear) == pytest.approx(WHOLE)


def test_an_offcut_in_stock_and_what_stays_of_it_count_for_the_same_share():
    offcut = Roll(300.0, 3000.0, 1, offcut=True)
    outlay = Outlay.of(bought(problem(plate("A", 100.0, 100.0), rolls=(offcut,))))
    assert outlay.of_nest(one_roll(offcut, 2000.0)) == pytest.approx(0.2 * (WHOLE - 0.5 * 300.0 * 1000.0))


@for_all(st.integers(0, 10**6), st.booleans(), gate=8)
def test_rolls_are_exchanged_only_for_cheaper_ones(seed, counted):
    rng = random.Random(seed)
    rolls = (*rng.sample(LADDER, 4), Roll(600.0, 3000.0))
    if counted:
        rolls += (Roll(rng.uniform(200, 500), rng.uniform(1000, 2000), rng.randint(1, 2), offcut=True),)
    task = bought(problem(*(skyline(rng, f"K{i}") for i in range(rng.randint(1, 8))), rolls=rolls))
    task = replace(task, offcuts=OffcutRule(worth=rng.choice((0.0, 0.5))), opening_mm2=rng.choice((0.0, 2e5)))
    spaces = rooms(task)
    stock = supply_of(replace(task, rolls=rolls[:5]), spaces[:5]).stock
    model = model_of(task, forms(task), stock, spaces)
    shop = Shop(model, spaces, Outlay.of(task))
    alone = [single(model, piece, blank) for piece, blank in enumerate(model.start.tolist())]
    width_of = stock.width.tolist()
    plan = shop.packed(choose_rolls(stock, alone), width_of)
    told: list[float] = []
    found = Buying(shop, Pool(model), seed, 2, Guard(), lambda opened: told.append(shop.cost(opened))).run(
        plan, 400_000
    )
    assert shop.cost(found) <= shop.cost(plan) + 1e-6
    assert told == sorted(told, reverse=True)
    assert shop.in_number(found)
    assert all(o.length <= spaces[o.room].length and o.across <= spaces[o.room].width for o in found)
    laid = Counter(shop.blanks(found).tolist())
    assert laid == Counter(model.start.tolist())


@pytest.mark.parametrize(("examples", "work"), [(4, 200_000), pytest.param(12, 800_000, marks=pytest.mark.slow)])
def test_it_never_costs_more_than_the_nest_that_draws_least(examples, work):
    @settings(max_examples=examples)
    @given(seed=st.integers(0, 10**6))
    def sound(seed):
        rng = random.Random(seed)
        task = problem(*(skyline(rng, f"K{i}") for i in range(rng.randint(2, 9))), rolls=tuple(rng.sample(LADDER, 6)))
        task = replace(task, rolls=(*task.rolls, Roll(600.0, 6000.0)))
        outlay = Outlay.of(bought(task))
        drawn = nest(task, Budget(work=round(_DRAWN_SHARE * work)), seed=seed)
        found = nest(bought(task), Budget(work=work), seed=seed)
        assert judge(bought(task), found) == ()
        assert outlay.of_nest(found) <= outlay.of_nest(drawn) + 1.0

    sound()


def test_the_same_seed_buys_the_same():
    rng = random.Random(4)
    task = bought(problem(*(skyline(rng, f"K{i}") for i in range(8))))
    one, two = (nest(task, Budget(work=100_000), seed=3) for _ in range(2))
    assert one.rolls == two.rolls


def test_of_many_pieces_less_is_bought_than_by_the_nest_that_draws_least_and_the_same_every_time():
    rng = random.Random(6)
    shapes = [replace(skyline(rng, f"K{i}"), quantity=6) for i in range(14)]
    rolls = (*LADDER, Roll(600.0, 6000.0), Roll(300.0, 1400.0, quantity=1, offcut=True))
    task = problem(*shapes, rolls=rolls)
    drawn = nest(task, Budget(work=round(_DRAWN_SHARE * 160_000)), seed=2, workers=3)
    one, two = (nest(bought(task), Budget(work=160_000), seed=2, workers=3) for _ in range(2))
    assert one.rolls == two.rolls
    assert judge(bought(task), one) == ()
    outlay = Outlay.of(bought(task))
    assert outlay.of_nest(one) < outlay.of_nest(drawn) - 1.0


def test_no_roll_is_opened_for_one_soaker_that_goes_on_another():
    strips = [plate(f"S{i}", 1000.0, 300.0) for i in range(5)]
    task = bought(problem(*strips, plate("K", 190.0, 175.0), rolls=(Roll(180.0, 3000.0), Roll(300.0, 6000.0))))
    found = nest(task, Budget(work=200_000), seed=1)
    assert [nested.roll.width_mm for nested in found.rolls] == [300.0]


@pytest.mark.parametrize(("opening_mm2", "rolls"), [(0.0, 2), (1.2e6, 1)])
def test_a_roll_that_costs_more_to_open_than_it_saves_stays_shut(opening_mm2, rolls):
    """A plate of 300 on a roll of its own saves lead; on the roll of 600 of the others it saves opening one."""
    task = problem(
        plate("W", 2900.0, 600.0), plate("N", 2900.0, 300.0), rolls=(Roll(300.0, 3000.0), Roll(600.0, 3000.0),
                                                                   Roll(600.0, 6000.0)))  # fmt: skip
    found = nest(bought(task, opening_mm2=opening_mm2, offcuts=OffcutRule(worth=0.0)), Budget(work=200_000), seed=1)
    assert len(found.rolls) == rolls


def test_the_cheaper_of_two_rolls_is_bought():
    rolls = (Roll(300.0, 3000.0, price=200.0), Roll(450.0, 3000.0, price=150.0))
    found = nest(bought(problem(plate("A", 2800.0, 290.0), rolls=rolls)), Budget(work=133_333), seed=1)
    assert [nested.roll.width_mm for nested in found.rolls] == [450.0]


def test_a_plan_of_no_rolls_stays_so():
    task = bought(problem(plate("A", 100.0, 100.0)))
    spaces = rooms(task)
    model = model_of(task, forms(task), supply_of(task, spaces).stock, spaces)
    nothing: list[Opened] = []
    assert (
        Buying(Shop(model, spaces, Outlay.of(task)), Pool(model), 1, 2, Guard(), lambda _: None).run(nothing, 1000)
        == []
    )


@pytest.mark.parametrize(
    ("prices", "opening", "mm2"),
    [((None, None), 2.041, 1e5), ((None, 90.0), 2.041, 1e5), ((90.0, 90.0), 30.0, 3e5)],
)
def test_opening_is_money_where_every_roll_has_a_price_and_else_kg(prices, opening, mm2):
    rolls = [Roll(300.0, 3000.0, price=price, name=name) for name, price in zip("ab", prices, strict=True)]
    task = Settings(opening=opening).asking([plate("A", 100.0, 100.0)], rolls)
    assert task.opening_mm2 == pytest.approx(mm2)
