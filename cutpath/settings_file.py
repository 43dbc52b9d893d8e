"""Settings files: what is settled beside the jobs or by the user, so that it need not be typed each time.

A file is called ``cutpath.toml``. The one beside the jobs goes before the user's, which lies in the platform's folder
for a program's configuration; what is typed goes before both. Files that a settings file names are looked for from
where it lies.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from cutpath.errors import Finding, Refused, Severity
from cutpath.found import own_folder
from cutpath.intake.checking import Strict, check
from cutpath.intake.files import read_text
from cutpath.intake.parsing import parse_toml
from cutpath.intake.places import Keys, did_you_mean, where
from cutpath.machines import machine_names
from cutpath.profiles.rolls import DEFAULT_ROLLS, rolls_names
from cutpath.units import NotUnderstoodError, length_mm, written
from cutpath.values.choices import Choices, Origin, Setting
from cutpath.values.formats import Format

SETTINGS = "cutpath.toml"
_MOST_GAP_MM = 1000.0

_Name = Annotated[str, Field(min_length=1, max_length=1000)]
_Form = Annotated[Format, Field(strict=False)]


def _each(value: object) -> object:
    """Take one name for a list of one."""
    return [value] if isinstance(value, str) else value


def _stock(value: object) -> object:
    """Take true, false or the name of a file.

    Raises
    ------
    NotUnderstoodError
        When it is none of them.
    """
    if isinstance(value, bool) or (isinstance(value, str) and value):
        return value
    remedy = "Write true to draw on the usual stock file, or the name of another; false to draw on none."
    raise NotUnderstoodError(written(value), "true, false or the name of a file", remedy)


def _formats(value: object) -> object:
    return [form.value for form in Format] if value == "all" else _each(value)


class Settled(Strict):
    """What a settings file may say of every batch, and a list of batches of one."""

    rolls: _Name | None = Field(None, description="a list of rolls by its name, or a TOML or JSON file")
    practice: _Name | None = Field(None, description="a TOML file with the shop's own rules")
    machine: Annotated[list[_Name], BeforeValidator(_each)] | None = Field(
        None, description="a machine by its name or a TOML file, or a list of them"
    )
    gap: Annotated[float, Field(ge=0, le=_MOST_GAP_MM), BeforeValidator(length_mm)] | None = Field(
        None, description='least gap between pieces, in mm or as text such as "2 mm"'
    )
    formats: Annotated[list[_Form], BeforeValidator(_formats)] | None = Field(
        None, description='what is written beside report and tickets: "all", or a list of formats'
    )
    stock: Annotated[bool | _Name, BeforeValidator(_stock)] | None = Field(
        None, description="true to draw on the usual stock file, or the name of another; false to draw on none"
    )


class _File(Settled):
    prices: _Name | None = Field(None, description="a TOML file with the shop's own prices, for quotes")


KEYS = tuple(_File.model_fields)
"""Every key of a settings file, in the order in which they are told."""


@dataclass(frozen=True, slots=True)
class Layer:
    """What one source settles: values by key as they were written, and ready for use; ``file`` where they stand."""

    origin: Origin
    written: Mapping[str, object]
    ready: Mapping[str, Any]
    file: Path | None = None


def user_file() -> Path | None:
    """Return where the user's own settings lie, whether there are any or not; None for a user without a home."""
    from platformdirs import user_config_path

    folder = own_folder(user_config_path)
    return None if folder is None else folder / SETTINGS


def beside(jobs: Iterable[str | Path]) -> Path | None:
    """Return the settings file that lies beside the jobs, or in the working folder where none is named.

    Raises
    ------
    Refused
        CP205 when jobs of several folders each have their own.
    """
    folders = [Path() if str(job) == "-" else Path(job).parent for job in jobs] or [Path()]
    places = (folder / SETTINGS for folder in folders)
    files = {file.resolve(): file for file in places if os.path.exists(file)}
    if len(files) > 1:
        names = " and ".join(str(file) for file in files.values())
        raise Refused(
            [
                Finding(
                    "CP205",
                    names,
                    f"{len(files)} settings files for jobs that are cut together",
                    "one of them",
                    "Name the one that is meant with --settings FILE.",
                )
            ]
        )
    return next(iter(files.values()), None)


def layers(jobs: Iterable[str | Path] = (), own: Path | None = None) -> tuple[Layer, ...]:
    """Read what is settled for jobs, the file that goes first before the other; ``own`` stands in the place of both.

    Raises
    ------
    Refused
        CP205 with every fault of every file, each with its key path.
    """
    if own is not None:
        return (_read(own, Origin.BESIDE),)
    near, user = beside(jobs), user_file()
    places = [] if near is None else [(near, Origin.BESIDE)]
    if user is not None and _may_be_there(user) and (near is None or user.resolve() != near.resolve()):
        places.append((user, Origin.USER))
    found: list[Finding] = []
    read = []
    for file, origin in places:
        try:
            read.append(_read(file, origin))
        except Refused as refusal:
            found += refusal.findings
    if found:
        raise Refused(found)
    return tuple(read)


def _read(file: Path, origin: Origin) -> Layer:
    text = read_text(file)
    raw = text if isinstance(text, Finding) else parse_toml(text, str(file))
    if isinstance(raw, Finding):
        raise Refused([Finding("CP205", raw.where, raw.found, raw.accepted, raw.remedy)])
    if isinstance(text, str) and not text.strip():  # what was settled is lost, and nobody would hear of it
        what, remedy = "an empty file", "Write what was settled in it again, or take the file away."
        raise Refused([Finding("CP205", str(file), what, "one setting at least", remedy)])
    table, faults = check(_File, raw, str(file), code="CP205")
    found = [*(finding for _, finding in faults), *unknown_names(raw, file)]
    if table is None or found:
        raise Refused(found)
    return layer_of(table, raw, file, origin)


