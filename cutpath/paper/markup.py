"""Elements of HTML and SVG as text, escaped where it counts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cache, lru_cache
from html import escape
from math import ceil

from cutpath.tolerances import SURE_DECIMALS
from cutpath.values.pattern import Polyline

HATCH = 2.4
"""Spacing of hatch lines in mm on paper."""


@lru_cache(maxsize=4096)  # most figures of a picture stand in it several times
def number(value: float) -> str:
    """Return a figure with at most three decimals (a micrometre on paper), no trailing zeros, no exponent and no -0."""
    text = f"{round(value, SURE_DECIMALS):.3f}"
    if text[-1] == "0":
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def element(tag: str, *children: str, **attributes: str | float | None) -> str:
    """Return one element; children are markup already, attribute values are escaped here.

    Attribute names lose a trailing underscore and have the others turned into hyphens; None is left out.
    """
    head = tag
    for name, value in attributes.items():
        if value is not None:
            text = escape(value) if isinstance(value, str) else number(value)
            head += f' {_attribute(name)}="{text}"'
    body = "".join(children)
    return f"<{head}>{body}</{tag}>" if body or tag not in _EMPTY else f"<{head}/>"


@cache
def _attribute(name: str) -> str:
    return name.rstrip("_").replace("_", "-")


_EMPTY = frozenset({"path", "line", "rect", "circle", "br", "meta"})


def svg(width_mm: float, height_mm: float, *children: str, title: str) -> str:
    """Return a picture whose user unit is one millimetre on paper, at its true size when printed at 100 %."""
    return element(
        "svg",
        element("title", escape(title)),
        *children,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(width_mm)} {number(height_mm)}",
        role="img",
        style=f"width:calc({number(width_mm)}mm * var(--zoom))",
    )


def drawing(picture: str) -> str:
    """Return a picture in a box that a narrow screen scrolls sideways, by keys too, so that its figures can be read."""
    return element("div", picture, class_="drawing", tabindex="0")


POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
"""What a page of ours may do in a browser: show itself, in its own style. No script, no picture, no word from elsewhere
or to elsewhere, whatever a job's names hold (Content Security Policy Level 3; a page in a file can say it itself)."""


def document(title: str, style: str, body: str) -> str:
    """Return a whole page of HTML; ``body`` is markup already."""
    head = (
        element("meta", charset="utf-8"),
        element("meta", http_equiv="Content-Security-Policy", content=POLICY),
        element("meta", name="viewport", content="width=device-width, initial-scale=1"),
        element("title", escape(title)),
        element("style", style),
    )
    return "<!DOCTYPE html>\n" + element("html", element("head", *head), element("body", body), lang="en-GB") + "\n"


HERE = "\0"  # no page holds it


def framed(title: str, style: str, body: str, parts: Iterable[str]) -> Iterator[str]:
    """Yield a whole page as `document` makes it in parts, ``parts`` in the place of `HERE` in its body."""
    before, after = document(title, style, body).split(HERE)
    yield before
    yield from parts
    yield after


def path(points: Polyline, *, closed: bool = False) -> str:
    """Return the ``d`` of one contour in picture coordinates."""
    d = "M" + "L".join([f"{number(x)} {number(y)}" for x, y in points])
    return d + "Z" if closed else d


def rectangle(class_: str, x: float, y: float, width: float, height: float, style: str | None = None) -> str:
    """Return a rectangle of a class."""
    return element("rect", x=x, y=y, width=width, height=height, class_=class_, style=style)


def hatched(x: float, y: float, width: float, height: float) -> str:
    """Return a hatched rectangle: a tinted ground and lines rising to the right, `HATCH` apart along x."""
    lines = []
    for i in range(1, ceil((width + height) / HATCH)):
        d = i * HATCH
        right, left = min(d, width), max(d - height, 0.0)
        lines.append(path(((x + left, y + d - left), (x + right, y + d - right))))
    return rectangle("scrap", x, y, width, height) + element("path", d="".join(lines), class_="hatch")


_FEW = 5
"""Columns that stand beside each other on a telephone."""

_LONG = 60
"""Letters of a cell that beside four others would be a column of single words there."""

_NOTHING = frozenset({"", "-"})


def html_table(  # noqa: PLR0913 - what a table may have is named
    head: Sequence[str],
    rows: Iterable[Sequence[str]],
    *,
    left: frozenset[int],
    total: bool = False,
    class_: str = "",
    sparing: bool = False,
    links: Sequence[str] = (),
    caption: str,
) -> str:
    """Return a table of plain texts, escaped here; columns not in ``left`` are figures, set right.

    Every column has a name. ``caption`` says what the table holds to those who hear it. A cell bears the name of its
    column, which a narrow screen shows beside it unless the columns are few. With ``sparing`` a column is left out in
    which no row says anything. ``links`` are where the first cell of each row leads to, none where there are none.
    """
    body = [tuple(row) for row in rows]
    if sparing:
        kept = [i for i in range(len(head)) if any(row[i] not in _NOTHING for row in body)]
        left = frozenset(kept.index(i) for i in left if i in kept)
        head, body = [head[i] for i in kept], [tuple(row[i] for i in kept) for row in body]

    def cell(i: int, text: str, href: str) -> str:
        shown = element("a", escape(text), href=href) if href and i == 0 else escape(text)
        return element("td", shown, class_=None if i in left else "n", data_name=head[i])

    def line(row: Sequence[str], class_: str | None, href: str) -> str:
        return element("tr", *(cell(i, text, href) for i, text in enumerate(row)), class_=class_)

    names = (element("th", escape(name), class_=None if i in left else "n", scope="col") for i, name in enumerate(head))
    lines = [
        line(row, "total" if total and i == len(body) - 1 else None, href)
        for i, (row, href) in enumerate(zip(body, links or [""] * len(body), strict=True))
    ]
    few = len(head) < _FEW or (len(head) == _FEW and max((len(t) for row in body for t in row), default=0) <= _LONG)
    return element(
        "table",
        element("caption", escape(caption)),
        element("thead", element("tr", *names)),
        element("tbody", *lines),
        class_=" ".join(filter(None, (class_, "few" if few else ""))) or None,
    )
