"""Figures of the trade, as data with their sources."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from cutpath.errors import Refused
from cutpath.profiles import coverings, lead_facts, lead_table, masonry, practice, reading, rules
from cutpath.profiles.reading import profile_root
from cutpath.profiles.rolls import parse_rolls, rolls_list, rolls_names
from cutpath.values.fact import Confidence


def test_mass_is_thickness_times_density() -> None:
    """Derived: every mass of the table is thickness x 11.34 g/cm3, to the decimals that are printed."""
    density = lead_facts()["density"]
    assert (density.value, density.unit, density.confidence) == (11.34, "g/cm3", Confidence.DERIVED)
    assert sorted(lead_table()) == [3, 4, 5, 6, 7, 8]
    for lead in lead_table().values():
        assert lead.mass_kg_m2 == pytest.approx(lead.thickness_mm * density.value, abs=0.006)


def test_a_roll_of_300_by_6_m_in_code_4_weighs_36_7_kg() -> None:
    """Derived."""
    assert lead_table()[4].mass_kg_m2 * 0.3 * 6 == pytest.approx(36.7, abs=0.05)


def test_every_figure_has_a_unit_and_a_source() -> None:
    facts = [*practice().values(), *lead_facts().values()]
    assert len(facts) > 40
    assert all(fact.unit and fact.source for fact in facts)
    unsourced = [fact for fact in facts if fact.confidence is Confidence.PRACTICE]
    assert unsourced
    assert all(fact.source.startswith("common practice, no source") for fact in unsourced)
    assert all("unverified" in fact.source for fact in facts if fact.confidence is Confidence.MEMORY)


@pytest.mark.parametrize(
    ("name", "value", "unit", "confidence"),
    [
        ("longest_code_4", 1500, "mm", Confidence.READ),
        ("longest_code_3", 1000, "mm", Confidence.PRACTICE),
        ("longest_step_flashing_held_by_many", 1200, "mm", Confidence.PRACTICE),
        ("least_code_soakers", 3, "code", Confidence.READ),
        ("least_code_apron", 4, "code", Confidence.READ),
        ("least_lap", 100, "mm", Confidence.READ),
        ("turn_in", 25, "mm", Confidence.READ),
        ("turn_in_old_brickwork", 15, "mm", Confidence.PRACTICE),
        ("upstand", 75, "mm", Confidence.PRACTICE),
        ("apron_cover", 150, "mm", Confidence.PRACTICE),
        ("apron_cover_severe", 200, "mm", Confidence.PRACTICE),
        ("cover_flashing_cover", 75, "mm", Confidence.PRACTICE),
        ("wedge_spacing", 450, "mm", Confidence.READ),
        ("lift_at_waist", 25, "kg", Confidence.MEMORY),
    ],
)
def test_limits(name: str, value: float, unit: str, confidence: Confidence) -> None:
    fact = practice()[name]
    assert (fact.value, fact.unit, fact.confidence) == (value, unit, confidence)


def test_coverings_and_masonry() -> None:
    tile = coverings()["plain tile 265"]
    assert (tile.length_mm, tile.headlap_mm, tile.headlap_severe_mm, tile.least_pitch_deg) == (265, 65, 75, 35)
    assert coverings()["slate 400"].least_pitch_deg == 20
    metric, imperial = masonry()["metric brick"], masonry()["imperial brick"]
    assert metric.course_least_mm * 4 == metric.course_most_mm * 4 == 300
    assert imperial.course_least_mm * 4 == pytest.approx(12 * 25.4)
    assert imperial.course_most_mm * 4 == pytest.approx(13.5 * 25.4, abs=0.2)


def test_coverings_in_single_lap_have_no_sizes_and_slates_alone_lap_by_their_pitch() -> None:
    """The headlaps are common practice, no source: two tables that agree, and one for severe exposure."""
    for name, data in coverings().items():
        sizes = (data.length_mm, data.headlap_mm, data.headlap_severe_mm)
        assert data.single_lap is (sizes == (0, 0, 0)) is name.endswith(("interlocking tile", "single-lap tile"))
        assert data.single_lap or min(sizes) > 0
        assert bool(data.by_pitch) is bool(data.by_pitch_severe) is name.startswith("slate")
    slate = coverings()["slate 500"]
    assert (dict(slate.by_pitch)[30], dict(slate.by_pitch_severe)[30]) == (80, 100)


def test_a_rule_has_the_codes_of_what_is_said_of_it_and_each_once() -> None:
    known = rules()
    assert known["longest_code_4"].codes == ("CP302", "CP309")
    assert known["least_lap"].codes == known["least_lap_at_an_arris"].codes == ("CP303",)
    assert known["lap_rounding"].codes == ()


def test_a_length_that_nobody_measured_is_told_so() -> None:
    about, measured = parse_rolls(
        'rolls = [{ width = 390, length = "about 4 m", name = "in the van" }, { width = 390, length = "4 m" }]',
        "r.toml",
    )
    assert (about.exact, about.name) == (False, "in the van; about 4000 mm: measure it first")
    assert (measured.exact, measured.name) == (True, "")


def test_lists_of_rolls() -> None:
    assert rolls_names() == ("cut-lengths", "ladder-30", "ladder-75")
    default = rolls_list()
    assert sorted({roll.width_mm for roll in default}) == list(range(150, 601, 30))
    assert {roll.length_mm for roll in default} == {3000, 6000}
    assert all(roll.quantity is None and not roll.material and not roll.offcut for roll in default)
    assert sorted({roll.width_mm for roll in rolls_list("ladder-75")}) == [150, 225, 240, 300, 375, 450]


def test_a_rolls_file_is_toml_or_json(tmp_path: Path) -> None:
    toml = tmp_path / "shop.toml"
    toml.write_text("[[rolls]]\nwidth_mm = 450\nlength_mm = 6000\nquantity = 2\ncode = 4\n", encoding="utf-8")
    plain = tmp_path / "shop.json"
    plain.write_text('{"rolls": [{"width_mm": 450, "length_mm": 6000, "quantity": null}]}', encoding="utf-8")
    (roll,) = rolls_list(toml)
    assert (roll.width_mm, roll.length_mm, roll.quantity, roll.material) == (450, 6000, 2, "lead code 4")
    (roll,) = rolls_list(str(plain))
    assert (roll.width_mm, roll.quantity, roll.material) == (450, None, "")


@pytest.mark.parametrize("keys", [("width_mm", "length_mm"), ("width", "length")])
def test_sides_of_a_roll_carry_their_unit(keys: tuple[str, str]) -> None:
    (roll,) = parse_rolls(f'[[rolls]]\n{keys[0]} = "17 1/2 in"\n{keys[1]} = "6 m"\n', "r")
    assert (roll.width_mm, roll.length_mm) == (444.5, 6000)
    with pytest.raises(Refused) as refused:
        parse_rolls(f'[[rolls]]\n{keys[0]} = "450"\n{keys[1]} = "-6 m"\nwidth_m = 1\n', "r")
    assert {f.where for f in refused.value.findings} == {f"r: rolls[1].{key}" for key in (*keys, "width_m")}
    assert any('Write "450 mm"' in f.remedy for f in refused.value.findings)


def test_a_side_of_a_roll_is_given_once() -> None:
    with pytest.raises(Refused) as refused:
        parse_rolls("[[rolls]]\nwidth = 450\nwidth_mm = 450\nlength = 6000\n", "r")
    assert [f.where for f in refused.value.findings] == ["r: rolls[1].width"]


def test_the_material_of_a_roll_is_named_as_the_lead_names_it() -> None:
    (roll,) = parse_rolls("[[rolls]]\nwidth_mm = 450\nlength_mm = 6000\ncode = 5\n", "r")
    assert roll.material == lead_table()[5].material


@pytest.mark.parametrize(
    ("text", "keys"),
    [
        ("{", {"r"}),
        ("{}", {"r: rolls"}),
        ("[[rolls]]\nwidth_mm = \n", {"r"}),
        ("rolls = []", {"r: rolls"}),
        ('{"rolls": [], "roll": 1}', {"r: rolls", "r: roll"}),
        ('{"units": "in", "rolls": [{"width_mm": 1, "length_mm": 1}]}', {"r: units"}),
        (
            '{"rolls": [{"width_mm": 450, "length_mm": 6000}, {"width_mm": -1, "lenght_mm": 3, "quantity": "2"}]}',
            {"r: rolls[2].width_mm", "r: rolls[2].length_mm", "r: rolls[2].lenght_mm", "r: rolls[2].quantity"},
        ),
        ('[[rolls]]\nwidth_mm = 1\nlength_mm = 1\ncode = 4\nmaterial = "zinc"\n', {"r: rolls[1].code"}),
        ("[[rolls]]\nwidth_mm = 450\nlength_mm = 6000\ncode = 44\n", {"r: rolls[1].code"}),
        ('{"rolls": [{"width_mm": NaN, "length_mm": Infinity}]}', {"r: rolls[1].width_mm", "r: rolls[1].length_mm"}),
    ],
)
def test_a_bad_list_of_rolls_is_refused_with_every_fault(text: str, keys: set[str]) -> None:
    with pytest.raises(Refused) as refused:
        parse_rolls(text, "r")
    assert {finding.where for finding in refused.value.findings} == keys
    assert {finding.code for finding in refused.value.findings} == {"CP202"}


@pytest.mark.parametrize("length", ["6000", '"about 6 m"'])
def test_a_roll_with_a_key_that_it_does_not_take_is_told_which_it_takes(length: str) -> None:
    with pytest.raises(Refused) as refused:
        parse_rolls(f"[[rolls]]\nwidth_mm = 450\nlength_mm = {length}\nquantty = 2\n", "r")
    (found,) = refused.value.findings
    assert (" quantity," in found.accepted, found.remedy) == (True, "Did you mean quantity?")


def test_a_list_that_is_not_there_is_refused_with_a_hint() -> None:
    with pytest.raises(Refused) as refused:
        rolls_list("lader-30")
    (finding,) = refused.value.findings
    assert finding.code == "CP202"
    assert "ladder-30" in finding.remedy


def test_an_installed_package_carries_its_profiles_inside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert (profile_root() / "lead").is_dir()
    inside = tmp_path / "profiles_data"
    (inside / "rolls").mkdir(parents=True)
    (inside / "rolls" / "only.toml").write_text("[[rolls]]\nwidth_mm = 1\nlength_mm = 2\n", encoding="utf-8")
    monkeypatch.setattr(reading, "files", lambda _: tmp_path)
    assert rolls_names() == ("only",)
    assert len(rolls_list("only")) == 1


def test_a_spoilt_profile_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "profiles_data" / "practice"
    folder.mkdir(parents=True)
    fact = {"name": "turn_in", "value": 25, "unit": "mm", "source": "x", "confidence": "sure"}
    lines = "\n".join(f"{key} = {json.dumps(value)}" for key, value in fact.items())
    (folder / "own.toml").write_text(f"[[fact]]\n{lines}\n", encoding="utf-8")
    monkeypatch.setattr(reading, "files", lambda _: tmp_path)
    practice.cache_clear()
    try:
        with pytest.raises(Refused) as refused:
            practice()
    finally:
        practice.cache_clear()
    (finding,) = refused.value.findings
    assert (finding.code, finding.where) == ("CP201", "profiles/practice/own.toml: fact[1].confidence")
    assert "common practice, no source" in finding.accepted


@pytest.mark.parametrize(
    ("name", "data", "found", "remedy"),
    [
        ("rolls.csv", b"width;length\n300,0;6000;\n", "expected '='", "A spreadsheet is read as an order sheet alone"),
        ("rolls.xlsx", b"PK\x03\x04\xff\xfe", "not UTF-8 text", "A spreadsheet is read as an order sheet alone"),
        ("rolls.toml", "müll".encode("utf-16"), "not UTF-8 text", "Save the file as UTF-8."),
        ("rolls.json", b'[{"width": 300}]', "a list of 1", "Correct the file."),
        ("rolls.jso", None, "there is no such file", "Name a file, or one of"),
        ("lader-30", None, "there is no such file", "Did you mean ladder-30?"),
    ],
)
def test_what_is_no_list_of_rolls_is_told_with_what_to_do(name, data, found, remedy, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    if data is not None:
        Path(name).write_bytes(data)
    with pytest.raises(Refused) as refused:
        rolls_list(name)
    (fault,) = refused.value.findings
    assert (fault.code, fault.where) == ("CP202", name)
    assert fault.found.startswith(found)
    assert fault.remedy.startswith(remedy)


@pytest.mark.parametrize(
    ("row", "key", "says"),
    [
        ('price = "\u00a361.50"', "rolls[1].price", "Write the figure alone: price = 61.50."),
        ('price = "61,50"', "rolls[1].price", "Write decimals with a point"),
        ('quantity = "2 off"', "rolls[1].quantity", "Write the figure alone: quantity = 2."),
        ('code = "code 4"', "rolls[1].code", "Write the figure alone: code = 4."),
        ('material = "Code 4"', "rolls[1].material", "Did you mean code = 4?"),
        ('material = "lead code 44"', "rolls[1].material", "Did you mean code = 4?"),
        ('name = "a\\nb"', "rolls[1].name", "Write it in one line"),
        ('units = "cm"', "units", "Choose one of these"),
    ],
)
def test_slips_in_a_list_of_rolls_are_told_with_what_to_write(row, key, says):
    top, own = (row, "") if row.startswith("units") else ("", f", {row}")
    with pytest.raises(Refused) as refused:
        parse_rolls(f"{top}\nrolls = [{{ width = 300, length = 6000{own} }}]\n", "r.toml")
    (fault,) = refused.value.findings
    assert (fault.code, fault.where) == ("CP202", f"r.toml: {key}")
    assert says in fault.remedy
    assert "String" not in fault.accepted


def test_rolls_of_other_metals_are_let_pass():
    (roll,) = parse_rolls('rolls = [{ width = 300, length = 6000, material = "zinc 0.7" }]', "r.toml")
    assert roll.material == "zinc 0.7"


def test_a_whole_roll_that_is_owned_is_there_once_and_not_bought():
    """A roofer's own roll in the van was counted among those to buy."""
    text = "rolls = [{ width = 300, length = 6000, owned = true }, { width = 300, length = 3000 }]"
    own, new = parse_rolls(text, "mine.toml")
    assert [(roll.quantity, roll.offcut, roll.in_stock) for roll in (own, new)] == [
        (1, False, True),
        (None, False, False),
    ]
