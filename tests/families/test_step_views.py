"""The walls as drawn are read back and held against what was measured."""

import math
import re
from dataclasses import replace
from functools import cache
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
import shapely
from shapely import LineString, Polygon
from shapely.affinity import scale

from cutpath.jobs import read_jobs
from cutpath.paper.ink import Words
from cutpath.paper.markup import number
from cutpath.paper.wall_sheet import WIDEST
from cutpath.pieces import pieces_of
from cutpath.plane import to_run_frame
from cutpath.profiles import practice
from cutpath.profiles.rolls import rolls_list
from cutpath.reports.pictures.walls import elevations
from cutpath.trade.fixings import with_fixings
from cutpath.values.fixing import FixingKind
from cutpath.values.leadwork import StepFlashing
from cutpath.values.pattern import Edge, EdgeUse
from cutpath.values.piece import fixed_by
from cutpath.values.survey import Hand

JOBS = Path(__file__).resolve().parents[2] / "fixtures" / "jobs"
NEAR_MM = 0.1
WALLS = [
    ("chimney", "S1", Hand.RIGHT),
    ("chimney", "S1", Hand.LEFT),
    ("chimney", "V1", Hand.LEFT),
    ("abutment", "S1", Hand.LEFT),
    ("abutment", "S2", Hand.RIGHT),
    ("barn-abutment", "S1", Hand.LEFT),
    ("barn-abutment", "S2", Hand.RIGHT),
    ("whole-chimney", "S1", Hand.RIGHT),
    ("chapel", "S3", Hand.RIGHT),
]
each_wall = pytest.mark.parametrize(("file", "label", "hand"), WALLS, ids=str)


GOLDEN = JOBS.parent / "golden" / "jobs"


@cache
def planned(file):
    """One job and its pieces."""
    path = next(p for p in (JOBS / f"{file}.toml", GOLDEN / f"{file}.toml") if p.exists())
    (job,), _ = read_jobs([path], rolls_list(None), practice())
    return job, with_fixings(pieces_of([job])[0], practice())


@cache
def pictures(file):
    """What is drawn of its walls."""
    return tuple(elevations(*planned(file)))


@cache
def wall(file, label, hand):
    """The survey, its pieces in fitting order, and the picture."""
    job, all_pieces = planned(file)
    survey = next(d for d in job.details if d.head.label == label)
    pieces = [p for p in all_pieces if p.detail == label and p.hand is hand]
    found = [e for e in pictures(file) if e.title.startswith(f"{label}, {hand.value}")]
    assert len(found) == 1
    return survey, pieces, found[0]


def filled(node):
    """The box that the letters of a text fill, about."""
    turn = node.get("transform")
    angle = float(re.match(r"rotate\((-?[\d.]+)", turn).group(1)) if turn else 0.0
    at = (float(node.get("x")), float(node.get("y")))
    return Polygon(Words(node.text, at, "", float(node.get("font-size")), node.get("text-anchor"), angle).points)


class Sheet:
    """A picture read back: lines by class, in mm on the wall, x up the slope for either hand."""

    def __init__(self, svg):
        self.root = ET.fromstring(svg)  # noqa: S314 - our own text
        self.group = next(node for node in self.root if node.get("data-origin"))
        self.x, self.y = map(float, self.group.get("data-origin").split())
        self.scale = float(self.group.get("data-scale"))
        self.side = -1 if self.group.get("data-hand") == "left" else 1

    def contours(self, node):
        for contour in re.findall(r"M([^MZ]*)", node.get("d")):
            pairs = [tuple(map(float, pair.split())) for pair in contour.split("L")]
            yield [(self.side * (x - self.x) * self.scale, (self.y - y) * self.scale) for x, y in pairs]

    def lines(self, class_):
        return [(node, list(self.contours(node))) for node in self.group if node.get("class") == class_]

    @property
    def words(self):
        return [node.text for node in self.group if node.tag.endswith("text")]


def sheet(file, label, hand):
    return Sheet(wall(file, label, hand)[2].picture)


def turned_into(pieces):
    """Numbers of the joints that carry a fold."""
    return {int(f.name.split()[-1]) for p in pieces for f in p.pattern.folds if "turn-in" in f.name}


@each_wall
def test_bed_joints_stand_at_their_measured_heights(file, label, hand):
    survey = wall(file, label, hand)[0]
    drawn = sheet(file, label, hand).lines("bed-joint")
    heights = {joint.number: joint for joint in survey.joints}
    assert len(drawn) >= len(turned_into(wall(file, label, hand)[1]))
    for node, contours in drawn:
        joint = heights[int(node.get("data-joint"))]
        for x, y in (point for contour in contours for point in contour):
            assert y == pytest.approx(joint.height_mm(max(x, 0.0)), abs=NEAR_MM)


