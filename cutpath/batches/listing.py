"""The file that lists batches: TOML, a table ``[[batch]]`` for each, and at its top what all of them share.

::

    rolls = "ladder-30"
    seconds = 10

    [[batch]]
    name = "north"
    jobs = ["north/chimney.toml", "north/orders.xlsx"]
    folder = "cut/north"

What a batch says goes before the top of the list, that before settings files beside its jobs and the user's own. Names
of files and folders count from where the list lies. Seconds are counted as work, and no clock is read, so that a batch
comes out the same on whatever machine makes it, however busy.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from cutpath.ceilings import LARGEST_MM, SEARCH_S
from cutpath.errors import Finding, Refused
from cutpath.intake.checking import THAT_PRINT, check
from cutpath.intake.files import is_closed, read_text
from cutpath.intake.parsing import parse_toml
from cutpath.intake.places import Keys, where
from cutpath.machines import machines
from cutpath.settings_file import SETTINGS, Layer, Settled, choose, layer_of, layers, unknown_names
from cutpath.units import length_mm
from cutpath.values.choices import Choices, Origin
from cutpath.values.made_from import Asked
from cutpath.values.nest import STEPS_PER_SECOND, Budget, Objective, OffcutRule
from cutpath.values.settings import Settings

_CODE = "CP208"

_Name = Annotated[str, Field(min_length=1, max_length=1000)]
_LengthMm = Annotated[float, Field(ge=0, le=LARGEST_MM), BeforeValidator(length_mm)]


class _How(Settled):
    """What a batch may say, and the top of the list for all of them."""

    settings: _Name | None = Field(None, description="a settings file in the place of those that are found")
    seconds: float = Field(
        20.0, ge=0, le=SEARCH_S, description=f"most seconds to search, each counted as {STEPS_PER_SECOND} steps"
    )
    work: int | None = Field(
        None, ge=0, le=int(SEARCH_S) * STEPS_PER_SECOND, description="steps of the search, in place of seconds"
    )
    seed: int = Field(1, ge=0, description="a whole number; same seed, same result")
    least: Literal["drawn", "bought"] = Field("drawn", description="the lead drawn, or whole rolls bought")
    opening: float = Field(
        0.0, ge=0, le=1e6, description="what opening a roll costs beside its lead: money where all have prices, else kg"
    )
    edge_trim: _LengthMm = Field(0.0, description="kept clear at the roll's edges and ends, in mm")
    keep: Annotated[list[_LengthMm], Field(min_length=2, max_length=2)] = Field(
        [300.0, 150.0], description="length and width of the smallest offcut that is kept, in mm"
    )
    worth: float = Field(0.5, ge=0, le=1, description="worth of a kept offcut as a share of new lead")
    even_lengths: bool = Field(default=False, description="true to divide every run evenly")
    either_face: bool = Field(default=False, description="true to let pieces lie face down too")
    hidden_side: bool = Field(default=False, description="true to letter pieces on their hidden side")
    in_frames: bool = Field(default=False, description="true to let no piece stand across two frames of a machine")
    templates: bool = Field(default=False, description="true to write every piece as a full-size pattern too")
    labels: Literal["", "2x7", "2x8", "3x7", "3x8"] = Field(
        "", description="labels of the pieces, so many across and down a sheet; empty for none"
    )
    one_label: bool = Field(default=False, description="true for one label to all pieces alike in a pack")


class _Batch(_How):
    name: Annotated[_Name, THAT_PRINT] | None = Field(None, description="what the batch is called; else its folder")
    jobs: Annotated[list[_Name], Field(min_length=1)] = Field(
        description="job files and order sheets; * and ? stand for any letters of a name"
    )
    folder: _Name = Field(description="new folder for everything that is written")


class _File(_How):
    batch: Annotated[list[_Batch], Field(min_length=1)] = Field(description="batches, each a table [[batch]]")


@dataclass(frozen=True, slots=True)
class Entry:
    """One batch of a list: its name, its folder, what is asked, and the stock that it draws on (empty: the usual)."""

    name: str
    folder: Path
    asked: Asked
    stock: str | None = None

    def reads(self) -> tuple[str, ...]:
        """Return every name that may be that of a file which is read."""
        names = (*self.asked.jobs, self.asked.rolls, self.asked.practice, *self.asked.machines)
        return tuple(name for name in names if name)


def read_list(file: Path) -> tuple[Entry, ...]:
    """Read a list of batches with all settings that hold for each.

    Raises
    ------
    Refused
        CP208 with every fault of the list, each with its key path; what is wrong with settings and machines.
    """
    text = read_text(file)
    raw = text if isinstance(text, Finding) else parse_toml(text, str(file))
    if isinstance(raw, Finding):
        raise Refused([Finding(_CODE, raw.where, raw.found, raw.accepted, raw.remedy)])
    table, faults = check(_File, raw, str(file), code=_CODE)
    found = [finding for _, finding in faults]
    tables = _tables(raw)
    for at, own in [((), raw), *tables]:
        found += [replace(f, code=_CODE) for f in unknown_names(own, file, at)]
    if table is None or found:
        raise Refused(found)
    top = layer_of(table, raw, file, Origin.LIST)
    entries = []
    for (at, own), batch in zip(tables, table.batch, strict=True):
        try:
            entries.append(_entry(batch, _how(batch, table), (layer_of(batch, own, file, Origin.LIST), top), file))
        except _WrongError as wrong:
            key, *words = wrong.args
            found.append(Finding(_CODE, where(str(file), (*at, key)), *words))
        except Refused as refusal:
            found += refusal.findings
    found += _shared(table.batch, file)
    if found:
        raise Refused(dict.fromkeys(found))
    return tuple(entries)


def _tables(raw: Mapping[str, object]) -> list[tuple[Keys, Mapping[str, object]]]:
    listed = raw.get("batch")
    all_of_them = listed if isinstance(listed, list) else ()
    return [(("batch", number), own) for number, own in enumerate(all_of_them) if isinstance(own, dict)]


def _how(batch: _Batch, top: _File) -> _How:
    """Return what a batch says, and else the top of the list; seconds and work stand in each other's place."""
    own = batch.model_fields_set & _HOW
    passed_over = _BUDGET if own & _BUDGET else frozenset()
    said = {key: getattr(top, key) for key in top.model_fields_set & _HOW - passed_over}
    return _How.model_construct(**{**said, **{key: getattr(batch, key) for key in own}})


