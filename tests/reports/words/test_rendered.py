"""Tickets and report as a browser shows them: how many pages, what lies over what, what can be read where.

Needs a Chromium (`.ci/run` installs it, with two fonts of unlike width); without one these tests say so and are
skipped.
"""

from __future__ import annotations

import io
from pathlib import Path

import pikepdf
import pytest

from cutpath import pipeline
from cutpath.profiles import practice
from cutpath.reports.words.tickets import tickets_html
from cutpath.values.batch import Batch
from tests.browser import CHROMIUM, Browser

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium on this machine; .ci/run installs one")

JOBS = sorted((Path(__file__).resolve().parents[3] / "fixtures" / "jobs").glob("*.toml"))
WIDE, NARROW = "'DejaVu Sans'", "'Liberation Sans','Nimbus Sans'"

OVERLAPS = """
const boxes = [];
const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
while (walker.nextNode()) {
  const node = walker.currentNode;
  if (!node.data.trim() || node.parentElement.closest('style,title')) continue;
  const range = document.createRange();
  range.selectNodeContents(node);
  const svg = node.parentElement.closest('svg');
  const rects = svg ? [node.parentElement.getBoundingClientRect()] : range.getClientRects();
  for (const r of rects) {
    if (r.width < 1 || r.height < 1) continue;
    const dx = 0.12 * Math.min(r.width, r.height), dy = 0.22 * Math.min(r.width, r.height);
    const upright = r.width >= r.height;
    const mx = upright ? dx : dy, my = upright ? dy : dx;
    boxes.push({t: node.data.trim().slice(0, 24), l: r.left + mx, r: r.right - mx, u: r.top + my, d: r.bottom - my,
                svg: svg !== null});
  }
}
const found = [];
for (let i = 0; i < boxes.length; i++) for (let k = i + 1; k < boxes.length; k++) {
  const a = boxes[i], b = boxes[k];
  if (Math.min(a.r, b.r) - Math.max(a.l, b.l) > 0.5 && Math.min(a.d, b.d) - Math.max(a.u, b.u) > 0.5)
    found.push(`${a.t} over ${b.t}`);
}
return found;
"""


@pytest.fixture(scope="module")
def browser(tmp_path_factory):
    with Browser(tmp_path_factory.mktemp("browser")) as shown:
        yield shown


@pytest.fixture(scope="module")
def tickets(tmp_path_factory):
    """The tickets of every fixture as files, by the name of the fixture."""
    folder, made = tmp_path_factory.mktemp("tickets"), {}
    for job in JOBS:
        planned = pipeline.plan([job])
        batch = Batch(
            jobs=planned.jobs, pieces=planned.pieces, materials=(), sheets=(), findings=(), seed=1, version="0",
            practice=practice(), proofs=planned.proofs,
        )  # fmt: skip
        made[job.stem] = folder / f"{job.stem}.html"
        made[job.stem].write_text(tickets_html(batch), encoding="utf-8")
    return made


def test_the_two_fonts_are_unlike(browser, tickets):
    """Two names that came to one font would prove nothing."""
    widths = []
    for font in (WIDE, NARROW):
        browser.open(tickets["chapel"], font=font)
        widths.append(
            browser.run(
                "const p = document.createElement('span'); p.textContent = 'measure from here'; "
                "p.style.fontSize = '100px'; document.body.append(p); return p.offsetWidth"
            )
        )
    assert widths[0] > 1.05 * widths[1]


def test_words_over_words_would_be_found(browser, tmp_path):
    page = tmp_path / "over.html"
    page.write_text("<p>one line</p><p style='margin-top:-2em'>another line</p><p>a third</p>", encoding="utf-8")
    browser.open(page)
    assert browser.run(OVERLAPS) == ["one line over another line"]


@pytest.mark.parametrize("font", [WIDE, NARROW])
@pytest.mark.parametrize("name", [job.stem for job in JOBS])
def test_each_sheet_of_tickets_is_one_page_and_nothing_lies_over_anything(browser, tickets, name, font):
    browser.open(tickets[name], media="print", width=1123, font=font)
    sheets = browser.run("return document.body.children.length")
    with pikepdf.open(io.BytesIO(browser.pdf())) as printed:
        assert len(printed.pages) == sheets
    assert browser.run(OVERLAPS) == []
