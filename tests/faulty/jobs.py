"""Sound jobs, at least one to each family: what the faults are put into."""

from __future__ import annotations

import math

JOINTS = [131, 206, 281, 357, 432, 508, 583, 659, 734, 810, 885, 961, 1036, 1112, 1187, 1263, 1338, 1414, 1489, 1565]
SECOND = [round(y + 12 - 0.5 * n, 1) for n, y in enumerate(JOINTS)]


def _along(line_mm: float) -> list[float]:
    """Give tape readings along a line parallel to a roof at 35 degrees, of courses of 75.4 that rise 6 in 1000."""
    c, s = math.cos(math.radians(35)), math.sin(math.radians(35))
    return [round((131 + 75.4 * n - line_mm / c) / (s - 0.006 * c), 1) for n in range(20)]


_STEPS = '[[detail]]\nkind = "step flashing"\nlength = 2150\nhands = "{hands}"\nwater_line = 80\n'


def _steps(coursing: str, hands: str = "pair", more: str = "") -> str:
    return f"pitch = 35\n{_STEPS.format(hands=hands)}coursing = {{ {coursing} }}\n{more}"


JOBS: dict[str, str] = {
    "steps": _steps("gauge = 75, first_joint = 120", more="return = { length = 150 }\n"),
    "steps, separate corner": _steps(
        "gauge = 75, first_joint = 120", "right", 'return = { kind = "separate", length = 150 }\n'
    ),
    "steps, heights": _steps(f"joints = {JOINTS}", "right"),
    "steps, read twice": _steps(f"joints = {JOINTS}, second_reading = {{ at = 1700, joints = {SECOND} }}"),
    "steps, along the water line": _steps(f"along_water_line = {_along(80)}", "left"),
    "steps, along two lines": _steps(
        f"along_water_line = {_along(80)}, second_reading = {{ line = 30, along = {_along(30)} }}", "right"
    ),
    "steps, own": (
        'pitch = 40\n[[detail]]\nkind = "step flashing"\nlength = 1240\nhands = "right"\nwater_line = 80\n'
        "coursing = { steps = [{ rise = 172, run = 63 }, { rise = 95, run = 128 }, { rise = 140, run = 165 }, "
        "{ rise = 118, run = 105 }, { rise = 132, run = 166 }, { rise = 127, run = 158 }, "
        "{ rise = 155, run = 200 }] }\n"
    ),
    "steps, steep": (
        'pitch = 55\n[[detail]]\nkind = "step flashing"\nlength = 2150\nhands = "left"\nwater_line = 80\n'
        "coursing = { gauge = 75, first_joint = 150 }\n"
    ),
    "steps, raked": _steps("gauge = 75, first_joint = 120", "right", "riser = 80\nset_back = 20\n"),
    "steps, old line": (
        'pitch = 35\n[[detail]]\nkind = "step flashing"\nlength = 1500\nhands = "right"\n'
        "coursing = { gauge = 75, first_joint = 120 }\n"
    ),
    "step and cover": (
        'pitch = 24\n[[detail]]\nkind = "step and cover"\nlength = 3100\nwater_line = 80\n'
        "coursing = { gauge = 75, first_joint = 120 }\n"
    ),
    "step and cover on tiles": (
        'pitch = 30\ncovering = "interlocking tile"\n[[detail]]\nkind = "step and cover"\nlength = 3100\n'
        "water_line = 80\n"
        "coursing = { gauge = 75, first_joint = 120 }\n"
    ),
    "step and cover on a flat roof": (
        'pitch = 8\n[[detail]]\nkind = "step and cover"\nlength = 1400\nwater_line = 80\n'
        "coursing = { gauge = 75, first_joint = 120 }\n"
    ),
    "change of pitch": (
        'pitch = 28\n[[detail]]\nkind = "step flashing"\nlength = 640\nhands = "left"\nwater_line = 80\n'
        "coursing = { joints = [118, 239, 351, 474, 590, 706, 838, 951, 1077, 1190, 1316, 1428, 1547, 1661] }\n"
        'above = [{ length = "1.35 m", pitch = 45 }]\n'
    ),
    "soakers": 'pitch = 40\ncovering = "plain tile 265"\n[[detail]]\nkind = "soakers"\nlength = 3650\nquantity = 2\n',
    "soakers, slates": (
        'pitch = 40\ncovering = { length = 500, gauge = 205 }\n[[detail]]\nkind = "step flashing"\nlength = 2150\n'
        "soakers = true\ncoursing = { gauge = 75, first_joint = 120 }\n"
    ),
    "apron": 'pitch = 35\n[[detail]]\nkind = "apron"\nwidth = 900\nupstand = 100\n',
    "apron, long": 'pitch = 35\n[[detail]]\nkind = "apron"\nwidth = 3200\nupstand = 100\n',
    "apron, welded": (
        'pitch = 35\n[[detail]]\nkind = "apron"\nwidth = 900\nupstand = 100\ncorners = "welded"\nquantity = 2\n'
    ),
    "back gutter": 'pitch = 35\n[[detail]]\nkind = "back gutter"\nwidth = 900\nup_roof = 280\n',
    "back gutter, welded": (
        'pitch = 35\n[[detail]]\nkind = "back gutter"\nwidth = 900\nup_roof = 280\ncorners = "welded"\n'
    ),
    "back gutter, two": 'pitch = 35\n[[detail]]\nkind = "back gutter"\nwidth = 1900\nup_roof = 280\n',
    "cover flashing": '[[detail]]\nkind = "cover flashing"\nlength = "4.2 m"\ncover = 100\n',
    "cover flashing, raking": '[[detail]]\nkind = "cover flashing"\nlength = "2.4 m"\nslope = 35\nhands = "pair"\n',
    "cover flashing, returns": '[[detail]]\nkind = "cover flashing"\nlength = 900\nreturns = 150\n',
    "ridge saddle": 'pitch = 38\n[[detail]]\nkind = "ridge saddle"\n',
    "ridge saddle, welded": 'pitch = 38\n[[detail]]\nkind = "ridge saddle"\ncorners = "welded"\n',
    "top-edge abutment": (
        'pitch = 18\n[[detail]]\nkind = "top-edge abutment"\nlength = 2900\nstop_ends = "both"\nstop_height = 90\n'
    ),
    "valley gutter": 'pitch = 30\n[[detail]]\nkind = "valley gutter"\nlength = 3300\nother_pitch = 42\n',
    "secret gutter": 'pitch = 25\n[[detail]]\nkind = "secret gutter"\nlength = 2900\n',
    "lead slate": 'pitch = 30\n[[detail]]\nkind = "lead slate"\npipe = 110\n',
    "outline": (
        '[[detail]]\nkind = "outline"\npoints = [[0, 0], [450, 0], [450, 380], [0, 400]]\n'
        "holes = [[[185, 160], [275, 160], [290, 240], [170, 240]]]\n"
        "folds = [{ from = [0, 330], to = [450, 330], angle = 60 }]\nquantity = 3\n"
    ),
    "chimney": (
        'pitch = 40\ncovering = "plain tile 265"\n[coursing.stack]\ngauge = 75\nfirst_joint = 44\n'
        '[[detail]]\nkind = "chimney"\nwidth = 1020\ndepth = 780\n'
    ),
    "chimney, severe": (
        'pitch = 30\nexposure = "severe"\n[coursing.stack]\ngauge = 75\nfirst_joint = 92\n'
        '[[detail]]\nkind = "chimney"\nwidth = 610\nslope_length = 610\ncorners = "welded"\n'
        'step_and_cover = { water_line = 75, return = { kind = "integral", length = 130 } }\n'
    ),
}
"""Job files by name, less the line with the job's name."""


def job_text(name: str) -> str:
    """Give a whole job file."""
    return f'name = "{name.title()}"\n{JOBS[name]}'
