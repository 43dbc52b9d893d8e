"""The judge finds every fault that is put into a sound nest."""

from dataclasses import replace

import pytest
from shapely import Polygon, affinity

from cutpath.nesting import judge, one_after_another
from cutpath.tolerances import AREA_MM2, CLOSE_RATIO
from cutpath.values.nest import (
    Blank,
    Nest,
    NestedRoll,
    NestProblem,
    Offcut,
    OffcutRule,
    Placement,
    Roll,
    RunChoice,
    RunLength,
)
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
            "nobody asked for it",
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
    for depth, faults in ((0.00009, 0), (0.00011, 1), (0.001, 1)):
        near = replace(first.placements[1], x_mm=first.placements[1].x_mm - depth)
        rolls = (NestedRoll(first.roll, first.drawn_mm, (first.placements[0], near), ()),)
        assert len(judge(task, replace(nest, rolls=rolls))) == faults


def test_counted_rolls_are_counted():
    roll = Roll(150.0, 1000.0, quantity=1)
    task = problem(plate("A", 900.0, 150.0, 2), rolls=(replace(roll, quantity=2),))
    nest = one_after_another(task)
    short = replace(task, rolls=(roll,))
    nest = replace(nest, rolls=tuple(replace(r, roll=roll) for r in nest.rolls))
    assert [f.accepted for f in judge(short, nest)] == ["the checker says: there are 1"]


@pytest.mark.parametrize("flipped", [False, True])
@pytest.mark.parametrize("turn_deg", [0.0, 90.0, 180.0, 270.0, 30.0])
def test_a_piece_is_where_its_turn_and_its_face_put_it(turn_deg, flipped):
    """Laid by shapely instead, against all four sides of what is drawn; a hundredth of a millimetre over is seen."""
    outline = ((0.0, 0.0), (170.0, 20.0), (90.0, 110.0))
    blank = Blank("T", 1, outline, turns_deg=(turn_deg,), may_flip=True)
    turned = affinity.rotate(
        affinity.scale(Polygon(outline), -1.0 if flipped else 1.0, 1.0, origin=(0, 0)), turn_deg, origin=(0, 0)
    )
    left, low, right, high = turned.bounds
    roll = Roll(high - low, 1000.0)
    task = NestProblem((blank,), (roll,))

    def laid(x: float, y: float):
        place = Placement("T", 1, turn_deg, flipped=flipped, x_mm=x, y_mm=y)
        rolls = (NestedRoll(roll, right - left, (place,), ()),)
        drawn = roll.width_mm * (right - left)
        return judge(task, Nest(rolls, turned.area, drawn, 0.0, 1.0, optimal=False))

    assert laid(-left, -low) == ()
    for x, y in ((0.01, 0.0), (-0.01, 0.0), (0.0, 0.01), (0.0, -0.01)):
        assert [f.code for f in laid(x - left, y - low)] == ["CP503"]


def run_of_four(division, divisions=None):
    """Judge a run of four joints that may be cut at 2 or at 3, divided somehow; only what is said of its division."""
    cut = {(0, 2): 200.0, (2, 4): 200.0, (0, 3): 300.0, (3, 4): 100.0}
    blanks = {ends: Blank(f"R{ends[0]}{ends[1]}", 1, plate("P", mm, 100.0).outline) for ends, mm in cut.items()}
    run = RunChoice("R", tuple(RunLength(*ends, blank) for ends, blank in blanks.items()), (0, 2, 4))
    task = NestProblem((), (Roll(150.0, 1000.0),), runs=(run,))
    empty = Nest((), 0.0, 0.0, 0.0, 0.0, optimal=False, divisions=divisions or (division,))
    return [f"{f.found}, {f.accepted}" for f in judge(task, empty) if f.where in ("R", "runs")]


@pytest.mark.parametrize("division", [(0, 2, 4), (0, 3, 4)])
def test_a_run_may_be_divided_where_lengths_are_known(division):
    assert run_of_four(division) == []


