"""All files of one sheet for one machine, and what the manifest says of them.

The profile says which format, and whether the file holds tool paths or the plain strokes in the order of work. A sheet
longer than the machine's frame gets one file for each frame. Nothing is written when a finding is a fault.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from cutpath.drawing.arcs import flattened
from cutpath.drawing.paths import tool_paths
from cutpath.drawing.sheet import without_fold_letters
from cutpath.errors import Finding, refuse_faults
from cutpath.machines import unready
from cutpath.readback import drawing_faults, misread, run_faults
from cutpath.values.drawing import Drawing, Note, Role, Stroke
from cutpath.values.listing import File, Listed, OnMachine, StrokeTally, by_path
from cutpath.values.machine import FileFormat, Machine, Stuff
from cutpath.values.pattern import Polyline
from cutpath.values.toolpath import Frame, Pass, ToolPaths
from cutpath.writers.bare_dxf import to_bare_dxf
from cutpath.writers.dxf import Release, to_dxf
from cutpath.writers.hpgl import to_hpgl
from cutpath.writers.ngc import to_ngc
from cutpath.writers.parts import parts_of
from cutpath.writers.pdf import Cover, to_pdf
from cutpath.writers.set_up import SetUp, register_mm, set_up_text
from cutpath.writers.set_up_page import set_up_page
from cutpath.writers.svg import to_svg

SUFFIXES: Mapping[FileFormat, str] = {
    FileFormat.DXF_R2000: ".dxf",
    FileFormat.DXF_R12: ".dxf",
    FileFormat.DXF_R12_BARE: ".dxf",
    FileFormat.SVG: ".svg",
    FileFormat.HPGL: ".plt",
    FileFormat.NGC: ".ngc",
    FileFormat.PDF: ".pdf",
}


@dataclass(frozen=True, slots=True)
class MachineFiles:
    """The files in the order in which they are run, and the tool paths with report and findings."""

    made: tuple[File, ...]
    paths: ToolPaths

    @property
    def files(self) -> dict[str, bytes]:
        """What they hold, by path."""
        return by_path(self.made)

    @property
    def listed(self) -> tuple[Listed, ...]:
        """What is said of each."""
        return tuple(file.listed for file in self.made)


def machine_files(
    sheet_id: str,
    drawing: Drawing,
    machine: Machine,
    *,
    thickness_mm: float,
    notes: Sequence[Note] = (),
    stuff: Stuff = Stuff.LEAD,
    folder: str = "rolls",
) -> MachineFiles:
    """Make the files of one sheet for a machine.

    Parameters
    ----------
    sheet_id : str
        Names the files, with the machine's name and ``_mm``.
    drawing : Drawing
    machine : Machine
    thickness_mm : float
        Of what lies on the machine; a knife's depth follows from it.
    notes : sequence of Note
        What stands beside the folds on paper (`cutpath.drawing.fold_notes.fold_notes`).
    stuff : Stuff
        What lies on the machine; a profile for card does not run on lead.
    folder : str

    Raises
    ------
    Refused
        With every finding, when one of them is a fault; a file that reads back otherwise is one (CP612).
    """
    machine = machine.over(thickness_mm)
    drawing = drawing if machine.paper is None else without_fold_letters(drawing)
    paths = tool_paths(drawing, machine)
    refuse_faults((*unready(machine), *_stuff_findings(drawing, machine, stuff), *paths.findings))
    made = []
    for part in parts_of(paths, machine):
        path = f"{folder}/{sheet_id}_{machine.name}{part.name}_mm{SUFFIXES[machine.format]}"
        data = _written(paths, part.frame, drawing, machine, notes)
        made.append(File(_listed(path, sheet_id, paths, part.frame, machine), data))
        refuse_faults(misread(path, _read_back(data, paths, part.frame, drawing, machine)))
    return MachineFiles(tuple(made), paths)


def set_up_files(name: str, made: SetUp, machine: Machine, *, roll: str | None, folder: str) -> list[File]:
    """Return a set-up sheet as text and as a page; ``name`` begins the files' names."""
    stem = f"{folder}/{name}_{machine.name}_set-up"
    files = ((f"{stem}.txt", "txt", set_up_text(made).encode()), (f"{stem}.pdf", "pdf", set_up_page(made)))
    return [File(Listed(path, form, roll, set_up_of=machine.name), data) for path, form, data in files]


def _stuff_findings(drawing: Drawing, machine: Machine, stuff: Stuff) -> list[Finding]:
    """Refuse lead on a machine whose profile cuts folds or marks because it is for card."""
    cutting = [
        role.value
        for role in (Role.MARK, Role.FOLD)
        if (name := machine.task(role).head) is not None and machine.head(name).kind.cuts
    ]
    if stuff is not Stuff.LEAD or machine.stuff is Stuff.LEAD or not cutting:
        return []
    return [
        Finding(
            "CP604",
            drawing.place,
            f"{machine.name} is a profile for card and cuts along {' and '.join(cutting)} lines",
            "a profile for lead, or card templates",
            "Cut lead lets water in and a scored fold cracks. Take another machine, or make templates with this one.",
        )
    ]


