"""Every figure of every survey is worked out a second time: a hundredth more of any one is noticed, or one more.

A count or a number is one more, a size a hundredth of a millimetre.
"""

from __future__ import annotations

import math
from dataclasses import fields, is_dataclass, replace
from enum import Enum
from functools import partial

import pytest

from cutpath.jobs import load_job
from cutpath.pieces import pieces_of
from cutpath.profiles import practice
from cutpath.recheck import recheck
from cutpath.values.leadwork import CornerKind, CornerReturn
from tests.faulty.jobs import JOBS, job_text

BY = 0.01

NOT_WRITTEN = frozenset({"origin", "lead", "stock_widths_mm"})
"""What stands elsewhere, or is read from lists of rolls."""

ELSEWHERE = frozenset(
    {
        "Soakers.head.longest_mm",  # none is cut into lengths
        *(f"{kind}.head.lap_mm" for kind in ("Soakers", "BackGutter", "RidgeSaddle", "PipeSlate", "PlainOutline")),
        *(  # of the roof; soakers, laps and covers are worked out from what was written
            f"{kind}.covering.{name}"
            for kind in ("StepFlashing", "Apron", "TopAbutment", "PipeSlate")
            for name in ("length_mm", "headlap_mm", "gauge_mm", "least_pitch_deg", "flatter_deg", "single_lap")
        ),
    }
)
"""Figures that are not worked out twice."""


def _no_return(value):
    return isinstance(value, CornerReturn) and value.kind is CornerKind.NONE


def figures(value, path=""):
    """Each figure and choice of a value by its path, and the value with a hundredth more of it, or another choice."""
    if isinstance(value, float) and math.isfinite(value):
        yield path, value + BY
    elif isinstance(value, Enum):
        yield from ((f"{path} {other}", other) for other in type(value) if other is not value)
    elif isinstance(value, bool):
        yield path, not value
    elif isinstance(value, int):
        yield path, value + 1
    elif is_dataclass(value):
        for field in fields(value):
            if field.name not in NOT_WRITTEN and not _no_return(getattr(value, field.name)):
                for name, other in figures(getattr(value, field.name), f"{path}.{field.name}"):
                    yield name, replace(value, **{field.name: other})
    elif isinstance(value, tuple):
        for place, one in enumerate(value):
            for name, other in figures(one, path):
                yield name, (*value[:place], other, *value[place + 1 :])


def unnoticed(name, tmp_path):
    """The figures of a job that may be a hundredth more without a word."""
    path = tmp_path / "job.toml"
    path.write_text(MORE.get(name) or job_text(name), encoding="utf-8")
    job = load_job(path)[0]
    pieces, _ = pieces_of([job])
    facts = practice()
    assert not recheck(job, pieces, facts)
    alone = partial(recheck, pieces=(), practice=facts, complete=False)  # pieces would follow from a wrong survey
    for what in ("details", "chimneys"):
        every = getattr(job, what)
        for place, one in enumerate(every):
            for figure, other in figures(one, type(one).__name__):
                wrong = replace(job, **{what: (*every[:place], other, *every[place + 1 :])})
                if not alone(wrong):
                    yield figure


MORE = {
    "apron on a flat roof of tiles": (
        'name = "J"\npitch = 17\ncovering = "interlocking tile"\n[[detail]]\nkind = "apron"\nwidth = 600\n'
    ),
    "apron on a roof too flat for laps": 'name = "J"\npitch = 9\n[[detail]]\nkind = "apron"\nwidth = 600\n',
    "lead slate on a flat roof": 'name = "J"\npitch = 17\n[[detail]]\nkind = "lead slate"\npipe = 110\n',
    "apron on tiles of its own": (
        'name = "J"\npitch = 25\ncovering = "slate 500"\n[[detail]]\nkind = "apron"\nwidth = 600\n'
        'covering = "interlocking tile"\n'
    ),
    "chimney in tiles of its own": (
        'name = "J"\npitch = 30\ncovering = "slate 500"\n[[detail]]\nkind = "chimney"\nwidth = 700\ndepth = 600\n'
        "coursing = { gauge = 75, first_joint = 90 }\n"
        'step_and_cover = { covering = { name = "big tile", flatter_by = 3 } }\n'
    ),
    "chimney, own water line": (
        'name = "J"\npitch = 35\ncovering = "plain tile 265"\n[[detail]]\nkind = "chimney"\nwidth = 700\ndepth = 600\n'
        "coursing = { gauge = 75, first_joint = 60 }\n"
        "step_flashing = { water_line = 70, turn_in = 20, code = 5, soakers = { roof = 120 } }\n"
    ),
    "two changes of pitch": (
        'name = "J"\npitch = 30\n[[detail]]\nkind = "step flashing"\nlength = 900\nwater_line = 80\nset_back = 15\n'
        "lap = 160\nlongest = 1200\n"
        "coursing = { gauge = 75, first_joint = 40 }\n"
        "above = [{ length = 800, pitch = 40 }, { length = 700, pitch = 50 }]\n"
    ),
}


@pytest.mark.parametrize("name", [*JOBS, *MORE])
def test_a_figure_that_is_a_hundredth_more_is_noticed(name, tmp_path):
    assert set(unnoticed(name, tmp_path)) <= ELSEWHERE
