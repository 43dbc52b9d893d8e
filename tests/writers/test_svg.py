import re
import xml.etree.ElementTree as ET
from collections import Counter

import numpy as np
import pytest
import shapely
import svgelements
from hypothesis import given, settings

from cutpath.drawing.sheet import draw
from cutpath.values.drawing import Drawing, Role, Stroke
from cutpath.writers.svg import ROLE_GROUPS, to_svg
from tests.drawing.specimens import PIECES, full_sheet, sheets
from tests.writers.test_dxf import assert_outlines_come_back

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def full():
    return draw(full_sheet(), PIECES, caution="Never score a fold.")


def tree(text):
    return ET.fromstring(text)  # noqa: S314 - our own output


def height_mm(text):
    return float(re.fullmatch(r"([\d.]+)mm", tree(text).get("height"))[1])


def read(text, folder):
    """Read back with svgelements: group and geometry of every path in the file's own units, y pointing up again."""
    file = folder / "roll.svg"
    file.write_text(text, encoding="utf-8")
    page = svgelements.SVG.parse(str(file), ppi=25.4, reify=False)  # its own inch is 5e-7 off; units: see below
    top = height_mm(text)
    groups, shapes = [], []
    for group in page:
        if not isinstance(group, svgelements.Group):
            continue
        for path in group:
            if not isinstance(path, svgelements.Path):
                continue
            points = [(float(s.end.x), top - float(s.end.y)) for s in path]
            closed = isinstance(path[-1], svgelements.Close)
            groups.append(group.id)
            shapes.append(shapely.Polygon(points[:-1]) if closed else shapely.LineString(points))
    return np.array(groups), np.array(shapes)


@given(roll=sheets())
@settings(max_examples=5)
def test_svgelements_reads_back_every_outline(tmp_path_factory, roll):
    groups, shapes = read(to_svg(draw(roll, PIECES)), tmp_path_factory.mktemp("svg"))
    assert_outlines_come_back(roll, np.char.upper(groups), shapes)


def test_every_stroke_comes_back_in_its_group(tmp_path, full):
    text = to_svg(full, validate=True)
    groups, shapes = read(text, tmp_path)
    assert Counter(groups) == Counter(ROLE_GROUPS[s.role] for s in full.strokes)
    expected = [s for role in Role for s in full.strokes if s.role is role]
    for stroke, shape in zip(expected, shapes, strict=True):
        assert shape.geom_type == ("Polygon" if stroke.closed else "LineString")
        own = shapely.Polygon(stroke.points) if stroke.closed else shapely.LineString(stroke.points)
        assert shapely.hausdorff_distance(own, shape) < 1e-6


def test_one_unit_is_one_millimetre_and_the_page_covers_every_stroke(full):
    page = tree(to_svg(full))
    points = np.array([p for s in full.strokes for p in s.points])
    wide, high = points.max(axis=0) + 5.0
    assert (page.get("width"), page.get("height")) == (f"{wide:g}mm", f"{high:g}mm")
    assert page.get("viewBox") == f"0 0 {wide:g} {high:g}"


def test_svgelements_agrees_on_the_unit(tmp_path, full):
    file = tmp_path / "roll.svg"
    file.write_text(to_svg(full), encoding="utf-8")
    page = svgelements.SVG.parse(str(file), ppi=25.4)
    assert float(page.viewbox.width) == pytest.approx(page.width, rel=1e-6)
    bars = [p for p in page.elements() if re.fullmatch(r"M0,(.+) L100,\1", str(p.values.get("d")))]
    assert [p.bbox()[2] - p.bbox()[0] for p in bars] == pytest.approx([100.0], abs=1e-3)


def test_strokes_left_of_or_below_the_roll_stay_on_the_page():
    line = Stroke(Role.REFERENCE, ((-20.0, -30.0), (50.0, 60.0)), closed=False, piece="", name="bar")
    text = to_svg(Drawing("t", 100.0, 80.0, (line,)))
    assert tree(text).get("viewBox") == "0 0 125 115"
    assert 'd="M0,115 L70,25"' in text


def test_groups_have_an_id_and_a_title(full):
    page = tree(to_svg(full))
    groups = page.findall(f"{SVG}g")
    assert [g.get("id") for g in groups] == list(ROLE_GROUPS.values())
    assert all(g[0].tag == f"{SVG}title" and g[0].text for g in groups)
    assert page.find(f"{SVG}title").text == full.title


def test_an_outline_is_titled_with_its_piece(full):
    outer = tree(to_svg(full)).find(f"{SVG}g[@id='outer']")
    titles = [p.find(f"{SVG}title").text for p in outer.findall(f"{SVG}path")]
    assert titles == [s.piece for s in full.strokes if s.role is Role.OUTER]


def test_only_plain_elements_and_plain_numbers(full):
    text = to_svg(full)
    page = tree(text)
    assert {e.tag.removeprefix(SVG) for e in page.iter()} == {"svg", "title", "desc", "defs", "g", "path"}
    assert page.find(f"{SVG}defs").attrib == {}
    assert not any(k in {"transform", "style", "class"} for e in page.iter() for k in e.attrib)
    for path in page.iter(f"{SVG}path"):
        numbers = path.get("d").replace("M", "").replace("L", "").replace("Z", "").replace(",", " ").split()
        assert all(re.fullmatch(r"-?(0|[1-9]\d*)(\.\d{0,6}[1-9])?", n) and n != "-0" for n in numbers), numbers


@pytest.mark.parametrize(
    ("value", "plain"), [(-0.0, "0"), (-1e-9, "0"), (1e-5, "0.00001"), (6000.0, "6000"), (0.1 + 0.2, "0.3")]
)
def test_numbers(value, plain):
    line = Stroke(Role.FOLD, ((value, 0.0), (9000.0, 0.0)), closed=False, piece="A", name="f")
    assert f'd="M{plain},105 L9000,105"' in to_svg(Drawing("t", 9000.0, 100.0, (line,)))


def test_no_two_roles_look_alike_by_dash_and_width_or_colour(full):
    page = tree(to_svg(full))
    groups = page.findall(f"{SVG}g")
    assert len({g.get("stroke-width") for g in groups}) == len(Role)
    # Both ends of the roll have one colour: the palette has no more that stand out from white.
    assert len({g.get("stroke") for g in groups}) == len(Role) - 1


def test_the_same_drawing_gives_the_same_text(full):
    assert to_svg(full) == to_svg(full, validate=True)


def test_nothing_to_draw_is_refused():
    with pytest.raises(ValueError, match="nothing to draw"):
        to_svg(Drawing("empty", 100.0, 100.0, ()))
