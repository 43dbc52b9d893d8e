"""How every line looks, in every drawing and picture: one table for page, tickets, SVG, DXF and PDF.

Colours are those of the Okabe-Ito palette, with a grey for what is only there for reference; a style of its own goes
with each, so that a print in grey, or an eye that sees no colour, tells them apart. What is cut is solid; what is drawn
and never cut is broken. Blue is a fold and nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from cutpath.values.drawing import Role

BLACK: Final = "#000000"
GREY: Final = "#5b646b"
BLUE: Final = "#0072B2"
GREEN: Final = "#009E73"
VERMILION: Final = "#D55E00"
PURPLE: Final = "#CC79A7"
ORANGE: Final = "#E69F00"


@dataclass(frozen=True, slots=True)
class Look:
    """One kind of line.

    Attributes
    ----------
    says : str
        What it means, for a key; its style in words comes first.
    colour : str
    width_mm : float
        At full size; see `PICTURE_SHARE`.
    dashes_mm : tuple of float
        Dash, gap, dash, ...; empty: solid.
    index : int
        Of the nearest of the few colours that every DXF program shows alike.
    """

    says: str
    colour: str
    width_mm: float
    dashes_mm: tuple[float, ...] = ()
    index: int = 7


OUTER: Final = Look("solid, wide: cut, outside", BLACK, 0.5, (), 7)
INNER: Final = Look("solid, narrower: cut first (holes, snips)", VERMILION, 0.4, (), 1)
FOLD: Final = Look("dashed: fold, never cut or score lead", BLUE, 0.3, (2.2, 0.9), 5)
FORWARD: Final = Look("dash and two dots: fold forward", BLUE, 0.3, (3.0, 0.7, 0.5, 0.7, 0.5, 0.7), 5)
CHAIN: Final = Look("chain line: fold, never cut or score lead", BLUE, 0.3, (10.0, 1.5, 1.5, 1.5, 1.5, 1.5), 5)
MARK: Final = Look("dash and dot: mark, with pencil, chalk or crayon", GREEN, 0.25, (4.0, 0.8, 0.6, 0.8), 3)
LAP: Final = Look("dotted: end of the length underneath", PURPLE, 0.4, (0.3, 0.8), 6)
WORKED: Final = Look("short dashes: worked by hand", BLACK, 0.25, (1.0, 1.0), 7)
KEPT: Final = Look("long dashes: offcut to keep", ORANGE, 0.6, (3.2, 1.0), 2)
RAW_END: Final = Look(
    "dash and three dots: raw end, square it first", PURPLE, 0.35, (3.0, 0.7, 0.5, 0.7, 0.5, 0.7, 0.5, 0.7), 4
)
CROSS: Final = Look("two dashes and a dot: cut across here last", PURPLE, 0.53, (3.0, 0.7, 3.0, 0.7, 0.5, 0.7), 6)
REFERENCE: Final = Look("long dash and dot, thin: roll edge", GREY, 0.2, (3.0, 1.5, 0.5, 1.5), 8)
FOLD_IN_PLACE: Final = Look("thick: fold on the joint", BLUE, 0.8, (), 5)
ARRIS_IN_PLACE: Final = Look("thick, dashed: fold round the arris", BLUE, 0.5, (4.0, 0.8), 5)

LOOKS: Final = (
    OUTER, INNER, FOLD, FORWARD, CHAIN, MARK, LAP, WORKED, KEPT, RAW_END, CROSS, REFERENCE, FOLD_IN_PLACE,
    ARRIS_IN_PLACE,
)  # fmt: skip
"""The whole table."""

OF_ROLE: Final[dict[Role, Look]] = {
    Role.OUTER: OUTER,
    Role.INNER: INNER,
    Role.FOLD: FOLD,
    Role.MARK: MARK,
    Role.SQUARING: RAW_END,
    Role.KEPT: KEPT,
    Role.CROSS: CROSS,
    Role.REFERENCE: REFERENCE,
}
"""The look of each role of a drawing."""

PICTURE_SHARE: Final = 0.8
"""Width of a line in a picture, which is drawn small, as a share of that at full size."""
