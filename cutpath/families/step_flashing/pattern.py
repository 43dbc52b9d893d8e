"""Step flashing: any length of a run that is laid out, as a flat pattern in the strip frame."""

from __future__ import annotations

import math
from dataclasses import replace

from cutpath.families.frame import LABEL_CLEAR_MM, Shape, lap_marks, to_pattern
from cutpath.families.step_flashing.run import (
    Step,
    StepRun,
    TongueEnd,
    joined,
    joint_of_return,
    mitre_at,
    slope_line,
    to_strip,
    tongue_end,
)
from cutpath.plane import turned
from cutpath.tolerances import POINT_MM
from cutpath.values.leadwork import CornerKind, StepFlashing
from cutpath.values.pattern import (
    Course,
    Edge,
    EdgeUse,
    FlatPattern,
    Fold,
    FoldUse,
    FoldWay,
    LabelBox,
    Mark,
    MarkKind,
    MarkUse,
    PartKind,
    Point,
    Polyline,
    Snip,
    Station,
)
from cutpath.values.pattern import StationUse as _At


def whole(run: StepRun) -> FlatPattern:
    """Return the run as though it were one length, with its return where that is in one sheet."""
    return length_between(run, 0, len(run.steps), lap_below=None, lap_above=None)


def length_between(
    run: StepRun,
    first: int,
    last: int,
    *,
    lap_below: int | None,
    lap_above: int | None,
    with_return: bool | None = None,
) -> FlatPattern:
    """Return the piece between stations ``first`` and ``last`` as a right-handed flat pattern.

    Parameters
    ----------
    lap_below : int or None
        Station where the next lower length ends under this one; None at the bottom.
    lap_above : int or None
        Station where the next higher length begins over this one; None at the top.
    with_return : bool or None
        Whether the piece carries the return leg; None: as the survey says for the lowest length.
    """
    pitch = run.survey.pitch_deg
    tongue = run.tongue if first == 0 else None
    steps = joined(tongue, run.steps[first:last])
    roof = slope_line(pitch, 0.0)
    if with_return is None:
        with_return = first == 0 and run.survey.corner.kind is CornerKind.INTEGRAL
    low, high = run.stations[first].meet(roof), run.stations[last].meet(roof)
    upper_end = Edge("upper end", EdgeUse.END)
    sides: list[tuple[Point, Edge]] = [(low, Edge("roof edge", EdgeUse.ROOF_LINE)), (high, upper_end)]
    cover_edge = Edge("cover edge", EdgeUse.COVER)
    if run.survey.cover_mm:
        sides = [
            (_cover_edge(run, first), cover_edge),
            (_cover_edge(run, last), Edge("upper end of the cover", EdgeUse.END)),
            (high, upper_end),
        ]
    for step in reversed(steps):
        n = step.joint.number
        sides += [
            (step.tab_toe, Edge(f"turn-in {n}", EdgeUse.TURN_IN, n)),
            (step.tab_head, Edge(f"riser {n}", EdgeUse.RISER, n)),
        ]
    sides[-1] = (sides[-1][0], Edge("lower end", EdgeUse.END))
    folds = [_turn_in(step) for step in steps]
    snips = [Snip(f"snip {s.joint.number}", (s.tab_toe, s.toe)) for s in steps[:-1]]
    if with_return:
        sides, folds, snips = _add_return(run, sides, folds, snips)
    if tongue:
        foot = Edge("foot of the tongue", EdgeUse.TONGUE)
        if run.survey.cover_mm:
            foot = Edge("weld to the tongue's cover", EdgeUse.WELD_BESIDE)
        sides += [(sides.pop()[0], Edge("end of the tongue", EdgeUse.TONGUE)), (tongue.foot, foot)]
    if run.survey.cover_mm:
        folds.append(Fold("roof line", FoldUse.ROOF_LINE, low, high, 90.0, FoldWay.FORWARD))
        end = Edge("weld to the tongue", EdgeUse.WELD) if tongue else Edge("lower end of the cover", EdgeUse.END)
        sides.append((low, end))
    if tongue and run.survey.tongue and run.survey.cover_mm:
        inner, outer = _tongue_cover(run.survey, tongue)
        bend = pitch - run.survey.tongue.pitch_deg
        folds.append(Fold("change of pitch", FoldUse.CHANGE_OF_PITCH, low, _cover_edge(run, 0), bend, FoldWay.FORWARD))
        sides = [(outer, cover_edge), *sides[1:], (inner, Edge("end of the tongue's cover", EdgeUse.TONGUE))]
    marks = _marks(run, first, last, lap_below, lap_above)
    if _is_corner_piece(run, with_return=with_return):  # the first length lies over all of it, and under the tongue
        marks = [mark for mark in marks if mark.use is not MarkUse.TONGUE_ABOVE]
    length = run.along_mm(first, last, with_return=with_return) + (run.survey.corner.length_mm if with_return else 0.0)
    length += run.tongue_mm if first == 0 else 0.0

    def strip(point: Point) -> Point:
        return to_strip(point, pitch)

    return to_pattern(
        Shape(
            family=_family(run, with_return=with_return),
            part=PartKind.CORNER_PIECE if _is_corner_piece(run, with_return=with_return) else PartKind.LENGTH,
            sides=tuple((strip(at), edge) for at, edge in sides),
            folds=tuple(replace(f, start=strip(f.start), end=strip(f.end)) for f in folds),
            label=_label(run, first, last, lap_below, lap_above),
            length_mm=length,
            snips=tuple(Snip(s.name, tuple(strip(pt) for pt in s.points)) for s in snips),
            marks=tuple(replace(m, points=tuple(strip(pt) for pt in m.points)) for m in marks),
            stations=tuple(replace(s, at=strip(s.at)) for s in _stations(run, first, last, with_return=with_return)),
            course=Course.UP,
        )
    )


