"""Every file of the output folder in memory, each with what the manifest says of it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from cutpath.drawing.fold_notes import fold_notes
from cutpath.drawing.path_report import told
from cutpath.drawing.preflight import common_cuts, preflight
from cutpath.drawing.sheet import draw
from cutpath.errors import Finding, faults
from cutpath.output import MANIFEST, Entry, Manifest, entry_of, json_text, run_id
from cutpath.output.index import INDEX, index_text
from cutpath.readback import drawing_faults, misread, sheet_faults
from cutpath.reports.account import buy_list, cutting_list, packing, quantities, setting_out, yield_tables, yields
from cutpath.reports.pictures.isometric import Folded, folded_pieces
from cutpath.reports.words import page, tickets
from cutpath.reports.words.piece_labels import pack_labels, piece_labels, tied_labels
from cutpath.trade import cautions
from cutpath.values.batch import Batch, Made, Sheet
from cutpath.values.drawing import Drawing, Role
from cutpath.values.formats import Format, LabelSheets
from cutpath.values.listing import File, Listed, by_path
from cutpath.values.machine import Machine, Stuff
from cutpath.values.piece import Piece
from cutpath.writers.dxf import ROLE_LAYERS, to_dxf
from cutpath.writers.label_sheets import Label, grid_named, label_sheets
from cutpath.writers.machine_files import machine_files, set_up_files, tally
from cutpath.writers.pack_page import pack_page
from cutpath.writers.set_up import set_up
from cutpath.writers.svg import ROLE_GROUPS, to_svg
from cutpath.writers.templates import template_files


@dataclass(frozen=True, slots=True)
class Work:
    """Files of a roll for one machine, what was found in making them, and a line for the terminal on its work."""

    files: tuple[File, ...]
    findings: tuple[Finding, ...]
    words: str


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is wanted of every roll: drawings in some formats, and files for machines."""

    formats: Collection[Format]
    tools: Sequence[Machine]

    @property
    def written(self) -> bool:
        """Whether drawings of the rolls are written at all, or only looked at for the report."""
        return any(tool.stuff is Stuff.LEAD for tool in self.tools) or any(f in self.formats for f, *_ in _DRAWINGS)


@dataclass(frozen=True, slots=True)
class RollWork:
    """All that is made of one roll: what stands against it, cuts that pieces share, its drawings and machine work."""

    roll: str
    findings: tuple[Finding, ...]
    unlettered: tuple[str, ...]
    shared: tuple[int, float]
    files: tuple[File, ...]
    works: tuple[Work, ...]


def roll_work(wanted: Wanted, asked: tuple[Sheet, Mapping[str, Piece]]) -> RollWork:
    """Draw a roll, look it over, and write it for whoever wants it; nothing is written of one that is at fault.

    The pieces are those that lie on it, by their numbers.
    """
    sheet, pieces = asked
    drawing = draw(sheet, pieces, caution=cautions.text_of("no scoring"), cuts_only=not wanted.written)
    found = preflight(drawing) if wanted.written else ()
    if faults(found):
        return RollWork(drawing.place, found, (), (0, 0.0), (), ())
    if wanted.written:
        found += misread(sheet.id, sheet_faults(drawing, sheet, pieces))
    files = tuple(roll_files(sheet, drawing, wanted.formats))
    for file in files:
        own = {role: name for role in Role if (name := file.listed.roles.get(role.value))}
        found += misread(file.path, drawing_faults(file.listed.form, file.data, drawing, own))
    cutters = [tool for tool in wanted.tools if tool.stuff is Stuff.LEAD]
    works = tuple(machine_work(tool, sheet, drawing, pieces) for tool in cutters)
    return RollWork(drawing.place, found, drawing.unlettered, common_cuts(drawing), files, works)


def roll_files(sheet: Sheet, drawing: Drawing, formats: Collection[Format]) -> list[File]:
    """Return the drawings of one roll for any machine or viewer, in those formats that are drawings."""
    strokes = tally(drawing)
    out: list[File] = []
    for asked, suffix, form, written, roles in _DRAWINGS:
        if asked in formats:
            path = f"rolls/{sheet.id}{suffix}"
            listed = Listed(path, form, sheet.id, roles=_names(roles), strokes=strokes)
            out.append(File(listed, written(drawing).encode()))
    return out


_DRAWINGS: tuple[tuple[Format, str, str, Callable[[Drawing], str], Mapping[Role, str]], ...] = (
    (Format.DXF, "_mm.dxf", "dxf-r2000", lambda drawing: to_dxf(drawing, release="R2000"), ROLE_LAYERS),
    (Format.DXF_R12, "_mm_r12.dxf", "dxf-r12", lambda drawing: to_dxf(drawing, release="R12"), ROLE_LAYERS),
    (Format.SVG, "_mm.svg", "svg", to_svg, ROLE_GROUPS),
)