@each_wall
def test_water_line_and_roof_line_are_those_of_the_survey(file, label, hand):
    survey = wall(file, label, hand)[0]
    p = math.radians(survey.pitch_deg)
    page = sheet(file, label, hand)
    (node, ((low, high),)) = page.lines("mark water-line")[0]
    for x, y in (low, high):
        assert -x * math.sin(p) + y * math.cos(p) == pytest.approx(survey.water_line_mm, abs=NEAR_MM)
    assert float(node.get("data-height")) == survey.water_line_mm
    assert min(low[0], high[0]) == pytest.approx(survey.set_back_mm, abs=NEAR_MM)
    assert max(low[0], high[0]) == pytest.approx(survey.slope_mm * math.cos(p), abs=NEAR_MM)
    roofs = [points for node, (points,) in page.lines("roof-line") if node.get("data-pitch")]
    assert len(roofs) == 1
    for x, y in roofs[0]:
        assert y == pytest.approx(x * math.tan(p), abs=NEAR_MM)


@each_wall
def test_every_fold_in_a_joint_lies_on_it(file, label, hand):
    survey, pieces, _ = wall(file, label, hand)
    joints = {joint.number: joint for joint in survey.joints}
    seams = sheet(file, label, hand).lines("seam")
    in_joints = [(node, points) for node, points in seams if "turn-in" in node.get("data-fold")]
    assert {int(node.get("data-fold").split()[-1]) for node, _ in in_joints} == {
        int(fold.name.split()[-1]) for piece in pieces for fold in piece.pattern.folds if "turn-in" in fold.name
    }
    for node, (points,) in in_joints:
        for x, y in points:
            joint = joints[int(node.get("data-fold").split()[-1])]
            assert y == pytest.approx(joint.height_mm(max(x, 0.0)), abs=NEAR_MM)


@each_wall
def test_lengths_show_their_wall_face_only(file, label, hand):
    """Above the roof line, and no higher than the joints into which they turn: turn-ins and covers are not drawn."""
    survey, pieces, _ = wall(file, label, hand)
    page = sheet(file, label, hand)
    drawn = {node.get("data-piece"): points for node, (points,) in page.lines("lead")}
    assert list(drawn) == [piece.id for piece in pieces]
    joints = {joint.number: joint for joint in survey.joints}
    tan_p = math.tan(math.radians(survey.pitch_deg))
    below = math.tan(math.radians(survey.tongue.pitch_deg)) if survey.tongue else 0.0
    for piece in pieces:
        numbers = [int(f.name.split()[-1]) for f in piece.pattern.folds if "turn-in" in f.name]
        highest = joints[max(numbers)]
        for x, y in drawn[piece.id]:
            assert y >= x * (tan_p if x > 0 else below) - NEAR_MM
            assert y <= highest.height_mm(max(x, 0.0)) + NEAR_MM


@each_wall
def test_numbers_heights_and_laps_are_lettered(file, label, hand):
    survey, pieces, _ = wall(file, label, hand)
    words = sheet(file, label, hand).words
    for piece in pieces:
        assert piece.id in words
        assert any(word.startswith(f"{piece.id}: ") for word in words)
    assert number(survey.water_line_mm) in words
    figured = [word for word in words if re.fullmatch(r"\d+: \d+(\.\d)?", word)]
    heights = {joint.number: joint.y_mm for joint in survey.joints}
    assert len(figured) >= len(turned_into(pieces)) // 2
    for word in figured:
        joint, height = word.split(": ")
        assert heights[int(joint)] == pytest.approx(float(height), abs=0.501)
    laps = [float(word.split()[1]) for word in words if word.startswith("lap ")]
    assert len(laps) == len(pieces) - 1
    assert all(lap >= survey.head.lap_mm - 0.5 for lap in laps)


