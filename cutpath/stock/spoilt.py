"""Pieces that are cut once more: seen to be there when their run is reserved, on the pile when it is committed."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable
from dataclasses import replace

from cutpath.errors import Refused
from cutpath.stock.asked import known_run
from cutpath.stock.entries import micrograms
from cutpath.stock.refusals import no_more, thing_named, wrong_state
from cutpath.values.stock import (
    Account,
    Amount,
    Change,
    Cut,
    Holding,
    Movement,
    Posting,
    Run,
    RunState,
    Spoilt,
    Stage,
    Verb,
)


def check_spoilt(holding: Holding, run: Run) -> None:
    """See that what a run cuts once more was cut by a run that stands, and is not being cut once more already.

    Raises
    ------
    Refused
        CP802 when there is no such run or piece, CP803 when the run does not stand, CP806 for more than it has good.
    """
    others = [
        copies
        for other in holding.runs.values()
        if other.state in (RunState.MAKING, RunState.RESERVED) and other.id not in (run.id, run.replaces)
        for copies in other.spoilt
    ]
    found = []
    for copies in run.spoilt:
        first = known_run(holding, copies.run)
        part = next((part for part in first.parts if part.id == copies.piece), None)
        if first.state not in (RunState.RESERVED, RunState.COMMITTED):
            found.append(wrong_state(first, "a run that is reserved or committed", "Make it anew instead."))
        elif part is None:
            found.append(thing_named(first, copies.piece, Stage.FOLDED, [part.id for part in first.parts]))
        else:
            taken = sum(o.count for o in others if (o.run, o.piece) == (copies.run, copies.piece))
            if copies.count > part.good - taken:
                found.append(no_more(first, part, copies.count, taken))
    if found:
        raise Refused(found)


def spoilt_by(holding: Holding, run: Run, at: str) -> Change:
    """Put the pieces that a run cut once more on the scrap pile, as far as their own run stands.

    Of rolls that are booked their lead is among the pieces, and goes at what the lead of pieces cost on average; of
    others it is not booked yet, and will be scrap when these are.
    """
    runs: dict[str, Run] = {}
    left = dict(holding.balances)
    movements = []
    for copies in run.spoilt:
        first = runs.get(copies.run, holding.runs[copies.run])
        if first.state not in (RunState.RESERVED, RunState.COMMITTED):
            continue
        parts = tuple(
            replace(part, spoilt=part.spoilt + copies.count) if part.id == copies.piece else part
            for part in first.parts
        )
        sheets = next((part.sheets for part in first.parts if part.id == copies.piece), ())
        area_mm2 = booked_mm2 = copies.count * copies.each_mm2
        postings: tuple[Posting, ...] = ()
        if first.state is RunState.RESERVED:
            booked_mm2 = min(area_mm2, math.fsum(cut.pieces_mm2 for cut in first.booked if cut.sheet in sheets))
            first = replace(first, cuts=_less(first.cuts, sheets, area_mm2 - booked_mm2))
        if booked_mm2:
            pieces = left.get((Account.PIECES, copies.code), Amount())
            mass_ug = min(pieces.mass_ug, micrograms(booked_mm2, copies.mass_kg_m2))
            cost_u = round(pieces.cost_u * (mass_ug / pieces.mass_ug)) if pieces.mass_ug else 0
            left[Account.PIECES, copies.code] = Amount(pieces.mass_ug - mass_ug, pieces.cost_u - cost_u)
            postings = (
                Posting(Account.PIECES, copies.code, -mass_ug, -cost_u),
                Posting(Account.SCRAP, copies.code, mass_ug, cost_u),
            )
        runs[first.id] = replace(first, parts=parts)
        movements.append(Movement(Verb.SPOIL, at, postings, first.id, spoilt_note(copies, run)))
    return Change(tuple(movements), runs=tuple(runs.values()))


def spoilt_note(copies: Spoilt, run: Run) -> str:
    """Return what is written of copies that a run cuts once more, where they go on the pile."""
    return f"{copies.count} x {copies.piece}, cut once more by {run.id}"


def _less(cuts: Iterable[Cut], sheets: Collection[str], area_mm2: float) -> tuple[Cut, ...]:
    """Take an area of pieces off the sheets that they are yet to be cut from, one after another."""
    out = []
    for cut in cuts:
        own = min(area_mm2, cut.pieces_mm2) if cut.sheet in sheets and not cut.booked else 0.0
        area_mm2 -= own
        out.append(replace(cut, pieces_mm2=cut.pieces_mm2 - own))
    return tuple(out)
