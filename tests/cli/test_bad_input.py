"""What users get wrong: closed folders, standard input, doubled keys, figures that nobody means."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from cutpath.cli import cutpath
from cutpath.errors import Finding, Refused
from cutpath.intake.files import read_text
from cutpath.intake.parsing import parse_json
from cutpath.profiles.rolls import parse_rolls
from tests.cli.running import run

pytestmark = pytest.mark.nests

ROOT = Path(__file__).parents[2]
CHIMNEY = ROOT / "fixtures" / "jobs" / "chimney.toml"
SQUARE = [[0, 0], [100, 0], [100, 50], [0, 50]]


def nest_refused(pieces: object, tmp_path: Path) -> tuple[Finding, ...]:
    file = tmp_path / "pieces.json"
    file.write_text(pieces if isinstance(pieces, str) else json.dumps(pieces))
    done = CliRunner().invoke(cutpath, ["nest", str(file)])
    assert isinstance(done.exception, Refused), done.exception
    return done.exception.findings


def test_jobs_come_from_standard_input_as_utf_8_in_any_locale():
    job = CHIMNEY.read_text().replace("Teazlegate Row", "Küferstraße")
    done = subprocess.run(
        [sys.executable, "-m", "cutpath", "pieces", "-", "--json"],
        input=job.encode(),
        capture_output=True,
        env={"LANG": "C", "LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8"},
        check=False,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    assert "Küferstraße" in done.stdout.decode()


def test_closed_standard_input_is_a_finding(monkeypatch):
    monkeypatch.setattr("sys.stdin", None)
    finding = read_text("-")
    assert isinstance(finding, Finding)
    assert (finding.code, finding.where, finding.found) == ("CP101", "standard input", "standard input is closed")


@pytest.mark.parametrize("text", ['{"a": 1, "a": 2}', '{"b": [{"a": 1, "a": 2}]}'])
def test_a_key_that_stands_twice_in_json_is_not_passed_over(text):
    finding = parse_json(text, "f.json", "CP202")
    assert isinstance(finding, Finding)
    assert (finding.code, '"a" stands twice' in finding.found) == ("CP202", True)


@pytest.mark.parametrize(
    ("pieces", "where"),
    [
        ({"outline": [[0, 0], [1e9, 0], [0, 9]]}, "pieces[1].outline[2][1]"),
        ({"outline": [[0, 0], [1e-9, 0], [0, 1e-9]]}, "pieces[1].outline"),
        ({"outline": [[0, 0], [100, 100], [100, 0], [0, 100]]}, "pieces[1] (a)"),
        ({"outline": SQUARE, "holes": [[[150, 0], [160, 0], [160, 10]]]}, "pieces[1] (a)"),
        ({"outline": [[0, 0], [9000, 0], [9000, 9000]]}, "pieces[1] (a)"),
    ],
)
def test_findings_about_outlines_name_file_and_place(pieces, where, tmp_path):
    findings = nest_refused({"units": "mm", "pieces": [{"id": "a", **pieces}]}, tmp_path)
    assert {f.where for f in findings} == {f"{tmp_path / 'pieces.json'}: {where}"}


def test_more_rolls_than_are_counted_are_refused():
    with pytest.raises(Refused) as caught:
        parse_rolls('{"rolls": [{"width_mm": 300, "length_mm": 3000, "quantity": 1000000000000000000}]}', "r.json")
    assert [f.where for f in caught.value.findings] == ["r.json: rolls[1].quantity"]


def test_turns_too_large_to_mean_an_angle_are_refused(tmp_path):
    pieces = {"units": "mm", "pieces": [{"id": "a", "outline": SQUARE, "turns_deg": [1e300]}]}
    assert [f.code for f in nest_refused(pieces, tmp_path)] == ["CP107"]


def test_a_gap_beyond_every_roll_is_refused_at_once(tmp_path):
    pieces = {"units": "mm", "gap_mm": 1e9, "pieces": [{"id": "a", "outline": SQUARE, "quantity": 3}]}
    (finding,) = nest_refused(pieces, tmp_path)
    assert finding.where.endswith("gap_mm")


@pytest.mark.parametrize(
    "options",
    [
        ["--gap", "-5"],
        ["--gap", "1e300"],
        ["--gap", "nan"],
        ["--edge-trim", "-1 in"],
        ["--keep", "300", "-150"],
        ["--worth", "1.5"],
        ["--worth", "nan"],
        ["--seconds", "nan"],
        ["--seconds", "inf"],
    ],
)
def test_figures_of_options_that_nobody_means_are_misuse(options, tmp_path):
    out = tmp_path / "cut"
    done = CliRunner().invoke(cutpath, ["make", str(CHIMNEY), "--out", str(out), *options])
    assert done.exit_code == 2, done.output
    assert not out.exists()


def test_no_table_is_called_by_its_place(tmp_path):
    job = tmp_path / "job.toml"
    job.write_text(
        'name = "Cuts"\n[[detail]]\nkind = "outline"\npoints = [[0, 0], [90, 0], [90, 90]]\n'
        "cuts = [{ from = [0, 0], to = [9, 9] }]\n"
    )
    said = CliRunner().invoke(cutpath, ["check", str(job)]).output
    assert "cuts[1]" in said
    assert "[[0]]" not in said


def test_a_misspelt_file_is_guessed_and_a_folder_is_called_one(tmp_path):
    (tmp_path / "chimney.toml").write_text(CHIMNEY.read_text())
    meant = read_text(tmp_path / "chimny.toml")
    assert isinstance(meant, Finding)
    assert (meant.found, meant.remedy) == ("there is no such file", "Did you mean chimney.toml?")
    other = read_text(tmp_path / "quite another.txt")
    assert isinstance(other, Finding)
    assert other.remedy == "Check the name of the file."
    folder = read_text(tmp_path)
    assert isinstance(folder, Finding)
    assert (folder.found, folder.remedy) == ("it is a folder", "Name a file in it.")
    nowhere = read_text(tmp_path / "none" / "a.toml")
    assert isinstance(nowhere, Finding)
    assert nowhere.found == "there is no such file, and no such folder"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["mak", "a.toml"], "there is no command mak. Did you mean make?"),
        (["frobnicate"], "there is no command frobnicate. Choose one of demo, new, measure, "),
        ([str(CHIMNEY)], f"To make a job: cutpath make {CHIMNEY}"),
        (["stock", "lst"], "Did you mean 'list'?"),
        (["kinds", "apon"], "Did you mean apron?"),
        (["schema", "mak"], "no command called mak answers in JSON. Did you mean make?"),
        (["explain", "turnin"], "Did you mean turn_in?"),
        (["explain", "nail"], "Did you mean nail_spacing, nail_from_edge?"),
        (
            ["stock", "add", "--code", "2", "--width", "300", "--length", "3 m"],
            "there is no code 2; choose one of 3, 4",
        ),
        (["new", "apron", "--out", "a.csv"], "a.csv: a job file ends in .toml; that is an order sheet"),
        (["pieces", "a.toml", "--code", "x"], "'x' is not a valid whole number"),
    ],
)
def test_a_misspelt_command_kind_or_rule_is_guessed(words, says):
    done = CliRunner().invoke(cutpath, words)
    assert done.exit_code == 2
    assert says in done.stderr


@pytest.mark.parametrize(
    ("given", "says"),
    [
        (("--seconds", "-1"), "-1 is out of range; give 0 to 86400"),
        (("--work", "9" * 20), "give 0 to 432000000000"),
        (("--opening", "1e308"), "give 0 to 1000000"),
        (("--worth", "1.5"), "give 0 to 1"),
        (("--workers", "0"), "give 1 or more"),
        (("--opening", "\u00a32.50"), "write the figure alone, decimals with a point"),
        (("--worth", "0,5"), '"0,5" is no number; write the figure alone'),
    ],
)
def test_an_option_out_of_its_range_says_which_range_that_is(given, says):
    done = CliRunner().invoke(cutpath, ["make", str(CHIMNEY), *given])
    assert done.exit_code == 2
    assert says in done.output


@pytest.mark.parametrize("many", [50_001, 10**9])
def test_more_pieces_than_a_batch_can_hold_are_refused_before_they_are_laid(many, tmp_path):
    pieces = [{"id": "few", "outline": SQUARE}, {"id": "many", "quantity": many, "outline": SQUARE}]
    (finding,) = nest_refused({"units": "mm", "pieces": pieces}, tmp_path)
    assert (finding.code, finding.where.rpartition(": ")[2]) == ("CP112", "pieces")
    assert "of it are many" in finding.found


@pytest.mark.parametrize(
    ("name", "value"), [("SOURCE_DATE_EPOCH", "x"), ("SOURCE_DATE_EPOCH", ""), ("NUMBA_NUM_THREADS", "0")]
)
def test_a_variable_that_libraries_end_in_errors_for_is_told(monkeypatch, name, value):
    monkeypatch.setenv(name, value)
    done = run("kinds")
    assert done.returncode == 2
    assert f'the environment variable {name} is "{value}"' in done.stderr


def test_variables_that_libraries_take_are_let_pass(monkeypatch):
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "0")
    monkeypatch.setenv("NUMBA_NUM_THREADS", "1")
    assert run("kinds").returncode == 0
