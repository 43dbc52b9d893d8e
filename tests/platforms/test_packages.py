"""What is handed on: the file of hashes, and wheel and sdist installed outside the checkout."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tarfile
import tomllib

import pytest

from tests.golden.corpus import ROOT

LOCKED = (ROOT / ".ci" / "locked.txt").read_text(encoding="utf-8")
"""Made by the command in DEVELOPERS.md."""


def locked() -> dict[str, list[tuple[int, ...]]]:
    """Versions by package, of every Python that there is a choice for."""
    found: dict[str, list[tuple[int, ...]]] = {}
    for name, version in re.findall(r"^([a-z0-9-]+)==([\d.]+)", LOCKED, re.MULTILINE):
        found.setdefault(name, []).append(tuple(map(int, version.split("."))))
    return found


def test_every_dependency_is_locked_above_its_bound_with_hashes_and_from_nowhere_named():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    for line in project["dependencies"]:
        name, _, least = line.partition(">=")
        bound = tuple(map(int, least.split(".")))
        assert locked().get(name), f"{name} is not locked"
        assert all(version >= bound for version in locked()[name])
    entries = re.split(r"\n(?=[a-z])", LOCKED.strip())
    assert all("--hash=sha256:" in entry for entry in entries)
    assert "://" not in LOCKED
    assert not re.search(r"(?:^|\s)/", LOCKED), "a path of the machine that it was made on"


def test_every_locked_package_has_its_licence_told():
    told = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    missing = [name for name in locked() if not re.search(rf"\b{re.escape(name)}\b", told)]
    assert missing == []


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["wheel", "sdist"])
def test_demo_runs_from_what_is_built_without_a_checkout(kind, tmp_path):
    """Built by hatchling, installed without its dependencies, which stand in this interpreter; run far from here."""
    pytest.importorskip("hatchling")
    plain = {k: v for k, v in os.environ.items() if k != "PYTHONPATH"}
    subprocess.run([sys.executable, "-m", "hatchling", "build", "-d", tmp_path], cwd=ROOT, env=plain, check=True)
    (source,) = tmp_path.glob("*.tar.gz")
    if kind == "sdist":
        with tarfile.open(source) as packed:
            packed.extractall(tmp_path / "unpacked", filter="data")
        (top,) = (tmp_path / "unpacked").iterdir()
        wheels = tmp_path / "again"
        subprocess.run(
            [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", wheels], cwd=top, env=plain, check=True
        )
    else:
        wheels = tmp_path
    (wheel,) = wheels.glob("*.whl")
    site, away = tmp_path / "site", tmp_path / "away"
    away.mkdir()
    pip = [sys.executable, "-m", "pip", "install", "-q", "--no-deps", "--no-index", "--target", site, wheel]
    subprocess.run(pip, env=plain, check=True)
    start = "import cutpath; from cutpath.cli import main; print(cutpath.__file__); main()"
    done = subprocess.run(
        [sys.executable, "-c", start, "demo", "--work", "20000"],
        cwd=away,
        env={**plain, "PYTHONPATH": str(site)},
        capture_output=True,
        text=True,
        check=False,
        timeout=600,
    )
    assert done.returncode == 0, done.stderr
    assert str(site) in done.stdout.splitlines()[0]
    assert (away / "cutpath-demo" / "cut" / "report.html").exists()
