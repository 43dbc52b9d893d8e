"""What was found in jobs that were made all the same, and the cautions."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from html import escape

from cutpath.errors import Finding, Severity
from cutpath.paper.markup import element
from cutpath.paper.text import times
from cutpath.values.survey import Job

_DEGREES = re.compile(r"(?<=\d) deg\b(?!\")")
"""The unit of an angle in a sentence, but not of one that is quoted as somebody wrote it."""


def findings_html(findings: Sequence[Finding], jobs: Sequence[Job]) -> str:
    """List what was found in some jobs."""
    if not findings:
        return ""
    order = list(Severity)
    labels = {d.head.origin.key(""): d.head.label for job in jobs for d in reversed(job.details)}
    alike: dict[object, list[Finding]] = {}
    for found in sorted(findings, key=lambda f: order.index(f.severity)):
        alike.setdefault((found.severity, found.code, _sentence(found), found.remedy), []).append(found)
    return element(
        "section",
        element("h2", "Check these", id="check"),
        *(
            element(
                "div",
                element(
                    "p",
                    element("b", escape(_heading(group, jobs, labels))),
                    escape(_sentence(group[0])),
                ),
                element("p", escape(times(group[0].remedy)), class_="remedy"),
                element(
                    "details",
                    element("summary", f"{group[0].code}, and where"),
                    *(element("p", escape(found.where)) for found in group),
                ),
                class_="finding",
            )
            for group in alike.values()
        ),
    )


def _heading(group: Sequence[Finding], jobs: Sequence[Job], labels: Mapping[str, str]) -> str:
    """Say how much findings weigh that are alike, and what they are about, job by job where there are several."""
    names = {job.file: job.name for job in jobs} if len(jobs) > 1 else {}
    places: dict[str, list[str]] = {}
    for found in group:
        places.setdefault(names.get(found.where.partition(": ")[0], ""), []).append(_place(found, labels))
    told = (f"{job}: {'; '.join(own)}" if job else "; ".join(own) for job, own in places.items())
    return f"{group[0].severity.value.capitalize()}, {'; '.join(told)}. "


def _place(finding: Finding, labels: Mapping[str, str]) -> str:
    """Say what a finding is about as a person would: no file, no underscore, a detail by the label on its picture."""
    _, job_file, keys = finding.where.partition(".toml: ")
    if not job_file:
        return finding.where
    if (own := max((place for place in labels if _is_under(finding.where, place)), key=len, default="")) != "":
        keys = labels[own] + finding.where.removeprefix(own)
    return re.sub(r"\[(\d+)\]", r" \1", keys).replace(".", ", ").replace("_", "-")


def _is_under(where: str, place: str) -> bool:
    return where == place or where.startswith(f"{place}.")


def _sentence(finding: Finding) -> str:
    """Return a finding's sentence as a person writes it: no underscore in its first word, and the sign for degrees."""
    key, space, rest = finding.sentence.partition(" ")
    words = times(_DEGREES.sub("°", key.replace("_", "-") + space + rest))
    return f"{words[:1].upper()}{words[1:]}."


def cautions_html(cautions: Sequence[str]) -> str:
    """List the cautions in two boxes, each whole on its page and low enough to leave no page half empty."""
    if not cautions:
        return ""
    items = [element("li", escape(times(caution))) for caution in cautions]
    half = (len(items) + 1) // 2
    return element(
        "section",
        element("div", element("h2", "Before you start", id="safety"), element("ul", *items[:half])),
        element("div", element("h3", "At work and after"), element("ul", *items[half:])) if items[half:] else "",
        class_="cautions",
    )
