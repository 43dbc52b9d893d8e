"""Every rule by the name of its figure: what breaks it, the codes of its findings, and how much they weigh.

The figures stand in ``profiles/practice`` with unit, source and confidence; a shop may set its own beside them.
A figure without a rule here is a usual size: it fills in what a job file leaves out, and nothing is held to it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from cutpath.errors import Finding, Severity
from cutpath.values.fact import Confidence, Fact

Practice = Mapping[str, Fact]


class Sense(StrEnum):
    """What a figure does."""

    LEAST = "at least"
    MOST = "at most"
    EASES = "only warned of from"
    SIZE = "usual size"
    TOLD = "for information"


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule.

    Attributes
    ----------
    name : str
        Of its figure in the practice.
    sense : Sense
    codes : tuple of str
        Findings that it stands behind.
    severity : Severity or None
        Of those findings; None: by how well the figure is founded, see `severity_of`.
    """

    name: str
    sense: Sense = Sense.SIZE
    codes: tuple[str, ...] = ()
    severity: Severity | None = None

    def weight(self, fact: Fact) -> Severity | None:
        """Return the severity of a finding by this rule, None where nothing can break it."""
        if not self.codes or self.sense not in {Sense.LEAST, Sense.MOST}:
            return None
        return self.severity or severity_of(fact)


def severity_of(fact: Fact) -> Severity:
    """Refuse by a published figure that was read, by arithmetic and by the shop's own rule; warn by all else."""
    refuses = fact.confidence in {Confidence.READ, Confidence.DERIVED, Confidence.SHOP}
    return Severity.FAULT if refuses else Severity.WARNING


_LEAST, _MOST, _SIZE, _TOLD = Sense.LEAST, Sense.MOST, Sense.SIZE, Sense.TOLD
_WARNING, _NOTE = Severity.WARNING, Severity.NOTE

_RULES: Final = (
    Rule("longest_code_4", _MOST, ("CP302", "CP309")),
    Rule("longest_code_3", _MOST, ("CP302", "CP309")),
    Rule("longest_step_flashing_held_by_many", _TOLD),
    Rule("codes_more_in_severe_exposure", _LEAST, ("CP318",), _WARNING),
    Rule("most_code_soakers", _MOST, ("CP311",)),
    Rule("least_lap", _LEAST, ("CP303",)),
    Rule("slope_lap_head", _LEAST, ("CP303",)),
    Rule("slope_lap_least", _LEAST, ("CP303",)),
    Rule("slope_lap_flattest", _LEAST, ("CP315",), Severity.FAULT),  # a lap is refused, or there is none to refuse
    Rule("true_pitch_plain_tile_less", _SIZE, ("CP316",)),
    Rule("true_pitch_interlocking_less", _SIZE, ("CP316",)),
    Rule("true_pitch_less_least", _SIZE, ("CP316",)),
    Rule("true_pitch_less_most", _SIZE, ("CP316",)),
    Rule("laps_in_level_gutter_sole", _TOLD, ("CP313",)),
    Rule("turn_in", _LEAST, ("CP304",)),
    Rule("turn_in_old_brickwork", Sense.EASES, ("CP304",)),
    Rule("turn_in_unpainted", _MOST, ("CP317",), _NOTE),
    Rule("upstand", _LEAST, ("CP305",)),
    Rule("apron_cover", _LEAST, ("CP306",)),
    Rule("apron_cover_severe", _LEAST, ("CP306",)),
    Rule("cover_flashing_cover", _LEAST, ("CP306",)),
    Rule("step_joint_above_roof", _LEAST, ("CP310",), _WARNING),
    Rule("step_strip_width", _TOLD),
    Rule("step_cover_on_roof", _LEAST, ("CP306",)),
    Rule("step_cover_on_roof_severe", _LEAST, ("CP306",)),
    Rule("water_line_clearance_least", _LEAST, ("CP307",)),
    Rule("water_line_clearance_most", _TOLD),
    Rule("least_fold", _LEAST, ("CP406",), _WARNING),
    Rule("soaker_upstand", _LEAST, ("CP305",), _WARNING),
    Rule("soaker_roof", _LEAST, ("CP306",)),
    Rule("gutter_upstand", _LEAST, ("CP305",)),
    Rule("gutter_sole", _LEAST, ("CP306",)),
    Rule("gutter_up_roof", _LEAST, ("CP306",)),
    Rule("gutter_side", _LEAST, ("CP306",)),
    Rule("gutter_turn_over", _LEAST, ("CP412",)),
    Rule("clip_spacing_least", _SIZE, ("CP312",)),
    Rule("clip_spacing_most", _MOST, ("CP312",), _NOTE),
    Rule("saddle_size", _LEAST, ("CP306",)),
    Rule("saddle_pitch", _LEAST, ("CP306",), _WARNING),
    Rule("pipe_sleeve", _LEAST, ("CP305",)),
    Rule("wedge_spacing", _MOST),
    Rule("wedges_a_piece", _LEAST),
    Rule("wedges_a_step", _LEAST),
    Rule("nail_spacing", _MOST),
    Rule("lift_at_waist", _MOST, ("CP322",), _NOTE),
    Rule("lift_at_waist_lower_filter", _MOST, ("CP322",), _NOTE),
)
RULES: Final[Mapping[str, Rule]] = {rule.name: rule for rule in _RULES}
"""Rules by the name of their figure; `rule_of` also knows the least codes and the usual sizes."""

