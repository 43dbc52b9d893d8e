"""The golden corpus: twenty jobs, and what every output of theirs has to be.

``python tests/golden/corpus.py`` says what differs from what is kept, ``--write`` keeps what is made now. A change is
explained where it is committed. Pieces are laid one after another, so that no search is part of this.

Kept of every piece: name, size, and sums over its outline, holes, cuts, folds, marks and points that no move, turn or
change of a corner leaves alone. Kept of every file: a hash of its text; of DXF the entities, of PDF the pages, since
their other parts come from libraries whose releases differ.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import json
import math
import os
import re
import sys
from collections.abc import Collection, Iterable, Iterator
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import pikepdf

ROOT = Path(__file__).resolve().parents[2]
if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))

from cutpath import pipeline  # noqa: E402
from cutpath.machines import machine  # noqa: E402
from cutpath.nesting import one_after_another  # noqa: E402
from cutpath.values.formats import ALL_FORMATS, Format  # noqa: E402

KEPT = ROOT / "fixtures" / "golden" / "corpus.json"
JOBS = sorted([*(ROOT / "fixtures" / "jobs").glob("*.toml"), *(ROOT / "fixtures" / "golden" / "jobs").glob("*.toml")])
MACHINES = {
    "barn-abutment": "flatbed-knife",
    "abutment": "pen-marker",
    "tiled-stack": "flatbed-drag-knife",
    "pipes-and-plates": "office-printer",
    "valleys": "drawing-table",
}
"""Jobs whose files for a machine are kept as well."""

WRITTEN = {
    *MACHINES, "chalk-line", "counter-order", "garden-room", "long-walls", "sprocketed", "welded-stacks",
    "whole-chimney",
}  # fmt: skip
"""Jobs whose files the gate makes: every family and machine, the largest and the smallest. Of the others it develops
the pieces; all files of all jobs are for the long runs."""


def made(job: Path, formats: Collection[Format] = ALL_FORMATS) -> Any:
    """Every file of one job, as `make` gives them but for the nest."""
    tools = [machine(MACHINES[job.stem])] if job.stem in MACHINES else []
    with contextlib.chdir(ROOT):  # findings name the file as it is given
        return _made(Path(os.path.relpath(job)), tools, formats)


def _made(job: Path, tools: list[Any], formats: Collection[Format]) -> Any:
    planned = _planned(job, tools)
    batch = pipeline.batch_of(planned, [one_after_another(problem) for _, problem in planned.problems])
    return pipeline.files_of(batch, tools, formats=formats)


def _planned(job: Path, tools: list[Any]) -> Any:
    return pipeline.plan([job], settings=pipeline.Settings(choose_lengths=False), tools=tools)


_PAGES: dict[Path, tuple[str, str]] = {}


def pages_of(job: Path) -> tuple[str, str]:
    """Report and tickets of one job, made once in a process."""
    return _PAGES[job] if job in _PAGES else _kept_pages(job, made(job, ()))


def _kept_pages(job: Path, whole: Any) -> tuple[str, str]:
    _PAGES[job] = pages = whole.files["report.html"].decode(), whole.files["tickets.html"].decode()
    return pages


def kept_of(job: Path, formats: Collection[Format] = ALL_FORMATS) -> dict[str, Any]:
    """What is kept of one job, as far as it is written in some formats."""
    whole = made(job, formats)
    _kept_pages(job, whole)
    return {
        "pieces": pieces_of(whole.batch.pieces),
        "files": {path: digest(path, data) for path, data in sorted(whole.files.items()) if path != "manifest.json"},
    }


def developed(job: Path) -> dict[str, Any]:
    """What is kept of the pieces of one job, of which nothing is written."""
    return pieces_of(_planned(job, []).pieces)


def pieces_of(pieces: Iterable[Any]) -> dict[str, Any]:
    """What is kept of each piece."""
    return {piece.id: piece_sums(piece) for piece in pieces}


def piece_sums(piece: Any) -> dict[str, Any]:
    """Sums over everything of one piece, in mm and its powers, to 9 figures."""
    p = piece.pattern
    return {
        "part": f"{p.family}, {p.length_mm:.6g} mm, code {piece.lead.code}, {piece.quantity} off, {piece.hand}",
        "outline": moments((*p.outline, p.outline[0])),
        "inner": [moments((*h, h[0])) for h in p.holes] + [moments(s.points) for s in p.snips],
        "folds": [[*moments((f.start, f.end)), f.angle_deg, f.way.value] for f in p.folds],
        "marks": [moments(m.points) for m in p.marks],
        "points": moments(tuple(s.at for s in p.stations)) if p.stations else [],
    }


def moments(points: tuple[tuple[float, float], ...]) -> list[float]:
    """Length of a line and its first and second moments about the pattern's corner."""
    sums = [0.0] * 5
    for (x0, y0), (x1, y1) in pairwise(points):
        size, x, y = math.dist((x0, y0), (x1, y1)), (x0 + x1) / 2, (y0 + y1) / 2
        for k, factor in enumerate((1.0, x, y, x * x + y * y, x * y)):
            sums[k] += size * factor
    return [float(f"{value:.9g}") for value in sums]


