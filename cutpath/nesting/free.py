"""Free placement of blanks that are not lane-like: which of them share a strip, and on which roll.

Lanes want blanks with a straight side to lie on. Where such sides are rare, the blanks of the endless rolls are put
together and dealt out to few strips, each no longer than a roll and no fuller than the search copes with. Every strip
is tried on several roll widths, a little on all and longer on those that do best (`press`). Blanks on counted rolls and
offcuts stay with their kind of roll, are pressed together there, and need fewer rolls where that works out.

Determinism: work is counted, as in `search`; time is at most a guard.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from cutpath.nesting.assemble import CutRoll, Lay, assemble, extent
from cutpath.nesting.beside import Beside, new_beside
from cutpath.nesting.fit import fits
from cutpath.nesting.guard import Guard
from cutpath.nesting.press import first_layout, press
from cutpath.nesting.shapes import Form, Room, drawn_mm
from cutpath.nesting.shifts import FormArrays, form_arrays
from cutpath.nesting.strip import Strip, Y, new_bench
from cutpath.nesting.ticks import TICKS_PER_MM
from cutpath.values.nest import Nest, NestProblem, Objective

if TYPE_CHECKING:
    from numpy.typing import NDArray

_LANE_LIKE = 0.8  # share of straight sides: leadwork stood at 0.82 and more, most batches of plain shapes under 0.76
FREE_STEPS = 9.0  # of free placement in the place of one of the search
FREE_PER_SECOND = 30_000_000  # steps of free placement, where a budget is seconds
_LARGE = 0.8  # share of the area in pieces that change places
_PHASES = ((1.0, 1.0, 1.0),)  # grid of places across in mm, share of the work, and of it to explore
_LAST_PHASES = ((1.0, 0.9, 1.0), (0.25, 0.1, 0.0))  # the same in the last round
_LOOK_MM = 800.0  # along a strip, to each side of a place
_MOST_ON_STRIP = 100
_LIKELY_YIELD = 0.72
_WIDTHS = 8  # of rolls, tried for each strip at first
_ROUNDS = ((_WIDTHS, 0.0, 0.4), (4, 0.4, 0.8), (2, 0.8, 1.0))  # trials of all strips, and from when to when
_LEAST_TRIALS = 2  # of each strip
_SEED_STEP = 101  # between trials that differ in nothing else
_DRAWN_TOO = 1e-3  # weight of lead drawn beside rolls bought


def lane_like(problem: NestProblem, forms: Sequence[Form]) -> bool:
    """Tell whether blanks, by the area of their boxes, mostly have a straight side on which to lie in a lane."""
    flat: dict[int, float] = {}
    box: dict[int, float] = {}
    for form in forms:
        t = form.trapezoids
        low = float((t[:, 4] - t[:, 2])[t[:, 0] <= t[:, 0].min()].sum())
        high = float((t[:, 5] - t[:, 3])[t[:, 1] >= t[:, 1].max()].sum())
        flat[form.blank] = max(flat.get(form.blank, 0.0), max(low, high) * TICKS_PER_MM / form.length)
        box[form.blank] = float(form.length) * form.width
    boxes = [(flat[blank], box[blank] * quantity) for blank, quantity in problem.to_cut()]
    return math.fsum(share * area for share, area in boxes) >= _LANE_LIKE * math.fsum(area for _, area in boxes)


@dataclass(frozen=True, slots=True)
class _Lot:
    """Rolls whose blanks may be laid anew on rolls of the same kind.

    ``homes`` holds a choice of rooms for each width, the widest first and the longest of a width first. ``most`` is
    the number of rolls that may be taken.
    """

    cuts: tuple[CutRoll, ...]
    homes: tuple[tuple[int, ...], ...]
    most: float


@dataclass(frozen=True, slots=True)
class _Trial:
    """A strip in a choice of rooms of one width; ``layout`` is None before the first round."""

    lot: int
    group: int
    blanks: tuple[int, ...]
    rooms: tuple[int, ...]
    seed: int
    layout: NDArray[np.int64] | None


@dataclass(frozen=True, slots=True)
class _Hand:
    """What a worker keeps from one trial to the next: forms of its own, and the table of pairs of the latest grid."""

    arrays: FormArrays
    work: int
    tables: dict[int, Beside] = field(default_factory=dict)

    def beside(self, forms: Sequence[Form], grid: int) -> Beside:
        """Return the table for a grid in ticks."""
        if grid not in self.tables:
            self.tables.clear()
            self.tables[grid] = new_beside(forms, grid, self.work)
        return self.tables[grid]


@dataclass(frozen=True, slots=True)
class Free:
    """Free placement for one problem."""

    problem: NestProblem
    forms: tuple[Form, ...]
    rooms: tuple[Room, ...]
    seed: int
    workers: int

    def improve(self, found: Nest, work: int, guard: Guard, better: Callable[[float], None]) -> Nest:
        """Lay the blanks of ``found`` anew; what comes out dearer by the objective stays as it was.

        Parameters
        ----------
        work : int
            Steps for each thread, `FREE_STEPS` to one of the search; the first call on a machine compiles on top of it.
        guard : Guard
            Ends it with the best so far; its clock starts with the first round.
        better : callable
            Called with the lead drawn, in mm2, each time less is drawn.
        """
        lots = self._lots(found)
        trials = [trial for number, lot in enumerate(lots) for trial in self._trials(number, lot)]
        if not trials or work <= 0:
            return found
        best = found
        try:
            shapes = form_arrays(self.forms)
            crew = [_Hand(FormArrays._make(a.copy() for a in shapes), work) for _ in range(self.workers)]
            alone = replace(trials[0], blanks=trials[0].blanks[:1], layout=None)
            self._pressed(alone, crew[0], 0, np.ones(1, dtype=np.bool_))  # compiles, or fetches compiled code
            guard.begin()
            for many, opens, closes in _ROUNDS:
                trials = self._leading(trials, many)
                trials = self._round(crew, trials, int(work * (closes - opens)), guard, closes)
                now = self._nest(found, lots, trials)
                less, best = now.drawn_mm2 < best.drawn_mm2, now
                if less:
                    better(best.drawn_mm2)
                if guard.stop.is_set():
                    break
        except KeyboardInterrupt:
            guard.break_off()
        return best

    def _lots(self, found: Nest) -> list[_Lot]:
        """Gather the rolls of ``found``: the endless ones in one lot, the others by their kind."""
        endless = [i for i, room in enumerate(self.rooms) if room.roll.quantity is None]
        widths = sorted({self.rooms[i].width for i in endless}, reverse=True)
        homes = tuple(
            tuple(sorted((i for i in endless if self.rooms[i].width == width), key=lambda i: -self.rooms[i].length))
            for width in widths
        )
        by_kind: dict[tuple[tuple[int, ...], ...], list[CutRoll]] = {}
        for cut in self._cuts(found):
            kind: tuple[tuple[int, ...], ...] = ((cut.room,),)
            if cut.room in endless and self._all_fit([self.forms[v.form].blank for v in cut.lays], homes[0][0]):
                kind = homes
            by_kind.setdefault(kind, []).append(cut)
        return [
            _Lot(tuple(cuts), kind, math.inf if self.rooms[kind[0][0]].roll.quantity is None else len(cuts))
            for kind, cuts in by_kind.items()
        ]

    def _cuts(self, found: Nest) -> list[CutRoll]:
        """Read from a nest which forms lie where."""
        blanks = {shape.id: number for number, shape in enumerate(self.problem.shapes)}
        numbers = {(form.blank, form.turn_deg, form.flipped): i for i, form in enumerate(self.forms)}
        rolls = [room.roll for room in self.rooms]
        cuts = []
        for nested in found.rolls:
            lays = []
            for p in nested.placements:
                form = numbers[blanks[p.id], p.turn_deg, p.flipped]
                x0, y0 = self.forms[form].corner
                trim = self.problem.edge_trim_mm
                ticks = (round((at + low - trim) * TICKS_PER_MM) for at, low in ((p.x_mm, x0), (p.y_mm, y0)))
                lays.append(Lay(form, *ticks))
            cuts.append(CutRoll(rolls.index(nested.roll), tuple(lays)))
        return cuts

    def _ways(self, blank: int, room: int) -> list[int]:
        return [i for i, form in enumerate(self.forms) if form.blank == blank and fits(form, self.rooms[room])]

    def _all_fit(self, blanks: Sequence[int], room: int) -> bool:
        return all(self._ways(blank, room) for blank in set(blanks))

    def _area(self, blank: int) -> float:
        """Return the area of a blank with its allowance, in square ticks."""
        return next(form.area_mm2 for form in self.forms if form.blank == blank) * TICKS_PER_MM**2

    def _trials(self, number: int, lot: _Lot) -> list[_Trial]:
        """Deal the blanks of a lot out to groups, and give each group its trials."""
        blanks = [self.forms[lay.form].blank for cut in lot.cuts for lay in cut.lays]
        areas = {blank: self._area(blank) for blank in set(blanks)}
        largest = lot.homes[0][0]
        room = _LIKELY_YIELD * self.rooms[largest].width * self.rooms[largest].length
        groups = max(math.ceil(math.fsum(areas[b] for b in blanks) / room), math.ceil(len(blanks) / _MOST_ON_STRIP))
        groups = min(groups, len(blanks))  # gaps count to the areas, and may be wider than any roll
        if groups >= lot.most or len(lot.cuts) == 1 == groups == len(lot.homes):
            return [
                self._trial(number, group, [self.forms[v.form].blank for v in cut.lays], (cut.room,), cut)
                for group, cut in enumerate(lot.cuts)
            ]
        blanks.sort(key=lambda blank: (-areas[blank], blank))
        trials = []
        for group in range(groups):
            mine = blanks[group::groups]
            needed = math.fsum(areas[b] for b in mine) / _LIKELY_YIELD
            homes = [
                home
                for home in lot.homes
                if home is lot.homes[0]
                or (needed <= self.rooms[home[0]].width * self.rooms[home[0]].length and self._all_fit(mine, home[0]))
            ]
            trials += [
                self._trial(number, group, mine, home) for home in homes[: max(_LEAST_TRIALS, _WIDTHS // groups)]
            ]
        return trials

    def _trial(
        self, lot: int, group: int, blanks: Sequence[int], rooms: tuple[int, ...], start: CutRoll | None = None
    ) -> _Trial:
        layout = None if start is None else np.array([(v.form, v.x, v.y) for v in start.lays], dtype=np.int64).T.copy()
        return _Trial(lot, group, tuple(blanks), rooms, self.seed, layout)

    def _leading(self, trials: Sequence[_Trial], many: int) -> list[_Trial]:
        """Return the best trials of each group, and where there are too few, some again with other seeds."""
        groups: dict[tuple[int, int], list[_Trial]] = {}
        for trial in trials:
            groups.setdefault((trial.lot, trial.group), []).append(trial)
        each = max(_LEAST_TRIALS, many // len(groups))
        out = []
        for group in groups.values():
            best = sorted(group, key=lambda trial: self._cost(self._cut(trial)))[:each]
            more = [
                replace(best[k % len(best)], seed=self.seed + _SEED_STEP * (k + 1)) for k in range(each - len(best))
            ]
            out += best + more
        return out

    def _round(
        self, crew: Sequence[_Hand], trials: Sequence[_Trial], work: int, guard: Guard, closes: float
    ) -> list[_Trial]:
        """Press every trial, each worker its share one after another; ``work`` is for each worker.

        ``closes`` is the share of the guard's seconds at which the round should be over. Work goes to groups by their
        pieces, and evenly to the trials of a group.
        """
        alike = [sum((t.lot, t.group) == (u.lot, u.group) for u in trials) for t in trials]
        heft = [len(trial.blanks) / count for trial, count in zip(trials, alike, strict=True)]
        order = sorted(range(len(trials)), key=lambda i: -heft[i])
        stops: list[NDArray[np.bool_]] = []
        phases = _LAST_PHASES if closes == 1.0 else _PHASES

        def go(w: int) -> list[_Trial]:
            mine = order[w :: len(crew)]
            total = math.fsum(heft[i] for i in mine)
            out = []
            for k, i in enumerate(mine):
                stops.append(stop := np.full(1, guard.stop.is_set(), dtype=np.bool_))
                share = heft[i] / math.fsum(heft[j] for j in mine[k:])
                with guard.rings(share * guard.left_s(closes), partial(stop.fill, 1)):
                    out.append(self._pressed(trials[i], crew[w], int(work * heft[i] / total), stop, phases))
            return out

        with ThreadPoolExecutor(len(crew)) as threads:
            jobs = [threads.submit(go, w) for w in range(len(crew))]
            try:
                done = [job.result() for job in jobs]
            except KeyboardInterrupt:
                guard.break_off()
                for stop in stops:
                    stop[0] = True
                done = [job.result() for job in jobs]
        return [trial for part in done for trial in part]

    def _pressed(
        self,
        trial: _Trial,
        hand: _Hand,
        work: int,
        stop: NDArray[np.bool_],
        phases: Sequence[tuple[float, float, float]] = _PHASES,
    ) -> _Trial:
        """Return a trial after so much work on it."""
        room = self.rooms[trial.rooms[0]]
        ways = [self._ways(blank, trial.rooms[0]) for blank in trial.blanks]
        padded = np.zeros((len(ways), max(map(len, ways))), dtype=np.int64)
        for i, mine in enumerate(ways):
            padded[i, : len(mine)] = mine
        areas = np.array([self._area(blank) for blank in trial.blanks])
        heft = np.sqrt(np.sqrt(areas / areas.mean()))
        by_area = np.argsort(-areas, kind="stable")
        least = max(min(self.forms[form].length for form in mine) for mine in ways)
        strip = Strip(
            padded,
            np.array([len(mine) for mine in ways], dtype=np.int64),
            np.outer(heft, heft),
            np.array([room.width, _LOOK_MM * TICKS_PER_MM, least], dtype=np.int64),
            by_area[: 1 + int(np.searchsorted(np.cumsum(areas[by_area]), _LARGE * areas.sum()))],
        )
        bench = new_bench(len(ways))
        layout = trial.layout
        for seed, (grid_mm, share, explored) in enumerate(phases, trial.seed):
            grid = round(grid_mm * TICKS_PER_MM)
            steps = int(share * work)
            table = hand.beside(self.forms, grid)
            pressed = np.zeros((3, len(ways)), dtype=np.int64)
            if layout is None:
                first_layout(hand.arrays, table, strip, bench, by_area, pressed)
            else:
                pressed[:] = layout
                pressed[Y] //= grid
            begun = None if layout is None else pressed.copy()
            press(hand.arrays, table, strip, bench, pressed, steps, explored, seed, stop)
            if begun is None or (pressed != begun).any():
                layout = pressed
                layout[Y] *= grid
        return replace(trial, layout=layout, seed=trial.seed + 2)

    def _cut(self, trial: _Trial) -> CutRoll | None:
        """Return a trial on the shortest roll that holds it; None when none does."""
        if trial.layout is None:
            return None
        lays = tuple(Lay(int(form), int(x), int(y)) for form, x, y in trial.layout.T)
        long = extent(self.forms, lays)
        room = min(
            (r for r in trial.rooms if long <= self.rooms[r].length), key=lambda r: self.rooms[r].length, default=None
        )
        return None if room is None else CutRoll(room, lays)

    def _cost(self, cut: CutRoll | None) -> float:
        if cut is None:
            return math.inf
        roll = self.rooms[cut.room].roll
        drawn = drawn_mm(extent(self.forms, cut.lays), self.problem)
        if self.problem.objective is Objective.DRAWN:
            return roll.width_mm * drawn
        return roll.width_mm * (roll.length_mm + _DRAWN_TOO * drawn)

    def _nest(self, found: Nest, lots: Sequence[_Lot], trials: Sequence[_Trial]) -> Nest:
        """Return the nest with the best trial of each group, in those lots where that comes out cheaper."""
        cuts: list[CutRoll] = []
        for number, lot in enumerate(lots):
            best: dict[int, CutRoll | None] = {}
            for trial in trials:
                cut = self._cut(trial)
                if trial.lot == number and self._cost(cut) <= self._cost(best.get(trial.group)):
                    best[trial.group] = cut
            anew = [cut for cut in best.values() if cut is not None]
            whole = len(anew) == len({trial.group for trial in trials if trial.lot == number}) > 0
            cheaper = math.fsum(map(self._cost, anew)) < math.fsum(map(self._cost, lot.cuts))
            cuts += anew if whole and cheaper else lot.cuts
        return assemble(self.problem, self.forms, self.rooms, cuts, bound_mm2=found.bound_mm2)
