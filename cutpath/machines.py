"""Machine profiles: one TOML file for each machine, ours or a shop's own, checked and made a frozen `Machine`.

A shop copies the profile nearest to its machine, measures, and writes its own figures in. Every fault of a file is
found at once, with its key path. The profiles that come with the tool describe kinds of machines, not products;
their figures are common practice without a source, and they were never tried on a machine.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from cutpath.errors import Finding, Refused, Severity
from cutpath.intake import Strict, check, did_you_mean, parse_toml, read_text
from cutpath.profiles import profile_root, rolls_list, rolls_names, unread
from cutpath.tolerances import POINT_MM
from cutpath.trade import cautions
from cutpath.units import length_mm
from cutpath.values.drawing import Role
from cutpath.values.fact import Confidence
from cutpath.values.machine import (
    MARK_MM,
    Axis,
    Bed,
    Corner,
    FileFormat,
    Head,
    HeadKind,
    Leads,
    Machine,
    Paper,
    Perforation,
    RoleTask,
    Stuff,
    Tabs,
    ToolHeights,
)
from cutpath.values.nest import Roll

_READ = BeforeValidator(length_mm)
_Size = Annotated[float, Field(gt=0, le=100_000, allow_inf_nan=False), _READ]
_Speed = Annotated[float, Field(ge=1, le=100_000, allow_inf_nan=False)]
_Reach = Annotated[float, Field(ge=0, le=1_000, allow_inf_nan=False), _READ]
_Name = Annotated[str, Field(min_length=1, max_length=80)]
_Layer = Annotated[str, Field(pattern=r"^[A-Z0-9_-]{1,31}$")]

_HPGL_PENS = 8
_HPGL_UNITS_MM = 40
_PDF_LONGEST_MM = 5080.0
_NGC_DECIMALS = 4


class _Bed(Strict):
    length_mm: _Size = Field(description="the reach along the roll")
    width_mm: _Size = Field(description="the reach across the roll")
    roll_feed: bool = False
    overlap_mm: _Reach = 0.0
    origin: Annotated[Corner, Field(strict=False)] = Corner.LOWER_LEFT
    along: Annotated[Axis, Field(strict=False)] = Axis.X
    inset_mm: _Reach = 0.0
    mark_inset_mm: _Reach = 15.0


class _Head(Strict):
    name: _Name
    kind: Annotated[HeadKind, Field(strict=False)]
    number: Annotated[int, Field(ge=1, le=99)] = 1
    offset_mm: Annotated[float, Field(ge=0, le=20, allow_inf_nan=False), _READ] = 0.0
    kerf_mm: Annotated[float, Field(ge=0, le=20, allow_inf_nan=False), _READ] = 0.0
    overcut_mm: Annotated[float, Field(ge=0, le=20, allow_inf_nan=False), _READ] = 0.0
    passes: Annotated[int, Field(ge=1, le=20)] = 1
    speed_mm_min: _Speed | None = None
    lift_s: Annotated[float, Field(ge=0, le=60, allow_inf_nan=False)] = 0.0
    up_mm: Annotated[float, Field(ge=0.1, le=200, allow_inf_nan=False), _READ] = 5.0
    down_mm: Annotated[float, Field(ge=-50, le=0, allow_inf_nan=False), _READ] = 0.0
    mat_mm: (
        Annotated[float, Field(gt=0, le=20, allow_inf_nan=False, description="into the mat, below the sheet"), _READ]
        | None
    ) = None
    turned: Annotated[
        Literal["by the machine", "A", "C"] | None,
        Field(description="what turns a tangential knife: the machine by itself, or a rotary word in the file"),
    ] = None
    lift_over_deg: Annotated[float, Field(ge=0, le=180, allow_inf_nan=False)] = 20.0
    swivel_mm: Annotated[float, Field(ge=0, le=20, allow_inf_nan=False), _READ] = 0.0
    spindle_rpm: Annotated[float, Field(ge=1, le=100_000, allow_inf_nan=False)] | None = None
    spin_up_s: Annotated[float, Field(ge=0, le=60, allow_inf_nan=False)] = 0.0
    at_mm: Annotated[list[Annotated[float, _READ]], Field(min_length=2, max_length=2)] = Field(
        default_factory=lambda: [0.0, 0.0]
    )


class _Task(Strict):
    head: _Name | None = None
    layer: _Layer | None = None


class _Leads(Strict):
    in_mm: _Reach
    out_mm: _Reach = 0.0


class _Tabs(Strict):
    width_mm: _Size
    spacing_mm: _Size
    clear_mm: _Reach = 5.0
    least: Annotated[int, Field(ge=1, le=100)] = 2


class _Perforation(Strict):
    cut_mm: _Size
    bridge_mm: _Size


class _Paper(Strict):
    width_mm: _Size
    height_mm: _Size
    margin_mm: Annotated[float, Field(ge=0, le=100), _READ] = 10.0
    overlap_mm: Annotated[float, Field(ge=0, le=100), _READ] = 10.0
    long: bool = False
    chain_folds: bool = False


class _SheetTable(Strict):
    gap_mm: _Reach = 0.0
    edge_trim_mm: _Reach = 0.0
    keep_in_frame: bool = False


class _MachineFile(Strict):
    title: _Name
    source: Annotated[str, Field(min_length=1)]
    confidence: Annotated[Confidence, Field(strict=False)]
    format: Annotated[FileFormat, Field(strict=False)]
    units: Literal["mm"] = "mm"
    tool_paths: bool = True
    decimals: Annotated[int, Field(ge=0, le=7)] = 4
    stuff: Annotated[Stuff, Field(strict=False)] = Stuff.LEAD
    opt_in: bool = False
    travel_mm_min: _Speed | None = None
    change_s: Annotated[float, Field(ge=0, le=3600)] = 0.0
    coordinate_limit: Annotated[int, Field(ge=1000)] | None = None
    sagitta_mm: Annotated[float, Field(ge=0.0005, le=0.1), _READ] = 0.005
    shared_once: bool = True
    edge_cuts: bool | None = None
    card_mm: _Size | None = None
    dashes: bool = False
    tool_heights: Annotated[ToolHeights, Field(strict=False)] = ToolHeights.OFFSETS
    cautions: list[str] = Field(default_factory=list)
    bed: _Bed
    sheet: _SheetTable = _SheetTable()
    head: Annotated[list[_Head], Field(min_length=1)]
    roles: dict[Literal["mark", "fold", "inner", "outer", "squaring", "kept", "cross-cut", "reference"], _Task]
    leads: _Leads | None = None
    tabs: _Tabs | None = None
    perforation: _Perforation | None = None
    paper: _Paper | None = None


def machine_names() -> tuple[str, ...]:
    """Return the names of the profiles that come with the tool, in order."""
    folder = profile_root() / "machines"
    return tuple(sorted(f.name.removesuffix(".toml") for f in folder.iterdir() if f.name.endswith(".toml")))


def machine(name_or_file: str | Path) -> Machine:
    """Read a machine's profile: one that comes with the tool by its name, else a TOML file of the shop's own.

    Raises
    ------
    Refused
        With every fault of the profile (CP203), or when a fold would be cut or scored in lead (CP604).
    """
    name = str(name_or_file)
    if name in machine_names():
        text = (profile_root() / "machines" / f"{name}.toml").read_text(encoding="utf-8")
        return parse_machine(text, f"profiles/machines/{name}.toml", name)
    read = read_text(name_or_file)
    if isinstance(read, str):
        return parse_machine(read, name, Path(name_or_file).stem)
    raise Refused([unread(read, "CP203", "a readable machine profile", machine_names())])


def parse_machine(text: str, where: str, name: str) -> Machine:
    """Check the text of a profile; ``where`` names it in findings.

    Raises
    ------
    Refused
        With every fault of the profile.
    """
    raw = parse_toml(text, where)
    if isinstance(raw, Finding):
        raise Refused([Finding("CP203", where, raw.found, raw.accepted, raw.remedy)])
    file, findings = check(_MachineFile, raw, where, code="CP203")
    if file is None:
        raise Refused(finding for _, finding in findings)
    found = [f for group in (_heads, _roles, _file_format, _extras) for f in group(file, where)]
    if found:
        raise Refused(found)
    return _frozen(file, name)


def machine_findings(machine: Machine) -> tuple[Finding, ...]:
    """Return what the user of a machine has to be told once of heads that make fume or dust."""
    return tuple(
        Finding(
            "CP611",
            machine.name,
            f"the {head.kind.value} heats or grinds lead: fume or dust",
            "knife and shears give neither",
            "Only with extraction, health surveillance and the approval of a competent person: Control of Lead at Work "
            "Regulations 2002 (L132) and the machine's own instructions come first. No speeds are given.",
            Severity.WARNING,
        )
        for head in machine.heads
        if head.kind.hazardous and machine.stuff is Stuff.LEAD
    )


def unready(machine: Machine) -> tuple[Finding, ...]:
    """Return what a machine lacks before anything can be written for it: figures that only its user can give."""
    if machine.format is not FileFormat.NGC:
        return ()
    working = {machine.task(role).head for role in machine.roles_run()}
    return tuple(
        Finding(
            "CP603",
            machine.name,
            f"the head {head.name} has no {words}",
            f"a {key} of your own in a profile of your own",
            "None is given here, on purpose: speed, dust and fume are for you, the machine's instructions and "
            "a competent person to settle. Copy the profile and write yours in.",
        )
        for head in machine.heads
        for key, words, lacks in (
            ("speed_mm_min", "speed of travel", head.speed_mm_min is None),
            ("spindle_rpm", "speed of the spindle", head.kind is HeadKind.SPINDLE and head.spindle_rpm is None),
        )
        if head.name in working and lacks
    )


def _fault(where: str, key: str, found: str, accepted: str, remedy: str, code: str = "CP203") -> Finding:
    return Finding(code, f"{where}: {key}", found, accepted, remedy)


def _heads(file: _MachineFile, where: str) -> Iterator[Finding]:
    seen: dict[str, int] = {}
    for i, head in enumerate(file.head, 1):
        key = f"head[{i}]"
        if seen.setdefault(head.name, i) != i:
            yield _fault(where, f"{key}.name", f'a second head named "{head.name}"', "each name once", "Rename one.")
        if head.kind is HeadKind.DRAG_KNIFE and not head.offset_mm:
            yield _fault(
                where, f"{key}.offset_mm", "a drag knife without a blade offset", "over 0 mm",
                "Measure how far the tip trails behind the pivot, or call it a tangential knife.",
            )  # fmt: skip
        if head.kind is not HeadKind.DRAG_KNIFE and head.offset_mm:
            yield _fault(
                where, f"{key}.offset_mm", f"{head.offset_mm:g} mm blade offset on a {head.kind.value}",
                "0 mm: only a drag knife trails", "Take the line out; where the head sits is at_mm.",
            )  # fmt: skip
        if head.kerf_mm and not head.kind.hazardous:
            yield _fault(
                where, f"{key}.kerf_mm", f"{head.kerf_mm:g} mm kerf on a {head.kind.value}",
                "0 mm: a pen or a knife takes nothing away", "Take the line out.",
            )  # fmt: skip
        if head.offset_mm > file.bed.inset_mm:
            yield _fault(
                where, "bed.inset_mm", f"{file.bed.inset_mm:g} mm with a blade offset of {head.offset_mm:g} mm",
                f"at least {head.offset_mm:g} mm", "Lay the sheet further in: the pivot runs beyond its edge.",
            )  # fmt: skip
        yield from _depth(file, head, where, key)
        yield from _kind(file, head, where, key)
        if head.kind.hazardous and not head.kerf_mm:
            yield _fault(
                where, f"{key}.kerf_mm", f"a {head.kind.value} without a kerf", "over 0 mm",
                "Cut a slot in waste, measure its width, and write it in.",
            )  # fmt: skip
        if head.kind.hazardous and not file.opt_in:
            yield _fault(
                where, f"{key}.kind", f"a {head.kind.value} in a profile that is not marked opt_in",
                "opt_in = true", "Read the caution on fume and dust first; then add the line.",
            )  # fmt: skip
        if file.format is FileFormat.HPGL and head.number > _HPGL_PENS:
            yield _fault(where, f"{key}.number", f"pen {head.number}", f"pen 1 to {_HPGL_PENS}", "Give its number.")
        if file.format is FileFormat.HPGL and any(head.at_mm):
            yield _fault(
                where, f"{key}.at_mm", "a head beside the carriage's point", "[0, 0] in HP-GL",
                "Pens of a plotter stand in the same place; take the line out.",
            )  # fmt: skip


def _depth(file: _MachineFile, head: _Head, where: str, key: str) -> Iterator[Finding]:
    """See that what cuts by height takes its depth from the sheet, and nothing else has one."""
    by_height = file.format is FileFormat.NGC and head.kind.cuts and head.kind is not HeadKind.JET
    if by_height and head.mat_mm is None:
        yield _fault(
            where, f"{key}.mat_mm", f"a {head.kind.value} that is not told how far to run into the mat", "over 0 mm",
            "Write mat_mm: a knife runs through the sheet, whatever its thickness, and so far into the mat.",
        )  # fmt: skip
    if head.mat_mm is not None and not by_height:
        yield _fault(
            where, f"{key}.mat_mm", f"{head.mat_mm:g} mm into the mat for a {head.kind.value} in {file.format.value}",
            "a knife or spindle in ngc, which alone carries heights", "Take the line out.",
        )  # fmt: skip
    if head.down_mm and head.kind.cuts:
        yield _fault(
            where, f"{key}.down_mm", f"{head.down_mm:g} mm for a {head.kind.value}",
            "no depth here: it follows from the thickness of the sheet", "Take the line out, and write mat_mm.",
        )  # fmt: skip
    if by_height and file.stuff is Stuff.CARD and file.card_mm is None:
        yield _fault(
            where, "card_mm", "no thickness of the card", "over 0 mm", "Write how thick the card, ply or film is.",
        )  # fmt: skip


def _kind(file: _MachineFile, head: _Head, where: str, key: str) -> Iterator[Finding]:
    """See that a head has what its kind needs in RS-274/NGC, and nothing that belongs to another kind."""
    ngc = file.format is FileFormat.NGC
    knife = head.kind is HeadKind.TANGENTIAL_KNIFE
    if ngc and knife and head.turned is None:
        yield _fault(
            where, f"{key}.turned", "nothing said of what turns the knife", '"A" or "C", or "by the machine"',
            "Write the rotary word to which the machine turns the knife, or that it turns the knife by itself.",
        )  # fmt: skip
    if head.turned in ("A", "C") and not (ngc and knife):
        yield _fault(
            where, f"{key}.turned", f"{head.turned} for a {head.kind.value} in {file.format.value}",
            "a tangential knife in ngc", "Take the line out.",
        )  # fmt: skip
    if head.swivel_mm and not (ngc and head.kind is HeadKind.DRAG_KNIFE):
        yield _fault(
            where, f"{key}.swivel_mm", f"{head.swivel_mm:g} mm for a {head.kind.value} in {file.format.value}",
            "a drag knife in ngc, which alone carries heights", "Take the line out.",
        )  # fmt: skip
    if (head.spindle_rpm or head.spin_up_s) and not (ngc and head.kind is HeadKind.SPINDLE):
        yield _fault(
            where, f"{key}.spindle_rpm", f"a spindle's figures for a {head.kind.value} in {file.format.value}",
            "a spindle in ngc", "Take the line out.",
        )  # fmt: skip
    if ngc and head.kind is HeadKind.JET:
        yield _fault(
            where, f"{key}.kind", "a jet in ngc", "a drawing (dxf-r2000, dxf-r12, svg)",
            "What starts and stops a jet differs from machine to machine: give its own software a drawing.",
        )  # fmt: skip


def _roles(file: _MachineFile, where: str) -> Iterator[Finding]:
    names = {head.name: head for head in file.head}
    for role in ("inner", "outer"):
        if role not in file.roles:
            yield _fault(where, f"roles.{role}", "nothing", "a head, or an empty table", f"Add [roles.{role}].")
    layers: dict[str, str] = {}
    for role, task in file.roles.items():
        key = f"roles.{role}"
        if task.head is not None and task.head not in names:
            meant = did_you_mean(task.head, names)
            yield _fault(
                where, f"{key}.head", f'"{task.head}"', f"one of {', '.join(names)}",
                f"Did you mean {meant}?" if meant else "Name a head of this profile.",
            )  # fmt: skip
            continue
        head = names[task.head] if task.head else None
        if role == "reference" and head is not None:
            yield _fault(
                where, f"{key}.head", f'"{task.head}" for reference lines', "no head",
                "Roll edges, check bar and words beside the roll are not for a machine; take the line out.",
            )  # fmt: skip
        if role == "mark" and head is not None and head.kind.cuts and file.stuff is Stuff.LEAD:
            yield _fault(
                where, f"{key}.head", f"marks with a {head.kind.value}", "a pen, or no head",
                "A water line or a number that is cut opens the roof; give marks to a pen.",
            )  # fmt: skip
        if role == "fold" and head is not None and head.kind.cuts and file.stuff is Stuff.LEAD:
            yield _fault(
                where, f"{key}.head", f"folds with a {head.kind.value}", "a pen, or no head",
                "Lead is never cut or scored on a fold: it cracks there. Give folds to a pen, or fold = {}.", "CP604",
            )  # fmt: skip
        layer = task.layer or role.upper()
        if layers.setdefault(layer, role) != role:
            yield _fault(
                where, f"{key}.layer", f"{layer}, which is the layer of {layers[layer]}", "a layer of its own",
                "Two roles on one layer cannot be told apart.",
            )  # fmt: skip


def _file_format(file: _MachineFile, where: str) -> Iterator[Finding]:
    bed = file.bed
    if bed.overlap_mm >= bed.length_mm:
        yield _fault(
            where, "bed.overlap_mm", f"{bed.overlap_mm:g} mm of {bed.length_mm:g} mm reach", "less than the reach",
            "Shorten it: 50 mm is usual.",
        )  # fmt: skip
    if bed.roll_feed and bed.overlap_mm < MARK_MM:
        yield _fault(
            where, "bed.overlap_mm", f"{bed.overlap_mm:g} mm on a machine that feeds the roll on",
            f"at least {MARK_MM:g} mm: the size of a registration mark, which two frames have in common", "Write 50.",
        )  # fmt: skip
    if 2 * bed.mark_inset_mm >= bed.width_mm:
        yield _fault(
            where, "bed.mark_inset_mm", f"{bed.mark_inset_mm:g} mm from both edges of {bed.width_mm:g} mm",
            "less than half the width", "Shorten it.",
        )  # fmt: skip
    if file.format is FileFormat.HPGL:
        if bed.origin is not Corner.LOWER_LEFT:
            yield _fault(
                where, "bed.origin", f"{bed.origin.value}", "lower left: HP-GL devices take no negative numbers",
                "Turn the sheet on the bed, or set along.",
            )  # fmt: skip
        reach = max(bed.length_mm, bed.width_mm) + 2 * bed.inset_mm
        if file.coordinate_limit is not None and reach * _HPGL_UNITS_MM > file.coordinate_limit:
            yield _fault(
                where, "bed", f"a reach of {reach:g} mm with insets is {reach * _HPGL_UNITS_MM:.0f} units",
                f"at most {file.coordinate_limit} units ({file.coordinate_limit / _HPGL_UNITS_MM:.1f} mm)",
                "Shorten the frame: a long roll is then run in frames.",
            )  # fmt: skip
    if file.format is FileFormat.PDF and file.paper is None:
        yield _fault(where, "paper", "nothing", "the paper's size", "Add [paper] with width_mm and height_mm.")
    if file.paper is not None:
        yield from _paper(file.paper, where)
    if file.format is FileFormat.NGC and file.decimals < _NGC_DECIMALS:
        yield _fault(
            where, "decimals", f"{file.decimals}", f"at least {_NGC_DECIMALS}: with fewer, arcs miss their own radius",
            "Write 4.",
        )  # fmt: skip
    for i, head in enumerate(file.head, 1):
        lacking = file.format is FileFormat.NGC and head.speed_mm_min is None
        if lacking and (not head.kind.hazardous or not file.opt_in):
            yield _fault(
                where, f"head[{i}].speed_mm_min", "no speed", "a speed in mm/min: this format cannot do without",
                "Write in the speed that your machine holds.",
            )  # fmt: skip


def _paper(paper: _Paper, where: str) -> Iterator[Finding]:
    lost = 2 * paper.margin_mm + paper.overlap_mm
    # A tile has to hold the bar by which it is checked, in both axes.
    if min(paper.width_mm, paper.height_mm) - lost < 120:
        yield _fault(
            where, "paper", f"{paper.width_mm:g} x {paper.height_mm:g} mm less margins and overlap",
            "at least 120 mm of drawing each way, for the 100 mm check bars", "Take larger paper or smaller margins.",
        )  # fmt: skip
    if max(paper.width_mm, paper.height_mm) > _PDF_LONGEST_MM:
        yield _fault(
            where, "paper", f"a page of {max(paper.width_mm, paper.height_mm):g} mm",
            f"at most {_PDF_LONGEST_MM:g} mm, beyond which readers change the scale", "Shorten the page.",
        )  # fmt: skip


def _extras(file: _MachineFile, where: str) -> Iterator[Finding]:
    kerf = _widest_mm(file)
    if file.perforation is not None and file.stuff is Stuff.LEAD:
        yield _fault(
            where, "perforation", "perforated folds in lead", 'stuff = "card"',
            "Perforated lead lets water in and cracks; perforate card templates only.", "CP604",
        )  # fmt: skip
    if kerf > file.sheet.gap_mm + 1e-9:
        yield _fault(
            where, "sheet.gap_mm", f"{file.sheet.gap_mm:g} mm between pieces with a kerf of {kerf:g} mm",
            f"at least {kerf:g} mm", "Widen the gap: the cut has to fall into waste.",
        )  # fmt: skip
    if file.leads is not None and not file.tool_paths:
        yield _fault(where, "leads", "leads on plain strokes", "tool_paths = true", "Take one of the two out.")
    if file.leads is not None and not kerf:
        yield _fault(
            where, "leads", "leads for heads without a kerf", "none: a knife begins on its line", "Take the table out.",
        )  # fmt: skip
    if file.edge_cuts is False and (kerf or not file.shared_once):
        yield _fault(
            where, "edge_cuts", "edges left uncut beside whole outlines", "edge_cuts = true, or shared_once = true",
            "Take the line out.",
        )  # fmt: skip
    if file.tabs is not None and file.shared_once:
        yield _fault(
            where, "shared_once", "tabs on lines that neighbours share", "shared_once = false",
            "Give the pieces a gap, and cut each whole.",
        )  # fmt: skip
    if file.tabs is not None:
        if not file.tool_paths:
            yield _fault(where, "tabs", "tabs on plain strokes", "tool_paths = true", "Take one of the two out.")
        room = file.tabs.width_mm + kerf + 2 * file.tabs.clear_mm
        if file.tabs.spacing_mm < room:
            yield _fault(
                where, "tabs.spacing_mm", f"a tab every {file.tabs.spacing_mm:g} mm", f"at least every {room:g} mm",
                "Space the tabs further apart, or make them narrower.",
            )  # fmt: skip
    if file.sheet.keep_in_frame and not file.bed.roll_feed:
        yield _fault(
            where, "sheet.keep_in_frame", "frames without a roll feed", "bed.roll_feed = true",
            "A sheet that is not fed on has one frame; take the line out.",
        )  # fmt: skip


def _widest_mm(file: _MachineFile) -> float:
    """Return the widest kerf of a file's heads."""
    return max(head.kerf_mm for head in file.head)


