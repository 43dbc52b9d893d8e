"""Who makes many batches: executors of `concurrent.futures`, and how many batches each is given at a time."""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing import active_children, get_context
from typing import TYPE_CHECKING

from cutpath.errors import Finding, Refused

if TYPE_CHECKING:
    from distributed import Client

_REACH_S = 30.0
"""How long a cluster may take to answer, and to have a worker."""


@dataclass(frozen=True, slots=True)
class Crew:
    """An executor, opened anew where it breaks.

    Attributes
    ----------
    open : callable
        Gives an executor; it pickles what it is given unless it works in threads of this process.
    width : callable
        How many batches it is given at a time.
    here : bool
        Whether it works on this machine, and so has the compiled search that this process has.
    """

    open: Callable[[], Executor]
    width: Callable[[], int]
    here: bool = True


def processes_for(cores: int) -> int:
    """Return how many processes keep so many cores busy: two for every three.

    The search of a nest runs in two threads, all else of a batch in one. With 20 s to search, 1,500 pieces took 145 s
    of processors, 25 of them outside of the search: some 1.7 cores on the way (measured).
    """
    return -(-2 * cores // 3)


@contextmanager
def processes(count: int) -> Iterator[Crew]:
    """Return a crew of processes on this machine, and one batch more than they are to wait for them.

    Broken off, they end at once.
    """
    before = set(active_children())
    pools: list[ProcessPoolExecutor] = []

    def opened() -> Executor:
        pools.append(ProcessPoolExecutor(count, mp_context=get_context("spawn"), initializer=_leave_endings))
        return pools[-1]

    try:
        yield Crew(opened, lambda: count + 1)
    except BaseException:
        for child in set(active_children()) - before:
            child.terminate()
        raise
    finally:
        for pool in pools:
            pool.shutdown(cancel_futures=True)


def _leave_endings() -> None:
    """Leave Ctrl-C at the terminal, which reaches every process there, to the one that was started by hand."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


@contextmanager
def cluster(address: str) -> Iterator[Crew]:
    """Return the workers of a Dask cluster as a crew, by the address of its scheduler.

    The scheduler gives a batch to another worker where one dies; each is given a second batch to have at hand.

    Raises
    ------
    Refused
        CP709 when it cannot be reached, or the extra for it is not installed.
    """
    try:
        from distributed import Client
        from distributed.comm.addressing import parse_address, parse_host_port
    except ImportError:
        found = "the package distributed is not installed"
        raise Refused([_unreachable(address, found, "Install it: pip install 'cutpath[cluster]'.")]) from None
    try:
        scheme, place = parse_address(address)
        if scheme != "inproc":
            parse_host_port(
                place
            )  # a client that finds this out for itself holds up the end of the process for a minute
        client = Client(address, timeout=_REACH_S, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        found = f"it cannot be reached ({str(error) or type(error).__name__})"
        remedy = "See that its scheduler runs, and give its address: tcp://HOST:8786."
        raise Refused([_unreachable(address, found, remedy)]) from error
    with client:
        try:
            client.wait_for_workers(1, timeout=_REACH_S)
        except TimeoutError:
            raise Refused([_unreachable(address, "it has no workers", "Start some: dask worker ADDRESS.")]) from None
        yield Crew(client.get_executor, lambda: max(2, 2 * _threads(client)), here=False)


def _threads(client: Client) -> int:
    """Return how many threads the workers have; 0 where the cluster does not answer any more."""
    try:
        return sum(client.nthreads().values())
    except (OSError, TimeoutError):
        return 0


def _unreachable(address: str, found: str, remedy: str) -> Finding:
    return Finding("CP709", f"cluster {address}", found, "a Dask cluster that answers", remedy)
