"""The parts of a chimney meet on their stack; parts made or measured to miss each other are caught."""

from __future__ import annotations

import math
import tempfile
import tomllib
from dataclasses import replace
from functools import cache
from itertools import combinations, cycle, product
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume
from hypothesis import strategies as st

from cutpath import folding
from cutpath.errors import Severity, faults
from cutpath.families.registry import develop
from cutpath.folding import prove
from cutpath.folding.space import carried
from cutpath.folding.stack import prove_together
from cutpath.jobs import read_jobs
from cutpath.pieces import pieces_of, split
from cutpath.tolerances import FOLD_DEVIATION_MM
from cutpath.values.leadwork import Apron, BackGutter, CornerKind, CoverFlashing, EndCut, Soakers, StepFlashing
from cutpath.values.pattern import PartKind
from cutpath.values.survey import Hand
from tests.gate import gate
from tests.properties.surveys import for_all

TEXT = """
name = "J"
pitch = {pitch}
covering = "{covering}"

[[detail]]
kind = "chimney"
width = {width}
depth = {depth}
coursing = {{ gauge = {gauge}, first_joint = {first} }}
corners = "{corners}"
{more}
"""


@cache
def job_of(pitch=30.0, covering="plain tile 265", width=900, depth=700, gauge=75, first=30, corners="welded", more=""):
    text = TEXT.format(
        pitch=pitch, covering=covering, width=width, depth=depth, gauge=gauge, first=first, corners=corners, more=more
    )
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "c.toml"
        path.write_text(text, encoding="utf-8")
        (job,), findings = read_jobs([path])
    assert not faults(findings)
    return job


def made(job):
    pieces, findings = pieces_of([job])
    assert not faults(findings)
    return list(pieces)


def of_kind(job, kind):
    return next(detail for detail in job.details if isinstance(detail, kind))


def with_detail(job, kind, **changes):
    """The job with one detail measured otherwise, as though it were for another stack."""
    return replace(job, details=tuple(replace(d, **changes) if isinstance(d, kind) else d for d in job.details))


def patterns_of(job, detail):
    run, _ = develop(detail)
    pieces, _ = split(job, detail, run)
    return {piece.id: piece.pattern for piece in pieces}


def remade(job, kind, **changes):
    """The pieces of a job, those of one detail with the patterns of a detail that is otherwise."""
    wrong = patterns_of(job, replace(of_kind(job, kind), **changes))
    return [replace(p, pattern=wrong.get(p.id, p.pattern)) for p in made(job)]


def at_the_stack(job, pieces):
    """Faults that the meeting of the parts has shown, beside those of single pieces."""
    _, findings = prove(job, pieces)
    return [f for f in faults(findings) if "(piece" not in f.where]


def keys_of(found):
    """The keys of the stack that findings name."""
    return {f.where.rpartition("detail[1].")[2] for f in found}


@st.composite
def chimneys(draw):
    side = st.sampled_from(
        [
            "",
            'step_and_cover = { covering = "interlocking tile" }',
            'step_flashing = { return = { kind = "integral", length = 130 } }',
        ]
    )
    return job_of(
        pitch=draw(st.integers(200, 600)) / 10,
        covering=draw(st.sampled_from(["plain tile 265", "slate 500"])),
        width=draw(st.integers(450, 2000)),
        depth=draw(st.integers(300, 1800)),
        gauge=draw(st.integers(60, 110)),
        first=draw(st.integers(20, 120)),
        corners=draw(st.sampled_from(["bossed", "welded"])),
        more=draw(side),
    )


@for_all(chimneys())
def test_the_parts_of_any_chimney_meet(job):
    pieces = made(job)
    proofs, findings = prove(job, pieces)
    assert [str(f) for f in findings] == []
    (whole,) = proofs[len(pieces) :]
    assert whole.worst
    assert whole.deviation_mm <= FOLD_DEVIATION_MM
    shown = {face.name for face in whole.faces}
    gussets = {p.id for p in pieces if p.pattern.family == "gusset" and p.detail == of_kind(job, Apron).head.label}
    assert shown == {p.id for p in pieces} - gussets
    gutter, bossed = of_kind(job, BackGutter), of_kind(job, Apron).corners.value == "bossed"
    sides = [f"worked lead down the sides from piece {p.id}" for p in pieces if p.detail == gutter.head.label]
    assert whole.unproved == (tuple(sides) if bossed else ())


