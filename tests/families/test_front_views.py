"""Faces seen from in front are read back and held against what was measured."""

import math
import re
from itertools import combinations, pairwise

import pytest
import shapely
from shapely import LineString, Polygon

from cutpath.families.frame import mirror_image
from cutpath.paper.ink import Words
from cutpath.plane import to_run_frame
from cutpath.profiles import practice
from cutpath.trade.fixings import clips
from cutpath.values.fixing import FixingKind
from cutpath.values.leadwork import Apron, CoverFlashing
from cutpath.values.piece import fixed_by
from cutpath.values.survey import Hand
from tests.families.test_step_views import NEAR_MM, Sheet, pictures, planned


def front(file, label, hand=None):
    """A survey, its pieces and its picture read back."""
    job, pieces = planned(file)
    survey = next(d for d in job.details if d.head.label == label)
    start = f"{label}, {hand.value} hand:" if hand else f"{label}:"
    (found,) = [e for e in pictures(file) if e.title.startswith(start) and "section" not in e.title]
    return survey, [p for p in pieces if p.detail == label and p.hand is hand], found, Sheet(found.picture)


FRONTS = [("whole-chimney", "A1"), ("whole-chimney", "A2"), ("counter-order", "A1"), ("garden-room", "T1")]


@pytest.mark.parametrize(("file", "label"), FRONTS)
def test_upstand_and_foreshortened_cover_are_as_measured(file, label):
    survey, pieces, _, page = front(file, label)
    own = {p.id for p in pieces}
    points = [p for node, (ring,) in page.lines("lead") if node.get("data-piece") in own for p in ring]
    width, side = (survey.width_mm, survey.side_mm) if isinstance(survey, Apron) else (survey.length_mm, 0.0)
    drop = survey.cover_mm * math.sin(math.radians(survey.pitch_deg))
    assert max(y for _, y in points) == pytest.approx(survey.upstand_mm, abs=NEAR_MM)
    assert min(y for _, y in points) == pytest.approx(-drop, abs=NEAR_MM)
    assert min(x for x, _ in points) == pytest.approx(-side, abs=NEAR_MM)
    assert max(x for x, _ in points) == pytest.approx(width + side, abs=NEAR_MM)
    above = [x for x, y in points if y > NEAR_MM]
    assert min(above) >= -NEAR_MM
    assert max(above) <= width + NEAR_MM


@pytest.mark.parametrize(("label", "seen"), [("T1", False), ("A1", True)])
def test_a_roof_goes_on_up_beside_a_stack_and_ends_where_its_top_edge_meets_the_wall(tmp_path, label, seen):
    head = 'name = "Lean-to"\npitch = 25\ncovering = "slate 500"'
    details = [
        'kind = "soakers"\nlength = 2000',
        'kind = "top-edge abutment"\nlength = 4850',
        'kind = "apron"\nwidth = 600',
    ]
    (tmp_path / "lean-to.toml").write_text("\n[[detail]]\n".join([head, *details]))
    *_, page = front(str(tmp_path / "lean-to"), label)
    heights = [y for _, rings in page.lines("tile") for ring in rings for _, y in ring]
    assert min(heights) < -NEAR_MM
    assert (max(heights) > NEAR_MM, "roof" in page.words) == (seen, seen)


@pytest.mark.parametrize(("file", "label"), [("garden-room", "T1"), ("counter-order", "C1")])
def test_lengths_and_laps_as_they_are_printed_come_to_the_run(file, label):
    survey, pieces, _, page = front(file, label)
    lengths = [float(word.partition(": ")[2]) for word in page.words if "-" in word and ": " in word]
    laps = [float(word.split()[1]) for word in page.words if word.startswith("lap ")]
    assert (len(lengths), len(laps)) == (len(pieces), len(pieces) - 1)
    assert sum(lengths) - sum(laps) == survey.length_mm


