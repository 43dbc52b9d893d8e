"""The judge of a nest: rebuilds everything from the problem and shares no code with the search.

Conventions are those of `cutpath.values.nest`. Overlap and closeness are measured as depths and distances
against ``OVERLAP_DEPTH_MM``, never as a plain yes or no.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING

from cutpath import sure
from cutpath.errors import Finding
from cutpath.tolerances import AREA_MM2, CLOSE_RATIO, OVERLAP_DEPTH_MM, POINT_MM
from cutpath.values.nest import Blank, Nest, NestedRoll, NestProblem, Placement
from cutpath.values.pattern import Polyline

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from shapely import Polygon

    FormArrays = NDArray[np.object_]


def judge(problem: NestProblem, nest: Nest) -> tuple[Finding, ...]:
    """Return every fault of ``nest`` as an answer to ``problem``; nothing when it is sound.

    Checks: each copy exactly once; allowed turns and flips only; inside the roll less edge trim and inside
    the drawn length; apart by the gap; drawn length within the roll; no more rolls than there are; kept
    offcuts inside the drawn part, clear of pieces by the gap, clear of one another and not under the rule;
    areas add up; the bound not above what was drawn. Of a run that the nest was free to divide: its lengths are
    some that may be cut, follow each other from end to end, and are as many as asked.
    """
    found = [*_divided(problem, nest)]
    if found:
        return tuple(found)
    problem = problem.divided(nest.divisions)
    found += _copies(problem, nest)
    found += _roll_counts(problem, nest)
    blanks = {blank.id: blank for blank in problem.blanks}
    for number, nested in enumerate(nest.rolls, start=1):
        where = f"roll {number} ({nested.roll.width_mm:g} mm wide)"
        known = [p for p in nested.placements if p.id in blanks]
        found += _turns(where, blanks, known)
        found += _places(problem, nested, where, blanks, known)
    found += _areas(problem, nest)
    return tuple(found)


def _fault(where: str, found: str, accepted: str) -> Finding:
    return Finding(
        "CP503",
        where,
        found,
        f"the checker says: {accepted}",
        "Do not cut this nest. Nest again, and report the fault.",
    )


def _divided(problem: NestProblem, nest: Nest) -> Iterator[Finding]:
    if len(nest.divisions) != len(problem.runs):
        yield _fault("runs", f"{len(nest.divisions)} are divided", f"there are {len(problem.runs)}")
        return
    for run, joints in zip(problem.runs, nest.divisions, strict=True):
        known = {(s.first, s.last) for s in run.lengths}
        if len(joints) < 2 or (joints[0], joints[-1]) != (run.even[0], run.even[-1]):
            yield _fault(run.id, f"is divided at {joints}", f"from {run.even[0]} to {run.even[-1]}")
        elif len(joints) != len(run.even):
            yield _fault(run.id, f"is cut in {len(joints) - 1} lengths", f"{len(run.even) - 1} are wanted")
        for ends in pairwise(joints):
            if ends not in known:
                yield _fault(run.id, f"is cut from joint {ends[0]} to {ends[1]}", "no such length may be cut")


def _copies(problem: NestProblem, nest: Nest) -> Iterator[Finding]:
    wanted = {(blank.id, copy) for blank in problem.blanks for copy in range(1, blank.quantity + 1)}
    laid = Counter((p.id, p.copy) for nested in nest.rolls for p in nested.placements)
    for (name, copy), times in sorted(laid.items()):
        if (name, copy) not in wanted:
            yield _fault(f"{name} copy {copy}", "is on a roll", "nobody asked for it")
        elif times > 1:
            yield _fault(f"{name} copy {copy}", f"is on the rolls {times} times", "once is wanted")
    for name, copy in sorted(wanted - set(laid)):
        yield _fault(f"{name} copy {copy}", "is on no roll", "each copy is to be cut once")


def _roll_counts(problem: NestProblem, nest: Nest) -> Iterator[Finding]:
    stock: dict[object, float] = {}
    for roll in problem.rolls:
        stock[roll] = stock.get(roll, 0.0) + (math.inf if roll.quantity is None else roll.quantity)
    for roll, used in Counter(nested.roll for nested in nest.rolls).items():
        if used > stock.get(roll, 0.0):
            size = f"roll {roll.width_mm:g} x {roll.length_mm:g} mm"
            yield _fault(size, f"is used {used} times", f"there are {stock.get(roll, 0.0):g}")


def _turns(where: str, blanks: dict[str, Blank], placements: list[Placement]) -> Iterator[Finding]:
    for p in placements:
        blank = blanks[p.id]
        if all(abs(math.remainder(p.turn_deg - turn, 360.0)) > POINT_MM for turn in blank.turns_deg):
            allowed = ", ".join(f"{turn:g}" for turn in blank.turns_deg)
            yield _fault(f"{where}: {p.id}", f"is turned by {p.turn_deg:g} deg", f"allowed are {allowed} deg")
        if p.flipped and not blank.may_flip:
            yield _fault(f"{where}: {p.id}", "lies face down", "it may not be flipped")


def _laid(blank: Blank, p: Placement) -> Polygon:
    from shapely import Polygon

    angle = math.radians(p.turn_deg)
    cos, sin = sure.cos(angle), sure.sin(angle)
    hand = -1.0 if p.flipped else 1.0

    def move(line: Polyline) -> list[tuple[float, float]]:
        return [(hand * x * cos - y * sin + p.x_mm, hand * x * sin + y * cos + p.y_mm) for x, y in line]

    return Polygon(move(blank.outline), [move(hole) for hole in blank.holes])


def _places(
    problem: NestProblem,
    nested: NestedRoll,
    where: str,
    blanks: dict[str, Blank],
    placements: list[Placement],
) -> Iterator[Finding]:
    import numpy as np
    import shapely

    roll, trim = nested.roll, problem.edge_trim_mm
    if not 0.0 < nested.drawn_mm <= roll.length_mm + OVERLAP_DEPTH_MM:
        yield _fault(where, f"is drawn to {nested.drawn_mm:.3f} mm", f"it is {roll.length_mm:g} mm long")
    laid = np.array([_laid(blanks[p.id], p) for p in placements], dtype=object)
    if len(laid):
        least, most = np.hsplit(shapely.bounds(laid), 2)
        room = np.array([nested.drawn_mm, roll.width_mm]) - trim + OVERLAP_DEPTH_MM
        outside = (least < trim - OVERLAP_DEPTH_MM).any(axis=1) | (most > room).any(axis=1)
        for i in np.flatnonzero(outside).tolist():
            yield _fault(
                f"{where}: {placements[i].id}",
                f"reaches from {least[i][0]:.3f}, {least[i][1]:.3f} to {most[i][0]:.3f}, {most[i][1]:.3f} mm",
                f"it must keep {trim:g} mm inside {nested.drawn_mm:.3f} x {roll.width_mm:g} mm",
            )
        for i, j in _too_close(laid, laid, problem.gap_mm):
            yield _fault(
                f"{where}: {placements[i].id}",
                f"comes too near to {placements[j].id}",
                f"pieces keep {problem.gap_mm:g} mm apart",
            )
    yield from _offcuts(problem, nested, where, laid)


def _too_close(one: FormArrays, other: FormArrays, gap_mm: float) -> list[tuple[int, int]]:
    """Index pairs that are nearer than the gap allows; of one array with itself each pair once, lower number first."""
    import numpy as np
    import shapely

    same = one is other
    if gap_mm <= OVERLAP_DEPTH_MM:
        shrink = -OVERLAP_DEPTH_MM / 2
        one = np.asarray(shapely.buffer(one, shrink, join_style="mitre"))
        other = one if same else np.asarray(shapely.buffer(other, shrink, join_style="mitre"))
        pairs = shapely.STRtree(other).query(one, predicate="intersects")
    else:
        pairs = shapely.STRtree(other).query(one, predicate="dwithin", distance=gap_mm - OVERLAP_DEPTH_MM)
    return [(int(i), int(j)) for i, j in np.asarray(pairs).T if not same or i < j]


def _offcuts(problem: NestProblem, nested: NestedRoll, where: str, laid: FormArrays) -> Iterator[Finding]:
    import numpy as np
    import shapely

    rule, kept = problem.offcuts, nested.offcuts
    for offcut in kept:
        long, short = max(offcut.length_mm, offcut.width_mm), min(offcut.length_mm, offcut.width_mm)
        size = f"{offcut.length_mm:.1f} x {offcut.width_mm:.1f} mm"
        if long < rule.least_length_mm - OVERLAP_DEPTH_MM or short < rule.least_width_mm - OVERLAP_DEPTH_MM:
            least = f"{rule.least_length_mm:g} x {rule.least_width_mm:g} mm"
            yield _fault(where, f"keeps an offcut of {size}", f"the least kept is {least}")
        inside = (
            min(offcut.x_mm, offcut.y_mm) >= -OVERLAP_DEPTH_MM
            and offcut.x_mm + offcut.length_mm <= nested.drawn_mm + OVERLAP_DEPTH_MM
            and offcut.y_mm + offcut.width_mm <= nested.roll.width_mm + OVERLAP_DEPTH_MM
        )
        if not inside:
            yield _fault(where, f"keeps an offcut of {size}", "it must lie inside what was drawn")
    boxes = np.array(
        [shapely.box(o.x_mm, o.y_mm, o.x_mm + o.length_mm, o.y_mm + o.width_mm) for o in kept], dtype=object
    )
    if _too_close(boxes, boxes, 0.0):
        yield _fault(where, "keeps offcuts that lie on one another", "each stands by itself")
    if _too_close(boxes, laid, problem.gap_mm):
        yield _fault(where, "keeps an offcut that a piece is cut from", f"they keep {problem.gap_mm:g} mm apart")


def _areas(problem: NestProblem, nest: Nest) -> Iterator[Finding]:
    from shapely import Polygon

    pieces = math.fsum(b.quantity * Polygon(b.outline, b.holes).area for b in problem.blanks)
    drawn = math.fsum(nested.roll.width_mm * nested.drawn_mm for nested in nest.rolls)
    offcuts = math.fsum(o.length_mm * o.width_mm for nested in nest.rolls for o in nested.offcuts)
    for name, stated, summed in (
        ("pieces", nest.pieces_mm2, pieces),
        ("lead drawn", nest.drawn_mm2, drawn),
        ("kept offcuts", nest.offcuts_mm2, offcuts),
    ):
        if abs(stated - summed) > AREA_MM2 + CLOSE_RATIO * summed:
            yield _fault("account", f"{name} come to {stated:.3f} mm2", f"they add up to {summed:.3f} mm2")
    if nest.bound_mm2 > drawn + AREA_MM2 + CLOSE_RATIO * drawn:
        yield _fault("account", f"the bound is {nest.bound_mm2:.3f} mm2", f"{drawn:.3f} mm2 was enough")
    if pieces + offcuts > drawn + AREA_MM2 + CLOSE_RATIO * drawn:
        yield _fault("account", "pieces and offcuts are more than was drawn", "drawn = pieces + offcuts + scrap")
