"""Findings are told in whole sentences: never two halves joined by a bare comma."""

from __future__ import annotations

import pytest

from cutpath.errors import Finding, Severity


@pytest.mark.parametrize(
    ("where", "found", "accepted", "sentence"),
    [
        ("detail[1].cover", "70 mm", "at least 75 mm (read)", "cover is 70 mm; it must be at least 75 mm (read)"),
        ("detail[2].pitch", "nothing", "needed: pitch", "pitch is missing"),
        ("detail[1].points", "the outline crosses itself", "a simple shape",
         "the outline crosses itself; it takes a simple shape"),
        ("detail[1].kind", '"valley"', "accepted: one of A, B", 'kind is "valley"; it must be one of A, B'),
        ("coursing[3]", "5", "3, 4", "coursing is 5; it must be 3, 4"),
        ("pitch", "8 deg is seldom a roof's pitch", "usual: 10 to 70 deg",
         "8 deg is seldom a roof's pitch; usual: 10 to 70 deg"),
    ],
)  # fmt: skip
def test_what_was_found_and_what_is_accepted_make_a_sentence(where, found, accepted, sentence):
    finding = Finding("CP306", f"job.toml: {where}", found, accepted, "Measure again.")
    assert finding.sentence == sentence
    assert str(finding) == f"job.toml: {where}: {sentence}. [CP306]\n    Measure again."


def test_a_note_asks_for_nothing():
    note = Finding("CP312", "a.toml: detail[1]", "a free edge of 900 mm", "clips 300 to 500 mm apart", "Fix 3.",
                   Severity.NOTE)  # fmt: skip
    assert note.sentence == "a free edge of 900 mm; clips 300 to 500 mm apart"


def test_remedies_are_sentences():
    assert Finding("CP306", "a", "b", "c", "make it wider").remedy == "Make it wider."
    assert Finding("CP306", "a", "b", "c", "Did you mean wide?").remedy == "Did you mean wide?"


def test_a_code_that_will_not_do_is_told_in_a_sentence():
    finding = Finding("CP301", "job.toml: detail[1].code", "code 3", "code 4 or thicker", "Use code 4.")
    assert finding.sentence == "it is in code 3; it must be code 4 or thicker"


def test_what_others_wrote_does_nothing_to_a_terminal():
    finding = Finding("CP107", "a\x1b[2J.csv: row 3", '"\u202egnp"', "needed: a\x07 number", "type \x9b it again")
    assert str(finding) == (
        'a\\u001b[2J.csv: row 3: row 3 is "\\u202egnp"; it takes a\\u0007 number. [CP107]\n    Type \\u009b it again.'
    )
