"""Gutters and saddles as drawn in their places are read back and held against what was measured."""

import math
import re
from itertools import pairwise
from pathlib import Path

import pytest
from shapely import LineString, Point, Polygon

from cutpath import pipeline
from cutpath.families.valley_gutter.views import valley_slopes_deg
from cutpath.folding import prove
from cutpath.paper.section import profile
from cutpath.reports.pictures.walls import elevations
from cutpath.values.fixing import FixingKind
from tests.families.test_step_views import NEAR_MM, Sheet, pictures, planned

JOBS = Path(__file__).parents[2] / "fixtures" / "jobs"


def drawn(file, label):
    """A survey, its pieces, and its pictures read back, the gutter first."""
    job, pieces = planned(file)
    survey = next(d for d in job.details if d.head.label == label)
    found = [e for e in pictures(file) if re.match(rf"{label}\W", e.title)]
    return survey, [p for p in pieces if p.detail == label], [(e, Sheet(e.picture)) for e in found]


BACKS = [("whole-chimney", "G1", "C1"), ("whole-chimney", "G2", "C2"), ("twin-stack", "G1", "C1")]


@pytest.mark.parametrize(("file", "label", "cover"), BACKS)
def test_the_cover_hangs_over_the_upstand_from_its_joint(file, label, cover):
    survey, pieces, ((_, page), _) = drawn(file, label)
    over = next(d for d in planned(file)[0].details if d.head.label == cover)
    rings = {node.get("data-piece"): Polygon(ring) for node, (ring,) in page.lines("lead")}
    hung = [ring for name, ring in rings.items() if f"-{cover}-" in name]
    gutter = [ring for name, ring in rings.items() if f"-{label}-" in name]
    assert len(hung) == len([p for p in planned(file)[1] if p.detail == cover])
    assert len(gutter) == len([p for p in pieces if p.pattern.family != "gusset"])
    joint = max(ring.bounds[3] for ring in hung)
    assert joint >= survey.upstand_mm - NEAR_MM
    assert min(ring.bounds[1] for ring in hung) == pytest.approx(joint - over.cover_mm, abs=NEAR_MM)
    assert min(ring.bounds[1] for ring in hung) < survey.upstand_mm
    assert min(ring.bounds[1] for ring in gutter) == pytest.approx(-survey.sole_mm - survey.up_roof_mm, abs=NEAR_MM)
    for piece in planned(file)[1]:
        if piece.detail in (label, cover) and piece.pattern.family != "gusset":
            assert piece.id in page.words


def test_the_covers_joint_is_the_one_that_the_chimney_was_set_out_to():
    """169.6 above the sole, as the set's own finding says: 950 less the sole's level at the back."""
    survey, _, ((_, page), _) = drawn("whole-chimney", "G1")
    heights = {int(n.get("data-joint")): c[0][0][1] for n, c in page.lines("bed-joint")}
    level = 780 * math.tan(math.radians(40)) + survey.sole_mm * math.tan(math.radians(40))
    assert heights[13] == pytest.approx(950 - level, abs=NEAR_MM)
    tops = [y for n, (ends,) in page.lines("seam") if n.get("data-fold") == "turn-in" for _, y in ends]
    assert tops == pytest.approx([950 - level] * 2, abs=NEAR_MM)


def test_a_divided_gutter_is_drawn_to_the_feet_of_its_roll():
    survey, _, ((found, page), _) = drawn("twin-stack", "G1")
    ends = [Polygon(ring).bounds for n, (ring,) in page.lines("lead") if "-G1-" in n.get("data-piece")]
    assert ends[1][0] - ends[0][2] == pytest.approx(survey.roll_core_mm, abs=NEAR_MM)
    assert (ends[0][2] + ends[1][0]) / 2 == pytest.approx(survey.width_mm / 2, abs=NEAR_MM)
    assert any("undercloak 100 mm, overcloak 175 mm" in note for note in found.notes)


