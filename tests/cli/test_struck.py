"""Commands struck at every step that changes the disk: what was there before stands, or the new result, and no more.

The work is done once, so that what is tried is the writing. Steps and strikes are those of `tests.output`.
"""

from __future__ import annotations

import errno
import os

import pytest

from cutpath import again, making, output, pipeline
from cutpath.batches import one
from cutpath.values.nest import Budget
from cutpath.values.settings import Settings
from tests.cli.running import run
from tests.golden.corpus import ROOT
from tests.output.made import held
from tests.output.striking import end_of_process, raising, struck
from tests.tiny import JOB

pytestmark = pytest.mark.nests

PRICES = next((ROOT / "fixtures/prices").glob("*.toml"))
PLATES = '{"units": "mm", "pieces": [{"id": "A", "quantity": 2, "outline": [[0, 0], [300, 0], [300, 90], [0, 90]]}]}'
COMMANDS = {
    "job": ["new", "step flashing", "--out", "new/own.toml"],
    "order": ["new", "order", "sheet", "--out", "new/order.xlsx"],
    "measure": ["measure", "apron", "--out", "new/apron.pdf"],
    "nest": ["nest", "plates.json", "--work", "0", "--out", "new/nest.json"],
    "demo": ["demo", "--out", "new/demo", "--work", "0"],
    "repeat": ["run", "repeat", "first", "--out", "new/again"],
    "quote": ["quote", "first", "--prices", "prices.toml", "--date", "2026-11-29", "--out", "new/quotes"],
    "labels": ["stock", "labels", "--stock", "shop.db", "--out", "new/labels.pdf"],
    "recut": ["recut", "first", "PIECE", "--rolls", "rolls.toml", "--out", "new/recut", "--work", "0"],
}


@pytest.fixture(scope="module")
def first(tmp_path_factory):
    """A run to repeat and to cut again from, whole as it was made."""
    folder = tmp_path_factory.mktemp("first")
    out = folder / "cut"
    (folder / "job.toml").write_text(JOB)
    done = run("make", folder / "job.toml", "--out", out, "--work", "0", "--format", "svg")
    assert done.returncode == 0, done.stderr
    whole = again.repeat(again.earlier(out))
    (folder / "plates.json").write_text(PLATES)
    nested = pipeline.nest_outlines(str(folder / "plates.json"), None, Settings(budget=Budget(work=0)))
    return held(out), whole, nested, pipeline.measuring_sheet("apron")


@pytest.fixture
def place(tmp_path, first, monkeypatch):
    """A folder to write in, with what the commands read."""
    monkeypatch.chdir(tmp_path)
    with struck(None, lambda: None):
        output.write_folder(first[0], tmp_path / "first")
    (tmp_path / "plates.json").write_text(PLATES)
    (tmp_path / "rolls.toml").write_text("[[rolls]]\nwidth = 450\nlength = 6000\n")
    (tmp_path / "prices.toml").write_bytes(PRICES.read_bytes())
    done = run("stock", "add", "--stock", "shop.db", "--code", "4", "--width", "300", "--length", "6000")
    assert done.returncode == 0, done.stderr
    monkeypatch.setattr(one, "made", lambda *_, **__: (first[1], {}))
    monkeypatch.setattr(again, "repeat", lambda _: first[1])
    monkeypatch.setattr(again, "batch_again", lambda _: (first[1].batch, ()))
    monkeypatch.setattr(pipeline, "nest_outlines", lambda *_: first[2])
    monkeypatch.setattr(pipeline, "measuring_sheet", lambda _: first[3])
    monkeypatch.setattr(making, "made_of", lambda *_: first[1])
    return tmp_path


# The same writing is struck at every step in `tests/output`. Here the gate takes every step of what is soonest made, of
# the rest every third, or seventh where a plan is made each time; a full disk at others than Ctrl-C.
GATE = {name: {"job": 1, "nest": 1, "recut": 7}.get(name, 3) for name in COMMANDS}


@pytest.mark.parametrize(
    ("name", "every"),
    [*GATE.items(), *(pytest.param(name, 1, marks=pytest.mark.slow) for name, k in GATE.items() if k > 1)],
)
@pytest.mark.parametrize(
    "strike", [OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)), KeyboardInterrupt()], ids=["full", "ctrl-c"]
)
def test_struck_at_any_step_it_leaves_before_or_after(name, every, strike, place, first):
    piece = first[1].batch.pieces[0].id
    command, new = [piece if word == "PIECE" else word for word in COMMANDS[name]], place / "new"

    def ended(step: int | None) -> tuple[int, int, str]:
        new.mkdir()
        with struck(step, raising(strike)) as count:
            done = run(*command)
        return done.returncode, count[0], done.stderr

    code, steps, said = ended(None)
    assert (code, steps > 5) == (0, True), said
    after = held(new)
    output.disk.remove(new)
    for step in range(isinstance(strike, OSError) % every, steps, every):
        code, _, said = ended(step)
        end_of_process(new)
        now = {path: data for path, data in held(new).items() if ".cutpath/" not in path}
        assert now in ({}, after), f"step {step} of {steps}"
        assert code == 0 or now == {} or isinstance(strike, KeyboardInterrupt) or now == after, said
        output.disk.remove(new)