@each_wall
def test_running_figures_are_the_feet_of_the_risers(file, label, hand):
    """Where a joint dips to the water line the next riser begins: u = (j - w cos p) / sin p on level joints."""
    survey = wall(file, label, hand)[0]
    p, w = math.radians(survey.pitch_deg), survey.water_line_mm
    words = sheet(file, label, hand).words
    figures = {int(word) for word in words if re.fullmatch(r"\d+", word)}
    assert survey.slope_mm == pytest.approx(max(f for f in figures if f <= survey.slope_mm + 0.5), abs=0.5)
    level = [joint for joint in survey.joints if not joint.slope]
    for joint in level:
        u = (joint.y_mm - w * math.cos(p)) / math.sin(p)
        foot_x = u * math.cos(p) - w * math.sin(p)
        if joint.end_x_mm is not None:  # the user's own step ends there
            foot_x, u = joint.end_x_mm, joint.end_x_mm * math.cos(p) + joint.y_mm * math.sin(p)
        if survey.least_fold_mm < foot_x < survey.slope_mm * math.cos(p) - 1:
            assert math.floor(u + 0.5) in figures or math.ceil(u - 0.5) in figures


@each_wall
def test_picture_stays_inside_its_box_and_fits_a_page(file, label, hand):
    page = sheet(file, label, hand)
    _, _, width, height = map(float, page.root.get("viewBox").split())
    assert width <= WIDEST + 5
    numbers = [
        tuple(map(float, pair))
        for node in page.group
        if node.get("d")
        for pair in re.findall(r"(-?[\d.]+) (-?[\d.]+)", node.get("d"))
    ]
    numbers += [(float(n.get("x")), float(n.get("y"))) for n in page.group if n.tag.endswith("text")]
    assert all(0 <= x <= width and 0 <= y <= height for x, y in numbers)


def test_a_left_hand_is_the_mirror_image_on_the_wall():
    right, left = sheet("chimney", "S1", Hand.RIGHT), sheet("chimney", "S1", Hand.LEFT)
    for class_ in ("lead", "seam", "roof-line", "mark water-line"):
        for (_, (a,)), (_, (b,)) in zip(right.lines(class_), left.lines(class_), strict=True):
            assert shapely.hausdorff_distance(LineString(a), LineString(b)) < NEAR_MM
    assert (right.side, left.side) == (1, -1)


def test_a_return_is_unrolled_beyond_the_arris():
    survey, _, _ = wall("chimney", "V1", Hand.LEFT)
    (_, (points,)) = sheet("chimney", "V1", Hand.LEFT).lines("lead")[0]
    assert min(x for x, _ in points) == pytest.approx(-survey.corner.length_mm, abs=NEAR_MM)
    (_, (arris,)) = sheet("chimney", "V1", Hand.LEFT).lines("arris")[0]
    assert [x for x, _ in arris] == pytest.approx([0.0, 0.0], abs=NEAR_MM)


@pytest.mark.parametrize(("file", "course"), [("chimney", ", one to each course of 100 mm"), ("soaker-order", "")])
def test_the_key_counts_soakers_by_the_course_only_where_they_are_so_many(file, course):
    """Nine ordered for a run that crosses seven courses are not one to each."""
    notes = {note for elevation in pictures(file) if elevation.title.startswith("S1") for note in elevation.notes}
    (said,) = [note for note in notes if note.startswith("dashed: upstands")]
    assert re.fullmatch(rf"dashed: upstands of \d+ soakers behind the lead, 75 mm high{course}", said)


def test_soakers_stand_under_the_water_line_one_to_a_course():
    survey, _, _ = wall("chimney", "S1", Hand.RIGHT)
    soakers = next(d for d in planned("chimney")[0].details if d.head.label == "K1")
    (node, contours) = sheet("chimney", "S1", Hand.RIGHT).lines("soaker")[0]
    assert int(node.get("data-count")) == soakers.count
    p = math.radians(survey.pitch_deg)
    tops = [-x * math.sin(p) + y * math.cos(p) for contour in contours for x, y in contour]
    assert max(tops) == pytest.approx(soakers.upstand_mm, abs=NEAR_MM)
    assert soakers.upstand_mm < survey.water_line_mm


def test_same_values_give_the_same_picture_and_other_values_another():
    survey, _, first = wall("abutment", "S1", Hand.LEFT)
    job, pieces = planned("abutment")
    assert elevations(job, pieces)[0] == first
    lifted = replace(survey, joints=tuple(replace(j, y_mm=j.y_mm + 2.0) for j in survey.joints))
    other = replace(job, details=(lifted, *job.details[1:]))
    assert elevations(other, pieces_of([other])[0])[0].picture != first.picture


def test_walls_of_all_step_flashings_are_drawn():
    for file in ("chimney", "abutment", "barn-abutment", "counter-order"):
        hands = sum(len(d.head.hands) for d in planned(file)[0].details if isinstance(d, StepFlashing))
        assert len([e for e in pictures(file) if "hand: the wall" in e.title]) == hands


