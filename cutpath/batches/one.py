"""One batch from what was asked to every file of its folder, whoever asked: a command, or a list of batches."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path

from cutpath import making, pipeline
from cutpath.errors import Refused
from cutpath.intake.files import remembering
from cutpath.jobs import read_jobs
from cutpath.machines import machines
from cutpath.profiles.rolls import rolls_list
from cutpath.shelf import Shelf, labelled, wanting
from cutpath.trade.in_force import in_force
from cutpath.values.batch import Made, Planned
from cutpath.values.made_from import Asked
from cutpath.values.stock import Item
from cutpath.writers.templates import check_templates


def made(
    asked: Asked,
    files: Mapping[str, bytes],
    shelf: Shelf | None = None,
    *,
    look: Callable[[Planned], None] | None = None,
    report: pipeline.Report | None = None,
) -> tuple[Made, Mapping[str, Item]]:
    """Plan, nest, draw and write in memory; return that, and the item of the stock that each sheet is cut from.

    Parameters
    ----------
    asked : Asked
    files : mapping
        Every file as it was read so far, see `cutpath.intake.files.remembering`; it grows meanwhile.
    shelf : Shelf, optional
        What a stock has to draw on; without it, rolls are those that were asked for.
    look : callable, optional
        Sees the plan before it is nested, and may refuse it.
    report : callable, optional
        Told of each better nest.

    Raises
    ------
    Refused
        With every finding, when one of them is a fault.
    """
    tools = machines(asked.machines)
    with wanting(shelf.remedy if shelf else ""):
        planned = making.plan(asked, tools, shelf.rolls if shelf else None)
        if look is not None:
            look(planned)
        check_templates(asked.templates or (), planned.pieces)
        nest = partial(pipeline.nest_batch, report=report)
        batch = shelf.nested(planned, nest) if shelf else nest(planned)
    if shelf is None:
        return making.made_of(asked, tools, batch, making.Ground(files)), {}
    drawn = shelf.drawn(batch)
    return making.made_of(asked, tools, batch, making.Ground(files, shelf.rolls, labelled(batch, drawn))), drawn


_KNOWN_HERE = frozenset({"CP101", "CP109"})
"""Files that cannot be read, and two names for one file: elsewhere nobody knows."""


def read(asked: Asked) -> tuple[dict[str, bytes], tuple[str, ...]]:
    """Read every file that a batch is made from, for whoever makes it elsewhere; return the drawings' names too.

    What else is wrong with them is found where the batch is made.

    Raises
    ------
    Refused
        When one of them cannot be read, or is given twice.
    """
    with remembering() as files:
        machines(asked.machines)
        limits, sizes, found = in_force(asked.practice)
        jobs, more = read_jobs(tuple(map(Path, asked.jobs)), rolls_list(asked.rolls), limits, sizes)
    found += more
    if any(finding.code in _KNOWN_HERE for finding in found):
        raise Refused(found)
    return files, tuple(name for job in jobs for name in job.reads)
