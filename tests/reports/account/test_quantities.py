"""Wedges, clips, joint, soakers and lead of a job, counted again by hand or by a separate way."""

from __future__ import annotations

import csv
import io
import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import strategies as st

from cutpath.jobs import read_jobs
from cutpath.pieces import pieces_of
from cutpath.plane import bounds_mm
from cutpath.profiles import practice
from cutpath.profiles.rolls import rolls_list
from cutpath.reports.account.lifting import heavy
from cutpath.reports.account.quantities import joint_mm, quantities, quantities_csv, quantities_html
from cutpath.trade import fixings
from cutpath.trade.fixings import with_fixings
from cutpath.values.batch import Batch
from cutpath.values.leadwork import Apron, CornerKind, CornerWork, CoverFlashing, PipeSlate, Soakers
from cutpath.values.pattern import EdgeUse, PartKind
from cutpath.values.survey import Hand, Job
from tests.families.specimens import courses, head, steps
from tests.properties.surveys import for_all, step_flashings
from tests.properties.surveys import pieces_of as random_pieces
from tests.reports.conftest import Laid, Spec, make_batch

JOB_OF_STACKS = Path(__file__).resolve().parents[3] / "fixtures" / "jobs" / "twin-stack.toml"
HEAD = head(label="C1", lap_mm=100.0)
PAIR = head(Hand.RIGHT, Hand.LEFT, quantity=2, longest_mm=1200.0)
COVER = CoverFlashing(HEAD, 4200.0, 0.0, 100.0, 25.0)
STEPS = steps(
    head=PAIR,
    pitch_deg=45.0,
    slope_mm=2000.0,
    joints=courses(29, 75.0, 50.0),
    least_fold_mm=20.0,
    stock_widths_mm=(150.0,),
)


def batch_of(*details):
    jobs = (Job("J", "J", "j.toml", "", "moderate", details),)
    pieces, _ = pieces_of(jobs)
    assert pieces
    return Batch(
        jobs=jobs,
        pieces=with_fixings(pieces, practice()),
        materials=(),
        sheets=(),
        findings=(),
        seed=1,
        version="0",
        practice=practice(),
    )


def items(batch):
    return {(row["item"], row["hand"]): row for row in quantities(batch)}


def test_a_cover_flashing_of_4_2_m_by_hand():
    """Three lengths of 1467 with laps of 100: chase 4.2 m; 5 wedges and 4 clips a length."""
    rows = items(batch_of(COVER))
    assert rows["joint or chase to rake out and point", None]["quantity"] == pytest.approx(4.2)
    assert rows["lead wedges", None]["quantity"] == 3 * (math.ceil(1466.7 / 450) + 1)
    assert rows["lead wedges", None]["by"].startswith("at most 450 mm apart"), "it has no steps"
    assert items(batch_of(STEPS))["lead wedges", None]["by"].startswith("1 at every step")
    assert rows["clips for free edges", None]["quantity"] == 3 * (math.ceil(1466.7 / 500) + 1)
    area_m2 = (4.2 + 0.2) * 0.125
    lead = rows["lead code 4, blue", None]
    assert lead["quantity"] == pytest.approx(area_m2)
    assert lead["kg"] == pytest.approx(area_m2 * 20.41)
    assert rows["lead to coat with patination oil", None]["quantity"] == pytest.approx(area_m2)


def test_a_short_piece_has_two_wedges_at_least():
    own = head(label="A1", lap_mm=100.0)
    (piece,) = batch_of(CoverFlashing(own, 60.0, 0.0, 100.0, 25.0)).pieces
    assert len(fixings.wedges(piece.pattern, practice())) == 2


def test_a_piece_that_turns_into_nothing_has_no_wedges():
    own = head(Hand.RIGHT, label="K1", code=3, longest_mm=1000.0, lap_mm=0.0)
    batch = batch_of(Soakers(own, 5, 190.0, 75.0, 100.0, 25.0))
    assert [row["item"] for row in quantities(batch)] == ["lead code 3, green", "soakers 190 x 175 mm, code 3"]


@pytest.mark.parametrize(("corners", "wedges"), [(CornerWork.BOSSED, 5), (CornerWork.WELDED, 5)])
def test_an_apron_is_wedged_at_each_arris_whatever_its_corners(corners, wedges):
    """Faces of 890 and two sides: 2 spaces and 1 each, and one wedge more than spaces."""
    batch = batch_of(Apron(HEAD, 40.0, 890.0, 150.0, 150.0, 150.0, 25.0, corners))
    assert len(fixings.wedges(batch.pieces[0].pattern, practice())) == wedges


def test_one_wedge_to_every_step():
    batch = batch_of(STEPS)
    steps = sum(p.quantity * sum(f.name.startswith("turn-in") for f in p.pattern.folds) for p in batch.pieces)
    row = items(batch)["lead wedges", None]
    assert row["quantity"] == steps
    assert "NHBC Standards 7.2.20" in row["by"]
    assert "work section H71" in row["by"]


