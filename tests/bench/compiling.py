"""How long the first nest after an install compiles, in CPU seconds, and how many functions that takes.

Each case runs in a process of its own on a copy of the package that has nothing kept. Time is of the process, so that a
busy machine changes it little; what importing and nesting themselves take is in a second run of the same case.
"""

# ruff: noqa: T201 - a table on the terminal is what it is for

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

PACKAGE = Path(__file__).parents[2] / "cutpath"
PROFILES = PACKAGE.parent / "profiles"
CASES = {"lanes": 0.0, "free placement": 40.0}
NEST = """
import sys, time
from numba.core import event

functions = []

class Counts(event.Listener):
    def on_start(self, told):
        functions.append(told.data["dispatcher"].py_func.__name__)

    def on_end(self, told):
        pass

event.register("numba:compile", Counts())
from cutpath.nesting import nest
from cutpath.values.nest import Blank, Budget, NestProblem, Roll

corner = float(sys.argv[1])
ring = (corner, 0.0), (100.0, corner), (100.0 - corner, 100.0), (0.0, 100.0 - corner)
nest(NestProblem((Blank("A", 3, ring),), (Roll(300.0, 3000.0),)), Budget(work=1))
print(time.process_time(), len(functions))
"""


def main() -> None:
    print("| case | first, CPU s | again, CPU s | functions compiled |\n|---|---|---|---|")
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder)
        shutil.copytree(PACKAGE, copy / "cutpath", ignore=shutil.ignore_patterns("__pycache__"))
        shutil.copytree(PROFILES, copy / "profiles")
        for name, corner in CASES.items():
            runs = []
            for _ in range(2):
                told = subprocess.run(
                    [sys.executable, "-c", NEST, str(corner)], cwd=copy, capture_output=True, text=True, check=True
                )
                runs.append(told.stdout.split())
            (first, functions), (again, none) = runs
            assert none == "0", "nothing was kept"
            print(f"| {name} | {float(first):.1f} | {float(again):.1f} | {functions} |", flush=True)


if __name__ == "__main__":
    main()
