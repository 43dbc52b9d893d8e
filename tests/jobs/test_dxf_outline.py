"""Plain outlines from drawings."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from ezdxf.document import Drawing
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cutpath.errors import Finding, Refused, Severity, faults
from cutpath.intake import files
from cutpath.jobs import load_job, read_jobs
from cutpath.tolerances import CHORD_SAGITTA_MM
from cutpath.values.leadwork import PlainOutline

Fill = Callable[[Any], object]
SQUARE = [(0, 0), (300, 0), (300, 200), (0, 200)]


def drawing(fill: Fill, units: int = 4, release: str = "R2000") -> Drawing:
    document = ezdxf.new(release)
    document.header["$INSUNITS"] = units
    fill(document.modelspace())
    return document


def outer(space: Any) -> None:
    space.add_lwpolyline(SQUARE, close=True, dxfattribs={"layer": "OUTER"})


@pytest.fixture
def job_of(tmp_path: Path):
    """Write a drawing and a job that names it; give the job's path."""

    def write(document: Drawing, keys: str = "") -> Path:
        document.saveas(tmp_path / "shape.dxf")
        job = tmp_path / "job.toml"
        job.write_text(f'name = "J"\n[[detail]]\nkind = "outline"\ndxf = "shape.dxf"\n{keys}\n', encoding="utf-8")
        return job

    return write


def outline(path: Path) -> PlainOutline:
    (found,) = load_job(path)[0].details
    assert isinstance(found, PlainOutline)
    return found


def fault(path: Path) -> Finding:
    with pytest.raises(Refused) as refused:
        load_job(path)
    (found,) = faults(refused.value.findings)
    return found


def area_mm2(points: tuple[tuple[float, float], ...]) -> float:
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, points[1:] + points[:1], strict=True))) / 2


def full(space: Any) -> None:
    outer(space)
    space.add_circle((60, 60), 20, dxfattribs={"layer": "INNER"})
    space.add_line((300, 100), (250, 100), dxfattribs={"layer": "INNER"})
    space.add_line((0, 150), (300, 150), dxfattribs={"layer": "FOLD"})


@pytest.mark.parametrize(("up", "doubted"), [(4, 1), (40, 0)])
def test_a_fold_of_a_drawing_that_leaves_no_part_to_dress_is_doubted(job_of, up: float, doubted: int) -> None:
    def fill(space: Any) -> None:
        outer(space)
        space.add_line((0, up), (300, up), dxfattribs={"layer": "FOLD"})

    _, findings = load_job(job_of(drawing(fill)))
    assert [f.where.rpartition(": ")[2] for f in findings if f.code == "CP112"] == ["detail[1].dxf"] * doubted


@pytest.mark.parametrize("release", ["R2000", "R2010"])
def test_layers_become_outline_holes_cuts_and_folds(job_of, release: str) -> None:
    found = outline(job_of(drawing(full, release=release), "fold_angle = -60"))
    assert found.outline == tuple(SQUARE)
    assert found.cuts == (((300, 100), (250, 100)),)
    assert found.folds == (((0, 150), (300, 150), -60),)
    (hole,) = found.holes
    assert all(math.dist(point, (60, 60)) == pytest.approx(20) for point in hole)
    middle = [math.dist(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2), (60, 60)) for a, b in pairwise(hole)]
    assert 20 - CHORD_SAGITTA_MM <= min(middle) < 20 - CHORD_SAGITTA_MM / 2


def test_the_oldest_release_has_no_unit_and_heavy_polylines(job_of) -> None:
    def fill(space: Any) -> None:
        space.add_polyline2d(
            [(0, 0), (3, 0), (3, 2, 0, 0, 1), (0, 2)], format="xyseb", close=True, dxfattribs={"layer": "OUTER"}
        )

    document = drawing(fill, release="R12")
    assert fault(job_of(document)).where.endswith("detail[1].unit")
    found = outline(job_of(document, 'unit = "in"'))
    wanted = (3 * 2 + math.pi * 1.5**2 / 2) * 25.4**2
    assert area_mm2(found.outline) == pytest.approx(wanted, rel=1e-3)


