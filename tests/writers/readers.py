"""Readers of machine files for reading back: other people's for HP-GL, our own interpreter for RS-274/NGC."""

from __future__ import annotations

import re
import shutil
import subprocess

import pytest
import shapely

from tests.writers.rs274ngc import interpret


def need(tool: str) -> str:
    """Path of a reader, or skip the test."""
    found = shutil.which(tool)
    if found is None:
        pytest.skip(f"no {tool} on this machine to read the file back")
    return found


def read_hpgl(text: str, folder):
    """Lines that hp2xx draws, as {pen colour index: geometry}; everything understood, nothing ignored."""
    import ezdxf

    tool = need("hp2xx")
    source, target = folder / "in.plt", folder / "out.dxf"
    source.write_text(text, encoding="ascii")
    run = subprocess.run(
        [tool, "-t", "-S", "1", "-p", "11111111", "-c", "12345671", "-m", "dxf", "-f", str(target), str(source)],
        capture_output=True, text=True, check=True, timeout=60, stdin=subprocess.DEVNULL,
    )  # fmt: skip
    assert re.search(r"ignored:\s+0\b", run.stderr + run.stdout)
    assert re.search(r"Unexpected event\(s\):\s+0\b", run.stderr + run.stdout)
    # It moves the drawing to its own corner, and tells from where.
    x0, y0 = (int(v) / 40 for v in re.search(r"Coordinate range: \((\d+), (\d+)\)", run.stderr + run.stdout).groups())
    lines = {}
    for entity in ezdxf.readfile(target).modelspace():
        assert entity.dxftype() == "LINE"
        a, b = entity.dxf.start, entity.dxf.end
        lines.setdefault(entity.dxf.color, []).append(((a.x + x0, a.y + y0), (b.x + x0, b.y + y0)))
    return {pen: shapely.multilinestrings(own) for pen, own in lines.items()}


def read_ngc(text: str):
    """What our interpreter would have a machine do: a list of (tool, points with the head down)."""
    runs, down = [], False
    for move in interpret(text).moves:
        if move.rapid:
            down = False
            continue
        if not down:
            assert move.start[:2] == move.end[:2], "it goes down where it stands"
            runs.append((move.tool, [move.end[:2]]))
            down = True
            continue
        runs[-1][1].extend(move.points()[1:])
    return runs
