import math
import re
from collections import Counter
from dataclasses import replace
from html import escape, unescape
from html.parser import HTMLParser
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutpath.errors import Finding, Severity
from cutpath.families.frame import mirror_image
from cutpath.folding import prove
from cutpath.paper.dimensions import FIGURE
from cutpath.paper.markup import html_table
from cutpath.paper.text import ROUNDED
from cutpath.reports.account.yields import account
from cutpath.reports.pictures.figures import wall_figures
from cutpath.reports.pictures.isometric import folded_up
from cutpath.reports.pictures.pattern_picture import pattern_picture
from cutpath.reports.pictures.roll_picture import ROW_MM, SCALE, roll_rows, row_ends
from cutpath.reports.pictures.walls import elevations
from cutpath.reports.words.page.drawings import drawings
from cutpath.reports.words.page.findings import findings_html
from cutpath.values.nest import OffcutRule
from cutpath.values.pattern import FoldUse, Station, StationUse
from cutpath.values.survey import Job
from tests.families.test_step_views import planned
from tests.reports.conftest import Laid, Spec, least_bought, make_batch, specs, strip
from tests.reports.pages import report_html

SVG = "{http://www.w3.org/2000/svg}"
CAUTIONS = ("Lead is toxic & heavy.", "Never score a fold.")
VOID = {"meta", "br", "path", "line", "rect", "circle"}


