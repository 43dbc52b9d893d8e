# mypy: disable-error-code="attr-defined, call-overload"
# Reason: numba types neither its settings nor all options of its decorator.
"""Compilation of the search's inner loops by numba, with its results kept on disk where that is allowed."""

from __future__ import annotations

import ast
import hashlib
import os
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any, TypeVar, cast

import numba
import numpy as np

from cutpath import sure
from cutpath.nesting.lean import Inner, Outer

F = TypeVar("F", bound=Callable[..., Any])

_HOW = {"nopython": True, "nogil": True, "error_model": "numpy", "no_cfunc_wrapper": True, "_nrt": False}


def frozen_sources(package: Path) -> tuple[Path, ...]:
    """Return the files of the package that compiled code may have something frozen of.

    These are the modules of the nest that compile functions and, from there on, every module of the package that one
    of them imports: numbers of a module are constants in the code compiled of another. Imports for types alone do not
    count.
    """
    waiting = [file for file in (package / "nesting").glob("*.py") if b"cutpath.nesting.compiled" in file.read_bytes()]
    found: set[Path] = set()
    while waiting:
        file = waiting.pop()
        if file not in found:
            found.add(file)
            waiting += _imported(file)
    return tuple(sorted(found))


def _imported(file: Path) -> Iterator[Path]:
    """Yield the files of the package that one of its files imports as it is read."""
    package = next(parent for parent in file.parents if parent.name == "cutpath")
    for node in ast.parse(file.read_bytes()).body:
        if isinstance(node, ast.ImportFrom) and node.module:
            names = [node.module, *(f"{node.module}.{alias.name}" for alias in node.names)]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        else:
            continue
        for name in (n for n in names if n.partition(".")[0] == package.name):
            module = package.parent / Path(*name.split("."))
            yield from (f for f in (module.with_suffix(".py"), module / "__init__.py") if f.is_file())


def cache_folder(package: Path) -> str:
    """Return where compiled code is kept: one folder for each wording of what it was made of.

    numba looks at the file of the function alone, so a change in one module would leave stale code in another. The
    versions of numba, Python and processor it keeps apart by itself.
    """
    here = package / "nesting"
    digest = hashlib.sha256(np.__version__.encode())
    for file in frozen_sources(package):
        digest.update(file.relative_to(package).as_posix().encode() + b"\0" + file.read_bytes())
    base = here / "__pycache__"
    if not os.access(base if base.exists() else here, os.W_OK):
        with suppress(RuntimeError):  # a user without a home
            base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "cutpath"
    return str(base / f"search-{digest.hexdigest()[:16]}")


def to_compile() -> bool:
    """Tell whether the search is still to be compiled on this machine; where nothing can be kept, it always is."""
    return not any(Path(_FOLDER).rglob("anneal*.nbi"))


def compiled(function: F) -> F:
    """Compile ``function`` on its first call from Python, free of the interpreter's lock; it must not make arrays.

    Arrays are then not counted in and out of every call, which took a third of the time of the inner loops; whoever
    calls from outside holds them. On a machine where nothing may be kept, it is compiled anew in each run.
    """
    kept, numba.config.CACHE_DIR = numba.config.CACHE_DIR, _FOLDER
    fast = Outer(function, targetoptions=_HOW)
    try:
        fast.enable_caching()
    except RuntimeError:  # no folder to cache in
        pass
    finally:
        numba.config.CACHE_DIR = kept
    return cast("F", fast)


def inner(function: F) -> F:
    """Compile ``function``, which compiled code alone calls, within whatever calls it; it must not make arrays."""
    return cast("F", Inner(function, targetoptions={**_HOW, "no_cpython_wrapper": True}))


_FOLDER = cache_folder(Path(__file__).parents[1])

log, exp = inner(sure.log), inner(sure.exp)


@inner
def power(base: float, exponent: float) -> float:
    """Return a number above 0 to any power, as `sure` does."""
    return exp(exponent * log(base))