@pytest.mark.parametrize(("file", "label"), [("whole-chimney", "G1"), ("twin-stack", "G1"), ("twin-stack", "G2")])
def test_a_back_gutters_section_is_that_of_its_proof(file, label):
    """The folded sheet's parts, seen from the side, all lie on the line that the section draws."""
    job, all_pieces = planned(file)
    _, pieces, (_, (_, page)) = drawn(file, label)
    proofs = {p.piece: p for p in prove(job, all_pieces)[0]}
    ((_, (lead,)),) = [found for found in page.lines("section-lead") if found[0].get("data-piece") == "gutter"]
    parts = [f for f in proofs[pieces[0].id].faces if "arris" not in f.name]
    assert len(parts) >= 4
    # A welded corner's wing lies on the roof below the sole, beside the section.
    corners = [(z, y) for f in parts for _, y, z in f.corners if y >= -NEAR_MM]
    assert max(LineString(lead).distance(Point(at)) for at in corners) <= NEAR_MM
    ends = [min(math.dist(end, at) for at in corners) for end in (lead[0], lead[-1])]
    assert max(ends) <= NEAR_MM


@pytest.mark.parametrize(("file", "label"), [("garden-room", "V1"), ("low-roofs", "V1")])
def test_a_valleys_section_stands_on_both_roofs_and_over_both_fillets(file, label):
    survey, pieces, (_, (_, page)) = drawn(file, label)
    ((_, (roof,)),) = page.lines("roof-line")
    right, left = valley_slopes_deg(survey)
    bend = next(f.angle_deg for f in pieces[0].pattern.folds if f.name == "middle")
    assert left + right == pytest.approx(bend)
    ((_, (lead,)),) = page.lines("section-lead")
    woods = [ring for _, (ring,) in page.lines("wood")]
    crests = [
        max(ring, key=lambda p: abs(p[0] * roof[i][1] - p[1] * roof[i][0]))
        for ring, i in zip(woods, (2, 0), strict=True)
    ]
    for crest in crests:
        assert min(math.dist(crest, at) for at in lead) <= 0.2
    girth = sum(math.dist(a, b) for a, b in pairwise(lead))
    assert girth == pytest.approx(survey.width_mm, abs=0.5)


@pytest.mark.parametrize(("file", "label"), [("garden-room", "V1"), ("low-roofs", "V1"), ("garden-room", "G1")])
def test_lengths_up_the_slope_lap_as_figured(file, label):
    survey, pieces, pictures = drawn(file, label)
    _, page = pictures[0]
    rings = [Polygon(ring) for _, (ring,) in page.lines("lead")]
    width = rings[0].area / pieces[0].pattern.length_mm
    laps = [a.intersection(b).area / width for a, b in pairwise(rings)]
    figures = [float(w.split()[1]) for w in page.words if w.startswith("lap ")]
    assert figures == pytest.approx(laps, abs=0.6)
    assert min(laps) >= survey.head.lap_mm - 1
    assert len(figures) == len(pieces) - 1 >= 1


def test_a_pitch_is_told_to_a_tenth_of_a_degree(tmp_path):
    gutter = 'kind = "secret gutter"\nlength = 900\nhands = "left"\n'
    (tmp_path / "pitch.toml").write_text(f'name = "J"\npitch = 22.4567\n[[detail]]\n{gutter}')
    (found, _), _ = drawn(str(tmp_path / "pitch"), "G1")[2]
    assert "rising to the left at 22.5°" in found.words


def test_both_hands_of_a_gutter_are_drawn_and_its_section_once():
    _, _, pictures = drawn("low-roofs", "G1")
    titles = [e.title for e, _ in pictures]
    assert [t.split(":")[0] for t in titles] == ["G1, right hand", "G1, left hand", "G1"]


