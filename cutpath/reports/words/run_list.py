"""The runs of a shop and how far each is, as rows and as tables for a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypedDict

from cutpath.paper.text import clock_text, table
from cutpath.values.stock import Done, Part, Run, RunState, Stage, label_of

_JOBS_NAMED = 2


class RunRow(TypedDict):
    """One run: the labels that it cuts, how many rolls are bought for it, and how many pieces are at each stage."""

    run: str
    state: str
    at: str
    jobs: list[str]
    out: str
    labels: list[str]
    to_buy: int
    pieces: int
    rolls_cut: int
    folded: int
    packed: int
    delivered: int


class RollRow(TypedDict):
    """One roll of a run, whether it is cut, and booked; ``label`` None where it was yet to be bought."""

    roll: str
    label: str | None
    cut: bool
    booked: bool


class PieceRow(TypedDict):
    """One piece of a run, how many of it are at each stage, and how many were spoilt and cut once more elsewhere."""

    piece: str
    job: str
    quantity: int
    spoilt: int
    rolls: list[str]
    folded: int
    packed: int
    delivered: int


class AgainRow(TypedDict):
    """Copies of a piece of an earlier run that a run cuts once more."""

    run: str
    piece: str
    count: int


class Progress(TypedDict):
    """How far a run is, roll by roll and piece by piece, and what it cuts once more."""

    run: str
    state: str
    at: str
    out: str
    rolls: list[RollRow]
    pieces: list[PieceRow]
    again: list[AgainRow]


def progress(run: Run, done: Iterable[Done]) -> Progress:
    """Return how far a run is; what was told last of a stage counts, and of a committed run all rolls are cut.

    No piece is farther than its rolls: where one was taken back, what was told of its pieces waits until it is cut.
    """
    last = {(d.stage, d.thing): d.count for d in done}
    booked = {cut.sheet for cut in run.booked}
    are_cut = {cut.sheet for cut in run.cuts if cut.sheet in booked or last.get((Stage.CUT, cut.sheet))}

    def at(stage: Stage, part: Part) -> int:
        return min(part.good, part.on(are_cut), last.get((stage, part.id), 0))

    return {
        "run": run.id,
        "state": run.state.value,
        "at": run.at,
        "out": run.out,
        "rolls": [
            {
                "roll": cut.sheet,
                "label": None if cut.item is None else label_of(cut.item),
                "cut": cut.sheet in are_cut,
                "booked": cut.sheet in booked,
            }
            for cut in run.cuts
        ],
        "pieces": [
            {
                "piece": part.id,
                "job": part.job,
                "quantity": part.quantity,
                "spoilt": part.spoilt,
                "rolls": list(part.sheets),
                "folded": at(Stage.FOLDED, part),
                "packed": at(Stage.PACKED, part),
                "delivered": at(Stage.DELIVERED, part),
            }
            for part in run.parts
        ],
        "again": [{"run": copies.run, "piece": copies.piece, "count": copies.count} for copies in run.spoilt],
    }


def run_rows(runs: Iterable[tuple[Run, Sequence[Done]]], *, every: bool) -> list[RunRow]:
    """List runs in the order given; those released or wholly delivered only where ``every`` one is asked for."""
    rows = []
    for run, done in runs:
        told = progress(run, done)
        pieces = told["pieces"]
        quantity = sum(p["quantity"] - p["spoilt"] for p in pieces)
        delivered = sum(p["delivered"] for p in pieces)
        over = run.state is RunState.RELEASED or (run.state is RunState.COMMITTED and delivered == quantity)
        if over and not every:
            continue
        row: RunRow = {
            "run": run.id,
            "state": run.state.value,
            "at": run.at,
            "jobs": list(run.jobs),
            "out": run.out,
            "labels": [label_of(cut.item) for cut in run.cuts if cut.item is not None],
            "to_buy": 0 if run.state is RunState.COMMITTED else sum(cut.item is None for cut in run.cuts),
            "pieces": quantity,
            "rolls_cut": sum(roll["cut"] for roll in told["rolls"]),
            "folded": sum(p["folded"] for p in pieces),
            "packed": sum(p["packed"] for p in pieces),
            "delivered": delivered,
        }
        rows.append(row)
    return rows


def run_table(rows: Sequence[RunRow]) -> str:
    """Lay runs out for a terminal."""
    if not rows:
        return "no such run draws on this stock"
    head = (
        "run",
        "state",
        "when",
        "jobs",
        "rolls",
        "to buy",
        "cut",
        "pieces",
        "folded",
        "packed",
        "delivered",
        "folder",
    )
    cells = [
        (
            row["run"],
            row["state"],
            clock_text(row["at"]),
            _jobs_in_words(row["jobs"]),
            " ".join(row["labels"]) or "-",
            str(row["to_buy"] or "-"),
            *(str(row[key]) for key in ("rolls_cut", "pieces", "folded", "packed", "delivered")),
            row["out"],
        )
        for row in rows
    ]
    return table(head, cells, left=frozenset({0, 1, 2, 3, 4, 11}))


def _jobs_in_words(jobs: Sequence[str]) -> str:
    """Name two jobs at most, so that a week's work keeps to its line; `run show` and --json name all."""
    return ", ".join(jobs) if len(jobs) <= _JOBS_NAMED else f"{jobs[0]} and {len(jobs) - 1} more"


def progress_table(told: Progress) -> str:
    """Lay the progress of a run out for a terminal."""
    rolls = [
        (row["roll"], row["label"] or "-", "cut" if row["cut"] else "-", "booked" if row["booked"] else "-")
        for row in told["rolls"]
    ]
    pieces = [
        (
            row["piece"],
            row["job"],
            *map(str, (row["quantity"], row["spoilt"] or "-", row["folded"], row["packed"], row["delivered"])),
            " ".join(row["rolls"]),
        )
        for row in told["pieces"]
    ]
    again = ", ".join(f"{row['count']} x {row['piece']} of {row['run']}" for row in told["again"])
    head = f"{told['run']}  {told['state']}  {clock_text(told['at'])}  {told['out']}"
    parts = [
        head + (f"\ncut once more: {again}" if again else ""),
        table(("roll", "label", "cut", "stock"), rolls, left=frozenset({0, 1, 2, 3})),
    ]
    if pieces:
        parts.append(
            table(
                ("piece", "job", "of", "spoilt", "folded", "packed", "delivered", "from"),
                pieces,
                left=frozenset({0, 1, 7}),
            )
        )
    return "\n\n".join(parts)