def test_corners_nearer_than_arithmetic_tells_are_one():
    """Here the side flashing's faces meet in corners 1e-13 mm apart, of which there is no mitre: GEOS used to warn."""
    side = 'step_and_cover = { covering = "interlocking tile" }'
    job = job_of(pitch=20.4, width=450, depth=300, gauge=100, first=91, more=side)
    assert at_the_stack(job, made(job)) == []


@pytest.mark.parametrize("depth", [600, 700, 800])
@pytest.mark.parametrize("fall", [-14, 14])
def test_courses_out_of_level_are_no_misfit(depth, fall):
    """By 14 in 1500 mm: an apron's side is cut level, and a turn-in's end leans as its joint does."""
    heights = [60 + 75 * n for n in range(20)]
    again = [height + fall for height in heights]
    level = "coursing = { gauge = 75, first_joint = 30 }"
    text = TEXT.format(
        pitch=40, covering="plain tile 265", width=900, depth=depth, gauge=75, first=30, corners="welded", more=""
    ).replace(level, f"coursing = {{ joints = {heights}, second_reading = {{ at = 1500, joints = {again} }} }}")
    (job,), _ = read_jobs([{"name": "J", **tomllib.loads(text)}])
    assert any(joint.slope for joint in of_kind(job, StepFlashing).joints)
    assert [f.found for f in at_the_stack(job, made(job))] == []


MISFITS = {
    "apron wider": (Apron, lambda d: {"width_mm": d.width_mm + 2.0}),
    "apron for another pitch": (Apron, lambda d: {"pitch_deg": d.pitch_deg - 1.0}),
    "gutter narrower": (BackGutter, lambda d: {"width_mm": d.width_mm - 2.0}),
    "gutter for another pitch": (BackGutter, lambda d: {"pitch_deg": d.pitch_deg + 1.0}),
    "gutter with a lower upstand": (BackGutter, lambda d: {"upstand_mm": d.upstand_mm - 2.0}),
    "cover longer": (CoverFlashing, lambda d: {"length_mm": d.length_mm + 2.0}),
    "cover hanging less": (CoverFlashing, lambda d: {"cover_mm": d.cover_mm - 2.0}),
    "cover with short returns": (CoverFlashing, lambda d: {"return_mm": d.return_mm - 2.0}),
    "returns too short": (StepFlashing, lambda d: {"corner": replace(d.corner, length_mm=98.0)}),
    "sides begun off the arris": (
        StepFlashing,
        lambda d: {"set_back_mm": 2.0, "corner": replace(d.corner, kind=CornerKind.NONE, length_mm=0.0)},
    ),
}


def misfitting(job, misfit):
    """The job with a part that misses the others by 2 mm or by a degree, and what its pieces are."""
    kind, change = MISFITS[misfit]
    wrong = with_detail(job, kind, **change(of_kind(job, kind)))
    return wrong, *pieces_of([wrong])


def missed(wrong, pieces):
    """See that parts are caught of which each fits its own survey; only together do they miss."""
    proofs, _ = prove(wrong, pieces)
    assert max(p.deviation_mm for p in proofs[: len(pieces)]) <= FOLD_DEVIATION_MM
    assert at_the_stack(wrong, pieces)


@pytest.mark.parametrize("misfit", MISFITS)
def test_parts_measured_to_miss_each_other_are_caught(misfit):
    wrong, pieces, findings = misfitting(job_of(), misfit)
    assert not faults(findings)
    missed(wrong, pieces)


@for_all(chimneys(), st.sampled_from(sorted(MISFITS)), gate=3)
def test_parts_of_any_chimney_that_miss_each_other_are_caught(job, misfit):
    wrong, pieces, findings = misfitting(job, misfit)
    assume(not faults(findings))
    missed(wrong, pieces)


