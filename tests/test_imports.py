"""Imports go one way, third-party packages stay in their rooms, and starting up is light.

The sources are read, not run, so that imports inside functions are held to the same rules.
"""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from functools import cache
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

from tests.sources import PACKAGE, statements, text

ROOT = Path(__file__).resolve().parents[1]

RANK = {
    # The bottom: these import nothing of the package.
    "plain": -1,
    "sure": -1,
    "errors": 0,
    "units": 0,
    "tolerances": 0,
    "ceilings": 0,
    "workers": 0,
    "found": 0,
    "values": 1,
    # What the stages share: plane geometry, reading with findings, the profiles' figures, rules of the trade.
    "plane": 2,
    "intake": 1,
    "profiles": 2,
    "trade": 3,
    # What pictures and words are made of.
    "paper": 3,
    # Families of leadwork, which the stages ask for what is theirs.
    "families": 4,
    # The stages, none of which knows another one.
    "jobs": 5,
    "machines": 5,
    "prices": 5,
    "pieces": 5,
    "folding": 5,
    "recheck": 5,
    # What each family is held to, which the two provers find for themselves.
    "claims": 6,
    "nesting": 5,
    "drawing": 5,
    "readback": 5,
    "reports": 5,
    "stock": 5,
    "output": 5,
    "settings_file": 6,
    "writers": 6,
    "pipeline": 7,
    "library": 7,
    "making": 8,
    "shelf": 8,
    "again": 9,
    "shop": 9,
    "recutting": 10,
    "batches": 10,
    "cli": 11,
    "__main__": 12,
}
"""A module imports only from parts of a lower rank, or from its own part."""

REPORT_ROOMS = {"account": 1, "pictures": 2, "words": 3}
"""Rooms within the reports, which may read the ones before them."""

APART = {
    "claims": frozenset({"errors", "folding", "recheck", "sure", "tolerances", "values"}),
    "folding": frozenset({"errors", "found", "sure", "tolerances", "values"}),
    "readback": frozenset({"errors", "sure", "values"}),
    "recheck": frozenset({"errors", "found", "profiles", "sure", "tolerances", "units", "values"}),
}
"""Parts that prove the work of others: all they may use of the package, so that they share no code with it."""

STAGES = frozenset(part for part, rank in RANK.items() if rank == 5)

ROOMS: dict[str, frozenset[str]] = {
    "pydantic": frozenset(
        {"families", "jobs", "profiles", "machines", "intake.checking", "prices", "settings_file", "batches.listing"}
    ),
    "ezdxf": frozenset({"writers.dxf", "families.outline.drawing"}),
    "svgwrite": frozenset({"writers.svg"}),
    "reportlab": frozenset(
        {
            f"writers.{name}"
            for name in (
                "flowing",
                "label_sheets",
                "measuring_page",
                "pack_page",
                "pdf",
                "pdf_frame",
                "quote_page",
                "set_up_page",
            )
        }
    ),
    "segno": frozenset({"reports.pictures.qr"}),
    "openpyxl": frozenset({"jobs.order_sheet.cells", "jobs.order_sheet.template"}),
    "defusedxml": frozenset({"jobs.order_sheet.cells"}),
    "platformdirs": frozenset({"settings_file", "stock.file"}),
    "click": frozenset({"cli"}),
    "distributed": frozenset({"batches.crews"}),
    "numba": frozenset({"nesting"}),
    "scipy": frozenset({"nesting"}),
    "numpy": STAGES | {"claims", "families", "paper"},
    "shapely": STAGES | {"claims", "families", "library", "paper"},
}
"""Where each third-party package may be imported: a part of the package, or one module of it."""

SAME_PACKAGE = {"pydantic_core": "pydantic"}
HEAVY = (
    "pydantic",
    "pydantic_core",
    "shapely",
    "numpy",
    "scipy",
    "numba",
    "ezdxf",
    "svgwrite",
    "reportlab",
    "segno",
    "openpyxl",
    "distributed",
)


def modules() -> dict[str, str]:
    """Dotted name below the package (empty for the package itself) and source of every module."""
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = text(path)
    return found


def imported(module: str, source: str, *, package: bool, known: frozenset[str]) -> Iterator[str]:
    """Full dotted name of everything that a module imports, wherever in it the import stands."""
    for node in statements(source):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                parts = ["cutpath", *module.split(".")] if module else ["cutpath"]
                up = node.level - 1 if package else node.level
                base = ".".join([*parts[: len(parts) - up], *([base] if base else [])])
            for alias in node.names:
                below = f"{base}.{alias.name}"
                yield below if below.removeprefix("cutpath.") in known or base == "cutpath" else base