def _frozen(file: _MachineFile, name: str) -> Machine:
    bed = file.bed
    return Machine(
        name=name,
        title=file.title,
        format=file.format,
        tool_paths=file.tool_paths,
        decimals=file.decimals,
        stuff=file.stuff,
        opt_in=file.opt_in,
        bed=Bed(
            length_mm=bed.length_mm,
            width_mm=bed.width_mm,
            roll_feed=bed.roll_feed,
            overlap_mm=bed.overlap_mm,
            origin=bed.origin,
            along=bed.along,
            inset_mm=bed.inset_mm,
            mark_inset_mm=bed.mark_inset_mm,
        ),
        gap_mm=file.sheet.gap_mm,
        edge_trim_mm=file.sheet.edge_trim_mm,
        keep_in_frame=file.sheet.keep_in_frame,
        heads=tuple(
            Head(
                name=h.name,
                kind=h.kind,
                number=h.number,
                offset_mm=h.offset_mm,
                kerf_mm=h.kerf_mm,
                overcut_mm=h.overcut_mm,
                passes=h.passes,
                speed_mm_min=h.speed_mm_min,
                lift_s=h.lift_s,
                up_mm=h.up_mm,
                down_mm=h.down_mm,
                mat_mm=h.mat_mm or 0.0,
                at_mm=(h.at_mm[0], h.at_mm[1]),
                axis=h.turned if h.turned in ("A", "C") else "",
                lift_over_deg=h.lift_over_deg,
                swivel_mm=h.swivel_mm,
                spindle_rpm=h.spindle_rpm,
                spin_up_s=h.spin_up_s,
            )
            for h in file.head
        ),
        tasks=tuple(
            RoleTask(role, task.head, task.layer or role.value.upper())
            for role in Role
            if (task := file.roles.get(role.value)) is not None
        ),
        travel_mm_min=file.travel_mm_min,
        change_s=file.change_s,
        coordinate_limit=file.coordinate_limit,
        sagitta_mm=file.sagitta_mm,
        shared_once=file.shared_once,
        edge_cuts=file.edge_cuts if file.edge_cuts is not None else not file.shared_once or _widest_mm(file) > 0,
        card_mm=file.card_mm,
        leads=Leads(file.leads.in_mm, file.leads.out_mm) if file.leads else None,
        tabs=Tabs(file.tabs.width_mm, file.tabs.spacing_mm, file.tabs.clear_mm, file.tabs.least) if file.tabs else None,
        perforation=Perforation(file.perforation.cut_mm, file.perforation.bridge_mm) if file.perforation else None,
        paper=Paper(
            width_mm=file.paper.width_mm,
            height_mm=file.paper.height_mm,
            margin_mm=file.paper.margin_mm,
            overlap_mm=file.paper.overlap_mm,
            long=file.paper.long,
            chain_folds=file.paper.chain_folds,
        )
        if file.paper
        else None,
        cautions=(
            cautions.set_up(
                paper=file.paper is not None, cuts=file.paper is None and any(head.kind.cuts for head in file.head)
            ),
            *file.cautions,
        ),
        source=file.source,
        confidence=file.confidence,
        tool_heights=file.tool_heights,
        dashes=file.dashes,
    )


