"""Faults, interruptions and deaths at every step: the old result or the new one is in place, whole; nothing is lost.

Steps are the calls to the system that change the disk. The first three kinds strike before a step or just after it; a
death ends the process there, and a further run finds what it left.
"""

from __future__ import annotations

import errno
import os
import random
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest

from cutpath.errors import Refused
from cutpath.output import claim_file, claim_folder, disk, write_folder
from tests.output.made import held, names, result

STEPS = ("mkdir", "open", "write", "fsync", "close", "rename", "replace", "unlink", "rmdir", "chmod")
FIRST, SECOND = result("first"), result("second", ("report.html", "rolls/c.dxf"))


@contextmanager
def struck(
    step: int | None,
    strike: Callable[[], None],
    *,
    after: bool = False,
    lasting: bool = False,
    without_exchange: bool = False,
) -> Iterator[list[int]]:
    """Strike at a step, counted from 0, or at that and all that follow; gives a list with the number of steps taken.

    Nothing is waited for until it is safe on the disk: no power goes here, and it takes most of the time.
    """
    count = [0]

    def counted(real: Callable[..., object]) -> Callable[..., object]:
        def call(*arguments: object, **keys: object) -> object:
            number = count[0]
            count[0] += 1
            if not after and (number == step or (lasting and step is not None and number > step)):
                strike()
            try:
                return real(*arguments, **keys)
            finally:
                if number == step and after:
                    strike()

        return call

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "fsync", lambda _: None)
        for name in STEPS:
            patch.setattr(os, name, counted(getattr(os, name)))
        patch.setattr(disk, "exchange", (lambda *_: False) if without_exchange else counted(disk.exchange))
        yield count


def raising(error: BaseException) -> Callable[[], None]:
    def strike() -> None:
        raise error

    return strike


WAYS = {"new": None, "replaced": FIRST}


def before(folder: Path, way: str) -> Path:
    folder.mkdir()
    if WAYS[way] is not None:
        with struck(None, lambda: None):
            write_folder(FIRST, folder / "cut")
    return folder / "cut"


def write(out: Path) -> None:
    with claim_folder(out, replace_old=True) as place:
        place.put(SECOND)


def steps_of(folder: Path, way: str, *, without_exchange: bool) -> int:
    out = before(folder, way)
    with struck(None, lambda: None, without_exchange=without_exchange) as count:
        write(out)
    assert count[0] > 30
    return count[0]


def is_before_or_after(out: Path, way: str) -> bool:
    """Say whether the new result is in place, after seeing that either it or what was there before is."""
    now = held(out) if out.exists() else None
    assert now in (WAYS[way], SECOND)
    return now == SECOND


@pytest.mark.parametrize("without_exchange", [False, True])
@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize(
    ("error", "when"),
    [(errno.ENOSPC, {}), (errno.EIO, {"after": True}), (errno.EROFS, {"lasting": True})],
)
def test_an_error_at_any_step_leaves_before_or_after(error, when, way, without_exchange, tmp_path):
    """A disk that is full, that breaks, or that cannot be written any more from then on."""
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


@pytest.mark.parametrize("after", [False, True])
@pytest.mark.parametrize("without_exchange", [False, True])
@pytest.mark.parametrize("way", WAYS)
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


DYING = """
import os, sys
from pathlib import Path
sys.path.insert(0, sys.argv[1])
from tests.output.test_interrupted import before, steps_of, struck, write

def main(folder, way, without_exchange, after):
    for step in range(steps_of(folder / "count", way, without_exchange=without_exchange)):
        out = before(folder / str(step), way)
        child = os.fork()
        if not child:
            with struck(step, lambda: os._exit(9), after=after, without_exchange=without_exchange):
                write(out)
            os._exit(0)
        assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 9, step

main(Path(sys.argv[2]), sys.argv[3], sys.argv[4] == "True", sys.argv[5] == "True")
"""


@pytest.mark.parametrize("after", [False, True])
@pytest.mark.parametrize("without_exchange", [False, True])
@pytest.mark.parametrize("way", WAYS)
def test_death_at_any_step_is_mended_by_the_next_run(way, without_exchange, after, tmp_path):
    """Without an exchange the earlier result may be out of its place until then; it is never lost."""
    root = Path(__file__).parents[2]
    subprocess.run(
        [sys.executable, "-c", DYING, root, tmp_path, way, str(without_exchange), str(after)], check=True, timeout=300
    )
    out_of_place, ends = 0, set()
    folders = [p for p in tmp_path.iterdir() if p.name != "count"]
    assert len(folders) > 30
    for folder in folders:
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
    _end_of_process(out.parent)
    with struck(None, lambda: None), claim_folder(out, replace_old=True):
        pass
    is_before_or_after(out, way)
    assert names(out.parent) == (["cut"] if out.exists() else [])


def _end_of_process(folder: Path) -> None:
    """Close what an interruption at the closing of a file left open, as the system does when the process ends."""
    for handle in Path("/proc/self/fd").iterdir():
        with suppress(OSError):
            if handle.readlink().is_relative_to(folder):
                os.close(int(handle.name))


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
        _end_of_process(out.parent)
        with claim_file(out, replace_old=True):
            pass
        assert names(out.parent) == ["nest.json"]


WRITER = """
import itertools, sys
from pathlib import Path
sys.path.insert(0, sys.argv[1])
from cutpath.output import write_folder
from tests.output.made import result

for number in itertools.count(1):
    write_folder(result(f"number {number}"), Path(sys.argv[2]), replace_old=True)
    if number == 1:
        print("ready", flush=True)
"""


def test_a_writer_killed_at_any_moment_leaves_a_whole_result(tmp_path):
    """Killed a random while after its first result; how fast it writes changes only where it is struck."""
    out, chance = tmp_path / "cut", random.Random(1)  # noqa: S311
    root = str(Path(__file__).parents[2])
    for _ in range(12):
        writer = subprocess.Popen([sys.executable, "-c", WRITER, root, str(out)], stdout=subprocess.PIPE)
        assert writer.stdout is not None
        assert writer.stdout.readline() == b"ready\n"
        time.sleep(chance.uniform(0.0, 0.05))
        writer.kill()
        writer.communicate()
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
