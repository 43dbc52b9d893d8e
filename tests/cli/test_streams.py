"""Closed, full and broken standard streams, and signals: an exit code of ours, and never a traceback."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from itertools import product
from pathlib import Path

import pytest

from tests.forked import starter
from tests.gate import gate

ROOT = Path(__file__).parents[2]
GOOD, MISUSED = ["explain"], ["polish"]  # a long result, and of those with one the command that starts soonest
FAULTY = ["explain", "--practice", "nowhere.toml"]
ENDS = {"faulty": (FAULTY, 1), "misused": (MISUSED, 2), "version": (["--version"], 0), "good": (GOOD, 0)}


def command(*arguments: str, unbuffered: bool = False) -> list[str]:
    return [sys.executable, *(["-u"] if unbuffered else []), "-m", "cutpath", *arguments]


def ended(redirected: str, arguments: list[str], **more: object) -> tuple[int, str]:
    """Run a command in a shell with its streams redirected: exit code, and everything that could still be said."""
    line = f'"$@" {redirected}'
    done = subprocess.run(
        ["/bin/sh", "-c", line, "sh", *command(*arguments, **more)],
        capture_output=True,
        text=True,
        cwd=ROOT,
        check=False,
        timeout=120,
    )
    return done.returncode, done.stdout + done.stderr


# Each case starts a process. Unbuffered, the first word fails; else all at the end, or nowhere where the stream was
# closed before the beginning.
@pytest.mark.parametrize(
    ("redirected", "unbuffered"),
    gate(
        [*product([">&-", ">/dev/full", ">&- <&-"], [False, True])],
        *product([">/dev/full"], [False, True]),
        (">&-", False),
    ),
)
def test_standard_output_that_cannot_be_written_is_a_finding(redirected, unbuffered):
    code, said = ended(redirected, GOOD, unbuffered=unbuffered)
    assert code == 1
    assert "standard output: it cannot be written" in said
    assert "Traceback" not in said


# In the gate each way to the end and each stream that is gone, the finding in all of them.
@pytest.mark.parametrize(
    ("redirected", "end", "unbuffered"),
    gate(
        [*product(["2>&-", "2>/dev/full", "2>&- <&-"], ["faulty", "misused", "version"], [False, True]),
         *product(["2>&- <&-"], ["good"], [False, True])],
        ("2>&-", "faulty", False),
        ("2>/dev/full", "faulty", True),
        ("2>&- <&-", "faulty", True),
        ("2>&-", "misused", True),
        ("2>/dev/full", "misused", False),
        ("2>&- <&-", "version", False),
        ("2>&- <&-", "good", False),  # a long result, where two numbers are free that a file could get
    ),
)  # fmt: skip
def test_talk_that_nobody_hears_does_not_change_the_end(redirected, end, unbuffered):
    arguments, wanted = ENDS[end]
    code, said = ended(redirected, arguments, unbuffered=unbuffered)
    assert code == wanted
    assert "Traceback" not in said


@pytest.mark.parametrize(("arguments", "wanted"), gate([(GOOD, 1), (FAULTY, 1), (MISUSED, 2)], (GOOD, 1), (MISUSED, 2)))
def test_with_every_stream_closed_the_exit_code_still_tells(arguments, wanted):
    assert ended(">&- 2>&- <&-", arguments) == (wanted, "")


@pytest.mark.parametrize("unbuffered", [False, pytest.param(True, marks=pytest.mark.slow)])
def test_a_reader_who_has_had_enough_ends_the_command_quietly(unbuffered):
    read, write = os.pipe()
    os.close(read)
    try:
        done = subprocess.run(
            command(*GOOD, unbuffered=unbuffered),
            stdout=write,
            stderr=subprocess.PIPE,
            cwd=ROOT,
            check=False,
            timeout=120,
        )
    finally:
        os.close(write)
    assert (done.returncode, done.stderr) == (1, b"")


WAITING = """
import signal
from cutpath import pipeline
from cutpath.cli import main, make

def work(number, out, said):
    # As in a process that has just begun, whatever is ignored here.
    signal.signal(int(number), signal.default_int_handler if int(number) == signal.SIGINT else signal.SIG_DFL)
    os.dup2(os.open(said, os.O_WRONLY | os.O_CREAT), 2)
    sys.argv = ["cutpath", "make", "-", "--out", out]
    main()
"""


@pytest.fixture(scope="module")
def runs():
    with starter(WAITING) as start:
        yield start


@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_a_run_that_is_told_to_end_leaves_nothing_behind(name, runs, tmp_path):
    """The job comes through a pipe that is never closed, so the run waits there with its place claimed."""
    here, said = tmp_path / "here", tmp_path / "said"
    here.mkdir()
    runs.start(int(getattr(signal, name)), here / "new" / "cut", said)
    lock = here / "new" / ".cut.cutpath" / "lock"
    until = time.monotonic() + 60
    while not lock.exists() and time.monotonic() < until:
        time.sleep(0.01)
    runs.tell(getattr(signal, name))
    assert (runs.ended(), "Traceback" in said.read_text()) == (1, False), said.read_text()
    assert list(here.iterdir()) == []
