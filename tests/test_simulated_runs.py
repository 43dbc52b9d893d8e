"""Every machine profile over all fixtures: what its files would do to the sheet, worked out from the files alone.

Three readers that know nothing of the writers say where each head goes: our interpreter of RS-274/NGC, a reader of the
four commands of HP-GL below, and GDAL for drawings. What they give is held against the pieces where the nest put them.
"""

from __future__ import annotations

import math
import re
from collections import defaultdict
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import pyogrio.raw
import pytest
import shapely

from cutpath import again, pipeline
from cutpath.drawing.sheet import copy_name, draw
from cutpath.errors import Severity
from cutpath.machines import machine, machine_names
from cutpath.values.drawing import Role
from cutpath.values.machine import FileFormat, HeadKind, Machine, Stuff, ToolHeights
from cutpath.values.nest import Budget
from cutpath.writers import templates
from cutpath.writers.bed import limits_mm
from cutpath.writers.machine_files import machine_files
from cutpath.writers.parts import parts_of
from tests.drawing.test_sheet import moved
from tests.writers.rs274ngc import held, interpret

pytestmark = pytest.mark.nests

JOBS = sorted((Path(__file__).parents[1] / "fixtures" / "jobs").glob("*.toml"))
WORK = Budget(work=2_000)
NEAR_MM = 0.02
FIGURES = {"speed_mm_min": 600.0, "spindle_rpm": 9000.0}  # invented: what the shop would have to give


def machines() -> dict[str, Machine]:
    """Ours for lead, and what a shop may have made of them."""
    ours = {n: machine(n) for n in machine_names() if machine(n).stuff is Stuff.LEAD and machine(n).paper is None}
    knife, spindle = ours["flatbed-knife"], ours["spindle-table"]
    ours["spindle-table"] = replace(spindle, heads=(replace(spindle.heads[0], **FIGURES),))
    turned = (*knife.heads[:-1], replace(knife.heads[-1], axis="C", lift_over_deg=20.0))
    ours["turned knife"] = replace(knife, name="turned-knife", heads=turned)
    ours["a file for each tool"] = replace(knife, name="each-tool", tool_heights=ToolHeights.FILES)
    table = ours["drawing-table"]
    ours["bare table"] = replace(table, name="bare-table", format=FileFormat.DXF_R12_BARE)
    return ours


MACHINES = machines()
GAPPED = ("spindle-table", "jet-table")


MOST_ALIKE = 2
"""Of each piece in the gate: 72 soakers in place of them tell nothing more, and take most of the time."""


@cache
def batch(gapped, whole=False):
    """All fixtures on shared rolls, or some with gaps on lengths for tables with a kerf; few of each piece, or all."""
    tools = [MACHINES[n] for n in GAPPED] if gapped else []
    settings = pipeline.Settings(budget=WORK, choose_lengths=False).on(tools, in_frames=False)
    jobs = JOBS[::3] if gapped and not whole else JOBS
    planned = pipeline.plan(jobs, "cut-lengths" if gapped else None, settings, None, tools)
    few = {piece.id: min(piece.quantity, MOST_ALIKE) for piece in planned.pieces}
    return pipeline.nest_batch(planned if whole else again.only(planned, few, "R0000000"))


@dataclass(frozen=True)
class Run:
    """One stretch with a head down, as a file has it, in the roll's own millimetres."""

    frame: int
    head: str
    points: tuple[tuple[float, float], ...]
    depth_mm: float

    @property
    def line(self):
        return shapely.LineString(self.points)


def shifted(points, frame, tool: Machine):
    inset = tool.bed.inset_mm if tool.format in (FileFormat.NGC, FileFormat.HPGL) else 0.0
    return tuple((x + frame.start_mm - inset, y - inset) for x, y in points)