@pytest.mark.parametrize(("code", "factor"), [(1, 25.4), (2, 304.8), (4, 1), (5, 10), (6, 1000)])
def test_the_unit_of_the_drawing_is_honoured(job_of, code: int, factor: float) -> None:
    def fill(space: Any) -> None:
        space.add_lwpolyline([(0, 0), (1, 0), (1, 1)], close=True, dxfattribs={"layer": "OUTER"})

    job = job_of(drawing(fill, units=code), 'confirmed = ["dxf"]')
    assert outline(job).outline[1][0] == pytest.approx(factor)


@pytest.mark.parametrize("release", ["R12", "R2000"])
def test_everything_in_a_drawing_is_in_its_unit(job_of, release: str) -> None:
    """In inches: a plate with a round hole, a cut, a fold and an arc at its last edge."""

    def fill(space: Any) -> None:
        ring = [(0, 0), (12, 0), (12, 8), (0, 8, 0, 0, 0.5)]
        add = space.add_polyline2d if release == "R12" else space.add_lwpolyline
        add(ring, format="xyseb", close=True, dxfattribs={"layer": "OUTER"})
        space.add_circle((3, 2), 1, dxfattribs={"layer": "INNER"})
        space.add_line((12, 4), (9, 3), dxfattribs={"layer": "INNER"})
        space.add_line((0, 6), (12, 6), dxfattribs={"layer": "FOLD"})

    found = outline(job_of(drawing(fill, units=1, release=release), 'unit = "in"'))
    assert found.cuts == (((12 * 25.4, 4 * 25.4), (9 * 25.4, 3 * 25.4)),)
    assert found.folds == (((0.0, 6 * 25.4), (12 * 25.4, 6 * 25.4), 90.0),)
    assert all(math.dist(point, (3 * 25.4, 2 * 25.4)) == pytest.approx(25.4) for point in found.holes[0])
    assert len(found.holes[0]) > 12
    # The bulge of the last corner is an arc of 4 * atan(0.5) over the 8 inches of the left edge, outwards.
    angle, chord = 4 * math.atan(0.5), 8 * 25.4
    radius = chord / 2 / math.sin(angle / 2)
    segment = radius**2 * (angle - math.sin(angle)) / 2
    assert area_mm2(found.outline) == pytest.approx(12 * 8 * 25.4**2 + segment, rel=2e-3)


def test_an_arc_of_an_open_line_goes_to_its_next_point_and_none_beyond_the_last(job_of) -> None:
    def fill(space: Any) -> None:
        outer(space)
        space.add_lwpolyline(
            [(300, 100, 0), (250, 100, 0.5), (200, 100, 0.9)], format="xyb", dxfattribs={"layer": "INNER"}
        )

    ((first, *between, last),) = outline(job_of(drawing(fill))).cuts
    assert (first, last) == ((300, 100), (200, 100))
    assert max(abs(y - 100) for _, y in between) == pytest.approx(12.5, abs=CHORD_SAGITTA_MM)


def test_a_drawing_in_metres_that_says_millimetres_is_a_slip(job_of) -> None:
    def fill(space: Any) -> None:
        space.add_lwpolyline([(0, 0), (0.45, 0), (0.45, 0.4)], close=True, dxfattribs={"layer": "OUTER"})

    found = fault(job_of(drawing(fill, units=4)))
    assert (found.code, found.where.rpartition(": ")[2]) == ("CP112", "detail[1].dxf")
    assert '"0.45 m"' in found.remedy


@pytest.mark.parametrize(("code", "keys"), [(0, ""), (3, ""), (4, 'unit = "in"')])
def test_a_doubtful_unit_is_refused(job_of, code: int, keys: str) -> None:
    found = fault(job_of(drawing(outer, units=code), keys))
    assert (found.code, found.where.rpartition(" ")[2]) == ("CP110", "detail[1].unit")


