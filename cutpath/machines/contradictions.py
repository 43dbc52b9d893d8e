"""What is wrong with a machine's profile: figures that contradict each other, its format or what lead allows."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain
from typing import NamedTuple

from cutpath.errors import Finding
from cutpath.intake.places import did_you_mean
from cutpath.machines.profile import HeadTable, MachineFile, PaperTable, widest_mm
from cutpath.tolerances import POINT_MM
from cutpath.values.machine import HPGL_UNITS_PER_MM, MARK_MM, Corner, FileFormat, HeadKind, Stuff, ToolHeights

_HPGL_PENS = 8
"""As many as plotters had at most (common practice, no source)."""

_PDF_LONGEST_MM = 5080.0
"""14,400 units of 1/72 in (PDF Reference 1.7, appendix C)."""

_NGC_DECIMALS = 4

_LEAST_TILE_MM = 120
"""A tile has to hold the bar of 100 mm by which it is checked, in both axes."""


class _Fault(NamedTuple):
    key: str
    found: str
    accepted: str
    remedy: str
    code: str = "CP203"


def contradictions(file: MachineFile, where: str) -> list[Finding]:
    """Return every fault of a profile whose keys are sound by themselves; ``where`` names it.

    CP203, and CP604 where lead would be cut or scored on a fold.
    """
    faults = chain.from_iterable(find(file) for find in (_heads, _roles, _file_format, _extras))
    return [Finding(f.code, f"{where}: {f.key}", f.found, f.accepted, f.remedy) for f in faults]


def _heads(file: MachineFile) -> Iterator[_Fault]:
    seen: dict[str, int] = {}
    numbers: dict[int, str] = {}
    by_number = file.format is FileFormat.HPGL or (
        file.format is FileFormat.NGC and file.tool_heights is ToolHeights.OFFSETS
    )
    for i, head in enumerate(file.head, 1):
        key = f"head[{i}]"
        if by_number and numbers.setdefault(head.number, head.name) != head.name:
            yield _Fault(
                f"{key}.number", f"number {head.number}, which is that of the {numbers[head.number]}",
                f"each number once: a file in {file.format.value} tells its heads by number",
                "Write the number that the machine has for it, else one head does the work of both.",
            )  # fmt: skip
        if seen.setdefault(head.name, i) != i:
            yield _Fault(f"{key}.name", f'a second head named "{head.name}"', "each name once", "Rename one.")
        if head.kind is HeadKind.DRAG_KNIFE and not head.offset_mm:
            yield _Fault(
                f"{key}.offset_mm", "a drag knife without a blade offset", "over 0 mm",
                "Measure how far the tip trails behind the pivot, or call it a tangential knife.",
            )  # fmt: skip
        if head.kind is not HeadKind.DRAG_KNIFE and head.offset_mm:
            yield _Fault(
                f"{key}.offset_mm", f"{head.offset_mm:g} mm blade offset on a {head.kind.value}",
                "0 mm: only a drag knife trails", "Take the line out; where the head sits is at_mm.",
            )  # fmt: skip
        if head.kerf_mm and not head.kind.hazardous:
            yield _Fault(
                f"{key}.kerf_mm", f"{head.kerf_mm:g} mm kerf on a {head.kind.value}",
                "0 mm: a pen or a knife takes nothing away", "Take the line out.",
            )  # fmt: skip
        if head.offset_mm > file.bed.inset_mm:
            yield _Fault(
                "bed.inset_mm", f"{file.bed.inset_mm:g} mm with a blade offset of {head.offset_mm:g} mm",
                f"at least {head.offset_mm:g} mm", "Lay the sheet further in: the pivot runs beyond its edge.",
            )  # fmt: skip
        yield from _depth(file, head, key)
        yield from _kind(file, head, key)
        if head.kind.hazardous and not head.kerf_mm:
            yield _Fault(
                f"{key}.kerf_mm", f"a {head.kind.value} without a kerf", "over 0 mm",
                "Cut a slot in waste, measure its width, and write it in.",
            )  # fmt: skip
        if head.kind.hazardous and not file.opt_in:
            yield _Fault(
                f"{key}.kind", f"a {head.kind.value} in a profile that is not marked opt_in",
                "opt_in = true", "Read the caution on fume and dust first; then add the line.",
            )  # fmt: skip
        if file.format is FileFormat.HPGL and head.number > _HPGL_PENS:
            yield _Fault(f"{key}.number", f"pen {head.number}", f"pen 1 to {_HPGL_PENS}", "Give its number.")
        if file.format is FileFormat.HPGL and any(head.at_mm):
            yield _Fault(
                f"{key}.at_mm", "a head beside the carriage's point", "[0, 0] in HP-GL",
                "Pens of a plotter stand in the same place; take the line out.",
            )  # fmt: skip


def _depth(file: MachineFile, head: HeadTable, key: str) -> Iterator[_Fault]:
    """See that what cuts by height takes its depth from the sheet, and nothing else has one."""
    by_height = file.format is FileFormat.NGC and head.kind.cuts and head.kind is not HeadKind.JET
    if by_height and head.mat_mm is None:
        yield _Fault(
            f"{key}.mat_mm", f"a {head.kind.value} that is not told how far to run into the mat", "over 0 mm",
            "Write mat_mm: a knife runs through the sheet, whatever its thickness, and so far into the mat.",
        )  # fmt: skip
    if head.mat_mm is not None and not by_height:
        yield _Fault(
            f"{key}.mat_mm", f"{head.mat_mm:g} mm into the mat for a {head.kind.value} in {file.format.value}",
            "a knife or spindle in ngc, which alone carries heights", "Take the line out.",
        )  # fmt: skip
    if head.down_mm and head.kind.cuts:
        yield _Fault(
            f"{key}.down_mm", f"{head.down_mm:g} mm for a {head.kind.value}",
            "no depth here: it follows from the thickness of the sheet", "Take the line out, and write mat_mm.",
        )  # fmt: skip
    if by_height and file.stuff is Stuff.CARD and file.card_mm is None:
        yield _Fault(
            "card_mm", "no thickness of the card", "over 0 mm", "Write how thick the card, ply or film is.",
        )  # fmt: skip


def _kind(file: MachineFile, head: HeadTable, key: str) -> Iterator[_Fault]:
    """See that a head has what its kind needs in RS-274/NGC, and nothing that belongs to another kind."""
    ngc = file.format is FileFormat.NGC
    knife = head.kind is HeadKind.TANGENTIAL_KNIFE
    if ngc and knife and head.turned is None:
        yield _Fault(
            f"{key}.turned", "nothing said of what turns the knife", '"A" or "C", or "by the machine"',
            "Write the rotary word to which the machine turns the knife, or that it turns the knife by itself.",
        )  # fmt: skip
    if head.turned in ("A", "C") and not (ngc and knife):
        yield _Fault(
            f"{key}.turned", f"{head.turned} for a {head.kind.value} in {file.format.value}",
            "a tangential knife in ngc", "Take the line out.",
        )  # fmt: skip
    if head.swivel_mm and not (ngc and head.kind is HeadKind.DRAG_KNIFE):
        yield _Fault(
            f"{key}.swivel_mm", f"{head.swivel_mm:g} mm for a {head.kind.value} in {file.format.value}",
            "a drag knife in ngc, which alone carries heights", "Take the line out.",
        )  # fmt: skip
    if (head.spindle_rpm or head.spin_up_s) and not (ngc and head.kind is HeadKind.SPINDLE):
        yield _Fault(
            f"{key}.spindle_rpm", f"a spindle's figures for a {head.kind.value} in {file.format.value}",
            "a spindle in ngc", "Take the line out.",
        )  # fmt: skip
    if ngc and head.kind is HeadKind.JET:
        yield _Fault(
            f"{key}.kind", "a jet in ngc", "a drawing (dxf-r2000, dxf-r12, svg)",
            "What starts and stops a jet differs from machine to machine: give its own software a drawing.",
        )  # fmt: skip


def _roles(file: MachineFile) -> Iterator[_Fault]:
    names = {head.name: head for head in file.head}
    for role in ("inner", "outer"):
        if role not in file.roles:
            yield _Fault(f"roles.{role}", "nothing", "a head, or an empty table", f"Add [roles.{role}].")
    layers: dict[str, str] = {}
    for role, task in file.roles.items():
        key = f"roles.{role}"
        if task.head is not None and task.head not in names:
            meant = did_you_mean(task.head, names)
            yield _Fault(
                f"{key}.head", f'"{task.head}"', f"one of {', '.join(names)}",
                f"Did you mean {meant}?" if meant else "Name a head of this profile.",
            )  # fmt: skip
            continue
        head = names[task.head] if task.head else None
        if role == "reference" and head is not None:
            yield _Fault(
                f"{key}.head", f'"{task.head}" for reference lines', "no head",
                "Roll edges, check bar and words beside the roll are not for a machine; take the line out.",
            )  # fmt: skip
        if role == "mark" and head is not None and head.kind.cuts and file.stuff is Stuff.LEAD:
            yield _Fault(
                f"{key}.head", f"marks with a {head.kind.value}", "a pen, or no head",
                "A water line or a number that is cut opens the roof; give marks to a pen.",
            )  # fmt: skip
        if role == "fold" and head is not None and head.kind.cuts and file.stuff is Stuff.LEAD:
            yield _Fault(
                f"{key}.head", f"folds with a {head.kind.value}", "a pen, or no head",
                "Lead is never cut or scored on a fold: it cracks there. Give folds to a pen, or fold = {}.", "CP604",
            )  # fmt: skip
        layer = task.layer or role.upper()
        if layers.setdefault(layer, role) != role:
            yield _Fault(
                f"{key}.layer", f"{layer}, which is the layer of {layers[layer]}", "a layer of its own",
                "Two roles on one layer cannot be told apart.",
            )  # fmt: skip


def _file_format(file: MachineFile) -> Iterator[_Fault]:
    bed = file.bed
    if bed.overlap_mm >= bed.length_mm:
        yield _Fault(
            "bed.overlap_mm", f"{bed.overlap_mm:g} mm of {bed.length_mm:g} mm reach", "less than the reach",
            "Shorten it: 50 mm is usual.",
        )  # fmt: skip
    if bed.roll_feed and bed.overlap_mm < MARK_MM:
        yield _Fault(
            "bed.overlap_mm", f"{bed.overlap_mm:g} mm on a machine that feeds the roll on",
            f"at least {MARK_MM:g} mm: the size of a registration mark, which two frames have in common", "Write 50.",
        )  # fmt: skip
    if 2 * bed.mark_inset_mm >= bed.width_mm:
        yield _Fault(
            "bed.mark_inset_mm", f"{bed.mark_inset_mm:g} mm from both edges of {bed.width_mm:g} mm",
            "less than half the width", "Shorten it.",
        )  # fmt: skip
    if file.format is FileFormat.HPGL:
        if bed.origin is not Corner.LOWER_LEFT:
            yield _Fault(
                "bed.origin", f"{bed.origin.value}", "lower left: HP-GL devices take no negative numbers",
                "Turn the sheet on the bed, or set along.",
            )  # fmt: skip
        reach = max(bed.length_mm, bed.width_mm) + 2 * bed.inset_mm
        if file.coordinate_limit is not None and reach * HPGL_UNITS_PER_MM > file.coordinate_limit:
            yield _Fault(
                "bed", f"a reach of {reach:g} mm with insets is {reach * HPGL_UNITS_PER_MM:.0f} units",
                f"at most {file.coordinate_limit} units ({file.coordinate_limit / HPGL_UNITS_PER_MM:.1f} mm)",
                "Shorten the frame: a long roll is then run in frames.",
            )  # fmt: skip
    if file.format is FileFormat.PDF and file.paper is None:
        yield _Fault("paper", "nothing", "the paper's size", "Add [paper] with width_mm and height_mm.")
    if file.paper is not None:
        yield from _paper(file.paper)
    if file.format is FileFormat.NGC and file.decimals < _NGC_DECIMALS:
        yield _Fault(
            "decimals", f"{file.decimals}", f"at least {_NGC_DECIMALS}: with fewer, arcs miss their own radius",
            "Write 4.",
        )  # fmt: skip
    for i, head in enumerate(file.head, 1):
        lacking = file.format is FileFormat.NGC and head.speed_mm_min is None
        if lacking and (not head.kind.hazardous or not file.opt_in):
            yield _Fault(
                f"head[{i}].speed_mm_min", "no speed", "a speed in mm/min: this format cannot do without",
                "Write in the speed that your machine holds.",
            )  # fmt: skip


def _paper(paper: PaperTable) -> Iterator[_Fault]:
    lost = 2 * paper.margin_mm + paper.overlap_mm
    if min(paper.width_mm, paper.height_mm) - lost < _LEAST_TILE_MM:
        yield _Fault(
            "paper", f"{paper.width_mm:g} x {paper.height_mm:g} mm less margins and overlap",
            f"at least {_LEAST_TILE_MM} mm of drawing each way, for the 100 mm check bars",
            "Take larger paper or smaller margins.",
        )  # fmt: skip
    if max(paper.width_mm, paper.height_mm) > _PDF_LONGEST_MM:
        yield _Fault(
            "paper", f"a page of {max(paper.width_mm, paper.height_mm):g} mm",
            f"at most {_PDF_LONGEST_MM:g} mm, beyond which readers change the scale", "Shorten the page.",
        )  # fmt: skip


def _extras(file: MachineFile) -> Iterator[_Fault]:
    kerf = widest_mm(file)
    if file.perforation is not None and file.stuff is Stuff.LEAD:
        yield _Fault(
            "perforation", "perforated folds in lead", 'stuff = "card"',
            "Perforated lead lets water in and cracks; perforate card templates only.", "CP604",
        )  # fmt: skip
    if kerf > file.sheet.gap_mm + POINT_MM:
        yield _Fault(
            "sheet.gap_mm", f"{file.sheet.gap_mm:g} mm between pieces with a kerf of {kerf:g} mm",
            f"at least {kerf:g} mm", "Widen the gap: the cut has to fall into waste.",
        )  # fmt: skip
    if file.leads is not None and not file.tool_paths:
        yield _Fault("leads", "leads on plain strokes", "tool_paths = true", "Take one of the two out.")
    if file.leads is not None and not kerf:
        yield _Fault(
            "leads", "leads for heads without a kerf", "none: a knife begins on its line", "Take the table out.",
        )  # fmt: skip
    if file.edge_cuts is False and (kerf or not file.shared_once):
        yield _Fault(
            "edge_cuts", "edges left uncut beside whole outlines", "edge_cuts = true, or shared_once = true",
            "Take the line out.",
        )  # fmt: skip
    if file.tabs is not None and file.shared_once:
        yield _Fault(
            "shared_once", "tabs on lines that neighbours share", "shared_once = false",
            "Give the pieces a gap, and cut each whole.",
        )  # fmt: skip
    if file.tabs is not None:
        if not file.tool_paths:
            yield _Fault("tabs", "tabs on plain strokes", "tool_paths = true", "Take one of the two out.")
        room = file.tabs.width_mm + kerf + 2 * file.tabs.clear_mm
        if file.tabs.spacing_mm < room:
            yield _Fault(
                "tabs.spacing_mm", f"a tab every {file.tabs.spacing_mm:g} mm", f"at least every {room:g} mm",
                "Space the tabs further apart, or make them narrower.",
            )  # fmt: skip
    if file.sheet.keep_in_frame and not file.bed.roll_feed:
        yield _Fault(
            "sheet.keep_in_frame", "frames without a roll feed", "bed.roll_feed = true",
            "A sheet that is not fed on has one frame; take the line out.",
        )  # fmt: skip
