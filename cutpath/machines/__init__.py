"""Machine profiles: one TOML file for each machine, ours or a shop's own, checked and made a frozen `Machine`.

A shop copies the profile nearest to its machine, measures, and writes its own figures in. Every fault of a file is
found at once, with its key path. The profiles that come with the tool describe kinds of machines, not products;
their figures are common practice without a source, and they were never tried on a machine.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

from cutpath.errors import Finding, Refused, Severity
from cutpath.intake.checking import Strict as Strict
from cutpath.intake.checking import check
from cutpath.intake.files import read_text
from cutpath.intake.parsing import parse_toml
from cutpath.intake.places import did_you_mean as did_you_mean
from cutpath.machines.contradictions import contradictions
from cutpath.machines.profile import MachineFile, frozen
from cutpath.profiles.reading import profile_root, unread
from cutpath.tolerances import POINT_MM as POINT_MM
from cutpath.trade import cautions as cautions
from cutpath.units import length_mm as length_mm
from cutpath.values.drawing import Role as Role
from cutpath.values.fact import Confidence as Confidence
from cutpath.values.machine import (
    MARK_MM as MARK_MM,
)
from cutpath.values.machine import (
    Axis as Axis,
)
from cutpath.values.machine import (
    Bed as Bed,
)
from cutpath.values.machine import (
    Corner as Corner,
)
from cutpath.values.machine import (
    FileFormat,
    HeadKind,
    Machine,
    Stuff,
)
from cutpath.values.machine import (
    Head as Head,
)
from cutpath.values.machine import (
    Leads as Leads,
)
from cutpath.values.machine import (
    Paper as Paper,
)
from cutpath.values.machine import (
    Perforation as Perforation,
)
from cutpath.values.machine import (
    RoleTask as RoleTask,
)
from cutpath.values.machine import (
    Tabs as Tabs,
)
from cutpath.values.machine import (
    ToolHeights as ToolHeights,
)
from cutpath.values.nest import Roll as Roll


def machine_names() -> tuple[str, ...]:
    """Return the names of the profiles that come with the tool, in order."""
    folder = profile_root() / "machines"
    return tuple(sorted(f.name.removesuffix(".toml") for f in folder.iterdir() if f.name.endswith(".toml")))


def machine(name_or_file: str | Path) -> Machine:
    """Read a machine's profile: one that comes with the tool by its name, else a TOML file of the shop's own.

    Raises
    ------
    Refused
        With every fault of the profile (CP203), or when a fold would be cut or scored in lead (CP604).
    """
    name = str(name_or_file)
    if name in machine_names():
        text = (profile_root() / "machines" / f"{name}.toml").read_text(encoding="utf-8")
        return parse_machine(text, f"profiles/machines/{name}.toml", name)
    read = read_text(name_or_file)
    if isinstance(read, str):
        return parse_machine(read, name, Path(name_or_file).stem)
    raise Refused([unread(read, "CP203", "a readable machine profile", machine_names())])


def parse_machine(text: str, where: str, name: str) -> Machine:
    """Check the text of a profile; ``where`` names it in findings.

    Raises
    ------
    Refused
        With every fault of the profile.
    """
    raw = parse_toml(text, where)
    if isinstance(raw, Finding):
        raise Refused([Finding("CP203", where, raw.found, raw.accepted, raw.remedy)])
    file, findings = check(MachineFile, raw, where, code="CP203")
    if file is None:
        raise Refused(finding for _, finding in findings)
    if found := contradictions(file, where):
        raise Refused(found)
    return frozen(file, name)


def machines(names: Iterable[str | Path]) -> tuple[Machine, ...]:
    """Read several machines, each once however often it is named.

    Raises
    ------
    Refused
        With every fault of every profile, or when two that differ bear one name, which their files would share.
    """
    read: dict[str, Machine] = {}
    found: list[Finding] = []
    for name in names:
        try:
            made = machine(name)
        except Refused as refusal:
            found += refusal.findings
            continue
        if read.setdefault(made.name.casefold(), made) != made:  # some disks take both for one name
            found.append(
                Finding(
                    "CP203",
                    str(name),
                    f'a second machine named "{made.name}"',
                    "a name of its own to each machine",
                    "Give one of the two files another name: a machine is called after its file.",
                )
            )
    if found:
        raise Refused(found)
    return tuple(read.values())


def machine_findings(machine: Machine) -> tuple[Finding, ...]:
    """Return what the user of a machine has to be told once: heads that make fume or dust, cuts that it leaves out."""
    return (*_half_cut(machine), *_hazards(machine))


def _half_cut(machine: Machine) -> Iterator[Finding]:
    """Warn where outlines are cut and holes and snips are not, or the other way round."""
    cuts = {head.name for head in machine.heads if head.kind.cuts}
    run = {role: machine.task(role).head in cuts for role in (Role.INNER, Role.OUTER)}
    if any(run.values()) and not all(run.values()):
        (left,) = (role.value for role, is_cut in run.items() if not is_cut)
        (cut,) = (role.value for role, is_cut in run.items() if is_cut)
        remedy = f"Give {left} the head that cuts, or cut these by hand; inner are holes and snips."
        found = f"{cut} lines are cut, and {left} ones are not"
        yield Finding("CP203", f"{machine.name}: roles.{left}", found, "usual: both", remedy, Severity.WARNING)


def _hazards(machine: Machine) -> tuple[Finding, ...]:
    return tuple(
        Finding(
            "CP611",
            machine.name,
            f"the {head.kind.value} heats or grinds lead: fume or dust",
            "knife and shears give neither",
            "Only with extraction, health surveillance and the approval of a competent person: Control of Lead at Work "
            "Regulations 2002 (L132) and the machine's own instructions come first. No speeds are given.",
            Severity.WARNING,
        )
        for head in machine.heads
        if head.kind.hazardous and machine.stuff is Stuff.LEAD
    )


def unready(machine: Machine) -> tuple[Finding, ...]:
    """Return what a machine lacks before anything can be written for it: figures that only its user can give."""
    if machine.format is not FileFormat.NGC:
        return ()
    working = {machine.task(role).head for role in machine.roles_run()}
    return tuple(
        Finding(
            "CP603",
            machine.name,
            f"the head {head.name} has no {words}",
            f"a {key} of your own in a profile of your own",
            "None is given here, on purpose: speed, dust and fume are for you, the machine's instructions and "
            "a competent person to settle. Copy the profile and write yours in.",
        )
        for head in machine.heads
        for key, words, lacks in (
            ("speed_mm_min", "speed of travel", head.speed_mm_min is None),
            ("spindle_rpm", "speed of the spindle", head.kind is HeadKind.SPINDLE and head.spindle_rpm is None),
        )
        if head.name in working and lacks
    )
