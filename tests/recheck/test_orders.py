"""Lead, hands, sets and numbers of pieces are held to what was ordered, each by itself and in words that fit."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cutpath.jobs import load_job
from cutpath.pieces import pieces_of
from cutpath.profiles import lead_table, practice
from cutpath.recheck import recheck
from cutpath.values.leadwork import Soakers
from cutpath.values.survey import Hand
from tests.faulty.jobs import JOBS, job_text

APRON = 'name = "J"\npitch = 30\n[[detail]]\nkind = "apron"\nwidth = 3200\nside = 150\nupstand = 100\nquantity = 3\n'
STEPS = (
    'name = "J"\npitch = 35\n[[detail]]\nkind = "step flashing"\nlength = 2400\nwater_line = 80\nquantity = 2\n'
    "coursing = { gauge = 75, first_joint = 120 }\nreturn = { length = 150 }\n"
)
STACK = (
    'name = "J"\npitch = 40\ncovering = "plain tile 265"\n[[detail]]\nkind = "chimney"\nwidth = 600\ndepth = 600\n'
    "coursing = { gauge = 75, first_joint = 110 }\n"
)
WELDED = APRON.replace("width = 3200", 'width = 900\ncorners = "welded"')


@pytest.fixture
def job(tmp_path):
    def read(text):
        path = tmp_path / "j.toml"
        path.write_text(text, encoding="utf-8")
        return load_job(path)[0]

    return read


def said(job, pieces):
    return [(finding.found, finding.accepted) for finding in recheck(job, pieces, practice())]


def made(job):
    return list(pieces_of([job])[0])


def of_pieces(job, change):
    """What is said of a job with its pieces changed."""
    pieces = made(job)
    assert said(job, pieces) == []
    return said(job, change(pieces))


def of_head(job, **changes):
    """What is said of a job whose first detail was ordered otherwise than it was written."""
    first, *rest = job.details
    return said(replace(job, details=(replace(first, head=replace(first.head, **changes)), *rest)), made(job))


def first(pieces, **changes):
    return [replace(pieces[0], **changes), *pieces[1:]]


def test_pieces_of_three_sets_are_counted(job):
    apron = job(APRON)
    assert [piece.quantity for piece in made(apron)] == [3, 3, 3]
    assert of_pieces(apron, lambda p: first(p, quantity=2)) == [("2 of piece J-A1-1", "3, one to each set")]
    welded = job(WELDED)
    gussets = [piece for piece in made(welded) if piece.pattern.part.value == "gusset"]
    assert [piece.quantity for piece in gussets] == [6]
    told = of_pieces(welded, lambda p: [replace(x, quantity=5) if x.id == gussets[0].id else x for x in p])
    assert told == [("5 of part 'gusset'", "6: 2 to each of 3 sets")]
    told = of_pieces(welded, lambda p: [x for x in p if x.id != gussets[0].id])
    assert ("0 of part 'gusset'", "6: 2 to each of 3 sets") in told


def test_lead_is_that_ordered(job):
    apron = job(APRON)
    five = lead_table()[5]
    assert of_pieces(apron, lambda p: first(p, lead=five)) == [("piece J-A1-1 in lead code 5", "lead code 4")]
    written = job(APRON + "code = 5\n")
    assert ("lead code 4", "lead code 5, as written") in of_head(written, lead=lead_table()[4])
    assert ("lead code 5", "lead code 4, as written") in of_head(apron, lead=five), "the usual one of the job"
    of_job = job(APRON.replace("[[detail]]", "[lead]\napron = 5\n[[detail]]"))
    assert ("lead code 4", "lead code 5, as written") in of_head(of_job, lead=lead_table()[4])


def test_sets_and_hands_are_those_written(job):
    apron, steps = job(APRON), job(STEPS)
    assert ("4 sets", "3, as written") in of_head(apron, quantity=4)
    assert ("2 sets", "1, as written") in of_head(job(STEPS.replace("quantity = 2\n", "")), quantity=2)
    assert ("hands: right", "left, right") in of_head(steps, hands=(Hand.RIGHT,))
    assert ("hands: none", "left, right") in of_head(steps, hands=())
    assert ("hands: left", "none") in of_head(apron, hands=(Hand.LEFT,))
    right = job(STEPS + 'hands = "right"\n')
    assert ("hands: right, left", "right") in of_head(right, hands=(Hand.RIGHT, Hand.LEFT))


def test_a_hand_without_pieces_and_one_that_nobody_ordered(job):
    steps = job(STEPS)
    told = of_pieces(steps, lambda p: [piece for piece in p if piece.hand is Hand.RIGHT])
    assert told == [("left hand, no pieces", "pieces for every hand that was ordered")]
    right = job(STEPS + 'hands = "right"\n')
    left = [piece for piece in made(steps) if piece.hand is Hand.LEFT]
    assert (f"piece {left[0].id} of a hand that was not ordered", "pieces of the hands ordered") in of_pieces(
        right, lambda p: [*p, *left]
    )


def test_numbers_go_from_one_on_and_no_two_are_alike(job):
    apron = job(APRON)
    counted = ("pieces with other numbers", "numbers from 1 to 3")
    own = ("a number that is not its own", "its own number")
    assert of_pieces(apron, lambda p: first(p, of=4)) == [counted]
    assert of_pieces(apron, lambda p: first(p, number=9)) == [counted, own]
    assert of_pieces(apron, lambda p: first(p, id=p[1].id)) == [own, own]
    assert of_pieces(apron, lambda p: first(p, id="J-A1-7")) == [own]
    steps = job(STEPS)
    assert of_pieces(steps, lambda p: first(p, id=p[0].id.replace("-R", "-L"))) != []
    assert of_pieces(apron, lambda p: p[:1])[-1] == ("1 lengths", "3: the fewest of at most 1500 mm")


@pytest.mark.parametrize("changes", [{"detail": "A9"}, {"where": "job.toml: detail[9]"}])
def test_a_piece_of_another_detail_does_not_count(job, changes):
    told = of_pieces(job(APRON), lambda p: first(p, **changes))
    assert ("2 lengths", "3: the fewest of at most 1500 mm") in told


def test_soakers_of_a_stack_are_there_unless_they_are_left_out(job):
    for soakers, there in (("true", 1), ("false", 0), ("{ upstand = 70 }", 1)):
        own = job(STACK + f"step_flashing = {{ soakers = {soakers} }}\n")
        assert of_pieces(own, lambda pieces: pieces) == []
        without = replace(own, details=tuple(d for d in own.details if not isinstance(d, Soakers)))
        told = [found for found, _ in said(without, made(own))]
        assert told.count("nothing surveyed") == there


def shortened(piece, by):
    """The piece with its right end further left."""
    pattern = piece.pattern
    width = max(x for x, _ in pattern.outline)
    outline = tuple((x - by if x > width - 1e-6 else x, y) for x, y in pattern.outline)
    return replace(piece, pattern=replace(pattern, outline=outline, length_mm=pattern.length_mm - by))


def test_lengths_make_up_the_run_less_their_laps(job):
    apron = job(APRON)
    last = made(apron)[-1]
    told = of_pieces(apron, lambda p: [*p[:-1], shortened(last, 30.0)])
    (words, run) = told[0]
    assert words.startswith("3 lengths of 3470.000 mm together, less 2 laps of ")
    assert run == "the run of 3500 mm"
    told = of_pieces(apron, lambda p: [*p[:-1], shortened(last, -30.0)])
    assert told[0][0].startswith("3 lengths of 3530.000 mm together, less 2 laps of ")
    told = of_pieces(apron, lambda p: first(p, pattern=replace(p[0].pattern, length_mm=1000.0)))
    assert told[0][0] == "piece J-A1-1 said to be 1000.000 mm long"
    two = job(APRON.replace("3200", "1800"))
    told = of_pieces(two, lambda p: [*p[:-1], shortened(p[-1], -30.0)])
    assert told[0][0].startswith("2 lengths of 2130.000 mm together, less 1 laps of ")
    single = job(APRON.replace("3200", "900"))
    assert of_pieces(single, lambda p: [shortened(p[0], 10.0)])[0][0].startswith("1 lengths of 1190.000 mm together")
    longest = job(APRON + "longest = 1450\n")
    edge = max(x for x, _ in made(longest)[0].pattern.outline)
    told = of_pieces(longest, lambda p: [*p[:-1], shortened(p[-1], -900.0)])
    assert any("at most 1450 mm" in accepted for _, accepted in told), edge


@pytest.mark.parametrize("width", [1200.0, 1200.0005, 1200.01])
def test_a_run_longer_than_its_limit_by_a_hair_is_in_two_lengths(job, width):
    apron = job(APRON.replace("3200", str(width)))
    assert len(made(apron)) == 1 + (width > 1200)
    assert of_pieces(apron, lambda pieces: pieces) == []


@pytest.mark.parametrize("hand", [Hand.RIGHT, Hand.LEFT])
def test_a_length_of_steps_is_as_long_as_its_lead_reaches_round_the_arris(job, hand):
    steps = job(STEPS)
    pieces = [piece for piece in made(steps) if piece.hand is hand]
    for at, piece in enumerate(pieces):
        longer = replace(piece, pattern=replace(piece.pattern, length_mm=piece.pattern.length_mm + 0.5))
        told = of_pieces(steps, lambda p, piece=piece, longer=longer: [longer if x.id == piece.id else x for x in p])
        words = {(found, accepted) for found, accepted in told if "said to be" in found}
        wanted = f"its lead reaches {piece.pattern.length_mm:.3f} mm along the roof"
        assert words == {(f"piece {piece.id} said to be {longer.pattern.length_mm:.3f} mm long", wanted)}, at


@pytest.mark.parametrize("name", JOBS)
def test_a_piece_is_as_long_as_it_is_said_to_be(job, name):
    every = job(job_text(name))
    pieces = made(every)
    tongues = {detail.head.label for detail in every.details if getattr(detail, "tongue", None)}
    for place, piece in enumerate(pieces):
        if piece.number == 1 and piece.detail in tongues:
            continue  # two strips at an angle
        longer = replace(piece, pattern=replace(piece.pattern, length_mm=piece.pattern.length_mm + 3.0))
        told = said(every, [*pieces[:place], longer, *pieces[place + 1 :]])
        assert any(piece.id in found for found, _ in told), piece.id


def test_a_gutter_is_no_longer_than_its_limit(job):
    gutter = job('name = "J"\npitch = 30\n[[detail]]\nkind = "back gutter"\nwidth = 900\n')
    told = of_head(gutter, longest_mm=1199.0)
    assert ("piece J-G1-1 is 1200.000 mm long", "at most 1199 mm") in told
