"""The files of a sheet for each machine, what the manifest says of them, and patterns of single pieces."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely

from cutpath.drawing.fold_notes import fold_notes
from cutpath.drawing.path_report import told
from cutpath.drawing.sheet import draw
from cutpath.drawing.template import fold_list, template
from cutpath.errors import Refused
from cutpath.machines import machine, machine_names
from cutpath.values.drawing import LETTERING, Role
from cutpath.values.listing import by_path
from cutpath.values.machine import FileFormat, Stuff
from cutpath.writers.machine_files import machine_files, run_drawing, tally
from cutpath.writers.templates import template_files
from tests.drawing.machines import files_of, made
from tests.drawing.specimens import PIECES, full, full_sheet, place, sheet

SHEET = full_sheet()
FULL = full()
NOTES = fold_notes(SHEET, PIECES)
APART = draw(sheet([place("A-S1-R1", 1, left=20.0, low=20.0)], width=450.0, drawn=900.0), PIECES)

RUNS = [n for n in machine_names() if not machine(n).opt_in and machine(n).stuff is Stuff.LEAD]


@pytest.mark.parametrize("name", RUNS)
def test_entries_tell_of_every_file(name) -> None:
    out = files_of(FULL, machine(name))
    assert len({e.path for e in out.listed}) == len(out.made)
    assert all(path.startswith(f"rolls/code4-01_{name}") and "_mm." in path for path in out.files)
    for entry in out.listed:
        assert entry.told()["units"] == "mm"
        assert entry.form == machine(name).format.value
        assert entry.machine.of == len(out.listed)
        assert set(entry.roles) == {"mark", "fold", "inner", "outer"}
        assert all(entry.roles.values())
    assert sum(e.strokes["outer"].count for e in out.listed) >= 12
    for role in (Role.MARK, Role.FOLD, Role.INNER, Role.OUTER):
        run = sum(e.strokes[role.value].length_mm for e in out.listed if role.value in e.strokes)
        ways = [p for f in out.paths.frames for p in f.passes if p.role is role]
        assert run == pytest.approx(math.fsum(math.dist(a, b) for p in ways for a, b in pairwise(p.line)), abs=0.01)


def test_the_same_sheet_gives_the_same_bytes() -> None:
    """The golden corpus has the bytes of other machines; here both are made by one process."""
    drag_knife = machine("flatbed-drag-knife")
    assert machine_files("code4-01", FULL, drag_knife, thickness_mm=1.8).files == files_of(FULL, drag_knife).files


def test_marks_to_set_the_sheet_by_are_in_the_files_own_numbers() -> None:
    out = files_of(FULL, machine("flatbed-knife"))
    assert out.listed[0].machine.register_mm == ()
    for entry in out.listed[1:]:
        text = out.files[entry.path].decode()
        for x, y in entry.machine.register_mm:
            assert f"Set the sheet to the mark at X{x:.4f} Y{y:.4f}" in text


def test_a_profile_for_card_does_not_run_on_lead() -> None:
    with pytest.raises(Refused, match="CP604"):
        machine_files("code4-01", APART, machine("roll-plotter"), thickness_mm=1.8)
    assert machine_files("code4-01", APART, machine("roll-plotter"), stuff=Stuff.CARD, thickness_mm=1.8).files


def test_a_fault_writes_nothing() -> None:
    with pytest.raises(Refused, match="CP603"):
        machine_files("code4-01", FULL, made("flatbed-knife", bed={"width_mm": 400.0}), thickness_mm=1.8)
    with pytest.raises(Refused, match="CP606"):
        machine_files("code4-01", FULL, machine("jet-table"), thickness_mm=1.8)
    with pytest.raises(Refused, match="speed"):
        machine_files("code4-01", APART, machine("spindle-table"), thickness_mm=1.8)


def gdal(data, folder, path="a.dxf"):
    """Layer -> geometry, as GDAL reads a DXF."""
    import pyogrio.raw

    file = folder / path
    file.write_bytes(data)
    meta, _, shapes, fields = pyogrio.raw.read(file, CLOSED_LINE_AS_POLYGON="YES")
    layers = fields[list(meta["fields"]).index("Layer")]
    out = {}
    for layer, shape in zip(layers, shapely.force_2d(shapely.from_wkb(shapes)), strict=True):
        out.setdefault(layer, []).append(shape)
    return out


def test_plain_lines_of_a_drawing_table_are_the_drawing_in_order(tmp_path) -> None:
    table = machine("drawing-table")
    (data,) = files_of(FULL, table).files.values()
    read = gdal(data, tmp_path)
    assert len(read["OUTER"]) == 12
    wanted = sorted(shapely.Polygon(s.points).area for s in FULL.strokes if s.role is Role.OUTER)
    assert sorted(p.area for p in read["OUTER"]) == pytest.approx(wanted, abs=1e-3)
    paths = files_of(FULL, table).paths
    order = [(p.role, p.piece) for f in paths.frames for p in f.passes]
    assert [(s.role, s.piece) for s in run_drawing(paths, paths.frames[0], FULL, table).strokes][: len(order)] == order


def test_a_jets_drawing_holds_the_way_of_the_jet(tmp_path) -> None:
    jet = made("jet-table", tabs=None, leads=None)
    (data,) = machine_files("code4-01", APART, jet, thickness_mm=1.8).files.values()
    (grown,) = gdal(data, tmp_path)["OUTER"]
    (stroke,) = [s for s in APART.strokes if s.role is Role.OUTER]
    back = grown.buffer(-0.6, join_style="mitre")
    assert back.symmetric_difference(shapely.Polygon(stroke.points)).area < 1e-3


def test_layers_are_those_of_the_profile(tmp_path) -> None:
    table = machine("drawing-table")
    tasks = tuple(type(t)(t.role, t.head, "CUT_OUT" if t.role is Role.OUTER else t.layer) for t in table.tasks)
    (data,) = files_of(FULL, made("drawing-table", tasks=tasks)).files.values()
    read = gdal(data, tmp_path)
    assert len(read["CUT_OUT"]) == 12
    assert "OUTER" not in read


def test_svg_groups_are_those_of_the_profile() -> None:
    from svgelements import SVG, Path

    (data,) = files_of(FULL, made("drawing-table", format=FileFormat.SVG)).files.values()
    read = SVG.parse(io.BytesIO(data), ppi=25.4)
    group = next(g for g in read.select() if getattr(g, "id", None) == "OUTER")
    assert len([p for p in group if isinstance(p, Path)]) == 12


@pytest.mark.parametrize(("form", "release"), [(FileFormat.DXF_R12, b"AC1009"), (FileFormat.DXF_R12_BARE, b"AC1009")])
def test_r12_takes_the_same_lines(form, release, tmp_path) -> None:
    (data,) = files_of(FULL, made("drawing-table", format=form)).files.values()
    assert release in data
    assert len(gdal(data, tmp_path)["OUTER"]) == 12


DRAWN = (FileFormat.DXF_R2000, FileFormat.DXF_R12, FileFormat.DXF_R12_BARE)


@pytest.mark.parametrize("form", DRAWN)
@pytest.mark.parametrize(("name", "drawing"), [("drawing-table", FULL), ("jet-table", APART)])
def test_a_machines_drawing_holds_what_is_run_and_nothing_else(form, name, drawing, tmp_path) -> None:
    """A controller runs whatever it finds: no check bar, no words beside the roll, no cautions, no spare layer."""
    import ezdxf

    out = files_of(drawing, made(name, format=form))
    (data,) = out.files.values()
    doc = ezdxf.read(io.StringIO(data.decode().replace("\r\n", "\n")))
    assert {layer.dxf.name for layer in doc.layers} - {"0", "DEFPOINTS", "Defpoints"} == {
        "MARK",
        "FOLD",
        "INNER",
        "OUTER",
    }
    assert b"efpoints" not in data
    runs = {p.role.value.upper() for f in out.paths.frames for p in f.passes}
    read = gdal(data, tmp_path)
    assert set(read) == runs
    assert sum(map(len, read.values())) == len([p for f in out.paths.frames for p in f.passes if p.number == 1])
    room = shapely.box(0.0, 0.0, out.paths.frames[0].end_mm, drawing.width_mm).buffer(12.0)
    assert all(room.contains(shape) for own in read.values() for shape in own)
    (entry,) = out.listed
    assert entry.machine.set_up == made(name).cautions


def test_a_machines_svg_holds_what_is_run_and_nothing_else() -> None:
    (data,) = files_of(FULL, made("drawing-table", format=FileFormat.SVG)).files.values()
    assert b'id="REFERENCE"' not in data
    assert b"check bar" not in data


def test_paper_keeps_the_edges_of_the_roll() -> None:
    import pikepdf

    (data,) = machine_files("a", FULL, machine("wide-printer"), notes=NOTES, thickness_mm=1.8).files.values()
    with pikepdf.open(io.BytesIO(data)) as pdf:
        words = b" ".join(bytes(o[0]) for o, op in pikepdf.parse_content_stream(pdf.pages[0]) if str(op) == "Tj")
    assert b"roll edge" in words


@pytest.mark.parametrize("name", machine_names())
def test_every_name_says_the_unit(name) -> None:
    out = machine_files(
        "a",
        APART,
        made(name, head={"speed_mm_min": 900.0, "spindle_rpm": 9000.0}),
        thickness_mm=1.8,
        stuff=machine(name).stuff,
    )
    assert all("_mm." in path for path in out.files)


def test_time_is_told_where_the_speeds_are_known() -> None:
    knife = files_of(FULL, machine("flatbed-knife"))
    assert {e.machine.sheet_seconds for e in knife.listed} == {round(knife.paths.report.seconds)}
    minutes = round(knife.paths.report.seconds / 60)
    assert f"(All frames about {minutes} min," in next(iter(knife.files.values())).decode()
    assert f"about {minutes} min" in told(knife.paths)
    jet = machine_files("code4-01", APART, machine("jet-table"), thickness_mm=1.8)
    assert jet.listed[0].machine.sheet_seconds is None
    assert " min" not in told(jet.paths)


def test_facts_of_a_plain_drawing() -> None:
    facts = tally(FULL)
    assert facts["outer"].count == 12
    assert facts["outer"].length_mm == pytest.approx(
        math.fsum(shapely.LinearRing(s.points).length for s in FULL.strokes if s.role is Role.OUTER), abs=1e-3
    )


# Patterns


@pytest.mark.parametrize("name", sorted(PIECES))
def test_a_pattern_is_the_piece_with_its_folds_in_words(name, tmp_path) -> None:
    piece = PIECES[name]
    drawing = template(piece)
    pattern = piece.pattern
    sheet_ = shapely.Polygon(pattern.outline, pattern.holes)
    letters = [s for s in drawing.strokes if s.name == LETTERING and s.role is Role.MARK]
    for s in letters:
        assert sheet_.contains(shapely.LineString(s.points))
        for fold in pattern.folds:
            assert shapely.LineString((fold.start, fold.end)).distance(shapely.LineString(s.points)) > 0.5
    out = by_path(template_files([piece]))
    assert set(out) == {f"templates/{name}_mm.{form}" for form in ("dxf", "svg", "pdf")}
    (outline,) = gdal(out[f"templates/{name}_mm.dxf"], tmp_path)["OUTER"]
    assert outline.symmetric_difference(shapely.Polygon(pattern.outline)).area < 1e-3
    assert {w for w, _ in fold_list(pattern)} == {f"{f.way.value} {round(f.angle_deg, 1):g}°" for f in pattern.folds}


def test_folds_that_are_numbered_in_a_row_are_named_by_the_first_and_the_last() -> None:
    pattern = PIECES["A-S1-R1"].pattern
    names = [f"turn-in {n}" for n in (1, 2, 3, 5)]
    folds = tuple(replace(pattern.folds[0], name=name) for name in (*names, "upstand"))
    assert [words for _, words in fold_list(replace(pattern, folds=folds))] == ["turn-in 1 to 3, turn-in 5, upstand"]


def test_patterns_are_cut_by_a_plotter_too_with_their_folds_perforated() -> None:
    out = [file.listed for file in template_files([PIECES["A-S1-R1"]], [machine("roll-plotter")])]
    assert sum(entry.path.endswith(".plt") for entry in out) == 2
    cut = [entry for entry in out if not entry.set_up_of]
    assert len(cut) == 5
    assert all(e.piece == "A-S1-R1" for e in cut)


def test_a_pattern_has_its_hand_and_a_square_on_its_ticket_only() -> None:
    import pikepdf

    data = by_path(template_files([PIECES["A-S1-L1"]]))["templates/A-S1-L1_mm.pdf"]
    with pikepdf.open(io.BytesIO(data)) as pdf:
        squares = []
        for page in pdf.pages:
            ops = pikepdf.parse_content_stream(page)
            squares.append(sum(str(op) in ("f", "f*") for _, op in ops))
            texts = b" ".join(bytes(o[0]) for o, op in ops if str(op) == "Tj")
            if page.index == 0:
                assert b"Hand: left" in texts
                assert b"never cut or score" in texts.lower()
        assert squares[0] > 200
        assert set(squares[1:]) == {0}