@pytest.mark.parametrize(
    ("kind", "change", "told"),
    [
        (CoverFlashing, lambda _: {"return_mm": 705.0}, "the cover flashing's return goes past the right side"),
        (BackGutter, lambda _: {"side_mm": 705.0}, "the back gutter's side goes past the right side"),
        (
            StepFlashing,
            lambda d: {"corner": replace(d.corner, length_mm=905.0)},
            "a return of the side flashings goes past the front",
        ),
    ],
)
def test_parts_that_go_past_the_next_arris_are_caught(kind, change, told):
    job = job_of(width=900, depth=700)
    wrong = with_detail(job, kind, **change(of_kind(job, kind)))
    found = [f.found for f in at_the_stack(wrong, pieces_of([wrong])[0])]
    assert any(f"{told} of the stack: out by 5.000 mm" in words for words in found), found


@pytest.mark.parametrize("corners", ["bossed", "welded"])
def test_an_apron_side_short_by_10_mm(corners):
    job = job_of(first=60, corners=corners)  # its upstand of 135 would reach 234 mm back: the side ends it at 150
    assert not at_the_stack(job, made(job))
    found = at_the_stack(job, remade(job, Apron, side_mm=140.0))
    assert {f.code for f in found} == {"CP415"}
    assert len(found) == 2
    assert found[0].found == "the apron's right side lies 140.0 mm past the arris under the side flashing"
    assert found[0].accepted.startswith("150.0 mm")
    assert keys_of(found) == {"apron.side"}


@pytest.mark.parametrize(
    ("more", "key"),
    [
        ("step_flashing = { water_line = 80, soakers = { upstand = 110 } }", "step_flashing.soakers.upstand"),
        ("apron = { upstand = 200 }", "apron.upstand"),
        ("cover_flashing = { returns = 60 }", "cover_flashing.returns"),
        (
            "step_flashing = { upper_end = 'square', soakers = false }\nback_gutter = false\ncover_flashing = false",
            "step_flashing",
        ),
    ],
)
def test_what_lies_bare_is_told_by_the_key_of_the_part(more, key):
    job = job_of(more=more)
    assert {f.where.rpartition(": ")[2] for f in at_the_stack(job, made(job))} == {f"detail[1].{key}"}


def test_side_flashings_that_stop_short_of_the_back_arris():
    job = job_of(more="back_gutter = false\ncover_flashing = false")
    short = of_kind(job, StepFlashing).slope_mm - 30.0
    found = at_the_stack(job, remade(job, StepFlashing, slope_mm=short))
    assert {f.code for f in found} == {"CP415"}
    assert "of the right side of the stack lie bare below the water line" in found[0].found


def test_a_square_upper_end_leaves_wall_bare_where_no_gutter_covers_it():
    alone = job_of(more="back_gutter = false\ncover_flashing = false\nstep_flashing = { upper_end = 'square' }")
    assert of_kind(alone, StepFlashing).upper_end is EndCut.SQUARE
    assert {f.code for f in at_the_stack(alone, made(alone))} == {"CP415"}
    with_gutter = job_of(more="step_flashing = { upper_end = 'square' }")
    assert not at_the_stack(with_gutter, made(with_gutter))


def test_an_apron_for_another_width_of_stack():
    job = with_detail(job_of(), Apron, width_mm=910.0)
    (found,) = [f for f in at_the_stack(job, made(job)) if f.code == "CP413"]
    assert found.found == (
        "brought together, the apron's side stands off the right side of the stack: out by 10.000 mm (and 1 more)"
    )


def test_a_gutter_for_another_pitch():
    job = with_detail(job_of(), BackGutter, pitch_deg=31.0)
    assert "CP413" in {f.code for f in at_the_stack(job, made(job))}


def test_returns_that_turn_into_another_joint_than_the_apron():
    job = job_of(first=60)
    joints = of_kind(job, StepFlashing).joints
    assert job.chimneys[0].front == joints[1]
    higher = replace(job, chimneys=(replace(job.chimneys[0], front=joints[2]),))
    (found,) = [f for f in at_the_stack(higher, made(higher)) if f.code == "CP413"]
    assert "a turn-in of apron or returns lies off joint 3: out by 75.000 mm" in found.found


def test_an_upstand_of_the_users_own_is_warned_of():
    job = job_of(first=60, more="apron = { upstand = 120 }")
    _, findings = prove(job, made(job))
    (found,) = findings
    assert (found.code, found.severity) == ("CP412", Severity.WARNING)
    assert found.where.endswith("detail[1].apron.upstand")
    assert "joint 2 stands 135 mm up" in found.found


