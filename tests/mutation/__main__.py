"""Faults of one token put into the code one by one, and whether the tests see them: ``python -m tests.mutation``.

A sample drawn from a seed, a part of the code at a time. A mutant is killed by a test of the part's list that fails or
hangs; those that live are listed, to be killed by a test or looked at and found to change nothing: then they stand in
``explained.toml`` with the reason. The sources on the disk stay as they are.
"""

# ruff: noqa: S311 - chance picks cases

from __future__ import annotations

import argparse
import importlib
import os
import random
import re
import sys
import time
from pathlib import Path
from typing import Any

from tests.mutation.places import ROOT, Mutant, explained, mutants
from tests.mutation.trial import Ran, exchange, functions_of, in_fork, killer, killer_from_imports, with_tests

_DEVELOPED = ["tests/families", "tests/folding", "tests/recheck", "tests/trade", "tests/jobs", "tests/reference"]

PARTS: dict[str, tuple[list[str], list[str]]] = {
    "judge": (
        ["cutpath/nesting/judge.py"],
        ["tests/nesting/test_judge.py", "tests/nesting/test_runs.py", "tests/nesting/test_stretches.py"],
    ),
    "account": (["cutpath/reports/account/yields.py"], ["tests/reports/account"]),
    "stock": (["cutpath/stock/book.py"], ["tests/stock"]),
    "courses": (["cutpath/trade/courses.py", "cutpath/trade/coursing.py"], _DEVELOPED),
    "trade": (["cutpath/trade"], [*_DEVELOPED, "tests/reports/account"]),
    "proof": (["cutpath/folding", "cutpath/recheck"], [*_DEVELOPED, "tests/faulty"]),
    "families": (["cutpath/families"], [*_DEVELOPED, "tests/golden"]),
}
"""Sources of each part, files or folders, and the tests that hold it."""


def _files(sources: list[str]) -> list[str]:
    return [
        str(path.relative_to(ROOT))
        for name in sources
        for path in ([ROOT / name] if name.endswith(".py") else sorted((ROOT / name).rglob("*.py")))
    ]


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("parts", nargs="*", help=", ".join(PARTS))
    parser.add_argument("--count", type=int, default=40, help="mutants of each part")
    parser.add_argument("--minutes", type=float, default=1e9, help="no further mutant of a part after that")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--patience", type=float, default=60, help="seconds of tests, as the code is, for each mutant")
    parser.add_argument("--killers", action="store_true", help="print what kills each mutant")
    parser.add_argument("--only", type=Path, help="a list printed before: of it those that lived, instead of a sample")
    return parser.parse_args()


def _sample(files: list[str], asked: argparse.Namespace) -> list[Mutant]:
    every = [mutant for file in files for mutant in mutants(file)]
    if asked.only:
        lived = set(re.findall(r"lives: (\S+?):\d+: (.*)", asked.only.read_text(encoding="utf-8")))
        return [mutant for mutant in every if (mutant.file, mutant.words) in lived]
    return random.Random(asked.seed).sample(every, min(asked.count, len(every)))


def main() -> None:
    asked = _asked()
    os.chdir(ROOT)
    for library in ("numba", "numpy", "pydantic", "pytest", "scipy.optimize", "shapely"):
        importlib.import_module(library)
    out = os.fdopen(os.dup(1), "w", buffering=1, encoding="utf-8")
    os.dup2(os.open(os.devnull, os.O_RDWR), 1)
    for name in asked.parts or PARTS:
        child = os.fork()  # what one part imports is not there for the next
        if not child:
            _try_part(name, asked, out)
            out.flush()
            os._exit(0)
        if os.waitpid(child, 0)[1]:
            sys.exit(f"{name}: no end")


def _try_part(part: str, asked: argparse.Namespace, out: Any) -> None:
    """Try a sample of a part's mutants and print what lives and the shares."""
    sources, tests = PARTS[part]
    files = _files(sources)
    begun = time.monotonic()
    sample = _sample(files, asked)
    known = [mutant for mutant in sample if any(one.means(mutant) for one in explained())]
    rest = [mutant for mutant in sample if mutant not in known]
    killers: list[str | None] = []

    def late() -> bool:
        return time.monotonic() - begun > 60 * asked.minutes

    def tell(mutant: Mutant, killer: str | None) -> None:
        killers.append(killer)
        if killer is None or asked.killers:
            print(f"    lives: {mutant}" if killer is None else f"    {mutant}: {killer}", file=out)

    def exchanging() -> dict[str, Any]:
        anew: list[tuple[int, list[str]]] = []
        seconds: dict[str, float] = {}

        def quick(items: list[Any], ran: Ran) -> None:
            for name in ran.failed:
                print(f"    fails as it is, left out: {name}", file=out)
                ran.seconds.pop(name, None)
            print(f"{part}: {len(ran.seconds)} tests, {time.monotonic() - begun:.0f} s", file=out)
            seconds.update(ran.seconds)
            functions = functions_of(files)
            for k, mutant in enumerate(rest):
                if late():
                    break
                names = _patient(ran, mutant, asked.patience)
                if mutant.called and not ran.imported(mutant):
                    try:
                        tell(mutant, killer(items, names, ran, lambda mutant=mutant: exchange(mutant, functions)))
                        continue
                    except LookupError:
                        pass
                anew.append((k, names))

        with_tests(files, tests, quick)
        return {"anew": anew, "seconds": seconds, "killers": killers}

    # What is imported anew must not be there yet, so the collected tests live in a fork.
    told = in_fork(exchanging)
    if told is None:
        print(f"{part}: its tests come to no end as it is", file=out)
        return
    killers = told["killers"]
    for k, names in told["anew"]:
        if not late():
            tell(rest[k], killer_from_imports(rest[k], names, Ran(seconds=told["seconds"])))
    tried = len(killers)
    dead = sum(killer is not None for killer in killers)
    golden = sum(killer is not None and "tests/golden" in killer for killer in killers)
    of = len(known) + tried
    print(
        f"{part}, seed {asked.seed}: {of} of {sum(len(mutants(file)) for file in files)} mutants tried, {dead} killed"
        f" ({golden} of them by the golden files alone), {len(known)} explained, {tried - dead} live:"
        f" {dead / tried if tried else 0:.0%} of those that are not explained, {(dead + len(known)) / of if of else 0:.0%} with them;"
        f" {time.monotonic() - begun:.0f} s",
        file=out,
    )


def _patient(ran: Ran, mutant: Mutant, patience: float) -> list[str]:
    """The mutant's tests that are done within so many seconds, as the code is."""
    names = []
    for name in ran.tests_of(mutant):
        patience -= ran.seconds[name]
        if patience < 0:
            break
        names.append(name)
    return names


if __name__ == "__main__":
    main()
