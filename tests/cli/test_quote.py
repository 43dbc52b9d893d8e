"""Quotes from the command line: the shop's own prices, the writer's own day, whole or not at all."""

from __future__ import annotations

import csv
import json
import shutil
from decimal import Decimal
from pathlib import Path

import pytest

from tests.cli.test_stock import SMALL, run
from tests.output.made import held

pytestmark = pytest.mark.nests

INVENTED = Path(__file__).parents[2] / "fixtures" / "prices" / "invented.toml"


@pytest.fixture
def job(tmp_path, monkeypatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "job.toml").write_text(SMALL)
    return tmp_path / "job.toml"


def test_without_prices_or_a_day_there_is_no_quote(job):
    assert run("quote", job, "--date", "2026-11-29").returncode == 2
    assert run("quote", job, "--prices", INVENTED).returncode == 2
    other = run("quote", job, "--prices", INVENTED, "--date", "29/11/2026")
    assert other.returncode == 2
    assert "as 2026-11-30" in other.stderr
    gone = run("quote", job, "--prices", "gone.toml", "--date", "2026-11-29")
    assert (gone.returncode, "[CP206]" in gone.stderr) == (1, True)
    assert not (job.parent / "quotes").exists()


def test_prices_that_are_settled_need_not_be_typed_and_total_is_told(job):
    shutil.copy(INVENTED, job.parent / "ours.toml")
    (job.parent / "cutpath.toml").write_text('prices = "ours.toml"\n')
    done = run("quote", job, "--date", "2026-11-29", "--work", 0)
    assert done.returncode == 0, done.stderr
    (table,) = (job.parent / "quotes").glob("*-quote.csv")
    rows = list(csv.DictReader(table.read_text(encoding="utf-8").splitlines()))
    (total,) = (row["amount"] for row in rows if row["kind"] == "total")
    assert done.stdout == f"Small order: {total} crowns\n"
    assert Decimal(total) == sum(
        Decimal(r["amount"]) for r in rows if r["amount"] and r["kind"] not in ("net", "total")
    )
    manifest = json.loads((job.parent / "quotes" / "manifest.json").read_text())
    assert manifest["settings"]["prices"] == {"value": "ours.toml", "from": "beside the jobs"}
    again = run("quote", job, "--date", "2026-11-29", "--work", 0)
    assert (again.returncode, "[CP701]" in again.stderr) == (1, True)
    assert "such as --out quotes-2, or give --replace" in again.stderr
    before = {path.name: path.read_bytes() for path in (job.parent / "quotes").iterdir()}
    assert run("quote", job, "--date", "2026-11-29", "--work", 0, "--replace").returncode == 0
    assert {path.name: path.read_bytes() for path in (job.parent / "quotes").iterdir()} == before


def test_a_run_is_quoted_by_its_folder_with_its_own_weights(job):
    made = run("make", job, "--out", "cut", "--work", 0, "--format", "json")
    assert made.returncode == 0, made.stderr
    job.unlink()
    asked = ("quote", "cut", "--prices", INVENTED, "--date", "2026-11-29")
    (quote,) = json.loads(run(*asked, "--out", "a", "--json").stdout)["quotes"]
    name = json.loads((job.parent / "cut" / "manifest.json").read_text())["run"]
    assert f"Weights from run {name}, " in quote["basis"][-1]
    drawn = json.loads((job.parent / "cut" / "yield.json").read_text())["totals"]["drawn_kg"]
    charged = sum(Decimal(line["quantity"]) for line in quote["lines"] if line["kind"] == "lead")
    assert float(charged) == pytest.approx(drawn, abs=0.03)
    assert run("quote", "cut", "cut", "--prices", INVENTED, "--date", "2026-11-29", "--out", "b").returncode == 2
    before = held(job.parent / "cut")
    over = run(*asked, "--out", "cut", "--replace")
    assert (over.returncode, "[CP703]" in over.stderr) == (1, True)
    assert held(job.parent / "cut") == before
    (job.parent / "empty").mkdir()
    assert "[CP706]" in run("quote", "empty", *asked[2:], "--out", "c").stderr


def test_a_day_after_which_there_is_no_other_is_no_day_of_a_quote(job):
    done = run("quote", job, "--prices", INVENTED, "--date", "9999-12-31", "--work", 0)
    assert done.returncode == 2
    assert "2000" in done.stderr
    assert "Traceback" not in done.stderr


def test_what_has_no_price_is_warned_of(job):
    (job.parent / "few.toml").write_text('currency = "crowns"\n[folding]\nfold = 1\n')
    done = run("quote", job, "--prices", "few.toml", "--date", "2026-11-29", "--work", 0)
    assert done.returncode == 0, done.stderr
    assert "[CP207]" in done.stderr
    assert "without lead code" in done.stdout
    (job.parent / "none.toml").write_text('currency = "crowns"\n')
    none = run("quote", job, "--prices", "none.toml", "--date", "2026-11-29", "--work", 0, "--out", "none")
    assert "nothing here has a price" in none.stdout
    assert "0.00" not in none.stdout
