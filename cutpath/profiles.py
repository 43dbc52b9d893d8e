"""The data that the tool rests on, from ``profiles/`` to frozen values, each figure with its source.

The folder is read through ``importlib.resources``: an installed package carries it as ``profiles_data``, a
source tree has it beside the package.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import as_file, files
from importlib.resources.abc import Traversable
from pathlib import Path
from types import MappingProxyType
from typing import Annotated, Literal, TypeVar

from pydantic import (
    AfterValidator,
    AliasChoices,
    BeforeValidator,
    Field,
    ValidationInfo,
    field_validator,
    model_validator,
)

from cutpath.ceilings import LARGEST_MM
from cutpath.errors import CODES, Finding, Refused, Severity
from cutpath.intake import NO_SUCH_FILE, ONE_LINE, Strict, check, did_you_mean, parse_json, parse_toml, read_text
from cutpath.plain import in_words
from cutpath.units import angle_deg, length_mm, written
from cutpath.values.fact import Confidence, Fact, Plausible, Rule, Sense
from cutpath.values.nest import Roll
from cutpath.values.stock import length_words
from cutpath.values.survey import Lead

Practice = Mapping[str, Fact]
"""Limits and laps by name, such as ``practice["turn_in"]``."""

Sizes = Mapping[str, Plausible]
"""What sizes usually are and can be, by name, such as ``sizes["run"]``."""

DEFAULT_ROLLS = "ladder-30"
"""The list of rolls that is used when none is named."""


@dataclass(frozen=True, slots=True)
class CoveringData:
    """A covering as tabled: lengths in mm (0 in single lap), least pitch in degrees (None: not known).

    ``flatter`` names the figure of the practice by which its surface lies flatter than the rafters,
    ``least_headlap`` and ``least_headlap_severe`` those of its least headlap, empty where none is known.
    """

    name: str
    length_mm: float
    headlap_mm: float
    headlap_severe_mm: float
    least_pitch_deg: float | None
    flatter: str
    least_headlap: str
    least_headlap_severe: str
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


M = TypeVar("M", bound=Strict)
Name = Annotated[str, Field(min_length=1, max_length=80)]
Size = Annotated[float, Field(gt=0, le=LARGEST_MM, allow_inf_nan=False)]
_Length = Annotated[Size, BeforeValidator(length_mm)]
Grade = Annotated[Confidence, Field(strict=False)]


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


class _OwnRow(Strict):
    name: Name
    value: Annotated[float, Field(ge=0, le=100_000, allow_inf_nan=False)]
    unit: Name | None = None
    source: Annotated[str, Field(min_length=3, description="why the shop goes by it, in its own words")]

    @field_validator("value", mode="before")
    @classmethod
    def _in_its_unit(cls, value: object, info: ValidationInfo) -> object:
        rule = practice().get(info.data.get("name", ""))
        return value if rule is None else _in_unit(value, rule.unit)


_Span = Annotated[list[Annotated[float, Field(allow_inf_nan=False)]], Field(min_length=2, max_length=2)]


class _OwnRange(Strict):
    name: Name
    usual: _Span
    possible: _Span
    source: Annotated[str, Field(min_length=3, description="why the shop goes by it, in its own words")]

    @field_validator("usual", "possible", mode="before")
    @classmethod
    def _in_its_unit(cls, value: object, info: ValidationInfo) -> object:
        size = plausible().get(info.data.get("name", ""))
        return value if size is None or not isinstance(value, list) else [_in_unit(item, size.unit) for item in value]


class _OwnFile(Strict):
    fact: Annotated[list[_OwnRow], Field(default=[])]
    range: Annotated[list[_OwnRange], Field(default=[])]


class _RangeRow(Strict):
    name: Name
    of: Name
    unit: Name
    usual: _Span
    possible: _Span
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
    source: str
    confidence: Grade


class _CoveringFile(Strict):
    covering: list[_CoveringRow]


class _MasonryRow(Strict):
    name: Name
    course_least_mm: Size
    course_most_mm: Size
    source: str
    confidence: Grade


class _MasonryFile(Strict):
    masonry: list[_MasonryRow]


_ABOUT = "about "


class _RollRow(Strict):
    width_mm: _Length = Field(validation_alias=AliasChoices("width_mm", "width"), description="width of the roll")
    length_mm: _Length = Field(validation_alias=AliasChoices("length_mm", "length"), description="length of the roll")
    quantity: Annotated[int, Field(ge=0, le=1_000_000)] | None = None
    material: Annotated[str, ONE_LINE] = ""
    code: Annotated[int, Field(ge=1, le=99)] | None = None
    offcut: bool = False
    name: Annotated[str, ONE_LINE] = ""
    price: Annotated[float, Field(ge=0, le=1e9, allow_inf_nan=False)] | None = None
    about: bool = False

    @model_validator(mode="before")
    @classmethod
    def _estimated(cls, row: object) -> object:
        """Read a length such as "about 4 m", which nobody measured, as the stock does."""
        if not isinstance(row, dict):
            return row
        keys = [key for key in ("length_mm", "length") if str(row.get(key)).startswith(_ABOUT)]
        row.update({key: row[key].removeprefix(_ABOUT) for key in keys}, **({"about": True} if keys else {}))
        return row  # the same table: what it may hold is noted by it


class _RollsFile(Strict):
    units: Literal["mm"] = "mm"
    source: str = ""
    confidence: str = ""
    rolls: Annotated[list[_RollRow], Field(min_length=1)]


def profile_root() -> Traversable:
    """Return the folder of profiles: inside an installed package, else beside the package."""
    inside = files("cutpath") / "profiles_data"
    if inside.is_dir():
        return inside
    with as_file(files("cutpath")) as package:
        return package.parent / "profiles"


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
    rows = [row for file in _profile_files("lead", _LeadFile) for row in file.sheet]
    return MappingProxyType({row.code: Lead(row.code, row.thickness_mm, row.mass_kg_m2, row.colour) for row in rows})


@cache
def lead_facts() -> Mapping[str, Fact]:
    """Return what is known of lead beside its table, such as ``density`` in g/cm3, by name.

    Raises
    ------
    Refused
        When the profile cannot be used.
    """
    return _facts(row for file in _profile_files("lead", _LeadFile) for row in file.fact)


@cache
def practice() -> Practice:
    """Return the limits and laps of leadwork by name, each with unit, source and confidence.

    Raises
    ------
    Refused
        When the profile cannot be used.
    """
    return _facts(row for file in _profile_files("practice", _PracticeFile, ("fact", "sentence")) for row in file.fact)


@cache
def rules() -> Mapping[str, Rule]:
    """Return the rule of every figure of the practice by its name, and every sentence that goes beside them by its own.

    Raises
    ------
    Refused
        When the profile cannot be used.
    """
    files = _profile_files("practice", _PracticeFile, ("fact", "sentence"))
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
    rows = [row for file in _profile_files("plausible", _RangeFile, ("range",)) for row in file.range]
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


def shop_figures(file: str | Path) -> tuple[Practice, Sizes]:
    """Return practice and plausible sizes with a shop's own in them, each with the shop's own words as source.

    Parameters
    ----------
    file : str or Path
        TOML in the form of ``profiles/practice`` and ``profiles/plausible``, with only what the shop sets itself.

    Returns
    -------
    practice, sizes
        In the order of `practice` and `plausible`.

    Raises
    ------
    Refused
        With every fault of the file (CP204).
    """
    text = read_text(file)
    if isinstance(text, Finding):
        raise Refused([replace(text, code="CP204")])
    whole = _checked(_OwnFile, parse_toml(text, str(file)), str(file), "CP204")
    if not whole.fact and not whole.range:
        raise Refused([_nothing_set(str(file))])
    known, own, faults = practice(), dict[str, Fact](), list[Finding]()
    for number, row in enumerate(whole.fact, start=1):
        fault = _bad_own(row, known.get(row.name), row.name in own, f"{file}: fact[{number}]", known)
        if fault is None:
            own[row.name] = replace(known[row.name], value=row.value, source=row.source, confidence=Confidence.SHOP)
        else:
            faults.append(fault)
    sizes = dict(plausible())
    for number, asked in enumerate(whole.range, start=1):
        at_fault = _bad_range(asked, sizes.get(asked.name), f"{file}: range[{number}]", sizes)
        faults += at_fault
        if not at_fault:
            sizes[asked.name] = replace(
                sizes[asked.name],
                usual=(asked.usual[0], asked.usual[1]),
                possible=(asked.possible[0], asked.possible[1]),
                source=asked.source,
                confidence=Confidence.SHOP,
            )
    if faults:
        raise Refused(faults)
    return MappingProxyType({name: own.get(name, fact) for name, fact in known.items()}), MappingProxyType(sizes)


def _nothing_set(file: str) -> Finding:
    return Finding(
        "CP204",
        f"{file}: fact",
        "neither fact nor range",
        "needed: at least one [[fact]] or [[range]] that the shop sets itself",
        "Add one, or leave --practice out.",
    )


def _in_unit(value: object, unit: str) -> object:
    """Return a length or an angle that is written as text with its unit in the unit of its rule, all else as it is."""
    read = {"mm": length_mm, "deg": angle_deg}.get(unit)
    return read(value) if read and isinstance(value, str) else value


def _bad_range(row: _OwnRange, known: Plausible | None, where: str, names: Sizes) -> list[Finding]:
    """Find what is wrong with one range of a shop's own."""
    if known is None:
        meant = did_you_mean(row.name, names)
        remedy = f"Did you mean {meant}?" if meant else f"Choose one of {', '.join(names)}."
        return [Finding("CP204", f"{where}.name", f'unknown size "{row.name}"', "accepted: a size by name", remedy)]
    if known.confidence is Confidence.SHOP:
        return [Finding("CP204", f"{where}.name", f"{row.name} once more", "accepted: each size once", "Take one out.")]
    if not row.possible[0] <= row.usual[0] <= row.usual[1] <= row.possible[1]:
        return [
            Finding(
                "CP204",
                f"{where}.usual",
                f"{row.usual[0]:g} to {row.usual[1]:g} usual, {row.possible[0]:g} to {row.possible[1]:g} possible",
                "accepted: from least to most, what is usual within what is possible",
                "Correct the figures.",
            )
        ]
    return []


