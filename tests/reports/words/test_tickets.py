"""Tickets as a roofer reads them: what stands on the page is enough to draw the piece again, and to cut and fold it."""

from __future__ import annotations

import math
import re
from collections import Counter
from dataclasses import replace
from functools import cache
from html import unescape
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest
import shapely
from hypothesis import strategies as st

from cutpath.families.frame import mirror_image
from cutpath.jobs import read_jobs
from cutpath.pieces import pieces_of
from cutpath.plane import mirrored, moved
from cutpath.profiles import practice
from cutpath.profiles.shop import shop_figures
from cutpath.reports.account.marking import LineKind, MarkedPoint, marking
from cutpath.reports.account.shape import alike
from cutpath.reports.account.yields import account
from cutpath.reports.pictures.step_key import step_key
from cutpath.reports.pictures.ticket_picture import ticket_picture
from cutpath.reports.pictures.ticket_sheet import SIDE
from cutpath.reports.words.fixing_words import fixing_lines
from cutpath.reports.words.handwork import cutting_order, folding_order, marking_order, welding_order
from cutpath.reports.words.ticket_facts import _ordinal
from cutpath.tolerances import CURVE_MARK_MM
from cutpath.trade import cautions
from cutpath.trade.fixings import is_welded, with_fixings
from cutpath.values.batch import Batch
from cutpath.values.fixing import FixingKind
from cutpath.values.leadwork import CoverFlashing
from cutpath.values.pattern import WELDS, StationUse
from cutpath.values.survey import Job
from tests.families.specimens import head
from tests.families.test_step_views import planned
from tests.properties.surveys import aprons, cover_flashings, for_all, soakers, step_flashings
from tests.properties.surveys import pieces_of as random_pieces
from tests.reports.pages import report_html, tickets_html

ROOT = Path(__file__).parents[3]
FILES = sorted((ROOT / "fixtures" / "jobs").glob("*.toml"))
ROUND = "about the point"
VOID = {"meta", "br", "path", "line", "rect", "circle"}


def batch_of(files):
    jobs, _ = read_jobs(files)
    pieces = with_fixings(pieces_of(jobs)[0], practice())
    return Batch(
        jobs=jobs, pieces=pieces, materials=(), sheets=(), findings=(), seed=1, version="0", practice=practice()
    )


class Ticket(HTMLParser):
    """Reads the tickets: tables as rows of cells, list items and headings as text, page by page."""

    def __init__(self, html):
        super().__init__()
        self.html, self.pages, self.open = html, [], []
        self.feed(html)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, _):
        if tag not in VOID:
            self.open.append(tag)
        if tag == "article":
            self.pages.append({"tables": [], "items": [], "title": "", "facts": ""})
        if not self.pages:
            return
        page = self.pages[-1]
        if tag == "table":
            page["tables"].append([])
        elif tag == "tr":
            page["tables"][-1].append([])
        elif tag in ("td", "th"):
            page["tables"][-1][-1].append("")
        elif tag == "li":
            page["items"].append("")
        elif tag == "p":
            page["facts"] += "\n"

    def handle_startendtag(self, tag, _):
        pass

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if not self.pages:
            return
        page = self.pages[-1]
        if "td" in self.open or "th" in self.open:
            page["tables"][-1][-1][-1] += data
        elif "li" in self.open:
            page["items"][-1] += data
        elif "h1" in self.open:
            page["title"] += data
        elif "p" in self.open:
            page["facts"] += data

    def points_of(self, page):
        """Key -> (along, up) as they stand in the tables."""
        points = {}
        for top, *rows in page["tables"]:
            for row in rows:
                if top[0] == "point":
                    points[row[0]] = (int(row[1]), int(row[2]))
                elif top[0] == "line" or top[0].startswith(("curve", "hole")):
                    continue
                else:
                    assert top == ["step", "a along", "up", "b along", "up", "c along", "up", "d along", "up"]
                    whole = len([cell for cell in row if cell]) > 3
                    for i, letter in enumerate("abcd" if whole else ""):
                        points[row[0] + letter] = (int(row[1 + 2 * i]), int(row[2 + 2 * i]))
                    if not whole:
                        points[row[0]] = (int(row[1]), int(row[2]))
        return points


def curves_of(page, kind="curve"):
    """The points of each curve by its name, from its rows of offsets; or of each hole with corners by the dozen."""
    curves = {}
    for (name, *along), *rows in page["tables"]:
        if name.startswith(kind):
            ((word, *up),) = rows
            assert word == "up"
            curves.setdefault(name.removesuffix(", along"), []).extend(zip(map(int, along), map(int, up), strict=True))
    return curves


def ellipse(words):
    x, y, wide, high = map(
        int, re.search(r"point (\d+) along and (\d+) up, (\d+) (?:across|wide .* and (\d+) high)", words).groups("0")
    )
    high = high or wide
    return [(x + wide / 2 * math.cos(a), y + high / 2 * math.sin(a)) for a in (math.radians(i * 5) for i in range(72))]


def pairs(words):
    return [(int(x), int(y)) for x, y in re.findall(r"(\d+) along, (\d+) up", words)]


def plain_ends(where, length, width):
    """The ends of a line of a rectangular piece, from where it is said to lie."""
    if at := re.fullmatch(r"(\d+) up, (?:whole length|from (\d+) to (\d+) along)", where):
        return [(int(at[2] or 0), int(at[1])), (int(at[3] or length), int(at[1]))]
    if at := re.fullmatch(r"(\d+) along, (?:whole width|from (\d+) to (\d+) up)", where):
        return [(int(at[1]), int(at[2] or 0)), (int(at[1]), int(at[3] or width))]
    return ellipse(where) if ROUND in where else pairs(where)


def rectangle_of(page):
    """Length and width of a rectangular piece, None for another one."""
    found = re.search(r"^(\d+) × (\d+) mm, a rectangle$", page["facts"], re.MULTILINE)
    return found and (int(found[1]), int(found[2]))


def plain_rows(page):
    """The rows of lines of a rectangular piece: number, what, where."""
    return [row for top, *rows in page["tables"] if top[0] == "line" for row in rows]


