"""No stage of the work goes on for ever: it ends with a finding, and nothing stays behind."""

from __future__ import annotations

import json
import signal

import pytest

from cutpath import ceilings
from cutpath.cli import patience
from tests.cli.running import run
from tests.golden.corpus import ROOT

JOB = str(ROOT / "fixtures/jobs/chimney.toml")

pytestmark = [
    pytest.mark.nests,
    pytest.mark.skipif(not hasattr(signal, "setitimer"), reason="a system without that clock has no ceiling"),
]


@pytest.mark.filterwarnings("ignore:Exception ignored in. <_io.FileIO:pytest.PytestUnraisableExceptionWarning")
def test_a_stage_beyond_its_ceiling_ends_the_run(tmp_path, monkeypatch):
    """Where the clock rings is chance: a file that was being opened then is closed by the collector, which says so."""
    monkeypatch.setattr(ceilings, "STAGE_S", 0.001)
    done = run("make", JOB, "--out", str(tmp_path / "cut"), "--work", "0")
    assert done.returncode == 1
    assert "[CP710]" in done.stderr
    assert list(tmp_path.iterdir()) == []
    assert signal.getitimer(signal.ITIMER_REAL) == (0.0, 0.0)
    told = json.loads(run("check", JOB, "--json").stdout)
    assert [f["code"] for f in told["findings"]] == ["CP710"]


@pytest.mark.parametrize("stage", ["reading, checking and developing the jobs", "proved, job by job", "rolls drawn"])
def test_the_stage_that_does_not_end_is_named(stage, tmp_path, monkeypatch):
    def rings_at_once(_, seconds):
        if seconds and patience._clock.stage == stage:
            patience._clock.ring(signal.SIGALRM, None)

    monkeypatch.setattr(signal, "setitimer", rings_at_once)
    done = run("make", JOB, "--out", str(tmp_path / "cut"), "--work", "0")
    assert done.returncode == 1
    assert f"fault: {stage}: " in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_the_time_of_a_nest_is_added_and_commands_without_jobs_have_no_ceiling(tmp_path, monkeypatch):
    rung = []
    monkeypatch.setattr(signal, "setitimer", lambda _, seconds: rung.append(seconds))
    assert run("pieces", JOB, "--json").returncode == 0
    assert rung == [ceilings.STAGE_S, 0]
    rung.clear()
    assert run("kinds").returncode == 0
    assert rung == [0]
    out = tmp_path / "cut"
    assert run("make", JOB, "--out", out, "--rolls", "none.toml", "--seconds", "60").returncode == 1
    assert max(rung) == ceilings.STAGE_S + 20 * 60
