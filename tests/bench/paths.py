"""How much way in the air the order saves, and how long it takes: ``python tests/bench/paths.py [PIECES] [SEED]``.

A batch is nested one piece after another (what a shop does by hand), drawn, and ordered for each kind of machine.
Nest order: piece after piece as they stand along the roll, marks, folds, snips, outline, each begun as it is drawn.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parent)]

from batches import batch, problem_of  # noqa: E402

from cutpath.drawing.paths import tool_paths  # noqa: E402
from cutpath.drawing.sheet import draw  # noqa: E402
from cutpath.machines import machine  # noqa: E402
from cutpath.nesting.common_practice import one_after_another  # noqa: E402
from cutpath.values.batch import Sheet  # noqa: E402
from cutpath.values.drawing import Drawing, Role, Stroke  # noqa: E402
from cutpath.values.machine import Machine  # noqa: E402

MACHINES = ("flatbed-knife", "flatbed-drag-knife", "pen-marker", "drawing-table")


def drawings(size: int, seed: int) -> list[Drawing]:
    """The rolls of a batch, nested and drawn."""
    made = batch(size, seed)
    pieces = {p.id: p for p in made.pieces}
    nest = one_after_another(problem_of(made.pieces))
    return [draw(Sheet(f"roll-{k}", made.pieces[0].lead, r), pieces) for k, r in enumerate(nest.rolls, 1)]


def on_one_sheet(rolls: list[Drawing], width_mm: float = 1200.0) -> Drawing:
    """All rolls side by side and one after another on one sheet: a plan of all pieces at once."""
    strokes: list[Stroke] = []
    x = y = reach = 0.0
    for roll in rolls:
        if y + roll.width_mm > width_mm:
            x, y = reach, 0.0
        own = (s for s in roll.strokes if s.role is not Role.REFERENCE)
        strokes += [replace(s, points=tuple((a + x, b + y) for a, b in s.points)) for s in own]
        y += roll.width_mm
        reach = max(reach, x + roll.length_mm)
    return Drawing("one sheet", reach, width_mm, tuple(strokes))


def measure(plans: list[Drawing], on: Machine) -> tuple[float, float, float]:
    """Seconds of one processor, way in nest order and way as ordered, in mm."""
    started = time.process_time()
    reports = [tool_paths(d, on).report for d in plans]
    return time.process_time() - started, sum(r.nest_order_mm for r in reports), sum(r.order_mm for r in reports)


def table(size: int, seed: int) -> Iterator[tuple[str, float, float, float]]:
    """A row for each machine, and one for all pieces on one sheet."""
    rolls = drawings(size, seed)
    for name in MACHINES:
        on = machine(name)
        on = replace(on, bed=replace(on.bed, length_mm=max(on.bed.length_mm, 800.0)))
        yield (f"{name}, {len(rolls)} rolls", *measure(rolls, on))
    endless = machine("flatbed-knife")
    endless = replace(endless, bed=replace(endless.bed, length_mm=1e6, width_mm=2000.0))
    yield ("flatbed-knife, one sheet", *measure([on_one_sheet(rolls)], endless))


if __name__ == "__main__":
    size, seed = (int(a) for a in (*sys.argv[1:], 200, 1)[:2])
    lines = [f"{size} pieces, seed {seed}", f"{'':36}{'seconds':>8}{'nest order':>12}{'ordered':>10}{'saved':>8}"]
    for name, seconds, nest_mm, ours_mm in table(size, seed):
        saved = 1 - ours_mm / nest_mm
        lines.append(f"{name:36}{seconds:8.2f}{nest_mm / 1000:10.1f} m{ours_mm / 1000:8.1f} m{saved:8.1%}")
    sys.stdout.write("\n".join(lines) + "\n")
