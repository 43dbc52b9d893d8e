"""The set-up sheet of a machine and a roll: what to load and how, which tools, which files in which order, how long.

Its words are made here once; `set_up_text` and `cutpath.writers.set_up_page` lay them out. Paper has a cover of its
own and no set-up sheet.
"""

from __future__ import annotations

import math
import textwrap
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from cutpath.drawing.path_report import seconds
from cutpath.drawing.registration import MARK_WITHIN_MM, error_mm
from cutpath.drawing.sheet import FOLDS
from cutpath.paper.text import kilograms, millimetres
from cutpath.plain import in_words
from cutpath.trade import cautions
from cutpath.units import MM2_PER_M2
from cutpath.values.batch import Sheet
from cutpath.values.drawing import Drawing, Role
from cutpath.values.machine import Axis, FileFormat, Head, HeadKind, Machine, Stuff, ToolHeights
from cutpath.values.pattern import Point, Polyline
from cutpath.values.piece import Piece, has_face
from cutpath.values.toolpath import Frame, ToolPaths
from cutpath.writers.bed import bed_size_mm, limits_mm, on_bed
from cutpath.writers.parts import Part, parts_of

UNTRIED = (
    "Untried: files of this kind have been read back by independent programs but never run on a machine. Run the "
    "first ones dry, then with a pen on paper, then on scrap, and measure."
)
_WITH_AXES = (FileFormat.NGC, FileFormat.HPGL)  # written in the machine's own numbers
_WIDE = 96
_RUN = {
    Role.MARK: "marks",
    Role.FOLD: "folds",
    Role.INNER: "holes, snips",
    Role.OUTER: "outlines",
    Role.SQUARING: "the raw end",
    Role.KEPT: "kept offcuts",
    Role.CROSS: "the cross-cut",
    Role.REFERENCE: "reference lines",
}
"""What a tool runs along, role by role."""

_CROSSES = "registration marks"
"""What a pen draws that has no role."""


@dataclass(frozen=True, slots=True)
class Block:
    """A heading and the lines below it."""

    heading: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """The sheet small: outlines of pieces, the settings in which it is worked, its size in mm."""

    length_mm: float
    width_mm: float
    outlines: tuple[Polyline, ...]
    frames: tuple[Frame, ...]


@dataclass(frozen=True, slots=True)
class SetUp:
    """Everything on a set-up sheet; ``files`` are a block of their own, which a page may shorten."""

    title: str
    blocks: tuple[Block, ...]
    files: Block
    cautions: tuple[str, ...]
    picture: Picture | None


def set_up(
    sheet: Sheet, pieces: Mapping[str, Piece], drawing: Drawing, machine: Machine, run: tuple[ToolPaths, Sequence[str]]
) -> SetUp:
    """Return the set-up sheet of one roll on a machine.

    Parameters
    ----------
    sheet : Sheet
    pieces : mapping of str to Piece
        By number.
    drawing : Drawing
        Of the roll.
    machine : Machine
    run : (ToolPaths, sequence of str)
        What is run, and the paths of the files of its frames that have something to run, in order.
    """
    paths, files = run
    machine = machine.over(sheet.lead.thickness_mm)
    parts = parts_of(paths, machine)
    frames = [part.frame for part in parts]
    return SetUp(
        title=f"Set-up: {sheet.id} on {machine.name}",
        blocks=(
            Block("Load", (*_load(sheet, pieces, machine), *_fed_on(paths.frames), *_in_two(paths.frames))),
            Block("Zero", tuple(_zero(machine, frames[0]))),
            Block("Tools", tuple(_tools(frames, machine, sheet.lead.thickness_mm))),
            *([Block("On the lead", tuple(_drawn(machine)))] if Role.MARK in machine.roles_run() else []),
            Block("Time", (_time(paths.frames, machine),)),
        ),
        files=Block("Files, in this order", tuple(_files(parts, files, machine, len(paths.frames)))),
        cautions=_cautions(machine),
        picture=Picture(
            drawing.length_mm,
            drawing.width_mm,
            tuple(s.points for s in drawing.strokes if s.role is Role.OUTER and s.closed),
            paths.frames,
        ),
    )


def patterns_set_up(machine: Machine, runs: Sequence[tuple[ToolPaths, Sequence[str]]]) -> SetUp:
    """Return the set-up sheet of a machine that cuts patterns of card, ply or film, for all of them."""
    machine = machine.over(machine.card_mm or 0.0)
    frames = [part.frame for paths, _ in runs for part in parts_of(paths, machine)]
    size = " × ".join(f"{max(sizes):.0f}" for sizes in zip(*((p.length_mm, p.width_mm) for p, _ in runs), strict=True))
    thick = f", {machine.card_mm:g} mm thick" if machine.card_mm else ""
    return SetUp(
        title=f"Set-up: patterns on {machine.name}",
        blocks=(
            Block("Load", (f"Card, ply or film{thick}, larger than the pattern: up to {size} mm. Weather face up.",)),
            Block("Zero", tuple(_zero(machine, frames[0]))),
            Block("Tools", tuple(_tools(frames, machine, machine.card_mm or 0.0))),
            Block("Time", (_time(frames, machine),)),
        ),
        files=Block(
            "Files, in this order",
            tuple(
                line
                for paths, files in runs
                for line in _files(parts_of(paths, machine), files, machine, len(paths.frames), "pattern")
            ),
        ),
        cautions=_cautions(machine),
        picture=None,
    )


