"""Tilting fillets: as measured, as folds of the lead over them, and how far the lead has to reach."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Protocol

from cutpath import sure
from cutpath.errors import Finding
from cutpath.families.site import (
    Site,
)
from cutpath.families.strips import Bend
from cutpath.families.tables import FilletTable
from cutpath.tolerances import POINT_MM
from cutpath.trade.rules import Practice, held
from cutpath.values.leadwork import BackGutter, TiltingFillet, ValleyGutter
from cutpath.values.pattern import FoldUse
from cutpath.values.survey import DetailHead


class WithFillet(Protocol):
    """A table that may have a fillet."""

    @property
    def fillet(self) -> FilletTable | bool:
        """Its sizes, or whether there is one."""


def fillet_of(site: Site, table: WithFillet, foot: str) -> TiltingFillet | None:
    """Return the fillet of a table, None where there is none; ``foot`` names the figure for its usual place."""
    desk, asked = site.desk, table.fillet
    if asked is False:
        return None
    own = asked if isinstance(asked, FilletTable) else FilletTable()
    return TiltingFillet(
        foot_mm=own.foot or desk.fact(foot),
        width_mm=own.width or desk.fact("gutter_fillet_width"),
        height_mm=own.height or desk.fact("gutter_fillet_height"),
        face_deg=own.face or desk.fact("gutter_fillet_face"),
    )


def bad_fillet(head: DetailHead, fillet: TiltingFillet | None, reach_mm: float, key: str) -> list[Finding]:
    """Find a fillet that is no triangle, or a sheet of ``reach_mm`` (its key is ``key``) that ends before its crest."""
    if fillet is None:
        return []
    where = head.origin.key
    base = fillet.width_mm - fillet.height_mm / sure.tan(math.radians(fillet.face_deg))
    if base <= POINT_MM:
        return [
            Finding(
                "CP412",
                where("fillet"),
                f"a fillet {fillet.height_mm:g} mm high whose face rises at {fillet.face_deg:g} degrees is wider than "
                f"{fillet.width_mm:g} mm",
                "a crest that stands above the fillet's base",
                "Measure the fillet's section again: width, height and the angle of its face to the roof.",
            )
        ]
    if reach_mm <= fillet.crest_mm + POINT_MM:
        return [
            Finding(
                "CP412",
                where(key),
                f"the lead reaches {reach_mm:g} mm, and the crest of the fillet lies {fillet.crest_mm:.0f} mm along it",
                "lead that turns over the crest",
                "Take a wider sheet, or set the fillet nearer.",
            )
        ]
    return []


def fillet_bends(fillet: TiltingFillet, pitch_mm: float) -> list[Bend]:
    """Return the folds over a fillet, in mm along the sheet from the sole's edge.

    The section is a triangle on the roof: its face rises at ``face_deg`` to the
    crest, its top falls back to the roof. Folds beyond ``pitch_mm``, the sheet's own reach, are left out.
    """
    face = math.radians(fillet.face_deg)
    base = fillet.width_mm - fillet.height_mm / sure.tan(face)
    top = sure.atan2(fillet.height_mm, base)
    crest = fillet.crest_mm
    back = crest + math.hypot(fillet.height_mm, base)
    bends = [
        Bend("foot of the fillet", FoldUse.FILLET_FOOT, fillet.foot_mm, fillet.face_deg),
        Bend("crest of the fillet", FoldUse.FILLET_CREST, crest, -fillet.face_deg - math.degrees(top)),
        Bend("back of the fillet", FoldUse.FILLET_BACK, back, math.degrees(top)),
    ]
    return [bend for bend in bends if bend.at_mm < pitch_mm - POINT_MM]


def check_fillet(gutter: BackGutter | ValleyGutter, reach_mm: float, key: str, practice: Practice) -> Iterator[Finding]:
    """Find lead that reaches over the crest of a fillet, but not far enough; short of it there is no pattern at all."""
    if gutter.fillet is None:
        return
    crest, fact = gutter.fillet.crest_mm, practice["gutter_turn_over"]
    if reach_mm > crest + POINT_MM:
        least = replace(fact, value=gutter.turn_over_mm)
        yield from held(least, gutter.head.origin.key(key), reach_mm - crest, reach=reach_mm, crest=crest)
