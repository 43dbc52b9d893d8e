"""A list of batches: what it settles for each, what goes before what, and every fault with its key path."""

from __future__ import annotations

from pathlib import Path

import pytest

from cutpath.batches import one
from cutpath.batches.listing import Entry, read_list
from cutpath.errors import Refused
from cutpath.values.choices import Origin
from cutpath.values.nest import STEPS_PER_SECOND, Budget, Objective, OffcutRule


@pytest.fixture
def read(tmp_path, monkeypatch):
    """Read a list that lies in a folder with two jobs, seen from the folder above."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    folder = Path("night")
    for name in ("north/b", "north/a", "south/c"):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / f"{name}.toml").write_text("")
    (folder / "north" / "cutpath.toml").write_text('gap = 3\nrolls = "ladder-75"\n')

    def reading(text: str) -> tuple[Entry, ...]:
        (folder / "list.toml").write_text(text)
        return read_list(folder / "list.toml")

    return reading


BATCH = '[[batch]]\njobs = ["south/c.toml"]\nfolder = "cut"\n'


def test_a_batch_goes_before_the_top_and_that_before_settings_files(read):
    top = 'gap = "2 mm"\nformats = "all"\nseed = 7\nseconds = 3\nleast = "bought"\nkeep = [400, 200]\n'
    north = '[[batch]]\nname = "N"\njobs = ["north/*.toml"]\nfolder = "n"\ngap = 1\nwork = 5\n'
    first, second = read(top + north + BATCH)
    assert first.asked.jobs == ("night/north/a.toml", "night/north/b.toml")
    assert (first.name, first.folder) == ("N", Path("night/n"))
    assert (second.name, second.folder) == ("cut", Path("night/cut"))
    assert (first.asked.settings.gap_mm, second.asked.settings.gap_mm) == (1.0, 2.0)
    assert (first.asked.rolls, second.asked.rolls) == ("ladder-75", None)
    assert {first.asked.settings.seed, second.asked.settings.seed} == {7}
    assert first.asked.settings.budget == Budget(work=5)
    assert second.asked.settings.budget == Budget(work=3 * STEPS_PER_SECOND)
    assert second.asked.settings.objective is Objective.BOUGHT
    assert second.asked.settings.offcuts == OffcutRule(400.0, 200.0, 0.5)
    told = first.asked.settled
    assert told["gap"]["from"] == told["formats"]["from"] == Origin.LIST
    assert told["rolls"]["from"] == Origin.BESIDE


def test_seconds_are_work_so_that_no_clock_is_read(read):
    (only,) = read(BATCH)
    assert only.asked.settings.budget == Budget(work=20 * STEPS_PER_SECOND)


def test_opening_a_roll_has_a_price_of_its_own(read):
    (only,) = read(BATCH + 'least = "bought"\nopening = 1.5\n')
    assert (only.asked.settings.objective, only.asked.settings.opening) == (Objective.BOUGHT, 1.5)


def test_files_count_from_where_the_list_lies(read):
    Path("night/own.toml").write_text("")
    (only,) = read('rolls = "own.toml"\nstock = "shelf.sqlite3"\n' + BATCH)
    assert (only.asked.rolls, only.stock) == ("night/own.toml", "night/shelf.sqlite3")
    assert only.reads() == ("night/south/c.toml", "night/own.toml")


def test_a_machine_steers_its_batch_alone(read):
    other = BATCH.replace('"cut"', '"other"')
    plain, cut = read(BATCH + other + 'machine = "flatbed-knife"\nin_frames = true\n')
    assert plain.asked.settings.frame_mm is None
    assert cut.asked.settings.frame_mm is not None
    assert cut.asked.machines == ("flatbed-knife",)


@pytest.mark.parametrize(
    ("text", "place", "found"),
    [
        ("", "batch", "nothing"),
        (BATCH + "sed = 4\n", "batch[1].sed", 'unknown key "sed"'),
        ("folder = 4\n" + BATCH, "folder", 'unknown key "folder"'),
        (BATCH + "seed = -1\n", "batch[1].seed", "-1"),
        (BATCH + 'rolls = "ladder-31"\n', "batch[1].rolls", '"ladder-31"'),
        ('machine = ["pen-marker", "none"]\n' + BATCH, "machine[2]", '"none"'),
        (BATCH.replace("south/c.toml", "-"), "batch[1].jobs", '"-", which is standard input'),
        (BATCH.replace("south/c.toml", "south/*.xlsx"), "batch[1].jobs", 'no file is called "south/*.xlsx"'),
        (BATCH.replace("south/c", "a**b"), "batch[1].jobs", 'no file is called "a**b.toml"'),
        (BATCH + "seconds = 1\nwork = 1\n", "batch[1].work", "seconds and work"),
        (BATCH + "opening = 2\n", "batch[1].opening", "2, and the least is drawn"),
        (BATCH + "either_face = true\nhidden_side = true\n", "batch[1].either_face", "true, and hidden_side too"),
        (BATCH + "in_frames = true\n", "batch[1].in_frames", "true, without a machine"),
        (BATCH + BATCH.replace('"cut"', '"./cut/"'), "batch[2].folder", '"./cut/" is the folder of batch[1]'),
        (BATCH + BATCH.replace('"cut"', '"CUT"'), "batch[2].folder", '"CUT" is the folder of batch[1]'),
        (BATCH.replace('"cut"', '"cut/a"') + BATCH, "batch[1].folder", '"cut/a" lies in the folder of batch[2]'),
        (
            BATCH + 'name = "x"\n' + BATCH.replace('"cut"', '"b"') + 'name = "x"\n',
            "batch[2].name",
            '"x" is what batch[1] is called',
        ),
        (BATCH + 'name = "a\\nb"\n', "batch[1].name", "a text of several lines"),
        (BATCH + 'name = ""\n', "batch[1].name", '""'),
        ("[[batch]\n", "", "expected ']]' at the end of an array declaration at line 1, column 8"),
    ],
)
def test_what_is_wrong_is_told_by_its_key_path(read, text, place, found):
    with pytest.raises(Refused) as refusal:
        read(text)
    (finding,) = refusal.value.findings
    assert finding.code == "CP208"
    assert finding.where == (f"night/list.toml: {place}" if place else "night/list.toml")
    assert finding.found == found
    assert "1 letters" not in finding.accepted


def test_neither_the_list_nor_settings_are_among_the_jobs_that_lie_beside_it(read):
    for name in ("d.toml", "._d.toml", "~$d.toml"):
        Path("night", name).write_text("")
    Path("night/cutpath.toml").write_text("gap = 1\n")
    (only,) = read(BATCH.replace("south/c.toml", "*.toml"))
    assert only.asked.jobs == ("night/d.toml",)


def test_a_job_that_can_be_no_file_is_told_when_its_batch_is_made(read):
    (only,) = read(BATCH.replace("south/c", "a" * 300 + "/b"))
    with pytest.raises(Refused) as refusal:
        one.read(only.asked)
    (finding,) = refusal.value.findings
    assert (finding.code, finding.found) == ("CP101", "file name too long")


def test_all_faults_are_told_at_once(read):
    (Path("night") / "north" / "cutpath.toml").write_text("gap = -3\n")
    north = '[[batch]]\njobs = ["north/a.toml"]\nfolder = "n"\n'
    with pytest.raises(Refused) as refusal:
        read(north + north.replace('"n"', '"m"') + BATCH + "in_frames = true\n")
    assert [(f.code, f.where) for f in refusal.value.findings] == [
        ("CP205", "night/north/cutpath.toml: gap"),
        ("CP208", "night/list.toml: batch[3].in_frames"),
    ]
