"""The room of the rules: sizes are held to figures here, and here alone the findings of the 300s are made.

A rule's figure, source, sense, code, weight and words stand together in ``profiles/practice``; families only say which
size is held to which rule. A shop may set its own figures. One without a sense there is a usual size: it fills in what
a job file leaves out, and nothing is held to it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from string import Formatter
from typing import Any, Final

from cutpath.errors import Finding, Severity
from cutpath.profiles import Practice as Practice  # noqa: PLC0414 - who takes a rule takes its figures from here
from cutpath.profiles import rules
from cutpath.tolerances import POINT_MM
from cutpath.units import deg_text, mm_text, unlike
from cutpath.values.fact import Confidence, Fact, Rule, Sense

WORDS: Final = {
    Sense.LEAST: "at least",
    Sense.OVER: "more than",
    Sense.MOST: "at most",
    Sense.EASES: "only warned of from",
    Sense.SIZE: "usual size",
    Sense.TOLD: "for information",
}
"""What a figure does, in words."""

_REFUSING: Final = frozenset({Confidence.READ, Confidence.DERIVED, Confidence.SHOP})
_PLAIN: Final = {
    (Sense.LEAST, False): ("at least {figure} ({founded_on})", "Make it {figure} or more."),
    (Sense.LEAST, True): ("{figure} or thicker ({founded_on})", "Use {figure}."),
    (Sense.MOST, False): ("at most {figure} ({founded_on})", "Make it {figure} or less, or leave it out."),
}
"""What is accepted, and the remedy, where a rule has no words of its own; by its sense, and whether it is a code."""


def rule_of(name: str) -> Rule:
    """Return the rule that goes with a figure, or a sentence, by its name."""
    return rules()[name]


def rules_behind(code: str, practice: Practice) -> tuple[Rule, ...]:
    """Return the rules whose breach makes a finding of ``code``, in the order of the practice."""
    return tuple(rule for rule in map(rule_of, practice) if code in rule.codes)


def weight(fact: Fact) -> Severity | None:
    """Return the severity of a finding by the rule of a figure, None where nothing can break it."""
    rule = rule_of(fact.name)
    if not rule.codes or rule.sense not in {Sense.LEAST, Sense.OVER, Sense.MOST}:
        return None
    return rule.severity or _founded(fact)


def _founded(fact: Fact) -> Severity:
    """Refuse by a published figure that was read, by arithmetic and by the shop's own rule; warn by all else."""
    return Severity.FAULT if fact.confidence in _REFUSING else Severity.WARNING


def held(
    fact: Fact, where: str, value: float, sentence: str = "", *, severity: Severity | None = None, **figures: object
) -> Iterator[Finding]:
    """Hold a size to the figure of a rule.

    Parameters
    ----------
    fact : Fact
        Figure of the rule; its name says which.
    where : str
        Place of the size in the file, for the finding.
    value : float
        The size, in the unit of the figure.
    sentence : str
        Name of other words for the finding than the rule's own.
    severity : Severity, optional
        In place of the rule's own.
    **figures : object
        For the places in the words, beside ``found``, ``figure``, ``founded_on`` and ``source``.

    Yields
    ------
    Finding
        One, where the size breaks the rule.
    """
    sense = rule_of(fact.name).sense
    if _broken(sense, value, fact.value):
        found = mm_text(value, side=1 if sense is Sense.MOST else -1) if fact.unit == "mm" else amount(value, fact.unit)
        found = unlike(found, value, lambda _: _figure(fact), fact.value)
        yield said(sentence or fact.name, where, fact, severity=severity, found=found, **figures)


def held_to_all(facts: Iterable[Fact], where: str, value: float) -> Iterator[Finding]:
    """Hold a size to several least figures; one finding, by the figure that serves all, as heavy as the heaviest."""
    broken = [fact for fact in facts if _broken(Sense.LEAST, value, fact.value)]
    if broken:
        weights = [weight(fact) for fact in broken]
        severity = Severity.FAULT if Severity.FAULT in weights else None
        yield from held(max(broken, key=lambda fact: fact.value), where, value, severity=severity)


def _broken(sense: Sense, value: float, figure: float) -> bool:
    match sense:
        case Sense.LEAST:
            return value < figure - POINT_MM
        case Sense.OVER:
            return value <= figure
        case Sense.MOST:
            return value > figure + POINT_MM
        case _:
            return False