def test_laps_of_steps_turn_into_one_joint_and_are_counted_once():
    """Plumb ends, level joints at 45 deg: the folds together are as long as the wall, for each set and hand."""
    batch = batch_of(STEPS)
    assert len(batch.pieces) > 2
    first = STEPS.water_line_mm * math.sin(math.radians(45))  # the lower end leaves the water line nowhere else
    level = 2000 * math.cos(math.radians(45))
    folds = joint_mm(batch.pieces) / 4
    assert folds == pytest.approx(level, abs=2 * first)
    one_hand = [p for p in batch.pieces if p.hand is Hand.RIGHT]
    assert sum(fixings.run_mm([(p.pattern, bounds_mm(p.pattern.outline)[2])]) for p in one_hand) > folds + 100


@for_all(step_flashings(corners=(CornerKind.NONE, CornerKind.SEPARATE)))
def test_joint_length_is_that_of_the_folds_laid_over_each_other(detail):
    pieces = [p for p in random_pieces(detail) if p.hand is Hand.RIGHT]
    if not pieces:
        return
    lines = [
        shapely.LineString([(x + p.pattern.run_offset[0], y + p.pattern.run_offset[1]) for x, y in (f.start, f.end)])
        for p in pieces
        for f in fixings.turn_ins(p.pattern)
    ]
    thick = shapely.union_all([line.buffer(0.01, cap_style="flat") for line in lines])
    assert joint_mm(pieces) == pytest.approx(pieces[0].quantity * thick.area / 0.02, rel=1e-4, abs=0.1)


@for_all(
    st.sampled_from([CornerKind.NONE, CornerKind.INTEGRAL, CornerKind.SEPARATE]).flatmap(
        lambda kind: step_flashings(corners=(kind,))
    )
)
def test_both_hands_need_as_much_joint(detail):
    by_hand = {hand: [p for p in random_pieces(detail) if p.hand is hand] for hand in Hand}
    if all(by_hand.values()):
        right, left = (joint_mm(own) for own in by_hand.values())
        assert right == pytest.approx(left, abs=1e-3)


def of_job(file, item):
    """One item of a fixture's job."""
    jobs, _ = read_jobs([JOB_OF_STACKS.with_stem(file)], rolls_list(None), practice())
    pieces, _ = pieces_of(jobs)
    batch = Batch(jobs, with_fixings(pieces, practice()), (), (), (), 1, "0", practice=practice())
    return next(row for row in quantities(batch) if row["item"] == item)


def test_open_edges_of_gutters_and_saddles_are_clipped():
    """Valleys 450 wide: 2 clips at each of 2 lengths, 2 sets; gutter 100 + 40 on the roof: 2 to a length; saddle 450 x
    300 on the roof: 2 at its lower edge and 2 up each side; the flashing's covers of 1262.5: 4 to each of 4 lengths."""
    by = of_job("garden-room", "clips for free edges")["by"]
    assert "valley gutter 8;" in by
    assert "secret gutter 4," in by
    assert "ridge saddle 6," in by
    assert "top-edge abutment 16," in by
    assert "no source" in by


def test_a_back_gutters_wings_are_clipped_but_not_its_roll():
    """Sole and roof reach 375 at each end: 2 clips; of two halves each has one end; covers: 4 to 3 lengths of 860+."""
    row = of_job("twin-stack", "clips for free edges")
    assert "back gutter 8," in row["by"]
    assert row["quantity"] == 8 + 3 * 3


def test_core_fillet_and_seams_are_measured_once():
    """Core as long as the sheet is wide; fillets 1720 and 860 along the gutters, less the cloaks over the roll."""
    assert of_job("twin-stack", "core for wood-cored rolls")["quantity"] == pytest.approx(0.475)
    assert of_job("twin-stack", "tilting fillet")["quantity"] == pytest.approx(1.720 + 0.860)
    assert of_job("low-roofs", "tilting fillet")["quantity"] == pytest.approx(2 * 2 * 3.1)
    jobs, _ = read_jobs([JOB_OF_STACKS], rolls_list(None), practice())
    pieces, _ = pieces_of(jobs)
    rings = [(p.quantity, p.pattern) for p in pieces if p.pattern.family == "gusset"]
    edges = [
        n * math.dist(g.outline[i], g.outline[(i + 1) % len(g.outline)])
        for n, g in rings
        for i, edge in enumerate(g.edges)
        if edge.use is EdgeUse.WELD
    ]
    assert len(edges) == 8
    assert of_job("twin-stack", "seams to leadweld")["quantity"] == pytest.approx(sum(edges) / 1000)


def test_a_sleeve_is_welded_round_its_foot_and_down_its_seam():
    """110 + 3 each side on 22.5 deg: an ellipse about 365 + 25 of seam lap, and the seam's own height at its end."""
    welded = of_job("garden-room", "seams to leadweld")["quantity"]
    r, p = 58.0, math.radians(22.5)
    around = [
        (r * math.cos(a), r * math.sin(a), r * math.cos(a) * math.tan(p)) for a in np.linspace(0, 2 * np.pi, 2000)
    ]
    ellipse = sum(math.dist(a, b) for a, b in pairwise(around))
    jobs, _ = read_jobs([JOB_OF_STACKS.with_stem("garden-room")], rolls_list(None), practice())
    survey = next(d for d in jobs[0].details if isinstance(d, PipeSlate))
    pieces, _ = pieces_of(jobs)
    others = sum(p.quantity * fixings.weld_mm(p.pattern) for p in pieces if p.pattern.part is not PartKind.SLEEVE)
    least, most = (ellipse + survey.sleeve_mm + k * survey.seam_mm for k in (0.9, 1.3))
    assert least < welded * 1000 - others < most


