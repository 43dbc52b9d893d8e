"""From job to machine files: several machines at once, beds that are too short, depths by the code of the lead."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from cutpath import pipeline
from cutpath.errors import Refused
from cutpath.machines import machine, machines
from cutpath.profiles import lead_table
from cutpath.profiles.reading import profile_root
from cutpath.values.machine import FileFormat
from cutpath.values.nest import Budget

pytestmark = pytest.mark.nests

JOB = """
name = "Invented job"
pitch = 40

[[detail]]
kind = "apron"
code = 5
width = 700

[[detail]]
kind = "apron"
code = 8
width = 600

"""
PLATE = """
[[detail]]
kind = "outline"
code = 3
points = [[0, 0], [300, 0], [300, 120], [0, 120]]
folds = [{ from = [0, 60], to = [300, 60], angle = 90 }]
"""
FOUR = ("flatbed-knife", "drawing-table", "pen-marker", "wide-printer")


@pytest.fixture(scope="module")
def job(tmp_path_factory) -> Path:
    path = tmp_path_factory.mktemp("job") / "job.toml"
    path.write_text(JOB + PLATE, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def four(job: Path) -> dict[str, bytes]:
    """The job for four machines, one of them named twice."""
    return made(job, *FOUR, "flatbed-knife")


def made(job: Path, *names: str | Path, rolls: str | None = None) -> dict[str, bytes]:
    tools = machines(names)
    settings = pipeline.Settings(budget=Budget(work=2_000)).on(tools, in_frames=False)
    planned = pipeline.plan([job], rolls, settings, None, tools)
    return pipeline.files_of(pipeline.nest_batch(planned), tools).files


def profile(name: str, folder: Path, **changes: str) -> Path:
    """A shop's own copy of a profile of ours, with lines put in before the first table or in the last head."""
    text = (profile_root() / "machines" / f"{name}.toml").read_text(encoding="utf-8")
    for line, new in changes.items():
        text, count = re.subn(rf"^{line} = .*$", new, text, count=1, flags=re.MULTILINE)
        assert count == 1
    path = folder / f"our-{name}.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_every_machine_that_is_named_gets_its_files(job: Path, four: dict[str, bytes]) -> None:
    files = four
    index = files["index.txt"].decode()
    assert all(index.count(path) == 1 for path in files if path not in {"index.txt", "manifest.json"})
    for name, suffix in (("flatbed-knife", "ngc"), ("drawing-table", "dxf"), ("pen-marker", "plt")):
        for code in (3, 5, 8):
            assert {f"rolls/code{code}-01_{name}_set-up.{form}" for form in ("txt", "pdf")} <= set(files)
            assert any(re.fullmatch(rf"rolls/code{code}-01_{name}(_\dof\d)?_mm\.{suffix}", path) for path in files)
    alone = made(job, "drawing-table")
    assert {path for path in alone if "drawing-table" in path} <= set(files)
    machines_told = {entry.get("machine") for entry in json.loads(files["manifest.json"])["files"]}
    assert machines_told == {None, *FOUR}


def test_machines_for_lead_and_for_card_are_both_served(tmp_path: Path) -> None:
    job = tmp_path / "plate.toml"
    job.write_text(f'name = "Plate"\n{PLATE}', encoding="utf-8")
    files = made(job, "pen-marker", "roll-plotter")
    assert any("pen-marker" in path for path in files)
    assert any(path.startswith("templates/") and "roll-plotter" in path for path in files)


def test_two_machines_of_one_name_are_refused(tmp_path: Path) -> None:
    own = tmp_path / "flatbed-knife.toml"
    own.write_text(profile("flatbed-knife", tmp_path, change_s="change_s = 7").read_text(encoding="utf-8"))
    with pytest.raises(Refused) as refused:
        machines(["flatbed-knife", own, "no-such-machine"])
    assert [f.code for f in refused.value.findings] == ["CP203", "CP203"]
    assert "another name" in refused.value.findings[0].remedy


