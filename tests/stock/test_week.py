"""A shop's week played at random, with a program that dies at any step: kilograms and money close after each step."""

from __future__ import annotations

import gc
import shutil
import tempfile
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from cutpath import stock
from cutpath.errors import Refused
from cutpath.stock import StockFile
from cutpath.values.stock import Account, Change, Holding, Item, Part, Run, RunState
from tests.stock.striking import AT, KG_M2, Died, cut_of, mortal, rolls, run_of, spoilt_of

CLOSE = 1e-6
DEATHS = st.none() | st.tuples(st.integers(1, 40), st.booleans())


class Week(RuleBasedStateMachine):
    """A stock file, and an account of the same week kept in plain kilograms and money, item by item."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.mortal = mortal()
        self.program = self.mortal.__enter__()
        self.file = StockFile(self.folder / "stock.sqlite3")
        self.runs = self.undone = 0
        self.seen: set[int] = set()
        self.brought_kg: Counter[int] = Counter()
        self.brought_money = 0.0
        self.gone_kg: Counter[tuple[Account, int]] = Counter()
        self.whole_mm2: dict[str, float] = {}
        self.effects: dict[int, Counter[tuple[Account, int]]] = {}
        self.measured_kg: Counter[int] = Counter()
        self.collected: list[tuple[int, int, bool]] = []

    def teardown(self) -> None:
        self.mortal.__exit__(None, None, None)
        shutil.rmtree(self.folder)

    def do(self, verb, death) -> Change | None:
        """Do a verb, or die on the way; return the change if it is in the file."""
        return self.done(lambda noted: self.file.change(noted, create=True), verb, death)

    def do_by_history(self, verb, death) -> Change | None:
        """Do a verb that looks at the history, or die on the way."""
        return self.done(lambda noted: self.file.change_by_history([noted]), verb, death)

    def done(self, way, verb, death) -> Change | None:
        before = self.file.read()
        after: list[Change] = []

        def noted(holding: Holding) -> Change:
            after.append(verb(holding))
            return after[-1]

        if death is not None:
            self.program.left, self.program.after = death
        died = False
        try:
            way(noted)
        except Died:
            gc.collect(1)  # a dead program holds no lock; here its connection lives on in what was just raised
            died = True  # and no more: what was raised keeps the dead program's connection, which holds a lock
        finally:
            self.program.left = None
        if died and self.file.read() == before:
            return None
        assert after, "something changed that was never asked for"
        return after[-1]

    def last(self) -> int:
        """The number of the last entry of the history."""
        return max((entry.number for entry in self.file.movements()), default=0)

    def moved(self, effect: Counter[tuple[Account, int]]) -> None:
        """Note what the last entry moved, and move it."""
        self.effects[self.last()] = effect
        for key, kg in effect.items():
            self.gone_kg[key] += kg

    def free(self, chance: int) -> Item | None:
        items = self.file.read().free
        return items[chance % len(items)] if items else None

    @rule(
        code=st.sampled_from(sorted(KG_M2)),
        width=st.sampled_from([150.0, 300.0, 457.2, 600.0]),
        length=st.sampled_from([3000.0, 6000.0, 3333.3]),
        quantity=st.integers(1, 3),
        exact=st.booleans(),
        cost=st.none() | st.sampled_from([0.0, 99.99, 180.0, 33.33]),
        death=DEATHS,
    )
    def add(self, code, width, length, quantity, exact, cost, death):
        asked = rolls(code, width, length, quantity=quantity, exact=exact, cost=cost)
        before = self.last()
        done = self.do(lambda h: stock.add(h, asked, AT), death)
        if done is not None:
            kg = width * length * KG_M2[code] / 1e6
            self.brought_kg[code] += quantity * kg
            self.brought_money += quantity * (cost or 0.0)
            for number in range(before + 1, self.last() + 1):
                self.effects[number] = Counter({(Account.BOUGHT, code): kg})

    @rule(
        chances=st.lists(st.integers(0, 99), min_size=1, max_size=3),
        drawn=st.floats(0.05, 1.0),
        pieces=st.floats(0.0, 1.0),
        kept=st.booleans(),
        made=st.booleans(),
        deaths=st.tuples(DEATHS, DEATHS),
    )
    def order(self, chances, drawn, pieces, kept, made, deaths):
        items = {item.number: item for c in chances if (item := self.free(c))}
        if not items:
            return
        cuts = []
        for item in items.values():
            drawn_mm = drawn * item.length_mm
            offcut = ((0.3 * drawn_mm, 0.5 * item.width_mm),) if kept else ()
            cut = cut_of(item, drawn_mm, pieces=pieces * (0.85 if kept else 1.0), kept=offcut)
            cuts.append(replace(cut, sheet=f"code{item.code}-{len(cuts) + 1:02d}"))
        self.runs += 1
        name = f"R{self.runs}"
        pieces_of = tuple(
            Part(f"{name}-{cut.item}", 4, "Invented terrace", (cut.sheet,)) for cut in cuts if cut.pieces_mm2 > 1000.0
        )
        run = run_of(name, *cuts, parts=pieces_of)
        self.whole_mm2 |= {f"{name}-{cut.item}": cut.pieces_mm2 for cut in cuts}
        if self.do(lambda h: stock.reserve(h, run), deaths[0]) is None:
            return
        if self.do(lambda h: stock.settle(h, name, AT, made=made), deaths[1]) is None:
            self.do(lambda h: stock.settle(h, name, AT, made=made), None)  # the next program finds it

    def standing(self, chance: int) -> str:
        runs = [run.id for run in self.file.read().runs.values() if run.state is RunState.RESERVED]
        return runs[chance % len(runs)] if runs else ""

    @rule(
        chances=st.tuples(st.integers(0, 99), st.integers(0, 99)),
        drawn=st.floats(0.05, 1.0),
        made=st.booleans(),
        deaths=st.tuples(DEATHS, DEATHS),
    )
    def recut(self, chances, drawn, made, deaths):
        """One of four copies of a piece that takes all that is cut from its roll is spoilt, and cut once more."""
        item = self.free(chances[0])
        holding = self.file.read()
        good = [
            (run, part)
            for run in holding.runs.values()
            for part in run.parts
            if run.state in (RunState.RESERVED, RunState.COMMITTED)
            and part.good > sum(s.count for r in self.pending(holding) for s in r.spoilt if s.piece == part.id)
        ]
        if item is None or not good:
            return
        first, part = good[chances[1] % len(good)]
        cut = next(cut for cut in first.cuts if part.id == f"{first.id}-{cut.item}")
        each = self.whole_mm2[part.id] / part.quantity
        self.runs += 1
        name = f"R{self.runs}"
        spoilt = (spoilt_of(first.id, cut, each, piece=part.id),)
        run = run_of(name, cut_of(item, drawn * item.length_mm, pieces=0.5), spoilt=spoilt)
        if self.do(lambda h: stock.reserve(h, run), deaths[0]) is None:
            return
        if self.do(lambda h: stock.settle(h, name, AT, made=made), deaths[1]) is None:
            self.do(lambda h: stock.settle(h, name, AT, made=made), None)

    @staticmethod
    def pending(holding: Holding) -> list[Run]:
        return [run for run in holding.runs.values() if run.state in (RunState.MAKING, RunState.RESERVED)]

    @rule(chance=st.integers(0, 99), which=st.integers(0, 99), death=DEATHS)
    def commit(self, chance, which, death):
        """A roll of a run is cut and booked, or the only one that is left; the last of them ends the run."""
        name = self.standing(chance)
        if not name:
            return
        holding = self.file.read()
        left = [cut for cut in holding.runs[name].cuts if not cut.booked]
        cut = left[which % len(left)]
        before = self.last()
        if self.do(lambda h: stock.commit(h, name, AT, sheets=[cut.sheet]), death) is None:
            return
        kg_m2, spoilt = KG_M2[cut.code] / 1e6, self.file.movements()[-1]
        length = cut.length_mm - cut.drawn_mm
        kept = sum(a * b for a, b in cut.kept_mm) + (length * cut.width_mm if cut.rest_kept else 0.0)
        scrap = (cut.length_mm * cut.width_mm - kept - cut.pieces_mm2) * kg_m2
        effect = Counter({(Account.PIECES, cut.code): cut.pieces_mm2 * kg_m2, (Account.SCRAP, cut.code): scrap})
        for copies in holding.runs[name].spoilt if len(left) == 1 else ():
            if spoilt.movement.postings:  # of rolls that are yet to be cut their own entry counts them
                kg = copies.each_mm2 * KG_M2[copies.code] / 1e6
                effect[Account.PIECES, copies.code] -= kg
                effect[Account.SCRAP, copies.code] += kg
        for key, kg in effect.items():
            self.gone_kg[key] += kg
        self.effects[before + 1] = effect

    @rule(chance=st.integers(0, 99), death=DEATHS)
    def release(self, chance, death):
        name = self.standing(chance)
        if name:
            self.do(lambda h: stock.release(h, name, AT), death)

    @rule(chance=st.integers(0, 99), share=st.floats(0.1, 0.9), scrap=st.booleans(), death=DEATHS)
    def take(self, chance, share, scrap, death):
        item = self.free(chance)
        if item is None or item.length_mm < 100.0:
            return
        length = share * item.length_mm
        if self.do(lambda h: stock.take(h, item.number, AT, length_mm=length, scrap=scrap), death) is not None:
            kg = length * item.width_mm * KG_M2[item.code] / 1e6
            self.moved(Counter({(Account.SCRAP if scrap else Account.HAND, item.code): kg}))

    @rule(chance=st.integers(0, 99), share=st.floats(0.8, 1.2), death=DEATHS)
    def measure(self, chance, share, death):
        """A roll is measured, kept for a run or not; a run keeps what it draws."""
        holding = self.file.read()
        items = list(holding.items.values())
        item = items[chance % len(items)] if items else None
        if item is None or (item.run and holding.runs[item.run].state is not RunState.RESERVED):
            return
        drawn = [cut.drawn_mm for cut in holding.runs[item.run].cuts if cut.item == item.number] if item.run else []
        length = max(item.length_mm * share, 2.0, *drawn)
        if self.do(lambda h: stock.adjust(h, item.number, AT, length_mm=length), death) is not None:
            more = (length - item.length_mm) * item.width_mm * KG_M2[item.code] / 1e6
            self.gone_kg[Account.MEASURED, item.code] -= more
            self.measured_kg[item.number] += more

    @precondition(lambda self: any(self.gone_kg[Account.SCRAP, code] > CLOSE for code in KG_M2))
    @rule(share=st.none() | st.floats(0.5, 1.5), death=DEATHS)
    def collect(self, share, death):
        """The pile goes as the books have it, or as it was weighed."""
        pile = {code: self.gone_kg[Account.SCRAP, code] for code in KG_M2}
        weighed = None if share is None else share * sum(pile.values())
        number = self.last()
        if self.do(lambda h: stock.collect(h, AT, weighed_kg=weighed), death) is None:
            return
        for entry in self.file.movements():
            if entry.number > number:
                code = entry.movement.postings[0].code
                kg = pile[code]
                collected = kg if share is None else share * kg
                self.effects[entry.number] = Counter(
                    {
                        (Account.COLLECTED, code): collected,
                        (Account.WEIGHED, code): kg - collected,
                        (Account.SCRAP, code): -kg,
                    }
                )
                for key, moved in self.effects[entry.number].items():
                    self.gone_kg[key] += moved
                self.collected.append((entry.number, code, len(entry.movement.postings) > 2))

    @precondition(lambda self: self.effects)
    @rule(chance=st.integers(0, 99), death=DEATHS)
    def undo(self, chance, death):
        """An entry was wrong and is taken back, if nothing was made of it since; the later ones are tried first."""
        number = sorted(self.effects, reverse=True)[chance % len(self.effects)]
        movement = next(entry.movement for entry in self.file.movements() if entry.number == number)
        try:
            change = self.do_by_history(lambda whole: stock.undo(whole, number, AT), death)
        except Refused:
            return
        if change is None:
            return
        effect = self.effects.pop(number)
        self.undone += 1
        for (account, code), kg in effect.items():
            if account is Account.BOUGHT:
                self.brought_kg[code] -= kg
                self.brought_money += sum(p.cost_u for p in movement.postings if p.account is Account.BOUGHT) / 1e6
                continue
            later = [weighed for n, of, weighed in self.collected if n > number and of == code]
            if account is Account.SCRAP and kg > 0 and later:
                account = Account.WEIGHED if later[0] else Account.COLLECTED
            self.gone_kg[account, code] -= kg
        self.collected = [told for told in self.collected if told[0] != number]
        for item in change.gone:
            code = next(p.code for p in movement.postings if p.item == item)
            self.gone_kg[Account.MEASURED, code] += self.measured_kg.pop(item, 0.0)

    @invariant()
    def it_closes(self) -> None:
        if not self.file.exists():
            return
        assert stock.check(self.file) == ()
        holding = self.file.read()
        shelf: Counter[int] = Counter()
        for item in holding.items.values():
            shelf[item.code] += item.mass_kg
            assert item.mass_kg == pytest.approx(item.area_mm2 * KG_M2[item.code] / 1e6, abs=CLOSE)
        for code in KG_M2:
            away = sum(kg for (_, of), kg in self.gone_kg.items() if of == code)
            assert shelf[code] + away == pytest.approx(self.brought_kg[code], abs=CLOSE)
            for account in set(Account) - {Account.BOUGHT, Account.SHELF}:
                booked = holding.balances.get((account, code))
                kg = booked.mass_kg if booked else 0.0
                assert kg == pytest.approx(self.gone_kg[account, code], abs=CLOSE)
        money = sum(a.cost_u for (account, _), a in holding.balances.items() if account is not Account.BOUGHT) / 1e6
        assert money == pytest.approx(self.brought_money, abs=CLOSE)

    @invariant()
    def no_label_is_given_twice(self) -> None:
        holding = self.file.read()
        new = {n for n in holding.items if n not in self.seen}
        assert all(n > max(self.seen, default=0) for n in new)
        self.seen |= new


TestWeek = Week.TestCase
TestWeek.settings = settings(max_examples=5, stateful_step_count=25)


class LongWeek(Week):
    """The same, longer."""


@pytest.mark.slow
class TestLongWeek(LongWeek.TestCase):
    """Run with ``-m slow``."""


TestLongWeek.settings = settings(max_examples=60, stateful_step_count=80, derandomize=False)
