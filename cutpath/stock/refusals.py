"""Why the stock refuses, in findings."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from cutpath.errors import Finding
from cutpath.intake.places import did_you_mean
from cutpath.units import mm_text
from cutpath.values.stock import Cut, Holding, Item, Part, Run, Stage, label_of

REMEDY_LIST = "`cutpath stock list` shows every label."


def held_by(item: Item) -> Finding:
    """Return the fault (CP803) of an item that is kept for a run."""
    return Finding(
        "CP803",
        item.label,
        f"it is kept for run {item.run}",
        "an item that is free",
        f"Commit or release {item.run} first, or take something else.",
    )


def lost(holding: Holding, number: int) -> Finding:
    """Return the fault (CP803) of an item that is not what it was when a nest began: gone, kept, or measured anew."""
    item = holding.items.get(number)
    if item is not None and item.run:
        return held_by(item)
    label, found = label_of(number), "it is not on the shelf any more" if item is None else f"it is {item.words} now"
    return Finding(
        "CP803",
        label,
        found,
        "rolls as they were when the nest began",
        "Somebody changed the stock meanwhile: run the same command once more.",
    )


def no_room(item: Item, asked: str) -> Finding:
    """Return the fault (CP806) of asking more of an item than there is."""
    return Finding(
        "CP806",
        item.label,
        f"it is {item.words}, and {asked}",
        "no more than there is",
        f"Take less; if it was measured, put it right first: cutpath stock adjust {item.label} --length ...",
    )


def no_more(run: Run, part: Part, count: int, taken: int) -> Finding:
    """Return the fault (CP806) of cutting more of a piece once more than there are good ones of its run."""
    spoilt = f", {part.spoilt} of them spoilt already" if part.spoilt else ""
    again = f", {taken} of them being cut once more" if taken else ""
    return Finding(
        "CP806",
        f"run {run.id}: {part.id}",
        f"{count} asked for of {part.quantity}{spoilt}{again}",
        f"at most {max(0, part.good - taken)}",
        "If a re-cut was spoilt too, name that run instead; `cutpath run list` has it.",
    )


def not_a_size(name: str, found: str, accepted: str) -> Finding:
    """Return the fault (CP806) of a figure that no item has."""
    return Finding("CP806", name, found, accepted, f"Correct the {name}.")


def not_so_many(run: Run, thing: str, count: int, known: int) -> Finding:
    """Return the fault (CP806) of telling of more pieces, or fewer than none, than a run has."""
    return Finding(
        "CP806", f"run {run.id}: {thing}", f"{count} told, of {known}", f"0 to {known}", "Correct the --count."
    )


def too_short(item: Item, cut: Cut, new: Item) -> Finding:
    """Return the fault (CP803) of an item that is not large enough, as measured, for the run that it is kept for."""
    return Finding(
        "CP803",
        item.label,
        f"it is kept for run {item.run}, which draws {mm_text(cut.drawn_mm)} of {mm_text(cut.width_mm)} width; "
        f"measured are {mm_text(new.width_mm)} x {mm_text(new.length_mm)}",
        "at least what the run draws, at the same width",
        f"Release {item.run}, put the size right, and make it again on what there is.",
    )


def run_named(name: str, meant: Sequence[str]) -> Finding:
    """Return the fault (CP802) of a name that no run bears, or that several begin with."""
    if meant:
        names = ", ".join(meant[:8])
        return Finding(
            "CP802", f"run {name}", f"{len(meant)} runs begin with that", "the name of one run", f"Name one of {names}."
        )
    found, remedy = (
        "no run of that name draws on this stock",
        "`cutpath run list` lists them; a run's first letters do.",
    )
    return Finding("CP802", f"run {name}", found, "a run made with --stock", remedy)


def thing_named(run: Run, thing: str, stage: Stage, known: Sequence[str]) -> Finding:
    """Return the fault (CP802) of a roll or piece that a run does not have."""
    kind, job = ("roll", "") if stage is Stage.CUT else ("piece", " or job")
    meant = did_you_mean(thing, known)
    remedy = f"Did you mean {meant}?" if meant else f"`cutpath run show {run.id}` lists its rolls and pieces."
    return Finding("CP802", f"run {run.id}", f"it has no {kind} {thing}", f"a {kind}{job} of the run", remedy)


def already_booked(run: Run, sheet: str) -> Finding:
    """Return the fault (CP803) of booking a roll of a run once more."""
    left = ", ".join(cut.sheet for cut in run.cuts if not cut.booked)
    remedy = f"`cutpath run show {run.id}` says which rolls are booked; left are {left}."
    return Finding("CP803", f"run {run.id}: {sheet}", "it is booked already", "a roll that is not", remedy)


def cut_in_part(run: Run) -> Finding:
    """Return the fault (CP803) of replacing the output of a run of which some rolls are cut."""
    remedy = f"Commit or release {run.id} first, or write to another folder."
    found = f"{len(run.booked)} of its {len(run.cuts)} rolls are cut and booked"
    return Finding("CP803", f"run {run.id}", found, "a run of which nothing is cut, to take its place", remedy)


def not_cut(run: Run, parts: Sequence[Part], cut: Collection[str]) -> Finding:
    """Return the fault (CP803) of telling of pieces that go on while rolls that they come from are not cut."""
    rolls = sorted({sheet for part in parts for sheet in part.sheets if sheet not in cut})
    names = _named([part.id for part in parts])
    return Finding(
        "CP803",
        f"run {run.id}",
        f"{names} {'comes' if len(parts) == 1 else 'come'} from {', '.join(rolls)}, not told as cut",
        "pieces of rolls that are cut",
        f"Tell that first: cutpath run done {run.id} cut {' '.join(rolls)}. Or name the pieces that are, with --count.",
    )


def not_packed(run: Run, pieces: Sequence[str], stage: Stage) -> Finding:
    """Return the fault (CP803) of telling of more pieces that are delivered than are packed."""
    own = f" {' '.join(pieces)}" if len(pieces) <= _NAMED else ""
    found = f"fewer of {_named(pieces)} are packed"
    remedy = f"Tell that first: cutpath run done {run.id} packed{own}. Or name what went out, with --count."
    if stage is Stage.PACKED:
        found = f"more of {_named(pieces)} are delivered already"
        remedy = f"Take the delivery back first: cutpath run done {run.id} delivered{own} --count 0."
    return Finding("CP803", f"run {run.id}", found, "no more delivered than are packed", remedy)


def _named(pieces: Sequence[str]) -> str:
    more = f" and {len(pieces) - _NAMED} more" if len(pieces) > _NAMED else ""
    return f"{', '.join(pieces[:_NAMED])}{more}"


_NAMED = 6


def wrong_state(run: Run, accepted: str, remedy: str) -> Finding:
    """Return the fault (CP803) of a run that is not as far as it must be, or further."""
    return Finding("CP803", f"run {run.id}", f"it is {run.state}", accepted, remedy)
