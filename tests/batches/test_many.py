"""Many batches over executors that the tests steer: contents alone go there, bytes come back, one failure stays one."""

from __future__ import annotations

import errno
import json
from concurrent.futures import Executor, Future
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

import pytest

from cutpath.batches import many
from cutpath.batches.crews import Crew
from cutpath.batches.listing import read_list
from cutpath.batches.many import How, State, Task, make_all, work
from cutpath.output import disk
from cutpath.stock import StockFile
from tests.batches.listed import JOB, LIST, Elsewhere, laid_out
from tests.cli.running import run
from tests.output.made import held
from tests.output.striking import end_of_process, raising, struck

pytestmark = pytest.mark.nests


@pytest.fixture
def night(tmp_path, monkeypatch) -> Path:
    """Stand in a folder with a list of three batches, the second of which is at fault."""
    monkeypatch.chdir(tmp_path)
    return laid_out(Path())


def at() -> str:
    return "2026-11-29T20:00:00+00:00"


def made(listed: Path, executor: Executor, told=None, width: int = 1, **how):
    return make_all(read_list(listed), Crew(lambda: executor, lambda: width, here=False), How(at, **how), told)


def test_batches_are_made_from_contents_alone_and_a_failure_stays_one(night, tmp_path):
    told = []
    outcomes = made(night, Elsewhere(tmp_path / "elsewhere"), told.append)
    assert [(o.entry.name, o.state) for o in outcomes] == [
        ("north", State.MADE),
        ("bad", State.FAILED),
        ("south", State.MADE),
    ]
    assert list(outcomes) == told
    assert {f.where for f in outcomes[1].findings if f.severity == "fault"} >= {
        "jobs/bad.toml: detail[1].cod",
        "jobs/gone.toml",
    }
    assert sorted(p.name for p in Path("cut").iterdir()) == ["north", "south"]
    assert outcomes[2].account["totals"]["pieces"] == 5
    assert sorted(outcomes[2].files) == sorted(held(Path("cut/south")))


def test_a_batch_is_what_make_makes_by_itself(night, tmp_path):
    made(night, Elsewhere(tmp_path / "elsewhere"))
    assert run("make", "jobs/a.toml", "--rolls", "rolls.toml", "--work", 0, "--out", "alone").returncode == 0
    ours, alone = held(Path("cut/north")), held(Path("alone"))
    manifests = [json.loads(files.pop("manifest.json")) for files in (ours, alone)]
    assert ours == alone
    assert manifests[0]["run"] == manifests[1]["run"]
    assert run("run", "repeat", "cut/north").returncode == 0


class Dying(Elsewhere):
    """Dies of one job with all that it has in hand; keeps what it is given until there are two, or one alone."""

    opened = 0

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        type(self).opened += 1
        self.waiting: list[Future] = []

    def submit(self, function, /, *arguments, **more):
        if arguments[0].asked.jobs != ("jobs/b.toml",):
            if self.opened > 1:
                return super().submit(function, *arguments, **more)
            self.waiting.append(Future())
            return self.waiting[-1]
        lost = [*self.waiting, Future()]
        for future in lost:
            future.set_exception(BrokenProcessPool("killed"))
        return lost[-1]


def test_a_process_that_dies_takes_only_the_batch_with_it_that_kills_it(night, tmp_path):
    Path("jobs/bad.toml").write_text(JOB)
    Path("jobs/gone.toml").write_text(JOB.replace("Plates", "More"))
    crew = Crew(lambda: Dying(tmp_path / "elsewhere"), lambda: 3, here=False)
    outcomes = make_all(read_list(night), crew, How(at))
    assert [o.state for o in outcomes] == [State.MADE, State.MADE, State.FAILED]
    assert [(f.code, f.where, f.found) for f in outcomes[2].findings] == [("CP709", "south", "its process died, twice")]
    assert Dying.opened == 2
    assert sorted(p.name for p in Path("cut").iterdir()) == ["bad", "north"]


def test_broken_off_it_leaves_whole_folders_or_none_and_goes_on_later(night, tmp_path):
    def break_off(outcome):
        if outcome.state is State.MADE:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        made(night, Elsewhere(tmp_path / "elsewhere"), break_off, width=3)
    assert [p.name for p in Path("cut").iterdir()] == ["north"]
    outcomes = made(night, Elsewhere(tmp_path / "elsewhere"), missing=True)
    assert [o.state for o in outcomes] == [State.THERE, State.FAILED, State.MADE]
    again = made(night, Elsewhere(tmp_path / "elsewhere"))
    assert [f.code for f in again[0].findings] == ["CP701"]
    assert "such as north-2 beside it, or give --replace" in again[0].findings[0].remedy, "a list has no --out"
    assert [o.state for o in made(night, Elsewhere(tmp_path / "elsewhere"), replace_old=True)][::2] == [State.MADE] * 2


def test_an_error_of_the_program_fails_one_batch_in_words(night, tmp_path):
    class Faulty(Elsewhere):
        def submit(self, function, /, *arguments, **more):
            if arguments[0].asked.jobs == ("jobs/a.toml",):
                future: Future = Future()
                future.set_exception(ZeroDivisionError("by nothing"))
                return future
            return super().submit(function, *arguments, **more)

    outcomes = made(night, Faulty(tmp_path / "elsewhere"))
    assert [f.found for f in outcomes[0].findings] == ["it was broken off (ZeroDivisionError: by nothing)"]
    assert outcomes[2].state is State.MADE