def test_returns_of_the_sides_stand_at_their_own_arris_and_turn_into_the_aprons_joint():
    """The right-hand cheek, with the roof rising to the right of a person who faces it, is the right one in front."""
    survey, _, _, page = front("whole-chimney", "A1")
    sides = next(d for d in planned("whole-chimney")[0].details if d.head.label == "S1")
    rings = {node.get("data-piece"): ring for node, (ring,) in page.lines("lead")}
    assert len(page.lines("lead")) == len(rings) == 3
    left, right = (next(ring for name, ring in rings.items() if f"-S1-{hand}" in name) for hand in "LR")
    reach = sides.corner.length_mm
    assert (min(x for x, _ in left), max(x for x, _ in left)) == pytest.approx((0.0, reach), abs=NEAR_MM)
    assert min(x for x, _ in right) == pytest.approx(survey.width_mm - reach, abs=NEAR_MM)
    assert max(x for x, _ in right) == pytest.approx(survey.width_mm, abs=NEAR_MM)
    for ring in (left, right):
        assert max(y for _, y in ring) == pytest.approx(survey.upstand_mm, abs=NEAR_MM)
    joint = next(j for j in sides.joints if j.number == sides.corner.joint)
    assert joint.y_mm == pytest.approx(survey.upstand_mm)


def test_the_key_tells_a_chase_from_the_joint_of_the_returns():
    """Apron of 110 in a chase, returns in joint 2 at 145; in the other job both turn into one joint."""
    _, _, chased, _ = front("tiled-stack", "A1")
    _, _, level, _ = front("whole-chimney", "A1")
    over = "the returns of the side flashings go over the upstand and turn into"
    assert f"{over} a joint above it" in chased.notes
    assert "thick line on the chase: fold; 25 mm turns into the chase" in chased.notes
    assert f"{over} the same joint" in level.notes
    assert "thick line on the joint: fold; 25 mm turns into the joint" in level.notes


@pytest.mark.parametrize(
    ("file", "label", "end"),
    [("garden-room", "T1", "the right end, 100"), ("low-roofs", "T1", "each end, 90"), ("whole-chimney", "A1", "")],
)
def test_stop_ends_are_told_beside_the_wall(file, label, end):
    _, _, found, _ = front(file, label)
    end, _, high = end.partition(", ")
    said = f"beyond {end} the sheet goes on by {high} mm, turned up against the wall there; not shown"
    assert [note for note in found.notes if "turned up against" in note] == ([said] if end else [])


def test_courses_of_a_chimneys_front_are_those_of_its_sides():
    _, _, _, page = front("whole-chimney", "A1")
    sides = next(d for d in planned("whole-chimney")[0].details if d.head.label == "S1")
    heights = {j.number: j.y_mm for j in sides.joints}
    drawn = page.lines("bed-joint")
    assert len(drawn) >= 2
    for node, contours in drawn:
        for _, y in (p for contour in contours for p in contour):
            assert y == pytest.approx(heights[int(node.get("data-joint"))], abs=NEAR_MM)


CHASES = [
    ("counter-order", "C1", None),
    ("counter-order", "C2", Hand.RIGHT),
    ("counter-order", "C2", Hand.LEFT),
]


@pytest.mark.parametrize(("file", "label", "hand"), CHASES)
def test_cover_flashings_hang_from_their_chase(file, label, hand):
    survey, pieces, _, page = front(file, label, hand)
    assert isinstance(survey, CoverFlashing)
    s = math.radians(survey.slope_deg)
    for node, contours in page.lines("seam"):
        assert "turn-in" in node.get("data-fold")
        for x, y in (p for contour in contours for p in contour):
            assert -x * math.sin(s) + y * math.cos(s) == pytest.approx(survey.cover_mm, abs=NEAR_MM)
    rings = [Polygon(ring) for _, (ring,) in page.lines("lead")]
    whole = shapely.union_all([ring.buffer(0.01) for ring in rings])
    assert whole.area == pytest.approx((survey.length_mm + 2 * survey.return_mm) * survey.cover_mm, rel=1e-3)
    laps = [a.intersection(b).area / survey.cover_mm for a, b in pairwise(rings)]
    figures = [float(w.split()[1]) for w in page.words if w.startswith("lap ")]
    assert figures == pytest.approx(laps, abs=0.6)
    assert len(figures) == len(pieces) - 1


