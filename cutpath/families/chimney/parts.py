"""The tables of a chimney's parts, with the sizes by which they go together.

Frame of the sides: as every survey, x level up the slope from the lower arris, y plumb from the roof line there. The
front face stands at x = 0, the back face at x = depth, and a course is level all round. So the parts share joints:

* Front: the apron's upstand reaches the lowest joint that the rule for upstands allows; the returns of the side
  flashings turn into the same joint, over the apron.
* Back: the sole lies level with the roof where it meets it, sole x tan p above the roof line at the back arris. The
  cover flashing turns into the lowest joint that leaves the gutter its upstand, goes round both arrises in that course,
  and hangs down over the upstand by its rule.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from cutpath import sure
from cutpath.errors import Finding
from cutpath.families.apron.job import ApronTable
from cutpath.families.back_gutter.job import BackGutterTable
from cutpath.families.chimney.job import KINDS, ChimneyTable, Stack, given, measured, parts_wanted
from cutpath.families.chimney.rules import (
    Way,
    bad_cover,
    crossing_returns,
    laps_on_the_roof,
    past_the_stack,
    reaches,
    short_overlaps,
)
from cutpath.families.courses import RunLine
from cutpath.families.cover_flashing.job import CoverFlashingTable
from cutpath.families.coverings import covering_of
from cutpath.families.desk import LeftOutError
from cutpath.families.family import Expanded, Part
from cutpath.families.site import Site, pitch_of
from cutpath.families.step_flashing.job import (
    SOAKERS,
    ReturnTable,
    StepAndCoverTable,
    StepFlashingTable,
    water_line_of,
)
from cutpath.families.walls import joints_for
from cutpath.tolerances import POINT_MM
from cutpath.trade.coverings import surface_deg
from cutpath.trade.rules import said
from cutpath.units import mm_text
from cutpath.values.survey import BedJoint, Chimney, Origin


@dataclass(frozen=True, slots=True)
class Meeting:
    """At which joints the parts meet at front and back, and by how much they are asked to lie over each other.

    ``lap_mm`` is that of the returns over the apron, ``back_lap_mm`` of the gutter over the side flashings, and
    ``cover_mm`` of the cover flashing over the gutter: as the rules say, or less where the user wrote less.
    """

    front: BedJoint
    back: BedJoint | None
    lap_mm: float
    back_lap_mm: float
    cover_mm: float


_ABOVE_THE_SIDES_MM = 1000.0
"""Joints by a gauge are given this far above the sides of a chimney: more than any gutter and its cover take up."""


def expanded(site: Site, asked: ChimneyTable) -> Expanded:
    """Return the tables of the parts, and what gives the survey of the chimney."""
    stack = measured(site.desk, site.path, asked, pitch_of(site, asked.pitch))
    key = "step_and_cover" if asked.step_and_cover is not False else "step_flashing"
    side = side_table(stack, key)
    on_roof = None
    if isinstance(side, StepFlashingTable):
        water, _ = water_line_of(replace(site, path=f"{site.path}.{key}"), side)
    else:
        water = side.water_line or site.desk.fact("step_water_line")
        own = covering_of(site.desk, side.covering, f"{site.path}.{key}.covering")
        on_roof = surface_deg(stack.pitch_deg, own or site.covering)
    # A gauge has to give joints up to the cover flashing, well above the upper end of the sides.
    run = RunLine(stack.pitch_deg, stack.slope_mm, water)
    above = replace(run, slope_mm=stack.slope_mm + _ABOVE_THE_SIDES_MM / sure.sin(math.radians(stack.pitch_deg)))
    joints = joints_for(site.desk, f"{site.path}.coursing", asked.coursing, above)
    made, meeting = parts(stack, side, water, joints, on_roof)
    return list(made), partial(surveyed, stack, meeting)


def parts(
    stack: Stack,
    side: StepFlashingTable | StepAndCoverTable,
    water_mm: float,
    joints: tuple[BedJoint, ...],
    on_roof_deg: float | None,
) -> tuple[list[Part], Meeting]:
    """Make the tables of all parts in fitting order, and note at which joints they meet.

    Parameters
    ----------
    side : table of the side flashings, before their return is settled
    water_mm : float
        Their water line.
    joints : tuple of BedJoint
        Of the stack, all round; those that the sides skip are left out of account at the front.
    on_roof_deg : float or None
        True pitch of what a cover up the sides lies on; None over soakers.

    Raises
    ------
    LeftOutError
        When no joint suits the front or the back; the findings say what to measure.
    """
    wanted = parts_wanted(stack.table)
    out: list[Part] = []
    notes: list[str] = []
    front = _front_joint(stack, side, water_mm, joints)
    if "apron" in wanted:
        apron, note = _apron(stack, front)
        out.append(("apron", apron))
        notes.append(note)
    around = {"return_": _return(stack, side, front)}
    out += [(key, side_table(stack, key, around)) for key in ("step_flashing", "step_and_cover") if key in wanted]
    back: BedJoint | None = None
    cover_mm = stack.desk.fact("cover_flashing_cover")
    if "back_gutter" in wanted or "cover_flashing" in wanted:
        behind, back, over_mm, note = _back(stack, joints, wanted)
        out += behind
        cover_mm = min(cover_mm, over_mm)
        notes.append(note)
    reached = reaches(stack, out)
    if past := past_the_stack(stack, reached):
        stack.desk.add(past)
        raise LeftOutError(stack.path)
    notes += crossing_returns(stack, reached)
    stack.desk.add([*short_overlaps(stack, reached), *laps_on_the_roof(stack, out, on_roof_deg)])
    stack.desk.add([_note(stack, side, notes, [key for key, _ in out])] if notes else [])
    least = stack.desk.fact("least_lap")
    lap_mm = min([least, *(reach.mm for reach in reached if reach.way is Way.WIDE)])
    back_lap_mm = min([least, *(reach.mm for reach in reached if reach.key == "back_gutter.side")])
    return out, Meeting(front, back, lap_mm, back_lap_mm, cover_mm)


def _apron(stack: Stack, front: BedJoint) -> tuple[ApronTable, str]:
    """Make the apron's table, and say where it is turned in."""
    sizes = _sizes(
        stack,
        "apron",
        width=stack.table.width,
        pitch=stack.pitch_deg,
        side=stack.desk.fact("apron_side"),
        upstand=front.y_mm,
        corners=stack.table.corners,
    )
    joint = f"joint {front.number}, {mm_text(front.y_mm)} above the roof"
    if abs(sizes["upstand"] - front.y_mm) <= POINT_MM:
        note = f"apron and returns turn into {joint}"
    else:
        note = f"returns turn into {joint}, and the apron into a chase {mm_text(sizes['upstand'])} above the roof"
    return ApronTable.model_construct(**sizes), note


