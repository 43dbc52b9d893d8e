"""What can hurt, in few words, to be shown once with every output.

The regulations (Great Britain) are named, not quoted; they, the Building Regulations, the standards, the site's own
rules and the judgement of a competent leadworker come first.
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


_LEAD, _AGAIN = "Control of Lead at Work Regulations 2002, L132", "L132"

CAUTIONS: Final[tuple[Caution, ...]] = (
    Caution(
        "limits of this tool",
        "Check every pattern against the wall before cutting. The Building Regulations and the standards, the maker's "
        "instructions and the judgement of a competent leadworker come before anything printed here.",
        (),
    ),
    Caution(
        "lead",
        "Lead is poisonous when swallowed or breathed: gloves, work clothes that stay at work, no food or smoking, "
        "wash before eating, keep it from children.",
        (_LEAD,),
    ),
    Caution(
        "old lead",
        "The white dust on old lead is poisonous: damp it down, never brush or blow it off dry.",
        (_AGAIN,),
    ),
    Caution(
        "who may work",
        "The lead regulations bar young people from some work and protect women of child-bearing age, above all in "
        "pregnancy (from memory, unverified).",
        (_AGAIN,),
    ),
    Caution(
        "no scoring",
        "Mark lead with pencil, chalk or crayon. Never cut or score a fold: it cracks there.",
        (),
    ),
    Caution(
        "leadwelding",
        "Leadwelding is hot work and gives fume: clear away what burns, an extinguisher at hand, watch the place when "
        "you have done, and extract the fume.",
        (_AGAIN,),
    ),
    Caution(
        "heat and machines",
        "Lead melts at 327 °C: hot cutting gives fume, sawing and routing dust; knife and shears neither. Hands clear "
        "of every machine, and a dry run first.",
        (_AGAIN, "PUWER 1998"),
    ),
    Caution(
        "silica",
        "Raking out mortar gives silica dust: water or extraction, guard on, eye protection, FFP3 mask, face-fit "
        "tested.",
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
        "Old lead and offcuts: to a licensed scrap metal dealer or registered waste carrier, with a waste transfer "
        "note; clean sheet is normally not hazardous (from memory).",
        ("Environmental Protection Act 1990 s. 34", "Scrap Metal Dealers Act 2013"),
    ),
)
"""The cautions in the order in which they are shown."""


def texts() -> tuple[str, ...]:
    """Return each caution as one line under its name, unless it begins with that, and the regulations it defers to."""
    return tuple(
        ("" if caution.text.lower().startswith(f"{caution.name} ") else f"{caution.name.capitalize()}: ")
        + caution.text
        + (f" (See: {'; '.join(caution.defers_to)}.)" if caution.defers_to else "")
        for caution in CAUTIONS
    )


def in_short(where: str = "in the report") -> str:
    """Return what is said at the end of a run at the terminal, and ``where`` every caution stands."""
    return (
        f"{_ON_TICKETS[0]} The Building Regulations, the standards and a competent leadworker have the last word. "
        f"Every caution stands {where}."
    )


_ON_TICKETS: Final = (
    (
        "Lead is poisonous: gloves and work clothes, no food or smoking, wash before eating (L132). "
        "Check against the wall first."
    ),
    "Leadwelding: fire and fume. Clear what burns, extinguisher at hand, watch the place after, extract fume (L132).",
    "Raking out: silica dust. Water or extraction, guard on, eye protection, FFP3 mask, face-fit tested (COSHH 2002).",
    "Heavy: lift it with help (Manual Handling Operations Regulations 1992).",
    "Fit it from a proper scaffold or roof access (Work at Height Regulations 2005).",
)


def for_piece(*, welded: bool, turned_in: bool, heavy: bool) -> tuple[str, ...]:
    """Return the cautions that go to the bench with one piece, the gravest first, none left out for others.

    Parameters
    ----------
    welded : bool
        Some of its edges are leadwelded.
    turned_in : bool
        It enters a joint or chase, which is raked or cut out for it.
    heavy : bool
        It is over the lower guideline figure for lifting.
    """
    wanted = (True, welded, turned_in, heavy, True)
    return tuple(text for text, holds in zip(_ON_TICKETS, wanted, strict=True) if holds)


def set_up(*, paper: bool, cuts: bool) -> str:
    """Return what every machine's user is told before a file is run.

    Parameters
    ----------
    paper : bool
        It prints, and works on no sheet.
    cuts : bool
        It has more than pens, so that there are guards.
    """
    guards = ", guards on" if cuts else ""
    dry = "print one page and measure its bar first" if paper else "run the file dry first, head up and without a sheet"
    return f"Keep hands clear of what moves{guards}; {dry}. (See: PUWER 1998.)"


def text_of(name: str) -> str:
    """Return the words of one caution by its name."""
    return next(caution.text for caution in CAUTIONS if caution.name == name)
