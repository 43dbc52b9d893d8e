"""Cautions are short, cover each hazard once, and defer."""

from __future__ import annotations

from cutpath.trade import cautions


def test_every_caution_is_one_short_line() -> None:
    texts = cautions.texts()
    assert len(texts) == len(set(texts)) == len(cautions.CAUTIONS)
    assert all("\n" not in text and len(text) <= 250 for text in texts)


def test_each_regulation_is_named() -> None:
    text = " ".join(cautions.texts())
    for name in (
        "Control of Lead at Work Regulations 2002",
        "L132",
        "COSHH 2002",
        "Work at Height Regulations 2005",
        "Manual Handling Operations Regulations 1992",
        "CDM 2015",
        "Environmental Protection Act 1990 s. 34",
        "Hazardous Waste Regulations 2005",
        "Scrap Metal Dealers Act 2013",
    ):
        assert name in text


def test_marking_and_deference_are_said() -> None:
    text = " ".join(cautions.texts())
    assert "Never score a fold" in text
    assert "Local codes" in text
    assert "FFP3" in text
