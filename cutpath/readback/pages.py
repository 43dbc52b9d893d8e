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
from cutpath.values.pattern import FlatPattern, Point

_SVG = "{http://www.w3.org/2000/svg}"
_DOCTYPE = b"<!DOCTYPE html>\n"
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
_RUNS = frozenset({"script", "iframe", "object", "embed", "link", "base", "form", "img"})
_BESIDE = "tickets.html#"
"""Where a link may lead out of a page: to a ticket, in the folder that the page lies in."""
_SLACK_MM = 0.002
"""Figures of a picture are rounded to 0.001 mm of paper."""


_AT_ONCE = 1 << 20
"""Bytes of a page that are read at a time: a page of some thousand pieces as one tree takes half a gigabyte."""


def read_page(data: bytes, kept: str = "", words: list[str] | None = None) -> Iterator[ET.Element]:
    """Read a page from end to end, and yield each element called ``kept`` as it ends; ``words`` gets what it says.

    Raises
    ------
    MisreadError
        Where the markup is not sound, something could run or be fetched, or a link within the page leads nowhere.
    """
    if not data.startswith(_DOCTYPE):
        raise MisreadError("no page of HTML")
    page = _Page(kept, words)
    parser = ET.XMLParser(target=page)  # noqa: S314 - written by this program a moment ago
    try:
        for at in range(len(_DOCTYPE), len(data), _AT_ONCE):
            parser.feed(data[at : at + _AT_ONCE])
            yield from page.whole
            page.whole.clear()
        parser.close()
    except ET.ParseError as error:
        raise MisreadError(f"not well formed: {error}") from None
    page.check()


class _Page:
    """What is met as a page is read, from one tag to the next; ``whole`` are elements of the name that is kept."""

    def __init__(self, kept: str, words: list[str] | None) -> None:
        self.whole: list[ET.Element] = []
        self._kept, self._words = kept, words
        self._policies: list[str] = []
        self._ids: Counter[str] = Counter()
        self._links: set[str] = set()
        self._open: ET.TreeBuilder | None = None
        self._deep = 0

    def start(self, tag: str, known: dict[str, str]) -> None:
        """Look at a tag, and begin an element that is kept.

        Raises
        ------
        MisreadError
            Where something could run or be fetched.
        """
        if tag.removeprefix(_SVG) in _RUNS:
            raise MisreadError(f"{tag} in a page of words and pictures")
        if tag == "meta" and known.get("http-equiv") == "Content-Security-Policy":
            self._policies.append(known.get("content", ""))
        for key, value in known.items():
            if key == "href" and tag == "a" and value.startswith(_BESIDE):
                continue
            if key.startswith("on") or (key in {"src", "href"} and not value.startswith("#")):
                raise MisreadError(f"{key} of {tag}")
            if key == "id":
                self._ids[value] += 1
            elif key == "href":
                self._links.add(value[1:])
        if self._words is not None:
            self._words.append(" ")
        if self._open is None and tag == self._kept:
            self._open = ET.TreeBuilder()
        if self._open is not None:
            self._open.start(tag, known)
            self._deep += 1

    def data(self, text: str) -> None:
        """Take words."""
        if self._words is not None:
            self._words.append(text)
        if self._open is not None:
            self._open.data(text)

    def end(self, tag: str) -> None:
        """End an element."""
        if self._words is not None:
            self._words.append(" ")
        if self._open is not None:
            self._open.end(tag)
            self._deep -= 1
            if not self._deep:
                self.whole.append(self._open.close())
                self._open = None

    def close(self) -> None:
        """End the page; the library asks for it."""

    def check(self) -> None:
        """Look at what only the whole page tells.

        Raises
        ------
        MisreadError
            Where a policy is missing, a name stands twice, or a link leads nowhere.
        """
        if self._policies != [_POLICY]:
            raise MisreadError("no policy that keeps everything else out")
        if twice := [name for name, count in self._ids.items() if count > 1]:
            raise MisreadError(f"{twice[0]} stands for two places")
        if lost := sorted(self._links - self._ids.keys()):
            raise MisreadError(f"a link to {lost[0]}, which is not there")


def against_report(data: bytes, named: Sequence[str]) -> Iterator[str]:
    """Tell of jobs and rolls that the report does not name.

    Raises
    ------
    MisreadError
    """
    found: list[str] = []
    for _ in read_page(data, words=found):
        pass
    words = "".join(found)
    for name in named:
        if name not in words:
            yield f"{name} is not named"


def against_tickets(data: bytes, pieces: Mapping[str, FlatPattern]) -> Iterator[str]:
    """Tell where tickets are not those of the pieces by their numbers, each once, drawn as they are cut.

    Raises
    ------
    MisreadError
    """
    told: Counter[str] = Counter()
    for ticket in read_page(data, "article"):
        picture = next(ticket.iterfind("div/div[@class='pictures']//" + _SVG + "svg"), None)
        if picture is None:
            raise MisreadError("a ticket without a drawing")
        names = (picture.findtext(f"{_SVG}title") or "").split(", ")
        told.update(names)
        drawn = picture.find(f"{_SVG}path[@class='piece']")
        rings = _rings("" if drawn is None else drawn.get("d", ""), names[0])
        for name in names:
            if name in pieces and (fault := _unlike(rings, pieces[name])):
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
