"""Raw data checked against tables of keys: every fault becomes a finding in plain words."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import islice
from types import UnionType
from typing import Annotated, Any, Final, TypeVar, Union, get_args, get_origin

from pydantic import AfterValidator, BaseModel, ConfigDict, ValidationError, ValidationInfo, model_validator
from pydantic_core import ErrorDetails, SchemaError

from cutpath.ceilings import FAULTS
from cutpath.errors import Finding
from cutpath.intake.places import Keys, did_you_mean, where
from cutpath.plain import LINES_AND_TABS, is_unseen, prints, seen
from cutpath.units import COMMA_IN_NUMBER, COMMA_REMEDY, NotUnderstoodError, length_mm, written

_PLAIN_WORDS = {
    "string_type": "text in quotes",
    "string_too_short": "at least {min_length} letters",
    "string_too_long": "at most {max_length} letters",
    "bool_type": "true or false",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "float_type": "a number",
    "finite_number": "a number that ends",
    "greater_than": "more than {gt}",
    "greater_than_equal": "{ge} or more",
    "less_than": "less than {lt}",
    "less_than_equal": "{le} or less",
    "list_type": "a list",
    "too_short": "a list of {min_length} or more",
    "too_long": "a list of {max_length} or fewer",
    "model_type": "a table",
    "dict_type": "a table",
    "date_type": "a valid date",
}
"""What pydantic's commonest errors mean to a person who writes a file."""


@dataclass(frozen=True, slots=True)
class Known:
    """The keys that a table may hold, with what each of them is, and the model of the table."""

    keys: Mapping[str, str]
    model: type[BaseModel] | None = None

    def holders(self, name: str) -> list[str]:
        """Return the keys whose own tables may hold ``name``."""
        fields = self.model.model_fields.items() if self.model else ()
        return [
            field.alias or key
            for key, field in fields
            if any(name in {f.alias or k for k, f in inner.model_fields.items()} for inner in _tables(field.annotation))
        ]

    def lists(self, name: str) -> list[str]:
        """Return the keys under which lists of tables stand that may hold ``name``."""
        fields = self.model.model_fields.items() if self.model else ()
        own = (
            (field.alias or key, get_args(field.annotation))
            for key, field in fields
            if get_origin(field.annotation) is list
        )
        return [key for key, (row,) in own if any(name in table.model_fields for table in _tables(row))]

    def inside(self, name: str) -> list[str]:
        """Return the keys that the table under ``name`` may hold: those that must be there first."""
        fields = self.model.model_fields.items() if self.model else ()
        inner = (model for key, field in fields if name in (key, field.alias) for model in _tables(field.annotation))
        keys = [pair for model in inner for pair in model.model_fields.items()]
        keys.sort(key=lambda pair: (pair[0] == "confirmed", not pair[1].is_required()))
        return [field.alias or key for key, field in keys]


