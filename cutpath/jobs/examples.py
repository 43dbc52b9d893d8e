"""The jobs that come with the program: those of the scenario that every document of it speaks of."""

from __future__ import annotations

from collections.abc import Mapping
from importlib.resources import as_file, files

NAMES = ("chimney", "abutment", "counter-order")


def examples() -> Mapping[str, str]:
    """Return the example's job files, name to text."""
    folder = files("cutpath") / "examples"
    if not folder.is_dir():  # not installed: they lie beside the package
        with as_file(files("cutpath")) as package:
            folder = package.parent / "fixtures" / "jobs"
    return {f"{name}.toml": (folder / f"{name}.toml").read_text(encoding="utf-8") for name in NAMES}
