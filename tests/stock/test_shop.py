"""Output and reservation stand or fall as one, wherever the program dies between them."""

from __future__ import annotations

import os
import random
import shutil
import signal
import time
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import pytest

from cutpath import shop, stock
from cutpath.errors import Finding, Refused, Severity
from cutpath.output import claim_folder
from cutpath.stock import StockFile
from cutpath.values.stock import RunState
from tests.forked import starter
from tests.output.made import held
from tests.output.striking import struck
from tests.stock.striking import AT, cut_of, mortal, result, rolls, run_of

FIRST, SECOND = result("first"), result("second")


def begun(folder: Path, *, replacing: bool) -> tuple[StockFile, Path]:
    """Make a stock of two rolls, and where asked a first run that has the first of them."""
    file = StockFile(folder / "stock.sqlite3")
    file.change(lambda h: stock.add(h, rolls(quantity=2), AT), create=True)
    if replacing:
        with claim_folder(folder / "cut") as place:
            run = run_of(FIRST[0], cut_of(file.read().items[1], 1000.0), out=place.target)
            shop.put(file, run, FIRST[1], place)
    return file, folder / "cut"


def make(file: StockFile, out: Path, *, replacing: bool) -> None:
    with claim_folder(out, replace_old=True) as place:
        items = file.read().items
        cuts = [cut_of(items[n], 2000.0) for n in ((1, 2) if replacing else (1,))]
        run = run_of(SECOND[0], *cuts, out=place.target, replaces=FIRST[0] if replacing else "")
        shop.put(file, run, SECOND[1], place)


def before_or_after(file: StockFile, out: Path, *, replacing: bool) -> bool:
    """See that stock and folder are both as before or both as after; return which."""
    holding = StockFile(file.path).read()
    kept = {n: item.run for n, item in holding.items.items()}
    standing = {name for name, run in holding.runs.items() if run.state is RunState.RESERVED}
    old = {1: FIRST[0] if replacing else "", 2: ""}
    new = {1: SECOND[0], 2: SECOND[0] if replacing else ""}
    after = out.exists() and held(out) == SECOND[1]
    assert after or (held(out) == FIRST[1] if replacing else not out.exists())
    assert kept == (new if after else old)
    assert standing == ({SECOND[0]} if after else {FIRST[0]} if replacing else set())
    assert stock.check(file) == ()
    return after


def died(tmp_path: Path, *, replacing: bool, every: int) -> None:
    """Strike before and after statements to the stock and calls to the disk, each in a program of its own."""
    with mortal() as program:
        file, out = begun(_fresh(tmp_path), replacing=replacing)
        program.taken = 0
        with struck(None, lambda: None) as count:
            make(file, out, replacing=replacing)
        steps = [("stock", n) for n in range(1, program.taken + 1)] + [("disk", n) for n in range(count[0])]
        assert before_or_after(file, out, replacing=replacing)
        assert len(steps) > 60
        ends = set()
        for number, (where, step) in enumerate(steps[::every]):
            for after in (False, True) if every == 1 else (number % 2 == 0,):
                file, out = begun(_fresh(tmp_path), replacing=replacing)
                child = os.fork()
                if not child:
                    program.die = staticmethod(lambda: os._exit(9))
                    if where == "stock":
                        program.left, program.after = step, after
                    at = step if where == "disk" else None
                    with struck(at, lambda: os._exit(9), after=after):
                        make(file, out, replacing=replacing)
                    os._exit(0)
                assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 9, (where, step, after)
                shop.opened(file.path)
                ends.add(before_or_after(file, out, replacing=replacing))
        assert ends == {False, True}


@pytest.mark.parametrize("replacing", [False, True])
def test_death_at_many_steps_leaves_stock_and_output_before_or_after(replacing, tmp_path):
    died(tmp_path, replacing=replacing, every=11)


@pytest.mark.slow
@pytest.mark.parametrize("replacing", [False, True])
def test_death_at_any_step_leaves_stock_and_output_before_or_after(replacing, tmp_path):
    died(tmp_path, replacing=replacing, every=1)


def _fresh(folder: Path) -> Path:
    shutil.rmtree(folder / "one", ignore_errors=True)
    (folder / "one").mkdir()
    return folder / "one"


