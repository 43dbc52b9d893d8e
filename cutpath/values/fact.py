"""A figure with its unit and where it comes from, and the rule that goes with it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from cutpath.errors import Severity


class Confidence(StrEnum):
    """How well a figure is founded."""

    READ = "read"  # in the named source
    SECOND_HAND = "second-hand"  # a text that restates a standard
    DERIVED = "derived"  # trigonometry or arithmetic that anyone can repeat
    PRACTICE = "common practice, no source"
    MEMORY = "from memory, unverified"
    SHOP = "shop's own"  # set by the user


def graded(source: str, confidence: Confidence) -> str:
    """Return where a figure comes from and how well that founds it, each said once; one that was read stands alone."""
    alone = confidence is Confidence.READ or confidence.value in source
    return source if alone else f"{source}; {confidence.value}"


@dataclass(frozen=True, slots=True)
class Fact:
    """One figure: ``value`` in ``unit``, ``source`` in words, and its ``confidence``."""

    name: str
    value: float
    unit: str
    source: str
    confidence: Confidence

    @property
    def founded_on(self) -> str:
        """Source and confidence in words."""
        return graded(self.source, self.confidence)


class Sense(StrEnum):
    """What a figure does."""

    LEAST = "least"
    OVER = "over"
    MOST = "most"
    EASES = "eases"
    SIZE = "size"
    TOLD = "told"


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule: what breaks a figure, and what is said then. A sentence without a figure is one that is only told.

    Attributes
    ----------
    name : str
        Of its figure in the practice, or of the sentence.
    sense : Sense
    codes : tuple of str
        Findings that it stands behind, its own first.
    severity : Severity or None
        Of its finding; None: by how well the figure is founded.
    found, accepted, remedy : str
        Words of its finding, with places for figures; empty: the plain words.
    """

    name: str
    sense: Sense = Sense.SIZE
    codes: tuple[str, ...] = ()
    severity: Severity | None = None
    found: str = ""
    accepted: str = ""
    remedy: str = ""


@dataclass(frozen=True, slots=True)
class Plausible:
    """What a size usually is, and what it can be.

    Attributes
    ----------
    name : str
    of : str
        What has that size, in words.
    unit : str
    usual, possible : tuple of float
        From least to most; outside ``usual`` a size asks for a second look, outside ``possible`` it is a slip.
    confirmable : bool
        True where a size outside ``possible`` may be let pass by who measured it.
    source : str
    confidence : Confidence
    """

    name: str
    of: str
    unit: str
    usual: tuple[float, float]
    possible: tuple[float, float]
    confirmable: bool
    source: str
    confidence: Confidence

    @property
    def founded_on(self) -> str:
        """Source and confidence in words."""
        return graded(self.source, self.confidence)