def _tables(annotation: object) -> Iterator[type[BaseModel]]:
    """Yield the tables that may stand under a key itself, not in a list or under a name of the user's own."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    elif get_origin(annotation) in (Annotated, Union, UnionType):
        for part in get_args(annotation):
            yield from _tables(part)


class Strict(BaseModel):
    """A table that holds no keys but its own; numbers are not read out of text, nor text out of numbers."""

    # Most tables are never met in one run, so each is made ready when it first is.
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, defer_build=True)

    @model_validator(mode="before")
    @classmethod
    def _note_keys(cls, data: object, info: ValidationInfo) -> object:
        """Note for the findings which keys this table of the raw data may hold, and what each of them is."""
        if isinstance(info.context, dict):
            info.context[id(data)] = Known(
                {field.alias or name: field.description or "" for name, field in cls.model_fields.items()}, cls
            )
        return data


M = TypeVar("M", bound=BaseModel)


def _in_one_line(value: str) -> str:
    if "\n" in value:
        raise NotUnderstoodError("a text of several lines", "one line", "Write it in one line; notes may have more.")
    return value


ONE_LINE = AfterValidator(_in_one_line)
"""For text that stands in rows of tables and lists."""


def _that_print(value: str) -> str:
    if not prints(value):
        raise NotUnderstoodError(written(value), "letters, figures and signs that print", "Write what is to be read.")
    return _in_one_line(value)


THAT_PRINT = AfterValidator(_that_print)
"""For names that somebody reads on paper: in one line, not blank, nor of nothing that is seen."""


def check(
    model: type[M], raw: Mapping[str, object], file: str, *, code: str | None = None
) -> tuple[M | None, list[tuple[Keys, Finding]]]:
    """Check raw data against ``model``, and give the checked value or every finding with its path into ``raw``.

    Parameters
    ----------
    model : type
        A pydantic model made of `Strict` tables.
    raw : mapping
        What the parser gave.
    file : str
    code : str, optional
        One code for all findings; else each kind of fault has its own.

    Returns
    -------
    tuple
        The value and no findings, or None and at least one finding, one to a place.

    Raises
    ------
    KeyboardInterrupt
    SchemaError
        Never, but for a model that is wrong in itself.
    """
    known: dict[int, Known] = {}
    out: dict[Keys, Finding] = {
        keys: Finding(
            code or "CP107",
            where(file, keys),
            f"a character that cannot be seen ({seen(character)})",
            "letters, figures and signs that print",
            "Type the text again by hand; it was copied with something hidden in it.",
        )
        for keys, character in islice(_unseen(raw, ()), FAULTS)
    }
    try:
        value = model.model_validate(raw, context=known)
        return (None, list(out.items())) if out else (value, [])
    except SchemaError as broken:  # a table is made ready here when it is first met, and may be broken off there
        if KeyboardInterrupt.__name__ in str(broken):
            raise KeyboardInterrupt from None
        raise
    except ValidationError as refused:
        errors = refused.errors()
    for error in errors[:FAULTS]:
        keys, table = _place(raw, error["loc"], missing=error["type"] == "missing")
        if error["type"].startswith("union_tag"):
            keys = (*keys, _discriminator(error))
        own_code, found, accepted, remedy = _words(error, keys, known.get(id(table), Known({})))
        if error["type"] == "extra_forbidden":
            remedy = _sent_outwards(raw, keys, known) or remedy
        out.setdefault(keys, Finding(code or own_code, where(file, keys), found, accepted, remedy))
    if len(errors) > FAULTS:
        told = f"{len(errors):,} faults, of which {FAULTS:,} are told"
        out[()] = Finding(code or "CP107", file, told, "a file without faults", "Mend these, then look at the rest.")
    return None, list(out.items())


def _unseen(data: object, at: Keys) -> Iterator[tuple[Keys, str]]:
    """Yield the path of every text that holds what cannot be seen, with the first such character; lines may end."""
    if isinstance(data, str):
        found = next((c for c in data if is_unseen(c) and c not in LINES_AND_TABS), None)
        if found is not None:
            yield at, found
    elif isinstance(data, Mapping):
        for key, value in data.items():
            yield from ((((*at, key), c) for _, c in _unseen(key, at)))
            yield from _unseen(value, (*at, key))
    elif isinstance(data, list | tuple):
        for place, value in enumerate(data):
            yield from _unseen(value, (*at, place))


def _place(raw: object, loc: Sequence[str | int], *, missing: bool) -> tuple[Keys, object]:
    """Follow ``loc`` through ``raw``, passing over the names of alternatives; give path and innermost table."""
    keys: list[str | int] = []
    here: object = raw
    table: object = raw
    for number, step in enumerate(loc):
        last = number == len(loc) - 1
        if isinstance(here, dict):
            table = here
            if step in here:
                keys.append(step)
                here = here[str(step)]
            elif last and missing:
                keys.append(step)
        elif isinstance(here, list) and isinstance(step, int) and step < len(here):
            keys.append(step)
            here = here[step]
    return tuple(keys), table


def _sent_outwards(raw: Any, keys: Keys, known: Mapping[int, Known]) -> str:  # noqa: ANN401 - what a parser gave
    """Say where an unknown key belongs that is one of a table about its own; nothing where it is none.

    In TOML a key below the header of a table inside, such as ``[detail.coursing]``, falls into that.
    """
    tables = [raw]
    for key in keys[:-1]:
        tables.append(tables[-1][key])
    if len(keys) >= _INSIDE and not isinstance(keys[-2], int) and _lacks(tables[-2], keys[-1], known):
        return f"It belongs beside {keys[-2]}, not in it: write it above any header {_header(keys[:-1])}."
    own, top = (known.get(id(table), Known({})) for table in (tables[-1], raw))
    if len(tables) == 1 or keys[-1] not in top.keys or own.holders(str(keys[-1])):
        return ""
    return "It counts for the whole file: " + (
        "it is given there, so take it out here." if keys[-1] in raw else "write it at the top, above any header."
    )


def _lacks(table: Any, key: str | int, known: Mapping[int, Known]) -> bool:  # noqa: ANN401 - what a parser gave
    """Tell whether a key that a table may hold is not in it."""
    return key in known.get(id(table), Known({})).keys and key not in table


_INSIDE: Final = 3  # keys to an unknown one that lies in a table inside another with a header


def _header(keys: Keys) -> str:
    """Return the header of a table in a file, such as ``[detail.coursing]``."""
    return f"[{'.'.join(str(key) for key in keys if not isinstance(key, int))}]"


def _discriminator(error: ErrorDetails) -> str:
    """Return the key that tells one alternative from another."""
    return str(error.get("ctx", {}).get("discriminator", "kind")).strip("'")


def _words(error: ErrorDetails, keys: Keys, table: Known) -> tuple[str, str, str, str]:
    """Return code, found, accepted and remedy of one error."""
    name, known = str(keys[-1]) if keys else "the file", table.keys
    kind = error["type"]
    context = error.get("ctx", {})
    cause = context.get("error")
    value = error.get("input")
    if isinstance(cause, NotUnderstoodError):
        return cause.code, cause.found, f"accepted: {cause.accepted}", cause.remedy
    if kind == "extra_forbidden":
        meant = did_you_mean(name, known)
        remedy = f"Did you mean {meant}?" if meant else "Take the line out, or correct the key."
        holders = table.holders(name)
        if holders:
            remedy = f"It belongs in {' or '.join(holders)}: write {holders[0]} = {{ {name} = ... }}."
        elif lists := table.lists(name):
            remedy = f"It belongs in a [[{lists[0]}]]: write it there, in each that it is for."
        listed = ", ".join(sorted(known)) or "no keys"
        return "CP103", f"unknown key {written(name)}", f"accepted: one of {listed}", remedy
    if kind == "missing":
        meaning = known.get(name)
        return "CP104", "nothing", f"needed: {name}", f"Add {name}: {meaning}." if meaning else f"Add {name}."
    if kind == "union_tag_not_found":
        key = _discriminator(error)
        return "CP104", "nothing", f"needed: {key}", f"Add {key} = ..., to tell what it is."
    if kind in {"literal_error", "enum", "union_tag_invalid"}:
        expected = str(context.get("expected") or context.get("expected_tags") or "")
        shown = context.get("tag") if kind == "union_tag_invalid" else value
        meant = did_you_mean(str(shown), re.findall(r"'([^']*)'", expected))
        remedy = f'Did you mean "{meant}"?' if meant else "Choose one of these."
        return "CP107", written(shown), f"accepted: {expected.replace(chr(39), chr(34))}", remedy
    meaning = known.get(name)
    remedy = f"Correct it: {meaning}." if meaning else "Correct the value."
    inner = table.inside(name) if kind in {"model_type", "string_type"} else []
    if inner:
        remedy = f"Write {name} = {{ {inner[0]} = ... }}; its keys: {', '.join(inner)}."
    if kind in {"float_type", "int_type"} and isinstance(value, str):
        remedy = COMMA_REMEDY if COMMA_IN_NUMBER.search(value) else _alone(name, value) or remedy
    if kind == "list_type" and isinstance(value, dict) and isinstance(keys[-1], str):
        remedy = f"Write [[{name}]] with two brackets above each table."
    return "CP107", written(value), f"accepted: {_accepted(error)}", remedy


def _alone(name: str, value: str) -> str:
    """Say how a figure is written without the words around it, a length in mm; empty where there is no one figure."""
    figure = _FIGURE.fullmatch(value)
    try:
        mm = f"{length_mm(value):.6g}"
    except NotUnderstoodError:
        mm = ""
    if mm and (figure is None or float(figure[1]) != float(mm)):
        return f"Write the figure alone, in mm: {name} = {mm}."
    return f"Write the figure alone: {name} = {figure[1]}." if figure else ""


_FIGURE = re.compile(r"[^\d,.-]*(-?\d+(?:\.\d+)?)[^\d,.]*")


def _accepted(error: ErrorDetails) -> str:
    """Say in plain words what a value should have been."""
    limits = error.get("ctx", {})
    words = _PLAIN_WORDS.get(error["type"])
    if words is None:
        return error["msg"].removeprefix("Input ")
    told = {k: f"{limit:.15g}" for k, limit in limits.items() if isinstance(limit, int | float | Decimal)}
    return re.sub(r"\b1 letters$", "1 letter", words.format_map(told))