def test_an_apron_higher_than_its_flashings_shows_beyond_them():
    job = job_of(more="apron = { upstand = 250 }")
    assert "show beyond the side flashing" in at_the_stack(job, made(job))[0].found


def test_a_return_too_short_over_the_apron():
    job = job_of()
    corner = replace(of_kind(job, StepFlashing).corner, length_mm=90.0)
    found = at_the_stack(job, remade(job, StepFlashing, corner=corner))
    assert [f.found for f in found] == [
        f"the return of the {side} side flashing lies 90.0 mm over the apron" for side in ("right", "left")
    ]
    assert keys_of(found) == {"step_flashing.return.length"}


def test_side_flashings_without_a_return_need_none():
    job = job_of()
    corner = replace(of_kind(job, StepFlashing).corner, kind=CornerKind.NONE, length_mm=0.0)
    plain = with_detail(job, StepFlashing, corner=corner)
    assert not at_the_stack(plain, made(plain))


def test_a_cover_that_hangs_too_little_over_the_gutter():
    job = job_of()
    cover = of_kind(job, CoverFlashing)
    short = with_detail(job, CoverFlashing, cover_mm=cover.cover_mm - 5.0)
    found = at_the_stack(short, made(short))
    assert [f.code for f in found] == ["CP415"] * 3
    # It hangs by whole millimetres, rounded up: less than 1 mm more than it must.
    assert "900.0 x 4." in found[0].found
    assert "mm of the top of the back gutter's upstand behind the stack lie bare" in found[0].found


def test_returns_of_the_cover_shorter_than_the_gutters_sides():
    job = job_of(more="cover_flashing = { returns = 110 }")
    found = at_the_stack(job, made(job))
    assert [f.found.partition(" mm of")[0] for f in found] == ["40.0 x 75.0"] * 2
    longer = job_of(more="back_gutter = { side = 200 }")
    assert of_kind(longer, CoverFlashing).return_mm == 200
    assert not at_the_stack(longer, made(longer))


def test_a_gutter_that_passes_its_arris_too_little():
    job = with_detail(job_of(), BackGutter, side_mm=80.0)
    found = at_the_stack(job, made(job))
    assert [f.found for f in found] == [
        f"the back gutter's {side} side lies 80.0 mm over the side flashing" for side in ("right", "left")
    ]
    assert keys_of(found) == {"back_gutter.side"}


def test_soakers_that_stand_out_behind_their_flashing():
    job = with_detail(job_of(), Soakers, upstand_mm=130.0)
    assert "of the soakers' upstands on the right side show" in at_the_stack(job, made(job))[0].found


def test_a_stack_less_deep_than_its_flashings_brings_the_gutter_through_them():
    job = job_of()
    stack = replace(job.chimneys[0], depth_mm=job.chimneys[0].depth_mm - 400.0)
    found = at_the_stack(replace(job, chimneys=(stack,)), made(job))
    through = [f.found for f in found if f.code == "CP412"]
    assert any("passes through piece" in words and "-G1-" in words and "-S1-" in words for words in through)


def test_each_side_gets_its_own_hand():
    """With the left-hand lengths gone, the left side of the stack is bare and the right one is not."""
    job = job_of()
    right = [p for p in made(job) if p.detail != of_kind(job, StepFlashing).head.label or p.hand is Hand.RIGHT]
    words = [f.found for f in at_the_stack(job, right)]
    assert any("left side" in w for w in words)
    assert not any("right side" in w for w in words)


PARTS = ("apron", "step_flashing", "back_gutter", "cover_flashing")


LEFT_OUT = [c for n in (1, 2, 3) for c in combinations(PARTS, n)]


# In the gate each with one kind of corners, those kinds in turn.
@pytest.mark.parametrize(
    ("left_out", "corners"),
    gate(product(LEFT_OUT, ("bossed", "welded")), *zip(LEFT_OUT, cycle(("bossed", "welded")), strict=False)),
)
def test_parts_that_are_not_wanted_are_not_missed(left_out, corners):
    job = job_of(width=600, depth=450, corners=corners, more="\n".join(f"{part} = false" for part in left_out))
    _, findings = prove(job, made(job))
    assert [str(f) for f in findings] == []