def ring_of(page, points, word):
    """The rings that an item such as ``Outline: A–B–curve 1–A`` lists, or that a rectangle's table holds."""
    if size := rectangle_of(page):
        length, width = size
        tables = curves_of(page, "hole")
        rows = [(what, where) for _, what, where in plain_rows(page) if what.startswith("hole")]
        holes = [tables.get(what) or plain_ends(where, *size) for what, where in rows]
        return holes if word == "Hole" else [[(0, 0), (length, 0), (length, width), (0, width)]]
    rings = []
    curves = curves_of(page)
    for item in page["items"]:
        if item.startswith(f"{word}: ") and "–" in item:
            keys = item.removeprefix(f"{word}: ").split("–")
            assert keys[0] == keys[-1]
            ring = []
            for key in keys[:-1]:
                run = curves.get(key) or [points[key]]
                away = ring and math.dist(ring[-1], run[0]) > math.dist(ring[-1], run[-1])
                ring += run[::-1] if away else run
            rings.append(ring)
        elif whole := re.fullmatch(f"{word}: (curve .*), right round", item):
            rings.append(curves[whole[1]])
        elif item.startswith((f"{word}: an ellipse", f"{word}: a circle")):
            rings.append(ellipse(item))
    return rings


def bent(radius_mm):
    """A closed curve with a radius (by its angle) and no corner."""
    angles = [math.radians(3 * i) for i in range(120)]
    rings = [(radius_mm(a) * math.cos(a), radius_mm(a) * math.sin(a)) for a in angles]
    return [[round(x + 250, 3), round(y + 250, 3)] for x, y in rings]


ROUND_PLATES = {
    "name": "Round plates",
    "pitch": 30,
    "detail": [
        {"kind": "outline", "points": bent(lambda _: 100)},
        {"kind": "outline", "points": bent(lambda _: 180), "holes": [bent(lambda _: 60)]},
        {"kind": "outline", "points": bent(lambda a: 150 / math.hypot(math.cos(a), 1.5 * math.sin(a)))},
        {"kind": "outline", "points": bent(lambda a: 150 + 30 * math.cos(2 * a) + 20 * math.sin(3 * a))},
    ],
}
"""Discs with and without a hole, an ellipse, and a plate that is all curve."""


@pytest.fixture(scope="module")
def demo():
    batch = batch_of([*FILES, ROUND_PLATES])
    reader = Ticket(tickets_html(batch))
    return batch, reader


def test_every_piece_has_its_page_and_like_pieces_share_one(demo):
    batch, reader = demo
    titles = [page["title"] for page in reader.pages]
    assert sorted(name for title in titles for name in title.split(", ")) == sorted(p.id for p in batch.pieces)
    for title, group in zip(titles, alike(batch.pieces), strict=True):
        assert title == ", ".join(p.id for p in group)
        assert len({(p.lead, p.hand, p.job, p.pattern.family) for p in group}) == 1


def test_the_outline_can_be_drawn_again_from_the_figures_of_the_page(demo):
    """Straight edge towards the worker, along from the lower corner: the redrawn shape lies within the rounding."""
    batch, reader = demo
    for page, group in zip(reader.pages, alike(batch.pieces), strict=True):
        pattern = group[0].pattern
        points = reader.points_of(page)
        (outline,) = ring_of(page, points, "Outline")
        redrawn = shapely.Polygon(outline, ring_of(page, points, "Hole"))
        length = max(x for x, _ in pattern.outline)
        rings = [pattern.outline, *pattern.holes]
        if pattern.mirrored:
            rings = [moved(mirrored(ring), length, 0.0) for ring in rings]
        true = shapely.Polygon(rings[0], rings[1:])
        stated = float(re.search(r"worst rounding ([\d.]+) mm", page["facts"])[1])
        assert stated <= 0.5
        reach = math.hypot(stated + 0.005, stated + 0.005) + (CURVE_MARK_MM if "curve" in str(page["items"]) else 0.0)
        reach += 1.0 if ROUND in str(page) else 0.0  # a middle and two axes in whole millimetres
        assert redrawn.is_valid, page["title"]
        missed = shapely.symmetric_difference(redrawn, true).area
        assert missed <= reach * true.length + 4 * len(outline) * reach**2, page["title"]
        assert shapely.hausdorff_distance(redrawn.boundary, true.boundary) <= reach + 1e-6, page["title"]


def test_figures_on_the_page_are_the_exact_ones_rounded(demo):
    batch, reader = demo
    for page, group in zip(reader.pages, alike(batch.pieces), strict=True):
        points = reader.points_of(page)
        marked = marking(group[0].pattern)
        if size := rectangle_of(page):
            whole = MarkedPoint("", "", marked.length_mm, marked.width_mm)
            assert marked.rectangle
            assert size == (whole.along_mm, whole.square_mm)
            for line, (_, what, where) in zip(marked.lines[1:], plain_rows(page), strict=False):
                ends = {(p.along_mm, p.square_mm) for p in map(marked.point, line.keys)}
                told = curves_of(page, "hole").get(what, []) or (line.ellipse and ends) or plain_ends(where, *size)
                assert set(told) == ends, (page["title"], where)
            continue
        told = (*(p for p in marked.points if not p.key.isupper()), *marked.lettered)
        assert points == {p.key: (p.along_mm, p.square_mm) for p in told}
        bent = [[(p.along_mm, p.square_mm) for p in map(marked.point, run)] for run in marked.curves]
        assert list(curves_of(page).values()) == [run if run[0][0] <= run[-1][0] else run[::-1] for run in bent]
        for p in marked.points:
            assert abs(p.along_mm - p.along_exact_mm) <= marked.worst.rounding_mm <= 0.5 + 1e-4
            assert abs(p.square_mm - p.square_exact_mm) <= marked.worst.rounding_mm


