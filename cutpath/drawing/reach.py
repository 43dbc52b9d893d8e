"""Whether a machine reaches a sheet, and whether its heads stay within that reach."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cutpath.drawing.work import Work
from cutpath.errors import Finding
from cutpath.tolerances import POINT_MM
from cutpath.values.drawing import Drawing
from cutpath.values.machine import Machine
from cutpath.values.toolpath import Frame


def held_to_bed(work: Work) -> Work:
    """Return the work with a finding where the machine does not reach the sheet."""
    return work.found(_bed_findings(work.drawing, work.machine))


def _bed_findings(drawing: Drawing, machine: Machine) -> Iterator[Finding]:
    bed = machine.bed
    if drawing.width_mm > bed.width_mm + POINT_MM:
        yield Finding(
            "CP603",
            drawing.place,
            f"{drawing.width_mm:g} mm wide on a machine that reaches {bed.width_mm:g} mm across",
            f"rolls up to {bed.width_mm:g} mm wide",
            "Give a list of rolls that are no wider (--rolls), or choose another machine.",
        )
    if drawing.length_mm > bed.length_mm + POINT_MM and not bed.roll_feed:
        yield Finding(
            "CP603",
            drawing.place,
            f"{drawing.length_mm:g} mm long on a machine that reaches {bed.length_mm:g} mm and feeds no roll",
            f"sheets up to {bed.length_mm:g} mm long",
            "Give a list of rolls that are no longer (--rolls), or choose another machine.",
        )


def head_findings(frames: Sequence[Frame], drawing: Drawing, machine: Machine) -> list[Finding]:
    """Return a finding where a head would leave the machine's reach on a sheet that lies within it."""
    inset = machine.bed.inset_mm + POINT_MM
    low, high = (-inset, -inset), (machine.bed.length_mm + inset, machine.bed.width_mm + inset)
    beyond = {
        p.piece or f"a {p.role.value}"
        for frame in frames
        for p in frame.passes
        for x, y in (p.start, *(s.to for s in p.moves))
        if not (low[0] <= x - frame.start_mm <= high[0] and low[1] <= y <= high[1])
    }
    if not beyond or any(_bed_findings(drawing, machine)):
        return []
    return [
        Finding(
            "CP603",
            drawing.place,
            f"the head would leave the machine's reach at {', '.join(sorted(beyond)[:5])}",
            f"ways within {machine.bed.inset_mm:g} mm of the sheet",
            "Lay the sheet further in (bed.inset_mm), or leave an edge trim.",
        )
    ]
