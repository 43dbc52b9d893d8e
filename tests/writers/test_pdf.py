"""Pages at full size, read back by pikepdf and drawn by poppler."""

from __future__ import annotations

import io
import subprocess
from collections import defaultdict
from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from cutpath.drawing.fold_notes import fold_notes, fold_words
from cutpath.machines import machine
from cutpath.reports.pictures.qr import qr_rows
from cutpath.values.drawing import Drawing, Role, Stroke
from cutpath.values.looks import OF_ROLE
from cutpath.values.machine import Paper
from cutpath.values.pattern import Fold, FoldUse, FoldWay
from cutpath.writers.pages import BELOW_MM, LEFT_MM, lay_pages, row_name
from cutpath.writers.pdf import HOW_TO_PRINT, Cover, to_pdf
from tests.drawing.near import apart_mm
from tests.drawing.specimens import PIECES, full, full_sheet
from tests.writers.readers import need

SHEET = full_sheet()
FULL = full()
A4 = machine("office-printer").paper
ROLL = machine("wide-printer").paper
COVER = Cover("Roll 1", (("Lead", "code 4"),), ("Never score a fold.",))
MM = 25.4 / 72


@cache
def printed(paper):
    return to_pdf(FULL, paper, COVER)


def opened(data):
    import pikepdf

    return pikepdf.open(io.BytesIO(data))


def lines_of(page):
    """Every stroked path of a page: colour and width, points in mm from the lower left corner, closed or not."""
    import pikepdf

    found, path, colour, width, matrix, kept = [], [], None, None, pikepdf.Matrix(), []
    for operands, operator in pikepdf.parse_content_stream(page):
        op = str(operator)
        values = [float(v) for v in operands] if op in ("m", "l", "cm", "RG", "w") else []
        if op == "q":
            kept.append((matrix, colour, width))
        elif op == "Q":
            matrix, colour, width = kept.pop()
        elif op == "cm":
            matrix = pikepdf.Matrix(*values) @ matrix
        elif op == "RG":
            colour = tuple(round(v * 255) for v in values)
        elif op == "w":
            width = round(values[0] * MM, 3)
        elif op == "m":
            path.append([[matrix.transform(values)], False])
        elif op == "l":
            path[-1][0].append(matrix.transform(values))
        elif op == "h":
            path[-1][1] = True
        elif op in ("S", "s", "n", "f"):
            if op == "S":
                found += [((*colour, width), [(x * MM, y * MM) for x, y in points], closed) for points, closed in path]
            path = []
    return found


def colour_of(role):
    look = OF_ROLE[role]
    return (*(int(look.colour[k : k + 2], 16) for k in (1, 3, 5)), look.width_mm)


def words_of(page):
    import pikepdf

    return [
        bytes(operands[0]).decode("cp1252", "replace")
        for operands, operator in pikepdf.parse_content_stream(page)
        if str(operator) == "Tj"
    ]


def laid(drawing, paper):
    points = [p for s in drawing.strokes if s.role is not Role.REFERENCE for p in s.points]
    low = (min(0.0, *(x for x, _ in points)), min(0.0, *(y for _, y in points)))
    high = (max(drawing.length_mm, *(x for x, _ in points)), max(drawing.width_mm, *(y for _, y in points)))
    return lay_pages(low, high, paper)


@pytest.mark.parametrize("paper", [A4, ROLL, Paper(297.0, 420.0, 5.0, 20.0, long=False)], ids=["A4", "roll", "A3"])
def test_the_pages_joined_show_every_line_within_a_fiftieth_of_a_mm(paper) -> None:
    pages = laid(FULL, paper)
    shown = defaultdict(list)
    with opened(printed(paper)) as pdf:
        tiles = {t.name: t for t in pages.tiles}
        for page in list(pdf.pages)[1:]:
            tile = next(tiles[w] for w in words_of(page) if w in tiles)
            left, below = paper.margin_mm + LEFT_MM, paper.margin_mm + BELOW_MM
            window = shapely.box(
                tile.x_mm, tile.y_mm, *(a + w for a, w in zip((tile.x_mm, tile.y_mm), pages.window_mm, strict=True))
            )
            for colour, points, closed in lines_of(page):
                at = [(x - left + tile.x_mm, y - below + tile.y_mm) for x, y in points]
                shown[colour].append(shapely.LineString(at + at[:1] * closed).intersection(window))
    for role in (Role.OUTER, Role.INNER, Role.FOLD):
        wanted = [shapely.LineString(s.points + s.points[:1] * s.closed) for s in FULL.strokes if s.role is role]
        assert apart_mm(shapely.union_all(shown[colour_of(role)]), shapely.union_all(wanted), 0.05) < 0.02


