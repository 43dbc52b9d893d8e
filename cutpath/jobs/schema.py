"""What a user may write in a job file: the keys of the whole job; those of its details stand with their families."""

from __future__ import annotations

import datetime as dt
import re
from contextlib import suppress
from typing import TYPE_CHECKING, Annotated, Any, Literal, Union

from pydantic import BeforeValidator, Field, create_model

from cutpath.ceilings import DETAILS
from cutpath.families.registry import ASSEMBLIES, FAMILIES
from cutpath.families.tables import (
    Code,
    CoursingTable,
    CoveringOrName,
    DetailTable,
    Length,
    Mark,
    Means,
    Pitch,
    Sized,
    Words,
)
from cutpath.intake.checking import Strict
from cutpath.units import NotUnderstoodError, written

_USES = {family.use.key: family.use for family in FAMILIES}

if TYPE_CHECKING:
    LeadTable = Strict
else:
    LeadTable = create_model(
        "LeadTable",
        __base__=Strict,
        __doc__="Lead code by use.",
        **{use.key: (Code, Field(default=use.code, description=f"lead code of {use.words}")) for use in _USES.values()},
    )

if TYPE_CHECKING:
    AnyDetail = DetailTable
else:
    AnyDetail = Annotated[
        Union[tuple(entry.table for entry in (*FAMILIES, *ASSEMBLIES))],  # noqa: UP007 - put together at run time
        Field(discriminator="kind"),
    ]


_FIGURES = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})|(\d{1,2})([./-])(\d{1,2})\5(\d{4})", re.ASCII)
"""Text that is a day in figures: the year first, or last and then day and month in either order."""


def _day(value: object) -> object:
    """Return a day as it was written.

    Raises
    ------
    NotUnderstoodError
        When it is neither a date nor text, or figures that no calendar has.
    """
    figures = _FIGURES.fullmatch(value.strip()) if isinstance(value, str) else None
    if isinstance(value, dt.date | str) and (figures is None or _in_a_calendar(*figures.groups())):
        return value
    raise NotUnderstoodError(written(value), "a day such as 2026-11-30, or text", "Correct the day.")


def _in_a_calendar(year: str, month: str, day: str, first: str, _: str, second: str, last: str) -> bool:
    ways = [(year, month, day)] if year else [(last, second, first), (last, first, second)]
    for way in ways:
        with suppress(ValueError):
            dt.date(*map(int, way))
            return True
    return False


class JobFile(Sized):
    """One job: what was measured, and what is to be cut."""

    name: Words = Field(description="your own name for the job")
    mark: Mark | None = Field(default=None, description="short mark on every piece, 1 to 3 capitals and digits")
    notes: str = Field(default="", max_length=5000, description="site notes")
    customer: str = Field(default="", max_length=80, description="who it is for")
    site: str = Field(default="", max_length=120, description="where it goes")
    order: str = Field(default="", max_length=80, description="number or name of the order, as your shop writes it")
    due: Annotated[dt.date | Annotated[str, Field(max_length=80)], BeforeValidator(_day)] = Field(
        default="", description="day it is wanted"
    )
    exposure: Literal["sheltered", "moderate", "severe"] = Field(
        default="moderate", description="exposure to wind and rain"
    )
    pitch: Pitch | None = Field(default=None, description="pitch of the roof, degrees or rise to run")
    covering: CoveringOrName | None = Field(
        default=None, description="name of a listed covering, or its length with headlap or gauge in mm"
    )
    lead: LeadTable = Field(
        default=LeadTable(), description="lead code by use, such as { apron = 5, step_flashing = 5 }"
    )
    longest: Annotated[Length, Means("longest")] | None = Field(
        default=None, description="your own limit for one length, mm, under the rule's"
    )
    coursing: dict[str, CoursingTable] = Field(default={}, description="bed joints by the name of the wall, mm")
    detail: list[AnyDetail] = Field(
        min_length=1, max_length=DETAILS, description="what is to be made, one [[detail]] table to each; lengths in mm"
    )


def job_schema() -> dict[str, Any]:
    """Return the JSON Schema of a job file, so that editors complete and check it.

    Returns
    -------
    dict
        JSON Schema, draft 2020-12; every key says what it is and its unit.
    """
    schema = JobFile.model_json_schema(by_alias=True)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "cutpath job", **schema}
