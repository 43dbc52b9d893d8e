"""Small results to write and what lies about afterwards, for the tests of this folder."""

from __future__ import annotations

from pathlib import Path

from cutpath.output import MANIFEST, Manifest, entry_of

NAMES = ("report.html", "yield.json", "rolls/a.dxf", "rolls/deep/b.svg")


def result(word: str, names: tuple[str, ...] = NAMES, seed: int = 1) -> dict[str, bytes]:
    files = {name: f"{word}: {name}\n".encode() for name in names}
    entries = tuple(entry_of(name, data, {"format": "x", "roll": None}) for name, data in files.items())
    return {**files, MANIFEST: Manifest("0.1.0", seed, entries).text().encode()}


def held(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())
