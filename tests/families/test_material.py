"""What each family gives its tests: sound jobs, faults, and random surveys that are developed and proved."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cutpath.errors import Severity
from cutpath.folding import prove
from cutpath.found import folders
from cutpath.tolerances import FOLD_DEVIATION_MM
from tests.families import material
from tests.properties.surveys import GATE, job_of, pieces_of

OF_EACH = {module.__name__.rpartition(".")[2]: module for module in material.modules()}
each_family = pytest.mark.parametrize("name", OF_EACH)


@each_family
def test_its_random_surveys_are_developed_and_proved(name) -> None:
    """By themselves, so that none is passed over because another family was drawn."""
    surveys = getattr(OF_EACH[name], "SURVEYS", ())

    @settings(max_examples=GATE, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
    @given(st.one_of(*surveys))
    def proved(detail) -> None:
        assert detail.folder == name
        pieces = pieces_of(detail)
        proofs, findings = prove(job_of(detail), pieces)
        assert [str(f) for f in findings if f.severity is Severity.FAULT] == []
        assert [p.piece for p in proofs] == [p.id for p in pieces]
        assert max(p.deviation_mm for p in proofs) <= FOLD_DEVIATION_MM

    if surveys:
        proved()


@each_family
def test_it_has_sound_jobs_faults_and_what_its_sheet_shows(name) -> None:
    assert all(getattr(OF_EACH[name], word) for word in ("SOUND", "FAULTS", "MEASURED"))


def test_every_folder_of_a_family_has_such_a_module() -> None:
    assert set(OF_EACH) == set(folders("cutpath.families"))
