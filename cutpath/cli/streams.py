"""Standard output and standard error that may be closed, full or gone, and signals that end a run in order."""

from __future__ import annotations

import errno
import io
import os
import signal
import sys
from types import FrameType
from typing import Any

from cutpath.errors import Finding, Refused

_ENDINGS = ("SIGTERM", "SIGHUP")
"""Signals that end a run like Ctrl-C, so that nothing half done stays behind."""


class _Stream(io.FileIO):
    """An open file that is given up at the first error; what is written after that goes nowhere."""

    _lost = False

    def write(self, data: Any, /) -> int:  # noqa: ANN401 - anything that holds bytes
        """Write, or pass over what nobody can take any more; click tries streams by writing nothing: that is no try."""
        size = len(memoryview(data).cast("B"))
        if size and not self._lost:
            try:
                return super().write(data)
            except OSError as error:
                self._lost = True
                self._give_up(error)
        return size

    def _give_up(self, error: OSError) -> None:
        """Say nothing: talk that nobody hears is no reason to end the work."""


class _Results(_Stream):
    """Standard output: a result that gets lost is a fault, or a reader who has had enough."""

    def _give_up(self, error: OSError) -> None:
        if error.errno == errno.EPIPE:
            raise error  # click ends the command for this
        reason = "it is closed" if error.errno == errno.EBADF else error.strerror
        found, wanted = f"it cannot be written ({reason})", "a place with room for the result"
        remedy = "Send it somewhere else. An output folder or file that was asked for is whole, or is not there."
        raise Refused([Finding("CP702", "standard output", found, wanted, remedy)])


def guard_streams() -> None:
    """Open what was closed, so that no other file gets its number, and have errors of writing found."""
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDONLY)  # takes the lowest free number; writing to it fails as before
    sys.stdout = _guarded(sys.stdout, 1, _Results)
    sys.stderr = _guarded(sys.stderr, 2, _Stream)


def _guarded(stream: Any, number: int, kind: type[_Stream]) -> Any:  # noqa: ANN401 - whatever stands in for a stream
    if stream is None:
        return io.TextIOWrapper(io.BufferedWriter(kind(number, "w", closefd=False)), encoding="utf-8")
    buffer = getattr(stream, "buffer", None)
    raw = getattr(buffer, "raw", buffer)  # there is no buffer where Python was told so
    if not isinstance(raw, io.FileIO):
        return stream  # a console of another kind, or somebody's own
    stream.flush()
    guarded = kind(raw.fileno(), "w", closefd=False)
    return io.TextIOWrapper(
        guarded if raw is buffer else io.BufferedWriter(guarded),  # as Python itself does it
        encoding=stream.encoding,
        errors=stream.errors,
        line_buffering=stream.line_buffering,
        write_through=stream.write_through,
    )


def end_in_order() -> None:
    """Let the signals that ask a run to end do it as Ctrl-C does; those that are ignored stay so."""
    for name in _ENDINGS:
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) is signal.SIG_DFL:
            signal.signal(number, _end)


def _end(_number: int, _frame: FrameType | None) -> None:
    raise KeyboardInterrupt