WORKER = """
import itertools, random
from pathlib import Path
from cutpath import shop, stock
from cutpath.output import claim_folder
from cutpath.values.stock import Part
from tests.stock.striking import AT, cut_of, result, rolls, run_of, spoilt_of

def work(path, seed):
    folder, chance = Path(path), random.Random(int(seed))
    file = stock.StockFile(folder / "stock.sqlite3")

    def put(word, item, **more):
        name, files = result(f"{word}-{seed}-{number}")
        out = folder / f"{word}-{seed}-{number}"
        with claim_folder(out) as place:
            run = run_of(name, cut_of(item, 2000.0, kept=((400.0, 200.0),)), out=place.target, **more)
            shop.put(file, run, files, place)
        print("done", flush=True)
        return name, run.cuts[0]

    def change(verb):
        done = file.change(verb, create=True)
        print("done", flush=True)
        return done

    print("ready", flush=True)
    for number in itertools.count():
        first, other = change(lambda h: stock.add(h, rolls(quantity=2, cost=180.0), AT)).put
        name, cut = put("cut", first, parts=(Part("IT-A1", 2, "Invented terrace", ("code4-01",)),))
        early = chance.random() < 0.5
        if early:
            change(lambda h: stock.commit(h, name, AT))
        again, _ = put("recut", other, spoilt=(spoilt_of(name, cut, cut.pieces_mm2 / 2, piece="IT-A1"),))
        change(lambda h: chance.choice([stock.commit, stock.release])(h, again, AT))
        if not early:
            change(lambda h: stock.commit(h, name, AT))
        change(lambda h: stock.collect(h, AT, weighed_kg=chance.uniform(1.0, 9.0)))
"""


@pytest.mark.parametrize("moments", [12, pytest.param(100, marks=pytest.mark.slow)])
def test_runs_and_re_cuts_killed_at_random_moments_are_before_or_after(tmp_path, moments):
    chance, file = random.Random(3), StockFile(tmp_path / "stock.sqlite3")  # noqa: S311
    told = 0
    with starter(WORKER) as worker:
        for moment in range(moments):
            worker.start(tmp_path, moment)
            for _ in range(chance.randrange(7)):
                assert worker.line()
                told += 1
            time.sleep(chance.uniform(0.0, 0.03))
            assert worker.ended(killed=True) == -signal.SIGKILL
            shop.opened(file.path)
            if not file.exists():
                continue
            assert stock.check(file) == ()
            holding = file.read()
            for run in holding.runs.values():
                assert run.state is not RunState.MAKING
                if run.state in (RunState.RESERVED, RunState.COMMITTED):
                    assert shop.run_in(Path(run.out)) == run.id, "what stands has its output"
            known = {run.id for run in holding.runs.values()}
            folders = [path for path in tmp_path.iterdir() if path.is_dir() and not path.name.startswith(".")]
            assert {shop.run_in(folder) for folder in folders} <= known, "what lies there is known"
            for run in holding.runs.values():
                gone = [entry.movement.note for entry in file.movements(run=run.id)]
                if "its output was not put in place" in gone:
                    assert not Path(run.out).exists()
            recuts = [run for run in holding.runs.values() if run.spoilt and run.state is RunState.COMMITTED]
            spoilt = {run.id: sum(part.spoilt for part in run.parts) for run in holding.runs.values() if run.parts}
            assert sum(spoilt.values()) == len(recuts)
    assert len(file.movements()) >= told - moments, "what was told is done is never lost"
    assert told > 2 * moments


def test_being_broken_off_is_settled_on_the_way_out(tmp_path):
    with mortal():
        file, out = begun(tmp_path, replacing=True)
        for step in range(2, 200, 5):
            with struck(step, _interrupt), suppress(KeyboardInterrupt):
                make(file, out, replacing=True)
            if before_or_after(file, out, replacing=True):
                break
        assert step > 20


