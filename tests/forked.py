"""Programs to be killed: each is forked from one that has everything imported, so that it is at work at once."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

ROOT = Path(__file__).parents[1]
_STARTER = """
for line in sys.stdin:
    child = os.fork()
    if not child:
        print(os.getpid(), flush=True)
        work(*line.split())
        os._exit(0)
    print("ended", os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), flush=True)
"""


class Starter:
    """What starts programs, one at a time."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self._process = process
        self._pid = 0

    def start(self, *words: object) -> None:
        """Start one; ``words`` are what its work is given."""
        self._process.stdin.write(" ".join(map(str, words)) + "\n")
        self._process.stdin.flush()
        self._pid = int(self.line())

    def line(self) -> str:
        """Wait for a line that it says, and return it."""
        line = self._process.stdout.readline()
        assert line, "it has ended"
        return line.rstrip("\n")

    def tell(self, number: signal.Signals) -> None:
        """Send the one that runs a signal."""
        os.kill(self._pid, number)

    def ended(self, *, killed: bool = False) -> int:
        """Wait for its end, or kill it with ``kill -9`` unless it has ended by itself; return its exit code."""
        with suppress(ProcessLookupError):
            if killed:
                os.kill(self._pid, signal.SIGKILL)
        while "ended " not in (line := self.line()):  # after half a line, where it was killed amid one
            pass
        return int(line.rpartition("ended ")[2])


@contextmanager
def starter(work: str) -> Iterator[Starter]:
    """Start what starts programs that run ``work(*words)``, which this source defines."""
    process = subprocess.Popen(
        [sys.executable, "-c", "import os, sys\n" + work + _STARTER],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
    )
    try:
        yield Starter(process)
    finally:
        process.stdin.close()
        process.wait(60)
        process.stdout.close()