def test_batches_that_fail_side_by_side_leave_no_empty_folder_above_them(night, tmp_path):
    class Broken(Elsewhere):
        def submit(self, *_, **__):
            self.futures = [*getattr(self, "futures", []), Future()]
            if len(self.futures) == 2:
                assert sorted(p.name for p in Path("cut").iterdir()) == [".north.cutpath", ".south.cutpath"]
                for future in self.futures:
                    future.set_exception(OSError(errno.ENOSPC, "No space left on device"))
            return self.futures[-1]

    outcomes = made(night, Broken(tmp_path / "elsewhere"), width=3)
    assert {o.state for o in outcomes} == {State.FAILED}
    assert not Path("cut").exists()


class Remembering(Elsewhere):
    """Makes each batch once, and gives what it has in hand once nothing more comes."""

    made: dict[tuple[str, ...], Future] = {}  # noqa: RUF012 - one for all

    def submit(self, function, /, *arguments, **more):
        jobs = arguments[0].asked.jobs
        if jobs not in self.made:
            self.made[jobs] = super().submit(function, *arguments, **more)
        return self.made[jobs]


def test_a_disk_that_is_full_leaves_each_folder_whole_or_none(night, tmp_path):
    executor = Remembering(tmp_path / "elsewhere")
    with struck(None, lambda: None) as count:
        made(night, executor, width=3)
    whole = held(Path("cut"))
    ends = set()
    for step in range(2, count[0], 23):
        disk.remove(Path("cut"))
        Path("cut").mkdir()
        with struck(step, raising(OSError(errno.ENOSPC, "No space left on device"))):
            outcomes = made(night, executor, width=3)
        end_of_process(tmp_path)
        done = tuple(o.entry.name for o in outcomes if o.state is State.MADE)
        ends.add(done)
        now = {path: data for path, data in held(Path("cut")).items() if ".cutpath/" not in path}
        assert now == {path: data for path, data in whole.items() if path.split("/")[0] in done}
        assert all(o.findings for o in outcomes if o.state is State.FAILED)
    assert ends == {("north",), ("south",), ("north", "south")}


def test_the_first_batch_compiles_the_search_for_the_others(night, tmp_path, monkeypatch):
    """While it does, no other is begun; once it is compiled they are, though the first is still being made."""
    looks = []

    def to_compile() -> bool:
        looks.append(len(waiting.given))
        return len(looks) < 4

    class Waiting(Elsewhere):
        given: list[tuple] = []  # noqa: RUF012 - one executor

        def submit(self, function, /, *arguments):
            self.given.append((Future(), function, arguments))
            if len(self.given) == 2:
                for future, function, arguments in self.given:
                    future.set_result(super().submit(function, *arguments).result())
            return self.given[-1][0]

    waiting = Waiting(tmp_path / "elsewhere")
    monkeypatch.setattr(many, "to_compile", to_compile)
    monkeypatch.setattr(many, "_LOOK_S", 0.01)
    outcomes = make_all(read_list(night), Crew(lambda: waiting, lambda: 3), How(at))
    assert [o.state for o in outcomes] == [State.MADE, State.FAILED, State.MADE]
    assert looks == [0, 1, 1, 1]


def test_another_version_makes_nothing(night):
    (finding,) = work(Task(read_list(night)[0].asked, {}, "0.0.1")).findings
    assert (finding.code, finding.severity) == ("CP709", "fault")


def test_batches_on_one_stock_go_one_after_another_and_find_what_is_left(night, tmp_path):
    for _ in range(2):
        assert run("stock", "add", "--stock=shelf", "--code", 4, "--width", 390, "--length", "3 m").returncode == 0
    Path("list.toml").write_text(LIST.replace('rolls = "rolls.toml"', 'stock = "shelf"'))
    in_hand = []

    class Watched(Elsewhere):
        def submit(self, function, /, *arguments, **more):
            in_hand.append(arguments[0].shelf)
            return super().submit(function, *arguments, **more)

    outcomes = made(night, Watched(tmp_path / "elsewhere"), width=3)
    assert [o.state for o in outcomes][::2] == [State.MADE] * 2
    assert [len(shelf.items) for shelf in in_hand] == [2, 1]
    runs = StockFile(Path("shelf")).read().runs
    assert {run.id: run.state for run in runs.values()} == {o.run: "reserved" for o in outcomes[::2]}
    assert len({cut.item for run in runs.values() for cut in run.cuts}) == 2


def test_a_roll_that_somebody_else_got_meanwhile_makes_a_new_nest(night, tmp_path):
    for _ in range(2):
        assert run("stock", "add", "--stock=shelf", "--code", 4, "--width", 390, "--length", "3 m").returncode == 0
    Path("list.toml").write_text(
        LIST.partition('[[batch]]\nname = "bad"')[0].replace('rolls = "rolls.toml"', 'stock = "shelf"')
    )
    shelves = []

    class Quicker(Elsewhere):
        def submit(self, function, /, *arguments, **more):
            done = super().submit(function, *arguments, **more)
            shelves.append([item.label for item in arguments[0].shelf.items])
            if len(shelves) == 1:
                assert run("stock", "take", "--stock=shelf", "S0001").returncode == 0
            return done

    (outcome,) = made(night, Quicker(tmp_path / "elsewhere"))
    assert outcome.state is State.MADE
    assert shelves == [["S0001", "S0002"], ["S0002"]]
    (kept,) = StockFile(Path("shelf")).read().runs.values()
    assert [cut.item for cut in kept.cuts] == [2]
