"""Stick-on labels: page sizes, places on the sheet, words that fit, squares that are read back from the print."""

from __future__ import annotations

import io
import subprocess

import pytest

from cutpath.writers.label_sheets import GRIDS, Label, grid_named, label_sheets, single
from tests.writers.readers import need


def test_a_grid_is_known_by_its_name_and_a_printer_s_page_by_its_size():
    assert grid_named("3x7") is GRIDS["3x7"]
    assert grid_named("62 x 29 mm") == grid_named("62x29mm") == single(62, 29)
    for name in ("9x9", "62 x 29", "5 x 5 mm", "nan x 3 mm", ""):
        with pytest.raises(ValueError, match=r"neither|too small"):
            grid_named(name)


def labels(count: int) -> list[Label]:
    lines = (
        "part roll, code 4",
        "600 x about 2400 mm",
        "29.37 kg, to be measured",
        "the rack behind the long bench, " * 5,
    )
    return [Label(f"S{n:04d}", lines, f"S{n:04d}") for n in range(1, count + 1)]


@pytest.mark.parametrize("name", GRIDS)
def test_every_label_lies_on_the_page_and_on_no_other(name):
    grid = GRIDS[name]
    boxes = []
    for place in range(grid.count):
        x, y = grid.corner_mm(place)
        boxes.append((x, y, x + grid.label_mm[0], y + grid.label_mm[1]))
    assert f"{grid.columns}x{grid.rows}" == name
    for a, box in enumerate(boxes):
        assert min(box[:2]) >= -1e-9
        assert box[2] <= 210.0 + 1e-9
        assert box[3] <= 297.0 + 1e-9
        for other in boxes[:a]:
            assert box[0] >= other[2] - 1e-9 or other[0] >= box[2] - 1e-9 or box[3] <= other[1] + 1e-9


@pytest.mark.parametrize(
    ("grid", "count", "first", "pages", "size_mm"),
    [(GRIDS["3x7"], 21, 1, 1, (210, 297)), (GRIDS["3x7"], 21, 2, 2, (210, 297)), (single(62, 29), 3, 1, 3, (62, 29))],
)
def test_pages_have_their_size_and_no_more_labels_than_places(grid, count, first, pages, size_mm):
    pikepdf = pytest.importorskip("pikepdf")
    data = label_sheets(labels(count), grid, first)
    assert data == label_sheets(labels(count), grid, first)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert len(pdf.pages) == pages
        for page in pdf.pages:
            assert [float(v) * 25.4 / 72 for v in page.mediabox[2:]] == pytest.approx(size_mm, abs=0.01)


@pytest.mark.parametrize("grid", [GRIDS["3x8"], GRIDS["2x7"], single(62, 29), single(25, 12)])
def test_squares_and_words_are_read_back_from_the_print(grid, tmp_path):
    zxingcpp = pytest.importorskip("zxingcpp", reason="no reader of QR codes on this machine")
    from PIL import Image

    tool = need("pdftoppm")
    made = labels(min(4, grid.count))
    (tmp_path / "labels.pdf").write_bytes(label_sheets(made, grid))
    subprocess.run([tool, "-r", "300", "-gray", tmp_path / "labels.pdf", tmp_path / "page"], check=True)
    pages = sorted(tmp_path.glob("page*.pgm"))
    read = {code.text for page in pages for code in zxingcpp.read_barcodes(Image.open(page))}
    assert read == {label.code for label in made}
    text = subprocess.run(
        [need("pdftotext"), "-layout", tmp_path / "labels.pdf", "-"], capture_output=True, text=True, check=True
    ).stdout
    assert all(label.title in text for label in made)
    assert "the rack" in text


@pytest.mark.parametrize("name", GRIDS)
def test_lines_of_a_label_are_of_one_size_and_long_ones_go_on_in_the_next_row(name):
    pikepdf = pytest.importorskip("pikepdf")
    long = "Conservatory and porch behind the Old Malthouse; for Brambleheath and Daughters; order PO-417; due Friday"
    (label,) = [Label("S0001", ("soaker, right hand", long, "from code3-01"), "S0001")]
    with pikepdf.open(io.BytesIO(label_sheets([label], GRIDS[name]))) as pdf:
        ops = pikepdf.parse_content_stream(pdf.pages[0])
    sizes = [float(operands[1]) for operands, operator in ops if str(operator) == "Tf"]
    shown = [bytes(operands[0]).decode("cp1252") for operands, operator in ops if str(operator) == "Tj"]
    own = [size for size in sizes if size != sizes[0]]  # the library begins with a font of its own
    assert min(own) >= 7.0
    assert len(set(own)) <= 2, "a size for the title and one for the lines"
    assert " ".join(shown) == f"S0001 soaker, right hand {long} from code3-01"


def test_what_cannot_be_printed_is_refused():
    for ask in (
        lambda: single(10, 10),
        lambda: label_sheets([], GRIDS["3x7"]),
        lambda: label_sheets(labels(1), GRIDS["3x7"], 22),
    ):
        with pytest.raises(ValueError, match=r"too small|labels from place"):
            ask()
