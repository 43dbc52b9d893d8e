"""Faults, interruptions and deaths at every step: the old result or the new one is in place, whole; nothing is lost.

Steps are the calls to the system that change the disk. The first three kinds strike before a step or just after it; a
death ends the process there, and a further run finds what it left.
"""

from __future__ import annotations

import errno
import os
import random
import signal
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest

from cutpath.errors import Refused
from cutpath.output import claim_file, claim_folder, disk
from tests.forked import starter
from tests.output.made import held, names, result
from tests.output.striking import WAYS, before, end_of_process, is_before_or_after, raising, steps_of, struck, write


@pytest.mark.parametrize("without_exchange", [False, True])
@pytest.mark.parametrize(
    ("way", "error", "when"),
    [
        ("new", errno.ENOSPC, {}),
        ("replaced", errno.ENOSPC, {}),
        ("replaced", errno.EIO, {"after": True}),
        ("replaced", errno.EROFS, {"lasting": True}),
        pytest.param("new", errno.EIO, {"after": True}, marks=pytest.mark.slow),
        pytest.param("new", errno.EROFS, {"lasting": True}, marks=pytest.mark.slow),
    ],
)
def test_an_error_at_any_step_leaves_before_or_after(error, when, way, without_exchange, tmp_path):
    """A disk that is full, that breaks, or that cannot be written any more from then on.

    What stands there already is more to lose than nothing, so that the gate has all three kinds of it.
    """
    ends = set()
    for step in range(steps_of(tmp_path / "count", way, without_exchange=without_exchange)):
        out = before(tmp_path / f"{step}", way)
        refused, said = False, ""
        strike = raising(OSError(error, os.strerror(error)))
        with struck(step, strike, without_exchange=without_exchange, **when):
            try:
                write(out)
            except Refused as refusal:
                refused, said = {f.code for f in refusal.findings} <= {"CP702", "CP705"}, str(refusal)
        if "the earlier result lies in" in said and not out.exists():
            assert without_exchange
            assert when.get("lasting"), "only a disk that stays broken keeps it from being put back at once"
            _clean_after_another_run(out, way)
        new = is_before_or_after(out, way)
        assert new or refused, f"step {step} went wrong without a word"
        ends.add((new, refused))
        _clean_after_another_run(out, way)
    assert ends >= {(False, True), (True, False)}


@pytest.mark.parametrize("without_exchange", [False, True])
@pytest.mark.parametrize(
    ("way", "after"),
    [("new", False), ("replaced", False), ("replaced", True), pytest.param("new", True, marks=pytest.mark.slow)],
)
def test_ctrl_c_at_any_step_leaves_before_or_after(way, without_exchange, after, tmp_path):
    for step in range(steps_of(tmp_path / "count", way, without_exchange=without_exchange)):
        out = before(tmp_path / f"{step}", way)
        with (
            struck(step, raising(KeyboardInterrupt()), after=after, without_exchange=without_exchange),
            suppress(KeyboardInterrupt),
        ):
            write(out)
        is_before_or_after(out, way)
        _clean_after_another_run(out, way)


WRITERS = """
import itertools
from pathlib import Path
from cutpath.output import write_folder
from tests.output.made import result
from tests.output.striking import before, struck, write

def dies(folder, way, step, without_exchange, after):
    out = before(Path(folder), way)
    with struck(int(step), lambda: os._exit(9), after=after == "True", without_exchange=without_exchange == "True"):
        write(out)

def goes_on(out):
    for number in itertools.count(1):
        write_folder(result(f"number {number}"), Path(out), replace_old=True)
        if number == 1:
            print("ready", flush=True)

def work(name, *words):
    {"dies": dies, "goes-on": goes_on}[name](*words)
"""


@pytest.fixture(scope="module")
def writers():
    with starter(WRITERS) as start:
        yield start


@pytest.mark.parametrize("after", [False, pytest.param(True, marks=pytest.mark.slow)])
@pytest.mark.parametrize("without_exchange", [False, True])
@pytest.mark.parametrize("way", WAYS)
def test_death_at_any_step_is_mended_by_the_next_run(way, without_exchange, after, writers, tmp_path):
    """Without an exchange the earlier result may be out of its place until then; it is never lost.

    To die just after a step is to die just before the next.
    """
    out_of_place, ends = 0, set()
    for step in range(steps_of(tmp_path / "count", way, without_exchange=without_exchange)):
        folder = tmp_path / f"{step}"
        writers.start("dies", folder, way, step, without_exchange, after)
        assert writers.ended() == 9, step
        out = folder / "cut"
        if without_exchange and WAYS[way] and not out.exists():
            out_of_place += 1
        else:
            is_before_or_after(out, way)
        left = (folder / ".cut.cutpath" / "lock").exists()
        with claim_folder(out, replace_old=True) as place:
            assert [f.code for f in place.findings] == (["CP705"] if left else [])
        ends.add(is_before_or_after(out, way))
        assert names(folder) == (["cut"] if out.exists() else [])
    assert ends == {False, True}
    assert out_of_place == (1 if without_exchange and WAYS[way] else 0)


def _clean_after_another_run(out: Path, way: str) -> None:
    """See that nothing is lost and nothing left behind, at the latest after the next run."""
    end_of_process(out.parent)
    with struck(None, lambda: None), claim_folder(out, replace_old=True):
        pass
    is_before_or_after(out, way)
    assert names(out.parent) == (["cut"] if out.exists() else [])


@pytest.mark.parametrize("kind", [OSError(errno.ENOSPC, "full"), KeyboardInterrupt()])
@pytest.mark.parametrize("after", [False, True])
def test_one_file_is_whole_whatever_happens(kind, after, tmp_path):
    def put(out: Path) -> None:
        with claim_file(out, replace_old=True) as place:
            place.put_file(b"second" * 1000)

    def fresh(number: object) -> Path:
        (tmp_path / f"{number}").mkdir()
        (tmp_path / f"{number}" / "nest.json").write_bytes(b"first")
        return tmp_path / f"{number}" / "nest.json"

    with struck(None, lambda: None) as count:
        put(fresh("count"))
    assert count[0] > 10
    for step in range(count[0]):
        out = fresh(step)
        with struck(step, raising(kind), after=after), suppress(Refused, KeyboardInterrupt):
            put(out)
        assert out.read_bytes() in (b"first", b"second" * 1000)
        end_of_process(out.parent)
        with claim_file(out, replace_old=True):
            pass
        assert names(out.parent) == ["nest.json"]


def test_a_writer_killed_at_any_moment_leaves_a_whole_result(writers, tmp_path):
    """Killed a random while after its first result; how fast it writes changes only where it is struck."""
    out, chance = tmp_path / "cut", random.Random(1)  # noqa: S311
    for _ in range(6):
        writers.start("goes-on", out)
        assert writers.line() == "ready"
        time.sleep(chance.uniform(0.0, 0.05))
        assert writers.ended(killed=True) == -signal.SIGKILL
        with claim_folder(out, replace_old=True):
            pass
        now = held(out)
        word = now["report.html"].decode().partition(":")[0]
        assert now == result(word)
        assert names(tmp_path) == ["cut"]


@pytest.fixture(autouse=True)
def _quick(tmp_path: Path) -> Iterator[None]:
    """Some tests make hundreds of folders: pytest keeps the last three runs of them, so they are taken away."""
    yield
    disk.remove(tmp_path)
