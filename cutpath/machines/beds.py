"""Which rolls go on the beds of machines, and what is said where pieces find none for them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from cutpath.errors import Finding
from cutpath.profiles.rolls import rolls_list, rolls_names
from cutpath.tolerances import POINT_MM
from cutpath.values.machine import (
    Bed,
    Machine,
    Stuff,
)
from cutpath.values.nest import Roll


def rolls_within(rolls: Iterable[Roll], machines: Iterable[Machine]) -> tuple[Roll, ...]:
    """Return those rolls that every one of the machines takes; one for card does not touch them."""
    beds = [machine.bed for machine in machines if machine.stuff is not Stuff.CARD]
    return tuple(roll for roll in rolls if all(_lies_on(roll, bed) for bed in beds))


def _lies_on(roll: Roll, bed: Bed) -> bool:
    """Tell whether a roll is no wider than a bed, and no longer where that feeds no roll."""
    long_enough = bed.roll_feed or roll.length_mm <= bed.length_mm + POINT_MM
    return long_enough and roll.width_mm <= bed.width_mm + POINT_MM


def off_the_bed(
    machines: Iterable[Machine], what: str, rolls: Sequence[Roll], lists: Sequence[str]
) -> tuple[Finding, ...]:
    """Return a finding for each machine whose bed is why pieces find no roll, though the list has rolls for them.

    Parameters
    ----------
    machines : iterable of Machine
    what : str
        The pieces in words.
    rolls : sequence of Roll
        The whole list.
    lists : sequence of str
        Names of lists on which the pieces find their rolls.
    """
    found = []
    for tool in machines:
        gone = [roll for roll in rolls if roll not in rolls_within(rolls, [tool])]
        if not gone:
            continue
        bed = tool.bed
        most = f"up to {bed.width_mm:g} mm wide" + ("" if bed.roll_feed else f" and {bed.length_mm:g} mm long")
        taken = "none" if len(gone) == len(rolls) else f"{len(rolls) - len(gone)} of {len(rolls)}"
        size = f"{bed.length_mm:g} × {bed.width_mm:g} mm {'with' if bed.roll_feed else 'without'} a roll feed"
        found.append(
            Finding(
                "CP603",
                tool.name,
                f"its bed of {size} takes {taken} of the listed rolls, so that there is no roll for {what}",
                f"rolls, or lengths cut off them, {most}",
                f"Take --rolls {lists[0]}."
                if lists
                else "List such rolls in a file of your own, and name it with --rolls.",
            )
        )
    return tuple(found)


def beds_at_fault(
    machines: Sequence[Machine], what: str, rolls: Sequence[Roll], fit_on: Callable[[Sequence[Roll]], bool]
) -> tuple[Finding, ...]:
    """Return findings on the machines whose beds leave no roll for pieces for which the list has one.

    Parameters
    ----------
    machines : sequence of Machine
    what : str
        The pieces in words.
    rolls : sequence of Roll
        The whole list.
    fit_on : callable
        Tells whether the pieces fit on such rolls.
    """
    if not machines or not fit_on(rolls):
        return ()
    lists = [name for name in rolls_names() if fit_on(rolls_within(rolls_list(name), machines))]
    return off_the_bed(machines, what, rolls, lists)
