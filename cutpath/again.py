"""A run once more: from what its manifest keeps, with nothing searched anew, and what has changed since.

The layout is taken as it was kept and goes through the judge again, so a run comes out the same on any machine, however
fast, and whatever became of its job files.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

from cutpath import __version__, making, output, pipeline
from cutpath.ceilings import MANIFEST_BYTES
from cutpath.errors import Finding, Refused, Severity, refuse_faults
from cutpath.intake.files import read_bytes, remembering
from cutpath.intake.places import key_path
from cutpath.machines import machines
from cutpath.output import made_from as kept
from cutpath.pieces.blanks import blanks_of
from cutpath.values.batch import Batch, Made, Planned
from cutpath.values.machine import Machine
from cutpath.values.made_from import MadeFrom
from cutpath.values.nest import Division, RunChoice
from cutpath.values.piece import Piece
from cutpath.values.told import NotAsToldError
from cutpath.writers.label_sheets import grid_named


@dataclass(frozen=True, slots=True)
class Earlier:
    """A run as its folder has it; ``written`` is the manifest byte for byte, with all that it tells."""

    folder: Path
    written: bytes
    manifest: output.Manifest
    made_from: MadeFrom

    @property
    def run(self) -> str:
        """The run's name."""
        return self.manifest.run


def earlier(folder: Path) -> Earlier:
    """Return the run that a folder holds.

    Raises
    ------
    Refused
        CP706 where it holds none that keeps what it was made from.
    """
    try:
        written = read_bytes(folder / output.MANIFEST, MANIFEST_BYTES, inside=folder)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise Refused([_not_again(folder, f"its {output.MANIFEST} cannot be read: {reason}")]) from error
    manifest = output.read_manifest(written)
    if manifest is None:
        raise Refused([_not_again(folder, f"its {output.MANIFEST} is not as cutpath wrote it")])
    if not manifest.made_from:
        found = f"cutpath {manifest.version} made it, which kept nothing of what it was made from"
        raise Refused([_not_again(folder, found)])
    try:
        made_from = kept.made_from(manifest.made_from)
        if made_from.asked.labels:
            _held_to_a_grid(made_from.asked.labels)
        return Earlier(folder, written, manifest, made_from)
    except NotAsToldError as error:
        where = f"{folder / output.MANIFEST}: {key_path(('made_from', *error.keys))}"
        found = f"cutpath {manifest.version} made it, and not in the form of {__version__}: {error.found}"
        raise Refused([_not_again(where, found)]) from None


def _held_to_a_grid(labels: str) -> None:
    try:
        grid_named(labels)
    except ValueError as error:
        raise NotAsToldError(str(error), ("asked", "labels")) from None


def _not_again(where: Path | str, found: str) -> Finding:
    remedy = "Name the folder of a run as it was written, or make the job anew."
    return Finding("CP706", str(where), found, "the folder of a run, with its manifest", remedy)


def planned_again(run: Earlier) -> tuple[Planned, tuple[Machine, ...]]:
    """Plan what a run was made from once more, with the machines that it was made for; runs are divided evenly.

    Raises
    ------
    Refused
        Where this version finds a fault that the one which made it did not find.
    """
    made_from = run.made_from
    with remembering(made_from.files, alone=True):
        tools = machines(made_from.asked.machines)
        return making.plan(made_from.asked, tools, made_from.stock), tools


def planned_anew(run: Earlier, jobs: Sequence[str]) -> tuple[Planned, dict[str, bytes]]:
    """Plan job files as they are now with all else that a run was made from, and return them as they were read.

    Runs are divided as they were, where they can be still.

    Raises
    ------
    Refused
        With every fault of the job files.
    """
    asked = replace(run.made_from.asked, jobs=tuple(jobs))
    others = {name for name in (asked.rolls, asked.practice, *asked.machines) if name is not None}
    from_manifest = {*(others - set(run.made_from.files)), *(set(jobs) & set(run.made_from.asked.jobs))}
    refuse_faults(_no_plain_file(name) for name in sorted(from_manifest) if _is_odd_file(name))
    with remembering({name: data for name, data in run.made_from.files.items() if name in others}) as read:
        planned = making.plan(asked, machines(asked.machines), run.made_from.stock)
    choices = {choice.id: choice for _, choice in planned.choices}
    fit = {name: d for name, d in run.made_from.divisions.items() if name in choices and _may_be(choices[name], d)}
    return pipeline.divided(planned, fit), read


def _is_odd_file(name: str) -> bool:
    """Tell pipes and devices, which a person may name, and a manifest may not."""
    return os.path.exists(name) and not os.path.isfile(name) and not os.path.isdir(name)


def _no_plain_file(name: str) -> Finding:
    return Finding("CP101", name, "it is not a plain file", "the file as it was", "Name the job files that are meant.")


def _may_be(choice: RunChoice, division: Division) -> bool:
    lengths = {(length.first, length.last) for length in choice.lengths}
    return len(division) == len(choice.even) and lengths.issuperset(pairwise(division))


def compared(run: Earlier, jobs: Sequence[str] = ()) -> tuple[list[Piece], list[Piece], list[str]]:
    """Return the pieces of a run as they were cut and as its job files have them now, and jobs that are left out.

    Parameters
    ----------
    run : Earlier
    jobs : sequence of str, optional
        The job files that are meant, where they are not those of the run; jobs of the run that are in none of them are
        left out.

    Raises
    ------
    Refused
        With every fault of the job files.
    """
    planned, _ = planned_again(run)
    planned = pipeline.divided(planned, run.made_from.divisions)
    anew, _ = planned_anew(run, jobs or run.made_from.asked.jobs)
    names = {job.name for job in anew.jobs}
    only = run.made_from.only
    before = [p for p in planned.pieces if p.job in names and (not only or p.id in only)]
    now = [p for p in anew.pieces if not only or p.id in only]
    return before, now, [job.name for job in planned.jobs if job.name not in names]


