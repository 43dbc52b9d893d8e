"""The example that comes with the program, cut in an empty folder."""

from __future__ import annotations

import pytest

from tests.cli.running import run

pytestmark = pytest.mark.nests


def test_the_example_is_cut_from_nothing_and_never_over_anything(tmp_path):
    done = run("demo", "--out", tmp_path / "try", "--work", "100")
    assert done.returncode == 0, done.stderr
    assert {file.name for file in (tmp_path / "try").iterdir()} == {
        "chimney.toml", "abutment.toml", "counter-order.toml", "cut",
    }  # fmt: skip
    assert (tmp_path / "try" / "cut" / "report.html").exists()
    assert "lead drawn" in done.stdout
    again = run("demo", "--out", tmp_path / "try")
    assert again.returncode == 1
    assert "CP701" in again.stderr
    (tmp_path / "own").mkdir()
    taken = run("demo", "--out", tmp_path / "own")
    assert taken.returncode == 1
    assert "CP701" in taken.stderr
    assert not list((tmp_path / "own").iterdir())
