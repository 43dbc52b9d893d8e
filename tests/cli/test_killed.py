"""Commands killed by the system at random moments: stock and output are as before, or as after, never between."""

from __future__ import annotations

import random
import shutil
import time
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

from cutpath import shop, stock
from cutpath.stock import StockFile
from cutpath.values.stock import RunState, Verb
from tests.cli.running import run
from tests.forked import starter
from tests.output.made import held

pytestmark = pytest.mark.nests

JOB = """
name = "Yard order"
customer = "Invented Roofing"

[[detail]]
kind = "outline"
size = "1100 x 420"
quantity = {quantity}
code = 4
"""
STOCK = "--stock=stock.sqlite3"
COMMANDS = {
    "make": ("make", "second.toml", "--out", "new", STOCK, "--work", 0),
    "replace": ("make", "second.toml", "--out", "open", "--replace", STOCK, "--work", 0),
    "recut": ("recut", "done", "YO-P1-1", "--out", "new", STOCK, "--work", 0),
    "commit": ("stock", "commit", STOCK, "OPEN"),
    "commit one roll": ("stock", "commit", STOCK, "OPEN", "code4-01"),
    "release": ("stock", "release", STOCK, "OPEN"),
    "undo": ("stock", "undo", STOCK, "COMMITTED"),
    "collect": ("stock", "collect", STOCK, "--weighed", 3.5),
    "add": ("stock", "add", STOCK, "--code", 4, "--width", 450, "--length", 6000, "--quantity", 3),
    "folded": ("run", "done", STOCK, "DONE", "folded"),
}


@pytest.fixture(scope="module")
def yard(tmp_path_factory):
    """A shop's folder with a run that is reserved and one that is committed, and what its commands end in."""
    folder = tmp_path_factory.mktemp("yard")
    here, kept = folder / "shop", folder / "kept"
    here.mkdir()
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(here)
        for name, quantity in (("first", 9), ("second", 5)):
            (here / f"{name}.toml").write_text(JOB.format(quantity=quantity))
        for asked in (
            ("stock", "add", STOCK, "--code", 4, "--width", 450, "--length", "6 m", "--quantity", 8, "--cost", 180),
            ("make", "first.toml", "--out", "open", STOCK, "--work", 0),
            ("make", "second.toml", "--out", "done", STOCK, "--work", 0, "--seed", 2),
        ):
            done = run(*asked)
            assert done.returncode == 0, done.stderr
        names = {Path(r.out).name: r.id for r in StockFile(here / "stock.sqlite3").read().runs.values()}
        assert run("stock", "commit", STOCK, names["done"]).returncode == 0
    file = StockFile(here / "stock.sqlite3")
    booked = next(e.number for e in file.movements() if e.movement.verb is Verb.COMMIT)
    words = {"OPEN": names["open"], "DONE": names["done"], "COMMITTED": str(booked)}
    commands = {name: [words.get(str(word), str(word)) for word in asked] for name, asked in COMMANDS.items()}
    shutil.copytree(here, kept)
    return here, kept, commands


def fresh(here: Path, kept: Path) -> None:
    shutil.rmtree(here)
    shutil.copytree(kept, here)


def state(here: Path) -> object:
    """Everything that stands, once the next program has looked: shelf, accounts, runs, progress, folders; no times."""
    file, _ = shop.opened(here / "stock.sqlite3")
    assert stock.check(file) == ()
    holding = file.read()
    standing = [r for r in holding.runs.values() if r.state is not RunState.RELEASED]
    assert all(r.state is not RunState.MAKING for r in standing)
    for one in standing:
        assert shop.run_in(Path(one.out)) == one.id, "what stands has its output"
    runs = {r.id: replace(r, at="") for r in standing}
    told = {r.id: [replace(d, at="") for d in file.done(r.id)] for r in standing}
    accounts = {key: amount for key, amount in holding.balances.items() if amount.mass_ug or amount.cost_u}
    files = {k: v for k, v in held(here).items() if not k.startswith("stock.") and ".cutpath/" not in k}
    return dict(holding.items), runs, told, accounts, files


PROGRAM = """
from cutpath import pipeline, shop
from cutpath.cli import main, make, recut, run, stock

def work(here, *command):
    os.chdir(here)
    for number in (1, 2):
        os.dup2(os.open(os.devnull, os.O_WRONLY), number)
    sys.argv = ["cutpath", *command]
    main()
"""


@pytest.fixture(scope="module")
def programs():
    with starter(PROGRAM) as start:
        yield start


@pytest.mark.parametrize("moments", [3, pytest.param(100, marks=pytest.mark.slow)])
def test_a_command_killed_at_any_moment_is_done_or_not_begun(yard, programs, moments):
    here, kept, commands = yard
    chance = random.Random(7)  # noqa: S311
    fresh(here, kept)
    before = state(here)
    ends: Counter[str] = Counter()
    known: dict[str, tuple[object, float]] = {}
    few = ("commit one roll", "undo", "commit")
    names = few if moments == len(few) else [chance.choice(list(commands)) for _ in range(moments)]
    for name in names:
        if name not in known:
            fresh(here, kept)
            begun = time.monotonic()
            programs.start(here, *commands[name])
            assert programs.ended() == 0, name
            took_s = time.monotonic() - begun
            known[name] = state(here), took_s
            assert known[name][0] != before, name
        after, took_s = known[name]
        fresh(here, kept)
        programs.start(here, *commands[name])
        time.sleep(took_s * chance.uniform(0.0, 1.1))
        programs.ended(killed=True)
        now = state(here)
        assert now in (before, after), f"{name}, {dict(ends)}"
        ends[f"{name}: {'after' if now == after else 'before'}"] += 1
        print(name, ends[f"{name}: after"], ends[f"{name}: before"], flush=True)  # noqa: T201 - for whoever runs it with -s
        if now == before and name in ("make", "replace", "recut"):
            programs.start(here, *commands[name])
            assert programs.ended() == 0, f"{name} is not taken up again"
            assert state(here) == after, f"{name} once more"
    assert names is few or {end.rpartition(" ")[2] for end in ends} == {"before", "after"}