def surveyed(stack: Stack, meeting: Meeting, labels: tuple[str, ...]) -> Chimney:
    """Return the stack as what its parts have to fit, with the labels of their details."""
    return Chimney(
        origin=Origin(stack.desk.file, stack.path),
        parts=labels,
        pitch_deg=stack.pitch_deg,
        width_mm=stack.table.width,
        depth_mm=stack.depth_mm,
        front=meeting.front,
        back=meeting.back,
        lap_mm=meeting.lap_mm,
        back_lap_mm=meeting.back_lap_mm,
        cover_mm=meeting.cover_mm,
    )


def side_table(stack: Stack, key: str, back: dict[str, Any] | None = None) -> StepFlashingTable | StepAndCoverTable:
    """Make the table of the side flashings; ``back`` holds what follows from the other parts."""
    sizes = {
        "kind": KINDS[key],
        "quantity": stack.table.quantity,
        "hands": "pair",
        "length": stack.slope_mm,
        "pitch": stack.pitch_deg,
        "coursing": stack.table.coursing,
        **given(stack.table, key),
        **(back or {}),
    }
    if key == "step_and_cover":
        return StepAndCoverTable.model_construct(**sizes)
    return StepFlashingTable.model_construct(**{"soakers": True, **sizes})


def _sizes(stack: Stack, key: str, **usual: object) -> dict[str, Any]:
    """Return what follows for a part from the stack, and what the user wrote instead."""
    fixed = {"kind": KINDS[key], "quantity": stack.table.quantity}
    return {**fixed, **usual, **given(stack.table, key)}


def _front_joint(
    stack: Stack, side: StepFlashingTable | StepAndCoverTable, water_mm: float, joints: tuple[BedJoint, ...]
) -> BedJoint:
    """Return the joint into which apron and returns turn: the user's own, else the lowest that the upstand allows.

    It is never above the joint of the first step, into which the return would have to be turned up, nor below the
    water line at the arris, under which nothing is cut.
    """
    desk, p = stack.desk, math.radians(stack.pitch_deg)
    usable = [joint for joint in joints if joint.number not in side.skip_joints]
    clear = water_mm / sure.cos(p)
    if side.return_ is not None and side.return_.joint is not None:
        own = next((joint for joint in usable if joint.number == side.return_.joint), None)
        if own is not None and own.y_mm < clear - POINT_MM:
            key = "step_and_cover" if isinstance(side, StepAndCoverTable) else "step_flashing"
            stands, least_mm = math.floor(own.y_mm), math.ceil(clear - POINT_MM)
            raise desk.refuse(
                "CP408",
                f"{stack.path}.{key}.return.joint",
                f"the return's joint {own.number} stands {stands} mm up, below the water line at the arris",
                f"needed: a joint at least {least_mm} mm up, since nothing is cut below the water line",
                "Choose a higher joint, or lower the water line.",
            )
        if own is not None:
            return own
    least = max(desk.fact("upstand"), clear)
    first = next(
        (joint for joint in usable if (joint.y_mm - clear) / (sure.tan(p) - joint.slope) > desk.fact("least_fold")),
        None,
    )
    found = next((joint for joint in usable if joint.y_mm >= least - POINT_MM), None)
    if found is None or first is None:
        raise desk.refuse(
            "CP402",
            f"{stack.path}.coursing",
            f"no joint stands {mm_text(least)} or more above the roof at the front",
            "a joint there for the apron",
            "Measure the joints farther up.",
        )
    return found if found.y_mm <= first.y_mm else first


