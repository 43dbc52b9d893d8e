"""The settings files from the command line: what is settled need not be typed, and the manifest says what was used."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.running import run
from tests.tiny import JOB

pytestmark = pytest.mark.nests


@pytest.fixture
def job(tmp_path, monkeypatch) -> Path:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "home"))
    (tmp_path / "jobs").mkdir()
    monkeypatch.chdir(tmp_path / "jobs")
    order = tmp_path / "jobs" / "order.toml"
    order.write_text(JOB)
    return order


def settle(job: Path, text: str) -> None:
    (job.parent / "cutpath.toml").write_text(text)


def test_make_uses_what_is_settled_and_says_so_in_the_manifest(job, tmp_path):
    settle(job, 'gap = "3 mm"\nformats = ["json"]\nmachine = "pen-marker"\n')
    out = tmp_path / "cut"
    done = run("make", job, "--out", out, "--work", 0)
    assert done.returncode == 0, done.stderr
    assert f"Settled by {job.parent / 'cutpath.toml'}: machine, gap, formats\n" in done.stderr
    used = json.loads((out / "manifest.json").read_text())["settings"]
    assert used["gap"] == {"value": "3 mm", "from": "beside the jobs"}
    assert used["rolls"] == {"value": "ladder-30", "from": "built in"}
    assert (out / "yield.json").is_file()
    assert list((out / "rolls").glob("*pen-marker*"))
    assert not (out / "yield.csv").exists()
    typed = run("make", job, "--out", out, "--work", 0, "--format", "csv", "--gap", "4", "--replace")
    assert typed.returncode == 0, typed.stderr
    assert f"Settled by {job.parent / 'cutpath.toml'}: machine\n" in typed.stderr
    used = json.loads((out / "manifest.json").read_text())["settings"]
    assert used["gap"] == {"value": 4.0, "from": "command line"}
    assert used["formats"] == {"value": ["csv"], "from": "command line"}
    assert not (out / "yield.json").exists()


def test_the_stock_that_is_settled_is_that_of_every_command(job, tmp_path):
    settle(job, f'stock = "{tmp_path / "shelf.sqlite3"}"\n')
    assert run("stock", "add", "--code", 4, "--width", 450, "--length", 6000).returncode == 0
    assert (tmp_path / "shelf.sqlite3").is_file()
    assert [item["label"] for item in json.loads(run("stock", "list", "--json").stdout)["items"]] == ["S0001"]
    short = run("make", job, "--out", tmp_path / "cut", "--work", 0)
    assert (short.returncode, "Put more on the shelf" in short.stderr) == (1, True)
    assert run("make", job, "--out", tmp_path / "cut", "--work", 0, "--no-stock").returncode == 0


def test_practice_and_rolls_hold_for_the_commands_that_only_look(job):
    (job.parent / "ours.toml").write_text("rolls = [{ width_mm = 100, length_mm = 500 }]\n")
    settle(job, 'rolls = "ours.toml"\n')
    narrow = run("check", job, job.parent / "cutpath.toml")  # as *.toml has it
    assert (narrow.returncode, "[CP501]" in narrow.stdout) == (1, True)
    assert run("check", job, "--rolls", "ladder-30").returncode == 0
    (job.parent / "cutpath.toml").write_text('practice = "rules.toml"\n')
    (job.parent / "rules.toml").write_text(
        '[[fact]]\nname = "turn_in"\nvalue = 30\nsource = "so it was always done here"\n'
    )
    assert "always done here" in run("explain", "turn_in").stdout


def test_settings_shows_what_comes_from_where(job, tmp_path):
    settle(job, "gap = 2\n")
    (tmp_path / "home" / "cutpath").mkdir(parents=True)
    (tmp_path / "home" / "cutpath" / "cutpath.toml").write_text('rolls = "ladder-75"\n')
    shown = run("settings", job)
    assert shown.returncode == 0, shown.stderr
    lines = {line.split()[0]: line for line in shown.stdout.splitlines() if line}
    assert "beside the jobs" in lines["gap"]
    assert str(job.parent / "cutpath.toml") in lines["gap"]
    assert "your own" in lines["rolls"]
    assert "built in" in lines["practice"]
    settle(job, "gapp = 2\n")
    bad = run("settings", job)
    assert (bad.returncode, "cutpath.toml: gapp" in bad.stderr) == (1, True)


def test_prices_that_are_settled_and_not_there_are_warned_of_where_settings_are_shown(job):
    settle(job, 'prices = "ours.toml"\n')
    shown = run("settings", job, "--json")
    (told,) = json.loads(shown.stdout)["findings"]
    assert (shown.returncode, told["code"], told["severity"]) == (0, "CP205", "warning")
    assert (told["where"].rpartition(": ")[2], told["found"]) == ("prices", 'no file "ours.toml"')
    (job.parent / "ours.toml").write_text("")
    assert json.loads(run("settings", job, "--json").stdout)["findings"] == []


def test_a_file_that_is_missing_is_told_with_the_key_that_names_it(job):
    settle(job, 'prices = "ours.toml"\nstock = "no/shelf.sqlite3"\n')
    quoted = run("quote", job, "--date", "2026-11-30", "--work", 0)
    assert (quoted.returncode, quoted.stderr.count("cutpath.toml: prices names this file.")) == (1, 1)
    for asked in (("stock", "take", "S0001"), ("stock", "check"), ("make", job, "--work", 0)):
        done = run(*asked)
        assert (done.returncode, done.stderr.count("cutpath.toml: stock names this file.")) == (1, 1), done.stderr
    told = json.loads(run("stock", "check", "--json").stdout)["findings"]
    assert "cutpath.toml: stock" in told[0]["remedy"]
    typed = run("quote", job, "--date", "2026-11-30", "--work", 0, "--prices", "theirs.toml")
    assert (typed.returncode, "names this file" in typed.stderr) == (1, False)