@pytest.mark.parametrize("bulge", [1.0, -1.0, 0.4, -0.2, 2.5])
def test_arcs_become_chords_within_the_sagitta(job_of, bulge: float) -> None:
    def fill(space: Any) -> None:
        points = [(0, 0, 0), (400, 0, bulge), (400, 300, 0), (0, 300, 0)]
        space.add_lwpolyline(points, format="xyb", close=True, dxfattribs={"layer": "OUTER"})

    angle = 4 * math.atan(abs(bulge))
    radius = 150 / math.sin(angle / 2)
    segment = radius**2 * (angle - math.sin(angle)) / 2
    found = outline(job_of(drawing(fill)))
    wanted = 400 * 300 + math.copysign(segment, bulge)
    assert abs(area_mm2(found.outline) - wanted) <= CHORD_SAGITTA_MM * radius * angle
    assert len(found.outline) > 8


@pytest.mark.parametrize("bulge", [1e-17, -1e-12, 1e-6])
def test_a_nearly_straight_arc_is_straight(job_of, bulge: float) -> None:
    def fill(space: Any) -> None:
        points = [(0, 0, 0), (400, 0, bulge), (400, 300, 0), (0, 300, 0)]
        space.add_lwpolyline(points, format="xyb", close=True, dxfattribs={"layer": "OUTER"})

    assert len(outline(job_of(drawing(fill))).outline) == 4


def test_layers_of_other_names(job_of) -> None:
    def fill(space: Any) -> None:
        space.add_circle((0, 0), 50, dxfattribs={"layer": "edge"})
        outer(space)

    job, findings = load_job(job_of(drawing(fill), 'layers = { outline = "Edge", cut = "x", fold = "y" }'))
    (found,) = job.details
    assert isinstance(found, PlainOutline)
    assert len(found.outline) > 10
    (note,) = findings
    assert (note.code, note.severity) == ("CP110", Severity.NOTE)
    assert "OUTER" in note.found


def mirrored(space: Any) -> None:
    space.add_lwpolyline(SQUARE, close=True, dxfattribs={"layer": "OUTER", "extrusion": (0, 0, -1)})


def open_outline(space: Any) -> None:
    space.add_lwpolyline(SQUARE, dxfattribs={"layer": "OUTER"})


def nearly_closed(space: Any) -> None:
    space.add_lwpolyline([*SQUARE, SQUARE[0]], dxfattribs={"layer": "OUTER"})


def two(space: Any) -> None:
    outer(space)
    space.add_circle((900, 0), 50, dxfattribs={"layer": "OUTER"})


def text(space: Any) -> None:
    outer(space)
    space.add_text("A1", dxfattribs={"layer": "INNER"})


def curve(space: Any) -> None:
    outer(space)
    space.add_spline([(0, 0), (50, 60), (90, 10)], dxfattribs={"layer": "INNER"})


def solid(space: Any) -> None:
    outer(space)
    space.add_polyline3d([(0, 0, 5), (9, 9, 9)], dxfattribs={"layer": "INNER"})


def raised(space: Any) -> None:
    outer(space)
    space.add_line((0, 0, 5), (50, 60, 5), dxfattribs={"layer": "INNER"})


def bent_fold(space: Any) -> None:
    outer(space)
    space.add_lwpolyline([(0, 50), (100, 60), (300, 50)], dxfattribs={"layer": "FOLD"})


def far(space: Any) -> None:
    space.add_lwpolyline([(0, 0), (300, 0), (300, 2e5)], close=True, dxfattribs={"layer": "OUTER"})


def endless(space: Any) -> None:
    space.add_circle((0, 0), math.inf, dxfattribs={"layer": "OUTER"})


def no_size(space: Any) -> None:
    space.add_circle((0, 0), 0, dxfattribs={"layer": "OUTER"})


def wild_bulge(space: Any) -> None:
    points = [(0, 0, 0), (400, 0, 1e300), (400, 300, 0)]
    space.add_lwpolyline(points, format="xyb", close=True, dxfattribs={"layer": "OUTER"})


def no_bulge(space: Any) -> None:
    points = [(0, 0, 0), (400, 0, math.nan), (400, 300, 0)]
    space.add_lwpolyline(points, format="xyb", close=True, dxfattribs={"layer": "OUTER"})


def nothing(space: Any) -> None:
    space.add_line((0, 0), (1, 1))


