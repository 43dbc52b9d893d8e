"""Spoilt pieces of a run cut once more: as what was asked then or was measured since, on what the run left."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

from cutpath import making, output, pipeline
from cutpath.again import Earlier, earlier, only, planned_again, planned_anew
from cutpath.errors import Finding, Refused, refuse_faults
from cutpath.intake.files import is_closed
from cutpath.intake.places import did_you_mean
from cutpath.reports.account.shape import area_mm2
from cutpath.values.batch import Batch, Made, Planned
from cutpath.values.machine import Machine
from cutpath.values.made_from import Asked
from cutpath.values.nest import Budget, Roll
from cutpath.values.stock import Spoilt


@dataclass(frozen=True, slots=True)
class Recut:
    """Some pieces of a run that are cut once more: what is asked, the plan of them alone, and what is spoilt."""

    asked: Asked
    tools: tuple[Machine, ...]
    planned: Planned
    ground: making.Ground
    spoilt: tuple[Spoilt, ...]

    def made(self, batch: Batch, named: Batch | None = None) -> Made:
        """Make every file of the pieces as they were nested; ``named`` is the batch as a stock names its rolls.

        Raises
        ------
        Refused
            As `making.made_of`.
        """
        return making.made_of(self.asked, self.tools, batch, replace(self.ground, named=named))


def recut(
    first: Earlier, pieces: Sequence[str], count: int, *, jobs: Sequence[str] = (), work: int, seed: int | None = None
) -> Recut:
    """Plan pieces of a run once more.

    Parameters
    ----------
    first : Earlier
    pieces : sequence of str
    count : int
        How many of each.
    jobs : sequence of str
        Job files that have them as they were measured anew; none for as they were.
    work : int
        Steps of the search.
    seed : int, optional
        In the place of that of the run.

    Raises
    ------
    Refused
        As `some_of`, and with every fault of the job files.
    """
    kept = first.made_from
    before, tools = planned_again(first)
    before = pipeline.divided(before, kept.divisions)
    whole, files = planned_anew(first, jobs) if jobs else (before, kept.files)
    wanted = some_of(first, whole, pieces, count)
    settings = replace(
        kept.asked.settings, budget=Budget(work=work), seed=kept.asked.settings.seed if seed is None else seed
    )
    templates = kept.asked.templates
    asked = replace(
        kept.asked,
        jobs=tuple(jobs) or kept.asked.jobs,
        settings=settings,
        templates=tuple(name for name in templates if name in wanted) or None if templates else templates,
    )
    return Recut(
        asked,
        tools,
        replace(only(whole, wanted, first.run), settings=settings),
        making.Ground({**kept.files, **files}, kept.stock, None, whole.divided, wanted, first.run),
        tuple(
            Spoilt(first.run, p.id, wanted[p.id], p.lead.code, p.lead.mass_kg_m2, area_mm2(p.pattern))
            for p in before.pieces
            if p.id in wanted
        ),
    )


def some_of(run: Earlier, planned: Planned, wanted: Sequence[str], count: int) -> dict[str, int]:
    """Return how many of which pieces of a run are asked for.

    Raises
    ------
    Refused
        CP802 and CP806 when it has no such pieces, or not so many.
    """
    quantities = {piece.id: piece.quantity for piece in planned.pieces}
    own = run.made_from.only
    quantities = {name: min(count, quantities[name]) for name, count in own.items() if name in quantities} or quantities
    found = []
    for name in wanted:
        if name not in quantities:
            meant = did_you_mean(name, quantities)
            remedy = f"Did you mean {meant}?" if meant else "The tickets and `cutpath run show` have every name."
            found.append(Finding("CP802", f"run {run.run}", f"it has no piece {name}", "a piece of the run", remedy))
        elif not 1 <= count <= quantities[name]:
            what = f"{count} asked for of {quantities[name]}"
            found.append(Finding("CP806", name, what, f"at most {quantities[name]}", "Correct the --count."))
    refuse_faults(found)
    return dict.fromkeys(wanted, count)


def recuts_in(folders: Iterable[Path]) -> list[Earlier]:
    """Return the re-cuts on rolls of no stock whose folders lie in one of some folders, as far as these can be read."""
    found: dict[str, Earlier] = {}
    for folder in dict.fromkeys(folder.resolve() for folder in folders):
        for inside in sorted(folder.iterdir()) if os.path.isdir(folder) and not is_closed(folder) else ():
            if os.path.isfile(inside / output.MANIFEST):
                with suppress(Refused):
                    run = earlier(inside)
                    if run.made_from.again and run.made_from.stock is None:
                        found.setdefault(run.run, run)
    return list(found.values())


def what_is_left(run: Earlier, recuts: Sequence[Earlier] = ()) -> tuple[tuple[Roll, ...], list[Earlier]]:
    """Return what a run left of its own rolls, and the re-cuts that took of it since.

    That is what was not drawn, where it is worth keeping, and kept offcuts. In the place of what a re-cut took stands
    what that left.
    """
    left = [roll for _, rolls in _left(run) for roll in rolls]
    taken = []
    todo = [(recut, roll, rolls) for recut in recuts for roll, rolls in _left(recut)]
    while step := next((step for step in todo if step[1] in left), None):
        recut, roll, rolls = step
        todo.remove(step)
        left.remove(roll)
        left += rolls
        taken += [] if recut in taken else [recut]
    return tuple(left), taken


def _left(run: Earlier) -> Iterator[tuple[Roll, list[Roll]]]:
    """Return every roll that a run cut, and what it left of it."""
    rule = run.made_from.asked.settings.offcuts
    for laid in run.made_from.laid:
        for number, nested in enumerate(laid.nest.rolls, 1):
            sheet = f"code{laid.code}-{number:02d}"
            name = run.made_from.names.get(sheet, "") or nested.roll.name
            of = f"{sheet} of run {run.run}" + (f" ({name})" if name else "")
            rest_mm = nested.roll.length_mm - nested.drawn_mm
            sizes = [("rest", nested.roll.width_mm, rest_mm)] if rule.holds(nested.roll.width_mm, rest_mm) else []
            sizes += [("offcut", offcut.width_mm, offcut.length_mm) for offcut in nested.offcuts]
            yield (
                nested.roll,
                [
                    Roll(width, length, 1, f"lead code {laid.code}", offcut=True, name=f"{what} of {of}")
                    for what, width, length in sizes
                ],
            )


def on_rolls(planned: Planned, rolls: Sequence[Roll]) -> Planned:
    """Return a plan whose pieces are to be cut from other rolls than those it was planned with."""
    problems = tuple(
        (lead, replace(problem, rolls=tuple(roll for roll in rolls if roll.is_of(lead.material))))
        for lead, problem in planned.problems
    )
    return replace(planned, problems=problems)
