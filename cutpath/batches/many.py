"""Many batches over an executor: each is made elsewhere from what files held, and put into its folder here.

Whoever makes a batch gets the contents of its files with it and gives back the bytes of the folder, so it needs neither
this machine's disk nor its stock. What a batch may spend is work and not time, so its bytes are the same whoever makes
it. Batches that draw on one stock are made one after another, in the order of the list: each finds what those before it
left. A batch that fails is told with its findings, and the others go on.

Where a process dies, nobody knows which of the batches in hand it died of. They are made once more, one at a time, and
one that kills its process again has failed.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, CancelledError, Executor, Future, wait
from contextlib import ExitStack
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path

from cutpath import __version__, output, shop, stock
from cutpath.batches import one
from cutpath.batches.crews import Crew
from cutpath.batches.listing import Entry
from cutpath.errors import Finding, Refused
from cutpath.intake.files import remembering
from cutpath.nesting.compiled import to_compile
from cutpath.plain import seen
from cutpath.reports.account.yields import Account, account
from cutpath.shelf import Shelf
from cutpath.values.made_from import Asked
from cutpath.values.stock import Run

_LOOK_S = 1.0
"""How often it is looked whether the search is compiled, so that other processes need not do it too."""
_MOST_LETTERS = 300  # of an error's own words


@dataclass(frozen=True, slots=True)
class Task:
    """All that a batch is made from, wherever that is done; ``target`` and ``at`` are what a stock books of it."""

    asked: Asked
    files: Mapping[str, bytes]
    version: str
    shelf: Shelf | None = None
    target: str = ""
    at: str = ""


@dataclass(frozen=True, slots=True)
class Done:
    """What came of a task: findings alone where it was refused, else every file, its run, and what a stock books."""

    findings: tuple[Finding, ...]
    files: Mapping[str, bytes] = field(default_factory=dict)
    run: str = ""
    account: Account | None = None
    booked: Run | None = None


def work(task: Task) -> Done:
    """Make one batch from what is given, reading nothing else."""
    if task.version != __version__:
        found = f"a worker has cutpath {__version__}, and {task.version} asks it"
        return Done((_failed("cluster", found, "Install the same version everywhere."),))
    with remembering(task.files, alone=True) as files:
        try:
            made, drawn = one.made(task.asked, files, task.shelf)
        except Refused as refusal:
            return Done(tuple(refusal.findings))
    booked = None
    if task.shelf is not None:
        booked = shop.run_of(task.shelf, made, drawn, Path(task.target), task.at)
    return Done(tuple(made.batch.findings), made.files, made.run, account(made.batch), booked)


class State(StrEnum):
    """What became of a batch."""

    MADE = "made"
    FAILED = "failed"
    THERE = "there"


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one batch of a list, and where it is; without files and account where it was not made."""

    entry: Entry
    state: State
    findings: tuple[Finding, ...]
    folder: Path
    files: tuple[str, ...] = ()
    run: str = ""
    account: Account | None = None


@dataclass(frozen=True, slots=True)
class How:
    """How results are written: in the place of earlier ones, or only where none is yet; the time as it is booked."""

    at: Callable[[], str]
    replace_old: bool = False
    missing: bool = False


def make_all(
    entries: Sequence[Entry], crew: Crew, how: How, told: Callable[[Outcome], None] | None = None
) -> tuple[Outcome, ...]:
    """Make all batches of a list; each folder is whole, or is as it was.

    Parameters
    ----------
    entries : sequence of Entry
    crew : Crew
    how : How
    told : callable, optional
        Told of each batch as it ends, in whatever order.

    Returns
    -------
    tuple of Outcome
        In the order of the entries.
    """
    night = _Night(entries, crew, how, told or (lambda _: None))
    with output.no_empty_folders_above(entry.folder for entry in entries):
        night.run()
    return tuple(outcome for _, outcome in sorted(night.outcomes.items()))


@dataclass(slots=True)
class _InHand:
    """A batch that is being made: its number, its claimed folder, and the stock that it draws on."""

    number: int
    place: output.Place
    leaving: ExitStack
    shelf: Shelf | None


