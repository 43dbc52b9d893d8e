"""Of each limit of a job file the last that is taken and the first that is not, and what is said of it."""

from __future__ import annotations

import pytest

from cutpath.errors import faults
from cutpath.jobs import read_jobs
from cutpath.pieces import pieces_of

STEPS = '[[detail]]\npitch = 35\nkind = "step flashing"\nlength = 1500\nwater_line = 80\n'
GAUGE = "coursing = { gauge = 75, first_joint = 120 }\n"
TWO = "[coursing.a]\ngauge = 75\nfirst_joint = 30\n[coursing.b]\ngauge = 70\nfirst_joint = 30\n"
GUTTER = 'covering = "plain tile 265"\n[[detail]]\npitch = 30\nkind = "back gutter"\nwidth = 900\n'
SOAKERS = 'pitch = 30\ncovering = "slate 500"\n[[detail]]\nkind = "soakers"\n'
READ = "118, 239, 351, 474, 590, 706, 838, 951, 1066, 1180, 1300"
"""Heights of joints at the corner; the second reading is of some of them, 1400 mm further on."""


def read_twice(again, more=""):
    return f"{STEPS}coursing = {{ joints = [{READ}], second_reading = {{ at = 1400, joints = [{again}]{more} }} }}\n"


def told(text, tmp_path):
    """Everything that is said of a job: where, what was found, what is accepted, what to do; and its pieces."""
    path = tmp_path / "j.toml"
    path.write_text(f'name = "J"\n{text}', encoding="utf-8")
    jobs, findings = read_jobs([path])
    pieces, more = pieces_of(list(jobs))
    every = (*findings, *more)
    return [(f.where.rpartition(": ")[2], f.found, f.accepted, f.remedy) for f in faults(every)], every, pieces


@pytest.mark.parametrize(
    ("text", "where", "found", "accepted", "remedy"),
    [
        (STEPS, "coursing", "no coursing", "needed: joints, along_water_line, steps", "Measure the bed joints at the"),
        (TWO + STEPS, "coursing", "2 coursings to choose from", "needed: one of a, b", "Name the coursing in the"),
        (
            TWO + STEPS + 'coursing = "c"\n',
            "coursing",
            'no coursing named "c"',
            "one of a, b",
            "Add a table [coursing.c]",
        ),
        (STEPS + 'coursing = "c"\n', "coursing", 'no coursing named "c"', "a coursing of this job", "Add a table"),
        (
            STEPS + 'coursing = "front wall"\n',
            "coursing",
            'no coursing named "front wall"',
            "a coursing of this job",
            'Add a table [coursing."front wall"]',
        ),
        (STEPS + GAUGE + 'label = "ABCDE"\n', "label", '"ABCDE"', "accepted: 1 to 4 capitals", "It is written on"),
        (STEPS + GAUGE + 'label = "ABC-"\n', "label", '"ABC-"', "accepted: 1 to 4 capitals", "It is written on"),
        (STEPS + GAUGE + 'label = "abc"\n', "label", '"abc"', "accepted: 1 to 4 capitals", "It is written on"),
        (STEPS + GAUGE + "quantity = 1001\n", "quantity", "1001", "accepted: 1000 or less", "Correct it"),
        (SOAKERS + "count = 2001\n", "count", "2001", "accepted: 2000 or less", "Correct it"),
        (SOAKERS, "length", "neither length nor count", "needed: the length of the run", "Add length"),
        (
            GUTTER + 'corners = "welded"\nside = 16\n',
            "side",
            "16 mm past the arris",
            "room for a return and a gusset, or none at all",
            "Take the side about 150 mm past the stack",
        ),
        (
            read_twice("1066, 1180"),
            "coursing.second_reading.joints",
            "2 readings",
            "needed: 11, one for each joint of the first reading",
            "They look like joints 9 to 10: if so, add from_joint = 9 there",
        ),
        (
            read_twice("838, 951, 1066, 1180"),
            "coursing.second_reading.joints",
            "4 readings",
            "needed: 11, one for each",
            "They look like joints 7 to 10: if so, add from_joint = 7 there",
        ),
        (
            read_twice("1066, 1180", ", from_joint = 11"),
            "coursing.second_reading.joints",
            "2 readings from joint 11 on",
            "needed: 11, one for each",
            "Begin it at joint 10, or leave readings out",
        ),
        (f"{STEPS}code = 100\n{GAUGE}", "code", "100", "accepted: 99 or less", "Correct it"),
    ],
)
def test_what_is_not_taken_is_said_with_what_is(text, where, found, accepted, remedy, tmp_path):
    (said,), _, pieces = told(text, tmp_path)
    assert said[0] == f"detail[1].{where}"
    assert said[1] == found
    assert said[2].startswith(accepted)
    assert said[3].startswith(remedy)
    assert not pieces


@pytest.mark.parametrize(
    ("text", "count"),
    [
        (STEPS + GAUGE + 'label = "AB1D"\n', 2),
        (TWO + STEPS + 'coursing = "b"\n', 2),
        (f"{TWO[: TWO.index('[coursing.b]')]}{STEPS}", 2),
        (STEPS + GAUGE + "quantity = 1000\n", 2),
        (SOAKERS + "count = 2000\n", 1),
        (GUTTER + 'corners = "welded"\nside = 17\n', 3),
        (GUTTER + 'corners = "bossed"\nside = 16\n', 1),
        (GUTTER + 'corners = "welded"\nside = 0\n', 1),
    ],
)
def test_the_last_that_is_taken(text, count, tmp_path):
    said, _, pieces = told(text, tmp_path)
    assert said == []
    assert len(pieces) == count


@pytest.mark.parametrize(
    ("text", "joints", "remedy"),
    [
        (read_twice("951, 1066, 1180, 1300"), "8 to 11", "from_joint = 8 says so for certain."),
        (read_twice("1066, 1180", ", from_joint = 9"), "9 to 10", "where the others cannot be reached."),
    ],
)
def test_a_second_reading_in_part_is_taken_for_the_joints_it_suits(text, joints, remedy, tmp_path):
    faulty, every, _ = told(text, tmp_path)
    assert faulty == []
    (note,) = [finding for finding in every if finding.code == "CP421"]
    assert note.found == f"the second reading is taken for joints {joints} of 11"
    assert note.remedy.endswith(remedy)
