"""DXF R12 in its barest form: what is in it, what is not, and that two readers find every stroke."""

from __future__ import annotations

import io
import re
from collections import Counter

import ezdxf
import numpy as np
import pyogrio.raw
import pytest
import shapely

from cutpath.values.drawing import Drawing, Role
from cutpath.writers.bare_dxf import to_bare_dxf
from cutpath.writers.dxf import ROLE_LAYERS, to_dxf
from tests.drawing.specimens import full

FULL = full()
DATA = to_bare_dxf(FULL, ROLE_LAYERS)


def tags():
    lines = DATA.decode("ascii").split("\r\n")
    assert lines.pop() == ""
    return list(zip((int(code) for code in lines[::2]), lines[1::2], strict=True))


def test_it_has_a_header_two_tables_and_entities() -> None:
    found = tags()
    assert [v for k, (c, v) in enumerate(found) if k and found[k - 1] == (0, "SECTION")] == [
        "HEADER",
        "TABLES",
        "ENTITIES",
    ]
    assert [v for k, (c, v) in enumerate(found) if k and found[k - 1] == (0, "TABLE")] == ["LTYPE", "LAYER"]
    assert found[-1] == (0, "EOF")
    assert {v for c, v in found if c == 0} == {
        "SECTION", "ENDSEC", "TABLE", "ENDTAB", "LTYPE", "LAYER", "LINE", "POLYLINE", "VERTEX", "SEQEND", "EOF",
    }  # fmt: skip
    assert [v for c, v in found if c == 9] == ["$ACADVER", "$EXTMIN", "$EXTMAX"]


def test_lines_end_in_cr_lf_and_names_are_in_capitals() -> None:
    assert DATA.count(b"\n") == DATA.count(b"\r\n") == DATA.count(b"\r")
    assert not re.search(rb"[a-z]", DATA)
    assert max(map(len, DATA.split(b"\r\n"))) <= 31


def test_no_handles_no_extended_data_and_no_figure_with_an_exponent() -> None:
    found = tags()
    assert {c for c, _ in found} <= {0, 1, 2, 3, 6, 8, 9, 10, 11, 20, 21, 30, 31, 40, 62, 66, 70, 72, 73}
    assert all(re.fullmatch(r"-?\d+\.\d+", v) for c, v in found if 10 <= c < 60)


def test_every_entity_stands_on_a_layer_of_the_table() -> None:
    found = tags()
    start = found.index((2, "ENTITIES"))
    named = {found[k + 1][1] for k, tag in enumerate(found[:start]) if tag == (0, "LAYER")}
    assert {v for c, v in found[start:] if c == 8} <= named == {"0", *ROLE_LAYERS.values()}
    (count,) = [
        int(found[k + 2][1]) for k, tag in enumerate(found) if tag == (0, "TABLE") and found[k + 1][1] == "LAYER"
    ]
    assert count == len(named)


def test_gdal_finds_every_stroke_in_its_order(tmp_path) -> None:
    file = tmp_path / "bare_mm.dxf"
    file.write_bytes(DATA)
    meta, _, wkb, columns = pyogrio.raw.read(file, CLOSED_LINE_AS_POLYGON="YES")
    layers = columns[list(meta["fields"]).index("Layer")]
    assert list(layers) == [ROLE_LAYERS[s.role] for s in FULL.strokes]
    for stroke, shape in zip(FULL.strokes, shapely.from_wkb(wkb), strict=True):
        line = shape.exterior if stroke.closed else shape
        points = [*stroke.points, stroke.points[0]] if stroke.closed else stroke.points
        assert np.abs(shapely.get_coordinates(line) - np.array(points)).max() <= 0.5e-4


def test_it_says_what_the_full_release_says() -> None:
    bare, full = (
        ezdxf.read(io.StringIO(text.replace("\r\n", "\n"))) for text in (DATA.decode(), to_dxf(FULL, release="R12"))
    )
    kinds = [Counter((e.dxftype(), e.dxf.layer) for e in doc.modelspace()) for doc in (bare, full)]
    assert kinds[0] == kinds[1]
    assert bare.header["$EXTMAX"] == full.header["$EXTMAX"]
    assert not bare.audit().has_errors


def test_nothing_to_draw_is_no_file() -> None:
    with pytest.raises(ValueError, match="nothing"):
        to_bare_dxf(Drawing("empty", 1.0, 1.0, ()), ROLE_LAYERS)


def test_a_role_without_a_layer_is_not_put_on_another() -> None:
    with pytest.raises(KeyError):
        to_bare_dxf(FULL, {Role.OUTER: "OUTER"})
