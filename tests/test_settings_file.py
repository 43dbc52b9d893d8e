"""What is settled by whom: typed, beside the jobs, by the user, or built in."""

from __future__ import annotations

from pathlib import Path

import pytest

from cutpath.errors import Refused
from cutpath.settings_file import KEYS, beside, choose, layers, user_file
from cutpath.values.choices import Origin
from cutpath.values.formats import ALL_FORMATS, Format


@pytest.fixture
def home(tmp_path, monkeypatch) -> Path:
    """A user's folder for configuration, and a working folder without settings."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "home"))
    file = user_file()
    assert file is not None
    file.parent.mkdir(parents=True)
    (tmp_path / "work").mkdir()
    monkeypatch.chdir(tmp_path / "work")
    return file


def beside_jobs(tmp_path: Path, text: str, folder: str = "jobs") -> Path:
    place = tmp_path / folder
    place.mkdir(exist_ok=True)
    (place / "cutpath.toml").write_text(text)
    return place / "job.toml"


def origins(choices) -> dict[str, Origin]:
    return {s.key: s.origin for s in choices.settled}


def test_the_first_that_says_anything_counts(home, tmp_path):
    home.write_text('gap = "1 cm"\nrolls = "ladder-75"\nformats = "all"\n')
    job = beside_jobs(tmp_path, 'gap = 4\nmachine = "pen-marker"\n')
    found = choose({"gap": 2.0, "rolls": None}, layers([job]))
    assert (found.gap_mm, found.rolls, found.machines, found.formats) == (
        2.0,
        "ladder-75",
        ("pen-marker",),
        ALL_FORMATS,
    )
    assert origins(found) == {
        "rolls": Origin.USER,
        "practice": Origin.BUILT_IN,
        "machine": Origin.BESIDE,
        "gap": Origin.COMMAND,
        "formats": Origin.USER,
        "stock": Origin.BUILT_IN,
        "prices": Origin.BUILT_IN,
    }
    assert choose({}, layers([job])).gap_mm == 4.0
    assert choose({}, layers([tmp_path / "elsewhere.toml"])).gap_mm == 10.0
    assert choose({}, layers([job], home)).machines == ()


def test_without_any_file_all_is_built_in(home):
    found = choose({}, layers([]))
    assert set(origins(found).values()) == {Origin.BUILT_IN}
    assert (found.rolls, found.practice, found.machines, found.gap_mm) == (None, None, (), 0.0)
    assert (found.formats, found.stock) == (frozenset(), None)


@pytest.mark.parametrize("name", ["gone.toml", "gone", f"{300 * 'a'}.toml"])
def test_rules_that_are_not_there_are_told_where_they_are_named(home, tmp_path, name):
    with pytest.raises(Refused) as told:
        layers([beside_jobs(tmp_path, f'practice = "{name}"\n')])
    (fault,) = told.value.findings
    assert (fault.code, fault.found) == ("CP205", f'no file "{name}"')
    assert fault.where.endswith("cutpath.toml: practice")


def test_files_count_from_where_the_settings_lie(home, tmp_path):
    (tmp_path / "jobs").mkdir()
    for name in ("ours.toml", "table.toml", "no-rules.toml"):
        (tmp_path / "jobs" / name).write_text("")
    text = 'rolls = "ours.toml"\npractice = "no-rules.toml"\nmachine = ["pen-marker", "./table.toml"]\n'
    found = choose({}, layers([beside_jobs(tmp_path, f'{text}stock = "s.sqlite3"\nprices = "p.toml"\n')]))
    folder = tmp_path / "jobs"
    assert Path(found.rolls) == folder / "ours.toml"
    assert Path(found.practice) == folder / "no-rules.toml"
    assert (found.machines[0], Path(found.machines[1])) == ("pen-marker", folder / "table.toml")
    assert Path(found.stock) == folder / "s.sqlite3"
    assert Path(found.prices) == folder / "p.toml"
    assert found.told()["rolls"] == {"value": "ours.toml", "from": "beside the jobs"}, "no path of this machine"


@pytest.mark.parametrize(
    ("beside_says", "typed", "stock"),
    [
        ("# nothing", None, None),
        ("# nothing", "", ""),
        ("stock = true", None, ""),
        ("stock = false", "", ""),
        ('stock = "/s"', None, "/s"),
        ('stock = "/s"', "", "/s"),
        ('stock = "/s"', "/t", "/t"),
        ('stock = "/s"', False, None),
    ],
)
def test_which_stock_is_drawn_on(home, tmp_path, beside_says, typed, stock):
    found = choose({"stock": typed}, layers([beside_jobs(tmp_path, beside_says)]))
    assert found.stock == stock


@pytest.mark.parametrize(
    ("text", "path", "says"),
    [
        ('rols = "ladder-30"', "rols", "Did you mean rolls?"),
        ('rolls = "lader-30"', "rolls", "Did you mean ladder-30?"),
        ('rolls = "gone.toml"', "rolls", "from the folder of the file"),
        ('machine = ["pen-marker", "pen-maker"]', "machine[2]", "Did you mean pen-marker?"),
        ('gap = "2"', "gap", ""),
        ("gap = -1", "gap", ""),
        ('formats = ["dxf", "dwx"]', "formats[2]", ""),
        ('formats = "every"', "formats", ""),
        ("stock = 3", "stock", "the name of another"),
        ("gap = ", "the end of the file", ""),
        ("", "an empty file", "take the file away"),
        (" \n", "an empty file", "take the file away"),
    ],
)
def test_every_fault_of_every_file_is_told_with_its_key(home, tmp_path, text, path, says):
    home.write_text("gap = true\n")
    with pytest.raises(Refused) as refused:
        layers([beside_jobs(tmp_path, text)])
    assert {f.code for f in refused.value.findings} == {"CP205"}
    first, *_, last = refused.value.findings
    assert path in f"{first.where} {first.found}"
    assert says in first.remedy
    assert last.where == f"{home}: gap"


def test_all_faults_of_a_file_are_told_at_once(home, tmp_path):
    with pytest.raises(Refused) as refused:
        layers([beside_jobs(tmp_path, 'gapp = 1\nrolls = "lader-30"\nmachine = [3, "pen-maker"]\nstock = 1\n')])
    places = {f.where.rpartition(": ")[2] for f in refused.value.findings}
    assert places == {"gapp", "rolls", "machine[1]", "machine[2]", "stock"}


def test_jobs_of_two_folders_with_settings_each_are_sent_back(home, tmp_path):
    jobs = [beside_jobs(tmp_path, "gap = 1"), beside_jobs(tmp_path, "gap = 2", "others")]
    with pytest.raises(Refused, match="--settings FILE"):
        layers(jobs)
    assert beside([jobs[0], tmp_path / "without" / "job.toml"]) == tmp_path / "jobs" / "cutpath.toml"
    assert choose({}, layers(jobs, jobs[1].parent / "cutpath.toml")).gap_mm == 2.0


def test_every_key_has_an_origin_and_every_format_can_be_settled(home, tmp_path):
    names = ", ".join(f'"{form.value}"' for form in Format)
    found = choose({}, layers([beside_jobs(tmp_path, f"formats = [{names}]")]))
    assert found.formats == ALL_FORMATS
    assert tuple(s.key for s in found.settled) == KEYS


def test_a_folder_in_the_place_of_the_settings_is_told(tmp_path):
    (tmp_path / "cutpath.toml").mkdir()
    with pytest.raises(Refused) as told:
        layers([tmp_path / "job.toml"])
    (finding,) = told.value.findings
    assert finding.code == "CP205"
    assert finding.found == "it is a folder"
