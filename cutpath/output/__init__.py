"""Output written whole or not at all: one folder of files with its manifest, or one file.

A run claims its output before the work (`claim_folder`, `claim_text`) and fills it at the end; `write_folder` does both
at once.
"""

from __future__ import annotations

import stat
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from cutpath.errors import Refused
from cutpath.output.manifest import (
    MANIFEST,
    Entry,
    Manifest,
    contents,
    entry_of,
    json_text,
    names_in_words,
    read_manifest,
    run_id,
)
from cutpath.output.place import Place, Written, claim_file, claim_folder, no_empty_folders_above
from cutpath.output.standing import Kind, as_in_a_list, unwritable

__all__ = [
    "MANIFEST",
    "Entry",
    "Manifest",
    "Place",
    "Sink",
    "Written",
    "as_in_a_list",
    "claim_file",
    "claim_folder",
    "claim_text",
    "contents",
    "entry_of",
    "json_text",
    "names_in_words",
    "no_empty_folders_above",
    "read_manifest",
    "run_id",
    "write_folder",
]


def write_folder(files: Mapping[str, bytes], out: Path, *, replace_old: bool = False) -> Written:
    """Write the whole folder or nothing.

    Parameters
    ----------
    files : mapping
        Path in the folder to what the file holds, the manifest among them.
    out : Path
    replace_old : bool
        Whether an earlier result may be replaced.

    Raises
    ------
    Refused
        See `claim_folder` and `Place.put`.
    """
    with claim_folder(out, replace_old=replace_old) as place:
        return place.put(files)


Sink = Callable[[str], Written]
"""Takes the text of one output when it is done."""


@contextmanager
def claim_text(out: Path | None, *, replace_old: bool = False, reads: Iterable[str | Path] = ()) -> Iterator[Sink]:
    """Claim one text file, or standard output when ``out`` is None; devices and pipes are written as they come.

    Raises
    ------
    Refused
        See `claim_file`.
    """
    if out is None:
        yield _to_standard_output
    elif _is_stream(out):
        yield lambda text: _to_stream(text, out)
    else:
        with claim_file(out, replace_old=replace_old, reads=reads) as place:
            yield lambda text: _with_notes(place, text)


def _with_notes(place: Place, text: str) -> Written:
    written = place.put_file(text.encode())
    return Written(written.path, (*place.findings, *written.findings))


def _to_standard_output(text: str) -> Written:
    sys.stdout.write(text)
    sys.stdout.flush()
    return Written(Path("-"))


def _is_stream(out: Path) -> bool:
    try:
        mode = out.stat().st_mode
    except OSError:
        return False
    return not stat.S_ISREG(mode) and not stat.S_ISDIR(mode)


def _to_stream(text: str, out: Path) -> Written:
    try:
        out.write_bytes(text.encode())
    except OSError as error:
        raise Refused([unwritable(out, Kind.FILE, error.strerror or str(error))]) from error
    return Written(out)
