"""The judge finds every fault that is put into a sound nest."""

from dataclasses import replace

import pytest

from cutpath.nesting import judge, one_after_another
from cutpath.values.nest import NestedRoll, Offcut, Placement, Roll
from tests.nesting.shapes import plate, problem, stepped

TASK = problem(plate("A", 900.0, 150.0, 3), stepped("S", 6, quantity=2), gap=4.0, trim=2.0)
SOUND = one_after_another(TASK, known_mm2=1.0)  # made while tests are listed: without the search for a bound


def changed(index: int, **parts: object):
    rolls = list(SOUND.rolls)
    rolls[index] = replace(rolls[index], **parts)
    return replace(SOUND, rolls=tuple(rolls))


def moved(by: float, along: bool = True, index: int = -1):
    """A piece of the first roll, the last one, elsewhere."""
    others = list(SOUND.rolls[0].placements)
    p = others.pop(index)
    there = replace(p, x_mm=p.x_mm + by) if along else replace(p, y_mm=p.y_mm + by)
    return changed(0, placements=(*others, there))


def found(nest) -> str:
    return "\n".join(f"{f.where} {f.found}, {f.accepted}" for f in judge(TASK, nest))


def test_a_sound_nest_has_no_fault():
    assert judge(TASK, SOUND) == ()


@pytest.mark.parametrize(
    ("nest", "words"),
    [
        (moved(-0.01, index=1), "comes too near"),
        (moved(-900.0), "comes too near"),
        (moved(0.01), "must keep 2 mm inside"),
        (moved(-0.01, along=False), "must keep 2 mm inside"),
        (moved(400.0, along=False), "must keep 2 mm inside"),
        (changed(0, placements=SOUND.rolls[0].placements[1:]), "is on no roll"),
        (changed(0, placements=(*SOUND.rolls[0].placements, SOUND.rolls[0].placements[0])), "is on the rolls 2 times"),
        (
            changed(0, placements=(*SOUND.rolls[0].placements, Placement("B", 1, 0.0, flipped=False, x_mm=0, y_mm=0))),
            "was never asked for",
        ),
        (changed(0, placements=tuple(replace(p, turn_deg=90.0) for p in SOUND.rolls[0].placements)), "turned by 90"),
        (changed(0, placements=tuple(replace(p, flipped=True) for p in SOUND.rolls[0].placements)), "face down"),
        (changed(0, drawn_mm=7000.0), "it is 6000 mm long"),
        (changed(0, roll=Roll(10000.0, 9000.0)), "there are 0"),
        (replace(SOUND, drawn_mm2=SOUND.drawn_mm2 - 1.0), "lead drawn come to"),
        (replace(SOUND, pieces_mm2=SOUND.pieces_mm2 + 1.0), "pieces come to"),
        (replace(SOUND, bound_mm2=SOUND.drawn_mm2 + 1.0), "was enough"),
        (changed(0, offcuts=(Offcut(0.0, 0.0, 400.0, 150.0),)), "that a piece is cut from"),
        (changed(0, offcuts=(Offcut(0.0, 170.0, 400.0, 5.0),)), "the least kept"),
        (changed(0, offcuts=(Offcut(-1.0, 0.0, 400.0, 150.0),)), "inside what was drawn"),
        (changed(0, offcuts=(Offcut(0, 0, 400.0, 150.0), Offcut(10.0, 0, 400.0, 150.0))), "lie on one another"),
    ],
)
def test_each_fault_is_found(nest, words):
    assert words in found(nest)


def test_touching_is_allowed_without_a_gap_and_a_hair_of_overlap_is_not():
    task = problem(plate("A", 900.0, 150.0, 2))
    nest = one_after_another(task)
    first = nest.rolls[0]
    assert judge(task, nest) == ()
    for depth, faults in ((0.00005, 0), (0.001, 1)):
        near = replace(first.placements[1], x_mm=first.placements[1].x_mm - depth)
        rolls = (NestedRoll(first.roll, first.drawn_mm, (first.placements[0], near), ()),)
        assert len(judge(task, replace(nest, rolls=rolls))) == faults


def test_counted_rolls_are_counted():
    roll = Roll(150.0, 1000.0, quantity=1)
    task = problem(plate("A", 900.0, 150.0, 2), rolls=(replace(roll, quantity=2),))
    nest = one_after_another(task)
    short = replace(task, rolls=(roll,))
    nest = replace(nest, rolls=tuple(replace(r, roll=roll) for r in nest.rolls))
    assert [f.accepted for f in judge(short, nest)] == ["the judge says: there are 1"]
