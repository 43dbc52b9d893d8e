"""Wide strips from the job file on: the roll that a run is cut from does not change how it is divided."""

from __future__ import annotations

import pytest

from cutpath.pipeline import plan
from cutpath.plane import bounds_mm

JOB = """
name = "Raked"
pitch = {pitch}
[[detail]]
kind = "step flashing"
hands = "right"
length = {length}
riser = {riser}
coursing = {{ gauge = 75, first_joint = 110 }}
short_steps = "skip"
{width}
"""


def lengths(tmp_path, **values):
    file = tmp_path / "raked.toml"
    file.write_text(JOB.format(**values))
    return [(p.id, p.pattern) for p in plan([file], "ladder-30").pieces]


@pytest.mark.parametrize(
    ("length_mm", "riser", "pitch"),
    [(1385, 70, 40), (1385, 70, 30), (1385, 80, 35), (1460, 65, 42.5), (2275, 70, 45), (2870, 75, 30), (3640, 60, 35)],
)
def test_a_strip_of_600_is_divided_like_the_narrowest(tmp_path, length_mm, riser, pitch):
    """A run of 1385 in a strip of 600 made two pieces, one of 632 said to be 885: it was measured beyond the lead."""
    one, other = (
        lengths(tmp_path, length=length_mm, riser=riser, pitch=pitch, width=width)
        for width in ("", "strip_width = 600")
    )
    assert one == other
    for _, pattern in one:
        assert pattern.length_mm <= bounds_mm(pattern.outline)[2] + 1e-6
