"""The data that the tool rests on, from ``profiles/`` to frozen values, each figure with its source.

The folder is read through ``importlib.resources``: an installed package carries it as ``profiles_data``, a
source tree has it beside the package.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Annotated

from pydantic import AfterValidator, Field

from cutpath.ceilings import LARGEST_MM as LARGEST_MM
from cutpath.errors import CODES, Severity
from cutpath.errors import Finding as Finding
from cutpath.errors import Refused as Refused
from cutpath.intake.checking import Strict
from cutpath.intake.checking import check as check
from cutpath.intake.files import NO_SUCH_FILE as NO_SUCH_FILE
from cutpath.intake.files import read_text as read_text
from cutpath.intake.parsing import parse_json as parse_json
from cutpath.intake.parsing import parse_toml as parse_toml
from cutpath.intake.places import did_you_mean as did_you_mean
from cutpath.plain import in_words as in_words
from cutpath.profiles.reading import Grade, Name, Size, Span, profile_files
from cutpath.units import angle_deg as angle_deg
from cutpath.units import length_mm as length_mm
from cutpath.values.fact import Confidence, Fact, Plausible, Rule, Sense
from cutpath.values.nest import Roll as Roll
from cutpath.values.stock import length_words as length_words
from cutpath.values.survey import Lead

Practice = Mapping[str, Fact]
"""Limits and laps by name, such as ``practice["turn_in"]``."""

Sizes = Mapping[str, Plausible]
"""What sizes usually are and can be, by name, such as ``sizes["run"]``."""


@dataclass(frozen=True, slots=True)
class CoveringData:
    """A covering as tabled: lengths in mm (0 in single lap), least pitch in degrees (None: not known).

    ``flatter`` names the figure of the practice by which its surface lies flatter than the rafters,
    ``least_headlap`` and ``least_headlap_severe`` those of its least headlap, empty where none is known;
    ``by_pitch`` and ``by_pitch_severe`` have pairs of a pitch in degrees and the least headlap in mm from there on,
    flattest first, or none.
    """

    name: str
    length_mm: float
    headlap_mm: float
    headlap_severe_mm: float
    least_pitch_deg: float | None
    flatter: str
    least_headlap: str
    least_headlap_severe: str
    by_pitch: tuple[tuple[float, float], ...]
    by_pitch_severe: tuple[tuple[float, float], ...]
    single_lap: bool
    source: str
    confidence: Confidence


@dataclass(frozen=True, slots=True)
class Masonry:
    """Brickwork by its course, brick and bed joint together, from least to most in mm."""

    name: str
    course_least_mm: float
    course_most_mm: float
    source: str
    confidence: Confidence


class _SheetRow(Strict):
    code: Annotated[int, Field(ge=1, le=99)]
    thickness_mm: Size
    mass_kg_m2: Size
    colour: Name


class _FactRow(Strict):
    name: Name
    value: Annotated[float, Field(allow_inf_nan=False)]
    unit: Name
    source: Annotated[str, Field(min_length=1)]
    confidence: Grade


class _LeadFile(Strict):
    source: str
    confidence: Grade
    sheet: list[_SheetRow]
    fact: list[_FactRow]


def _known_code(code: str) -> str:
    if code not in CODES:
        raise ValueError(f"no such finding code: {code}")
    return code


_Code = Annotated[str, AfterValidator(_known_code)]
_Weight = Annotated[Severity, Field(strict=False)]


class _RuleRow(_FactRow):
    sense: Annotated[Sense, Field(strict=False)] = Sense.SIZE
    code: _Code | None = None
    severity: _Weight | None = None
    found: str = ""
    accepted: str = ""
    remedy: str = ""


class _SentenceRow(Strict):
    name: Name
    of: tuple[Name, ...] = Field(default=(), strict=False)
    code: _Code
    severity: _Weight | None = None
    found: Annotated[str, Field(min_length=1)]
    accepted: str
    remedy: str


class _PracticeFile(Strict):
    fact: Annotated[list[_RuleRow], Field(default=[])]
    sentence: Annotated[list[_SentenceRow], Field(default=[])]


class _RangeRow(Strict):
    name: Name
    of: Name
    unit: Name
    usual: Span
    possible: Span
    confirmable: bool
    source: Annotated[str, Field(min_length=1)]
    confidence: Grade


class _RangeFile(Strict):
    range: list[_RangeRow]


class _CoveringRow(Strict):
    name: Name
    length_mm: Size | None = None
    headlap_mm: Size | None = None
    headlap_severe_mm: Size | None = None
    least_pitch_deg: Size | None = None
    flatter: Name
    least_headlap: Name | None = None
    least_headlap_severe: Name | None = None
    by_pitch: bool = False
    source: str
    confidence: Grade


class _ByPitch(Strict):
    pitch_deg: list[Size]
    least_headlap_mm: list[Size]
    least_headlap_severe_mm: list[Size]
    source: str
    confidence: Grade


class _CoveringFile(Strict):
    covering: list[_CoveringRow]
    slates_by_pitch: _ByPitch | None = None


class _MasonryRow(Strict):
    name: Name
    course_least_mm: Size
    course_most_mm: Size
    source: str
    confidence: Grade


class _MasonryFile(Strict):
    masonry: list[_MasonryRow]


@cache
def lead_table() -> Mapping[int, Lead]:
    """Return every code of milled lead sheet: thickness in mm, mass in kg/m2, colour.

    Raises
    ------
    Refused
        When the profile cannot be used.

    Notes
    -----
    Source: BS EN 12588 as other texts restate it, second-hand; see ``profiles/lead``.
    """
    rows = [row for file in profile_files("lead", _LeadFile) for row in file.sheet]
    return MappingProxyType({row.code: Lead(row.code, row.thickness_mm, row.mass_kg_m2, row.colour) for row in rows})


@cache
def lead_facts() -> Mapping[str, Fact]:
    """Return what is known of lead beside its table, such as ``density`` in g/cm3, by name.

    Raises
    ------
    Refused
        When the profile cannot be used.
    """
    return _facts(row for file in profile_files("lead", _LeadFile) for row in file.fact)


@cache
def practice() -> Practice:
    """Return the limits and laps of leadwork by name, each with unit, source and confidence.

    Raises
    ------
    Refused
        When the profile cannot be used.
    """
    return _facts(row for file in profile_files("practice", _PracticeFile, ("fact", "sentence")) for row in file.fact)


@cache
def rules() -> Mapping[str, Rule]:
    """Return the rule of every figure of the practice by its name, and every sentence that goes beside them by its own.

    Raises
    ------
    Refused
        When the profile cannot be used.
    """
    files = profile_files("practice", _PracticeFile, ("fact", "sentence"))
    sentences = [row for file in files for row in file.sentence]
    out = {row.name: _rule(row, [row.code], Sense.TOLD) for row in sentences}
    for row in (row for file in files for row in file.fact):
        out[row.name] = _rule(row, [row.code, *(s.code for s in sentences if row.name in s.of)], row.sense)
    return MappingProxyType(out)


def _rule(row: _RuleRow | _SentenceRow, codes: list[str | None], sense: Sense) -> Rule:
    known = tuple(dict.fromkeys(code for code in codes if code is not None))
    return Rule(row.name, sense, known, row.severity, row.found, row.accepted, row.remedy)


@cache
def plausible() -> Sizes:
    """Return what each size usually is and can be, by name, with unit, source and confidence.

    Raises
    ------
    Refused
        When the profile cannot be used.
    """
    rows = [row for file in profile_files("plausible", _RangeFile, ("range",)) for row in file.range]
    return MappingProxyType(
        {
            row.name: Plausible(
                row.name,
                row.of,
                row.unit,
                (row.usual[0], row.usual[1]),
                (row.possible[0], row.possible[1]),
                row.confirmable,
                row.source,
                row.confidence,
            )
            for row in rows
        }
    )


@cache
def coverings() -> Mapping[str, CoveringData]:
    """Return the tabled coverings by name; lengths in mm. Those without a length are laid in single lap.

    Raises
    ------
    Refused
        When the profile cannot be used.
    """
    read = profile_files("coverings", _CoveringFile)
    rows = [row for file in read for row in file.covering]
    tables = [file.slates_by_pitch for file in read if file.slates_by_pitch]
    laps = [pair for t in tables for pair in zip(t.pitch_deg, t.least_headlap_mm, strict=True)]
    severe = [pair for t in tables for pair in zip(t.pitch_deg, t.least_headlap_severe_mm, strict=True)]
    return MappingProxyType(
        {
            row.name: CoveringData(
                row.name,
                row.length_mm or 0.0,
                row.headlap_mm or 0.0,
                row.headlap_severe_mm or row.headlap_mm or 0.0,
                row.least_pitch_deg,
                row.flatter,
                row.least_headlap or "",
                row.least_headlap_severe or row.least_headlap or "",
                tuple(sorted(laps)) if row.by_pitch else (),
                tuple(sorted(severe)) if row.by_pitch else (),
                row.length_mm is None,
                row.source,
                row.confidence,
            )
            for row in rows
        }
    )


@cache
def masonry() -> Mapping[str, Masonry]:
    """Return the courses of brickwork by name; lengths in mm.

    Raises
    ------
    Refused
        When the profile cannot be used.
    """
    rows = [row for file in profile_files("masonry", _MasonryFile) for row in file.masonry]
    return MappingProxyType(
        {
            row.name: Masonry(row.name, row.course_least_mm, row.course_most_mm, row.source, row.confidence)
            for row in rows
        }
    )


def _facts(rows: Iterator[_FactRow]) -> Mapping[str, Fact]:
    return MappingProxyType({row.name: Fact(row.name, row.value, row.unit, row.source, row.confidence) for row in rows})
