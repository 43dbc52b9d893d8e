"""A strict reader of the HP-GL that we write: IN, PA, SP, PU and PD with whole numbers, nothing else."""

from __future__ import annotations

import re

from cutpath.readback.lines import MisreadError, Reach, Run

UNITS_PER_MM = 40
"""Of a plotter: its unit is 0.025 mm."""

_COMMAND = re.compile(r"(IN|PA|PU|PD|SP)((?:\d+(?:,\d+)*)?)")


def read_hpgl(data: bytes) -> list[Run]:
    """Return what is run with the pen down, in mm.

    Raises
    ------
    MisreadError
    """
    text = data.decode("ascii", "replace").replace("\n", "")
    commands = text.split(";")
    if commands[:2] != ["IN", "PA"] or commands[-3:] != ["PU", "SP0", ""]:
        raise MisreadError("it does not begin with IN;PA; and end with PU;SP0;")
    runs: list[Run] = []
    pen, at, down = 0, None, False
    for number, command in enumerate(commands[2:-1], 3):
        found = _COMMAND.fullmatch(command)
        places = [int(v) / UNITS_PER_MM for v in found[2].split(",")] if found and found[2] else []
        if found is None:
            raise MisreadError(f"command {number}: {command[:20]!r} is none of ours")
        match found[1]:
            case "SP" if len(places) == 1 and not down:
                pen, at = int(found[2]), None
            case "PU" if not places:
                down, at = False, None
            case "PU" if len(places) == 2 and pen:
                down, at = False, (places[0], places[1])
            case "PD" if places and len(places) % 2 == 0 and pen and (down or at is not None):
                if not down and at is not None:
                    runs.append(Run(pen, *at))
                down = True
                runs[-1].steps += map(Reach, places[::2], places[1::2])
            case _:
                raise MisreadError(f"command {number}: {command[:20]!r} is not as we write it")
    return runs
