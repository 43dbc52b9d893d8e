"""Benchmark of the nest: ``python tests/bench/nesting.py`` prints a table and writes a plot.

Every way of cutting gets the same batches, rolls and seconds, and its result goes to the same judge:

* cutpath: the nest of this program, pieces given;
* lengths chosen: the same batch with its runs left whole, which the nest divides (not with ``--shapes``);
* either face: with lengths chosen, and pieces may lie face down too (``make --either-face``);
* one after another: common practice, from the narrowest roll that holds each piece;
* bounding rectangles: rectpack (offline, best of its bin choices) on each roll width, the best width;
* free outlines: spyrrow on a strip of each of a few roll widths, the best width; the strip is endless, which no roll
  is, so this peer is given more than the others;
* least bought (with ``--bought``): whole rolls count, for it and for the nest that draws least.

Sizes, seeds and the share of the full seconds are options; the README's table names what it was run with.
"""

# ruff: noqa: T201 - a table on the terminal is what it is for

from __future__ import annotations

import argparse
import math
import multiprocessing
import resource
import statistics
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).parent))

from batches import OWN, ROLLS, WIDTHS_MM, another, arbitrary, batch, either_face, problem_of, raked, undivided
from shapely import Polygon

from cutpath.nesting import NestProgress, judge, nest, one_after_another
from cutpath.nesting.bound import least_area_mm2
from cutpath.nesting.rows import rows_mm2
from cutpath.values.nest import Budget, Nest, NestProblem, Objective

SECONDS = {20: 20.0, 60: 40.0, 68: 40.0, 200: 60.0, 600: 60.0, 1000: 90.0, 2000: 120.0}
Row = tuple[float, float, float, float]
"""Yield, seconds, seconds to within 1 % of the final yield, lead drawn (or bought) in mm2."""
Told = list[tuple[float, float]]
"""Seconds and yield of every better nest."""


def first_s(told: Told) -> float:
    """Seconds to the first answer in which pieces face each other: the first that is better than one after another."""
    return next((at for at, ratio in told if ratio > told[0][1]), math.inf)


def ours(problem: NestProblem, seconds: float, seed: int, workers: int) -> tuple[Nest, Row, float, Told]:
    told: Told = []
    started = time.perf_counter()

    def tell(progress: NestProgress) -> None:
        told.append((time.perf_counter() - started, progress.yield_ratio))

    found = nest(problem, Budget(seconds=seconds), seed=seed, progress=tell, workers=workers)
    taken = time.perf_counter() - started
    assert judge(problem, found) == ()
    near = next((at for at, ratio in told if ratio >= 0.99 * found.yield_ratio), taken)
    row = found.yield_ratio, taken, near, found.drawn_mm2
    return found, row, found.pieces_mm2 / found.bound_mm2, told


def as_bought(found: Nest, row: Row) -> Row:
    """What a nest comes to when every roll that it begins counts whole."""
    bought = math.fsum(cut.roll.width_mm * cut.roll.length_mm for cut in found.rolls)
    return found.pieces_mm2 / bought, row[1], 0.0, bought


def in_turn(problem: NestProblem, seconds: float, seed: int) -> Row:
    started = time.perf_counter()
    found = one_after_another(problem)
    assert judge(problem, found) == ()
    return found.yield_ratio, time.perf_counter() - started, 0.0, found.drawn_mm2


def rectangles(problem: NestProblem, seconds: float, seed: int) -> Row:
    """Pack boxes on 6 m rolls of each width with rectpack, several of its rules, until the seconds are over."""
    import rectpack

    started = time.perf_counter()
    boxes = [(Polygon(b.outline).bounds, b.quantity) for b in problem.blanks]
    pieces = sum(Polygon(b.outline, b.holes).area * b.quantity for b in problem.blanks)
    best = 0.0
    rules = (rectpack.MaxRectsBssf, rectpack.MaxRectsBaf, rectpack.SkylineMwfl, rectpack.GuillotineBssfSas)
    for width in sorted(WIDTHS_MM, reverse=True):
        for rule in rules:
            if time.perf_counter() - started > seconds:
                break
            packer = rectpack.newPacker(pack_algo=rule, rotation=False)
            for (x0, y0, x1, y1), quantity in boxes:
                for _ in range(quantity):
                    packer.add_rect(rectpack.float2dec(x1 - x0, 3), rectpack.float2dec(y1 - y0, 3))
            packer.add_bin(6000, int(width), float("inf"))
            packer.pack()
            if sum(len(roll) for roll in packer) < sum(quantity for _, quantity in boxes):
                continue
            drawn = sum(float(max(r.x + r.width for r in roll)) * width for roll in packer)
            best = max(best, pieces / drawn)
    return best, time.perf_counter() - started, 0.0, pieces / best if best else 0.0