def _tongue_cover(survey: StepFlashing, tongue: TongueEnd) -> tuple[Point, Point]:
    """Return the lower corners of a tongue's cover in the wall frame of the flat sheet: at the wall, at its free edge.

    On the roof below it reaches as far as the tongue on the wall.
    """
    back = math.hypot(*tongue.foot)
    inner, outer = turned(((-back, 0.0), (-back, -survey.cover_mm)), survey.pitch_deg)
    return inner, outer


def _turn_in(step: Step) -> Fold:
    """Return the fold of a step in its joint."""
    n = step.joint.number
    return Fold(f"turn-in {n}", FoldUse.STEP_TURN_IN, step.head, step.toe, 90.0, FoldWay.BACK, joint=n)


def _is_corner_piece(run: StepRun, *, with_return: bool) -> bool:
    """Tell whether a piece is the separate one round the arris."""
    return with_return and run.survey.corner.kind is CornerKind.SEPARATE


def _family(run: StepRun, *, with_return: bool) -> str:
    if _is_corner_piece(run, with_return=with_return):
        return "corner piece"
    return "step and cover flashing" if run.survey.cover_mm else "step flashing"


def _cover_edge(run: StepRun, station: int) -> Point:
    """Return the free corner of the cover square below where a station meets the roof line; on it without a cover."""
    return _square_below(run.stations[station].meet(slope_line(run.survey.pitch_deg, 0.0)), run.survey)


def _square_below(at: Point, survey: StepFlashing) -> Point:
    """Return the free edge of the cover square below a point of the roof line; that point itself without a cover."""
    u, _ = to_strip(at, survey.pitch_deg)
    return turned(((u, -survey.cover_mm),), survey.pitch_deg)[0]