def runs_of_ngc(text: str, tool: Machine, frame):
    heads = {h.number: h for h in tool.heads}
    (x0, y0), (x1, y1) = limits_mm(tool)
    program = interpret(text)
    low = min(h.down_mm for h in tool.heads)
    spinning = [h.number for h in tool.heads if h.kind is HeadKind.SPINDLE]
    assert held(program, (x0, y0, low), (x1, y1, 10.0), clear_mm=5.0, spinning=spinning) == ()
    out, points, depth = [], [], 0.0
    for move in program.moves:
        if move.rapid:
            if len(points) > 1:
                out.append(Run(frame.number, heads[move.tool].name, shifted(points, frame, tool), depth))
            points, depth = [], 0.0
            continue
        if move.start[:2] != move.end[:2]:
            points += move.points()[1:] if points else move.points()
            depth = min(depth, move.end[2])
    return out


def runs_of_hpgl(text: str, tool: Machine, frame):
    """IN, PA, SPn, PU and PD with points, and nothing else."""
    heads = {h.number: h.name for h in tool.heads}
    out, points, pen = [], [], 0
    for command in text.replace("\n", "").rstrip(";").split(";"):
        found = re.fullmatch(r"(IN|PA|SP|PU|PD)((?:-?\d+)(?:,-?\d+)*)?", command)
        assert found, command
        numbers = [int(v) for v in (found[2] or "").split(",") if v]
        assert all(0 <= v <= (tool.coordinate_limit or 10**9) for v in numbers)
        at = (
            [(x / 40, y / 40) for x, y in zip(numbers[::2], numbers[1::2], strict=True)]
            if found[1] in ("PU", "PD")
            else []
        )
        if found[1] == "PD":
            points += at
        if found[1] in ("PU", "SP"):
            if len(points) > 1:
                out.append(Run(frame.number, heads[pen], shifted(points, frame, tool), 0.0))
            points = at
        if found[1] == "SP":
            pen = numbers[0]
    return out


def runs_of_dxf(data: bytes, tool: Machine, frame, folder):
    file = folder / "a_mm.dxf"
    file.write_bytes(data)
    meta, _, wkb, fields = pyogrio.raw.read(file)
    heads = {tool.task(role).layer: tool.task(role).head for role in tool.roles_run()}
    layers = fields[list(meta["fields"]).index("Layer")]
    return [
        Run(frame.number, heads[layer], shifted(map(tuple, shapely.get_coordinates(line)), frame, tool), 0.0)
        for layer, line in zip(layers, shapely.from_wkb(wkb), strict=True)
    ]


def read(data: bytes, tool: Machine, frame, folder):
    match tool.format:
        case FileFormat.NGC:
            return runs_of_ngc(data.decode("ascii"), tool, frame)
        case FileFormat.HPGL:
            return runs_of_hpgl(data.decode("ascii"), tool, frame)
        case _:
            return runs_of_dxf(data, tool, frame, folder)


class Sheet:
    """A roll with its pieces, and what a machine did to it."""

    def __init__(self, sheet, drawing, pieces, tool: Machine, folder) -> None:
        self.tool = tool.over(sheet.lead.thickness_mm)
        self.drawing = drawing
        made = machine_files(sheet.id, self.drawing, tool, thickness_mm=sheet.lead.thickness_mm)
        assert not [f for f in made.paths.findings if f.severity is Severity.FAULT]
        self.paths = made.paths
        self.frames = {f.number: f for f in made.paths.frames}
        parts = parts_of(made.paths, self.tool)
        assert len(parts) == len(made.files)
        self.runs = [
            run
            for part, data in zip(parts, made.files.values(), strict=True)
            for run in read(data, self.tool, part.frame, folder)
        ]
        self.thickness_mm = sheet.lead.thickness_mm
        self.pieces = {}
        for p in sheet.nested.placements:
            pattern = pieces[p.id].pattern
            name = copy_name(pieces[p.id], p.copy)
            self.pieces[name] = moved(shapely.Polygon(pattern.outline, pattern.holes), p)
        self.names = list(self.pieces)
        self.tree = shapely.STRtree([self.pieces[n] for n in self.names])

    def cutters(self):
        return {h.name for h in self.tool.heads if h.kind.cuts}

    def near(self, shape):
        return [self.names[int(k)] for k in self.tree.query(shape.buffer(0.1))]

    @property
    def trails(self):
        return any(h.offset_mm for h in self.tool.heads)

    def cut_lines(self):
        """Every cut as run, with frame and piece; of a knife that trails, by its tip."""
        for f in self.paths.frames:
            for p in f.passes:
                if p.head in self.cutters() and p.line and p.number == 1:
                    yield f.number, p, shapely.LineString(p.line)