_LEAST_CODES: Final = "least_code_"


def rule_of(name: str) -> Rule:
    """Give the rule that goes with a figure; a usual size where it is held against nothing."""
    if name.startswith(_LEAST_CODES):
        return Rule(name, Sense.LEAST, ("CP301",))
    return RULES.get(name, Rule(name))


def rules_behind(code: str, practice: Practice) -> tuple[Rule, ...]:
    """Give the rules whose breach makes a finding of ``code``, in the order of the practice."""
    return tuple(rule for rule in map(rule_of, practice) if code in rule.codes)


def figure(fact: Fact) -> str:
    """Write a figure with its unit, such as ``75 mm``, ``code 4`` or ``1 wedge``."""
    if fact.unit == "code":
        return f"code {fact.value:g}"
    unit = fact.unit.removesuffix("s") if fact.value == 1 else fact.unit
    return f"{fact.value:g} {unit}"


def relaxed(own: Fact, published: Fact) -> bool:
    """Tell whether a shop's own figure asks less than the one in whose place it stands."""
    match rule_of(own.name).sense:
        case Sense.LEAST | Sense.EASES:
            return own.value < published.value
        case Sense.MOST:
            return own.value > published.value
        case _:
            return False


def changed(practice: Practice, published: Practice) -> tuple[tuple[Fact, Fact], ...]:
    """Give every figure that the shop has set itself, each with the one in whose place it stands."""
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
    out = []
    for own, old in changed(practice, published):
        where = f"{file}: {own.name}"
        source = f"by its source {figure(old)} ({old.founded_on})"
        words = f"the shop's own rule: {figure(own)} instead of {figure(old)} ({own.source})"
        if rule_of(own.name).sense is Sense.TOLD:
            out.append(
                Finding(
                    "CP204",
                    where,
                    f"{figure(own)} for a figure that steers nothing",
                    "accepted: a rule or a usual size",
                    "Take it out; `cutpath explain` lists what can be set.",
                )
            )
        elif relaxed(own, old):
            out.append(
                Finding(
                    "CP320",
                    where,
                    words,
                    source,
                    "It is looser than its source: say so to whoever answers for the roof, before the lead is cut.",
                    Severity.NOTE,
                )
            )
        else:
            out.append(
                Finding(
                    "CP321",
                    where,
                    words,
                    source,
                    "Nothing to do; it is listed so that everybody knows what the job was held to.",
                    Severity.NOTE,
                )
            )
    return tuple(out)