def machines(names: Iterable[str | Path]) -> tuple[Machine, ...]:
    """Read several machines, each once however often it is named.

    Raises
    ------
    Refused
        With every fault of every profile, or when two that differ bear one name, which their files would share.
    """
    read: dict[str, Machine] = {}
    found: list[Finding] = []
    for name in names:
        try:
            made = machine(name)
        except Refused as refusal:
            found += refusal.findings
            continue
        if read.setdefault(made.name.casefold(), made) != made:  # some disks take both for one name
            found.append(
                Finding(
                    "CP203",
                    str(name),
                    f'a second machine named "{made.name}"',
                    "a name of its own to each machine",
                    "Give one of the two files another name: a machine is called after its file.",
                )
            )
    if found:
        raise Refused(found)
    return tuple(read.values())


def rolls_within(rolls: Iterable[Roll], machines: Iterable[Machine]) -> tuple[Roll, ...]:
    """Return those rolls that every one of the machines takes; one for card does not touch them."""
    beds = [machine.bed for machine in machines if machine.stuff is not Stuff.CARD]
    return tuple(roll for roll in rolls if all(_lies_on(roll, bed) for bed in beds))


def _lies_on(roll: Roll, bed: Bed) -> bool:
    """Tell whether a roll is no wider than a bed, and no longer where that feeds no roll."""
    long_enough = bed.roll_feed or roll.length_mm <= bed.length_mm + POINT_MM
    return long_enough and roll.width_mm <= bed.width_mm + POINT_MM


