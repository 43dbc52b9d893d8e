"""What a blank measuring sheet asks for, and the specimen whose pictures show where to measure it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from cutpath.jobs.kind_files import Specimen, entry_of, kind_file
from cutpath.jobs.schema import JobFile
from cutpath.jobs.sizes import meaning_of
from cutpath.profiles import plausible


@dataclass(frozen=True, slots=True)
class Blank:
    """A place to fill in: its key, what it asks, its unit (empty: words), and what there is to choose from."""

    key: str
    says: str
    unit: str
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class MeasuringSheet:
    """What a sheet of one kind asks: of the job and of the detail, in the order of the job file.

    ``joints`` tells whether bed joints are measured; ``raw`` is the specimen as a job, None without one.
    """

    kind: str
    says: str
    of_job: tuple[Blank, ...]
    fields: tuple[Blank, ...]
    joints: bool
    specimen: Specimen
    raw: Mapping[str, object] | None


_ERRAND = ("name", "notes", "customer", "site", "order", "due")


def measuring_sheet(kind: str) -> MeasuringSheet:
    """Return what the sheet of a kind asks for.

    Raises
    ------
    KeyError
        When there is no such kind.
    """
    specimen = kind_file(kind).specimen
    table: type[BaseModel] = entry_of(kind).table
    keys = [*_ERRAND, *specimen.asks]
    of_job = [_blank(key, info) for key, info in _fields(JobFile) if key in keys]
    order = [key for key, _ in sorted(_fields(table), key=lambda field: not field[1].is_required())]
    asked = [key for key in specimen.fields if key != "coursing"]
    asked.sort(key=lambda key: order.index(key.partition(".")[0]))
    asked += [key for key in ("quantity", "code") if key in order]
    raw = None
    if specimen.detail:
        raw = {"name": "Specimen", **specimen.job, "detail": [{"kind": specimen.kind, **specimen.detail}]}
    return MeasuringSheet(
        kind,
        (table.__doc__ or "").strip(),
        tuple(of_job),
        tuple(_handed(_blank(key, _field(table, key)), order) for key in asked),
        "coursing" in specimen.fields,
        specimen,
        raw,
    )


def _handed(blank: Blank, keys: Sequence[str]) -> Blank:
    """Return a blank of a detail, where a quantity counts each hand if it has one, or runs where pieces are counted."""
    if blank.key != "quantity" or "hands" not in keys:
        return blank
    return replace(blank, says="runs alike, of each hand; 1" if "count" in keys else "how many of each hand; 1")


def _fields(table: type[BaseModel]) -> Iterator[tuple[str, FieldInfo]]:
    for name, info in table.model_fields.items():
        yield info.alias or name, info


def _field(table: type[BaseModel], path: str) -> FieldInfo:
    """Return the field of a key, or of one in the table under a key."""
    key, _, rest = path.partition(".")
    info = dict(_fields(table))[key]
    if not rest:
        return info
    inner = next(part for part in _parts(info.annotation) if isinstance(part, type) and issubclass(part, BaseModel))
    return _field(inner, rest)


def _parts(annotation: Any) -> Iterator[Any]:  # noqa: ANN401 - whatever typing makes of an annotation
    if get_origin(annotation) in (Annotated, Union, UnionType):
        for part in get_args(annotation):
            yield from _parts(part)
    else:
        yield annotation


_UNIT_WORD = re.compile(r",? (?:in )?mm\b(?=[,;.]|$|, or)|: left, right or pair\b")


def _blank(key: str, info: FieldInfo) -> Blank:
    says = _WORDS.get(key) or _UNIT_WORD.sub("", info.description or "").replace(", ;", ";")
    table = key.rpartition(".")[0]
    if table:
        says = f"{table.replace('_', ' ')}: {says}"
    means = meaning_of(info)
    unit = plausible()[means].unit if means else ""
    parts = list(_parts(info.annotation))
    choices = next((get_args(part) for part in parts if get_origin(part) is Literal), ())
    words = ("yes", "no") if bool in parts else tuple(dict.fromkeys(str(choice).lower() for choice in choices))
    usual = {True: "yes", False: "no"}.get(info.default, info.default) if words else None
    if usual in words and ";" not in says:
        says = f"{says}; {usual}"
    return Blank(key, says, unit if unit in {"mm", "deg"} else "", words)


_WORDS = {
    "soakers": "soakers under it, one to each course",
    "fillet": "a tilting fillet",
    "set_back": "level distance from the arris to the lower end, where it does not begin there; 0",
    "covering": "what it lies on",
    "step_and_cover": "sides in step and cover, on profiled tiles, without soakers",
    "above": "above a change of pitch: along the slope, and the pitch there; none",
    "return.length": "round the arris, level on the next face; none",
    "depth": "front to back, measured level, or along the slope; both prove the pitch",
    "slope_length": "front to back, measured along the slope of the roof",
    "quantity": "how many; 1",
    "code": "lead code; the usual one of its kind",
    "size": "a plain rectangle by its sides, across and up",
}
"""What a sheet says in place of the schema, which speaks of a file."""