def digest(path: str, data: bytes) -> str:
    """A hash of what a file says."""
    return hashlib.sha256("\n".join(said(path, data)).encode()).hexdigest()[:20]


def said(path: str, data: bytes) -> Iterator[str]:
    """What a file says, line by line, without what depends on the release of a library."""
    if path.endswith(".pdf"):
        with pikepdf.open(io.BytesIO(data)) as pdf:
            for page in pdf.pages:
                yield str([float(v) for v in page.mediabox])
                yield page.Contents.read_bytes().decode("latin-1")
    elif path.endswith(".dxf"):
        lines = data.decode("ascii").splitlines()
        start = lines.index("ENTITIES")
        pairs = zip(map(str.strip, lines[start + 1 :: 2]), map(str.strip, lines[start + 2 :: 2]), strict=False)
        # Handles (5) and owners (330) are counted on from what the library puts into its tables.
        yield "\n".join([f"{code}={value}" for code, value in pairs if code not in {"5", "330"}])
    else:
        yield data.decode()


DRAWINGS = {Format.DXF: "_mm.dxf", Format.DXF_R12: "_mm_r12.dxf", Format.SVG: "_mm.svg"}
"""How the names of the drawings of a roll end."""


def within(kept: dict[str, Any], formats: Collection[Format]) -> dict[str, Any]:
    """What is kept of one job, without drawings in other formats, and without the index, which lists them all."""
    other = "|".join(re.escape(end) for drawn, end in DRAWINGS.items() if drawn not in formats)
    if not other:
        return kept
    left_out = re.compile(rf"index\.txt|rolls/[^_]+(?:{other})")
    return {**kept, "files": {path: said for path, said in kept["files"].items() if not left_out.fullmatch(path)}}


def differences(job: str, kept: dict[str, Any], now: dict[str, Any]) -> list[str]:
    """Say what differs between what was kept of a job and what is made now."""
    out = []
    for what in ("pieces", "files"):
        before, after = kept.get(what, {}), now[what]
        out += [f"{job}: {name} is gone" for name in before if name not in after]
        out += [f"{job}: {name} is new" for name in after if name not in before]
        for name in (n for n in after if n in before):
            if what == "files":
                out += [f"{job}: {name} differs"] if before[name] != after[name] else []
            else:
                parts = [part for part in after[name] if not alike(before[name].get(part), after[name][part])]
                out += [f"{job}: {name}: {', '.join(parts)}"] if parts else []
    return out


def alike(a: Any, b: Any) -> bool:
    """Equal, figures to one part in a hundred million or 1e-6."""
    if isinstance(a, float | int) and isinstance(b, float | int):
        return math.isclose(a, b, rel_tol=1e-8, abs_tol=1e-6)
    if isinstance(a, list) and isinstance(b, list):
        return len(a) == len(b) and all(alike(p, q) for p, q in zip(a, b, strict=True))
    return bool(a == b)


@cache
def kept() -> dict[str, Any]:
    """What is kept of all jobs."""
    found: dict[str, Any] = json.loads(KEPT.read_text(encoding="utf-8")) if KEPT.exists() else {}
    return found


def main() -> int:
    """Say what differs, or keep what is made now."""
    now = {job.stem: kept_of(job) for job in JOBS}
    lines = [line for job, own in now.items() for line in differences(job, kept().get(job, {}), own)]
    sys.stdout.write("".join(f"{line}\n" for line in lines) or "nothing differs\n")
    if "--write" in sys.argv:
        rows = (f" {json.dumps(job)}: {_folded(own)}" for job, own in sorted(now.items()))
        KEPT.write_text("{\n" + ",\n".join(rows) + "\n}\n", encoding="utf-8")
    return 1 if lines and "--write" not in sys.argv else 0


def _folded(own: dict[str, Any]) -> str:
    """One line for each piece and file, so that a change shows as a few lines."""
    parts = []
    for what, entries in own.items():
        rows = ",\n".join(f"   {json.dumps(name)}: {json.dumps(value)}" for name, value in entries.items())
        parts.append(f"  {json.dumps(what)}: {{\n{rows}\n  }}")
    return "{\n" + ",\n".join(parts) + "\n }"


if __name__ == "__main__":
    sys.exit(main())
