"""Tickets and report as a browser shows them: how many pages, what lies over what, what can be read where.

Needs a Chromium (`.ci/run` installs it, with two fonts of unlike width); without one these tests say so and are
skipped.
"""

from __future__ import annotations

import io
import re
import shutil
import statistics
import subprocess
from pathlib import Path

import pikepdf
import pytest

from cutpath.reports.account.cutting_list import cutting_list
from cutpath.reports.account.quantities import quantities_html
from cutpath.reports.account.yields import account
from cutpath.reports.words.page.jobs import job_list
from cutpath.reports.words.page.style import STYLE
from cutpath.reports.words.tickets import ticket_places
from cutpath.trade import cautions
from tests.browser import CHROMIUM, Browser
from tests.golden.corpus import JOBS as EVERY_JOB
from tests.golden.corpus import WRITTEN, pages_of
from tests.reports.conftest import least_bought
from tests.reports.pages import report_html

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium on this machine; .ci/run installs one")

FIXTURES = Path(__file__).resolve().parents[3] / "fixtures"
JOBS = sorted((FIXTURES / "jobs").glob("*.toml"))
WIDE, NARROW = "'DejaVu Sans'", "'Liberation Sans','Nimbus Sans'"

OVERLAPS = """
const boxes = [];
const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
while (walker.nextNode()) {
  const node = walker.currentNode;
  if (!node.data.trim() || node.parentElement.closest('style,title,caption')) continue;
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
for (const square of document.querySelectorAll('.square')) {
  const r = square.getBoundingClientRect();
  boxes.push({t: 'the square', l: r.left, r: r.right, u: r.top, d: r.bottom});
}
boxes.sort((a, b) => a.u - b.u);
const found = [];
for (let i = 0; i < boxes.length; i++) for (let k = i + 1; k < boxes.length; k++) {
  const a = boxes[i], b = boxes[k];
  if (a.d - b.u <= 0.5) break;
  if (Math.min(a.r, b.r) - Math.max(a.l, b.l) > 0.5 && Math.min(a.d, b.d) - b.u > 0.5)
    found.push(`${a.t} over ${b.t}`);
}
return found;
"""


CONTRAST = """
const part = v => (v /= 255) <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
const light = c => 0.2126 * part(c[0]) + 0.7152 * part(c[1]) + 0.0722 * part(c[2]);
const colour = text => text.match(/[\\d.]+/g).map(Number);
const ground = node => {
  for (let n = node; n; n = n.parentElement) {
    const c = colour(getComputedStyle(n).backgroundColor);
    if (c.length < 4 || c[3] > 0) return c;
  }
  return [255, 255, 255];
};
const found = new Set();
const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
while (walker.nextNode()) {
  const node = walker.currentNode.parentElement;
  if (!walker.currentNode.data.trim() || node.closest('style,title')) continue;
  const style = getComputedStyle(node);
  const ink = light(colour(node.closest('svg') ? style.fill : style.color)), paper = light(ground(node));
  const ratio = (Math.max(ink, paper) + 0.05) / (Math.min(ink, paper) + 0.05);
  if (ratio < 4.5) found.add(`${ratio.toFixed(2)} ${node.tagName} ${node.textContent.trim().slice(0, 20)}`);
}
return [...found];
"""

STRUCTURE = """
const found = [];
if (document.documentElement.lang !== 'en-GB') found.push('language');
if (!document.title) found.push('no title');
let level = 0;
for (const h of document.querySelectorAll('h1,h2,h3,h4')) {
  const own = Number(h.tagName[1]);
  if (own > level + 1) found.push(`${h.tagName} ${h.textContent} after h${level}`);
  level = own;
}
for (const table of document.querySelectorAll('table'))
  if (!table.caption || !table.caption.textContent.trim()) found.push('table without a caption');
for (const th of document.querySelectorAll('th')) {
  if (!th.textContent.trim()) found.push('empty heading of a column');
  if (!th.scope) found.push(`no scope: ${th.textContent}`);
}
for (const svg of document.querySelectorAll('svg[role=img]'))
  if (!svg.querySelector('title')) found.push('picture without a title');
const ids = [...document.querySelectorAll('[id]')].map(n => n.id);
if (new Set(ids).size !== ids.length) found.push('an id twice');
return [...new Set(found)];
"""


