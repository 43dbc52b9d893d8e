"""Blank measuring sheets: one page to each kind, its letters on the sketch and beside the keys of the job file."""

from __future__ import annotations

import io
import shutil
import subprocess
from functools import cache

import pikepdf
import pytest
from click.testing import CliRunner

from cutpath import pipeline
from cutpath.cli import cutpath
from cutpath.errors import Severity
from cutpath.jobs.measuring import measuring_sheet
from cutpath.jobs.starters import kinds
from cutpath.paper.dimensions import between, lettered, running
from cutpath.paper.ink import Words, line
from cutpath.reports.pictures.walls import elevations
from cutpath.writers.measuring_page import lettered_pictures
from tests.families.material import mapped

KINDS = [kind.kind for kind in kinds()]
each_kind = pytest.mark.parametrize("kind", KINDS)
has_poppler = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext is not installed")

MEASURED = mapped("MEASURED")
"""What the sketch of each kind shows where to measure."""


@cache
def drawn(kind):
    """The sheet of a kind, its lettered pictures, and its letters by key."""
    sheet = measuring_sheet(kind)
    if sheet.raw is None:
        return sheet, *lettered_pictures(sheet, [])
    planned = pipeline.plan([sheet.raw])
    assert [f for f in planned.findings if f.severity is Severity.FAULT] == []
    shown = elevations(planned.jobs[0], planned.pieces)
    return sheet, *lettered_pictures(sheet, [("", shown[place].inks) for place in sheet.specimen.shown])


@cache
def page(kind):
    return pipeline.measuring_sheet(kind)


def test_every_kind_has_a_sheet():
    assert set(KINDS) == set(MEASURED)


@each_kind
def test_a_sheet_is_one_page_of_a4_and_always_the_same(kind):
    with pikepdf.open(io.BytesIO(page(kind))) as pdf:
        (only,) = pdf.pages
        assert [float(x) for x in only.mediabox] == pytest.approx([0, 0, 595.276, 841.89], abs=0.01)
        assert str(pdf.docinfo["/Title"]) == f"Measuring sheet: {kind}"
    assert pipeline.measuring_sheet(kind) == page(kind)


@each_kind
def test_the_sketch_shows_what_is_to_be_measured(kind):
    sheet, pictures, letters = drawn(kind)
    assert set(letters) == MEASURED[kind]
    seen = {ink.text for _, inks in pictures for ink in inks if isinstance(ink, Words) and ink.class_ == "letter"}
    assert seen
    for letter in "".join(letters.values()).replace("×", ""):
        assert any(letter in text.split() or letter == text for text in seen), letter
    assert any(text.startswith("J") for text in seen) is sheet.joints
    figures = {
        ink.text for _, inks in pictures for ink in inks if isinstance(ink, Words) and any(map(str.isdigit, ink.text))
    }
    assert all(text.startswith(("J", "½")) for text in figures - {"0"}), figures


@each_kind
def test_needed_lengths_have_a_letter_and_fields_stand_in_the_order_of_the_keys(kind):
    sheet, _, letters = drawn(kind)
    known = [key.name for key in next(found for found in kinds() if found.kind == kind).keys]
    asked = [blank.key.partition(".")[0] for blank in sheet.fields if blank.key not in {"quantity", "code"}]
    assert asked == sorted(asked, key=known.index)
    needed = {key.name for key in next(found for found in kinds() if found.kind == kind).keys if key.needed}
    assert needed <= set(letters)
    assert all(blank.says for blank in sheet.fields)


@has_poppler
@each_kind
def test_the_page_names_each_key_beside_its_place_and_the_cautions(kind, tmp_path):
    (tmp_path / "a.pdf").write_bytes(page(kind))
    text = subprocess.run(
        ["pdftotext", "-layout", str(tmp_path / "a.pdf"), "-"], capture_output=True, text=True, check=True
    ).stdout
    sheet, _, letters = drawn(kind)
    for blank in (*sheet.of_job, *sheet.fields):
        assert any(line.split() and blank.key in line.split() for line in text.splitlines()), blank.key
    for key, letter in letters.items():
        assert any(key in row.split() and letter in row.split() for row in text.splitlines()), (key, letter)
    assert ("ladder" in text) is ("height" in sheet.specimen.cautions)


