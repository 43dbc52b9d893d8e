"""Every number of a job file held against what its size can be, before anything is made of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, get_args

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from cutpath.errors import Finding
from cutpath.families.tables import Counts, Means
from cutpath.intake.places import Keys, did_you_mean, where
from cutpath.trade.plausible import Sizes, Written, check_size
from cutpath.units import written


@dataclass(frozen=True, slots=True)
class Size:
    """A number that was written: its path, the key of its table under which it stands, its meaning, its value."""

    keys: Keys
    key: str
    means: str
    value: float


def odd_sizes(
    file: BaseModel, raw: Mapping[str, object], name: str, sizes: Sizes, numbers: Sequence[int]
) -> list[tuple[Keys, Finding]]:
    """Find sizes that look like slips, and confirmations of what is no size, each with its path into ``raw``.

    Parameters
    ----------
    file : JobFile
        Checked.
    raw : mapping
        The data that it was checked from.
    name : str
        Of the file, for findings.
    sizes : mapping of str to Plausible
    numbers : sequence of int
        The numbers that the details of ``raw`` have in the user's own file, counted from 1.
    """
    found: list[tuple[Keys, Finding]] = []
    for at, table in tables(file):
        may_confirm = "confirmed" in type(table).model_fields
        for size in sizes_of(table, at):
            given = Written(
                where(name, _as_numbered(size.keys, numbers)),
                size.value,
                _at(raw, size.keys),
                f'confirmed = ["{size.key}"]' if may_confirm else "",
                may_confirm and size.key in getattr(table, "confirmed", ()),
            )
            finding = check_size(sizes[size.means], given)
            found += [(size.keys, finding)] if finding else []
        found += _confirmed_in_vain(table, at, name, numbers)
    return found


def tables(value: object, at: Keys = ()) -> Iterator[tuple[Keys, BaseModel]]:
    """Yield every table in what was checked, with its path in the file: a table before those inside it."""
    if isinstance(value, BaseModel):
        yield at, value
        for name in type(value).model_fields:
            if name in value.model_fields_set:
                yield from tables(getattr(value, name), (*at, type(value).model_fields[name].alias or name))
    for key, item in _items(value):
        yield from tables(item, (*at, key))


def sizes_of(table: BaseModel, at: Keys) -> Iterator[Size]:
    """Yield every size that was written in a table itself, not in those inside it."""
    for name in type(table).model_fields:
        field = type(table).model_fields[name]
        if name in table.model_fields_set and (means := meaning_of(field)) is not None:
            key = field.alias or name
            for keys, value in _numbers(getattr(table, name), (*at, key)):
                yield Size(keys, key, means, value)


def _numbers(value: object, at: Keys) -> Iterator[tuple[Keys, float]]:
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        yield at, value
    for key, item in _items(value):
        yield from _numbers(item, (*at, key))


def _items(value: object) -> Iterable[tuple[str | int, object]]:
    if isinstance(value, Mapping):
        return value.items()
    return enumerate(value) if isinstance(value, (list, tuple)) else ()


def meaning_of(field: FieldInfo) -> str | None:
    """Return the name of the range that goes with the numbers of a field; None where it holds none, or only names."""
    found = {mark.size for mark in marks_of(field) if isinstance(mark, Means)}
    return found.pop() if len(found) == 1 else None


def marks_of(field: FieldInfo) -> list[Means | Counts]:
    """Return what is said of the numbers in a field, not of those in tables inside it."""
    out = [mark for mark in field.metadata if isinstance(mark, (Means, Counts))]
    return out + _marks_in(field.annotation)


def _marks_in(annotation: Any) -> list[Means | Counts]:  # noqa: ANN401 - whatever typing makes of an annotation
    if isinstance(annotation, (Means, Counts)):
        return [annotation]
    return [mark for part in get_args(annotation) for mark in _marks_in(part)]


def _as_numbered(keys: Keys, numbers: Sequence[int]) -> Keys:
    """Return a path with the number that its detail has in the user's own file."""
    match keys:
        case ("detail", int(place), *rest):
            return ("detail", numbers[place] - 1, *rest)
    return keys


def _at(raw: object, keys: Keys) -> object:
    for key in keys:
        if isinstance(raw, Mapping):
            raw = raw.get(str(key))
        elif isinstance(raw, Sequence) and isinstance(key, int) and key < len(raw):
            raw = raw[key]
    return raw


def _confirmed_in_vain(table: BaseModel, at: Keys, name: str, numbers: Sequence[int]) -> Iterator[tuple[Keys, Finding]]:
    """Find confirmations of keys that are no size of the table."""
    known = {field.alias or key for key, field in type(table).model_fields.items() if meaning_of(field)}
    for place, word in enumerate(getattr(table, "confirmed", ())):
        if word not in known:
            meant = did_you_mean(word, known)
            path = (*at, "confirmed", place)
            yield (
                path,
                Finding(
                    "CP108",
                    where(name, _as_numbered(path, numbers)),
                    f"{written(word)} is not a size of this table",
                    f"accepted: {', '.join(sorted(known))}",
                    f'Did you mean "{meant}"?' if meant else "Take it out.",
                ),
            )
