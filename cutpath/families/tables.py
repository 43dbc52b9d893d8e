"""What the tables of a job file share: kinds of figures, coursing, coverings, and what every detail has.

Lengths are numbers of millimetres or text with a unit; pitches are degrees or rise to run. A key that may hold
a name or a table is told apart by what is written there.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import AfterValidator, BeforeValidator, Discriminator, Field, Tag, WithJsonSchema

from cutpath.intake.checking import THAT_PRINT, Strict
from cutpath.units import (
    ANGLE_WORDS,
    LENGTH_WORDS,
    PITCH_WORDS,
    NotUnderstoodError,
    angle_deg,
    deg_text,
    length_mm,
    meant_as_ratio,
    mm_text,
    pitch_deg,
    unlike,
    written,
)

_BEYOND_MM = 1e9
"""A thousand kilometres: a figure beyond is no slip that could be guessed."""


@dataclass(frozen=True, slots=True)
class Means:
    """What a number stands for: the name of its range in ``profiles/plausible``."""

    size: str


@dataclass(frozen=True, slots=True)
class Counts:
    """A number that names something and is no size: ``held`` says against what it is checked."""

    held: str


def _within(
    low: float,
    high: float,
    say: Callable[[float], str],
    *,
    open_low: bool,
    meant: Callable[[float], list[str]] = lambda _: [],
) -> AfterValidator:
    """Refuse a figure outside ``low`` to ``high``; ``open_low`` shuts ``low`` itself out, ``meant`` guesses."""
    least = f"more than {say(low)}" if open_low else say(low)
    most = f" and at most {say(high)}" if open_low else f" to {say(high)}"
    accepted = (least if open_low else f"at least {least}") if high == _BEYOND_MM else f"{least}{most}"

    def check(value: float) -> float:
        if value > high or value < low or (open_low and value == low):
            remedy = "".join(f"Did you mean {guess}? " for guess in meant(value)) + "Check the figure and its unit."
            taken = f"at most {say(high)}" if value > high == _BEYOND_MM else accepted
            raise NotUnderstoodError(unlike(say(value), value, say, low, high), taken, remedy)
        return value

    return AfterValidator(check)


def _json(words: str, *types: str) -> WithJsonSchema:
    return WithJsonSchema({"anyOf": [{"type": name} for name in types], "description": words})


_LENGTH_JSON = _json(LENGTH_WORDS, "number", "string")
Length = Annotated[float, _within(0, _BEYOND_MM, mm_text, open_low=True), BeforeValidator(length_mm), _LENGTH_JSON]
LengthOrNought = Annotated[
    float, _within(0, _BEYOND_MM, mm_text, open_low=False), BeforeValidator(length_mm), _LENGTH_JSON
]
Coordinate = Annotated[
    float,
    _within(-_BEYOND_MM, _BEYOND_MM, mm_text, open_low=False),
    BeforeValidator(length_mm),
    _LENGTH_JSON,
    Means("coordinate"),
]
Height = Annotated[
    float, _within(-_BEYOND_MM, _BEYOND_MM, mm_text, open_low=False), BeforeValidator(length_mm), _LENGTH_JSON
]
Course = Annotated[
    float, _within(0, 2000, mm_text, open_low=True), BeforeValidator(length_mm), _LENGTH_JSON, Means("course")
]
Pitch = Annotated[
    float,
    _within(1, 85, deg_text, open_low=False, meant=meant_as_ratio),
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
        found = unlike(deg_text(value), value, deg_text, -180.0, 180.0, 0.0)
        raise NotUnderstoodError(found, "more than 0 and less than 180 deg either way", "Check the angle.")
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
Words = Annotated[str, Field(min_length=1, max_length=80), THAT_PRINT]
Code = Annotated[int, Field(ge=1, le=99), Counts("codes of the lead table")]
Quantity = Annotated[int, Field(ge=1, le=1000), Means("quantity")]
Count = Annotated[int, Field(ge=1, le=2000), Means("count")]
JointNumber = Annotated[int, Field(ge=1, le=2000), Counts("joints of the coursing")]
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


SIDES_WORDS = 'two sides, such as "325 x 175" in mm, or "23 5/8 in x 7 in"'


def _sides(value: object) -> object:
    """Read the sides of a rectangle: text with x between them, bare numbers in mm, or a list of two.

    Raises
    ------
    NotUnderstoodError
        When it is anything else.
    """
    if isinstance(value, list) and len(value) == 2:
        return tuple(map(length_mm, value))
    parts = _BY.split(value.strip()) if isinstance(value, str) else []
    if len(parts) != 2:
        raise NotUnderstoodError(written(value), SIDES_WORDS, "Write both sides with an x between them.")
    sides = tuple(float(part) if _BARE.fullmatch(part) else length_mm(part) for part in parts)
    bare = [part for part in parts if _BARE.fullmatch(part)]
    if len(bare) == 1 and not any(part.endswith("mm") for part in parts):
        raise NotUnderstoodError(
            f"{written(value)} with one unit", SIDES_WORDS, f'Write the unit of {bare[0]} too, such as "{bare[0]} mm".'
        )
    return sides


_BY = re.compile(r"\s*(?:[x×*]|\bby\b)\s*", re.IGNORECASE)
_BARE = re.compile(r"\d+(?:\.\d+)?")
_Side = Annotated[float, _within(0, _BEYOND_MM, mm_text, open_low=True), Means("coordinate")]
Sides = Annotated[tuple[_Side, _Side], BeforeValidator(_sides), _json(SIDES_WORDS, "string", "array")]


def by_kind(value: object) -> str:
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
    Annotated[CoveringTable, Tag("(table)")] | Annotated[Words, Tag("(value)")], Discriminator(by_kind)
]


CoursingOrName = (
    Annotated[Annotated[CoursingTable, Tag("(table)")] | Annotated[Words, Tag("(value)")], Discriminator(by_kind)]
    | None
)


OwnPitch = Annotated[Pitch | None, Field(description="pitch of the roof, degrees or rise to run, instead of the job's")]
"""Left out, it is the job's."""

OwnCovering = Annotated[CoveringOrName | None, Field(description="what it lies on, instead of the job's covering")]
"""Left out, it is the job's."""

OwnLap = Annotated[
    Annotated[Length, Means("lap")] | None, Field(description="lap between lengths, mm, instead of the rule's")
]
"""Left out, it is the rule's."""


class PartTable(Sized):
    """What every detail may have, and every part of a chimney."""

    label: Label | None = Field(default=None, description="short name on the pieces, 1 to 4 capitals and digits")
    code: Code | None = Field(default=None, description="lead code, instead of the job's")
    longest: Annotated[Length, Means("longest")] | None = Field(
        default=None, description="your own limit for one length, mm, under the rule's"
    )


class DetailTable(PartTable):
    """What every detail may have."""

    quantity: Quantity = Field(default=1, description="how many alike, of each hand where it has one; a whole number")


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
