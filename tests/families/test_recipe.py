"""The recipe in DEVELOPERS.md: a family of leadwork is five new files, and goes from words to every file there is."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


BY_THE_RECIPE = ROOT / "tests" / "recipe" / "plinth"
"""A family that the package does not know, as the recipe in DEVELOPERS.md has it: a plate under a post."""

WALKING = (
    "families/test_registry.py", "families/test_feature_uses.py", "folding/test_claims.py", "recheck/test_second.py",
    "test_choices.py", "test_feature_names.py",
)  # fmt: skip
"""Tests that walk the registry or the sources as a whole."""

OF_EACH = (
    "families/test_material.py", "faulty/test_faults.py", "jobs/test_starters.py", "test_imports.py",
    "trade/test_rules.py", "writers/test_measuring_page.py",
)  # fmt: skip
"""Tests of each family, kind, module or rule by itself."""

MADE = """
import json, sys
from pathlib import Path
from cutpath.cli import main
from cutpath.jobs import job_schema
from tests.golden.corpus import made
whole = made(Path("fixtures/jobs/porch.toml").resolve())
(piece,) = whole.batch.pieces
json.dump({
    "piece": [piece.id, piece.quantity, piece.lead.code],
    "proof": [proof.piece for proof in whole.batch.proofs],
    "files": sorted({Path(name).suffix for name in whole.files}),
    "picture": f'class="lead" data-piece="{piece.id}"' in whole.files["report.html"].decode(),
    "schema": "each side, mm" in json.dumps(job_schema()),
}, sys.stdout)
"""


def added() -> set[str]:
    return {path.relative_to(BY_THE_RECIPE).as_posix() for path in BY_THE_RECIPE.rglob("*.*") if path.is_file()}


@pytest.fixture(scope="module")
def tree(tmp_path_factory) -> Path:
    """A copy of the sources with the family in it, and with their byte code, which need not be made again."""
    there = tmp_path_factory.mktemp("tree")
    for part in ("cutpath", "profiles", "tests", "fixtures"):
        shutil.copytree(ROOT / part, there / part, ignore=shutil.ignore_patterns("*.nb?", "recipe"))
    shutil.copy(ROOT / "pyproject.toml", there)
    shutil.copytree(BY_THE_RECIPE, there, dirs_exist_ok=True)
    return there


def run_in(tree: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """In an interpreter of its own, so that no other test meets the family; hypothesis reads sources once."""
    paths = {**os.environ, "PYTHONPATH": str(tree), "HYPOTHESIS_STORAGE_DIRECTORY": str(ROOT / ".hypothesis")}
    return subprocess.run(
        [sys.executable, *arguments], capture_output=True, text=True, check=False, cwd=tree, env=paths
    )


def test_a_family_is_five_new_files_and_not_a_line_elsewhere() -> None:
    files = added()
    assert files == {
        "cutpath/families/plinth/__init__.py",
        "cutpath/families/plinth/plinth.toml",
        "cutpath/claims/plinth.py",
        "tests/families/plinth.py",
        "fixtures/jobs/porch.toml",
    }
    assert not [name for name in files if (ROOT / name).exists()]
    recipe = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    for name in files:
        assert f"`{name.replace('plinth', 'NAME').replace('NAME.toml', 'KIND.toml').replace('porch', 'JOB')}`" in recipe


def test_it_passes_the_tests_that_walk_the_registry(tree) -> None:
    """Were there another place to be told of a family, one of them would fail."""
    modules = " or ".join(Path(name).stem for name in WALKING)
    paths = [f"tests/{name}" for name in (*WALKING, *OF_EACH)]
    tests = run_in(tree, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-k", f"plinth or {modules}", *paths)
    assert tests.returncode == 0, tests.stdout[-3000:]
    assert int(tests.stdout.rpartition(" passed")[0].split()[-1]) >= 60
    assert "skipped" not in tests.stdout


def test_it_is_made_with_every_file_there_is(tree) -> None:
    made = run_in(tree, "-c", MADE)
    assert made.returncode == 0, made.stderr[-3000:]
    assert json.loads(made.stdout) == {
        "piece": ["PQ-Z1-1", 4, 5],
        "proof": ["PQ-Z1-1"],
        "files": [".csv", ".dxf", ".html", ".json", ".pdf", ".svg", ".txt"],
        "picture": True,
        "schema": True,
    }


@pytest.mark.parametrize("left_out", ["cutpath/claims/plinth.py"])
def test_without_its_proof_it_is_refused(tree, tmp_path, left_out) -> None:
    shutil.move(tree / left_out, tmp_path)
    made = run_in(tree, "-c", "from cutpath import pipeline; pipeline.plan(['fixtures/jobs/porch.toml'])")
    shutil.move(tmp_path / Path(left_out).name, tree / left_out)
    assert made.returncode != 0
    assert "a detail of the family 'plinth', of which the proof knows nothing" in made.stderr