def off_the_bed(
    machines: Iterable[Machine], what: str, rolls: Sequence[Roll], lists: Sequence[str]
) -> tuple[Finding, ...]:
    """Return a finding for each machine whose bed is why pieces find no roll, though the list has rolls for them.

    Parameters
    ----------
    machines : iterable of Machine
    what : str
        The pieces in words.
    rolls : sequence of Roll
        The whole list.
    lists : sequence of str
        Names of lists on which the pieces find their rolls.
    """
    found = []
    for tool in machines:
        gone = [roll for roll in rolls if roll not in rolls_within(rolls, [tool])]
        if not gone:
            continue
        bed = tool.bed
        most = f"up to {bed.width_mm:g} mm wide" + ("" if bed.roll_feed else f" and {bed.length_mm:g} mm long")
        taken = "none" if len(gone) == len(rolls) else f"{len(rolls) - len(gone)} of {len(rolls)}"
        size = f"{bed.length_mm:g} × {bed.width_mm:g} mm {'with' if bed.roll_feed else 'without'} a roll feed"
        found.append(
            Finding(
                "CP603",
                tool.name,
                f"its bed of {size} takes {taken} of the listed rolls, so that there is no roll for {what}",
                f"rolls, or lengths cut off them, {most}",
                f"Take --rolls {lists[0]}."
                if lists
                else "List such rolls in a file of your own, and name it with --rolls.",
            )
        )
    return tuple(found)


def beds_at_fault(
    machines: Sequence[Machine], what: str, rolls: Sequence[Roll], fit_on: Callable[[Sequence[Roll]], bool]
) -> tuple[Finding, ...]:
    """Return findings on the machines whose beds leave no roll for pieces for which the list has one.

    Parameters
    ----------
    machines : sequence of Machine
    what : str
        The pieces in words.
    rolls : sequence of Roll
        The whole list.
    fit_on : callable
        Tells whether the pieces fit on such rolls.
    """
    if not machines or not fit_on(rolls):
        return ()
    lists = [name for name in rolls_names() if fit_on(rolls_within(rolls_list(name), machines))]
    return off_the_bed(machines, what, rolls, lists)