@pytest.mark.parametrize(("file", "label", "hand"), [*((f, n, None) for f, n in FRONTS), *CHASES])
def test_every_number_and_length_is_lettered_inside_the_picture(file, label, hand):
    _, pieces, found, page = front(file, label, hand)
    for piece in pieces:
        if piece.pattern.family != "gusset":
            assert piece.id in page.words
            assert any(word.startswith(f"{piece.id}: ") for word in page.words)
    _, _, width, height = map(float, page.root.get("viewBox").split())
    pairs = [p for n in page.group if n.get("d") for p in re.findall(r"(-?[\d.]+) (-?[\d.]+)", n.get("d"))]
    assert all(0 <= float(x) <= width and 0 <= float(y) <= height for x, y in pairs)
    assert "0" not in [w for w in page.words if not found.title.startswith("A")]


@pytest.mark.parametrize(
    ("file", "label"),
    [("whole-chimney", "A1"), ("whole-chimney", "A2"), ("welded-stacks", "A1"), ("tiled-stack", "A1")],
)
def test_the_numbers_of_the_returns_stand_between_the_arrises(file, label):
    _, _, found, _ = front(file, label)
    edges = [LineString(points) for ink in found.inks if ink.class_ == "wall-edge" for points in ink.contours]
    boxes = [Polygon(ink.points) for ink in found.inks if isinstance(ink, Words) and ink.class_ == "id"]
    assert len(edges) == 2
    assert len(boxes) == 3
    assert not any(edge.intersects(box) for edge in edges for box in boxes)


@pytest.mark.parametrize(("mark", "first"), [("LHS", 30), ("LHS", 62), ("P", 62)])
def test_numbers_on_a_narrow_stack_keep_clear_of_each_other(tmp_path, mark, first):
    (tmp_path / "narrow.toml").write_text(
        f'name = "J"\nmark = "{mark}"\npitch = 38\ncovering = "slate 500"\n[[detail]]\nkind = "chimney"\n'
        f"width = 225\ndepth = 450\ncoursing = {{ gauge = 75, first_joint = {first} }}\n"
    )
    _, _, found, _ = front(str(tmp_path / "narrow"), "A1")
    boxes = [Polygon(ink.points) for ink in found.inks if isinstance(ink, Words) and ink.class_ == "id"]
    assert len(boxes) == 3
    assert not any(one.intersects(other) for one, other in combinations(boxes, 2))


@pytest.mark.parametrize(("file", "label"), FRONTS)
def test_a_section_turns_in_stands_up_and_falls_with_the_roof(file, label):
    job, _ = planned(file)
    survey = next(d for d in job.details if d.head.label == label)
    (found,) = [e for e in pictures(file) if e.title.startswith(f"{label}: section")]
    ((_, (lead,)),) = Sheet(found.picture).lines("section-lead")
    p = math.radians(survey.pitch_deg)
    up, cover = survey.upstand_mm, survey.cover_mm
    expected = [(-survey.turn_in_mm, up), (0, up), (0, 0), (cover * math.cos(p), -cover * math.sin(p))]
    for corner, at in zip(lead, expected, strict=True):
        assert corner == pytest.approx(at, abs=NEAR_MM)


@pytest.mark.parametrize(("file", "label"), [("low-roofs", "T1"), ("valleys", "T1"), ("garden-room", "T1")])
def test_clips_of_an_inner_corner_stand_on_the_roof_beside_the_wall_and_none_on_the_stop_end(file, label):
    survey, pieces, _, page = front(file, label)
    hung = {p.id: [to_run_frame(p.pattern, (f.at,))[0][0] for f in fixed_by(p, FixingKind.CLIP)] for p in pieces}
    along = [x for places in hung.values() for x in places]
    near = practice()["fixing_from_end"].value
    assert min(along) == pytest.approx(near, abs=NEAR_MM)
    assert max(along) == pytest.approx(survey.length_mm - near, abs=NEAR_MM)
    assert len(page.lines("fixing clip")) == len(along)
    for piece in pieces:
        image = mirror_image(piece.pattern)
        other = [to_run_frame(image, (clip.at,))[0][0] for clip in clips(image, practice())]
        assert sorted(other) == pytest.approx(sorted(hung[piece.id]), abs=NEAR_MM)