_HOW = frozenset(_How.model_fields) - frozenset(Settled.model_fields)
_BUDGET = frozenset({"seconds", "work"})


class _WrongError(Exception):
    """Key, what was found, what is accepted and what to do."""


def _entry(batch: _Batch, how: _How, own: Sequence[Layer], file: Path) -> Entry:
    """Settle everything for one batch.

    Raises
    ------
    _WrongError
        When two of its keys do not go together, or no file bears the name of a job.
    Refused
        What is wrong with settings files and machines.
    """
    if how.model_fields_set >= _BUDGET:
        raise _WrongError("work", "seconds and work", "one of the two", "Take one of them out.")
    if how.opening and how.least == "drawn":
        remedy = 'Write least = "bought" too, or take it out.'
        raise _WrongError("opening", f"{how.opening:g}, and the least is drawn", "it with the least bought", remedy)
    if how.either_face and how.hidden_side:
        raise _WrongError("either_face", "true, and hidden_side too", "one of the two", "Take one of them out.")
    jobs = [str(path) for name in batch.jobs for path in _files(name, file)]
    chosen = choose({}, (*own, *layers(jobs, None if how.settings is None else file.parent / how.settings)))
    if how.in_frames and not chosen.machines:
        remedy = 'Name the machine: machine = "...".'
        raise _WrongError("in_frames", "true, without a machine", "a machine whose frames are meant", remedy)
    asked = Asked(
        jobs=tuple(jobs),
        rolls=chosen.rolls,
        practice=chosen.practice,
        machines=chosen.machines,
        settings=_settings(chosen, how),
        formats=chosen.formats,
        templates=() if how.templates else None,
        labels=how.labels,
        one_label=how.one_label,
        settled=chosen.told(),
    )
    return Entry(batch.name or batch.folder, file.parent / batch.folder, asked, chosen.stock)


def _files(name: str, listed_in: Path) -> Sequence[Path]:
    """Return the files that are meant by a name of a job, in order.

    Settings, the list itself, and what programs leave beside an open file (``~$``) or hide (``.``) are no jobs.

    Raises
    ------
    _WrongError
        When there are none.
    """
    if name == "-":
        raise _WrongError("jobs", '"-", which is standard input', "names of files", "Write the job into a file.")
    if not set(name) & set("*?"):
        return [listed_in.parent / name]
    asked = listed_in.parent / name
    root = Path(asked.anchor)
    try:
        found = sorted(path for path in root.glob(str(asked.relative_to(root))) if path.name != SETTINGS)
        found = [path for path in found if path != listed_in and not path.name.startswith((".", "~$"))]
    except (OSError, ValueError):  # no name at all, such as a**b
        found = []
    if not found and is_closed(asked.parent):
        what = f"{asked.parent.as_posix()}/ cannot be listed"
        raise _WrongError("jobs", what, "a folder that may be read", "Check whether you may read it.")
    if not found:
        remedy = "Files are looked for from the folder of the list; * and ? stand for letters of one name."
        raise _WrongError("jobs", f'no file is called "{name}"', "job files that are there", remedy)
    return found


def _settings(chosen: Choices, how: _How) -> Settings:
    steps = round(how.seconds * STEPS_PER_SECOND) if how.work is None else how.work
    settings = Settings(
        gap_mm=chosen.gap_mm,
        edge_trim_mm=how.edge_trim,
        offcuts=OffcutRule(how.keep[0], how.keep[1], how.worth),
        objective=Objective(how.least),
        opening=how.opening,
        budget=Budget(work=steps),
        seed=how.seed,
        choose_lengths=not how.even_lengths,
        either_face=how.either_face,
        hidden_side=how.hidden_side,
    )
    return settings.on(machines(chosen.machines), in_frames=how.in_frames)


def _shared(batches: Sequence[_Batch], file: Path) -> Iterator[Finding]:
    """Find batches that would be written into the folder of another or within it, and names that stand twice.

    Capitals tell folders apart on some machines and not on others, so they do not count.
    """
    folders = [Path(os.path.realpath(file.parent / batch.folder).casefold()) for batch in batches]
    first: dict[Path, int] = {}
    for number, folder in enumerate(folders):
        first.setdefault(folder, number)
    names: dict[str, int] = {}
    for number, (batch, folder) in enumerate(zip(batches, folders, strict=True)):
        path = where(str(file), ("batch", number, "folder"))
        other = next((first[place] for place in (folder, *folder.parents) if first.get(place, number) != number), None)
        if other is not None:
            lies = "is" if folders[other] == folder else "lies in"
            found = f'"{batch.folder}" {lies} the folder of batch[{other + 1}]'
            own = "a folder of its own for each batch, whatever its capitals"
            yield Finding(_CODE, path, found, own, "Name another folder.")
        name = batch.name or batch.folder
        twice = names.setdefault(name, number)
        if twice != number and batch.name is not None:
            found = f'"{name}" is what batch[{twice + 1}] is called'
            path = where(str(file), ("batch", number, "name"))
            yield Finding(_CODE, path, found, "a name of its own for each batch", "Give it another name.")
