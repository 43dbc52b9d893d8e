"""The stock file: kept between programs, fought over, broken off, of another kind, of an older version, copied."""

from __future__ import annotations

import gc
import random
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from functools import partial
from pathlib import Path

import pytest

from cutpath import stock
from cutpath.errors import Refused
from cutpath.stock import StockFile, schema
from cutpath.values.stock import Holding, Kind, Part
from tests.forked import starter
from tests.fuzz.mutants import mutant
from tests.fuzz.readers import tried
from tests.stock.striking import AT, Died, cut_of, kg, mortal, rolls, run_of

ROOT = Path(__file__).parents[2]


@pytest.fixture
def file(tmp_path: Path) -> StockFile:
    made = StockFile(tmp_path / "shop" / "stock.sqlite3")
    made.change(lambda h: stock.add(h, rolls(quantity=2, cost=180.0, place="rack 2"), AT, "first"), create=True)
    made.change(lambda h: stock.add(h, rolls(width_mm=300, length_mm=1200, kind=Kind.OFFCUT), AT))
    return made


def changed(path: Path, statement: str) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute(statement)


def codes(refused: pytest.ExceptionInfo[Refused]) -> set[str]:
    return {finding.code for finding in refused.value.findings}


def test_what_was_put_on_the_shelf_is_there_for_the_next_program(file):
    holding = StockFile(file.path).read()
    assert [item.label for item in holding.items.values()] == ["S0001", "S0002", "S0003"]
    assert holding.items[1].place == "rack 2"
    assert holding.items[1].cost == 180.0
    assert [entry.movement.note for entry in file.movements()] == ["first", "first", ""]
    assert [entry.number for entry in file.movements(2)] == [2]
    assert stock.check(file) == ()


def test_a_file_is_made_only_when_something_is_put_into_it(tmp_path):
    file = StockFile(tmp_path / "stock.sqlite3")
    assert file.read() == Holding()
    assert file.movements() == []
    with pytest.raises(Refused) as refused:
        file.change(lambda h: stock.take(h, 1, AT))
    assert codes(refused) == {"CP801"}
    with pytest.raises(Refused):
        file.change(lambda h: stock.add(h, rolls(quantity=0), AT), create=True)
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_lost_all_it_held_is_not_an_empty_shelf(file):
    """A full disk or a copier leaves such; its labels would be given a second time."""
    file.path.write_bytes(b"")
    put = partial(file.change, lambda h: stock.add(h, rolls(), AT), create=True)
    for look in (file.read, file.movements, file.whole, file.damage, file.copy, partial(stock.check, file), put):
        with pytest.raises(Refused) as refused:
            look()
        (finding,) = refused.value.findings
        assert (finding.code, finding.where, finding.found) == ("CP801", str(file.path), "it is empty")
    assert file.path.read_bytes() == b""