@each_kind
def test_joints_are_lettered_where_most_of_them_are_seen(kind):
    _, pictures, _ = drawn(kind)
    for _, inks in pictures:
        joints = [ink.text for ink in inks if isinstance(ink, Words) and ink.text.startswith("J")]
        assert not joints or len(joints) > 4


def test_the_depth_of_a_stack_is_shown_once_level_and_once_along_the_slope():
    """A cover down the roof, dimensioned along the slope too, is no depth of the stack."""
    _, pictures, letters = drawn("chimney")
    told = [ink.text for _, inks in pictures for ink in inks if isinstance(ink, Words)]
    assert [told.count(letters[key]) for key in ("depth", "slope_length")] == [1, 1]


@each_kind
def test_what_is_chosen_if_a_choice_is_left_out_stands_behind_a_semicolon(kind):
    for blank in measuring_sheet(kind).fields:
        if blank.choices and blank.key != "hands":
            assert blank.says.rpartition("; ")[2] in blank.choices


@has_poppler
@pytest.mark.parametrize("kind", ["step flashing", "step and cover", "chimney"])
def test_old_walls_and_stone_and_a_change_of_pitch_have_places_too(kind, tmp_path):
    """A second reading, steps in stone and a roof that changes its pitch were keys of the file without a place."""
    (tmp_path / "a.pdf").write_bytes(page(kind))
    text = subprocess.run(["pdftotext", tmp_path / "a.pdf", "-"], capture_output=True, text=True, check=True).stdout
    assert {"coursing.second_reading", "coursing.steps"} <= set(text.split())
    assert ("above a change of pitch" in text) is (kind != "chimney")


@each_kind
def test_how_many_are_asked_to_each_hand_only_where_there_are_two(kind):
    fields = {blank.key: blank.says for blank in measuring_sheet(kind).fields}
    assert ("hand" in fields["quantity"]) is ("hands" in fields)


def test_soakers_are_counted_in_one_run_and_runs_by_themselves():
    """Two blanks that both asked how many were taken for one another."""
    fields = {blank.key: blank.says for blank in measuring_sheet("soakers").fields}
    assert fields["count"].startswith("soakers in one run")
    assert fields["quantity"] == "runs alike, of each hand; 1"


def test_figures_become_letters_and_the_rest_is_left_out_whole():
    wall = line("wall-edge", (0, 0), (0, 9))
    kept, lost = between((0, 0), (50, 0), (0, 5), "A1: 665"), between((0, 0), (50, 0), (0, 9), "70")
    out = lettered([wall, *kept, *lost], {"665": "A"})
    assert [ink.text for ink in out if isinstance(ink, Words)] == ["A"]
    assert len(out) == 1 + len(kept)
    joints = running((0, 0), (0, -1), (-1, 0), [((0, -10), "1: 120"), ((0, -20), "665")])
    out = lettered([*joints, wall], {"665": "A", "1: 120": "J1"})
    assert [ink.text for ink in out if isinstance(ink, Words)] == ["0", "J1"]
    assert lettered([*joints, wall], {"9": "B"}) == [wall]


def test_a_command_writes_the_sheet_and_never_over_a_file(tmp_path):
    path = tmp_path / "a.pdf"
    done = CliRunner().invoke(cutpath, ["measure", "step", "flashing", "--out", str(path)])
    assert done.exit_code == 0, done.output
    assert path.read_bytes() == page("step flashing")
    assert CliRunner().invoke(cutpath, ["measure", "step", "flashing", "--out", str(path)]).exit_code == 1
    done = CliRunner().invoke(cutpath, ["measure", "apron", "--out", str(path), "--replace"])
    assert (done.exit_code, path.read_bytes()) == (0, page("apron"))
    assert "Did you mean apron?" in CliRunner().invoke(cutpath, ["measure", "aprn"]).stderr
