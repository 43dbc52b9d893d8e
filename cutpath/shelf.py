"""What a nest may draw on where the shop has a stock: free items as rolls, and what is bought beside them."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from math import fsum

from cutpath.errors import Finding, Refused, Severity
from cutpath.machines.beds import rolls_within
from cutpath.nesting import nest
from cutpath.plane import signed_area_mm2
from cutpath.stock import StockFile
from cutpath.units import mm_text
from cutpath.values.batch import Batch, Planned, Sheet
from cutpath.values.machine import Machine
from cutpath.values.nest import Budget, NestProblem, Roll
from cutpath.values.stock import Item, Kind, length_words


@dataclass(frozen=True, slots=True)
class Shelf:
    """What one nest may draw on: items that are free, kinds of rolls that may be bought, and the run it replaces.

    ``kept`` are items that it may not draw on, for other runs keep them.
    """

    file: StockFile
    items: tuple[Item, ...]
    listed: tuple[Roll, ...] = ()
    replaces: str = ""
    kept: tuple[Item, ...] = ()

    @property
    def rolls(self) -> tuple[Roll, ...]:
        """Rolls for the nest, items alike together; offcuts and part rolls are owned, and go first where they serve."""
        return (*(replace(roll, quantity=len(items)) for roll, items in self._alike().items()), *self.listed)

    @property
    def remedy(self) -> str:
        """What helps where rolls are wanting."""
        buy = "have more on the list of rolls to buy" if self.listed else "let some be bought: --rolls LIST"
        more = f"Put more on the shelf (cutpath stock add), or {buy}."
        if not self.kept:
            return more
        kept = "; ".join(self._kept_of(code) for code in sorted({item.code for item in self.kept}))
        return f"{more} Kept for other runs: {kept}; what they leave is free once they are committed."

    def _kept_of(self, code: int) -> str:
        """Return the first items of a code that other runs keep."""
        names = [f"{item.label} ({item.run})" for item in self.kept if item.code == code]
        names[_MOST_NAMED:] = ["and others"] if len(names) > _MOST_NAMED else []
        return f"of code {code} {', '.join(names)}"

    def _alike(self) -> dict[Roll, list[Item]]:
        alike: dict[Roll, list[Item]] = {}
        for item in self.items:
            alike.setdefault(_roll_of(item, owned=bool(self.listed)), []).append(item)
        return alike

    def drawn(self, batch: Batch) -> Mapping[str, Item]:
        """Return the item that each sheet of a batch is cut from; of items alike the lowest label goes first."""
        left = {_whatever(roll): deque(items) for roll, items in self._alike().items()}
        return {s.id: alike.popleft() for s in batch.sheets if (alike := left.get(_whatever(s.nested.roll)))}

    def nested(self, planned: Planned, nest_batch: Callable[[Planned], Batch]) -> Batch:
        """Nest a plan: each code that the stock does for from the stock alone, the others with as few bought as do.

        Raises
        ------
        Refused
            As ``nest_batch``.
        """
        problems = tuple((lead, self._from_stock(problem)) for lead, problem in planned.problems)
        own = replace(planned, problems=problems)
        if own == planned:
            return nest_batch(planned)
        try:
            return nest_batch(own)
        except Refused as refusal:  # a first quick nest went on these rolls, the whole one did not
            if {finding.code for finding in refusal.findings} != {"CP502"}:
                raise
            return nest_batch(planned)

    def _from_stock(self, problem: NestProblem) -> NestProblem:
        """Return a problem with the stock's rolls only, or with the least bought that quick nests find to do.

        That is one roll more, or a few of one kind. Where none of these does, nothing is left out.
        """
        rolls = [roll for roll in problem.rolls if roll not in self.listed]
        if not rolls or len(rolls) == len(problem.rolls):
            return problem
        alone = replace(problem, rolls=tuple(replace(roll, offcut=roll.name not in _WHOLE) for roll in rolls))
        if _does(alone):
            return alone
        even = problem.divided()
        if sum(blank.quantity for blank in even.blanks) > _MOST_TRIED_ON:
            return problem
        some = list(_wanted(even, rolls, [roll for roll in problem.rolls if roll in self.listed]))
        for count in range(1, _MOST_BOUGHT + 1):
            kinds = sorted((r for r in some if r.quantity == count), key=lambda r: r.width_mm * r.length_mm)
            bought = _smallest(kinds, lambda roll: _does(replace(even, rolls=(*rolls, roll))))
            if bought is not None:
                return replace(problem, rolls=(*rolls, bought))
        return problem


def _smallest(kinds: Sequence[Roll], does: Callable[[Roll], bool]) -> Roll | None:
    """Return the smallest roll that does, where a larger one does too: halved from the largest, which must.

    A larger roll may do less where it is narrower; then what is found does, but a smaller one may too.
    """
    if not kinds or not does(kinds[-1]):
        return None
    low, high = 0, len(kinds) - 1
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if does(kinds[middle]) else (middle + 1, high)
    return kinds[high]


def _wanted(problem: NestProblem, own: Sequence[Roll], bought: Sequence[Roll]) -> Iterator[Roll]:
    """Return rolls that may be bought, in such numbers that there is lead enough with those there are, and width."""
    wanted_mm2 = fsum(blank.quantity * abs(signed_area_mm2(blank.outline)) for blank in problem.blanks)
    have_mm2 = fsum((roll.quantity or 0) * roll.width_mm * roll.length_mm for roll in own)
    narrow = [min(max(p[k] for p in b.outline) - min(p[k] for p in b.outline) for k in (0, 1)) for b in problem.blanks]
    widest = max(roll.width_mm for roll in own)
    least_mm = max((side for side in narrow if side > widest), default=0.0)
    for roll in bought:
        for count in range(1, min(roll.quantity or _MOST_BOUGHT, _MOST_BOUGHT) + 1):
            there_mm2 = have_mm2 + count * roll.width_mm * roll.length_mm
            if roll.width_mm >= least_mm and _AT_MOST * there_mm2 >= wanted_mm2:
                yield replace(roll, quantity=count)


_MOST_NAMED = 5
_MOST_BOUGHT = 3
_MOST_TRIED_ON = 300  # pieces; a quick nest of more takes a second and longer
_AT_MOST = 0.95  # of the lead that there is; a quick nest hardly ever gets more out of it
_QUICK = Budget(work=50_000)


def on_what_is_left(shelf: Shelf, planned: Planned, run: str, tools: Sequence[Machine]) -> tuple[Shelf, Planned]:
    """Return the part of a shelf that does for a small plan, code by code, and the plan on it.

    What is left of a run goes first, then offcuts and part rolls, then everything, and what may be bought last.

    Parameters
    ----------
    shelf : Shelf
    planned : Planned
    run : str
        What its commit put on the shelf goes first.
    tools : sequence of Machine
        Only what all of them take is used.

    Raises
    ------
    Refused
        CP501 or CP502 where not even all of it does.
    """
    movements = shelf.file.movements(run=run)
    own = {p.item for entry in movements for p in entry.movement.postings if p.mass_ug > 0}
    bare = replace(shelf, listed=())
    kept: list[Item] = []
    listed: list[Roll] = []
    problems = []
    for lead, problem in planned.problems:
        items = [item for item in shelf.items if item.code == lead.code]
        begun = [item for item in items if item.kind is not Kind.ROLL]
        tiers = [replace(bare, items=tuple(i for i in items if i.number in own))]
        tiers += [replace(bare, items=tuple(some)) for some in (begun, items)] + [replace(shelf, items=tuple(items))]
        for tier in tiers:
            rolls = tuple(r for r in rolls_within(tier.rolls, tools) if r.is_of(lead.material))
            asked = replace(problem, rolls=rolls)
            if tier is tiers[-1] or _does(asked):
                break
        kept += tier.items
        listed += [roll for roll in tier.listed if roll not in listed]
        problems.append((lead, asked))
    return replace(shelf, items=tuple(kept), listed=tuple(listed)), replace(planned, problems=tuple(problems))


def enough(planned: Planned, left: tuple[Roll, ...], listed: tuple[Roll, ...]) -> tuple[Roll, ...]:
    """Return rolls that are left, and for leads that they do not do for those of a list too."""
    rolls = list(left)
    for lead, problem in planned.problems:
        own = tuple(roll for roll in left if roll.is_of(lead.material))
        if not (own and _does(replace(problem, rolls=own))):
            fitting = [roll for roll in listed if roll.is_of(lead.material)]
            rolls += [replace(roll, material=lead.material) for roll in fitting]
    return tuple(rolls)


def _does(problem: NestProblem) -> bool:
    """Tell whether a quick nest finds room on the rolls of a problem."""
    try:
        nest(problem, _QUICK)
    except Refused:
        return False
    return True


def name_of(item: Item) -> str:
    """Name an item on lists and tickets: its label and place, and whether it is to be measured first."""
    parts = [item.label, *([] if item.kind is Kind.ROLL else [item.kind.value]), *([item.place] if item.place else [])]
    return ", ".join(parts) + ("" if item.exact else f"; {length_words(item.length_mm, exact=False)}: measure it first")


def _roll_of(item: Item, *, owned: bool) -> Roll:
    """Return the roll that an item is to the nest; where some may be bought, all that is in stock goes before that."""
    return Roll(
        item.width_mm,
        item.length_mm,
        None,
        f"lead code {item.code}",
        offcut=owned or item.kind is not Kind.ROLL,
        name=f"stock {item.kind}" + ("" if item.exact else ", about"),
        owned=True,
    )


_WHOLE = frozenset({"stock roll", "stock roll, about"})


def _whatever(roll: Roll) -> Roll:
    """Return a roll as it is known whatever its number, and whether it goes before what is bought or not."""
    return replace(roll, quantity=None, offcut=False)


def labelled(batch: Batch, drawn: Mapping[str, Item]) -> Batch:
    """Return a batch with labels and places in the names of its rolls, and what is to be measured first."""
    batch = batch.with_names({sheet: name_of(item) for sheet, item in drawn.items()})
    return replace(batch, findings=(*batch.findings, *_to_measure(batch.sheets, drawn)))


def _to_measure(sheets: Sequence[Sheet], drawn: Mapping[str, Item]) -> Iterable[Finding]:
    for sheet in sheets:
        item = drawn.get(sheet.id)
        if item is not None and not item.exact:
            yield Finding(
                "CP805",
                f"{sheet.id} ({item.label})",
                f"{length_words(item.length_mm, exact=False)} long, {mm_text(sheet.nested.drawn_mm)} of it drawn",
                "a length that was measured",
                f"Measure it before you cut, and put it right: cutpath stock adjust {item.label} --length ...",
                Severity.WARNING,
            )


@contextmanager
def wanting(remedy: str) -> Iterator[None]:
    """Say of rolls that are wanting where others can be had; an empty ``remedy`` leaves what is said of them.

    Raises
    ------
    Refused
        With the findings of the work within.
    """
    try:
        yield
    except Refused as refusal:
        if not remedy:
            raise
        raise Refused(
            replace(f, remedy=remedy) if f.code in ("CP501", "CP502") else f for f in refusal.findings
        ) from None
