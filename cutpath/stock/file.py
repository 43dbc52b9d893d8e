"""The stock in one SQLite file: what there is, runs, and every movement.

A change is one transaction that takes the right to write before it reads, so two programs that ask for the same roll
get it one after the other, and the second one is refused. What a program had not finished when it died is undone by
SQLite when the file is opened next. Between changes nothing lies beside the file, so that it can be read where nothing
can be written. Not for a folder on a network drive: locks are not to be trusted there.
"""

from __future__ import annotations

import os
import sqlite3
import stat
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TypeVar

from cutpath.errors import Finding, Refused
from cutpath.found import own_folder
from cutpath.stock import rows
from cutpath.stock.rows import Entry, Whole
from cutpath.stock.schema import APPLICATION_ID, STEPS, VERSION
from cutpath.values.stock import Change, Done, Holding, UnbalancedError

R = TypeVar("R")

BACKUP = "Put the last backup that passes in its place, and report the fault."

_WAIT_S = 30.0
"""How long another program may hold the file; a change takes milliseconds."""


@dataclass(frozen=True, slots=True)
class StockFile:
    """A stock file by its path; nothing is kept open between two calls."""

    path: Path

    def exists(self) -> bool:
        """Tell whether the file is there.

        Raises
        ------
        Refused
            CP801 when nobody can tell: a closed folder, or a name too long; when it is a folder; or when it lost all
            that it held.
        """
        try:
            about = self.path.stat()
        except (FileNotFoundError, NotADirectoryError):
            return False
        except OSError as error:
            reason = error.strerror or str(error)
            raise Refused(
                [self._unusable(f"it cannot be read ({reason})", "Check its name and your rights.")]
            ) from error
        if stat.S_ISDIR(about.st_mode):
            raise Refused([self._unusable("it is a folder", "Name a file in it.")])
        if not about.st_size:
            remedy = "Put the last backup in its place; or take it away, where there never was anything in it."
            raise Refused([self._unusable("it is empty", remedy)])
        return True

    def read(self) -> Holding:
        """Return what there is; without a file, nothing.

        Raises
        ------
        Refused
            CP801 when the file cannot be used.
        """
        return self._looked_at(rows.holding) if self.exists() else Holding()

    def change(self, verb: Callable[[Holding], Change], *, create: bool = False) -> Change:
        """Do what a verb makes of what there is, whole or not at all.

        Parameters
        ----------
        verb : callable
            From what there is to the change; see `cutpath.stock`.
        create : bool
            Make the file where it is not there.

        Raises
        ------
        Refused
            CP801 when the file cannot be used, and whatever the verb refuses.
        """
        if not create:
            self._must_be_there()
        elif not self.exists():
            verb(Holding())  # what is refused begins no file
        with self._open(create=create) as connection, _transaction(connection, "IMMEDIATE"):
            change = verb(rows.holding(connection))
            rows.write(connection, change)
            return change

    def change_by_history(self, verbs: Iterable[Callable[[Whole], Change]]) -> list[Change]:
        """Do what verbs make of everything that the file holds, one after another: all of them or none.

        Raises
        ------
        Refused
            CP801 when the file cannot be used, or is not there, and whatever a verb refuses.
        """
        self._must_be_there()
        changes = []
        with self._open() as connection, _transaction(connection, "IMMEDIATE"):
            for verb in verbs:
                changes.append(verb(rows.whole(connection)))
                rows.write(connection, changes[-1])
        return changes

    def movements(self, number: int | None = None, run: str = "") -> list[Entry]:
        """Return every movement in order, or those that touched one item or belong to one run.

        Raises
        ------
        Refused
            CP801 when the file cannot be used.
        """
        return self._looked_at(partial(rows.movements, number=number, run=run)) if self.exists() else []

    def done(self, run: str) -> list[Done]:
        """Return everything that was told of the progress of a run, in order; what was told last counts.

        Raises
        ------
        Refused
            CP801 when the file cannot be used.
        """
        return self._looked_at(partial(rows.done, run=run)) if self.exists() else []

    def whole(self) -> Whole:
        """Return everything that the file holds, as it is at one moment.

        Raises
        ------
        Refused
            CP801 when the file cannot be used, or is not there; CP804 when a movement does not sum to zero.
        """
        self._must_be_there()
        return self._looked_at(rows.whole)

    def damage(self) -> list[str]:
        """Return what SQLite itself finds wrong with the file, and what is missing or added in its tables.

        Raises
        ------
        Refused
            CP801 when the file cannot be used, or is not there.
        """
        self._must_be_there()
        with self._open(reading=True) as connection:
            said = [str(row[0]) for row in connection.execute("PRAGMA integrity_check")]
            said += [f"{row[0]} refers to nothing" for row in connection.execute("PRAGMA foreign_key_check")]
            kept = _parts_of(connection)
        with closing(sqlite3.connect(":memory:")) as blank:
            for statement in (statement for step in STEPS for statement in step):
                blank.execute(statement)
            wanted = _parts_of(blank)
        said += [f"it lacks the {kind} {name}" for kind, name in sorted(wanted - kept)]
        said += [f"it has a {kind} {name} that no cutpath made" for kind, name in sorted(kept - wanted)]
        return [word for word in said if word != "ok"]

    def copy(self) -> bytes:
        """Return the whole file as it is at this moment, whoever else writes to it.

        Raises
        ------
        Refused
            CP801 when the file cannot be used, or is not there.
        """
        self._must_be_there()
        with self._open(reading=True) as connection, closing(sqlite3.connect(":memory:")) as whole:
            connection.backup(whole)
            return whole.serialize()

    def _must_be_there(self) -> None:
        if not self.exists():
            found = "there is no stock file"
            remedy = "Put something on the shelf first: cutpath stock add --help says how."
            raise Refused([self._unusable(found, remedy)])

    def _looked_at(self, read: Callable[[sqlite3.Connection], R]) -> R:
        """Return what is read of the file as it is at one moment."""
        with self._open(reading=True) as connection, _transaction(connection, "DEFERRED"):
            return read(connection)

    @contextmanager
    def _open(self, *, reading: bool = False, create: bool = False) -> Iterator[sqlite3.Connection]:
        try:
            if create and not self.exists():
                self._begin()
            with closing(self._connected(reading=reading)) as connection:
                yield connection
        except sqlite3.OperationalError as error:
            if "locked" in str(error) or "busy" in str(error):
                raise Refused([self._unusable(f"another program holds it ({error})", "Try again.")]) from error
            remedy = "Check its folder, your rights and the room on the disk."
            if reading and (beside := self._unfinished()):
                remedy = (
                    f"A change is still in {beside.name}: make room there, or copy both to where it can be written."
                )
            raise Refused([self._unusable(f"it cannot be used ({error})", remedy)]) from error
        except (sqlite3.DatabaseError, UnicodeDecodeError) as error:  # what SQLite says of a torn schema may be no text
            remedy = "Name a stock file, or put a backup of it in its place. Before a job, write it as --stock=FILE."
            raise Refused([self._unusable(f"it cannot be used ({error})", remedy)]) from error
        except UnbalancedError as error:
            wanted, remedy = "lead and money that go from one account to another", BACKUP
            raise Refused([Finding("CP804", str(self.path), str(error), wanted, remedy)]) from error
        except OSError as error:
            reason = error.strerror or str(error)
            raise Refused([self._unusable(f"it cannot be made ({reason})", "Choose another place.")]) from error

    def _begin(self) -> None:
        """Lay a stock with nothing in it where there is no file, whole or not at all, where the system can.

        SQLite would begin with a file of no bytes, and such is refused: it lost what it held.
        """
        self.path.parent.mkdir(parents=True, exist_ok=True)
        with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
            self._bring_up_to_date(connection)
            data = connection.serialize()
        try:
            nameless = os.open(self.path.parent, os.O_TMPFILE | os.O_WRONLY, 0o644)
        except (AttributeError, OSError):  # a system without such files; what is wrong with the folder, SQLite says
            return
        with os.fdopen(nameless, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(nameless)
            with suppress(OSError):  # another program was first, or the system has no such way to name a file
                way = f"/proc/self/fd/{nameless}"
                os.link(way, self.path, src_dir_fd=nameless, follow_symlinks=True)  # a folder: else it is not followed

    def _connected(self, *, reading: bool) -> sqlite3.Connection:
        """Return the file, opened; where it can only be read, and that is asked for, what it holds, in memory.

        Raises
        ------
        OperationalError
            When SQLite can use neither.
        """
        try:
            return self._prepared(_connected(self.path))
        except sqlite3.OperationalError as error:
            if not reading or error.sqlite_errorcode & 0xFF not in _UNWRITTEN or self._unfinished():
                raise
        return self._prepared(_in_memory(self.path))

    def _prepared(self, connection: sqlite3.Connection) -> sqlite3.Connection:
        try:
            self._bring_up_to_date(connection)
            with suppress(sqlite3.OperationalError):  # while others are in it, it stays as it is until next time
                connection.execute("PRAGMA journal_mode = DELETE")  # files were left in WAL once
        except BaseException:
            connection.close()
            raise
        return connection

    def _unfinished(self) -> Path | None:
        """Return what lies beside the file and holds a change that is not in it yet; None where nothing does."""
        beside = (self.path.with_name(self.path.name + end) for end in ("-journal", "-wal"))
        return next((path for path in beside if path.is_file() and path.stat().st_size), None)

    def _bring_up_to_date(self, connection: sqlite3.Connection) -> None:
        if _pragma(connection, "user_version") == VERSION and _pragma(connection, "application_id") == APPLICATION_ID:
            return
        with _transaction(connection, "IMMEDIATE"):
            version, whose = _pragma(connection, "user_version"), _pragma(connection, "application_id")
            tables = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
            if whose != APPLICATION_ID and (tables or version or whose):
                raise Refused([self._unusable("it is an SQLite file of some other program", "Name another file.")])
            if version > VERSION:
                found = f"it is of version {version}, made by a later cutpath than this one"
                raise Refused([self._unusable(found, f"Use that one; this one knows versions up to {VERSION}.")])
            for step in STEPS[version:]:
                for statement in step:
                    connection.execute(statement)
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version = {VERSION}")

    def _unusable(self, found: str, remedy: str) -> Finding:
        return Finding("CP801", str(self.path), found, "a stock file of cutpath", remedy)


def default_path() -> Path | None:
    """Return where the stock file lies when nobody names one: in the folder that the system has for a program's data.

    None for a user without a home.
    """
    from platformdirs import user_data_path

    folder = own_folder(user_data_path)
    return None if folder is None else folder / "stock.sqlite3"


_UNWRITTEN = frozenset({sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR, sqlite3.SQLITE_READONLY})
"""What SQLite says where it would write something to read: files beside one in WAL, or one of an earlier version."""


def _connected(path: Path) -> sqlite3.Connection:
    path.parent.mkdir(parents=True, exist_ok=True)
    connection = sqlite3.connect(os.fspath(path), timeout=_WAIT_S, isolation_level=None)
    try:
        connection.execute("PRAGMA synchronous = EXTRA")  # a change that was told is on the disk, its journal gone
        connection.execute("PRAGMA foreign_keys = ON")
    except BaseException:
        connection.close()
        raise
    return connection


def _in_memory(path: Path) -> sqlite3.Connection:
    """Return what a file holds that nobody can write to."""
    held = sqlite3.connect(":memory:", isolation_level=None)
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?immutable=1", uri=True)) as connection:
            connection.backup(held)
    except BaseException:
        held.close()
        raise
    return held


@contextmanager
def _transaction(connection: sqlite3.Connection, kind: str) -> Iterator[None]:
    connection.execute(f"BEGIN {kind}")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def _parts_of(connection: sqlite3.Connection) -> set[tuple[str, str]]:
    """Return kinds and names of the tables, indexes, triggers and views of a file."""
    return set(connection.execute("SELECT type, name FROM sqlite_master WHERE name NOT LIKE 'sqlite_%'"))


def _pragma(connection: sqlite3.Connection, name: str) -> int:
    return int(connection.execute(f"PRAGMA {name}").fetchone()[0])
