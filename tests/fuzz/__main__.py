"""Give mutants to everything that reads: ``python -m tests.fuzz [--of KIND] [--from N] [--count N] [--keep DIR]``.

Each is read, surveyed, ruled, developed and proved as `make` does before it nests; jobs go on to lists, report and
tickets, laid one after another. It must end in pieces or in findings
that are whole, within the seconds and the memory of `HANGS_S` and `MOST_MB`, and leave nothing behind. What does not is
printed with its number, and kept in DIR; the exit code is 1 then.
"""

from __future__ import annotations

import argparse
import collections
import concurrent.futures
import sys
import tempfile
import time
from pathlib import Path

from tests.fuzz.mutants import mutant, seeds
from tests.fuzz.readers import tried

STRETCH = 50


def _stretch(kind: str, start: int, stop: int) -> list[tuple[int, str, float]]:
    """Try some mutants one after another; what each came to, and its seconds."""
    out = []
    with tempfile.TemporaryDirectory() as folder:
        for number in range(start, stop):
            begun = time.perf_counter()
            end = tried(kind, mutant(kind, number), Path(folder))
            out.append((number, end, time.perf_counter() - begun))
    return out


def main() -> int:
    """Try them, and say how each kind ended."""
    asked = argparse.ArgumentParser(prog="tests.fuzz")
    asked.add_argument("--of", action="append", choices=list(seeds()))
    asked.add_argument("--from", dest="start", type=int, default=0)
    asked.add_argument("--count", type=int, default=1000, help="of each kind")
    asked.add_argument("--workers", type=int, default=None)
    asked.add_argument("--keep", type=Path)
    given = asked.parse_args()
    bad = 0
    with concurrent.futures.ProcessPoolExecutor(given.workers) as pool:
        for kind in given.of or seeds():
            stop = given.start + given.count
            parts = [
                pool.submit(_stretch, kind, first, min(first + STRETCH, stop))
                for first in range(given.start, stop, STRETCH)
            ]
            ends: collections.Counter[str] = collections.Counter()
            slowest = (0.0, 0)
            for part in parts:
                for number, end, seconds in part.result():
                    ends[end] += 1
                    slowest = max(slowest, (seconds, number))
                    if end not in {"made", "refused"}:
                        bad += 1
                        if given.keep:
                            given.keep.mkdir(parents=True, exist_ok=True)
                            name = f"{kind.replace(' ', '-')}-{number}{seeds()[kind].ending}"
                            (given.keep / name).write_bytes(mutant(kind, number))
                        if ends[end] == 1:
                            sys.stdout.write(f"{kind} {number}: {end}\n")
            told = ", ".join(f"{count} {end}" for end, count in ends.most_common(8))
            sys.stdout.write(f"{kind}: {told}; slowest {slowest[0]:.2f} s (number {slowest[1]})\n")
            sys.stdout.flush()
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