def machine_work(tool: Machine, sheet: Sheet, drawing: Drawing, pieces: Mapping[str, Piece]) -> Work:
    """Return what a machine for lead is given of one roll: its files and their set-up sheet."""
    thick = sheet.lead.thickness_mm
    run = machine_files(sheet.id, drawing, tool, thickness_mm=thick, notes=fold_notes(sheet, pieces))
    made = list(run.made)
    if tool.paper is None and run.made:
        own = set_up(sheet, pieces, drawing, tool, (run.paths, tuple(run.files)))
        made += set_up_files(sheet.id, own, tool, roll=sheet.id, folder="rolls")
    return Work(tuple(made), run.paths.findings, f"{tool.name}: {told(run.paths, on_paper=tool.paper is not None)}")


def pattern_files(pieces: Iterable[Piece], tools: Iterable[Machine], names: Sequence[str] | None) -> list[File]:
    """Return the patterns of the pieces that are named, of all where ``names`` is empty; by None, only for card."""
    cutters = [tool for tool in tools if tool.stuff is Stuff.CARD]
    if names is None and not cutters:
        return []
    wanted = [piece for piece in pieces if not names or piece.id in names]
    return template_files(wanted, cutters)


def report_files(batch: Batch, folded: Mapping[str, Folded]) -> list[tuple[Format | None, File]]:
    """Return account, lists and page of a batch, each with the format that it is asked for by, None: always written.

    ``folded`` are its pieces drawn folded up.
    """
    totals = yields.account(batch)
    used, pieces = "lead bought, drawn, used and left", cutting_list.cutting_list(batch)
    fetched, packed, counted = buy_list.buy_list(batch), packing.pack_list(batch), quantities.quantities(batch)
    printed = page.report_parts(batch, totals, cautions.texts(), folded)
    return [
        (Format.JSON, _general("yield.json", used, json_text(totals))),
        (Format.CSV, _general("yield.csv", f"{used}, as a table", yield_tables.yield_csv(totals))),
        (Format.CSV, _general("cutting-list.csv", "pieces", cutting_list.cutting_list_csv(pieces))),
        (
            Format.CSV,
            _general("buy-list.csv", _FETCHED, buy_list.buy_list_csv(fetched)),
        ),
        (
            Format.CSV,
            _general("pack-list.csv", _PACKED, packing.pack_list_csv(packed)),
        ),
        (Format.CSV, _general("quantities.csv", "wedges, clips, soakers", quantities.quantities_csv(counted))),
        (Format.CSV, _general("setting-out.csv", "points of the pieces", setting_out.setting_out_csv(batch.pieces))),
        (None, _general("report.html", "the page to print; read its findings and cautions first", *printed)),
    ]


_FETCHED = "what to fetch from stock, and what to buy"
_PACKED = "what is packed together for each customer"
_PRINTED = "the pack list to print, a page to each customer"
_TICKETS, _LABELS = (
    Listed("tickets.html", "html", says="one page a piece, to mark out by hand"),
    Listed("labels.pdf", "pdf", says="stick-on labels for pieces and packs"),
)


def _general(path: str, says: str, *parts: str) -> File:
    """Return a file of the whole run, with what the index says of it."""
    return _file(Listed(path, path.rsplit(".", 1)[1], says=says), parts)


def _file(listed: Listed, parts: Sequence[str]) -> File:
    """Return a file; a long text may come in parts."""
    return File(listed, b"".join([part.encode() for part in parts]))


def _entry(file: File) -> Entry:
    return entry_of(file.path, file.data, file.listed.told())


def folder_of(
    batch: Batch,
    files: Sequence[File],
    words: Sequence[str],
    *,
    labels: LabelSheets,
    formats: Collection[Format],
    settled: Mapping[str, object],
    made_from: Mapping[str, object],
) -> Made:
    """Return the whole folder: reports before the files of the rolls, an index where there are any, and the manifest.

    ``labels`` says which labels the pieces get. ``settled`` and ``made_from`` go into the manifest.
    """
    folded = folded_pieces(batch)
    reports = report_files(batch, folded)
    name = run_id(batch.version, batch.seed, (_entry(file) for _, file in reports))  # whatever else is asked for
    made = [*(file for form, file in reports if form is None or form in formats), *files]
    if Format.PDF in formats:  # its bytes hang on a library: the run is named by the same list as CSV
        places = {piece: f"{_TICKETS.path}#{place}" for piece, place in tickets.ticket_places(batch.pieces).items()}
        made.append(File(Listed("pack-list.pdf", "pdf", says=_PRINTED), pack_page(batch, name, places)))
    last = [_TICKETS, *([_LABELS] if labels.grid else [])]
    if files:
        made.append(_general(INDEX, "", index_text([*(file.listed for file in made), *last])))
    made.append(_file(_TICKETS, tickets.ticket_parts(batch, name, folded)))
    if labels.grid:
        said = tied_labels(batch) if labels.one_to_a_pack else piece_labels(batch)
        pages = [Label(title, lines, f"{name} {title}") for title, lines in said]
        pages += [Label(title, lines, f"{name} {title}, {lines[0]}") for title, lines in pack_labels(batch)]
        made.append(File(_LABELS, label_sheets(pages, grid_named(labels.grid))))
    manifest = Manifest(batch.version, batch.seed, tuple(map(_entry, made)), name, settled, made_from)
    return Made({**by_path(made), MANIFEST: manifest.text().encode()}, batch, tuple(words), name)


def _names(roles: Mapping[Role, str]) -> dict[str, str]:
    return {role.value: name for role, name in roles.items()}
