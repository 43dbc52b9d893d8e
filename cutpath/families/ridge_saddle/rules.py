"""What ridge saddles are held to."""

from __future__ import annotations

from collections.abc import Iterator

from cutpath.errors import Finding
from cutpath.trade.rules import Practice, held
from cutpath.values.leadwork import RidgeSaddle
from cutpath.values.survey import Job


def check(saddle: RidgeSaddle, _: Job, practice: Practice) -> Iterator[Finding]:
    """Hold a saddle to its published size; the size is given for steep ridges only, so a flat one is warned of."""
    where, size, cover = saddle.head.origin.key, practice["saddle_size"], practice["apron_cover"]
    up, length = saddle.upstand_mm, saddle.length_mm
    yield from held(size, where("width"), saddle.width_mm)
    yield from held(size, where("length"), length)
    yield from held(practice["upstand"], where("upstand"), up)
    yield from held(cover, where("upstand"), length - up, "lead_left_on_the_ridge", upstand=up, length=length)
    yield from held(practice["saddle_pitch"], where("pitch"), saddle.pitch_deg, size=size.value)