@dataclass(slots=True)
class _Night:
    entries: Sequence[Entry]
    crew: Crew
    how: How
    told: Callable[[Outcome], None]
    waiting: deque[int] = field(default_factory=deque)
    in_hand: dict[Future[Done], _InHand] = field(default_factory=dict)
    suspects: set[int] = field(default_factory=set)
    lost: dict[int, int] = field(default_factory=dict)
    outcomes: dict[int, Outcome] = field(default_factory=dict)
    executor: Executor | None = None

    def run(self) -> None:
        self.waiting.extend(range(len(self.entries)))
        try:
            while self.waiting or self.in_hand:
                self._hand_out(self.executor or self.crew.open())
                ended, _ = wait(self.in_hand, timeout=_LOOK_S, return_when=FIRST_COMPLETED)
                if self.executor is None or any(_is_broken(future) for future in ended):
                    self.executor = None
                    ended, _ = wait(self.in_hand)
                for future in sorted(ended, key=lambda f: self.in_hand[f].number):
                    self._take_in(future)
                self.waiting = deque(sorted(self.waiting))
        finally:
            for future, own in self.in_hand.items():
                future.cancel()
                own.leaving.close()

    def _hand_out(self, executor: Executor) -> None:
        self.executor = executor
        width = 1 if self.suspects or self._compiles_first() else self.crew.width()
        while self.executor is not None and len(self.in_hand) < width:
            busy = {self.entries[own.number].stock for own in self.in_hand.values()} - {None}
            number = next((n for n in self.waiting if self.entries[n].stock not in busy), None)
            if number is None:
                return
            self.waiting.remove(number)
            self._begin(number, executor)

    def _compiles_first(self) -> bool:
        """Tell whether the first batch still compiles the search for all processes of this machine.

        Where nothing can be kept of it, they do so each for itself once one batch is made.
        """
        none_made = all(outcome.account is None for outcome in self.outcomes.values())
        return self.crew.here and none_made and to_compile()

    def _begin(self, number: int, executor: Executor) -> None:
        entry = self.entries[number]
        if self.how.missing and (run := shop.run_in(entry.folder)):
            self._end(number, Outcome(entry, State.THERE, (), entry.folder, run=run))
            return
        with ExitStack() as leaving:
            try:
                files, drawings = one.read(entry.asked)
                reads = (*entry.reads(), *drawings)
                claimed = output.claim_folder(entry.folder, replace_old=self.how.replace_old, reads=reads)
                place = leaving.enter_context(claimed)
                shelf = None
                if entry.stock is not None:
                    path = Path(entry.stock) if entry.stock else None
                    shelf, found = shop.shelf_for(path, place, entry.asked.rolls)
                    place.findings += found
                task = Task(entry.asked, files, __version__, shelf, str(place.target), self.how.at())
                future = executor.submit(work, task)
            except Refused as refusal:
                self._fail(number, refusal.findings)
            except BrokenExecutor:  # a process died while it had nothing to do
                self.waiting.append(number)
                self.executor = None
            except Exception as error:  # whatever goes wrong in one batch, the others go on
                self._broken_off(number, error)
            else:
                self.in_hand[future] = _InHand(number, place, leaving.pop_all(), shelf)

    def _take_in(self, future: Future[Done]) -> None:
        own = self.in_hand.pop(future)
        entry = self.entries[own.number]
        with own.leaving:
            try:
                done = future.result()
                if done.account is None:
                    raise Refused(done.findings)
                if own.shelf is None or done.booked is None:
                    written = own.place.put(done.files)
                else:
                    written = shop.put(own.shelf.file, done.booked, done.files, own.place)
            except stock.Lost as lost:
                self._lost(own.number, lost)
            except Refused as refusal:
                self._fail(own.number, (*own.place.findings, *refusal.findings))
            except BrokenExecutor:
                self._died(own.number)
            except (Exception, CancelledError) as error:  # whatever goes wrong in one batch, the others go on
                self._broken_off(own.number, error)
            else:
                found = (*own.place.findings, *done.findings, *written.findings)
                names = tuple(done.files)
                self._end(own.number, Outcome(entry, State.MADE, found, written.path, names, done.run, done.account))

    def _died(self, number: int) -> None:
        if number not in self.suspects:
            self.suspects.add(number)
            self.waiting.append(number)
            return
        remedy = "Look whether memory ran out, and make it by itself: cutpath make."
        self._fail(number, [_failed(self.entries[number].name, "its process died, twice", remedy)])

    def _broken_off(self, number: int, error: BaseException) -> None:
        words = seen(f"{type(error).__name__}: {error}")[:_MOST_LETTERS]
        remedy = "Make it by itself to see more: cutpath make."
        self._fail(number, [_failed(self.entries[number].name, f"it was broken off ({words})", remedy)])

    def _lost(self, number: int, lost: stock.Lost) -> None:
        """Make a batch once more where somebody else got one of its rolls meanwhile."""
        self.lost[number] = self.lost.get(number, 0) + 1
        if self.lost[number] < shop.TRIES:
            self.waiting.append(number)
        else:
            self._fail(number, lost.findings)

    def _fail(self, number: int, found: Sequence[Finding]) -> None:
        entry = self.entries[number]
        told = tuple(output.as_in_a_list(finding, entry.folder) for finding in found)
        self._end(number, Outcome(entry, State.FAILED, told, entry.folder))

    def _end(self, number: int, outcome: Outcome) -> None:
        self.suspects.discard(number)
        self.outcomes[number] = outcome
        self.told(outcome)


def _is_broken(future: Future[Done]) -> bool:
    return future.done() and not future.cancelled() and isinstance(future.exception(), BrokenExecutor)


def _failed(name: str, found: str, remedy: str) -> Finding:
    return Finding("CP709", name, found, "a batch that is made", remedy)
