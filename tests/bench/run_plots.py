"""What a machine does with a roll, in order, to be looked at: ``python tests/bench/run_plots.py FOLDER [--machine NAME]
[--roll K] [JOB ...]``.

Everything is drawn from the machine's files alone, as the readers of `tests/test_simulated_runs.py` give them: ways in
the air thin and grey, strokes coloured from the first (dark) to the last (yellow), cuts numbered where they begin,
pens dotted. The pieces lie below in light grey; frames are parted by dashed lines, crosses are registration marks.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from itertools import groupby, pairwise
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[2])]

import matplotlib as mpl  # noqa: E402

mpl.use("agg")
from matplotlib import pyplot as plt  # noqa: E402

from cutpath import pipeline  # noqa: E402
from cutpath.drawing.sheet import draw  # noqa: E402
from cutpath.values.nest import Budget  # noqa: E402
from tests.test_simulated_runs import GAPPED, JOBS, MACHINES, Sheet  # noqa: E402


def sheets(names: list[str], jobs: list[Path], roll: int, budget: Budget) -> dict[str, Sheet]:
    """One roll of the jobs as each machine runs it."""
    found = {}
    for name in names:
        tool = MACHINES[name]
        gapped = name in GAPPED
        settings = pipeline.Settings(budget=budget, choose_lengths=False).on([tool] if gapped else [], in_frames=False)
        planned = pipeline.plan(jobs, "cut-lengths" if gapped else None, settings, None, [tool] if gapped else [])
        made = pipeline.nest_batch(planned)
        pieces = {piece.id: piece for piece in made.pieces}
        sheet = made.sheets[roll % len(made.sheets)]
        with tempfile.TemporaryDirectory() as folder:
            found[name] = Sheet(sheet, draw(sheet, pieces), pieces, tool, Path(folder))
    return found


def plot(sheet: Sheet, title: str, file: Path) -> None:
    """Draw a roll as it is run, a row to each frame."""
    groups = [(number, list(own)) for number, own in groupby(sheet.runs, key=lambda run: run.frame)]
    figure, rows = plt.subplots(len(groups), 1, figsize=(17, 5.0 * len(groups)), layout="constrained", squeeze=False)
    cutters = sheet.cutters() or {head.name for head in sheet.tool.heads}
    for axes, (number, runs) in zip(rows[:, 0], groups, strict=True):
        frame = sheet.frames[number]
        left, right = frame.start_mm, frame.start_mm + sheet.tool.bed.length_mm
        for piece in sheet.pieces.values():
            axes.fill(*piece.exterior.xy, color="#e8e8e8", zorder=0)
        for x, y in frame.register:
            axes.plot(x, y, "+", color="#D55E00", ms=14, mew=2)
        for edge in (left, right):
            axes.axvline(edge, color="#888888", ls="--", lw=0.7)
        colours = plt.get_cmap("viridis")
        for before, after in pairwise(runs):
            axes.plot(*zip(before.points[-1], after.points[0], strict=True), color="#bbbbbb", lw=0.4, zorder=1)
        count = 0
        for k, run in enumerate(runs):
            colour = colours(k / max(1, len(runs) - 1))
            cuts = run.head in cutters
            axes.plot(*zip(*run.points, strict=True), "-" if cuts else ":", color=colour, lw=1.6 if cuts else 0.9)
            axes.plot(*run.points[-1], ".", color=colour, ms=3)
            if cuts:
                count += 1
                axes.annotate(str(count), run.points[0], fontsize=7, color="#000000")
        ends = [x for run in runs for x, _ in run.points]
        axes.set(xlim=(min(ends) - 20, max(ends) + 20), ylim=(-25, sheet.drawing.width_mm + 25), aspect="equal")
        axes.set_title(f"{title}, frame {number}: {len(runs)} strokes, {count} cuts", fontsize=9)
    figure.savefig(file, dpi=80)
    plt.close(figure)


def main() -> None:
    """Draw one roll for each machine that is asked for."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("folder", type=Path)
    options.add_argument("--machine", action="append", choices=sorted(MACHINES))
    options.add_argument("--roll", type=int, default=0)
    options.add_argument("--work", type=int, default=2000)
    options.add_argument("job", nargs="*", type=Path)
    asked = options.parse_intermixed_args()
    asked.folder.mkdir(parents=True, exist_ok=True)
    for name, sheet in sheets(
        asked.machine or sorted(MACHINES), asked.job or JOBS[:3], asked.roll, Budget(work=asked.work)
    ).items():
        plot(sheet, name, asked.folder / f"{name.replace(' ', '-')}.png")


if __name__ == "__main__":
    main()
