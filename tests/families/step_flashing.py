"""What the tests of step flashings, over soakers or with a cover of their own have to work with."""

# ruff: noqa: ARG005 - a fault takes what the right function takes, and passes some of it over

from __future__ import annotations

import math
from dataclasses import replace

from hypothesis import strategies as st

from cutpath.plane import Line
from cutpath.values.leadwork import EndCut, StepFlashing
from cutpath.values.pattern import FoldUse, MarkKind, StationUse
from cutpath.values.survey import Hand
from tests.families.changes import upper_reaches
from tests.faulty.faults import (
    COURSING,
    PATTERN,
    Fault,
    bend,
    by,
    cut,
    drawn,
    every,
    first_by,
    instead,
    label_left_behind,
    lap_by,
    marks_left_behind,
    misread,
    only,
    other_way,
    plus,
    stations_left_behind,
    surveyed,
    swapped_stations,
    unmirrored,
    without_family,
)
from tests.properties.surveys import figures, step_flashings

JOINTS = [131, 206, 281, 357, 432, 508, 583, 659, 734, 810, 885, 961, 1036, 1112, 1187, 1263, 1338, 1414, 1489, 1565]
SECOND = [round(y + 12 - 0.5 * n, 1) for n, y in enumerate(JOINTS)]


def _along(line_mm: float) -> list[float]:
    """Give tape readings along a line parallel to a roof at 35 degrees, of courses of 75.4 that rise 6 in 1000."""
    c, s = math.cos(math.radians(35)), math.sin(math.radians(35))
    return [round((131 + 75.4 * n - line_mm / c) / (s - 0.006 * c), 1) for n in range(20)]


_STEPS = '[[detail]]\nkind = "step flashing"\nlength = 1700\nhands = "{hands}"\nwater_line = 80\n'


def _steps(coursing: str, hands: str = "pair", more: str = "") -> str:
    return f"pitch = 35\n{_STEPS.format(hands=hands)}coursing = {{ {coursing} }}\n{more}"


@st.composite
def step_and_covers(draw):
    survey = draw(step_flashings())
    return replace(survey, cover_mm=draw(figures(150, 250)), stock_widths_mm=(300.0, 330.0, 360.0, 390.0, 450.0))


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


SOUND = {
    "steps": _steps("gauge = 75, first_joint = 120", more="return = { length = 150 }\n"),
    "steps, separate corner": _steps(
        "gauge = 75, first_joint = 120", "right", 'return = { kind = "separate", length = 150 }\n'
    ),
    "steps, heights": _steps(f"joints = {JOINTS}", "right"),
    "steps, read twice": _steps(f"joints = {JOINTS}, second_reading = {{ at = 1700, joints = {SECOND} }}"),
    "steps, along the water line": _steps(f"along_water_line = {_along(80)}", "left"),
    "steps, along two lines": _steps(
        f"along_water_line = {_along(80)}, second_reading = {{ line = 30, along = {_along(30)} }}", "right"
    ),
    "steps, own": (
        'pitch = 40\n[[detail]]\nkind = "step flashing"\nlength = 1240\nhands = "right"\nwater_line = 80\n'
        "coursing = { steps = [{ rise = 172, run = 63 }, { rise = 95, run = 128 }, { rise = 140, run = 165 }, "
        "{ rise = 118, run = 105 }, { rise = 132, run = 166 }, { rise = 127, run = 158 }, "
        "{ rise = 155, run = 200 }] }\n"
    ),
    "steps, steep": (
        'pitch = 55\n[[detail]]\nkind = "step flashing"\nlength = 2150\nhands = "left"\nwater_line = 80\n'
        "coursing = { gauge = 75, first_joint = 150 }\n"
    ),
    "steps, raked": _steps("gauge = 75, first_joint = 120", "right", "riser = 80\nset_back = 20\n"),
    "steps, old line": (
        'pitch = 35\n[[detail]]\nkind = "step flashing"\nlength = 1500\nhands = "right"\n'
        "coursing = { gauge = 75, first_joint = 120 }\n"
    ),
    "step and cover": (
        'pitch = 24\n[[detail]]\nkind = "step and cover"\nlength = 3100\nwater_line = 80\n'
        "coursing = { gauge = 75, first_joint = 120 }\n"
    ),
    "step and cover on tiles": (
        'pitch = 30\ncovering = "interlocking tile"\n[[detail]]\nkind = "step and cover"\nlength = 3100\n'
        "water_line = 80\n"
        "coursing = { gauge = 75, first_joint = 120 }\n"
    ),
    "step and cover on a flat roof": (
        'pitch = 8\n[[detail]]\nkind = "step and cover"\nlength = 1400\nwater_line = 80\n'
        "coursing = { gauge = 75, first_joint = 120 }\n"
    ),
    "change of pitch": (
        'pitch = 28\n[[detail]]\nkind = "step flashing"\nlength = 640\nhands = "left"\nwater_line = 80\n'
        "coursing = { joints = [118, 239, 351, 474, 590, 706, 838, 951, 1077, 1190, 1316, 1428, 1547, 1661] }\n"
        'above = [{ length = "1.35 m", pitch = 45 }]\n'
    ),
}
MEASURED = {
    "step flashing": {"length", "water_line", "return.length"},
    "step and cover": {"length", "water_line", "return.length", "cover"},
}
SURVEYS = (step_and_covers(), upper_reaches(cover=True))
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
    Fault(STEP, "a corner piece left out", "steps, separate corner", cut(without_family("corner piece"))),
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
        lap_by(lambda slope: max(75 / math.cos(math.radians(slope)), 150.0)),
    ),
    Fault("step and cover", "level lap on a roof", "step and cover", lap_by(lambda slope: 100.0)),
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
        lap_by(lambda slope: 75 / math.sin(math.radians(max(slope, 11.0)))),
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
            "cutpath.families.step_flashing.run.tongue_end",
            lambda right: lambda run: right(replace(run, survey=plus(lapped_mm=-50.0)(run.survey))),
        ),
    ),
    Fault(
        "change of pitch",
        "tongue over the last tooth only",
        "change of pitch",
        instead(
            "cutpath.families.step_flashing.run.tongue_end",
            lambda right: lambda run: _last_tooth_only(right(run), run),
        ),
    ),
    Fault(
        "change of pitch",
        "length above said to be 12 mm shorter than with its tongue it is",
        "change of pitch",
        instead(
            "cutpath.families.step_flashing.run.tongue_end",
            lambda right: lambda run: replace(right(run), reach_mm=right(run).reach_mm - 12.0),
        ),
    ),
    Fault(
        "change of pitch",
        "teeth of the tongue 4 mm low",
        "change of pitch",
        instead(
            "cutpath.families.step_flashing.run.joined",
            lambda right: lambda tongue, steps: right(tongue and _lowered(tongue, 4.0), steps),
        ),
    ),
    Fault(
        "change of pitch",
        "turn-ins of the tongue not freed",
        "change of pitch",
        drawn("step_flashing.pattern", every("snips", lambda snip: None, "snip 3")),
    ),
)