@pytest.mark.parametrize(
    ("fill", "says"),
    [
        (mirrored, "mirrored LWPOLYLINE"),
        (open_outline, "open LWPOLYLINE"),
        (nearly_closed, "whose ends meet"),
        (two, "2 closed outlines"),
        (text, "TEXT on layer INNER"),
        (curve, "SPLINE on layer INNER"),
        (solid, "POLYLINE on layer INNER"),
        (raised, "LINE on layer INNER"),
        (bent_fold, "3 points on the fold layer"),
        (nothing, "0 closed outlines"),
        (far, "farther than 100 m"),
        (endless, "CIRCLE of no proper size"),
        (no_size, "CIRCLE of no proper size"),
        (wild_bulge, "LWPOLYLINE of no proper size"),
        (no_bulge, "LWPOLYLINE of no proper size"),
    ],
)
def test_what_is_not_understood_is_refused_and_never_repaired(job_of, fill: Fill, says: str) -> None:
    with pytest.raises(Refused) as refused:
        load_job(job_of(drawing(fill)))
    found = faults(refused.value.findings)
    assert {f.code for f in found} == {"CP110"}
    assert says in " / ".join(f.found for f in found)


def test_lines_that_leave_the_shape_are_refused(job_of) -> None:
    def fill(space: Any) -> None:
        outer(space)
        space.add_line((0, 50), (301, 50), dxfattribs={"layer": "FOLD"})

    found = fault(job_of(drawing(fill)))
    assert (found.code, found.where.rpartition(" ")[2]) == ("CP409", "detail[1].dxf")


@settings(max_examples=20, suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture])
@given(st.data())
def test_a_spoilt_drawing_is_refused_in_words(job_of, data: st.DataObject) -> None:
    job = job_of(drawing(full))
    path = job.with_name("shape.dxf")
    lines = path.read_text(encoding="utf-8").splitlines()
    start = lines.index("ENTITIES")
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(start, len(lines) - 1))
        lines[at] = data.draw(st.sampled_from(["", "0", "-1", "1e400", "nan", "LINE", " 10", "62"]))
    path.write_text("\n".join(lines), encoding="utf-8")
    _, findings = read_jobs([job])
    assert all(f.code in {"CP110", "CP409"} for f in findings)


def test_what_the_reader_passes_over_is_said_as_a_note_and_not_on_the_terminal(tmp_path, caplog, capsys):
    stray = "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nLINE\n8\nX\n0\nSECTION\n2\nENTITIES\n"
    (tmp_path / "d.dxf").write_text(f"{stray}0\nCIRCLE\n8\nOUTER\n10\n0\n20\n0\n40\n100\n0\nENDSEC\n0\nEOF\n")
    (tmp_path / "job.toml").write_text('name = "X"\npitch = 30\n[[detail]]\nkind = "outline"\ndxf = "d.dxf"\n')
    _, findings = load_job(tmp_path / "job.toml")
    (note,) = [f for f in findings if f.code == "CP110"]
    assert note.severity is Severity.NOTE
    assert "outside a SECTION" in note.found
    assert caplog.text == ""
    assert capsys.readouterr().err == ""


def test_two_details_of_one_drawing_have_the_same_of_it_though_it_changes_meanwhile(tmp_path, monkeypatch):
    plate = ezdxf.new(units=4)
    plate.modelspace().add_lwpolyline([(0, 0), (300, 0), (300, 90)], close=True, dxfattribs={"layer": "OUTER"})
    plate.saveas(tmp_path / "plate.dxf")
    detail = '[[detail]]\nkind = "outline"\ncode = 4\ndxf = "plate.dxf"\n'
    (tmp_path / "job.toml").write_text(f'name = "J"\n{detail}{detail}')
    read = files._plain_file

    def read_and_spoil(path, inside, most):
        data = read(path, inside, most)
        path.write_bytes(b"")
        return data

    monkeypatch.setattr(files, "_plain_file", read_and_spoil)
    (job,), findings = read_jobs([tmp_path / "job.toml"])
    assert [f.code for f in findings] == ["CP113"], "both are alike, and that is told"
    assert len({detail.outline for detail in job.details}) == 1