def for_types(source: str) -> frozenset[str]:
    """Packages from which a source takes names for the type checker alone, so that they are never loaded."""
    blocks = (node for node in statements(source) if isinstance(node, ast.If))
    alone = (block for block in blocks if ast.unparse(block.test) == "TYPE_CHECKING")
    named = (node for block in alone for line in block.body for node in ast.walk(line))
    return frozenset(node.module or "" for node in named if isinstance(node, ast.ImportFrom))


def complaints(module: str, source: str, known: frozenset[str], *, package: bool = False) -> list[str]:
    """Say what is wrong with the imports of one module."""
    part = module.partition(".")[0]
    if part not in RANK:
        return [f"{module}: the part {part} has no place in the order of imports"]
    wrong = []
    own = f"cutpath.families.{module.removeprefix('claims.')}"
    named = for_types(source) if part == "claims" else frozenset()
    for name in imported(module, source, package=package, known=known):
        if name in named and name == own:
            continue
        top, _, rest = name.partition(".")
        if top == "cutpath":
            wrong += _inside(module, part, rest)
        elif top != "__future__" and top not in sys.stdlib_module_names:
            rooms = ROOMS.get(SAME_PACKAGE.get(top, top))
            if rooms is None:
                wrong.append(f"{module} imports {top}, which has no room in this package")
            elif part not in rooms and module not in rooms:
                wrong.append(f"{module} imports {top}, whose rooms are {', '.join(sorted(rooms))}")
    return wrong


def _inside(module: str, part: str, rest: str) -> list[str]:
    other, _, below = rest.partition(".")
    if part == other == "reports" and module != part:
        return _inside_reports(module, below)
    if other in {part, "__version__"}:
        return []
    if other not in RANK:
        return [f"{module} imports {other or 'the whole package'} through the front door"]
    if part in APART and other not in APART[part]:
        return [f"{module} imports {other}, whose work it is there to prove"]
    if RANK[other] >= RANK[part]:
        return [f"{module} imports {other}, which does not lie below {part}"]
    return []


def _inside_reports(module: str, below: str) -> list[str]:
    room, other = module.split(".")[1], below.partition(".")[0]
    if {room, other} - set(REPORT_ROOMS):
        return [f"{module} or {below or 'the whole of reports'} has no room in the reports"]
    if room != other and REPORT_ROOMS[other] >= REPORT_ROOMS[room]:
        return [f"{module} imports {other}, which does not lie below {room}"]
    return []


ALL = modules()
KNOWN = frozenset(name for name in ALL if name)


def is_package(module: str) -> bool:
    return (PACKAGE / module.replace(".", "/") / "__init__.py").exists()


@pytest.mark.parametrize("module", sorted(KNOWN))
def test_imports_go_one_way_and_packages_stay_in_their_rooms(module: str) -> None:
    assert not complaints(module, ALL[module], KNOWN, package=is_package(module))


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("families.apron.pattern", "from cutpath.nesting import judge"),
        ("families.apron.pattern", "from cutpath.pieces import split"),
        ("nesting.run", "def f():\n    from cutpath.reports.account.shape import area_mm2"),
        ("nesting.run", "import cutpath.drawing.sheet as sheet"),
        ("nesting.run", "from cutpath import drawing"),
        ("nesting.run", "from ..drawing import sheet"),
        ("nesting.run", "from cutpath import nest"),
        ("values.nest", "from cutpath.plane import moved"),
        ("errors", "from cutpath.values.nest import Nest"),
        ("profiles", "from cutpath.trade.rules import rule_of"),
        ("reports.account.yields", "from cutpath.writers.dxf import to_dxf"),
        ("writers.dxf", "from cutpath.pipeline import make"),
        ("pipeline", "from cutpath.cli import main"),
        ("reports.words.page", "import svgwrite"),
        ("reports.account.yields", "from cutpath.reports.pictures.qr import qr_svg"),
        ("reports.pictures.qr", "from cutpath.reports.words import page"),
        ("reports.oddments", "import math; from cutpath.reports.account.shape import area_mm2"),
        ("paper.ink", "from cutpath.reports.pictures.qr import qr_svg"),
        ("paper.ink", "from cutpath.families.registry import FAMILIES"),
        ("families.apron.views", "from cutpath.reports.pictures.qr import qr_svg"),
        ("drawing.sheet", "from ezdxf import new"),
        ("values.nest", "import numpy as np"),
        ("trade.laps", "from pydantic_core import ErrorDetails"),
        ("families.apron.pattern", "import scipy.optimize"),
        ("pipeline", "import click"),
        ("nesting.run", "import requests"),
        ("somewhere", "import math"),
        ("folding.points", "from cutpath.plane import turned"),
        ("claims.apron", "from cutpath.families.apron import pattern"),
        ("claims.apron", "if TYPE_CHECKING:\n    from cutpath.families.soakers import Soakers"),
        ("folding.gap", "if TYPE_CHECKING:\n    from cutpath.families.apron import Apron"),
        ("folding.gap", "from cutpath.claims import apron"),
        ("recheck.joints", "from cutpath.trade.coursing import joints_from_gauge"),
        ("recheck", "from cutpath.jobs.surveying import survey"),
        ("readback.dxf", "from cutpath.writers.dxf import ROLE_LAYERS"),
    ],
)
def test_a_forbidden_import_is_seen(module: str, source: str) -> None:
    assert len(complaints(module, source, KNOWN | {"drawing.sheet"})) == 1


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("pieces", "from cutpath.families.step_flashing.pattern import section"),
        (
            "nesting.run",
            "from cutpath.nesting.judge import judge\nimport numpy as np\nfrom shapely import box",
        ),
        ("nesting.run", "from .judge import judge\nfrom ..values.nest import Nest\nimport time"),
        ("jobs.read", "from cutpath.profiles import practice\nfrom cutpath import __version__"),
        ("cli.make", "import click\nfrom cutpath.pipeline import make"),
        ("writers.svg", "import svgwrite"),
        ("claims.apron", "from cutpath.folding.claim import Claims\nfrom cutpath.recheck.second import Second"),
        ("claims.apron", "if TYPE_CHECKING:\n    from cutpath.families.apron import Apron"),
    ],
)
def test_a_proper_import_is_let_pass(module: str, source: str) -> None:
    assert complaints(module, source, KNOWN) == []