@pytest.fixture(scope="module")
def browser():
    with Browser() as shown:
        yield shown


def joined(pages, between=""):
    """Return one page with all that stands on several, which have one style; to open it costs what to open two does."""
    heads = {re.sub("<title>.*?</title>", "", page[: page.index("<body>")]) for page in pages}
    assert len(heads) == 1
    return f"{heads.pop()}<body>{between.join(re.search('<body>(.*)</body>', page, re.DOTALL)[1] for page in pages)}"


MOST_TO_SAY = ("sprocketed", "tiled-stack", "welded-stacks")
"""Other jobs, whose tickets have most to say."""

TICKETED = {"counter-order", "garden-room", "sprocketed", "welded-stacks", "whole-chimney"}
REPORTED = TICKETED | {"chalk-line", "long-walls", "pipes-and-plates"}
"""Jobs that the gate shows, which the golden corpus makes there: every family, the longest report and the shortest, the
longest walls, lists and tables."""


@pytest.fixture(scope="module", params=[False, pytest.param(True, marks=pytest.mark.slow)], ids=["some", "every job"])
def every(request):
    return request.param


@pytest.fixture(scope="module")
def tickets(every, tmp_path_factory):
    """The tickets of the fixtures, of sleeves on roofs flat and steep, and of a gutter with much in its table."""
    folder = tmp_path_factory.mktemp("tickets")
    sleeves = folder / "sleeves.toml"
    slate = '[[detail]]\nkind = "lead slate"\npipe = 110\npitch = {}\n'
    sleeves.write_text('name = "Sleeves"\n' + "".join(slate.format(pitch) for pitch in (12, 22, 30, 45)))
    gutter = folder / "gutter.toml"
    gutter.write_text(
        'name = "Outbuildings of the Old Vicarage"\n[[detail]]\nkind = "back gutter"\nwidth = 1090\npitch = 45\n'
    )
    made = folder / "tickets.html"
    golden = (FIXTURES / "golden" / "jobs" / f"{name}.toml" for name in MOST_TO_SAY)
    jobs = (*(job for job in (*JOBS, *golden) if every or job.stem in TICKETED), sleeves, gutter)
    made.write_text(joined([pages_of(job)[1] for job in jobs]).replace("</main><main>", ""), "utf-8")
    return made


def test_the_two_fonts_are_unlike(browser, tmp_path):
    """Two names that came to one font would prove nothing."""
    page, widths = tmp_path / "words.html", []
    page.write_text("<head></head><span style='font-size:100px'>measure from here</span>", encoding="utf-8")
    for font in (WIDE, NARROW):
        browser.open(page, font=font)
        widths.append(browser.run("return document.querySelector('span').offsetWidth"))
    assert widths[0] > 1.05 * widths[1]


def test_words_over_words_would_be_found(browser, tmp_path):
    page = tmp_path / "over.html"
    page.write_text("<p>one line</p><p style='margin-top:-2em'>another line</p><p>a third</p>", encoding="utf-8")
    browser.open(page)
    assert browser.run(OVERLAPS) == ["one line over another line"]


TRUE_SIZE = """
return [...document.querySelectorAll('.pictures svg')].map(s =>
  [s.querySelector('title').textContent, s.getBoundingClientRect().width / s.viewBox.baseVal.width * 25.4 / 96]);
"""


def test_drawings_of_tickets_are_printed_to_the_scale_that_they_state(browser, tickets):
    browser.open(tickets, media="print", width=1123)
    drawings = browser.run(TRUE_SIZE)
    assert len(drawings) > 80
    for title, scale in drawings:
        assert scale == pytest.approx(1.0, abs=0.005), title


SMALL_ONCE = {
    "PT-S1-R1": 9.0, "PT-S1-L1": 9.0, "FF-S2-R1": 9.0, "RY-G1-1": 11.0, "LP-G2-1": 9.0, "LP-G2-2": 10.0,
    "VR-V2-1": 10.0, "SC-K1-R1, SC-K3-R1": 7.0, "TW-K1-R1": 6.0, "QB-T1-4": 7.0, "LP-A1-1": 6.0,
}  # fmt: skip
"""Scales of drawings on pages a third of which was empty."""