def test_a_wall_whose_roof_changes_its_pitch_is_one_picture():
    """Every part of the upper reach stands as far along and up as the lower roof reaches, its folds on the joints."""
    job, pieces = planned("chapel")
    lower, upper = (next(d for d in job.details if d.head.label == label) for label in ("S1", "S2"))
    (found,) = [e for e in elevations(job, pieces) if "S2" in e.title]
    assert found.title.startswith("S1 and S2, left hand")
    assert "28°, then 45°" in found.words
    page = Sheet(found.picture)
    p, q = math.radians(28), math.radians(45)
    change = (lower.slope_mm * math.cos(p), lower.slope_mm * math.sin(p))
    roofs = {float(n.get("data-pitch")): ends for n, (ends,) in page.lines("roof-line") if n.get("data-pitch")}
    assert set(roofs) == {28.0, 45.0}
    assert max(roofs[28.0]) == pytest.approx(change, abs=NEAR_MM)
    assert min(roofs[45.0]) == pytest.approx(change, abs=NEAR_MM)
    lead = {n.get("data-piece"): ring for n, (ring,) in page.lines("lead")}
    assert list(lead) == ["NB-S1-L1", "NB-S2-L1"]
    tongue = [(x - change[0], y - change[1]) for x, y in lead["NB-S2-L1"] if x < change[0] - 1]
    reach = [x * math.cos(p) + y * math.sin(p) for x, y in tongue]
    assert min(reach) <= -upper.tongue.lap_mm
    riser = (351 - 80 / math.cos(p)) / math.tan(p)  # joint 3 dips to the water line there; up to joint 4 it is covered
    assert any(math.dist(at, (riser, 474)) < NEAR_MM for at in lead["NB-S2-L1"])
    (hatch,) = [LineString(ends) for _, contours in page.lines("lap-hatch") for ends in [contours[-1]]]
    assert hatch.bounds[2] <= change[0] + NEAR_MM
    for x, y in lead["NB-S2-L1"]:
        roof = (x - change[0]) * math.tan(q if x > change[0] else p) + change[1]
        assert y >= roof - NEAR_MM
    heights = {j.number: j.y_mm for j in lower.joints}
    seams = [(n, ends) for n, (ends,) in page.lines("seam") if "turn-in" in n.get("data-fold")]
    assert len(seams) >= 10
    for node, ends in seams:
        for _, y in ends:
            assert y == pytest.approx(heights[int(node.get("data-fold").split()[-1])], abs=NEAR_MM)
    assert {"NB-S1-L1", "NB-S2-L1", "lap 114"} <= set(page.words)
    assert any("tongue" in note for note in found.notes)


def test_joints_that_are_passed_by_are_dashed_and_named():
    survey, _, found = wall("old-gable", "S1", Hand.RIGHT)
    page = sheet("old-gable", "S1", Hand.RIGHT)
    heights = {joint.number: joint.y_mm for joint in survey.joints}
    drawn = {int(n.get("data-left-out")): c for n, c in page.lines("bed-joint left-out")}
    assert set(drawn) == {9, 10}
    for joint, contours in drawn.items():
        for _, y in (p for contour in contours for p in contour):
            expected = heights[8] + (heights[11] - heights[8]) * (joint - 8) / 3
            assert y == pytest.approx(expected, abs=NEAR_MM)
    assert any("joints 9 and 10 not to be used" in note for note in found.notes)
    assert any("no step on joint 3" in note for note in found.notes)


def test_beds_chosen_step_by_step_are_not_drawn_across_the_wall():
    survey, _, _ = wall("chapel", "S3", Hand.RIGHT)
    page = sheet("chapel", "S3", Hand.RIGHT)
    ends = {joint.number: joint.end_x_mm for joint in survey.joints}
    for node, contours in page.lines("bed-joint"):
        for x, _ in (point for contour in contours for point in contour):
            assert x <= ends[int(node.get("data-joint"))] + 50
    assert not page.lines("brick")


def test_clips_of_a_cover_stand_on_the_line_of_the_roof():
    """The cover lies on a roof that is seen edge-on, so its outer edge is seen on the roof line."""
    survey, pieces, _ = wall("barn-abutment", "S1", Hand.LEFT)
    p = math.radians(survey.pitch_deg)
    page = sheet("barn-abutment", "S1", Hand.LEFT)
    clips = [
        fixing
        for piece in pieces
        for fixing in fixed_by(piece, FixingKind.CLIP)
        if isinstance(fixing.on, Edge) and fixing.on.use is EdgeUse.COVER
    ]
    assert clips
    drawn = [points for _, contours in page.lines("fixing clip") for points in contours]
    middles = [(sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)) for points in drawn]
    on_roof = [x / math.cos(p) for x, y in middles if abs(y * math.cos(p) - x * math.sin(p)) < NEAR_MM]
    along = {
        round(to_run_frame(piece.pattern, (fixing.at,))[0][0])
        for piece in pieces
        for fixing in fixed_by(piece, FixingKind.CLIP)
    }
    assert {round(u) for u in on_roof} == along