def _strip(task: tuple[NestProblem, float, float, int, object]) -> None:
    problem, width, seconds, seed, out = task
    import spyrrow

    items = [
        spyrrow.Item(b.id, list(b.outline), demand=b.quantity, allowed_orientations=list(b.turns_deg))
        for b in problem.blanks
    ]
    strip = spyrrow.StripPackingInstance("batch", strip_height=width, items=items)
    config = spyrrow.StripPackingConfig(
        early_termination=False, total_computation_time=max(1, round(seconds)), seed=seed
    )
    out.put(strip.solve(config).width)  # type: ignore[attr-defined]


def outlines(problem: NestProblem, seconds: float, seed: int) -> Row:
    """Pack outlines on an endless strip of four widths, each with its share of the seconds."""
    started = time.perf_counter()
    pieces = sum(Polygon(b.outline, b.holes).area * b.quantity for b in problem.blanks)
    tallest = max(Polygon(b.outline).bounds[3] for b in problem.blanks)
    widths = [w for w in (600.0, 480.0, 360.0, 300.0) if w >= tallest]
    best = 0.0
    for width in widths:
        context = multiprocessing.get_context("spawn")
        out = context.Queue()
        child = context.Process(target=_strip, args=((problem, width, seconds / len(widths), seed, out),))
        child.start()
        child.join(seconds / len(widths) + 60.0)
        if not out.empty():
            best = max(best, pieces / (float(out.get()) * width))
        if child.is_alive():
            child.terminate()
    return best, time.perf_counter() - started, 0.0, pieces / best if best else 0.0


def endless_rows(problem: NestProblem) -> Row | None:
    """What lanes of two kinds each could give without ends, on rolls of any width: an estimate, no nest.

    None for lists of so many kinds that it is not made.
    """
    started = time.perf_counter()
    lead = rows_mm2(problem)
    return None if lead is None else (least_area_mm2(problem) / lead, time.perf_counter() - started, 0.0, lead)


PEERS: dict[str, Callable[[NestProblem, float, int], Row]] = {
    "one after another": in_turn,
    "bounding rectangles": rectangles,
    "free outlines": outlines,
}


class Case(NamedTuple):
    """What every way made of one batch: its row, and of the nest its gap to the bound, first answer and progress."""

    rows: dict[str, Row]
    gaps: dict[str, float]
    firsts: dict[str, float]
    told: Told
    memory_mb: float


def _tasks(size: int, seed: int, chosen: argparse.Namespace) -> dict[str, NestProblem]:
    """The problems of one batch that the nest is given, by the way of cutting."""
    own = replace(OWN, kinds=("abutment",)) if chosen.walls else OWN
    shop = another(seed) if chosen.others else own
    if chosen.shapes:
        given = NestProblem(arbitrary(size, seed), ROLLS)
    elif chosen.raked:
        given = raked(size, seed)
    else:
        made = batch(size, seed, shop, whole=chosen.walls)
        given = problem_of(made.pieces, shop.rolls)
    if chosen.bought:
        return {"cutpath": given, "least bought": replace(given, objective=Objective.BOUGHT)}
    tasks = {"cutpath": given}
    if not (chosen.shapes or chosen.raked or chosen.given):
        tasks["lengths chosen"] = replace(undivided(made), rolls=shop.rolls)
        if not chosen.walls:
            tasks["either face"] = either_face(tasks["lengths chosen"])
    return tasks


def measured(size: int, seed: int, chosen: argparse.Namespace) -> Case:
    """Give one batch to every way that was chosen, one after another."""
    tasks = _tasks(size, seed, chosen)
    problem = tasks["cutpath"]
    seconds = chosen.share * SECONDS.get(size, 60.0)
    rows: dict[str, Row] = {}
    gaps: dict[str, float] = {}
    firsts: dict[str, float] = {}
    progress: Told = []
    for name, task in tasks.items():
        found, rows[name], bound, told = ours(task, seconds, seed, chosen.workers)
        if chosen.bought:
            rows[name] = as_bought(found, rows[name])
        gaps[name] = bound - rows[name][0]
        firsts[name] = first_s(told)
        progress = progress or told
    for name, peer in {} if chosen.no_peers or chosen.bought else PEERS.items():
        rows[name] = peer(problem, seconds, seed)
    estimate = None if chosen.bought else endless_rows(problem)
    if estimate is not None:
        rows["estimate: endless rows of two kinds"] = estimate
    return Case(rows, gaps, firsts, progress, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)


