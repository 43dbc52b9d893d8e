"""What lies on the roof: coverings by name or by their sizes."""

from __future__ import annotations

from cutpath.errors import Finding
from cutpath.families.desk import Desk, LeftOutError
from cutpath.families.tables import CoveringTable
from cutpath.intake.places import did_you_mean
from cutpath.plain import in_words
from cutpath.profiles import CoveringData, coverings
from cutpath.tolerances import READ_MM
from cutpath.trade.coverings import gauge_mm, headlap_mm
from cutpath.trade.limits import SEVERE, check_covering
from cutpath.trade.plausible import Written, check_size
from cutpath.trade.rules import held
from cutpath.units import mm_text, written
from cutpath.values.survey import Covering, Origin


def covering_of(desk: Desk, asked: str | CoveringTable | None, path: str) -> Covering | None:
    """Return a covering by its name or its sizes, None where none is named; ``path`` is the key that names it.

    Raises
    ------
    LeftOutError
        When no such covering is known, or it lacks a size; the findings say why.
    """  # noqa: DOC501 - a helper makes it
    if asked is None:
        return None
    if isinstance(asked, str):
        asked = CoveringTable(name=asked)
        name_path = path
    else:
        name_path = f"{path}.name"
    listed = _listed(asked.name)
    if listed is None and asked.length is None and (asked.name is None or asked.flatter_by is None):
        raise _unknown_covering(desk, asked.name, path, name_path)
    least = asked.least_pitch if asked.least_pitch is not None else listed.least_pitch_deg if listed else None
    flatter = desk.fact(listed.flatter if listed else "true_pitch_less_most")
    flatter = flatter if asked.flatter_by is None else asked.flatter_by
    if listed.single_lap if listed else asked.length is None:
        return _single_lap(desk, path, asked, least, flatter)
    if asked.headlap is not None and asked.gauge is not None:
        raise desk.refuse(
            "CP111",
            f"{path}.gauge",
            "gauge and headlap are both given",
            "needed: one of the two; the other follows from the length",
            "Take one of the lines out.",
        )
    length = asked.length or (listed.length_mm if listed else 0.0)
    if asked.gauge is not None:
        headlap: float | None = headlap_mm(length, asked.gauge)
    elif asked.headlap is not None:
        headlap = asked.headlap
    elif listed:
        headlap = listed.headlap_severe_mm if desk.job.exposure == SEVERE else listed.headlap_mm
    else:
        headlap = None
    if headlap is None:
        raise desk.refuse("CP104", path, "neither headlap nor gauge", "needed: one of the two", "Add headlap or gauge.")
    name = asked.name or f"covering {mm_text(length)} long"
    key = "gauge" if asked.gauge is not None else "headlap"
    gauge = gauge_in_double_lap(desk, f"{path}.{key}", name, length, headlap)
    by_pitch = () if listed is None else listed.by_pitch_severe if desk.job.exposure == SEVERE else listed.by_pitch
    return Covering(name, length, headlap, gauge, least, flatter, least_headlaps=by_pitch)


def doubt_pitch(desk: Desk, covering: Covering | None, pitch_deg: float, origin: Origin) -> None:
    """Warn where a covering lies flatter than it may; ``origin`` is that of the pitch."""
    if covering is not None:
        desk.add(check_covering(covering, pitch_deg, origin))


def _single_lap(
    desk: Desk, path: str, asked: CoveringTable, least_pitch_deg: float | None, flatter_deg: float
) -> Covering:
    sizes = [key for key in ("length", "headlap", "gauge") if getattr(asked, key) is not None]
    if sizes:
        raise desk.refuse(
            "CP111",
            f"{path}.{sizes[0]}",
            f"{sizes[0]} is given for {asked.name}",
            "accepted: sizes of double-lap coverings only, since a single-lap covering takes no soakers",
            f"Take {in_words(sizes)} out, or give a covering of your own another name.",
        )
    return Covering(asked.name or "", 0.0, 0.0, 0.0, least_pitch_deg, flatter_deg, single_lap=True)


def gauge_in_double_lap(desk: Desk, path: str, name: str, length_mm: float, lap_mm: float) -> float:
    """Return the gauge of a covering by its length and headlap; ``path`` leads to the one of the two that is written.

    A listed covering's headlap is held to the least that is published for it.

    Raises
    ------
    LeftOutError
        When these cannot be laid in double lap.
    """
    gauge = gauge_mm(length_mm, lap_mm)
    by_gauge = path.endswith("gauge")
    if 0 <= lap_mm < length_mm:
        follows, value = ("headlap", lap_mm) if by_gauge else ("covering gauge", gauge)
        finding = check_size(desk.sizes[follows], Written(f"{desk.file}: {path}", value, None))
        desk.add([finding] if finding else _short_headlap(desk, path, name, lap_mm))
        return gauge
    raise desk.refuse(
        "CP107",
        path,
        f"a {f'gauge of {mm_text(gauge)}' if by_gauge else f'headlap of {mm_text(lap_mm)}'} on {mm_text(length_mm)}",
        "a headlap from 0 to less than the length; gauge = (length - headlap) / 2",
        "Check length, headlap and gauge.",
    )


def _short_headlap(desk: Desk, path: str, name: str, lap_mm: float) -> list[Finding]:
    listed = None if 0 < lap_mm < READ_MM else _listed(name)  # metres are told where sizes are held
    least = (listed.least_headlap_severe if desk.job.exposure == SEVERE else listed.least_headlap) if listed else ""
    return list(held(desk.practice[least], desk.where(path), lap_mm, covering=name)) if least else []


def _listed(name: str | None) -> CoveringData | None:
    known = {listed.casefold(): data for listed, data in coverings().items()}
    return known.get(name.casefold()) if name else None


def _unknown_covering(desk: Desk, name: str | None, path: str, name_path: str) -> LeftOutError:
    if name is None:
        return desk.refuse("CP104", path, "neither name nor length", "needed: one of the two", "Add name or length.")
    meant = did_you_mean(name, coverings())
    return desk.refuse(
        "CP108",
        name_path,
        f"no covering named {written(name)}",
        f"one of {', '.join(sorted(coverings()))}, or a table with length and headlap or gauge, or with flatter_by",
        (
            f"Did you mean {meant}?"
            if meant
            else "Of slates or plain tiles give length with headlap or gauge; of another how much flatter it lies, as "
            "flatter_by."
        )
        + " Tiles in single lap, such as pantiles, go by single-lap tile.",
    )