@cache
def drawn(gapped, whole, number):
    """A roll as it is drawn, whatever machine then runs it."""
    made = batch(gapped, whole)
    return draw(made.sheets[number], {piece.id: piece for piece in made.pieces})


def sheets(name, folder, first, every):
    which = name in GAPPED, every == ALL
    made = batch(*which)
    pieces = {piece.id: piece for piece in made.pieces}
    return [
        Sheet(made.sheets[k], drawn(*which, k), pieces, MACHINES[name], folder)
        for k in range(first, len(made.sheets), every)
    ]


ALL, FEW = 1, 4
FREE = sorted((name for name in MACHINES if name not in GAPPED), key=lambda name: (name not in machine_names(), name))
IN_TURN = [
    *((name, k, len(FREE)) for k, name in enumerate(FREE)),
    *((name, k, FEW) for k, name in enumerate(GAPPED)),
]
SHARES = [*IN_TURN, *(pytest.param((name, 0, ALL), marks=pytest.mark.slow) for name in sorted(MACHINES))]
"""The gate gives every roll to one profile in turn, of some jobs with gaps every fourth; the long runs all."""


@pytest.fixture(scope="module", params=SHARES, ids=lambda p: f"{p[0]}, one in {p[2]}")
def run(request, tmp_path_factory):
    name, first, every = request.param
    return sheets(name, tmp_path_factory.mktemp("run"), first, every)


def test_the_gate_runs_every_roll_on_some_machine_without_gaps() -> None:
    rolls = range(len(batch(False).sheets))
    taken = [rolls[first::every] for name, first, every in IN_TURN if name not in GAPPED]
    assert set().union(*taken) == set(rolls)


def test_every_head_stays_within_reach(run) -> None:
    for sheet in run:
        bed = sheet.tool.bed
        for r in sheet.runs:
            start = sheet.frames[r.frame].start_mm
            slack = bed.inset_mm + 0.1
            low_x, low_y, high_x, high_y = r.line.bounds
            assert low_x >= start - slack
            assert high_x <= start + bed.length_mm + slack
            assert low_y >= -slack
            assert high_y <= bed.width_mm + slack


def test_knives_go_through_this_code_and_into_the_mat_and_pens_nowhere(run) -> None:
    for sheet in run:
        if sheet.tool.format is not FileFormat.NGC:
            continue
        depths = defaultdict(set)
        for r in sheet.runs:
            depths[r.head].add(round(r.depth_mm, 3))
        for head in sheet.tool.heads:
            if head.kind is HeadKind.PEN:
                assert depths[head.name] <= {0.0}
            elif head.name in depths:
                whole = sheet.thickness_mm + head.mat_mm
                wanted = {-round(whole * k / head.passes, 3) for k in range(1, head.passes + 1)}
                assert depths[head.name] == wanted
                assert min(depths[head.name]) < -sheet.thickness_mm


def test_nothing_is_cut_twice_over_the_whole_roll(run) -> None:
    for sheet in run:
        if not sheet.tool.shared_once or not sheet.cutters():
            continue
        if sheet.trails:
            lines, slack = [line for _, _, line in sheet.cut_lines()], 0.01
        else:
            lines = [r.line for r in sheet.runs if r.head in sheet.cutters()]
            slack = 0.6 * len(lines)  # overcuts of half a millimetre
        assert math.fsum(line.length for line in lines) - shapely.union_all(lines).length <= slack


def test_marks_lie_in_sheet_that_is_whole_when_they_are_read(run) -> None:
    for sheet in run:
        touched = set()
        for number in sorted(sheet.frames):
            for x, y in sheet.frames[number].register:
                cross = shapely.Point(x, y).buffer(5.0)
                assert not touched & {n for n in sheet.near(cross) if sheet.pieces[n].distance(shapely.Point(x, y)) < 5}
            for frame, _, line in sheet.cut_lines():
                if frame == number:
                    touched |= {n for n in sheet.near(line) if _parted_mm(sheet.pieces[n], line) > 1}


def _parted_mm(piece, line):
    return piece.exterior.intersection(line.buffer(0.1)).length


