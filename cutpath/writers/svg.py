"""SVG: one user unit is one millimetre, one group for each role, one path for each contour.

The drawing's y points up and the file's down: y is flipped once, by arithmetic. No transforms, style sheets,
references or clip paths. Numbers are plain: no exponent, no minus zero. This module alone imports svgwrite.
No real machine was tried; svgelements reads the files back in the tests.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple
from xml.sax.saxutils import escape

from cutpath.tolerances import COORDINATE_DECIMALS
from cutpath.values.drawing import LETTERING, Drawing, Role
from cutpath.values.looks import OF_ROLE

ROLE_GROUPS: dict[Role, str] = {
    Role.MARK: "mark",
    Role.FOLD: "fold",
    Role.INNER: "inner",
    Role.OUTER: "outer",
    Role.SQUARING: "squaring",
    Role.KEPT: "kept",
    Role.CROSS: "cross-cut",
    Role.REFERENCE: "reference",
}
"""Id of the group of each role."""

_TITLES: dict[Role, str] = {
    Role.MARK: "Marks: draw, never cut",
    Role.FOLD: "Folds: draw, never cut or score",
    Role.INNER: "Inner cuts: holes and snips, before the outer cuts",
    Role.OUTER: "Outer cuts",
    Role.SQUARING: "The roll's raw end, to be squared first where the shop wants it",
    Role.KEPT: "Offcuts to keep, after all pieces",
    Role.CROSS: "Cut across the roll, last",
    Role.REFERENCE: "For reference, not for the machine",
}

_CLEAR_MM = 5.0  # right of and above the strokes; left and below, the roll's corner is the page's corner


def to_svg(drawing: Drawing, *, validate: bool = False, groups: Mapping[Role, str] = ROLE_GROUPS) -> str:
    """Write a drawing as SVG text; mm, the lower left corner of the roll at the lower left of the page.

    The page covers every stroke. The same drawing always gives the same text.

    Parameters
    ----------
    drawing : Drawing
    validate : bool
        Have svgwrite make every path too and check every element and attribute; slow, for tests.
    groups : mapping of Role to str
        The id of the group of every role that the drawing has.

    Raises
    ------
    ValueError
        For a drawing without strokes.
    """
    if not drawing.strokes:
        raise ValueError(f"{drawing.title}: there is nothing to draw")
    from svgwrite import Drawing as Document

    points = [p for stroke in drawing.strokes for p in stroke.points]
    left, low = min(0.0, *(x for x, _ in points)), min(0.0, *(y for _, y in points))
    right = max(drawing.length_mm, *(x for x, _ in points)) + _CLEAR_MM
    top = max(drawing.width_mm, *(y for _, y in points)) + _CLEAR_MM
    wide, high = _plain(right - left), _plain(top - low)
    page = Document(size=(f"{wide}mm", f"{high}mm"), viewBox=f"0 0 {wide} {high}", debug=validate)
    page.set_desc(title=drawing.title, desc="One user unit is one millimetre.")
    figures = _Figures()
    paths: list[str] = []
    for role, name in groups.items():
        look = OF_ROLE[role]
        group = page.g(id=name, fill="none", stroke=look.colour, stroke_width=look.width_mm)
        group.set_desc(title=_TITLES[role])
        own = (stroke for stroke in drawing.strokes if stroke.role is role)
        made = [
            _Path(
                "M" + " L".join([f"{figures[x - left]},{figures[top - y]}" for x, y in stroke.points]),
                stroke.closed,
                ",".join(map(_plain, look.dashes_mm)) if stroke.name != LETTERING else "",
                stroke.piece if role is Role.OUTER else "",
            )
            for stroke in own
        ]
        if validate:
            for path in made:
                group.add(path.element(page))
        paths.append("" if validate else "".join(map(_Path.text, made)))
        page.add(group)
    *heads, tail = page.tostring().split("</g>")
    groups_text = "".join(f"{head}{own}</g>" for head, own in zip(heads, paths, strict=True))
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{groups_text}{tail}\n'


class _Path(NamedTuple):
    """One path: its places, whether it is closed, its dashes and its title, empty where it has none."""

    places: str
    closed: bool
    dashes: str
    title: str

    @property
    def _d(self) -> str:
        return f"{self.places} Z" if self.closed else self.places

    def text(self) -> str:
        """Write it as svgwrite does; by way of its elements that takes five times as long."""
        dashes = f' stroke-dasharray="{self.dashes}"' if self.dashes else ""
        end = f"><title>{escape(self.title)}</title></path>" if self.title else " />"
        return f'<path d="{self._d}"{dashes}{end}'

    def element(self, page: Any) -> Any:  # noqa: ANN401 - svgwrite has no types
        """Return it as an element of svgwrite's."""
        path = page.path(d=self._d)
        if self.dashes:
            path["stroke-dasharray"] = self.dashes
        if self.title:
            path.set_desc(title=self.title)
        return path


class _Figures(dict[float, str]):
    """Figures as they are written, each made once: rows of a roll share many."""

    def __missing__(self, value: float) -> str:
        text = self[value] = _plain(value)
        return text


def _plain(value: float) -> str:
    """Write a number without exponent, trailing zeros or minus zero."""
    text = f"{value:.{COORDINATE_DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