def test_drawings_fill_their_pages(every):
    jobs = [job for job in EVERY_JOB if (job in JOBS or job.stem in MOST_TO_SAY) and (every or job.stem in WRITTEN)]
    pages = [page for job in jobs for page in re.findall(r"<article.*?</article>", pages_of(job)[1])]
    title = re.compile(r"<h1>(.*?)</h1>")
    scales = {title.search(p)[1]: float(re.search(r"drawn 1.:.([\d.]+)", p)[1]) for p in pages}
    small = {name: once for name, once in SMALL_ONCE.items() if name in scales}
    assert len(small) > 5
    assert {name: scales[name] for name, once in small.items() if scales[name] >= once} == {}
    most = 4.7 if every else 4.72  # the gate has fewer jobs, which come to 4.716
    assert statistics.geometric_mean(scales.values()) < most, "it was 4.9 of all jobs"


TALL = """
return [...document.querySelectorAll('main > *')].filter(n => n.offsetHeight > 8.5 * 96)
  .map(n => n.querySelector('h1').textContent);
"""
"""Which sheets of tickets are taller than Letter lying; A4 is less tall, and printed."""


LETTER_ACROSS = 1056  # pixels of a sheet of Letter that lies; one of A4 has 1123


@pytest.mark.parametrize("font", [NARROW, WIDE])
def test_each_sheet_of_tickets_has_room_on_its_page_and_nothing_lies_over_anything(browser, tickets, font):
    browser.open(tickets, media="print", width=LETTER_ACROSS, font=font)
    assert browser.run(TALL) == []
    assert browser.run("return document.documentElement.scrollWidth") <= LETTER_ACROSS, "all would be printed smaller"
    browser.page.set_viewport_size({"width": 1123, "height": 800})
    assert browser.run(OVERLAPS) == []


@pytest.mark.parametrize("font", [WIDE, pytest.param(NARROW, marks=pytest.mark.slow)])
def test_each_sheet_of_tickets_is_printed_on_one_page(browser, tickets, font):
    """What is in the drawings takes no room of its own, and most of the time."""
    browser.open(tickets, media="print", width=LETTER_ACROSS, font=font)
    browser.style("svg *{visibility:hidden!important}")
    sheets = browser.run("return document.querySelector('main').children.length")
    with pikepdf.open(io.BytesIO(browser.pdf(8.27, 11.69))) as printed:
        assert len(printed.pages) == sheets


@pytest.fixture(scope="module")
def pages(two_codes, tmp_path_factory):
    """A report, and tickets of every kind of piece and of every layout."""
    seen, sheets, text = set(), [], ""
    for job in (job for job in EVERY_JOB if job.stem in WRITTEN):
        text = pages_of(job)[1]
        for sheet in re.findall(r'<div class="pair">.*?</article></div>|<article .*?</article>', text):
            new = {*re.findall(r'class="(?:pair|ticket [^"]*)"|<p><strong>\d+ off:</strong> [^,<]*', sheet)} - seen
            sheets += [sheet] if new else []
            seen |= new
    assert len(seen) > 20
    folder = tmp_path_factory.mktemp("pages")
    report, tickets = folder / "report.html", folder / "tickets.html"
    report.write_text(report_html(two_codes, account(two_codes), cautions.texts()), encoding="utf-8")
    tickets.write_text(re.sub("<main>.*</main>", lambda _: f"<main>{''.join(sheets)}</main>", text), encoding="utf-8")
    return [report, tickets]


BLACK = "<div style='break-before:page;break-after:page;height:200mm;background:#000'></div>"
"""A page of its own, between two reports."""


@pytest.fixture(scope="module")
def reports(every, tmp_path_factory):
    """The reports of the golden jobs, their pieces laid one after another, as one file."""
    made = tmp_path_factory.mktemp("reports") / "reports.html"
    jobs = [job for job in EVERY_JOB if every or job.stem in REPORTED]
    made.write_text(joined([pages_of(job)[0] for job in jobs], BLACK), encoding="utf-8")
    return made


def test_faint_words_would_be_found(browser, tmp_path):
    page = tmp_path / "faint.html"
    page.write_text("<p style='color:#888'>faint</p><p style='color:#666'>plain</p>", encoding="utf-8")
    browser.open(page)
    assert browser.run(CONTRAST) == ["3.54 P faint"]


