"""A batch made as it was asked for: planned, then written with a manifest that keeps all that it was made from."""

from __future__ import annotations

import platform
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from importlib.metadata import version
from pathlib import Path
from typing import Any

from cutpath import __version__, output, pipeline
from cutpath.errors import Finding, Misread, Refused
from cutpath.output import made_from as kept
from cutpath.readback import READ_BACK
from cutpath.values.batch import Batch, Made, Planned
from cutpath.values.formats import LabelSheets
from cutpath.values.machine import Machine
from cutpath.values.made_from import Asked, Laid, MadeFrom
from cutpath.values.nest import Division, Roll


def plan(asked: Asked, tools: Sequence[Machine], stock: Sequence[Roll] | None = None) -> Planned:
    """Plan what was asked, on the rolls of a stock where there are some; see `pipeline.plan`.

    Raises
    ------
    Refused
        As `pipeline.plan`.
    """
    rolls = asked.rolls if stock is None else stock
    return pipeline.plan(asked.jobs, rolls, asked.settings, asked.practice, tools)


@dataclass(frozen=True, slots=True)
class Ground:
    """What stands behind a batch beside what was asked: files as read, and what a stock or an earlier run gave to it.

    ``named`` is the batch with the names that a stock gave its rolls; the rest as in `MadeFrom`.
    """

    files: Mapping[str, bytes]
    stock: Sequence[Roll] | None = None
    named: Batch | None = None
    divisions: Mapping[str, Division] | None = None
    only: Mapping[str, int] = field(default_factory=dict)
    again: str = ""


def made_of(asked: Asked, tools: Sequence[Machine], batch: Batch, ground: Ground) -> Made:
    """Make every file of a batch, and keep in its manifest what it was made from.

    Raises
    ------
    Refused
        As `written`.
    """
    named = ground.named or batch
    names = {
        now.id: now.nested.roll.name
        for now, before in zip(named.sheets, batch.sheets, strict=True)
        if now.nested.roll != before.nested.roll
    }
    drawings = (str(drawing) for job in batch.jobs for drawing in job.reads)
    read = {*asked.jobs, asked.rolls, asked.practice, *asked.machines, *drawings}
    made_from = MadeFrom(
        asked=asked,
        files={name: data for name, data in sorted(ground.files.items()) if name in read},
        stock=None if ground.stock is None else tuple(ground.stock),
        laid=tuple(Laid(m.lead.code, m.problem.rolls, m.nest) for m in batch.materials),
        divisions=batch.divided if ground.divisions is None else ground.divisions,
        names=names,
        findings=named.findings[len(batch.findings) :],
        only=ground.only,
        again=ground.again,
    )
    return written(named, tools, made_from)


def written(batch: Batch, tools: Sequence[Machine], made_from: MadeFrom) -> Made:
    """Make every file of a batch whose manifest is to keep just this.

    Raises
    ------
    Misread
        When a file reads back otherwise than it was to be written, with what can be sent in of it.
    Refused
        As `pipeline.files_of`.
    """
    asked = made_from.asked
    try:
        return pipeline.files_of(
            batch,
            tools,
            formats=asked.formats,
            templates=asked.templates,
            labels=LabelSheets(asked.labels, one_to_a_pack=asked.one_label),
            settled=asked.settled,
            made_from=kept.plain(made_from),
        )
    except Refused as refusal:
        if any(f.code == READ_BACK for f in refusal.findings):
            raise Misread(refusal.findings, report_to_send(made_from, refusal.findings)) from None
        raise


def report_to_send(made_from: MadeFrom, findings: Sequence[Finding]) -> str:
    """Return what a developer needs to see a fault again, as JSON: versions, findings, job files, how the pieces lay.

    Folders, prices, names of rolls and settings files of the shop are left out.
    """
    asked, told = made_from.asked, kept.plain(made_from)
    laid: Any = told["laid"]
    files: Any = told["files"]
    settings: Any = told["asked"]
    told_files = {Path(name).name: files[name] for name in asked.jobs if name in files}
    return output.json_text(
        {
            "cutpath": __version__,
            "python": platform.python_version(),
            "system": platform.platform(),
            "packages": {name: version(name) for name in _NEEDED},
            "findings": [asdict(finding) for finding in findings],
            "settings": settings["settings"],
            "formats": settings["formats"],
            "machines": [Path(name).name for name in asked.machines],
            "templates": asked.templates,
            "labels": asked.labels,
            "one_label": asked.one_label,
            "jobs": told_files,
            "divisions": told["divisions"],
            "laid": [
                {
                    "code": one["code"],
                    "rolls": [
                        {
                            "width_mm": roll["roll"]["width_mm"],
                            "length_mm": roll["roll"]["length_mm"],
                            **{key: roll[key] for key in roll if key != "roll"},
                        }
                        for roll in one["nest"]["rolls"]
                    ],
                }
                for one in laid
            ],
        }
    )


_NEEDED = ("ezdxf", "numba", "numpy", "reportlab", "scipy", "shapely", "svgwrite")
"""Packages whose version may matter to what is written."""
