"""Folded pieces as drawn: every part is there, in true length along the axes, nearer parts over those behind."""

import math
import re
from dataclasses import replace
from functools import cache
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
import shapely
from hypothesis import strategies as st
from shapely import LineString, Polygon

from cutpath.folding import prove
from cutpath.jobs import read_jobs
from cutpath.paper.dimensions import hatching
from cutpath.pieces import pieces_of
from cutpath.profiles import practice
from cutpath.profiles.rolls import rolls_list
from cutpath.reports.pictures.bossing import BOSSED, worked_parts
from cutpath.reports.pictures.isometric import TALLEST, WIDEST, folded_up
from cutpath.reports.pictures.pattern_picture import fold_groups
from cutpath.values.proof import FoldedFace, Proof
from cutpath.values.survey import Hand
from tests.properties.surveys import for_all

JOBS = Path(__file__).resolve().parents[3] / "fixtures" / "jobs"


@cache
def folded():
    """Every piece of the good jobs with its proof."""
    found = []
    for file in ("chimney", "counter-order", "abutment", "whole-chimney", "twin-stack", "old-gable"):
        jobs, _ = read_jobs([JOBS / f"{file}.toml"], rolls_list(None), practice())
        pieces, _ = pieces_of(jobs)
        proofs, _ = prove(jobs[0], pieces)
        by_piece = {proof.piece: proof for proof in proofs}
        found += [(piece, by_piece[piece.id]) for piece in pieces]
    return [(piece, proof) for piece, proof in found if len(proof.faces) > 1]


def drawn(piece, proof):
    root = ET.fromstring(folded_up(piece, proof).picture(piece.id))  # noqa: S314 - our own text
    group = next(node for node in root if node.get("data-origin"))
    scale = float(group.get("data-scale"))
    faces = []
    for node in group:
        if node.get("data-face"):
            pairs = re.findall(r"(-?[\d.]+) (-?[\d.]+)", node.get("d"))
            faces.append((node.get("data-face"), node.get("data-side"), [(float(x), float(y)) for x, y in pairs]))
    return root, group, faces, scale


def one(family, hand=None):
    return next((p, f) for p, f in folded() if p.pattern.family == family and hand in (None, p.hand))


def test_every_piece_is_drawn_inside_its_box_with_its_number():
    assert len({piece.pattern.family for piece, _ in folded()}) >= 5
    for piece, proof in folded():
        root, group, faces, scale = drawn(piece, proof)
        _, _, width, height = map(float, root.get("viewBox").split())
        for _, _, points in faces:
            assert all(0 <= x <= width and 0 <= y <= height for x, y in points)
        x = [x for _, _, points in faces for x, _ in points]
        y = [y for _, _, points in faces for _, y in points]
        assert max(x) - min(x) <= WIDEST + 0.01
        assert max(y) - min(y) <= TALLEST + 0.01
        assert piece.id in root[0].text
        bar = next(node for node in group if node.get("data-bar"))
        (x0, _), (x1, _) = [tuple(map(float, p)) for p in re.findall(r"([\d.]+) ([\d.]+)", bar.get("d"))]
        assert (x1 - x0) * scale == pytest.approx(float(bar.get("data-bar")), abs=0.05)


def test_no_part_is_left_out_but_those_seen_edge_on():
    for piece, proof in folded():
        _, _, faces, _ = drawn(piece, proof)
        assert len(faces) >= len(proof.faces) - 1
        assert {name for name, _, _ in faces} <= {BOSSED, *(face.name for face in proof.faces)}


def test_level_and_plumb_edges_keep_their_length():
    """A step flashing's plumb ends, and its level folds, are as long in the picture as on the wall."""
    piece, proof = one("step flashing", Hand.RIGHT)
    _, _, faces, scale = drawn(piece, proof)
    wall = next(face for face in proof.faces if face.name == "sheet")
    points = next(points for name, _, points in faces if name == "sheet")
    assert len(points) == len(wall.corners)
    for i, (a, b) in enumerate(zip(wall.corners, (*wall.corners[1:], wall.corners[0]), strict=True)):
        p, q = points[i], points[(i + 1) % len(points)]
        if abs(a[0] - b[0]) < 1e-6 or abs(a[1] - b[1]) < 1e-6:
            assert math.dist(p, q) * scale == pytest.approx(math.dist(a, b), abs=0.1)
            direction = math.degrees(math.atan2(q[1] - p[1], q[0] - p[0])) % 180
            assert direction == pytest.approx(90.0 if abs(a[0] - b[0]) < 1e-6 else 150.0, abs=0.5)


