"""How `cutpath make` scales: ``python tests/bench/volume.py [--sizes 500,2000,5000] [--plot FILE]``.

Invented jobs of a week, and soakers that are all alike, made whole by the command line with next to no search. Each row
is a process of its own: processor seconds of it and its children, seconds of the clock and those of the nest in them
(making lists ready mostly), the most memory that one of them held and that all held together (shared pages counted
once; Linux), and what came out.
"""

# ruff: noqa: S311 - chance makes cases here, not secrets

from __future__ import annotations

import argparse
import json
import os
import random
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
WAYS: dict[str, list[str]] = {
    "usual": [],
    "drawn": ["--all"],
    "knife": ["--machine", "flatbed-knife"],
    "all": ["--all", "--templates", "--labels", "3x7", "--machine", "flatbed-knife"],
}
"""Options of `cutpath make` for each way of making."""


_MAKE = """
import time
from pathlib import Path
from cutpath import pipeline
from cutpath.cli import main
nest = pipeline.nest_batch
def timed(*given, **named):
    started = time.monotonic()
    found = nest(*given, **named)
    Path("nest-s").write_text(str(time.monotonic() - started))
    return found
pipeline.nest_batch = timed
main()
"""
"""The command with the nest's own seconds told apart; other processes are started anew and know nothing of it."""


def week(size: int, seed: int = 1) -> list[dict[str, Any]]:
    """Jobs of about ``size`` pieces: stacks, abutments and counter orders, each with sizes of its own."""
    rng = random.Random(f"{size}/{seed}")
    jobs: list[dict[str, Any]] = []
    count = 0
    while count < size:
        coursing = {"gauge": rng.choice((75, 75, 78, 80, 83)), "first_joint": rng.randint(95, 130)}
        width = rng.randint(450, 1100)
        match rng.choice(("stack", "stack", "abutment", "abutment", "order")):
            case "stack":
                depth = rng.randint(500, 1300)
                soakers = depth // 100
                details: list[dict[str, Any]] = [
                    {"kind": "step flashing", "length": depth, "soakers": {"count": soakers}},
                    {"kind": "apron", "width": width, "upstand": 100},
                    {"kind": "back gutter", "width": width},
                    {"kind": "cover flashing", "length": width + 150},
                ]
                count += 5 + 2 * soakers
            case "abutment":
                slope = rng.randint(2000, 7000)
                soakers, hand = slope // 100, rng.choice(("right", "left"))
                details = [
                    {"kind": "step flashing", "length": slope, "hands": hand, "soakers": {"count": soakers}},
                    {"kind": "cover flashing", "length": rng.randint(1000, 3000), "cover": 125},
                ]
                count += 6 + soakers
            case _:
                details = [
                    {"kind": "cover flashing", "length": rng.randint(600, 1400)},
                    {"kind": "step flashing", "length": rng.randint(700, 2500)},
                ]
                count += 5
        for detail in details:
            if detail["kind"] == "step flashing":
                detail["coursing"] = coursing
        jobs.append(
            {
                "name": f"Made {len(jobs) + 1}",
                "mark": f"{chr(65 + len(jobs) // 100)}{len(jobs) % 100:02}",
                "pitch": rng.choice((35, 40, 45, 47.5)),
                "covering": "plain tile 265",
                "detail": details,
            }
        )
    return jobs