def test_closed_outlines_are_closed_paths() -> None:
    with opened(printed(ROLL)) as pdf:
        outer = [line for line in lines_of(pdf.pages[1]) if line[0] == colour_of(Role.OUTER)]
    assert len(outer) == 12
    assert all(closed for _, _, closed in outer)
    areas = sorted(shapely.Polygon(points).area for _, points, _ in outer)
    assert areas == pytest.approx(
        sorted(shapely.Polygon(s.points).area for s in FULL.strokes if s.role is Role.OUTER), abs=0.05
    )


def test_folds_are_chain_lines_where_asked() -> None:
    import pikepdf

    chained = replace(ROLL, chain_folds=True)
    dashes = {}
    for paper in (ROLL, chained):
        with opened(printed(paper)) as pdf:
            found = {
                tuple(round(float(v) * MM, 3) for v in operands[0])
                for operands, operator in pikepdf.parse_content_stream(pdf.pages[1])
                if str(operator) == "d"
            }
        dashes[paper] = found
    assert dashes[chained] - dashes[ROLL] == {(10.0, 1.5, 1.5, 1.5, 1.5, 1.5)}


def test_every_page_has_both_bars_and_says_how_to_print() -> None:
    with opened(printed(A4)) as pdf:
        assert str(pdf.Root.ViewerPreferences.PrintScaling) == "/None"
        assert len(pdf.pages) > 20
        for page in pdf.pages:
            straight = [points for _, points, _ in lines_of(page) if len(points) == 2]
            assert any(abs(b[0] - a[0]) == pytest.approx(100, abs=1e-3) and a[1] == b[1] for a, b in straight)
            assert any(abs(b[1] - a[1]) == pytest.approx(100, abs=1e-3) and a[0] == b[0] for a, b in straight)
            assert HOW_TO_PRINT in words_of(page)


def test_pages_are_of_the_papers_size_and_names_are_on_the_map() -> None:
    with opened(printed(A4)) as pdf:
        sizes = {tuple(sorted(round(float(v) * MM) for v in page.MediaBox[2:])) for page in pdf.pages}
        assert sizes == {(210, 297)}
        named = {
            w
            for page in list(pdf.pages)[1:]
            for w in words_of(page)
            if len(w) <= 3 and w[:1].isalpha() and w[1:].isdigit()
        }
        assert named <= set(words_of(pdf.pages[0]))
        assert len(named) == len(pdf.pages) - 1


def test_neighbouring_pages_have_their_crosses_in_the_same_place() -> None:
    pages = laid(FULL, A4)
    tiles = {t.name: t for t in pages.tiles}
    middles = {}
    with opened(printed(A4)) as pdf:
        for page in list(pdf.pages)[1:]:
            tile = next(tiles[w] for w in words_of(page) if w in tiles)
            for colour, points, _ in lines_of(page):
                if colour[:3] == (0, 0, 0) and len(points) == 2 and abs(abs(points[1][0] - points[0][0]) - 8) < 1e-3:
                    x = (points[0][0] + points[1][0]) / 2 - A4.margin_mm - LEFT_MM + tile.x_mm
                    y = points[0][1] - A4.margin_mm - BELOW_MM + tile.y_mm
                    middles.setdefault((round(x, 2), round(y, 2)), []).append(tile.name)
    assert middles
    # At an inner corner of the grid up to four pages meet; a page that shows nothing is left out.
    assert all(len(names) >= 2 for names in middles.values())


def test_pages_on_which_nothing_is_drawn_are_left_out() -> None:
    far = lay_pages((0.0, 0.0), (2000.0, 1000.0), A4).tiles[30]
    strokes = tuple(
        Stroke(Role.OUTER, ((x, y), (x + 50.0, y), (x, y + 50.0)), True, name, "outline")
        for x, y, name in ((0.0, 0.0, "a"), (far.x_mm + 30, far.y_mm + 30, "b"))
    )
    drawing = Drawing("far apart", 2000.0, 1000.0, strokes)
    with opened(to_pdf(drawing, A4, COVER)) as pdf:
        assert len(pdf.pages) == 3
    assert len(laid(drawing, A4).tiles) > 50


