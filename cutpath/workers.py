"""One kind of work on many things, shared out over cores, with a word on how far it is.

Results come in the order of the things and are the same however many workers there are: the work is a plain function of
what all have in common and of one thing. Without `shared_over` it is done here, one thing after another.

The others are processes of their own, started anew: threads share one lock on Python's own work, and a fork would
copy the locks of whatever threads the search and its solver have left.
"""

from __future__ import annotations

import os
import pickle
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from functools import lru_cache
from importlib import import_module
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from concurrent.futures import Future, ProcessPoolExecutor

C = TypeVar("C")
T = TypeVar("T")
R = TypeVar("R")

Told = Callable[[str, int, int], None]
"""Told of a stage, how many things are done, and of how many."""

_PAYS_FROM = 400
"""Weight of the things from which other workers are worth their start: it takes one of them about a second of a core,
and a piece some ten milliseconds (both measured)."""

_PARTS = 32  # for each worker: two of them that the others have taken are waited for at the end


@dataclass(slots=True)
class _Workers:
    count: int
    told: Told
    pool: ProcessPoolExecutor | None = None


_at_work: ContextVar[_Workers | None] = ContextVar("workers", default=None)


MOST = 4
"""Workers that are taken unless more are asked for: each holds some 200 MB (measured)."""


def cores() -> int:
    """Return how many cores this process may use, `MOST` at most."""
    there = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return min(there, MOST)


@contextmanager
def shared_over(count: int, told: Told, ahead: str = "") -> Iterator[None]:
    """Let `each` share its work over ``count`` workers, this process being one of them, and tell how far it is.

    Others start when they are first needed. Where they surely will be, ``ahead`` names the module that they are to
    import meanwhile, and they start at once: it takes each a second.
    """
    workers = _Workers(count, told)
    if ahead and count > 1:
        workers.pool = _others(count)
        workers.pool.submit(_imported, ahead)
    token = _at_work.set(workers)
    try:
        yield
    finally:
        _at_work.reset(token)
        if workers.pool is not None:
            workers.pool.shutdown(cancel_futures=True)


def each(stage: str, work: Callable[[C, T], R], common: C, things: Sequence[T], weight: int) -> list[R]:
    """Return what the work gives for each thing.

    Parameters
    ----------
    stage : str
        What is done, for whoever waits.
    work : callable
        A function of a module; takes what is common, and one thing. It and they are pickled where workers share it.
    common
    things : sequence
    weight : int
        About how many pieces the things come to; few are not worth other workers.
    """
    workers = _at_work.get()
    if workers is None:
        return [work(common, thing) for thing in things]
    workers.told(stage, 0, len(things))
    if workers.count == 1 or len(things) == 1 or weight < _PAYS_FROM:
        done = []
        for thing in things:
            done.append(work(common, thing))
            workers.told(stage, len(done), len(things))
        return done
    return _shared(workers, stage, work, common, things)


def _shared(workers: _Workers, stage: str, work: Callable[[C, T], R], common: C, things: Sequence[T]) -> list[R]:
    if workers.pool is None:
        workers.pool = _others(workers.count)
    blob = pickle.dumps((work, common), protocol=pickle.HIGHEST_PROTOCOL)
    size = max(1, -(-len(things) // (_PARTS * workers.count)))
    parts = [things[k : k + size] for k in range(0, len(things), size)]
    given: list[Future[list[R]]] = [workers.pool.submit(_part, blob, part) for part in parts]
    done: list[list[R] | None] = [None] * len(parts)
    try:
        for k in reversed(range(len(parts))):  # from the end, while the others work from the beginning
            if given[k].cancel():
                done[k] = [work(common, thing) for thing in parts[k]]
            told = sum(len(own or ()) for own in done) + sum(len(f.result()) for f in given if _is_done(f))
            workers.told(stage, min(told, len(things)), len(things))
        whole = [made if made is not None else given[k].result() for k, made in enumerate(done)]
    except BaseException:
        for future in given:
            future.cancel()
        raise
    workers.told(stage, len(things), len(things))
    return [result for part in whole for result in part]


def _others(count: int) -> ProcessPoolExecutor:
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    return ProcessPoolExecutor(count - 1, mp_context=get_context("spawn"))


def _imported(module: str) -> None:
    import_module(module)


def _is_done(future: Future[Any]) -> bool:
    return future.done() and not future.cancelled()


def _part(blob: bytes, things: Sequence[Any]) -> list[Any]:
    work, common = _task(blob)
    return [work(common, thing) for thing in things]


@lru_cache(maxsize=1)
def _task(blob: bytes) -> tuple[Callable[[Any, Any], Any], Any]:
    """Return work and what is common to it, read once for all parts of a stage."""
    task: tuple[Callable[[Any, Any], Any], Any] = pickle.loads(blob)  # noqa: S301 - written by this program's own process
    return task
