"""HP-GL: 40 units to the millimetre, absolute whole numbers, pens up and down; nothing else.

``IN;PA;SPn;PUx,y;PDx,y,...;PU;SP0;``. Every point is rounded by itself, so no error adds up: at most 0.0125 mm in x
and in y. Lists of points are broken, since old devices hold few. Arcs become chords within the profile's sagitta.
No letters are sent as text. No real machine was tried; hp2xx reads the files back in the tests.
"""

from __future__ import annotations

from itertools import pairwise

from cutpath.drawing.arcs import flattened
from cutpath.values.machine import HPGL_UNITS_PER_MM, Machine
from cutpath.values.toolpath import Frame
from cutpath.writers.bed import on_bed

_POINTS_A_COMMAND = 50


def to_hpgl(frame: Frame, machine: Machine) -> str:
    """Write one frame as HP-GL.

    Raises
    ------
    ValueError
        For a frame without passes, or a coordinate that is negative or over the device's limit.
    """
    if not frame.passes:
        raise ValueError(f"frame {frame.number}: there is nothing to run")
    place = on_bed(machine, frame)
    out = ["IN;PA;"]
    pen, before = 0, None
    for p in frame.passes:
        head = machine.head(p.head)
        if head.number != pen:
            out += ["PU;"] * (before is not None) + [f"SP{head.number};"]
            pen, before = head.number, None
        line = [place(point, head) for point in flattened(p.start, p.moves, machine.sagitta_mm)]
        units = [(round(x * HPGL_UNITS_PER_MM), round(y * HPGL_UNITS_PER_MM)) for x, y in line]
        for value in (v for point in units for v in point):
            if value < 0 or (machine.coordinate_limit is not None and value > machine.coordinate_limit):
                raise ValueError(f"{p.piece} {p.name}: {value} units are beyond the device's numbers")
        rest = [b for a, b in pairwise(units) if a != b] or units[-1:]
        if not p.goes_on_from(before):
            out += ["PU;"] * (before is not None)
            out.append(f"PU{units[0][0]},{units[0][1]};")
        before = p
        lists = (rest[k : k + _POINTS_A_COMMAND] for k in range(0, len(rest), _POINTS_A_COMMAND))
        out += ["PD" + ",".join(f"{x},{y}" for x, y in points) + ";" for points in lists]
    out += ["PU;", "SP0;"]
    return "\n".join(out) + "\n"
