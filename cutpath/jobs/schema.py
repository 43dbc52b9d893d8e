"""What a user may write in a job file: keys in trade words, each with its unit.

Lengths are numbers of millimetres or text with a unit; pitches are degrees or rise to run. A key that may hold
a name or a table is told apart by what is written there.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Discriminator, Field, Tag, WithJsonSchema

from cutpath.intake import Strict
from cutpath.units import (
    ANGLE_WORDS,
    LENGTH_WORDS,
    PITCH_WORDS,
    NotUnderstoodError,
    angle_deg,
    deg_text,
    length_mm,
    mm_text,
    pitch_deg,
    written,
)

LONGEST_RUN_MM = 100_000.0
"""No run of flashing on a building is longer than 100 m: a figure beyond is a slip of the unit."""


FARTHEST_MM = 1e9
"""A thousand kilometres: a figure beyond is no slip that could be guessed."""


@dataclass(frozen=True, slots=True)
class Means:
    """What a number stands for: the name of its range in ``profiles/plausible``."""

    size: str


@dataclass(frozen=True, slots=True)
class Counts:
    """A number that names something and is no size: ``held`` says against what it is checked."""

    held: str


def _within(low: float, high: float, say: Callable[[float], str], *, open_low: bool) -> AfterValidator:
    """Refuse a figure outside ``low`` to ``high``; ``open_low`` shuts ``low`` itself out."""
    least = f"more than {say(low)}" if open_low else say(low)
    most = "and up" if high == FARTHEST_MM else f"and at most {say(high)}" if open_low else f"to {say(high)}"
    accepted = f"{least} {most}"

    def check(value: float) -> float:
        if value > high or value < low or (open_low and value == low):
            raise NotUnderstoodError(say(value), accepted, "Check the figure and its unit.")
        return value

    return AfterValidator(check)


def _json(words: str, *types: str) -> WithJsonSchema:
    return WithJsonSchema({"anyOf": [{"type": name} for name in types], "description": words})


_LENGTH_JSON = _json(LENGTH_WORDS, "number", "string")
Length = Annotated[float, _within(0, FARTHEST_MM, mm_text, open_low=True), BeforeValidator(length_mm), _LENGTH_JSON]
LengthOrNought = Annotated[
    float, _within(0, FARTHEST_MM, mm_text, open_low=False), BeforeValidator(length_mm), _LENGTH_JSON
]
Coordinate = Annotated[
    float,
    _within(-FARTHEST_MM, FARTHEST_MM, mm_text, open_low=False),
    BeforeValidator(length_mm),
    _LENGTH_JSON,
    Means("coordinate"),
]
Height = Annotated[
    float, _within(-FARTHEST_MM, FARTHEST_MM, mm_text, open_low=False), BeforeValidator(length_mm), _LENGTH_JSON
]
Course = Annotated[
    float, _within(0, 2000, mm_text, open_low=True), BeforeValidator(length_mm), _LENGTH_JSON, Means("course")
]
Pitch = Annotated[
    float,
    _within(1, 85, deg_text, open_low=False),
    BeforeValidator(pitch_deg),
    _json(PITCH_WORDS, "number", "string", "object"),
    Means("pitch"),
]
Rake = Annotated[
    float,
    _within(0, 85, deg_text, open_low=False),
    BeforeValidator(pitch_deg),
    _json(PITCH_WORDS, "number", "string", "object"),
    Means("rake"),
]


def _fold_angle(value: float) -> float:
    if not 0 < abs(value) < 180:
        raise NotUnderstoodError(deg_text(value), "more than 0 and less than 180 deg either way", "Check the angle.")
    return value


FlatterBy = Annotated[
    float,
    _within(0, 15, deg_text, open_low=False),
    BeforeValidator(angle_deg),
    _json(ANGLE_WORDS, "number", "string"),
    Means("flatter by"),
]


FilletFace = Annotated[
    float,
    _within(20, 90, deg_text, open_low=False),
    BeforeValidator(angle_deg),
    _json(ANGLE_WORDS, "number", "string"),
    Means("fillet face"),
]


FoldAngle = Annotated[
    float,
    AfterValidator(_fold_angle),
    BeforeValidator(angle_deg),
    _json(ANGLE_WORDS, "number", "string"),
    Means("fold angle"),
]


_riser_within = _within(0, 120, deg_text, open_low=True)


def _riser(value: object) -> object:
    """Read ``"plumb"`` as None, anything else as an angle."""
    return None if value == "plumb" else angle_deg(value)


Riser = Annotated[
    Annotated[float, _riser_within] | None,
    BeforeValidator(_riser),
    _json('"plumb", or an angle: ' + ANGLE_WORDS, "number", "string"),
    Means("riser"),
]


def _capitals(longest: int) -> Callable[[str], str]:
    def check(value: str) -> str:
        plain = value.isascii() and value.isalnum() and value == value.upper()
        if not plain or len(value) > longest:
            raise NotUnderstoodError(
                written(value), f"1 to {longest} capitals and digits", "It is written on every piece: keep it short."
            )
        return value

    return check


Mark = Annotated[str, AfterValidator(_capitals(3)), Field(json_schema_extra={"pattern": "^[A-Z0-9]{1,3}$"})]
Label = Annotated[str, AfterValidator(_capitals(4)), Field(json_schema_extra={"pattern": "^[A-Z0-9]{1,4}$"})]
Words = Annotated[str, Field(min_length=1, max_length=80)]
Code = Annotated[int, Field(ge=1, le=99), Counts("codes of the lead table")]
Quantity = Annotated[int, Field(ge=1, le=1000), Means("quantity")]
Count = Annotated[int, Field(ge=1, le=2000), Means("count")]
JointNumber = Annotated[int, Field(ge=1), Counts("joints of the coursing")]
HandWord = Literal["left", "right", "pair"]


def _pair(value: object) -> object:
    if isinstance(value, list) and len(value) == 2:
        return tuple(value)
    raise NotUnderstoodError(written(value), "x and y in mm, such as [120, 0]", "Write both figures in brackets.")


Point = Annotated[
    tuple[Coordinate, Coordinate],
    BeforeValidator(_pair),
    WithJsonSchema({"type": "array", "items": {"anyOf": [{"type": "number"}, {"type": "string"}]}}),
]


def _by_kind(value: object) -> str:
    """Tell a table from a bare value, for keys that may hold either."""
    return "(table)" if isinstance(value, dict) else "(value)"


class Sized(Strict):
    """A table with sizes, which whoever measured them can confirm where they look like a slip."""

    confirmed: list[Words] = Field(
        default=[], description="keys of this table whose size looks like a slip and has been measured again"
    )


class SecondReading(Sized):
    """A second reading of the joints, or of those that can be reached."""

    from_joint: JointNumber | None = Field(
        default=None,
        description="number of the joint at which this reading begins, where lower ones cannot be reached; 1",
    )


class SecondHeights(SecondReading):
    """Heights of the same joints farther up the wall, where they run out of level."""

    at: Annotated[Length, Means("second reading")] = Field(
        description="level distance from the corner to this reading, mm"
    )
    joints: list[Annotated[Height, Means("second height")]] = Field(
        min_length=1, description="heights there above the same level line through the corner, mm, bottom up"
    )


class SecondLine(SecondReading):
    """Tape readings of the same joints along another line parallel to the roof."""

    line: Annotated[LengthOrNought, Means("second line")] = Field(
        description="height of that line above the roof, square to the roof, mm"
    )
    along: list[Annotated[LengthOrNought, Means("tape reading")]] = Field(
        min_length=1, description="tape readings from the corner along that line, mm, bottom up"
    )


class OwnStep(Sized):
    """One step of your own choice, where beds do not run through: up from the last one, then level along its bed."""

    rise: Annotated[Length, Means("step rise")] = Field(
        description="plumb up to this bed, from the one before or from the roof line, mm"
    )
    run: Annotated[Length, Means("step run")] = Field(description="level along this bed to the next riser, mm")


class CoursingTable(Sized):
    """Bed joints of a wall, in one way: heights, readings along the water line, a gauge, or steps of your own."""

    joints: list[Annotated[Height, Means("joint height")]] | None = Field(
        default=None,
        min_length=1,
        description="heights of the bed joints at the lower corner above the roof line, mm, bottom up",
    )
    along_water_line: list[Annotated[LengthOrNought, Means("tape reading")]] | None = Field(
        default=None,
        min_length=1,
        description="tape readings from the lower corner along the water line to each bed joint, mm, bottom up",
    )
    second_reading: (
        Annotated[
            Annotated[SecondHeights, Tag("(at)")] | Annotated[SecondLine, Tag("(line)")],
            Discriminator(lambda value: "(line)" if isinstance(value, dict) and "line" in value else "(at)"),
        ]
        | None
    ) = Field(default=None, description="a second reading of every joint, where they run out of level, mm")
    gauge: (
        Annotated[
            Annotated[Course, Tag("(length)")] | Annotated[Words, Tag("(name)")],
            Discriminator(lambda value: "(name)" if isinstance(value, str) and value[:1].isalpha() else "(length)"),
        ]
        | None
    ) = Field(
        default=None,
        description='constant course, brick and bed joint together, mm, or the name of brickwork as "metric brick"',
    )
    first_joint: Annotated[Height, Means("first joint")] | None = Field(
        default=None,
        description="height of the first bed joint at the lower corner above the roof line, mm; goes with gauge",
    )

    steps: list[OwnStep] | None = Field(
        default=None,
        min_length=1,
        description="stone: each step by its rise and run in mm, from the lower corner up",
    )
    step_points: list[Point] | None = Field(
        default=None,
        min_length=1,
        description="stone: where each step's bed ends, level and plumb from the lower corner in mm, bottom up",
    )
    masonry: Words | None = Field(
        default=None,
        description='what the wall is of, such as "metric brick" or "squared stone", to which its courses are held',
    )
    odd_joints: list[JointNumber] = Field(
        default=[], description="numbers of joints that look like slips and have been measured again, counted from 1"
    )


class CoveringTable(Sized):
    """Slates or tiles: a name from the list, or a length with headlap or gauge; in single lap, flatter_by alone."""

    name: Words | None = Field(default=None, description="name of a listed covering, or of your own")
    length: Annotated[Length, Means("covering length")] | None = Field(
        default=None, description="length of the slate or tile, mm"
    )
    headlap: Annotated[LengthOrNought, Means("headlap")] | None = Field(default=None, description="headlap, mm")
    gauge: Annotated[Length, Means("covering gauge")] | None = Field(
        default=None, description="gauge, mm; instead of the headlap"
    )
    least_pitch: Pitch | None = Field(
        default=None, description="flattest pitch that its maker allows, degrees or rise to run"
    )
    flatter_by: FlatterBy | None = Field(
        default=None,
        description="how much flatter than the pitch of the roof its surface lies, degrees, for lead that laps on it; "
        "0 where the pitch was measured on the surface",
    )


CoveringOrName = Annotated[
    Annotated[CoveringTable, Tag("(table)")] | Annotated[Words, Tag("(value)")], Discriminator(_by_kind)
]


class LeadTable(Strict):
    """Lead code by use."""

    step_flashing: Code = Field(default=4, description="lead code of step flashings")
    soakers: Code = Field(default=3, description="lead code of soakers")
    apron: Code = Field(default=4, description="lead code of aprons")
    cover_flashing: Code = Field(default=4, description="lead code of cover flashings")
    back_gutter: Code = Field(default=4, description="lead code of back gutters")
    saddle: Code = Field(default=4, description="lead code of ridge saddles")
    abutment: Code = Field(default=4, description="lead code of abutment flashings")
    valley_gutter: Code = Field(default=5, description="lead code of valley gutters")
    abutment_gutter: Code = Field(default=4, description="lead code of gutters beside a wall")
    pipe_slate: Code = Field(default=4, description="lead code of pipe slates")
    outline: Code = Field(default=4, description="lead code of plain outlines")


class ReturnTable(Sized):
    """A return round the arris at the lower end."""

    kind: Literal["integral", "separate"] = Field(
        default="integral", description="in one sheet with the strip, or a lapped piece of its own"
    )
    length: Annotated[Length, Means("return")] = Field(description="level reach on the next face, mm")
    joint: JointNumber | None = Field(
        default=None,
        description="number of the bed joint its top folds into, counted from 1; the first step's if left out",
    )
    foot: Annotated[Height, Means("return foot")] = Field(
        default=0.0, description="height of its lower edge above the lower corner, mm"
    )


CoursingOrName = (
    Annotated[Annotated[CoursingTable, Tag("(table)")] | Annotated[Words, Tag("(value)")], Discriminator(_by_kind)]
    | None
)


class PartTable(Sized):
    """What every detail may have, and every part of a chimney."""

    label: Label | None = Field(default=None, description="short name on the pieces, 1 to 4 capitals and digits")
    code: Code | None = Field(default=None, description="lead code, instead of the job's")
    longest: Annotated[Length, Means("longest")] | None = Field(
        default=None, description="your own limit for one length, mm, under the rule's"
    )


class DetailTable(PartTable):
    """What every detail may have."""

    quantity: Quantity = Field(default=1, description="how many sets, per hand; a whole number")


class SoakerTable(Sized):
    """Soakers to the step flashing in which they stand."""

    label: Label | None = Field(default=None, description="short name on the pieces, 1 to 4 capitals and digits")
    code: Code | None = Field(default=None, description="lead code, instead of the job's")
    upstand: Annotated[Length, Means("upstand")] | None = Field(
        default=None, description="up the wall, mm; 75, or what the water line leaves"
    )
    roof: Annotated[Length, Means("on the roof")] | None = Field(
        default=None, description="under the covering, mm; 100"
    )
    headlap: Annotated[LengthOrNought, Means("headlap")] | None = Field(
        default=None, description="headlap of the covering here, mm, instead of the job's"
    )
    count: Count | None = Field(default=None, description="soakers to the run; one to each course if left out")


class StepSizes(PartTable):
    """How steps are turned into bed joints."""

    lap: Annotated[Length, Means("lap")] | None = Field(
        default=None, description="lap between lengths, mm, instead of the rule's"
    )
    water_line: Annotated[Length, Means("water line")] | None = Field(
        default=None, description="height of the water line above the roof, square to the roof, mm"
    )
    turn_in: Annotated[Length, Means("turn in")] | None = Field(
        default=None, description="depth turned into the bed joints, mm; 25"
    )
    riser: Riser = Field(default=None, description="plumb if left out, or the angle of the risers in degrees")
    riser_from: Literal["level", "water line"] = Field(
        default="level", description="the line from which the riser's angle is counted"
    )
    strip_width: Annotated[Length, Means("strip width")] | None = Field(
        default=None,
        description="width of the whole strip, mm, any cover on the roof and the turn-ins included; if left out, the "
        "narrowest roll that holds the steps",
    )
    set_back: Annotated[LengthOrNought, Means("set back")] = Field(
        default=0.0, description="level distance from the arris to the lower end, mm"
    )
    upper_end: Literal["plumb", "square"] = Field(default="plumb", description="how the upper end is cut")
    return_: ReturnTable | None = Field(
        default=None, alias="return", description="return round the arris, lengths in mm"
    )
    skip_joints: list[JointNumber] = Field(
        default=[], description="numbers of bed joints not to be used, counted from 1"
    )
    short_steps: Literal["keep", "skip"] = Field(
        default="keep", description="skip to leave out joints whose steps are too short to dress"
    )


class ReachTable(Sized):
    """A part of a run above a change of pitch."""

    length: Annotated[Length, Means("run")] = Field(description="along the slope, from the change upwards, mm")
    pitch: Pitch = Field(description="pitch of the roof there, degrees or rise to run")


class StepTable(StepSizes, DetailTable):
    """A run of steps turned into bed joints."""

    hands: HandWord = Field(default="pair", description="which way the roof rises facing the wall: left, right or pair")
    length: Annotated[Length, Means("run")] = Field(
        description="along the slope, from the lower corner to the upper end, mm"
    )
    pitch: Pitch | None = Field(
        default=None, description="pitch of the roof, degrees or rise to run, instead of the job's"
    )
    coursing: CoursingOrName = Field(
        default=None, description="name of a coursing of this job, or the joints themselves in mm"
    )
    above: list[ReachTable] = Field(
        default=[],
        max_length=5,
        description="where the roof changes its pitch, as over sprocketed eaves: the parts above, in mm, bottom up",
    )


class StepFlashingTable(StepTable):
    """A run of step flashing over soakers."""

    kind: Literal["step flashing"] = Field(description="step flashing")
    clearance: Annotated[LengthOrNought, Means("clearance")] | None = Field(
        default=None, description="from the top of the soakers to the water line, mm; 5"
    )
    soakers: Annotated[
        Annotated[SoakerTable, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(_by_kind)
    ] = Field(default=False, description="true for soakers by the covering, or their sizes in mm")


class StepAndCoverTable(StepTable):
    """A run of step flashing that goes on over the roof in one sheet: for profiled tiles, without soakers."""

    kind: Literal["step and cover"] = Field(description="step and cover")
    cover: Annotated[Length, Means("cover")] | None = Field(
        default=None, description="on the roof, mm; 150, or 200 in severe exposure"
    )
    covering: CoveringOrName | None = Field(default=None, description="what it lies on, instead of the job's covering")


class SoakersTable(DetailTable):
    """Soakers on their own."""

    kind: Literal["soakers"] = Field(description="soakers")
    hands: HandWord | None = Field(
        default=None,
        description="which way the roof rises facing the wall: left, right or pair; a pair if left out, or blanks for "
        "either hand where count is given",
    )
    length: Annotated[Length, Means("run")] | None = Field(
        default=None, description="along the slope, mm; may be left out where count is given"
    )
    upstand: Annotated[Length, Means("upstand")] | None = Field(default=None, description="up the wall, mm; 75")
    roof: Annotated[Length, Means("on the roof")] | None = Field(
        default=None, description="under the covering, mm; 100"
    )
    headlap: Annotated[LengthOrNought, Means("headlap")] | None = Field(
        default=None, description="headlap of the covering here, mm, instead of the job's"
    )
    count: Count | None = Field(
        default=None,
        description="how many to cut, to each run where hands is given; one to each course if left out",
    )


class ApronSizes(PartTable):
    """Sizes of an apron."""

    lap: Annotated[Length, Means("lap")] | None = Field(
        default=None, description="lap between lengths, mm, instead of the rule's"
    )
    side: Annotated[LengthOrNought, Means("past the arris")] | None = Field(
        default=None, description="past each arris, mm; 150"
    )
    upstand: Annotated[Length, Means("upstand")] | None = Field(
        default=None, description="up the face, mm; 75, the least of the rule"
    )
    cover: Annotated[Length, Means("cover")] | None = Field(
        default=None, description="down the roof, mm; 150, or 200 in severe exposure"
    )
    turn_in: Annotated[Length, Means("turn in")] | None = Field(
        default=None, description="depth turned into the bed joint, mm; 25"
    )
    corners: Literal["bossed", "welded"] = Field(default="bossed", description="how the corners are made")


class ApronTable(ApronSizes, DetailTable):
    """A front apron with its side returns."""

    kind: Literal["apron"] = Field(description="apron")
    width: Annotated[Length, Means("run")] = Field(description="along the face, arris to arris, mm")
    pitch: Pitch | None = Field(
        default=None, description="pitch of the roof, degrees or rise to run, instead of the job's"
    )


class CoverSizes(PartTable):
    """Sizes of a cover flashing."""

    lap: Annotated[Length, Means("lap")] | None = Field(
        default=None, description="lap between lengths, mm, instead of the rule's"
    )
    cover: Annotated[Length, Means("cover")] | None = Field(
        default=None, description="down over the upstand, mm; 75, the least of the rule"
    )
    turn_in: Annotated[Length, Means("turn in")] | None = Field(
        default=None, description="depth turned into the chase, mm; 25"
    )


class CoverFlashingTable(CoverSizes, DetailTable):
    """A cover flashing: turned into a chase, hanging over an upstand."""

    kind: Literal["cover flashing"] = Field(description="cover flashing")
    length: Annotated[Length, Means("run")] = Field(description="along the chase, mm")
    slope: Rake = Field(default=0.0, description="rake of the chase, degrees or rise to run; level if left out")
    hands: HandWord | None = Field(
        default=None, description="which way a raking chase rises facing the wall: left, right or pair"
    )
    returns: Annotated[LengthOrNought, Means("return")] = Field(
        default=0.0, description="round the arris at each end of a level chase, mm; none if left out"
    )


class FilletTable(Sized):
    """The tilting fillet above a back gutter: a triangle in section, its thick side towards the gutter."""

    foot: Annotated[Length, Means("fillet foot")] | None = Field(
        default=None, description="up the roof from the sole to the fillet, mm; 150"
    )
    width: Annotated[Length, Means("fillet width")] | None = Field(
        default=None, description="its base along the roof, mm; 75"
    )
    height: Annotated[Length, Means("fillet height")] | None = Field(
        default=None, description="its thick side, square to the roof, mm; 25"
    )
    face: FilletFace | None = Field(
        default=None, description="angle of its thick side against the roof, degrees; 45, 90 is square"
    )


class BackGutterSizes(PartTable):
    """Sizes of a back gutter."""

    side: Annotated[LengthOrNought, Means("past the arris")] | None = Field(
        default=None, description="past each arris, mm; 150"
    )
    upstand: Annotated[Length, Means("upstand")] | None = Field(default=None, description="up the back face, mm; 100")
    sole: Annotated[Length, Means("sole")] | None = Field(
        default=None, description="level, from the stack to the roof, mm; 150"
    )
    up_roof: Annotated[Length, Means("up the roof")] | None = Field(
        default=None, description="up the roof along the lead, over the fillet, mm; 225"
    )
    fillet: Annotated[
        Annotated[FilletTable, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(_by_kind)
    ] = Field(default=True, description="the tilting fillet in mm, or false for none")
    corners: Literal["bossed", "welded"] = Field(default="bossed", description="how the corners are made")


class BackGutterTable(BackGutterSizes, DetailTable):
    """A back gutter behind a stack, with the part up the roof over a tilting fillet."""

    kind: Literal["back gutter"] = Field(description="back gutter")
    width: Annotated[Length, Means("chimney width")] = Field(description="along the back face, arris to arris, mm")
    pitch: Pitch | None = Field(
        default=None, description="pitch of the roof, degrees or rise to run, instead of the job's"
    )


class RidgeSaddleTable(DetailTable):
    """A saddle where a ridge runs into a wall."""

    kind: Literal["ridge saddle"] = Field(description="ridge saddle")
    pitch: Pitch | None = Field(
        default=None, description="pitch of the roof, degrees or rise to run, instead of the job's"
    )
    width: Annotated[Length, Means("sheet")] | None = Field(default=None, description="across the ridge, mm; 450")
    length: Annotated[Length, Means("sheet")] | None = Field(
        default=None, description="along the ridge and up the wall, mm; 450"
    )
    upstand: Annotated[Length, Means("upstand")] | None = Field(
        default=None, description="of the length, up the wall, mm; 150"
    )
    corners: Literal["bossed", "welded"] = Field(default="bossed", description="how the corner is made")


class TopAbutmentTable(DetailTable):
    """A flashing along a level wall over the top edge of a lean-to roof."""

    kind: Literal["top abutment"] = Field(description="top abutment")
    lap: Annotated[Length, Means("lap")] | None = Field(
        default=None, description="lap between lengths, mm, instead of the rule's"
    )
    length: Annotated[Length, Means("run")] = Field(description="along the wall, mm")
    pitch: Pitch | None = Field(
        default=None, description="pitch of the roof, degrees or rise to run, instead of the job's"
    )
    upstand: Annotated[Length, Means("upstand")] | None = Field(
        default=None, description="up the wall, mm; 75, the least of the rule"
    )
    cover: Annotated[Length, Means("cover")] | None = Field(
        default=None, description="down the roof, mm; 150, or 200 in severe exposure"
    )
    turn_in: Annotated[Length, Means("turn in")] | None = Field(
        default=None, description="depth turned into the bed joint, mm; 25"
    )
    stop_ends: Literal["none", "left", "right", "both"] = Field(
        default="none", description="ends that are turned up against a wall across them, facing the wall"
    )
    stop_height: Annotated[Length, Means("upstand")] | None = Field(
        default=None, description="height of a stop end, square to the roof, mm; 75"
    )
    corners: Literal["bossed", "welded"] = Field(default="bossed", description="how stop ends are made")


class ValleyGutterTable(DetailTable):
    """A valley gutter between two roofs whose eaves meet square in plan, in lapped lengths."""

    kind: Literal["valley gutter"] = Field(description="valley gutter")
    lap: Annotated[Length, Means("lap")] | None = Field(
        default=None, description="lap between lengths, mm, instead of the rule's"
    )
    length: Annotated[Length, Means("run")] = Field(description="along the valley, mm")
    pitch: Pitch | None = Field(
        default=None, description="pitch of the roof, degrees or rise to run, instead of the job's"
    )
    other_pitch: Pitch | None = Field(
        default=None, description="pitch of the other roof, degrees or rise to run; the same if left out"
    )
    width: Annotated[Length, Means("sheet")] | None = Field(
        default=None, description="whole sheet, half on each roof, mm; 450"
    )
    fillet: Annotated[
        Annotated[FilletTable, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(_by_kind)
    ] = Field(default=True, description="the tilting fillets, foot counted from the middle, in mm, or false for none")


class AbutmentGutterTable(DetailTable):
    """A gutter up the slope beside a wall, under the covering, in lapped lengths."""

    kind: Literal["abutment gutter"] = Field(description="abutment gutter")
    hands: HandWord = Field(default="pair", description="which way the roof rises facing the wall: left, right or pair")
    lap: Annotated[Length, Means("lap")] | None = Field(
        default=None, description="lap between lengths, mm, instead of the rule's"
    )
    length: Annotated[Length, Means("run")] = Field(description="along the slope, mm")
    pitch: Pitch | None = Field(
        default=None, description="pitch of the roof, degrees or rise to run, instead of the job's"
    )
    upstand: Annotated[Length, Means("upstand")] | None = Field(default=None, description="up the wall, mm; 100")
    sole: Annotated[Length, Means("sole")] | None = Field(
        default=None, description="on the roof, from the wall to the turned-up edge, mm; 100"
    )
    edge: Annotated[Length, Means("edge")] | None = Field(default=None, description="outer edge turned up, mm; 40")


class PipeSlateTable(DetailTable):
    """A slate of lead with a sleeve for a plumb pipe through the roof."""

    kind: Literal["pipe slate"] = Field(description="pipe slate")
    pipe: Annotated[Length, Means("pipe")] = Field(description="diameter of the pipe, outside, mm")
    pitch: Pitch | None = Field(
        default=None, description="pitch of the roof, degrees or rise to run, instead of the job's"
    )
    clearance: Annotated[Length, Means("pipe clearance")] | None = Field(
        default=None, description="between pipe and sleeve, mm; 3"
    )
    sleeve: Annotated[Length, Means("sleeve")] | None = Field(
        default=None, description="height above the roof on the upper side, mm; 150"
    )
    seam: Annotated[Length, Means("seam")] | None = Field(default=None, description="lap of the sleeve's seam, mm; 25")
    side: Annotated[Length, Means("pipe base")] | None = Field(
        default=None, description="base beside the hole, mm; 150"
    )
    below: Annotated[Length, Means("pipe base")] | None = Field(
        default=None, description="base below the hole, mm; 150"
    )
    above: Annotated[Length, Means("pipe base")] | None = Field(
        default=None, description="base above the hole, mm; 200"
    )


class StepFlashingPart(StepSizes):
    """The step flashings up both sides of a chimney."""

    clearance: Annotated[LengthOrNought, Means("clearance")] | None = Field(
        default=None, description="from the top of the soakers to the water line, mm; 5"
    )
    soakers: Annotated[
        Annotated[SoakerTable, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(_by_kind)
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
    pitch: Pitch | None = Field(
        default=None, description="pitch of the roof, degrees or rise to run, instead of the job's"
    )
    coursing: CoursingOrName = Field(
        default=None, description="name of a coursing of this job, or the joints themselves in mm, for all faces"
    )
    corners: Literal["bossed", "welded"] = Field(
        default="bossed", description="how the corners of apron and back gutter are made"
    )
    step_flashing: Annotated[
        Annotated[StepFlashingPart, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(_by_kind)
    ] = Field(default=True, description="the sides over soakers, their sizes in mm, or false for none")
    step_and_cover: Annotated[
        Annotated[StepAndCoverPart, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(_by_kind)
    ] = Field(default=False, description="the sides with a cover instead of soakers, true or their sizes in mm")
    apron: Annotated[
        Annotated[ApronSizes, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(_by_kind)
    ] = Field(default=True, description="the apron's sizes in mm, or false for none")
    back_gutter: Annotated[
        Annotated[BackGutterSizes, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(_by_kind)
    ] = Field(default=True, description="the back gutter's sizes in mm, or false for none")
    cover_flashing: Annotated[
        Annotated[CoverPart, Tag("(table)")] | Annotated[bool, Tag("(value)")], Discriminator(_by_kind)
    ] = Field(default=True, description="the sizes of the cover flashing over the gutter in mm, or false for none")


class FoldTable(Sized):
    """A fold line of a plain outline."""

    from_: Point = Field(alias="from", description="one end, x and y in mm")
    to: Point = Field(description="the other end, x and y in mm")
    angle: FoldAngle = Field(
        default=90.0,
        description="degrees out of the flat; above 0 towards a person who sees the weather face, below 0 away",
    )


class LayersTable(Strict):
    """Layers of the drawing."""

    outline: Words = Field(default="OUTER", description="layer of the closed outline")
    cut: Words = Field(default="INNER", description="layer of holes and open cuts")
    fold: Words = Field(default="FOLD", description="layer of fold lines")


class OutlineTable(DetailTable):
    """A plain shape: points in the file, or a drawing beside it."""

    kind: Literal["outline"] = Field(description="outline")
    points: list[Point] | None = Field(
        default=None, min_length=3, max_length=5000, description="corners of the outline, x and y in mm"
    )
    holes: list[Annotated[list[Point], Field(min_length=3, max_length=5000)]] = Field(
        default=[], description="corners of each hole, x and y in mm"
    )
    cuts: list[Annotated[list[Point], Field(min_length=2, max_length=5000)]] = Field(
        default=[], description="points of each open cut, x and y in mm"
    )
    folds: list[FoldTable] = Field(default=[], description="fold lines, ends in mm and angle in degrees")
    may_flip: bool = Field(default=False, description="true when it may be cut face down")
    dxf: Annotated[Words, Means("shape")] | None = Field(
        default=None, description="a DXF drawing beside the job file, instead of points"
    )
    layers: LayersTable = Field(default=LayersTable(), description="layers of the drawing")
    unit: Literal["mm", "cm", "m", "in", "ft"] | None = Field(
        default=None, description="unit of the drawing, when the drawing does not say"
    )
    fold_angle: FoldAngle = Field(
        default=90.0, description="angle of the folds of the drawing, degrees out of the flat"
    )


PlainDetail = (
    StepFlashingTable
    | StepAndCoverTable
    | SoakersTable
    | ApronTable
    | CoverFlashingTable
    | BackGutterTable
    | RidgeSaddleTable
    | TopAbutmentTable
    | ValleyGutterTable
    | AbutmentGutterTable
    | PipeSlateTable
    | OutlineTable
)
AnyDetail = Annotated[PlainDetail | ChimneyTable, Field(discriminator="kind")]


class JobFile(Sized):
    """One job: what was measured, and what is to be cut."""

    name: Words = Field(description="your own name for the job")
    mark: Mark | None = Field(default=None, description="short mark on every piece, 1 to 3 capitals and digits")
    notes: str = Field(default="", max_length=5000, description="site notes")
    exposure: Literal["sheltered", "moderate", "severe"] = Field(
        default="moderate", description="exposure to wind and rain"
    )
    pitch: Pitch | None = Field(default=None, description="pitch of the roof, degrees or rise to run")
    covering: CoveringOrName | None = Field(
        default=None, description="name of a listed covering, or its length with headlap or gauge in mm"
    )
    lead: LeadTable = Field(default=LeadTable(), description="lead code by use")
    longest: Annotated[Length, Means("longest")] | None = Field(
        default=None, description="your own limit for one length, mm, under the rule's"
    )
    coursing: dict[str, CoursingTable] = Field(default={}, description="bed joints by the name of the wall, mm")
    detail: list[AnyDetail] = Field(
        min_length=1, max_length=500, description="what is to be made, one [[detail]] table to each; lengths in mm"
    )


def job_schema() -> dict[str, Any]:
    """Give the JSON Schema of a job file, so that editors complete and check it.

    Returns
    -------
    dict
        JSON Schema, draft 2020-12; every key says what it is and its unit.
    """
    schema = JobFile.model_json_schema(by_alias=True)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "cutpath job", **schema}
