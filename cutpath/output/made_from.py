"""What a run was made from as plain values, which its manifest keeps, and back again.

Texts stand as they are, other files in base64. Figures are read back to the last digit.
"""

from __future__ import annotations

import base64
from collections.abc import Mapping
from dataclasses import asdict

from cutpath.values.made_from import MadeFrom
from cutpath.values.nest import Nest
from cutpath.values.told import value_of


def plain(made: MadeFrom) -> dict[str, object]:
    """Write what a run was made from as values that JSON knows."""
    asked = asdict(made.asked)
    asked["formats"] = sorted(made.asked.formats)
    return {
        "asked": asked,
        "files": {name: _text(data) for name, data in made.files.items()},
        "stock": None if made.stock is None else [asdict(roll) for roll in made.stock],
        "laid": [
            {"code": laid.code, "rolls": [asdict(roll) for roll in laid.rolls], "nest": _nest(laid.nest)}
            for laid in made.laid
        ],
        "divisions": {run: list(joints) for run, joints in made.divisions.items()},
        "names": dict(made.names),
        "findings": [asdict(finding) for finding in made.findings],
        "only": dict(made.only),
        "again": made.again,
    }


def made_from(told: Mapping[str, object]) -> MadeFrom:
    """Read it back.

    Raises
    ------
    NotAsToldError
        Where another version wrote it, in another form or not at all, or somebody else.
    """
    return value_of(MadeFrom, told)


def _text(data: bytes) -> object:
    try:
        return data.decode()
    except UnicodeDecodeError:
        return {"base64": base64.b64encode(data).decode()}


def _nest(nest: Nest) -> dict[str, object]:
    """Write a nest whose runs are divided, so that it has no divisions of its own."""
    return {
        "rolls": [
            {
                "roll": asdict(nested.roll),
                "drawn_mm": nested.drawn_mm,
                "placements": [[p.id, p.copy, p.turn_deg, p.flipped, p.x_mm, p.y_mm] for p in nested.placements],
                "offcuts": [[o.x_mm, o.y_mm, o.length_mm, o.width_mm] for o in nested.offcuts],
            }
            for nested in nest.rolls
        ],
        "pieces_mm2": nest.pieces_mm2,
        "drawn_mm2": nest.drawn_mm2,
        "offcuts_mm2": nest.offcuts_mm2,
        "bound_mm2": nest.bound_mm2,
        "optimal": nest.optimal,
    }
