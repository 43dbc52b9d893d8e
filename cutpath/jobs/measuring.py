"""What a blank measuring sheet asks for, kind by kind, and the specimen whose pictures show where to measure it.

The sizes of a specimen are those of no building: they differ from each other, so that each figure in its pictures tells
of one key.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from cutpath.families.family import Assembly, Family
from cutpath.families.registry import ASSEMBLIES, FAMILIES
from cutpath.jobs.schema import JobFile
from cutpath.jobs.sizes import meaning_of
from cutpath.profiles import plausible

_COURSING = {"gauge": 75, "first_joint": 118}
_DOUBLE_LAP = {"pitch": 36, "covering": "plain tile 265"}


@dataclass(frozen=True, slots=True)
class Specimen:
    """What a sheet of one kind shows and asks for.

    Attributes
    ----------
    fields : tuple of str
        Keys of the detail that are measured or chosen on site; those of a table inside it with a point.
    job, detail : mapping
        The specimen as a job file has it; empty for a kind that is sketched by hand.
    shown : tuple of int
        Which of its pictures.
    figures : mapping
        Key -> how its figure is written where it is not the size itself, and what stands there then: keys in square
        brackets for their letters.
    asks : tuple of str
        Keys of the job that matter beside the errand.
    cautions : tuple of str
        Names of cautions for whoever measures.
    """

    fields: tuple[str, ...]
    job: Mapping[str, Any]
    detail: Mapping[str, Any]
    shown: tuple[int, ...]
    figures: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    asks: tuple[str, ...] = ("pitch", "covering", "exposure")
    cautions: tuple[str, ...] = ("height", "old lead")


SPECIMENS: dict[str, Specimen] = {
    "step flashing": Specimen(
        ("length", "water_line", "set_back", "upper_end", "hands", "coursing", "soakers"),
        _DOUBLE_LAP,
        {"length": 1050, "hands": "right", "water_line": 82, "coursing": _COURSING, "soakers": True},
        (0,),
        cautions=("height", "old lead", "silica"),
    ),
    "step and cover": Specimen(
        ("length", "water_line", "set_back", "upper_end", "hands", "coursing", "cover", "covering"),
        {"pitch": 36},
        {"length": 1050, "hands": "right", "water_line": 67, "cover": 155, "coursing": _COURSING},
        (0,),
        cautions=("height", "old lead", "silica"),
    ),
    "soakers": Specimen(
        ("hands", "length", "upstand", "roof", "headlap", "count"),
        _DOUBLE_LAP,
        {"length": 1050, "hands": "right", "coursing": _COURSING, "soakers": True},
        (0,),
    ),
    "apron": Specimen(
        ("side", "upstand", "cover", "turn_in", "corners", "width"),
        {"pitch": 36},
        {"width": 665, "side": 145, "upstand": 105, "cover": 155, "turn_in": 27},
        (0, 1),
        cautions=("height", "old lead", "silica"),
    ),
    "cover flashing": Specimen(
        ("cover", "turn_in", "length", "slope", "hands", "returns"),
        {"pitch": 36},
        {"length": 1350, "cover": 105, "turn_in": 27},
        (0,),
        asks=(),
        cautions=("height", "old lead", "silica"),
    ),
    "back gutter": Specimen(
        ("side", "upstand", "sole", "up_roof", "fillet", "corners", "width"),
        {"pitch": 36},
        {"width": 665, "side": 145, "upstand": 105, "sole": 155, "up_roof": 235},
        (0, 1),
        asks=("pitch", "covering"),
    ),
    "ridge saddle": Specimen(
        ("width", "length", "upstand", "corners"),
        {"pitch": 36},
        {"width": 470, "length": 455, "upstand": 155},
        (0,),
        {"width": ("235", "½ [width]"), "length": ("300", "[length] – [upstand]")},
        asks=("pitch",),
    ),
    "top-edge abutment": Specimen(
        ("upstand", "cover", "turn_in", "stop_ends", "length"),
        {"pitch": 36},
        {"length": 1350, "upstand": 105, "cover": 155, "turn_in": 27},
        (0, 1),
        cautions=("height", "old lead", "silica"),
    ),
    "valley gutter": Specimen(
        ("length", "other_pitch", "width", "fillet", "fillet.foot"),
        {"pitch": 36},
        {"length": 1400, "width": 470},
        (0, 1),
        {"width": ("235", "½ [width]"), "fillet.foot": ("140", "[fillet.foot]")},
        asks=("pitch", "covering"),
    ),
    "secret gutter": Specimen(
        ("hands", "length", "upstand", "sole", "edge"),
        {"pitch": 36},
        {"length": 1400, "hands": "left", "upstand": 105, "sole": 115, "edge": 42},
        (0, 1),
        asks=("pitch", "covering"),
    ),
    "lead slate": Specimen(
        ("pipe", "clearance", "sleeve", "side", "below", "above"),
        {"pitch": 36},
        {"pipe": 112, "sleeve": 155, "below": 145, "above": 205},
        (0,),
        asks=("pitch",),
    ),
    "outline": Specimen(("size", "points", "folds", "holes"), {}, {}, (), asks=(), cautions=()),
    "chimney": Specimen(
        (
            "width",
            "depth",
            "slope_length",
            "coursing",
            "corners",
            "apron.cover",
            "back_gutter.upstand",
            "back_gutter.sole",
        ),
        _DOUBLE_LAP,
        {"width": 665, "slope_length": 537, "coursing": _COURSING},
        (0, 2),
        cautions=("height", "old lead", "silica"),
    ),
}
"""Every kind of detail."""


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
    specimen = SPECIMENS[kind]
    entries: tuple[Family | Assembly, ...] = (*FAMILIES, *ASSEMBLIES)
    table: type[BaseModel] = next(entry.table for entry in entries if entry.kind == kind)
    keys = [*_ERRAND, *specimen.asks]
    of_job = [_blank(key, info) for key, info in _fields(JobFile) if key in keys]
    order = [key for key, _ in sorted(_fields(table), key=lambda field: not field[1].is_required())]
    asked = [key for key in specimen.fields if key != "coursing"]
    asked.sort(key=lambda key: order.index(key.partition(".")[0]))
    asked += [key for key in ("quantity", "code") if key in order]
    raw = None
    if specimen.detail:
        pictured = "step flashing" if kind == "soakers" else kind
        raw = {"name": "Specimen", **specimen.job, "detail": [{"kind": pictured, **specimen.detail}]}
    return MeasuringSheet(
        kind,
        (table.__doc__ or "").strip(),
        tuple(of_job),
        tuple(_blank(key, _field(table, key)) for key in asked),
        "coursing" in specimen.fields,
        specimen,
        raw,
    )


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
    return Blank(key, says, unit if unit in {"mm", "deg"} else "", words)


_WORDS = {
    "soakers": "soakers under it, one to each course",
    "fillet": "a tilting fillet",
    "set_back": "level distance from the arris to the lower end, where it does not begin there",
    "covering": "what it lies on",
    "depth": "front to back, measured level; or give it along the slope",
    "slope_length": "front to back, measured along the slope of the roof",
    "quantity": "how many, to each hand; 1",
    "code": "lead code; the usual one of its kind",
    "size": "a plain rectangle by its sides, across and up",
}
"""What a sheet says in place of the schema, which speaks of a file."""