def test_every_package_imported_is_declared() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    lines = [*project["dependencies"], *project["optional-dependencies"]["cluster"]]
    declared = {re.split(r"[^\w-]", line, maxsplit=1)[0].lower() for line in lines}
    named = {
        SAME_PACKAGE.get(top, top)
        for name, source in ALL.items()
        for top in (t.partition(".")[0] for t in imported(name, source, package=is_package(name), known=KNOWN))
        if top not in sys.stdlib_module_names and top not in {"__future__", "cutpath"}
    }
    owners = packages_distributions()
    assert {owner.lower() for top in named for owner in owners[top]} <= declared


def rooms_told() -> dict[str, set[str]]:
    """Rooms of each package as the table in DEVELOPERS.md has them."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").partition("## Dependencies")[2]
    rows = [line.split(" | ") for line in text.splitlines() if line.startswith("| ")][2:]
    told = {}
    for package, room, *_ in rows:
        named = {name.removesuffix(".py").replace("/", ".") for name in re.findall("`(.*?)`", room)}
        told[package.removeprefix("| ")] = named | (STAGES if "stages" in room else set())
    return told


def test_every_part_is_told_to_developers() -> None:
    told = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").partition("\n## Frames")[0]
    assert [part for part in RANK if f"`{part}.py`" not in told and f"`{part}/`" not in told] == ["__main__"]


def test_the_rooms_of_packages_are_told_to_developers() -> None:
    told = rooms_told()
    assert set(told) == set(ROOMS)
    for package, rooms in ROOMS.items():
        inside = {name: {room for room in rooms if f"{room}.".startswith(f"{name}.")} for name in told[package]}
        assert set().union(*inside.values()) == rooms, package
        assert all(inside.values()), package


@cache
def loaded(*arguments: str) -> tuple[frozenset[str], str]:
    """Run the interpreter afresh: the names of all modules that it imports, and what it prints."""
    run = subprocess.run(
        [sys.executable, "-X", "importtime", *arguments], capture_output=True, text=True, check=True, cwd=ROOT
    )
    lines = (line for line in run.stderr.splitlines() if line.startswith("import time:"))
    return frozenset(line.rpartition("|")[2].strip() for line in lines), run.stdout


@pytest.mark.parametrize("arguments", [("-c", "import cutpath"), ("-m", "cutpath", "--help")])
def test_starting_up_loads_nothing_heavy(arguments: tuple[str, ...]) -> None:
    names, _ = loaded(*arguments)
    assert "cutpath" in names
    assert not {name for name in names if name.partition(".")[0] in HEAVY}


def test_what_only_the_search_needs_is_loaded_for_it_alone() -> None:
    names, _ = loaded("-c", "import cutpath.pipeline, cutpath.shop")
    assert "cutpath.nesting" in names
    assert not names & {"numba", "scipy.optimize", "multiprocessing"}


def test_help_answers() -> None:
    names, text = loaded("-m", "cutpath", "--help")
    assert "click" in names
    assert "Usage" in text


def test_a_heavy_import_would_be_seen() -> None:
    names, _ = loaded("-c", "import cutpath, shapely")
    assert {"cutpath", "shapely", "numpy"} <= names
