"""A place for output that one run at a time may fill: claimed before the work, filled whole or not at all.

Terminology
-----------
Target: the folder or file that the output becomes, links followed.
Workspace: the hidden folder beside it in which the output is made ready (`cutpath.output.workspace`).
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

from cutpath.errors import Finding, Refused, Severity
from cutpath.output import disk
from cutpath.output.manifest import MANIFEST, contents, names_in_words, read_manifest
from cutpath.output.standing import ONLY_A_RESULT, Kind, free_name, hindrance, must_be_placeable, unwritable
from cutpath.output.workspace import Workspace, broken_off


@dataclass(frozen=True, slots=True)
class Written:
    """Where the output went, and what is to be said about that."""

    path: Path
    findings: tuple[Finding, ...] = ()


@dataclass(slots=True)
class Place:
    """A claimed target; made by `claim_folder` and `claim_file`.

    Attributes
    ----------
    kind : Kind
    out : Path
        The target as the user named it.
    workspace : Workspace
    replace_old : bool
        Whether an earlier result may be replaced.
    findings : list of Finding
        What was found of earlier runs, and done about it.
    """

    kind: Kind
    out: Path
    workspace: Workspace
    replace_old: bool
    findings: list[Finding] = field(default_factory=list)

    @property
    def target(self) -> Path:  # noqa: D102 - an attribute
        return self.workspace.target

    def spare(self, reads: Iterable[str | Path]) -> None:
        """See that none of these files, which the run reads, would be replaced; names of no file are passed over.

        Raises
        ------
        Refused
            CP703 with those that would.
        """
        real = [Path(os.path.realpath(read)) for read in reads]
        inside = [str(read) for read in real if read.is_relative_to(self.target) and os.path.isfile(read)]
        if inside:
            found = f"this run reads {names_in_words(inside)}, which would be replaced"
            remedy = "Choose another place for the output."
            raise Refused([Finding("CP703", str(self.out), found, "output that replaces nothing that is read", remedy)])

    def hindrance(self) -> Finding | None:
        """Return why the target may not be filled or replaced as it stands now, or None.

        Raises
        ------
        OSError
        """
        return hindrance(self.out, self.target, self.kind, replace_old=self.replace_old)

    def put(self, files: Mapping[str, bytes]) -> Written:
        """Fill the folder, whole or not at all: the old result is in place until the new one is.

        Where something came into the folder meanwhile that must not be lost, the result gets a new folder beside it.

        Parameters
        ----------
        files : mapping
            Path in the folder to what the file holds; the manifest among them.

        Raises
        ------
        ValueError
            When the manifest among them is not of these files.
        Refused
            CP702 when it cannot be written; what was there before is there still.
        """  # noqa: DOC501 - the OSError is caught within
        listed = read_manifest(files.get(MANIFEST, b""))
        if listed is None or {MANIFEST, *(entry.path for entry in listed.entries)} != set(files):
            raise ValueError("the files are not those of the manifest among them")
        new, ready = self.workspace.new, self.workspace.ready
        with self._all_or_nothing():
            disk.write_tree(new, files, self.target)
            if not (held := contents(new)).is_ours:
                differ = names_in_words(held.changed + held.strange)
                raise OSError(0, f"read back, it is not what was written: {differ}")
            os.rename(new, ready)  # noqa: PTH104 - one effect, as the tests count them
            disk.sync_folder(self.workspace.path)
            written = self._moved_in(ready)
        return self._tidied(written)

    def put_file(self, data: bytes) -> Written:
        """Write the one file, whole or not at all.

        Raises
        ------
        Refused
            CP702 when it cannot be written; what was there before is there still.
        """
        new = self.workspace.new
        with self._all_or_nothing():
            disk.write_like(new, data, self.target)
            if self.hindrance():
                written = self._moved_aside(new)
            else:
                os.replace(new, self.target)  # noqa: PTH105
                written = Written(self.out)
        return self._tidied(written)

    @contextmanager
    def _all_or_nothing(self) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            try:
                told = self.workspace.settle()
            except OSError:
                told = self._left_lying()
            failed = unwritable(self.out, self.kind, error.strerror or str(error))
            raise Refused([failed, *told]) from error

    def _left_lying(self) -> list[Finding]:
        """Say where the earlier result is, when even putting it back went wrong."""
        old = self.workspace.old
        if not os.path.lexists(old) or os.path.lexists(self.target):
            return []
        remedy = "The next run into the same place puts it back; or move it there by hand."
        return [broken_off(self.out, f"the earlier result lies in {old}", remedy, Severity.WARNING)]

    def _moved_in(self, ready: Path) -> Written:
        if self.hindrance():
            return self._moved_aside(ready)
        if not os.path.lexists(self.target):
            os.rename(ready, self.target)  # noqa: PTH104
        elif not disk.exchange(ready, self.target):
            os.rename(self.target, self.workspace.old)  # noqa: PTH104
            os.rename(ready, self.target)  # noqa: PTH104
        return Written(self.out)

    def _moved_aside(self, made: Path) -> Written:
        """Return the result a place beside the target, which must not be replaced any more."""
        aside = free_name(self.target)
        os.rename(made, aside)  # noqa: PTH104
        found = f"it has changed since this run began, so the result was written to {aside}"
        remedy = "Compare the two and keep what you want."
        return Written(aside, (Finding("CP703", str(self.out), found, ONLY_A_RESULT, remedy, Severity.WARNING),))

    def _tidied(self, written: Written) -> Written:
        """Clear the workspace once the result is in place; what goes wrong now is only told."""
        try:
            disk.sync_folder(self.target.parent)
            told = self.workspace.settle()
        except OSError as error:
            found = f"the result is in place, but {self.workspace.path} could not be cleared ({error.strerror})"
            told = [broken_off(self.out, found, "The next run into the same place clears it.", Severity.WARNING)]
        return Written(written.path, (*written.findings, *told))


@contextmanager
def claim_folder(out: Path, *, replace_old: bool = False, reads: Iterable[str | Path] = ()) -> Iterator[Place]:
    """Claim a folder for output, before hours are spent on what goes into it; nothing of it is changed yet.

    Parameters
    ----------
    out : Path
        New, empty, or an earlier result to replace; a link to one counts as what it leads to.
    replace_old : bool
        Whether an earlier result may be replaced.
    reads : iterable of str or Path
        Files that the run reads; see `Place.spare`.

    Raises
    ------
    Refused
        When the folder holds anything but an earlier result that may be replaced (CP701, CP703), another run claims it
        (CP704), or it cannot be written (CP702).
    """
    with _claimed(out, Kind.FOLDER, reads, replace_old=replace_old) as place:
        yield place


@contextmanager
def claim_file(out: Path, *, replace_old: bool = False, reads: Iterable[str | Path] = ()) -> Iterator[Place]:
    """Claim one file for output; see `claim_folder`."""
    with _claimed(out, Kind.FILE, reads, replace_old=replace_old) as place:
        yield place


@contextmanager
def _claimed(out: Path, kind: Kind, reads: Iterable[str | Path], *, replace_old: bool) -> Iterator[Place]:
    with ExitStack() as leaving:
        try:
            place = _held(out, kind, leaving, replace_old=replace_old)
            place.spare(reads)
            if hindered := place.hindrance():
                raise Refused([*place.findings, hindered])
        except OSError as error:
            raise Refused([unwritable(out, kind, error.strerror or str(error))]) from error
        yield place


def _held(out: Path, kind: Kind, leaving: ExitStack, *, replace_old: bool) -> Place:
    target = Path(os.path.realpath(out))
    must_be_placeable(out, target, kind)
    leaving.callback(_remove_empty, [parent for parent in target.parents if not parent.exists()])
    target.parent.mkdir(parents=True, exist_ok=True)
    workspace = Workspace(out, target)
    leaving.callback(workspace.let_go)
    told = workspace.hold()
    if told is None:
        found, wanted = "another run is writing there", f"one run at a time into one {kind}"
        raise Refused([Finding("CP704", str(out), found, wanted, "Wait for that run, or choose another place.")])
    return Place(kind, out, workspace, replace_old, told)


@contextmanager
def no_empty_folders_above(outs: Iterable[Path]) -> Iterator[None]:
    """Take away, in the end, folders above several outputs that were not there before and hold nothing then.

    Each output takes those away that it made itself, while another one may still stand in them.
    """
    above = {parent for out in outs for parent in Path(os.path.realpath(out)).parents}
    missing = [folder for folder in above if not os.path.lexists(folder)]
    try:
        yield
    finally:
        _remove_empty(sorted(missing, key=lambda folder: len(folder.parts), reverse=True))


def _remove_empty(folders: Iterable[Path]) -> None:
    for folder in folders:
        with suppress(OSError):
            folder.rmdir()
