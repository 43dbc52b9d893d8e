"""SVG: one user unit is one millimetre, one group for each role, one path for each contour.

The drawing's y points up and the file's down: y is flipped once, by arithmetic. No transforms, style sheets,
references or clip paths. Numbers are plain: no exponent, no minus zero. This module alone imports svgwrite.
No real machine was tried; svgelements reads the files back in the tests.
"""

from __future__ import annotations

from collections.abc import Mapping

from cutpath.tolerances import COORDINATE_DECIMALS
from cutpath.values.drawing import LETTERING, Drawing, Role, Stroke
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
        Have svgwrite check every element and attribute; slow, for tests.
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
    for role, name in groups.items():
        look = OF_ROLE[role]
        dashes = ",".join(map(_plain, look.dashes_mm))
        group = page.g(id=name, fill="none", stroke=look.colour, stroke_width=look.width_mm)
        group.set_desc(title=_TITLES[role])
        for stroke in drawing.strokes:
            if stroke.role is role:
                path = page.path(d=_path(stroke, left, top))
                if dashes and stroke.name != LETTERING:
                    path["stroke-dasharray"] = dashes
                if role is Role.OUTER:
                    path.set_desc(title=stroke.piece)
                group.add(path)
        page.add(group)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{page.tostring()}\n'


def _path(stroke: Stroke, left: float, top: float) -> str:
    places = [f"{_plain(x - left)},{_plain(top - y)}" for x, y in stroke.points]
    return "M" + " L".join(places) + (" Z" if stroke.closed else "")


def _plain(value: float) -> str:
    """Write a number without exponent, trailing zeros or minus zero."""
    text = f"{value:.{COORDINATE_DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
