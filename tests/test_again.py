"""A run made once more from what its manifest keeps: the same bytes, whatever became of its files meanwhile."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest

from cutpath import again
from cutpath.errors import Refused
from cutpath.output import MANIFEST, made_from, read_manifest
from tests.cli.running import Done, run
from tests.output.made import held

pytestmark = pytest.mark.nests

JOB = """
name = "Long wall"
pitch = 40
covering = "plain tile 265"

[[detail]]
kind = "step flashing"
length = 3400
hands = "pair"
soakers = true
coursing = { gauge = 75, first_joint = 120 }

[[detail]]
kind = "outline"
code = 4
dxf = "plate.dxf"
quantity = 3
"""
OWN_RULES = """
[[fact]]
name = "turn_in"
value = 30
unit = "mm"
source = "as this invented shop does it"
"""
ROLLS = 'rolls = [{ width_mm = 390, length_mm = "3 m" }, { width_mm = 600, length_mm = 6000 }]\n'


def drawing(path: Path) -> None:
    document = ezdxf.new(units=4)
    document.modelspace().add_lwpolyline(
        [(0, 0), (300, 0), (340, 90), (0, 120)], close=True, dxfattribs={"layer": "OUTER"}
    )
    document.saveas(path)


def command(folder: Path, *arguments: object) -> Done:
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        return run(*arguments)


@pytest.fixture(scope="module")
def whole(tmp_path_factory) -> Path:
    """A folder with a run, its job and everything else that it was made from."""
    folder = tmp_path_factory.mktemp("whole")
    (folder / "wall.toml").write_text("\ufeff" + JOB.replace("\n", "\r\n"))
    (folder / "rules.toml").write_text(OWN_RULES)
    (folder / "rolls.toml").write_text(ROLLS)
    drawing(folder / "plate.dxf")
    done = command(
        folder,
        *("make", "wall.toml", "--rolls", "rolls.toml", "--practice", "rules.toml", "--work", 60_000, "--seed", 3),
        *("--all", "--machine", "drawing-table", "--labels", "3x8", "--template", "LW-S1-L1", "--gap", 2),
    )
    assert done.returncode == 0, done.stderr
    return folder


@pytest.fixture
def folder(whole, tmp_path) -> Path:
    shutil.copytree(whole, tmp_path / "copy")
    return tmp_path / "copy"


def test_a_run_made_once_more_is_the_same_in_every_byte(folder):
    done = command(folder, "run", "repeat", "cut", "--out", "second")
    assert done.returncode == 0, done.stderr
    assert "are the same" in done.stdout
    assert "[CP707]" not in done.stderr
    assert held(folder / "second") == held(folder / "cut")
    assert len(held(folder / "cut")) > 20


def test_it_needs_nothing_but_its_manifest(folder, tmp_path):
    alone = tmp_path / "alone"
    alone.mkdir()
    shutil.copy(folder / "cut" / MANIFEST, alone / MANIFEST)
    for file in folder.glob("*.*"):
        file.unlink()
    done = command(folder, "run", "repeat", alone, "--out", "second")
    assert done.returncode == 0, done.stderr
    assert held(folder / "second") == held(folder / "cut")
    for name in ("wall.toml", "rules.toml", "rolls.toml", "plate.dxf"):
        assert f"{name}: it is not to be found" in done.stderr


def test_it_says_what_has_changed_since_and_is_the_same_all_the_same(folder):
    names = ["plate.dxf", "rolls.toml", "rules.toml", "wall.toml"]
    for name in names:
        (folder / name).write_bytes((folder / name).read_bytes() + b"\n")
    done = command(folder, "run", "repeat", "cut")
    assert done.returncode == 0, done.stderr
    assert [line for line in done.stderr.splitlines() if "CP707" in line] == [
        f"note: {name}: it has changed since the run was made; the file as it was. [CP707]" for name in names
    ]


def test_it_says_what_comes_out_otherwise(folder):
    manifest = read_manifest((folder / "cut" / MANIFEST).read_bytes())
    other = replace(
        manifest,
        entries=tuple(replace(e, sha256="0" * 64) if e.path == "tickets.html" else e for e in manifest.entries),
    )
    (folder / "cut" / MANIFEST).write_text(other.text())
    done = command(folder, "run", "repeat", "cut")
    assert done.returncode == 1
    assert "tickets.html otherwise" in done.stderr
    assert "[CP708]" in done.stderr
    assert "are the same" not in done.stdout


def test_a_nest_that_was_meddled_with_does_not_pass_the_judge(folder):
    run_ = again.earlier(folder / "cut")
    laid = run_.made_from.laid[0]
    first = laid.nest.rolls[0]
    moved = replace(first.placements[0], x_mm=first.placements[0].x_mm + 40.0)
    rolls = (replace(first, placements=(moved, *first.placements[1:])), *laid.nest.rolls[1:])
    other = replace(laid, nest=replace(laid.nest, rolls=rolls))
    meddled = replace(run_, made_from=replace(run_.made_from, laid=(other, *run_.made_from.laid[1:])))
    with pytest.raises(Refused) as refused:
        again.repeat(meddled)
    assert {f.code for f in refused.value.findings} == {"CP503"}


def test_what_is_kept_is_read_back_as_it_was(folder):
    kept = again.earlier(folder / "cut").made_from
    assert kept.divisions, "the wall was to be divided as suits the rolls"
    assert kept.files["plate.dxf"] == (folder / "plate.dxf").read_bytes()
    strange = replace(kept, files={**kept.files, "scan.dxf": bytes(range(256))})
    assert made_from.made_from(json.loads(json.dumps(made_from.plain(strange)))) == strange


@pytest.mark.parametrize(
    "broken",
    [
        lambda folder: (folder / MANIFEST).unlink(),
        lambda folder: (folder / MANIFEST).write_text("{}"),
        lambda folder: (folder / MANIFEST).write_text((folder / MANIFEST).read_text().replace("Long wall", "Log wall")),
        lambda folder: (folder / MANIFEST).write_text(
            replace(read_manifest((folder / MANIFEST).read_bytes()), made_from={}).text()
        ),
        lambda folder: (folder / MANIFEST).write_text(
            replace(read_manifest((folder / MANIFEST).read_bytes()), made_from={"asked": {"jobs": 5}}).text()
        ),
    ],
    ids=["none", "another", "changed", "of an earlier version", "of a later version"],
)
def test_what_is_no_run_is_refused(folder, broken):
    broken(folder / "cut")
    done = command(folder, "run", "repeat", "cut", "--out", "second")
    assert (done.returncode, "[CP706]" in done.stderr) == (1, True), done.stderr
    assert not (folder / "second").exists()
