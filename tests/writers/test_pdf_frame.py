"""Names in any letters of Europe, and what a PDF says of itself, read back by other programs."""

from __future__ import annotations

import io
import subprocess
from dataclasses import replace

import pikepdf
import pytest

from cutpath import pipeline
from cutpath.nesting import one_after_another
from cutpath.values.formats import Format
from cutpath.writers.label_sheets import GRIDS, Label, label_sheets
from cutpath.writers.pdf_frame import font_for, letters_lacking
from cutpath.writers.quote_page import quote_page
from cutpath.writers.set_up import Block, SetUp
from cutpath.writers.set_up_page import set_up_page
from tests.writers.readers import need
from tests.writers.test_quote_page import JOB, QUOTE

NAMES = ("Łukasz Żółw", "Ελένη Άλφα", "Њешто Ґанок", "Țăran Ŵyn", "Ñandú Öl")


def made(kind: str) -> bytes:
    """A document that bears all names."""
    words = "; ".join(NAMES)
    if kind == "labels":
        return label_sheets([Label(name, (name,), "L1") for name in NAMES], GRIDS["2x7"])
    if kind == "quote":
        return quote_page(replace(QUOTE, job=replace(JOB, name=NAMES[0], customer=words)))
    return set_up_page(SetUp(NAMES[0], (Block("Customer", NAMES),), Block("Files", ()), (), None))


@pytest.mark.parametrize("kind", ["labels", "quote", "set-up"])
def test_a_name_outside_latin_1_is_written_in_its_own_letters(kind, tmp_path):
    file = tmp_path / "names.pdf"
    file.write_bytes(made(kind))
    said = subprocess.run([need("pdftotext"), file, "-"], capture_output=True, text=True, check=True).stdout
    words = " ".join(said.split())
    assert [name for name in NAMES if name not in words] == []
    fonts = subprocess.run([need("pdffonts"), file], capture_output=True, text=True, check=True).stdout
    assert all(" yes " in line for line in fonts.splitlines() if "DejaVu" in line), "its letters are in the file"
    assert made(kind) == made(kind)


@pytest.mark.parametrize(
    ("name", "lacking"), [("Küfer", ""), (NAMES[0], ""), (NAMES[2], ""), ("山田 Yamada 山", "山田"), ("שלום", "שלום")]
)
def test_letters_that_would_be_empty_boxes_are_named(name, lacking):
    assert letters_lacking(name) == lacking


@pytest.mark.parametrize(("formats", "codes"), [((Format.PDF,), ["CP613"]), ((Format.CSV,), [])])
def test_a_name_that_no_pdf_can_write_is_warned_of_where_there_are_pdfs(tmp_path, formats, codes):
    job = tmp_path / "job.toml"
    job.write_text('name = "山田 house"\n[[detail]]\nkind = "lead slate"\npipe = 110\npitch = 30\n', encoding="utf-8")
    planned = pipeline.plan([job])
    batch = pipeline.batch_of(planned, [one_after_another(problem) for _, problem in planned.problems])
    found = [f for f in pipeline.files_of(batch, formats=formats).batch.findings if f.code == "CP613"]
    assert [f.code for f in found] == codes
    assert all("山 田" in f.found for f in found)


def test_plain_names_need_no_font_in_the_file():
    assert [font_for(name) for name in ("Küfer & Söhne", "Nobody – “x” €")] == ["Helvetica"] * 2
    assert font_for("Ł", bold=True) == "DejaVuSans-Bold"


@pytest.mark.parametrize(
    ("make", "title"),
    [
        (lambda: made("labels"), f"Labels {NAMES[0]} to {NAMES[-1]}"),
        (lambda: made("quote"), f"Quote: {NAMES[0]}"),
        (lambda: made("set-up"), NAMES[0]),
        (lambda: pipeline.measuring_sheet("apron"), "Measuring sheet: apron"),
    ],
)
def test_a_document_says_its_title_and_language(make, title):
    with pikepdf.open(io.BytesIO(make())) as pdf:
        assert str(pdf.Root.Lang) == "en-GB"
        assert bool(pdf.Root.ViewerPreferences.DisplayDocTitle)
        assert str(pdf.docinfo["/Title"]) == title
        assert str(pdf.docinfo["/Creator"]) == "cutpath"