ALIKE = """
const seen = new Set(), walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
while (walker.nextNode()) {
  const node = walker.currentNode.parentElement;
  if (!walker.currentNode.data.trim()) continue;
  let path = '';
  for (let n = node; n; n = n.parentElement)
    path += `${n.tagName}.${n.getAttribute('class')}.${n.getAttribute('style')} `;
  if (!seen.has(path)) node.setAttribute('data-first', '');
  seen.add(path);
}
"""
"""Marks the first of all words whose elements have the same names, classes and styles all the way up."""


def barriers(browser):
    """Return what keeps somebody from reading a page; of words that are styled alike the first are held to contrast.

    To hold all to it took axe-core three seconds for a page of tickets; `CONTRAST` holds all, in the dark it alone.
    """
    browser.run(ALIKE)
    return browser.barriers(but="color-contrast") + faint(browser)


def faint(browser):
    return browser.barriers("color-contrast", of="[data-first]")


def test_words_stand_out_and_nothing_keeps_anybody_from_reading(browser, pages):
    titles = set()
    for page in pages:
        browser.open(page)
        assert browser.run(CONTRAST) == []
        assert browser.run(STRUCTURE) == []
        assert barriers(browser) == []
        titles.add(browser.run("return document.title"))
        browser.open(page, dark=True)
        assert browser.run(CONTRAST) == []
    assert len(titles) == len(pages)


@pytest.mark.slow
def test_words_stand_out_in_the_dark_by_another_reckoning_too(browser, pages):
    for page in pages:
        browser.open(page, dark=True)
        browser.run(ALIKE)
        assert faint(browser) == []


def test_barriers_would_be_found(browser, tmp_path):
    page = tmp_path / "barred.html"
    page.write_text("<img src=x><p>plain</p><p style='color:#bbb'>faint</p>", encoding="utf-8")
    browser.open(page)
    found = " ".join(barriers(browser))
    for rule in ("image-alt", "color-contrast", "document-title", "html-has-lang"):
        assert rule in found


def test_nothing_is_wider_than_a_telephone(browser, pages):
    for page in pages:
        browser.open(page, width=360, font=WIDE)
        assert browser.run("return document.documentElement.scrollWidth") <= 360


def test_the_points_of_steps_go_on_a_telephone_whole(browser, tickets):
    """A column that stands beyond the edge is not missed by who does not know of it."""
    browser.open(tickets, width=360)
    tables = browser.run("return [...document.querySelectorAll('.steps')].map(t => t.scrollWidth - t.clientWidth)")
    assert tables
    assert max(tables) <= 0


SMALLEST = """
let smallest = [99, '', ''];
for (const text of document.querySelectorAll('svg text')) {
  const svg = text.ownerSVGElement, scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
  const pixels = parseFloat(getComputedStyle(text).fontSize) * scale;
  if (pixels < smallest[0]) smallest = [pixels, text.textContent, svg.closest('main').querySelector('h1').textContent];
}
return smallest;
"""


TOO_WIDE = """
return [...document.querySelectorAll('main')].filter(n => n.scrollWidth > n.clientWidth)
  .map(n => n.querySelector('h1').textContent);
"""

LISTS = """
return [...document.querySelectorAll('main')].map(main => {
  const list = main.querySelector('table');
  return [main.querySelector('h1').textContent, list.offsetHeight, list.rows.length];
});
"""


SMALL_WORDS = """
const found = new Set(), walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
while (walker.nextNode()) {
  const node = walker.currentNode.parentElement;
  if (!walker.currentNode.data.trim() || node.closest('svg,style,title,caption')) continue;
  if (parseFloat(getComputedStyle(node).fontSize) < 11) found.add(node.textContent.trim().slice(0, 30));
}
return [...found].slice(0, 5);
"""


def test_words_figures_and_lists_can_be_read_on_a_telephone(browser, reports, tickets):
    """Drawings wider than the screen scroll in a box of their own; nothing in them is smaller than 9 pixels.

    Letters that are small on a sheet, so that all of a large piece goes on it, are not so on a screen.
    """
    for page in (tickets, reports):
        browser.open(page, width=360)
        assert browser.run(SMALL_WORDS) == []
        smallest, *where = browser.run(SMALLEST)
        assert smallest >= 9.0, where
        assert browser.run("return document.documentElement.scrollWidth") <= 360, browser.run(TOO_WIDE)
    for title, tall, rolls in browser.run(LISTS):
        assert tall <= 45 * rolls, f"{title}: a roll takes a line or two, however many kinds there are"