@pytest.mark.parametrize(
    ("division", "said"),
    [
        ((0, 2), "is divided at (0, 2), the checker says: from 0 to 4"),
        ((2, 3, 4), "is divided at (2, 3, 4), the checker says: from 0 to 4"),
        ((0, 2, 3, 4), "is cut in 3 lengths, the checker says: 2 are wanted"),
        ((0, 1, 4), "is cut from joint 0 to 1, the checker says: no such length may be cut"),
        ((4,), "is divided at (4,), the checker says: from 0 to 4"),
    ],
)
def test_a_run_divided_elsewhere_is_seen(division, said):
    assert said in run_of_four(division)


def test_a_run_too_many_is_seen():
    assert run_of_four((), ((0, 2, 4), (0, 2, 4))) == ["2 are divided, the checker says: there are 1"]


def kept(*offcuts: Offcut, least=(300.0, 150.0)) -> str:
    """What is said of offcuts kept beside one plate of 300 x 150 at the corner of a roll of 450, drawn to 900."""
    task = NestProblem((plate("A", 300.0, 150.0),), (Roll(450.0, 3000.0),), offcuts=OffcutRule(*least), gap_mm=0.0)
    rolls = (NestedRoll(task.rolls[0], 900.0, (Placement("A", 1, 0.0, flipped=False, x_mm=0.0, y_mm=0.0),), offcuts),)
    area = sum(o.length_mm * o.width_mm for o in offcuts)
    return "\n".join(f.accepted for f in judge(task, Nest(rolls, 45_000.0, 405_000.0, area, 1.0, optimal=False)))


def test_offcuts_may_reach_every_edge_and_each_other():
    assert kept(Offcut(300.0, 0.0, 600.0, 150.0), Offcut(0.0, 150.0, 900.0, 300.0)) == ""
    assert kept(Offcut(600.0, 0.0, 300.0, 150.0), least=(300.0, 150.0)) == ""
    assert kept(Offcut(750.0, 150.0, 150.0, 300.0), least=(300.0, 150.0)) == ""


@pytest.mark.parametrize(
    ("offcuts", "said"),
    [
        ([Offcut(300.0, 0.0, 600.01, 150.0)], "inside what was drawn"),
        ([Offcut(0.0, 150.0, 900.0, 300.01)], "inside what was drawn"),
        ([Offcut(400.0, -0.01, 500.0, 150.0)], "inside what was drawn"),
        ([Offcut(400.0, 0.0, 299.99, 150.0)], "the least kept"),
        ([Offcut(400.0, 0.0, 300.0, 149.99)], "the least kept"),
        ([Offcut(299.99, 0.0, 600.0, 150.0)], "mm apart"),
        ([Offcut(0.0, 149.99, 900.0, 300.0)], "mm apart"),
        ([Offcut(300.0, 0.0, 310.0, 450.0), Offcut(609.99, 0.0, 290.0, 450.0)], "stands by itself"),
        ([Offcut(300.0, 0.0, 600.0, 200.0), Offcut(300.0, 199.99, 600.0, 200.0)], "stands by itself"),
    ],
)
def test_an_offcut_a_hundredth_over_is_seen(offcuts, said):
    assert said in kept(*offcuts)


def test_as_many_rolls_as_there_are_may_be_used():
    roll = Roll(150.0, 1000.0, quantity=2)
    task = problem(plate("A", 900.0, 150.0, 2), rolls=(roll,))
    assert judge(task, one_after_another(task)) == ()


def test_sums_may_be_off_by_rounding_and_no_more():
    slack = AREA_MM2 + 0.9 * CLOSE_RATIO * SOUND.drawn_mm2
    assert judge(TASK, replace(SOUND, drawn_mm2=SOUND.drawn_mm2 + slack)) == ()
    assert judge(TASK, replace(SOUND, bound_mm2=SOUND.drawn_mm2 + slack)) == ()
    over = AREA_MM2 + 1.2 * CLOSE_RATIO * SOUND.drawn_mm2
    assert judge(TASK, replace(SOUND, drawn_mm2=SOUND.drawn_mm2 - over))
    assert judge(TASK, replace(SOUND, bound_mm2=SOUND.drawn_mm2 + over))