def test_every_fold_snip_and_mark_of_the_pattern_is_among_the_lines(demo):
    batch, _ = demo
    kinds = {LineKind.FOLD: "folds", LineKind.SNIP: "snips", LineKind.MARK: "marks"}
    for piece in batch.pieces:
        marked = marking(piece.pattern)
        length = max(x for x, _ in piece.pattern.outline)
        for kind, name in kinds.items():
            lines = [line for line in marked.lines if line.kind is kind]
            wanted = getattr(piece.pattern, name)
            assert [line.name for line in lines] == [w.name for w in wanted]
            for line, own in zip(lines, wanted, strict=True):
                ends = (own.start, own.end) if kind is LineKind.FOLD else own.points
                for key, (x, y) in zip(line.keys, ends, strict=True):
                    p = marked.point(key)
                    assert p.along_exact_mm == pytest.approx(length - x if piece.pattern.mirrored else x, abs=1e-3)
                    assert p.square_exact_mm == pytest.approx(y, abs=1e-3)


def test_both_hands_are_marked_out_by_one_set_of_figures(demo):
    batch, _ = demo
    for piece in batch.pieces:
        one, other = marking(piece.pattern), marking(mirror_image(piece.pattern))
        assert {one.corner, other.corner} == {"lower left", "lower right"}
        ring = [[(m.point(k).along_mm, m.point(k).square_mm) for k in m.lines[0].keys] for m in (one, other)]
        if not one.curved:  # a curve may be thinned from either end
            assert ring[0] == ring[1]


def test_risers_of_a_ticket_are_one_straight_cut_from_c_to_a(demo):
    """The words say: one snip from c to a; so c, b, the d of the step below and a must lie on one line."""
    batch, _ = demo
    told = 0
    for piece in batch.pieces:
        marked = marking(piece.pattern)
        for below, n in zip(marked.steps, marked.steps[1:], strict=False):
            a, b, c = (marked.point(f"{n}{letter}") for letter in "abc")
            d = marked.point(f"{below}d")
            for p in (b, d):
                cross = (c.along_exact_mm - a.along_exact_mm) * (p.square_exact_mm - a.square_exact_mm) - (
                    c.square_exact_mm - a.square_exact_mm
                ) * (p.along_exact_mm - a.along_exact_mm)
                assert abs(cross) < 1e-3, (piece.id, n)
            told += 1
    assert told > 50


def test_a_step_flashing_is_cut_snips_first_and_folded_turn_ins_first_arris_last(demo):
    batch, _ = demo
    piece = next(p for p in batch.pieces if p.id == "TR-V1-L1")
    marked = marking(piece.pattern)
    cuts = cutting_order(piece.pattern, marked)
    assert cuts[0].startswith("Snips first")
    assert "2c–2a to 6c–6a" in cuts[0]
    assert [line.split()[0] for line in cuts[1:3]] == ["Along", "The"]
    folds = folding_order(piece.pattern, marked)
    assert "turn-in" in folds[0]
    assert folds[-1].startswith("Arris")
    edges = "".join(cuts)
    for key in marked.lines[0].keys:
        if key.isupper():
            assert key in edges, "every corner of the return is named among the cuts"


def test_wedges_and_clips_are_told_with_their_sources(demo):
    batch, _ = demo
    by_id = {p.id: p for p in batch.pieces}
    (wedges,) = fixing_lines(by_id["TR-S1-R2"], practice())
    assert wedges.startswith(
        f"{len(marking(by_id['TR-S1-R2'].pattern).steps)} lead wedges (triangles): one at every step"
    )
    assert "work section H71" in wedges
    clips = fixing_lines(by_id["TR-A1-1"], practice())[1]
    assert clips.startswith("4 clips (squares) under the cover edge, 1190 mm long; one near each end, 300 to 500 mm")
    clips = fixing_lines(by_id["RY-G1-1"], practice())[0]
    assert clips.startswith(
        "4 clips (squares): 2 under the right end (375 mm) and 2 under the left end (375 mm); one near each end"
    )
    assert fixing_lines(by_id["TR-K1-R1"], practice()) == []


def test_clips_are_told_no_further_apart_than_they_are(demo):
    """A short edge has two clips nearer to each other than a long one's may be."""
    batch, _ = demo
    seen = set()
    for piece in batch.pieces:
        clips = [fixing for fixing in piece.fixings if fixing.kind is FixingKind.CLIP]
        gaps = [math.dist(a.at, b.at) for a, b in pairwise(clips) if a.on == b.on]
        for line in fixing_lines(piece, practice()):
            if "clips" in line:
                assert (min(gaps) >= 300) == ("300 to 500 mm apart" in line), (piece.id, line)
                assert max(gaps) <= 500
                assert "500 mm apart" in line
                seen.add(min(gaps) >= 300)
    assert seen == {True, False}


def test_a_shop_that_wedges_closer_gets_more_wedges(demo, tmp_path):
    file = tmp_path / "shop.toml"
    file.write_text('[[fact]]\nname = "wedge_spacing"\nvalue = 200\nsource = "windy hill"\n')
    batch, _ = demo
    apron = next(p for p in batch.pieces if p.id == "TR-A1-1")
    usual, own = (
        int(fixing_lines(with_fixings([apron], limits)[0], limits)[0].split()[0])
        for limits in (practice(), shop_figures(file)[0])
    )
    # faces of 150, 890 and 150: 1 + 2 + 1 spaces of 450 or less, 1 + 5 + 1 of 200 or less, and one wedge more
    assert (usual, own) == (5, 8)


def footers(html):
    return [
        [unescape(line) for line in re.findall(r"<p>(.*?)</p>", foot)]
        for foot in re.findall(r"<footer>(.*?)</footer>", html, re.DOTALL)
    ]


def test_every_ticket_has_the_short_cautions_of_its_piece_and_none_is_left_out(demo):
    batch, reader = demo
    html = reader.html
    feet = footers(html)
    assert len(feet) == len(reader.pages)
    for foot, group in zip(feet, alike(batch.pieces), strict=True):
        assert 2 <= len(foot) <= 5
        assert "scaffold" in foot[-1]
        assert all(len(line) <= 130 for line in foot)
        assert foot[0].startswith("Lead is poisonous")
        text, piece = " ".join(foot), group[0]
        assert ("silica" in text) == any("turn-in" in fold.name for fold in piece.pattern.folds)
        told = " ".join(welding_order(piece.pattern, marking(piece.pattern)))
        assert ("fire and fume" in text) == ("eadweld" in told), "cautions stand where the work is"
    assert len({tuple(foot) for foot in feet}) > 1
    assert "://" not in html.replace("http://www.w3.org/2000/svg", "")


