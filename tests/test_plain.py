"""Nothing hidden gets in by a name, or out to a terminal, a page or a spreadsheet."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, is_valid_reason

from cutpath.jobs import read_jobs
from cutpath.paper.text import csv_text
from cutpath.plain import in_words, is_unseen, seen, shape_fault
from tests.cli.running import run
from tests.properties.surveys import letters

JOB = """name = "{name}"
[[detail]]
kind = "outline"
points = [[0, 0], [325, 0], [325, 175], [0, 175]]
"""
HIDDEN = {
    "escape of a terminal": "\\u001b[31mred",
    "bell": "ring\\u0007",
    "text turned round": "plates\\u202etxt.exe",
    "private": "\\ue000",
    "null": "a\\u0000b",
    "isolate": "\\u2066a",
    "space of no width": "Fern\\u200bdale",
    "soft hyphen": "Fern\\u00addale",
    "byte order mark": "\\ufeffFern",
    "line separator": "Fern\\u2028dale",
    "tag": "Fern\\U000e0041",
    "carriage return": "Fern\\rdale",
}


@pytest.mark.parametrize("name", HIDDEN.values(), ids=HIDDEN)
def test_a_name_with_something_hidden_is_refused_with_its_key(name, tmp_path) -> None:
    file = tmp_path / "job.toml"
    file.write_text(JOB.format(name=name))
    _, findings = read_jobs([file])
    found = [f for f in findings if "cannot be seen" in f.found]
    assert [f.where.rpartition(": ")[2] for f in found] == ["name"]
    assert all(not is_unseen(c) for f in findings for c in str(f).replace("\n", ""))


@pytest.mark.parametrize(
    "name", ["Küferstraße 7", "Ty Nôl", "Ολυμπία", "मंदिर", "O'Neil & Sons, no. 4", "می\u200cخواهم"]
)
def test_names_of_every_tongue_pass(name, tmp_path) -> None:
    file = tmp_path / "job.toml"
    file.write_text(JOB.format(name=name), encoding="utf-8")
    assert not [f for f in read_jobs([file])[1] if "cannot be seen" in f.found]


@pytest.mark.parametrize("name", [" ", "\u00a0", "\u3164", "\u0301"])
def test_a_name_of_nothing_that_prints_is_no_name(name, tmp_path) -> None:
    file = tmp_path / "job.toml"
    file.write_text(JOB.format(name=name), encoding="utf-8")
    _, (found,) = read_jobs([file])
    assert (found.code, found.where) == ("CP107", f"{file}: name")
    assert found.accepted == "accepted: letters, figures and signs that print"


def test_a_hidden_key_reaches_no_terminal(tmp_path) -> None:
    file = tmp_path / "job.toml"
    file.write_text('name = "J"\n"\\u001b[2J" = 1\n' + JOB.partition("\n")[2])
    done = run("check", file)
    assert done.returncode == 1
    assert "\x1b" not in done.stdout + done.stderr
    assert "\\u001b[2J" in done.stdout + done.stderr


@given(st.text(letters))
def test_what_is_seen_holds_nothing_hidden(text) -> None:
    assert not any(is_unseen(c) for c in seen(text).replace("\n", ""))


@given(st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00\r"), max_size=20))
def test_no_cell_is_taken_for_a_formula(text) -> None:
    (row,) = csv.DictReader(io.StringIO(csv_text(("a",), [{"a": text}]), newline=""))
    cell = row["a"]
    assert cell.removeprefix("'") == text.removeprefix("'")
    if cell[:1] in {"=", "+", "-", "@", "\t"}:
        assert float(cell) is not None


def test_figures_stay_figures() -> None:
    assert csv_text(("a", "b"), [{"a": -5.25, "b": "-3.1"}]) == "a,b\n-5.25,-3.1\n"


@pytest.mark.parametrize(
    ("rings", "said"),
    [
        (([(0, 0), (300, 0), (0, 150), (300, 150)],), "the outline crosses itself at 150, 75"),
        (([(0, 0), (99, 0), (50, 0.5), (99, 99), (0, 99), (50, 0.5)],), "the outline touches itself at 50, 0.5"),
        (
            ([(0, 0), (9, 0), (9, 9), (0, 9)], [(20, 20), (21, 20), (21, 21)]),
            "a hole lies outside the outline at 20, 20",
        ),
    ],
)
def test_a_fault_of_an_outline_is_told_in_plain_words(rings, said):
    shape = Polygon(rings[0], rings[1:])
    assert not shape.is_valid
    assert shape_fault(is_valid_reason(shape)) == said


def test_a_fault_that_nobody_foresaw_is_told_all_the_same():
    assert shape_fault("Something New[1 2]") == "the outline is not a simple shape at 1, 2"
    assert shape_fault("Something New") == "the outline is not a simple shape"


def test_names_in_a_row_are_a_list_of_a_sentence():
    assert in_words([7]) == "7"
    assert in_words(["a", "b"]) == "a and b"
