"""Job files and order sheets from disk to surveyed jobs, with every fault of every file at once.

A file with faults is surveyed as far as it goes, so that later stages can add what they find: unknown keys
are passed over, details and coursings at fault are left out.
"""

from __future__ import annotations

import copy
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from cutpath.errors import Finding, Severity, refuse_faults
from cutpath.families.desk import Desk
from cutpath.families.registry import usual_name
from cutpath.intake.checking import check
from cutpath.intake.files import file_name, read_text, reading_once
from cutpath.intake.parsing import parse_toml
from cutpath.intake.places import Keys
from cutpath.jobs.in_code import of_code
from cutpath.jobs.order_sheet import in_cells, is_sheet, read_sheet, row_of
from cutpath.jobs.schema import AnyDetail, JobFile
from cutpath.jobs.sizes import odd_sizes
from cutpath.jobs.surveying import survey
from cutpath.jobs.telling_apart import UNNAMED, told_apart
from cutpath.profiles import Practice, Sizes, lead_table, plausible, practice
from cutpath.profiles.rolls import rolls_list
from cutpath.values.nest import Roll
from cutpath.values.survey import Job

FORMER_KINDS = {
    "pipe slate": "lead slate",
    "top abutment": "top-edge abutment",
    "abutment gutter": "secret gutter",
}
"""Kinds of details by names that were given up, with the trade's names that took their place."""

_IN_CODE = "job"  # what findings call a job that came as a mapping
Source = str | Path | Mapping[str, object]
"""A job file, or a job as a mapping."""


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


def job(rolls: Sequence[Roll] | None = None, **keys: object) -> Job:
    """Survey one job that is built in code, with every default filled in.

    Parameters
    ----------
    rolls : sequence of Roll, optional
        See `load_job`.
    **keys
        The keys of a job file, such as ``name``, ``pitch`` in degrees and ``detail``, a list of mappings; None leaves
        a key out.

    Returns
    -------
    Job

    Raises
    ------
    Refused
        With every finding, when one of them is a fault.

    Examples
    --------
    >>> import cutpath
    >>> lean_to = cutpath.job(
    ...     name="Lean-to",
    ...     pitch=35,
    ...     detail=[{"kind": "step flashing", "length": 1200, "coursing": {"gauge": 75, "first_joint": 120}}],
    ... )
    >>> lean_to.details[0].water_line_mm
    65.0
    """
    jobs, findings = read_jobs([keys], rolls)
    refuse_faults(findings)
    return jobs[0]


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
    sources: Iterable[Source],
    rolls: Sequence[Roll] | None = None,
    limits: Practice | None = None,
    sizes: Sizes | None = None,
) -> tuple[tuple[Job, ...], tuple[Finding, ...]]:
    """Read and survey jobs as far as they go; faults are among the findings.

    Parameters
    ----------
    sources : iterable of str, Path or mapping
        Job files, order sheets (CSV or XLSX), or the same keys and values as a mapping; or one of these by itself.
    rolls : sequence of Roll, optional
        See `load_job`.
    limits : mapping of str to Fact, optional
        The practice that fills in what a file leaves out, such as a shop's own; the published one when left out.
    sizes : mapping of str to Plausible, optional
        What sizes can be; those that come with the tool when left out.

    Returns
    -------
    jobs, findings
        Jobs without their faulty details, and every finding. Files that hold nothing usable give no job.
    """
    stock = tuple(rolls_list() if rolls is None else rolls)
    trade = _Trade(stock, practice() if limits is None else limits, plausible() if sizes is None else sizes)
    jobs: list[tuple[Job, str | None]] = []
    once, found = _given_twice([sources] if isinstance(sources, str | Path | Mapping | Job) else sources)
    with reading_once():
        for source in once:
            if isinstance(source, Path) and is_sheet(source):
                more, told = _of_sheet(source, trade)
                jobs += more
                found += told
                continue
            raw = of_code(source, _IN_CODE) if isinstance(source, Mapping) else _read(source)
            if isinstance(raw, Finding):
                found.append(raw)
                continue
            place = Path() if isinstance(source, Mapping) else source
            file = _IN_CODE if isinstance(source, Mapping) else file_name(source)
            job, own_mark, findings = _surveyed(raw, file, place.parent, trade)
            found += findings
            if job is not None:
                jobs.append((job, own_mark))
    apart, notes = told_apart(jobs)
    return apart, (*found, *notes)


@dataclass(frozen=True, slots=True)
class _Trade:
    """The data of the trade that every file is held against."""

    rolls: tuple[Roll, ...]
    limits: Practice
    sizes: Sizes


@dataclass(frozen=True, slots=True)
class _Usable:
    """What of a file can be surveyed: its checked form, numbered details, and keys that were left out."""

    file: JobFile
    numbered: tuple[tuple[int, AnyDetail], ...]
    lost: frozenset[str]


def _read(path: Path) -> dict[str, object] | Finding:
    text = read_text(path)
    return text if isinstance(text, Finding) else parse_toml(text, file_name(path))


def _of_sheet(path: Path, trade: _Trade) -> tuple[list[tuple[Job, str | None]], list[Finding]]:
    """Survey the jobs of an order sheet; what is found is told by sheet, row and column, one fault to a cell."""
    asked, found = read_sheet(path)
    known = {finding.where for finding in found}
    jobs: list[tuple[Job, str | None]] = []
    for one in asked:
        job, mark, findings = _surveyed(one.raw, one.file, path.parent, trade)
        found += [f for f in in_cells(findings, {one.file: one.places}) if f.where not in known]
        if job is not None:
            jobs.append((replace(job, places=one.places), mark))
    return jobs, sorted(found, key=row_of)


