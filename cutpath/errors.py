"""One root error, and the findings by which cutpath says what is wrong.

Findings carry a code. The bands are: 1xx files, keys and units; 2xx profiles and rolls; 3xx rules of the
trade; 4xx geometry of patterns; 5xx nesting; 6xx drawing and writing; 7xx the output folder; 8xx the stock.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from cutpath.plain import seen


class Severity(StrEnum):
    """How much a finding weighs: a fault refuses the job, a warning is printed, a note informs."""

    FAULT = "fault"
    WARNING = "warning"
    NOTE = "note"


CODES: dict[str, str] = {
    "CP101": "file cannot be read",
    "CP102": "not valid TOML",
    "CP103": "unknown key",
    "CP104": "missing key",
    "CP105": "length not understood",
    "CP106": "pitch or angle not understood",
    "CP107": "value of the wrong kind or out of range",
    "CP108": "name refers to nothing",
    "CP109": "two things have the same name",
    "CP110": "drawing to import is not usable",
    "CP111": "keys that exclude each other",
    "CP112": "size that looks like a slip",
    "CP113": "how many are cut",
    "CP114": "former name",
    "CP115": "order of several jobs",
    "CP201": "profile cannot be used",
    "CP202": "rolls file cannot be used",
    "CP203": "machine profile cannot be used",
    "CP204": "shop's own rules cannot be used",
    "CP205": "settings file cannot be used",
    "CP206": "prices cannot be used",
    "CP207": "something has no price",
    "CP208": "list of batches cannot be used",
    "CP301": "lead too thin for its use",
    "CP302": "piece longer than the limit",
    "CP303": "lap shorter than the rule",
    "CP304": "turn-in shallower than the rule",
    "CP305": "upstand lower than the rule",
    "CP306": "cover shorter than the rule",
    "CP307": "soaker stands higher than the water line",
    "CP308": "covering laid flatter, or with less headlap, than its least",
    "CP309": "no length can be kept under the limit",
    "CP310": "step flashing stands too low above the roof",
    "CP311": "lead too thick for its use",
    "CP312": "free edge wants clips",
    "CP313": "joint to be made by hand",
    "CP314": "how the parts of a set meet",
    "CP315": "roof too flat for a lap",
    "CP316": "pitch that laps follow",
    "CP317": "turn-in to be painted",
    "CP318": "lead no thicker for severe exposure",
    "CP320": "rule relaxed by the shop",
    "CP321": "figure set by the shop",
    "CP322": "heavy to lift",
    "CP401": "bed joints out of order",
    "CP402": "bed joints that do not suit the end of the run",
    "CP403": "riser flatter than the roof",
    "CP404": "strip too narrow for the steps",
    "CP405": "turn-in runs into the next riser",
    "CP406": "fold too short to dress",
    "CP407": "bed joint steeper than the roof",
    "CP408": "return does not fit the joints",
    "CP409": "outline is not a simple shape",
    "CP410": "run too short",
    "CP411": "label does not fit on the piece",
    "CP412": "parts do not go together",
    "CP413": "folded piece misses the brickwork or the roof",
    "CP414": "folded piece runs into itself",
    "CP415": "cut edge of a lap lies bare",
    "CP416": "fold cannot be made as drawn",
    "CP417": "step dips below the water line",
    "CP418": "mark, point or sheet is not as surveyed",
    "CP419": "worked out again, the result differs",
    "CP420": "bed joint or course that looks like a slip",
    "CP421": "second reading of some of the joints",
    "CP422": "riser leans past the lower end",
    "CP501": "piece fits no roll",
    "CP502": "rolls run out",
    "CP503": "nest failed its check",
    "CP601": "drawing failed its check",
    "CP602": "neighbours share a cut",
    "CP603": "sheet does not fit the machine",
    "CP604": "fold would be cut or scored in lead",
    "CP605": "kerf closes a hole or notch",
    "CP606": "cut runs into a neighbour",
    "CP607": "no waste for a lead-in",
    "CP608": "no clear place for a holding tab",
    "CP609": "piece stands across two frames",
    "CP610": "machine file failed its check",
    "CP611": "head makes fume or dust of lead",
    "CP612": "file does not read back as written",
    "CP613": "letters that PDF files lack",
    "CP701": "output folder is not empty",
    "CP702": "output folder cannot be written",
    "CP703": "output would replace what is not its own",
    "CP704": "another run writes there",
    "CP705": "an earlier run was broken off",
    "CP706": "run that cannot be made once more",
    "CP707": "file that a run was made from",
    "CP708": "made once more, the files differ",
    "CP709": "batch that could not be made",
    "CP710": "stage of the work without an end",
    "CP801": "stock file cannot be used",
    "CP802": "no such label or run in the stock",
    "CP803": "held by a run, or in another state",
    "CP804": "stock does not balance",
    "CP805": "roll to be measured first",
    "CP806": "size or amount that the stock cannot book",
    "CP807": "piece cut once more",
}
"""Every code in use and its short title."""


@dataclass(frozen=True, slots=True)
class Finding:
    """What was found wrong, where, what would be accepted, and what to do.

    Attributes
    ----------
    code : str
        A key of `CODES`.
    where : str
        ``<file>: <key path>``, or the name of the piece or roll.
    found, accepted, remedy : str
        Plain words with units.
    severity : Severity
    """

    code: str
    where: str
    found: str
    accepted: str
    remedy: str
    severity: Severity = Severity.FAULT

    def __post_init__(self) -> None:
        if self.code not in CODES:
            raise ValueError(f"no such finding code: {self.code}")
        for part in ("where", "found", "accepted", "remedy"):  # what others wrote is quoted in them
            object.__setattr__(self, part, seen(getattr(self, part)))
        ended = "" if not self.remedy or self.remedy[-1] in ".?!" else "."
        object.__setattr__(self, "remedy", self.remedy[:1].upper() + self.remedy[1:] + ended)

    @property
    def sentence(self) -> str:
        """What was found and what is accepted, in one sentence.

        Examples
        --------
        >>> Finding("CP306", "job.toml: detail[1].cover", "70 mm", "at least 75 mm", "Make it wider.").sentence
        'cover is 70 mm; it must be at least 75 mm'
        >>> Finding("CP104", "job.toml: detail[1].pitch", "nothing", "needed: pitch", "Add pitch.").sentence
        'pitch is missing'
        """
        key = _NUMBERED.sub("", self.where.rpartition(": ")[2]).rpartition(".")[2]
        if self.found == "nothing":
            return f"{key} is missing"
        if _CODE.match(self.found) and _CODE.match(self.accepted):
            return f"it is in {self.found}; it must be {self.accepted}"
        accepted = self.accepted.removeprefix("needed: ").removeprefix("accepted: ")
        bare = _BARE.match(self.found) is not None
        found = f"{key} is {self.found}" if bare else self.found
        if self.severity is Severity.NOTE or _LABELLED.match(accepted):
            return f"{found}; {accepted}"
        must = "it must be" if bare and _BOUND.match(accepted) else "it takes"
        return f"{found}; {must} {accepted}"

    def __str__(self) -> str:
        return self.at(self.where)

    def at(self, where: str) -> str:
        """Return the finding as it is said of a place, or of several in a row."""
        return f"{where}: {self.sentence}. [{self.code}]\n    {self.remedy}"


_NUMBERED = re.compile(r"\[\d+\]")
_BARE = re.compile(r"(-?[\d.]+( ?(mm|cm|m|kg|deg|degrees|%))?|\"[^\"]*\")$")
"""A value by itself, which says nothing without its key."""

_CODE = re.compile(r"code \d( or (thicker|thinner))?$")
_LABELLED = re.compile(r"(usual|possible|the checker says)\b.*?: ")
_BOUND = re.compile(r"(at least|at most|more than|less than|over|under|up to|from|between|one of|\d)\b")


class CutpathError(Exception):
    """Root of every error that cutpath raises on purpose."""


class Refused(CutpathError):  # noqa: N818 - the trade's word for work that is sent back
    """The work is refused; ``findings`` holds every reason at once."""

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings: tuple[Finding, ...] = tuple(findings)
        super().__init__("\n".join(str(f) for f in self.findings))

    def __reduce__(self) -> tuple[type[Refused], tuple[tuple[Finding, ...]]]:
        """Return how it is made again where it comes from another process."""
        return Refused, (self.findings,)


class Misread(Refused):
    """Refused because a file read back otherwise than it was to be written; ``report`` is what can be sent in, JSON."""

    def __init__(self, findings: Iterable[Finding], report: str) -> None:
        self.report = report
        super().__init__(findings)

    def __reduce__(self) -> tuple[type[Misread], tuple[tuple[Finding, ...], str]]:  # type: ignore[override]
        """Return how it is made again where it comes from another process."""
        return Misread, (self.findings, self.report)


def faults(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return those of ``findings`` that refuse the work, in order."""
    return tuple(f for f in findings if f.severity is Severity.FAULT)


def refuse_faults(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return ``findings`` when none is a fault.

    Raises
    ------
    Refused
        With all findings, when at least one is a fault.
    """
    kept = tuple(findings)
    if faults(kept):
        raise Refused(kept)
    return kept
