"""Lists of rolls: those that come with the tool, by name, and a shop's own files."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Annotated, Literal

from pydantic import AliasChoices, BeforeValidator, Field, model_validator

from cutpath.errors import Finding, Refused
from cutpath.intake.checking import ONE_LINE, Strict
from cutpath.intake.files import read_text
from cutpath.intake.parsing import parse_json, parse_toml
from cutpath.intake.places import did_you_mean
from cutpath.plain import in_words
from cutpath.profiles import lead_table
from cutpath.profiles.reading import Size, checked, profile_root, toml_files, unread
from cutpath.units import length_mm, written
from cutpath.values.nest import Roll
from cutpath.values.stock import ABOUT, length_words

DEFAULT_ROLLS = "ladder-30"
"""The list of rolls that is used when none is named."""
_Length = Annotated[Size, BeforeValidator(length_mm)]


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
    owned: bool = False

    @model_validator(mode="before")
    @classmethod
    def _estimated(cls, row: object) -> object:
        """Read a length such as "about 4 m", which nobody measured, as the stock does."""
        if not isinstance(row, dict):
            return row
        keys = [key for key in ("length_mm", "length") if str(row.get(key)).startswith(ABOUT)]
        row.update({key: row[key].removeprefix(ABOUT) for key in keys}, **({"about": True} if keys else {}))
        return row  # the same table: what it may hold is noted by it


class _RollsFile(Strict):
    units: Literal["mm"] = "mm"
    source: str = ""
    confidence: str = ""
    rolls: Annotated[list[_RollRow], Field(min_length=1)]


def rolls_names() -> tuple[str, ...]:
    """Return the names of the lists of rolls that come with the tool, in order."""
    return tuple(sorted(file.name.removesuffix(".toml") for file in toml_files("rolls")))


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
    listed = checked(_RollsFile, data, where, "CP202")
    rolls: list[Roll] = []
    clashes: list[Finding] = []
    leads = {f"lead code {code}": f"code = {code}" for code in lead_table()}
    for number, row in enumerate(listed.rolls, start=1):
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
                1 if row.owned and row.quantity is None else row.quantity,
                material,
                row.offcut,
                name,
                owned=row.owned,
                price=row.price,
                exact=not row.about,
            )
        )
    if clashes:
        raise Refused(clashes)
    return tuple(rolls)
