"""Values cannot be changed once they are made, nor be given a name that nobody reads."""

from __future__ import annotations

import dataclasses
import importlib
import pkgutil
from functools import cached_property

import cutpath

IN_HAND = {
    "batches.many": {"_InHand", "_Night"},
    "families.outline.drawing": {"_Found"},
    "workers": {"_Workers"},
    "jobs.order_sheet.rows": {"_Row"},
    "nesting.buying": {"Buying"},
    "nesting.common_practice": {"_OpenRoll"},
    "nesting.cooling": {"Worker"},
    "nesting.guard": {"Guard"},
    "nesting.near": {"Near"},
    "nesting.pool": {"Pool"},
    "nesting.search": {"Search"},
    "nesting.team": {"Team"},
    "nesting.together": {"Together"},
    "nesting.trials": {"Trials"},
    "output.place": {"Place"},
    "output.workspace": {"Workspace"},
    "readback.lines": {"Run", "TextLines"},
    "readback.pdf": {"PaperPage", "_Pen"},
    "writers.ngc_check": {"_State"},
}
"""What keeps count of work in hand, in the module that does it; all else is a value."""


def dataclasses_of(module: str) -> dict[str, type]:
    found = vars(importlib.import_module(f"cutpath.{module}"))
    return {
        name: one
        for name, one in found.items()
        if isinstance(one, type) and dataclasses.is_dataclass(one) and one.__module__ == f"cutpath.{module}"
    }


def test_all_but_what_keeps_count_of_work_in_hand_is_frozen() -> None:
    modules = [m.name.removeprefix("cutpath.") for m in pkgutil.walk_packages(cutpath.__path__, "cutpath.")]
    changing, loose = {}, []
    for module in modules:
        if module == "__main__":
            continue
        for name, one in dataclasses_of(module).items():
            if not one.__dataclass_params__.frozen:
                changing.setdefault(module, set()).add(name)
            caches = any(isinstance(kept, cached_property) for kept in vars(one).values())
            if "__slots__" not in vars(one) and not caches:
                loose.append(f"{module}.{name}")
    assert changing == IN_HAND
    assert loose == []
