"""DXF R12 stripped to what old controllers read: a header, two tables and the entities; nothing else.

Lines end in CR LF, every name is in capitals, there are no handles, blocks, extended data or later sections. The
release has no unit: a file says ``_mm`` in its name. No real machine was tried; GDAL and ezdxf read the files back in
the tests.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from cutpath.values.drawing import Drawing, Role
from cutpath.values.looks import OF_ROLE
from cutpath.writers.dxf import Figures, extents, r12_entity


def to_bare_dxf(drawing: Drawing, layers: Mapping[Role, str]) -> bytes:
    """Write a drawing as bare DXF R12; mm, x along the roll, y across it and upwards.

    Parameters
    ----------
    drawing : Drawing
    layers : mapping of Role to str
        The layer of every role that the drawing has; capitals, digits, - and _, at most 31.

    Raises
    ------
    ValueError
        For a drawing without strokes.
    """
    if not drawing.strokes:
        raise ValueError(f"{drawing.title}: there is nothing to draw")
    (left, low), (right, top) = extents(drawing.strokes)
    header = ["  9", "$ACADVER", "  1", "AC1009"]
    for name, x, y in (("$EXTMIN", left, low), ("$EXTMAX", right, top)):
        header += ["  9", name, " 10", str(x), " 20", str(y), " 30", "0.0"]
    lines = [
        *_section("HEADER", header),
        *_section("TABLES", [*_line_types(), *_layers(layers)]),
        *_section("ENTITIES", _entities(drawing, layers)),
        "  0",
        "EOF",
        "",
    ]
    return "\n".join(lines).replace("\n", "\r\n").encode("ascii")


def _entities(drawing: Drawing, layers: Mapping[Role, str]) -> Iterator[str]:
    figures = Figures()
    for stroke in drawing.strokes:
        yield r12_entity(stroke, f"  8\n{layers[stroke.role]}\n", str, figures).rstrip("\n")


def _section(name: str, lines: Iterable[str]) -> Iterator[str]:
    yield from ("  0", "SECTION", "  2", name)
    yield from lines
    yield from ("  0", "ENDSEC")


def _table(name: str, count: int, lines: Iterable[str]) -> Iterator[str]:
    yield from ("  0", "TABLE", "  2", name, " 70", str(count))
    yield from lines
    yield from ("  0", "ENDTAB")


def _line_types() -> Iterator[str]:
    solid = (
        "  0",
        "LTYPE",
        "  2",
        "CONTINUOUS",
        " 70",
        "0",
        "  3",
        "SOLID LINE",
        " 72",
        "65",
        " 73",
        "0",
        " 40",
        "0.0",
    )
    return _table("LTYPE", 1, solid)


def _layers(layers: Mapping[Role, str]) -> Iterator[str]:
    named = [("0", 7), *((layer, OF_ROLE[role].index) for role, layer in layers.items())]
    rows = (
        line
        for name, colour in named
        for line in ("  0", "LAYER", "  2", name, " 70", "0", " 62", str(colour), "  6", "CONTINUOUS")
    )
    return _table("LAYER", len(named), rows)
