import hashlib
import io
import os
import re
import subprocess
import sys
from collections import Counter

import ezdxf
import numpy as np
import pyogrio.raw
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from cutpath.drawing.sheet import copy_name, draw
from cutpath.values.drawing import Drawing, Role, Stroke
from cutpath.values.looks import OF_ROLE
from cutpath.writers.dxf import ROLE_LAYERS, to_dxf
from tests.drawing.specimens import PIECES, full_sheet, sheets
from tests.drawing.test_sheet import moved
from tests.properties.surveys import for_all

RELEASES = ("R2000", "R12")


def read(text, folder):
    """Read back with GDAL: layer name and geometry of every entity."""
    file = folder / "roll.dxf"
    file.write_text(text, encoding="ascii", newline="\n")
    meta, _, wkb, columns = pyogrio.raw.read(file, CLOSED_LINE_AS_POLYGON="YES")
    return columns[list(meta["fields"]).index("Layer")], shapely.from_wkb(wkb)


def tags(text):
    lines = text.splitlines()
    return list(zip((int(code) for code in lines[::2]), lines[1::2], strict=True))


def header(text, name):
    found = tags(text)
    at = found.index((9, name))
    return [value for _, value in found[at + 1 : at + 4]]


def reread(text):
    import ezdxf

    return ezdxf.read(io.StringIO(text))


@pytest.fixture(scope="module")
def full():
    return draw(full_sheet(), PIECES, caution="Never score a fold.")


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("dxf")


def assert_outlines_come_back(roll, layers, shapes):
    """Each placed pattern, moved by shapely from its own frame, has its polygon on the outer layer."""
    outer = shapes[layers == "OUTER"]
    inner = [g for g in shapes[layers == "INNER"] if g.geom_type == "Polygon"]
    assert len(outer) == len(roll.nested.placements)
    holes = 0
    for placement in roll.nested.placements:
        pattern = PIECES[placement.id].pattern
        expected = moved(shapely.Polygon(pattern.outline), placement)
        # Figures are rounded to 6 decimals, next to zero to 4: half a unit of the fourth along the whole edge at most.
        assert shapely.area(shapely.symmetric_difference(outer, expected)).min() <= 0.5e-4 * expected.length
        for hole in pattern.holes:
            holes += 1
            expected = moved(shapely.Polygon(hole), placement)
            assert shapely.area(shapely.symmetric_difference(inner, expected)).min() <= 0.5e-4 * expected.length
    assert len(inner) == holes


@given(sheets(), st.sampled_from(RELEASES))
@settings(max_examples=15)
def test_gdal_reads_back_every_outline(folder, roll, release):
    layers, shapes = read(to_dxf(draw(roll, PIECES), release=release), folder)
    assert_outlines_come_back(roll, layers, shapes)


@pytest.mark.parametrize("release", RELEASES)
def test_every_stroke_comes_back_on_its_layer_in_its_order(folder, full, release):
    layers, shapes = read(to_dxf(full, release=release), folder)
    assert Counter(layers) == Counter(ROLE_LAYERS[s.role] for s in full.strokes)
    assert list(layers) == [ROLE_LAYERS[s.role] for s in full.strokes]
    for stroke, shape in zip(full.strokes, shapes, strict=True):
        points = [*stroke.points, stroke.points[0]] if stroke.closed else stroke.points
        assert shape.geom_type == ("Polygon" if stroke.closed else "LineString")
        read_back = shape.exterior if stroke.closed else shape
        assert np.abs(shapely.get_coordinates(read_back) - np.array(points)).max() <= 0.5e-6
    assert not np.nan_to_num(shapely.get_coordinates(shapes, include_z=True)[:, 2]).any()


def test_r2000_says_millimetres_and_metric(full):
    text = to_dxf(full)
    assert header(text, "$ACADVER")[0] == "AC1015"
    assert header(text, "$INSUNITS")[0].strip() == "4"
    assert header(text, "$MEASUREMENT")[0].strip() == "1"


