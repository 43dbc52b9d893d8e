"""Joints as measured, held against the masonry, their neighbours, the gauge and a second reading."""

from __future__ import annotations

import itertools
import math
from pathlib import Path

import pytest

from cutpath.errors import Finding, Severity, faults
from cutpath.jobs import load_job, read_jobs
from cutpath.values.leadwork import StepFlashing

EVEN = [120 + 75 * course for course in range(22)]
ROOF = math.tan(math.radians(40))


def changed(joints: list[float], place: int, value: float) -> list[float]:
    """Return joints with one of them, counted from 1, at another height."""
    return [value if number == place else joint for number, joint in enumerate(joints, start=1)]


def without(*heights: int) -> list[int]:
    return [joint for joint in EVEN if joint not in heights]


def tape(joints: list[int], line: float) -> list[float]:
    """Readings along a line parallel to the roof, ``line`` above it square to it: y = line / cos p + tape sin p."""
    p = math.radians(40)
    return [round((y - line / math.cos(p)) / math.sin(p), 1) for y in joints]


def second(at: int, joints: list[float], more: str = "") -> str:
    return f"joints = {EVEN}, second_reading = {{ at = {at}, joints = {joints}{more} }}"


@pytest.fixture
def wall(tmp_path: Path):
    """Write a run on a wall and give its path."""

    def write(coursing: str, keys: str = "", length: int = 2200) -> Path:
        path = tmp_path / "job.toml"
        path.write_text(
            f'name = "J"\npitch = 40\n[[detail]]\nkind = "step flashing"\nhands = "pair"\nlength = {length}\n'
            f"coursing = {{ {coursing} }}\n{keys}\n",
            encoding="utf-8",
        )
        return path

    return write


def found_in(path: Path) -> tuple[Finding, ...]:
    return read_jobs([path])[1]


@pytest.mark.parametrize(
    ("coursing", "code", "key", "words"),
    [
        pytest.param(f"joints = {without(495)}", "CP420", "joints[6]", "a joint was left out", id="one-left-out"),
        pytest.param(
            f"joints = {without(495, 570, 645, 720)}", "CP420", "joints[6]", "4 joints were left out", id="430-to-805"
        ),
        pytest.param("joints = [120, 195, 270, 2805]", "CP420", "joints[4]", "", id="far-beyond"),
        pytest.param("joints = [130, 205, 2805]", "CP420", "joints[3]", "280 for 2805", id="2805-at-the-end"),
        pytest.param(
            f"joints = {changed(EVEN, 3, 2805)}", "CP401", "joints[4]", "Joint 3 looks like a slip", id="2805-for-280"
        ),
        pytest.param(f"joints = {changed(EVEN, 6, 450)}", "CP420", "joints[6]", "misread", id="too-low"),
        pytest.param(f"joints = {changed(EVEN, 6, 459)}", "CP420", "joints[6]", "misread: 495 for 459", id="swapped"),
        pytest.param(f"joints = {sorted([*EVEN, 203])}", "CP420", "joints[3]", "read twice", id="read-twice"),
        pytest.param(
            f"joints = {changed(EVEN, 1, 12)}", "CP420", "joints[1]", "120 for 12?", id="the-first-in-centimetres"
        ),
        pytest.param(f"joints = {changed(EVEN, 1, 20)}", "CP420", "joints[1]", "120 for 20?", id="the-first-100-short"),
        pytest.param(f"joints = {EVEN[::-1]}", "CP401", "joints[2]", "from the bottom up", id="top-down"),
        pytest.param(f"joints = {[y / 1000 for y in EVEN]}", "CP112", "joints", '"0.075 m"', id="metres"),
        pytest.param(f"joints = {[y / 10 for y in EVEN]}", "CP112", "joints", '"7.5 cm"', id="centimetres"),
        pytest.param("gauge = 75, first_joint = 420", "CP420", "first_joint", "120 for 420", id="first-joint-420"),
        pytest.param(f"joints = {EVEN[4:]}", "CP420", "joints[1]", "left out at the bottom", id="lower-ones-missing"),
        pytest.param("gauge = 30, first_joint = 110", "CP112", "gauge", "confirmed", id="gauge-30"),
        pytest.param("gauge = 0.075, first_joint = 110", "CP112", "gauge", '"0.075 m"', id="gauge-in-metres"),
        pytest.param("gauge = 75, first_joint = 0.12", None, "", "", id="first-joint-in-metres-is-warned-of"),
        pytest.param(
            second(1000, [y - 1000 * ROOF for y in EVEN]),
            "CP112",
            "second_reading.joints",
            "add 839 mm to each",
            id="second-from-the-roof",
        ),
        pytest.param(
            second(1500, EVEN[::-1]), "CP401", "joints[2]", "second readings stand from the top down", id="wrong-end"
        ),
        pytest.param(
            second(1500, [y + 75 for y in EVEN]),
            "CP112",
            "second_reading.joints",
            "1 joint farther up",
            id="second-a-course-out",
        ),
        pytest.param(
            second(1500, changed(EVEN, 6, 525)), "CP420", "second_reading.joints[6]", "misread", id="one-second-misread"
        ),
        pytest.param(
            second(120, changed(EVEN, 1, 1200)),
            "CP401",
            "second_reading.joints[1]",
            "120 for 1200",
            id="second-far",
        ),
        pytest.param(
            f"joints = {changed(EVEN, 1, 1200)}",
            "CP401",
            "joints[2]",
            "Joint 1 looks like a slip of a digit: 120",
            id="the-first-far-beyond",
        ),
        pytest.param(
            f"along_water_line = {changed(tape(EVEN, 80), 3, 0.258)}",
            "CP401",
            "along_water_line[3]",
            "a slip of the unit",
            id="one-tape-reading-in-metres",
        ),
        pytest.param(
            f"along_water_line = {tape(without(495), 80)}",
            "CP420",
            "along_water_line[6]",
            "a joint was left out",
            id="tape-along-the-water-line",
        ),
        pytest.param(f'joints = {EVEN}, masonry = "metrik brick"', "CP108", "masonry", "metric brick", id="no-masonry"),
        pytest.param(f"joints = {EVEN}, odd_joints = [23]", "CP108", "odd_joints", "Count the joints", id="no-joint"),
    ],
)
def test_a_slip_in_the_joints_is_told(wall, coursing: str, code: str | None, key: str, words: str) -> None:
    found = faults(found_in(wall(coursing, "water_line = 80")))
    if code is None:
        assert found == ()
        return
    (fault,) = found
    assert (fault.code, fault.where.rpartition(": ")[2]) == (code, f"detail[1].coursing.{key}")
    assert words in fault.remedy


