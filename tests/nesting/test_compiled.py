"""Compiled code is kept by everything that it froze."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

import cutpath
from cutpath.nesting.compiled import cache_folder, frozen_sources

pytestmark = pytest.mark.nests

PACKAGE = Path(cutpath.__file__).parent


@pytest.fixture
def package(tmp_path):
    """A copy of the package to change things in."""
    copy = tmp_path / "cutpath"
    shutil.copytree(PACKAGE, copy, ignore=shutil.ignore_patterns("__pycache__"))
    return copy


def kept_in(package: Path) -> str:
    return Path(cache_folder(package)).name


@pytest.mark.parametrize(
    ("module", "was", "now"),
    [
        ("tolerances.py", "FILE_DECIMALS = 4", "FILE_DECIMALS = 3"),
        ("nesting/ticks.py", "10**FILE_DECIMALS", "2 * 10**FILE_DECIMALS"),
        ("nesting/state.py", "NONE = -1", "NONE = -2"),
        ("nesting/compiled.py", '"error_model": "numpy"', '"error_model": "python"'),
    ],
)
def test_what_compiled_code_freezes_gives_another_folder(package, module, was, now):
    before = kept_in(package)
    text = (package / module).read_text()
    assert was in text
    (package / module).write_text(text.replace(was, now))
    assert kept_in(package) != before
    (package / module).write_text(text)
    assert kept_in(package) == before


def test_packages_that_lie_beside_it_when_installed_are_left_alone(package):
    """As in site-packages, where numba and numpy are its neighbours."""
    before = kept_in(package)
    for neighbour in ("numba", "numpy"):
        (package.parent / neighbour).mkdir()
        (package.parent / neighbour / "__init__.py").write_text("import os\n")
    assert kept_in(package) == before


def test_what_it_does_not_freeze_leaves_it_where_it_is(package):
    before = kept_in(package)
    for module in ("errors.py", "nesting/run.py", "values/nest.py"):
        with (package / module).open("a") as file:
            file.write("# a remark\n")
    assert kept_in(package) == before


def test_every_module_that_compiles_is_looked_at_and_the_figures_that_reach_it(package):
    compiling = {f for f in package.rglob("*.py") if re.search(r"^@(compiled|allocating)", f.read_text(), re.MULTILINE)}
    assert len(compiling) > 5
    assert compiling <= set(frozen_sources(package))
    (package / "nesting" / "extra.py").write_text(
        "from cutpath.nesting.compiled import compiled\nfrom cutpath import units\nimport cutpath.plane\n"
    )
    more = set(frozen_sources(package))
    assert {package / "nesting" / "extra.py", package / "units.py", package / "plane.py"} <= more


def test_each_function_is_compiled_for_one_kind_of_number_only():
    """A plain number as a first value has numba compile every callee twice, which takes seconds."""
    from cutpath.nesting import nest
    from cutpath.nesting.anneal import _decide
    from cutpath.values.nest import Budget
    from tests.nesting.shapes import plate, problem

    nest(problem(plate("A", 300.0, 100.0, 3)), Budget(work=0))
    folder = Path(cache_folder(PACKAGE))
    kept = list(folder.rglob("anneal._decide-*.nbc"))
    assert len(kept) + len(_decide.signatures) > 0 or not folder.is_dir()
    assert len(kept) <= 1, kept
    assert len(_decide.signatures) <= 1  # none where what calls it comes from the folder