def alike(size: int) -> list[dict[str, Any]]:
    """Jobs of soakers that are all alike, 2,000 to a job."""
    confirmed = ["quantity"]
    soakers = {"kind": "soakers", "length": 2000, "count": 20, "hands": "left", "quantity": 100, "confirmed": confirmed}
    return [
        {"name": f"Terrace {k}", "mark": f"T{k}", "pitch": 40, "covering": "plain tile 265", "detail": [soakers]}
        for k in range(1, size // 2000 + 1)
    ]


def toml(value: object) -> str:
    """A value as TOML."""
    match value:
        case dict():
            return "{ " + ", ".join(f"{key} = {toml(own)}" for key, own in value.items()) + " }"
        case list():
            return "[" + ", ".join(map(toml, value)) + "]"
        case _:
            return json.dumps(value)


class Held(threading.Thread):
    """Looks twice a second how much memory a process and its children hold together, in MB."""

    def __init__(self, pid: int) -> None:
        super().__init__(daemon=True)
        self.pid, self.most_mb, self.over = pid, 0.0, threading.Event()

    def run(self) -> None:
        """Look until it is over."""
        while not self.over.wait(0.5):
            self.most_mb = max(self.most_mb, sum(map(self._own_mb, self._tree(self.pid))))

    def _tree(self, pid: int) -> list[int]:
        try:
            children = Path(f"/proc/{pid}/task/{pid}/children").read_text(encoding="ascii").split()
        except OSError:
            return [pid]
        return [pid, *(own for child in children for own in self._tree(int(child)))]

    def _own_mb(self, pid: int) -> float:
        try:
            lines = Path(f"/proc/{pid}/smaps_rollup").read_text(encoding="ascii").splitlines()
        except OSError:
            return 0.0
        return sum(int(line.split()[1]) for line in lines if line.startswith("Pss:")) / 1024


def measured(jobs: list[dict[str, Any]], options: list[str], folder: Path) -> dict[str, float]:
    """Seconds of processors and of the clock, MB held at most, pieces, files, MB written, of one `cutpath make`."""
    files = []
    for k, job in enumerate(jobs, 1):
        file = folder / f"job-{k:04}.toml"
        file.write_text("".join(f"{key} = {toml(value)}\n" for key, value in job.items()), encoding="utf-8")
        files.append(str(file))
    out = folder / "cut"
    command = [sys.executable, "-c", _MAKE, "make", *files, "--work", "2000", "--out", str(out), *options]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    started = time.monotonic()
    process = subprocess.Popen(
        command, env=environment, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    )
    held = Held(process.pid)
    held.start()
    said = process.stdout.read() if process.stdout else ""
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    seconds = time.monotonic() - started
    held.over.set()
    if process.returncode:
        raise SystemExit(said[-3000:])
    written = [path for path in out.rglob("*") if path.is_file()]
    return {
        "pieces": int(said.split(" pieces from ")[0].split()[-1].replace(",", "")),
        "cpu_s": used.ru_utime + used.ru_stime,
        "clock_s": seconds,
        "nest_s": float((folder / "nest-s").read_text(encoding="ascii")),
        "held_mb": used.ru_maxrss / 1024,
        "all_mb": held.most_mb,
        "files": len(written),
        "written_mb": sum(path.stat().st_size for path in written) / 1e6,
    }


def cases(sizes: list[int], alike_sizes: list[int]) -> dict[str, tuple[int, list[dict[str, Any]]]]:
    """Jobs by the name of their case."""
    return {
        **{f"week {size}": (size, week(size)) for size in sizes},
        **{f"alike {size}": (size, alike(size)) for size in alike_sizes},
    }


def plot(rows: list[dict[str, Any]], file: Path) -> None:
    """Draw seconds and memory against pieces."""
    import matplotlib as mpl

    mpl.use("agg")
    from matplotlib import pyplot as plt

    figure, panels = plt.subplots(1, 2, figsize=(11, 4.5), layout="constrained")
    looks = {"week usual": ("#0072B2", "-o"), "week all": ("#D55E00", "--s"), "alike usual": ("#009E73", "-^"),
             "alike all": ("#CC79A7", "--v"), "week knife": ("#E69F00", ":o"),
             "alike knife": ("#56B4E9", ":^")}  # fmt: skip
    for name, (colour, look) in looks.items():
        own = sorted((r for r in rows if f"{r['case'].split()[0]} {r['way']}" == name), key=lambda r: r["pieces"])
        for panel, key in zip(panels if own else (), ("cpu_s", "held_mb"), strict=False):
            panel.plot([r["pieces"] for r in own], [r[key] for r in own], look, color=colour, label=name)
    for panel, words in zip(panels, ("processor seconds", "MB held at most"), strict=True):
        panel.set(xlabel="pieces", ylabel=words, xlim=(0, None), ylim=(0, None))
        panel.grid(alpha=0.3)
    panels[0].legend()
    figure.savefig(file, dpi=110)


def main() -> None:
    """Measure each case both ways and print a row for each."""
    numbers = lambda text: [int(part) for part in text.split(",") if part]  # noqa: E731
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--sizes", type=numbers, default=[500, 2000, 5000])
    options.add_argument("--alike", type=numbers, default=[20_000])
    options.add_argument("--ways", default="usual,all")
    options.add_argument("--plot", type=Path)
    asked = options.parse_args()
    rows: list[dict[str, Any]] = []
    heads = ("cpu s", "clock s", "nest s", "held MB", "all MB", "files", "MB")
    print(f"{'':14}{'way':>8}{'pieces':>8}" + "".join(f"{head:>9}" for head in heads))  # noqa: T201
    for case, (_, jobs) in cases(asked.sizes, asked.alike).items():
        for way in asked.ways.split(","):
            with tempfile.TemporaryDirectory() as folder:
                row = measured(jobs, WAYS[way], Path(folder))
            rows.append({"case": case, "way": way, **row})
            told = [row[key] for key in ("cpu_s", "clock_s", "nest_s", "held_mb", "all_mb", "files", "written_mb")]
            figures = "".join(f"{value:9.1f}" for value in told)
            print(f"{case:14}{way:>8}{row['pieces']:8.0f}{figures}", flush=True)  # noqa: T201
    if asked.plot:
        plot(rows, asked.plot)


if __name__ == "__main__":
    main()
