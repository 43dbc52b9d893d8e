"""cutpath: from site measurements to cut sheet lead.

A job is read from a file, or built in code with the same keys; what it leaves out is filled in from the trade's data.
Five lines take it to drawings:

>>> import cutpath
>>> wall = {"kind": "step flashing", "length": 2450, "hands": "pair", "coursing": {"gauge": 75, "first_joint": 120}}
>>> planned = cutpath.plan([{"name": "Back addition", "pitch": 35, "detail": [wall]}])
>>> batch = cutpath.nest_batch(planned, budget=cutpath.Budget(work=50_000))
>>> files = {sheet.id: cutpath.dxf(cutpath.draw(sheet, batch)) for sheet in batch.sheets}

Step by step, in the order in which the verbs are used::

    job, findings = cutpath.load_job("job.toml")           # or cutpath.job(name=..., detail=[...])
    run, findings = cutpath.develop(job.details[0])
    pieces, findings = cutpath.split(job, job.details[0], run)
    proofs, findings = cutpath.prove(job, pieces)
    shape = cutpath.polygon(pieces[0])                      # a shapely.Polygon
    made = cutpath.make(batch)                              # every file of `cutpath make`, as bytes
    cutpath.write(made.files, Path("cut"))

Plain shapes are nested without a job; an outline is in mm, and lies as it is or half turned:

>>> plate = cutpath.Blank("plate", 6, ((0, 0), (300, 0), (300, 120), (0, 120)))
>>> problem = cutpath.NestProblem((plate,), (cutpath.Roll(width_mm=300, length_mm=3000),), gap_mm=2)
>>> [roll.drawn_mm for roll in cutpath.nest(problem, cutpath.Budget(work=1000)).rolls]
[904.0]

What refuses raises `Refused`, with every finding. Names are fetched when they are first used, so that importing the
package costs nothing; ``__all__`` is what other programs may rely on.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cutpath.errors import CutpathError as CutpathError
    from cutpath.errors import Finding as Finding
    from cutpath.errors import Refused as Refused
    from cutpath.families.registry import develop as develop
    from cutpath.folding import prove as prove
    from cutpath.jobs import job as job
    from cutpath.jobs import load_job as load_job
    from cutpath.jobs import load_jobs as load_jobs
    from cutpath.library import draw as draw
    from cutpath.library import dxf as dxf
    from cutpath.library import polygon as polygon
    from cutpath.library import svg as svg
    from cutpath.nesting import nest as nest
    from cutpath.output import write_folder as write  # noqa: F401 - a public name
    from cutpath.pieces import split as split
    from cutpath.pipeline import files_of as make  # noqa: F401 - a public name
    from cutpath.pipeline import nest_batch as nest_batch
    from cutpath.pipeline import plan as plan
    from cutpath.values.nest import Blank as Blank
    from cutpath.values.nest import Budget as Budget
    from cutpath.values.nest import NestProblem as NestProblem
    from cutpath.values.nest import Objective as Objective
    from cutpath.values.nest import OffcutRule as OffcutRule
    from cutpath.values.nest import Roll as Roll
    from cutpath.values.settings import Settings as Settings

__version__ = "0.1.0"

_HOMES = {
    "Blank": ("cutpath.values.nest", "Blank"),
    "Budget": ("cutpath.values.nest", "Budget"),
    "CutpathError": ("cutpath.errors", "CutpathError"),
    "Finding": ("cutpath.errors", "Finding"),
    "NestProblem": ("cutpath.values.nest", "NestProblem"),
    "Objective": ("cutpath.values.nest", "Objective"),
    "OffcutRule": ("cutpath.values.nest", "OffcutRule"),
    "Refused": ("cutpath.errors", "Refused"),
    "Roll": ("cutpath.values.nest", "Roll"),
    "Settings": ("cutpath.values.settings", "Settings"),
    "develop": ("cutpath.families.registry", "develop"),
    "draw": ("cutpath.library", "draw"),
    "dxf": ("cutpath.library", "dxf"),
    "job": ("cutpath.jobs", "job"),
    "load_job": ("cutpath.jobs", "load_job"),
    "load_jobs": ("cutpath.jobs", "load_jobs"),
    "make": ("cutpath.pipeline", "files_of"),
    "nest": ("cutpath.nesting", "nest"),
    "nest_batch": ("cutpath.pipeline", "nest_batch"),
    "plan": ("cutpath.pipeline", "plan"),
    "polygon": ("cutpath.library", "polygon"),
    "prove": ("cutpath.folding", "prove"),
    "split": ("cutpath.pieces", "split"),
    "svg": ("cutpath.library", "svg"),
    "write": ("cutpath.output", "write_folder"),
}
"""Public name -> module and name there."""

__all__ = ["__version__", *_HOMES]  # noqa: PLE0604 - names of the table above


def __getattr__(name: str) -> object:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    module, home = _HOMES[name]
    return getattr(importlib.import_module(module), home)


def __dir__() -> list[str]:
    return sorted(__all__)
