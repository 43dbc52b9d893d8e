"""Kinds of detail with their keys, and a starter file for each: what a person needs to write a first job."""

from __future__ import annotations

import json
import textwrap
from dataclasses import dataclass
from types import UnionType
from typing import TYPE_CHECKING, Literal, Union, get_args, get_origin

from cutpath.families.family import Assembly, Family
from cutpath.jobs.kind_files import ENTRIES, STARTED, entry_of, kind_file
from cutpath.jobs.schema import JobFile
from cutpath.profiles import coverings

if TYPE_CHECKING:
    from pydantic import BaseModel
    from pydantic.fields import FieldInfo

_WIDTH = 100

_HEAD = """\
# A starter file: put your own figures in the place of these, then run: cutpath check {name}
# A bare number is millimetres; text carries its unit: "1.2 m", "23 5/8 in", "4 ft 6 in". A pitch: 35, "35 deg", "7:12".

name = "{title}"
{pitch:<30}# pitch of the roof
{covering:<30}# or its sizes: {{ length = 265, headlap = 65 }}; or another of these:
                              # {coverings}
"""


@dataclass(frozen=True, slots=True)
class Key:
    """A key of a kind of detail, what it says, and whether it must be there."""

    name: str
    says: str
    needed: bool


@dataclass(frozen=True, slots=True)
class KindOfDetail:
    """A kind of detail as a job file names it, what it is, and its keys, those first that must be there."""

    kind: str
    says: str
    keys: tuple[Key, ...]


def kinds() -> tuple[KindOfDetail, ...]:
    """Return every kind of detail, in the order of the schema."""
    return tuple(map(_kind, ENTRIES))


def _kind(entry: Family | Assembly) -> KindOfDetail:
    return _told(entry.kind, entry.table, "kind")


def _told(name: str, table: type[BaseModel], but: str) -> KindOfDetail:
    fields = [(field.alias or key, field) for key, field in table.model_fields.items() if key != but]
    keys = [Key(key, _says(field), field.is_required()) for key, field in fields]
    doc = (table.__doc__ or "").strip()
    return KindOfDetail(name, doc, tuple(sorted(keys, key=lambda key: not key.needed)))


def tables_of(kind: str) -> tuple[KindOfDetail, ...]:
    """Return the tables that keys of a kind of detail may hold, and those in them, each by its key and told once.

    ``confirmed``, which all of them take, is told of with the kind.

    Raises
    ------
    KeyError
        When there is no such kind.
    """
    found: dict[type[BaseModel], KindOfDetail] = {}

    def look(table: type[BaseModel]) -> None:
        for name, field in table.model_fields.items():
            for below in _tables_in(field.annotation):
                if below not in found:
                    found[below] = _told(field.alias or name, below, "confirmed")
                    look(below)

    look(entry_of(kind).table)
    return tuple(found.values())


def _tables_in(annotation: object) -> list[type[BaseModel]]:
    from pydantic import BaseModel

    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [table for part in get_args(annotation) for table in _tables_in(part)]


def _says(field: FieldInfo) -> str:
    """Say what a key holds, and the words that it takes where it takes no others and does not name them."""
    says = field.description or ""
    kinds_of_value = (
        get_args(field.annotation) if get_origin(field.annotation) in {Union, UnionType} else (field.annotation,)
    )
    choices = [word for kind in kinds_of_value if get_origin(kind) is Literal for word in get_args(kind)]
    if not choices or all(str(choice) in says for choice in choices):
        return says
    return f"{says}: {', '.join(map(str, choices[:-1]))} or {choices[-1]}"


def starter(kind: str, name: str = "job.toml") -> str:
    """Return a job file to begin with: the usual keys with figures to put your own in place of, the others explained.

    Parameters
    ----------
    kind : str
        As `kinds` lists it.
    name : str
        Of the file that it is written to.

    Raises
    ------
    KeyError
        When there is no such kind.
    """
    entry, own = entry_of(kind), kind_file(kind)
    fields = {field.alias or key: field for key, field in entry.table.model_fields.items()}
    others = [
        f"# {key.name}: {key.says}{_keys_in(fields[key.name])}"
        for key in _kind(entry).keys
        if key.name not in own.detail
    ]
    job = [
        f"# {field.alias or key}: {_says(field)}{_keys_in(field)}"
        for key, field in JobFile.model_fields.items()
        if key not in {"name", "detail", *STARTED}
    ]
    said = {key: f"{key} = {json.dumps(value)}" for key, value in STARTED.items()}
    return "\n".join(
        [
            _HEAD.format(name=name, title=f"My first {kind}", coverings=", ".join(sorted(coverings())), **said),
            "# Other keys of a job, where you want them:",
            *_wrapped(job),
            "",
            own.starter,
            "",
            f"# Other keys of the kind {kind}, each on a line below it; more by: cutpath kinds {kind}",
            *_wrapped(others),
            "",
        ]
    )


def _keys_in(field: FieldInfo) -> str:
    """Return the keys of the table that a key may hold, as they stand behind what it says; empty for none."""
    tables = [_told("", table, "confirmed") for table in _tables_in(field.annotation)]
    return f": {{ {', '.join(key.name for key in tables[0].keys)} }}" if tables else ""


def _wrapped(lines: list[str]) -> list[str]:
    return [part for line in lines for part in textwrap.wrap(line, _WIDTH, subsequent_indent="#     ")]
