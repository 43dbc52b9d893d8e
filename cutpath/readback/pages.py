"""Report and tickets read again: sound markup in which nothing runs or is fetched, and every piece drawn as it is cut.

The outline on a ticket is held against the piece at whatever scale and turn it was drawn, never its mirror image: the
wrong hand is the dearest mistake that a ticket can make. Figures in words are not read.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from xml.etree import ElementTree as ET

import numpy as np

from cutpath.readback.lines import MisreadError, figures
from cutpath.values.batch import Batch
from cutpath.values.pattern import FlatPattern, Point

_SVG = "{http://www.w3.org/2000/svg}"
_DOCTYPE = "<!DOCTYPE html>\n"
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
_RUNS = frozenset({"script", "iframe", "object", "embed", "link", "base", "form", "img"})
_SLACK_MM = 0.002
"""Figures of a picture are rounded to 0.001 mm of paper."""


def read_page(data: bytes) -> ET.Element:
    """Return the root of a page.

    Raises
    ------
    MisreadError
        Where the markup is not sound, something could run or be fetched, or a link within the page leads nowhere.
    """
    text = data.decode()
    if not text.startswith(_DOCTYPE):
        raise MisreadError("no page of HTML")
    try:
        root = ET.fromstring(text.removeprefix(_DOCTYPE))  # noqa: S314 - written by this program a moment ago
    except ET.ParseError as error:
        raise MisreadError(f"not well formed: {error}") from None
    policies = [m.get("content") for m in root.iter("meta") if m.get("http-equiv") == "Content-Security-Policy"]
    if policies != [_POLICY]:
        raise MisreadError("no policy that keeps everything else out")
    ids: Counter[str] = Counter()
    links: set[str] = set()
    for part in root.iter():
        if part.tag.removeprefix(_SVG) in _RUNS:
            raise MisreadError(f"{part.tag} in a page of words and pictures")
        for key, value in part.items():
            if key.startswith("on") or (key in {"src", "href"} and not value.startswith("#")):
                raise MisreadError(f"{key} of {part.tag}")
            if key == "id":
                ids[value] += 1
            elif key == "href":
                links.add(value[1:])
    if twice := [name for name, count in ids.items() if count > 1]:
        raise MisreadError(f"{twice[0]} stands for two places")
    if lost := sorted(links - ids.keys()):
        raise MisreadError(f"a link to {lost[0]}, which is not there")
    return root


def against_report(files: Mapping[str, bytes], path: str, batch: Batch) -> Iterator[str]:
    """Tell of jobs, rolls and pieces that the report does not name.

    Raises
    ------
    MisreadError
    """
    words = " ".join(read_page(files[path]).itertext())
    named = (*(j.name for j in batch.jobs), *(s.id for s in batch.sheets))
    for name in named:
        if name not in words:
            yield f"{name} is not named"


def against_tickets(files: Mapping[str, bytes], path: str, batch: Batch) -> Iterator[str]:
    """Tell where tickets are not those of the pieces, each once, drawn as they are cut.

    Raises
    ------
    MisreadError
    """
    pieces = {piece.id: piece for piece in batch.pieces}
    told: Counter[str] = Counter()
    for ticket in read_page(files[path]).iter("article"):
        picture = next(ticket.iterfind("div/div[@class='pictures']//" + _SVG + "svg"), None)
        if picture is None:
            raise MisreadError("a ticket without a drawing")
        names = (picture.findtext(f"{_SVG}title") or "").split(", ")
        told.update(names)
        drawn = picture.find(f"{_SVG}path[@class='piece']")
        rings = _rings("" if drawn is None else drawn.get("d", ""), names[0])
        for name in names:
            if name in pieces and (fault := _unlike(rings, pieces[name].pattern)):
                yield f"{name} {fault}"
    for name in told | Counter(pieces.keys()):
        if name not in pieces or told[name] != 1:
            yield f"{name} has {told[name]} tickets" if name in pieces else f"a ticket of {name}, which is not cut"


def _rings(ways: str, name: str) -> list[np.ndarray]:
    out = []
    for ring in re.findall(r"M([^MZ]+)Z", ways):
        plain = figures(re.split(r"[L ]", ring), f"the outline of {name}")
        out.append(np.array(plain[::2]) - 1j * np.array(plain[1::2]))  # y points down in a picture
    return out


def _unlike(rings: Sequence[np.ndarray], pattern: FlatPattern) -> str:
    """Return how what is drawn differs from a pattern; empty where it is the same but for scale, turn and place."""
    wanted = [_complex(pattern.outline), *map(_complex, pattern.holes)]
    if [len(r) for r in rings] != [len(w) for w in wanted]:
        return "is drawn with other corners"
    outline = wanted[0]
    middle, own = outline.mean(), rings[0].mean()
    scale = np.vdot(outline - middle, rings[0] - own) / np.vdot(outline - middle, outline - middle)
    off = max(np.abs(ring - own - scale * (want - middle)).max() for ring, want in zip(rings, wanted, strict=True))
    return f"is drawn {off:.3f} mm off its form" if off > _SLACK_MM else ""


def _complex(points: Sequence[Point]) -> np.ndarray:
    return np.array([complex(x, y) for x, y in points])