@pytest.mark.parametrize(
    ("coursing", "confirm"),
    [
        (f"joints = {without(495)}", "odd_joints = [6]"),
        (f"joints = {without(495, 720)}", "odd_joints = [6, 8]"),
        (f"joints = {changed(EVEN, 1, 12)}", "odd_joints = [1]"),
        ("gauge = 75, first_joint = 420", "odd_joints = [1]"),
        (f"joints = {[10 + y / 2 for y in EVEN] * 1}", 'confirmed = ["joints"]'),
        ("gauge = 30, first_joint = 110", 'confirmed = ["gauge"]'),
        (f"joints = {sorted([*EVEN, 203])}", "odd_joints = [3]"),
    ],
)
def test_what_is_odd_can_be_confirmed_as_the_remedy_says(wall, coursing: str, confirm: str) -> None:
    found = faults(found_in(wall(coursing)))
    assert found
    assert confirm.partition(" =")[0] in " ".join(fault.remedy for fault in found)
    after = found_in(wall(f"{coursing}, {confirm}"))
    assert faults(after) == ()
    notes = [f for f in after if f.code in ("CP112", "CP420")]
    assert notes
    assert {f.severity for f in notes} == {Severity.NOTE}


@pytest.mark.parametrize(
    "coursing",
    [
        f"joints = {EVEN}",
        "gauge = 116, first_joint = 140",
        'gauge = 225, first_joint = 140, masonry = "concrete block"',
        "joints = [118, 239, 351, 474, 590, 706, 838, 951, 1077, 1190, 1316]",
        'joints = [150, 320, 430, 640, 780, 960, 1200], masonry = "squared stone"',
        f"joints = {EVEN}, second_reading = {{ at = 1500, joints = {[y - 20 for y in EVEN]} }}",
    ],
)
def test_sound_walls_are_not_doubted(wall, coursing: str) -> None:
    assert found_in(wall(coursing)) == ()


@pytest.mark.parametrize(
    ("coursing", "words"),
    [
        (f"joints = {EVEN[::2]}", "squared stone"),
        ("gauge = 150, first_joint = 120", "squared stone"),
        (f"joints = {changed(EVEN, 6, 510)}", "odd_joints = [6]"),
    ],
)
def test_what_may_be_a_slip_is_warned_of(wall, coursing: str, words: str) -> None:
    (warning,) = found_in(wall(coursing))
    assert (warning.code, warning.severity) == ("CP420", Severity.WARNING)
    assert words in warning.remedy
    assert "it takes that" not in warning.sentence