def _bad_own(row: _OwnRow, rule: Fact | None, twice: bool, where: str, known: Practice) -> Finding | None:  # noqa: FBT001
    """Find what is wrong with one figure of a shop's own, None when nothing is."""
    if rule is None:
        meant = did_you_mean(row.name, known)
        remedy = f"Did you mean {meant}?" if meant else "`cutpath explain` lists every rule by its name."
        return Finding("CP204", f"{where}.name", f'unknown rule "{row.name}"', "accepted: the name of a rule", remedy)
    if twice:
        return Finding("CP204", f"{where}.name", f"{row.name} once more", "accepted: each rule once", "Take one out.")
    if row.unit not in (None, rule.unit):
        return Finding(
            "CP204",
            f"{where}.unit",
            f"{row.unit}",
            f"accepted: {rule.unit}",
            f"Give {row.name} in {rule.unit}, or leave the unit out.",
        )
    upright = rule.unit == "deg" and row.value >= _UPRIGHT_DEG
    if upright or (row.value == 0 and rule.value > 0):
        most = f" and under {_UPRIGHT_DEG:g}" if rule.unit == "deg" else ""
        return Finding(
            "CP204",
            f"{where}.value",
            f"{row.value:g} {rule.unit} for {row.name}",
            f"accepted: more than 0{most}",
            "Correct the value, or take the rule out to go by the published one.",
        )
    factor = _USUAL_FACTOR if rule.unit == "mm" and rules()[rule.name].sense is Sense.SIZE else _OWN_FACTOR
    known_as = "published" if rule.confidence is Confidence.READ else "usual"
    low, high = rule.value / factor, rule.value * factor
    if rule.value > 0 and not low <= row.value <= high:
        return Finding(
            "CP204",
            f"{where}.value",
            f"{row.value:g} {rule.unit} for {row.name}",
            f"possible: {low:g} to {high:g} {rule.unit}, where {rule.value:g} is {known_as}",
            "Check the unit and the digits.",
        )
    return None


