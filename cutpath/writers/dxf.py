"""DXF, releases R2000 and R12: LINE for two points, else a polyline, closed by its flag.

ezdxf writes header, tables and objects. The entities, which are many and of three kinds, are put in as text of the
same wording; a test holds them to what ezdxf writes of them. Machine layers carry continuous lines only: a cutter
follows the whole of a dashed line. Colours and, but for R12, line weights are those of the table of looks. R12 knows
neither unit nor LWPOLYLINE: there a drawing rests on its name and on the 100 mm bar on its reference layer. No real
machine was tried; GDAL reads the files back in the tests.
"""

from __future__ import annotations

import io
import logging
import os
import re
import sys
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from itertools import chain, count
from pathlib import Path
from typing import Any, Literal

from cutpath.tolerances import FILE_DECIMALS
from cutpath.values.drawing import Drawing, Role, Stroke
from cutpath.values.looks import OF_ROLE
from cutpath.values.pattern import Point

Release = Literal["R2000", "R12"]

ROLE_LAYERS: dict[Role, str] = {
    Role.MARK: "MARK",
    Role.FOLD: "FOLD",
    Role.INNER: "INNER",
    Role.OUTER: "OUTER",
    Role.SQUARING: "SQUARING",
    Role.KEPT: "KEPT",
    Role.CROSS: "CROSS-CUT",
    Role.REFERENCE: "REFERENCE",
}
"""Layer of each role."""

_ENTITIES = "  2\nENTITIES\n"
_DECIMALS = 6  # of a coordinate, in mm
_PLAIN_FROM = 1e-4  # smaller figures would be written with an exponent; they keep `FILE_DECIMALS`
_NO_UNIT, _MILLIMETRES = 0, 4  # $INSUNITS
_MARKS = ((-111.015625, -222.015625), (333.015625, 444.015625), (555.015625, 666.015625))  # exact in binary
_LAST_HANDLE, _HANDLES_AFTER = 0xFEDCBA0, 16
_NO_FONTS = '{"version": 2, "font-faces": []}'  # what ezdxf keeps in its cache file when it found no fonts


def to_dxf(drawing: Drawing, *, release: Release = "R2000", layers: Mapping[Role, str] = ROLE_LAYERS) -> str:
    """Write a drawing as DXF text; mm, x along the roll, y across it and upwards, z = 0.

    The same drawing always gives the same text: dates and identifiers are fixed.

    Parameters
    ----------
    drawing : Drawing
    release : {"R2000", "R12"}
    layers : mapping of Role to str
        The layer of every role that the drawing has; capitals, digits, - and _, at most 31.

    Raises
    ------
    ValueError
        For another release, or a drawing without strokes.
    """
    if release not in ("R2000", "R12"):
        raise ValueError(f"no such DXF release: {release}")
    if not drawing.strokes:
        raise ValueError(f"{drawing.title}: there is nothing to draw")
    frame = _frame(release, tuple(layers.items()))
    handles = count(frame.first_handle)
    figures = Figures()
    if release == "R12":
        numbered = lambda: f"  5\n{next(handles):X}\n"  # noqa: E731 - one line of each record
        entities = "".join([r12_entity(s, f"  8\n{layers[s.role]}\n", numbered, figures) for s in drawing.strokes])
    else:
        entities = "".join([_entity(s, layers[s.role], frame.owner, next(handles), figures) for s in drawing.strokes])
    known = (*extents(drawing.strokes), (_fixed(drawing.length_mm), _fixed(drawing.width_mm)))
    head, tail = frame.filled(known, next(handles))
    return head + entities + tail


@dataclass(frozen=True, slots=True)
class _Surround:
    """What ezdxf writes before and after the entities of a drawing, with marks where it hangs on them.

    The handles of what ezdxf adds as it writes follow the last one of the entities.
    """

    head: str
    tail: str
    owner: str
    first_handle: int

    def filled(self, known: Sequence[Point], last_handle: int) -> tuple[str, str]:
        """Return both parts for a drawing with these extents and limits, and the handle after its last one."""
        values = {str(mark): str(v) for mark, v in zip(chain(*_MARKS), chain(*known), strict=True)}
        values |= {f"{_LAST_HANDLE + k:X}": f"{last_handle + k:X}" for k in range(_HANDLES_AFTER)}
        marks = re.compile(f"^({'|'.join(map(re.escape, values))})$", re.MULTILINE)
        head, tail = (marks.sub(lambda found: values[found[0]], text) for text in (self.head, self.tail))
        return head, tail