@pytest.mark.parametrize("place", [".", "/", "..", ""])
def test_a_folder_is_no_stock_file(place, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for use in (StockFile.read, lambda file: file.change(lambda h: stock.add(h, rolls(), AT), create=True)):
        with pytest.raises(Refused) as refused:
            use(StockFile(Path(place)))
        (finding,) = refused.value.findings
        assert (finding.code, finding.found) == ("CP801", "it is a folder")


def test_a_refusal_changes_nothing(file):
    before = file.copy()
    with pytest.raises(Refused):
        file.change(lambda h: stock.take(h, 9, AT))
    assert file.read().next_number == 4
    assert len(before) == len(file.copy())
    assert len(file.movements()) == 3


def test_movements_cannot_be_changed_or_taken_out(file):
    for statement in (
        "DELETE FROM movement",
        "UPDATE movement SET at = ''",
        "DELETE FROM posting",
        "UPDATE posting SET mass_ug = 0",
        "DELETE FROM item",
    ):
        with pytest.raises(sqlite3.IntegrityError, match="are kept"):
            changed(file.path, statement)


@pytest.mark.parametrize(
    "tampering",
    [
        "UPDATE item SET mass_ug = mass_ug - 1 WHERE number = 2",
        "UPDATE item SET cost_u = 0 WHERE number = 2",
        "UPDATE item SET gone = 1 WHERE number = 2",
        "UPDATE item SET run = 'Rnone' WHERE number = 2",
        "UPDATE run SET state = 'released'",
        "UPDATE item SET run = ''",
        "INSERT INTO posting VALUES (1, 'scrap pile', 4, 5, 0, NULL)",
        "UPDATE item SET length_mm = 10 * length_mm WHERE number = 2",
        "UPDATE item SET code = 5 WHERE number = 2",
        "DROP TABLE done",
        "CREATE TRIGGER all_gone AFTER UPDATE ON run BEGIN UPDATE item SET place = ''; END",
    ],
)
def test_check_finds_what_does_not_close(file, tampering):
    run = run_of("Rabc", cut_of(file.read().items[1], 1000.0))
    file.change(lambda h: stock.reserve(h, run))
    file.change(lambda h: stock.settle(h, "Rabc", AT, made=True))
    assert stock.check(file) == ()
    changed(file.path, tampering)
    assert {finding.code for finding in stock.check(file)} == {"CP804"}


def test_what_does_not_close_is_told_in_kilograms_and_money_down_to_the_last_place(file):
    changed(file.path, "UPDATE item SET mass_ug = mass_ug - 1 WHERE number = 2")
    found = next(finding for finding in stock.check(file) if finding.found.startswith("it is"))
    mass_kg, cost = file.read().items[2].mass_kg, (file.read().items[2].cost_u or 0) / 1e6
    assert found.found == f"it is {mass_kg:.9f} kg for {cost:.6f}"
    assert found.accepted == f"booked are {mass_kg + 1e-9:.9f} kg for {cost:.6f}"


@pytest.mark.parametrize(
    "tampering",
    [
        "UPDATE item SET kind = 'barrel' WHERE number = 2",
        "INSERT INTO movement VALUES (99, 'lost', 'today', '', '', NULL)",
        "INSERT INTO posting VALUES (1, 'cellar', 4, 0, 0, NULL)",
        "UPDATE run SET plan = '{}'",
        "UPDATE run SET plan = 'cut it'",
        "UPDATE item SET length_mm = 1e308 WHERE number = 2",
        "UPDATE item SET width_mm = 1e-308 WHERE number = 2",
        "UPDATE item SET number = 9223372036854775807 WHERE number = 3",
    ],
)
def test_rows_that_no_cutpath_wrote_are_the_files_fault(file, tampering):
    run = run_of("Rabc", cut_of(file.read().items[1], 1000.0))
    file.change(lambda h: stock.reserve(h, run))
    changed(file.path, tampering)
    with pytest.raises(Refused) as told:
        file.whole()
    (finding,) = told.value.findings
    assert (finding.code, finding.where) == ("CP801", str(file.path))
    assert "not as it was written" in finding.found


@pytest.mark.parametrize("number", [89, 300, 441, 1113, 2795])
def test_torn_files_are_refused(number, tmp_path):
    """Torn schemas whose faults SQLite cannot put into words, and rows of other kinds."""
    assert tried("stock", mutant("stock", number), tmp_path) == "refused"


def test_other_files_are_left_alone(tmp_path):
    text = tmp_path / "job.toml"
    text.write_text('name = "a job, where --stock took it for its file"\n' * 50)
    other = tmp_path / "other.sqlite3"
    changed(other, "CREATE TABLE mine (x)")
    for path in (text, other, tmp_path):
        held = path.read_bytes() if path.is_file() else b""
        with pytest.raises(Refused) as refused:
            StockFile(path).change(lambda h: stock.add(h, rolls(), AT), create=True)
        assert codes(refused) == {"CP801"}
        assert path.is_dir() or path.read_bytes() == held


def test_a_file_of_a_later_version_is_not_touched(file):
    changed(file.path, f"PRAGMA user_version = {schema.VERSION + 1}")
    with pytest.raises(Refused, match="later cutpath"):
        file.read()


def test_a_copy_is_whole_and_opens(file, tmp_path):
    copy = tmp_path / "copy.sqlite3"
    copy.write_bytes(file.copy())
    assert StockFile(copy).read() == file.read()
    assert stock.check(StockFile(copy)) == ()


@pytest.mark.parametrize("apart", [3, pytest.param(1, marks=pytest.mark.slow)])
def test_death_at_any_step_of_a_change_leaves_before_or_after(tmp_path, apart):
    """A roll is added to a new file, reserved, committed: struck before and after statements of each, slowly all."""
    with mortal() as program:
        verbs = (
            lambda h: stock.add(h, rolls(quantity=2), AT),
            lambda h: stock.reserve(h, run_of("Rabc", cut_of(h.items[1], 1000.0, kept=((400.0, 200.0),)))),
            lambda h: stock.settle(h, "Rabc", AT, made=True),
            lambda h: stock.commit(h, "Rabc", AT),
        )
        whole = StockFile(tmp_path / "whole.sqlite3")
        stages = [whole.read()]
        steps = []
        for verb in verbs:
            program.taken = 0
            whole.change(verb, create=True)
            steps.append(program.taken)
            stages.append(whole.read())
        assert min(steps) > 8
        ends = set()
        for stage, verb in enumerate(verbs):
            for step in sorted({*range(1, steps[stage] + 1, apart), steps[stage]}):
                for after in (False, True):
                    file = StockFile(tmp_path / f"{stage}-{step}-{after}.sqlite3")
                    for earlier in verbs[:stage]:
                        file.change(earlier, create=True)
                    program.left, program.after = step, after
                    with pytest.raises(Died):
                        file.change(verb, create=True)
                    program.left = None
                    gc.collect(1)  # a dead program holds no lock; here its connection lives on in what was just raised
                    now = file.read()
                    assert now in (stages[stage], stages[stage + 1])
                    ends.add((stage, now == stages[stage + 1]))
                    file.change(lambda h: stock.add(h, rolls(), AT), create=True)
                    assert stock.check(file) == ()
        assert len(ends) == 2 * len(verbs)


RIVAL = """
import sys
from pathlib import Path
from cutpath import stock
from cutpath.errors import Refused
from tests.stock.striking import cut_of, run_of, spoilt_of

file = stock.StockFile(Path(sys.argv[1]))
print("ready", flush=True)
for line in sys.stdin:
    number, round_ = map(int, line.split())
    item = file.read().items[number + (sys.argv[2] == "b" and len(sys.argv) > 3)]
    spoilt = (spoilt_of("Rfirst", cut_of(item, 1000.0), 1.0, piece=f"IT-{round_}"),) if len(sys.argv) > 3 else ()
    try:
        file.change(lambda h: stock.reserve(h, run_of(f"R{round_}{sys.argv[2]}", cut_of(item, 1000.0), spoilt=spoilt)))
        print("got it", flush=True)
    except Refused as refusal:
        print(",".join(f.code for f in refusal.findings), flush=True)
"""


def fight(file: StockFile, rounds: int, *, over_a_piece: bool = False) -> tuple[int, int]:
    """Let two programs ask for the last roll at once, again and again; return how often each of them got it.

    Over a piece, each has a roll of its own, and both want to cut the same spoilt piece once more.
    """
    rivals = [
        subprocess.Popen(
            [sys.executable, "-c", RIVAL, file.path, name, *(["piece"] if over_a_piece else [])],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            cwd=ROOT,
        )
        for name in "ab"
    ]
    won = [0, 0]
    try:
        for rival in rivals:
            assert rival.stdout.readline() == "ready\n"
        for number in range(1, rounds + 1):
            file.change(lambda h: stock.add(h, rolls(quantity=1 + over_a_piece), AT), create=True)
            last = file.read().next_number - 1 - over_a_piece
            for rival in rivals[:: 1 if number % 2 else -1]:
                rival.stdin.write(f"{last} {number}\n")
                rival.stdin.flush()
            said = [rival.stdout.readline().strip() for rival in rivals]
            assert sorted(said) == ["CP806" if over_a_piece else "CP803", "got it"], f"round {number}: {said}"
            winner = said.index("got it")
            won[winner] += 1
            name = f"R{number}{'ab'[winner]}"
            holding = file.read()
            assert holding.items[last + (over_a_piece and winner)].run == name
            assert [run for run in holding.runs if run.startswith(f"R{number}") and run[:-1] == name[:-1]] == [name]
            file.change(lambda h, name=name: stock.settle(h, name, AT, made=True))
            file.change(lambda h, name=name: stock.commit(h, name, AT))
            rest = file.read()
            file.change(lambda h, rest=rest: stock.take(h, rest.next_number - 1, AT))
    finally:
        for rival in rivals:
            rival.stdin.close()
            rival.wait(30)
            rival.stdout.close()
    assert stock.check(file) == ()
    return won[0], won[1]


def test_two_programs_never_get_the_same_roll(tmp_path):
    assert sum(fight(StockFile(tmp_path / "stock.sqlite3"), 10)) == 10


def a_first_run(file: StockFile, pieces: int) -> StockFile:
    """A committed run with so many pieces that may be spoilt."""
    (item,) = file.change(lambda h: stock.add(h, rolls(), AT), create=True).put
    parts = tuple(Part(f"IT-{n}", 1, "Invented terrace", ("code4-01",)) for n in range(1, pieces + 1))
    file.change(lambda h: stock.reserve(h, run_of("Rfirst", cut_of(item, 5000.0), parts=parts)))
    file.change(lambda h: stock.settle(h, "Rfirst", AT, made=True))
    file.change(lambda h: stock.commit(h, "Rfirst", AT))
    return file


@pytest.mark.parametrize("rounds", [5, pytest.param(200, marks=pytest.mark.slow)])
def test_two_programs_never_cut_the_same_spoilt_piece_once_more(tmp_path, rounds):
    file = a_first_run(StockFile(tmp_path / "stock.sqlite3"), rounds)
    assert sum(fight(file, rounds, over_a_piece=True)) == rounds
    assert [part.spoilt for part in file.read().runs["Rfirst"].parts] == [1] * rounds


@pytest.mark.slow
def test_two_programs_fight_over_the_last_roll_two_hundred_times(tmp_path):
    one, other = fight(StockFile(tmp_path / "stock.sqlite3"), 200)
    assert one + other == 200
    assert min(one, other) > 10, "one of them was never quick enough to tell"


WORKER = """
import itertools, random
from pathlib import Path
from cutpath import stock
from tests.stock.striking import AT, cut_of, rolls, run_of

def work(path, seed):
    file, chance = stock.StockFile(Path(path)), random.Random(int(seed))
    for number in itertools.count():
        item = file.change(lambda h: stock.add(h, rolls(), AT), create=True).put[0]
        name = f"R{seed}-{number}"
        file.change(lambda h: stock.reserve(h, run_of(name, cut_of(item, 2000.0, kept=((400.0, 200.0),)))))
        file.change(lambda h: stock.settle(h, name, AT, made=True))
        file.change(lambda h: chance.choice([stock.commit, stock.release])(h, name, AT))
"""


def killed_at_random(path: Path, moments: int) -> None:
    """Kill a program at so many moments, and at more where a busy machine lets it do little before each."""
    chance, file = random.Random(1), StockFile(path)  # noqa: S311
    done = 0
    with starter(WORKER) as worker:
        for moment in range(40 * moments):
            if moment >= moments and done > moments:
                break
            worker.start(path, moment)
            time.sleep(chance.uniform(0.0, 0.04))
            assert worker.ended(killed=True) == -signal.SIGKILL
            if file.exists():
                assert stock.check(file) == ()
                assert len(file.movements()) >= done, "a movement that was told is never lost"
                done = len(file.movements())
                assert kg(file.read()) > 0 or not done
    assert done > moments


def test_a_program_killed_at_any_moment_leaves_a_stock_that_closes(tmp_path):
    killed_at_random(tmp_path / "stock.sqlite3", 12)


@pytest.mark.slow
def test_a_hundred_programs_killed_at_random_moments(tmp_path):
    killed_at_random(tmp_path / "stock.sqlite3", 100)
