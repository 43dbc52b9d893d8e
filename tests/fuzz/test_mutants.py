"""A few mutants of every kind in each gate; ``-m slow`` and ``python -m tests.fuzz`` take as many as one likes."""

from __future__ import annotations

import pytest

from cutpath.errors import Finding
from tests.fuzz import readers
from tests.fuzz.mutants import encoded, mutant, seeds
from tests.fuzz.readers import READERS, limited, odd, tried

FEW, MANY = 4, 600


def test_every_kind_has_its_reader_and_sound_seeds_are_read(tmp_path):
    assert set(seeds()) == set(READERS)
    for kind, of in seeds().items():
        ends = {tried(kind, encoded(kind, text), tmp_path) for text in of.texts[:1]}
        assert ends == ({"refused"} if kind == "near job" else {"made"}), kind


@pytest.mark.parametrize("kind", seeds())
@pytest.mark.parametrize(
    "numbers", [range(FEW), pytest.param(range(FEW, MANY), marks=pytest.mark.slow)], ids=["few", "many"]
)
def test_mutants_end_in_pieces_or_in_whole_findings(kind, numbers, tmp_path):
    ends = {number: tried(kind, mutant(kind, number), tmp_path) for number in numbers}
    assert {number: end for number, end in ends.items() if end not in {"made", "refused"}} == {}


def test_mutants_are_the_same_each_time_and_differ():
    once = [mutant("job", number) for number in range(20)]
    assert once == [mutant("job", number) for number in range(20)]
    assert len(set(once)) == len(once)


def test_what_goes_wrong_would_be_seen(tmp_path, monkeypatch):
    def wrong(_):
        raise KeyError("S1")

    def endless(_):
        while True:
            pass

    def littering(file):
        file.with_name("left.txt").write_text("x")

    monkeypatch.setattr(readers, "HANGS_S", 0.05)
    for reader, end in ((wrong, "KeyError at"), (endless, "hangs at"), (littering, "left ['left.txt']")):
        monkeypatch.setitem(READERS, "job", reader)
        assert tried("job", b"", tmp_path).startswith(end)
    with limited(5.0):
        assert odd(Finding("CP107", "a: b", "x", "needed: {figure}", "Mend it.")).startswith(
            "CP107 with a place left open"
        )
        assert odd(Finding("CP107", "a: b", "", "y", "Mend it.")) == "CP107 with an empty part"
        assert odd(Finding("CP107", "a: b", "x", "y", "Mend it.")) == ""
