"""What stands in ``KIND.toml`` beside a family's code: its starter file, and what a measuring sheet of it asks for.

First the ``[[detail]]`` of the starter, comments and all, as `cutpath new` writes it. What follows is optional:
``[measure]`` for the measuring sheet, and ``[[fact]]``, ``[[sentence]]`` and ``[[range]]``, figures that this family
alone goes by, in the form of ``profiles/practice`` and ``profiles/plausible`` (`cutpath.profiles` reads them).
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Annotated, Any

from pydantic import Field

from cutpath.families.family import Assembly, Family
from cutpath.families.registry import ASSEMBLIES, FAMILIES
from cutpath.intake.checking import Strict

ENTRIES: tuple[Family | Assembly, ...] = (*FAMILIES, *ASSEMBLIES)
"""Every kind of detail, in the order of the schema."""

STARTED: Mapping[str, Any] = {"pitch": 35, "covering": "plain tile 265"}
"""What a starter file says of its job."""

_FURTHER = re.compile(r"^\[+(?!\[*detail\b)", re.MULTILINE)


class Specimen(Strict):
    """What a measuring sheet of one kind shows and asks for.

    The sizes of a specimen are those of no building: they differ from each other, so that each figure in its pictures
    tells of one key.

    Attributes
    ----------
    fields : tuple of str
        Keys of the detail that are measured or chosen on site, those of a table inside it with a point; the starter's
        where none are named.
    kind : str
        Of the detail that is pictured, where it is another one.
    job, detail : mapping
        The specimen as a job file has it, the starter where it says nothing; empty for a kind that is sketched by hand.
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

    fields: Annotated[tuple[str, ...], Field(strict=False)] = ()
    kind: str = ""
    job: dict[str, Any] = Field(default={})
    detail: dict[str, Any] = Field(default={})
    shown: Annotated[tuple[int, ...], Field(strict=False)] = (0,)
    figures: dict[str, Annotated[tuple[str, str], Field(strict=False)]] = Field(default={})
    asks: Annotated[tuple[str, ...], Field(strict=False)] = ("pitch", "covering", "exposure")
    cautions: Annotated[tuple[str, ...], Field(strict=False)] = ("height", "old lead")


@dataclass(frozen=True, slots=True)
class KindFile:
    """What one kind brings: the text of its starter's detail, that detail, and its specimen."""

    starter: str
    detail: Mapping[str, Any]
    specimen: Specimen


def entry_of(kind: str) -> Family | Assembly:
    """Return the family or assembly of a kind.

    Raises
    ------
    KeyError
        When there is no such kind.
    """
    found = next((entry for entry in ENTRIES if entry.kind == kind), None)
    if found is None:
        raise KeyError(kind)
    return found


@cache
def kind_file(kind: str) -> KindFile:
    """Return what stands in the file of a kind.

    Raises
    ------
    KeyError
        When there is no such kind.
    """
    folder = entry_of(kind).table.__module__.split(".")[:3]
    text = (files(".".join(folder)) / f"{kind.replace(' ', '-')}.toml").read_text(encoding="utf-8")
    data = tomllib.loads(text)
    detail = {key: value for key, value in data["detail"][0].items() if key != "kind"}
    started = {"fields": list(detail), "kind": kind, "job": STARTED, "detail": detail}
    return KindFile(
        _FURTHER.split(text, maxsplit=1)[0].rstrip(),
        data["detail"][0],
        Specimen.model_validate({**started, **data.get("measure", {})}),
    )