_UPRIGHT_DEG = 90.0
_OWN_FACTOR = 100.0
"""A shop's figure this many times the published one, or as small a part of it, is a slip of the unit."""
_USUAL_FACTOR = 10.0
"""Likewise of a usual size, which goes into patterns as it stands: a roll of 1.8 m for one of 45 mm makes none."""


@cache
def coverings() -> Mapping[str, CoveringData]:
    """Return the tabled coverings by name; lengths in mm. Those without a length are laid in single lap.

    Raises
    ------
    Refused
        When the profile cannot be used.
    """
    rows = [row for file in _profile_files("coverings", _CoveringFile) for row in file.covering]
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
    rows = [row for file in _profile_files("masonry", _MasonryFile) for row in file.masonry]
    return MappingProxyType(
        {
            row.name: Masonry(row.name, row.course_least_mm, row.course_most_mm, row.source, row.confidence)
            for row in rows
        }
    )


def rolls_names() -> tuple[str, ...]:
    """Return the names of the lists of rolls that come with the tool, in order."""
    return tuple(sorted(file.name.removesuffix(".toml") for file in _toml_files("rolls")))


def rolls_list(name_or_file: str | Path | None = None) -> tuple[Roll, ...]:
    """Read a list of rolls: one that comes with the tool by its name, else a TOML or JSON file.

    Parameters
    ----------
    name_or_file : str or Path, optional
        One of `rolls_names`, or the path of a file; `DEFAULT_ROLLS` when left out.

    Returns
    -------
    tuple of Roll
        As listed; ``quantity`` None means as many as wanted.

    Raises
    ------
    Refused
        With every fault of the list.
    """
    name = DEFAULT_ROLLS if name_or_file is None else str(name_or_file)
    if name in rolls_names():
        return _own_rolls(name)
    text = read_text(name)
    if isinstance(text, str):
        return parse_rolls(text, name)
    raise Refused([unread(text, "CP202", "a readable list of rolls", rolls_names())])


