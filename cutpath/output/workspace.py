"""The hidden folder beside a target in which a run prepares its output, held by one run at a time.

It is called ``.NAME.cutpath`` and is there only while a run claims the target. In it

* ``lock`` is held locked; the system lets go of it when the run ends in whatever way,
* ``new`` is being written: nobody else's, and never whole,
* ``ready`` is a whole result: the new one before the two have changed places, the earlier one after that,
* ``old`` is the earlier result where the two cannot change places in one step, for as long as the target is missing,
* ``gone`` is on its way out.

Whatever a run is interrupted by, these names alone say what is to be done, so the same steps clear up after an error as
after a run that was killed (`Workspace.settle`). Nothing but a whole result of ours is thrown away: anything else is
moved beside the target under a name of its own.
"""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from cutpath.errors import Finding, Severity
from cutpath.output import disk
from cutpath.output.manifest import contents
from cutpath.output.standing import free_name

_TRIES = 20
"""How often a workspace that its run is just leaving is asked for again."""
_OPENED = os.O_RDWR | getattr(os, "O_NOFOLLOW", 0)


@dataclass(slots=True)
class Workspace:
    """The workspace of one target; ``out`` is how the user named that.

    Attributes
    ----------
    out, target : Path
    path : Path
        The hidden folder.
    new, ready, old : Path
        See above.
    """

    out: Path
    target: Path
    _lock: int | None = None
    _mine: bool = False

    @property
    def path(self) -> Path:  # noqa: D102 - an attribute
        return self.target.with_name(f".{self.target.name}.cutpath")

    @property
    def new(self) -> Path:  # noqa: D102
        return self.path / "new"

    @property
    def ready(self) -> Path:  # noqa: D102
        return self.path / "ready"

    @property
    def old(self) -> Path:  # noqa: D102
        return self.path / "old"

    @property
    def _lock_file(self) -> Path:
        return self.path / "lock"

    @property
    def _gone(self) -> Path:
        return self.path / "gone"

    def hold(self) -> list[Finding] | None:
        """Hold the workspace until `let_go`, and say what a run that was broken off left in it.

        Returns
        -------
        list of Finding, or None
            None while another run holds it.

        Raises
        ------
        FileExistsError
            When something else is in the way.
        OSError
        """
        for _ in range(_TRIES):
            with suppress(FileExistsError):
                os.mkdir(self.path, 0o700)  # noqa: PTH102 - one effect, as the tests count them
            if self.path.is_symlink() or not self.path.is_dir():
                raise FileExistsError(0, f"{self.path} is in the way")
            left = self._lock_file.exists()
            try:
                self._lock = os.open(self._lock_file, _OPENED | os.O_CREAT, 0o600)
            except FileNotFoundError:
                continue  # its run has just left it
            if not _held(self._lock):
                return None
            if _bears(self._lock, self._lock_file):
                self._mine = True
                return self._found() if left else []
            os.close(self._lock)
            self._lock = None
        return None

    def _found(self) -> list[Finding]:
        told = self.settle()
        return told or [broken_off(self.out, "an earlier run was broken off; what it left was cleared")]

    def let_go(self) -> None:
        """Take the workspace away, however far `hold` came; what cannot be cleared is found by the next run."""
        if self.path.is_symlink():
            return
        try:
            with suppress(OSError):
                if self._lock is None:  # nobody knows of it where `hold` was broken off just there
                    self._lock = os.open(self._lock_file, _OPENED)
                if (self._mine or _held(self._lock)) and _bears(self._lock, self._lock_file):
                    self._clear()
        finally:
            handle, self._lock, self._mine = self._lock, None, False
            with suppress(OSError):
                if handle is not None:
                    os.close(handle)
                os.rmdir(self.path)  # noqa: PTH106

    def _clear(self) -> None:
        with suppress(OSError):
            self.settle()
        if [entry.name for entry in self.path.iterdir()] == ["lock"]:
            if sys.platform == "win32" and self._lock is not None:  # where an open file cannot be removed
                os.close(self._lock)
                self._lock = None
            os.unlink(self._lock_file)  # noqa: PTH108

    def settle(self) -> list[Finding]:
        """Bring the workspace to its end from whatever state it is in, and say what was more than clearing up.

        The target is afterwards what it was before, or the new result.

        Raises
        ------
        OSError
        """
        if not {"new", "ready", "old", "gone"} & {entry.name for entry in self.path.iterdir()}:
            return []
        told = []
        if os.path.lexists(self.old) and not os.path.lexists(self.target):
            os.rename(self.old, self.target)  # noqa: PTH104
            told.append(broken_off(self.out, "a run was broken off, and the earlier result has been put back"))
        disk.sync_folder(self.target.parent)  # what stands there must last before anything goes
        disk.remove(self._gone)
        for left in (self.ready, self.old):
            if not os.path.lexists(left):
                continue
            if _may_go(left):
                os.rename(left, self._gone)  # noqa: PTH104
                disk.remove(self._gone)
            else:
                told.append(self._kept(left))
        disk.remove(self.new)
        return told

    def _kept(self, left: Path) -> Finding:
        kept = free_name(self.target)
        os.rename(left, kept)  # noqa: PTH104
        found = f"the earlier result was changed while it was replaced, and is kept as {kept}"
        return broken_off(self.out, found, "Take out of it what you need.", Severity.WARNING)


def broken_off(out: Path, found: str, remedy: str = "Nothing to do.", severity: Severity = Severity.NOTE) -> Finding:
    """Return the finding (CP705) about a run that did not come to its end."""
    return Finding("CP705", str(out), found, "a run that comes to its end", remedy, severity)


def _may_go(left: Path) -> bool:
    """Say whether nothing is lost with something in the workspace: a whole result of ours, or an empty folder."""
    if left.is_symlink() or not left.is_dir():
        return False
    return not any(left.iterdir()) or contents(left).is_ours


def _held(handle: int) -> bool:
    """Lock an open file for this process, or return False when another one has."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):
        return False
    return True


def _bears(handle: int, path: Path) -> bool:
    """Say whether an open file still bears a name: its last holder may just have taken it away."""
    try:
        there, held = path.stat(), os.fstat(handle)
    except FileNotFoundError:
        return False
    return (there.st_dev, there.st_ino) == (held.st_dev, held.st_ino)
