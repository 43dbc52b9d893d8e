"""What is found where it stands, so that no list has to name it: what a package holds, and a user's own folders."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules
from types import ModuleType


def modules(package: str) -> Mapping[str, ModuleType]:
    """Return every module that stands in a package, imported, by its short name in the order of the alphabet."""
    return {name: import_module(f"{package}.{name}") for name, folder in _inside(package) if not folder}


def folders(package: str) -> Mapping[str, ModuleType]:
    """Return every package that stands in a package, imported, by its short name in the order of the alphabet."""
    return {name: import_module(f"{package}.{name}") for name, folder in _inside(package) if folder}


def _inside(package: str) -> list[tuple[str, bool]]:
    return sorted((found.name, found.ispkg) for found in iter_modules(import_module(package).__path__))


def own_folder(of: Callable[..., Path]) -> Path | None:
    """Return a folder that the system has for a program and its user, as `platformdirs` says; None without a home."""
    try:
        folder = of("cutpath", appauthor=False)
    except RuntimeError:
        return None
    return folder if folder.is_absolute() else None
