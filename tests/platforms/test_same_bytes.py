"""Locale, time zone, seed of hashes, no home, another kind of processor or Python, fewer cores: none changes a byte."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.running import run
from tests.golden.corpus import ROOT
from tests.output.made import held

pytestmark = pytest.mark.nests

JOB = "fixtures/jobs/barn-abutment.toml"
ELSEWHERE = {
    "LC_ALL": "tr_TR.UTF-8",
    "TZ": "Pacific/Kiritimati",
    "PYTHONHASHSEED": "4711",
    "PYTHONUTF8": "1",
    "HOME": "/nonexistent/home",
    "OPENBLAS_CORETYPE": "Prescott",  # numpy's linear algebra goes by the processor
    "NPY_DISABLE_CPU_FEATURES": "X86_V3 X86_V4",  # so do its loops
    "GLIBC_TUNABLES": "glibc.cpu.hwcaps=-AVX512F,-AVX2,-FMA",  # and the system's sines
}


ASKED = ("make", JOB, "--all", "--work", "20000", "--seed", "3", "--machine", "pen-marker", "--labels", "3x7", "--out")


def made_here(out: Path) -> None:
    """In this process, on whatever processor this is."""
    with contextlib.chdir(ROOT):
        done = run(*ASKED, out)
    assert done.returncode == 0, done.stderr


def made_elsewhere(out: Path) -> None:
    """In a process of its own, on one core."""

    def on_one_core() -> None:
        if hasattr(os, "sched_setaffinity"):
            os.sched_setaffinity(0, sorted(os.sched_getaffinity(0))[:1])

    done = subprocess.run(
        [sys.executable, "-m", "cutpath", *ASKED, str(out)],
        cwd=ROOT, env={**os.environ, **ELSEWHERE}, capture_output=True, text=True, check=False,
        timeout=300, preexec_fn=on_one_core,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr


def test_no_byte_hangs_on_where_it_is_made(tmp_path):
    made_here(tmp_path / "a")
    made_elsewhere(tmp_path / "b")
    here, elsewhere = held(tmp_path / "a"), held(tmp_path / "b")
    assert len(here) > 20
    assert [name for name in {**here, **elsewhere} if here.get(name) != elsewhere.get(name)] == []


def test_the_sum_that_differs_between_pythons_is_not_used_on_floats():
    """Of `sum` by `tests/conftest.py`, which every test has: nothing here runs another Python."""
    code = compile("sum([0.1, 0.2])", "a module", "eval")
    with pytest.raises(AssertionError, match="fsum"):
        eval(code, {"__name__": "cutpath.some"})  # noqa: S307 - the text stands here
    assert eval(code, {"__name__": "another"}) == pytest.approx(0.3)  # noqa: S307
    assert eval("sum([1, 2])", {"__name__": "cutpath.some"}) == 3  # noqa: S307
