"""A stock file of every earlier version opens, keeps all that it held, closes, and takes what is new."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from cutpath import stock
from cutpath.stock import StockFile, schema
from cutpath.values.stock import Account, Amount, RunState, Stage
from tests.stock.striking import AT, Died, mortal, rolls

FOLDER = Path(__file__).parent
"""``version1.sql`` and those after it were written by that version itself, and dumped."""

EARLIER = range(1, schema.VERSION)


def opened(folder: Path, number: int) -> StockFile:
    """Return the stock file of an earlier version, as that one left it."""
    path = folder / "stock.sqlite3"
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript((FOLDER / f"version{number}.sql").read_text())
        assert connection.execute("PRAGMA user_version").fetchone() == (number,)
    return StockFile(path)


@pytest.fixture
def old(tmp_path: Path) -> StockFile:
    return opened(tmp_path, 1)


def version(file: StockFile) -> int:
    with closing(sqlite3.connect(file.path)) as connection:
        return connection.execute("PRAGMA user_version").fetchone()[0]


def test_an_old_file_opens_and_holds_what_it_held(old):
    holding = old.read()
    assert version(old) == schema.VERSION
    assert stock.check(old) == ()
    assert [(i.label, i.kind, i.length_mm, i.exact, i.run) for i in holding.items.values()] == [
        ("S0002", "roll", 6000.0, True, "Ropen"),
        ("S0003", "roll", 6000.0, True, ""),
        ("S0004", "part roll", 4000.0, False, ""),
        ("S0005", "part roll", 4000.0, True, ""),
        ("S0006", "offcut", 500.0, True, ""),
    ]
    assert holding.items[5].cost == pytest.approx(120.0)
    assert {name: run.state for name, run in holding.runs.items()} == {
        "Rdone": RunState.COMMITTED,
        "Ropen": RunState.RESERVED,
    }
    assert holding.balances[Account.BOUGHT, 4].mass_kg == pytest.approx(-(3 * 2.7 + 2.4) * 20.41, abs=1e-6)
    assert old.movements(1)[0].movement.note == "first delivery"


def test_it_goes_on_from_there(old):
    old.change(lambda h: stock.tell(h, "Ropen", Stage.CUT, AT, things=["code4-01"]))
    assert [d.thing for d in old.done("Ropen")] == ["code4-01"]
    old.change(lambda h: stock.commit(h, "Ropen", AT))
    (new,) = old.change(lambda h: stock.add(h, rolls(), AT)).put
    assert new.label == "S0008"
    assert stock.check(old) == ()


@pytest.mark.parametrize("number", EARLIER)
def test_a_file_of_every_earlier_version_opens_closes_and_goes_on(number, tmp_path):
    file = opened(tmp_path, number)
    with closing(sqlite3.connect(file.path)) as connection:
        items = connection.execute("SELECT * FROM item").fetchall()
        movements = connection.execute("SELECT * FROM movement").fetchall()
        sums = connection.execute("SELECT account, code, sum(mass_ug), sum(cost_u) FROM posting GROUP BY 1, 2")
        booked = {(Account(account), code): Amount(kg, money) for account, code, kg, money in sums}
        runs = dict(connection.execute("SELECT id, state FROM run").fetchall())
    holding = file.read()
    assert version(file) == schema.VERSION
    assert stock.check(file) == ()
    assert len(file.whole().items) == len(items) > 0
    assert len(file.movements()) == len(movements) > 0
    assert dict(holding.balances) == booked
    assert {name: run.state for name, run in holding.runs.items()} == runs
    name = next(name for name, state in runs.items() if state == RunState.RESERVED)
    file.change(lambda h: stock.tell(h, name, Stage.CUT, AT))
    file.change(lambda h: stock.commit(h, name, AT))
    file.change(lambda h: stock.collect(h, AT, weighed_kg=2.0))
    file.change(lambda h: stock.add(h, rolls(), AT))
    assert stock.check(file) == ()


def test_what_was_told_of_a_run_is_told_still(tmp_path):
    file = opened(tmp_path, 2)
    run = file.read().runs["Rdone"]
    assert [(part.id, part.quantity) for part in run.parts] == [("IT-A1-1", 1), ("IT-K1", 12)]
    last = {(d.stage, d.thing): d.count for d in file.done("Rdone")}
    assert last == {(Stage.FOLDED, "IT-A1-1"): 1, (Stage.FOLDED, "IT-K1"): 12, (Stage.PACKED, "IT-K1"): 5}


def test_death_while_it_is_brought_up_to_date_leaves_the_old_file_or_the_new_one(old, tmp_path):
    before = old.path.read_bytes()
    with mortal() as program:
        whole = StockFile(tmp_path / "whole.sqlite3")
        whole.path.write_bytes(before)
        expected = whole.read()
        taken = program.taken
        ends = set()
        for step in range(1, taken + 1):
            file = StockFile(tmp_path / f"{step}.sqlite3")
            file.path.write_bytes(before)
            program.left, program.after = step, step % 2 == 0
            with pytest.raises(Died):
                file.read()
            program.left = None
            ends.add(version(file))
            assert file.read() == expected
            assert stock.check(file) == ()
    assert ends == {1, schema.VERSION}
