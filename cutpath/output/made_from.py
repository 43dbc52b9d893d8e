"""What a run was made from as plain values, which its manifest keeps, and back again.

Texts stand as they are, other files in base64. Figures are read back to the last digit.
"""

from __future__ import annotations

import base64
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from cutpath.errors import Finding, Severity
from cutpath.values.formats import Format
from cutpath.values.made_from import Asked, Laid, MadeFrom
from cutpath.values.nest import Budget, Nest, NestedRoll, Objective, Offcut, OffcutRule, Placement, Roll
from cutpath.values.settings import Settings


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


def made_from(told: Mapping[str, Any]) -> MadeFrom | None:
    """Read it back; None where another version wrote it, in another form or not at all."""
    try:
        return MadeFrom(
            asked=_asked(told["asked"]),
            files={name: _bytes(text) for name, text in told["files"].items()},
            stock=None if told["stock"] is None else tuple(Roll(**roll) for roll in told["stock"]),
            laid=tuple(
                Laid(laid["code"], tuple(Roll(**roll) for roll in laid["rolls"]), _nest_of(laid["nest"]))
                for laid in told["laid"]
            ),
            divisions={run: tuple(joints) for run, joints in told["divisions"].items()},
            names=dict(told["names"]),
            findings=tuple(Finding(**{**f, "severity": Severity(f["severity"])}) for f in told["findings"]),
            only=dict(told["only"]),
            again=told["again"],
        )
    except (KeyError, TypeError, ValueError, AttributeError):
        return None


def _asked(told: Mapping[str, Any]) -> Asked:
    settings = told["settings"]
    return Asked(
        **{
            **told,
            "jobs": tuple(told["jobs"]),
            "machines": tuple(told["machines"]),
            "formats": frozenset(map(Format, told["formats"])),
            "templates": None if told["templates"] is None else tuple(told["templates"]),
            "settings": Settings(
                **{
                    **settings,
                    "offcuts": OffcutRule(**settings["offcuts"]),
                    "objective": Objective(settings["objective"]),
                    "budget": Budget(**settings["budget"]),
                }
            ),
        }
    )


def _text(data: bytes) -> object:
    try:
        return data.decode()
    except UnicodeDecodeError:
        return {"base64": base64.b64encode(data).decode()}


def _bytes(text: str | Mapping[str, str]) -> bytes:
    return text.encode() if isinstance(text, str) else base64.b64decode(text["base64"], validate=True)


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


def _nest_of(told: Mapping[str, Any]) -> Nest:
    rolls = tuple(
        NestedRoll(
            Roll(**nested["roll"]),
            nested["drawn_mm"],
            tuple(Placement(*placement) for placement in nested["placements"]),
            tuple(Offcut(*offcut) for offcut in nested["offcuts"]),
        )
        for nested in told["rolls"]
    )
    return Nest(**{**told, "rolls": rolls})