MAY_SLIDE = {
    Soakers: "x",  # along the courses, in under the side flashing
    CoverFlashing: "y",  # it hangs by whole millimetres, up to one more than it must
}


@pytest.mark.parametrize("corners", ["bossed", "welded"])
def test_a_part_a_hundredth_out_of_its_place_on_the_stack_is_out_by_so_much(corners, monkeypatch):
    """Carried that far as a whole, along each axis of its own space: each fits its survey as before."""
    given = []
    monkeypatch.setattr(folding, "prove_together", lambda *asked: (given.append(asked), prove_together(*asked))[1])
    job = job_of(first=60, corners=corners)
    prove(job, made(job))
    ((name, chimney, parts),) = given
    for at, part in enumerate(parts):
        if part.piece.pattern.part is PartKind.GUSSET:
            continue  # held where it is welded in; beside an apron it is not compared
        for axis, by in enumerate((0.01, -0.01, 0.01)):
            move = np.eye(4)
            move[axis, 3] = by
            moved = replace(part, faces=[carried(face, move) for face in part.faces])
            proof, findings = prove_together(name, chimney, [*parts[:at], moved, *parts[at + 1 :]])
            slides = "xyz"[axis] == MAY_SLIDE.get(type(part.detail))
            assert bool(faults(findings)) != slides, (part.piece.id, "xyz"[axis])
            assert proof.deviation_mm < 0.0101


def test_parts_are_carried_to_their_stack_as_they_are():
    job = job_of()
    pieces = made(job)
    *single, whole = prove(job, pieces)[0]

    def edges(face):
        return np.round(np.linalg.norm(np.diff(np.array([*face.corners, face.corners[0]]), axis=0), axis=1), 6).tolist()

    for proof in single:
        own = {tuple(edges(face)) for face in proof.faces}
        there = {tuple(edges(face)) for face in whole.faces if face.name == proof.piece}
        assert there <= own
        assert there or "-A1-2" in proof.piece, "gussets beside the apron alone are not compared"


def test_a_cover_that_hangs_into_the_gutter_is_told_by_how_much():
    job = job_of()
    cover = of_kind(job, CoverFlashing)
    low = with_detail(job, CoverFlashing, cover_mm=cover.cover_mm + 80.0)
    found = [f for f in at_the_stack(low, made(low)) if "below the gutter's sole" in f.found]
    told = [f.found for f in found]
    hangs = cover.cover_mm + 80.0 - (job.chimneys[0].back.y_mm - _sole_mm(job))
    assert f"the cover flashing hangs {hangs:.1f} mm below the gutter's sole behind the stack" in told
    assert keys_of(found) == {"cover_flashing.cover"}
    without = with_detail(job, CoverFlashing, return_mm=0.0)
    bare = [f.found for f in at_the_stack(without, made(without))]
    assert any("of the top of the back gutter's upstand on the left side lie bare" in words for words in bare)
    assert not any("below the gutter's sole" in words for words in bare)


def _sole_mm(job):
    """Height of the gutter's sole above the front arris: that of the roof where the sole ends."""
    chimney, gutter = job.chimneys[0], of_kind(job, BackGutter)
    return (chimney.depth_mm + gutter.sole_mm) * math.tan(math.radians(chimney.pitch_deg))


@pytest.mark.parametrize("pitch", [30.0, 50.0])
def test_a_flashing_a_millimetre_too_low_leaves_the_wall_bare_to_the_water_line(pitch):
    """Its own water line lies lower than that of its survey, and no gutter covers its upper end."""
    job = job_of(pitch=pitch, more="back_gutter = false\ncover_flashing = false\nstep_flashing = { soakers = false }")
    steps = of_kind(job, StepFlashing)
    assert not at_the_stack(job, made(job))
    low = remade(job, StepFlashing, water_line_mm=steps.water_line_mm - 1.0)
    told = [f.found for f in at_the_stack(job, low) if f.code == "CP415"]
    assert [words.partition(" of ")[2] for words in told] == [
        f"the {side} side of the stack lie bare below the water line" for side in ("right", "left")
    ]


def test_stacks_are_counted():
    job = job_of()
    proofs, _ = prove(job, made(job))
    assert proofs[-1].piece == "J, chimney 1"