def _add_return(
    run: StepRun,
    sides: list[tuple[Point, Edge]],
    folds: list[Fold],
    snips: list[Snip],
) -> tuple[list[tuple[Point, Edge]], list[Fold], list[Snip]]:
    """Join the return leg to the lower end: the sheet is the union of strip and leg, with a plumb fold at the arris.

    Where leg and first step turn into the same joint, their turn-ins meet in the wall behind the arris, so both
    are mitred at 45 degrees there. A leg that turns into a lower joint has its turn-in freed by a snip.
    """
    corner, t = run.survey.corner, run.survey.turn_in_mm
    reach, foot = corner.length_mm, corner.foot_mm
    joint = joint_of_return(run)
    assert joint is not None  # noqa: S101 - lay_out refused a return without its joint
    step, top = run.steps[0], joint.y_mm
    *upper, (tab_head, _) = sides
    leg_foot: list[tuple[Point, Edge]] = [((-reach, foot), Edge("return foot", EdgeUse.RETURN_FOOT))]
    if foot > POINT_MM:
        leg_foot.append(((0.0, foot), Edge("lower end", EdgeUse.END)))
    name = f"return turn-in {joint.number}"
    turn_in = Edge(name, EdgeUse.RETURN_TURN_IN, joint.number)
    leg = [((-reach, top + t), Edge("return end", EdgeUse.RETURN_END)), *leg_foot]
    if joint is step.joint:
        mitre = Edge("mitre", EdgeUse.MITRE)
        sides = [*upper, (mitre_at(joint, t), mitre), ((0.0, top), mitre), ((-t, top + t), turn_in), *leg]
    else:
        sides = [*upper, (tab_head, Edge("arris", EdgeUse.ARRIS)), ((0.0, top + t), turn_in), *leg]
        snips = [Snip("snip at the arris", ((0.0, top + t), (0.0, top))), *snips]
    folds = [
        *folds,
        Fold(name, FoldUse.RETURN_TURN_IN, (-reach, top), (0.0, top), 90.0, FoldWay.BACK, joint=joint.number),
        Fold("arris", FoldUse.ARRIS, (0.0, foot), (0.0, top), 90.0, FoldWay.BACK),
    ]
    return sides, folds, snips


def _marks(run: StepRun, first: int, last: int, lap_below: int | None, lap_above: int | None) -> list[Mark]:
    survey = run.survey
    water = slope_line(survey.pitch_deg, survey.water_line_mm)
    roof = slope_line(survey.pitch_deg, 0.0)
    low, high = run.stations[first], run.stations[last]

    def across(station: int) -> Polyline:
        line = run.stations[station]
        on_wall = (line.meet(roof), line.meet(water))
        return (_cover_edge(run, station), *on_wall) if survey.cover_mm else on_wall

    water_line = Mark("water line", MarkKind.WATER_LINE, (low.meet(water), high.meet(water)))
    marks = [water_line, *lap_marks(lap_below, lap_above, across)]
    if survey.lapped_mm:
        end = tongue_end(run)
        place = len(run.steps) - len(end.steps)
        if first <= place < (last if lap_above is None else lap_above):  # where the sheet shows
            on_wall = (end.foot, end.steps[0].head)
            at_cover = (_square_below(end.foot, survey),) if survey.cover_mm else ()
            points = (*at_cover, *on_wall)
            marks.append(Mark("lap: end of the tongue above", MarkKind.LAP, points, MarkUse.TONGUE_ABOVE))
    if first == 0 and run.tongue:
        line = ((0.0, 0.0), (0.0, _tooth_at_change(run.tongue)))
        marks.append(Mark("change of pitch", MarkKind.LAP, line, MarkUse.CHANGE_OF_PITCH))
    return marks


def _tooth_at_change(tongue: TongueEnd) -> float:
    """Return the height at the change of pitch of the joint into which the last tooth below turns."""
    return tongue.steps[-1].joint.y_mm


