"""Whatever is wrong with a fold or a corner, in whatever family, the proof catches it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from hypothesis import assume
from hypothesis import strategies as st
from shapely import LineString, Point

from cutpath.errors import Severity
from cutpath.families.frame import mirror_image
from cutpath.folding import prove
from cutpath.values.pattern import FoldWay
from cutpath.values.piece import Piece
from tests.families.families import families
from tests.properties.surveys import aprons, cover_flashings, for_all, job_of, pieces_of, soakers, step_flashings

surveyed = step_flashings() | cover_flashings() | aprons() | soakers() | families


@dataclass(frozen=True)
class Picked:
    """One piece of a detail, and the place of one of its features, for a fault to be put there."""

    detail: object
    pieces: list[Piece]
    number: int
    at: int

    @property
    def pattern(self):
        return self.pieces[self.number].pattern

    def instead(self, features, *others):
        """The features of the piece with others, or none, in the place that was picked."""
        return (*features[: self.at], *others, *features[self.at + 1 :])

    def caught(self, pattern):
        """What the proof says when the piece has another pattern."""
        wrong = [*self.pieces[: self.number], replace(self.pieces[self.number], pattern=pattern)]
        return faults_of(self.detail, [*wrong, *self.pieces[self.number + 1 :]])


def faults_of(detail, pieces):
    _, findings = prove(job_of(detail), pieces)
    return [f for f in findings if f.severity is Severity.FAULT]


def pick(detail, data, features=None):
    """A piece by chance and, where ``features`` are named, one of them; the example is dropped when it has none."""
    pieces = pieces_of(detail)
    number = data.draw(st.integers(0, len(pieces) - 1), label="piece")
    if features is None:
        return Picked(detail, pieces, number, 0)
    found = getattr(pieces[number].pattern, features)
    assume(found)
    return Picked(detail, pieces, number, data.draw(st.integers(0, len(found) - 1), label=features))


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
    one = pick(detail, data, "folds")
    change = FAULTS[data.draw(st.sampled_from(sorted(FAULTS)), label="fault")]
    folds = one.instead(one.pattern.folds, change(one.pattern.folds[one.at]))
    assert one.caught(replace(one.pattern, folds=folds))


@for_all(surveyed, st.data())
def test_a_corner_two_millimetres_out_is_caught(detail, data):
    one = pick(detail, data, "outline")
    turn = math.radians(data.draw(st.integers(0, 359), label="direction"))
    x, y = one.pattern.outline[one.at]
    ring = one.instead(one.pattern.outline, (x + 2 * math.cos(turn), y + 2 * math.sin(turn)))
    sides = LineString([ring[one.at - 1], ring[one.at], ring[(one.at + 1) % len(ring)]])
    assume(sides.distance(Point(x, y)) > 0.5)  # not slid along its own edge
    assert one.caught(replace(one.pattern, outline=ring))


@for_all(step_flashings(), st.data())
def test_the_wrong_hand_is_caught(survey, data):
    one = pick(survey, data)
    assert one.caught(mirror_image(one.pattern))


@for_all(step_flashings() | families)
def test_a_piece_left_out_of_a_run_is_caught(detail):
    pieces = pieces_of(detail)
    not_lengths = ("gusset", "lead slate", "sleeve", "corner piece")
    lengths = [p for p in pieces if p.hand is pieces[0].hand and p.pattern.family not in not_lengths]
    assume(len(lengths) > 1)
    for gone in lengths:
        assert faults_of(detail, [p for p in lengths if p is not gone])


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
    one = pick(detail, data, "marks")
    mark = one.pattern.marks[one.at]
    turn = data.draw(st.integers(0, 359), label="direction")
    wrong = data.draw(st.sampled_from([moved(mark.points, turn), stretched(mark.points), None]), label="points")
    marks = one.instead(one.pattern.marks, *([replace(mark, points=wrong)] if wrong else []))
    assert one.caught(replace(one.pattern, marks=marks))


@for_all(surveyed, st.data())
def test_a_setting_out_point_out_of_its_place_is_caught(detail, data):
    one = pick(detail, data, "stations")
    station = one.pattern.stations[one.at]
    other = data.draw(st.sampled_from(one.pattern.outline), label="another corner")
    turn = data.draw(st.integers(0, 359), label="direction")
    place = data.draw(st.sampled_from([moved((station.at,), turn)[0], other]), label="place")
    assume(math.dist(place, station.at) > 0.01)
    assume(place is not other or not station.name.startswith("tongue"))  # those are held to corners only
    assert one.caught(replace(one.pattern, stations=one.instead(one.pattern.stations, replace(station, at=place))))


@for_all(surveyed, st.data())
def test_lettering_off_the_lead_is_caught(detail, data):
    one = pick(detail, data)
    label = one.pattern.label
    assume(min(label.width_mm, label.height_mm) > 1.0)  # there is room
    x, y = label.corner
    wrong = replace(label, corner=(x - label.width_mm - max(a for a, _ in one.pattern.outline), y))
    assert one.caught(replace(one.pattern, label=wrong))