def test_r12_has_no_unit_and_no_later_entity(full):
    text = to_dxf(full, release="R12")
    assert header(text, "$ACADVER")[0] == "AC1009"
    assert "$INSUNITS" not in text
    assert "LWPOLYLINE" not in text


@pytest.mark.parametrize("release", RELEASES)
def test_extents_are_those_of_the_strokes(full, release):
    text = to_dxf(full, release=release)
    points = np.array([p for s in full.strokes for p in s.points])
    assert [float(v) for v in header(text, "$EXTMIN")] == [0.0, 0.0, 0.0]
    assert [float(v) for v in header(text, "$EXTMAX")] == [*points.max(axis=0), 0.0]
    assert [float(v) for v in header(text, "$LIMMAX")[:2]] == [full.length_mm, full.width_mm]


@pytest.mark.parametrize(
    ("release", "kinds"), [("R2000", {"LINE", "LWPOLYLINE"}), ("R12", {"LINE", "POLYLINE", "VERTEX", "SEQEND"})]
)
def test_only_lines_and_polylines_and_no_line_type(full, release, kinds):
    body = tags(to_dxf(full, release=release))
    entities = body[body.index((2, "ENTITIES")) :]
    entities = entities[: entities.index((0, "ENDSEC"))]
    assert {value for code, value in entities if code == 0} == kinds
    assert not [value for code, value in entities if code in (6, 210, 220, 230)]  # line type, extrusion
    assert {value for code, value in entities if code == 8} == set(ROLE_LAYERS.values())


def test_layers_are_continuous_and_told_apart(full):
    assert len(set(ROLE_LAYERS.values())) == len(Role) == len({look.index for look in OF_ROLE.values()})
    doc = reread(to_dxf(full))
    for role, name in ROLE_LAYERS.items():
        layer = doc.layers.get(name)
        assert layer.dxf.linetype.upper() == "CONTINUOUS"
        assert layer.color == OF_ROLE[role].index
    assert not doc.audit().errors


@pytest.mark.parametrize("name", ROLE_LAYERS.values())
def test_layer_names_suit_old_programs(name):
    assert len(name) <= 31
    assert set(name) <= set("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-")


def test_a_closed_contour_is_closed_by_its_flag_alone(full):
    space = reread(to_dxf(full)).modelspace()
    closed = [p for p in space.query("LWPOLYLINE") if p.closed]
    assert len(closed) == sum(s.closed for s in full.strokes)
    for polyline in closed:
        points = polyline.get_points("xy")
        assert points[0] != points[-1]


RUN = """
import hashlib
from tests.drawing.specimens import PIECES, full_sheet
from cutpath.drawing.sheet import draw
from cutpath.writers.dxf import to_dxf
text = "".join(to_dxf(draw(full_sheet(), PIECES), release=r) for r in ("R2000", "R12"))
print(hashlib.sha256(text.encode()).hexdigest())
"""


@pytest.mark.slow
def test_same_bytes_in_another_process_and_nothing_written_at_home(tmp_path):
    environment = os.environ | {"HOME": str(tmp_path), "PYTHONPATH": os.pathsep.join(["."])}
    environment.pop("XDG_CACHE_HOME", None)
    environment["PYTHONHASHSEED"] = "2" if os.environ.get("PYTHONHASHSEED") == "1" else "1"
    run = subprocess.run([sys.executable, "-c", RUN], env=environment, capture_output=True, text=True, check=True)
    here = "".join(to_dxf(draw(full_sheet(), PIECES), release=r) for r in RELEASES)
    assert (run.stdout.strip(), run.stderr) == (hashlib.sha256(here.encode()).hexdigest(), "")
    assert list(tmp_path.iterdir()) == []


def test_options_of_ezdxf_and_the_cache_folder_are_left_as_they_were(full):
    import ezdxf

    before = os.environ.get("XDG_CACHE_HOME")
    to_dxf(full)
    assert ezdxf.options.write_fixed_meta_data_for_testing is False
    assert os.environ.get("XDG_CACHE_HOME") == before


