"""Files as they are read: once, no more of them than their kind may hold, or a finding why not."""

from __future__ import annotations

import errno
import io
import os
import stat
import sys
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from itertools import islice
from pathlib import Path

from cutpath.ceilings import TEXT_BYTES, bytes_text
from cutpath.errors import Finding
from cutpath.intake.places import did_you_mean
from cutpath.plain import is_unseen

_READ: ContextVar[dict[str, bytes] | None] = ContextVar("_READ", default=None)
"""What was read so far by its name, where that is remembered."""

_ALONE: ContextVar[bool] = ContextVar("_ALONE", default=False)
"""Whether nothing else is read."""

_ALSO: ContextVar[tuple[Path, ...]] = ContextVar("_ALSO", default=())
"""Folders from which any job may take drawings, beside its own."""

NO_SUCH_FILE = "there is no such file"
NO_SHEET = "A spreadsheet is read as an order sheet alone; write this file as text, in TOML."
_MOST_BESIDE = 1000


class TooLargeError(OSError):
    """A file holds more than is read of its kind."""


def file_name(path: Path | str) -> str:
    """Name a file for a person; ``-`` is standard input."""
    return "standard input" if str(path) == "-" else str(path) or "a file without a name"


@contextmanager
def remembering(read: Mapping[str, bytes] | None = None, *, alone: bool = False) -> Iterator[dict[str, bytes]]:
    """Remember every file that is read by its name, and read none of them twice.

    What a run was made from can so be kept with it as it was read, and what is done once more is done from the same.

    Parameters
    ----------
    read : mapping, optional
        Names, and what is to be taken for the contents of such files in place of what lies on the disk.
    alone : bool
        Whether there are no other files, as on a machine that has those of another.

    Yields
    ------
    dict
        Name of each file as it was given, ``-`` for standard input, to what it held; it grows.
    """
    kept = dict(read or {})
    token, other = _READ.set(kept), _ALONE.set(alone)
    try:
        yield kept
    finally:
        _ALONE.reset(other)
        _READ.reset(token)


@contextmanager
def reading_once() -> Iterator[None]:
    """Read no file twice, so that all who name it have the same of it, whoever writes to it meanwhile."""
    if _READ.get() is not None:
        yield
        return
    with remembering():
        yield


@contextmanager
def also_from(folders: Iterable[Path]) -> Iterator[None]:
    """Let jobs name drawings in these folders too."""
    token = _ALSO.set((*_ALSO.get(), *folders))
    try:
        yield
    finally:
        _ALSO.reset(token)


def read_bytes(path: Path | str, most: int = TEXT_BYTES, *, inside: Path | None = None) -> bytes:
    """Read a file, standard input for ``-``; a file that is remembered is as it was.

    Parameters
    ----------
    path : Path or str
    most : int
        Bytes that it may hold.
    inside : Path, optional
        For a name that somebody else wrote: only a plain file in this folder is read, wherever links lead, or in those
        of `also_from`.

    Raises
    ------
    TooLargeError
        When it holds more.
    FileNotFoundError
        When it is not among those that are remembered, and nothing else is read.
    OSError
        When it cannot be read, or lies elsewhere.
    ValueError
        When that is no name of a file.
    """
    kept, name = _READ.get(), str(path)
    hidden = next(filter(is_unseen, name), None)  # bytes of a name that is no text come as surrogates
    if hidden is not None:
        raise OSError(errno.EILSEQ, f"its name holds a character that cannot be seen (\\u{ord(hidden):04x})")
    if kept is not None and name in kept:
        return kept[name]
    if _ALONE.get():
        raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT))
    if name == "-":
        data = _standard_input(most)
    elif inside is None:
        with Path(path).open("rb") as file:
            data = file.read(most + 1)
    else:
        data = _plain_file(Path(path), inside, most)
    if len(data) > most:
        raise TooLargeError(errno.EFBIG, f"more than {bytes_text(most)}")
    if kept is not None:
        kept[name] = data
    return data


def _plain_file(path: Path, inside: Path, most: int) -> bytes:
    """Read a plain file of a folder; nothing else is opened, not even to look at it.

    Raises
    ------
    OSError
        When it is none, or lies elsewhere.
    """
    real, *folders = (Path(os.path.realpath(place, strict=True)) for place in (path, inside, *_ALSO.get()))
    if not any(map(real.is_relative_to, folders)):
        raise OSError(errno.EACCES, "it lies outside the folder of the job file")
    way = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)  # a pipe would wait for its writer
    with os.fdopen(os.open(real, way), "rb") as file:
        if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
            raise OSError(errno.EINVAL, "it is not a plain file")
        return file.read(most + 1)


def _standard_input(most: int) -> bytes:
    """Read standard input as it comes, whatever the terminal speaks, and no more than shows that it is too much.

    Raises
    ------
    OSError
        When it is closed.
    """
    if sys.stdin is None:
        raise OSError(errno.EBADF, "standard input is closed")
    return sys.stdin.buffer.read(most + 1)


def read_text(path: Path | str, most: int = TEXT_BYTES) -> str | Finding:
    """Read a text file, standard input for ``-``, or give the finding why it cannot be read."""
    accepted = "a readable text file"
    try:
        return io.TextIOWrapper(io.BytesIO(read_bytes(path, most)), encoding="utf-8-sig").read()
    except UnicodeDecodeError as error:
        found = f"not UTF-8 text at byte {error.start + 1}"
        remedy = NO_SHEET if is_sheet(str(path)) else "Save the file as UTF-8."
    except TooLargeError as error:
        found, accepted = str(error.strerror), f"a text file of {bytes_text(most)} at most"
        remedy = "Check that it is the file that was meant; else make several of it."
    except (OSError, ValueError) as error:
        found, remedy = _unread(error, Path(path))
    return Finding("CP101", file_name(path), found, accepted, remedy)


def is_sheet(name: str) -> bool:
    """Tell whether a name is that of a spreadsheet."""
    return name.lower().endswith((".csv", ".tsv", ".xls", ".xlsx", ".ods"))


def is_closed(folder: Path) -> bool:
    """Tell whether a folder is there that does not say what lies in it."""
    return os.path.isdir(folder) and not os.access(folder, os.R_OK | os.X_OK)


def _unread(error: OSError | ValueError, path: Path) -> tuple[str, str]:
    """Return in plain words why a file cannot be read, and what to do about it."""
    if isinstance(error, FileNotFoundError):
        try:
            beside = () if _ALONE.get() else [other.name for other in islice(path.parent.iterdir(), _MOST_BESIDE)]
        except OSError:
            return f"{NO_SUCH_FILE}, and no such folder", "Check the name of the folder."
        meant = did_you_mean(path.name, beside)
        return NO_SUCH_FILE, f"Did you mean {meant}?" if meant else "Check the name of the file."
    if isinstance(error, IsADirectoryError):
        return "it is a folder", "Name a file in it."
    if isinstance(error, OSError) and error.errno == errno.EILSEQ:
        return str(error.strerror), "Give it another name."
    reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    return reason.lower(), "Check the name of the file and whether you may read it."
