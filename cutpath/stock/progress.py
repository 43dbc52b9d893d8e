"""How far the rolls and pieces of a run are, as the bench tells."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from cutpath.errors import Finding, Refused
from cutpath.stock.asked import check_words, known_run
from cutpath.stock.refusals import not_cut, not_packed, not_so_many, thing_named, wrong_state
from cutpath.values.stock import Change, Done, Holding, Run, RunState, Stage


def tell(  # noqa: PLR0913 - what is told is named, all else is left out
    holding: Holding,
    name: str,
    stage: Stage,
    at: str,
    *,
    things: Sequence[str] = (),
    count: int | None = None,
    note: str = "",
    before: Sequence[Done] = (),
) -> Change:
    """Tell how far rolls or pieces of a run are; what was told before of the same stage no longer counts.

    Parameters
    ----------
    holding : Holding
    name : str
    stage : Stage
    at : str
    things : sequence of str
        Rolls where they are cut, else pieces, or jobs for all of theirs; without them all of the run.
    count : int, optional
        How many of each piece; all of them without it, 0 to take back what was told.
    note : str
    before : sequence of Done
        What was told of the run until now.

    Raises
    ------
    Refused
        CP802 when the run has no such roll or piece, CP803 when it was released, for pieces whose rolls are not cut,
        or where more would be delivered than are packed, CP806 for more pieces than there are.
    """
    check_words(note=note)
    run = known_run(holding, name)
    if run.state not in (RunState.RESERVED, RunState.COMMITTED):
        raise Refused([wrong_state(run, "a run that is reserved or committed", "Make it again if it is wanted.")])
    known = {cut.sheet: 1 for cut in run.cuts} if stage is Stage.CUT else {p.id: p.good for p in run.parts}
    meant = {thing: [thing] if thing in known else _of_job(run, thing, stage) for thing in things}
    jobs = [] if stage is Stage.CUT else [part.job for part in run.parts]
    found = [thing_named(run, thing, stage, [*known, *jobs]) for thing in things if not meant[thing]]
    wanted = list(dict.fromkeys(own for thing in things for own in meant[thing])) if things else list(known)
    found += [
        not_so_many(run, thing, count, known[thing])
        for thing in wanted
        if count is not None and not 0 <= count <= known[thing]
    ]
    if stage is not Stage.CUT and not found:
        cut = _told_as_cut(run, before)
        early = [
            p for p in run.parts if p.id in wanted and min(p.good, p.on(cut)) < (p.good if count is None else count)
        ]
        found += [not_cut(run, early, cut)] if early else []
    counts = {thing: known[thing] if count is None else count for thing in wanted}
    found += [] if found else _out_of_turn(run, stage, counts, before)
    if found:
        raise Refused(found)
    return Change(done=tuple(Done(run.id, stage, thing, n, at, note) for thing, n in counts.items()))


def _of_job(run: Run, name: str, stage: Stage) -> list[str]:
    """Return the pieces of a job of a run by its name, or by letters that it alone begins with; none of a roll."""
    jobs = {part.job for part in run.parts}
    begun = [job for job in jobs if name and job.casefold().startswith(name.casefold())]
    job = name if name in jobs else begun[0] if len(begun) == 1 else None
    return [] if stage is Stage.CUT else [part.id for part in run.parts if part.job == job]


def _out_of_turn(run: Run, stage: Stage, counts: dict[str, int], before: Iterable[Done]) -> list[Finding]:
    """Return what would leave more of a piece delivered than are packed: nothing goes out that no pack holds."""
    if stage not in (Stage.PACKED, Stage.DELIVERED):
        return []
    last = {(d.stage, d.thing): d.count for d in before} | {(stage, thing): count for thing, count in counts.items()}
    over = [
        part.id
        for part in run.parts
        if part.id in counts
        and min(part.good, last.get((Stage.DELIVERED, part.id), 0)) > last.get((Stage.PACKED, part.id), 0)
    ]
    return [not_packed(run, over, stage)] if over else []


def _told_as_cut(run: Run, before: Iterable[Done]) -> set[str]:
    """Return the rolls of a run that are booked, or told as cut."""
    told = {d.thing: d.count for d in before if d.stage is Stage.CUT}
    return {cut.sheet for cut in run.booked} | {sheet for sheet, count in told.items() if count}