def test_the_widest_gap_and_the_shortest_frame_of_all_machines_hold() -> None:
    settings = pipeline.Settings()
    for name in ("flatbed-knife", "pen-marker", "jet-table"):
        settings = settings.on([machine(name)], in_frames=name != "jet-table")
    assert settings.gap_mm == machine("jet-table").gap_mm > 0
    assert settings.frame_mm == 800 - 40


def test_depths_follow_the_thickness_of_every_code(four: dict[str, bytes]) -> None:
    for code in (3, 5, 8):
        text = "".join(data.decode() for path, data in four.items() if re.match(rf"rolls/code{code}.*ngc$", path))
        depths = {float(z) for z in re.findall(r"G1 Z(\S+)", text)}
        assert depths == {0.0, -round(lead_table()[code].thickness_mm + machine("flatbed-knife").heads[-1].mat_mm, 4)}


def test_a_bed_too_short_for_the_rolls_is_named_and_the_remedy_works(job: Path, tmp_path: Path) -> None:
    own = profile("spindle-table", tmp_path, passes="passes = 2\nspeed_mm_min = 500\nspindle_rpm = 9000")
    with pytest.raises(Refused) as refused:
        made(job, own)
    for fault in refused.value.findings:
        assert (fault.code, fault.where) == ("CP603", "our-spindle-table")
        assert "2500 × 1250 mm without a roll feed takes none of the listed rolls" in fault.found
        assert "2500 mm long" in fault.accepted
    (remedy,) = {fault.remedy for fault in refused.value.findings}
    (name,) = re.findall(r"--rolls (\S+)\.$", remedy)
    assert any(path.endswith("_our-spindle-table_mm.ngc") for path in made(job, own, rolls=name))


def test_a_bed_too_narrow_for_the_one_wide_roll_is_named(job: Path, tmp_path: Path) -> None:
    own = profile("flatbed-knife", tmp_path, width_mm="width_mm = 200")
    with pytest.raises(Refused) as refused:
        made(job, own)
    faults = refused.value.findings
    assert {f.code for f in faults} == {"CP603"}
    assert "1600 × 200 mm with a roll feed takes 4 of 32" in faults[0].found
    assert "List such rolls" in faults[0].remedy


def test_a_piece_for_which_no_list_has_a_roll_is_not_put_on_the_machine(tmp_path: Path) -> None:
    path = tmp_path / "wide.toml"
    path.write_text(
        'name = "J"\n[[detail]]\nkind = "outline"\npoints = [[0, 0], [900, 0], [900, 900], [0, 900]]\n',
        encoding="utf-8",
    )
    with pytest.raises(Refused) as refused:
        made(path, "spindle-table")
    assert [f.code for f in refused.value.findings] == ["CP603", "CP603", "CP501"]


def test_figures_that_only_the_shop_can_give_are_asked_for_before_the_nest(job: Path, tmp_path: Path) -> None:
    with pytest.raises(Refused) as refused:
        pipeline.plan([job], "cut-lengths", None, None, machines(["spindle-table"]))
    assert [(f.code, f.where) for f in refused.value.findings] == [("CP603", "spindle-table")] * 2
    assert {f.accepted for f in refused.value.findings} == {
        "a speed_mm_min of your own in a profile of your own",
        "a spindle_rpm of your own in a profile of your own",
    }
    own = profile("spindle-table", tmp_path, passes="passes = 2\nspeed_mm_min = 500\nspindle_rpm = 9000")
    assert pipeline.plan([job], "cut-lengths", None, None, machines([own])).pieces


def test_every_machine_file_is_set_up_with_hands_clear_and_a_dry_run(four: dict[str, bytes]) -> None:
    """HP-GL holds no words: there the manifest has them, as it has for all."""
    entries = {e["path"]: e for e in json.loads(four["manifest.json"])["files"] if "machine" in e}
    assert {entry["machine"] for entry in entries.values()} == set(FOUR)
    for path, entry in entries.items():
        assert "hands clear" in entry["set_up"][0]
        assert "PUWER 1998" in entry["set_up"][0]
        if machine(entry["machine"]).format is FileFormat.NGC:
            comments = re.findall(r"^\((.*)\)$", four[path].decode(), re.MULTILINE)
            assert any("hands clear" in text and "run the file dry first" in text for text in comments)
