"""Every piece as its own full-size pattern: DXF, SVG and PDF, for card, ply or film."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

from cutpath.drawing.template import fold_list, template, template_notes
from cutpath.errors import Finding, refuse_faults
from cutpath.intake.places import did_you_mean
from cutpath.plane import bounds_mm
from cutpath.readback import drawing_faults, misread
from cutpath.values.drawing import Drawing, Role
from cutpath.values.listing import File, Listed
from cutpath.values.machine import Machine, Paper, Stuff
from cutpath.values.piece import Piece
from cutpath.values.toolpath import ToolPaths
from cutpath.workers import each
from cutpath.writers.dxf import ROLE_LAYERS, to_dxf
from cutpath.writers.machine_files import machine_files, set_up_files, tally
from cutpath.writers.pages import A4_MM
from cutpath.writers.pdf import Cover, to_pdf
from cutpath.writers.set_up import patterns_set_up
from cutpath.writers.svg import ROLE_GROUPS, to_svg

OFFICE_PAPER = Paper(*A4_MM, margin_mm=10.0, overlap_mm=10.0, long=False)
"""A4, with what most printers cannot reach left free (common practice, no source)."""

_FOLDER = "templates"


def template_files(pieces: Iterable[Piece], machines: Sequence[Machine] = ()) -> list[File]:
    """Make the patterns of pieces, one of each however often it is cut.

    Parameters
    ----------
    pieces : iterable of Piece
    machines : sequence of Machine
        Each cuts the patterns too; its own file of each is added.

    Raises
    ------
    Refused
        When a pattern does not fit the machine.
    """
    files: list[File] = []
    runs: dict[str, list[tuple[ToolPaths, tuple[str, ...]]]] = {machine.name: [] for machine in machines}
    asked = list(pieces)
    for own in each("patterns", _plain_pattern, None, asked, len(asked)):
        files += own
    for piece in asked if machines else ():
        drawing, notes = template(piece), template_notes(piece)
        for machine in machines:
            made = machine_files(
                piece.id,
                drawing,
                machine,
                thickness_mm=machine.card_mm or 0.0,
                notes=notes,
                stuff=Stuff.CARD,
                folder=_FOLDER,
            )
            files += [replace(f, listed=replace(f.listed, roll=None, piece=piece.id)) for f in made.made]
            runs[machine.name].append((made.paths, tuple(made.files)))
    for machine in machines:
        if runs[machine.name]:
            set_up = patterns_set_up(machine, runs[machine.name])
            files += set_up_files("patterns", set_up, machine, roll=None, folder=_FOLDER)
    return files


def _plain_pattern(_: None, piece: Piece) -> list[File]:
    """Make the pattern of a piece in each format."""
    drawing = template(piece)
    strokes = tally(drawing)
    files: list[File] = []
    for end, form, written, roles in _PATTERNS:
        names = {role.value: name for role, name in roles.items()}
        listed = Listed(f"{_FOLDER}/{piece.id}_mm.{end}", form, piece=piece.id, roles=names, strokes=strokes)
        files.append(File(listed, written(piece, drawing)))
        refuse_faults(misread(listed.path, drawing_faults(form, files[-1].data, drawing, roles)))
    return files


def _to_pdf(piece: Piece, drawing: Drawing) -> bytes:
    return to_pdf(drawing, OFFICE_PAPER, _cover(piece), template_notes(piece))


_PATTERNS: tuple[tuple[str, str, Callable[[Piece, Drawing], bytes], Mapping[Role, str]], ...] = (
    ("dxf", "dxf-r2000", lambda _, drawing: to_dxf(drawing).encode(), ROLE_LAYERS),
    ("svg", "svg", lambda _, drawing: to_svg(drawing).encode(), ROLE_GROUPS),
    ("pdf", "pdf", _to_pdf, {role: role.value for role in ROLE_GROUPS}),
)
"""End of the name, form, writer, and the layer or group of each role."""


def _cover(piece: Piece) -> Cover:
    _, _, long, wide = bounds_mm(piece.pattern.outline)
    facts = [
        ("Job", piece.job),
        ("Piece", f"{piece.id}, {piece.pattern.family}, {piece.number} of {piece.of}, {piece.quantity} off"),
        ("Hand", piece.hand.value if piece.hand else "none"),
        ("Lead", f"code {piece.lead.code}, colour {piece.lead.colour}"),
        ("Size", f"{long:.0f} × {wide:.0f} mm; the weather face is up"),
        *((f"Fold {way}", names) for way, names in fold_list(piece.pattern)),
    ]
    caution = "Mark lead from the pattern with pencil, chalk or crayon. Never cut or score a fold: it cracks there."
    code = f"{piece.id}\n{piece.job}\n{piece.lead.material}\n{long:.0f} x {wide:.0f} mm"
    return Cover(f"Pattern {piece.id}", tuple(facts), (caution,), code)


def check_templates(names: Iterable[str], pieces: Iterable[Piece]) -> None:
    """See that every piece of which a pattern is wanted is there.

    Raises
    ------
    Refused
        With a finding for each number that no piece bears.
    """
    known = [piece.id for piece in pieces]
    found = []
    for name in names:
        if name not in known:
            meant = did_you_mean(name, known)
            remedy = f"Did you mean {meant}?" if meant else "The cutting list (cutpath pieces) has the numbers."
            found.append(
                Finding("CP108", "--template", f"no piece has the number {name}", "needed: a piece's number", remedy)
            )
    refuse_faults(found)
