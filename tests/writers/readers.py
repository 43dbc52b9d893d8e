"""Other people's readers of machine files, for reading back; a test whose reader is absent is skipped and says so."""

from __future__ import annotations

import re
import shutil
import subprocess

import pytest
import shapely

from cutpath.drawing.arcs import flattened
from cutpath.values.toolpath import Step


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


def read_ngc(text: str, folder):
    """What the interpreter would have a machine do: a list of (tool, points with the head down)."""
    tool = need("rs274")
    program, table, parameters = folder / "in.ngc", folder / "t.tbl", folder / "v.var"
    program.write_text(text, encoding="ascii")
    table.write_text("".join(f"T{n} P{n} Z0 D0\n" for n in range(1, 9)), encoding="ascii")
    parameters.write_text("", encoding="ascii")
    run = subprocess.run(
        [tool, "-g", "-n", "2", "-t", str(table), "-v", str(parameters), str(program)],
        capture_output=True, text=True, check=True, timeout=120, stdin=subprocess.DEVNULL,
    )  # fmt: skip
    assert "PROGRAM_END()" in run.stdout
    number = re.compile(r"-?\d+\.\d+|-?\d+")
    runs, at, head, down = [], (0.0, 0.0, 0.0), 0, False
    for line in run.stdout.splitlines():
        if "SELECT_TOOL" in line:
            head = int(number.findall(line[line.index("(") :])[0])
        if not re.search(r"STRAIGHT_(TRAVERSE|FEED)|ARC_FEED", line):
            continue
        values = [float(v) for v in number.findall(line[line.index("(") :])]
        if "ARC_FEED" in line:
            x, y, cx, cy, turns = values[:5]
            assert abs(turns) == 1
            step = Step((x, y), (cx, cy), turns > 0)
            runs[-1][1].extend(flattened(at[:2], [step], 1e-4)[1:])
            at = (x, y, at[2])
            continue
        to = tuple(values[:3])
        if "FEED" in line:
            if not down:
                assert to[:2] == at[:2]
                runs.append((head, [to[:2]]))
                down = True
            else:
                runs[-1][1].append(to[:2])
        else:
            assert to[:2] == at[:2] or not down
            down = False
        at = to
    return runs
