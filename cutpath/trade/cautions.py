"""What can hurt, in few words, to be shown once with every output.

The regulations are named, not quoted; local codes, the site's own rules and licensed practice come first.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Caution:
    """One hazard: what to mind, and the regulations (Great Britain) that have the last word on it."""

    name: str
    text: str
    defers_to: tuple[str, ...]


CAUTIONS: Final[tuple[Caution, ...]] = (
    Caution(
        "limits of this tool",
        "Check every pattern against the wall before cutting. Local codes, the maker's instructions and the "
        "judgement of a competent leadworker come before anything printed here.",
        (),
    ),
    Caution(
        "lead",
        "Lead is poisonous when swallowed or breathed: gloves, no food or smoking at work, wash before eating, keep it "
        "from children.",
        ("Control of Lead at Work Regulations 2002, L132",),
    ),
    Caution(
        "no scoring",
        "Mark lead with pencil, chalk or crayon. Never score a fold: a scored fold cracks.",
        (),
    ),
    Caution(
        "heat and machines",
        "Lead melts at 327 C: hot cutting and welding give fume, sawing and routing give dust. Knife and shears "
        "give neither.",
        ("Control of Lead at Work Regulations 2002, L132",),
    ),
    Caution(
        "silica",
        "Raking out mortar gives silica dust: water or extraction, guard on, eye protection, FFP3-class mask.",
        ("COSHH 2002",),
    ),
    Caution(
        "height",
        "Work from a proper scaffold or roof access, never from the roof itself or a ladder alone.",
        ("Work at Height Regulations 2005", "CDM 2015"),
    ),
    Caution(
        "weight",
        "A roll 300 mm x 6 m of code 4 weighs 36.7 kg: lift with help or cut it on the ground.",
        ("Manual Handling Operations Regulations 1992",),
    ),
    Caution(
        "waste",
        "Keep offcuts and old lead apart, and pass them only to a licensed dealer or carrier, with the paper for it.",
        (
            "Environmental Protection Act 1990 s. 34",
            "Hazardous Waste Regulations 2005",
            "Scrap Metal Dealers Act 2013",
        ),
    ),
)
"""The cautions in the order in which they are shown."""


def texts() -> tuple[str, ...]:
    """Give each caution as one line, with the regulations that it defers to."""
    return tuple(
        f"{caution.name.capitalize()}: {caution.text}"
        + (f" (See: {'; '.join(caution.defers_to)}.)" if caution.defers_to else "")
        for caution in CAUTIONS
    )


def set_up(*, paper: bool) -> str:
    """Return what every machine's user is told before a file is run; ``paper``: it prints, and works on no sheet."""
    dry = "print one page and measure its bar first" if paper else "run the file dry first, head up and without a sheet"
    return f"Keep hands clear of what moves, guards on; {dry}. (See: PUWER 1998.)"


def text_of(name: str) -> str:
    """Give the words of one caution by its name."""
    return next(caution.text for caution in CAUTIONS if caution.name == name)
