# mypy: disable-error-code="attr-defined, call-overload"
# Reason: numba types neither its settings nor all options of its decorator.
"""Compilation of the search's inner loops by numba, with its results kept on disk where that is allowed."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., Any])

_MODULES = ("shifts", "lanes", "state", "moves", "anneal", "strip", "compiled")  # whose functions call each other

_HOW = {"nogil": True, "error_model": "numpy", "no_cfunc_wrapper": True}


def _cache_folder() -> str:
    """Where compiled code is kept: one folder for each wording of the compiled modules.

    numba looks at the file of the function alone, so a change in one module would leave stale code in another.
    """
    here = Path(__file__).parent
    digest = hashlib.sha256()
    for name in _MODULES:
        digest.update((here / f"{name}.py").read_bytes())
    base = here / "__pycache__"
    if not os.access(base if base.exists() else here, os.W_OK):
        base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "cutpath"
    return str(base / f"search-{digest.hexdigest()[:16]}")


def compiled(function: F) -> F:
    """Compile ``function`` on its first call, free of the interpreter's lock; it must not make arrays.

    Arrays are then not counted in and out of every call, which took a third of the time of the inner loops; whoever
    calls from outside holds them. On a machine where nothing may be kept, it is compiled anew in each run.
    """
    return _compiled(function, _nrt=False)


def allocating(function: F) -> F:
    """Compile like `compiled`, a function that makes arrays."""
    return _compiled(function)


def _compiled(function: F, **how: bool) -> F:
    kept, numba.config.CACHE_DIR = numba.config.CACHE_DIR, _FOLDER
    try:
        fast = numba.njit(cache=True, **_HOW, **how)(function)
    except RuntimeError:  # no folder to cache in
        fast = numba.njit(**_HOW, **how)(function)
    finally:
        numba.config.CACHE_DIR = kept
    return cast("F", fast)


_FOLDER = _cache_folder()
