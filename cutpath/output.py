"""Output written whole or not at all: one folder of files, or one file."""

from __future__ import annotations

import json
import os
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path

from cutpath.errors import Finding, Refused

MANIFEST = "manifest.json"


def check_folder(out: Path, *, replace_old: bool) -> None:
    """See that the output folder may be written before hours are spent on what goes into it.

    Raises
    ------
    Refused
        When it holds anything (CP701), unless that is an earlier output of cutpath and ``replace_old`` is set, or
        when it cannot be written (CP702).
    """
    try:
        free = not out.exists() or (out.is_dir() and not any(out.iterdir()))
        beside = next(p for p in out.absolute().parents if p.exists())
    except OSError as error:
        raise _unwritable(out, error.strerror) from error
    ours = out.is_dir() and (out / MANIFEST).is_file()
    if free or (ours and replace_old):
        if not beside.is_dir():
            raise _unwritable(out, f"{beside} is a file")
        if not os.access(beside, os.W_OK | os.X_OK):
            raise _unwritable(out, f"{beside} is closed to you")
        if Path.cwd().is_relative_to(out.resolve()):
            raise _unwritable(out, "you stand in it, and it is put in place whole")
        return
    raise Refused(
        [
            Finding(
                "CP701",
                str(out),
                "the folder holds an earlier result" if ours else "the folder is not empty, or is a file",
                "a new or empty folder",
                "choose another folder" + (", or give --replace to put the new result in its place" if ours else ""),
            )
        ]
    )


def json_text(value: object) -> str:
    """Write one JSON document with a line end."""
    return json.dumps(value, indent=2, ensure_ascii=False) + "\n"


def write_text(text: str, out: Path | None, *, replace_old: bool = False) -> None:
    """Write one text file, or standard output when ``out`` is None.

    Raises
    ------
    Refused
        When the file holds something (unless ``replace_old``) or cannot be written.
    """
    if out is None:
        sys.stdout.write(text)
        return
    try:
        if not replace_old and out.exists() and out.stat().st_size:
            raise Refused(
                [
                    Finding(
                        "CP701", str(out), "the file is there already", "a new file", "Give another name, or --replace."
                    )
                ]
            )
        out.write_text(text, encoding="utf-8")
    except OSError as error:
        found = f"the file cannot be written ({error.strerror})"
        raise Refused(
            [Finding("CP702", str(out), found, "a place where you may write", "Choose another place with --out.")]
        ) from error


def write_folder(files: Mapping[str, bytes], out: Path, *, replace_old: bool = False) -> None:
    """Write the whole folder or nothing: the files are laid beside it first and moved into place at the end.

    Raises
    ------
    Refused
        When the folder is in the way (CP701) or cannot be written (CP702).
    """
    check_folder(out, replace_old=replace_old)
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=f".{out.name}-", dir=out.parent) as beside:
            new, old = Path(beside) / "new", Path(beside) / "old"
            for path, data in files.items():
                target = new / path
                target.parent.mkdir(parents=True, exist_ok=True)
                target.write_bytes(data)
            if out.exists():
                out.rename(old)
            try:
                new.rename(out)
            except OSError:
                if old.exists():
                    old.rename(out)
                raise
    except OSError as error:
        raise _unwritable(out, error.strerror) from error


def _unwritable(out: Path, reason: str | None) -> Refused:
    return Refused(
        [
            Finding(
                "CP702",
                str(out),
                f"the folder cannot be written ({reason})",
                "a place where you may write, with room for it",
                "choose another folder with --out",
            )
        ]
    )
