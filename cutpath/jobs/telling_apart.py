"""Jobs that are cut together told apart: each has a name and a mark of its own, by which pieces and account list it."""

from __future__ import annotations

import itertools
import re
import string
import unicodedata
from collections.abc import Sequence
from dataclasses import replace

from cutpath.errors import Finding, Severity
from cutpath.values.survey import Job

UNNAMED = "?"
"""A job whose name is at fault."""

_MARK_LENGTH = 3


def told_apart(jobs: Sequence[tuple[Job, str | None]]) -> tuple[tuple[Job, ...], list[Finding]]:
    """Return the jobs, each with a mark and a name that no other one has: pieces and account are listed by them.

    The mark is the user's own, else the initials of the name; where it is taken, a figure is put to it. Jobs of one
    name, or of two that are read as one, bear their marks behind it.
    """
    first: dict[str, str] = {}
    for job, own in jobs:
        first.setdefault(own or "", job.file)
    taken = {own for _, own in jobs if own}
    marks: list[str] = []
    found = []
    for job, own in jobs:
        again = own is not None and first[own] != job.file
        mark = own if own and not again else _free_mark(own or _initials(job.name), taken)
        taken.add(mark)
        marks.append(mark)
        if own and again:
            found.append(_once_more(job, "mark", own, first[own], f"its pieces have the mark {mark}"))
    names = [_as_read(job.name) for job, _ in jobs]
    used = {job.name for job, _ in jobs}
    out = []
    for (job, _), mark, as_read in zip(jobs, marks, names, strict=True):
        name = job.name
        if names.count(as_read) > 1:
            name = _free_name(name, mark, used)
            used.add(name)
            first_so = jobs[names.index(as_read)][0]
            meant = not job.places or job.name != first_so.name  # rows of a sheet may be jobs of one name on purpose
            if first_so.file != job.file and job.name != UNNAMED and meant:
                before = first_so.places.get("", first_so.file)
                found.append(_once_more(job, "name", job.name, before, f'it is listed as "{name}"'))
        out.append(replace(job, name=name, mark=mark))
    return tuple(out), found


def _as_read(name: str) -> str:
    """Return what two names share that nobody tells apart on paper: by capitals, spaces, or how an accent is coded."""
    return " ".join(unicodedata.normalize("NFC", name).casefold().split())


def _once_more(job: Job, what: str, value: str, before: str, told: str) -> Finding:
    return Finding(
        "CP109",
        f"{job.file}: {what}",
        f'the {what} "{value}" is given again',
        f"{before} has it already",
        f"Nothing to do: they are two jobs, and {told}. "
        + (
            "To make one of them, write customer and order alike in every row."
            if job.places
            else f"To choose for yourself, give this one a {what} of its own."
        ),
        Severity.NOTE,
    )


def _free_name(name: str, mark: str, used: set[str]) -> str:
    tries = (f"{name} ({mark}{', ' + str(number) if number else ''})" for number in itertools.count())
    return next(free for free in tries if free not in used)


def _initials(name: str) -> str:
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    return "".join(word[0].upper() for word in re.findall(r"[A-Za-z0-9]+", plain))[:_MARK_LENGTH] or "J"


def _free_mark(wanted: str, taken: set[str]) -> str:
    if wanted not in taken:
        return wanted
    for number in range(2, 10 ** (_MARK_LENGTH - 1)):
        mark = f"{wanted[: _MARK_LENGTH - len(str(number))]}{number}"
        if mark not in taken:
            return mark
    letters = string.ascii_uppercase + string.digits
    return next("".join(m) for m in itertools.product(letters, repeat=_MARK_LENGTH) if "".join(m) not in taken)
