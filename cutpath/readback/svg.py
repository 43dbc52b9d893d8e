"""A strict reader of the SVG that we write: groups with names, one path of straight lines for each contour.

One user unit is one millimetre; y points down in the file and up in what is returned.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from xml.etree import ElementTree as ET

from cutpath.readback.lines import Lines, MisreadError, TextLines, figures

_SVG = "{http://www.w3.org/2000/svg}"
_GROUP = frozenset({"id", "fill", "stroke", "stroke-width"})
_PAGE = frozenset({"width", "height", "viewBox", "baseProfile", "version"})
_PATH = frozenset({"d", "stroke-dasharray"})
_WAY = re.compile(r"M[-.\d]+,[-.\d]+(?: L[-.\d]+,[-.\d]+)+(?P<closed> Z)?")


def read_svg(data: bytes) -> Mapping[str, Lines]:
    """Return lines by the names of their groups, y up from the foot of the page; mm.

    Raises
    ------
    MisreadError
    """
    try:
        page = ET.fromstring(data)  # noqa: S314 - written by this program a moment ago
    except ET.ParseError as error:
        raise MisreadError(f"not well formed: {error}") from None
    wide, high = page.get("width", ""), page.get("height", "")
    if page.tag != f"{_SVG}svg" or set(page.keys()) - _PAGE:
        raise MisreadError("not a plain page")
    if page.get("viewBox") != f"0 0 {wide.removesuffix('mm')} {high.removesuffix('mm')}" or not wide.endswith("mm"):
        raise MisreadError("a page whose unit is not the millimetre")
    (height,) = figures([high.removesuffix("mm")], "the page's height")
    found: dict[str, Lines] = {}
    for group in page:
        if group.tag in (f"{_SVG}title", f"{_SVG}desc", f"{_SVG}defs") and len(group) == 0:
            continue
        name = group.get("id", "")
        if group.tag != f"{_SVG}g" or set(group.keys()) - _GROUP or not name or name in found:
            raise MisreadError(f"{group.tag.removeprefix(_SVG)} where a group was due")
        found[name] = _lines(group, height)
    return found


def _lines(group: ET.Element, height: float) -> Lines:
    lines = TextLines()
    dashes: list[tuple[float, ...]] = []
    for number, path in enumerate(group):
        if path.tag == f"{_SVG}title" and not number:
            continue
        where = f"path {number} of {group.get('id')}"
        if path.tag != f"{_SVG}path" or set(path.keys()) - _PATH:
            raise MisreadError(f"{where}: no plain path")
        way = _WAY.fullmatch(path.get("d", ""))
        if way is None:
            raise MisreadError(f"{where}: not a way of straight lines")
        places = way[0].removesuffix(" Z")[1:].replace(" L", ",").split(",")
        title = path.findtext(f"{_SVG}title") if len(path) else ""
        lines.add(places[::2], places[1::2], closed=way["closed"] is not None, title=title or "")
        broken = path.get("stroke-dasharray")
        dashes.append(tuple(figures(broken.split(","), where)) if broken else ())
    where = f"group {group.get('id')}"
    (width,) = figures([group.get("stroke-width", "")], where)
    if group.get("fill") != "none":
        raise MisreadError(f"{where}: lines that are filled")
    read = lines.read(where)
    colour = group.get("stroke", "")
    return replace(read, ys=[height - y for y in read.ys], dashes=dashes, colour=colour, width_mm=width)
