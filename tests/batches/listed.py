"""A list of three small batches, the second of which is at fault, and an executor that has only what it is given."""

from __future__ import annotations

import os
import pickle
from concurrent.futures import Executor, Future
from pathlib import Path

import ezdxf

JOB = """
name = "Plates"
[[detail]]
kind = "outline"
code = 4
dxf = "plate.dxf"
quantity = 3
"""
ROLLS = "rolls = [{ width_mm = 390, length_mm = 3000 }]\n"
LIST = """
work = 0
rolls = "rolls.toml"
[[batch]]
name = "north"
jobs = ["jobs/a.toml"]
folder = "cut/north"
[[batch]]
name = "bad"
jobs = ["jobs/bad.toml", "jobs/gone.toml"]
folder = "cut/bad"
[[batch]]
name = "south"
jobs = ["jobs/b.toml"]
folder = "cut/south"
formats = ["csv"]
"""


def laid_out(folder: Path) -> Path:
    """Write the list with all that it names into a folder, and return its name."""
    (folder / "jobs").mkdir()
    document = ezdxf.new(units=4)
    points = [(0, 0), (300, 0), (340, 90), (0, 120)]
    document.modelspace().add_lwpolyline(points, close=True, dxfattribs={"layer": "OUTER"})
    document.saveas(folder / "jobs" / "plate.dxf")
    (folder / "jobs" / "a.toml").write_text(JOB)
    (folder / "jobs" / "b.toml").write_text(JOB.replace("3", "5"))
    (folder / "jobs" / "bad.toml").write_text(JOB.replace("code", "cod"))
    (folder / "rolls.toml").write_text(ROLLS)
    listed = folder / "list.toml"
    listed.write_text(LIST)
    return listed


def sent(value):
    return pickle.loads(pickle.dumps(value))  # noqa: S301 - our own


class Elsewhere(Executor):
    """Works at once, from what is pickled, in a folder where no name of the list's files leads anywhere."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.held: list[int] = []

    def submit(self, function, /, *arguments, **more):
        future: Future = Future()
        here = Path.cwd()
        self.folder.mkdir(exist_ok=True)
        os.chdir(self.folder)
        try:
            future.set_result(sent(function(*sent(arguments), **more)))
        finally:
            os.chdir(here)
        return future
