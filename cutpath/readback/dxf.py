"""A strict reader of the DXF that we write: LINE, LWPOLYLINE and POLYLINE in the plane, nothing else.

DXF is a list of pairs, a group code on one line and its value on the next (the DXF reference, groups of entities).
Files of others may hold far more; what is not of ours is refused here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from cutpath.readback.lines import Lines, MisreadError, TextLines

_NAME = re.compile(r"[A-Z0-9_-]{1,31}")
_HEAD = {"  0", "  5", "330", "100", "  8"}
_BEGINS = ["1", "0.0", "0.0", "0.0"]
_LINE = [" 10", " 20", " 30", " 11", " 21", " 31"]
_LAYER = re.compile(r"^  0\nLAYER\n((?:(?!  0\n).*\n.*\n)*)", re.MULTILINE)
_TAIL = re.compile(r"\n  0\nEOF\n\Z")


def read_dxf(data: bytes, version: str) -> Mapping[str, Lines]:
    """Read lines by their layers; mm.

    Parameters
    ----------
    data : bytes
    version : str
        What the header has to say: ``AC1015`` (R2000, which must say millimetres too) or ``AC1009`` (R12).

    Raises
    ------
    MisreadError
    """
    try:
        text = data.decode("ascii")
    except UnicodeDecodeError:
        raise MisreadError("a character that is not plain ASCII") from None
    if "\r" in text:
        if text.count("\r") != text.count("\n") or text.count("\r\n") != text.count("\n"):
            raise MisreadError("lines that end in two ways")
        text = text.replace("\r\n", "\n")
    if f"$ACADVER\n  1\n{version}\n" not in text:
        raise MisreadError(f"a header that does not say {version}")
    if version == "AC1015" and "$INSUNITS\n 70\n4\n" not in text:
        raise MisreadError("a header that does not say millimetres")
    if not _TAIL.search(text):
        raise MisreadError("no end of file")
    parts = text.split("  0\nSECTION\n  2\nENTITIES\n")
    if len(parts) != 2:
        raise MisreadError(f"{len(parts) - 1} sections of entities")
    body, end, _ = parts[1].partition("  0\nENDSEC\n")
    if not end:
        raise MisreadError("entities without an end")
    return _entities(body, dict(_layers(parts[0])))


def _layers(head: str) -> Iterator[tuple[str, str]]:
    """Yield each layer with its colour.

    Raises
    ------
    MisreadError
        For a layer that is not shown, or whose lines are broken.
    """
    for record in _LAYER.finditer(head):
        lines = record[1].split("\n")
        groups = dict(zip(lines[::2], lines[1::2], strict=False))
        name, colour = groups.get("  2", ""), groups.get(" 62", "")
        if groups.get(" 70") != "0" or not colour.isdigit() or groups.get("  6", "").upper() != "CONTINUOUS":
            raise MisreadError(f"layer {name!r} is off, locked or not solid")
        yield name, colour


def _entities(body: str, layers: Mapping[str, str]) -> dict[str, Lines]:
    lines = body.split("\n")
    if lines.pop() or len(lines) % 2:
        raise MisreadError("a group code without a value")
    codes, values = lines[::2], lines[1::2]
    codes.append("  0")
    values.append("END")
    found: dict[str, TextLines] = {}
    at = 0
    xs: Sequence[str]
    ys: Sequence[str]
    while at < len(codes) - 1:
        if codes[at] != "  0":
            raise MisreadError(f"group {codes[at].strip()} where an entity begins")
        kind, start, at = values[at], at, codes.index("  0", at + 1)
        where = f"{kind} at line {2 * start + 1} of the entities"
        match kind:
            case "LINE":
                layer, rest = _head(codes, values, start, at, where)
                if codes[rest:at] != _LINE or {values[rest + 2], values[rest + 5]} != {"0.0"}:
                    raise MisreadError(f"{where}: not two points in the plane")
                xs, ys, closed = [values[rest], values[rest + 3]], [values[rest + 1], values[rest + 4]], False
            case "LWPOLYLINE":
                layer, rest = _head(codes, values, start, at, where)
                count, closed = _count(codes, values, rest, where)
                rest += 2
                if codes[rest:at] != [" 10", " 20"] * count:
                    raise MisreadError(f"{where}: not the points that it counts")
                xs, ys = values[rest:at:2], values[rest + 1 : at : 2]
            case "POLYLINE":
                layer, rest = _head(codes, values, start, at, where)
                if codes[rest:at] != [" 66", " 10", " 20", " 30", " 70"] or values[rest : rest + 4] != _BEGINS:
                    raise MisreadError(f"{where}: not a polyline in the plane")
                closed = _flag(values[at - 1], where)
                xs, ys, at = _vertices(codes, values, at, layer, where)
            case _:
                raise MisreadError(f"{where}: no entity of ours")
        if layer not in layers or not _NAME.fullmatch(layer):
            raise MisreadError(f"{where}: layer {layer!r} is in no table")
        found.setdefault(layer, TextLines()).add(xs, ys, closed=closed)
    return {layer: replace(own.read(layer), colour=layers[layer]) for layer, own in found.items()}


def _head(codes: Sequence[str], values: Sequence[str], start: int, end: int, where: str) -> tuple[str, int]:
    """Return the layer of an entity and where its own groups begin.

    Raises
    ------
    MisreadError
    """
    at, layer = start + 1, ""
    while at < end and codes[at] in _HEAD:
        if codes[at] == "  8":
            if layer:
                raise MisreadError(f"{where}: two layers")
            layer = values[at]
        at += 1
    return layer, at


def _count(codes: Sequence[str], values: Sequence[str], at: int, where: str) -> tuple[int, bool]:
    if codes[at : at + 2] != [" 90", " 70"] or not values[at].isdigit():
        raise MisreadError(f"{where}: no number of points")
    return int(values[at]), _flag(values[at + 1], where)


def _flag(value: str, where: str) -> bool:
    if value not in ("0", "1"):
        raise MisreadError(f"{where}: flag {value}")
    return value == "1"


def _vertices(
    codes: list[str], values: list[str], start: int, layer: str, where: str
) -> tuple[Sequence[str], Sequence[str], int]:
    """Return x and y of the vertices from ``start``, and where the entity after them begins.

    Raises
    ------
    MisreadError
    """
    size = codes.index("  0", start + 1) - start
    try:
        end = values.index("SEQEND", start)
    except ValueError:
        raise MisreadError(f"{where}: no SEQEND") from None
    groups = codes[start : start + size]
    if groups[1:] not in (["  8", *_VERTEX], ["  5", "  8", *_VERTEX]) or (end - start) % size:
        raise MisreadError(f"{where}: no plain vertices")
    count = (end - start) // size
    x = size - 4
    same = (
        codes[start:end] == groups * count
        and values[start:end:size] == ["VERTEX"] * count
        and values[start + x - 1 : end : size] == [layer] * count
        and values[start + x + 2 : end : size] == ["0.0"] * count
        and values[start + x + 3 : end : size] == ["0"] * count
    )
    after = codes.index("  0", end + 1)
    if not same or codes[end] != "  0" or set(codes[end + 1 : after]) - _HEAD or values[after - 1] != layer:
        raise MisreadError(f"{where}: vertices that are not alike")
    return values[start + x : end : size], values[start + x + 1 : end : size], after


_VERTEX = [" 10", " 20", " 30", " 70"]
