"""Ways to put a fault into the code that makes patterns, pieces and surveys.

Each is what a slip in a formula, a sign, a name or an order would do; the faults themselves stand with the tests of
their families (`tests.families.material`). The plan of a sound job must refuse every one, by a finding of the proof.
"""

# ruff: noqa: ARG005 - a fault takes what the right function takes, and passes some of it over

from __future__ import annotations

import importlib
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from unittest.mock import patch

from cutpath.families.frame import Shape
from cutpath.values.pattern import FoldWay
from cutpath.values.survey import Hand

Change = Callable[[ExitStack], None]


@dataclass(frozen=True)
class Fault:
    """One fault: the family it is in, what is wrong, the sound job it is put into, and how it is put there."""

    family: str
    what: str
    job: str
    put: Change

    @property
    def name(self) -> str:
        return f"{self.family}: {self.what}"


@contextmanager
def in_place(fault: Fault) -> Iterator[None]:
    """Put a fault into the code, and take it out again."""
    with ExitStack() as stack:
        fault.put(stack)
        yield


PROVERS = ("cutpath.folding", "cutpath.recheck")


def instead(path: str, wrong: Callable[[Callable], Callable]) -> Change:
    """Have ``wrong(right)`` wherever the code names a function, but for what proves it."""
    module, _, name = path.rpartition(".")

    def put(stack: ExitStack) -> None:
        right = getattr(importlib.import_module(module), name)
        put_in = wrong(right)
        for known in [m for n, m in sys.modules.items() if n.startswith("cutpath.") and not n.startswith(PROVERS)]:
            if getattr(known, name, None) is right:
                stack.enter_context(patch.object(known, name, put_in))

    return put


def drawn(module: str, change: Callable[[Shape], Shape]) -> Change:
    """Change what one module of patterns draws."""

    def put(stack: ExitStack) -> None:
        where = importlib.import_module(f"cutpath.families.{module}")
        right = where.to_pattern
        stack.enter_context(patch.object(where, "to_pattern", lambda shape: right(change(shape))))

    return put


def misread(kind: type, change: Callable) -> Change:
    """Have patterns of one kind of detail made as though their survey were another."""
    return instead(
        "cutpath.families.registry.develop",
        lambda right: lambda detail: right(change(detail) if isinstance(detail, kind) else detail),
    )


def surveyed(kind: type, change: Callable) -> Change:
    """Have a detail surveyed wrong, so that pattern and proof would both follow the wrong survey."""
    return instead(
        "cutpath.jobs.surveying.survey",
        lambda right: lambda *given: _resurveyed(right(*given), kind, change),
    )


def _resurveyed(result, kind, change):
    details, *others = result
    changed = (change(d) if isinstance(d, kind) else d for d in details)
    return tuple(d for d in changed if d is not None), *others


def lost(_):
    """Nothing of a detail."""
    return


def cut(change: Callable) -> Change:
    """Change the pieces into which runs are divided."""

    def wrong(right):
        def split(*given):
            pieces, findings = right(*given)
            return tuple(change(list(pieces))), findings

        return split

    return instead("cutpath.pieces.split", wrong)


def every(kind: str, change: Callable, names: str = "") -> Callable[[Shape], Shape]:
    """Change all folds, snips, marks or stations whose name begins so; None leaves one out."""

    def changed(shape: Shape) -> Shape:
        out = [change(x) if x.name.startswith(names) else x for x in getattr(shape, kind)]
        return replace(shape, **{kind: tuple(x for x in out if x is not None)})

    return changed


def family(name: str, change: Callable[[Shape], Shape]) -> Callable[[Shape], Shape]:
    return lambda shape: change(shape) if shape.family == name else shape


def by(dx: float, dy: float) -> Callable:
    """Move a fold, mark, snip or station."""

    def move(at):
        return (at[0] + dx, at[1] + dy)

    def change(thing):
        if hasattr(thing, "at"):
            return replace(thing, at=move(thing.at))
        if hasattr(thing, "points"):
            return replace(thing, points=tuple(move(p) for p in thing.points))
        return replace(thing, start=move(thing.start), end=move(thing.end))

    return change


def first_by(dx: float, dy: float) -> Callable:
    """Move the first point of a mark."""
    return lambda thing: replace(thing, points=((thing.points[0][0] + dx, thing.points[0][1] + dy), *thing.points[1:]))


def side_moved(name: str, dx: float, dy: float) -> Callable[[Shape], Shape]:
    """Move the corner at which the edge of that name begins."""

    def change(shape: Shape) -> Shape:
        sides = [((x + dx, y + dy), edge) if edge.name == name else ((x, y), edge) for (x, y), edge in shape.sides]
        return replace(shape, sides=tuple(sides))

    return change


def swapped_stations(one: str, other: str) -> Callable[[Shape], Shape]:
    def change(shape: Shape) -> Shape:
        at = {s.name: s.at for s in shape.stations}
        swap = {one: other, other: one}
        if one not in at or other not in at:
            return shape
        return replace(shape, stations=tuple(replace(s, at=at[swap.get(s.name, s.name)]) for s in shape.stations))

    return change


def bend(change: Callable[[float], float]) -> Callable:
    return lambda fold: replace(fold, angle_deg=change(fold.angle_deg))


def other_way(fold):
    return replace(fold, way=FoldWay.BACK if fold.way is FoldWay.FORWARD else FoldWay.FORWARD)


def unmirrored(right):
    """A left hand that is only called one."""
    return lambda pattern: replace(pattern, mirrored=not pattern.mirrored)


def label_left_behind(right):
    return lambda pattern: replace(right(pattern), label=pattern.label)


def marks_left_behind(right):
    return lambda pattern: replace(right(pattern), marks=pattern.marks)


def stations_left_behind(right):
    return lambda pattern: replace(right(pattern), stations=pattern.stations)


def head(**changes) -> Callable:
    return lambda detail: replace(detail, head=replace(detail.head, **changes))


def only(hand: Hand) -> Callable:
    return lambda detail: replace(detail, head=replace(detail.head, hands=(hand,)))


def plus(**by_mm) -> Callable:
    """Add to figures of a survey."""
    return lambda detail: replace(detail, **{name: getattr(detail, name) + mm for name, mm in by_mm.items()})


def without_family(name: str) -> Callable:
    return lambda pieces: [p for p in pieces if p.pattern.family != name]


def lap_by(formula: Callable[[float], float]) -> Change:
    return instead("cutpath.trade.limits.lap_mm", lambda right: lambda slope_deg, *rest, **named: formula(slope_deg))


PATTERN = "cutpath.families.frame.mirror_image"


COURSING = "cutpath.trade.coursing"
