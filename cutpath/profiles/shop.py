"""A shop's own figures and ranges, which stand in for those of the profiles."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Annotated

from pydantic import Field, ValidationInfo, field_validator

from cutpath.errors import Finding, Refused
from cutpath.intake.checking import Strict
from cutpath.intake.files import read_text
from cutpath.intake.parsing import parse_toml
from cutpath.intake.places import did_you_mean
from cutpath.profiles import Practice, Sizes, plausible, practice, rules
from cutpath.profiles.reading import Name, Span, checked
from cutpath.units import angle_deg, length_mm
from cutpath.values.fact import Confidence, Fact, Plausible, Sense


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


class _OwnRange(Strict):
    name: Name
    usual: Annotated[Span, Field(description="what it nearly always is, from least to most, as [8, 300]")]
    possible: Annotated[Span, Field(description="what it can be at all, from least to most, as [6, 800]")]
    source: Annotated[str, Field(min_length=3, description="why the shop goes by it, in its own words")]

    @field_validator("usual", "possible", mode="before")
    @classmethod
    def _in_its_unit(cls, value: object, info: ValidationInfo) -> object:
        size = plausible().get(info.data.get("name", ""))
        return value if size is None or not isinstance(value, list) else [_in_unit(item, size.unit) for item in value]


class _OwnFile(Strict):
    fact: Annotated[list[_OwnRow], Field(default=[])]
    range: Annotated[list[_OwnRange], Field(default=[])]


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
    whole = checked(_OwnFile, parse_toml(text, str(file)), str(file), "CP204")
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
