"""Files of profiles, ours and a shop's own, read and held against what they may hold."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cache
from importlib.resources import as_file, files
from importlib.resources.abc import Traversable
from typing import Annotated, TypeVar

from pydantic import Field

from cutpath.ceilings import LARGEST_MM
from cutpath.errors import Finding, Refused
from cutpath.intake.checking import Strict, check
from cutpath.intake.files import NO_SUCH_FILE
from cutpath.intake.parsing import parse_toml
from cutpath.intake.places import did_you_mean
from cutpath.values.fact import Confidence

M = TypeVar("M", bound=Strict)
Name = Annotated[str, Field(min_length=1, max_length=80)]
Size = Annotated[float, Field(gt=0, le=LARGEST_MM, allow_inf_nan=False)]
Span = Annotated[list[Annotated[float, Field(allow_inf_nan=False)]], Field(min_length=2, max_length=2)]
Grade = Annotated[Confidence, Field(strict=False)]


def profile_root() -> Traversable:
    """Return the folder of profiles: inside an installed package, else beside the package."""
    inside = files("cutpath") / "profiles_data"
    if inside.is_dir():
        return inside
    with as_file(files("cutpath")) as package:
        return package.parent / "profiles"


def unread(text: Finding, code: str, accepted: str, names: Iterable[str]) -> Finding:
    """Return why a file cannot be read that might have been named by one of ``names`` too."""
    if not text.found.startswith(NO_SUCH_FILE):
        return replace(text, code=code, accepted=accepted)
    meant = did_you_mean(text.where, names)
    remedy = f"Did you mean {meant}?" if meant else f"Name a file, or one of {', '.join(names)}."
    return replace(text, code=code, accepted=accepted, remedy=remedy)


def toml_files(folder: str) -> list[Traversable]:
    """Return the files of a folder of profiles, by name."""
    found = [file for file in (profile_root() / folder).iterdir() if file.name.endswith(".toml")]
    return sorted(found, key=lambda file: file.name)


def profile_files(folder: str, model: type[M], brought: tuple[str, ...] = ()) -> list[M]:
    """Return the files of a folder of profiles, and after them those tables that families bring, by their names."""
    read = [(f"profiles/{folder}/{file.name}", file.read_text(encoding="utf-8")) for file in toml_files(folder)]
    out = [checked(model, parse_toml(text, where), where, "CP201") for where, text in read]
    for where, data in _of_families():
        own = {name: data[name] for name in brought if name in data}
        out += [checked(model, own, where, "CP201")] if own else []
    return out


@cache
def _of_families() -> tuple[tuple[str, Mapping[str, object]], ...]:
    """Return what stands in the file of each kind of detail, in its family's folder."""
    folders = sorted((f for f in (files("cutpath") / "families").iterdir() if f.is_dir()), key=lambda f: f.name)
    found = [(f"families/{folder.name}/{f.name}", f) for folder in folders for f in folder.iterdir()]
    named = sorted((where, file) for where, file in found if where.endswith(".toml"))
    return tuple((where, tomllib.loads(file.read_text(encoding="utf-8"))) for where, file in named)


def checked(model: type[M], data: dict[str, object] | Finding, where: str, code: str) -> M:
    """Return the data of a file as its model; ``data`` is a finding where the text could not be read.

    Raises
    ------
    Refused
        With every fault, each by the ``code``.
    """
    if isinstance(data, Finding):
        raise Refused([replace(data, code=code)])
    value, findings = check(model, data, where, code=code)
    if value is None:
        raise Refused(finding for _, finding in findings)
    return value