def test_what_is_stacked_on_a_telephone_is_not_set_in(browser, reports):
    browser.open(reports, width=360)
    cells = "[...document.querySelectorAll('table:not(.few)>tbody td')]"
    assert browser.run(f"return {cells}.filter(n => getComputedStyle(n).paddingLeft !== '0px').length") == 0


A4_MM, MARGIN_MM = 210, 12

TOGETHER = """
const found = [];
for (const part of document.querySelectorAll('.drawings figure, .cautions ul')) {
  let whole = part;
  while (whole && getComputedStyle(whole).breakInside !== 'avoid') whole = whole.parentElement;
  const tall = (whole || part).getBoundingClientRect().height / 96 * 25.4;
  if (!whole || tall > 90) found.push(`${part.textContent.trim().slice(0, 24)}: ${whole ? tall : 'may be broken'}`);
}
return found;
"""


def test_a_pattern_keeps_its_key_on_its_page_and_a_box_is_not_broken(browser, reports):
    """What is printed whole is no taller than a third of a page, so that little of the page before stays empty."""
    inside = round((A4_MM - 2 * MARGIN_MM) / 25.4 * 96)
    browser.open(reports, media="print", width=inside)
    assert browser.run(TOGETHER) == []


def test_a_report_is_no_wider_than_its_paper(browser, reports):
    """What is wider makes the browser print everything smaller, and no scale on the page is true any more."""
    inside = round((A4_MM - 2 * MARGIN_MM) / 25.4 * 96)
    browser.open(reports, media="print", width=inside, font=WIDE)
    assert browser.run("return document.documentElement.scrollWidth") <= inside, browser.run(TOO_WIDE)


@pytest.mark.skipif(not shutil.which("pdftoppm"), reason="no poppler on this machine")
def test_pages_of_a_report_are_full(browser, every, reports):
    """Only the last page of a report may be emptier, for it ends there; all reports are printed on Letter too.

    Pictures are printed as grey boxes: they fill their places, and what is in them takes longer than all else.
    """
    browser.open(reports, media="print", width=1050)
    browser.style("svg{background:#666!important}", "svg *{visibility:hidden!important}")
    titles = browser.run("return [...document.querySelectorAll('h1')].map(n => n.textContent)")
    for across_in, down_in in ((8.27, 11.69), (8.5, 11.0)) if every else ((8.27, 11.69),):
        filled = {}
        for title, (*pages, _) in zip(titles, printed_reports(browser.pdf(across_in, down_in)), strict=True):
            filled |= {(title, number): page for number, page in enumerate(pages, 1)}
        emptiest = min(filled, key=lambda page: filled[page])
        assert filled[emptiest] > 0.5, emptiest
        assert statistics.median(filled.values()) > 0.85
        assert sum(page < 0.7 for page in filled.values()) < 0.05 * len(filled)


