"""Job files from disk to surveyed jobs, with every fault of every file at once.

A file with faults is surveyed as far as it goes, so that later stages can add what they find: unknown keys
are passed over, details and coursings at fault are left out.
"""

from __future__ import annotations

import copy
import itertools
import re
import string
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from cutpath.errors import Finding, refuse_faults
from cutpath.intake import Keys, check, file_name, parse_toml, read_text
from cutpath.jobs.desk import Desk
from cutpath.jobs.schema import AnyDetail, JobFile
from cutpath.jobs.surveying import survey
from cutpath.profiles import Practice, lead_table, practice, rolls_list
from cutpath.values.nest import Roll
from cutpath.values.survey import Job

_UNNAMED = "?"
_MARK_LENGTH = 3


def load_job(path: str | Path, rolls: Sequence[Roll] | None = None) -> tuple[Job, tuple[Finding, ...]]:
    """Read and survey one job file.

    Parameters
    ----------
    path : str or Path
    rolls : sequence of Roll, optional
        Rolls whose widths step flashings are rounded up to; the list that comes with the tool when left out.

    Returns
    -------
    job, findings
        The job, and warnings and notes.

    Raises
    ------
    Refused
        With every finding, when one of them is a fault.
    """
    jobs, findings = load_jobs([path], rolls)
    return jobs[0], findings


def load_jobs(
    paths: Iterable[str | Path], rolls: Sequence[Roll] | None = None
) -> tuple[tuple[Job, ...], tuple[Finding, ...]]:
    """Read and survey job files.

    Parameters
    ----------
    paths : iterable of str or Path
    rolls : sequence of Roll, optional
        See `load_job`.

    Returns
    -------
    jobs, findings
        In the order of ``paths``; warnings and notes.

    Raises
    ------
    Refused
        With every finding of every file, when one of them is a fault.
    """
    jobs, findings = read_jobs(paths, rolls)
    return jobs, refuse_faults(findings)


def read_jobs(
    paths: Iterable[str | Path], rolls: Sequence[Roll] | None = None, limits: Practice | None = None
) -> tuple[tuple[Job, ...], tuple[Finding, ...]]:
    """Read and survey job files as far as they go; faults are among the findings.

    Parameters
    ----------
    paths : iterable of str or Path
    rolls : sequence of Roll, optional
        See `load_job`.
    limits : mapping of str to Fact, optional
        The practice that fills in what a file leaves out, such as a shop's own; the published one when left out.

    Returns
    -------
    jobs, findings
        Jobs without their faulty details, and every finding. Files that hold nothing usable give no job.
    """
    stock = tuple(rolls_list() if rolls is None else rolls)
    limits = practice() if limits is None else limits
    found: list[Finding] = []
    jobs: list[tuple[Job, str | None]] = []
    for path in paths:
        job, own_mark, findings = _read_job(Path(path), stock, limits)
        found += findings
        if job is not None:
            jobs.append((job, own_mark))
    found += _same_names(jobs)
    return _marked(jobs), tuple(found)


@dataclass(frozen=True, slots=True)
class _Usable:
    """What of a file can be surveyed: its checked form, numbered details, and keys that were left out."""

    file: JobFile
    numbered: tuple[tuple[int, AnyDetail], ...]
    lost: frozenset[str]


def _read_job(path: Path, rolls: tuple[Roll, ...], limits: Practice) -> tuple[Job | None, str | None, list[Finding]]:
    file = file_name(path)
    text = read_text(path)
    if isinstance(text, Finding):
        return None, None, [text]
    raw = parse_toml(text, file)
    if isinstance(raw, Finding):
        return None, None, [raw]
    usable, findings = _usable(raw, file)
    if usable is None:
        return None, None, findings
    desk = Desk(file, path.parent, usable.file, usable.lost, limits, lead_table(), rolls)
    details, chimneys = survey(desk, usable.numbered)
    job = Job(
        name=usable.file.name,
        mark="",
        file=file,
        notes=usable.file.notes,
        exposure=usable.file.exposure,
        details=details,
        chimneys=chimneys,
    )
    return job, usable.file.mark, [*findings, *desk.findings]