@pytest.mark.parametrize("turn_deg", [0.0, 180.0, 360.0, -180.0])
def test_a_turn_is_the_same_a_whole_turn_on(turn_deg):
    blank = Blank("A", 1, plate("P", 200.0, 100.0).outline, turns_deg=(0.0, 180.0))
    at = (0.0, 0.0) if turn_deg % 360.0 == 0.0 else (200.0, 100.0)
    roll = Roll(100.0, 1000.0)
    place = Placement("A", 1, turn_deg, flipped=False, x_mm=at[0], y_mm=at[1])
    rolls = (NestedRoll(roll, 200.0, (place,), ()),)
    assert judge(NestProblem((blank,), (roll,)), Nest(rolls, 2e4, 2e4, 0.0, 1.0, optimal=False)) == ()


def test_a_run_of_one_length_is_sound():
    length = RunLength(0, 4, Blank("R", 1, plate("P", 400.0, 100.0).outline))
    task = NestProblem((), (Roll(150.0, 1000.0),), runs=(RunChoice("R", (length,), (0, 4)),))
    empty = Nest((), 0.0, 0.0, 0.0, 0.0, optimal=False, divisions=((0, 4),))
    assert [f for f in judge(task, empty) if f.where == "R"] == []


def test_rolls_are_counted_from_one():
    assert "roll 1 (" in found(changed(0, drawn_mm=7000.0))


def test_what_is_said_of_a_piece_outside_gives_all_four_sides():
    """A plate of 300 x 150, turned by a quarter, 1.25 left of a roll's end and 2.5 below its edge."""
    blank = Blank("A", 1, plate("P", 300.0, 150.0).outline, turns_deg=(90.0,))
    roll = Roll(450.0, 1000.0)
    place = Placement("A", 1, 90.0, flipped=False, x_mm=148.75, y_mm=-2.5)
    nest = Nest((NestedRoll(roll, 200.0, (place,), ()),), 45_000.0, 90_000.0, 0.0, 1.0, optimal=False)
    (fault,) = judge(NestProblem((blank,), (roll,)), nest)
    assert fault.found == "reaches from -1.250, -2.500 to 148.750, 297.500 mm"


@pytest.mark.parametrize("side", [100.0, 2000.0])
def test_a_roll_that_is_used_up_whole_is_sound(side):
    task = NestProblem((plate("A", side, side),), (Roll(side, 3000.0),))
    rolls = (NestedRoll(task.rolls[0], side, (Placement("A", 1, 0.0, flipped=False, x_mm=0.0, y_mm=0.0),), ()),)
    assert judge(task, Nest(rolls, side**2, side**2, 0.0, side**2, optimal=True)) == ()


def test_pieces_and_offcuts_come_to_no_more_than_was_drawn():
    """An offcut of all that was drawn, beside a piece: together they are more, their difference is less."""
    assert "drawn = pieces + offcuts + scrap" in kept(Offcut(0.0, 0.0, 900.0, 450.0))
    assert "drawn = pieces + offcuts + scrap" not in kept(Offcut(0.0, 0.0, 800.0, 450.0))


def test_a_length_of_half_a_millimetre_may_be_drawn_and_none_may_not():
    assert "is drawn to" not in found(changed(0, drawn_mm=0.5))
    assert "is drawn to 0.000 mm" in found(changed(0, drawn_mm=0.0))


def test_rolls_of_one_size_are_counted_together():
    """Three rolls of one size in two lines of a list: all three may be used, a fourth may not."""
    roll = Roll(100.0, 100.0, quantity=1)
    square = plate("A", 100.0, 100.0, 4)

    def used(times: int) -> list[str]:
        place = [Placement("A", k + 1, 0.0, flipped=False, x_mm=0.0, y_mm=0.0) for k in range(times)]
        nest = Nest(tuple(NestedRoll(roll, 100.0, (p,), ()) for p in place), 4e4, times * 1e4, 0.0, 1.0, optimal=False)
        return [f.accepted for f in judge(NestProblem((square,), (roll, roll, roll)), nest) if "is used" in f.found]

    assert used(3) == []
    assert used(4) == ["the checker says: there are 3"]