def unread(text: Finding, code: str, accepted: str, names: Iterable[str]) -> Finding:
    """Return why a file cannot be read that might have been named by one of ``names`` too."""
    if not text.found.startswith(NO_SUCH_FILE):
        return replace(text, code=code, accepted=accepted)
    meant = did_you_mean(text.where, names)
    remedy = f"Did you mean {meant}?" if meant else f"Name a file, or one of {', '.join(names)}."
    return replace(text, code=code, accepted=accepted, remedy=remedy)


@cache
def _own_rolls(name: str) -> tuple[Roll, ...]:
    return parse_rolls((profile_root() / "rolls" / f"{name}.toml").read_text(encoding="utf-8"), name)


def parse_rolls(text: str, where: str) -> tuple[Roll, ...]:
    """Read a list of rolls from JSON (it begins with a brace) or TOML text; ``where`` names it in findings.

    Raises
    ------
    Refused
        With every fault of the list.
    """
    data = None if text.lstrip().startswith("{") else parse_toml(text, where)
    if data is None or (isinstance(data, Finding) and where.lower().endswith(".json")):
        data = parse_json(text, where, "CP202")
    checked = _checked(_RollsFile, data, where, "CP202")
    rolls: list[Roll] = []
    clashes: list[Finding] = []
    leads = {f"lead code {code}": f"code = {code}" for code in lead_table()}
    for number, row in enumerate(checked.rolls, start=1):
        if row.code and row.material:
            found, accepted, remedy = "code and material are both given", "one of the two", "Take one of the lines out."
            clashes.append(Finding("CP202", f"{where}: rolls[{number}].code", found, f"accepted: {accepted}", remedy))
        elif row.code and row.code not in lead_table():
            found, accepted = f"there is no lead code {row.code}", f"one of {in_words(lead_table())}"
            clashes.append(
                Finding("CP202", f"{where}: rolls[{number}].code", found, f"accepted: {accepted}", "Correct the code.")
            )
        material = f"lead code {row.code}" if row.code else row.material
        meant = did_you_mean(material, leads) if material not in ("", *leads) else None
        if meant and not row.code:
            found, remedy = f"no lead is called {written(material)}", f"Did you mean {leads[meant]}?"
            clashes.append(Finding("CP202", f"{where}: rolls[{number}].material", found, f"accepted: {meant}", remedy))
        guess = f"{length_words(row.length_mm, exact=False)}: measure it first" if row.about else ""
        name = "; ".join(part for part in (row.name, guess) if part)
        rolls.append(
            Roll(
                row.width_mm,
                row.length_mm,
                row.quantity,
                material,
                row.offcut,
                name,
                price=row.price,
                exact=not row.about,
            )
        )
    if clashes:
        raise Refused(clashes)
    return tuple(rolls)


def _facts(rows: Iterator[_FactRow]) -> Mapping[str, Fact]:
    return MappingProxyType({row.name: Fact(row.name, row.value, row.unit, row.source, row.confidence) for row in rows})


def _toml_files(folder: str) -> list[Traversable]:
    found = [file for file in (profile_root() / folder).iterdir() if file.name.endswith(".toml")]
    return sorted(found, key=lambda file: file.name)


def _profile_files(folder: str, model: type[M], brought: tuple[str, ...] = ()) -> list[M]:
    """Return the files of a folder of profiles, and after them those tables that families bring, by their names."""
    read = [(f"profiles/{folder}/{file.name}", file.read_text(encoding="utf-8")) for file in _toml_files(folder)]
    out = [_checked(model, parse_toml(text, where), where, "CP201") for where, text in read]
    for where, data in _of_families():
        own = {name: data[name] for name in brought if name in data}
        out += [_checked(model, own, where, "CP201")] if own else []
    return out


@cache
def _of_families() -> tuple[tuple[str, Mapping[str, object]], ...]:
    """Return what stands in the file of each kind of detail, in its family's folder."""
    folders = sorted((f for f in (files("cutpath") / "families").iterdir() if f.is_dir()), key=lambda f: f.name)
    found = [(f"families/{folder.name}/{f.name}", f) for folder in folders for f in folder.iterdir()]
    named = sorted((where, file) for where, file in found if where.endswith(".toml"))
    return tuple((where, tomllib.loads(file.read_text(encoding="utf-8"))) for where, file in named)


def _checked(model: type[M], data: dict[str, object] | Finding, where: str, code: str) -> M:
    if isinstance(data, Finding):
        raise Refused([replace(data, code=code)])
    value, findings = check(model, data, where, code=code)
    if value is None:
        raise Refused(finding for _, finding in findings)
    return value
