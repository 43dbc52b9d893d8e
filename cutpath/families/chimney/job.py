"""A whole chimney from one entry: the tables of its parts, with the sizes by which they go together.

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
from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag

from cutpath import sure
from cutpath.errors import Finding, Severity
from cutpath.families.apron.job import ApronSizes, ApronTable
from cutpath.families.back_gutter.job import BackGutterSizes, BackGutterTable
from cutpath.families.courses import RunLine
from cutpath.families.cover_flashing.job import CoverFlashingTable, CoverSizes
from cutpath.families.desk import Desk, LeftOutError
from cutpath.families.family import Expanded, Part
from cutpath.families.site import (
    Site,
    pitch_of,
)
from cutpath.families.soakers.job import SoakerTable
from cutpath.families.step_flashing.job import (
    ReturnTable,
    StepAndCoverTable,
    StepFlashingTable,
    StepSizes,
    covering_under,
    water_line_of,
)
from cutpath.families.tables import (
    CoursingOrName,
    CoveringOrName,
    Length,
    LengthOrNought,
    Means,
    OwnPitch,
    PartTable,
    Quantity,
    Sized,
    by_kind,
)
from cutpath.families.walls import joints_for
from cutpath.tolerances import POINT_MM
from cutpath.trade.coverings import surface_deg
from cutpath.trade.limits import slope_lap
from cutpath.trade.rules import held, said
from cutpath.units import mm_text
from cutpath.values.survey import (
    BedJoint,
    Chimney,
    Origin,
)


class StepFlashingPart(StepSizes):
    """The step flashings up both sides of a chimney."""

    clearance: Annotated[LengthOrNought, Means("clearance")] | None = Field(
        default=None, description="from the top of the soakers to the water line, mm; 5"
    )
    soakers: Annotated[
        Annotated[SoakerTable, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(by_kind)
    ] = Field(default=True, description="true for soakers by the covering, or their sizes in mm")


class StepAndCoverPart(StepSizes):
    """Step flashings with a cover up both sides of a chimney, for profiled tiles."""

    cover: Annotated[Length, Means("cover")] | None = Field(
        default=None, description="on the roof, mm; 150, or 200 in severe exposure"
    )
    covering: CoveringOrName | None = Field(default=None, description="what it lies on, instead of the job's covering")


class CoverPart(CoverSizes):
    """The cover flashing over the back gutter of a chimney."""

    returns: Annotated[Length, Means("return")] | None = Field(
        default=None, description="round the arris at each end, mm; 150"
    )


class ChimneyTable(Sized):
    """A whole chimney: soakers, both step flashings, apron, back gutter and cover flashing, made to go together."""

    kind: Literal["chimney"] = Field(description="chimney")
    quantity: Quantity = Field(default=1, description="how many chimneys alike; a whole number")
    width: Annotated[Length, Means("chimney width")] = Field(description="across the roof, arris to arris, mm")
    depth: Annotated[Length, Means("chimney depth")] | None = Field(
        default=None, description="front to back, measured level, mm; or give slope_length"
    )
    slope_length: Annotated[Length, Means("chimney depth")] | None = Field(
        default=None, description="front to back, measured along the slope of the roof, mm; or give depth"
    )
    pitch: OwnPitch = None
    coursing: CoursingOrName = Field(
        default=None, description="name of a coursing of this job, or the joints themselves in mm, for all faces"
    )
    corners: Literal["bossed", "welded"] = Field(
        default="bossed", description="how the corners of apron and back gutter are made"
    )
    step_flashing: Annotated[
        Annotated[StepFlashingPart, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(by_kind)
    ] = Field(default=True, description="the sides over soakers, their sizes in mm, or false for none")
    step_and_cover: Annotated[
        Annotated[StepAndCoverPart, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(by_kind)
    ] = Field(default=False, description="the sides with a cover instead of soakers, true or their sizes in mm")
    apron: Annotated[
        Annotated[ApronSizes, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(by_kind)
    ] = Field(default=True, description="the apron's sizes in mm, or false for none")
    back_gutter: Annotated[
        Annotated[BackGutterSizes, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(by_kind)
    ] = Field(default=True, description="the back gutter's sizes in mm, or false for none")
    cover_flashing: Annotated[
        Annotated[CoverPart, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(by_kind)
    ] = Field(default=True, description="the sizes of the cover flashing over the gutter in mm, or false for none")


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


FITTING_ORDER = ("apron", "step_flashing", "step_and_cover", "back_gutter", "cover_flashing")


KINDS = {
    "apron": "apron",
    "step_flashing": "step flashing",
    "step_and_cover": "step and cover",
    "back_gutter": "back gutter",
    "cover_flashing": "cover flashing",
}


@dataclass(frozen=True, slots=True)
class Stack:
    """A chimney as measured: its place in the file, its table, pitch, length along the slope, and level depth."""

    desk: Desk
    path: str
    table: ChimneyTable
    pitch_deg: float
    slope_mm: float

    @property
    def depth_mm(self) -> float:
        """Front to back, level."""
        return self.slope_mm * sure.cos(math.radians(self.pitch_deg))

    @property
    def rise_mm(self) -> float:
        """Height of the roof line at the back arris above that at the lower arris."""
        return self.slope_mm * sure.sin(math.radians(self.pitch_deg))


def parts_wanted(table: ChimneyTable) -> list[str]:
    """Return the keys of the parts that are to be made, in fitting order; a cover on the sides stands for soakers."""
    wanted = [key for key in FITTING_ORDER if getattr(table, key) is not False]
    if "step_and_cover" in wanted and "step_flashing" in wanted:
        wanted.remove("step_flashing")
    return wanted


def own_table(table: ChimneyTable, key: str) -> PartTable:
    """Return what the user wrote for a part; empty where it was only ``true`` or nothing."""
    own = getattr(table, key)
    return own if isinstance(own, PartTable) else PartTable()


def measured(desk: Desk, path: str, table: ChimneyTable, pitch_deg: float) -> Stack:
    """Take a chimney's length along the slope from whichever way it was measured.

    Raises
    ------
    LeftOutError
        When it was measured both ways or neither, or its sides are wanted in both ways.
    """
    if (table.depth is None) == (table.slope_length is None):
        both = table.depth is not None
        raise desk.refuse(
            "CP111" if both else "CP104",
            f"{path}.depth",
            "depth and slope_length are both given" if both else "neither depth nor slope_length",
            "needed: one of the two; depth is measured level, slope_length along the roof",
            "Take one of the lines out." if both else "Measure the stack from front to back.",
        )
    if table.step_and_cover is not False and "step_flashing" in table.model_fields_set and table.step_flashing:
        raise desk.refuse(
            "CP111",
            f"{path}.step_and_cover",
            "step_and_cover and step_flashing are both given",
            "accepted: one of the two up the sides",
            "Keep step_flashing over soakers, or step_and_cover for profiled tiles.",
        )
    slope = table.slope_length or (table.depth or 0.0) / sure.cos(math.radians(pitch_deg))
    return Stack(desk, path, table, pitch_deg, slope)


def side_table(stack: Stack, key: str, back: dict[str, Any] | None = None) -> StepFlashingTable | StepAndCoverTable:
    """Make the table of the side flashings; ``back`` holds what follows from the other parts."""
    sizes = {
        "kind": KINDS[key],
        "quantity": stack.table.quantity,
        "hands": "pair",
        "length": stack.slope_mm,
        "pitch": stack.pitch_deg,
        "coursing": stack.table.coursing,
        **_given(own_table(stack.table, key)),
        **(back or {}),
    }
    if key == "step_and_cover":
        return StepAndCoverTable.model_construct(**sizes)
    return StepFlashingTable.model_construct(**{"soakers": True, **sizes})


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
        sizes = _sizes(
            stack,
            "apron",
            width=stack.table.width,
            pitch=stack.pitch_deg,
            upstand=front.y_mm,
            corners=stack.table.corners,
        )
        out.append(("apron", ApronTable.model_construct(**sizes)))
        joint = f"joint {front.number}, {mm_text(front.y_mm)} above the roof"
        own_mm = _given(own_table(stack.table, "apron")).get("upstand", front.y_mm)
        shared = abs(own_mm - front.y_mm) <= POINT_MM
        chase = f"returns turn into {joint}, and the apron into a chase {mm_text(own_mm)} above the roof"
        notes.append(f"apron and returns turn into {joint}" if shared else chase)
    around = {"return_": _return(stack, side, front)}
    sides = [key for key in ("step_flashing", "step_and_cover") if key in wanted]
    out += [(key, side_table(stack, key, around)) for key in sides]
    back: BedJoint | None = None
    cover_mm = stack.desk.fact("cover_flashing_cover")
    if "back_gutter" in wanted or "cover_flashing" in wanted:
        behind, back, over_mm, found = _back(stack, joints, wanted)
        out += behind
        cover_mm = min(cover_mm, over_mm)
        notes.append(found)
    if past := _past_the_stack(stack, out):
        stack.desk.add(past)
        raise LeftOutError(stack.path)
    stack.desk.add([*_short_overlaps(stack, out), *_laps_on_the_roof(stack, out, on_roof_deg)])
    stack.desk.add([_note(stack, notes, [key for key, _ in out])] if notes else [])
    least = stack.desk.fact("least_lap")
    reach = {(key, name): reach for key, name, reach, _ in _reaches(out)}
    lap_mm = min([least, *(mm for (_, name), mm in reach.items() if name == "return.length")])
    back_lap_mm = min(least, reach.get(("back_gutter", "side"), least))
    return out, Meeting(front, back, lap_mm, back_lap_mm, cover_mm)


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


def _given(own: PartTable) -> dict[str, Any]:
    """Return what the user wrote, by the names of the fields."""
    return {name: getattr(own, name) for name in own.model_fields_set}


def _sizes(stack: Stack, key: str, **usual: object) -> dict[str, Any]:
    """Return what follows for a part from the stack, and what the user wrote instead."""
    fixed = {"kind": KINDS[key], "quantity": stack.table.quantity}
    return {**fixed, **usual, **_given(own_table(stack.table, key))}


def _front_joint(
    stack: Stack, side: StepFlashingTable | StepAndCoverTable, water_mm: float, joints: tuple[BedJoint, ...]
) -> BedJoint:
    """Return the joint into which apron and returns turn: the user's own, else the lowest that the upstand allows.

    It is never above the joint of the first step, into which the return would have to be turned up, nor below the
    water line at the arris, under which nothing is cut.
    """
    desk, p = stack.desk, math.radians(stack.pitch_deg)
    usable = [joint for joint in joints if joint.number not in side.skip_joints]
    if side.return_ is not None and side.return_.joint is not None:
        own = next((joint for joint in usable if joint.number == side.return_.joint), None)
        if own is not None:
            return own
    least = max(desk.fact("upstand"), water_mm / sure.cos(p))
    first = next(
        (
            joint
            for joint in usable
            if (joint.y_mm - water_mm / sure.cos(p)) / (sure.tan(p) - joint.slope) > desk.fact("least_fold")
        ),
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
    gutter, cover = _given(own_table(stack.table, "back_gutter")), _given(own_table(stack.table, "cover_flashing"))
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
        own_side = gutter.get("side")
        side = desk.fact("gutter_side") if own_side is None else own_side
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
        desk.add(_bad_cover(stack, room, upstand, hang))
    note = (
        f"cover flashing turns into joint {joint.number}, {room:.0f} mm above the gutter's sole, over an upstand of "
        f"{upstand:.0f} mm"
    )
    return out, joint, hang - (room - upstand), note


def _bad_cover(stack: Stack, room: float, upstand: float, hang: float) -> list[Finding]:
    """Find a cover flashing that hangs on the sole, that ends above the upstand, or covers it by less than its rule."""
    rule = stack.desk.practice["cover_flashing_cover"]
    over = hang - (room - upstand)
    key = f"{stack.path}.cover_flashing.cover"
    if hang >= room - POINT_MM:
        return [
            stack.desk.finding(
                "CP412",
                key,
                f"a cover flashing that hangs {mm_text(hang)} below its joint, which is {mm_text(room)} above the sole",
                "a free edge clear of the sole",
                "Let it hang down less, or take a lower upstand so that it turns into another joint.",
            )
        ]
    return list(
        held(
            rule,
            stack.desk.where(key),
            over,
            "cover_over_the_gutter",
            severity=None if over > POINT_MM else Severity.FAULT,
            hang=math.ceil(room - upstand + rule.value - POINT_MM),
        )
    )


def _reaches(made: list[Part]) -> list[tuple[str, str, float, str]]:
    """Return how far parts pass an arris: part, key, mm, and over or under what."""
    reaches: list[tuple[str, str, float, str]] = []
    for key, table in made:
        if isinstance(table, (StepFlashingTable, StepAndCoverTable)) and table.return_ is not None:
            reaches.append((key, "return.length", table.return_.length, "over the apron on the front"))
        if isinstance(table, ApronTable) and table.side is not None:
            reaches.append((key, "side", table.side, "under the side flashings"))
        if isinstance(table, BackGutterTable) and table.side is not None:
            reaches.append((key, "side", table.side, "over the upper ends of the side flashings"))
        if isinstance(table, CoverFlashingTable):
            reaches.append((key, "returns", table.returns, "over the upper ends of the side flashings"))
    return reaches


def _short_overlaps(stack: Stack, made: list[Part]) -> list[Finding]:
    """Find parts that pass an arris by less than a level lap, so that they do not cover what lies under them."""
    least = stack.desk.practice["least_lap"]
    return [
        finding
        for key, name, reach, over in _reaches(made)
        for finding in held(
            least, stack.desk.where(f"{stack.path}.{key}.{name}"), reach, "least_lap_at_an_arris", over=over
        )
    ]


def _past_the_stack(stack: Stack, made: list[Part]) -> list[Finding]:
    """Find parts that go round an arris and on past the next one, where the stack has ended."""
    desk, table, slope = stack.desk, stack.table, sure.tan(math.radians(stack.pitch_deg))
    reaches: list[tuple[str, float, str, float]] = []
    for key, part in made:
        if isinstance(part, (StepFlashingTable, StepAndCoverTable)) and part.return_ is not None:
            reaches.append((f"{key}.return.length", part.return_.length, "wide", table.width))
        elif isinstance(part, ApronTable):
            side = desk.fact("apron_side") if part.side is None else part.side
            up = desk.fact("upstand") if part.upstand is None else part.upstand
            reaches.append((f"{key}.side", min(side, up / slope), "deep", stack.depth_mm))
        elif isinstance(part, BackGutterTable):
            reaches.append((f"{key}.side", part.side or 0.0, "deep", stack.depth_mm))
        elif isinstance(part, CoverFlashingTable):
            reaches.append((f"{key}.returns", part.returns, "deep", stack.depth_mm))
    return [
        desk.finding(
            "CP412",
            f"{stack.path}.{key}",
            f"{mm_text(reach)} round the arris of a stack that is {mm_text(room)} {way}",
            f"at most {mm_text(room)}, where the next arris is",
            f"Write {key} = {math.floor(room)} or less, or measure the stack again.",
        )
        for key, reach, way, room in reaches
        if reach > room + POINT_MM
    ]


def _laps_on_the_roof(stack: Stack, made: list[Part], on_roof_deg: float | None) -> list[Finding]:
    """Warn where apron and cover, or cover and back gutter, lie too little over each other down the slope.

    Over soakers neither does: they lie in the courses between.
    """
    tables = [table for _, table in made if isinstance(table, ApronTable | BackGutterTable)]
    if on_roof_deg is None or not tables:
        return []
    desk, p = stack.desk, math.radians(stack.pitch_deg)
    least = slope_lap(on_roof_deg, desk.practice)
    if math.isinf(least.value):
        return []  # refused with the returns of the sides, which lap over the apron
    laps: list[tuple[str, float, str]] = []
    for table in tables:
        if isinstance(table, ApronTable):
            side = desk.fact("apron_side") if table.side is None else table.side
            up = min(side, (table.upstand or 0.0) / sure.tan(p)) / sure.cos(p)
            laps.append(("apron.upstand", up, "apron_side_under_a_cover"))
        elif isinstance(table, BackGutterTable):
            side = desk.fact("gutter_side") if table.side is None else table.side
            laps.append(("back_gutter.side", side / sure.cos(p), "gutter_side_over_a_cover"))
    past = math.ceil(least.value * sure.cos(p))
    return [
        finding
        for key, lap, sentence in laps
        for finding in held(least, desk.where(f"{stack.path}.{key}"), lap, sentence, slope=on_roof_deg, past=past)
    ]


_FITTED = {
    "apron": "the apron",
    "step_flashing": "the soakers with the covering and the side flashings",
    "step_and_cover": "the side flashings",
    "back_gutter": "the back gutter over their upper ends",
    "cover_flashing": "the cover flashing last",
}


def _note(stack: Stack, notes: list[str], keys: Sequence[str]) -> Finding:
    """Note where parts meet and in which order those that there are of them are fitted."""
    order = ", then ".join(words for key, words in _FITTED.items() if key in keys)
    return said("parts_of_a_chimney", stack.desk.where(stack.path), notes="; ".join(notes), order=order)


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
        covering = covering_under(replace(site, path=f"{site.path}.{key}"), side)
        on_roof = surface_deg(stack.pitch_deg, covering)
    # A gauge has to give joints up to the cover flashing, well above the upper end of the sides.
    run = RunLine(stack.pitch_deg, stack.slope_mm, water)
    above = replace(run, slope_mm=stack.slope_mm + _ABOVE_THE_SIDES_MM / sure.sin(math.radians(stack.pitch_deg)))
    joints = joints_for(site.desk, f"{site.path}.coursing", asked.coursing, above)
    made, meeting = parts(stack, side, water, joints, on_roof)
    return list(made), partial(surveyed, stack, meeting)


def kinds(table: ChimneyTable) -> list[tuple[str, str, PartTable]]:
    """Return key and kind of every part that is to be made, in fitting order, with what the user wrote of it."""
    return [(key, KINDS[key], own_table(table, key)) for key in parts_wanted(table)]