def test_weather_face_shows_on_wall_and_turn_ins_seen_from_above():
    for hand in Hand:
        piece, proof = one("step flashing", hand)
        _, _, faces, _ = drawn(piece, proof)
        assert {side for _, side, _ in faces} == {"weather"}


def test_hands_are_mirror_images():
    (right, a), (left, b) = one("soaker", Hand.RIGHT), one("soaker", Hand.LEFT)
    assert right.job == left.job
    first, second = drawn(right, a), drawn(left, b)
    widest = max(x for _, _, points in first[2] for x, _ in points) + min(
        x for _, _, points in second[2] for x, _ in points
    )
    mirrored = shapely.union_all([Polygon([(widest - x, y) for x, y in points]) for _, _, points in first[2]])
    other = shapely.union_all([Polygon(points) for _, _, points in second[2]])
    assert mirrored.symmetric_difference(other).area < 0.01 * other.area
    assert [side for _, side, _ in first[2]] == [side for _, side, _ in second[2]]


def box(name, x0, x1, y, z0, z1):
    return FoldedFace(name, ((x0, y, z0), (x0, y, z1), (x1, y, z1), (x1, y, z0)))


def test_a_nearer_part_covers_one_behind_it():
    """A high level face in front of a plumb one at the wall, whichever of them comes first."""
    piece, _ = one("step flashing", Hand.RIGHT)
    wall = FoldedFace("sheet", ((0.0, 0.0, 0.0), (100.0, 0.0, 0.0), (100.0, 100.0, 0.0), (0.0, 100.0, 0.0)))
    shelf = box("shelf", 0.0, 100.0, 50.0, 10.0, 60.0)
    for faces in ((wall, shelf), (shelf, wall)):
        _, _, found, _ = drawn(piece, Proof(piece.id, 0.0, "", faces, ()))
        assert [name for name, _, _ in found] == ["sheet", "shelf"]


def test_the_back_of_the_sheet_is_hatched():
    piece, _ = one("step flashing", Hand.RIGHT)
    wall = FoldedFace("sheet", ((0.0, 0.0, 0.0), (100.0, 0.0, 0.0), (100.0, 100.0, 0.0), (0.0, 100.0, 0.0)))
    under = FoldedFace("under", ((0.0, 0.0, 0.0), (0.0, 0.0, 80.0), (100.0, 0.0, 80.0), (100.0, 0.0, 0.0)))
    turned = replace(under, corners=under.corners[::-1])
    sides = []
    for face in (under, turned):
        _, group, found, _ = drawn(piece, Proof(piece.id, 0.0, "", (wall, face), ()))
        sides.append(next(side for name, side, _ in found if name == "under"))
        hatched = [node for node in group if node.get("class") == "back-hatch"]
        assert len(hatched) == (sides[-1] == "back")
    assert sorted(sides) == ["back", "weather"]


def test_parts_carry_the_letters_of_their_folds():
    piece, proof = one("soaker", Hand.RIGHT)
    _, group, _, _ = drawn(piece, proof)
    letters = {g.letter for g in fold_groups(piece.pattern)}
    assert letters == {n.text for n in group if n.get("class") == "letter"}


def test_a_flat_piece_has_no_folded_picture():
    piece, proof = folded()[0]
    assert folded_up(piece, replace(proof, faces=proof.faces[:1])) is None


def test_same_values_give_the_same_picture():
    for piece, proof in folded()[:4]:
        assert folded_up(piece, proof) == folded_up(piece, proof)


@for_all(st.floats(5, 80), st.floats(5, 80), st.floats(0.7, 4), st.floats(-90, 90))
def test_hatching_stays_inside_and_is_evenly_spaced(width, height, apart, turn_deg):
    shape = Polygon(((0, 0), (width, 0), (width, height), (width / 2, height / 3), (0, height)))
    lines = [LineString(ends) for ends in hatching(shape, apart, turn_deg)]
    assert all(shape.buffer(1e-6).covers(line) for line in lines)
    total = sum(line.length for line in lines)
    assert total * apart == pytest.approx(shape.area, abs=2.5 * apart * (width + height))