def _return(stack: Stack, side: StepFlashingTable | StepAndCoverTable, front: BedJoint) -> ReturnTable:
    own = side.return_
    if own is not None:
        return own if own.joint is not None else own.model_copy(update={"joint": front.number})
    length = stack.desk.fact("chimney_return")
    return ReturnTable.model_construct(kind="separate", length=length, joint=front.number, foot=0.0)


def _back(stack: Stack, joints: tuple[BedJoint, ...], wanted: list[str]) -> tuple[list[Part], BedJoint, float, str]:
    """Make gutter and cover flashing: the joint they share, how far the cover hangs over the upstand, and a note."""
    desk = stack.desk
    gutter, cover = given(stack.table, "back_gutter"), given(stack.table, "cover_flashing")
    sole = gutter.get("sole") or desk.fact("gutter_sole")
    level = stack.rise_mm + sole * sure.tan(math.radians(stack.pitch_deg))
    least = gutter.get("upstand") or desk.fact("gutter_upstand")
    joint = next((j for j in joints if j.height_mm(stack.depth_mm) >= level + least - POINT_MM), None)
    if joint is None:
        top = joints[-1].height_mm(stack.depth_mm)
        raise desk.refuse(
            "CP402",
            f"{stack.path}.coursing",
            f"the highest joint stands {mm_text(top)} up at the back, and the gutter's sole lies {mm_text(level)} up",
            f"a joint at least {mm_text(level + least)} up, for the cover flashing over an upstand of {mm_text(least)}",
            "Measure more joints at the back of the stack, or give a gauge.",
        )
    room = joint.height_mm(stack.depth_mm) - level
    upstand = gutter.get("upstand") or min(float(math.floor(room)), desk.fact("gutter_upstand_most"))
    hang = cover.get("cover") or float(math.ceil(room - upstand + desk.fact("cover_flashing_cover") - POINT_MM))
    out: list[Part] = []
    table = stack.table
    side = 0.0
    if "back_gutter" in wanted:
        side = gutter.get("side", desk.fact("gutter_side"))
        sizes = _sizes(
            stack,
            "back_gutter",
            width=table.width,
            pitch=stack.pitch_deg,
            side=side,
            sole=sole,
            upstand=upstand,
            corners=table.corners,
        )
        out.append(("back_gutter", BackGutterTable.model_construct(**sizes)))
    if "cover_flashing" in wanted:
        # The gutter's sides stand under it as far as they go.
        returns = max(desk.fact("chimney_return"), side)
        sizes = _sizes(stack, "cover_flashing", length=table.width, cover=hang, returns=returns)
        out.append(("cover_flashing", CoverFlashingTable.model_construct(**sizes)))
        desk.add(bad_cover(stack, room, upstand, hang))
    note = (
        f"cover flashing turns into joint {joint.number}, {room:.0f} mm above the gutter's sole, over an upstand of "
        f"{upstand:.0f} mm"
    )
    return out, joint, hang - (room - upstand), note


_FITTED = {
    "apron": "the apron",
    "step_flashing": "the soakers with the covering and the side flashings",
    "step_and_cover": "the side flashings",
    "back_gutter": "the back gutter over the upper ends of the sides",
    "cover_flashing": "the cover flashing last",
}


def _note(stack: Stack, side: StepFlashingTable | StepAndCoverTable, notes: list[str], keys: Sequence[str]) -> Finding:
    """Note where parts meet and in which order those that there are of them are fitted."""
    fitted = _FITTED if getattr(side, SOAKERS, False) else {**_FITTED, "step_flashing": _FITTED["step_and_cover"]}
    order = ", then ".join(words for key, words in fitted.items() if key in keys)
    return said("parts_of_a_chimney", stack.desk.where(stack.path), notes="; ".join(notes), order=order)
