"""A user without a home, as services and containers have them: nothing of theirs is found, and all else works."""

from __future__ import annotations

import json
import sys

import pytest

from cutpath.found import own_folder
from cutpath.nesting import compiled
from cutpath.settings_file import user_file
from tests.cli.running import run
from tests.golden.corpus import ROOT

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="there a user's folders are found otherwise")


@pytest.fixture(autouse=True)
def _homeless(monkeypatch, tmp_path):
    import pwd

    def nobody(_: object) -> None:
        raise KeyError("no such user")

    monkeypatch.chdir(tmp_path)
    for name in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(pwd, "getpwuid", nobody)


def test_no_folder_is_found_and_none_is_made_by_the_sign_of_one(tmp_path):
    assert user_file() is None
    assert own_folder(lambda *_, **__: tmp_path / "data") == tmp_path / "data"
    assert own_folder(lambda *_, **__: (tmp_path / "data").relative_to(tmp_path)) is None


def test_jobs_and_a_stock_that_is_named_are_worked_on(tmp_path):
    assert run("check", ROOT / "fixtures/jobs/barn-abutment.toml").returncode == 0
    assert run("stock", "add", "--stock", "shop.db", "--code", 4, "--width", 450, "--length", 6000).returncode == 0
    assert json.loads(run("settings", "--json").stdout)["user_file"] == ""
    assert "needs a home folder" in run("settings").stderr
    assert [p.name for p in tmp_path.iterdir()] == ["shop.db"]


def test_a_stock_that_nobody_names_has_no_place(tmp_path):
    for words in (["stock", "list"], ["stock", "add", "--code", 4, "--width", 450, "--length", 6000], ["run", "list"]):
        done = run(*words)
        assert (done.returncode, "[CP801]" in done.stderr, "--stock FILE" in done.stderr) == (1, True, True)
    assert list(tmp_path.iterdir()) == []


def test_the_search_is_compiled_anew_where_it_cannot_be_kept(monkeypatch):
    package = ROOT / "cutpath"
    monkeypatch.setattr(compiled.os, "access", lambda *_: False)
    assert compiled.cache_folder(package).startswith(str(package))
    monkeypatch.setenv("XDG_CACHE_HOME", "/kept")
    assert compiled.cache_folder(package).startswith("/kept/cutpath/")
