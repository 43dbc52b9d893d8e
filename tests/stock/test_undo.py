"""A run booked roll by roll, and wrong entries taken back: the history keeps both, and the stock closes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cutpath import stock
from cutpath.errors import Refused
from cutpath.reports.words.run_list import progress
from cutpath.stock import StockFile
from cutpath.values.stock import Account, Part, RunState, Stage, Verb
from tests.stock.striking import AT, KG_M2, cut_of, rolls, run_of, spoilt_of

KG = {name: sides[0] * sides[1] * KG_M2[4] / 1e6 for name, sides in {"roll": (450, 6000), "off": (400, 200)}.items()}


@pytest.fixture
def file(tmp_path) -> StockFile:
    """Three rolls, two of them kept for a run, and a third yet to be bought."""
    made = StockFile(tmp_path / "stock.sqlite3")
    made.change(lambda h: stock.add(h, rolls(quantity=3, cost=180.0), AT), create=True)
    items = made.read().items
    cuts = [
        replace(cut_of(items[1], 2000.0, kept=((400.0, 200.0),)), sheet="code4-01"),
        replace(cut_of(items[2], 4000.0), sheet="code4-02"),
        replace(cut_of(items[3], 1000.0), sheet="code4-03", item=None, price=210.0),
    ]
    parts = (
        Part("IT-A1", 2, "Terrace", ("code4-01", "code4-02"), counts=(1, 1)),
        Part("IT-K1", 9, "Terrace", ("code4-02", "code4-03"), counts=(4, 5)),
    )
    reserve(made, run_of("Rabc", *cuts, parts=parts))
    return made


def reserve(file: StockFile, run) -> None:
    file.change(lambda h: stock.reserve(h, run))
    file.change(lambda h: stock.settle(h, run.id, AT, made=True))


def commit(file: StockFile, *sheets: str, run: str = "Rabc"):
    return file.change(lambda h: stock.commit(h, run, AT, sheets=sheets))


def undo(file: StockFile, number: int):
    (change,) = file.change_by_history([lambda whole: stock.undo(whole, number, AT)])
    assert stock.check(file) == ()
    return change


def entry(file: StockFile, verb: Verb, which: int = -1) -> int:
    return [e.number for e in file.movements() if e.movement.verb is verb][which]


def kg(file: StockFile, account: Account) -> float:
    held = file.read().balances.get((account, 4))
    return held.mass_kg if held else 0.0


def refused(code: str, ask, *arguments) -> str:
    with pytest.raises(Refused) as refusal:
        ask(*arguments)
    (finding,) = refusal.value.findings
    assert finding.code == code
    return str(finding)


def test_a_roll_that_is_cut_is_booked_and_the_others_stay_kept(file):
    commit(file, "code4-01")
    holding = file.read()
    assert holding.runs["Rabc"].state is RunState.RESERVED
    assert holding.runs["Rabc"].items == (2,)
    assert sorted(holding.items) == [2, 3, 4, 5], "what is left of the first roll is on the shelf this evening"
    assert holding.items[4].run == holding.items[5].run == ""
    assert stock.check(file) == ()
    assert "code4-02, code4-03" in refused("CP803", commit, file, "code4-01")
    assert "Did you mean code4-02" in refused("CP802", commit, file, "code4-2")
    commit(file, "code4-03")
    commit(file)
    assert file.read().runs["Rabc"].state is RunState.COMMITTED
    assert stock.check(file) == ()
    assert kg(file, Account.PIECES) == pytest.approx(0.8 * (2000 + 4000 + 1000) * 450 * KG_M2[4] / 1e6, abs=1e-6)


def test_the_rest_of_a_run_is_released_and_only_what_was_cut_is_its_work(file):
    commit(file, "code4-02")
    file.change(lambda h: stock.release(h, "Rabc", AT))
    run = file.read().runs["Rabc"]
    assert (run.state, [cut.sheet for cut in run.cuts]) == (RunState.COMMITTED, ["code4-02"])
    assert [(part.id, part.quantity, part.sheets, part.counts) for part in run.parts] == [
        ("IT-A1", 1, ("code4-02",), (1,)),
        ("IT-K1", 4, ("code4-02",), (4,)),
    ]
    assert {item.run for item in file.read().items.values()} == {""}
    assert stock.check(file) == ()


def test_output_is_not_replaced_while_its_run_is_cut_in_part(file):
    commit(file, "code4-01")
    other = run_of("Rnew", cut_of(file.read().items[2], 500.0), replaces="Rabc")
    assert "1 of its 3 rolls" in refused("CP803", file.change, lambda h: stock.reserve(h, other))


def test_pieces_go_on_when_the_rolls_that_they_come_from_are_cut(file):
    def tell(stage, *things, count=None):
        before = file.done("Rabc")
        file.change(lambda h: stock.tell(h, "Rabc", stage, AT, things=things, count=count, before=before))

    said = refused("CP803", tell, Stage.FOLDED)
    assert "IT-A1, IT-K1 come from code4-01, code4-02, code4-03" in said
    assert "cutpath run done Rabc cut code4-01 code4-02 code4-03" in said
    tell(Stage.CUT, "code4-01")
    refused("CP803", tell, Stage.FOLDED, "IT-A1")
    with pytest.raises(Refused):
        tell(Stage.DELIVERED, "IT-K1", count=1)
    tell(Stage.FOLDED, "IT-A1", count=1)
    commit(file, "code4-02")
    tell(Stage.FOLDED, "IT-A1")
    tell(Stage.PACKED, "IT-K1", count=4)
    tell(Stage.PACKED, "IT-K1", count=0)
    refused(
        "CP803",
        tell,
        Stage.PACKED,
        "IT-K1",
    )
    commit(file)
    tell(Stage.PACKED)
    tell(Stage.DELIVERED)


def test_a_roll_booked_by_mistake_is_whole_and_kept_again(file):
    before = file.read()
    commit(file, "code4-01")
    undo(file, entry(file, Verb.COMMIT))
    after = file.read()
    assert dict(after.items) == dict(before.items)
    assert after.runs == before.runs
    assert {k: a for k, a in after.balances.items() if a.mass_ug or a.cost_u} == dict(before.balances)
    assert [e.movement.verb for e in file.movements()][-2:] == [Verb.COMMIT, Verb.UNDO], "both are kept"
    assert "undid it" in refused("CP803", undo, file, entry(file, Verb.COMMIT))
    assert "Book it once more" in refused("CP803", undo, file, entry(file, Verb.UNDO))
    (*_, new) = commit(file, "code4-01").put
    assert new.label == "S0007", "a label is never given twice"


def test_pieces_of_a_roll_that_is_taken_back_are_no_farther_than_it_is(file):
    """They stood as packed and delivered from a roll that lay on the shelf."""

    def tell(stage, *things, count=None):
        before = file.done("Rabc")
        file.change(lambda h: stock.tell(h, "Rabc", stage, AT, things=things, count=count, before=before))

    def reached():
        told = progress(file.read().runs["Rabc"], file.done("Rabc"))
        return [(row["folded"], row["packed"], row["delivered"]) for row in told["pieces"]]

    commit(file)
    for stage in (Stage.FOLDED, Stage.PACKED, Stage.DELIVERED):
        tell(stage)
    assert reached() == [(2, 2, 2), (9, 9, 9)]
    undo(file, entry(file, Verb.COMMIT))
    assert reached() == [(2, 2, 2), (4, 4, 4)]
    tell(Stage.CUT, "code4-03")
    assert reached()[1] == (9, 9, 9)
    tell(Stage.CUT, "code4-03", count=0)
    undo(file, entry(file, Verb.COMMIT, -2))
    assert reached() == [(1, 1, 1), (0, 0, 0)]


def test_a_run_committed_by_mistake_is_taken_back_roll_by_roll_with_what_was_bought(file):
    commit(file)
    for which in (-1, -2, -3):
        undo(file, entry(file, Verb.COMMIT, which))
    holding = file.read()
    run = holding.runs["Rabc"]
    assert (run.state, len(run.items)) == (RunState.RESERVED, 3)
    assert holding.items[max(run.items)].cost == 210.0, "what the list of rolls says of it"
    bought = entry(file, Verb.ADD)
    assert "kept for run Rabc" in refused("CP803", undo, file, bought)
    file.change(lambda h: stock.release(h, "Rabc", AT))
    undo(file, bought)
    assert sorted(file.read().items) == [1, 2, 3]
    assert kg(file, Account.SHELF) == pytest.approx(3 * KG["roll"], abs=1e-6)
    assert kg(file, Account.PIECES) == kg(file, Account.SCRAP) == 0.0


@pytest.mark.parametrize("weighed", [None, 11.5])
def test_a_slip_noticed_after_the_scrap_was_collected(file, weighed):
    commit(file, "code4-01")
    wrong = entry(file, Verb.COMMIT)
    slip = kg(file, Account.SCRAP)
    commit(file, "code4-02")
    pile = kg(file, Account.SCRAP)
    file.change(lambda h: stock.collect(h, AT, weighed_kg=weighed))
    file.change(lambda h: stock.take(h, 3, AT, length_mm=100.0, scrap=True))
    there = kg(file, Account.SCRAP)
    undo(file, wrong)
    assert kg(file, Account.SCRAP) == pytest.approx(there, abs=1e-6), "what came on the pile since is there"
    assert kg(file, Account.COLLECTED) == pytest.approx(weighed or pile - slip, abs=1e-6), "what was weighed stands"
    if weighed:
        assert kg(file, Account.WEIGHED) == pytest.approx(pile - slip - weighed, abs=1e-6)
    assert file.read().items[1].run == "Rabc"


def test_what_something_was_made_of_since_says_what_is_undone_first(file):
    commit(file, "code4-01")
    booked = entry(file, Verb.COMMIT)
    part = next(i for i in file.read().items.values() if i.kind == "part roll")
    file.change(lambda h: stock.take(h, part.number, AT, length_mm=500.0))
    taken = entry(file, Verb.TAKE)
    assert f"cutpath stock undo {taken}." in refused("CP803", undo, file, booked)
    undo(file, taken)
    file.change(lambda h: stock.adjust(h, part.number, AT, length_mm=part.length_mm - 7.0))
    undo(file, booked)
    assert kg(file, Account.MEASURED) == pytest.approx(0.0, abs=1e-6), "what was measured of it went with it"
    assert file.read().items[1].length_mm == 6000.0


def test_of_several_entries_all_are_undone_or_none(file):
    commit(file)
    before, *booked = file.read(), *(entry(file, Verb.COMMIT, k) for k in (-1, -2, -3))

    def undo_all(*numbers):
        file.change_by_history([lambda whole, n=n: stock.undo(whole, n, AT) for n in numbers])

    refused("CP802", undo_all, *booked, 999)
    assert file.read() == before
    undo_all(*booked)
    assert file.read().runs["Rabc"].booked == ()


def test_a_delivery_or_a_collection_that_never_came(file):
    file.change(lambda h: stock.take(h, 3, AT, scrap=True))
    file.change(lambda h: stock.collect(h, AT, weighed_kg=50.0))
    undo(file, entry(file, Verb.COLLECT))
    assert kg(file, Account.SCRAP) == pytest.approx(KG["roll"], abs=1e-6)
    assert kg(file, Account.COLLECTED) == kg(file, Account.WEIGHED) == 0.0
    undo(file, entry(file, Verb.TAKE))
    undo(file, entry(file, Verb.ADD))
    assert sorted(file.read().items) == [1, 2]
    assert "Release the run" in refused("CP803", undo, file, entry(file, Verb.RESERVE))
    assert "no such entry" in refused("CP802", undo, file, 999)


def test_a_re_cut_that_never_was_makes_its_pieces_good_again(file):
    commit(file)
    first = file.read().runs["Rabc"]
    pieces, pile = kg(file, Account.PIECES), kg(file, Account.SCRAP)
    (roll,) = file.change(lambda h: stock.add(h, rolls(), AT)).put
    spoilt = (spoilt_of("Rabc", first.cuts[0], 90_000.0, 2, "IT-A1"),)
    reserve(file, run_of("Ragain", cut_of(roll, 500.0), spoilt=spoilt))
    commit(file, run="Ragain")
    assert "spoilt since" in refused("CP803", undo, file, entry(file, Verb.COMMIT, 0))
    assert [part.spoilt for part in file.read().runs["Rabc"].parts] == [2, 0]
    undo(file, entry(file, Verb.COMMIT))
    assert [part.spoilt for part in file.read().runs["Rabc"].parts] == [0, 0]
    assert (kg(file, Account.PIECES), kg(file, Account.SCRAP)) == pytest.approx((pieces, pile), abs=1e-6)
    undo(file, entry(file, Verb.COMMIT, 0))


def test_a_re_cut_of_what_was_not_cut_yet_is_not_taken_back(file):
    """Its commit took the area off the first run, which has booked no lead that could come back."""
    cut = file.read().runs["Rabc"].cuts[0]
    (roll,) = file.change(lambda h: stock.add(h, rolls(), AT)).put
    reserve(file, run_of("Ragain", cut_of(roll, 500.0), spoilt=(spoilt_of("Rabc", cut, 90_000.0),)))
    commit(file, run="Ragain")
    assert "before that was cut" in refused("CP803", undo, file, entry(file, Verb.COMMIT))


def test_pieces_of_a_roll_that_is_booked_are_spoilt_though_its_run_is_not_committed(file):
    commit(file, "code4-02")
    pieces = kg(file, Account.PIECES)
    first = file.read().runs["Rabc"]
    (roll,) = file.change(lambda h: stock.add(h, rolls(), AT)).put
    reserve(
        file, run_of("Ragain", cut_of(roll, 500.0), spoilt=(spoilt_of("Rabc", first.cuts[1], 90_000.0, 1, "IT-A1"),))
    )
    commit(file, run="Ragain")
    gone = 0.09 * KG_M2[4]
    assert kg(file, Account.PIECES) == pytest.approx(pieces - gone + 0.8 * 0.5 * 0.45 * KG_M2[4], abs=1e-6)
    commit(file)
    assert stock.check(file) == ()