WELDED = """
name = "Welded corners"
pitch = 40

[[detail]]
kind = "apron"
width = 2600
corners = "welded"

[[detail]]
kind = "ridge saddle"
corners = "welded"

[[detail]]
kind = "lead slate"
pipe = 110

[[detail]]
kind = "apron"
width = 700
corners = "bossed"
"""


def test_a_ticket_with_welding_carries_fire_and_fume(tmp_path):
    path = tmp_path / "welded.toml"
    path.write_text(WELDED, encoding="utf-8")
    pieces = pieces_of(read_jobs([path])[0])[0]
    welded = {piece.id for piece in pieces if is_welded(piece.pattern)}
    assert {piece.pattern.family for piece in pieces if piece.id in welded} == {
        "apron", "gusset", "ridge saddle", "lead slate", "sleeve",
    }  # fmt: skip
    long, bossed = ([p for p in pieces if p.detail == name and p.pattern.family == "apron"] for name in ("A1", "A2"))
    assert len(long) == 2
    assert {p.id for p in long} <= welded
    assert not {p.id for p in bossed} & welded
    assert len(cautions.for_piece(welded=True, turned_in=True, heavy=True)) == 5
    assert any("fire and fume" in line for line in cautions.for_piece(welded=True, turned_in=True, heavy=True))


def test_nothing_pricks_or_scribes_lead(demo):
    words = unescape(demo[1].html).lower()
    assert not re.search(r"\bprick|\bscribe|set off every", words)
    assert "mark off every a" in words


@for_all(st.one_of(step_flashings(), aprons(), cover_flashings(), soakers()))
def test_random_pieces_can_be_drawn_again_within_their_rounding(detail):
    for piece in random_pieces(detail):
        marked = marking(piece.pattern)
        points = {p.key: (p.along_mm, p.square_mm) for p in marked.points}
        redrawn = shapely.Polygon([points[key] for key in marked.lines[0].keys])
        x1 = max(x for x, _ in piece.pattern.outline)
        true = shapely.Polygon([(x1 - x if piece.pattern.mirrored else x, y) for x, y in piece.pattern.outline])
        reach = math.sqrt(2) * marked.worst.rounding_mm + (CURVE_MARK_MM if marked.curved else 0.0)
        assert shapely.hausdorff_distance(redrawn.exterior, true.exterior) <= reach + 1e-6
        assert abs(redrawn.area - true.area) <= reach * true.length + 4 * len(points) * reach**2


def test_only_curves_are_called_curves(demo):
    batch, reader = demo
    for page, group in zip(reader.pages, alike(batch.pieces), strict=True):
        turns = len(group[0].pattern.outline) + sum(map(len, group[0].pattern.holes))
        marked = marking(group[0].pattern)
        corners = sum(len(line.keys) for line in marked.lines if line.kind in (LineKind.OUTLINE, LineKind.HOLE))
        told = any("bend a lath" in item for item in page["items"])
        round_holes = any(line.ellipse for line in marked.lines)
        assert told == bool(marked.curves)
        assert round_holes == (ROUND in str(page))
        assert marked.curved == (told or round_holes)
        assert corners < turns if marked.curved else corners == turns
    families = {p.pattern.family for p in batch.pieces if marking(p.pattern).curved}
    assert families == {"lead slate", "sleeve", "plain shape"}


def test_feet_of_risers_and_ends_of_folds_off_the_water_line_are_named():
    """Steps on a tongue have feet of their own, as have those whose ends were chosen on the wall."""
    batch = batch_of([path for path in FILES if path.stem == "chapel"])
    by_label = {p.detail: p for p in batch.pieces}
    upper = marking_order(by_label["S2"].pattern, marking(by_label["S2"].pattern))[1]
    assert upper.endswith("the feet of the risers and the ends of the folds, but set out 3a, 4a and 12e by the table.")
    lower = marking_order(by_label["S1"].pattern, marking(by_label["S1"].pattern))[1]
    assert lower.endswith("every a, the feet of the risers and the ends of the folds, but set out 4e by the table.")
    rubble = marking_order(by_label["S3"].pattern, marking(by_label["S3"].pattern))[1]
    assert rubble.endswith(
        "On it mark off 1a. Set out 2a, 3a, 4a, 5a, 6a, 7a and 7e, the other feet of the risers and ends of the folds, "
        "by the table."
    )


def test_pieces_alike_say_in_one_when_they_are_fitted():
    """It was "2 of 4, 3 of 4", which reads as a part of a part."""
    page = tickets_html(batch_of([path for path in FILES if path.stem == "garden-room"]))
    assert "; fit second and third of 4, from the left" in page
    assert "2 of 4, 3 of 4" not in page


@cache
def of_fixture(*names):
    """Pieces of a few fixtures by their numbers."""
    files = (path for path in (*FILES, *(ROOT / "fixtures" / "golden" / "jobs").glob("*.toml")) if path.stem in names)
    return {p.id: p for p in batch_of(sorted(files)).pieces}


def test_numbers_in_a_row_are_said_as_people_say_them():
    said = ["first", "tenth", "11th", "12th", "13th", "21st", "22nd", "23rd", "24th", "101st", "112th"]
    assert [_ordinal(n) for n in (1, 10, 11, 12, 13, 21, 22, 23, 24, 101, 112)] == said


