"""The verbs of the stock on what there is: what they change, what they refuse, and that nothing is lost on the way."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cutpath import stock
from cutpath.errors import Refused
from cutpath.values.stock import Account, Amount, Change, Holding, Kind, Movement, Part, Posting, RunState, Verb
from tests.stock.striking import AT, cut_of, rolls, run_of, spoilt_of


def after(holding: Holding, change: Change) -> Holding:
    """Return what there is after a change, worked out on plain dictionaries."""
    items = {**holding.items, **{item.number: item for item in change.put}}
    balances = dict(holding.balances)
    for posting in (p for m in change.movements for p in m.postings):
        old = balances.get((posting.account, posting.code), Amount())
        new = Amount(old.mass_ug + posting.mass_ug, old.cost_u + posting.cost_u)
        balances[posting.account, posting.code] = new
    return Holding(
        {n: item for n, item in items.items() if n not in change.gone},
        {**holding.runs, **{run.id: run for run in change.runs}},
        balances,
        max([holding.next_number - 1, *(item.number for item in change.put)]) + 1,
    )


def codes(refused: pytest.ExceptionInfo[Refused]) -> set[str]:
    return {finding.code for finding in refused.value.findings}


@pytest.fixture
def shelf() -> Holding:
    """A roll of code 4 that cost 180, a part roll of about 4 m, and an offcut."""
    holding = after(Holding(), stock.add(Holding(), rolls(cost=180.0, place="rack 2", batch="B7"), AT))
    holding = after(holding, stock.add(holding, rolls(width_mm=600, length_mm=4000, kind=Kind.PART, exact=False), AT))
    return after(holding, stock.add(holding, rolls(width_mm=300, length_mm=1200, kind=Kind.OFFCUT), AT))


def reserved(holding: Holding, *cuts, name: str = "Rabc", **more) -> Holding:
    holding = after(holding, stock.reserve(holding, run_of(name, *cuts, **more)))
    return after(holding, stock.settle(holding, name, AT, made=True))


def test_each_roll_gets_a_label_of_its_own_and_its_mass():
    change = stock.add(Holding(next_number=7), rolls(quantity=3), AT)
    assert [item.label for item in change.put] == ["S0007", "S0008", "S0009"]
    assert change.put[0].mass_kg == pytest.approx(0.45 * 6 * 20.41, abs=1e-9)


@pytest.mark.parametrize(
    "wrong",
    [
        {"width_mm": 0.0},
        {"length_mm": float("nan")},
        {"length_mm": 1e9},
        {"quantity": 0},
        {"quantity": 10**9},
        {"cost": -1.0},
        {"cost": float("inf")},
    ],
)
def test_no_delivery_is_like_that(wrong):
    with pytest.raises(Refused) as refused:
        stock.add(Holding(), rolls(**wrong), AT)
    assert codes(refused) == {"CP806"}


def test_an_item_of_a_millimetre_is_one_and_a_thinner_one_is_none():
    (item,) = stock.add(Holding(), rolls(width_mm=1.0), AT).put
    assert item.width_mm == 1.0
    with pytest.raises(Refused, match="1 to "):
        stock.add(Holding(), rolls(width_mm=0.999), AT)


@pytest.mark.parametrize(("taken_mm", "left_mm"), [(1199.0, [1.0]), (1199.5, [])])
def test_what_is_left_of_an_item_is_one_from_a_millimetre_on(shelf, taken_mm, left_mm):
    assert [item.length_mm for item in stock.take(shelf, 3, AT, length_mm=taken_mm).put] == left_mm


def test_a_thousand_rolls_may_come_in_at_once_and_no_more():
    assert len(stock.add(Holding(), rolls(quantity=1000), AT).put) == 1000
    with pytest.raises(Refused, match="1 to 1000"):
        stock.add(Holding(), rolls(quantity=1001), AT)


def test_a_roll_may_have_cost_nothing():
    (item,) = stock.add(Holding(), rolls(cost=0.0), AT).put
    assert item.cost_u == 0


def test_what_cost_nobody_knows_moves_no_money():
    holding = after(Holding(), stock.add(Holding(), rolls(), AT))
    holding = reserved(holding, cut_of(holding.items[1], 2000.0, pieces=0.7, kept=((500.0, 200.0),)))
    change = stock.commit(holding, "Rabc", AT)
    assert {p.cost_u for m in change.movements for p in m.postings} == {0}
    assert {item.cost_u for item in change.put} == {None}


@pytest.mark.parametrize(
    ("committed", "remedy"),
    [
        (False, "Commit or release it first; to cut the same twice, give another --seed."),
        (True, "To cut the same once more, give another --seed."),
    ],
)
def test_a_run_that_was_made_is_not_made_again(shelf, committed, remedy):
    holding = reserved(shelf, cut_of(shelf.items[1], 2000.0))
    if committed:
        holding = after(holding, stock.commit(holding, "Rabc", AT))
    with pytest.raises(Refused) as refused:
        stock.reserve(holding, run_of("Rabc", cut_of(shelf.items[2], 100.0)))
    assert [f.remedy for f in refused.value.findings] == [remedy]


def test_a_commit_puts_part_rolls_and_offcuts_back_and_scrap_on_the_pile(shelf):
    cut = cut_of(shelf.items[1], 2000.0, pieces=0.7, kept=((500.0, 200.0),))
    holding = reserved(shelf, cut)
    assert holding.items[1].run == "Rabc"
    done = after(holding, stock.commit(holding, "Rabc", AT))
    assert 1 not in done.items
    rest, offcut = done.items[4], done.items[5]
    assert (rest.kind, rest.length_mm, rest.width_mm, rest.place, rest.batch) == (
        Kind.PART,
        4000.0,
        450.0,
        "rack 2",
        "B7",
    )
    assert (offcut.kind, offcut.length_mm, offcut.width_mm) == (Kind.OFFCUT, 500.0, 200.0)
    kg_m2 = 20.41
    assert done.balances[Account.PIECES, 4].mass_kg == pytest.approx(0.7 * 0.9 * kg_m2, abs=1e-6)
    assert done.balances[Account.SCRAP, 4].mass_kg == pytest.approx((0.3 * 0.9 - 0.1) * kg_m2, abs=1e-6)
    assert rest.cost == pytest.approx(120.0, abs=1e-6)
    assert done.runs["Rabc"].state is RunState.COMMITTED
    assert sum(a.cost_u for a in done.balances.values()) == 0


def test_what_is_left_of_a_guess_is_a_guess_and_an_offcut_out_of_it_is_not(shelf):
    holding = reserved(shelf, cut_of(shelf.items[2], 1000.0, pieces=0.5, kept=((400.0, 300.0),)))
    done = after(holding, stock.commit(holding, "Rabc", AT))
    assert (done.items[4].exact, done.items[5].exact) == (False, True)


def test_a_rest_not_worth_keeping_is_scrap(shelf):
    holding = reserved(shelf, cut_of(shelf.items[3], 1100.0))
    done = after(holding, stock.commit(holding, "Rabc", AT))
    assert set(done.items) == {1, 2}
    assert done.balances[Account.SCRAP, 4].mass_kg == pytest.approx((0.36 - 0.8 * 0.33) * 20.41, abs=1e-6)


def test_a_roll_that_was_to_be_bought_comes_in_and_is_cut_at_once():
    cut = replace(cut_of(stock.add(Holding(), rolls(), AT).put[0], 1000.0), item=None)
    holding = reserved(Holding(), cut)
    done = after(holding, stock.commit(holding, "Rabc", AT))
    assert list(done.items) == [2]
    assert done.balances[Account.BOUGHT, 4].mass_kg == pytest.approx(-55.107, abs=1e-6)


def test_release_gives_back_what_was_kept(shelf):
    holding = reserved(shelf, cut_of(shelf.items[1], 2000.0), cut_of(shelf.items[3], 600.0))
    done = after(holding, stock.release(holding, "Ra", AT))
    assert dict(done.items) == dict(shelf.items)
    assert done.runs["Rabc"].state is RunState.RELEASED
    with pytest.raises(Refused) as refused:
        stock.commit(done, "Rabc", AT)
    assert codes(refused) == {"CP803"}


def test_what_one_run_has_no_other_run_gets(shelf):
    holding = reserved(shelf, cut_of(shelf.items[1], 2000.0))
    for verb in (
        lambda: stock.reserve(holding, run_of("Rother", cut_of(shelf.items[1], 100.0), cut_of(shelf.items[2], 100.0))),
        lambda: stock.take(holding, 1, AT),
        lambda: stock.adjust(holding, 1, AT, length_mm=1999.0),
        lambda: stock.adjust(holding, 1, AT, width_mm=449.0),
        lambda: stock.reserve(holding, run_of("Rabc", cut_of(shelf.items[2], 100.0))),
    ):
        with pytest.raises(Refused) as refused:
            verb()
        assert codes(refused) == {"CP803"}
    moved = after(holding, stock.adjust(holding, 1, AT, place="by the door"))
    assert moved.items[1].place == "by the door"


def test_a_run_whose_output_is_not_put_in_place_leaves_all_as_it_was(shelf):
    holding = after(shelf, stock.reserve(shelf, run_of("Rabc", cut_of(shelf.items[1], 2000.0))))
    with pytest.raises(Refused) as measured:
        stock.adjust(holding, 1, AT, length_mm=5990.0)
    done = after(holding, stock.settle(holding, "Rabc", AT, made=False))
    assert dict(done.items) == dict(shelf.items)
    with pytest.raises(Refused) as settled:
        stock.settle(done, "Rabc", AT, made=True)
    assert codes(measured) == codes(settled) == {"CP803"}
    again = reserved(done, cut_of(shelf.items[1], 2000.0))
    assert again.items[1].run == "Rabc"


def test_a_run_that_is_made_anew_passes_its_rolls_on(shelf):
    first = reserved(shelf, cut_of(shelf.items[1], 2000.0), cut_of(shelf.items[3], 600.0))
    second = run_of("Rnew", cut_of(shelf.items[1], 900.0), cut_of(shelf.items[2], 100.0), replaces="Rabc")
    making = after(first, stock.reserve(first, second))
    with pytest.raises(Refused):
        stock.commit(making, "Rabc", AT)
    made = after(making, stock.settle(making, "Rnew", AT, made=True))
    assert {n: item.run for n, item in made.items.items()} == {1: "Rnew", 2: "Rnew", 3: ""}
    assert made.runs["Rabc"].state is RunState.RELEASED
    unmade = after(making, stock.settle(making, "Rnew", AT, made=False))
    assert {n: item.run for n, item in unmade.items.items()} == {1: "Rabc", 2: "", 3: "Rabc"}
    assert unmade.runs["Rabc"].state is RunState.RESERVED


def test_a_length_taken_by_hand_leaves_a_part_roll_with_a_new_label(shelf):
    done = after(shelf, stock.take(shelf, 1, AT, length_mm=1500.0))
    assert (done.items[4].length_mm, done.items[4].kind) == (4500.0, Kind.PART)
    assert done.balances[Account.HAND, 4].mass_kg == pytest.approx(1.5 * 0.45 * 20.41, abs=1e-6)
    whole = after(done, stock.take(done, 4, AT, scrap=True))
    assert 4 not in whole.items
    assert whole.balances[Account.SCRAP, 4].mass_kg == pytest.approx(4.5 * 0.45 * 20.41, abs=1e-6)
    with pytest.raises(Refused) as refused:
        stock.take(whole, 3, AT, length_mm=1201.0)
    assert codes(refused) == {"CP806"}
    with pytest.raises(Refused) as refused:
        stock.take(whole, 4, AT)
    assert codes(refused) == {"CP802"}


def test_a_label_that_is_no_more_is_told_from_one_that_never_was(shelf):
    done = after(shelf, stock.take(shelf, 1, AT, length_mm=1500.0))
    for number, found, remedy in (
        (1, "it is not on the shelf any more", "`cutpath stock history S0001` says what became of it."),
        (77, "it is not on the shelf", "`cutpath stock list` shows every label."),
    ):
        with pytest.raises(Refused) as refused:
            stock.adjust(done, number, AT, place="rack 1")
        (finding,) = refused.value.findings
        assert (finding.code, finding.found, finding.remedy) == ("CP802", found, remedy)


def test_a_measured_length_puts_the_guess_right_and_says_where_the_lead_went(shelf):
    done = after(shelf, stock.adjust(shelf, 2, AT, length_mm=3700.0))
    assert done.items[2].exact
    assert done.balances[Account.MEASURED, 4].mass_kg == pytest.approx(0.3 * 0.6 * 20.41, abs=1e-6)


@pytest.mark.parametrize(
    ("measured", "left"), [(4300.0, {4: 3300.0}), (3700.0, {4: 2700.0}), (1100.0, {}), (1000.0, {})]
)
def test_a_roll_that_is_kept_for_a_run_is_measured_as_its_ticket_asks(shelf, measured, left):
    holding = reserved(shelf, cut_of(shelf.items[2], 1000.0, pieces=0.5))
    holding = after(holding, stock.adjust(holding, 2, AT, length_mm=measured))
    assert (holding.items[2].exact, holding.items[2].run) == (True, "Rabc")
    done = after(holding, stock.commit(holding, "Rabc", AT))
    assert {n: item.length_mm for n, item in done.items.items() if n > 3} == left
    assert all(item.exact for item in done.items.values())
    pieces, scrap = (done.balances[account, 4].mass_kg for account in (Account.PIECES, Account.SCRAP))
    assert pieces == pytest.approx(0.5 * 0.6 * 20.41, abs=1e-6)
    whole = 0.6 * measured / 1000 * 20.41
    assert pieces + scrap + sum(done.items[n].mass_kg for n in left) == pytest.approx(whole, abs=1e-6)


def test_what_an_item_cost_may_be_told_later_and_moves_to_the_account_of_what_is_put_right(shelf):
    for number, moved in ((2, 90.0), (1, -90.0)):  # nobody knew; 180 before
        (movement,) = stock.adjust(shelf, number, AT, cost=90.0).movements
        assert [(p.account, p.cost_u / 1e6) for p in movement.postings] == [
            (Account.SHELF, moved), (Account.MEASURED, -moved)
        ]  # fmt: skip


def test_the_pile_is_collected_by_code(shelf):
    holding = after(shelf, stock.take(shelf, 3, AT, scrap=True))
    done = after(holding, stock.collect(holding, AT, (4,)))
    for pile, asked, of in ((holding, (3,), " of code 3"), (holding, (6, 5), " of code 5, 6"), (done, (), "")):
        with pytest.raises(Refused) as refused:
            stock.collect(pile, AT, asked)
        (finding,) = refused.value.findings
        assert (finding.code, finding.found) == ("CP806", f"no scrap{of} is booked on it")
    assert done.balances[Account.SCRAP, 4].mass_ug == 0
    assert done.balances[Account.COLLECTED, 4].mass_kg == pytest.approx(0.36 * 20.41, abs=1e-6)


PARTS = (Part("IT-A1", 3, "Invented terrace", ("code4-01",)),)


@pytest.mark.parametrize("first", ["committed before", "committed after", "never committed"])
def test_a_piece_that_is_cut_once_more_is_spoilt_whenever_its_run_is_committed(shelf, first):
    cut, again = cut_of(shelf.items[1], 2000.0, pieces=0.7), cut_of(shelf.items[3], 500.0)
    holding = reserved(shelf, cut, parts=PARTS)
    if first == "committed before":
        holding = after(holding, stock.commit(holding, "Rabc", AT))
    holding = reserved(holding, again, name="Rnew", spoilt=(spoilt_of("Rabc", cut, 50_000.0, 2),))
    before = holding
    holding = after(holding, stock.commit(holding, "Rnew", AT))
    assert holding.runs["Rabc"].parts[0].good == 1
    if first == "committed after":
        holding = after(holding, stock.commit(holding, "Rabc", AT))
    pieces, scrap = (holding.balances[account, 4].mass_kg for account in (Account.PIECES, Account.SCRAP))
    firsts = 0.0 if first == "never committed" else 0.7 * 0.9 - 0.1
    assert pieces == pytest.approx((firsts + 0.8 * 0.15) * 20.41, abs=1e-6)
    piled = 0.0 if first == "never committed" else 0.3 * 0.9 + 0.1
    assert scrap == pytest.approx((piled + 0.2 * 0.15) * 20.41, abs=1e-6)
    assert sum(a.cost_u for a in holding.balances.values()) == 0
    if first == "committed before":
        moved = holding.balances[Account.SCRAP, 4].cost_u - before.balances[Account.SCRAP, 4].cost_u
        assert moved / 1e6 == pytest.approx(180.0 * 0.1 / 2.7, abs=1e-5), "what a roll of 2.7 m2 at 180 costs by area"


def test_two_pieces_that_are_cut_once_more_cost_what_pieces_cost_on_average(shelf):
    """0.1 m2 each out of 0.63 m2 of pieces, which took 0.63 / 2.7 of 180."""
    cut, again = cut_of(shelf.items[1], 2000.0, pieces=0.7), cut_of(shelf.items[3], 500.0)
    parts = (*PARTS, Part("IT-A2", 3, "Invented terrace", ("code4-01",)))
    holding = reserved(shelf, cut, parts=parts)
    before = after(holding, stock.commit(holding, "Rabc", AT))
    spoilt = tuple(spoilt_of("Rabc", cut, 100_000.0, piece=part.id) for part in parts)
    holding = reserved(before, again, name="Rnew", spoilt=spoilt)
    change = stock.commit(holding, "Rnew", AT)
    moved = [p for m in change.movements if m.verb is Verb.SPOIL for p in m.postings if p.account is Account.SCRAP]
    assert [p.cost_u / 1e6 for p in moved] == pytest.approx([180.0 * 0.1 / 2.7] * 2, abs=1e-5)
    assert [p.mass_ug / 1e9 for p in moved] == pytest.approx([0.1 * 20.41] * 2, abs=1e-6)


@pytest.mark.parametrize(
    ("sheets", "left_m2"),
    [(("code4-01",), (0.53, 0.315)), (("code4-02",), (0.63, 0.215)), (("code4-01", "code4-02"), (0.53, 0.315))],
)
def test_what_is_cut_once_more_is_taken_off_the_sheets_that_the_piece_lies_on(shelf, sheets, left_m2):
    """0.1 m2 of a piece on one of two sheets, or on both; neither is cut yet."""
    first = cut_of(shelf.items[1], 2000.0, pieces=0.7)
    second = replace(cut_of(shelf.items[2], 1000.0, pieces=0.525), sheet="code4-02")
    holding = reserved(shelf, first, second, parts=(Part("IT-A1", 3, "Invented terrace", sheets),))
    again = cut_of(shelf.items[3], 500.0)
    holding = reserved(holding, again, name="Rnew", spoilt=(spoilt_of("Rabc", first, 50_000.0, 2),))
    holding = after(holding, stock.commit(holding, "Rnew", AT))
    assert [cut.pieces_mm2 / 1e6 for cut in holding.runs["Rabc"].cuts] == pytest.approx(left_m2)


def test_no_more_is_cut_once_more_than_there_is(shelf):
    cut, again = cut_of(shelf.items[1], 2000.0), cut_of(shelf.items[3], 100.0)

    def asked(holding: Holding, count: int, piece: str = "IT-A1", name: str = "Rnew") -> Holding:
        return reserved(holding, again, name=name, spoilt=(spoilt_of("Rabc", cut, 1000.0, count, piece),))

    holding = reserved(shelf, cut, parts=PARTS)
    for count, piece, code in ((4, "IT-A1", "CP806"), (1, "IT-A2", "CP802")):
        with pytest.raises(Refused) as refused:
            asked(holding, count, piece)
        assert codes(refused) == {code}
    once = asked(holding, 2)
    other = replace(again, item=2)
    with pytest.raises(Refused, match="2 of them being cut once more; it takes at most 1"):
        reserved(once, other, name="Rother", spoilt=(spoilt_of("Rabc", cut, 1000.0, 2),))
    done = after(once, stock.commit(once, "Rnew", AT))
    with pytest.raises(Refused, match="2 of them spoilt already; it takes at most 1"):
        reserved(done, cut_of(done.items[2], 100.0), name="Rother", spoilt=(spoilt_of("Rabc", cut, 1000.0, 2),))
    back = after(once, stock.release(once, "Rnew", AT))
    assert asked(back, 3).runs["Rnew"].state is RunState.RESERVED
    gone = after(holding, stock.release(holding, "Rabc", AT))
    with pytest.raises(Refused, match="released"):
        asked(gone, 1)


@pytest.mark.parametrize("weighed", [0.5, 9.1, 40.0])
def test_what_was_weighed_is_collected_and_what_it_differs_by_has_its_account(shelf, weighed):
    holding = after(shelf, stock.take(shelf, 3, AT, scrap=True))
    holding = after(holding, stock.add(holding, rolls(5, length_mm=333.3, cost=7.0), AT))
    holding = after(holding, stock.take(holding, 4, AT, scrap=True))
    booked = {code: holding.balances[Account.SCRAP, code] for code in (4, 5)}
    done = after(holding, stock.collect(holding, AT, weighed_kg=weighed))
    assert sum(done.balances[Account.COLLECTED, code].mass_ug for code in (4, 5)) == round(weighed * 1e9)
    for code, amount in booked.items():
        assert done.balances[Account.SCRAP, code] == Amount()
        collected, missing = done.balances[Account.COLLECTED, code], done.balances[Account.WEIGHED, code]
        assert collected.mass_ug + missing.mass_ug == amount.mass_ug
        assert collected.mass_kg == pytest.approx(weighed * amount.mass_ug / sum(a.mass_ug for a in booked.values()))
        assert (collected.cost_u, missing.cost_u) == (amount.cost_u, 0), "what the scrap cost went with it"


@pytest.mark.parametrize("weighed", [0.0, -1.0, float("nan"), float("inf"), 1e9])
def test_no_pile_weighs_that(shelf, weighed):
    holding = after(shelf, stock.take(shelf, 3, AT, scrap=True))
    with pytest.raises(Refused) as refused:
        stock.collect(holding, AT, weighed_kg=weighed)
    assert codes(refused) == {"CP806"}


def test_a_run_is_known_by_its_first_letters_where_they_are_its_own(shelf):
    holding = reserved(reserved(shelf, cut_of(shelf.items[1], 2000.0)), cut_of(shelf.items[2], 100.0), name="Rabd")
    assert stock.known_run(holding, "Rabd").id == "Rabd"
    for name in ("Rab", "Rz", ""):
        with pytest.raises(Refused) as refused:
            stock.known_run(holding, name)
        assert codes(refused) == {"CP802"}
    holding = after(holding, stock.release(holding, "Rabd", AT))
    assert [run.id for run in stock.commit(holding, "Rab", AT).runs] == ["Rabc"], "the only one that is reserved"
    with pytest.raises(Refused) as refused:
        stock.commit(holding, "Rabd", AT)
    assert codes(refused) == {"CP803"}


def test_a_movement_that_does_not_sum_to_zero_cannot_be_written():
    with pytest.raises(ValueError, match="do not sum to zero for code 4"):
        Movement(Verb.ADD, AT, (Posting(Account.BOUGHT, 4, -10), Posting(Account.SHELF, 4, 9, 0, 1)))


@pytest.mark.parametrize(
    ("place", "found"),
    [("x" * 201, "201 characters"), ("rack\u202e2", "rack\\u202e2"), ("x" * 199 + "\u202e", "x" * 199 + "\\u202e")],
)
def test_words_too_long_or_not_to_be_seen_are_refused(place, found):
    with pytest.raises(Refused, match="at most 200 characters that can be seen") as refused:
        stock.add(Holding(), rolls(place=place), AT)
    assert refused.value.findings[0].found == found
    stock.add(Holding(), rolls(place="x" * 200), AT)


def test_a_pile_of_next_to_nothing_is_collected_too():
    pile = Holding(balances={(Account.SCRAP, 4): Amount(1, 0)})
    (movement,) = stock.collect(pile, AT).movements
    assert [p.mass_ug for p in movement.postings] == [-1, 1]


def test_a_re_cut_that_ends_in_part_spoils_only_what_it_cut(shelf):
    """Two pieces are cut once more, each on a roll of its own; of these one is cut."""
    parts = (*PARTS, Part("IT-A2", 3, "Invented terrace", ("code4-01",)))
    first = cut_of(shelf.items[1], 2000.0)
    holding = reserved(shelf, first, parts=parts)
    again = [cut_of(shelf.items[2], 500.0), replace(cut_of(shelf.items[3], 500.0), sheet="code4-02")]
    own = tuple(Part(part.id, 2, part.job, (cut.sheet,), counts=(2,)) for part, cut in zip(parts, again, strict=True))
    spoilt = tuple(spoilt_of("Rabc", first, 1000.0, 2, part.id) for part in parts)
    holding = reserved(holding, *again, name="Rnew", parts=own, spoilt=spoilt)
    holding = after(holding, stock.commit(holding, "Rnew", AT, sheets=("code4-02",)))
    holding = after(holding, stock.release(holding, "Rnew", AT))
    assert [(c.piece, c.count) for c in holding.runs["Rnew"].spoilt] == [("IT-A2", 2)]
    assert [part.spoilt for part in holding.runs["Rabc"].parts] == [0, 2]


@pytest.mark.parametrize(("note", "kept"), [("", "code4-01"), ("thin at one end", "thin at one end")])
def test_what_is_booked_has_the_note_that_it_was_given_or_its_roll(shelf, note, kept):
    holding = reserved(shelf, cut_of(shelf.items[1], 2000.0))
    assert [m.note for m in stock.commit(holding, "Rabc", AT, note=note).movements] == [kept]


def test_a_roll_may_be_a_hundred_metres_long_and_no_longer():
    assert stock.add(Holding(), rolls(length_mm=100_000.0), AT).put[0].length_mm == 100_000.0
    with pytest.raises(Refused, match="1 to 100000 mm"):
        stock.add(Holding(), rolls(length_mm=100_000.1), AT)


def test_a_roll_may_cost_a_milliard_and_no_more():
    assert stock.add(Holding(), rolls(cost=1e9), AT).put[0].cost_u == 10**15
    with pytest.raises(Refused, match="cost"):
        stock.add(Holding(), rolls(cost=1e9 + 1), AT)


def test_what_is_cut_once_more_of_a_run_cut_in_part_is_taken_off_the_rest_as_far_as_it_is_not_booked(shelf):
    """0.1 m2 of a piece on two sheets, of which the one that is cut has 0.04 m2 of pieces."""
    first = cut_of(shelf.items[1], 2000.0, pieces=0.04 / 0.9)
    second = replace(cut_of(shelf.items[2], 1000.0, pieces=0.5), sheet="code4-02")
    sheets = ("code4-01", "code4-02")
    holding = reserved(shelf, first, second, parts=(Part("IT-A1", 3, "Invented terrace", sheets),))
    holding = after(holding, stock.commit(holding, "Rabc", AT, sheets=sheets[:1]))
    again = cut_of(shelf.items[3], 500.0)
    holding = reserved(holding, again, name="Rnew", spoilt=(spoilt_of("Rabc", first, 50_000.0, 2),))
    holding = after(holding, stock.commit(holding, "Rnew", AT))
    left_m2 = [cut.pieces_mm2 / 1e6 for cut in holding.runs["Rabc"].cuts]
    assert left_m2 == pytest.approx([0.04, second.pieces_mm2 / 1e6 - 0.06])
