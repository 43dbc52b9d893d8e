"""The stock in one SQLite file: what there is, runs, and every movement.

A change is one transaction that takes the right to write before it reads, so two programs that ask for the same roll
get it one after the other, and the second one is refused. What a program had not finished when it died is undone by
SQLite when the file is opened next. Between changes nothing lies beside the file, so that it can be read where nothing
can be written. Not for a folder on a network drive: locks are not to be trusted there.
"""

from __future__ import annotations

import json
import os
import sqlite3
import stat
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import closing, contextmanager, suppress
from dataclasses import asdict, dataclass
from functools import wraps
from pathlib import Path
from types import MappingProxyType
from typing import Any, ParamSpec, TypeVar

from cutpath.ceilings import LARGEST_MM
from cutpath.errors import Finding, Refused
from cutpath.found import own_folder
from cutpath.stock.schema import APPLICATION_ID, STEPS, VERSION
from cutpath.tolerances import POINT_MM
from cutpath.values.stock import (
    Account,
    Amount,
    Change,
    Cut,
    Done,
    Holding,
    Item,
    Kind,
    Movement,
    Part,
    Posting,
    Run,
    RunState,
    Spoilt,
    Stage,
    UnbalancedError,
    Verb,
)

P = ParamSpec("P")
R = TypeVar("R")

BACKUP = "Put the last backup that passes in its place, and report the fault."

_WAIT_S = 30.0
"""How long another program may hold the file; a change takes milliseconds."""

_ITEM = "number, kind, code, width_mm, length_mm, mass_ug, cost_u, place, batch, exact, run"


@dataclass(frozen=True, slots=True)
class Entry:
    """A movement as it was written, with its number."""

    number: int
    movement: Movement


@dataclass(frozen=True, slots=True)
class Whole:
    """Everything at one moment: what there is, every item that ever was with whether it is gone, every movement."""

    holding: Holding
    items: Mapping[int, tuple[Item, bool]]
    entries: Sequence[Entry]


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
        if not self.exists():
            return Holding()
        with self._open(reading=True) as connection, _transaction(connection, "DEFERRED"):
            return _holding(connection)

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
        if not self.exists():
            if not create:
                raise Refused([self._nothing()])
            verb(Holding())  # what is refused begins no file
        with self._open(create=create) as connection, _transaction(connection, "IMMEDIATE"):
            change = verb(_holding(connection))
            _write(connection, change)
            return change

    def change_by_history(self, verbs: Iterable[Callable[[Whole], Change]]) -> list[Change]:
        """Do what verbs make of everything that the file holds, one after another: all of them or none.

        Raises
        ------
        Refused
            CP801 when the file cannot be used, or is not there, and whatever a verb refuses.
        """
        if not self.exists():
            raise Refused([self._nothing()])
        changes = []
        with self._open() as connection, _transaction(connection, "IMMEDIATE"):
            for verb in verbs:
                changes.append(verb(_whole(connection)))
                _write(connection, changes[-1])
        return changes

    def movements(self, number: int | None = None, run: str = "") -> list[Entry]:
        """Return every movement in order, or those that touched one item or belong to one run.

        Raises
        ------
        Refused
            CP801 when the file cannot be used.
        """
        if not self.exists():
            return []
        with self._open(reading=True) as connection, _transaction(connection, "DEFERRED"):
            return _movements(connection, number, run)

    def done(self, run: str) -> list[Done]:
        """Return everything that was told of the progress of a run, in order; what was told last counts.

        Raises
        ------
        Refused
            CP801 when the file cannot be used.
        """
        if not self.exists():
            return []
        with self._open(reading=True) as connection, _transaction(connection, "DEFERRED"):
            return _told(connection, run)

    def whole(self) -> Whole:
        """Return everything that the file holds, as it is at one moment.

        Raises
        ------
        Refused
            CP801 when the file cannot be used, or is not there; CP804 when a movement does not sum to zero.
        """
        if not self.exists():
            raise Refused([self._nothing()])
        with self._open(reading=True) as connection, _transaction(connection, "DEFERRED"):
            return _whole(connection)

    def damage(self) -> list[str]:
        """Return what SQLite itself finds wrong with the file, and what is missing or added in its tables.

        Raises
        ------
        Refused
            CP801 when the file cannot be used, or is not there.
        """
        if not self.exists():
            raise Refused([self._nothing()])
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
        if not self.exists():
            raise Refused([self._nothing()])
        with self._open(reading=True) as connection, closing(sqlite3.connect(":memory:")) as whole:
            connection.backup(whole)
            return whole.serialize()

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

    def _nothing(self) -> Finding:
        found, remedy = "there is no stock file", "Put something on the shelf first: cutpath stock add --help says how."
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


# Rows are fetched at once: what an error leaves half read would hold the file until the error is forgotten.


def _as_written(read: Callable[P, R]) -> Callable[P, R]:
    """Let a row that no cutpath wrote be the file's fault, as one is that SQLite cannot read."""

    @wraps(read)
    def reads(*given: P.args, **named: P.kwargs) -> R:
        try:
            return read(*given, **named)
        except UnbalancedError:
            raise
        except (KeyError, TypeError, ValueError) as error:
            raise sqlite3.DatabaseError(f"a row of it is not as it was written: {error}") from error

    return reads


@_as_written
def _holding(connection: sqlite3.Connection) -> Holding:
    items = connection.execute(f"SELECT {_ITEM} FROM item WHERE NOT gone ORDER BY number").fetchall()  # noqa: S608
    runs = connection.execute("SELECT id, state, at, out, plan FROM run ORDER BY at, id").fetchall()
    summed = "SELECT account, code, sum(mass_ug), sum(cost_u) FROM posting GROUP BY account, code"
    sums = connection.execute(summed).fetchall()
    last = connection.execute("SELECT coalesce(max(number), 0) FROM item").fetchone()[0]
    return Holding(
        MappingProxyType({row[0]: _item(row) for row in items}),
        MappingProxyType({row[0]: _run(row) for row in runs}),
        MappingProxyType({(Account(row[0]), row[1]): Amount(row[2], row[3]) for row in sums}),
        last + 1,
    )


