"""What is done to the disk, one effect a function, so that it lasts when the power goes."""

from __future__ import annotations

import errno
import os
import shutil
import stat
import sys
from collections.abc import Mapping
from pathlib import Path, PurePosixPath

_EXCHANGE = 2  # RENAME_EXCHANGE of renameat2(2)
_AT_FDCWD = -100  # paths count from the folder one stands in
_CANNOT_EXCHANGE = frozenset({errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP})
_MOUNTS = Path("/proc/self/mountinfo")


def write_file(path: Path, data: bytes) -> None:
    """Write a new file and see it safe on the disk; what stands there already is not touched.

    Raises
    ------
    OSError
    """
    binary = getattr(os, "O_BINARY", 0)
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | binary, 0o666)
    try:
        rest = memoryview(data)
        while rest:
            rest = rest[os.write(handle, rest) :]
        os.fsync(handle)
    finally:
        os.close(handle)


def sync_folder(path: Path) -> None:
    """See the names in a folder safe on the disk; Windows does that by itself.

    Raises
    ------
    OSError
    """
    if sys.platform == "win32":
        return
    handle = os.open(path, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno != errno.EINVAL:  # a file system that cannot be asked for it
            raise
    finally:
        os.close(handle)


def write_tree(folder: Path, files: Mapping[str, bytes], like: Path) -> None:
    """Write a new folder of files and see all of it safe on the disk.

    Parameters
    ----------
    folder : Path
    files : mapping
        Path in the folder, parts joined by ``/``, to what the file holds.
    like : Path
        What stands there now, if anything, passes on its modes and group, path by path.

    Raises
    ------
    OSError
    """
    made: dict[Path, None] = {}
    for path in ("", *files):
        for home in reversed(PurePosixPath(path).parents) if path else (".",):
            new = folder / home
            if new in made:
                continue
            os.mkdir(new)  # noqa: PTH102 - one effect, as the tests count them
            made[new] = None
            _pass_on_group(new, _model(new, folder, like))
        if path:
            write_like(folder / path, files[path], _model(folder / path, folder, like))
    for inside in reversed(made):
        sync_folder(inside)
    for inside in reversed(made):  # at the end, since a mode may forbid writing
        _pass_on_mode(inside, _model(inside, folder, like))


def _model(path: Path, top: Path, like: Path) -> Path:
    """Return what passes its mode and group on: what bears the same name there; for a new folder the top one."""
    same = like / path.relative_to(top)
    return same if same.exists() or not path.is_dir() else like


def _pass_on_group(path: Path, like: Path) -> None:
    """Pass on the group, and the setgid bit by which what is made inside gets it; the superuser passes on the owner."""
    if sys.platform == "win32" or not like.exists():
        return
    wanted, now = like.stat(), path.stat()
    owner = wanted.st_uid if os.geteuid() == 0 else now.st_uid
    if (owner, wanted.st_gid) != (now.st_uid, now.st_gid):
        os.chown(path, owner, wanted.st_gid)
    if stat.S_ISDIR(wanted.st_mode) and wanted.st_mode & stat.S_ISGID:
        os.chmod(path, stat.S_IMODE(now.st_mode) | stat.S_ISGID)  # noqa: PTH101


def _pass_on_mode(path: Path, like: Path) -> None:
    if like.exists():
        wanted = stat.S_IMODE(like.stat().st_mode)
        if wanted != stat.S_IMODE(path.stat().st_mode):
            os.chmod(path, wanted)  # noqa: PTH101


def write_like(path: Path, data: bytes, like: Path) -> None:
    """Write a new file with the mode and group of another where that exists.

    Raises
    ------
    OSError
    """
    write_file(path, data)
    _pass_on_group(path, like)
    _pass_on_mode(path, like)


def exchange(one: Path, other: Path) -> bool:
    """Let two folders change places in one step; return False where the system or file system cannot.

    Raises
    ------
    OSError
    """
    if not sys.platform.startswith("linux"):
        return False
    import ctypes

    call = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
    if call is None:
        return False
    if call(_AT_FDCWD, os.fsencode(one), _AT_FDCWD, os.fsencode(other), _EXCHANGE) == 0:
        return True
    number = ctypes.get_errno()
    if number in _CANNOT_EXCHANGE:
        return False
    raise OSError(number, os.strerror(number), str(one), None, str(other))


def remove(path: Path) -> None:
    """Take away a file, or a folder with everything in it, if it is there; links are not followed.

    Raises
    ------
    OSError
    """
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path)
    elif os.path.lexists(path):
        os.unlink(path)  # noqa: PTH108


def mounts_at(path: Path) -> tuple[Path, ...]:
    """Return where other file systems hang at ``path`` or below it, bound folders included where the system tells."""
    try:
        lines = _MOUNTS.read_bytes().splitlines()
    except OSError:
        return (path,) if os.path.ismount(path) else ()
    inside = os.fsencode(os.path.join(path, ""))  # noqa: PTH118 - ends in the separator, as "/" does
    places = [_unescaped(line.split()[4]) for line in lines]
    return tuple(Path(os.fsdecode(place)) for place in places if os.path.join(place, b"").startswith(inside))  # noqa: PTH118


def _unescaped(word: bytes) -> bytes:
    """Undo the octal escapes of blanks and backslashes in the list of mounts."""
    for escape, plain in ((b"\\040", b" "), (b"\\011", b"\t"), (b"\\012", b"\n"), (b"\\134", b"\\")):
        word = word.replace(escape, plain)
    return word
