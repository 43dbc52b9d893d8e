"""What was made, read again before it is put in place: strict readers of our own, which share no code with the writers.

Three links make one chain from pieces to files. The strokes of a roll are held against the pieces where they lie
(`sheet_faults`), each drawing against the strokes (`drawing_faults`), each program for a machine against its tool paths
(`run_faults`); lists, account and manifest (`folder_faults`) and pages (`page_faults`) against the batch.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from cutpath.errors import Finding
from cutpath.values.batch import Batch, Sheet
from cutpath.values.drawing import Drawing, Role
from cutpath.values.machine import Machine
from cutpath.values.piece import Piece
from cutpath.values.toolpath import Frame

if TYPE_CHECKING:
    from cutpath.readback.folder import Asked

READ_BACK = "CP612"
"""Code of the finding that a file reads back otherwise than it was to be written."""

_DXF = {"dxf-r2000": "AC1015", "dxf-r12": "AC1009", "dxf-r12-bare": "AC1009"}
_DXF_SLACK_MM, _SVG_SLACK_MM = 6e-5, 1.6e-7
"""Of DXF half of the last decimal of figures next to 0, which have fewer; of SVG half of the last decimals of the
figure, of the page's height and of its corner."""

_UNIT_MM, _ROUNDING_MM = 0.025, 1e-6

_NO_READER = "no reader of ours knows its format"


def drawing_faults(form: str, data: bytes, drawing: Drawing, places: Mapping[Role, str]) -> tuple[str, ...]:
    """Return how a file differs from the strokes that it was made from; so does one of a format that is not read.

    Parameters
    ----------
    form : str
        As the manifest names it.
    data : bytes
    drawing : Drawing
    places : mapping of Role to str
        The layer or group of each role.
    """
    from cutpath.readback.compare import against_drawing
    from cutpath.readback.dxf import read_dxf
    from cutpath.readback.lines import MisreadError
    from cutpath.readback.pdf import against_pages, read_pdf
    from cutpath.readback.svg import read_svg

    try:
        if form in _DXF:
            return tuple(against_drawing(read_dxf(data, _DXF[form]), drawing, places, _DXF_SLACK_MM))
        if form == "svg":
            points = [p for stroke in drawing.strokes for p in stroke.points]
            corner = (min(0.0, *(x for x, _ in points)), min(0.0, *(y for _, y in points)))
            return tuple(against_drawing(read_svg(data), drawing, places, _SVG_SLACK_MM, corner))
        if form == "pdf":
            return tuple(against_pages(read_pdf(data), drawing))
    except MisreadError as error:
        return (str(error),)
    return (_NO_READER,)


def run_faults(form: str, data: bytes, frame: Frame, machine: Machine) -> tuple[str, ...]:
    """Return how a machine's program differs from the passes of a frame; so does one that is not read."""
    from cutpath.readback.compare import against_passes
    from cutpath.readback.hpgl import read_hpgl
    from cutpath.readback.lines import MisreadError
    from cutpath.readback.ngc import read_ngc

    try:
        if form == "hpgl":
            return tuple(against_passes(read_hpgl(data), frame, machine, _UNIT_MM / 2 + _ROUNDING_MM))
        if form == "ngc":
            return tuple(against_passes(read_ngc(data), frame, machine, 0.5 * 10.0**-machine.decimals + _ROUNDING_MM))
    except MisreadError as error:
        return (str(error),)
    return (_NO_READER,)


def sheet_faults(drawing: Drawing, sheet: Sheet, pieces: Mapping[str, Piece]) -> tuple[str, ...]:
    """Return how the strokes of a roll differ from the pieces where they lie."""
    from cutpath.readback.pieces import against_pieces

    return tuple(against_pieces(drawing, sheet, pieces))


def folder_faults(files: Mapping[str, bytes], batch: Batch) -> tuple[Finding, ...]:
    """Return findings on lists, account and manifest that differ from the batch."""
    from cutpath.readback.folder import against_batch

    found: dict[str, list[str]] = {}
    for path, fault in against_batch(files, batch):
        found.setdefault(path, []).append(fault)
    return tuple(f for path, faults in found.items() for f in misread(path, faults))


def pages_to_read(files: Mapping[str, bytes], batch: Batch) -> Sequence[Asked]:
    """Return report and tickets of a folder for `page_faults`, each by itself, so that several can be read at once."""
    from cutpath.readback.folder import pages_of

    return pages_of(files, batch)


def page_faults(_: None, asked: Asked) -> tuple[Finding, ...]:
    """Return findings on a page that differs from the batch."""
    from cutpath.readback.folder import against_page

    return misread(asked[0], against_page(asked))


def misread(path: str, faults: Iterable[str]) -> tuple[Finding, ...]:
    """Return the finding (CP612) on a file, if there are faults: the first three, and how many more there are."""
    told = list(faults)
    if not told:
        return ()
    more = f"; and {len(told) - 3} more" if len(told) > 3 else ""
    return (
        Finding(
            READ_BACK,
            path,
            f"read again before it was put in place, it differs: {'; '.join(told[:3])}{more}",
            "a file that reads back as it was to be written",
            "Nothing was written. This is a fault of the program: please send in the report that was written.",
        ),
    )