def _load(sheet: Sheet, pieces: Mapping[str, Piece], machine: Machine) -> Iterator[str]:
    roll = sheet.nested.roll
    what = "offcut" if roll.offcut else "roll"
    there = ", in stock:" if roll.owned else f": {what}"
    mass = kilograms(roll.width_mm * roll.length_mm / MM2_PER_M2 * sheet.lead.mass_kg_m2)
    size = f"{millimetres(roll.width_mm)} × {millimetres(roll.length_mm)} mm, {mass} kg"
    yield f"Lead code {sheet.lead.code}, {sheet.lead.thickness_mm:g} mm thick{there} {size}."
    yield f"For {'; '.join(dict.fromkeys(pieces[p.id].job for p in sheet.nested.placements))}."
    yield f"Find it: {roll.name}." if roll.name else f"Find it: the list of rolls gives this {what} no name or place."
    beyond = "stays on the roll" if sheet.rest_kept or not sheet.rest_mm else "is scrap: too small to keep"
    yield f"Used up to {sheet.nested.drawn_mm:.0f} mm from the end; what is beyond {beyond}."
    side = "left" if machine.bed.along is Axis.X else "near"
    if Role.SQUARING in machine.roles_run():
        yield (
            f"Let the free end stand a little beyond zero at the {side} side of the bed, the roll beyond it: the file "
            "cuts it square there first."
        )
    else:
        yield f"Lay the free end square at the {side} side of the bed, the roll beyond it. Square a torn end first."
    sided = [p for p in sheet.nested.placements if has_face(pieces[p.id])]
    down = sorted({p.id for p in sided if p.flipped})
    if down and all(p.flipped for p in sided):
        yield "Weather face down: every piece lies so, lettered on the side that is hidden once it is fitted."
    else:
        yield f"Weather face up, except for what lies face down: {', '.join(down)}." if down else "Weather face up."


def _fed_on(frames: Sequence[Frame]) -> Iterator[str]:
    """Say how a roll is fed on, and how well the far end of a frame meets what was cut before."""
    off = [
        error_mm(math.dist(*frame.register), MARK_WITHIN_MM, frame.end_mm - frame.start_mm)
        for frame in frames
        if frame.register
    ]
    if len(frames) > 1:
        yield "Draw the roll on for each further frame, and set it to the two marks named with that file." + (
            f" With the marks met to {MARK_WITHIN_MM:g} mm its far end may be out by {max(off):.1f} mm." if off else ""
        )


def _in_two(frames: Sequence[Frame]) -> Iterator[str]:
    """Name the pieces that no frame holds whole."""
    settings = Counter(name for frame in frames for name in {p.piece for p in frame.passes if p.role is Role.OUTER})
    if across := [name for name, count in settings.items() if count > 1]:
        yield f"Done in two settings or more: {in_words(sorted(across))}."


def _zero(machine: Machine, frame: Frame) -> Iterator[str]:
    if machine.format not in _WITH_AXES:
        yield "x = 0, y = 0 is the corner of the sheet at its free end; x runs along the roll, y across it, in mm."
        yield "A later frame counts x from its own start." if machine.bed.roll_feed else "One frame."
        return
    wide, high = bed_size_mm(machine)
    (x0, y0), (x1, y1) = limits_mm(machine)
    axis = "X" if machine.bed.along is Axis.X else "Y"
    yield (
        f"Zero is the {machine.bed.origin.value} corner of the bed ({wide:g} × {high:g} mm: X {x0:g} to {x1:g}, "
        f"Y {y0:g} to {y1:g}); the roll runs along {axis}."
    )
    x, y = on_bed(machine, frame)((frame.start_mm, 0.0), machine.heads[0])
    edge = "near" if machine.bed.along is Axis.X else "right-hand"
    first = " for the first frame" if machine.bed.roll_feed else ""
    yield f"The sheet's corner at its free end and {edge} edge lies at X{x:g} Y{y:g}{first}."
    if machine.format is FileFormat.NGC:
        yield _height(machine)


def _height(machine: Machine) -> str:
    face = "Z = 0 is the upper face of the sheet"
    if machine.tool_heights is ToolHeights.FILES:
        return f"{face}, set anew with every tool that is taken; each has a file of its own."
    numbers = ", ".join(f"H{h.number} the {h.name}" for h in machine.heads)
    return f"{face}; the machine's table of tools holds their lengths ({numbers}), which the file calls up (G43)."