def layer_of(table: Settled, raw: Mapping[str, object], file: Path, origin: Origin) -> Layer:
    """Return what a checked table of a file settles; ``raw`` is the same table as it was written."""
    own = {key: raw[key] for key in KEYS if key in raw}
    return Layer(origin, own, {key: _ready(getattr(table, key), key, file.parent) for key in own}, file)


def unknown_names(raw: Mapping[str, object], file: Path, at: Keys = ()) -> list[Finding]:
    """Find names of rolls, rules and machines that are neither known nor files, in a table ``at`` a key path."""
    known: dict[str, Sequence[str]] = {"rolls": rolls_names(), "practice": (), "machine": machine_names()}
    return [finding for key, names in known.items() for finding in _unknown(key, raw, file, names, at)]


def _ready(value: Any, key: str, folder: Path) -> object:  # noqa: ANN401 - whatever the key may hold
    """Return a checked value as it is used; names of files count from ``folder``."""
    match key:
        case "rolls":
            return _found(value, folder)
        case "practice" | "prices":
            return str(folder / value)
        case "machine":
            return tuple(_found(name, folder) for name in value)
        case "formats":
            return frozenset(value)
        case "stock":
            return {True: "", False: None}[value] if isinstance(value, bool) else str(folder / value)
        case _:
            return value


def _found(name: str, folder: Path) -> str:
    return str(folder / name) if _is_file(name) else name


def _is_file(name: str) -> bool:
    """Tell whether a name is a file's, not that of something that comes with the tool: it has an ending or a folder."""
    return bool(Path(name).suffix) or len(Path(name).parts) > 1


def _may_be_there(file: Path) -> bool:
    """Tell whether there is such a file, or its folder is closed: then reading it says so."""
    try:
        return file.is_file()
    except OSError:
        return True


def _unknown(key: str, raw: Mapping[str, object], file: Path, known: Sequence[str], at: Keys) -> Iterator[Finding]:
    value = raw.get(key)
    names = [value] if isinstance(value, str) else value if isinstance(value, list) else ()
    for number, name in ((n, name) for n, name in enumerate(names) if isinstance(name, str) and name):
        path = where(str(file), (*at, key, number) if isinstance(value, list) else (*at, key))
        if _is_file(name) or not known:
            if not os.path.isfile(file.parent / name):
                remedy = "A file is looked for from the folder of the file that names it."
                yield Finding("CP205", path, f'no file "{name}"', "a file that is there", remedy)
        elif name not in known:
            meant = did_you_mean(name, known)
            remedy = f"Did you mean {meant}?" if meant else "Choose one of these, or name a file with its ending."
            yield Finding("CP205", path, f'"{name}"', f"one of {', '.join(known)}, or a file", remedy)


_BUILT_IN = Layer(
    Origin.BUILT_IN,
    {"rolls": DEFAULT_ROLLS, "practice": None, "machine": [], "gap": 0, "formats": [], "stock": False, "prices": None},
    {
        "rolls": None,
        "practice": None,
        "machine": (),
        "gap": 0.0,
        "formats": frozenset(),
        "stock": None,
        "prices": None,
    },
)


def choose(given: Mapping[str, Any], read: Sequence[Layer]) -> Choices:
    """Settle everything: what was given on the command line, then what was read, then what is built in.

    Parameters
    ----------
    given : mapping
        Keys of a settings file to what was typed for them, ready for use; None where nothing was. ``stock`` is the name
        of a file, empty for the one that is settled or else the usual one, and False for none.
    read : sequence of Layer
        See `layers`.
    """
    typed = {key: value for key, value in given.items() if value is not None}
    ready = dict(typed)
    if typed.get("stock") is False:
        ready["stock"] = None
    elif typed.get("stock") == "":
        ready["stock"] = next((layer.ready["stock"] for layer in read if layer.ready.get("stock")), "")
    order = (Layer(Origin.COMMAND, {key: _plain(value) for key, value in typed.items()}, ready), *read, _BUILT_IN)
    by_key = {key: next(layer for layer in order if key in layer.written) for key in KEYS}
    use = {key: layer.ready[key] for key, layer in by_key.items()}
    return Choices(
        rolls=use["rolls"],
        practice=use["practice"],
        machines=use["machine"],
        gap_mm=use["gap"],
        formats=use["formats"],
        stock=use["stock"],
        prices=use["prices"],
        settled=tuple(Setting(key, layer.written[key], layer.origin, layer.file) for key, layer in by_key.items()),
    )


def lacking_prices(choices: Choices) -> list[Finding]:
    """Warn of a file of prices that is settled and is not there: nothing but a quote reads it, and so would say so."""
    setting = next(s for s in choices.settled if s.key == "prices")
    if choices.prices is None or os.path.isfile(choices.prices):
        return []
    remedy = "A quote needs it; it is looked for from the folder of the file that names it."
    at, found = where(str(setting.file), ("prices",)), f'no file "{setting.value}"'
    return [Finding("CP205", at, found, "a file that is there", remedy, Severity.WARNING)]


def _plain(value: object) -> object:
    """Return what was typed as a settings file would have it."""
    if isinstance(value, frozenset | tuple):
        return sorted(map(str, value)) if isinstance(value, frozenset) else list(value)
    return True if value == "" else value