def table_rows(size: int, cases: Sequence[Case]) -> Iterator[str]:
    """Yield a row of the table for each way that was made of every batch of one size."""
    for name in cases[0].rows:
        found = [case.rows[name] for case in cases if name in case.rows]
        if len(found) < len(cases):
            continue
        given = [case.rows["cutpath"][3] for case in cases]
        ratio, taken, near, _ = (statistics.median(column) for column in zip(*found, strict=True))
        drawn = statistics.median(row[3] / lead for row, lead in zip(found, given, strict=True))
        whole = sum(row[3] for row in found) / sum(given)
        gap, of_ours = "", " |  | "
        if name in cases[0].gaps:
            gap = f"{statistics.median(case.gaps[name] for case in cases):.3f}"
            first = statistics.median(case.firsts[name] for case in cases)
            of_ours = f"{first:.1f} | {near:.1f} | {max(case.memory_mb for case in cases):.0f}"
        least = min(row[0] for row in found)
        cells = f"{ratio:.4f} | {least:.4f} | {drawn:.4f} | {whole:.4f} | {gap} | {taken:.1f} | {of_ours}"
        yield f"| {size} | {name} | {cells} |"


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--sizes", default="20,60,200,600,2000")
    options.add_argument("--seeds", default="1,2,3")
    options.add_argument("--share", type=float, default=1.0, help="of the full seconds")
    options.add_argument("--at-once", type=int, default=1, help="batches side by side")
    options.add_argument("--shapes", action="store_true", help="arbitrary outlines instead of leadwork")
    options.add_argument("--no-peers", action="store_true")
    options.add_argument("--workers", type=int, default=2, help="of each nest")
    options.add_argument("--raked", action="store_true", help="pieces with raked risers out of files (68, 193 or 646)")
    options.add_argument("--bought", action="store_true", help="yields are pieces over whole rolls, without peers")
    options.add_argument("--given", action="store_true", help="cutpath with pieces given only, beside the peers")
    options.add_argument("--plot", type=Path)
    options.add_argument(
        "--others", action="store_true", help="each seed another shop, with habits and a roll list of its own"
    )
    options.add_argument(
        "--walls", action="store_true", help="runs only: whole long abutments, given and with lengths chosen"
    )
    chosen = options.parse_args()
    nest(problem_of(batch(20, 0).pieces), Budget(work=0), seed=0)  # compile, which is kept on disk
    sizes, seeds = ([int(n) for n in text.split(",")] for text in (chosen.sizes, chosen.seeds))
    with ProcessPoolExecutor(chosen.at_once, multiprocessing.get_context("spawn")) as pool:
        waiting = {size: [pool.submit(measured, size, seed, chosen) for seed in seeds] for size in reversed(sizes)}
        print(
            "| pieces | way | yield (median) | least | drawn / given (median) | all drawn / all given | gap to bound "
            "| seconds | first answer | to within 1 % | memory MB |"
        )
        print("|---|---|---|---|---|---|---|---|---|---|---|")
        found = {}
        for size in sizes:
            found[size] = [case.result() for case in waiting[size]]
            print(*table_rows(size, found[size]), sep="\n", flush=True)
    below = [
        f"{size} pieces, seed {seed}: {name} {case.rows[name][0]:.4f}"
        for size, cases in found.items()
        for seed, case in zip(seeds, cases, strict=True)
        for name in PEERS
        if name in case.rows and case.rows[name][0] > case.rows["cutpath"][0]
    ]
    print(f"cases in which a peer is better: {'; '.join(below) or 'none'}")
    if chosen.plot:
        _plot({size: cases[-1].told for size, cases in found.items()}, chosen.plot)


def _plot(curves: dict[int, Told], path: Path) -> None:
    import matplotlib as mpl

    mpl.use("svg")
    from matplotlib import pyplot as plt

    colours = ("#0072B2", "#E69F00", "#009E73", "#D55E00", "#CC79A7", "#56B4E9")
    figure, axes = plt.subplots(figsize=(7, 4))
    for (size, told), colour, style in zip(curves.items(), colours, ("-", "--", "-.", ":", "-", "--"), strict=False):
        axes.step(*zip(*told, strict=True), style, where="post", color=colour,
                  label=f"{size} pieces")  # fmt: skip
    axes.set(xlabel="seconds", ylabel="yield", xscale="symlog")
    axes.legend()
    figure.savefig(path)


if __name__ == "__main__":
    main()
