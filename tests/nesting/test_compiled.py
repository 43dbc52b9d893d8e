"""Compiled code is kept by everything that it froze."""

from __future__ import annotations

import ast
import re
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from numba import typeof
from numba.core.errors import TypingError

import cutpath
from cutpath import sure
from cutpath.cli.talk import ProgressLine
from cutpath.nesting import anneal, compiled, lanes, moves, shifts, state
from cutpath.nesting.compiled import cache_folder, frozen_sources, log, power
from cutpath.nesting.lean import Inner, Outer
from cutpath.nesting.model import model_of, new_scratch, put_in, single
from cutpath.nesting.run import NestProgress
from cutpath.nesting.shapes import forms, rooms
from cutpath.nesting.shifts import new_memory
from cutpath.nesting.stock import supply_of
from tests.nesting.shapes import plate, problem

pytestmark = pytest.mark.nests

PACKAGE = Path(cutpath.__file__).parent
ENTRIES = ["anneal", "lay_lane", "marginal", "pick_class", "settle", "worth_of_all"]
"""What Python calls: each of them is optimised and made into machine code with all that it calls."""


@pytest.fixture
def package(tmp_path):
    """A copy of the package to change things in."""
    copy = tmp_path / "cutpath"
    shutil.copytree(PACKAGE, copy, ignore=shutil.ignore_patterns("__pycache__"))
    return copy


def kept_in(package: Path) -> str:
    return Path(cache_folder(package)).name


def test_what_compiled_code_freezes_gives_another_folder_and_nothing_else_does(package):
    """Its neighbours are numba and numpy, as in site-packages."""
    before = kept_in(package)
    for module, was, now in (
        ("tolerances.py", "FILE_DECIMALS = 4", "FILE_DECIMALS = 3"),
        ("nesting/ticks.py", "10**FILE_DECIMALS", "2 * 10**FILE_DECIMALS"),
        ("nesting/state.py", "NONE = -1", "NONE = -2"),
        ("nesting/compiled.py", '"error_model": "numpy"', '"error_model": "python"'),
    ):
        text = (package / module).read_text()
        assert was in text
        (package / module).write_text(text.replace(was, now))
        assert kept_in(package) != before, module
        (package / module).write_text(text)
    for neighbour in ("numba", "numpy"):
        (package.parent / neighbour).mkdir()
        (package.parent / neighbour / "__init__.py").write_text("import os\n")
    for module in ("errors.py", "nesting/run.py", "values/nest.py"):
        with (package / module).open("a") as file:
            file.write("# a remark\n")
    assert kept_in(package) == before


def test_every_module_that_compiles_is_looked_at_and_the_figures_that_reach_it(package):
    compiling = {f for f in package.rglob("*.py") if re.search(r"^@(compiled|inner)", f.read_text(), re.MULTILINE)}
    assert len(compiling) > 5
    assert compiling <= set(frozen_sources(package))
    (package / "nesting" / "extra.py").write_text(
        "from cutpath.nesting.compiled import compiled\nfrom cutpath import units\nimport cutpath.plane\n"
    )
    more = set(frozen_sources(package))
    assert {package / "nesting" / "extra.py", package / "units.py", package / "plane.py"} <= more


def functions() -> dict[str, Outer | Inner]:
    """All functions that are compiled for lanes, by their names."""
    own = [value for module in (anneal, lanes, moves, shifts, state) for value in vars(module).values()]
    return {each.__name__: each for each in own if isinstance(each, Outer | Inner)}


def test_each_function_is_compiled_once_for_all_numbers_and_there_are_few():
    """A plain number as an argument had its callee compiled once more, for that number alone."""
    task = problem(plate("A", 300.0, 100.0, 3))
    stock = supply_of(task, rooms(task)).stock
    model = model_of(task, forms(task), stock, rooms(task))
    work = put_in(model, stock, [single(model, p, 0) for p in range(3)], 1, np.zeros_like(stock.width))
    given = model.form_arrays, new_memory(4), stock, state.Tuning(0.0, 1, 0), work.state, new_scratch(model), 1, 1.0
    own = functions()
    # From nothing, so that what is kept of earlier runs does not hide how often a function is compiled.
    Outer(own["_decide"].py_func, targetoptions=own["_decide"].targetoptions).compile(tuple(map(typeof, given)))
    often = {name: len(each.overloads) for name, each in own.items() if each.overloads}
    assert {"_least_length", "_longest_of_use", "cost_with", "size_with", "carry_over"} <= set(often)
    assert set(often.values()) == {1}
    assert len(own) <= 53
    assert sorted(name for name, each in own.items() if isinstance(each, Outer)) == ENTRIES


def test_no_index_counts_from_the_end():
    """Compiled code takes indices as they are; the slow test below looks at those that are worked out."""
    modules = [file for file in (PACKAGE / "nesting").glob("*.py") if "cutpath.nesting.compiled" in file.read_text()]
    assert len(modules) >= 8
    for module in modules:
        for function in ast.walk(ast.parse(module.read_text())):
            if isinstance(function, ast.FunctionDef) and {"inner", "compiled"} & {
                ast.unparse(d) for d in function.decorator_list
            }:
                for each in ast.walk(function):
                    if isinstance(each, ast.Subscript):
                        parts = each.slice.elts if isinstance(each.slice, ast.Tuple) else [each.slice]
                        assert not any(ast.unparse(part).startswith("-") for part in parts), (module, each.lineno)