def _usable(raw: dict[str, object], file: str) -> tuple[_Usable | None, list[Finding]]:
    """Check a file whole; where it has faults, check once more what is left without them."""
    checked, placed = check(JobFile, raw, file)
    findings = [finding for _, finding in placed]
    if checked is not None:
        return _Usable(checked, tuple(enumerate(checked.detail, start=1)), frozenset()), findings
    left, kept, lost = _without(raw, placed)
    checked, _ = check(JobFile, left, file)
    if checked is None:
        return None, findings
    return _Usable(checked, tuple(zip(kept, checked.detail, strict=True)), lost), findings


def _without(
    raw: dict[str, object], placed: Iterable[tuple[Keys, Finding]]
) -> tuple[dict[str, object], list[int], frozenset[str]]:
    """Give a copy of raw data without what is at fault, the numbers of the details kept, and the keys lost."""
    left = copy.deepcopy(raw)
    lost: set[str] = set()
    bad_details: set[int] = set()
    for keys, finding in placed:
        match keys:
            case (*parents, last) if finding.code == "CP103":
                _forget(left, tuple(parents), last)
            case ("detail", int(place), *_):
                bad_details.add(place)
            case ("coursing", str(name), *_):
                lost.add(f"coursing.{name}")
                _forget(left, ("coursing",), name)
            case (str(key), *_):
                lost.add(key)
                left.pop(key, None)
    if "name" in lost:
        left["name"] = _UNNAMED
    kept: list[int] = []
    details = left.get("detail")
    if isinstance(details, list):
        kept = [place + 1 for place in range(len(details)) if place not in bad_details]
        left["detail"] = [details[number - 1] for number in kept]
    return left, kept, frozenset(lost)


def _forget(data: object, parents: Keys, key: str | int) -> None:
    for parent in parents:
        if isinstance(data, dict):
            data = data.get(str(parent))
        elif isinstance(data, list) and isinstance(parent, int):
            data = data[parent]
    if isinstance(data, dict):
        data.pop(str(key), None)


def _same_names(jobs: Sequence[tuple[Job, str | None]]) -> list[Finding]:
    """Find jobs of one name or one mark: pieces and the account of lead are listed by them."""
    found = []
    for what, key in (("name", lambda job, _: job.name), ("mark", lambda _, mark: mark)):
        first: dict[str, str] = {}
        for job, mark in jobs:
            value = key(job, mark)
            if value is None or value == _UNNAMED:
                continue
            if value in first:
                found.append(
                    Finding(
                        "CP109",
                        f"{job.file}: {what}",
                        f'{what} "{value}" once more',
                        f"it is the {what} of {first[value]} already",
                        f"Give each job a {what} of its own.",
                    )
                )
            first.setdefault(value, job.file)
    return found


def _marked(jobs: Sequence[tuple[Job, str | None]]) -> tuple[Job, ...]:
    """Give every job its mark: the user's own, else the initials of its name made unique."""
    taken = {mark for _, mark in jobs if mark}
    out = []
    for job, own in jobs:
        mark = own or _free_mark(job.name, taken)
        taken.add(mark)
        out.append(replace(job, mark=mark))
    return tuple(out)


def _free_mark(name: str, taken: set[str]) -> str:
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    initials = "".join(word[0].upper() for word in re.findall(r"[A-Za-z0-9]+", plain))[:_MARK_LENGTH] or "J"
    if initials not in taken:
        return initials
    for number in range(2, 10 ** (_MARK_LENGTH - 1)):
        mark = f"{initials[: _MARK_LENGTH - len(str(number))]}{number}"
        if mark not in taken:
            return mark
    letters = string.ascii_uppercase + string.digits
    return next("".join(m) for m in itertools.product(letters, repeat=_MARK_LENGTH) if "".join(m) not in taken)
