"""Whatever is wrong with a fold or a corner, in whatever family, the proof catches it."""

from __future__ import annotations

import math
from dataclasses import replace

from hypothesis import assume
from hypothesis import strategies as st
from shapely import LineString, Point

from cutpath.errors import Severity
from cutpath.families.frame import mirror_image
from cutpath.folding import prove
from cutpath.values.pattern import FoldWay
from tests.families.families import families
from tests.properties.surveys import aprons, cover_flashings, for_all, job_of, pieces_of, soakers, step_flashings

surveyed = step_flashings() | cover_flashings() | aprons() | soakers() | families


def caught(detail, pieces, number, pattern):
    wrong = [*pieces[:number], replace(pieces[number], pattern=pattern), *pieces[number + 1 :]]
    _, findings = prove(job_of(detail), wrong)
    return [f for f in findings if f.severity is Severity.FAULT]


def moved_across(fold, mm):
    """The fold moved square to itself."""
    dx, dy = fold.end[0] - fold.start[0], fold.end[1] - fold.start[1]
    size = math.hypot(dx, dy)
    x, y = -dy / size * mm, dx / size * mm
    return replace(fold, start=(fold.start[0] + x, fold.start[1] + y), end=(fold.end[0] + x, fold.end[1] + y))


FAULTS = {
    "moved 2 mm": lambda fold: moved_across(fold, 2.0),
    "moved 2 mm back": lambda fold: moved_across(fold, -2.0),
    "a degree more": lambda fold: replace(fold, angle_deg=fold.angle_deg + 1),
    "the wrong way": lambda fold: replace(fold, way=FoldWay.BACK if fold.way is FoldWay.FORWARD else FoldWay.FORWARD),
}


@for_all(surveyed, st.data())
def test_a_fold_made_wrong_is_caught(detail, data):
    pieces = pieces_of(detail)
    number = data.draw(st.integers(0, len(pieces) - 1), label="piece")
    pattern = pieces[number].pattern
    assume(pattern.folds)
    at = data.draw(st.integers(0, len(pattern.folds) - 1), label="fold")
    change = FAULTS[data.draw(st.sampled_from(sorted(FAULTS)), label="fault")]
    folds = (*pattern.folds[:at], change(pattern.folds[at]), *pattern.folds[at + 1 :])
    assert caught(detail, pieces, number, replace(pattern, folds=folds))


@for_all(surveyed, st.data())
def test_a_corner_two_millimetres_out_is_caught(detail, data):
    pieces = pieces_of(detail)
    number = data.draw(st.integers(0, len(pieces) - 1), label="piece")
    pattern = pieces[number].pattern
    at = data.draw(st.integers(0, len(pattern.outline) - 1), label="corner")
    turn = math.radians(data.draw(st.integers(0, 359), label="direction"))
    x, y = pattern.outline[at]
    ring = list(pattern.outline)
    ring[at] = (x + 2 * math.cos(turn), y + 2 * math.sin(turn))
    outline = LineString([ring[at - 1], ring[at], ring[(at + 1) % len(ring)]])
    assume(outline.distance(Point(x, y)) > 0.5)  # not slid along its own edge
    assert caught(detail, pieces, number, replace(pattern, outline=tuple(ring)))


@for_all(step_flashings(), st.data())
def test_the_wrong_hand_is_caught(survey, data):
    pieces = pieces_of(survey)
    number = data.draw(st.integers(0, len(pieces) - 1), label="piece")
    assert caught(survey, pieces, number, mirror_image(pieces[number].pattern))


@for_all(step_flashings() | families)
def test_a_piece_left_out_of_a_run_is_caught(detail):
    pieces = pieces_of(detail)
    not_lengths = ("gusset", "lead slate", "sleeve", "corner piece")
    lengths = [p for p in pieces if p.hand is pieces[0].hand and p.pattern.family not in not_lengths]
    assume(len(lengths) > 1)
    for gone in lengths:
        _, findings = prove(job_of(detail), [p for p in lengths if p is not gone])
        assert [f for f in findings if f.severity is Severity.FAULT]


def moved(points, turn_deg):
    """Points moved 2 mm."""
    x, y = 2 * math.cos(math.radians(turn_deg)), 2 * math.sin(math.radians(turn_deg))
    return tuple((at[0] + x, at[1] + y) for at in points)


def stretched(points):
    """The first point of a line moved 2 mm along it."""
    (x0, y0), (x1, y1) = points[:2]
    share = 2 / math.dist(points[0], points[1])
    return ((x0 + (x1 - x0) * share, y0 + (y1 - y0) * share), *points[1:])


@for_all(surveyed, st.data())
def test_a_mark_out_of_its_place_is_caught(detail, data):
    pieces = pieces_of(detail)
    number = data.draw(st.integers(0, len(pieces) - 1), label="piece")
    pattern = pieces[number].pattern
    assume(pattern.marks)
    at = data.draw(st.integers(0, len(pattern.marks) - 1), label="mark")
    mark = pattern.marks[at]
    turn = data.draw(st.integers(0, 359), label="direction")
    wrong = data.draw(st.sampled_from([moved(mark.points, turn), stretched(mark.points), None]), label="points")
    changed = (replace(mark, points=wrong),) if wrong else ()
    marks = (*pattern.marks[:at], *changed, *pattern.marks[at + 1 :])
    assert caught(detail, pieces, number, replace(pattern, marks=marks))


@for_all(surveyed, st.data())
def test_a_setting_out_point_out_of_its_place_is_caught(detail, data):
    pieces = pieces_of(detail)
    number = data.draw(st.integers(0, len(pieces) - 1), label="piece")
    pattern = pieces[number].pattern
    assume(pattern.stations)
    at = data.draw(st.integers(0, len(pattern.stations) - 1), label="point")
    station = pattern.stations[at]
    other = data.draw(st.sampled_from(pattern.outline), label="another corner")
    turn = data.draw(st.integers(0, 359), label="direction")
    place = data.draw(st.sampled_from([moved((station.at,), turn)[0], other]), label="place")
    assume(math.dist(place, station.at) > 0.01)
    assume(place is not other or not station.name.startswith("tongue"))  # those are held to corners only
    stations = (*pattern.stations[:at], replace(station, at=place), *pattern.stations[at + 1 :])
    assert caught(detail, pieces, number, replace(pattern, stations=stations))


@for_all(surveyed, st.data())
def test_lettering_off_the_lead_is_caught(detail, data):
    pieces = pieces_of(detail)
    number = data.draw(st.integers(0, len(pieces) - 1), label="piece")
    pattern = pieces[number].pattern
    x, y = pattern.label.corner
    assume(min(pattern.label.width_mm, pattern.label.height_mm) > 1.0)  # there is room
    wrong = replace(pattern.label, corner=(x - pattern.label.width_mm - max(a for a, _ in pattern.outline), y))
    assert caught(detail, pieces, number, replace(pattern, label=wrong))
