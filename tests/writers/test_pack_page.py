"""The pack list on paper, read back by pikepdf and poppler."""

from __future__ import annotations

import io
import shutil
import subprocess
from dataclasses import replace

import pikepdf
import pytest

from cutpath.paper.text import ROUNDED
from cutpath.reports.account.packing import pack_list
from cutpath.writers.pack_page import pack_page
from tests.reports.account.test_packing import made, rectangles


@pytest.fixture(scope="module")
def batch():
    return made("A Sample", "B & C <Sample>")


def test_each_customer_has_a_page_and_bytes_are_the_same(batch):
    data = pack_page(batch)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert len(pdf.pages) == 2
        assert [float(x) for x in pdf.pages[0].mediabox] == pytest.approx([0, 0, 595.276, 841.89], abs=0.01)
    assert pack_page(batch) == data


def test_numbers_of_pieces_lead_to_their_tickets_beside_the_list(batch):
    places = {place: f"tickets.html#{place}" for place in {row["piece"] for row in pack_list(batch)}}
    with pikepdf.open(io.BytesIO(pack_page(batch, "Rabc", places))) as pdf:
        links = [str(note.A.URI) for page in pdf.pages for note in page.get("/Annots", [])]
    assert links == [f"./tickets.html#{row['piece']}" for row in pack_list(batch)]


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext is not installed")
def test_the_page_says_what_the_list_says(batch, tmp_path):
    first, *others = batch.jobs
    batch = replace(batch, jobs=(replace(first, notes="collects\nat 4 pm"), *others))
    (tmp_path / "a.pdf").write_bytes(pack_page(batch, "Rabc"))
    text = subprocess.run(
        ["pdftotext", "-layout", str(tmp_path / "a.pdf"), "-"], capture_output=True, text=True, check=True
    ).stdout
    pages = text.split("\f")
    for page, customer in zip(pages, ("A Sample", "B & C <Sample>"), strict=False):
        assert f"Pack list: {customer}" in page
        assert ROUNDED in page
        assert "Run Rabc." in page, "to book by"
        assert ("note: collects at 4 pm" in page) is (customer == "A Sample"), "whoever packs has to know"
        for row in pack_list(batch):
            if row["customer"] == customer:
                assert f"Pack {row['pack']} of {row['packs']}: code {row['code']}" in page
                line = next(line for line in page.splitlines() if row["piece"] in line)
                assert f"{row['each_kg']:.2f}" in line
        assert page.index("Lead is poisonous") < page.index("INDG143") < page.index("Pack 1"), (
            "read before it is lifted"
        )


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext is not installed")
def test_a_job_that_is_its_own_customer_is_named_once_and_pages_are_numbered(tmp_path):
    batch = made("", "")
    (tmp_path / "a.pdf").write_bytes(pack_page(batch))
    text = subprocess.run(
        ["pdftotext", str(tmp_path / "a.pdf"), "-"], capture_output=True, text=True, check=True
    ).stdout
    for number, (page, job) in enumerate(zip(text.split("\f"), batch.jobs[:2], strict=False), start=1):
        assert page.count(job.name) == 1
        assert f"page {number}" in page


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext is not installed")
def test_no_pack_goes_on_overleaf_without_its_number(tmp_path):
    """A second page began with pieces of a pack that was named on the first."""
    job, pieces = rectangles(*((380 + n, 1) for n in range(60)))
    (tmp_path / "a.pdf").write_bytes(pack_page(replace(made("", ""), jobs=(job,), pieces=pieces)))
    told = ["pdftotext", "-layout", str(tmp_path / "a.pdf"), "-"]
    first, *others = subprocess.run(told, capture_output=True, text=True, check=True).stdout.rstrip("\f").split("\f")
    assert "Pack 1 of" in first
    assert others
    for page in others:
        head, below = [line for line in page.splitlines() if line.strip()][:2]
        assert head.split()[0] == "piece"
        assert below.strip().startswith("Pack ")


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext is not installed")
def test_a_pack_of_very_many_small_pieces_has_its_number_on_every_page(tmp_path):
    """One pack of 70 unlike pieces, some 22 kg together, is longer than a page."""
    job, pieces = rectangles(*((20 + n / 3, 1) for n in range(70)))
    batch = replace(made("", ""), jobs=(job,), pieces=pieces)
    (tmp_path / "a.pdf").write_bytes(pack_page(batch))
    told = ["pdftotext", "-layout", str(tmp_path / "a.pdf"), "-"]
    *pages, _ = subprocess.run(told, capture_output=True, text=True, check=True).stdout.split("\f")
    packs = {row["piece"]: row["pack"] for row in pack_list(batch)}
    assert set(packs.values()) == {1}
    assert len(pages) > 1
    for page in pages:
        lines = page.splitlines()
        first = next(at for at, line in enumerate(lines) if any(piece in line for piece in packs))
        assert any("Pack 1 of 1" in line for line in lines[:first]), page[:300]
