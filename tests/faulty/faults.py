"""Faults put into the code that makes patterns, pieces and surveys, several to each family.

Each is what a slip in a formula, a sign, a name or an order would do. The plan of a sound job must refuse every one,
by a finding of the proof.
"""

# ruff: noqa: ARG005 - a fault takes what the right function takes, and passes some of it over

from __future__ import annotations

import importlib
import math
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from unittest.mock import patch

from cutpath.families.frame import Shape
from cutpath.plane import Line
from cutpath.values.pattern import FoldUse, FoldWay, MarkKind, Side, StationUse
from cutpath.values.survey import (
    AbutmentGutter,
    Apron,
    BackGutter,
    CornerKind,
    CornerWork,
    CoverFlashing,
    EndCut,
    Hand,
    PipeSlate,
    PlainOutline,
    Soakers,
    StepFlashing,
    TopAbutment,
    ValleyGutter,
)

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
    return tuple(change(d) if isinstance(d, kind) else d for d in details), *others


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


def _renumbered(right):
    return lambda *given, **named: tuple(replace(j, number=j.number + 1) for j in right(*given, **named))


def _sloped(change):
    return lambda right: (
        lambda *given, **named: tuple(replace(j, slope=change(j.slope)) for j in right(*given, **named))
    )


def _raised(mm: float):
    return lambda right: lambda *given, **named: tuple(replace(j, y_mm=j.y_mm + mm) for j in right(*given, **named))


def _joint_lost(survey):
    return replace(survey, joints=tuple(j for j in survey.joints if j.number != 5))


def _without_family(name: str) -> Callable:
    return lambda pieces: [p for p in pieces if p.pattern.family != name]


def _lap_by(formula: Callable[[float], float]) -> Change:
    return instead("cutpath.trade.limits.lap_mm", lambda right: lambda slope_deg, *rest, **named: formula(slope_deg))


def _scaled(factor: float) -> Callable:
    return lambda survey: replace(survey, outline=tuple((x * factor, y * factor) for x, y in survey.outline))


PATTERN = "cutpath.families.frame.mirror_image"
COURSING = "cutpath.trade.coursing"
STEP = "step flashing"


def _last_tooth_only(end, run):
    line = run.stations[-2]
    foot = line.meet(
        Line((0.0, 0.0), math.cos(math.radians(run.survey.pitch_deg)), math.sin(math.radians(run.survey.pitch_deg)))
    )
    return replace(end, line=line, foot=foot, steps=end.steps[-1:])


def _lowered(tongue, by_mm):
    def low(at):
        return (at[0], at[1] - by_mm)

    steps = tuple(
        replace(s, head=low(s.head), toe=low(s.toe), tab_head=low(s.tab_head), tab_toe=low(s.tab_toe))
        for s in tongue.steps
    )
    return replace(tongue, steps=steps)


