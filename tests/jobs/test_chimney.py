"""A chimney from one entry: its parts share joints, cover each other by their laps, and give way to the user."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from hypothesis import strategies as st

from cutpath.errors import Finding, Refused, Severity, faults
from cutpath.jobs import load_job, read_jobs
from cutpath.pipeline import plan
from cutpath.values.leadwork import Apron, BackGutter, CornerKind, CornerWork, CoverFlashing, Soakers, StepFlashing
from cutpath.values.survey import Job
from tests.properties.surveys import for_all

TEXT = """
name = "J"
pitch = {pitch}
covering = "plain tile 265"

[[detail]]
kind = "chimney"
width = 900
{size}
coursing = {{ gauge = {gauge}, first_joint = {first} }}
{more}
"""


def chimney(folder: Path, size="depth = 700", more="", pitch=40, gauge=75.0, first=60.0) -> Job:
    job, findings = surveyed(folder, size, more, pitch, gauge, first)
    assert not faults(findings)
    return job


def surveyed(folder: Path, size="depth = 700", more="", pitch=40, gauge=75.0, first=60.0):
    path = folder / "chimney.toml"
    path.write_text(TEXT.format(pitch=pitch, size=size, gauge=gauge, first=first, more=more), encoding="utf-8")
    return load_job(path)


def fault(folder: Path, **keys) -> Finding:
    with pytest.raises(Refused) as refused:
        surveyed(folder, **keys)
    (found,) = faults(refused.value.findings)
    return found


def of_kind(job: Job, kind):
    (found,) = [detail for detail in job.details if isinstance(detail, kind)]
    return found


def test_one_entry_gives_every_part_in_fitting_order(tmp_path: Path) -> None:
    job = chimney(tmp_path)
    assert [type(d) for d in job.details] == [Apron, StepFlashing, Soakers, BackGutter, CoverFlashing]
    assert [d.head.label for d in job.details] == ["A1", "S1", "K1", "G1", "C1"]
    assert job.details[2].head.origin.path == "detail[1].step_flashing.soakers"


def test_returns_turn_into_the_joint_that_is_asked_for(tmp_path: Path) -> None:
    assert chimney(tmp_path, first=110).chimneys[0].front.number == 1
    asked = chimney(tmp_path, more="step_flashing = { return = { joint = 2, length = 150 } }", first=110)
    assert asked.chimneys[0].front.number == 2


def test_depth_is_level_and_slope_length_along_the_roof(tmp_path: Path) -> None:
    level = of_kind(chimney(tmp_path, "depth = 700"), StepFlashing)
    assert level.slope_mm == pytest.approx(700 / math.cos(math.radians(40)))
    along = of_kind(chimney(tmp_path, "slope_length = 700"), StepFlashing)
    assert along.slope_mm == 700
    assert fault(tmp_path, size="").code == "CP104"


@pytest.mark.parametrize(("own", "cover"), [("", 150), ('covering = { name = "big tile", flatter_by = 3 }', 170)])
def test_the_apron_of_a_stack_in_tiles_of_its_own_laps_by_their_surface(tmp_path: Path, own: str, cover: int) -> None:
    """Derived: 75 / sin 30 is 150, and 75 / sin 27 is 165.2; it was 150 whatever the tiles about the stack were."""
    path = tmp_path / "job.toml"
    path.write_text(
        'name = "J"\npitch = 30\ncovering = "slate 500"\n[[detail]]\nkind = "chimney"\nwidth = 600\ndepth = 500\n'
        f"coursing = {{ gauge = 75, first_joint = 90 }}\nstep_and_cover = {{ {own} }}\n",
        encoding="utf-8",
    )
    assert of_kind(load_job(path)[0], Apron).cover_mm == cover
    if own:
        path.write_text(path.read_text(encoding="utf-8").replace(", flatter_by = 3", ""), encoding="utf-8")
        with pytest.raises(Refused) as refused:
            load_job(path)
        assert [f.where.rpartition(": ")[2] for f in faults(refused.value.findings)] == [
            "detail[1].step_and_cover.covering.name"
        ]


@pytest.mark.parametrize(
    ("along", "words"),
    [(914, ""), (900, ""), (929, ""), (890, "make a roof of 38"), (935, "41.5"), (690, "are no roof")],
)
def test_depth_and_slope_length_prove_the_pitch(tmp_path: Path, along: int, words: str) -> None:
    """Derived: 700 level at 40 deg is 913.8 along the slope; 1.5 deg of pitch are 15 mm of depth there."""
    both = f"depth = 700\nslope_length = {along}"
    if words:
        told = fault(tmp_path, size=both)
        assert (told.code, told.where.rpartition(": ")[2]) == ("CP111", "detail[1].slope_length")
        assert words in told.found
        assert told.accepted.startswith("about 914 mm along the slope")
    else:
        assert of_kind(chimney(tmp_path, both), StepFlashing).slope_mm == pytest.approx(
            700 / math.cos(math.radians(40))
        )


@pytest.mark.parametrize(("along", "codes"), [(611, 0), (614, 0), (616, 1)])
def test_on_a_flat_roof_a_few_millimetres_of_depth_prove_no_other_pitch(tmp_path: Path, along: int, codes: int) -> None:
    """Derived: 600 level at 10 deg is 609.3 along the slope, and 5 mm of depth are more than 1.5 deg there."""
    path = tmp_path / "job.toml"
    stack = f"width = 600\ndepth = 600\nslope_length = {along}\ncoursing = {{ gauge = 75, first_joint = 120 }}"
    path.write_text(f'name = "J"\npitch = 10\n[[detail]]\nkind = "chimney"\n{stack}\n', encoding="utf-8")
    _, found = read_jobs([path])
    assert [f.code for f in found].count("CP111") == codes


@pytest.mark.parametrize("pitch", [17.5, 20, 25])
def test_a_gutter_reaches_past_its_arris_as_far_as_it_is_told_to_and_is_not_doubted(
    tmp_path: Path, pitch: float
) -> None:
    """Over a cover on a flat roof it was told to reach 339 mm, and when it did that was seldom."""
    path = tmp_path / "job.toml"
    top = f'name = "J"\npitch = {pitch}\ncovering = "interlocking tile"\n[[detail]]\nkind = "chimney"\n'
    keys = "width = 600\ndepth = 450\nstep_and_cover = true\ncoursing = { gauge = 75, first_joint = 130 }\n"

    def found(more: str) -> list[Finding]:
        path.write_text(top + keys + more, encoding="utf-8")
        return [f for f in read_jobs([path])[1] if f.where.endswith("back_gutter.side")]

    (short,) = found("")
    reach = re.fullmatch(r"Take it (\d+) mm past the arrises\.", short.remedy)
    assert reach
    assert found(f"back_gutter = {{ side = {reach[1]} }}\n") == []


@pytest.mark.parametrize(
    ("more", "order"),
    [
        ("", "the apron, then the soakers with the covering and the side flashings, then"),
        ("step_flashing = { soakers = false }", "the apron, then the side flashings, then"),
        ("step_flashing = false", "the apron, then the back gutter over the upper ends of the sides, then"),
    ],
)
def test_parts_are_fitted_in_the_order_of_those_there_are(tmp_path: Path, more: str, order: str) -> None:
    """Soakers were to be fitted where none are made."""
    path = tmp_path / "job.toml"
    stack = "width = 600\ndepth = 600\ncoursing = { gauge = 75, first_joint = 120 }"
    top = 'name = "J"\npitch = 35\ncovering = "plain tile 265"\n[[detail]]\nkind = "chimney"\n'
    path.write_text(f"{top}{stack}\n{more}\n", encoding="utf-8")
    (note,) = (f for f in read_jobs([path])[1] if f.code == "CP314")
    assert note.remedy.startswith(f"Fit {order}")


def test_every_part_takes_the_pitch_of_its_own_stack(tmp_path: Path) -> None:
    job = chimney(tmp_path, more="pitch = 30")
    assert of_kind(job, Apron).pitch_deg == of_kind(job, BackGutter).pitch_deg == 30
    assert of_kind(job, StepFlashing).pitch_deg == 30


def test_the_front_joint_is_not_below_the_water_line_at_the_arris(tmp_path: Path) -> None:
    job = chimney(tmp_path, first=98.0)  # joint 1 stands above the least upstand, but below 80 / cos 40 = 104
    step = of_kind(job, StepFlashing)
    assert step.corner.joint == 2
    assert of_kind(job, Apron).upstand_mm == pytest.approx(173)


@for_all(
    st.integers(200, 550).map(lambda n: n / 10),
    st.integers(60, 110),
    st.integers(20, 120),
    st.integers(300, 1500),
)
def test_the_parts_share_joints_and_cover_each_other(pitch, gauge, first, depth) -> None:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "c.toml"
        text = TEXT.format(pitch=pitch, size=f"depth = {depth}", gauge=gauge, first=first, more="")
        path.write_text(text, encoding="utf-8")
        (job,), findings = read_jobs([path])
    assert not faults(findings)
    p = math.radians(pitch)
    heights = [first + k * gauge for k in range(200)]
    apron, side, gutter, cover = (of_kind(job, kind) for kind in (Apron, StepFlashing, BackGutter, CoverFlashing))
    # Front: apron and returns in one joint, the lowest at 75 or more that the water line leaves whole at the arris,
    # unless the first step sits lower.
    assert side.corner.joint is not None
    assert apron.upstand_mm == pytest.approx(heights[side.corner.joint - 1])
    lowest = next(h for h in heights if h >= max(75, side.water_line_mm / math.cos(p)) - 1e-6)
    assert apron.upstand_mm <= lowest
    assert apron.width_mm == gutter.width_mm == cover.length_mm == 900
    assert apron.pitch_deg == side.pitch_deg == gutter.pitch_deg == pitch
    # Back: the cover flashing's joint, counted from the level of the sole.
    sole = depth * math.tan(p) + gutter.sole_mm * math.tan(p)
    joint = next(h for h in heights if h - sole >= 100 - 1e-6)
    room = joint - sole
    assert 100 - 1e-6 <= room < 100 + gauge
    assert gutter.upstand_mm <= min(room, 150) + 1e-6
    over = cover.cover_mm - (room - gutter.upstand_mm)
    assert over >= 75 - 1e-6
    assert cover.cover_mm < room
    # Each passes its arris by a lap at least.
    assert min(side.corner.length_mm, apron.side_mm, gutter.side_mm, cover.return_mm) >= 100
    assert side.slope_mm * math.cos(p) == pytest.approx(depth)


def test_parts_give_way_to_what_the_user_writes(tmp_path: Path) -> None:
    job = chimney(
        tmp_path,
        more='corners = "welded"\n'
        "apron = { cover = 200, upstand = 120, label = 'FR' }\n"
        "step_flashing = { turn_in = 30, soakers = { upstand = 80 }, return = { kind = 'integral', length = 120 } }\n"
        "back_gutter = { sole = 180, corners = 'bossed', code = 5 }\n"
        "cover_flashing = { returns = 200 }",
    )
    apron, side, soakers, gutter, cover = job.details
    assert isinstance(apron, Apron)
    assert (apron.cover_mm, apron.upstand_mm, apron.head.label, apron.corners) == (200, 120, "FR", CornerWork.WELDED)
    assert isinstance(side, StepFlashing)
    assert (side.turn_in_mm, side.corner.kind, side.corner.length_mm) == (30, CornerKind.INTEGRAL, 120)
    assert side.corner.joint == 2
    assert isinstance(soakers, Soakers)
    assert (soakers.upstand_mm, side.water_line_mm) == (80, 85)
    assert isinstance(gutter, BackGutter)
    assert (gutter.sole_mm, gutter.corners, gutter.head.lead.code) == (180, CornerWork.BOSSED, 5)
    assert isinstance(cover, CoverFlashing)
    assert cover.return_mm == 200


def test_parts_may_be_left_out(tmp_path: Path) -> None:
    job = chimney(tmp_path, more="apron = false\nback_gutter = false\ncover_flashing = false")
    assert [type(d) for d in job.details] == [StepFlashing, Soakers]
    job = chimney(tmp_path, more="step_flashing = false")
    assert [type(d) for d in job.details] == [Apron, BackGutter, CoverFlashing]


def test_profiled_tiles_get_step_and_cover_instead_of_soakers(tmp_path: Path) -> None:
    job = chimney(tmp_path, more="step_and_cover = { water_line = 75 }")
    side = of_kind(job, StepFlashing)
    assert (side.cover_mm, side.water_line_mm) == (150, 75)
    assert not [d for d in job.details if isinstance(d, Soakers)]
    assert fault(tmp_path, more="step_and_cover = true\nstep_flashing = true").code == "CP111"


def test_the_note_says_at_which_joints_the_parts_meet(tmp_path: Path) -> None:
    _, findings = surveyed(tmp_path)
    (note,) = [f for f in findings if f.code == "CP314"]
    assert note.severity is Severity.NOTE
    assert "joint 2, 135 mm above the roof" in note.found


@pytest.mark.parametrize(("length", "told"), [(150, False), (151, True)])
def test_returns_that_meet_on_a_narrow_front_are_told(tmp_path: Path, length: int, told: bool) -> None:
    """Two of 151 mm on a stack 300 mm wide: one goes over the other."""
    path = tmp_path / "chimney.toml"
    text = TEXT.replace("width = 900", "width = 300")
    more = f"step_flashing = {{ return = {{ length = {length} }} }}"
    path.write_text(text.format(pitch=40, size="depth = 700", gauge=75.0, first=60.0, more=more), encoding="utf-8")
    (note,) = (f for f in load_job(path)[1] if f.code == "CP314")
    assert ("the two returns lie over each other by 2 mm on a front of 300 mm" in note.found) is told


@pytest.mark.parametrize(
    ("more", "code", "key"),
    [
        ("cover_flashing = { cover = 400 }", "CP412", "cover_flashing.cover"),
        ("back_gutter = { upstand = 100 }\ncover_flashing = { cover = 60 }", "CP306", "cover_flashing.cover"),
        ("back_gutter = { depth = 1 }", "CP103", "back_gutter.depth"),
    ],
)
def test_what_would_not_meet_is_found(tmp_path: Path, more: str, code: str, key: str) -> None:
    found = fault(tmp_path, more=more)
    assert (found.code, found.where.rpartition("detail[1].")[2]) == (code, key)


@pytest.mark.parametrize("first", [-20.0, 0.0, 60.0])
@pytest.mark.parametrize("sides", ["step_flashing", "step_and_cover"])
def test_a_joint_below_the_water_line_is_refused_once_and_where_it_was_written(tmp_path, sides, first) -> None:
    """At 0 the arithmetic was said to be at fault; below the roof the file was refused, not the joint."""
    found = fault(tmp_path, more=f"{sides} = {{ return = {{ length = 150, joint = 1 }} }}", first=first)
    assert (found.code, found.where.rpartition("detail[1].")[2]) == ("CP408", f"{sides}.return.joint")


@pytest.mark.parametrize(
    ("more", "code", "key"),
    [
        ("apron = { side = 90 }", "CP303", "apron.side"),
        ("step_flashing = { return = { length = 90 } }", "CP303", "step_flashing.return.length"),
        ("back_gutter = { side = 90 }", "CP303", "back_gutter.side"),
        ("cover_flashing = { returns = 90 }", "CP303", "cover_flashing.returns"),
        ("back_gutter = { upstand = 100 }\ncover_flashing = { cover = 130 }", "CP306", "cover_flashing.cover"),
    ],
)
def test_parts_that_meet_by_less_than_practice_has_it_are_warned_of(
    tmp_path: Path, more: str, code: str, key: str
) -> None:
    _, findings = surveyed(tmp_path, more=more)
    (found,) = [f for f in findings if f.severity is Severity.WARNING]
    assert (found.code, found.where.rpartition("detail[1].")[2]) == (code, key)
    assert "common practice, no source" in found.accepted


def test_a_cover_flashing_that_hangs_as_far_as_is_said_covers_the_gutter(tmp_path: Path) -> None:
    more = "back_gutter = {{ upstand = 100.4 }}\ncover_flashing = {{ cover = {} }}"
    _, findings = surveyed(tmp_path, more=more.format(130))
    (found,) = [f for f in findings if f.code == "CP306"]
    (told,) = re.findall(r"hang down (\d+) mm", found.remedy)
    _, findings = surveyed(tmp_path, more=more.format(told))
    assert "CP306" not in {f.code for f in findings}


def test_joints_that_stop_below_the_cover_flashing_are_found(tmp_path: Path) -> None:
    path = tmp_path / "c.toml"
    joints = [60 + 75 * k for k in range(10)]
    path.write_text(
        'name = "J"\npitch = 40\ncovering = "plain tile 265"\n[[detail]]\nkind = "chimney"\nwidth = 900\ndepth = 700\n'
        f"coursing = {{ joints = {joints} }}\n",
        encoding="utf-8",
    )
    with pytest.raises(Refused) as refused:
        load_job(path)
    (found,) = faults(refused.value.findings)
    assert (found.code, found.where) == ("CP402", f"{path}: detail[1].coursing")
    assert "at the back" in found.remedy


ON_SHEET = 'step_and_cover = { covering = { name = "profiled sheet", flatter_by = 0 } }'


@pytest.mark.parametrize(("pitch", "upstand", "warned"), [(30, 92, False), (45, 92, True), (45, 110, False)])
def test_an_apron_lies_far_enough_under_a_cover(tmp_path: Path, pitch: int, upstand: int, warned: bool) -> None:
    """Its side reaches min(150, upstand / tan p) / cos p up the slope; the lap along a slope of 30 or more is 150."""
    more = f"{ON_SHEET}\napron = {{ upstand = {upstand} }}"
    _, findings = surveyed(tmp_path, more=more, pitch=pitch)
    found = [f for f in findings if f.code == "CP303"]
    assert bool(found) is warned
    assert all(f.severity is Severity.WARNING and f.where.endswith("apron.upstand") for f in found)
    _, plain = surveyed(tmp_path, more=f"apron = {{ upstand = {upstand} }}", pitch=pitch)
    assert not [f for f in plain if f.code == "CP303"]


@pytest.mark.parametrize(
    ("pitch", "side", "warned"), [(20, 206, True), (20, 207, False), (40, 114, True), (40, 115, False)]
)
def test_a_gutter_lies_far_enough_over_a_cover(tmp_path: Path, pitch: int, side: int, warned: bool) -> None:
    """Its side reaches side / cos p down the slope; wanted are 75 / sin 20 = 219.3, and 150 from 30 degrees."""
    more = f"{ON_SHEET}\nback_gutter = {{ side = {side} }}"
    _, findings = surveyed(tmp_path, more=more, pitch=pitch)
    found = [f for f in findings if f.where.endswith("back_gutter.side")]
    assert [(f.code, f.severity) for f in found] == [("CP303", Severity.WARNING)] * warned
    _, plain = surveyed(tmp_path, more=f"back_gutter = {{ side = {side} }}", pitch=pitch)
    assert not [f for f in plain if f.code == "CP303"]


@pytest.mark.parametrize(("side", "warned"), [(169, True), (170, False)])
def test_parts_on_tiles_lap_by_the_pitch_of_their_surface(tmp_path: Path, side: int, warned: bool) -> None:
    """Interlocking tiles on a roof at 28 degrees lie at 23: 75 / sin 23 is 191.9, and 169.5 / cos 28 reaches as far."""
    more = f'step_and_cover = {{ covering = "interlocking tile" }}\nback_gutter = {{ side = {side} }}'
    _, findings = surveyed(tmp_path, more=more, pitch=28)
    found = [f for f in findings if f.where.endswith("back_gutter.side")]
    assert bool(found) is warned
    assert all("along a slope of 23 deg" in f.accepted for f in found)


@pytest.mark.parametrize(
    ("more", "figures", "sides"),
    [
        ("", {"gutter_side": 200}, (200.0, 200.0)),
        ("", {"chimney_return": 120}, (150.0, 150.0)),
        ("", {"gutter_side": 80}, (80.0, 150.0)),
        ("", {"chimney_return": 180}, (150.0, 180.0)),
        ("back_gutter = false", {"gutter_side": 200}, (None, 150.0)),
        ("back_gutter = { side = 0 }", {}, (0.0, 150.0)),
        ("back_gutter = { side = 170 }", {"gutter_side": 160}, (170.0, 170.0)),
    ],
)
def test_returns_over_the_gutter_go_as_far_as_its_sides_by_a_shops_own_figures_too(tmp_path, more, figures, sides):
    path = tmp_path / "chimney.toml"
    path.write_text(TEXT.format(pitch=40, size="depth = 700", gauge=75.0, first=60.0, more=more), encoding="utf-8")
    shop = tmp_path / "shop.toml"
    lines = [f'[[fact]]\nname = "{k}"\nvalue = {v}\nunit = "mm"\nsource = "ours"\n' for k, v in figures.items()]
    shop.write_text("\n".join(lines), encoding="utf-8")
    (job,) = plan([path], shop_rules=shop if figures else None).jobs
    gutter = next((d for d in job.details if isinstance(d, BackGutter)), None)
    assert (gutter and gutter.side_mm, of_kind(job, CoverFlashing).return_mm) == sides


@pytest.mark.parametrize(
    ("size", "more", "key", "found", "accepted"),
    [
        ("depth = 260", "cover_flashing = { returns = 300 }", "cover_flashing.returns", "300 mm", "260 mm"),
        ("depth = 260", "back_gutter = { side = 270 }", "back_gutter.side", "270 mm", "260 mm"),
        ("depth = 130", "apron = { cover = 160 }", "apron.side", "150 mm", "130 mm"),
        ("depth = 700\nwidth = 310", "step_flashing = { return = { length = 350 } }", "return.length", "350", "310"),
    ],
)
def test_no_part_goes_round_an_arris_past_the_next_one(tmp_path, size, more, key, found, accepted):
    text = TEXT.replace("width = 900\n", "") if "width" in size else TEXT
    path = tmp_path / "chimney.toml"
    path.write_text(text.format(pitch=40, size=size, gauge=75.0, first=60.0, more=more), encoding="utf-8")
    with pytest.raises(Refused) as refused:
        plan([path])
    told = [f for f in faults(refused.value.findings) if f.code == "CP412" and f.where.endswith(key)]
    assert any(found in fault.found and accepted in fault.accepted for fault in told)
    assert not any("not your survey" in fault.remedy for fault in faults(refused.value.findings))
