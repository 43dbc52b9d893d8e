"""The shop's own rules and the explanation of codes, as a user meets them."""

from __future__ import annotations

import csv
import json
from html import unescape
from pathlib import Path

import pytest

from cutpath.errors import CODES
from cutpath.profiles import practice
from cutpath.reports.words.guide import GUIDES
from tests.cli.running import run

pytestmark = pytest.mark.nests

ROOT = Path(__file__).parents[2]
CHIMNEY = ROOT / "fixtures" / "jobs" / "chimney.toml"
LOW = """
name = "Low stack"
pitch = 40

[[detail]]
kind = "apron"
width = 700
turn_in = 12
"""
OWN = """
[[fact]]
name = "turn_in"
value = 12
source = "shallow joints in our street, agreed with the roofer"
"""


@pytest.fixture
def low(tmp_path: Path) -> tuple[Path, Path]:
    job, own = tmp_path / "low.toml", tmp_path / "own.toml"
    job.write_text(LOW)
    own.write_text(OWN)
    return job, own


def test_a_shops_own_rule_lets_a_job_pass_and_says_so(low):
    job, own = low
    assert run("check", job).returncode == 1
    done = run("check", job, "--practice", own)
    assert done.returncode == 0, done.stdout
    assert (
        "the shop's own rule: 12 mm instead of 25 mm (shallow joints in our street, agreed with the roofer)"
        in done.stdout
    )
    assert "instead of 25 mm" in done.stdout
    assert "[CP320]" in done.stdout
    listed = run("pieces", job, "--practice", own)
    assert listed.returncode == 0
    assert "CP320" in listed.stderr


def test_make_writes_the_shops_rule_quantities_and_tickets(low, tmp_path):
    job, own = low
    out = tmp_path / "cut"
    done = run("make", job, "--practice", own, "--out", out, "--work", 0, "--format", "csv")
    assert done.returncode == 0, done.stderr
    page = unescape((out / "report.html").read_text())
    assert "The shop's own rules" in page
    assert "the shop's own rule: 12 mm" in page
    assert "instead of 25 mm" in page
    rows = list(csv.DictReader((out / "quantities.csv").read_text().splitlines()))
    assert {"lead code 4, blue", "lead wedges"} <= {row["item"] for row in rows}
    assert {row["job"] for row in rows} == {"Low stack"}
    assert "LS-A1-1" in (out / "tickets.html").read_text()


def test_a_misspelt_rule_comes_with_the_faults_of_the_job(low):
    job, own = low
    own.write_text(OWN.replace("turn_in", "turn_inn"))
    done = run("check", job, "--practice", own)
    assert done.returncode == 1
    assert "Did you mean turn_in?" in done.stdout
    assert "[CP304]" in done.stdout, "the job is held to the published rule none the less"
    assert "Traceback" not in done.stderr


def test_a_rule_under_which_no_part_of_a_chimney_can_be_cut_is_a_finding(tmp_path):
    """An empty stack once broke the proof instead of saying which lengths cannot be kept."""
    own = tmp_path / "own.toml"
    own.write_text('[[fact]]\nname = "longest_code_4"\nvalue = 25\nunit = "mm"\nsource = "the van"\n')
    done = run("check", ROOT / "fixtures" / "jobs" / "whole-chimney.toml", "--practice", own)
    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    assert "[CP309]" in done.stdout
    assert "to bring together with the other parts" in done.stdout
    assert "lie bare" not in done.stdout, "parts are not blamed for those that are missing"


def test_explain_gives_rule_value_unit_source_confidence_and_remedy():
    done = run("explain", "cp303", "--json")
    (code,) = json.loads(done.stdout)["codes"]
    assert code["code"] == "CP303"
    assert code["meaning"]
    assert code["remedy"]
    rules = {rule["name"]: rule for rule in code["rules"]}
    lap = rules["least_lap"]
    assert (lap["value"], lap["unit"], lap["sense"], lap["severity"]) == (100, "mm", "at least", "fault")
    assert lap["confidence"] == "read"
    assert lap["source"] == practice()["least_lap"].source
    words = run("explain", "CP303").stdout
    for text in (
        "least_lap: at least 100 mm (fault)",
        "What to do:",
        lap["source"],
        "Roofconsult",
        "[the source was read]",
    ):
        assert text in words


def test_explain_tells_a_rule_by_its_name_and_the_shops_own(low):
    _, own = low
    assert "at least 25 mm (fault)" in run("explain", "turn_in").stdout
    told = run("explain", "turn_in", "--practice", own).stdout
    assert "at least 12 mm" in told
    assert "[shop's own]" in told


def test_explain_lists_every_code_and_every_rule():
    listed = json.loads(run("explain", "--json").stdout)
    assert [row["code"] for row in listed["codes"]] == list(CODES)
    assert [row["name"] for row in listed["rules"]] == list(practice())
    words = run("explain").stdout
    assert all(f"{code}  {title}" in words for code, title in CODES.items())
    assert all(f"\n{name}: " in words for name in practice())


def test_explain_lists_the_ranges_of_sizes_with_their_code(tmp_path):
    sizes = {row["name"]: row for row in json.loads(run("explain", "CP112", "--json").stdout)["sizes"]}
    assert sizes["pipe"]["usual"][0] <= 110 <= sizes["pipe"]["usual"][1]
    assert all(row["unit"] and row["source"] for row in sizes.values())
    assert json.loads(run("explain", "CP303", "--json").stdout)["sizes"] == []
    own = tmp_path / "own.toml"
    own.write_text('[[range]]\nname = "pipe"\nusual = [8, 300]\npossible = [6, 800]\nsource = "steel tube"\n')
    assert "pipe: 8 to 300 mm usual, 6 to 800 mm possible" in run("explain", "CP112", "--practice", str(own)).stdout


def test_explain_refuses_what_is_neither():
    done = run("explain", "CP999")
    assert done.returncode == 2
    assert "CP999" in done.stderr


def test_every_code_is_explained_in_plain_words():
    assert set(GUIDES) == set(CODES)
    for code, guide in GUIDES.items():
        assert guide.meaning.endswith("."), code
        assert guide.remedy.endswith("."), code