FAULTS: tuple[Fault, ...] = (
    # Step flashing: the pattern
    Fault(
        STEP,
        "turn-ins folded to 80 degrees",
        "steps",
        drawn("step_flashing.pattern", every("folds", bend(lambda _: 80.0), "turn-in")),
    ),
    Fault(
        STEP,
        "turn-ins folded forward",
        "steps, heights",
        drawn("step_flashing.pattern", every("folds", other_way, "turn-in")),
    ),
    Fault(
        STEP,
        "a fold 2 mm off its joint",
        "steps, heights",
        drawn("step_flashing.pattern", every("folds", by(0, 2), "turn-in 6")),
    ),
    Fault(STEP, "snips left out", "steps, heights", drawn("step_flashing.pattern", lambda s: replace(s, snips=()))),
    Fault(STEP, "turn-ins 3 mm shallow", "steps, heights", misread(StepFlashing, plus(turn_in_mm=-3.0))),
    Fault(STEP, "risers 2 degrees off", "steps, heights", misread(StepFlashing, plus(riser_deg=-2.0))),
    Fault(STEP, "set back left out", "steps, raked", misread(StepFlashing, plus(set_back_mm=-20.0))),
    Fault(STEP, "a joint passed over", "steps, heights", misread(StepFlashing, _joint_lost)),
    Fault(
        STEP,
        "a square upper end for a plumb one",
        "steps, heights",
        misread(StepFlashing, lambda d: replace(d, upper_end=EndCut.SQUARE)),
    ),
    Fault(
        STEP,
        "a return 5 mm short",
        "steps",
        misread(StepFlashing, lambda d: replace(d, corner=replace(d.corner, length_mm=145.0))),
    ),
    Fault(
        STEP, "the arris folded forward", "steps", drawn("step_flashing.pattern", every("folds", other_way, "arris"))
    ),
    Fault(STEP, "a corner piece left out", "steps, separate corner", cut(_without_family("corner piece"))),
    Fault(STEP, "a left hand made as a right one", "steps", instead(PATTERN, unmirrored)),
    Fault(STEP, "lettering of a left hand not mirrored", "steps", instead(PATTERN, label_left_behind)),
    Fault(STEP, "marks of a left hand not mirrored", "steps", instead(PATTERN, marks_left_behind)),
    Fault(STEP, "points of a left hand not mirrored", "steps", instead(PATTERN, stations_left_behind)),
    # Step flashing: what its features are said to be
    Fault(
        STEP,
        "a turn-in said to be in the next joint",
        "steps, heights",
        drawn("step_flashing.pattern", every("folds", lambda f: replace(f, joint=f.joint + 1), "turn-in 6")),
    ),
    Fault(
        STEP,
        "a turn-in said to be an arris",
        "steps, heights",
        drawn("step_flashing.pattern", every("folds", lambda f: replace(f, use=FoldUse.ARRIS), "turn-in 6")),
    ),
    Fault(
        STEP,
        "the head of a riser said to be its foot",
        "steps, heights",
        drawn(
            "step_flashing.pattern",
            every("stations", lambda s: replace(s, use=StationUse.RISER_FOOT, fold=None), "fold 6 start"),
        ),
    ),
    Fault(
        STEP,
        "the water line said to be a lap",
        "steps, heights",
        drawn("step_flashing.pattern", every("marks", lambda m: replace(m, kind=MarkKind.LAP), "water line")),
    ),
    # Step flashing: marks and points
    Fault(
        STEP, "water line 10 mm low", "steps", drawn("step_flashing.pattern", every("marks", by(0, -10), "water line"))
    ),
    Fault(
        STEP,
        "water line begins 50 mm late",
        "steps, heights",
        drawn("step_flashing.pattern", every("marks", first_by(50, 0), "water line")),
    ),
    Fault(
        STEP,
        "no water line",
        "steps, heights",
        drawn("step_flashing.pattern", every("marks", lambda m: None, "water line")),
    ),
    Fault(
        STEP, "lap marks 40 mm off", "steps, heights", drawn("step_flashing.pattern", every("marks", by(40, 0), "lap"))
    ),
    Fault(STEP, "no lap marks", "steps", drawn("step_flashing.pattern", every("marks", lambda m: None, "lap"))),
    Fault(
        STEP,
        "lap marks with each other's words",
        "steps, heights",
        instead("cutpath.families.frame.lap_marks", lambda right: lambda a, b, *r, **n: right(b, a, *r, **n)),
    ),
    Fault(
        STEP, "foot of a riser 3 mm off", "steps", drawn("step_flashing.pattern", every("stations", by(3, 0), "riser"))
    ),
    Fault(
        STEP,
        "ends of a fold mixed up",
        "steps, heights",
        drawn("step_flashing.pattern", swapped_stations("fold 6 end", "fold 6 start, riser 6 head")),
    ),
    Fault(
        STEP,
        "a point of the return off",
        "steps",
        drawn("step_flashing.pattern", every("stations", by(0, 4), "return fold")),
    ),
    Fault(
        STEP,
        "points left out",
        "steps, heights",
        drawn("step_flashing.pattern", every("stations", lambda s: None, "turn-in")),
    ),
    # Step flashing: before the survey
    Fault(
        STEP,
        "gauge a millimetre too much",
        "steps",
        instead(f"{COURSING}.joints_from_gauge", lambda right: lambda first, gauge, **n: right(first, gauge + 1, **n)),
    ),
    Fault(
        STEP,
        "gauge begins 20 mm too high",
        "steps",
        instead(f"{COURSING}.joints_from_gauge", lambda right: lambda first, gauge, **n: right(first + 20, gauge, **n)),
    ),
    Fault(
        STEP,
        "gauge stops courses short of the upper end",
        "steps",
        surveyed(StepFlashing, lambda survey: replace(survey, joints=survey.joints[:-2])),
    ),
    Fault(
        STEP,
        "gauge counts too many courses",
        "steps",
        instead(
            f"{COURSING}.joints_from_gauge",
            lambda right: lambda f, g, **n: right(f, g, **{**n, "slope_mm": n["slope_mm"] * 1.5}),
        ),
    ),
    Fault(STEP, "joints numbered from 2", "steps, heights", instead(f"{COURSING}.joints_from_heights", _renumbered)),
    Fault(
        STEP,
        "second reading falls the wrong way",
        "steps, read twice",
        instead(f"{COURSING}.joints_from_heights", _sloped(lambda s: -s)),
    ),
    Fault(
        STEP,
        "second reading forgotten",
        "steps, read twice",
        instead(f"{COURSING}.joints_from_heights", _sloped(lambda s: 0.0)),
    ),
    Fault(
        STEP,
        "second reading at the wrong distance",
        "steps, read twice",
        instead(f"{COURSING}.joints_from_heights", _sloped(lambda s: s * 0.9)),
    ),
    Fault(
        STEP,
        "tape on the roof line for the water line",
        "steps, along the water line",
        instead(f"{COURSING}.point_on_line", lambda right: lambda tape, line, pitch: right(tape, 0.0, pitch)),
    ),
    Fault(
        STEP,
        "tape taken as level",
        "steps, along the water line",
        instead(
            f"{COURSING}.point_on_line",
            lambda right: (
                lambda tape, line, pitch: (
                    tape,
                    line / math.cos(math.radians(pitch)) + tape * math.tan(math.radians(pitch)),
                )
            ),
        ),
    ),
    Fault(
        STEP,
        "water line counted plumb",
        "steps, along the water line",
        instead(
            f"{COURSING}.point_on_line",
            lambda right: lambda tape, line, pitch: right(tape, line * math.cos(math.radians(pitch)), pitch),
        ),
    ),
    Fault(
        STEP,
        "second line falls the wrong way",
        "steps, along two lines",
        instead(f"{COURSING}.joints_from_line", _sloped(lambda s: -s)),
    ),
    Fault(
        STEP,
        "joints of two lines not carried back to the corner",
        "steps, along two lines",
        instead(f"{COURSING}.joints_from_line", _raised(6.0)),
    ),
    Fault(
        STEP,
        "own steps a fiftieth too long",
        "steps, own",
        instead(
            f"{COURSING}.joints_from_steps",
            lambda right: lambda steps: right([(run * 1.02, rise) for run, rise in steps]),
        ),
    ),
    Fault(STEP, "own steps 4 mm too high", "steps, own", instead(f"{COURSING}.joints_from_steps", _raised(4.0))),
    Fault(
        STEP, "another figure for the water line", "steps, old line", surveyed(StepFlashing, plus(water_line_mm=10.0))
    ),
    Fault(
        STEP,
        "laps a step long",
        "steps, heights",
        instead(
            "cutpath.pieces.division.lap_end",
            lambda right: lambda joint, steps, *rest: min(right(joint, steps, *rest) + 1, steps),
        ),
    ),
    Fault(
        STEP,
        "laps a step short",
        "steps, steep",
        instead("cutpath.pieces.division.lap_end", lambda right: lambda joint, *rest: joint + 1),
    ),
    Fault(
        STEP,
        "level lap of 75",
        "steps",
        instead("cutpath.families.site.lap_of", lambda right: lambda *r, **n: (75, "")),
    ),
    Fault(
        STEP,
        "lengths longer than the limit",
        "steps, heights",
        instead(
            "cutpath.pieces.division.step_lengths", lambda right: lambda run, longest, *r: right(run, longest * 1.6, *r)
        ),
    ),
    Fault(
        STEP,
        "lengths said to be shorter than they are",
        "steps, heights",
        drawn("step_flashing.pattern", lambda s: replace(s, length_mm=s.length_mm - 12.0)),
    ),
    Fault(STEP, "one hand of a pair", "steps", surveyed(StepFlashing, only(Hand.RIGHT))),
    Fault(STEP, "one hand of a pair not cut", "steps", cut(lambda pieces: [p for p in pieces if p.hand is Hand.RIGHT])),
    Fault(
        STEP,
        "pieces with each other's numbers",
        "steps, heights",
        cut(lambda pieces: [replace(p, number=p.of + 1 - p.number) for p in pieces]),
    ),
    # Step and cover
    Fault(
        "step and cover",
        "cover folded 4 degrees less",
        "step and cover",
        drawn("step_flashing.pattern", every("folds", bend(lambda a: a - 4), "roof line")),
    ),
    Fault("step and cover", "cover 10 mm narrow", "step and cover", misread(StepFlashing, plus(cover_mm=-10.0))),
    Fault(
        "step and cover", "cover by the wrong exposure", "step and cover", surveyed(StepFlashing, plus(cover_mm=50.0))
    ),
    Fault(
        "step and cover",
        "lap by the cosine",
        "step and cover",
        _lap_by(lambda slope: max(75 / math.cos(math.radians(slope)), 150.0)),
    ),
    Fault("step and cover", "level lap on a roof", "step and cover", _lap_by(lambda slope: 100.0)),
    Fault(
        "step and cover",
        "lap by the rafters on tiles",
        "step and cover on tiles",
        instead("cutpath.trade.coverings.surface_deg", lambda right: lambda pitch, covering: pitch),
    ),
    Fault(
        "step and cover",
        "lap kept at 11 degrees on a flatter roof",
        "step and cover on a flat roof",
        _lap_by(lambda slope: 75 / math.sin(math.radians(max(slope, 11.0)))),
    ),
    Fault(
        "step and cover",
        "lap marks off the cover's end",
        "step and cover",
        drawn("step_flashing.pattern", every("marks", first_by(25, 0), "lap")),
    ),
    Fault(
        "step and cover",
        "points of the cover edge off",
        "step and cover",
        drawn("step_flashing.pattern", every("stations", by(0, 6), "upper end at the cover")),
    ),
    # Change of pitch
    Fault(
        "change of pitch",
        "joints not carried up to the change",
        "change of pitch",
        instead(f"{COURSING}.seen_from", lambda right: lambda joints, x, y: right(joints, x, y + 5.0)),
    ),
    Fault(
        "change of pitch",
        "pitch of the upper roof 2 degrees off",
        "change of pitch",
        surveyed(StepFlashing, lambda d: replace(d, pitch_deg=d.pitch_deg + 2) if d.tongue else d),
    ),
    Fault(
        "change of pitch",
        "mark of the tongue's end 15 mm off",
        "change of pitch",
        drawn("step_flashing.pattern", every("marks", by(15, 0), "lap: end of the tongue")),
    ),
    Fault(
        "change of pitch",
        "no mark of the tongue's end",
        "change of pitch",
        drawn("step_flashing.pattern", every("marks", lambda m: None, "lap: end of the tongue")),
    ),
    Fault(
        "change of pitch",
        "mark of the change 6 mm off",
        "change of pitch",
        drawn("step_flashing.pattern", every("marks", by(6, 0), "change of pitch")),
    ),
    Fault(
        "change of pitch",
        "tongue by half of the lap",
        "change of pitch",
        instead(
            "cutpath.families.step_flashing.pattern.tongue_end",
            lambda right: lambda run: right(replace(run, survey=plus(lapped_mm=-50.0)(run.survey))),
        ),
    ),
    Fault(
        "change of pitch",
        "tongue over the last tooth only",
        "change of pitch",
        instead(
            "cutpath.families.step_flashing.pattern.tongue_end",
            lambda right: lambda run: _last_tooth_only(right(run), run),
        ),
    ),
    Fault(
        "change of pitch",
        "teeth of the tongue 4 mm low",
        "change of pitch",
        instead(
            "cutpath.families.step_flashing.pattern._joined",
            lambda right: lambda tongue, steps: right(tongue and _lowered(tongue, 4.0), steps),
        ),
    ),
    Fault(
        "change of pitch",
        "turn-ins of the tongue not freed",
        "change of pitch",
        drawn("step_flashing.pattern", every("snips", lambda snip: None, "snip 3")),
    ),
    # Soakers
    Fault(
        "soakers",
        "length without the headlap",
        "soakers",
        instead("cutpath.trade.coverings.soaker_length_mm", lambda right: lambda gauge, headlap, down: gauge + down),
    ),
    Fault(
        "soakers",
        "length without the turn-down",
        "soakers",
        instead("cutpath.trade.coverings.soaker_length_mm", lambda right: lambda gauge, headlap, down: gauge + headlap),
    ),
    Fault(
        "soakers",
        "a part of a course not counted",
        "soakers",
        instead("cutpath.trade.coverings.soaker_count", lambda right: lambda slope, gauge: math.floor(slope / gauge)),
    ),
    Fault(
        "soakers",
        "one more than the courses",
        "soakers",
        instead("cutpath.trade.coverings.soaker_count", lambda right: lambda slope, gauge: right(slope, gauge) + 1),
    ),
    Fault(
        "soakers",
        "gauge of a single lap",
        "soakers",
        instead("cutpath.trade.coverings.gauge_mm", lambda right: lambda length, headlap: length - headlap),
    ),
    Fault(
        "soakers",
        "headlap of a single lap",
        "soakers, slates",
        instead("cutpath.trade.coverings.headlap_mm", lambda right: lambda length, gauge: length - gauge),
    ),
    Fault("soakers", "upstand 5 mm low", "soakers", surveyed(Soakers, plus(upstand_mm=-5.0))),
    Fault(
        "soakers", "upstand folded 3 mm off", "soakers", drawn("soakers.pattern", every("folds", by(0, 3), "upstand"))
    ),
    Fault("soakers", "head turned up", "soakers", drawn("soakers.pattern", every("folds", other_way, "turn-down"))),
    Fault(
        "soakers",
        "a point 3 mm off",
        "soakers",
        drawn("soakers.pattern", every("stations", by(3, 0), "upstand fold, head")),
    ),
    Fault(
        "soakers",
        "one set cut for two",
        "soakers",
        cut(lambda pieces: [replace(p, quantity=p.quantity // 2) for p in pieces]),
    ),
    Fault(
        "soakers",
        "cut in code 4",
        "soakers",
        cut(lambda pieces: [replace(p, lead=replace(p.lead, code=4)) for p in pieces]),
    ),
    # Apron
    Fault(
        "apron",
        "front folded to the pitch",
        "apron",
        drawn("apron.pattern", every("folds", bend(lambda a: 90 - a), "front")),
    ),
    Fault(
        "apron",
        "the left arris said to be the right one",
        "apron",
        drawn("apron.pattern", every("folds", lambda f: replace(f, side=Side.RIGHT), "left arris")),
    ),
    Fault("apron", "bossed sides 10 mm narrow", "apron", misread(Apron, plus(side_mm=-10.0))),
    Fault(
        "apron",
        "uncut sheet cut away at a bossed corner",
        "apron",
        drawn("apron.pattern", side_moved("right end", -20.0, 0.0)),
    ),
    Fault(
        "apron", "bossed side's top 8 mm low", "apron", drawn("apron.pattern", side_moved("top of the side", 0.0, -8.0))
    ),
    Fault(
        "apron",
        "bossing lines at the slope's cosine",
        "apron",
        drawn(
            "apron.pattern",
            every(
                "marks", lambda m: replace(m, points=(m.points[0], (m.points[1][0], m.points[1][1] * 0.9))), "roof line"
            ),
        ),
    ),
    Fault(
        "apron",
        "return turn-ins 6 mm long",
        "apron",
        instead("cutpath.families.apron.pattern.return_reach_mm", lambda right: lambda survey: right(survey) + 6.0),
    ),
    Fault(
        "apron",
        "gussets 5 mm narrow",
        "apron, welded",
        drawn(
            "apron.pattern",
            family(
                "gusset", lambda s: replace(s, sides=tuple(((min(x, s.length_mm - 5), y), n) for (x, y), n in s.sides))
            ),
        ),
    ),
    Fault(
        "apron", "one gusset to a set", "apron, welded", cut(lambda pieces: [replace(p, quantity=2) for p in pieces])
    ),
    Fault("apron", "lap marks 30 mm off", "apron, long", drawn("apron.pattern", every("marks", by(30, 0), "lap"))),
    Fault(
        "apron",
        "a point on the wrong arris",
        "apron",
        drawn("apron.pattern", swapped_stations("left arris at the front fold", "right arris at the front fold")),
    ),
    Fault("apron", "cover by the wrong exposure", "apron", surveyed(Apron, plus(cover_mm=50.0))),
    Fault(
        "apron",
        "lengths lap 20 mm short",
        "apron, long",
        instead(
            "cutpath.pieces.division.free_lengths",
            lambda right: lambda run, longest, lap: right(run, longest, lap - 20),
        ),
    ),
    # Back gutter
    Fault(
        "back gutter",
        "roof folded to the complement",
        "back gutter",
        drawn("back_gutter.pattern", every("folds", bend(lambda a: 90 - a), "sole")),
    ),
    Fault(
        "back gutter",
        "fillet's foot 10 mm off",
        "back gutter",
        drawn("back_gutter.pattern", every("folds", by(0, 10), "foot")),
    ),
    Fault("back gutter", "bossed sides 15 mm narrow", "back gutter", misread(BackGutter, plus(side_mm=-15.0))),
    Fault(
        "back gutter",
        "uncut sheet 12 mm low at a side",
        "back gutter",
        drawn("back_gutter.pattern", side_moved("top of upstand", 0.0, -12.0)),
    ),
    Fault(
        "back gutter",
        "bossing lines past the sole",
        "back gutter",
        drawn(
            "back_gutter.pattern",
            every(
                "marks", lambda m: replace(m, points=(m.points[0], (m.points[1][0], m.points[1][1] - 20))), "left end"
            ),
        ),
    ),
    Fault(
        "back gutter",
        "foot of the roll marked in the middle",
        "back gutter, two",
        drawn("back_gutter.pattern", every("marks", by(22.5, 0), "foot of the roll")),
    ),
    Fault("back gutter", "undercloak short", "back gutter, two", misread(BackGutter, plus(roll_under_mm=-10.0))),
    Fault(
        "back gutter",
        "both gussets of one hand",
        "back gutter, welded",
        instead(PATTERN, lambda right: lambda pattern: pattern),
    ),
    Fault(
        "back gutter",
        "gussets at the slope's length",
        "back gutter, welded",
        drawn("back_gutter.pattern", family("gusset", side_moved("weld to sole", 3.0, 0.0))),
    ),
    Fault("back gutter", "one gusset left out", "back gutter, welded", cut(lambda pieces: pieces[:-1])),
    Fault(
        "back gutter",
        "points of the sole on the wall fold",
        "back gutter",
        drawn("back_gutter.pattern", swapped_stations("sole fold, left", "wall fold, left")),
    ),
    # Cover flashing
    Fault(
        "cover flashing",
        "plumb ends left square",
        "cover flashing, raking",
        misread(CoverFlashing, lambda d: replace(d, slope_deg=0.0, head=replace(d.head, hands=()))),
    ),
    Fault(
        "cover flashing",
        "laps twice as long as asked",
        "cover flashing",
        instead(
            "cutpath.pieces.division.free_lengths", lambda right: lambda run, longest, lap: right(run, longest, 2 * lap)
        ),
    ),
    Fault(
        "cover flashing",
        "more lengths than needed",
        "cover flashing",
        instead(
            "cutpath.pieces.division.free_lengths",
            lambda right: lambda run, longest, lap: right(run, longest * 0.7, lap),
        ),
    ),
    Fault(
        "cover flashing",
        "lap marks 25 mm off",
        "cover flashing",
        drawn("cover_flashing.pattern", every("marks", by(25, 0), "lap")),
    ),
    Fault(
        "cover flashing",
        "mitres left out",
        "cover flashing, returns",
        drawn("cover_flashing.pattern", side_moved("mitre", 5.0, 0.0)),
    ),
    Fault(
        "cover flashing",
        "returns 10 mm short",
        "cover flashing, returns",
        misread(CoverFlashing, plus(return_mm=-10.0)),
    ),
    Fault(
        "cover flashing",
        "a point off the free edge",
        "cover flashing",
        drawn("cover_flashing.pattern", every("stations", by(0, 5), "left end at the free edge")),
    ),
    Fault("cover flashing", "hangs down 25 mm less", "cover flashing", surveyed(CoverFlashing, plus(cover_mm=-25.0))),
    # Ridge saddle
    Fault(
        "ridge saddle",
        "ridge folded once the pitch",
        "ridge saddle",
        drawn("ridge_saddle.pattern", every("folds", bend(lambda a: a / 2), "ridge")),
    ),
    Fault(
        "ridge saddle",
        "bossing lines at the pitch from level",
        "ridge saddle",
        drawn(
            "ridge_saddle.pattern",
            every(
                "marks", lambda m: replace(m, points=(m.points[0], (m.points[1][0] * 0.8, m.points[1][1]))), "bossing"
            ),
        ),
    ),
    Fault(
        "ridge saddle",
        "uncut sheet 15 mm narrow",
        "ridge saddle",
        drawn("ridge_saddle.pattern", family("ridge saddle", side_moved("top of upstand", -15.0, 0.0))),
    ),
    Fault(
        "ridge saddle",
        "gusset opens by once the pitch",
        "ridge saddle, welded",
        drawn(
            "ridge_saddle.pattern",
            family("gusset", lambda s: replace(s, sides=tuple(((x / 2, y), n) for (x, y), n in s.sides))),
        ),
    ),
    Fault("ridge saddle", "gusset left out", "ridge saddle, welded", cut(_without_family("gusset"))),
    Fault(
        "ridge saddle",
        "points of ridge and wall mixed up",
        "ridge saddle",
        drawn("ridge_saddle.pattern", swapped_stations("ridge at the wall", "wall fold, left")),
    ),
    # Top-edge abutment
    Fault(
        "top-edge abutment", "stop ends 10 mm low", "top-edge abutment", misread(TopAbutment, plus(stop_left_mm=-10.0))
    ),
    Fault(
        "top-edge abutment",
        "stop end's sheet cut short at its top",
        "top-edge abutment",
        drawn("top_abutment.pattern", side_moved("top of stop end", -12.0, 0.0)),
    ),
    Fault(
        "top-edge abutment",
        "plumb line leans the wrong way",
        "top-edge abutment",
        drawn(
            "top_abutment.pattern",
            every("marks", lambda m: replace(m, points=(m.points[0], (m.points[1][0], -m.points[1][1]))), "plumb"),
        ),
    ),
    Fault(
        "top-edge abutment",
        "front folded to the pitch",
        "top-edge abutment",
        drawn("top_abutment.pattern", every("folds", bend(lambda a: 90 - a), "front")),
    ),
    Fault(
        "top-edge abutment",
        "stop ends on the wrong side",
        "top-edge abutment",
        surveyed(TopAbutment, lambda d: replace(d, stop_left_mm=0.0)),
    ),
    Fault(
        "top-edge abutment",
        "lap marks 18 mm off",
        "top-edge abutment",
        drawn("top_abutment.pattern", every("marks", by(18, 0), "lap")),
    ),
    Fault(
        "top-edge abutment",
        "points of the stop end off",
        "top-edge abutment",
        drawn("top_abutment.pattern", every("stations", by(4, 0), "left stop end")),
    ),
    # Valley gutter
    Fault(
        "valley gutter",
        "the flatter roof's pitch for its own",
        "valley gutter",
        instead("cutpath.trade.physics.valley_pitch_deg", lambda right: min),
    ),
    Fault(
        "valley gutter",
        "pitch as between equal roofs",
        "valley gutter",
        instead("cutpath.trade.physics.valley_pitch_deg", lambda right: lambda one, other: right(one, one)),
    ),
    Fault(
        "valley gutter",
        "middle folded by half",
        "valley gutter",
        drawn("strips", every("folds", bend(lambda a: a / 2), "middle")),
    ),
    Fault(
        "valley gutter",
        "crests folded the wrong way",
        "valley gutter",
        drawn("strips", every("folds", other_way, "crest")),
    ),
    Fault("valley gutter", "lap by the steeper roof", "valley gutter", _lap_by(lambda slope: 150.0)),
    Fault(
        "valley gutter", "lap marks half a lap off", "valley gutter", drawn("strips", every("marks", by(75, 0), "lap"))
    ),
    Fault(
        "valley gutter",
        "points of the fillets mixed up",
        "valley gutter",
        drawn("strips", swapped_stations("middle, lower end", "middle, upper end")),
    ),
    Fault("valley gutter", "narrower than ordered", "valley gutter", surveyed(ValleyGutter, plus(width_mm=-50.0))),
    # Secret gutter beside a wall
    Fault("secret gutter", "a left hand made as a right one", "secret gutter", instead(PATTERN, unmirrored)),
    Fault("secret gutter", "outer edge 6 mm low", "secret gutter", misread(AbutmentGutter, plus(edge_mm=-6.0))),
    Fault(
        "secret gutter",
        "outer edge turned down",
        "secret gutter",
        drawn("strips", every("folds", other_way, "outer edge")),
    ),
    Fault(
        "secret gutter",
        "lap by the tangent",
        "secret gutter",
        _lap_by(lambda slope: max(75 * math.tan(math.radians(slope)), 150.0)),
    ),
    Fault(
        "secret gutter", "lettering of a left hand off the sheet", "secret gutter", instead(PATTERN, label_left_behind)
    ),
    Fault("secret gutter", "sole wider than ordered", "secret gutter", surveyed(AbutmentGutter, plus(sole_mm=25.0))),
    # Lead slate
    Fault(
        "lead slate",
        "round hole",
        "lead slate",
        drawn(
            "pipe_slate.pattern",
            lambda s: replace(
                s, holes=tuple(tuple((x, y * math.cos(math.radians(30))) for x, y in hole) for hole in s.holes)
            ),
        ),
    ),
    Fault(
        "lead slate",
        "sleeve cut square",
        "lead slate",
        instead("cutpath.families.pipe_slate.pattern.foot_mm", lambda right: lambda survey, round_mm: survey.sleeve_mm),
    ),
    Fault("lead slate", "seam's lap 10 mm short", "lead slate", misread(PipeSlate, plus(seam_mm=-10.0))),
    Fault(
        "lead slate",
        "seam marked at its end",
        "lead slate",
        drawn("pipe_slate.pattern", every("marks", by(25, 0), "lap")),
    ),
    Fault(
        "lead slate",
        "middle line beside the hole",
        "lead slate",
        drawn("pipe_slate.pattern", every("marks", by(55, 0), "up the roof")),
    ),
    Fault(
        "lead slate",
        "a point of the foot off",
        "lead slate",
        drawn("pipe_slate.pattern", every("stations", by(0, 8), "foot, lower")),
    ),
    Fault("lead slate", "sleeve left out", "lead slate", cut(_without_family("sleeve"))),
    # Plain outline
    Fault("plain outline", "a corner 2 mm off", "outline", drawn("outline.pattern", side_moved("edge 3", 2.0, 0.0))),
    Fault("plain outline", "fold the wrong way", "outline", drawn("outline.pattern", every("folds", other_way))),
    Fault("plain outline", "fold 3 mm off", "outline", drawn("outline.pattern", every("folds", by(0, 3)))),
    Fault("plain outline", "hole left out", "outline", drawn("outline.pattern", lambda s: replace(s, holes=()))),
    Fault("plain outline", "a hundredth too large", "outline", surveyed(PlainOutline, _scaled(1.01))),
    Fault("plain outline", "one cut of three", "outline", cut(lambda pieces: [replace(p, quantity=1) for p in pieces])),
    # Chimney
    Fault("chimney", "depth taken along the slope", "chimney", surveyed(StepFlashing, plus(slope_mm=-40.0))),
    Fault(
        "chimney",
        "sides as long as the stack is deep",
        "chimney",
        instead(
            "cutpath.families.chimney.job.measured",
            lambda right: lambda desk, path, table, pitch: right(desk, path, table, 0.0001),
        ),
    ),
    Fault("chimney", "apron 10 mm wider than the stack", "chimney", surveyed(Apron, plus(width_mm=10.0))),
    Fault("chimney", "side flashings end at the back's sole", "chimney", misread(StepFlashing, plus(slope_mm=-60.0))),
    Fault(
        "chimney",
        "one soaker less up each side",
        "chimney",
        instead("cutpath.trade.coverings.soaker_count", lambda right: lambda slope, gauge: right(slope, gauge) - 1),
    ),
    Fault(
        "chimney", "cover flashing hangs clear of the gutter", "chimney", surveyed(CoverFlashing, plus(cover_mm=-60.0))
    ),
    Fault(
        "chimney",
        "returns of the sides in another joint",
        "chimney",
        misread(StepFlashing, lambda d: replace(d, corner=replace(d.corner, foot_mm=d.corner.foot_mm + 10))),
    ),
    Fault("chimney", "cover flashing hangs 5 mm lower", "chimney", surveyed(CoverFlashing, plus(cover_mm=5.0))),
    Fault("chimney", "gutter's upstand 4 mm low", "chimney", surveyed(BackGutter, plus(upstand_mm=-4.0))),
    Fault("chimney", "gutter's sole 20 mm narrow", "chimney, severe", surveyed(BackGutter, plus(sole_mm=-20.0))),
    Fault("chimney", "apron's gussets left out", "chimney, severe", cut(_without_family("gusset"))),
    Fault(
        "chimney",
        "sides bossed though welded",
        "chimney, severe",
        misread(Apron, lambda d: replace(d, corners=CornerWork.BOSSED)),
    ),
    Fault(
        "chimney",
        "return left off a side",
        "chimney, severe",
        misread(StepFlashing, lambda d: replace(d, corner=replace(d.corner, kind=CornerKind.NONE))),
    ),
    Fault("chimney", "one of two sides", "chimney, severe", surveyed(StepFlashing, only(Hand.LEFT))),
)
