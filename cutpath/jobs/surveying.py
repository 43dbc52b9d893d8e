"""From a checked job file to surveyed details: every default filled in from the trade's data."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from typing import Any

from cutpath.errors import faults
from cutpath.families.coverings import covering_of
from cutpath.families.desk import Desk
from cutpath.families.registry import assembly, by_kind, by_value
from cutpath.families.site import Site, attempt
from cutpath.families.walls import check_ends, check_walls
from cutpath.values.survey import Chimney, Detail, Group

Surveyed = tuple[tuple[Detail, ...], tuple[Chimney, ...], tuple[Group, ...]]

Place = tuple[int, str]
"""A detail's number in the file, and the key of a table inside it that makes a detail of its own."""


def survey(desk: Desk, numbered: Sequence[tuple[int, Any]]) -> Surveyed:
    """Survey every detail that can be; what cannot is left out, and the desk's findings say why.

    Parameters
    ----------
    desk : Desk
    numbered : sequence of (int, detail)
        The details with their places in the file, counted from 1.

    Returns
    -------
    details, chimneys, groups
        In the order of the file; soakers follow the step flashing in whose table they stand. A chimney with a fault, or
        with a part left out, gives its details, but is not given as a whole.
    """
    check_walls(desk)
    labels = _labels(desk, numbered)
    covering = attempt(lambda: covering_of(desk, desk.job.covering, "covering"))
    out: list[Detail | None] = []
    chimneys: list[Chimney] = []
    groups: list[Group] = []
    for number, asked in numbered:
        whole = Site(desk, f"detail[{number}]", "", covering)
        before, found = len(out), len(desk.findings)
        over: list[tuple[str, str]] = []
        tables, stack = _tables(whole, asked)
        whole = _on_its_own(whole, tables)
        for inside, table in tables:
            family = by_kind(table.kind)
            site = replace(whole, path=_join(whole.path, inside), label=labels[number, inside], part=stack is not None)
            further = {
                own.key: replace(site, path=_join(site.path, own.key), label=labels[number, _join(inside, own.key)])
                for own in family.further(table)
            }
            over += [(site.label, below.label) for below in further.values()]
            out += family.survey(site, further, table)
        if stack is not None and None not in out[before:] and not faults(desk.findings[found:]):
            chimneys.append(stack(tuple(part.head.label for part in out[before:] if part is not None)))
        groups += _groups(_there(out[before:]), _there(out[:before]), over)
    check_ends(desk)
    return tuple(_there(out)), tuple(chimneys), tuple(groups)


def _on_its_own(site: Site, tables: Sequence[tuple[str, Any]]) -> Site:
    """Return the site of an entry on the covering that one of its tables names for itself, else as it is."""
    for inside, table in tables:
        own = getattr(table, "covering", None)
        if own is not None:
            path = _join(site.path, inside, "covering")
            return replace(site, covering=attempt(partial(covering_of, site.desk, own, path)))
    return site


def _there(details: Sequence[Detail | None]) -> list[Detail]:
    """Return the details that could be surveyed."""
    return [detail for detail in details if detail is not None]


def _groups(own: Sequence[Detail], before: Sequence[Detail], over: Sequence[tuple[str, str]]) -> Iterator[Group]:
    """Return which details of one entry go together, and which of them go with one of an entry before.

    ``over`` says which of them lie over which by the tables in which they stand.
    """
    if len(own) > 1:
        yield Group(tuple(detail.head.label for detail in own), tuple(over))
    for upper in own:
        lower = by_value(upper).lies_over(upper, own, before)
        if lower is not None:
            pair = (upper.head.label, lower.head.label)
            yield Group(pair[::-1], (pair,))


def _join(*keys: str) -> str:
    return ".".join(key for key in keys if key)


def _tables(site: Site, asked: Any) -> tuple[list[tuple[str, Any]], Callable[[tuple[str, ...]], Chimney] | None]:  # noqa: ANN401 - of any family
    """Return the tables that an entry of the file stands for, by their key inside it: one, or the parts of an assembly.

    With those of an assembly comes what gives its survey, once the labels of its parts are known.
    """
    found = assembly(asked.kind)
    if found is None:
        return [("", asked)], None
    parts, stack = attempt(partial(found.expand, site, asked)) or ([], None)
    return [*parts], stack


def _labels(desk: Desk, numbered: Sequence[tuple[int, Any]]) -> dict[Place, str]:
    """Return every detail its label: the user's own, else the next free one of its kind."""
    wanted: list[tuple[Place, str, str | None]] = []
    for number, asked in numbered:
        found = assembly(asked.kind)
        for inside, kind, table in found.parts(asked) if found else [("", asked.kind, asked)]:
            family = by_kind(kind)
            wanted.append(((number, inside), family.letter, table.label))
            wanted += [((number, _join(inside, own.key)), own.letter, own.label) for own in family.further(table)]
    taken: dict[str, str] = {}
    for (number, inside), _, own in wanted:
        path = ".".join(part for part in (f"detail[{number}]", inside, "label") if part)
        if own in taken:
            desk.tell(
                "CP109",
                path,
                f"label {own} is that of {taken[own]} already",
                "a label of its own for each detail",
                "Give each detail a label of its own, or leave the labels out.",
            )
        elif own:
            taken[own] = path.removesuffix(".label")
    labels: dict[Place, str] = {}
    for place, letter, own in wanted:
        free = (f"{letter}{count}" for count in itertools.count(1))
        labels[place] = own or next(label for label in free if label not in taken)
        taken.setdefault(labels[place], "")
    return labels
