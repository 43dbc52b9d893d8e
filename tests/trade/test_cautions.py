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
        "PUWER 1998",
        "Scrap Metal Dealers Act 2013",
    ):
        assert name in text


def test_marking_and_deference_are_said() -> None:
    text = " ".join(cautions.texts())
    assert "Never cut or score a fold" in text
    assert "Building Regulations" in text
    assert "competent leadworker" in text
    assert "FFP3 mask, face-fit tested" in text


def test_waste_and_those_whom_lead_harms_most_are_told_as_they_are() -> None:
    said = {caution.name: caution for caution in cautions.CAUTIONS}
    waste = said["waste"].text
    for words in (
        "licensed scrap metal dealer",
        "registered waste carrier",
        "waste transfer note",
        "normally not hazardous",
    ):
        assert words in waste
    assert "from memory" in waste
    assert "work clothes" in said["lead"].text
    assert "white dust" in said["old lead"].text
    assert "young people" in said["who may work"].text
    assert "pregnancy" in said["who may work"].text
    assert all("L132" in " ".join(said[name].defers_to) for name in ("lead", "old lead", "who may work", "leadwelding"))
    assert "fire" in cautions.for_piece(welded=True, turned_in=False, heavy=False)[1]