def test_a_sleeve_says_how_it_is_rolled_and_how_its_seam_is_closed():
    piece = of_fixture("garden-room")["QB-P1-2"]
    marked = marking(piece.pattern)
    names = {point.key: point.name for point in marked.lettered}
    assert names["A"] == "top of the sleeve meets the inner edge of the seam"
    assert names["F"] == "line of the inner edge, at the top of the sleeve", "an edge has one name at both of its ends"
    assert [line.replace("\u2060", "") for line in folding_order(piece.pattern, marked)] == [
        "Roll it round, weather face outwards, until E–A lies under the line F–D: the seam laps by 25 mm.",
        "Have the seam leadwelded down B–C by somebody trained for it.",
    ]
    assert welding_order(piece.pattern, marked) == ["Leadweld, edge to edge: its foot, C–curve 1–E, to the base."]
    assert cutting_order(piece.pattern, marked)[-1] == "For a lapped seam add the lap before cutting: C–curve 1–E."
    base = of_fixture("garden-room")["QB-P1-1"].pattern
    assert welding_order(base, marking(base)) == ["The foot of the sleeve is leadwelded into the hole, edge to edge."]


def test_what_a_user_drew_is_told_by_what_the_drawing_shows(demo):
    """Folds, cuts and edges of a shape of the user's bear numbers, which stand nowhere on the sheet."""
    plate = of_fixture("counter-order")["C4-P1-1"].pattern
    assert folding_order(plate, marking(plate)) == ["Line 2 (fold 1): fold forward 90°."]
    (tab,) = (p.pattern for name, p in of_fixture("pipes-and-plates").items() if name == "PP-P3-1")
    assert folding_order(tab, marking(tab)) == ["N–P (fold 1): fold back 90°."]
    for pattern in (plate, tab, *(piece.pattern for piece in demo[0].pieces)):
        assert not [p for p in marking(pattern).lettered if re.search(r"edge \d", p.name)]


def test_one_step_is_not_told_as_many():
    pattern = of_fixture("chimney")["TR-S1-R1"].pattern
    marked = marking(pattern)
    told = [*marking_order(pattern, marked), *cutting_order(pattern, marked), *folding_order(pattern, marked)]
    assert not [line for line in told if re.search(r"\b(every|each turn-in|feet|ends of the folds|next a)\b", line)]
    assert "On it mark off 2a, the foot of the riser, and 2e, the end of the fold." in told[1]
    assert "Along the top of the turn-in, 2c–2d; the waste drops out." in told


def test_only_lengths_that_are_welded_bear_the_caution():
    """The upper of two lengths that meet at a change of pitch has snips and no weld."""
    pieces = of_fixture("sprocketed")
    assert [is_welded(pieces[name].pattern) for name in ("SE-S2-R1", "SE-S2-R2")] == [True, False]


def test_points_of_one_piece_have_names_of_their_own():
    """Where the same two edges meet at both ends, the names were the same words turned about."""
    names = Counter(point.name for point in marking(of_fixture("chimney")["TR-A1-1"].pattern).lettered)
    assert max(names.values()) == 1
    assert {"square end meets the return turn-in, left", "square end meets the return turn-in, right"} <= set(names)
    laps = [p.name for p in marking(of_fixture("raked-risers")["RR-S1-R1"].pattern).lettered if "lap" in p.name]
    assert laps == ["lap: start of the length above, at the roof edge"], "it leans, and so had a left end"


def test_soakers_of_no_hand_say_how_the_other_hand_is_made(tmp_path):
    job = 'name = "J"\npitch = 40\ncovering = "plain tile 265"\n[[detail]]\nkind = "soakers"\ncount = 40\n'
    path = tmp_path / "job.toml"
    path.write_text(job)
    assert "for a left one turn the blank over" in tickets_html(batch_of([path]))
    path.write_text(f'{job}hands = "pair"\n')
    assert "turn the blank over" not in tickets_html(batch_of([path]))


@pytest.mark.parametrize(("depth", "painted"), [(25.0, False), (50.0, False), (51.0, True)])
def test_a_ticket_asks_for_paint_on_a_deep_turn_in(depth, painted):
    """Source: NHBC Standards 7.2.20 Table 22 note 2."""
    own = head(label="C1", lap_mm=100.0)
    pieces, _ = pieces_of([Job("J", "J", "j.toml", "", "moderate", (CoverFlashing(own, 900.0, 0.0, 100.0, depth),))])
    lines = fixing_lines(pieces[0], practice())
    assert any("Bitumen paint on both sides" in line and "note 2" in line for line in lines) is painted


KEY = re.compile(r"\d+[a-e]|[A-Z]{1,3}")


def test_every_letter_that_a_ticket_speaks_of_stands_in_its_tables_and_in_its_picture(demo):
    """A worker who is told to join Z to E, or to stop dead on H, must find both."""
    _, reader = demo
    articles = reader.html.split("<article")[1:]
    told = 0
    for page, article in zip(reader.pages, articles, strict=True):
        points = reader.points_of(page)
        chains = " ".join(page["items"])
        keys = {key for chain in re.findall(r"\w+(?:–\w+)+", chains) for key in chain.split("–") if KEY.fullmatch(key)}
        keys |= set(re.findall(r"(?:dead on|, at) (\w+)(?=\.| ·)", chains + page["facts"])) - {"a"}
        assert keys <= set(points), page["title"]
        picture = article.split("</svg>")[1]
        drawn = re.findall(r'class="letter key"[^>]*>([^<]+)<', picture)
        capitals = {key for key in points if key.isalpha()}
        assert capitals <= set(drawn), page["title"]
        assert len(drawn) == len(set(drawn)), page["title"]
        told += len(keys)
    assert told > 500


def test_the_number_of_a_step_stands_on_its_tooth():
    """Where a tongue's mark fills the tooth, the number went below the water line, beside letters of points."""
    seen = 0
    for piece in planned("sprocketed")[1]:
        marked, scale = marking(piece.pattern), 5.0
        picture = ticket_picture(piece.pattern, marked, piece.id, piece.fixings, scale)
        blank = re.search(r' y="([\d.]+)" width="[\d.]+" height="([\d.]+)" class="blank"', picture)
        bottom = sum(map(float, blank.groups()))
        drawn = re.findall(r' y="([\d.]+)" class="letter key"[^>]*>(\d+)<', picture) if marked.steps else []
        for y, step in drawn:
            end = marked.fold_end(int(step))
            foot = min(marked.point(f"{step}a").square_exact_mm, end.square_exact_mm)
            if abs(end.along_exact_mm - marked.point(f"{step}b").along_exact_mm) < 40.0:
                continue  # so small a tooth has no room
            assert bottom - (float(y) - 0.9) >= foot / scale - 0.01, (piece.id, step)
            seen += 1
    assert seen > 40