def _written(paths: ToolPaths, frame: Frame, drawing: Drawing, machine: Machine, notes: Sequence[Note]) -> bytes:
    match machine.format:
        case FileFormat.HPGL:
            return to_hpgl(frame, machine).encode("ascii")
        case FileFormat.NGC:
            return to_ngc(paths, frame, machine).encode("ascii")
        case FileFormat.PDF if machine.paper is not None:
            cover = Cover(drawing.title, (("Machine", machine.title),), machine.cautions)
            return to_pdf(_for_paper(paths, frame, drawing, machine), machine.paper, cover, notes)
        case FileFormat.SVG:
            return to_svg(run_drawing(paths, frame, drawing, machine), groups=layers_of(machine)).encode()
        case FileFormat.DXF_R12_BARE:
            return to_bare_dxf(run_drawing(paths, frame, drawing, machine), layers_of(machine))
        case _:
            made = run_drawing(paths, frame, drawing, machine)
            release: Release = "R12" if machine.format is FileFormat.DXF_R12 else "R2000"
            return to_dxf(made, release=release, layers=layers_of(machine)).encode()


def _read_back(data: bytes, paths: ToolPaths, frame: Frame, drawing: Drawing, machine: Machine) -> tuple[str, ...]:
    """Read a file again and return how it differs from what it was made from."""
    form = machine.format.value
    if machine.format in (FileFormat.HPGL, FileFormat.NGC):
        return run_faults(form, data, frame, machine)
    if machine.paper is not None:
        return drawing_faults(form, data, _for_paper(paths, frame, drawing, machine), {})
    return drawing_faults(form, data, run_drawing(paths, frame, drawing, machine), layers_of(machine))


def layers_of(machine: Machine) -> dict[Role, str]:
    """Return the layer or group of every role that is run."""
    return {role: machine.task(role).layer for role in machine.roles_run()}


def run_drawing(paths: ToolPaths, frame: Frame, drawing: Drawing, machine: Machine) -> Drawing:
    """Return what a frame runs as strokes, in order, and nothing else, for formats that hold drawings.

    The frame's start becomes x = 0. Of several passes over a line one is drawn.
    """
    strokes = [_stroke(p, machine) for p in frame.passes if p.number == 1]
    if len(paths.frames) > 1:
        strokes = [replace(s, points=tuple((x - frame.start_mm, y) for x, y in s.points)) for s in strokes]
    return Drawing(drawing.title, frame.end_mm - frame.start_mm, drawing.width_mm, tuple(strokes))


def _for_paper(paths: ToolPaths, frame: Frame, drawing: Drawing, machine: Machine) -> Drawing:
    """Return what a frame runs together with what of the sheet is run by nobody, which only paper bears."""
    run, roles = run_drawing(paths, frame, drawing, machine), set(machine.roles_run())
    return replace(run, strokes=(*run.strokes, *(s for s in drawing.strokes if s.role not in roles)))


def _stroke(p: Pass, machine: Machine) -> Stroke:
    points = flattened(p.start, p.moves, machine.sagitta_mm)
    closed = len(points) > 2 and points[0] == points[-1]
    return Stroke(p.role, points[:-1] if closed else points, closed, p.piece, p.name)


def _listed(path: str, sheet_id: str, paths: ToolPaths, frame: Frame, machine: Machine) -> Listed:
    seconds = paths.report.seconds
    return Listed(
        path,
        machine.format.value,
        sheet_id,
        roles={role.value: _place_of(role, machine) for role in machine.roles_run()},
        strokes=tally_of_passes(frame.passes),
        machine=OnMachine(
            name=machine.name,
            set_up=machine.cautions,
            number=frame.number,
            of=len(paths.frames),
            start_mm=frame.start_mm,
            end_mm=frame.end_mm,
            register_mm=tuple(register_mm(frame, machine)),
            sheet_seconds=None if seconds is None else round(seconds),
        ),
    )


def _place_of(role: Role, machine: Machine) -> str:
    """Name where a role is found in the file: its layer, group, pen or head."""
    task = machine.task(role)
    head = machine.head(task.head or "")
    match machine.format:
        case FileFormat.HPGL:
            return f"pen {head.number} ({head.name})"
        case FileFormat.NGC:
            return f"T{head.number} ({head.name})"
        case FileFormat.PDF:
            return role.value
        case _:
            return task.layer


def tally_of_passes(passes: Sequence[Pass]) -> dict[str, StrokeTally]:
    """Return for each role how many lines are run and their length, each once however often it is run."""
    return _tally((p.role, p.line) for p in passes if p.number == 1 and p.line)


def tally(drawing: Drawing) -> dict[str, StrokeTally]:
    """Return for each role how many strokes a plain drawing has and their length."""
    return _tally((s.role, (*s.points, *(s.points[:1] if s.closed else ()))) for s in drawing.strokes)


def _tally(drawn: Iterable[tuple[Role, Polyline]]) -> dict[str, StrokeTally]:
    found: dict[Role, list[Polyline]] = {}
    for role, line in drawn:
        found.setdefault(role, []).append(line)
    return {
        role.value: StrokeTally(
            len(own), round(math.fsum(math.dist(a, b) for line in own for a, b in pairwise(line)), 3)
        )
        for role in Role
        if (own := found.get(role))
    }
