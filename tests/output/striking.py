"""A disk that strikes at a chosen step, and results to write on it; without pytest, for programs that start often.

Steps are the calls to the system that change the disk.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from cutpath.output import claim_folder, disk
from tests.output.made import held, result

STEPS = ("mkdir", "open", "write", "fsync", "close", "rename", "replace", "unlink", "rmdir", "chmod")
FIRST, SECOND = result("first"), result("second", ("report.html", "rolls/c.dxf"))


@contextmanager
def struck(
    step: int | None,
    strike: Callable[[], None],
    *,
    after: bool = False,
    lasting: bool = False,
    without_exchange: bool = False,
) -> Iterator[list[int]]:
    """Strike at a step, counted from 0, or at that and all that follow; gives a list with the number of steps taken.

    Nothing is waited for until it is safe on the disk: no power goes here, and it takes most of the time.
    """
    count = [0]

    def counted(real: Callable[..., object]) -> Callable[..., object]:
        def call(*arguments: object, **keys: object) -> object:
            number = count[0]
            count[0] += 1
            if not after and (number == step or (lasting and step is not None and number > step)):
                strike()
            try:
                return real(*arguments, **keys)
            finally:
                if number == step and after:
                    strike()

        return call

    own = {name: getattr(os, name) for name in STEPS}
    exchange = disk.exchange
    try:
        for name, real in own.items():
            setattr(os, name, counted((lambda _: None) if name == "fsync" else real))
        disk.exchange = (lambda *_: False) if without_exchange else counted(exchange)
        yield count
    finally:
        for name, real in own.items():
            setattr(os, name, real)
        disk.exchange = exchange


def raising(error: BaseException) -> Callable[[], None]:
    def strike() -> None:
        raise error

    return strike


WAYS = {"new": None, "replaced": FIRST}


def before(folder: Path, way: str) -> Path:
    folder.mkdir()
    for name, data in (WAYS[way] or {}).items():
        file = folder / "cut" / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(data)
    return folder / "cut"


def write(out: Path) -> None:
    with claim_folder(out, replace_old=True) as place:
        place.put(SECOND)


def steps_of(folder: Path, way: str, *, without_exchange: bool) -> int:
    out = before(folder, way)
    with struck(None, lambda: None, without_exchange=without_exchange) as count:
        write(out)
    assert count[0] > 30
    return count[0]


def is_before_or_after(out: Path, way: str) -> bool:
    """Say whether the new result is in place, after seeing that either it or what was there before is."""
    now = held(out) if out.exists() else None
    assert now in (WAYS[way], SECOND)
    return now == SECOND


def end_of_process(folder: Path) -> None:
    """Close what an interruption at the closing of a file left open, as the system does when the process ends."""
    for handle in Path("/proc/self/fd").iterdir():
        with suppress(OSError):
            if handle.readlink().is_relative_to(folder):
                os.close(int(handle.name))