def test_no_key_takes_a_part_of_a_cut_away():
    """Numbers of narrow last steps stood on the end cut, letters at the side of an apron on its edge: white round them,
    they broke the line that is cut."""
    seen = 0
    for job in ("sprocketed", "old-brick", "long-walls", "tiled-stack"):
        for piece in planned(job)[1]:
            marked, scale = marking(piece.pattern), 6.0
            picture = ticket_picture(piece.pattern, marked, piece.id, piece.fixings, scale)
            blank = re.search(r' y="([\d.]+)" width="[\d.]+" height="([\d.]+)" class="blank"', picture)
            bottom = sum(map(float, blank.groups()))
            ring = [(SIDE + along / scale, bottom - up / scale) for along, up in piece.pattern.outline]
            edge = shapely.LinearRing(ring)
            for at, base, key in re.findall(r'<text x="([\d.]+)" y="([\d.]+)" class="letter key"[^>]*>(\w+)<', picture):
                half = 0.85 * len(key)
                box = shapely.box(float(at) - half, float(base) - 2.0, float(at) + half, float(base))
                assert not box.intersects(edge), (piece.id, key)
                seen += 1
    assert seen > 300


def test_no_key_stands_on_a_sign(demo):
    """The number of a turn-in stood on the wedge in its middle."""
    seen = 0
    for article in demo[1].html.split("<article")[1:]:
        picture = article.split("</svg>")[1]
        signs = re.findall(r'<path d="([^"]+)" class="fixing', picture)
        corners = [tuple(map(float, xy)) for d in signs for xy in re.findall(r"([-\d.]+) ([-\d.]+)", d)]
        dots = [match.start() for match in re.finditer('r="0.5"', picture)]
        assert not signs or max(dots, default=0) < picture.index('class="fixing'), "a dot at an arris hides its wedge"
        for x, y in re.findall(r'<text x="([\d.]+)" y="([\d.]+)" class="letter key"', picture):
            key = shapely.box(float(x) - 0.7, float(y) - 1.7, float(x) + 0.7, float(y))
            assert not key.intersects(shapely.MultiPoint(corners)), article[:200]
            seen += 1
    assert seen > 100


def test_no_guide_lies_along_a_line_of_the_piece_or_runs_on_from_it(demo):
    """A fold under a guide looks like no fold: its dashes are filled; a snip that runs on in a guide is cut too far."""
    run_on = 0

    def stretches(article, class_):
        for d in re.findall(rf'<path d="([^"]+)" class="{class_}"', article):
            for contour in d.split("M")[1:]:
                ends = [tuple(map(float, at.split())) for at in contour.rstrip("Z").split("L")]
                yield from pairwise(ends)

    for article in demo[1].html.split("<article")[1:]:
        picture = article.split("</svg>")[1]
        lines = [shapely.LineString(ends) for ends in stretches(picture, '(?:fold|snip|mark)[^"]*')]
        for ends in stretches(picture, "guide"):
            guide = shapely.LineString(ends)
            for line in lines:
                assert guide.intersection(line.buffer(0.1, cap_style="flat")).length < 0.5, article[:200]
                if any(max(c) - min(c) < 0.15 for c in zip(*ends, *line.coords, strict=True)):
                    assert guide.distance(line) > 0.7, article[:200]
                    run_on += guide.distance(line) < 1.0
    assert run_on > 20
    assert re.search(r"\.guide\{stroke-dasharray:[\d.]+ [\d.]+\}", demo[1].html), "what is not cut is broken"


def test_a_step_at_an_arris_that_is_snipped_open_says_how_far_it_is_whole(demo):
    batch, _ = demo
    piece = next(p for p in batch.pieces if p.id == "RY-S1-R1")
    marked = marking(piece.pattern)
    (told,) = (line for line in marking_order(piece.pattern, marked) if "arris" in line)
    assert told == "Step 3 begins at the arris: 3a–F lies on the fold and is not cut."
    assert any("C–F" in line for line in cutting_order(piece.pattern, marked))
    whole = next(p for p in batch.pieces if p.id == "TR-V1-L1")
    assert any("1a–1b lies on the fold" in line for line in marking_order(whole.pattern, marking(whole.pattern)))


def test_what_is_to_be_done_stands_in_the_order_of_the_work(demo):
    """Fixing stood before marking, and leadwelding among the cuts, before the folds that bring the edges together."""
    _, reader = demo
    order = ["Lines, by their points", "Mark", "Cut", "Fold", "Roll", "Weld", "Fix"]
    seen = set()
    for page in reader.html.split("<article")[1:]:
        heads = [order.index(head) for head in re.findall(r"<h2[^>]*>([^<]+)</h2>", page) if head in order]
        assert heads == sorted(heads)
        seen |= set(heads)
    assert seen == set(range(len(order)))


def test_corners_are_bossed_with_the_arrises_before_the_gutter_is_dressed_down():
    """Bossing stood last, behind the fillet that is dressed down on the roof."""
    pattern = of_fixture("whole-chimney")["RY-G1-1"].pattern
    words = [line.split(":")[0] for line in folding_order(pattern, marking(pattern))]
    (boss,) = (at for at, line in enumerate(words) if line.startswith("Boss the corners"))
    assert words.index("Right arris") < boss < words.index("Foot of the fillet") < words.index("Crest of the fillet")


def test_a_single_snip_is_told_as_one():
    piece = next(p for p in planned("old-brick")[1] if p.id == "OB-S1-R1")
    cuts = cutting_order(piece.pattern, marking(piece.pattern))
    assert cuts[0].startswith(
        "The snip first, while the strip is stiff: straight down the riser, 3c–3a. Stop dead on 3a;"
    )


