"""Folders and files that may not be looked at: told, or passed over, and never an error of the program."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from cutpath import recutting, shop
from cutpath.batches.listing import read_list
from cutpath.errors import Refused
from cutpath.intake.files import is_closed
from cutpath.profiles.rolls import rolls_list
from cutpath.settings_file import SETTINGS, layers, user_file
from tests.cli.running import run


@pytest.fixture
def close(monkeypatch):
    """Close a folder, for whoever runs the tests may look into every one."""

    def shut(folder: Path) -> Path:
        def denied(what, *, itself=True):
            def call(path=".", *args, **kwargs):
                inside = isinstance(path, str | Path) and folder in Path(path).absolute().parents
                if inside or (itself and Path(path) == folder):
                    raise PermissionError(13, "Permission denied", str(path))
                return what(path, *args, **kwargs)

            return call

        for name in ("stat", "lstat", "listdir", "scandir"):
            monkeypatch.setattr(os, name, denied(getattr(os, name), itself=not name.endswith("stat")))
        monkeypatch.setattr("io.open", denied(open))
        access = os.access
        monkeypatch.setattr(os, "access", lambda path, mode: Path(path) != folder and access(path, mode))
        return folder

    return shut


def test_settings_in_a_closed_folder_are_told(tmp_path, monkeypatch, close):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    file = user_file()
    file.parent.mkdir()
    close(file.parent)
    with pytest.raises(Refused) as refused:
        layers([tmp_path / "job.toml"])
    (fault,) = refused.value.findings
    assert (fault.code, fault.where, fault.found) == ("CP205", str(file), "permission denied")
    assert file.name == SETTINGS


def test_rolls_in_a_closed_folder_are_told_so(tmp_path, close):
    (tmp_path / "rolls.toml").touch()
    with pytest.raises(Refused) as refused:
        rolls_list(close(tmp_path) / "rolls.toml")
    (fault,) = refused.value.findings
    assert (fault.found, fault.remedy) == (
        "permission denied",
        "Check the name of the file and whether you may read it.",
    )


def test_a_file_in_the_place_of_a_command_may_lie_in_a_closed_folder(tmp_path, close):
    done = run(close(tmp_path) / "job.toml")
    assert (done.returncode, "there is no command" in done.stderr) == (2, True)


def test_re_cuts_are_looked_for_as_far_as_folders_can_be_read(tmp_path, close):
    (tmp_path / "others").mkdir()
    close(tmp_path / "others")
    assert recutting.recuts_in([tmp_path]) == []
    assert recutting.recuts_in([tmp_path / "others", tmp_path / "none"]) == []
    assert is_closed(tmp_path / "others")
    assert not is_closed(tmp_path)
    assert not is_closed(tmp_path / "none")
    assert shop.run_in(tmp_path / "others" / "cut") == ""


def test_jobs_that_are_looked_for_in_a_closed_folder_are_told_so(tmp_path, close):
    (tmp_path / "jobs").mkdir()
    (tmp_path / "list.toml").write_text('[[batch]]\njobs = ["jobs/*.toml"]\nfolder = "cut"\n')
    close(tmp_path / "jobs")
    with pytest.raises(Refused) as refused:
        read_list(tmp_path / "list.toml")
    (fault,) = refused.value.findings
    assert (fault.code, fault.where) == ("CP208", f"{tmp_path / 'list.toml'}: batch[1].jobs")
    assert fault.found == f"{tmp_path / 'jobs'}/ cannot be listed"
