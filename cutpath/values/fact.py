"""A figure with its unit and where it comes from."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Confidence(StrEnum):
    """How well a figure is founded."""

    READ = "read"  # in the named source
    SECOND_HAND = "second-hand"  # a text that restates a standard
    DERIVED = "derived"  # trigonometry or arithmetic that anyone can repeat
    PRACTICE = "common practice, no source"
    MEMORY = "from memory, unverified"
    SHOP = "shop's own"  # set by the user


@dataclass(frozen=True, slots=True)
class Fact:
    """One figure: ``value`` in ``unit``, ``source`` in words, and its ``confidence``."""

    name: str
    value: float
    unit: str
    source: str
    confidence: Confidence