def _stations(run: StepRun, first: int, last: int, *, with_return: bool) -> list[Station]:
    roof = slope_line(run.survey.pitch_deg, 0.0)
    t = run.survey.turn_in_mm
    return_joint = joint_of_return(run) if with_return else None
    edge = "roof line" if run.survey.cover_mm else "roof edge"
    tongue = run.tongue if first == 0 else None
    name, use = ("change of pitch", _At.CHANGE_OF_PITCH) if tongue else ("lower end", _At.LOWER_END)
    found = [Station(f"{name} at the {edge}", use, run.stations[first].meet(roof))]
    for step in joined(tongue, run.steps[first:last]):
        n = step.joint.number
        top_start = mitre_at(step.joint, t) if step.joint is return_joint else step.tab_head
        found += [
            Station(f"riser {n} foot", _At.RISER_FOOT, step.foot, number=n),
            Station(f"fold {n} start, riser {n} head", _At.START, step.head, FoldUse.STEP_TURN_IN, n),
            Station(f"fold {n} end", _At.END, step.toe, FoldUse.STEP_TURN_IN, n),
            Station(f"turn-in {n} top, start", _At.TOP_START, top_start, FoldUse.STEP_TURN_IN, n),
            Station(f"turn-in {n} top, end", _At.TOP_END, step.tab_toe, FoldUse.STEP_TURN_IN, n),
        ]
    found.append(Station(f"upper end at the {edge}", _At.UPPER_END, run.stations[last].meet(roof)))
    if run.survey.cover_mm:
        found += [
            Station("lower end at the cover edge", _At.OPEN_EDGE_START, _cover_edge(run, first)),
            Station("upper end at the cover edge", _At.OPEN_EDGE_END, _cover_edge(run, last)),
        ]
    if tongue:
        found += [
            Station("tongue, foot of its end", _At.TONGUE_FOOT, tongue.foot),
            Station("tongue, tooth at the change", _At.TONGUE_TOOTH, (0.0, _tooth_at_change(tongue))),
        ]
    if tongue and run.survey.cover_mm:
        at_wall, at_edge = _tongue_cover(run.survey, tongue)
        found += [
            Station("tongue's cover, end at the roof line", _At.TONGUE_COVER_WALL, at_wall),
            Station("tongue's cover, end at the cover edge", _At.TONGUE_COVER_EDGE, at_edge),
        ]
    if return_joint is not None:
        corner, top = run.survey.corner, return_joint.y_mm
        inner = -t if return_joint is run.steps[0].joint else 0.0
        found += [
            Station("arris foot", _At.START, (0.0, corner.foot_mm), FoldUse.ARRIS),
            Station("arris head", _At.END, (0.0, top), FoldUse.ARRIS),
            Station("return foot, outer", _At.RETURN_FOOT, (-corner.length_mm, corner.foot_mm)),
            Station("return fold, outer", _At.START, (-corner.length_mm, top), FoldUse.RETURN_TURN_IN),
            Station("return turn-in top, inner", _At.TOP_END, (inner, top + t), FoldUse.RETURN_TURN_IN),
            Station("return turn-in top, outer", _At.TOP_START, (-corner.length_mm, top + t), FoldUse.RETURN_TURN_IN),
        ]
    return found


def _label(run: StepRun, first: int, last: int, lap_below: int | None, lap_above: int | None) -> LabelBox:
    """Find room for lettering on the cover or below the water line, between the lap marks if they leave enough."""
    survey = run.survey
    bottom, top = (-survey.cover_mm, 0.0) if survey.cover_mm else (0.0, survey.water_line_mm)
    levels = [slope_line(survey.pitch_deg, v) for v in {0.0, top}]

    def span(low: int, high: int) -> tuple[float, float]:
        left = max(to_strip(run.stations[low].meet(line), survey.pitch_deg)[0] for line in levels)
        right = min(to_strip(run.stations[high].meet(line), survey.pitch_deg)[0] for line in levels)
        return left + LABEL_CLEAR_MM, right - LABEL_CLEAR_MM

    left, right = span(lap_below if lap_below is not None else first, lap_above if lap_above is not None else last)
    if right - left < 2 * (top - bottom):
        left, right = span(first, last)
    height = max(top - bottom - 2 * LABEL_CLEAR_MM, 1.0)
    return LabelBox((left, bottom + LABEL_CLEAR_MM), 0.0, max(right - left, 1.0), height)