@cache
def _frame(release: Release, layers: tuple[tuple[Role, str], ...]) -> _Surround:
    """Have ezdxf write a drawing without entities, once for all drawings of a kind."""
    low, high, limits = _MARKS
    with _steady_ezdxf() as ezdxf:
        doc = ezdxf.new(release, units=_MILLIMETRES if release == "R2000" else _NO_UNIT)
        if release == "R2000":
            doc.header["$MEASUREMENT"] = 1
        doc.layers.remove("Defpoints")  # empty, and of no use without dimensions
        for role, layer in layers:
            made = doc.layers.add(layer, color=OF_ROLE[role].index, linetype="CONTINUOUS")
            if release == "R2000":
                made.dxf.lineweight = round(100 * OF_ROLE[role].width_mm)
        space = doc.modelspace()
        space.reset_extents((*low, 0.0), (*high, 0.0))
        space.reset_limits((0.0, 0.0), limits)
        doc.header["$EXTMIN"], doc.header["$EXTMAX"] = (*low, 0.0), (*high, 0.0)
        for paper in doc.layouts:  # what is left in them as "nothing yet" would be written as 1e+20
            if paper.is_any_paperspace:
                paper.reset_extents((0.0, 0.0, 0.0), (0.0, 0.0, 0.0))
                doc.header["$PEXTMIN"] = doc.header["$PEXTMAX"] = (0.0, 0.0, 0.0)
        first = int(str(doc.entitydb.handles), 16)
        doc.entitydb.handles.reset(f"{_LAST_HANDLE:X}")
        text = io.StringIO()
        doc.write(text)
    head, section, tail = text.getvalue().partition(_ENTITIES)
    return _Surround(head + section, tail, space.layout_key, first)


class Figures(dict[float, str]):
    """Coordinates as a file bears them, each rounded and written once: rows of a roll share many."""

    def __missing__(self, value: float) -> str:
        text = self[value] = str(_fixed(value))
        return text


def extents(strokes: Iterable[Stroke]) -> tuple[Point, Point]:
    """Return the least and greatest x and y of strokes, as a file bears them."""
    points = [p for stroke in strokes for p in stroke.points]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return (_fixed(min(xs)), _fixed(min(ys))), (_fixed(max(xs)), _fixed(max(ys)))


def _fixed(value: float) -> float:
    """Round a coordinate once, to figures that need no exponent: old controllers read 3e-07 as 3."""
    return round(value, _DECIMALS if abs(value) >= _PLAIN_FROM else FILE_DECIMALS) + 0.0


def _entity(stroke: Stroke, layer: str, owner: str, handle: int, figures: Figures) -> str:
    """Write one entity of R2000, as ezdxf itself would; through its own entities it takes thirty times as long."""
    head = f"  5\n{handle:X}\n330\n{owner}\n100\nAcDbEntity\n  8\n{layer}\n100\n"
    if len(stroke.points) == 2 and not stroke.closed:
        return f"  0\nLINE\n{head}AcDbLine\n{_ends(stroke, figures)}"
    corners = "".join([f" 10\n{figures[x]}\n 20\n{figures[y]}\n" for x, y in stroke.points])
    return f"  0\nLWPOLYLINE\n{head}AcDbPolyline\n 90\n{len(stroke.points)}\n 70\n{stroke.closed:d}\n{corners}"


def r12_entity(stroke: Stroke, layer: str, handle: Callable[[], str], figures: Figures) -> str:
    """Return one entity of R12, in the wording of ezdxf.

    ``layer`` gives the lines that name the layer of a record, ``handle`` before them those that number it.
    """
    if len(stroke.points) == 2 and not stroke.closed:
        return f"  0\nLINE\n{handle()}{layer}{_ends(stroke, figures)}"
    line = f"  0\nPOLYLINE\n{handle()}{layer} 66\n1\n 10\n0.0\n 20\n0.0\n 30\n0.0\n 70\n{stroke.closed:d}\n"
    corners = [
        f"  0\nVERTEX\n{handle()}{layer} 10\n{figures[x]}\n 20\n{figures[y]}\n 30\n0.0\n 70\n0\n"
        for x, y in stroke.points
    ]
    return f"{line}{''.join(corners)}  0\nSEQEND\n{handle()}{layer}"


def _ends(stroke: Stroke, figures: Figures) -> str:
    (x0, y0), (x1, y1) = stroke.points
    return f" 10\n{figures[x0]}\n 20\n{figures[y0]}\n 30\n0.0\n 11\n{figures[x1]}\n 21\n{figures[y1]}\n 31\n0.0\n"


@contextmanager
def _steady_ezdxf() -> Iterator[Any]:
    """Yield ezdxf, set to write fixed dates and identifiers and not to remark that R12 has no unit.

    Its options are put back afterwards.
    """
    if "ezdxf" not in sys.modules:
        _import_ezdxf()
    import ezdxf

    options = ezdxf.options  # type: ignore[attr-defined]  # it is there at run time
    log = logging.getLogger("ezdxf")
    before, level = options.write_fixed_meta_data_for_testing, log.level
    options.write_fixed_meta_data_for_testing = True
    log.setLevel(logging.ERROR)
    try:
        yield ezdxf
    finally:
        options.write_fixed_meta_data_for_testing = before
        log.setLevel(level)


def _import_ezdxf() -> None:
    """Import ezdxf without a search for fonts, which no drawing here uses, and without its cache in the home folder.

    There is no option for it; but the place of the cache can be set, and a cache that lists no fonts is believed.
    """
    before = os.environ.get("XDG_CACHE_HOME")
    with tempfile.TemporaryDirectory() as folder:
        cache = Path(folder) / "ezdxf" / "font_manager_cache.json"
        cache.parent.mkdir()
        cache.write_text(_NO_FONTS, encoding="utf-8")
        os.environ["XDG_CACHE_HOME"] = folder
        try:
            import ezdxf  # noqa: F401
        finally:
            if before is None:
                del os.environ["XDG_CACHE_HOME"]
            else:
                os.environ["XDG_CACHE_HOME"] = before
