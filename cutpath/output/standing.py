"""What stands where output is to go, and why it may not be filled or replaced."""

from __future__ import annotations

import os
import shlex
import stat
import sys
from dataclasses import replace
from enum import StrEnum
from pathlib import Path

from cutpath.errors import Finding, Refused
from cutpath.output import disk
from cutpath.output.manifest import MANIFEST, Contents, contents, names_in_words

ONLY_A_RESULT = "an earlier result as it was written, and nothing else"
_NEW_FOLDER = "a new or empty folder"


class Kind(StrEnum):
    """What the output is."""

    FOLDER = "folder"
    FILE = "file"


def unwritable(out: Path, kind: str, reason: str) -> Finding:
    """Return the fault (CP702) of a file or folder that cannot be written."""
    found = f"the {kind} cannot be written ({reason})"
    return Finding(
        "CP702",
        str(out),
        found,
        "a place where you may write, with room for it",
        f"Choose another place{_WITH_OPTION}.",
    )


def must_be_placeable(out: Path, target: Path, kind: Kind) -> None:
    """Refuse what can never be put in place whole.

    Parameters
    ----------
    out : Path
        As the user named it.
    target : Path
        The same with links followed.
    kind : Kind

    Raises
    ------
    OSError
    Refused
        CP702.
    """
    beside = next((p for p in target.parents if p.exists()), None)
    why = None
    if beside is None:
        why = "it is the root of the file system"
    elif not beside.is_dir():
        why = f"{beside} is a file"
    elif target.is_symlink():
        why = "it is a link that leads nowhere"
    elif kind is Kind.FOLDER and Path.cwd().is_relative_to(target):
        why = "you stand in it, and it is put in place whole"
    elif mounts := disk.mounts_at(target):
        why = f"another file system hangs at {mounts[0]}; name a folder inside that"
    if why:
        raise Refused([unwritable(out, kind, why)])


def hindrance(out: Path, target: Path, kind: Kind, *, replace_old: bool) -> Finding | None:
    """Return why the target may not be filled or replaced as it stands, or None.

    Raises
    ------
    OSError
    """
    try:
        mode = target.lstat().st_mode
    except FileNotFoundError:
        return None
    if kind is Kind.FILE:
        return _file(out, target, replace_old=replace_old)
    if not stat.S_ISDIR(mode):
        return _taken(out, "it is a file", _NEW_FOLDER, f"Choose another folder, such as {_other(out)}.")
    return _folder(out, target, replace_old=replace_old)


def _file(out: Path, target: Path, *, replace_old: bool) -> Finding | None:
    if target.is_dir():
        return unwritable(out, Kind.FILE, "it is a folder")
    if not target.is_file():
        return unwritable(out, Kind.FILE, "it is a device or a pipe, not a plain file")
    if target.stat().st_size and not replace_old:
        return _taken(out, "the file is there already", "a new file", "Give another name, or --replace.")
    return _unlike(out, target, Kind.FILE)


def _folder(out: Path, target: Path, *, replace_old: bool) -> Finding | None:
    if not any(target.iterdir()):
        return _unlike(out, target, Kind.FOLDER)
    held = contents(target)
    if held.manifest is None:
        return _taken(
            out,
            f"the folder is not empty, and holds no {MANIFEST} of cutpath as it was written",
            _NEW_FOLDER,
            f"Choose another folder, such as {_other(out)}; nothing but an earlier result is ever replaced.",
        )
    if not replace_old:
        way = ", or give --replace to put the new result in its place" if held.is_ours else ""
        return _taken(
            out,
            "the folder holds an earlier result",
            _NEW_FOLDER,
            f"Choose another folder, such as {_other(out)}{way}.",
        )
    if not held.is_ours:
        remedy = f"Choose another folder, such as {_other(out)}, or move these files out of it first."
        return Finding("CP703", str(out), _told(held), ONLY_A_RESULT, remedy)
    unlike = (_unlike(out, folder, Kind.FOLDER) for folder in held.folders)
    return next((finding for finding in unlike if finding), None)


def _other(out: Path) -> str:
    """Return an option to type that names another place beside one that is taken."""
    return shlex.join(("--out", str(out.parent / f"{out.name}-2")))


def as_in_a_list(finding: Finding, out: Path) -> Finding:
    """Return a finding about the place of output as it helps where a list names that place, and no option does."""
    remedy = finding.remedy.replace(_other(out), f"{out.name}-2 beside it").replace(_WITH_OPTION, "")
    return replace(finding, remedy=remedy)


_WITH_OPTION = " with --out"


def _told(held: Contents) -> str:
    said = []
    if held.strange:
        said.append(f"it holds what no run put there: {names_in_words(held.strange)}")
    if held.changed:
        said.append(f"changed since it was written: {names_in_words(held.changed)}")
    return "; ".join(said)


def _taken(out: Path, found: str, accepted: str, remedy: str) -> Finding:
    return Finding("CP701", str(out), found, accepted, remedy)


def _unlike(out: Path, path: Path, kind: Kind) -> Finding | None:
    """Return why what stands there cannot give way to something with the same modes and group, or None."""
    about, beside = path.lstat(), path.parent.stat()
    why = None
    if kind is Kind.FOLDER and not os.access(path, os.W_OK | os.X_OK):
        why = f"{path} is closed to you"
    elif sys.platform != "win32" and os.geteuid() != 0:
        if about.st_gid not in {os.getegid(), *os.getgroups()}:
            why = f"{path} belongs to group {about.st_gid}, which you cannot give to what takes its place"
        elif beside.st_mode & stat.S_ISVTX and os.geteuid() not in {about.st_uid, beside.st_uid}:
            why = f"{path} belongs to somebody else, in a folder where only its owner may move it"
    return unwritable(out, kind, why) if why else None


def free_name(target: Path) -> Path:
    """Return a name beside the target that nothing bears."""
    names = (target.with_name(f"{target.stem}-{number}{target.suffix}") for number in range(2, 10_000))
    return next(name for name in names if not os.path.lexists(name))
