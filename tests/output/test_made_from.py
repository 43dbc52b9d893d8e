"""A manifest that somebody wrote and sealed himself says where it is at fault, and opens nothing that is no file."""

from __future__ import annotations

import json
import math
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from cutpath import again
from cutpath.errors import Refused
from cutpath.output import MANIFEST
from cutpath.output.manifest import sealed
from tests.fuzz.mutants import seeds


def told(folder: Path, change: Callable[[dict[str, Any]], object], which: int = 0) -> Path:
    """Put the manifest of a run into a folder, changed and sealed again."""
    whole = json.loads(seeds()["manifest"].texts[which])
    change(whole["made_from"])
    del whole["seal"]
    folder.mkdir(exist_ok=True)
    (folder / MANIFEST).write_text(sealed(whole))
    return folder


def put(*way: str | float | list[Any] | None) -> Callable[[dict[str, Any]], object]:
    *keys, last, value = way

    def change(made: Any) -> None:
        for key in keys:
            made = made[key]
        made[last] = value

    return change


ROLL, NEST = ("laid", 0, "rolls", 0), ("laid", 0, "nest")


@pytest.mark.parametrize(
    ("change", "where", "found"),
    [
        (put(*ROLL, "length_mm", math.inf), "laid[1].rolls[1].length_mm", "inf in the place of a number"),
        (put(*ROLL, "length_mm", 1e9), "laid[1].rolls[1].length_mm", "1000000000.0, needed: 1000000 mm at most"),
        (put(*NEST, "rolls", 0, "roll", "width_mm", -3.0), "laid[1].nest.rolls[1].roll.width_mm", "more than 0"),
        (put(*NEST, "rolls", 0, "placements", 0, ["a"]), "placements[1]", "a row of 1 in the place of 6"),
        (put(*NEST, "rolls", 0, "placements", 0, 3, 1), "placements[1].flipped", "1 in the place of true or"),
        (put(*NEST, "bound_mm2", "3"), "laid[1].nest.bound_mm2", '"3" in the place of a number'),
        (put("laid", 0, "code", 4.0), "laid[1].code", "4.0 in the place of a whole number"),
        (put("laid", {}), "made_from.laid", "a table in the place of a list"),
        (put("asked", "labels", "9x9"), "made_from.asked.labels", "9x9 is neither"),
        (put("asked", "formats", ["exe"]), "made_from.asked.formats[1]", '"exe" in the place of one of the known'),
        (put("asked", "settings", "gap", 1), "made_from.asked.settings.gap", "a key that is not known"),
        (put("asked", "settings", 7), "made_from.asked.settings", "7 in the place of a table"),
        (put("files", "job.toml", {"base64": "?"}), "made_from.files.job.toml", "neither text nor base64"),
        (put("again", "\x1b[2J"), "made_from.again", "in the place of text that can be seen"),
        (lambda made: made.pop("asked"), "manifest.json: made_from ", "a table without some of asked, files"),
        (lambda made: made.clear(), "", "kept nothing of what it was made from"),
    ],
)  # fmt: skip
def test_what_is_not_as_it_should_be_is_named_by_its_keys(change, where, found, tmp_path):
    with pytest.raises(Refused) as refused:
        again.earlier(told(tmp_path, change))
    (finding,) = refused.value.findings
    assert finding.code == "CP706"
    assert where in f"{finding.where} "
    assert found in finding.found


@pytest.mark.parametrize("which", [0, 1])
def test_a_sound_one_is_read_back_and_made_once_more(which, tmp_path):
    run = again.earlier(told(tmp_path, lambda _: None, which))
    assert again.differences(run, again.repeat(run)) == ()


def test_what_may_stand_in_a_name_of_a_list_of_rolls_may_stand_in_what_is_kept_of_it(tmp_path):
    """Tabs may; a run that was made on such a list could not be repeated."""
    run = again.earlier(told(tmp_path, put(*ROLL, "name", "rack\t2")))
    assert run.made_from.laid[0].rolls[0].name == "rack\t2"


@pytest.mark.parametrize("only", [{"FC-P1-1": 10**9}, {"FC-P1-1": 3}, {"FC-P1-1": 0}, {"FC-X1": 1}])
def test_no_more_of_a_piece_is_cut_once_more_than_there_are(only, tmp_path):
    """A milliard of them filled the memory."""
    run = again.earlier(told(tmp_path, put("only", only), 1))
    with pytest.raises(Refused, match=r"of a piece of which there are [02]") as refused:
        again.repeat(run)
    assert f"made_from.only.{next(iter(only))}" in refused.value.findings[0].where


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="a system without named pipes")
def test_no_pipe_that_it_names_is_opened(tmp_path, monkeypatch):
    """A pipe without a writer would be waited for without an end."""
    monkeypatch.chdir(tmp_path)
    os.mkfifo("pipe")
    run = again.earlier(told(tmp_path / "cut", put("files", "pipe", "")))
    assert "cannot be found" in next(f.found for f in again.changed_inputs(run.made_from) if f.where == "pipe")
    for change in (put("asked", "rolls", "pipe"), put("asked", "practice", "pipe"), put("asked", "machines", ["pipe"])):
        run = again.earlier(told(tmp_path / "cut", change))
        for step in (again.repeat, lambda run: again.planned_anew(run, ["job.toml"])):
            with pytest.raises(Refused):
                step(run)
    run = again.earlier(told(tmp_path / "cut", put("asked", "jobs", ["pipe"])))
    with pytest.raises(Refused, match="it is not a plain file"):
        again.planned_anew(run, ["pipe"])
    (tmp_path / "cut" / MANIFEST).unlink()
    os.mkfifo(tmp_path / "cut" / MANIFEST)
    with pytest.raises(Refused, match="it is not a plain file"):
        again.earlier(tmp_path / "cut")


def test_a_file_of_another_size_is_not_read_to_see_that_it_changed(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    run = again.earlier(told(tmp_path / "cut", lambda _: None))
    for name, data in run.made_from.files.items():
        Path(name).write_bytes(data)
    assert again.changed_inputs(run.made_from) == []
    Path("job.toml").write_bytes(run.made_from.files["job.toml"].replace(b"4000", b"4001"))
    Path("rolls.toml").write_bytes(b"\n")
    assert [f.found[:14] for f in again.changed_inputs(run.made_from)] == ["it has changed"] * 2