def test_clips_of_a_tongue_stand_on_the_line_of_the_roof_below_the_change_of_pitch():
    """The cover parts from the tongue below the change and lies on the lower roof, which is seen edge-on too."""
    job, pieces = planned("sprocketed")
    (found,) = [e for e in elevations(job, pieces) if e.title.startswith("S1 and S2")]
    page = Sheet(found.picture)
    drawn = [points for _, contours in page.lines("fixing clip") for points in contours]
    assert len(drawn) == sum(len(fixed_by(p, FixingKind.CLIP)) for p in pieces if p.detail in {"S1", "S2"})
    roof = shapely.union_all([LineString(points) for _, contours in page.lines("roof-line") for points in contours])
    assert all(roof.distance(Polygon(points).centroid) < NEAR_MM for points in drawn)


THICK = {"lead", "section-lead", "roof-line", "wall-edge", "seam"}


@pytest.mark.parametrize("file", [*sorted(path.stem for path in JOBS.glob("*.toml")), "sprocketed", "valleys"])
def test_words_keep_clear_of_each_other_and_of_thick_lines(file):
    for elevation in pictures(file):
        words = [ink for ink in elevation.inks if isinstance(ink, Words)]
        boxes = [Polygon(ink.points) for ink in words]
        near = shapely.STRtree(boxes)
        for a, b in near.query(boxes, predicate="intersects").T:
            assert a == b or boxes[a].intersection(boxes[b]).area < 0.5, (elevation.title, words[a].text, words[b].text)
        thick = [
            LineString([*points, points[0]] if ink.closed else points)
            for ink in elevation.inks
            if ink.class_.split()[0] in THICK
            for points in ink.contours
        ]
        for line, box in near.query(thick, predicate="intersects").T:
            crossed = words[box].class_ != "id" and thick[line].intersection(boxes[box]).length >= 0.8
            assert not crossed, (elevation.title, words[box].text)
        assert elevation.picture.rfind("<path") < elevation.picture.find("<text"), elevation.title


@pytest.mark.parametrize(
    ("file", "label"), [("chimney", "S1"), ("whole-chimney", "S1"), ("welded-stacks", "S1"), ("old-brick", "S1")]
)
def test_the_number_of_a_length_hides_no_wedge_and_crosses_no_arris(file, label):
    """A sheet that goes round the arris has its number along the roof; a corner piece, beyond the arris."""
    shown = [e for e in pictures(file) if e.title.startswith(f"{label}, ")]
    assert len(shown) == 2
    for picture in shown:
        wedges = [p for ink in picture.inks if ink.class_ == "fixing wedge" for p in ink.points]
        arris = [ink.points[0][0] for ink in picture.inks if ink.class_ == "arris"]
        for words in (ink for ink in picture.inks if ink.class_ == "id"):
            box = shapely.Polygon(words.points)
            assert not box.intersects(shapely.MultiPoint(wedges)), (picture.title, words.text)
            assert words.turn_deg or all(not box.bounds[0] < x < box.bounds[2] for x in arris), words.text
            if words.turn_deg == 0:  # bold letters are a seventh wider than the plain ones of the other words
                bold = scale(box, 1.14, 1.0, origin=(words.at[0], words.at[1], 0.0))
                heights = [other for other in picture.inks if isinstance(other, Words) and ": " in other.text]
                assert all(not bold.intersects(shapely.Polygon(other.points)) for other in heights), words.text


def test_no_level_line_runs_through_the_figures_of_a_flat_valley():
    """The legs of the angles went right across, and through the dimensions below a roof of 15 degrees."""
    (picture,) = [e for e in pictures("low-roofs") if e.title == "V1: section square to the valley"]
    figures = [shapely.Polygon(ink.points) for ink in picture.inks if isinstance(ink, Words)]
    legs = [LineString(points) for ink in picture.inks if ink.class_ == "guide" for points in ink.contours]
    assert len(figures) == 4
    level = [leg for leg in legs if abs(leg.coords[0][1] - leg.coords[-1][1]) < 1e-9]
    assert level
    assert not any(leg.intersects(figure) for leg in level for figure in figures)