def test_edges_to_be_welded_are_named(demo):
    """Each edge that the pattern calls a weld, by the two points that it runs between or by its side."""
    batch, _ = demo
    told = {}
    for piece in batch.pieces:
        found = [line for line in welding_order(piece.pattern, marking(piece.pattern)) if "Leadweld" in line]
        assert len(found) == any(edge.use in WELDS for edge in piece.pattern.edges)
        for line in found:
            told[piece.id] = line.partition(": ")[2].removesuffix(".")
    assert told["C4-A1-1"] == "C–D–E and P–Q–R"
    assert told["C4-A1-2"] == "the lower edge (174 mm) and the left edge (150 mm)", "of two that weld to others as long"
    assert told["QB-P1-2"] == "its foot, C–curve 1–E, to the base"
    assert told["QB-R1-2"] == "B–C–A"
    gussets = {hand: told[f"RY-G2-{n}"] for hand, n in (("left", 2), ("right", 3))}
    assert gussets == {"left": "D–E–F–G–A", "right": "D–E–F–G–A"}


def test_corners_of_a_hole_are_told_where_nothing_else_is_lettered(demo):
    _, reader = demo
    page = next(page for page in reader.pages if page["title"] == "C4-P1-1")
    (where,) = (where for _, what, where in plain_rows(page) if what == "hole")
    assert where == "its 12 corners in turn, in the table below"
    assert curves_of(page, "hole")["hole"][:2] == [(170, 190), (170, 220)]
    assert "Set out the corners of a hole by their own table, and join each to the next." in page["items"]
    assert "Then cut out the hole." in page["items"]


def test_feet_of_fillets_are_dressed_before_their_crests(demo):
    batch, _ = demo
    orders = [folding_order(piece.pattern, marking(piece.pattern)) for piece in batch.pieces]
    asked = [[line.split()[0] for line in order if "of the fillet" in line] for order in orders]
    assert ["Foot", "Foot", "Crest", "Crest"] in asked
    assert all(sorted(words, reverse=True) == words for words in asked)


def test_a_ticket_names_order_day_note_and_roll(tmp_path):
    job = tmp_path / "porch.toml"
    job.write_text(
        'name = "Porch"\ncustomer = "Hollin Roofing"\nsite = "12 Quernlathe Lane"\n'
        'order = "417"\ndue = 2026-12-04\nnotes = "Ring first."\npitch = 40\n'
        '[[detail]]\nkind = "apron"\nwidth = 900\n'
    )
    html = unescape(tickets_html(batch_of([job])))
    assert "; for Hollin Roofing; site 12 Quernlathe Lane; order 417; due 2026-12-04" in html
    assert "Job note: Ring first." in html


def test_a_ticket_names_the_rolls_that_its_pieces_lie_on(two_codes):
    html = tickets_html(two_codes)
    for sheet in two_codes.sheets:
        assert re.search(rf"Cut (\d+ )?from [^·]*{sheet.id}", html)


def test_a_ticket_says_how_many_are_cut_from_each_roll(two_codes):
    first, *_ = two_codes.sheets
    others = tuple(replace(first, id=f"{first.id}-{n}") for n in range(2, 6))
    laid = Counter(p.id for p in first.nested.placements)
    piece = next(group[0] for group in alike(two_codes.pieces) if len(group) == 1 and group[0].id in laid)
    count = laid[piece.id]
    for sheets, said in (
        ((first,), f"Cut from {first.id}"),
        ((first, *others[:1]), f"Cut {count} from {first.id}, {count} from {first.id}-2"),
        ((first, *others), f"{count} from {first.id}-3, {2 * count} from 2 more"),
    ):
        assert said in tickets_html(replace(two_codes, pieces=(piece,), sheets=sheets))


def test_the_report_leads_to_the_ticket_of_each_piece(two_codes):
    report, tickets = report_html(two_codes, account(two_codes)), tickets_html(two_codes)
    led = re.findall(r'<a href="tickets.html#([^"]*)">([^<]*)</a>', report)
    assert {name for _, name in led} == {piece.id for piece in two_codes.pieces}
    heads = dict(re.findall(r'<article [^>]*id="([^"]*)"[^>]*><header><h1>([^<]*)</h1>', tickets))
    assert all(name in heads[place].split(", ") for place, name in led)


def test_rows_of_a_curve_are_alike_and_run_away_from_the_corner(demo):
    _, reader = demo
    told = 0
    for page in reader.pages:
        tables = [top for top, *_ in page["tables"] if top[0].startswith("curve")]
        for name in {top[0] for top in tables}:
            rows = [[int(cell) for cell in top[1:]] for top in tables if top[0] == name]
            sizes = [len(row) for row in rows]
            assert max(sizes) - sizes[-1] < len(rows), (page["title"], sizes)
            assert rows[0][0] <= rows[-1][-1]
            told += len(rows) > 1
    assert told > 2


def test_half_a_sheet_is_never_left_empty(demo):
    """A small ticket without another beside it fills a sheet of its own."""
    html = demo[1].html
    pairs = re.findall(r'<div class="pair">(.*?)</article></div>', html)
    assert len(pairs) > 3
    for pair in pairs:
        assert pair.count("<article") == 2
    assert html.count('class="ticket half') == 2 * len(pairs)
    alone = re.search(r'<article class="ticket ([a-z]+)[^>]*><header><h1>GEA-K1-L1<', html)
    assert alone[1] in {"side", "over"}


def scale_of(page):
    return float(re.search(r"drawn 1.:.([\d.]+)", page["facts"].replace("\xa0", " "))[1])


def test_a_small_piece_with_steps_is_drawn_beside_its_words_where_it_is_larger_there(demo):
    """A corner piece of 344 x 270 was drawn at 1 : 6 over its words, on a page a third of which was empty."""
    _, reader = demo
    scales = {page["title"]: scale_of(page) for page in reader.pages}
    assert scales["TR-S1-R1"] <= 3.5


def test_pieces_that_are_alike_on_other_joints_say_which(tmp_path):
    wall = tmp_path / "wall.toml"
    wall.write_text(
        'name = "Long wall"\npitch = "9:12"\nlongest = 1219\n[[detail]]\nkind = "step flashing"\nlength = 5030\n'
        'hands = "right"\nwater_line = 76\nlap = 152\ncoursing = { gauge = 79.375, first_joint = 95.25 }\n'
    )
    several = [page for page in Ticket(tickets_html(batch_of([wall]))).pages if ", " in page["title"]]
    assert several
    for page in several:
        first, second = page["title"].split(", ")[:2]
        assert re.search(rf"Steps \d+ to \d+ here, of {first}, are \d+ to \d+ of {second}", page["facts"])