def batch_again(run: Earlier) -> tuple[Batch, tuple[Machine, ...]]:
    """Return the batch of a run once more, as its pieces lay, with the machines that it was made for.

    Raises
    ------
    Refused
        Where this version finds a fault that the one which made it did not find, or cuts from other leads (CP706).
    """
    made_from = run.made_from
    planned, tools = planned_again(run)
    divisions = made_from.divisions
    if made_from.only:
        planned = pipeline.divided(planned, divisions)
        refuse_faults(_more_than_there_are(run, planned.pieces))
        planned, divisions = only(planned, made_from.only, made_from.again), {}
    if len(planned.problems) != len(made_from.laid):
        raise Refused([_not_again(run.folder, f"cutpath {__version__} cuts it from other leads than before")])
    problems = tuple(
        (lead, replace(problem, rolls=laid.rolls))
        for (lead, problem), laid in zip(planned.problems, made_from.laid, strict=True)
    )
    nests = [laid.nest for laid in made_from.laid]
    batch = pipeline.batch_of(replace(planned, problems=problems), nests, divisions).with_names(made_from.names)
    return replace(batch, findings=(*batch.findings, *made_from.findings)), tools


def _more_than_there_are(run: Earlier, pieces: Iterable[Piece]) -> Iterator[Finding]:
    quantities = {piece.id: piece.quantity for piece in pieces}
    for name, count in run.made_from.only.items():
        if not 1 <= count <= quantities.get(name, 0):
            where = f"{run.folder / output.MANIFEST}: {key_path(('made_from', 'only', name))}"
            yield _not_again(where, f"{count} of a piece of which there are {quantities.get(name, 0)}")


def repeat(run: Earlier) -> Made:
    """Make a run once more, from what it was made from and as its pieces lay.

    Raises
    ------
    Refused
        As `batch_again`.
    """
    return making.written(*batch_again(run), run.made_from)


def differences(run: Earlier, made: Made) -> tuple[str, ...]:
    """Return the files that differ between a run and what was made once more: other bytes, gone, or new."""
    now = output.read_manifest(made.files[output.MANIFEST])
    before, after = (
        {e.path: e.sha256 for e in manifest.entries} if manifest else {} for manifest in (run.manifest, now)
    )
    found = [path for path in (*before, *(p for p in after if p not in before)) if before.get(path) != after.get(path)]
    return tuple(found if found or made.files[output.MANIFEST] == run.written else [output.MANIFEST])


def changed_inputs(made_from: MadeFrom) -> list[Finding]:
    """Say which files that a run was made from are not what they were, or not there any more."""
    found = []
    for name, data in made_from.files.items():
        there = os.path.isfile(name)
        if name == "-" or (there and _holds(Path(name), data)):
            continue
        what = "it has changed since the run was made" if there else "it cannot be found from this folder"
        remedy = "`cutpath run compare` says which pieces changed." if there else "The run keeps it as it was."
        found.append(Finding("CP707", name, what, "the file as it was", remedy, Severity.NOTE))
    return found


def touched(run: Earlier) -> list[Finding]:
    """Warn where the folder of a run is not as it was written: files changed, or some of them gone."""
    paths = [entry.path for entry in run.manifest.entries]
    gone = [path for path in paths if not os.path.lexists(run.folder / path)]
    told = [] if len(gone) == len(paths) else [("gone", gone)]  # a manifest by itself is all that is needed
    try:
        told.append(("changed since it was written", [*output.contents(run.folder).changed]))
    except OSError as error:
        told.append(((error.strerror or str(error)).lower(), [str(error.filename)]))
    return [
        Finding(
            "CP708", str(run.folder), f"{what}: {output.names_in_words(names)}", "the folder as it was written",
            "Go by what is made once more: --out DIR writes it.", Severity.WARNING,
        )
        for what, names in told if names
    ]  # fmt: skip


def _holds(file: Path, data: bytes) -> bool:
    try:
        return file.stat().st_size == len(data) and file.read_bytes() == data
    except OSError:
        return False


def only(planned: Planned, wanted: Mapping[str, int], run: str) -> Planned:
    """Return the part of a divided plan that cuts so many of some pieces of a run once more, and says so."""
    pieces = tuple(replace(p, quantity=wanted[p.id]) for p in planned.pieces if p.id in wanted)
    names, places = {p.job for p in pieces}, tuple(p.where for p in pieces)
    notes = tuple(
        Finding(
            "CP807",
            piece.id,
            f"cut once more, {piece.quantity} off, for run {run}",
            "a piece in the place of the first",
            "Throw the first one on the scrap pile, so that it is not fitted.",
            Severity.NOTE,
        )
        for piece in pieces
    )
    return replace(
        planned,
        jobs=tuple(job for job in planned.jobs if job.name in names),
        pieces=pieces,
        problems=tuple(
            (lead, replace(problem, blanks=blanks))
            for lead, problem in planned.problems
            if (blanks := blanks_of(lead, pieces))
        ),
        proofs=tuple(proof for proof in planned.proofs if proof.piece in wanted),
        findings=(*notes, *(f for f in planned.findings if f.where.startswith(places) or f.where in wanted)),
        choices=(),
        divided={},
        beside=tuple(p for p in planned.pieces if p.id not in wanted),
    )
