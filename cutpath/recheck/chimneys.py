"""How the parts of a chimney meet, against the stack as it was measured: which joints, how high, how far down."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from cutpath import sure
from cutpath.errors import Finding
from cutpath.recheck.joints import check_joint
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
    yield from parts[0].differs("pitch", chimney.pitch_deg, parts[0].pitch_deg() or 0.0, "deg")
    yield from parts[0].differs("width of the stack", chimney.width_mm, float(entry["width"]))
    yield from parts[0].differs("depth of the stack", chimney.depth_mm, float(depth))
    for part, apron in of_kind(Apron, parts):
        if part.own.get("upstand") is None:
            yield from part.differs("upstand", apron.upstand_mm, chimney.front.y_mm)
    for part, steps in of_kind(StepFlashing, parts):
        yield from _front(chimney, part, steps)
    gutter, survey = next(of_kind(BackGutter, parts), (None, None))
    least = parts[0].fact("least_lap")
    lap_at_the_back = least if survey is None else min(least, survey.side_mm)
    yield from parts[0].differs("lap at the back", chimney.back_lap_mm, lap_at_the_back)
    for part, cover in of_kind(CoverFlashing, parts):
        if part.own.get("returns") is None:
            past = 0.0 if survey is None else survey.side_mm
            yield from part.differs("returns", cover.return_mm, max(part.fact("chimney_return"), past))
    if gutter is None or survey is None or chimney.back is None:
        return
    # The sole lies as high as the roof where it comes to it, behind the stack.
    sole = (float(depth) + survey.sole_mm) * slope
    room = chimney.back.y_mm + chimney.back.slope * float(depth) - sole
    yield from _joint(chimney, gutter, parts, sole)
    upstand = survey.upstand_mm
    if gutter.own.get("upstand") is None:
        whole = math.floor(room + NEAR)
        yield from gutter.differs("upstand", upstand, min(whole, gutter.fact("gutter_upstand_most")))
    for part, cover in of_kind(CoverFlashing, parts):
        over, least = cover.cover_mm - (room - upstand), part.fact("cover_flashing_cover")
        yield from part.differs("cover over the gutter", chimney.cover_mm, min(least, over))
        if part.own.get("cover") is None:
            yield from part.differs("cover", cover.cover_mm, math.ceil(room - upstand + least - NEAR))


def _front(chimney: Chimney, part: Asked, steps: StepFlashing) -> Iterator[Finding]:
    """See that returns and apron meet at the joint that was written, else at the lowest that both allow."""
    front, least = chimney.front, part.fact("least_lap")
    yield from part.differs("lap at the front", chimney.lap_mm, min(least, steps.corner.length_mm))
    for joint in steps.joints:
        if joint.number == front.number:
            yield from part.differs("return.joint", front.y_mm, joint.y_mm)
            yield from part.differs("return.joint, its fall", front.slope, joint.slope, "in 1")
    if steps.corner.joint != front.number:
        yield part.wrong("return.joint", f"joint {steps.corner.joint}", f"joint {front.number}, where the apron ends")
    written = part.own.get("return_") or {}
    high = max(part.fact("upstand"), steps.water_line_mm * math.hypot(1.0, sure.tan(math.radians(steps.pitch_deg))))
    for joint in steps.joints if written.get("joint") is None else ():
        if joint.number < front.number and joint.y_mm >= high + NEAR:
            yield part.wrong("return.joint", f"joint {front.number} at the front", f"joint {joint.number}")
            return


def _joint(chimney: Chimney, gutter: Asked, parts: Sequence[Asked], sole_mm: float) -> Iterator[Finding]:
    """See that the cover flashing turns into the lowest joint that leaves room for the gutter's upstand."""
    assert chimney.back is not None  # noqa: S101 - asked for only where there is one
    least = gutter.own_or("upstand", "gutter_upstand")
    for part, steps in of_kind(StepFlashing, parts):
        yield from check_joint(part, steps, chimney.back)
        for joint in steps.joints:
            height = joint.y_mm + joint.slope * chimney.depth_mm
            if joint.number < chimney.back.number and height >= sole_mm + least + NEAR:
                yield part.wrong("coursing", f"joint {chimney.back.number} at the back", f"joint {joint.number}")
                return