def test_long_pages_stay_short_enough_for_every_reader() -> None:
    long = Drawing(
        "long", 9000.0, 300.0, (Stroke(Role.OUTER, ((0.0, 0.0), (9000.0, 0.0), (0.0, 300.0)), True, "a", "outline"),)
    )
    with opened(to_pdf(long, ROLL, COVER)) as pdf:
        assert len(pdf.pages) == 5
        assert all(float(v) * MM <= 3000.001 for page in pdf.pages for v in page.MediaBox)


def test_a_renderer_finds_the_bar_100_mm_long(tmp_path) -> None:
    from PIL import Image

    tool = need("pdftoppm")
    source = tmp_path / "a.pdf"
    source.write_bytes(printed(A4))
    subprocess.run(
        [tool, "-r", "254", "-f", "2", "-l", "2", "-gray", "-png", str(source), str(tmp_path / "p")], check=True
    )
    (png,) = tmp_path.glob("p*.png")
    with Image.open(png).convert("L") as picture:
        wide, high = picture.size
        row = picture.crop((0, high - 140 - 2, wide, high - 140 + 2)).resize((wide, 1))
        dark = [x for x in range(wide) if row.getpixel((x, 0)) < 160]
    assert sorted((wide, high)) == pytest.approx([2100, 2970], abs=1)
    assert dark[-1] - dark[0] == pytest.approx(1000, abs=4)


def test_the_same_drawing_gives_the_same_bytes() -> None:
    assert to_pdf(FULL, A4, COVER) == printed(A4)


def test_nothing_to_draw_is_refused() -> None:
    with pytest.raises(ValueError, match="nothing"):
        to_pdf(Drawing("t", 10.0, 10.0, ()), A4, COVER)


def test_folds_say_which_way_they_go_as_the_piece_lies() -> None:
    fold = Fold("joint 1", FoldUse.OWN, (0.0, 0.0), (50.0, 0.0), 90.0, FoldWay.BACK)
    assert fold_words(fold) == "back 90°"
    assert fold_words(fold, flipped=True) == "forward 90°"
    notes = fold_notes(SHEET, PIECES)
    assert len(notes) == sum(len(PIECES[p.id].pattern.folds) for p in SHEET.nested.placements)
    strokes = [shapely.LineString(s.points) for s in FULL.strokes if s.role is Role.FOLD]
    for note in notes:
        assert min(line.distance(shapely.Point(note.at)) for line in strokes) < 1e-6
        assert -90 <= note.turn_deg <= 90
    with opened(to_pdf(FULL, ROLL, COVER, notes)) as pdf:
        written = [w for w in words_of(pdf.pages[1]) if w.startswith(("forward ", "back "))]
    assert len(written) == len(notes)


@given(st.floats(50, 9000), st.floats(50, 1500), st.booleans())
def test_windows_cover_the_drawing_and_overlap(length, width, long) -> None:
    paper = Paper(210.0, 297.0, 10.0, 10.0, long=False) if not long else ROLL
    pages = lay_pages((0.0, 0.0), (length, width), paper)
    assert len(pages.tiles) == pages.rows * pages.columns
    right = max(t.x_mm for t in pages.tiles) + pages.window_mm[0]
    top = max(t.y_mm for t in pages.tiles) + pages.window_mm[1]
    assert min(t.x_mm for t in pages.tiles) < 0
    assert right >= length
    assert top >= width
    xs = sorted({t.x_mm for t in pages.tiles})
    assert all(b - a == pytest.approx(pages.window_mm[0] - paper.overlap_mm) for a, b in pairwise(xs))


def test_rows_are_named_beyond_z() -> None:
    assert [row_name(k) for k in (0, 25, 26, 27, 52)] == ["A", "Z", "AA", "AB", "BA"]


def test_a_square_has_its_finders_and_refuses_too_much() -> None:
    rows = qr_rows("M-S1-R2")
    assert len(rows) == len(rows[0]) == 21
    finder = [row[:7] for row in rows[:7]]
    assert finder[0] == (True,) * 7
    assert finder[1] == (True, False, False, False, False, False, True)
    assert finder[3] == (True, False, True, True, True, False, True)
    with pytest.raises(ValueError, match="too long"):
        qr_rows("x" * 5000)