def test_no_letter_of_a_point_looks_like_a_figure(demo):
    for piece in demo[0].pieces:
        assert not {point.key for point in marking(piece.pattern).points} & {"I", "O"}


def test_a_letter_stands_nearest_to_its_own_point(demo):
    """M and N side by side, each nearer to the other's point, were taken for each other."""
    off = told = 0
    for article in demo[1].html.split("<article")[1:]:
        picture = article.split("</svg>")[1]
        dots = [(float(x), float(y)) for x, y in re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="0.5"', picture)]
        letters = re.findall(r'<text x="([\d.]+)" y="([\d.]+)" class="letter key"[^>]*>([A-Z]+)<', picture)
        for own, (x, y, _) in zip(dots, letters, strict=True):
            far = math.dist(own, (float(x), float(y) - 0.9))
            off += any(math.dist(dot, (float(x), float(y) - 0.9)) < far for dot in dots if dot != own)
            told += 1
    assert told > 300
    assert off <= 0.005 * told, "but where points crowd within a letter's breadth"


def along_of(picture):
    """Distances along as a drawing has them below the blank: where each leader begins, and its figure there."""
    y, high = map(float, re.search(r' y="([\d.]+)" width="[\d.]+" height="([\d.]+)" class="blank"', picture).groups())
    edge, told = y + high, {}
    ends = {}
    for leader in re.search(r'<path d="M([^"]+)" class="leader"', picture)[1].split("M"):
        corners = [tuple(map(float, at.split())) for at in leader.split("L")]
        if corners[-1][1] > edge + 1.0:
            assert corners[0][1] == pytest.approx(edge, abs=0.01)
            ends[corners[-1][0]] = corners[0][0]
    figure = r'<text x="([-\d.]+)" y="([\d.]+)" class="figure" text-anchor="\w+" transform="[^"]+">(\d+)<'
    for x, y, words in re.findall(figure, picture):
        if float(y) > edge:
            at = min(ends, key=lambda end: abs(end + 0.875 - float(x)))
            assert at + 0.875 == pytest.approx(float(x), abs=0.01)
            told[int(words)] = ends[at], at
    return told


def test_every_lettered_corner_of_the_outline_has_its_own_figure_along(demo):
    """A figure within 2.9 mm of another was left out, and the neighbour's, up to 18 mm off, was read for it."""
    _, reader = demo
    articles = zip(alike(demo[0].pieces), reader.html.split("<article")[1:], reader.pages, strict=True)
    drawn = [(group[0], article.split("</svg>")[1], scale_of(page)) for group, article, page in articles]
    for job in ("sprocketed", "raked-risers", "welded-stacks"):
        for piece in planned(job)[1]:
            marked = marking(piece.pattern)
            scale = max(marked.length_mm / 250.0, marked.width_mm / 80.0)
            drawn.append((piece, ticket_picture(piece.pattern, marked, piece.id, piece.fixings, scale), scale))
    lacking = []
    for piece, picture, scale in drawn:
        marked, told = marking(piece.pattern), along_of(picture)
        corners = [p for p in marked.lettered if p.key in marked.lines[0].keys]
        lacking += [f"{piece.id} {p.key} {p.along_mm}" for p in corners if p.along_mm not in told]
        for along, (x, _) in told.items():
            off = (SIDE + marked.length_mm / scale - x if piece.pattern.mirrored else x - SIDE) * scale - along
            assert abs(off) <= 0.51 + 0.01 * scale, (piece.id, along)
        places = sorted(at for _, at in told.values())
        assert all(b - a > 2.89 for a, b in pairwise(places)), piece.id
        assert not places or SIDE - 2.01 < places[0] <= places[-1] < SIDE + marked.length_mm / scale + 2.01, piece.id
    assert lacking == []
    assert len(drawn) > 100


def test_a_row_that_cannot_hold_all_figures_keeps_the_corners_of_the_outline():
    piece = next(p for p in planned("sprocketed")[1] if p.id == "SE-S2-R1")
    marked = marking(piece.pattern)
    told = along_of(ticket_picture(piece.pattern, marked, piece.id, piece.fixings, 50.0))
    corners = {p.along_mm for p in marked.lettered if p.key in marked.lines[0].keys}
    feet = {p.along_mm for p in marked.points if p.use is StationUse.RISER_FOOT}
    assert corners <= set(told)
    assert feet - set(told)
    places = sorted(at for _, at in told.values())
    assert all(b - a > 2.89 for a, b in pairwise(places))
    assert places[-1] < SIDE + marked.length_mm / 50.0 + 2.01


def key_of(piece):
    marked = marking(piece.pattern)
    return re.findall(r'<path d="([^"]+)" class="([^"]+)"', step_key(marked, piece.pattern))


def test_the_key_to_a_step_draws_the_water_line_level_and_cuts_no_fold(demo):
    by_id = {piece.id: piece for piece in demo[0].pieces}
    rubble = {class_: d for d, class_ in key_of(by_id["NB-S3-R1"])}
    (_, y0), (_, y1) = (
        (float(x), float(y)) for x, y in (at.split() for at in rubble["mark water-line"][1:].split("L"))
    )
    assert y0 == y1, "feet of risers stand above it"
    kinds = [class_ for _, class_ in key_of(by_id["TR-S1-R1"])]
    assert kinds.count("fold back") == 2, "the step begins at the arris"
    assert kinds.count("snip") == 1
    assert [class_ for _, class_ in key_of(by_id["TR-S1-R2"])].count("snip") == 2


def test_one_sheet_with_gussets_is_not_fitted_from_the_left(demo):
    _, reader = demo
    facts = {page["title"]: page["facts"] for page in reader.pages}
    assert "fit first of 2" in facts["C4-A1-1"]
    assert "from the left" not in facts["C4-A1-1"]
    assert "from the left" in facts["C4-C1-1"]