def said(
    name: str, where: str, fact: Fact | None = None, *, severity: Severity | None = None, **figures: object
) -> Finding:
    """Return the finding of a rule or a sentence, whatever the sizes are.

    Parameters
    ----------
    name : str
        Of the rule's figure, or of the sentence.
    where : str
    fact : Fact, optional
        Figure by which it is said; without one the sentence has to have a severity of its own.
    severity : Severity, optional
        In place of its own.
    **figures : object
        For the places in its words.

    Returns
    -------
    Finding

    Raises
    ------
    ValueError
        When nothing gives it a severity.
    """
    rule = rule_of(name)
    if fact is not None:
        figures = {"figure": _figure(fact), "founded_on": fact.founded_on, "source": fact.source, **figures}
        severity = severity or rule.severity or _founded(fact)
    severity = severity or rule.severity
    if severity is None:
        raise ValueError(f"{name} has no severity")
    accepted, remedy = _PLAIN.get((rule.sense, fact is not None and fact.unit == "code"), ("", ""))

    def write(words: str) -> str:
        return _WRITTEN.vformat(words, (), figures)

    return Finding(
        rule.codes[0],
        where,
        write(rule.found or "{found}"),
        write(rule.accepted or accepted),
        write(rule.remedy or remedy),
        severity,
    )


class _Written(Formatter):
    """Writes ``{x:mm}`` and ``{x:deg}`` as lengths and angles are written everywhere."""

    def format_field(self, value: Any, format_spec: str) -> str:  # noqa: ANN401 - as the library has it
        if format_spec in _UNITS:
            return _UNITS[format_spec](value)
        written: str = super().format_field(value, format_spec)
        return written


_UNITS: Final[Mapping[str, Callable[[float], str]]] = {"mm": mm_text, "deg": deg_text}
_WRITTEN: Final = _Written()


def _figure(fact: Fact) -> str:
    """Write the figure that a size is held to; a length so that what is written passes."""
    if fact.unit != "mm":
        return amount(fact.value, fact.unit)
    return mm_text(fact.value, side={Sense.LEAST: 1, Sense.MOST: -1}.get(rule_of(fact.name).sense, 0))


def amount(value: float, unit: str) -> str:
    """Write a size in the unit of a figure, as findings say it."""
    if unit in _UNITS:
        return _UNITS[unit](value)
    return f"code {value:g}" if unit == "code" else f"{value:g} {unit}"


def figure(fact: Fact) -> str:
    """Write a figure with its unit, such as ``75 mm``, ``code 4`` or ``1 wedge``."""
    if fact.unit == "code":
        return f"code {fact.value:g}"
    unit = fact.unit.removesuffix("s") if fact.value == 1 else fact.unit
    return f"{fact.value:g} {unit}"


def relaxed(own: Fact, published: Fact) -> bool:
    """Tell whether a shop's own figure asks less than the one in whose place it stands."""
    match rule_of(own.name).sense:
        case Sense.LEAST | Sense.OVER | Sense.EASES:
            return own.value < published.value
        case Sense.MOST:
            return own.value > published.value
        case _:
            return False


def changed(practice: Practice, published: Practice) -> tuple[tuple[Fact, Fact], ...]:
    """Return every figure that the shop has set itself, each with the one in whose place it stands."""
    return tuple((fact, published[name]) for name, fact in practice.items() if fact.confidence is Confidence.SHOP)


def shop_findings(practice: Practice, published: Practice, file: str) -> tuple[Finding, ...]:
    """Say which rules of the shop's own are in force, which of them are looser, and which would do nothing.

    Parameters
    ----------
    practice, published : mapping of str to Fact
        With the shop's own figures, and without.
    file : str
        Name of the shop's file, for findings.

    Returns
    -------
    tuple of Finding
        A note to each figure; a fault where nothing is held against the figure, so that setting it is a mistake.
    """
    return tuple(_of_the_shop(own, old, f"{file}: {own.name}") for own, old in changed(practice, published))


def _of_the_shop(own: Fact, old: Fact, where: str) -> Finding:
    if rule_of(own.name).sense is Sense.TOLD:
        return Finding(
            "CP204",
            where,
            f"{figure(own)} for a figure that steers nothing",
            "accepted: a rule or a usual size",
            "Take it out; `cutpath explain` lists what can be set.",
        )
    return said(
        "shop_looser" if relaxed(own, old) else "shop_own",
        where,
        own=figure(own),
        old=figure(old),
        old_founded_on=old.founded_on,
        source=own.source,
    )
