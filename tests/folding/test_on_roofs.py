"""Parts of gutters held to a section of the roof and its fillet, worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from cutpath.folding.on_roofs import section, up_roof
from cutpath.values.leadwork import TiltingFillet

FILLET = TiltingFillet(150.0, 75.0, 25.0, 45.0)
"""150 up the roof from the corner, 75 wide, 25 high; its face rises by 45 deg."""


@pytest.mark.parametrize(
    ("fillet", "reach", "corners"),
    [
        (None, 300.0, [(0, 0), (300, 0)]),
        (FILLET, 100.0, [(0, 0), (100, 0)]),
        (FILLET, 150.0 + 25.0 * np.sqrt(0.5), [(0, 0), (150, 0), (162.5, 12.5)]),
        (
            FILLET,
            150.0 + 25.0 * np.sqrt(2.0) + np.hypot(50.0, 25.0) + 80.0,
            [(0, 0), (150, 0), (175, 25), (225, 0), (305, 0)],
        ),
    ],
)
def test_a_section_goes_over_the_fillet_as_far_as_the_sheet_does(fillet, reach, corners):
    assert section(fillet, reach) == [pytest.approx(corner) for corner in corners]


def parts(*spans):
    """Parts of a gutter along and square to the roof, given by their two ends."""
    return [
        ("" if not k else f"fold {k}", np.array([a[0], b[0]]), np.array([a[1], b[1]])) for k, (a, b) in enumerate(spans)
    ]


def test_parts_lie_on_the_roof_and_its_fillet():
    """Each is measured from its own fold on, so the still one begins where it is said to."""
    right = parts(((0, 0), (150, 0)), ((150, 0), (175, 25)), ((175, 25), (225, 0)), ((225, 0), (305, 0)))
    reach = 150.0 + 25.0 * np.sqrt(2.0) + np.hypot(50.0, 25.0) + 80.0
    assert max(gap.mm for gap in up_roof(right, FILLET, reach)) == pytest.approx(0.0, abs=1e-9)
    begun = [("", np.array([20.0, 150.0]), np.zeros(2)), *right[1:]]
    assert max(gap.mm for gap in up_roof(begun, FILLET, reach, 20.0)) == pytest.approx(0.0, abs=1e-9)
    assert max(gap.mm for gap in up_roof(begun, FILLET, reach)) == pytest.approx(20.0)
    raised = [*right[:3], ("fold 3", np.array([225.0, 305.0]), np.array([0.0, 2.0]))]
    worst = max(up_roof(raised, FILLET, reach), key=lambda gap: gap.mm)
    assert worst.mm == pytest.approx(2.0)
    assert worst.what == "the part beyond 'fold 3' stands off the roof or its fillet"


def test_a_part_too_many_or_too_few_is_counted():
    said = [gap.what for gap in up_roof(parts(((0, 0), (150, 0)), ((150, 0), (175, 25))), None, 300.0)]
    assert said[0] == "2 parts lie up the roof instead of 1"
