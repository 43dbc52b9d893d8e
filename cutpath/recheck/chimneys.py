"""How the parts of a chimney meet, against the stack as it was measured: which joints, how high, how far down."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from cutpath.errors import Finding
from cutpath.recheck.written import NEAR, Asked
from cutpath.values.survey import Apron, BackGutter, Chimney, CoverFlashing, StepFlashing


def check_meeting(chimney: Chimney, parts: Sequence[Asked]) -> Iterator[Finding]:
    """Hold upstands and cover to the joints of the stack; ``parts`` are those that were written for it."""
    if not parts:
        return
    slope, entry = math.tan(math.radians(chimney.pitch_deg)), parts[0].entry
    depth = entry.get("depth")
    if depth is None:
        depth = math.sqrt(float(entry["slope_length"]) ** 2 / (1 + slope * slope))
    yield from parts[0].differs("width of the stack", chimney.width_mm, float(entry["width"]))
    yield from parts[0].differs("depth of the stack", chimney.depth_mm, float(depth))
    for part in parts:
        if isinstance(part.detail, Apron) and part.own.get("upstand") is None:
            yield from part.differs("upstand", part.detail.upstand_mm, chimney.front.y_mm)
    gutter = next((part for part in parts if isinstance(part.detail, BackGutter)), None)
    if gutter is None or chimney.back is None or not isinstance(gutter.detail, BackGutter):
        return
    # The sole lies as high as the roof where it comes to it, behind the stack.
    sole = (float(depth) + gutter.detail.sole_mm) * slope
    room = chimney.back.y_mm + chimney.back.slope * float(depth) - sole
    yield from _joint(chimney, gutter, parts, sole)
    upstand = gutter.detail.upstand_mm
    if gutter.own.get("upstand") is None:
        most = gutter.fact("gutter_upstand_most")
        whole = -NEAR <= room - upstand < 1.0 + NEAR
        if not whole and not (abs(upstand - most) <= NEAR and room >= most - NEAR):
            yield gutter.wrong(
                "upstand", f"{upstand:.6g} mm", f"worked out a second time: {room:.6g} mm of room for it"
            )
    for part in parts:
        if isinstance(part.detail, CoverFlashing) and part.own.get("cover") is None:
            over, least = part.detail.cover_mm - (room - upstand), part.fact("cover_flashing_cover")
            if not least - NEAR <= over < least + 1.0 + NEAR:
                yield part.wrong("cover", f"{over:.6g} mm over the gutter", f"worked out a second time: {least:g} mm")


def _joint(chimney: Chimney, gutter: Asked, parts: Sequence[Asked], sole_mm: float) -> Iterator[Finding]:
    """See that the cover flashing turns into the lowest joint that leaves room for the gutter's upstand."""
    assert chimney.back is not None  # noqa: S101 - asked for only where there is one
    least = gutter.own_or("upstand", "gutter_upstand")
    for part in parts:
        if isinstance(part.detail, StepFlashing):
            for joint in part.detail.joints:
                height = joint.y_mm + joint.slope * chimney.depth_mm
                if joint.number < chimney.back.number and height >= sole_mm + least + NEAR:
                    yield part.wrong("coursing", f"joint {chimney.back.number} at the back", f"joint {joint.number}")
                    return
