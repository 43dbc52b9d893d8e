"""Specimen batches: toothed strips laid one after another, every other one turned, on rolls of several codes."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import pytest
import shapely
from hypothesis import strategies as st

from cutpath.errors import Finding, Severity
from cutpath.plane import mirrored, moved, turned
from cutpath.profiles import practice as published
from cutpath.values.batch import Batch, MaterialNest, Sheet
from cutpath.values.nest import Blank, Nest, NestedRoll, NestProblem, Objective, Offcut, OffcutRule, Placement, Roll
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
    PartKind,
    Snip,
    Station,
    StationUse,
)
from cutpath.values.piece import Piece
from cutpath.values.survey import Hand, Job, Lead

LEADS = {
    3: Lead(3, 1.32, 14.97, "green"),
    4: Lead(4, 1.80, 20.41, "blue"),
    5: Lead(5, 2.24, 25.40, "red"),
}
JOBS = tuple(
    Job(name, mark, f"{mark.lower()}.toml", notes, "moderate", ())
    for name, mark, notes in (
        ("Mill cottage", "M", "Scaffold until Friday."),
        ('Barn <b>&"byre"</b>', "B", ""),
        ("Idle", "I", ""),
    )
)


def strip(length_mm, width_mm, teeth=3, hole=False):
    """A strip with saw teeth above its water line at 60 % of its width; folds, snips and stations on each tooth."""
    water, run = 0.6 * width_mm, length_mm / teeth
    tops = [((i + 0.5) * run, width_mm) for i in range(teeth)]
    valleys = [(i * run, water) for i in range(teeth + 1)]
    upper = [valleys[-1]]
    for i in reversed(range(teeth)):
        upper += [tops[i], valleys[i]]
    outline = ((0.0, 0.0), (length_mm, 0.0), *upper)
    names = ("roof edge", "upper end", *(f"side {i}" for i in range(len(outline) - 2)))
    edges = tuple(Edge(name, EdgeUse.OWN) for name in names)
    mid = length_mm / 2
    holes = (((mid, 5.0), (mid, 15.0), (mid + 10, 15.0), (mid + 10, 5.0)),) if hole else ()
    return FlatPattern(
        family="step flashing",
        part=PartKind.LENGTH,
        outline=outline,
        edges=edges,
        holes=holes,
        snips=tuple(Snip(f"snip {i}", (v, (v[0], v[1] - 5.0))) for i, v in enumerate(valleys[1:-1], 1)),
        folds=tuple(
            Fold(
                f"turn-in {i}",
                FoldUse.STEP_TURN_IN,
                valleys[i],
                valleys[i + 1],
                90.0,
                FoldWay.BACK if i else FoldWay.FORWARD,
                joint=i,
            )
            for i in range(teeth)
        ),
        marks=(Mark("water line", MarkKind.WATER_LINE, (valleys[0], valleys[-1])),),
        stations=tuple(
            Station(f"riser {i} foot", StationUse.RISER_FOOT, v, number=i) for i, v in enumerate(valleys[:-1], 1)
        ),
        label=LabelBox((5.0, 5.0), 0.0, length_mm - 10.0, water - 10.0),
        length_mm=length_mm,
        run_offset=(0.0, 0.0),
        mirrored=False,
        course=Course.UP,
    )


@dataclass(frozen=True)
class Laid:
    """What one kind of piece on a roll is made from: job number, sizes, copies, and a gap before each copy."""

    job: int = 0
    length_mm: float = 600.0
    share_of_width: float = 0.5
    copies: int = 1
    gap_mm: float = 0.0
    hole: bool = False


@dataclass(frozen=True)
class Spec:
    """One roll: its code and sizes, what lies on it, and whether the strip above it is kept or the roll was owned."""

    code: int = 4
    width_mm: float = 300.0
    laid: tuple[Laid, ...] = (Laid(),)
    keep: bool = False
    owned: bool = False
    spare_mm: float = 500.0


def make_batch(specs, *, practice=True, findings=()):
    """Build a batch whose nests state figures taken from shapes by a separate library."""
    pieces, problems, rolls = [], {}, {}
    for n, spec in enumerate(specs):
        lead, x, placements = LEADS[spec.code], 0.0, []
        tallest = max(kind.share_of_width for kind in spec.laid) * spec.width_mm
        for k, kind in enumerate(spec.laid):
            job = JOBS[kind.job]
            width = kind.share_of_width * spec.width_mm
            pattern = strip(kind.length_mm, width, hole=kind.hole)
            piece = Piece(
                f"{job.mark}-S{n}-R{k}", job.name, f"S{n}", k + 1, len(spec.laid), Hand.RIGHT, kind.copies, lead,
                pattern, f"{job.file}: detail[{n}]", False,
            )  # fmt: skip
            pieces.append(piece)
            problems.setdefault(spec.code, []).append(Blank(piece.id, piece.quantity, pattern.outline, pattern.holes))
            for copy in range(1, kind.copies + 1):
                x += kind.gap_mm
                place = (x, 0.0, 0.0) if copy % 2 else (x + kind.length_mm, width, 180.0)
                placements.append(Placement(piece.id, copy, place[2], False, place[0], place[1]))
                x += kind.length_mm
        kept = (Offcut(0.0, tallest, x, spec.width_mm - tallest),) if spec.keep else ()
        roll = Roll(spec.width_mm, x + spec.spare_mm, offcut=spec.owned, name="stock 7" if spec.owned else "")
        rolls.setdefault(spec.code, []).append(NestedRoll(roll, x, tuple(placements), kept))
    materials = []
    for code in sorted(problems):
        blanks = tuple(problems[code])
        problem = NestProblem(blanks, tuple({r.roll: None for r in rolls[code]}), 0.0, 0.0, OffcutRule(50.0, 10.0))
        nest = stated(blanks, rolls[code])
        usual = replace(nest, drawn_mm2=nest.drawn_mm2 * 1.2, rolls=()) if practice else None
        materials.append(MaterialNest(LEADS[code], problem, nest, usual))
    sheets = tuple(
        Sheet(f"code{m.lead.code}-{i:02d}", m.lead, r, m.problem.offcuts)
        for m in materials
        for i, r in enumerate(m.nest.rolls, 1)
    )
    return Batch(JOBS, tuple(pieces), tuple(materials), sheets, tuple(findings), 1, "0.1.0", practice=published())


def least_bought(price=None, usual_price=None, usual_mm=1200.0):
    """A roll of 300 x 1700 mm for least bought, where common practice draws less and buys two of ``usual_mm``."""
    batch = make_batch([Spec(4, 300.0, (Laid(0, 600.0, 0.5, 2),))])
    (material,) = batch.materials
    (nested,) = material.nest.rolls
    nested = replace(nested, roll=replace(nested.roll, price=price))
    usual = replace(nested, roll=Roll(300.0, usual_mm, price=usual_price), drawn_mm=540.0)
    problem = replace(material.problem, objective=Objective.BOUGHT, rolls=(nested.roll, usual.roll))
    practice = replace(material.nest, drawn_mm2=2 * 540.0 * 300.0, rolls=(usual, usual))
    material = replace(
        material, problem=problem, nest=replace(material.nest, rolls=(nested,)), common_practice=practice
    )
    return replace(batch, materials=(material,), sheets=(replace(batch.sheets[0], nested=nested),))


def stated(blanks, rolls):
    by_id = {b.id: shapely.Polygon(b.outline, b.holes).area for b in blanks}
    area = math.fsum(by_id[p.id] for r in rolls for p in r.placements)
    drawn = math.fsum(r.roll.width_mm * r.drawn_mm for r in rolls)
    kept = math.fsum(o.length_mm * o.width_mm for r in rolls for o in r.offcuts)
    return Nest(tuple(rolls), area, drawn, kept, area, False)


def scrap_shape(sheet, problem):
    """What is left of the drawn part of a roll when pieces and kept offcuts are taken away, by polygon clipping."""
    blanks = {b.id: b for b in problem.blanks}
    taken = []
    for p in sheet.nested.placements:
        rings = [blanks[p.id].outline, *blanks[p.id].holes]
        rings = [mirrored(r) if p.flipped else r for r in rings]
        shell, *holes = [moved(turned(r, p.turn_deg), p.x_mm, p.y_mm) for r in rings]
        taken.append(shapely.Polygon(shell, holes))
    taken += [shapely.box(o.x_mm, o.y_mm, o.x_mm + o.length_mm, o.y_mm + o.width_mm) for o in sheet.nested.offcuts]
    return shapely.box(0, 0, sheet.nested.drawn_mm, sheet.nested.roll.width_mm).difference(shapely.union_all(taken))


def specs():
    laid = st.builds(
        Laid,
        job=st.integers(0, 1),
        length_mm=st.floats(150.0, 1500.0),
        share_of_width=st.floats(0.2, 0.9),
        copies=st.integers(1, 4),
        gap_mm=st.floats(0.0, 20.0),
        hole=st.booleans(),
    )
    return st.lists(
        st.builds(
            Spec,
            code=st.sampled_from((3, 4, 5)),
            width_mm=st.floats(150.0, 600.0),
            laid=st.lists(laid, min_size=1, max_size=4).map(tuple),
            keep=st.booleans(),
            owned=st.booleans(),
            spare_mm=st.floats(0.0, 3000.0),
        ),
        min_size=1,
        max_size=5,
    )


@pytest.fixture(scope="session")
def two_codes():
    """Two jobs on three rolls of two codes, one roll with a kept offcut, one owned already; one warning."""
    return make_batch(
        (
            Spec(3, 180.0, (Laid(0, 190.0, 0.9, 11), Laid(1, 265.0, 0.9, 4))),
            Spec(4, 300.0, (Laid(0, 1100.0, 0.5, 4, hole=True), Laid(1, 980.0, 0.5, 2)), keep=True),
            Spec(4, 240.0, (Laid(1, 1010.5, 0.8, 2, 7.25),), owned=True),
        ),
        findings=[
            Finding(
                "CP406",
                "b.toml: detail[1].coursing",
                "the fold on bed joint <7> is 17 mm long",
                "at least 20 mm",
                "dress it with care",
                Severity.WARNING,
            )
        ],
    )
