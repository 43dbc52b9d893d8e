"""What the tests of a family have to work with: one module each, called like its folder, found where it stands.

Each may name

* ``SOUND``: job files by name, less the line with the job's name; each has to pass.
* ``FAULTS``: faults put into the code of the family; the proof has to refuse every one (`tests.faulty`).
* ``SURVEYS``: strategies that make its random surveys.
* ``MEASURED``: of each kind, the keys that its measuring sheet shows where to measure.
* ``BREACHES``: rule, survey that breaks it, exposure.
"""

from __future__ import annotations

from importlib import import_module
from pathlib import Path
from types import ModuleType
from typing import Any

from cutpath.found import folders


def modules() -> list[ModuleType]:
    """The modules of all families that have one."""
    here = Path(__file__).parent
    return [
        import_module(f"tests.families.{name}")
        for name in folders("cutpath.families")
        if (here / f"{name}.py").exists()
    ]


def listed(name: str) -> tuple[Any, ...]:
    """All that the modules list under a name."""
    return tuple(thing for module in modules() for thing in getattr(module, name, ()))


def mapped(name: str) -> dict[str, Any]:
    """All that the modules keep under a name, by its keys."""
    return {key: value for module in modules() for key, value in getattr(module, name, {}).items()}
