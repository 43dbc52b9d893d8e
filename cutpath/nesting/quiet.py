"""Standard output kept for answers: compiled solvers now and then print there whatever they are told."""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager

_STDOUT = 1
_lock = threading.Lock()
_held: list[int] = []  # the true output while it is held back, and again for each further caller


@contextmanager
def no_output() -> Iterator[None]:
    """Throw away what code outside Python writes to standard output meanwhile; several threads may ask for it."""
    with _lock:
        _held.append(_held[0] if _held else _hold())
    try:
        yield
    finally:
        with _lock:
            true = _held.pop()
            if not _held and true >= 0:
                os.dup2(true, _STDOUT)
                os.close(true)


def _hold() -> int:
    """Turn standard output away and give a copy of it; -1 where there is none."""
    try:
        if sys.stdout is not None:
            sys.stdout.flush()
        true = os.dup(_STDOUT)
    except (OSError, ValueError):  # closed
        return -1
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
    except OSError:  # then the solver's words are seen
        os.close(true)
        return -1
    os.dup2(nowhere, _STDOUT)
    os.close(nowhere)
    return true