@_as_written
def _whole(connection: sqlite3.Connection) -> Whole:
    rows = connection.execute(f"SELECT {_ITEM}, gone FROM item ORDER BY number").fetchall()  # noqa: S608
    items = {row[0]: (_item(row), bool(row[-1])) for row in rows}
    return Whole(_holding(connection), items, _movements(connection))


_LAST = 10**12
"""No shop writes as many labels, and one more than any of them can be kept."""


def _item(row: tuple[Any, ...]) -> Item:
    number, kind, code, width, length, mass, cost, place, batch, exact, run = row[:11]
    if not 0 < number < _LAST or not all(POINT_MM <= side <= LARGEST_MM for side in (width, length)):
        raise ValueError(f"item {number} of {width:g} x {length:g} mm")
    return Item(  # the columns are STRICT: each holds what its table says
        number,
        Kind(str(kind)),
        code,
        width,
        length,
        mass,
        cost,
        str(place),
        str(batch),
        bool(exact),
        str(run),
    )


def _run(row: tuple[str, ...]) -> Run:
    name, state, at, out, plan = row
    told = json.loads(plan)
    cuts = tuple(map(_cut, told["cuts"]))
    parts = tuple(map(_part, told.get("parts", ())))  # since version 2
    spoilt = tuple(Spoilt(**copies) for copies in told.get("spoilt", ()))  # since version 3
    return Run(name, RunState(state), at, out, cuts, tuple(told["jobs"]), told["replaces"], parts, spoilt)


def _part(told: dict[str, Any]) -> Part:
    return Part(**{**told, "sheets": tuple(told["sheets"]), "counts": tuple(told.get("counts", ()))})  # since version 4


def _cut(told: dict[str, Any]) -> Cut:
    pairs = {"kept_mm": tuple(map(tuple, told["kept_mm"]))}
    if "keep_mm" in told:  # since version 3
        pairs["keep_mm"] = tuple(told["keep_mm"])
    return Cut(**{**told, **pairs})


@_as_written
def _movements(connection: sqlite3.Connection, number: int | None = None, run: str = "") -> list[Entry]:
    which = (
        "(:item IS NULL OR number IN (SELECT movement FROM posting WHERE item = :item)) AND (:run = '' OR run = :run)"
    )
    asked = {"item": number, "run": run}
    postings: dict[int, list[Posting]] = {}
    sent = f"SELECT * FROM posting WHERE movement IN (SELECT number FROM movement WHERE {which}) ORDER BY rowid"  # noqa: S608
    for movement, account, *figures in connection.execute(sent, asked).fetchall():
        postings.setdefault(movement, []).append(Posting(Account(account), *figures))
    rows = connection.execute(f"SELECT * FROM movement WHERE {which} ORDER BY number", asked).fetchall()  # noqa: S608
    return [
        Entry(row, Movement(Verb(verb), at, tuple(postings.get(row, ())), run_id, note, undoes))
        for row, verb, at, run_id, note, undoes in rows
    ]


@_as_written
def _told(connection: sqlite3.Connection, run: str) -> list[Done]:
    told = connection.execute("SELECT stage, thing, count, at, note FROM done WHERE run = ? ORDER BY number", (run,))
    rows = told.fetchall()
    return [Done(run, Stage(stage), thing, count, at, note) for stage, thing, count, at, note in rows]


def _write(connection: sqlite3.Connection, change: Change) -> None:
    for item in change.put:
        values = (*(getattr(item, name) for name in _ITEM.split(", ")[:9]), int(item.exact), item.run)
        connection.execute(
            f"INSERT INTO item ({_ITEM}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (number) DO UPDATE SET "  # noqa: S608
            "width_mm = excluded.width_mm, length_mm = excluded.length_mm, mass_ug = excluded.mass_ug, "
            "cost_u = excluded.cost_u, place = excluded.place, batch = excluded.batch, exact = excluded.exact, "
            "run = excluded.run, gone = 0",
            values,
        )
    for number in change.gone:
        connection.execute("UPDATE item SET gone = 1, run = '' WHERE number = ?", (number,))
    for run in change.runs:
        told = asdict(run)
        plan = json.dumps({key: told[key] for key in ("jobs", "replaces", "cuts", "parts", "spoilt")})
        connection.execute(
            "INSERT INTO run (id, state, at, out, plan) VALUES (?, ?, ?, ?, ?) ON CONFLICT (id) DO UPDATE SET "
            "state = excluded.state, at = excluded.at, out = excluded.out, plan = excluded.plan",
            (run.id, run.state, run.at, run.out, plan),
        )
    connection.executemany(
        "INSERT INTO done (run, stage, thing, count, at, note) VALUES (?, ?, ?, ?, ?, ?)",
        [(d.run, d.stage, d.thing, d.count, d.at, d.note) for d in change.done],
    )
    for movement in change.movements:
        made = connection.execute(
            "INSERT INTO movement (verb, at, run, note, undoes) VALUES (?, ?, ?, ?, ?)",
            (movement.verb, movement.at, movement.run, movement.note, movement.undoes),
        )
        connection.executemany(
            "INSERT INTO posting (movement, account, code, mass_ug, cost_u, item) VALUES (?, ?, ?, ?, ?, ?)",
            [(made.lastrowid, p.account, p.code, p.mass_ug, p.cost_u, p.item) for p in movement.postings],
        )
