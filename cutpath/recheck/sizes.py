"""Sizes of a detail against what was written, or against the figure of practice for what was left out."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from cutpath import sure
from cutpath.errors import Finding
from cutpath.recheck.second import Second
from cutpath.recheck.written import NEAR, Asked, Table
from cutpath.values.leadwork import CornerReturn, PlainOutline, Soakers, StepFlashing, TiltingFillet, TopAbutment


def check_sizes(asked: Asked, second: Second) -> Iterator[Finding]:
    """Hold the sizes of a detail to what was written; what a chimney settles for its parts is held elsewhere."""
    detail = asked.detail
    for key, name, usual in second.sizes:
        written = asked.own.get(key)
        if written is None and key == "turn_in":
            written = asked.step_table().get(key)
        if written is None and usual and not (asked.of_chimney and key in second.settled):
            written = asked.fact(usual)
        if written is not None:
            yield from asked.differs(key, getattr(detail, name), float(written), "deg" if key == "slope" else "mm")
    pitch = getattr(detail, "pitch_deg", None)
    if pitch is not None and (wanted := asked.pitch_deg()) is not None:
        yield from asked.differs("pitch", pitch, wanted, "deg")
    corners = getattr(detail, "corners", None)
    if corners is not None and corners.value != (wanted_work := asked.own_or_entry("corners") or "bossed"):
        yield asked.wrong("corners", f"corners {corners.value}", f"{wanted_work}, as written or as usual")
    yield from second.further(asked, detail)


def check_steps(asked: Asked, steps: StepFlashing) -> Iterator[Finding]:
    """Hold set-back, cover, risers, ends, water line and return of a step flashing to what was written."""
    table = asked.step_table()
    set_back = 0.0 if asked.above else float(table.get("set_back") or 0.0)
    yield from asked.differs("set_back", steps.set_back_mm, set_back)
    yield from asked.differs("cover", steps.cover_mm, _cover_mm(asked, table))
    yield from asked.differs("strip_width", steps.strip_width_mm or 0.0, float(table.get("strip_width") or 0.0))
    yield from asked.differs("fold", steps.least_fold_mm, asked.fact("least_fold"))
    skips, wanted_skips = steps.skip_short, table.get("short_steps") == "skip"
    if skips is not wanted_skips:
        yield asked.wrong("short_steps", "skip" if skips else "keep", "short_steps as written")
    upper_end = "plumb" if asked.goes_on_above else table.get("upper_end") or "plumb"
    if steps.upper_end.value != upper_end:
        yield asked.wrong("upper_end", f"{steps.upper_end.value}", f"{upper_end}, as written or as usual")
    riser = table.get("riser")
    if riser is None:
        yield from asked.differs("riser", steps.riser_deg, 90.0, "deg")
    else:
        from_level = float(riser) + (steps.pitch_deg if table.get("riser_from") == "water line" else 0.0)
        yield from asked.differs("riser", steps.riser_deg, from_level, "deg")
    yield from _water_line(asked, steps, table)
    yield from _corner(asked, steps.corner, None if asked.above else table.get("return_"))


def _cover_mm(asked: Asked, table: Table) -> float:
    """Return how far a step flashing goes on over the roof: as written or as usual, and not at all over soakers."""
    if asked.entry.get("kind") != "step and cover" and asked.inside[:1] != ("step_and_cover",):
        return 0.0
    written = table.get("cover")
    usual = "step_cover_on_roof_severe" if asked.severe else "step_cover_on_roof"
    return asked.fact(usual) if written is None else float(written)


def _corner(asked: Asked, corner: CornerReturn, written: Table | None) -> Iterator[Finding]:
    """Hold a return round the arris to what was written; round a stack there is one in any case."""
    if written is None:
        usual = asked.of_chimney
        kind, length, foot = "separate" if usual else "none", asked.fact("chimney_return") if usual else 0.0, 0.0
    else:
        kind, length = written.get("kind") or "integral", float(written["length"])
        foot = float(written.get("foot") or 0.0)
    if corner.kind.value != kind:
        yield asked.wrong("return", f"return: {corner.kind.value}", f"{kind}, as written or as usual")
    yield from asked.differs("return.length", corner.length_mm, length)
    yield from asked.differs("return.foot", corner.foot_mm, foot)
    joint = written.get("joint") if written else None
    if corner.joint != joint and not (asked.of_chimney and joint is None):
        yield asked.wrong("return.joint", f"joint {corner.joint}", f"joint {joint}, as written")


def _water_line(asked: Asked, steps: StepFlashing, table: Table) -> Iterator[Finding]:
    """Hold a water line to what was written, else clear of the soakers behind it, else to the old specification."""
    if table.get("water_line") is not None:
        yield from asked.differs("water_line", steps.water_line_mm, float(table["water_line"]))
        return
    soakers = table.get("soakers", asked.of_chimney and not steps.cover_mm)
    if soakers is False or steps.cover_mm:
        yield from asked.differs("water_line", steps.water_line_mm, asked.fact("step_water_line"))
        return
    own = soakers.get("upstand") if isinstance(soakers, dict) else None
    upstand = asked.fact("soaker_upstand") if own is None else float(own)
    clearance = table.get("clearance")
    over = asked.fact("water_line_clearance_least") if clearance is None else float(clearance)
    yield from asked.differs("water_line", steps.water_line_mm - upstand, over)


def check_stop_ends(asked: Asked, abutment: TopAbutment) -> Iterator[Finding]:
    """Hold the stop ends of a top-edge abutment to what was written, else to where the upstand ends in the corner."""
    written = asked.own.get("stop_height")
    rise = math.hypot(1.0, sure.tan(math.radians(asked.pitch_deg() or 0.0)))
    closes = math.ceil(asked.own_or("upstand", "upstand") / rise - NEAR)
    height = max(asked.fact("stop_end"), closes) if written is None else float(written)
    for side, found in (("left", abutment.stop_left_mm), ("right", abutment.stop_right_mm)):
        there = asked.own.get("stop_ends") in {side, "both"}
        yield from asked.differs("stop_ends", found, height if there else 0.0)


def check_fillet(asked: Asked, fillet: TiltingFillet | None, foot: str) -> Iterator[Finding]:
    """Hold a tilting fillet to what was written; ``foot`` is the figure for its foot."""
    written = asked.own.get("fillet", True)
    if (fillet is None) is not (written is False):
        yield asked.wrong("fillet", "a fillet" if fillet else "no fillet", f"fillet = {str(written).lower()}")
    if fillet is None:
        return
    table = written if isinstance(written, dict) else {}
    for key, found, usual, unit in (
        ("foot", fillet.foot_mm, foot, "mm"),
        ("width", fillet.width_mm, "gutter_fillet_width", "mm"),
        ("height", fillet.height_mm, "gutter_fillet_height", "mm"),
        ("face", fillet.face_deg, "gutter_fillet_face", "deg"),
    ):
        own = table.get(key)
        yield from asked.differs(f"fillet.{key}", found, asked.fact(usual) if own is None else float(own), unit)


def check_outline(asked: Asked, outline: PlainOutline) -> Iterator[Finding]:
    """Hold a shape to the points that were written; one that was drawn is read from its drawing alone."""
    if outline.may_flip is not bool(asked.own.get("may_flip")):
        yield asked.wrong("may_flip", f"may_flip = {str(outline.may_flip).lower()}", "may_flip as written")
    points = asked.own.get("points")
    if (size := asked.own.get("size")) is not None:
        across, up = map(float, size)
        points = [(0.0, 0.0), (across, 0.0), (across, up), (0.0, up)]
    if points is None:
        return
    folds = [(*fold["from_"], *fold["to"], fold.get("angle", 90.0)) for fold in asked.own.get("folds", ())]
    for key, found, wanted in (
        ("points", _figures(outline.outline), _figures(points)),
        ("holes", _figures(*outline.holes), _figures(*asked.own.get("holes", ()))),
        ("cuts", _figures(*outline.cuts), _figures(*asked.own.get("cuts", ()))),
        ("folds", [x for a, b, angle in outline.folds for x in (*a, *b, angle)], [x for fold in folds for x in fold]),
    ):
        off = [abs(a - b) for a, b in zip(found, wanted, strict=False)]
        if len(found) != len(wanted) or max(off, default=0.0) > NEAR:
            yield asked.wrong(key, f"{key} is not as written", f"{key} as written")


def _figures(*lines: Sequence[Sequence[float]]) -> list[float]:
    return [float(figure) for line in lines for point in line for figure in point]


def upstand_of_soakers(asked: Asked, soakers: Soakers) -> Iterator[Finding]:
    """Hold an upstand to what was written, else to the rule's or to what a water line of the user's own leaves."""
    table = asked.step_table()
    own, water = asked.own.get("upstand"), table.get("water_line") if asked.own is not table else None
    wanted = asked.fact("soaker_upstand") if own is None else float(own)
    if own is None and water is not None:
        clearance = table.get("clearance")
        left = float(water) - (asked.fact("water_line_clearance_least") if clearance is None else float(clearance))
        wanted = min(wanted, left)
    yield from asked.differs("upstand", soakers.upstand_mm, wanted)


def width_of_stack(asked: Asked, width_mm: float) -> Iterator[Finding]:
    """Hold a width to that of the stack, where none of its own was written."""
    if asked.own.get("width") is None:
        yield from asked.differs("width", width_mm, float(asked.entry["width"]))


def depth_of_stack(asked: Asked, steps: StepFlashing) -> Iterator[Finding]:
    """Walk down the slope of a side again: its level and plumb parts have to give the stack's depth."""
    entry = asked.entry
    if entry.get("depth") is not None:
        level = steps.slope_mm * sure.sin(math.radians(90.0 - steps.pitch_deg))
        yield from asked.differs("depth", level, float(entry["depth"]))
    else:
        yield from asked.differs("slope_length", steps.slope_mm, float(entry["slope_length"]))
