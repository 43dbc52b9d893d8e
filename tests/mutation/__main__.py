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
import time
from pathlib import Path
from typing import Any

from tests.mutation.places import ROOT, Mutant, explained, mutants
from tests.mutation.trial import (
    Ran,
    exchange,
    functions_of,
    in_fork,
    in_forks,
    killer,
    killer_from_imports,
    with_tests,
)

_DEVELOPED = [
    "tests/families",
    "tests/folding",
    "tests/recheck",
    "tests/trade",
    "tests/jobs/test_at_the_edge.py",
    "tests/jobs/test_broken.py",
    "tests/jobs/test_chimney.py",
    "tests/jobs/test_courses.py",
    "tests/jobs/test_dxf_outline.py",
    "tests/jobs/test_groups.py",
    "tests/jobs/test_outlines.py",
    "tests/jobs/test_reading.py",
    "tests/jobs/test_rectangles.py",
    "tests/jobs/test_sizes.py",
    "tests/jobs/test_starters.py",
    "tests/jobs/test_uneven_walls.py",
    "tests/jobs/test_warned.py",
    "tests/properties/test_folding.py",
    "tests/properties/test_folding_faults.py",
    "tests/properties/test_patterns.py",
    "tests/properties/test_pieces.py",
    "tests/reference/test_laps.py",
    "tests/reference/test_lead.py",
    "tests/reference/test_practice.py",
    "tests/reference/test_soakers.py",
    "tests/reference/test_steps.py",
    "tests/reports/account/test_marking.py",
    "tests/reports/account/test_quantities.py",
    "tests/reports/account/test_setting_out.py",
    "tests/test_flat_roofs.py",
    "tests/test_hidden_side.py",
]

PARTS: dict[str, tuple[list[str], list[str]]] = {
    "judge": (
        ["cutpath/nesting/judge.py"],
        ["tests/nesting/test_judge.py", "tests/nesting/test_runs.py", "tests/nesting/test_stretches.py"],
    ),
    "proof": (["cutpath/folding", "cutpath/recheck", "cutpath/claims"], [*_DEVELOPED, "tests/faulty/test_faults.py"]),
    "account": (
        ["cutpath/reports/account/yields.py", "cutpath/reports/account/yield_tables.py"],
        ["tests/reports/account"],
    ),
    "stock": (["cutpath/stock"], ["tests/stock", "tests/cli/test_stock.py"]),
    "machines": (["cutpath/machines"], ["tests/test_machines.py", "tests/drawing", "tests/writers/test_set_up.py"]),
    "profiles": (
        ["cutpath/profiles"],
        ["tests/test_profiles.py", "tests/cli/test_rules.py", "tests/jobs/test_sizes.py", "tests/trade"],
    ),
    "trade": (["cutpath/trade"], [*_DEVELOPED, "tests/golden"]),
    "families": (["cutpath/families"], [*_DEVELOPED, "tests/golden"]),
}
"""Sources of each part, files or folders, and the tests that hold it."""


LIVES = "lives"


def files_of(sources: list[str]) -> list[str]:
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
    parser.add_argument("--patience", type=float, default=60, help="seconds of tests for each mutant, by the processor")
    parser.add_argument("--workers", type=int, default=1, help="processes at once")
    parser.add_argument("--killers", action="store_true", help="print what kills each mutant")
    parser.add_argument(
        "--keep", type=Path, help="folder where what the tests do as the code is stays for the next time"
    )
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
    os.environ["OPENBLAS_NUM_THREADS"] = "1"  # a process each is enough, and threads do not live through a fork
    for library in ("numba", "numpy", "pydantic", "pytest", "scipy.optimize", "shapely"):
        importlib.import_module(library)
    out = os.fdopen(os.dup(1), "w", buffering=1, encoding="utf-8")
    os.dup2(os.open(os.devnull, os.O_RDWR), 1)
    for part in asked.parts or PARTS:
        # What one part imports must not be there for the next.
        if in_fork(lambda part=part: _try_part(part, asked, out)) is None:
            print(f"{part}: no end", file=out)


def _try_part(part: str, asked: argparse.Namespace, out: Any) -> bool:
    """Try a sample of a part's mutants and print what lives and the shares."""
    sources, tests = PARTS[part]
    tests = [*tests, "tests/test_values_stay.py"]
    files = files_of(sources)
    begun = time.monotonic()
    sample = _sample(files, asked)
    rest = [mutant for mutant in sample if not any(one.means(mutant) for one in explained())]

    def late() -> bool:
        return time.monotonic() - begun > 60 * asked.minutes

    def tell(mutant: Mutant, killer: str | None) -> str:
        if killer is None or asked.killers:
            print(f"    {mutant}: {killer}" if killer else f"    lives: {mutant}", file=out, flush=True)
        return killer or LIVES

    def exchanging() -> dict[str, Any]:
        told: dict[str, Any] = {}

        def tried(items: list[Any], ran: Ran) -> None:
            for name in ran.failed:
                print(f"    fails as it is, left out: {name}", file=out, flush=True)
                ran.seconds.pop(name, None)
            print(f"{part}: {len(ran.seconds)} tests, {time.monotonic() - begun:.0f} s", file=out, flush=True)
            functions = functions_of(files)
            names = [ran.tests_of(mutant, asked.patience) for mutant in rest]

            def one(k: int) -> str | None:
                if late() or not rest[k].called or ran.imported(rest[k]):
                    return None
                try:
                    return tell(rest[k], killer(items, names[k], ran, lambda: exchange(rest[k], functions)))
                except LookupError:
                    return None

            told["ends"] = in_forks(one, len(rest), asked.workers)
            told["names"], told["seconds"] = names, ran.seconds

        every = [file for sources, _ in PARTS.values() for file in files_of(sources)]
        with_tests(every, tests, asked.workers, asked.keep, tried)
        return told

    # The collected tests live in a fork: what is imported anew must not be there yet.
    told = in_fork(exchanging)
    seconds = Ran(seconds=told["seconds"])
    ends: list[str | None] = told["ends"]

    def anew(k: int) -> str | None:
        if ends[k] is not None or late():
            return ends[k]
        return tell(rest[k], killer_from_imports(rest[k], told["names"][k], seconds))

    ends = in_forks(anew, len(rest), asked.workers)
    count = sum(len(mutants(file)) for file in files)
    print(f"{part}, seed {asked.seed}: {_shares(ends, len(sample) - len(rest), count)}", file=out, flush=True)
    return True


def _shares(ends: list[str | None], known: int, count: int) -> str:
    """Say how many of a sample were tried and how they ended: by a test, in `LIVES`, or not at all for want of time."""
    tried = [end for end in ends if end is not None]
    dead = sum(end != LIVES for end in tried)
    golden = sum("tests/golden" in end for end in tried)
    share = dead / len(tried) if tried else 0.0
    both = (dead + known) / (len(tried) + known) if tried or known else 0.0
    return (
        f"{len(tried) + known} of {count} mutants tried, {dead} killed ({golden} of them by the golden files alone), "
        f"{known} explained, {len(tried) - dead} live: {share:.0%} killed of those that are not explained, "
        f"{both:.0%} killed or explained"
    )


if __name__ == "__main__":
    main()