def test_what_cannot_be_written_is_refused(full):
    with pytest.raises(ValueError, match="release"):
        to_dxf(full, release="R14")
    with pytest.raises(ValueError, match="nothing to draw"):
        to_dxf(Drawing("empty", 100.0, 100.0, ()))


def test_copies_have_their_own_outline(full):
    names = {s.piece for s in full.strokes if s.role is Role.OUTER}
    assert names == {copy_name(PIECES[p.id], p.copy) for p in full_sheet().nested.placements}


FLOATS = {*range(10, 60), *range(110, 150), *range(210, 240), *range(460, 470), *range(1010, 1060)}
"""Group codes whose values are figures (the DXF reference's table of group codes)."""


@pytest.mark.parametrize("release", RELEASES)
def test_no_figure_is_written_with_an_exponent(release) -> None:
    """Old controllers read 3e-07 as 3. Points a hair off zero come from turning shapes; the rest are defaults."""
    near = Stroke(Role.OUTER, ((3e-07, -2e-09), (100.0, 4.4e-16), (100.0, 50.0)), True, "A", "outline")
    drawing = Drawing("roll", 1200.0, 450.0, (*draw(full_sheet(), PIECES).strokes, near))
    figures = [value for code, value in tags(to_dxf(drawing, release=release)) if code in FLOATS]
    assert len(figures) > 500
    assert [value for value in figures if not re.fullmatch(r"\s*-?\d+(\.\d+)?", value)] == []
    assert "-0.0" not in {value.strip() for value in figures}


def entities_by_ezdxf(drawing, release):
    """The entities section that ezdxf writes of the same strokes through its own entities."""
    doc = ezdxf.new(release)
    for stroke in drawing.strokes:
        on = {"layer": ROLE_LAYERS[stroke.role]}
        if len(stroke.points) == 2 and not stroke.closed:
            doc.modelspace().add_line(*stroke.points, dxfattribs=on)
        elif release == "R12":
            doc.modelspace().add_polyline2d(stroke.points, close=stroke.closed, dxfattribs=on)
        else:
            doc.modelspace().add_lwpolyline(stroke.points, close=stroke.closed, dxfattribs=on)
    text = io.StringIO()
    doc.write(text)
    return without_handles(text.getvalue())


def without_handles(text):
    section = text[text.index("ENTITIES") :]
    found = tags(section[section.index("\n") + 1 : section.index("ENDSEC")].rstrip().removesuffix("0").rstrip() + "\n")
    return [(code, value.strip()) for code, value in found if code not in (5, 330)]


coordinates = st.integers(-10_000_000, 90_000_000).map(lambda k: k / 10_000)
strokes = st.builds(
    Stroke,
    st.sampled_from(list(Role)),
    st.lists(st.tuples(coordinates, coordinates), min_size=2, max_size=9, unique=True).map(tuple),
    st.booleans(),
    st.just("A"),
    st.just("line"),
)


@for_all(st.lists(strokes, min_size=1, max_size=8), st.sampled_from(RELEASES))
def test_entities_read_as_ezdxf_writes_them(some, release):
    drawing = Drawing("roll", 1200.0, 450.0, tuple(some))
    assert without_handles(to_dxf(drawing, release=release)) == entities_by_ezdxf(drawing, release)


@pytest.mark.parametrize("release", RELEASES)
def test_handles_are_unique_and_below_the_seed(full, release):
    text = to_dxf(full, release=release)
    beyond_header = tags(text[text.index("TABLES") :].partition("\n")[2])
    # In the dimension styles of R12 code 5 is the name of a block, here none.
    handles = [int(value, 16) for code, value in beyond_header if code == 5 and value.strip()]
    assert len(handles) == len(set(handles))
    assert max(handles) < int(header(text, "$HANDSEED")[0], 16)


@pytest.mark.parametrize("release", RELEASES)
def test_ezdxf_reads_the_file_back_and_its_audit_finds_nothing(full, release):
    doc = ezdxf.read(io.StringIO(to_dxf(full, release=release)))
    auditor = doc.audit()
    assert not auditor.errors
    assert not auditor.fixes
    assert len(doc.modelspace()) == len(full.strokes)
