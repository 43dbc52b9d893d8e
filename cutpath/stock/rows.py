"""Rows of a stock file to values, and values to rows; every statement that reads or writes one stands here."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import wraps
from types import MappingProxyType
from typing import Any, ParamSpec, TypeVar

from cutpath.ceilings import LARGEST_MM
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
def holding(connection: sqlite3.Connection) -> Holding:
    """Return what there is."""
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
def whole(connection: sqlite3.Connection) -> Whole:
    """Return everything that the file holds."""
    rows = connection.execute(f"SELECT {_ITEM}, gone FROM item ORDER BY number").fetchall()  # noqa: S608
    items = {row[0]: (_item(row), bool(row[-1])) for row in rows}
    return Whole(holding(connection), items, movements(connection))


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
def movements(connection: sqlite3.Connection, number: int | None = None, run: str = "") -> list[Entry]:
    """Return every movement in order, or those that touched one item or belong to one run."""
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
def done(connection: sqlite3.Connection, run: str) -> list[Done]:
    """Return everything that was told of the progress of a run, in order."""
    told = connection.execute("SELECT stage, thing, count, at, note FROM done WHERE run = ? ORDER BY number", (run,))
    rows = told.fetchall()
    return [Done(run, Stage(stage), thing, count, at, note) for stage, thing, count, at, note in rows]


def write(connection: sqlite3.Connection, change: Change) -> None:
    """Write a change."""
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
