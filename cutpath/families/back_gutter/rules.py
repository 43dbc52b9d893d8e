"""What back gutters are held to."""

from __future__ import annotations

from collections.abc import Iterator

from cutpath.errors import Finding
from cutpath.families.back_gutter.pattern import lengths_mm
from cutpath.families.fillets import check_fillet
from cutpath.tolerances import POINT_MM
from cutpath.trade.rules import Practice, held, held_to_all, said
from cutpath.values.leadwork import BackGutter
from cutpath.values.survey import Job


def check(gutter: BackGutter, _: Job, practice: Practice) -> Iterator[Finding]:
    """Hold a back gutter to its least sizes, and say where a roll divides its sole, which is never lapped."""
    where, longest = gutter.head.origin.key, gutter.head.longest_mm
    yield from held_to_all((practice["upstand"], practice["gutter_upstand"]), where("upstand"), gutter.upstand_mm)
    yield from held(practice["gutter_sole"], where("sole"), gutter.sole_mm)
    yield from held(practice["gutter_up_roof"], where("up_roof"), gutter.up_roof_mm)
    if gutter.side_mm:
        yield from held(practice["gutter_side"], where("side"), gutter.side_mm)
    yield from check_fillet(gutter, gutter.up_roof_mm, "up_roof", practice)
    lengths = [end - start for start, end in lengths_mm(gutter)]
    if len(lengths) > 1 and max(lengths) <= longest + POINT_MM:  # longer ones are refused
        level, roll = practice["laps_in_level_gutter_sole"], practice["roll_core"]
        yield said(
            level.name,
            where("width"),
            level,
            total=gutter.width_mm + 2 * gutter.side_mm,
            longest=longest,
            roll=roll.value,
            roll_founded_on=roll.founded_on,
        )
