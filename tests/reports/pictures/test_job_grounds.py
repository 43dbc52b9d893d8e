"""Grounds of pieces by job: what is told apart by colour and by pattern, and what stays readable on it."""

import re
from itertools import combinations, pairwise

import pytest

from cutpath.reports.pictures.job_grounds import PATTERNS, TINTS, job_grounds
from cutpath.reports.pictures.line_style import CLASSES


def light(colour):
    """Relative luminance by WCAG 2.2."""
    parts = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    r, g, b = (v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one, other):
    high, low = sorted((light(one), light(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_one_job_alone_has_no_ground():
    assert job_grounds(["Mill"]) == {}


def test_jobs_differ_by_pattern_while_there_are_patterns_and_by_both_for_longer():
    names = [f"job {i}" for i in range(len(PATTERNS) * len(TINTS))]
    found = job_grounds(names)
    assert list(found) == names
    assert len({(g.tint, g.marks) for g in found.values()}) == len(names)
    first = [found[name] for name in names[: len(PATTERNS)]]
    assert len({g.marks for g in first}) == len(PATTERNS), "told apart in grey"
    assert all(one.tint != other.tint for one, other in pairwise(first))
    again = job_grounds([*names, "one more"])["one more"]
    assert again.id not in {g.id for g in found.values()}, "each job has an id of its own"


def test_each_ground_has_its_tint_and_marks_inside_its_box():
    for ground in job_grounds(map(str, range(6))).values():
        text = ground.laid(10.0, 20.0, 30.0, 8.0)
        assert f"fill:{ground.tint.ground}" in text
        assert f"stroke:{ground.tint.mark}" in text
        assert len(re.findall("<path", text)) == len(ground.marks)
        points = [tuple(map(float, xy)) for xy in re.findall(r"[ML]([\d.]+) ([\d.]+)", text)]
        assert len(points) >= 4
        assert all(10 <= x <= 40 and 20 <= y <= 28 for x, y in points)


@pytest.mark.parametrize("tint", TINTS)
def test_words_and_lines_stand_out_from_every_tint(tint):
    assert contrast("#000000", tint.ground) >= 4.5
    assert contrast("#000000", tint.mark) >= 4.5, "words where they cross a mark"
    for look in CLASSES.values():
        on_white = contrast(look.colour, "#ffffff")
        assert contrast(look.colour, tint.ground) >= 0.8 * on_white, look
    for colour in ("#0072B2", "#D55E00"):  # folds and snips are worked by: graphics ask for 3 to 1 (WCAG 2.2, 1.4.11)
        assert contrast(colour, tint.ground) >= 3.0
    assert contrast(tint.mark, tint.ground) < contrast("#0072B2", tint.ground), "marks are lighter than any fold"


def test_tints_are_told_apart():
    for one, other in combinations(TINTS, 2):
        assert one.ground != other.ground
