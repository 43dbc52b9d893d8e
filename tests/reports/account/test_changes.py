"""What a new reading does to pieces that were cut by the old one."""

from __future__ import annotations

import copy
from functools import cache
from typing import Any

import pytest

from cutpath import pipeline
from cutpath.reports.account.changes import ChangeRow, changes, changes_table, only_counted
from cutpath.values.piece import Piece

JOINTS = [120.0 + 75.0 * k for k in range(34)]
JOB: dict[str, Any] = {
    "name": "Long wall",
    "pitch": 40,
    "covering": "plain tile 265",
    "coursing": {"wall": {"joints": JOINTS}},
    "detail": [
        {"kind": "step flashing", "length": 2900, "hands": "pair", "coursing": "wall"},
        {"kind": "apron", "width": 900, "upstand": 100, "cover": 200, "quantity": 2},
        {"kind": "outline", "size": "325 x 175", "code": 4, "quantity": 3},
    ],
}


def pieces_of(job: dict[str, Any]) -> tuple[Piece, ...]:
    return pipeline.plan([job], settings=pipeline.Settings(choose_lengths=False)).pieces


@cache
def before() -> tuple[Piece, ...]:
    return pieces_of(JOB)


def became(change) -> dict[str, ChangeRow]:
    """What became of each piece, its number without the mark of the job."""
    other = copy.deepcopy(JOB)
    change(other)
    return {row["piece"].partition("-")[2]: row for row in changes(before(), pieces_of(other))}


def states(rows: dict[str, ChangeRow]) -> dict[str, str]:
    return {name: row["state"] for name, row in rows.items() if row["state"] != "alike"}


def test_nothing_changed_where_nothing_was_read_anew():
    rows = became(lambda _: None)
    assert set(rows) == {*(f"S1-{hand}{n}" for hand in "RL" for n in (1, 2, 3)), "A1-1", "P1-1"}
    assert states(rows) == {}
    assert changes_table(list(rows.values())).startswith("alike: ")


def test_one_joint_changes_the_lengths_that_turn_into_it_by_as_much_on_both_hands():
    def read_anew(job):
        job["coursing"]["wall"]["joints"][2] += 6.0

    rows = became(read_anew)
    assert states(rows) == {"S1-R1": "changed", "S1-L1": "changed"}
    for row in (rows["S1-R1"], rows["S1-L1"]):
        assert 6.0 <= row["moved_mm"] < 12.0, "the riser's foot moves down the slope with its joint"
        assert row["also"] == ""
        assert row["line"]
    assert rows["S1-R1"]["moved_mm"] == pytest.approx(rows["S1-L1"]["moved_mm"])


def test_a_wider_apron_is_wider_by_as_much():
    rows = became(lambda job: job["detail"][1].update(width=921.5))
    assert states(rows) == {"A1-1": "changed"}
    assert rows["A1-1"]["moved_mm"] == pytest.approx(21.5)
    table = changes_table(list(rows.values()))
    assert "21.5" in table
    assert rows["A1-1"]["line"] in table


def test_how_far_a_piece_is_stands_beside_what_became_of_it():
    """Where nobody knows of a piece it says so; where nobody knows of any, the columns are left out."""
    rows = became(lambda _: None)
    told = {"cut": True, "folded": 2, "packed": 1, "delivered": 0}
    one, other = ({**row, "state": "changed", "piece": name} for row, name in zip(rows.values(), "AB", strict=False))
    lines = changes_table([{**one, **told}, other]).splitlines()
    assert lines[0].split()[-4:] == ["cut", "folded", "packed", "delivered"]
    assert (lines[2].split()[-4:], lines[3].split()[-4:]) == (["cut", "2", "1", "0"], ["-", "-", "-", "-"])
    assert changes_table([{**one, "cut": False}]).splitlines()[2].split()[-5:-3] == ["not", "yet"]
    assert "cut" not in changes_table([one]).splitlines()[0]


def test_a_longer_wall_is_longer_by_as_much_on_both_hands():
    rows = became(lambda job: job["detail"][0].update(length=2903))
    moves = {name: row["moved_mm"] for name, row in rows.items() if row["moved_mm"]}
    assert {name[:4] for name in moves} == {"S1-R", "S1-L"}
    for name, moved in moves.items():
        assert moved == pytest.approx(moves[name.replace("R", "L")], abs=1e-6)
        assert moved <= 3.0 + 1e-6
    assert max(moves.values()) == pytest.approx(3.0)


@pytest.mark.parametrize(
    ("piece", "change", "words"),
    [
        ("P1-1", lambda job: job["detail"][2].update(quantity=4), "4 off instead of 3"),
        ("P1-1", lambda job: job["detail"][2].update(code=5), "lead code 5 instead of lead code 4"),
        ("A1-1", lambda job: job["detail"][1].update(pitch=42), ", 2.0 deg off"),
    ],
)
def test_what_else_changed_is_said_in_words(piece, change, words):
    rows = became(change)
    assert states(rows) == {piece: "changed"}
    assert words in rows[piece]["also"]
    assert only_counted(rows[piece]) is ("off instead" in words), (
        "what is cut stays right where only the number changed"
    )


def test_pieces_that_came_and_went():
    def altered(job):
        job["detail"][1] = {"kind": "cover flashing", "length": 900, "cover": 100}

    rows = became(altered)
    assert states(rows) == {"A1-1": "gone", "C1-1": "new"}
    assert (rows["A1-1"]["quantity"], rows["A1-1"]["before"]) == (0, 2)
    assert (rows["C1-1"]["quantity"], rows["C1-1"]["before"]) == (1, 0)


def test_a_shape_with_another_number_of_lines_says_which():
    def altered(job):
        job["detail"][2] = {
            "kind": "outline",
            "code": 4,
            "quantity": 3,
            "points": [[0, 0], [325, 0], [325, 175], [160, 200], [0, 175]],
            "holes": [[[50, 50], [50, 80], [80, 80], [80, 50]]],
        }

    row = became(altered)["P1-1"]
    assert row["state"] == "changed"
    assert "with a hole" in row["also"]


@pytest.mark.parametrize(("middle", "state", "moved_mm"), [(20.0, "alike", 0.0), (17.0, "changed", 3.0)])
def test_a_hole_with_a_corner_more_has_moved_by_as_much_as_that_stands_off(middle, state, moved_mm):
    """A corner in the middle of a side changes nothing; one 3 mm beyond that side is 3 mm off."""

    def piece(*hole):
        outline = {
            "kind": "outline",
            "points": [[0, 0], [200, 0], [200, 100], [0, 100]],
            "holes": [list(map(list, hole))],
        }
        (only,) = pipeline.plan([{"name": "Plate", "detail": [outline]}]).pieces
        return only

    before = piece((20, 20), (60, 20), (60, 60), (20, 60))
    now = piece((20, 20), (40, middle), (60, 20), (60, 60), (20, 60))
    (row,) = changes([before], [now])
    assert (row["state"], row["moved_mm"]) == (state, pytest.approx(moved_mm))
