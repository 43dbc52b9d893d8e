"""Locale, time zone, seed of hashes, no home, another kind of processor or Python, fewer cores: none changes a byte."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.golden.corpus import ROOT

pytestmark = pytest.mark.nests

JOB = "fixtures/jobs/barn-abutment.toml"
HERE = {"LC_ALL": "C", "TZ": "UTC", "PYTHONHASHSEED": "0", "PYTHONUTF8": "0", "OPENBLAS_CORETYPE": "Haswell"}
ELSEWHERE = {
    "LC_ALL": "tr_TR.UTF-8",
    "TZ": "Pacific/Kiritimati",
    "PYTHONHASHSEED": "4711",
    "PYTHONUTF8": "1",
    "HOME": "/nonexistent/home",
    "OPENBLAS_CORETYPE": "Prescott",  # numpy's linear algebra goes by the processor
}


def made(out: Path, environment: dict[str, str], cores: int) -> dict[str, bytes]:
    def fewer() -> None:
        if hasattr(os, "sched_setaffinity"):
            os.sched_setaffinity(0, sorted(os.sched_getaffinity(0))[:cores])

    done = subprocess.run(
        [
            sys.executable, "-m", "cutpath", "make", JOB, "--out", out, "--all", "--work", "20000",
            "--machine", "pen-marker", "--labels", "3x7", "--seed", "3",
        ],
        cwd=ROOT, env={**os.environ, **environment}, capture_output=True, text=True, check=False,
        timeout=300, preexec_fn=fewer,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return {str(p.relative_to(out)): p.read_bytes() for p in sorted(out.rglob("*")) if p.is_file()}


def test_no_byte_hangs_on_where_it_is_made(tmp_path):
    here, elsewhere = made(tmp_path / "a", HERE, 2), made(tmp_path / "b", ELSEWHERE, 1)
    assert len(here) > 20
    assert [name for name in {**here, **elsewhere} if here.get(name) != elsewhere.get(name)] == []


def test_the_sum_that_differs_between_pythons_is_not_used_on_floats():
    """Of `sum` by `tests/conftest.py`, which every test has: nothing here runs another Python."""
    code = compile("sum([0.1, 0.2])", "a module", "eval")
    with pytest.raises(AssertionError, match="fsum"):
        eval(code, {"__name__": "cutpath.some"})  # noqa: S307 - the text stands here
    assert eval(code, {"__name__": "another"}) == pytest.approx(0.3)  # noqa: S307
    assert eval("sum([1, 2])", {"__name__": "cutpath.some"}) == 3  # noqa: S307
