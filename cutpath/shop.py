"""The stock joined to the rest: a nest draws on what the shelf holds; its output and reservation are one step.

A run is written down as being made before its output is put in place, and as reserved after that. Where it died in
between, the folder tells which it is: the run is reserved if its output is there, else all is as it was before.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from cutpath import output, stock
from cutpath.errors import Finding, Refused, Severity
from cutpath.profiles.rolls import rolls_list
from cutpath.reports.account.yields import account
from cutpath.shelf import Shelf
from cutpath.stock import StockFile
from cutpath.values.batch import Batch, Made
from cutpath.values.stock import Cut, Item, Part, Run, RunState


def opened(path: Path | None = None) -> tuple[StockFile, tuple[Finding, ...]]:
    """Return a stock file, once runs that were broken off in the making are settled, and what was settled.

    Parameters
    ----------
    path : Path, optional
        Without it, the file in the platform's folder for a program's data.

    Raises
    ------
    Refused
        CP801 when the file cannot be used, or there is no place for it.
    """
    path = stock.default_path() if path is None else path
    if path is None:
        found, remedy = "there is no folder for data: this user has no home", "Name the stock file: --stock FILE."
        raise Refused([Finding("CP801", "stock file", found, "a stock file of cutpath", remedy)])
    file = StockFile(path)
    told = []
    for run in file.read().runs.values():
        if run.state is RunState.MAKING and not _is_busy(Path(run.out)):
            place = _place_of(run)
            done = "its output is in place, and it is reserved" if place else "all is as it was before"
            remedy = "Nothing to do." if place else "Make it again if it is wanted."
            try:
                _settle(file, run, place)
            except Refused as refusal:  # a stock that can only be read is read all the same
                if any(finding.code != "CP801" for finding in refusal.findings):
                    raise
                done, remedy = "that cannot be settled here", "It is as soon as the stock file can be written."
            told.append(
                Finding(
                    "CP705",
                    f"run {run.id}",
                    f"it was broken off while it was put in place: {done}",
                    "a run that comes to its end",
                    remedy,
                    Severity.NOTE,
                )
            )
    return file, tuple(told)


def _is_busy(out: Path) -> bool:
    """Tell whether some run still writes to a folder; what a dead one left there is cleared up."""
    try:
        with output.claim_folder(out, replace_old=True):
            return False
    except Refused as refusal:
        return any(finding.code == "CP704" for finding in refusal.findings)


def _place_of(run: Run) -> Path | None:
    """Return the folder that holds a run's output, the one meant or one beside it; None where there is none."""
    out = Path(run.out)
    beside = sorted(out.parent.glob(f"{out.name}-*")) if os.path.isdir(out.parent) else []
    return next((folder for folder in (out, *beside) if run_in(folder) == run.id), None)


def run_in(folder: Path) -> str:
    """Return the name of the run whose output a folder holds, empty where it holds none."""
    try:
        manifest = output.read_manifest((folder / output.MANIFEST).read_bytes())
    except OSError:
        return ""
    return manifest.run if manifest else ""


def _settle(file: StockFile, run: Run, place: Path | None) -> None:
    out = None if place is None else str(place.resolve())
    file.change(lambda holding: stock.settle(holding, run.id, run.at, made=place is not None, out=out))


def shelf_for(
    path: Path | None, place: output.Place, rolls: str | Path | None = None
) -> tuple[Shelf, tuple[Finding, ...]]:
    """Return what a nest into a claimed folder may draw on, and what was settled on the way.

    Parameters
    ----------
    path : Path, optional
        The stock file; see `opened`.
    place : Place
        Where an earlier result is to be replaced, what is kept for that one run is free for this one.
    rolls : str or Path, optional
        A list of rolls that may be bought where the stock does not do.

    Raises
    ------
    Refused
        CP801 when the file cannot be used, CP806 when there is nothing to nest on, and what is wrong with the list.
    """
    file, told = opened(path)
    holding = file.read()
    old = holding.runs.get(run_in(place.target)) if place.replace_old else None
    replaces = old.id if old is not None and old.state is RunState.RESERVED else ""
    if old is not None and replaces and old.booked:
        raise Refused([*told, stock.cut_in_part(old)])
    every = [item for _, item in sorted(holding.items.items())]
    items = tuple(i for i in every if not i.run or i.run == replaces)
    kept = tuple(i for i in every if i not in items)
    listed = () if rolls is None else rolls_list(rolls)
    shelf = Shelf(file, items, listed, replaces, kept)
    if not items and not listed:
        found, accepted = "nothing on it is free", "rolls or offcuts to cut from"
        raise Refused([*told, Finding("CP806", str(file.path), found, accepted, shelf.remedy)])
    return shelf, told


