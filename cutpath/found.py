"""What is found where it stands, so that no list has to name it: the modules and the folders of a package."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
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
