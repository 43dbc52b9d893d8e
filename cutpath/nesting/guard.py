"""What ends a search before its work is done: an interruption, nothing better to be found, or the clock.

The only module of the nest that knows of time. Where the budget is work, no clock is read at all.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field

from cutpath.values.nest import Budget

_keeps: ContextVar[bool] = ContextVar("keeps", default=False)


@contextmanager
def keeping_best() -> Iterator[None]:
    """Let a search that is interrupted within give its best until then; else an interruption ends all."""
    token = _keeps.set(True)
    try:
        yield
    finally:
        _keeps.reset(token)


@dataclass(slots=True)
class Guard:
    """The sign to stop, and seconds after which work is skipped; None: however long the work takes.

    ``broken`` is the sign that it was an interruption that stopped it.
    """

    seconds: float | None = None
    stop: threading.Event = field(default_factory=threading.Event)
    begun: float = 0.0
    broken: threading.Event = field(default_factory=threading.Event)

    @classmethod
    def of(cls, budget: Budget) -> Guard:
        """Return the guard of a budget, begun now."""
        return cls(budget.seconds).begin()

    def begin(self) -> Guard:
        """Start the clock, where there is one; return the guard."""
        if self.seconds is not None:
            self.begun = time.perf_counter()
        return self

    def break_off(self) -> None:
        """Stop because of an interruption."""
        self.broken.set()
        self.stop.set()

    def go_on(self) -> None:
        """End the work where it was broken off, unless the best until then was asked for (`keeping_best`).

        Raises
        ------
        KeyboardInterrupt
        """
        if self.broken.is_set() and not _keeps.get():
            raise KeyboardInterrupt

    def passed_s(self) -> float:
        """Return the seconds since `begin`, 0 without a clock."""
        return 0.0 if self.seconds is None else time.perf_counter() - self.begun

    def left_s(self, closes: float = 1.0) -> float:
        """Return what is left of a share of the seconds: 0 once the search is to stop, inf where there is no clock."""
        if self.stop.is_set():
            return 0.0
        return math.inf if self.seconds is None else closes * self.seconds - self.passed_s()

    def share(self) -> float:
        """Return the share of the seconds that has passed; 1 once the search is to stop."""
        if self.stop.is_set() or self.seconds == 0.0:
            return 1.0
        return 0.0 if self.seconds is None else self.passed_s() / self.seconds

    @contextmanager
    def rings(self, seconds: float, ring: Callable[[], None]) -> Iterator[None]:
        """Call ``ring`` after so many seconds unless it is left before; never without a clock."""
        if self.seconds is None:
            yield
            return
        timer = threading.Timer(max(0.0, seconds), ring)
        timer.start()
        try:
            yield
        finally:
            timer.cancel()

    def at_least(self, seconds: float) -> Guard:
        """Return a guard with so many seconds, begun now, in the place of one that has fewer left."""
        return self if self.left_s() >= seconds else self.within(seconds)

    def within(self, seconds: float) -> Guard:
        """Return a guard with so many seconds, begun now, where this one has a clock; the signs are the same."""
        return Guard(None if self.seconds is None else max(0.0, seconds), self.stop, broken=self.broken).begin()