def test_soakers_are_counted_by_hand():
    own = head(Hand.RIGHT, Hand.LEFT, label="K1", code=3, quantity=2, longest_mm=1000.0, lap_mm=0.0)
    other = head(Hand.LEFT, label="K2", code=3, longest_mm=1000.0, lap_mm=0.0)
    rows = items(batch_of(Soakers(own, 12, 190.0, 75.0, 100.0, 25.0), Soakers(other, 5, 190.0, 75.0, 100.0, 25.0)))
    right, left = (rows["soakers 190 x 175 mm, code 3", hand] for hand in ("right", "left"))
    assert (right["quantity"], left["quantity"]) == (24, 29)
    assert left["kg"] == pytest.approx(29 * (0.19 * 0.175) * 14.97)


def test_lead_is_that_of_the_cutting_list(two_codes):
    rows = quantities(two_codes)
    for job in two_codes.jobs:
        stated = sum(r["kg"] for r in rows if r["job"] == job.name and r["item"].startswith("lead code"))
        by_shape = sum(
            p.quantity * shapely.Polygon(p.pattern.outline, p.pattern.holes).area * p.lead.mass_kg_m2 / 1e6
            for p in two_codes.pieces
            if p.job == job.name
        )
        assert stated == pytest.approx(by_shape)


def test_csv_and_table_say_the_same(two_codes):
    rows = quantities(two_codes)
    back = list(csv.DictReader(io.StringIO(quantities_csv(rows))))
    assert [(r["job"], r["item"]) for r in back] == [(r["job"], r["item"]) for r in rows]
    html = quantities_html(rows)
    for row, text in zip(rows, back, strict=True):
        assert float(text["quantity"]) == pytest.approx(row["quantity"], abs=0.0051)
        assert text["quantity"] in html


def test_heavy_rolls_and_packs_are_told_in_one_sentence():
    """300 mm x 6 m of code 4 weighs 36.7 kg (derived)."""
    specs = [Spec(4, 300.0, (Laid(0, 1500.0, 0.9, 3),), spare_mm=6000.0 - 4500.0)] * 2
    (note,) = heavy(make_batch(specs))
    assert note.code == "CP322"
    assert "rolls over 25 kg: 2 of lead code 4, 300 x 6000 mm at 36.7 kg" in note.found
    assert "INDG143" in note.accepted
    assert "unverified" in note.accepted
    # 6 strips of 1500 x 270 with saw teeth from 162 up: 216 on average, so 6.61 kg each and 39.7 kg in all
    assert "packs over 16 kg: 2 of lead code 4 for Mill cottage, the heaviest at 19.8 kg" in note.found
    assert "packs over 25 kg" not in note.found
    assert note.remedy.endswith("Tie packs of 25 kg or less: 2 of code 4 for Mill cottage.")


def test_of_many_heavy_loads_the_heaviest_are_named_and_the_rest_counted():
    specs = [Spec(4, float(width), (Laid(0, 1500.0, 0.9),), spare_mm=4500.0) for width in (300, 330, 360, 390, 420)]
    (note,) = heavy(make_batch(specs))
    rolls = note.found.partition("; ")[0]
    assert rolls.startswith("rolls over 25 kg: 1 of lead code 4, 420 x 6000 mm")
    assert rolls.endswith(" and 2 more")
    assert "300 x 6000" not in rolls


def test_heavy_rolls_that_are_not_named_are_counted_each_not_by_their_kind():
    widths = (300,) * 3 + (330,) * 2 + (360, 390, 420)
    light = [Spec(3, 180.0, (Laid(0, 1500.0, 0.9),), spare_mm=4500.0)] * 4  # 6 m: 16.2 kg each
    (note,) = heavy(make_batch([Spec(4, float(w), (Laid(0, 1500.0, 0.9),), spare_mm=4500.0) for w in widths] + light))
    rolls = note.found.partition("; packs")[0]
    assert rolls.endswith(" and 5 more; over 16 kg: 4 more")


def test_between_the_two_filters_help_is_advised_and_below_them_nothing_is_said():
    light = Spec(4, 300.0, (Laid(0, 500.0, 0.5),), spare_mm=1500.0)  # 2 m: 12.2 kg
    assert heavy(make_batch([light])) == ()
    middle = Spec(4, 300.0, (Laid(0, 500.0, 0.5),), spare_mm=2500.0)  # 3 m: 18.4 kg
    (note,) = heavy(make_batch([middle]))
    assert note.found == "rolls over 16 kg: 1 of lead code 4, 300 x 3000 mm at 18.4 kg"
    assert "Lift with help" in note.remedy
