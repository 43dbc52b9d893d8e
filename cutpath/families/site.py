"""One detail under survey, and what every family asks of its job: pitch, lead, limits, laps, hands."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol, TypeVar

from cutpath.errors import Severity
from cutpath.families.desk import Desk, LeftOutError
from cutpath.families.tables import HandWord
from cutpath.trade.limits import (
    free_lap_mm,
    lap_mm,
    longest_fact,
    longest_mm,
    too_flat,
)
from cutpath.trade.rules import held, weight
from cutpath.values.survey import (
    Covering,
    DetailHead,
    Hand,
    Lead,
    Origin,
)

T = TypeVar("T")

HANDS: dict[str, tuple[Hand, ...]] = {
    "left": (Hand.LEFT,),
    "right": (Hand.RIGHT,),
    "pair": (Hand.RIGHT, Hand.LEFT),
}


@dataclass(frozen=True, slots=True)
class Site:
    """One detail to be surveyed: where it stands in the file, its label, and the job's covering if there is one.

    ``part`` tells that it is part of a chimney.
    """

    desk: Desk
    path: str
    label: str
    covering: Covering | None
    part: bool = False


class Coded(Protocol):
    """A table that may name a code of its own."""

    @property
    def code(self) -> int | None:
        """Code of lead, None for that of the job."""


class Handed(Protocol):
    """A table that says which way the roof rises."""

    @property
    def hands(self) -> HandWord | None:
        """Left, right or pair."""

    @property
    def quantity(self) -> int:
        """Sets of it."""

    @property
    def model_fields_set(self) -> set[str]:
        """Keys that were written."""


def attempt(make: Callable[[], T]) -> T | None:
    """Survey, or return None where a finding says why it cannot be."""
    try:
        return make()
    except LeftOutError:
        return None


def pitch_of(site: Site, own_deg: float | None) -> float:
    """Return the pitch: a detail's own, else the job's.

    Raises
    ------
    LeftOutError
        When neither is there, or the job's is at fault; the findings say why.
    """
    if own_deg is not None:
        return own_deg
    if site.desk.job.pitch is not None:
        return site.desk.job.pitch
    if "pitch" in site.desk.lost:
        raise LeftOutError(site.path)
    raise site.desk.refuse(
        "CP104",
        f"{site.path}.pitch",
        "neither the detail nor the job gives a pitch",
        "the pitch of the roof in degrees, or rise to run",
        "Add pitch = ... at the top of the file, or to the detail.",
    )


def pitch_origin(site: Site, own_deg: float | None) -> Origin:
    """Return where the pitch was written: with the detail, or at the top of the file."""
    return Origin(site.desk.file, site.path if own_deg is not None else "")


def lead_of(site: Site, code: int | None, use: str) -> Lead:
    """Return the lead of a detail: of its own code, else of the job's for its use.

    Raises
    ------
    LeftOutError
        When there is no such lead, or the job's codes are at fault; the findings say why.
    """
    desk = site.desk
    wanted = code or int(getattr(desk.job.lead, use))
    if code is None and "lead" in desk.lost:
        raise LeftOutError(site.path)
    if wanted in desk.lead:
        return desk.lead[wanted]
    raise desk.refuse(
        "CP107",
        f"{site.path}.code" if code else f"lead.{use}",
        f"there is no lead code {wanted}",
        f"accepted: one of {', '.join(str(known) for known in sorted(desk.lead))}",
        "Choose one of these.",
    )


def longest_of(site: Site, code: int, use: str, own_mm: float | None) -> float:
    """Return the limit for one length: the user's own where no rule refuses it.

    The job's limit is meant for every lead in it, so it is at fault only where no lead would allow it, and does not
    lengthen any. A detail's own limit may pass a rule that only warns, but not the one for the thickest lead.
    """
    desk = site.desk
    job_mm = desk.job.longest
    rule = longest_fact(code, use, desk.practice)
    most = max((longest_fact(known, use, desk.practice) for known in desk.lead), key=lambda fact: fact.value)
    own_rule = most if own_mm is not None and own_mm > most.value else rule
    for user, path, fact in ((own_mm, f"{site.path}.longest", own_rule), (job_mm, "longest", most)):
        if user is not None:
            desk.add(held(fact, desk.where(path), user))
    if own_mm is None or weight(own_rule) is Severity.FAULT:
        return longest_mm(code, use, desk.practice, job_mm if own_mm is None else own_mm)
    return own_mm


def head_of(
    site: Site,
    table: Coded,
    use: str,
    *,
    quantity: int,
    hands: tuple[Hand, ...],
    roof_deg: float | None = None,
    whole_steps: bool = False,
) -> DetailHead:
    """Make a head; ``roof_deg`` is the true pitch of the roof on which laps lie, None where they lie on none."""
    lead = lead_of(site, table.code, use)
    own_longest = getattr(table, "longest", None)
    lap, no_lap = lap_of(site, getattr(table, "lap", None), roof_deg, whole_steps=whole_steps)
    return DetailHead(
        label=site.label,
        origin=Origin(site.desk.file, site.path),
        lead=lead,
        quantity=quantity,
        hands=hands,
        longest_mm=longest_of(site, lead.code, use, own_longest),
        lap_mm=lap,
        no_lap=no_lap,
    )


def lap_of(site: Site, own_mm: float | None, roof_deg: float | None, *, whole_steps: bool = False) -> tuple[float, str]:
    """Return the least lap, the user's own or the rule's, and why there may be none; the user's own mends nothing."""
    practice = site.desk.practice
    if roof_deg is None:
        return (site.desk.fact("least_lap") if own_mm is None else own_mm), ""
    rule = lap_mm(roof_deg, practice)
    if math.isinf(rule):
        return rule, too_flat(roof_deg, practice)
    if own_mm is not None:
        return own_mm, ""
    return (rule if whole_steps else free_lap_mm(rule, practice)), ""


def sets_of(site: Site, table: Handed) -> tuple[Hand, ...]:
    """Return the hands of a set, and note what is made where nothing was said of hands."""
    desk, n = site.desk, table.quantity
    if "hands" not in table.model_fields_set and not site.part:
        many = f"{n} sets and no hand given, so {n} pairs are made, {n} right and {n} left"
        desk.tell(
            "CP113",
            f"{site.path}.quantity" if n > 1 else site.path,
            many if n > 1 else "no hand given, so a pair is made, one right and one left",
            "sets of one hand take hands = left or right (on an order sheet Hand)",
            f"Nothing to do for {f'{n} pairs' if n > 1 else 'a pair'}; else name the hand.",
            Severity.NOTE,
        )
    return HANDS[table.hands or "pair"]


def stock_widths_mm(desk: Desk, lead: Lead) -> tuple[float, ...]:
    """Return the widths of the rolls that hold a lead, ascending."""
    return tuple(sorted({roll.width_mm for roll in desk.rolls if roll.material in {"", lead.material}}))