def test_a_joint_misread_at_one_of_two_readings_is_told_once(wall) -> None:
    """By its neighbours where the first is wrong, else by what lies between the two."""
    again = [y - 20 for y in EVEN]
    for once, second, key in (
        (changed(EVEN, 6, 505), again, "joints[6]"),
        (EVEN, changed(again, 6, 485), "second_reading.joints[6]"),
    ):
        (warning,) = found_in(wall(f"joints = {once}, second_reading = {{ at = 1500, joints = {second} }}"))
        assert (warning.code, warning.severity) == ("CP420", Severity.WARNING)
        assert warning.where.endswith(f"coursing.{key}")


def test_a_joint_misread_twice_is_told_twice_where_that_is_no_wall(wall) -> None:
    once, again = changed(EVEN, 6, 505), changed([y - 20 for y in EVEN], 6, 520)
    found = found_in(wall(f"joints = {once}, second_reading = {{ at = 1500, joints = {again} }}"))
    assert [f.severity for f in found] == [Severity.WARNING, Severity.FAULT]


@pytest.mark.parametrize(
    ("length", "many", "lower", "spare"),
    [(245, 22, 0, 19), (1550, 22, 0, 8), (1450, 22, 0, 9), (1450, 22, 38, 8), (1750, 22, 0, None), (459, 8, 0, None)],
)
def test_joints_far_above_a_run_doubt_its_length(wall, length: int, many: int, lower: int, spare: int | None) -> None:
    """As one in centimetres: the joints were measured up to where the lead ends, where they run down to it too."""
    joints = EVEN[:many]
    again = [y - lower for y in joints]
    path = wall(f"joints = {joints}, second_reading = {{ at = 1500, joints = {again} }}", length=length)
    found = [f for f in found_in(path) if f.code == "CP402"]
    assert [f.sentence.partition(" ")[0] for f in found] == [str(spare)] * (spare is not None)
    assert all(f.severity is Severity.WARNING for f in found)


@pytest.mark.parametrize(("lengths", "found"), [((245, 1750), 0), ((245, 300), 1)])
def test_of_runs_on_one_wall_the_highest_tells_how_far_its_joints_go(tmp_path: Path, lengths, found: int) -> None:
    path = tmp_path / "job.toml"
    runs = "".join(f'[[detail]]\nkind = "step flashing"\nlength = {length}\n' for length in lengths)
    path.write_text(f'name = "J"\npitch = 40\n[coursing.wall]\njoints = {EVEN}\n{runs}', encoding="utf-8")
    assert [f.code for f in found_in(path)].count("CP402") == found


STEPS = [(172, 63), (95, 128), (140, 165), (118, 105), (132, 166), (127, 158), (155, 200)]
"""Rise and run of rubble at 40 degrees, each step ending within 34 mm of a water line of 80."""


def own_steps(place: int = 0, rise: int = 0) -> str:
    """Return the steps, one of them, counted from 1, with another rise."""
    steps = [(rise if number == place else up, along) for number, (up, along) in enumerate(STEPS, 1)]
    return f"steps = [{', '.join(f'{{ rise = {up}, run = {along} }}' for up, along in steps)}]"


def own_points(place: int, higher: int) -> str:
    """Return the ends of the steps, those from one on so much higher."""
    ends = itertools.accumulate(STEPS, lambda end, step: (end[0] + step[0], end[1] + step[1]))
    points = [[x, y + higher * (number >= place)] for number, (y, x) in enumerate(ends, 1)]
    return f"step_points = {points}"


@pytest.mark.parametrize(
    ("coursing", "key"),
    [
        (own_steps(5, rise=232), "steps[5]"),
        (own_steps(6, rise=217), "steps[6]"),
        (own_steps(1, rise=344), "steps[1]"),
        (own_steps(7, rise=255), "steps[7]"),
        (own_points(4, 100), "step_points[4]"),
    ],
)
def test_a_step_far_above_the_water_line_is_doubted_and_those_after_it_are_not(wall, coursing, key) -> None:
    keys, length = "water_line = 80", 1240
    (warning,) = found_in(wall(coursing, keys, length))
    assert (warning.code, warning.severity) == ("CP420", Severity.WARNING)
    assert warning.where.endswith(f"coursing.{key}")
    assert "its rise was read too large" in warning.remedy
    number = key.partition("[")[2].rstrip("]")
    (note,) = found_in(wall(f"{coursing}, odd_joints = [{number}]", keys, length))
    assert note.severity is Severity.NOTE


