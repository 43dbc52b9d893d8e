"""No stage of the work goes on for ever: it ends with a finding, and nothing stays behind."""

from __future__ import annotations

import json
import signal
import time

import pytest

from cutpath import ceilings
from tests.cli.running import run
from tests.golden.corpus import ROOT

JOB = str(ROOT / "fixtures/jobs/chimney.toml")

pytestmark = pytest.mark.skipif(not hasattr(signal, "setitimer"), reason="a system without that clock has no ceiling")


def test_a_stage_beyond_its_ceiling_ends_the_run(tmp_path, monkeypatch):
    monkeypatch.setattr(ceilings, "STAGE_S", 0.05)
    done = run("make", JOB, "--out", str(tmp_path / "cut"), "--work", "0")
    assert done.returncode == 1
    assert "reading, checking and developing the jobs" in done.stderr
    assert "[CP710]" in done.stderr
    assert list(tmp_path.iterdir()) == []
    assert signal.getitimer(signal.ITIMER_REAL) == (0.0, 0.0)
    told = json.loads(run("check", JOB, "--json").stdout)
    assert [f["code"] for f in told["findings"]] == ["CP710"]


def test_a_later_stage_is_named(tmp_path, monkeypatch):
    from cutpath.writers import files

    real = files.draw

    def slow(*given, **more):
        monkeypatch.setattr(ceilings, "STAGE_S", 0.01)
        line = time.monotonic() + 2
        while time.monotonic() < line:
            pass
        return real(*given, **more)

    monkeypatch.setattr(ceilings, "STAGE_S", 1.5)
    monkeypatch.setattr(files, "draw", slow)
    done = run("make", JOB, "--out", str(tmp_path / "cut"), "--work", "0")
    assert done.returncode == 1
    assert "rolls drawn" in done.stderr
    assert "[CP710]" in done.stderr


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
