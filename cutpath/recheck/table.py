"""The families as they are worked out a second time, in one table."""

from __future__ import annotations

import math

from cutpath.recheck.counts import step_lengths
from cutpath.recheck.joints import check_joints
from cutpath.recheck.second import Second
from cutpath.recheck.sizes import (
    check_fillet,
    check_outline,
    check_steps,
    check_stop_ends,
    depth_of_stack,
    width_of_stack,
)
from cutpath.recheck.slopes import check_valley, cover_rise, valley_rise
from cutpath.recheck.soakers import check_soakers
from cutpath.recheck.written import Asked
from cutpath.values.pattern import PartKind
from cutpath.values.survey import (
    AbutmentGutter,
    Apron,
    BackGutter,
    CornerKind,
    CornerWork,
    CoverFlashing,
    Detail,
    PipeSlate,
    PlainOutline,
    RidgeSaddle,
    Soakers,
    StepFlashing,
    TopAbutment,
    ValleyGutter,
)

_UNLISTED = "longest_unlisted"
"""For what NHBC Standards 7.2.20 Table 22 sets no longest length for."""


def _always(*_: object) -> bool:
    return True


def _soakers_handed(asked: Asked, _: Soakers) -> bool:
    """Tell whether more is said than a number of soakers."""
    return not (asked.own.get("count") is not None and asked.own is asked.entry and "hands" not in asked.own)


def _side_gussets(detail: Apron | BackGutter) -> dict[PartKind, int]:
    return {PartKind.GUSSET: 2 if detail.corners is CornerWork.WELDED and detail.side_mm else 0}


_TABLE = (
    Second(
        StepFlashing,
        "step_flashing",
        sizes=(("length", "slope_mm", ""), ("turn_in", "turn_in_mm", "turn_in")),
        handed=_always,
        parts=lambda steps: {PartKind.CORNER_PIECE: int(steps.corner.kind is CornerKind.SEPARATE)},
        lengths=step_lengths,
        further=check_steps,
        survey=check_joints,
        on_stack=depth_of_stack,
        on_wall=True,
        rise=cover_rise,
    ),
    Second(
        Soakers,
        "soakers",
        own_lead=True,
        longest="",
        sizes=(("roof", "roof_mm", "soaker_roof"),),
        handed=_soakers_handed,
        parts=lambda soakers: {PartKind.SOAKER: soakers.count},
        survey=check_soakers,
    ),
    Second(
        Apron,
        "apron",
        sizes=(
            ("width", "width_mm", ""),
            ("side", "side_mm", "apron_side"),
            ("upstand", "upstand_mm", "upstand"),
            ("cover", "cover_mm", "apron_cover"),
            ("turn_in", "turn_in_mm", "turn_in"),
        ),
        settled=frozenset({"upstand"}),
        parts=_side_gussets,
        run_mm=lambda apron: apron.width_mm + 2 * apron.side_mm,
        on_stack=lambda asked, apron: width_of_stack(asked, apron.width_mm),
        on_wall=True,
    ),
    Second(
        CoverFlashing,
        "cover_flashing",
        sizes=(
            ("length", "length_mm", ""),
            ("cover", "cover_mm", "cover_flashing_cover"),
            ("turn_in", "turn_in_mm", "turn_in"),
            ("slope", "slope_deg", ""),
            ("returns", "return_mm", ""),
        ),
        settled=frozenset({"cover"}),
        handed=lambda _, cover: bool(cover.slope_deg),
        run_mm=lambda cover: cover.length_mm + 2 * cover.return_mm,
        on_stack=lambda asked, cover: asked.differs("width", cover.length_mm, float(asked.entry["width"])),
        on_wall=True,
    ),
    Second(
        BackGutter,
        "back_gutter",
        longest=_UNLISTED,
        sizes=(
            ("width", "width_mm", ""),
            ("side", "side_mm", "gutter_side"),
            ("upstand", "upstand_mm", "gutter_upstand"),
            ("sole", "sole_mm", "gutter_sole"),
            ("up_roof", "up_roof_mm", "gutter_up_roof"),
        ),
        settled=frozenset({"upstand"}),
        parts=_side_gussets,
        further=lambda asked, gutter: check_fillet(asked, gutter.fillet, "gutter_fillet_foot"),
        on_stack=lambda asked, gutter: width_of_stack(asked, gutter.width_mm),
    ),
    Second(
        RidgeSaddle,
        "saddle",
        sizes=(
            ("width", "width_mm", "saddle_size"),
            ("length", "length_mm", "saddle_size"),
            ("upstand", "upstand_mm", "saddle_upstand"),
        ),
        parts=lambda saddle: {PartKind.GUSSET: int(saddle.corners is CornerWork.WELDED), PartKind.SADDLE: 1},
    ),
    Second(
        TopAbutment,
        "abutment",
        sizes=(
            ("length", "length_mm", ""),
            ("upstand", "upstand_mm", "upstand"),
            ("cover", "cover_mm", "apron_cover"),
            ("turn_in", "turn_in_mm", "turn_in"),
        ),
        run_mm=lambda flashing: flashing.length_mm + flashing.stop_left_mm + flashing.stop_right_mm,
        further=check_stop_ends,
        on_wall=True,
    ),
    Second(
        ValleyGutter,
        "valley_gutter",
        longest=_UNLISTED,
        sizes=(("length", "length_mm", ""), ("width", "width_mm", "valley_width")),
        run_mm=lambda valley: valley.length_mm,
        further=lambda asked, valley: check_fillet(asked, valley.fillet, "valley_fillet_foot"),
        survey=check_valley,
        rise=lambda _, valley: valley_rise(valley.pitch_deg, valley.other_pitch_deg),
    ),
    Second(
        AbutmentGutter,
        "abutment_gutter",
        longest=_UNLISTED,
        sizes=(
            ("length", "length_mm", ""),
            ("upstand", "upstand_mm", "abutment_gutter_upstand"),
            ("sole", "sole_mm", "abutment_gutter_sole"),
            ("edge", "edge_mm", "abutment_gutter_edge"),
        ),
        handed=_always,
        run_mm=lambda gutter: gutter.length_mm,
        rise=lambda _, gutter: math.sin(math.radians(gutter.pitch_deg)),
    ),
    Second(
        PipeSlate,
        "pipe_slate",
        longest=_UNLISTED,
        sizes=(
            ("pipe", "pipe_mm", ""),
            ("clearance", "clearance_mm", "pipe_clearance"),
            ("sleeve", "sleeve_mm", "pipe_sleeve"),
            ("seam", "seam_mm", "pipe_seam"),
            ("side", "side_mm", "pipe_base_side"),
            ("below", "below_mm", "pipe_base_below"),
            ("above", "above_mm", "pipe_base_above"),
        ),
        parts=lambda _: {PartKind.BASE: 1, PartKind.SLEEVE: 1},
    ),
    Second(PlainOutline, "outline", longest=_UNLISTED, further=check_outline),
)

SECOND: dict[type[Detail], Second] = {second.value: second for second in _TABLE}


def second_of(detail: Detail) -> Second:
    """Return how a surveyed detail is worked out a second time.

    Raises
    ------
    KeyError
        When nobody knows.
    """
    return SECOND[type(detail)]