T = TypeVar("T")

TRIES = 5
"""How often a nest is made anew where somebody else was quicker."""


def until_kept(make: Callable[[], T], told: Callable[[Sequence[Finding]], None]) -> T:
    """Nest and reserve; where somebody else got a roll meanwhile, do both once more on what is left.

    Parameters
    ----------
    make : callable
        Looks at the shelf, nests and reserves.
    told : callable
        Is told what was lost before each new try.

    Raises
    ------
    Refused
        What ``make`` refuses, and after `TRIES` of them what was lost last (CP803).
    """
    for number in range(2, TRIES + 1):
        try:
            return make()
        except stock.Lost as lost:
            again = f"Nothing to do: a new nest is made on what is left, try {number} of {TRIES}."
            told([replace(f, remedy=again, severity=Severity.NOTE) for f in lost.findings])
    return make()


def run_of(shelf: Shelf, made: Made, drawn: Mapping[str, Item], target: Path, at: str) -> Run:
    """Return the run of what was made: what it cuts, and where its output is to lie, the folder with links followed."""
    jobs = tuple(job.name for job in made.batch.jobs)
    cuts = cuts_of(made.batch, drawn)
    return Run(made.run, RunState.MAKING, at, str(target), cuts, jobs, shelf.replaces, _parts_of(made.batch))


def _parts_of(batch: Batch) -> tuple[Part, ...]:
    rolls: dict[str, Counter[str]] = {}
    for sheet in batch.sheets:
        for placement in sheet.nested.placements:
            rolls.setdefault(placement.id, Counter())[sheet.id] += 1
    none = Counter[str]()
    return tuple(
        Part(p.id, p.quantity, p.job, tuple(own), counts=tuple(own.values()))
        for p in batch.pieces
        for own in (rolls.get(p.id, none),)
    )


def put(file: StockFile, run: Run, files: Mapping[str, bytes], place: output.Place) -> output.Written:
    """Reserve what a run cuts and put its output in place: both or neither.

    Raises
    ------
    Lost
        CP803 when somebody else got one of its rolls meanwhile.
    Refused
        CP702 when the output cannot be written; CP801 with CP705 when the disk is full once it is.
    """
    if run.id == run.replaces:
        return place.put(files)  # the same again
    file.change(lambda holding: stock.reserve(holding, run), create=True)
    try:
        written = place.put(files)
    except BaseException:
        _settle(file, run, _place_of(run))
        raise
    try:
        _settle(file, run, written.path)
    except Refused as refusal:
        found = f"its output is in place in {written.path}, and its rolls are not reserved yet"
        remedy = "Nothing to do: the next command on this stock reserves them."
        more = Finding("CP705", f"run {run.id}", found, "a run that comes to its end", remedy, Severity.NOTE)
        raise Refused([*refusal.findings, more]) from refusal
    return written


def cuts_of(batch: Batch, drawn: Mapping[str, Item]) -> tuple[Cut, ...]:
    """Return what a batch cuts from each roll, as the stock books it."""
    cuts = []
    for sheet, tally in zip(batch.sheets, account(batch)["rolls"], strict=True):
        nested, item = sheet.nested, drawn.get(sheet.id)
        roll = nested.roll
        cuts.append(
            Cut(
                sheet=sheet.id,
                item=None if item is None else item.number,
                code=sheet.lead.code,
                mass_kg_m2=sheet.lead.mass_kg_m2,
                width_mm=roll.width_mm,
                length_mm=roll.length_mm,
                drawn_mm=nested.drawn_mm,
                pieces_mm2=tally["pieces_mm2"],
                kept_mm=tuple((o.length_mm, o.width_mm) for o in nested.offcuts),
                rest_kept=sheet.rest_kept,
                keep_mm=(sheet.keep.least_length_mm, sheet.keep.least_width_mm),
                price=roll.price if item is None else None,
            )
        )
    return tuple(cuts)
