"""A stock file where nothing can be written: it is read whole, no change is taken, and nothing is left beside it."""

from __future__ import annotations

import resource
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from cutpath import shop, stock
from cutpath.errors import Refused, Severity
from cutpath.stock import StockFile, schema
from cutpath.stock import file as module
from tests.cli.running import run
from tests.stock.striking import AT, cut_of, rolls, run_of
from tests.stock.test_migration import opened

READING = (
    ("stock", "list"),
    ("stock", "history"),
    ("stock", "scrap"),
    ("stock", "check"),
    ("run", "list"),
    ("run", "show", "Rabc"),
)


@pytest.fixture
def file(tmp_path: Path) -> StockFile:
    made = StockFile(tmp_path / "stock.sqlite3")
    made.change(lambda h: stock.add(h, rolls(quantity=2), AT), create=True)
    made.change(lambda h: stock.reserve(h, run_of("Rabc", cut_of(h.items[1], 1000.0))))
    made.change(lambda h: stock.settle(h, "Rabc", AT, made=True))
    return made


@contextmanager
def full_disk() -> Iterator[None]:
    """No file of this process can grow, or be written to."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@contextmanager
def read_only_disk(_: StockFile) -> Iterator[None]:
    """SQLite is told to open files to read only, as it does by itself where a disk allows no more."""

    class Module:
        def __getattr__(self, name: str) -> object:
            return getattr(sqlite3, name)

        def connect(self, path: str, **keys: object) -> sqlite3.Connection:
            if path.startswith("/"):
                path, keys = f"{Path(path).as_uri()}?mode=ro", {**keys, "uri": True}
            return sqlite3.connect(path, **keys)

    module.sqlite3 = Module()
    try:
        yield
    finally:
        module.sqlite3 = sqlite3


@contextmanager
def nothing_beside(file: StockFile) -> Iterator[None]:
    """No index of a log can be made beside the file, as on a read-only disk or in somebody else's folder."""
    in_the_way = file.path.with_name(file.path.name + "-shm")
    in_the_way.symlink_to(file.path.parent / "no such folder" / "index")
    try:
        yield
    finally:
        in_the_way.unlink()


def in_wal(file: StockFile) -> None:
    """Leave the file as earlier ones were left."""
    with closing(sqlite3.connect(file.path)) as connection:
        assert connection.execute("PRAGMA journal_mode = WAL").fetchone() == ("wal",)


def held(file: StockFile) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in file.path.parent.iterdir() if path.is_file()}


@pytest.mark.parametrize("disk", [lambda _: full_disk(), read_only_disk], ids=["full", "read-only"])
def test_it_is_read_and_no_change_is_taken(file, disk):
    before, said = held(file), [run(*words, "--stock", file.path) for words in READING]
    assert [done.returncode for done in said] == [0] * len(READING)
    with disk(file):
        assert [run(*words, "--stock", file.path) for words in READING] == said
        assert StockFile(file.path).copy()
        with pytest.raises(Refused) as refused:
            file.change(lambda h: stock.add(h, rolls(), AT))
    assert [finding.code for finding in refused.value.findings] == ["CP801"]
    assert held(file) == before
    assert list(before) == [file.path.name], "nothing lies beside a stock file between two changes"


@pytest.mark.parametrize("disk", [lambda _: full_disk(), nothing_beside], ids=["full", "nothing beside"])
def test_a_file_with_a_log_is_read_as_it_lies(file, disk):
    whole = file.whole()
    in_wal(file)
    with disk(file):
        assert file.whole() == whole
        assert stock.check(file) == ()
        with pytest.raises(Refused):
            file.change(lambda h: stock.add(h, rolls(), AT))
    assert file.whole() == whole
    assert list(held(file)) == [file.path.name], "the log is gone once files can be written again"


def test_what_is_still_in_the_log_is_not_left_out(file):
    in_wal(file)
    with closing(sqlite3.connect(file.path)) as other:
        other.execute("UPDATE item SET place = 'rack 9' WHERE number = 2")
        other.commit()
        log = {name: data for name, data in held(file).items() if not name.endswith("-shm")}
    for name, data in log.items():
        (file.path.parent / name).write_bytes(data)
    with nothing_beside(file), pytest.raises(Refused, match=r"A change is still in stock\.sqlite3-wal"):
        file.read()
    assert file.read().items[2].place == "rack 9"


def test_a_file_of_an_earlier_version_is_read_and_stays_as_it_is(tmp_path):
    file = opened(tmp_path, 1)
    before = held(file)
    with full_disk():
        assert stock.check(file) == ()
        assert file.read().items[5].cost == pytest.approx(120.0)
    assert held(file) == before
    file.read()
    with closing(sqlite3.connect(file.path)) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (schema.VERSION,)


def test_a_run_broken_off_is_told_and_settled_later(file, tmp_path):
    out = tmp_path / "out"
    file.change(lambda h: stock.reserve(h, run_of("Rdead", cut_of(h.items[2], 1000.0), out=out)))
    with read_only_disk(file):
        again, told = shop.opened(file.path)
        assert again.read().items[2].run == "Rdead"
    assert [(f.code, f.where, f.severity) for f in told] == [("CP705", "run Rdead", Severity.NOTE)]
    assert "cannot be settled here" in told[0].found
    shop.opened(file.path)
    assert file.read().items[2].run == ""


def test_where_there_is_no_room_for_a_new_file_none_is_begun(tmp_path):
    file = StockFile(tmp_path / "stock.sqlite3")
    with full_disk(), pytest.raises(Refused) as refused:
        file.change(lambda h: stock.add(h, rolls(), AT), create=True)
    (finding,) = refused.value.findings
    assert (finding.code, finding.found) == ("CP801", "it cannot be made (File too large)")
    assert list(tmp_path.iterdir()) == []
