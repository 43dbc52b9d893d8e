"""What a folder of output says of itself, and whether that still holds.

The manifest lists every other file with its SHA-256 and carries a seal: the SHA-256 of its own text without the seal.
So a folder can be told from any other that holds a file of the same name, and from one that was changed by hand.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import stat
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

from cutpath.ceilings import MANIFEST_BYTES

MANIFEST = "manifest.json"
_END = b"\n}\n"
_SEAL_BYTES = len(',\n  "seal": ""') + 64 + len(_END)
_VERSION = re.compile(r"\d+\.\d+(\.\d+)?([.+a-z0-9-]*)")
_SHA256 = re.compile(r"[0-9a-f]{64}")


def json_text(value: object) -> str:
    """Write one JSON document with a line end."""
    return json.dumps(value, indent=2, ensure_ascii=False) + "\n"


@dataclass(frozen=True, slots=True)
class Entry:
    """One file of the folder: its path there (parts joined by ``/``), its SHA-256, and what else is told of it.

    Versions tell more or less (`cutpath.values.listing.Listed` is what this one does), so that a manifest is read back
    with whatever it tells.
    """

    path: str
    sha256: str
    told: Mapping[str, object]


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a folder holds, and what it was made from.

    Attributes
    ----------
    version : str
    seed : int
    entries : tuple of Entry
        Every file but the manifest.
    run : str
        The name of the run.
    settings : mapping
        What was settled for it, and where.
    made_from : mapping
        Plain values; see `cutpath.output.made_from`.
    """

    version: str
    seed: int
    entries: tuple[Entry, ...]
    run: str = ""
    settings: Mapping[str, object] = field(default_factory=dict)
    made_from: Mapping[str, object] = field(default_factory=dict)

    def text(self) -> str:
        """Return the manifest as it is written, sealed."""
        files = [{"path": e.path, "sha256": e.sha256, **e.told} for e in self.entries]
        run = {"run": self.run} if self.run else {}
        settings = {"settings": dict(self.settings)} if self.settings else {}
        more = {"made_from": self.made_from} if self.made_from else {}
        told = {"version": self.version, "seed": self.seed, **run, **settings, "units": "mm", "files": files, **more}
        return sealed(told)


def entry_of(path: str, data: bytes, told: Mapping[str, object]) -> Entry:
    """Return the entry of a file that holds ``data``."""
    return Entry(path, hashlib.sha256(data).hexdigest(), told)


def run_id(version: str, seed: int, entries: Iterable[Entry]) -> str:
    """Name a run by what it cuts: the same account, lists and page of the same version and seed give the same name."""
    told = [version, seed, sorted((e.path, e.sha256) for e in entries)]
    return "R" + hashlib.sha256(json_text(told).encode()).hexdigest()[:_RUN_LETTERS]


_RUN_LETTERS = 10  # one chance in a million that two of a thousand runs bear the same name


def read_manifest(data: bytes) -> Manifest | None:
    """Read a manifest back, or return None where it is not one of ours or was changed by hand."""
    text = data[:-_SEAL_BYTES] + _END
    if data != _with_seal(text):
        return None
    try:
        told = json.loads(text)  # an object, by its end
    except (ValueError, RecursionError):
        return None
    version, seed, files = told.get("version"), told.get("seed"), told.get("files")
    if not isinstance(version, str) or not _VERSION.fullmatch(version) or not isinstance(seed, int):
        return None
    if told.get("units") != "mm" or not isinstance(files, list):
        return None
    entries = [_entry(file) for file in files]
    known = [e for e in entries if e is not None]
    whole = len(known) == len(entries) == len({e.path for e in known})
    run, settings, made_from = told.get("run", ""), told.get("settings", {}), told.get("made_from", {})
    whole = whole and isinstance(run, str) and isinstance(settings, dict) and isinstance(made_from, dict)
    return Manifest(version, seed, tuple(known), run, settings, made_from) if whole else None


def sealed(told: Mapping[str, object]) -> str:
    """Write a manifest with the seal over its own text."""
    return _with_seal(json_text(told).encode()).decode()


def _with_seal(text: bytes) -> bytes:
    seal = f',\n  "seal": "{hashlib.sha256(text).hexdigest()}"'
    return text.removesuffix(_END) + seal.encode() + _END


def _entry(told: object) -> Entry | None:
    if not isinstance(told, dict):
        return None
    path, digest = told.get("path"), told.get("sha256")
    if not isinstance(path, str) or not isinstance(digest, str) or not _SHA256.fullmatch(digest):
        return None
    pure = PurePosixPath(path)
    if pure.is_absolute() or str(pure) != path or ".." in pure.parts or path in {".", MANIFEST}:
        return None
    return Entry(path, digest, {k: v for k, v in told.items() if k not in {"path", "sha256"}})


@dataclass(frozen=True, slots=True)
class Contents:
    """What a folder holds, held against its manifest.

    Attributes
    ----------
    manifest : Manifest or None
        None where the folder holds none of ours; then nothing else was looked at.
    strange : tuple of str
        Files, folders and links that the manifest does not list; a folder ends with ``/``.
    changed : tuple of str
        Listed files that are not as they were written.
    folders : tuple of Path
        The folder and every folder in it that belongs to a listed file.
    """

    manifest: Manifest | None
    strange: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()
    folders: tuple[Path, ...] = ()

    @property
    def is_ours(self) -> bool:
        """Whether it holds a whole result of ours, as it was written (a listed file may be gone), and nothing else."""
        return self.manifest is not None and not self.strange and not self.changed


def contents(folder: Path) -> Contents:
    """Hold a folder against its manifest.

    Raises
    ------
    OSError
        When something in it cannot be read.
    """
    manifest = _manifest_in(folder)
    if manifest is None:
        return Contents(None)
    digests = {e.path: e.sha256 for e in manifest.entries}
    homes = {str(parent) for path in digests for parent in PurePosixPath(path).parents}
    strange: list[str] = []
    changed: list[str] = []
    folders = [""]
    for inside in folders:
        for entry in sorted(os.scandir(folder / inside), key=lambda e: e.name):
            path = f"{inside}/{entry.name}" if inside else entry.name
            if entry.is_dir(follow_symlinks=False):
                if path in homes:
                    folders.append(path)
                else:
                    strange.append(f"{path}/")
            elif path in digests:
                if not entry.is_file(follow_symlinks=False) or _digest(Path(entry.path)) != digests[path]:
                    changed.append(path)
            elif path != MANIFEST:
                strange.append(path)
    return Contents(manifest, tuple(strange), tuple(changed), tuple(folder / f for f in folders))


def _manifest_in(folder: Path) -> Manifest | None:
    file = folder / MANIFEST
    try:
        about = file.lstat()
    except FileNotFoundError:
        return None
    if not stat.S_ISREG(about.st_mode) or about.st_size > MANIFEST_BYTES:
        return None
    return read_manifest(file.read_bytes())


def _digest(file: Path) -> str:
    with file.open("rb") as opened:
        return hashlib.file_digest(opened, "sha256").hexdigest()


_NAMED = 8
"""Files that a sentence names; of more it says how many."""


def names_in_words(names: Sequence[str]) -> str:
    """Name files for a person: the first few, and how many more there are; odd characters are written as escapes."""
    shown = ["".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in n) for n in names[:_NAMED]]
    more = len(names) - len(shown)
    return ", ".join(shown) + (f" and {more} more" if more else "")