def printed_reports(pdf):
    """Return how full the pages of each report are, which a black page parts from the next."""
    printed = [[]]
    for image in page_images(pdf):
        if all(image[part * len(image) // 8].count(0) > 0.8 * len(image[0]) for part in (2, 3, 4)):
            printed.append([])
        else:
            printed[-1].append(page_filled(image))
    return printed


def test_what_has_most_columns_and_the_longest_names_is_no_wider_than_its_paper(browser, tmp_path):
    """Least bought has a column more of each lead, and a piece may come from many rolls of several leads."""
    batch = least_bought(price=60.0, usual_price=35.0)
    rolls = [f"code{code}-{n:02d}" for code in (3, 4) for n in (4, 6, 9, 10, 11)]
    long = {"id": "GEA-S12-R10", "of": 12, "number": 10, "quantity": 144, "rolls": rolls, "face_down": 6}
    rows = [{**row, **long, "family": "step and cover flashing", "length_mm": 1462.5} for row in cutting_list(batch)]
    rows += [{**row, "rolls": [f"code3-{n:02d}" for n in (2, 5, 6)]} for row in rows]  # shorter, so set in one line
    places = ticket_places(batch.pieces) | {long["id"]: ""}
    page = tmp_path / "columns.html"
    page.write_text(
        report_html(batch, account(batch)).replace("</main>", f"{job_list(rows, places)}</main>"),
        encoding="utf-8",
    )
    inside = round((A4_MM - 2 * MARGIN_MM) / 25.4 * 96)
    browser.open(page, media="print", width=inside, font=WIDE)
    assert browser.run("return document.documentElement.scrollWidth") <= inside


def page_images(pdf):
    """Return the pages of a PDF as grey pictures, a row of bytes each, at 20 dots an inch."""
    made = subprocess.run(["pdftoppm", "-r", "20", "-gray", "-"], input=pdf, capture_output=True, check=True).stdout
    images = []
    while made:
        _, size, _, rest = made.split(b"\n", 3)
        across, down = map(int, size.split())
        images.append([rest[row * across : (row + 1) * across] for row in range(down)])
        made = rest[across * down :]
    return images


def page_filled(image):
    """Return how far down a page goes what is on it, as a share of the height inside its margins."""
    inked = max(row for row, dots in enumerate(image) if min(dots) < 200)
    margin = MARGIN_MM / 25.4 * 20
    return (inked - margin) / (len(image) - 2 * margin)


def test_an_empty_half_would_be_found(browser, tmp_path):
    page = tmp_path / "half.html"
    page.write_text("<div style='height:100mm;background:#000'></div>", encoding="utf-8")
    browser.open(page, media="print")
    assert 0.3 < page_filled(page_images(browser.pdf(8.27, 11.69))[0]) < 0.45


def test_tickets_print_on_a4_and_on_letter(browser, pages):
    sheets = 8  # to print a sheet of each kind, and then once more, takes seconds
    browser.open(pages[1], media="print", width=1050, font=WIDE)
    browser.style(f"main>*:nth-child(n+{sheets + 1}){{display:none!important}}")
    for across_in, down_in in ((8.27, 11.69), (8.5, 11.0)):
        with pikepdf.open(io.BytesIO(browser.pdf(across_in, down_in))) as printed:
            assert len(printed.pages) == sheets
            lettered = sum("/CharProcs" in entry for entry in printed.objects if isinstance(entry, pikepdf.Dictionary))
            assert lettered < sheets / 2, "each drawing has letters of its own"
            _, _, wide, tall = (float(v) for v in printed.pages[0].mediabox)
            assert wide > tall
            assert (wide, tall) == pytest.approx((down_in * 72, across_in * 72), abs=2)


SMUGGLED = "<img src=x onerror=\"document.title='ran'\"><script>document.title='ran'</script>"


def test_what_was_smuggled_into_a_page_does_not_run(browser, pages, tmp_path):
    """Names are escaped; were one not, the page's own policy would still let nothing run."""
    for page in pages:
        text = page.read_text(encoding="utf-8")
        bad = tmp_path / page.name
        bad.write_text(text.replace("<body>", f"<body>{SMUGGLED}", 1), encoding="utf-8")
        browser.open(bad)
        assert browser.run("return document.images.length") == 1, "it was put in"
        assert browser.run("return document.title") != "ran"
    bare = tmp_path / "bare.html"
    bare.write_text(f"<title>own</title>{SMUGGLED}", encoding="utf-8")
    browser.open(bare)
    assert browser.run("return document.title") == "ran", "without the policy it would have"


@pytest.mark.skipif(not shutil.which("pdftotext"), reason="no poppler on this machine")
def test_no_page_ends_with_the_first_row_of_a_table_alone(browser, tmp_path):
    """A table of two rows and more begins at every height near the foot of a page, each time with its heading."""
    page = tmp_path / "rows.html"
    row = {"job": "a", "hand": None, "quantity": 1.0, "unit": "m", "kg": None}
    rows = [{**row, "item": f"{name} row", "by": "many words " * 30} for name in ("first", "second", "third", "last")]
    begun = [
        f"<div style='break-before:page;height:{tall}mm'></div>{quantities_html(rows)}" for tall in range(180, 262, 6)
    ]
    page.write_text(f"<style>{STYLE}</style><main>{''.join(begun)}</main>", encoding="utf-8")
    browser.open(page, media="print")
    printed = subprocess.run(["pdftotext", "-", "-"], input=browser.pdf(8.27, 11.69), capture_output=True, check=True)
    pages = printed.stdout.decode().split("\f")
    assert sum("first row" in text for text in pages) == len(begun)
    assert [n for n, text in enumerate(pages) if "first row" in text and "second row" not in text] == []
    assert any("first row" in text and "last row" not in text for text in pages), "no table is broken"