CHECKED = """
import random
from numba.core import cgutils
from cutpath.nesting import lean

as_it_is = lean._as_it_is

def stop_outside(context, builder, kind, index, size):
    index = as_it_is(context, builder, kind, index, size)
    none = index.type(0)
    outside = builder.or_(builder.icmp_signed("<", index, none), builder.icmp_signed(">=", index, size))
    with builder.if_then(outside, likely=False):
        stop = cgutils.ir.FunctionType(cgutils.ir.VoidType(), [])
        builder.call(cgutils.get_or_insert_function(builder.module, stop, "llvm.trap"), [])
    return index

lean._as_it_is = stop_outside
lean.Outer.enable_caching = lambda self: None

import numpy as np
from cutpath.nesting import nest
from cutpath.nesting.compiled import compiled
from cutpath.nesting.free import lane_like
from cutpath.nesting.shapes import forms
from cutpath.values.nest import Blank, Budget, Objective
from dataclasses import replace
from tests.nesting.shapes import plate, problem, skyline, stepped

@compiled
def at(array, index):
    return array[index]

rng = random.Random(5)
few = problem(stepped("S", 4, quantity=6), stepped("L", 5, left=True, quantity=5), plate("P", 700.0, 180.0, 9))
stairs = [stepped(f"S{k}", k % 6 + 2, quantity=6) for k in range(12)]
many = problem(*stairs, *(skyline(rng, f"K{k}") for k in range(9)))
turns = 0.0, 90.0, 180.0, 270.0
arrows = [((0, 0), (a, 90), (2 * a, 0), (a + 40, a), (a, 400), (a - 40, a)) for a in (110, 130, 150, 170)]
free = problem(*(Blank(f"F{k}", 3, arrow, (), turns) for k, arrow in enumerate(arrows)))
assert not lane_like(free, forms(free))
for task, work in ((few, 3_000_000), (replace(few, objective=Objective.BOUGHT), 3_000_000), (many, 6_000_000),
                   (replace(many, objective=Objective.BOUGHT), 6_000_000), (free, 2_000_000)):
    nest(task, Budget(work=work), seed=1, workers=2)
print("sound", at(np.arange(3), 2), flush=True)
at(np.arange(3), OUTSIDE)
print("passed over")
"""


@pytest.mark.slow
@pytest.mark.parametrize("outside", [-1, 3])
def test_no_index_lies_outside_its_array(outside):
    """The search compiled so that it stops where an index is outside; that it does is seen in the end."""
    script = CHECKED.replace("OUTSIDE", str(outside))
    ended = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, cwd=PACKAGE.parent, check=False
    )
    assert ended.stdout == "sound 2\n", ended.stderr
    assert ended.returncode != 0


def test_inner_functions_are_not_to_be_called_from_python():
    with pytest.raises(TypeError, match="below is called from compiled code alone"):
        state.below(None, 3)


def test_compiled_code_reads_a_named_tuple_by_its_address_and_writes_to_its_arrays():
    memory = new_memory(4)
    own = Outer(add_up, targetoptions=functions()["lay_lane"].targetoptions)
    assert own(memory, 2) == -1
    memory.slots[2, 1] = 5
    assert own(memory, 2) == 5
    assert memory.count[2] == 2
    other = memory._replace(slots=memory.slots.astype(np.int32))
    assert own(other, 2) == 5
    assert len(own.overloads) == 2
    with pytest.raises(TypingError, match="nothing"):
        Outer(no_such_field, targetoptions=functions()["lay_lane"].targetoptions)(memory)


def add_up(memory, at):
    memory.count[2] += 1
    return memory.slots[at, 1]


def no_such_field(memory):
    return memory.nothing


def test_what_is_said_where_the_search_is_still_to_be_compiled(monkeypatch, tmp_path, capsys):
    monkeypatch.setattr(compiled, "_FOLDER", str(tmp_path))
    line = ProgressLine()
    line("Code 4", NestProgress(1e6, 0.9))
    line("Code 4", NestProgress(1e6, 0.91))
    assert capsys.readouterr().err.count("Compiling the search, once after an install") == 1
    (tmp_path / "nesting_1").mkdir()
    (tmp_path / "nesting_1" / "anneal.anneal-1.py311.nbi").touch()
    ProgressLine()("Code 4", NestProgress(1e6, 0.9))
    assert capsys.readouterr().err == ""


def test_powers_and_logarithms_have_the_bits_that_they_have_in_python():
    figures = np.array([0.003, 0.25, 0.7, 1.0, 1.5, 40.0, 1e-9])
    found = np.zeros((2, len(figures)))
    Outer(powers, targetoptions=functions()["lay_lane"].targetoptions)(figures, found)
    assert found[0].tolist() == [sure.log(f) for f in figures.tolist()]
    assert found[1].tolist() == [sure.power(f, 0.37) for f in figures.tolist()]


def powers(figures, found):
    for k in range(figures.size):
        found[0, k] = log(figures[k])
        found[1, k] = power(figures[k], 0.37)
