"""A ceiling on each stage of the work: whatever a file holds, nothing goes on for ever, and the end is clear.

A stage begins when the one before says that it is done, or shows how far it is. What a nest was given is added.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

from cutpath import ceilings
from cutpath.errors import Finding

_SLOWEST = 20
"""How many times slower than an ordinary machine one may be that counts the work of a nest."""


class StageTooLongError(BaseException):
    """A stage of the work went on beyond its ceiling; like Ctrl-C it passes through whatever catches errors."""

    def __init__(self, stage: str, seconds: float) -> None:
        super().__init__(stage)
        minutes = f"{seconds / 60:.0f} minutes"
        self.finding = Finding(
            "CP710",
            stage,
            f"it has gone on for {minutes} without an end",
            f"a stage of the work that is done in {minutes}",
            "Nothing was written. Give fewer jobs at once, or leave out one after another to find which does it.",
        )


class _Clock:
    """The stage that is running, and how long it may."""

    stage = ""
    nest_s = 0.0

    def ring(self, _number: int, _frame: FrameType | None) -> None:
        raise StageTooLongError(self.stage, self.limit_s)

    @property
    def limit_s(self) -> float:
        return ceilings.STAGE_S + self.nest_s


_clock = _Clock()


@contextmanager
def ceiling() -> Iterator[None]:
    """Hold each stage that is begun meanwhile to its ceiling; where the system has no such clock there is none."""
    able = hasattr(signal, "setitimer") and threading.current_thread() is threading.main_thread()
    before = signal.signal(signal.SIGALRM, _clock.ring) if able else None
    try:
        yield
    finally:
        _clock.stage, _clock.nest_s = "", 0.0
        if able:
            signal.setitimer(signal.ITIMER_REAL, 0)
            signal.signal(signal.SIGALRM, before)


def begin(stage: str) -> None:
    """Begin the first stage, or another: its time runs from now."""
    _clock.stage = stage
    if hasattr(signal, "setitimer") and signal.getsignal(signal.SIGALRM) == _clock.ring:
        signal.setitimer(signal.ITIMER_REAL, _clock.limit_s)


def goes_on(stage: str) -> None:
    """Begin a stage where there was one before; commands that never began any have no ceiling."""
    if _clock.stage:
        begin(stage)


def allow_nest(seconds: float) -> None:
    """Let a stage go on longer by what a nest may take on the slowest machine."""
    _clock.nest_s = _SLOWEST * seconds
    goes_on(_clock.stage)
