"""What back gutters are held to."""

from __future__ import annotations

from collections.abc import Iterator

from cutpath.errors import Finding, Severity
from cutpath.families.fillets import check_fillet
from cutpath.tolerances import POINT_MM
from cutpath.trade.limits import (
    under_least,
)
from cutpath.trade.rules import Practice
from cutpath.units import mm_text
from cutpath.values.survey import (
    BackGutter,
    Job,
)


def check(gutter: BackGutter, _: Job, practice: Practice) -> Iterator[Finding]:
    """Hold a back gutter to its least sizes, and say where a roll divides its sole, which is never lapped."""
    head = gutter.head
    if gutter.upstand_mm < practice["upstand"].value - POINT_MM:
        yield from under_least(head, "upstand", gutter.upstand_mm, practice["upstand"], "CP305")
    else:
        yield from under_least(head, "upstand", gutter.upstand_mm, practice["gutter_upstand"], "CP305")
    for key, found in (("sole", gutter.sole_mm), ("up_roof", gutter.up_roof_mm)):
        yield from under_least(head, key, found, practice[f"gutter_{key}"], "CP306")
    if gutter.side_mm:
        yield from under_least(head, "side", gutter.side_mm, practice["gutter_side"], "CP306")
    yield from check_fillet(gutter, gutter.up_roof_mm, "up_roof", practice)
    total = gutter.width_mm + 2 * gutter.side_mm
    if total > head.longest_mm + POINT_MM:
        level, roll = practice["laps_in_level_gutter_sole"], practice["roll_core"]
        yield Finding(
            "CP313",
            head.origin.key("width"),
            f"{mm_text(total)} of gutter in two lengths",
            f"at most {mm_text(head.longest_mm)} each, and no lap in a level sole ({level.founded_on})",
            f"Form a wood-cored roll {mm_text(roll.value)} wide across sole and roof at mid-length "
            f"({roll.founded_on}); its foot is marked on both lengths, the overcloak goes on last.",
            Severity.NOTE,
        )
