"""Cutting and folding a piece by hand, in words: what comes first, and why.

The order follows from the shape (derived): straight cuts while the sheet is still one stiff strip, short folds before
those that stop the sheet lying flat on the bench. Who works otherwise loses nothing but ease.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from cutpath.paper.markup import number
from cutpath.plain import in_words
from cutpath.plane import distance_mm
from cutpath.reports.account.marking import LineKind, MarkedLine, MarkedPoint, Marking
from cutpath.reports.pictures.pattern_picture import FoldGroup, fold_groups
from cutpath.reports.words.plain_lines import is_circle, plain_lines
from cutpath.tolerances import CURVE_MARK_MM, ONE_MARK_MM
from cutpath.trade import fixings
from cutpath.trade.fixings import is_step
from cutpath.units import mm_text
from cutpath.values.pattern import (
    OVER_FILLET,
    SEAMS,
    TURN_INS,
    WELDS,
    EdgeUse,
    FlatPattern,
    Fold,
    FoldUse,
    MarkKind,
    PartKind,
    Point,
    StationUse,
)

DASH = "–"
"""Between the keys of a line."""

_JOINED = f"{DASH}\u2060"
"""The same where no line may end after it."""

_LONG = 12


def line_keys(line: MarkedLine, curves: Sequence[Sequence[str]] = ()) -> str:
    """Write a line by its points, each of its curves by its number; an outline or hole comes back to its first."""
    on = {key: f"curve {n}" for n, run in enumerate(curves, 1) for key in run}
    words = [on.get(key, key) for key in line.keys]
    if line.kind in {LineKind.OUTLINE, LineKind.HOLE}:
        words.append(words[0])
    told = [word for word, before in zip(words, [None, *words], strict=False) if word != before]
    return DASH.join(told) if len(told) > 1 else f"{told[0]}, right round"


def _short(line: MarkedLine, curves: Sequence[Sequence[str]]) -> str:
    """Write a line by its points, the middle of a long one left out."""
    keys = line_keys(line, curves).split(DASH)
    return DASH.join(keys) if len(keys) <= _LONG else f"{DASH.join(keys[:3])} … {DASH.join(keys[-2:])}"


def marking_order(pattern: FlatPattern, marking: Marking) -> list[str]:
    """Say how the blank is laid and marked."""
    lines = [
        (
            "Lay the blank weather face up, its straight edge towards you, and measure from the "
            f"{marking.corner} corner: along the edge, and up square to it."
        ),
    ]
    if marking.steps:
        n = marking.steps[0]
        lines += [_water_line(marking), _steps_set_out(marking)]
        if any(fold.use is FoldUse.ARRIS for fold in pattern.folds):
            lines.append(f"Step {n} begins at the arris: {_arris(pattern, marking)} lies on the fold and is not cut.")
    elif marking.rectangle:
        lines.append(
            "Strike each line of the table by its ends."
            if len(marking.lines) > 1
            else "Mark out the rectangle and see that its corners are square; nothing else is marked on it."
        )
    elif marking.lettered:
        lines.append("Set out every point of the table and join them by the list of lines.")
    if marking.rectangle and any(line.corners for line in plain_lines(pattern, marking)):
        lines.append("Set out the corners of a hole by their own table, and join each to the next.")
    lines += _ellipses(marking)
    if marking.curves:
        lines.append(
            "Set out each curve by its offsets, and bend a lath through them. Straight joints would stand off by no "
            f"more than {CURVE_MARK_MM:g} mm."
        )
    if pattern.folds or pattern.marks:
        what = "a fold" if pattern.folds else "lead"
        lines.append(f"Pencil, chalk or crayon only. Never score {what}: it cracks.")
    return lines


def _steps_set_out(marking: Marking) -> str:
    """Say how the points of the steps are set out and joined."""
    n = marking.steps[0]
    if len(marking.steps) == 1:
        return (
            f"Set out {n}b, {n}c, {n}d, and each capital by its table. Join {n}a{_JOINED}{n}b{_JOINED}{n}c for the "
            f"riser, {n}b{_JOINED}{n}e for the fold, {n}c{_JOINED}{n}d for the top of the turn-in."
        )
    return (
        f"Set out every b, c and d, and each capital by its table. Join a{_JOINED}b{_JOINED}c for the riser, "
        f"b to the next a for the fold, c{_JOINED}d for the top of the turn-in "
        f"(step {n}: {n}a, {n}b, {n}c, {n}d)."
    )


def _arris(pattern: FlatPattern, marking: Marking) -> str:
    """Write the fold at the arris from the foot of the first riser up: to its head, or to where a snip opens it."""
    fold = next(i for i, fold in enumerate(pattern.folds) if fold.use is FoldUse.ARRIS)
    keys = [line.keys for line in marking.lines if line.kind is LineKind.FOLD][fold]
    top = max(keys, key=lambda key: marking.point(key).square_exact_mm)
    return f"{marking.steps[0]}a{DASH}{top}"


def _ellipses(marking: Marking) -> list[str]:
    """Say how circles and ellipses are drawn, where there are any."""
    circles = [is_circle(line.ellipse) for line in marking.lines if line.ellipse]
    return [
        *(["Strike each circle about its middle with compasses or a trammel."] if any(circles) else []),
        *(
            ["Cross the axes at the ellipse's middle, and draw it with a string or a trammel."]
            if not all(circles)
            else []
        ),
    ]


def _water_line(marking: Marking) -> str:
    """Say where the water line is struck, and which feet of risers and ends of folds do not stand on it."""
    (line,) = (line for line in marking.lines if line.use is MarkKind.WATER_LINE)
    level = marking.point(line.keys[0])
    feet = [point for point in marking.points if point.use in {StationUse.RISER_FOOT, StationUse.END}]
    off = [foot.key for foot in feet if abs(foot.square_exact_mm - level.square_exact_mm) > ONE_MARK_MM]
    if len(marking.steps) == 1 and not off:
        foot, end = (point.key for point in feet)
        return (
            f"Strike the water line {level.square_mm} up. On it mark off {foot}, the foot of the riser, and {end}, the "
            "end of the fold."
        )
    on = [foot.key for foot in feet if foot.key not in off]
    if len(off) > len(on):
        rest = "the other feet of the risers and ends of the folds"
        mark_off = f" On it mark off {in_words(on)}." if on else ""
        return f"Strike the water line {level.square_mm} up.{mark_off} Set out {in_words(off)}, {rest}, by the table."
    but = f", but set out {in_words(off)} by the table" if off else ""
    return (
        f"Strike the water line {level.square_mm} up. On it mark off every a, the feet of the risers and the ends of "
        f"the folds{but}."
    )


def cutting_order(pattern: FlatPattern, marking: Marking) -> list[str]:
    """Say which cut comes first."""
    lines = _step_cuts(marking) if marking.steps else _plain_cuts(marking)
    snips = any(line.kind is LineKind.SNIP for line in marking.lines) and not marking.steps
    if snips and marking.rectangle:
        several = sum(1 for line in marking.lines if line.kind is LineKind.SNIP) > 1
        lines.append(f"{'Snips' if several else 'The snip'} last, from the edge inwards, stopping dead at the end.")
    elif snips:
        ends = ", ".join(f"{line_keys(line)} ({line.name})" for line in marking.lines if line.kind is LineKind.SNIP)
        lines.append(f"Snips last, from the edge inwards, stopping dead on the last point: {ends}.")
    if welds := _welds(pattern, marking):
        lines.append(f"For a lapped seam add the lap before cutting: {welds}.")
    return lines


def welding_order(pattern: FlatPattern, marking: Marking) -> list[str]:
    """Say what is leadwelded once a piece is folded."""
    if welds := _welds(pattern, marking):
        what = f"its foot, {welds}, to the base" if pattern.part is PartKind.SLEEVE else welds
        return [f"Leadweld, edge to edge: {what}."]
    if not fixings.opened_to_weld(pattern):
        return []
    if pattern.part is PartKind.BASE:
        return ["The foot of the sleeve is leadwelded into the hole, edge to edge."]
    return [f"A gusset is leadwelded into {'each' if len(pattern.snips) > 1 else 'the'} cut, edge to edge."]


def _welds(pattern: FlatPattern, marking: Marking) -> str:
    """Name the edges that are welded, if any: by points, on a rectangle by sides, with lengths to tell them by."""
    if not any(edge.use in WELDS for edge in pattern.edges):
        return ""
    if marking.rectangle:
        square = abs(marking.length_mm - marking.width_mm) < ONE_MARK_MM
        sides = [(_side(marking, a, b), distance_mm(a, b)) for e, a, b in pattern.sides() if e.use in WELDS]
        return in_words(side if square else f"{side} ({mm_text(long)})" for side, long in dict(sides).items())
    outline = replace(marking.lines[0], kind=LineKind.MARK)
    keys = ring = outline.keys

    def nearest(at: Point) -> int:
        return keys.index(_nearest_key(pattern, marking, at))

    welded = set()
    for edge, a, b in pattern.sides():
        if edge.use in WELDS:
            first, last = (nearest(b), nearest(a)) if pattern.mirrored else (nearest(a), nearest(b))
            welded |= {(first + i) % len(ring) for i in range((last - first) % len(ring))}
    runs: list[list[str]] = []
    start = next((i for i in range(len(ring)) if i not in welded), 0)
    for i in (*range(start, len(ring)), *range(start)):
        if i not in welded:
            runs.append([])
        else:
            runs[-1] += [keys[i]] * (not runs[-1]) + [keys[(i + 1) % len(ring)]]
    return in_words([line_keys(replace(outline, keys=tuple(run)), marking.curves) for run in runs if run])


def _nearest_keys(pattern: FlatPattern, marking: Marking, *ends: Point) -> tuple[str, ...]:
    return tuple(_nearest_key(pattern, marking, at) for at in ends)


def _nearest_key(pattern: FlatPattern, marking: Marking, at: Point) -> str:
    """Return the key of the marked corner of the outline that lies nearest to a point of the pattern."""
    place = (marking.length_mm - at[0] if pattern.mirrored else at[0], at[1])
    ring = (marking.point(key) for key in marking.lines[0].keys)
    return min(ring, key=lambda p: distance_mm((p.along_exact_mm, p.square_exact_mm), place)).key


def _side(marking: Marking, a: Point, b: Point) -> str:
    """Return which edge of a rectangle, as it lies before the worker, one of its sides belongs to."""
    if abs(a[1] - b[1]) < ONE_MARK_MM:
        return "the upper edge" if a[1] > marking.width_mm / 2 else "the lower edge"
    return "the right edge" if a[0] > marking.length_mm / 2 else "the left edge"


def _step_cuts(marking: Marking) -> list[str]:
    first, *later = marking.steps
    last = marking.steps[-1]
    outline = marking.lines[0].keys
    own = {f"{n}{letter}" for n in marking.steps for letter in "cd"}
    ends = [DASH.join(part) for part in _parts(outline, own) if len(part) > 1]
    lines = []
    if later:
        snips = [f"{n}c{DASH}{n}a" for n in later]
        several = len(later) > 1
        first_cut, down, foot = (
            ("Snips", "each riser from c to a", "a") if several else ("The snip", "the riser", f"{later[0]}a")
        )
        lines.append(
            f"{first_cut} first, while the strip is stiff: straight down {down}, {_first_to_last(snips)}. "
            f"Stop dead on {foot}; a nick below it lets water in. One cut makes the riser and frees the turn-in "
            "of the step below."
        )
    tops = f"each turn-in, c{DASH}d, step {first} to step {last}" if later else f"the turn-in, {first}c{DASH}{first}d"
    lines.append(f"Along the top of {tops}; the waste drops out.")
    if ends:
        lines.append(f"The ends: {', '.join(ends)}.")
    other = [
        s for s in marking.lines if s.kind is LineKind.SNIP and marking.point(s.keys[0]).use is not StationUse.TOP_END
    ]
    lines += [f"Last, {line_keys(s)} ({s.name}), stopping dead on {s.keys[-1]}." for s in other]
    return lines


def _first_to_last(words: Sequence[str]) -> str:
    return " to ".join(dict.fromkeys((words[0], words[-1])))


def _parts(outline: Sequence[str], own: set[str]) -> list[list[str]]:
    """Cut the outline into the stretches between two step points that hold other points."""
    ring = [*outline, outline[0]]
    parts: list[list[str]] = [[ring[0]]]
    for key in ring[1:]:
        parts[-1].append(key)
        if key in own:
            parts.append([key])
    if parts[-1][-1] == ring[-1] and len(parts) > 1 and ring[-1] not in own:
        tail = parts.pop()
        parts[0] = tail[:-1] + parts[0]
    return [part for part in parts if any(key not in own for key in part)]


def _plain_cuts(marking: Marking) -> list[str]:
    outline = marking.lines[0]
    first = f"Round the outline{'' if outline.ellipse else f': {_short(outline, marking.curves)}'}."
    lines = ["The blank is the piece: nothing is cut off it." if marking.rectangle else first]
    for line in marking.lines:
        if line.kind is LineKind.HOLE:
            by = "" if line.ellipse or marking.rectangle else f": {_short(line, marking.curves)}"
            lines.append(f"Then cut out the {line.name}{by}.")
    return lines


def folding_order(pattern: FlatPattern, marking: Marking) -> list[str]:
    """Say which fold comes first, and which are left for the roof; of a sleeve, how it is rolled and closed."""
    groups = sorted(fold_groups(pattern), key=_rank)
    own = dict(zip(pattern.folds, (line for line in marking.lines if line.kind is LineKind.FOLD), strict=True))
    lines = [f"{words[:1].upper()}{words[1:]}{_where(g)}." for g in groups for words in [_fold_words(g, own, marking)]]
    if any(m.kind is MarkKind.BOSSING for m in pattern.marks):
        lines.insert(
            sum(1 for g in groups if _rank(g) <= _AT_THE_ARRIS), "Boss the corners to the marks; do not cut them."
        )
    return lines + _rolled(pattern, marking)


def _fold_words(group: FoldGroup, lines: Mapping[Fold, MarkedLine], marking: Marking) -> str:
    """Say how folds are folded, those that bear nothing but a number by where they are found on the drawing."""
    if group.use is not FoldUse.OWN:
        return group.words
    drawn = [lines[fold] for fold in group.folds]
    places = [f"line {marking.lines.index(line)}" if marking.rectangle else line_keys(line) for line in drawn]
    named = in_words([f"{place} ({fold.name})" for place, fold in zip(places, group.folds, strict=True)])
    return f"{named}: fold {group.way} {number(round(group.angle_deg, 1))}°"


def _rolled(pattern: FlatPattern, marking: Marking) -> list[str]:
    """Say how a sleeve is rolled until its edges lie on each other, and how its seam is closed."""
    outline = replace(marking.lines[0], kind=LineKind.MARK)
    sides = {edge.use: _nearest_keys(pattern, marking, a, b) for edge, a, b in pattern.sides() if edge.use in SEAMS}
    if not sides:
        return []
    (line,) = (line for line in marking.lines if line.use is MarkKind.LAP)
    over, under = (line_keys(replace(outline, keys=sides[use])) for use in (EdgeUse.SEAM_OVER, EdgeUse.SEAM_UNDER))
    lap = marking.length_mm - marking.point(line.keys[0]).along_exact_mm
    rounded = MarkedPoint("", "", lap, 0.0).along_mm
    there = f"until {under} lies under the line {line_keys(line)}".replace(DASH, _JOINED)
    return [
        f"Roll it round, weather face outwards, {there}: the seam laps by {rounded} mm.",
        f"Have the seam leadwelded down {over} by somebody trained for it.",
    ]


_AT_THE_ARRIS = 2
"""Rank of folds at an arris: corners are bossed with them, before anything is dressed down on the roof."""


def _rank(group: FoldGroup) -> int:
    if group.use is FoldUse.FILLET_CREST:
        return 4  # lead is dressed from the foot of a fillet up
    if group.use in OVER_FILLET:
        return 3
    if group.use is FoldUse.ARRIS:
        return _AT_THE_ARRIS
    return 0 if group.use in TURN_INS else 1


def _steps(group: FoldGroup) -> bool:
    return len(group.folds) > 1 and all(is_step(fold) for fold in group.folds)


def _where(group: FoldGroup) -> str:
    return {
        0: ", over a straight edge on the bench" + (", from the lower end" if _steps(group) else ""),
        _AT_THE_ARRIS: ", when the piece is offered up",
        3: ", dressed down on the roof",
        4: ", dressed down on the roof",
    }.get(_rank(group), "")


def fold_lines(marking: Marking) -> list[str]:
    """List the folds of a piece by their points: those of the steps in one, the others one by one."""
    folds = [line for line in marking.lines if line.kind is LineKind.FOLD]
    pairs = {frozenset((f"{n}b", marking.fold_end(n).key)) for n in marking.steps}
    others = [f"{line_keys(line)} {line.name}" for line in folds if frozenset(line.keys) not in pairs]
    if not marking.steps:
        return others
    last = marking.steps[-1]
    if len(marking.steps) == 1:
        return [f"{last}b{DASH}{last}e turn-in", *others]
    return [f"turn-ins, b to the next a ({last}b{DASH}{last}e the last)", *others]