def test_steps_above_a_change_of_pitch_keep_to_the_roof_there(wall) -> None:
    """600 along the slope at 40 degrees, then 55: each end lies 110 plumb above its own roof."""
    change = 600 * math.cos(math.radians(40))
    roof = [(x, min(x, change) * math.tan(math.radians(40)) + max(x - change, 0) * math.tan(math.radians(55)))
            for x in (110, 220, 330, 440, 560, 670, 780, 890)]  # fmt: skip
    coursing = f"step_points = {[[x, round(y + 145, 1)] for x, y in roof]}"
    found = found_in(wall(coursing, "water_line = 80\nabove = [{ length = 600, pitch = 55 }]", 600))
    assert [f for f in found if f.code == "CP420"] == []


def test_steps_near_the_water_line_are_not_doubted(wall) -> None:
    for coursing in (own_steps(), own_steps(2, rise=150), own_points(1, 0)):
        assert found_in(wall(coursing, "water_line = 80", 1240)) == ()
    (raised,) = found_in(wall(own_points(1, 80), "water_line = 80\nset_back = 60", 1240))
    assert raised.where.endswith("step_points[1]"), "how far up the roof it begins does not change the water line"


def test_a_run_that_begins_up_the_roof_needs_no_lower_joints(wall) -> None:
    """Derived: set back by 300 the water line stands 300 tan 40 higher."""
    assert found_in(wall(f"joints = {EVEN[4:]}", "set_back = 300", 1900)) == ()


def test_the_lowest_joint_may_be_left_out_where_its_fold_could_not_be_dressed(wall) -> None:
    """Derived: at 40 deg a fold of 25 needs 21 above the water line, which stands 104.4 up: 124 is too low by a mm."""
    assert found_in(wall("gauge = 75, first_joint = 199", "water_line = 80")) == ()
    (fault,) = found_in(wall("gauge = 75, first_joint = 210", "water_line = 80"))
    assert "135 mm" in fault.accepted


def slopes(path: Path) -> list[float]:
    (run,) = [detail for detail in load_job(path)[0].details if isinstance(detail, StepFlashing)]
    return [joint.slope for joint in run.joints]


@pytest.mark.parametrize("said", ["", ", from_joint = 13"])
def test_ten_second_readings_up_the_roof_will_do(wall, said: str) -> None:
    """Derived: 1.8 m along, the roof hides what stands lower than 1510 up, and ten joints can be reached."""
    path = wall(second(1800, [y - 9 for y in EVEN[-10:]], said), length=1700)
    (note,) = [f for f in found_in(path) if f.code == "CP421"]
    assert "joints 13 to 22 of 22" in note.found
    assert ("from_joint" in note.remedy) == (not said)
    assert slopes(path) == [-9 / 1800] * 22


def test_joints_that_were_read_once_run_as_their_nearest_neighbour(wall) -> None:
    falls = [0, 3, 6, 9, 12]
    path = wall(second(1500, [y - fall for y, fall in zip(EVEN[5:10], falls, strict=True)], ", from_joint = 6"))
    per_mm = [slope * -1500 for slope in slopes(path)]
    assert per_mm == pytest.approx([0] * 5 + falls + [12] * 12)


def test_second_readings_along_a_line_may_begin_at_a_joint(wall) -> None:
    tapes, again = tape(EVEN, 80), tape(EVEN, 300)
    path = wall(
        f"along_water_line = {tapes}, second_reading = {{ line = 300, from_joint = 6, along = {again[5:]} }}",
        "water_line = 80",
    )
    assert slopes(path) == pytest.approx([0] * 22, abs=1e-3)


@pytest.mark.parametrize(
    ("first", "again", "accepted"),
    [
        (f"joints = {EVEN}", f"line = 300, along = {tape(EVEN, 80)}", "at and joints"),
        (f"along_water_line = {tape(EVEN, 80)}", f"at = 1500, joints = {EVEN}", "line and along"),
    ],
)
def test_a_second_reading_is_taken_like_the_first(wall, first: str, again: str, accepted: str) -> None:
    (told,) = faults(found_in(wall(f"{first}, second_reading = {{ {again} }}", "water_line = 80")))
    assert (told.code, told.found) == ("CP111", "a second reading of the other kind")
    assert told.accepted == f"accepted: {accepted}"


def test_a_misread_joint_is_told_where_courses_are_seldom_so_low(wall) -> None:
    low = [120 + 50 * k for k in range(36)]
    told = found_in(wall(f"joints = {changed(low, 9, low[8] + 20)}"))
    assert {"CP112", "CP420"} <= {f.code for f in told}


