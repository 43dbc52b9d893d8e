"""What a run was asked and what it was made from, so that it can be made once more."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from cutpath.errors import Finding
from cutpath.values.formats import Format
from cutpath.values.nest import Division, Nest, Roll
from cutpath.values.settings import Settings


@dataclass(frozen=True, slots=True)
class Asked:
    """What was asked: files and lists by the names they were given by, settings, and what is to be written.

    ``templates`` names pieces that get a full-size pattern: all where it is empty, none where it is None; ``labels`` is
    the grid of the pieces' labels, ``one_label`` tells that all alike in a pack share one, ``settled`` what the
    manifest says of the settings.
    """

    jobs: tuple[str, ...]
    rolls: str | None = None
    practice: str | None = None
    machines: tuple[str, ...] = ()
    settings: Settings = field(default_factory=Settings)
    formats: frozenset[Format] = frozenset()
    templates: tuple[str, ...] | None = None
    labels: str = ""
    one_label: bool = False
    settled: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Laid:
    """How the pieces of one lead lie: its code, the rolls that there were to choose from, and the nest on them."""

    code: int
    rolls: tuple[Roll, ...]
    nest: Nest


@dataclass(frozen=True, slots=True)
class MadeFrom:
    """All that a run was made from.

    Attributes
    ----------
    asked : Asked
    files : mapping
        What every file that was read held, by the name it was given by.
    stock : tuple of Roll or None
        The rolls that it was planned with, where these were a stock's.
    laid : tuple of Laid
        Lead by lead, in ascending code.
    divisions : mapping
        Joints of runs that are not divided evenly, by the runs' numbers.
    names : mapping
        Names of rolls of the shop's own, by their sheets.
    findings : tuple of Finding
        Those of the stock.
    only : mapping
        How many of which pieces are cut, where not all are.
    again : str
        The run whose pieces are cut once more.
    """

    asked: Asked
    files: Mapping[str, bytes]
    stock: tuple[Roll, ...] | None
    laid: tuple[Laid, ...]
    divisions: Mapping[str, Division] = field(default_factory=dict)
    names: Mapping[str, str] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()
    only: Mapping[str, int] = field(default_factory=dict)
    again: str = ""
