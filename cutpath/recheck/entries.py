"""Entries of a job file against the surveys made of them: no detail, and no part of one, may be lost on the way."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from cutpath.errors import Finding
from cutpath.recheck.written import AT_FAULT, Table
from cutpath.values.survey import Job, Origin

_NOT_WANTED = (None, False)


def check_entries(job: Job) -> Iterator[Finding]:
    """Find entries of the file, and parts of them, that nothing was surveyed for."""
    there = {detail.head.origin.path for detail in job.details}
    for place, entry in job.written.get("detail", {}).items():
        for inside in _parts(entry):
            path = f"detail[{place}]{inside}"
            if path not in there:
                where = Origin(job.file, path).key("")
                yield Finding("CP419", where, "nothing surveyed", "a survey of all that was written", AT_FAULT)


def _parts(entry: Table) -> Iterator[str]:
    """Yield the key paths within an entry by which it asks for something: itself, further parts of a run, soakers."""
    if entry["kind"] != "chimney":
        yield ""
        above = entry.get("above")  # of a run its parts; of a lead slate a size
        yield from (f".above[{part}]" for part in range(1, len(above) + 1 if isinstance(above, list) else 1))
        if entry.get("soakers") not in _NOT_WANTED:
            yield ".soakers"
        return
    covered = entry.get("step_and_cover") not in _NOT_WANTED
    sides = "step_and_cover" if covered else "step_flashing"
    for key in ("apron", sides, "back_gutter", "cover_flashing"):
        if entry.get(key) is not False:
            yield f".{key}"
    own = entry.get("step_flashing")
    soakers = own.get("soakers") if isinstance(own, Mapping) else own
    if not covered and soakers is not False:
        yield ".step_flashing.soakers"
