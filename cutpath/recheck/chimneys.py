"""How the parts of a chimney meet, against the stack as it was measured: which joints, how high, how far down."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from cutpath import sure
from cutpath.errors import Finding
from cutpath.recheck.written import NEAR, Asked, of_kind
from cutpath.values.leadwork import Apron, BackGutter, CoverFlashing, StepFlashing
from cutpath.values.survey import Chimney


def check_meeting(chimney: Chimney, parts: Sequence[Asked]) -> Iterator[Finding]:
    """Hold upstands and cover to the joints of the stack; ``parts`` are those that were written for it."""
    if not parts:
        return
    slope, entry = sure.tan(math.radians(chimney.pitch_deg)), parts[0].entry
    depth = entry.get("depth")
    if depth is None:
        depth = math.sqrt(float(entry["slope_length"]) ** 2 / (1 + slope * slope))
    yield from parts[0].differs("width of the stack", chimney.width_mm, float(entry["width"]))
    yield from parts[0].differs("depth of the stack", chimney.depth_mm, float(depth))
    for part, apron in of_kind(Apron, parts):
        if part.own.get("upstand") is None:
            yield from part.differs("upstand", apron.upstand_mm, chimney.front.y_mm)
    gutter, survey = next(of_kind(BackGutter, parts), (None, None))
    if gutter is None or survey is None or chimney.back is None:
        return
    # The sole lies as high as the roof where it comes to it, behind the stack.
    sole = (float(depth) + survey.sole_mm) * slope
    room = chimney.back.y_mm + chimney.back.slope * float(depth) - sole
    yield from _joint(chimney, gutter, parts, sole)
    upstand = survey.upstand_mm
    if gutter.own.get("upstand") is None:
        most = gutter.fact("gutter_upstand_most")
        whole = -NEAR <= room - upstand < 1.0 + NEAR
        if not whole and not (abs(upstand - most) <= NEAR and room >= most):
            yield gutter.wrong(
                "upstand", f"{upstand:.6g} mm", f"worked out a second time: {room:.6g} mm of room for it"
            )
    for part, cover in of_kind(CoverFlashing, parts):
        if part.own.get("cover") is None:
            over, least = cover.cover_mm - (room - upstand), part.fact("cover_flashing_cover")
            if not least - NEAR <= over < least + 1.0 + NEAR:
                yield part.wrong("cover", f"{over:.6g} mm over the gutter", f"worked out a second time: {least:g} mm")


def _joint(chimney: Chimney, gutter: Asked, parts: Sequence[Asked], sole_mm: float) -> Iterator[Finding]:
    """See that the cover flashing turns into the lowest joint that leaves room for the gutter's upstand."""
    assert chimney.back is not None  # noqa: S101 - asked for only where there is one
    least = gutter.own_or("upstand", "gutter_upstand")
    for part, steps in of_kind(StepFlashing, parts):
        for joint in steps.joints:
            height = joint.y_mm + joint.slope * chimney.depth_mm
            if joint.number < chimney.back.number and height >= sole_mm + least + NEAR:
                yield part.wrong("coursing", f"joint {chimney.back.number} at the back", f"joint {joint.number}")
                return