def test_a_disk_that_is_full_once_the_output_stands_says_what_stands(tmp_path, monkeypatch):
    file, out = begun(tmp_path, replacing=False)

    def full(*_: object, **__: object) -> None:
        raise Refused(
            [Finding("CP801", str(file.path), "disk I/O error", "a stock file", "Check the room on the disk.")]
        )

    with monkeypatch.context() as patch:
        patch.setattr(stock, "settle", full)
        with pytest.raises(Refused) as refused:
            make(file, out, replacing=False)
    assert [(f.code, f.severity) for f in refused.value.findings] == [
        ("CP801", Severity.FAULT),
        ("CP705", Severity.NOTE),
    ]
    assert f"in place in {out}" in refused.value.findings[1].found
    _, told = shop.opened(file.path)
    assert [f.code for f in told] == ["CP705"]
    assert before_or_after(file, out, replacing=False)


def _interrupt() -> None:
    raise KeyboardInterrupt


def test_a_run_in_the_making_is_left_alone_while_it_lives(tmp_path):
    file, out = begun(tmp_path, replacing=False)
    with claim_folder(out) as place:
        run = run_of(SECOND[0], cut_of(file.read().items[1], 2000.0), out=place.target)
        file.change(lambda h: stock.reserve(h, run))
        child = os.fork()
        if not child:  # another program opens the stock meanwhile
            os._exit(len(shop.opened(file.path)[1]))
        assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0
        assert file.read().runs[run.id].state is RunState.MAKING
    assert [f.code for f in shop.opened(file.path)[1]] == ["CP705"]
    assert file.read().items[1].run == ""


def test_who_comes_second_writes_nothing(tmp_path):
    file, out = begun(tmp_path, replacing=False)
    run = run_of("Rrival", cut_of(file.read().items[1], 500.0), out=tmp_path / "theirs")
    file.change(lambda h: stock.reserve(h, run))
    with pytest.raises(Refused) as refused:
        make(file, out, replacing=False)
    assert [f.code for f in refused.value.findings] == ["CP803"]
    assert not out.exists()


def test_a_roll_that_was_measured_anew_meanwhile_is_not_what_was_nested_on(tmp_path):
    file, out = begun(tmp_path, replacing=False)
    run = run_of("Rlate", cut_of(file.read().items[1], 5500.0), out=out)
    file.change(lambda h: stock.adjust(h, 1, AT, length_mm=4000.0))
    with pytest.raises(stock.Lost, match="450 mm x 4000 mm now"):
        file.change(lambda h: stock.reserve(h, run))


@pytest.mark.parametrize(("lost", "tries"), [(0, 1), (2, 3), (4, 5), (5, 5), (9, 5)])
def test_what_was_lost_to_somebody_else_is_nested_anew_so_many_times(lost, tries):
    made, told = [], []
    fault = stock.Lost([Finding("CP803", "S0001", "it is kept for run Rrival", "what is free", "Wait.")])

    def make() -> str:
        made.append(len(made))
        if len(made) <= lost:
            raise fault
        return "kept"

    if lost < shop.TRIES:
        assert shop.until_kept(make, told.append) == "kept"
    else:
        with pytest.raises(stock.Lost):
            shop.until_kept(make, told.append)
    assert len(made) == tries
    assert [f.severity for findings in told for f in findings] == [Severity.NOTE] * (tries - 1)


def test_what_other_runs_keep_is_named_where_rolls_are_wanting(tmp_path):
    file, _ = begun(tmp_path, replacing=True)
    with claim_folder(tmp_path / "other") as place:
        shelf, _ = shop.shelf_for(file.path, place)
    assert [item.label for item in shelf.items] == ["S0002"]
    assert f"Kept for other runs: of code 4 S0001 ({FIRST[0]});" in shelf.remedy
    many = [replace(shelf.kept[0], number=n, code=3 + n // 10) for n in (*range(2, 10), 10)]
    named = replace(shelf, kept=tuple(many)).remedy
    assert f"S0006 ({FIRST[0]}), and others; of code 4 S0010 ({FIRST[0]});" in named, "none is hidden by other codes"
    assert "let some be bought: --rolls LIST." in shelf.remedy
    assert "let some" not in replace(shelf, listed=shelf.rolls).remedy, "some may be bought already"
    with claim_folder(tmp_path / "cut", replace_old=True) as place:
        shelf, _ = shop.shelf_for(file.path, place)
    assert (len(shelf.items), "Kept" in shelf.remedy) == (2, False)