@pytest.mark.parametrize("file", ["garden-room", "old-gable"])
def test_a_saddle_stands_square_to_both_slopes(file):
    survey, pieces, ((_, page),) = drawn(file, "R1")
    p = math.radians(survey.pitch_deg)
    rings = [ring for _, (ring,) in page.lines("lead")]
    half, up = survey.width_mm / 2, survey.upstand_mm
    apex = (up * math.sin(p), up * math.cos(p))
    outer = (half * math.cos(p) + apex[0], apex[1] - half * math.sin(p))
    for side, ring in zip((-1, 1), rings, strict=False):
        assert min(math.dist(at, (side * outer[0], outer[1])) for at in ring) <= NEAR_MM
        assert Polygon(ring).area == pytest.approx(half * up, rel=1e-3)
    middle = Polygon(rings[2])
    assert middle.area == pytest.approx(apex[0] * apex[1], rel=0.01)
    assert all(piece.id in page.words for piece in pieces)


def test_a_profile_follows_the_folds_of_its_sheet():
    job, pieces = planned("garden-room")
    gutter = next(p for p in pieces if p.pattern.family == "secret gutter")
    corners = profile(gutter.pattern, -90.0)
    survey = next(d for d in job.details if d.head.label == gutter.detail)
    expected = [
        (0, 0),
        (0, -survey.upstand_mm),
        (survey.sole_mm, -survey.upstand_mm),
        (survey.sole_mm, survey.edge_mm - survey.upstand_mm),
    ]
    for corner, at in zip(corners, expected, strict=True):
        assert corner == pytest.approx(at, abs=1e-6)


@pytest.mark.parametrize(("file", "label"), [("garden-room", "P1"), ("low-roofs", "P2")])
def test_a_pipe_slates_sleeve_stands_on_the_roof_and_its_top_is_level(file, label):
    """The sleeve's shortest and longest sides are those of its flat pattern, and the base is as long as its own."""
    survey, pieces, ((_, page),) = drawn(file, label)
    base, sleeve = (next(p for p in pieces if p.pattern.family == name) for name in ("lead slate", "sleeve"))
    ends = [(n.get("data-piece"), line) for n, (line,) in page.lines("section-lead")]
    p = math.radians(survey.pitch_deg)
    tubes = [line for name, line in ends if name == sleeve.id]
    assert tubes[0][1][1] == pytest.approx(tubes[1][1][1], abs=NEAR_MM)
    heights = sorted(math.dist(a, b) for a, b in tubes)
    flat = [y for _, y in sleeve.pattern.outline]
    assert heights[1] == pytest.approx(max(flat) - min(flat), abs=0.5)
    assert heights[0] == pytest.approx(survey.sleeve_mm, abs=NEAR_MM)
    points = [at for name, line in ends if name == base.id for at in line]
    assert all(y == pytest.approx(x * math.tan(p), abs=NEAR_MM) for x, y in points)
    reach = math.dist(min(points), max(points))
    assert reach == pytest.approx(max(y for _, y in base.pattern.outline), abs=NEAR_MM)


def test_back_gutters_and_saddles_show_what_holds_them():
    """Clips of a single length stand on its picture one by one; on a saddle those of the part that lies on the roof."""
    for name, label in (("twin-stack", "G2"), ("old-gable", "R1")):
        planned = pipeline.plan([JOBS / f"{name}.toml"], settings=pipeline.Settings(choose_lengths=False))
        (shown,) = [e for e in elevations(planned.jobs[0], planned.pieces) if e.title.startswith(f"{label}: the")]
        own = [p for p in planned.pieces if p.detail == label]
        clips = sum(fixing.kind is FixingKind.CLIP for piece in own for fixing in piece.fixings)
        assert clips > 0
        over = {"G2": ["C2"], "R1": []}[label]
        hung = sum(f.kind is FixingKind.CLIP for p in planned.pieces if p.detail in over for f in p.fixings)
        assert shown.picture.count("fixing clip") == clips + hung
        assert any("clip" in note for note in shown.notes)