def test_a_tape_is_read_to_a_few_millimetres(wall) -> None:
    """Two lines lie near each other, so that 2 mm on the tape tilts a joint by much more than the wall does."""
    off = [2 if number % 2 else -2 for number in range(22)]
    again = [reading + error for reading, error in zip(tape(EVEN, 300), off, strict=True)][5:]
    second_line = f"{{ line = 300, from_joint = 6, along = {again} }}"
    coursing = f"along_water_line = {tape(EVEN, 80)}, second_reading = {second_line}"
    assert faults(found_in(wall(coursing, "water_line = 80", 1000))) == ()


@pytest.mark.parametrize(
    ("reading", "words"),
    [
        (second(1800, [y - 9 for y in EVEN[5:10]]), "add from_joint = 6"),
        (second(1800, [y - 9 for y in EVEN[:21]]), "add from_joint = 1"),
        (second(1800, EVEN[-10:], ", from_joint = 14"), "Begin it at joint 13"),
        (second(1800, [*EVEN, 1800]), "Give both readings"),
        (second(1800, [*EVEN[-10:-5], *EVEN[-4:]]), "from_joint"),
    ],
)
def test_a_short_second_reading_that_leaves_open_which_joints_it_holds_is_refused(wall, reading, words) -> None:
    (fault,) = faults(found_in(wall(reading)))
    assert fault.code == "CP107"
    assert words in fault.remedy


def test_named_walls_are_held_to_their_courses_whether_a_detail_uses_them_or_not(wall):
    path = wall(f"joints = {EVEN}")
    named = {"even": EVEN, "left-out": without(420), "crossed": changed(EVEN, 4, 3455), "metres": [0.13, 0.205, 0.28]}
    tables = "".join(f"[coursing.{name}]\njoints = {joints}\n" for name, joints in named.items())
    path.write_text(path.read_text() + tables)
    _, findings = read_jobs([path])
    assert [(f.code, f.where.partition(": ")[2]) for f in faults(findings)] == [
        ("CP420", "coursing.left-out.joints[5]"),
        ("CP401", "coursing.crossed.joints[5]"),
        ("CP112", "coursing.metres.joints"),
    ]


@pytest.mark.parametrize(
    ("keys", "key", "guess"),
    [
        ("coursing = { gauge = 75, first_joint = 0.12 }", "coursing.first_joint", '"0.12 m"'),
        ("coursing = { gauge = 75, first_joint = 120 }\nset_back = 0.05", "set_back", '"0.05 m"'),
        ("coursing = { gauge = 75, first_joint = 120 }\nsoakers.upstand = 75\nclearance = 0.005", "clearance", ""),
    ],
)
def test_a_length_in_metres_where_nought_would_do_is_doubted(tmp_path: Path, keys: str, key: str, guess: str) -> None:
    path = tmp_path / "job.toml"
    path.write_text(
        'name = "J"\npitch = 40\ncovering = "slate 500"\n[[detail]]\nkind = "step flashing"\nlength = 1500\n'
        f'hands = "left"\n{keys}\n'
    )
    doubts = [f for f in found_in(path) if f.code == "CP112"]
    assert [(f.where.rpartition(": ")[2], f.severity) for f in doubts] == [(f"detail[1].{key}", Severity.WARNING)]
    assert guess in doubts[0].remedy


@pytest.mark.parametrize(
    ("first", "own", "doubts"),
    [("7.5", "", 1), ("12", "", 1), ("11", "odd_joints = [1]", 1), ("7", "", 0),
     ("20", "", 0), ("120", "", 0), ("-40", "", 0)],
)  # fmt: skip
def test_a_first_joint_in_centimetres_beside_a_gauge_is_asked_about(
    tmp_path: Path, first: str, own: str, doubts: int
) -> None:
    """One just above the roof may be true: it is made, and warned of, unless it is confirmed."""
    path = tmp_path / "job.toml"
    path.write_text(
        'name = "J"\npitch = 40\n[[detail]]\nkind = "step flashing"\nlength = 1500\nhands = "left"\n'
        f"[detail.coursing]\ngauge = 75\nfirst_joint = {first}\n{own}\n"
    )
    found = [f for f in found_in(path) if f.code == "CP420"]
    assert [f.severity for f in found] == [Severity.NOTE if own else Severity.WARNING] * doubts
    assert all(f.where.endswith("coursing.first_joint") and (own or f'"{first} cm"' in f.remedy) for f in found)
