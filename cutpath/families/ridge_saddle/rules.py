"""What ridge saddles are held to."""

from __future__ import annotations

from collections.abc import Iterator

from cutpath.errors import Finding, Severity
from cutpath.tolerances import POINT_MM
from cutpath.trade.limits import (
    under_least,
)
from cutpath.trade.rules import Practice, severity_of
from cutpath.units import deg_text, mm_text
from cutpath.values.survey import (
    Job,
    RidgeSaddle,
)


def check(saddle: RidgeSaddle, _: Job, practice: Practice) -> Iterator[Finding]:
    """Hold a saddle to its published size; the size is given for steep ridges only, so a flat one is warned of."""
    head, size, steep = saddle.head, practice["saddle_size"], practice["saddle_pitch"]
    yield from under_least(head, "width", saddle.width_mm, size, "CP306")
    yield from under_least(head, "length", saddle.length_mm, size, "CP306")
    yield from under_least(head, "upstand", saddle.upstand_mm, practice["upstand"], "CP305")
    cover = practice["apron_cover"]
    if saddle.upstand_mm > saddle.length_mm - cover.value + POINT_MM:
        yield Finding(
            "CP306",
            head.origin.key("upstand"),
            f"{mm_text(saddle.upstand_mm)} of {mm_text(saddle.length_mm)} up the wall",
            f"at least {mm_text(cover.value)} left to lie on the ridge ({cover.founded_on})",
            "Take a longer sheet, or less of it up the wall.",
            severity_of(cover),
        )
    if saddle.pitch_deg <= steep.value:
        yield Finding(
            "CP306",
            head.origin.key("pitch"),
            f"a ridge at {deg_text(saddle.pitch_deg)}",
            f"{mm_text(size.value)} square is given for pitches over {deg_text(steep.value)} ({steep.founded_on})",
            "Take a larger sheet on a flatter roof: water runs farther back under the covering.",
            Severity.WARNING,
        )