def test_snips_and_holes_come_before_their_piece_is_loose(run) -> None:
    for sheet in run:
        if not sheet.cutters():
            continue
        left = {n: p.exterior for n, p in sheet.pieces.items()}
        for _, p, line in sheet.cut_lines():
            if p.role is Role.INNER:
                assert left[p.piece].length > 1.0, (p.piece, p.name)
            else:
                way = line.buffer(0.01 + max(h.kerf_mm for h in sheet.tool.heads) / 2 + 0.01)
                for name in sheet.near(way):
                    left[name] = left[name].difference(way)


def test_every_piece_is_cut_out_of_the_sheet_and_none_is_cut_into(run) -> None:
    for sheet in run:
        if not sheet.cutters():
            continue
        bounds = shapely.box(0, 0, sheet.drawing.length_mm, sheet.drawing.width_mm).exterior
        kerf = max(h.kerf_mm for h in sheet.tool.heads)
        lines = [line for _, _, line in sheet.cut_lines()]
        cut = shapely.union_all([line.buffer(kerf / 2 + NEAR_MM, join_style="mitre") for line in lines])
        tabs = sheet.tool.tabs
        for piece in sheet.pieces.values():
            whole = piece.exterior.difference(cut).difference(bounds.buffer(NEAR_MM))
            allowed = 0.0 if tabs is None else 20 * (tabs.width_mm + kerf + 1)
            assert whole.length <= allowed + 0.1
        strokes = [s for s in sheet.drawing.strokes if s.role is Role.INNER and not s.closed]
        own = shapely.union_all([shapely.LineString(s.points).buffer(kerf / 2 + 0.1) for s in strokes])
        for line in lines:
            for name in sheet.near(line):
                assert line.difference(own).intersection(sheet.pieces[name].buffer(-0.05)).length < 0.1


def test_pens_alone_touch_folds_and_marks(run) -> None:
    for sheet in run:
        for f in sheet.paths.frames:
            for p in f.passes:
                if p.role in (Role.FOLD, Role.MARK):
                    assert sheet.tool.head(p.head).kind is HeadKind.PEN


def test_blades_that_trail_are_brought_round_in_waste(run) -> None:
    for sheet in run:
        for head in (h for h in sheet.tool.heads if h.offset_mm):
            for number in sheet.frames:
                own = [r for r in sheet.runs if r.head == head.name and r.frame == number]
                said = [f for f in sheet.paths.findings if f.code == "CP607"]
                if own and not said:
                    blade = own[0].line.buffer(head.offset_mm)
                    assert own[0].line.length >= 10 * head.offset_mm - 0.1
                    assert not [n for n in sheet.near(blade) if sheet.pieces[n].intersects(blade)]


@pytest.mark.parametrize("whole", [False, pytest.param(True, marks=pytest.mark.slow)], ids=["kinds", "all"])
def test_patterns_of_card_are_within_the_plotters_reach(whole, monkeypatch) -> None:
    """In the gate the shortest pattern of each kind, the five shortest kinds and the longest; in the long runs all."""
    tool = machine("roll-plotter")
    pieces = sorted(batch(False).pieces, key=lambda piece: piece.pattern.length_mm)
    if not whole:
        kinds = {(p.pattern.family, p.pattern.part): p for p in reversed(pieces)}
        pieces = sorted(kinds.values(), key=lambda piece: piece.pattern.length_mm)
        pieces = [*pieces[:5], pieces[-1]]
    monkeypatch.setattr(templates, "_plain_pattern", lambda *_: [])
    made = templates.template_files(pieces, [tool])
    plots = [file.data.decode("ascii") for file in made if file.path.endswith(".plt")]
    assert len(plots) >= len(pieces)
    for plot in plots:
        frame = type("Frame", (), {"number": 1, "start_mm": 0.0})
        for r in runs_of_hpgl(plot, tool, frame):
            low_x, low_y, high_x, high_y = r.line.bounds
            assert min(low_x, low_y) >= -tool.bed.inset_mm - 0.1
            assert high_x <= tool.bed.length_mm + tool.bed.inset_mm + 0.1
            assert high_y <= tool.bed.width_mm + tool.bed.inset_mm + 0.1