def test_holes_are_left_open():
    piece, proof = next((p, f) for p, f in folded() if p.pattern.holes)
    _, group, _, scale = drawn(piece, proof)
    node = next(n for n in group if n.get("data-face") == "sheet")
    assert len(re.findall("M", node.get("d"))) == 1 + len(piece.pattern.holes)
    assert node.get("fill-rule") == "evenodd"
    _, hole = node.get("d").split("Z")[:2]
    points = [tuple(map(float, p)) for p in re.findall(r"([\d.]+) ([\d.]+)", hole)]
    # A level face is drawn with cos 30 x sin 30 x 2 of its area.
    seen = Polygon(points).area * scale**2 / Polygon(piece.pattern.holes[0]).area
    assert seen == pytest.approx(2 * math.cos(math.radians(30)) * math.sin(math.radians(30)), rel=1e-3)


BOSSED_PIECES = ("apron", "back gutter", "ridge saddle")


def bossed(family):
    return next((p, f) for p, f in folded() if p.pattern.family == family and f.unproved and "welded" not in p.where)


def flat(corners):
    """How far corners stand off one plane."""
    import numpy as np

    points = np.array(corners)
    return float(np.linalg.svd(points - points.mean(axis=0))[1][2])


@pytest.mark.parametrize("family", BOSSED_PIECES)
def test_worked_lead_closes_the_corner_between_the_folded_parts(family):
    """Every edge of a worked face is an edge of a folded part, of a wing, or of another worked face, or runs free."""
    piece, proof = bossed(family)
    worked = worked_parts(piece.pattern, proof.faces)
    assert {f.name for f in worked} <= {BOSSED, "sole", "front"}
    assert any(f.name == BOSSED for f in worked)
    folded_corners = [c for f in (*proof.faces, *(w for w in worked if w.name != BOSSED)) for c in f.corners]
    for face in worked:
        assert flat(face.corners) < 1e-6
        held = [c for c in face.corners if min(math.dist(c, at) for at in folded_corners) < 0.01]
        assert len(held) >= 3
    _, group, _, _ = drawn(piece, proof)
    assert [n for n in group if n.get("class") == "folded bossed"]


def test_a_wing_has_the_sheets_own_area_and_lies_in_the_plane_of_the_roof():
    piece, proof = bossed("back gutter")
    wings = [f for f in worked_parts(piece.pattern, proof.faces) if f.name == "sole"]
    roof = next(f for f in proof.faces if f.name == "sole")
    arris = next(f.start[0] for f in piece.pattern.folds if f.name == "left arris")
    levels = {f.name: f.start[1] for f in piece.pattern.folds}
    assert len(wings) == 2
    for wing in wings:
        assert flat((*wing.corners, *roof.corners)) < 1e-6
        a, b, c, _ = wing.corners
        assert math.dist(a, b) * math.dist(b, c) == pytest.approx(arris * (levels["wall"] - levels["sole"]))


@pytest.mark.parametrize("family", ["back gutter", "ridge saddle"])
def test_what_is_seen_from_high_up_is_true_along_the_wall(family):
    piece, proof = bossed(family)
    _, group, faces, scale = drawn(piece, proof)
    name = {"back gutter": "wall", "ridge saddle": "ridge"}[family]
    part = next(f for f in proof.faces if f.name == name)
    points = next(points for n, _, points in faces if n == name)
    along = max(abs(a[0] - b[0]) for a in part.corners for b in part.corners)
    level = [
        math.dist(points[i], points[i - 1])
        for i in range(len(points))
        if abs(part.corners[i][1] - part.corners[i - 1][1]) + abs(part.corners[i][2] - part.corners[i - 1][2]) < 1e-6
    ]
    if family == "back gutter":
        assert level
        assert max(level) * scale == pytest.approx(along, abs=0.1)
    assert {side for _, side, _ in faces if side} >= {"weather"}
    assert any("along the wall" in (n.text or "") for n in group)
