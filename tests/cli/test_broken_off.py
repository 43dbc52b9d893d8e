"""Ctrl-C while the nest is searched: nothing is left, or where it is asked for, the best nest until then is made."""

from __future__ import annotations

import pytest

from cutpath.cli.talk import ProgressLine
from tests.cli.running import run
from tests.golden.corpus import ROOT

pytestmark = pytest.mark.nests

JOB = ROOT / "fixtures/jobs/barn-abutment.toml"


@pytest.fixture
def _struck(monkeypatch, tmp_path):
    """Strike when the second nest is told of."""
    told = []

    def tell(*_):
        told.append(1)
        if len(told) == 2:
            raise KeyboardInterrupt

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(ProgressLine, "__call__", tell)


@pytest.mark.usefixtures("_struck")
def test_broken_off_it_leaves_nothing(tmp_path):
    done = run("make", JOB, "--even-lengths", "--work", "40000000")
    assert done.returncode != 0
    assert list(tmp_path.iterdir()) == []


@pytest.mark.usefixtures("_struck")
def test_broken_off_it_makes_the_best_until_then_where_that_is_asked_for(tmp_path):
    done = run("make", JOB, "--even-lengths", "--work", "40000000", "--keep-best")
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "cut" / "report.html").exists()
    assert [p.name for p in tmp_path.iterdir()] == ["cut"]