def _surveyed(
    raw: dict[str, object], file: str, folder: Path, trade: _Trade
) -> tuple[Job | None, str | None, list[Finding]]:
    """Survey one job; drawings that it names are looked for in ``folder``."""
    raw, former = _by_todays_names(raw, file)
    usable, findings = _usable(raw, file, trade.sizes)
    findings = [*former, *findings]
    if usable is None:
        return None, None, findings
    desk = Desk(file, folder, usable.file, usable.lost, trade.limits, lead_table(), trade.rolls, trade.sizes)
    details, chimneys, groups = survey(desk, usable.numbered)
    desk.add(_alike(desk, usable.numbered))
    job = Job(
        name=usable.file.name,
        mark="",
        file=file,
        notes=usable.file.notes,
        exposure=usable.file.exposure,
        details=details,
        chimneys=chimneys,
        reads=tuple(map(str, desk.reads)),
        order=usable.file.order,
        due=str(usable.file.due),
        customer=usable.file.customer,
        site=usable.file.site,
        groups=groups,
        written={
            **usable.file.model_dump(warnings=False),
            "detail": {n: table.model_dump(exclude_unset=True, warnings=False) for n, table in usable.numbered},
        },
    )
    return job, usable.file.mark, [*findings, *desk.findings]


def _alike(desk: Desk, numbered: Iterable[tuple[int, AnyDetail]]) -> Iterator[Finding]:
    """Tell of details that are alike in every key: two of one kind, or one that was copied and left as it was."""
    seen: dict[str, int] = {}
    for number, table in numbered:
        first = seen.setdefault(repr(table), number)
        if first != number:
            yield desk.finding(
                "CP113",
                f"detail[{number}]",
                f"detail {first} once more, alike in every key, so both are cut",
                "one detail, with quantity where there are several",
                "Nothing to do where two are meant; else change what differs, or take one out.",
                Severity.NOTE,
            )


def _by_todays_names(raw: dict[str, object], file: str) -> tuple[dict[str, object], list[Finding]]:
    """Return a copy of raw data with kinds of details by their usual names, and a note of each former one."""
    details = raw.get("detail")
    if not isinstance(details, list):
        return raw, []
    findings, named = [], []
    for number, table in enumerate(details, 1):
        kind = table.get("kind") if isinstance(table, dict) else None
        name = FORMER_KINDS.get(kind) if isinstance(kind, str) else None
        if name is not None:
            told = f'its name is "{name}" now'
            remedy = f'Write kind = "{name}": the former name is read in this version for the last time.'
            place = f"{file}: detail[{number}].kind"
            findings.append(Finding("CP114", place, f'"{kind}" is a former name', told, remedy, Severity.NOTE))
            table = {**table, "kind": name}
        elif isinstance(kind, str):
            table = {**table, "kind": usual_name(kind)}
        named.append(table)
    return {**raw, "detail": named}, findings


def _usable(raw: dict[str, object], file: str, sizes: Sizes) -> tuple[_Usable | None, list[Finding]]:
    """Check a file whole, then its sizes; where it has faults, go on with what is left without them."""
    checked, placed = check(JobFile, raw, file)
    findings = [finding for _, finding in placed]
    kept = list(range(1, len(checked.detail) + 1)) if checked else []
    lost: frozenset[str] = frozenset()
    if checked is None:
        raw, kept, lost = _without(raw, placed)
        checked, _ = check(JobFile, raw, file)
    if checked is None:
        return None, findings
    odd = odd_sizes(checked, raw, file, sizes, kept)
    findings += [finding for _, finding in odd]
    bad = [(keys, finding) for keys, finding in odd if finding.severity is Severity.FAULT]
    if bad:
        raw, left, more = _without(raw, bad)
        lost, kept = lost | more, [kept[number - 1] for number in left]
        checked, _ = check(JobFile, raw, file)
    if checked is None:
        return None, findings
    return _Usable(checked, tuple(zip(kept, checked.detail, strict=True)), lost), findings


def _without(
    raw: dict[str, object], placed: Iterable[tuple[Keys, Finding]]
) -> tuple[dict[str, object], list[int], frozenset[str]]:
    """Return a copy of raw data without what is at fault, the numbers of the details kept, and the keys lost."""
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
        left["name"] = UNNAMED
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


def _given_twice(sources: Iterable[Source]) -> tuple[list[Path | Mapping[str, object]], list[Finding]]:
    """Return each file once, and a fault for each that is given again: a second set is ordered by its quantity.

    Raises
    ------
    TypeError
        For a job that is surveyed already: by which rolls and rules, it does not tell.
    """
    first: dict[Path, Path] = {}
    once: list[Path | Mapping[str, object]] = []
    found = []
    for source in sources:
        if isinstance(source, Job):
            raise TypeError(
                "a job file, an order sheet or a mapping is read, and not a Job: give what it was made from"
            )
        if isinstance(source, Mapping):
            once.append(source)
            continue
        path = Path(source)
        at = path if str(path) == "-" else Path(os.path.realpath(path))  # where links lead in a circle, it is read next
        if at in first:
            found.append(
                Finding(
                    "CP109",
                    file_name(path),
                    "the file is given twice",
                    f"each file once; it was read as {file_name(first[at])} already",
                    "Give it once. For a second set, give quantity in its details; for a second job like it, copy "
                    "the file.",
                )
            )
        else:
            first[at] = path
            once.append(path)
    return once, found
