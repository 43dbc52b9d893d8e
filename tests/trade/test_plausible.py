"""Sizes against what they are and can be: weights, words and guesses, worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cutpath.errors import Severity
from cutpath.profiles import plausible
from cutpath.trade.plausible import (
    Written,
    check_blanks,
    check_roll,
    check_rolls,
    check_size,
    check_specks,
    check_total,
    check_weighed,
    meant,
    own_sizes,
)
from cutpath.values.fact import Confidence, Plausible
from cutpath.values.nest import Blank, Roll

RUN = Plausible(
    "run", "length of a run", "mm", (200.0, 15_000.0), (20.0, 40_000.0), True, "a roof", Confidence.PRACTICE
)
PIPE = replace(RUN, name="pipe", of="diameter of a pipe", usual=(30.0, 300.0), possible=(12.0, 800.0))
PITCH = replace(RUN, name="pitch", of="pitch of a roof", unit="deg", usual=(10.0, 70.0), possible=(1.0, 85.0))
SOAKERS = replace(RUN, name="count", of="number of soakers", unit="soakers", usual=(1.0, 200.0), possible=(1.0, 2000.0))
SURE = 'confirmed = ["length"]'
COORDINATE = replace(RUN, name="coordinate", usual=(-12_000.0, 12_000.0), possible=(-40_000.0, 40_000.0))


def weight(size: Plausible, value: float, confirmed: bool = False) -> Severity | None:
    found = check_size(size, Written("job.toml", value, value, SURE, confirmed))
    return found and found.severity


@pytest.mark.parametrize(
    ("value", "plain", "confirmed"),
    [
        (200.0, None, None),
        (15_000.0, None, None),
        (199.0, Severity.WARNING, Severity.NOTE),
        (20.0, Severity.WARNING, Severity.NOTE),
        (40_000.0, Severity.WARNING, Severity.NOTE),
        (19.0, Severity.FAULT, Severity.NOTE),
        (0.5, Severity.FAULT, Severity.NOTE),
        (-0.5, Severity.FAULT, Severity.NOTE),
        (0.0, Severity.FAULT, Severity.NOTE),
        (0.4, Severity.FAULT, Severity.FAULT),  # no tape reads it
        (100_000.0, Severity.FAULT, Severity.NOTE),
        (100_001.0, Severity.FAULT, Severity.FAULT),  # no run is longer
    ],
)
def test_what_a_length_weighs_plain_and_confirmed(value, plain, confirmed) -> None:
    assert (weight(RUN, value), weight(RUN, value, True)) == (plain, confirmed)


def test_other_units_have_no_least_and_what_cannot_be_confirmed_is_not() -> None:
    assert weight(PITCH, 0.1, True) is Severity.NOTE
    assert weight(replace(PITCH, confirmable=False), 0.1, True) is Severity.FAULT


def said(size: Plausible, value: float, text: object, confirmed: bool = False, confirm: str = SURE) -> tuple[str, ...]:
    found = check_size(size, Written("job.toml: length", value, text, confirm, confirmed))
    assert found is not None
    return found.found, found.accepted.split(" (")[0], found.remedy


def test_what_is_said_of_a_length() -> None:
    assert said(RUN, 4.2, 4.2) == (
        "4.2 mm, a bare number, cannot be the length of a run",
        "possible: 20 to 40000 mm",
        'Did you mean "4.2 m"? If 4.2 mm is right, add confirmed = ["length"] to the same table.',
    )
    assert said(RUN, 17_000.0, "17 m") == (
        '17000 mm, written "17 m", is seldom the length of a run',
        "usual: 200 to 15000 mm",
        'Did you mean "17 in" or "17 ft"? If 17000 mm is right, add confirmed = ["length"] to the same table.',
    )
    assert said(RUN, 17_000.0, "17 m", confirmed=True) == (
        '17000 mm, written "17 m", is confirmed as the length of a run',
        "usual: 200 to 15000 mm",
        "Nothing to do: it is confirmed, and listed so that whoever cuts knows.",
    )
    assert said(RUN, 0.001, None)[0] == "0.001 mm cannot be the length of a run"
    assert said(RUN, 0.001, None)[2] == "Measure again, and check the unit.", "it cannot be confirmed"
    assert said(RUN, 4.2, 4.2, confirm="")[2] == 'Did you mean "4.2 m"?', "nor where a table has no room for it"
    assert said(PITCH, 80.0, 80)[0] == "80 deg is seldom the pitch of a roof", "how it is written is no slip there"


@pytest.mark.parametrize(
    ("size", "value", "text", "guesses"),
    [
        (RUN, 4.2, 4.2, ['"4.2 m"']),  # in metres it is certain enough
        (PIPE, 11.0, 11, ['"11 cm"', '"11 in"']),  # 110 and 279.4 mm; 110, a digit more, is the third
        (PIPE, 1100.0, 1100, ["110"]),
        (PIPE, 1100.0, "110 cm", ['"110 mm"', '"11 cm"']),
        (PIPE, 1100.0, " 110CM ", ['"110 mm"', '"11 cm"']),
        (RUN, 286_000.0, "286 m", ['"286 mm"', '"286 cm"']),
        (RUN, 1_600_000.0, 1_600_000, ["1600"]),
        (PIPE, 1.0, ".1 cm", ['"0.1 m"']),
        (PIPE, 20.0, "0.02 m and a bit", []),  # no size in words is taken apart
        (RUN, 17_000.0, "17 m", ['"17 in"', '"17 ft"']),  # 431.8 and 5181.6 mm
        (PIPE, 310.0, 310, ["31"]),  # never a larger one for what is too large
        (PIPE, 405.0, 405, []),  # nor tenths of a millimetre
        (SOAKERS, 2500.0, 2500, ["25"]),
        (SOAKERS, 2010.0, 2010, []),  # 201, 20.1 and 2.01: too many, or no whole soakers
        (SOAKERS, 300.0, 300, ["30"]),
        (SOAKERS, 5000.0, 5000, ["50"]),
        (SOAKERS, 0.0, 0, []),
        (PITCH, 400.0, 400, []),
    ],
)
def test_what_was_probably_meant(size, value, text, guesses) -> None:
    assert meant(size, Written("", value, text)) == guesses


def test_a_total_is_held_to_a_range() -> None:
    pieces = replace(
        SOAKERS, of="number of pieces of a job", unit="pieces", usual=(1.0, 1000.0), possible=(1.0, 5000.0)
    )
    assert check_total(pieces, "job.toml", 1000.0, "", "") is None
    many, too_many = (check_total(pieces, "job.toml", n, "most of them soakers", "Ask.") for n in (1001.0, 5001.0))
    assert many is not None
    assert too_many is not None
    assert many.found == "1,001 is seldom the number of pieces of a job; most of them soakers"
    assert (many.severity, many.accepted.split(" (")[0]) == (Severity.WARNING, "usual: up to 1,000 pieces")
    assert (too_many.severity, too_many.accepted.split(" (")[0]) == (Severity.FAULT, "possible: up to 5,000 pieces")


def test_rolls_and_plain_shapes_are_counted_from_one_and_held_by_their_own_ranges() -> None:
    sizes = {
        "roll width": replace(RUN, usual=(90.0, 2500.0), possible=(10.0, 5000.0)),
        "roll length": replace(RUN, usual=(150.0, 12_000.0), possible=(50.0, 100_000.0)),
        "whole roll length": replace(RUN, usual=(1000.0, 12_000.0), possible=(50.0, 100_000.0)),
        "plain shape": replace(RUN, usual=(1.0, 100_000.0), possible=(1.0, 100_000.0)),
        "pieces of a batch": replace(RUN, usual=(1.0, 2.0), possible=(1.0, 3.0)),
        "coordinate": COORDINATE,
    }
    found = check_rolls(
        sizes, [Roll(450.0, 6000.0), Roll(450.0, 6.0), Roll(5.0, 6000.0), Roll(30.0, 6000.0)], "rolls.toml"
    )
    assert [(f.where, f.remedy.split(";")[0]) for f in found] == [
        ("rolls.toml: rolls[2].length_mm", 'Write 6000 or "6 m"'),
        ("rolls.toml: rolls[3].width_mm", 'Did you mean "5 in" or "5 ft"? Bare numbers of this list are in mm.'),
        ("rolls.toml: rolls[4].width_mm", 'Did you mean "30 cm" or "30 in"? Bare numbers of this list are in mm.'),
    ]
    tall, thin = (
        Blank("A", 1, ((5.0, 5.0), (5.0 + x, 5.0), (5.0 + x, 5.0 + y))) for x, y in ((30.0, 0.9), (30.0, 30.0))
    )
    assert [f.where for f in check_blanks(sizes, [thin, tall], "pieces.json")] == ["pieces.json: pieces[2].outline"]
    odd = Blank("A", 1, ((0.0, 0.0), (300.0, 0.0), (0.3, 150.0)), (((10.0, 9.0), (20.0, 9.0), (20.0, 0.2)),))
    assert [f.where for f in check_blanks(sizes, [thin, odd], "pieces.json")] == [
        "pieces.json: pieces[2].outline[3][1]",
        "pieces.json: pieces[2].holes[1][3][2]",
    ]
    many = check_blanks(sizes, [replace(thin, quantity=4)], "pieces.json")
    assert [(f.where, f.severity) for f in many] == [("pieces.json: pieces", Severity.FAULT)]


def test_a_roll_whose_sides_are_changed_over_is_asked_for_the_other_way_round() -> None:
    sizes = {
        "roll width": replace(RUN, usual=(90.0, 2500.0), possible=(10.0, 5000.0)),
        "roll length": replace(RUN, usual=(150.0, 12_000.0), possible=(50.0, 100_000.0)),
        "whole roll length": replace(RUN, usual=(1000.0, 12_000.0), possible=(50.0, 100_000.0)),
    }
    asked = "Did you mean 300 mm wide and 6000 mm long? Else measure again."
    (listed,) = check_rolls(
        sizes, [Roll(6000.0, 300.0), Roll(600.0, 300.0, owned=True), Roll(300.0, 6000.0)], "rolls.toml"
    )
    (told,) = check_roll(sizes, {"width": 6000.0, "length": 300.0})
    assert (listed.where, listed.remedy) == ("rolls.toml: rolls[1].width_mm", asked)
    assert (told.where, told.remedy) == ("--width", asked)
    assert all("wide and" not in f.remedy for f in check_roll(sizes, {"width": 6000.0, "length": 20_000.0}))
    assert all("wide and" not in f.remedy for f in check_roll(sizes, {"width": 6000.0, "length": None}))


def test_a_whole_roll_in_centimetres_is_doubted_and_what_lies_there_may_be_as_short() -> None:
    short = Roll(300.0, 600.0, 1, "lead code 4")
    found = check_rolls(plausible(), [short, replace(short, offcut=True), replace(short, owned=True)], "r.toml")
    assert [(f.where, f.severity) for f in found] == [("r.toml: rolls[1].length_mm", Severity.WARNING)]
    assert '"600 cm"' in found[0].remedy
    assert [len(check_roll(plausible(), {"width": None, "length": 600.0}, whole=whole)) for whole in (True, False)] == [
        1,
        0,
    ]


@pytest.mark.parametrize(("price", "odd"), [(1800.0, ["1"]), (18.0, ["1"]), (350.0, []), (None, [])])
def test_a_roll_that_costs_many_times_what_others_do_is_doubted(price: float | None, odd: list[str]) -> None:
    """Area by area, among rolls of one lead."""
    listed = [Roll(300.0, 6000.0, price=price), Roll(300.0, 6000.0, price=180.0), Roll(450.0, 3000.0, price=140.0)]
    listed += [Roll(300.0, 6000.0, material="lead code 8", price=1800.0)]
    found = check_rolls(plausible(), listed, "r.toml")
    assert [(f.where, f.severity) for f in found] == [(f"r.toml: rolls[{n}].price", Severity.WARNING) for n in odd]
    assert all(f"a price of {(price or 0.0) / 1.8:.4g} a m2, and " in f.found for f in found)
    of_two = check_rolls(plausible(), listed[:2], "r.toml")
    assert len(of_two) == 2 * len(odd), "of two nobody knows which is wrong"


@pytest.mark.parametrize(("weighed_kg", "odd"), [(29.9, True), (30.0, False), (50.0, False), (50.1, True)])
def test_scrap_may_weigh_a_quarter_less_or_more_than_by_the_books(weighed_kg, odd) -> None:
    assert [f.where for f in check_weighed(40.0, weighed_kg)] == ["--weighed"] * odd


@pytest.mark.parametrize("value", [0.3, -0.3, 0.499])
def test_a_coordinate_next_to_nothing_is_doubted(value) -> None:
    ring = ((0.0, 0.0), (value, 1e-9), (0.5, value))
    (doubt,) = check_specks(COORDINATE, ring, "points", "it")
    assert (doubt.where, doubt.severity) == ("points[2][1]", Severity.WARNING)
    assert doubt.found == f"{value:g} mm (and 1 more) is less than a tape reads"
    assert doubt.remedy == f'Did you mean "{value:g} m"? If {value:g} mm is right, add it to the same table.'
    (sure,) = check_specks(COORDINATE, ring[:2], "points", "it", confirmed=True)
    assert (sure.severity, sure.found) == (Severity.NOTE, f"{value:g} mm is less than a tape reads")
    assert not [*check_specks(COORDINATE, ring[:1], "points")]


@pytest.mark.parametrize(
    ("possible", "code"),
    [((20.0, 40_000.0), None), ((19.0, 40_000.0), "CP320"), ((20.0, 40_001.0), "CP320"), ((21.0, 39_000.0), "CP321")],
)
def test_a_range_of_a_shops_own_is_told_and_a_wider_one_apart(possible, code) -> None:
    found = own_sizes({"run": replace(RUN, possible=possible)}, {"run": RUN}, "shop.toml")
    assert [f.code for f in found] == [code] * (code is not None)
    assert all("200 to 15000 mm usual, 20 to 40000 mm possible" in f.accepted + f.found + f.remedy for f in found)


@pytest.mark.parametrize(
    ("roll", "leads", "odd"),
    [
        (Roll(300.0, 900.0, offcut=True), 1, ["without a quantity"]),
        (Roll(300.0, 900.0, 1, offcut=True), 2, ["without a code"]),
        (Roll(300.0, 900.0, 1, "lead code 4", offcut=True), 2, []),
        (Roll(300.0, 900.0, 1, offcut=True), 1, []),
        (Roll(300.0, 6000.0), 2, []),
    ],
)
def test_an_offcut_is_a_thing_that_lies_there(roll, leads, odd):
    found = check_rolls(plausible(), [Roll(300.0, 6000.0), roll], "rolls.toml", leads)
    assert [(f.code, f.where, f.severity) for f in found] == [
        ("CP113", "rolls.toml: rolls[2]", Severity.WARNING)
    ] * len(odd)
    assert all(words in f.found for f, words in zip(found, odd, strict=True))