def _tools(frames: Sequence[Frame], machine: Machine, thickness_mm: float) -> Iterator[str]:
    used = [head for head in machine.heads if any(p.head == head.name for f in frames for p in f.passes)]
    for head in used:
        roles = [_RUN[role] for role in machine.roles_run() if machine.task(role).head == head.name] or [_CROSSES]
        facts = [
            f"T{head.number} {head.name}: {head.kind.value}, for {in_words(roles)}",
            *_figures(head, thickness_mm),
        ]
        if head.speed_mm_min is None:
            facts.append("no feed in the profile: by the machine's instructions and a competent person")
        else:
            facts.append(f"{head.speed_mm_min:g} mm/min")
        yield "; ".join(facts)


def _drawn(machine: Machine) -> Iterator[str]:
    """Say how to read what the pen leaves."""
    yield f"{FOLDS[0].upper()}{FOLDS[1:]}."
    if machine.dashes and machine.tool_paths:
        yield (
            "Lines of the pen: fold back dashed, fold forward dash and two dots, water line and other marks dash and "
            "dot, lap dotted."
        )


def _figures(head: Head, thickness_mm: float) -> Iterator[str]:
    """Say how deep a head goes and what its way is corrected by."""
    if head.mat_mm:
        yield f"{-head.down_mm:.2f} mm down ({thickness_mm:g} mm of sheet, {head.mat_mm:g} mm into the mat)"
    elif head.kind.cuts and head.kind is not HeadKind.JET:
        sheet = f"{thickness_mm:g} mm of sheet" if thickness_mm else "through the card"
        yield f"depth set at the machine: {sheet} and a little into the mat"
    if head.passes > 1:
        yield f"{head.passes} passes"
    if head.offset_mm:
        yield f"blade offset {head.offset_mm:g} mm, and not pointing straight back when it begins"
    if head.swivel_mm:
        yield f"swivels {head.swivel_mm:g} mm deep"
    if head.kind is HeadKind.TANGENTIAL_KNIFE:
        yield (
            f"turned by {head.axis}, 0 deg along X, lifted over {head.lift_over_deg:g} deg"
            if head.axis
            else ("turned by the machine itself")
        )
    if head.spindle_rpm is not None:
        yield f"{head.spindle_rpm:g} turns a minute, clockwise"
    if head.kerf_mm:
        yield f"kerf {head.kerf_mm:g} mm"


def _time(frames: Sequence[Frame], machine: Machine) -> str:
    total = seconds(frames, machine)
    if total is None:
        return "Not known: the profile lacks a speed."
    return f"About {max(1, round(total / 60))} min; starts, stops, loading and feeding on not counted."


def _files(parts: Sequence[Part], files: Sequence[str], machine: Machine, of: int, what: str = "roll") -> Iterator[str]:
    for part, path in zip(parts, files, strict=True):
        frame = part.frame
        facts = [path.rpartition("/")[2]]
        if part.head:
            facts.append(f"take the {part.head}, and set Z to the sheet")
        if of > 1:
            facts.append(f"{frame.start_mm:.0f} to {frame.end_mm:.0f} mm of the {what}")
        if part.again:
            facts.append("the sheet stays as it lies")
        elif frame.register:
            facts.append(
                "set to marks "
                + ", ".join(f"X{round(x, 1):g} Y{round(y, 1):g}" for x, y in register_mm(frame, machine))
            )
        elif frame.number > 1:
            facts.append("no marks: set to marks of your own")
        took = seconds([frame], machine)
        if took is not None:
            facts.append(f"{took / 60:.1f} min")
        yield "; ".join(facts)


def register_mm(frame: Frame, machine: Machine) -> list[Point]:
    """Return, in the file's own numbers, the marks of the frame before to which the sheet is set."""
    if machine.format in _WITH_AXES:
        place = on_bed(machine, frame)
        pen = next((h for h in machine.heads if h.kind is HeadKind.PEN), machine.heads[0])
        placed = [place(at, pen) for at in frame.register]
    else:
        placed = [(x - frame.start_mm, y) for x, y in frame.register]
    return [(round(x, 4), round(y, 4)) for x, y in placed]


def _cautions(machine: Machine) -> tuple[str, ...]:
    """Return what to mind at a machine: of lead and its weight where it works on that, of heat where it cuts it."""
    lead = machine.stuff is Stuff.LEAD
    cuts = lead and any(head.kind.cuts for head in machine.heads)
    names = (*["lead", "weight"] * lead, *["heat and machines"] * cuts, *["no scoring"] * lead)
    return (*machine.cautions, *map(cautions.text_of, names), UNTRIED)


def set_up_text(made: SetUp) -> str:
    """Return a set-up sheet as plain text."""
    out = [made.title, "=" * len(made.title), ""]
    for block in (*made.blocks, made.files, Block("Take care", made.cautions)):
        out += [block.heading, "-" * len(block.heading)]
        for line in block.lines:
            out += textwrap.wrap(line, _WIDE, initial_indent="* ", subsequent_indent="  ", break_on_hyphens=False)
        out.append("")
    return "\n".join(out)