class Reader(HTMLParser):
    """Sees that tags are balanced, and gathers text, tags and attributes."""

    def __init__(self):
        super().__init__()
        self.open, self.text, self.tags, self.attributes = [], [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += attrs
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += attrs

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open and self.open[-1] != "style":
            self.text.append(data)


def read(html):
    reader = Reader()
    reader.feed(html)
    reader.close()
    assert reader.open == []
    return reader


def pictures(html):
    return [ET.fromstring(s) for s in re.findall(r"<svg.*?</svg>", html, re.DOTALL)]  # noqa: S314 - our own text


@pytest.fixture(scope="module")
def page(two_codes):
    return report_html(two_codes, account(two_codes), CAUTIONS)


def test_page_is_balanced_and_stands_alone(page):
    reader = read(page)
    assert page.startswith("<!DOCTYPE html>")
    assert not {"script", "link", "img", "iframe", "object"} & set(reader.tags)
    links = [v for k, v in reader.attributes if k in ("src", "href") and not v.startswith("tickets.html#ticket-")]
    assert all(link.startswith("#") for link in links)
    assert {link[1:] for link in links} <= {v for k, v in reader.attributes if k == "id"}
    assert set(re.findall(r"https?://[^\"' )]+", page)) == {"http://www.w3.org/2000/svg"}
    assert "@import" not in page


def test_every_picture_is_sound_xml_and_every_reference_has_its_target(page):
    found = pictures(page)
    ids = [node.get("id") for picture in found for node in picture.iter() if node.get("id")]
    assert len(ids) == len(set(ids))
    assert set(re.findall(r"url\(#([^)]*)\)", page)) <= set(ids)
    for picture in found:
        assert picture.tag == f"{SVG}svg"
        for node in picture.iter():
            for name in ("x", "y", "width", "height", "d"):
                assert not re.search(r"nan|inf|e-|-0(?![.\d])", node.get(name, ""))


def test_headline_figures_are_those_of_the_account(page, two_codes):
    totals = account(two_codes)["totals"]
    header = page[page.index("<header") : page.index("</header>") + 9]
    text = " ".join(read(header).text)
    for figure in (
        f"{totals['drawn_kg']:.2f} kg",
        f"{totals['scrap_kg']:.2f} kg",
        f"{100 * totals['yield']:.1f} %",
        f"{totals['offcuts_kg']:.2f} kg",
        f"{totals['common_practice']['drawn_kg']:.2f} kg",
        f"{totals['common_practice']['saved_kg']:.2f} kg",
        f"{totals['pieces']} pieces",
    ):
        assert figure in text
    total_row = re.search(r'<tr class="total">(.*?)</tr>', page.partition(">Lead</h2>")[2]).group(1)
    cells = re.findall(r"<td[^>]*>(.*?)</td>", total_row)
    assert cells[1:3] == [f"{totals['bought_kg']:.2f}", f"{totals['drawn_kg']:.2f}"]


def test_a_nest_that_draws_more_than_common_practice_says_so():
    batch = make_batch([Spec()])
    material = batch.materials[0]
    less = replace(material.common_practice, drawn_mm2=material.nest.drawn_mm2 * 0.9)
    batch = replace(batch, materials=(replace(material, common_practice=less),))
    text = " ".join(read(report_html(batch, account(batch))).text)
    assert "more than cutting one piece after another" in text
    assert "less than cutting one piece after another" not in text


def headline(batch):
    html = report_html(batch, account(batch))
    return " ".join(read(html[html.index("<header") : html.index("</header>") + 9]).text)


def test_least_bought_begins_with_what_is_bought_beside_what_common_practice_buys():
    text = headline(least_bought())
    for words in ("10.41 kg", "lead bought", "1 whole roll", "28.2 %", "of it in pieces", "4.29 kg", "14.70 kg"):
        assert words in text
    assert "less bought than cutting one piece after another" in text
    priced = headline(least_bought(price=60.0, usual_price=35.0, usual_mm=800.0))
    for words in ("60.00", "price of the lead bought", "10.00", "less than cutting one piece after another", "70.00"):
        assert words in priced
    assert "-" not in priced.replace("code4-", "")


def test_the_yield_of_several_leads_is_by_area_and_says_so_beside_the_kilograms(two_codes):
    """Of leads of two thicknesses the pieces' share of the weight is another."""
    totals = account(two_codes)["totals"]
    assert totals["yield"] != pytest.approx(totals["pieces_kg"] / totals["drawn_kg"], abs=0.0005)
    assert "yield by area" in headline(two_codes)
    of_one = headline(make_batch([Spec()]))
    assert "yield" in of_one
    assert "by area" not in of_one


def test_cautions_stand_once_and_findings_are_told(page):
    text = unescape(page)
    for caution in CAUTIONS:
        assert text.count(caution) == 1
    assert "The fold on bed joint &lt;7&gt; is 17 mm long" in page
    assert re.search(r"<b>Warning, [A-Z][^:<]*: detail 1, coursing. </b>", page)
    assert "<summary>CP406, and where</summary><p>b.toml: detail[1].coursing</p>" in page


def test_findings_of_several_jobs_name_their_job():
    found = [
        Finding("CP318", f"{file}.toml: detail[{n}].code", "code 4", "code 5", "Use it.", Severity.WARNING)
        for file, n in (("b", 1), ("b", 3), ("o", 2))
    ]
    told = findings_html(
        found, [Job(name, name[0], f"{name[0].lower()}.toml", "", "", ()) for name in ("Barn", "Oast")]
    )
    assert "<b>Warning, Barn: detail 1, code; detail 3, code; Oast: detail 2, code. </b>" in told
    assert "<b>Warning, detail 1, code; detail 3, code; detail 2, code. </b>" in findings_html(found, ())


def test_findings_name_a_detail_by_the_label_on_its_picture():
    job, _ = planned("abutment")
    for keys, said in (("[1].turn_in", "S1, turn-in"), ("[2].code", "S2, code"), ("[1].soakers.code", "K1, code")):
        found = [Finding("CP318", f"{job.file}: detail{keys}", "code 4", "code 5", "Use it.", Severity.WARNING)]
        assert f"<b>Warning, {said}. </b>" in findings_html(found, [job])


def test_sizes_have_the_sign_between_them():
    told = findings_html(
        [Finding("CP321", "lifting", "1 of code 4, 390 x 3000 mm", "16 kg", "Cut 300 x 2.", Severity.NOTE)], ()
    )
    assert "390 × 3000 mm" in told
    assert "300 × 2" in told


def test_what_comes_to_nothing_is_not_told_as_a_figure():
    """No offcut kept, and nothing saved beside common practice; one lead alone needs no total."""
    batch = make_batch([Spec()])
    (material,) = batch.materials
    batch = replace(batch, materials=(replace(material, common_practice=material.nest),))
    assert "0.00" not in headline(batch)
    assert "no offcut is worth keeping" in headline(batch)
    lead = report_html(batch, account(batch)).partition(">Lead</h2>")[2].partition("</section>")[0]
    assert lead.count("lead code 4, blue") == 2
    assert 'class="total"' not in lead


def test_many_jobs_are_not_all_in_the_heading(two_codes):
    jobs = tuple(replace(two_codes.jobs[0], name=f"Job {n}", mark=f"J{n}", file=f"{n}.toml") for n in range(3))
    many = replace(two_codes, jobs=(*two_codes.jobs, *jobs))
    html = report_html(many, account(many))
    assert "<h1>Mill cottage and 5 more jobs</h1>" in html
    assert "Job 2" in html[: html.index("</title>")]


def test_a_run_that_names_no_job_has_its_report(two_codes):
    """A manifest may come without its jobs; whoever reads it says what is wrong with it."""
    none = replace(two_codes, jobs=())
    assert "<h1></h1>" in report_html(none, account(none))


def test_the_key_of_the_rolls_holds_what_is_on_them(page):
    key = page[page.index('<p class="key">') : page.index("</p>", page.index('<p class="key">'))]
    assert "water line" in key
    assert "kept offcut" in key
    for nowhere in ("lap, ", "bossing", "wood-cored", "up the roof"):
        assert nowhere not in key


@pytest.mark.parametrize(
    ("where", "said"),
    [
        ("my_job.toml: detail[1].turn_in", "detail 1, turn-in"),
        ("my_rolls.csv: row 3", "my_rolls.csv: row 3"),
        ("3 rolls", "3 rolls"),
    ],
)
def test_headings_of_findings_are_written_as_people_write(where, said):
    found = Finding("CP304", where, "15 mm", "at least 25 mm", "Rake it out.", Severity.WARNING)
    assert f"<b>Warning, {said}. </b>" in findings_html([found], ())


def test_five_columns_stand_beside_each_other_on_a_phone_unless_one_has_sentences():
    head = ("quantities", "how much", "unit", "kg", "by")
    for cell, few in (("1 a step", True), ("1 at every step; " * 5, False)):
        table = html_table(head, [("wedges", "3", "pieces", "", cell)], caption="Quantities", left=frozenset({0}))
        assert ('class="few"' in table) is few


def test_what_users_write_is_never_markup():
    bad = "<script>alert(1)</script>"
    batch = make_batch([Spec(laid=(Laid(0),))])
    job = Job(bad, "M", "m.toml", f"{bad}\nsecond line", bad, ())
    batch = replace(batch, jobs=(job,), pieces=tuple(replace(p, job=bad) for p in batch.pieces))
    html = report_html(batch, account(batch), [bad])
    reader = read(html)
    assert "script" not in reader.tags
    assert bad in " ".join(reader.text)


def test_same_values_give_the_same_bytes(two_codes, page):
    assert report_html(two_codes, account(two_codes), CAUTIONS) == page


def test_every_copy_is_labelled_and_drawn(page, two_codes):
    rows = [p for p in pictures(page) if re.match(r"code\d-\d\d, ", p.findtext(f"{SVG}title") or "")]
    labels = [node.text for row in rows for node in row.iter(f"{SVG}text") if node.get("class") == "id"]
    for piece in two_codes.pieces:
        assert labels.count(piece.id) >= piece.quantity
    assert set(labels) == {p.id for p in two_codes.pieces}
    texts = [node.text for row in rows for node in row.iter(f"{SVG}text")]
    for sheet in two_codes.sheets:
        drawn = f"{sheet.nested.drawn_mm:.1f}".removesuffix(".0")
        assert sum(f"cross-cut at {drawn} mm; 500 mm stays on the roll" in t for t in texts) == 1
    kept = next(o for s in two_codes.sheets for o in s.nested.offcuts)
    assert f"keep {kept.length_mm:g} × {kept.width_mm:g}" in texts


def test_an_end_that_the_stock_books_as_scrap_is_not_said_to_stay_on_the_roll():
    batch = make_batch([Spec(4, 300.0, (Laid(0, 900.0),), spare_mm=120.0)])
    shapes = {p.id: p.pattern for p in batch.pieces}
    for keep, words in (
        (OffcutRule(100.0, 100.0), "120 mm stays on the roll"),
        (OffcutRule(), "120 mm beyond it is scrap: too small to keep"),
    ):
        cut = replace(batch, sheets=(replace(batch.sheets[0], keep=keep),))
        assert f"cross-cut at 900 mm; {words}" in roll_rows(cut.sheets[0], shapes)[-1]
        told = " ".join(read(report_html(cut, account(cut), CAUTIONS)).text)
        for ends in ("Ends of rolls too small to keep, 0.73 kg", "0.73 kg more in ends of rolls"):
            assert (ends in told) is (keep == OffcutRule())


def test_rows_of_a_roll_after_the_first_say_which_roll_they_go_on_with():
    batch = make_batch([Spec(4, 300.0, (Laid(0, 900.0, 0.9, 5),), spare_mm=1500.0)])
    rows = roll_rows(batch.sheets[0], {p.id: p.pattern for p in batch.pieces}, name="code4-01 and 2 alike")
    told = ["code4-01 and 2 alike, continued" in row for row in rows]
    assert len(told) == 3
    assert told == [False, True, True]
    last = ET.fromstring(rows[-1])  # noqa: S314
    first, second = (float(n.get("x")) for n in last.iter(f"{SVG}text") if n.get("class") == "words")
    assert second > first + 30.0, "the words at the cross-cut keep clear"


def test_pieces_lie_on_the_ground_of_their_job_and_a_key_names_the_jobs(page, two_codes):
    key = re.search(r'<p class="key jobs">.*?</p>', page, re.DOTALL).group()
    tints = dict(re.findall(r'style="(fill:#[^"]*)".*?</svg>(?:M|B): (.*?)</span>', key))
    assert sorted(unescape(name) for name in tints.values()) == ['Barn <b>&"byre"</b>', "Mill cottage"]
    job = {p.id: p.job for p in two_codes.pieces}
    for sheet in two_codes.sheets:
        row = next(p for p in pictures(page) if (p.findtext(f"{SVG}title") or "").startswith(f"{sheet.id}, 0"))
        outlines = [n for n in row.iter(f"{SVG}path") if n.get("class") == "piece"]
        shown = dict(zip((n.get("d") for n in outlines), sheet.nested.placements, strict=False))
        clips = {
            n.get("id"): n.find(f"{SVG}path").get("d") for n in row.iter(f"{SVG}clipPath") if "ground" in n.get("id")
        }
        grounds = [n for n in row.iter(f"{SVG}g") if "ground" in (n.get("clip-path") or "")]
        assert len(grounds) == len(clips) == len({job[p.id] for p in shown.values()})
        for ground in grounds:
            name = unescape(tints[ground.find(f"{SVG}rect").get("style")])
            under = clips[ground.get("clip-path")[5:-1]]
            assert under == "".join(d for d, p in shown.items() if job[p.id] == name)


def test_one_job_alone_needs_no_ground():
    html = report_html(batch := make_batch([Spec()]), account(batch))
    assert "ground-" not in html
    assert "key jobs" not in html


@pytest.mark.parametrize("gap_mm", [0.0, 1e-7, 2.0])
def test_straight_cuts_are_numbered_once_each_in_order_along_the_roll_the_cross_cut_last(gap_mm):
    batch = make_batch([Spec(laid=(Laid(0, 1500.0, 0.5, 3, gap_mm),))])
    sheet = batch.sheets[0]
    rows = [ET.fromstring(row) for row in roll_rows(sheet, {p.id: p.pattern for p in batch.pieces})]  # noqa: S314
    assert len(rows) > 1
    numbers = [n.text for row in rows for n in row.iter(f"{SVG}text") if n.get("class") == "cut-number"]
    assert numbers == [str(k) for k in range(1, account(batch)["rolls"][0]["square_cuts"] + 1)] == ["1", "2", "3"]
    last = next(n for n in rows[-1].iter(f"{SVG}text") if n.get("class") == "cut-number" and n.text == "3")
    cross = next(n for n in rows[-1].iter(f"{SVG}path") if n.get("class") == "cross-cut")
    assert abs(float(last.get("x")) - float(cross.get("d").strip("M").split()[0])) < 1.0


def test_a_kept_offcut_too_small_for_its_words_bears_them_all_the_same():
    batch = make_batch([Spec(width_mm=120.0, laid=(Laid(0, 160.0, 0.85),), keep=True)])
    kept = batch.sheets[0].nested.offcuts[0]
    html = report_html(batch, account(batch))
    assert html.count(f">keep {kept.length_mm:g} × {kept.width_mm:g}</text>") == 1


def test_pieces_are_drawn_to_scale_where_they_lie():
    batch = make_batch([Spec(4, 300.0, (Laid(0, 600.0, 0.5, 2),))])
    html = report_html(batch, account(batch))
    row = next(p for p in pictures(html) if (p.findtext(f"{SVG}title") or "").startswith("code4-01,"))
    shapes = [
        [tuple(map(float, xy.split())) for xy in node.get("d").strip("MZ").split("L")]
        for node in row.iter(f"{SVG}path")
        if node.get("class") == "piece"
    ]
    scrap = next(node for node in row.iter(f"{SVG}rect") if node.get("class") == "scrap")
    left, top, tall = (float(scrap.get(k)) for k in ("x", "y", "height"))
    assert (float(scrap.get("width")), tall) == (1200 / SCALE, 300 / SCALE)
    first, second = ([(x - left, top + tall - y) for x, y in shape] for shape in shapes)
    assert [v for p in first[:2] for v in p] == pytest.approx([0, 0, 600 / SCALE, 0])
    assert [v for p in second[:2] for v in p] == pytest.approx([1200 / SCALE, 150 / SCALE, 600 / SCALE, 150 / SCALE])


def outlines_of(picture, class_="piece"):
    return [
        [tuple(map(float, xy.split())) for xy in node.get("d").split("Z")[0].strip("M").split("L")]
        for node in picture.iter(f"{SVG}path")
        if node.get("class") == class_
    ]


def test_every_row_shows_its_own_stretch_of_the_roll(two_codes):
    sheet = two_codes.sheets[1]
    rows = [ET.fromstring(row) for row in roll_rows(sheet, {p.id: p.pattern for p in two_codes.pieces})]  # noqa: S314
    assert len(rows) > 2
    for i, row in enumerate(rows):
        clip = next(row.iter(f"{SVG}clipPath")).find(f"{SVG}rect")
        left = float(clip.get("x"))
        right = left + float(clip.get("width"))
        assert 0 < left < right < float(row.get("viewBox").split()[2])
        for outline in outlines_of(row):
            xs = [x for x, _ in outline]
            assert min(xs) < right
            assert max(xs) > left
        figures = {n.text: float(n.get("x")) for n in row.iter(f"{SVG}text") if n.get("class") == "figure"}
        start = float(row.findtext(f"{SVG}title").split(", ")[1].split(" to ")[0])
        assert all(x == pytest.approx(left + (float(t) - start) / SCALE, abs=0.01) for t, x in figures.items())
        assert figures
        assert (start == 0) is (i == 0)


def test_a_flipped_piece_is_drawn_face_down():
    batch = make_batch([Spec(4, 300.0, (Laid(0, 600.0, 0.5),))])
    sheet, piece = batch.sheets[0], batch.pieces[0]
    (lay,) = sheet.nested.placements
    corner = ((0.0, 0.0), (600.0, 0.0), (0.0, 150.0))
    patterns = {piece.id: replace(piece.pattern, outline=corner, folds=(), marks=(), snips=())}
    over = replace(sheet, nested=replace(sheet.nested, placements=(replace(lay, flipped=True, x_mm=600.0),)))
    plain, turned_over = (
        outlines_of(ET.fromstring(roll_rows(s, patterns)[0]))[0]  # noqa: S314
        for s in (sheet, over)
    )
    x0 = plain[0][0]
    assert [v for p in turned_over for v in p] == pytest.approx(
        [v for x, y in plain for v in (2 * x0 + 600 / SCALE - x, y)]
    )


@pytest.mark.parametrize("left_hand", [False, True])
def test_running_dimensions_stand_under_riser_feet_and_count_from_the_lower_end(left_hand):
    pattern = strip(1000.0, 150.0, teeth=4)
    pattern = replace(
        pattern,
        stations=(*pattern.stations, Station("fold 1 end", StationUse.END, (400.0, 90.0), FoldUse.STEP_TURN_IN, 1)),
    )
    if left_hand:
        pattern = mirror_image(pattern)
    picture, scale, _ = pattern_picture(pattern, "A")
    picture = ET.fromstring(picture)  # noqa: S314
    xs = [x for x, _ in outlines_of(picture)[0]]
    figures = {
        n.text: float(n.get("x")) - 0.35 * FIGURE  # half a figure's height, to the middle of its extension line
        for n in picture.iter(f"{SVG}text")
        if n.get("class") == "figure" and n.get("text-anchor") == "end" and n.get("transform")
    }
    assert set(figures) == {"0", "250", "500", "750", "1000"}
    for text, x in figures.items():
        expected = max(xs) - float(text) / scale if left_hand else min(xs) + float(text) / scale
        assert x == pytest.approx(expected, abs=0.01)


def test_pictures_are_as_wide_on_paper_as_their_frames_say(page):
    frames = re.findall(r'viewBox="0 0 ([\d.]+) [\d.]+" role="img" style="width:calc\(([\d.]+)mm ', page)
    assert len(frames) > 10
    assert all(width == paper for width, paper in frames)
    assert max(float(width) for width, _ in frames) <= 210 - 2 * 12  # A4 less its margins


def test_drawings_are_dimensioned(page, two_codes):
    figures = re.findall(r"<figure>.*?</figure>", page, re.DOTALL)
    assert len(figures) == len({(p.job, p.pattern) for p in two_codes.pieces})
    figure = next(f for f in figures if "M-S1-R0" in f)  # 1100 x 150, water line at 90, three teeth
    texts = [node.text for node in pictures(figure)[0].iter(f"{SVG}text")]
    for dimension in ("1100", "150", "90", "367", "733"):
        assert dimension in texts
    assert "fold back 90°" in figure
    assert "fold forward 90°" in figure


@settings(max_examples=15)
@given(specs())
def test_any_batch_makes_a_sound_page_with_every_copy_labelled(given_specs):
    batch = make_batch(given_specs)
    html = report_html(batch, account(batch))
    read(html)
    labels = [n.text for p in pictures(html) for n in p.iter(f"{SVG}text") if n.get("class") == "id"]
    for piece in batch.pieces:  # each lies on a roll of its own kind, so no two rolls are alike
        assert labels.count(piece.id) >= piece.quantity


spans = st.lists(
    st.tuples(st.floats(0, 6000), st.floats(50, 1500)).map(lambda t: (t[0], min(t[0] + t[1], 6000.0))), max_size=20
)


@given(st.floats(10.0, 6000.0), spans)
def test_rows_cover_a_roll_in_order_and_fit_the_paper(drawn, pieces):
    ends = row_ends(drawn, pieces)
    starts = [0.0, *ends[:-1]]
    assert ends[-1] == drawn
    assert all(0 < end - start <= ROW_MM + 1e-6 for start, end in zip(starts, ends, strict=True))
    assert len(ends) == max(1, math.ceil((drawn - 1e-6) / ROW_MM))


def test_a_row_breaks_between_pieces_where_it_can():
    assert row_ends(3000.0, [(0, 800), (800, 1500), (1500, 2400), (2400, 3000)]) == [1500, 3000.0]
    assert row_ends(3000.0, [(0, 1600), (1600, 3000)]) == [1600, 3000.0]


def test_rows_that_part_as_many_pieces_are_even():
    assert row_ends(3000.0, [(0, 3000)]) == [1500, 3000.0]


def test_rolls_cut_alike_are_shown_once():
    batch = make_batch([Spec()])
    material, sheet = batch.materials[0], batch.sheets[0]
    nest = material.nest
    again = replace(sheet.nested, placements=tuple(replace(p, copy=2) for p in sheet.nested.placements))
    doubled = {f"{k}_mm2": 2 * getattr(nest, f"{k}_mm2") for k in ("pieces", "drawn", "offcuts")}
    twice = replace(
        batch,
        pieces=tuple(replace(p, quantity=2) for p in batch.pieces),
        materials=(replace(material, nest=replace(nest, rolls=(sheet.nested, again), **doubled)),),
        sheets=(sheet, replace(sheet, id="code4-02", nested=again)),
    )
    html = report_html(twice, account(twice))
    assert "<h3>code4-01, code4-02</h3>" in html
    assert "2 rolls cut alike" in html
    assert html.count('<article class="roll">') == 1
    other = replace(again, drawn_mm=again.drawn_mm + 0.5)
    nest = replace(nest, rolls=(sheet.nested, other), **(doubled | {"drawn_mm2": 600.0 * 300 + 600.5 * 300}))
    unlike = replace(
        twice, materials=(replace(material, nest=nest),), sheets=(sheet, replace(sheet, id="code4-02", nested=other))
    )
    assert report_html(unlike, account(unlike)).count('<article class="roll">') == 2


def test_what_is_the_same_of_every_job_stands_before_the_jobs(page):
    """A last page holds what is cut, not cautions alone; and the contents follow the order of the page."""
    ids = re.findall(r'<h2 id="([^"]*)"', page)
    assert ids == ["check", "rolls", "lead", "safety", "job-1", "job-2", "job-3"]
    assert re.findall(r'href="#([^"]*)"', page) == ids
    assert page.rpartition("</section>")[2].startswith("</main>")


def test_bars_of_lead_keep_their_title(page):
    together = re.search(r'<div class="together"><p class="note"><b>Lead drawn:</b>(.*?)</p>(.*?)</svg>', page)
    assert "One by one: " in together.group(1)
    assert "<title>Drawn lead" in together.group(2)


def test_where_weights_do_not_add_up_as_they_are_written_the_page_says_why(page):
    assert page.partition(">Lead</h2>")[2].partition("</p>")[0].endswith(ROUNDED)
    assert f"in mm. {ROUNDED}</p>" in page
    assert page.count('<p class="note">Developed: ') == 3, "each list of a job"
    odd, even = ("".join(make_and_fetch([Spec(4, 300.0), Spec(4, width_mm)])) for width_mm in (240.0, 600.0))
    assert ROUNDED in odd
    assert ROUNDED not in even


def make_and_fetch(asked):
    html = report_html(batch := make_batch(asked), account(batch))
    return re.findall(r"Fetch and buy</h2>.*?</section>", html)


@pytest.mark.parametrize(
    ("name", "beside"), [("chapel", True), ("twin-stack", False), ("chimney", True), ("counter-order", False)]
)
def test_the_key_of_several_walls_stands_with_the_first_or_above_it(name, beside):
    """Beside it where it has room there, so that none stands taller than its picture."""
    html = wall_figures(*planned(name))
    first, key = html.index("<figure>"), html.index('class="shared"')
    assert (first < key < html.index("</figure>")) is beside
    assert beside or key < first
    assert ("Here and in the pictures that follow" in html) is beside
    assert ("<b>In the pictures that follow" in html) is not beside


def test_what_several_walls_share_is_said_once():
    """Of both hands of a chimney's side the notes are the same but for where the return lies.

    A sign that means another thing in another picture, such as soakers by their number, is told with each.
    """
    job, pieces = planned("chimney")
    html = wall_figures(job, pieces)
    walls = elevations(job, pieces)
    counts = Counter(note for wall in walls for note in wall.notes)
    assert max(counts.values()) >= 3
    signs = Counter(note.partition(":")[0] for note in counts)
    assert max(signs.values()) == 2
    for note, count in counts.items():
        alone = signs[note.partition(":")[0]] > 1
        assert html.count(f"<li>{escape(note)}</li>") == (count if alone else 1)


def test_the_key_of_several_walls_is_true_of_each():
    """Two water lines of one job, 75 and 80 mm above their roofs: each stands with its own pictures."""
    html = wall_figures(*planned("../golden/jobs/sprocketed"))
    key = html[html.index('class="shared"') : html.index("<figure>")]
    assert "triangle: wedge" in key
    assert "chain line" not in key
    assert html.count("chain line: water line, 75 mm") == 1
    assert html.count("chain line: water line, 80 mm") == 2


def test_lengths_that_fold_alike_are_drawn_folded_once():
    job, pieces = planned("counter-order")
    folded = {piece.id: folded_up(piece, proof) for piece, proof in zip(pieces, prove(job, pieces)[0], strict=True)}
    figures = "".join(drawings(pieces, folded))
    own = [p.id for p in pieces if p.pattern.family == "cover flashing" and p.hand is None]
    assert len(own) == 3
    assert f"{own[0]}, folded" in figures
    assert figures.count(f"Folded like {own[0]}") == 2
    assert f"{own[1]}, folded" not in figures


def test_pieces_alike_of_two_codes_are_drawn_apart_each_under_its_own_code():
    """Soakers of one size are ordered in code 3 and in code 4."""
    _, pieces = planned("../golden/jobs/soaker-order")
    codes = {p.id: p.lead.material for p in pieces}
    assert codes["SC-K2-L1"] == "lead code 4"
    captions = re.findall(r"<figcaption><b>([^<]*)</b><span>([^<]*)</span>", "".join(drawings(pieces, {})))
    told = {name.split(" (")[0]: words for names, words in captions for name in names.split(", ")}
    assert all(f"{codes[name]}, " in words for name, words in told.items())
    assert set(told) == set(codes)


def test_no_line_ends_in_a_scale(page):
    assert " : " not in re.sub(r"<[^>]*>", " ", page.partition("</style>")[2])
