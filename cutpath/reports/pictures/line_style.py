"""The style of the lines that page and tickets share, from the one table of looks."""

from __future__ import annotations

from cutpath.paper.markup import number
from cutpath.values import looks
from cutpath.values.looks import PICTURE_SHARE, Look

CLASSES: dict[str, Look] = {
    ".piece,.outline": looks.OUTER,
    ".snip": looks.INNER,
    ".fold": looks.FOLD,
    ".fold.forward": looks.FORWARD,
    ".mark": looks.MARK,
    ".mark.lap": looks.LAP,
    ".mark.bossing,.mark.centre,.mark.wood-cored-roll": looks.WORKED,
    ".kept": looks.KEPT,
    ".seam": looks.FOLD_IN_PLACE,
    ".arris": looks.ARRIS_IN_PLACE,
}
"""The look of each class of line."""


def _rule(selector: str, look: Look) -> str:
    dashes = ",".join(map(number, look.dashes_mm)) or "none"
    return (
        f"{selector}{{stroke:{look.colour};stroke-width:{number(look.width_mm * PICTURE_SHARE)};"
        f"stroke-dasharray:{dashes}}}\n"
    )


LINE_STYLE = (
    ".outline,.snip,.fold,.mark,.seam,.arris{fill:none}\n.piece,.kept{fill:#fff}\n.mark.lap{stroke-linecap:round}\n"
    + "".join(_rule(selector, look) for selector, look in CLASSES.items())
)
