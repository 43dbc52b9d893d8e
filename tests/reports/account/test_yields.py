import csv
import io
import json
import math
import re
from dataclasses import replace

import pytest

from cutpath.errors import CutpathError
from cutpath.reports.account.yield_tables import (
    buying_hint,
    ends_in_words,
    shown_saving_kg,
    summary,
    yield_csv,
    yield_table,
)
from cutpath.reports.account.yields import account
from cutpath.shop import cuts_of
from cutpath.tolerances import AREA_MM2, CLOSE_RATIO
from cutpath.values.batch import Batch
from cutpath.values.nest import Blank, Offcut, OffcutRule, Roll
from tests.properties.surveys import for_all
from tests.reports.conftest import Laid, Spec, least_bought, make_batch, scrap_shape, specs

TALLY = {
    "drawn_mm2", "pieces_mm2", "offcuts_mm2", "scrap_mm2", "drawn_kg", "pieces_kg", "offcuts_kg", "scrap_kg", "yield",
    "bound_mm2",
}  # fmt: skip
ADDING = sorted((TALLY - {"yield", "bound_mm2"}) | {"bought_mm2", "bought_kg", "rest_mm2", "rest_kg", "ends_kg"})


def close(a, b, whole):
    return math.isclose(a, b, rel_tol=CLOSE_RATIO, abs_tol=CLOSE_RATIO * whole)


@for_all(specs())
def test_account_closes_by_roll_material_total_and_job(given_specs):
    batch = make_batch(given_specs)
    result = account(batch)
    problems = {m.lead.material: m.problem for m in batch.materials}
    masses = {m.lead.material: m.lead.mass_kg_m2 for m in batch.materials}
    for sheet, roll in zip(batch.sheets, result["rolls"], strict=True):
        for unit in ("mm2", "kg"):
            parts = roll[f"pieces_{unit}"] + roll[f"offcuts_{unit}"] + roll[f"scrap_{unit}"]
            assert close(parts, roll[f"drawn_{unit}"], roll[f"drawn_{unit}"])
        assert roll["scrap_mm2"] == pytest.approx(scrap_shape(sheet, problems[roll["material"]]).area, abs=AREA_MM2)
        for part in ("drawn", "pieces", "offcuts", "scrap", "bought", "rest"):
            kg = roll[f"{part}_mm2"] * 1e-6 * masses[roll["material"]]
            assert close(roll[f"{part}_kg"], kg, roll["drawn_kg"])
        assert roll["pieces_mm2"] <= roll["bound_mm2"] * (1 + CLOSE_RATIO)
        assert roll["bound_mm2"] <= roll["drawn_mm2"] * (1 + CLOSE_RATIO)
        assert roll["yield"] == pytest.approx(roll["pieces_mm2"] / roll["drawn_mm2"], rel=CLOSE_RATIO)
    for name, group in result["materials"].items():
        own = [roll for roll in result["rolls"] if roll["material"] == name]
        assert group["rolls"] == len(own)
        for key in ADDING:
            assert close(group[key], sum(roll[key] for roll in own), group["drawn_mm2"])
    totals = result["totals"]
    for key in [*ADDING, "bound_mm2", "rolls", "pieces"]:
        assert close(totals[key], sum(g[key] for g in result["materials"].values()), totals["drawn_mm2"])
    for unit in ("mm2", "kg"):
        used = totals[f"drawn_{unit}"] - totals[f"offcuts_{unit}"]
        assert close(sum(job[f"share_{unit}"] for job in result["jobs"].values()), used, used)
        for part in ("pieces", "scrap"):
            whole = sum(job[f"{part}_{unit}"] for job in result["jobs"].values())
            assert close(whole, totals[f"{part}_{unit}"], totals[f"drawn_{unit}"])
    assert sum(job["pieces"] for job in result["jobs"].values()) == sum(p.quantity for p in batch.pieces)


def test_keys_are_those_of_the_contract(two_codes):
    result = json.loads(json.dumps(account(two_codes), allow_nan=False))
    assert set(result) == {"totals", "materials", "rolls", "jobs"}
    assert set(result["materials"]) == {"lead code 3", "lead code 4"}
    for tally in (result["totals"], *result["materials"].values(), *result["rolls"]):
        assert set(tally) >= TALLY
    for roll in result["rolls"]:
        assert set(roll) >= {"id", "material", "width_mm", "length_mm", "drawn_mm"}
    for job in result["jobs"].values():
        assert set(job) >= {"pieces", "pieces_kg", "share_kg"}
    assert [roll["id"] for roll in result["rolls"]] == ["code3-01", "code4-01", "code4-02"]


def test_figures_of_one_roll_reckoned_by_hand():
    # A strip 600 x 150 with its teeth: 600 x 90 and half of 600 x 60 is 72 000 mm2; twice; on 300 mm of roll.
    result = account(make_batch([Spec(4, 300.0, (Laid(0, 600.0, 0.5, 2),), keep=True)]))
    roll = result["rolls"][0]
    assert roll["drawn_mm2"] == 300 * 1200
    assert roll["pieces_mm2"] == 144_000
    assert roll["offcuts_mm2"] == 1200 * 150
    assert roll["scrap_mm2"] == 36_000
    assert roll["drawn_kg"] == pytest.approx(0.36 * 20.41)
    assert roll["bought_mm2"] == 300 * 1700
    assert roll["rest_mm2"] == 300 * 500
    assert roll["bound_mm2"] == 300 * 600  # the longest piece says more than the area, 300 x 480
    assert result["jobs"]["Mill cottage"]["share_kg"] == pytest.approx(0.18 * 20.41)
    assert result["jobs"]["Idle"] == {**dict.fromkeys(result["jobs"]["Idle"], 0), "materials": {}}
    assert result["totals"]["common_practice"]["saved_mm2"] == pytest.approx(0.2 * 360_000)


def test_an_end_too_small_to_keep_is_told_as_scrap_so_that_all_scrap_is_what_the_stock_books():
    # 300 x 40 mm lies beyond the cross-cut, and rectangles are kept from 50 x 10 mm on: then from 300 x 150 mm on.
    batch = make_batch([Spec(4, 300.0, (Laid(0, 600.0, 0.5, 2),), spare_mm=40.0), Spec(3)])
    assert ends_in_words(account(batch)["totals"]) == ""
    usual = replace(batch, sheets=tuple(replace(sheet, keep=OffcutRule()) for sheet in batch.sheets))
    result = account(usual)
    assert [roll["ends_kg"] for roll in result["rolls"]] == [0.0, pytest.approx(0.3 * 0.04 * 20.41)]
    (cut3, cut4), totals = cuts_of(usual, {}), result["totals"]
    assert (cut3.rest_kept, cut4.rest_kept) == (True, False)
    said = ends_in_words(totals)
    assert "too small to keep, 0.24 kg," in said
    assert f"{totals['scrap_kg'] + 0.3 * 0.04 * 20.41:.2f} kg in all" in said
    assert said in yield_table(result)


def test_bound_of_a_roll_counts_its_trims():
    batch = make_batch([Spec(4, 300.0, (Laid(0, 600.0, 0.5, 8),))])
    material = batch.materials[0]
    trimmed = replace(batch, materials=(replace(material, problem=replace(material.problem, edge_trim_mm=10.0)),))
    assert account(trimmed)["rolls"][0]["bound_mm2"] == pytest.approx(300 * (8 * 72_000 / 280 + 20))


def test_bound_of_a_roll_is_as_long_as_its_longest_piece():
    batch = make_batch([Spec(4, 300.0, (Laid(0, 600.0), Laid(0, 200.0)))])
    assert account(batch)["rolls"][0]["bound_mm2"] == 300 * 600  # by area it would be 300 x 320


def test_a_roll_owned_already_is_not_bought():
    result = account(make_batch([Spec(owned=True), Spec(width_mm=240.0)]))
    owned, new = result["rolls"]
    assert (owned["bought_mm2"], owned["yield_bought"]) == (0.0, None)
    assert result["totals"]["bought_mm2"] == new["bought_mm2"] == 240 * 1100


def test_common_practice_is_left_out_of_a_total_it_does_not_cover():
    batch = make_batch([Spec(code=3), Spec(code=4)])
    first, second = batch.materials
    result = account(replace(batch, materials=(replace(first, common_practice=None), second)))
    assert result["totals"]["common_practice"] is None
    assert result["materials"]["lead code 3"]["common_practice"] is None
    assert result["materials"]["lead code 4"]["common_practice"] is not None
    why = "-: cut so, these rolls would run out"
    assert why in yield_table(result)
    assert why not in yield_table(account(batch))


@pytest.mark.parametrize("figure", ["drawn_mm2", "pieces_mm2", "offcuts_mm2"])
def test_a_nest_that_misstates_its_figures_is_refused(figure):
    batch = make_batch([Spec(keep=True)])
    material = batch.materials[0]
    wrong = replace(material.nest, **{figure: getattr(material.nest, figure) + 1.0})
    with pytest.raises(CutpathError, match="cannot close"):
        account(replace(batch, materials=(replace(material, nest=wrong),)))


def test_more_cut_than_drawn_is_refused():
    batch = make_batch([Spec()])
    sheet = batch.sheets[0]
    short = replace(sheet, nested=replace(sheet.nested, drawn_mm=100.0))
    with pytest.raises(CutpathError, match="more than the"):
        account(replace(batch, sheets=(short,)))


def test_csv_reads_back_with_the_same_sums(two_codes):
    result = account(two_codes)
    rows = list(csv.DictReader(io.StringIO(yield_csv(result))))
    by_level = {level: [r for r in rows if r["level"] == level] for level in {r["level"] for r in rows}}
    (total,) = by_level["total"]
    for key in ADDING:
        half = 0.5 if key.endswith("mm2") else 0.0005
        assert float(total[key]) == pytest.approx(result["totals"][key], abs=1.001 * half)
        for level in ("material", "roll"):
            added = sum(float(r[key]) for r in by_level[level])
            assert added == pytest.approx(float(total[key]), abs=1.001 * half * (len(by_level[level]) + 1))
    assert [r["name"] for r in by_level["job"]] == [job.name for job in two_codes.jobs]
    shares = sum(float(r["share_kg"]) for r in by_level["job"])
    assert shares == pytest.approx(float(total["drawn_kg"]) - float(total["offcuts_kg"]), abs=0.003)
    assert sum(float(r["share_kg"]) for r in by_level["job material"]) == pytest.approx(shares, abs=0.003)
    assert float(total["common_practice_drawn_kg"]) == round(result["totals"]["common_practice"]["drawn_kg"], 3)


def test_csv_has_no_figure_finer_than_a_gram_or_a_hundredth_of_a_percent(two_codes):
    for row in csv.DictReader(io.StringIO(yield_csv(account(two_codes)))):
        for key, text in row.items():
            if key != "name":
                assert len(text.partition(".")[2]) <= (4 if "yield" in key else 3), (key, text)
                assert "." not in text or not key.endswith("mm2"), (key, text)


def test_table_gives_figures_by_code_roll_and_job_in_narrow_lines(two_codes):
    result = account(two_codes)
    text = yield_table(result)
    assert max(map(len, text.splitlines())) <= 80
    for name in ("lead code 3", "lead code 4", "total", "code4-02", "Mill cottage", "recycling pile"):
        assert name in text
    totals = result["totals"]
    line = next(line for line in text.splitlines() if line.startswith("total"))
    for part in ("bought", "drawn", "pieces", "offcuts", "scrap"):
        assert f"{totals[f'{part}_kg']:.2f}" in line.split()
    assert f"{totals['common_practice']['drawn_kg']:.2f}" in text
    for first in ("Lead by code", "Compared with"):
        _, _, _, rule, *_, above, last = (
            text[text.index(first) :].split("\n\nRoll")[0].split("\n\nComp")[0].splitlines()
        )
        assert (above, last[:5]) == (rule, "total"), "a rule above the total"


def negative(text):
    return re.findall(r"(?<![\w-])-\d[\d.]*", text)


def test_least_bought_is_held_against_what_common_practice_buys_not_draws():
    # 300 x 1700 mm is 0.51 m2 bought, twice 300 x 1200 mm 0.72 m2, though common practice draws less of it;
    # code 4 weighs 20.41 kg/m2.
    result = account(least_bought())
    totals = result["totals"]
    practice = totals["common_practice"]
    assert totals["least"] == "bought"
    assert practice["drawn_mm2"] < totals["drawn_mm2"]
    assert (totals["rolls_bought"], practice["rolls_bought"]) == (1, 2)
    assert practice["bought_mm2"] == 720_000
    assert practice["saved_kg"] == pytest.approx(0.21 * 20.41)
    assert totals["price"] is practice["price"] is practice["saved_price"] is None
    words = summary(result)
    assert words.startswith("2 pieces from 1 roll. Bought: 1 roll, 10.41 kg; 28.2 % of it is in pieces, ")
    assert "yield of the 7.35 kg drawn 40.0 %" in words
    assert words.endswith("That is 4.29 kg less than cutting one piece after another buys.")
    text = yield_table(result)
    assert not negative(text)
    assert re.search(r"\n[- ]+\ntotal .* 14\.70 +4\.29$", text, re.MULTILINE), "a rule above the total"


def test_where_every_roll_has_a_price_least_bought_is_held_against_the_money():
    result = account(least_bought(price=60.0, usual_price=35.0, usual_mm=800.0))
    totals = result["totals"]
    practice = totals["common_practice"]
    assert totals["least"] == "price"
    assert (totals["price"], practice["price"], practice["saved_price"]) == (60.0, 70.0, 10.0)
    assert practice["saved_kg"] < 0, "more lead for less money"
    words = summary(result)
    assert "1 roll, 10.41 kg, for 60.00; " in words
    assert words.endswith("That is 10.00 less than cutting one piece after another costs.")
    text = yield_table(result)
    assert not negative(text)
    assert "70.00" in text


def test_a_price_that_is_missing_leaves_the_lead_as_the_measure():
    assert account(least_bought(price=60.0))["totals"]["least"] == "bought"


def test_more_bought_than_common_practice_says_so_and_why():
    words = summary(account(least_bought(usual_mm=800.0)))
    assert "That is 0.61 kg more than cutting one piece after another buys" in words
    assert "what stays on the rolls" in words


@pytest.mark.parametrize("price", [None, 12345.0])
def test_what_is_bought_fits_a_terminal_with_money_and_without(price):
    text = yield_table(account(least_bought(price=price, usual_price=price and 2 * price)))
    assert max(map(len, text.splitlines())) <= 80
    assert ("one by one: price" in text) is (price is not None)


def test_nothing_bought_is_said_plainly():
    batch = least_bought()
    (material,) = batch.materials
    owned = replace(material.nest.rolls[0], roll=replace(material.nest.rolls[0].roll, owned=True))
    material = replace(
        material, nest=replace(material.nest, rolls=(owned,)), common_practice=replace(material.nest, rolls=(owned,))
    )
    result = account(replace(batch, materials=(material,), sheets=(replace(batch.sheets[0], nested=owned),)))
    assert (
        summary(result)
        == "2 pieces from 1 roll. Nothing is bought, all of it is in stock; yield of the 7.35 kg drawn 40.0 %."
    )
    assert not negative(yield_table(result))


def one_material(batch: Batch, **parts) -> Batch:
    """The batch with parts of its one material replaced; its sheets are those of the nest."""
    (material,) = batch.materials
    material = replace(material, **parts)
    sheets = tuple(replace(batch.sheets[0], nested=nested) for nested in material.nest.rolls)
    return replace(batch, materials=(material,), sheets=sheets)


def with_rolls(nest, *rolls: Roll, **parts):
    """A nest of as many rolls as it had, each another one."""
    return replace(nest, rolls=tuple(replace(n, roll=roll) for n, roll in zip(nest.rolls, rolls, strict=True)), **parts)


def test_a_batch_of_nothing_wastes_nothing():
    totals = account(replace(make_batch([Spec()]), materials=(), sheets=()))["totals"]
    assert (totals["yield"], totals["least"], totals["price"], totals["drawn_mm2"]) == (1.0, "drawn", None, 0.0)


def test_a_roll_without_pieces_has_no_bound():
    batch = make_batch([Spec()])
    (material,) = batch.materials
    empty = replace(material.nest.rolls[0], placements=())
    result = account(one_material(batch, nest=replace(material.nest, rolls=(empty,), pieces_mm2=0.0)))
    assert (result["rolls"][0]["bound_mm2"], result["rolls"][0]["yield"]) == (0.0, 0.0)


def test_the_account_closes_when_all_is_used_and_by_rounding_and_not_beyond():
    """Pieces of 144 000 mm2 and a kept strip of 216 000 are all of 300 x 1200; then a little less is drawn."""
    batch = make_batch([Spec(4, 300.0, (Laid(0, 600.0, 0.5, 2),))])
    (material,) = batch.materials

    def drawn(mm: float, offcuts_mm2: float = 216_000.0):
        nested = replace(material.nest.rolls[0], drawn_mm=mm, offcuts=(Offcut(0.0, 0.0, 1200.0, 180.0),))
        nest = replace(material.nest, rolls=(nested,), drawn_mm2=mm * 300.0, offcuts_mm2=offcuts_mm2)
        return account(one_material(batch, nest=nest))["totals"]

    assert drawn(1200.0)["scrap_mm2"] == 0.0
    assert drawn(1200.0 * (1 - 0.5 * CLOSE_RATIO))["scrap_mm2"] == pytest.approx(0.0, abs=1e-3)
    with pytest.raises(CutpathError, match="more than the"):
        drawn(1200.0 * (1 - 2 * CLOSE_RATIO))


def test_nothing_kept_and_a_rounding_kept_are_the_same():
    batch = make_batch([Spec(4, 300.0, (Laid(0, 600.0, 0.5, 2),))])
    (material,) = batch.materials
    for mm2, closes in ((1e-4, True), (1e-3, False)):
        stating = one_material(batch, nest=replace(material.nest, offcuts_mm2=mm2))
        if closes:
            assert account(stating)["totals"]["offcuts_mm2"] == 0.0
        else:
            with pytest.raises(CutpathError, match="kept offcuts"):
                account(stating)


@pytest.mark.parametrize(("may_flip", "extent_mm"), [(False, 800.0), (True, 100.0)])
def test_the_bound_of_a_roll_takes_a_piece_on_either_face_where_it_may_lie_so(may_flip, extent_mm):
    """A bar 700 x 100 aslant: turned by 45 deg it lies along the roll, its mirror image across it."""
    half = math.sqrt(0.5)
    bar = [(0.0, 0.0), (700.0, 0.0), (700.0, 100.0), (0.0, 100.0)]
    aslant = tuple((x * half + y * half, -x * half + y * half) for x, y in bar)  # by -45 deg
    batch = make_batch([Spec(4, 800.0, (Laid(0, 600.0, 0.5),))])
    (material,) = batch.materials
    blank = Blank(material.problem.blanks[0].id, 1, aslant, (), turns_deg=(45.0,), may_flip=may_flip)
    nest = replace(material.nest, pieces_mm2=70_000.0)
    result = account(one_material(batch, problem=replace(material.problem, blanks=(blank,)), nest=nest))
    assert result["rolls"][0]["bound_mm2"] == pytest.approx(800.0 * min(extent_mm, 700.0))


def test_scrap_of_common_practice_is_what_it_neither_cuts_nor_keeps():
    batch = least_bought()
    (material,) = batch.materials
    usual = replace(material.common_practice, offcuts_mm2=50_000.0)
    practice = account(one_material(batch, common_practice=usual))["totals"]["common_practice"]
    assert practice["scrap_mm2"] == 324_000 - 144_000 - 50_000


def test_a_price_is_known_when_that_of_every_roll_is():
    """Two codes, each with a roll bought: 60 for one, no price for the other."""
    batch = make_batch([Spec(code=3), Spec(code=4)])
    priced = [
        replace(m, nest=with_rolls(m.nest, replace(m.nest.rolls[0].roll, price=price)))
        for m, price in zip(batch.materials, (60.0, None), strict=True)
    ]
    sheets = [replace(s, nested=m.nest.rolls[0]) for s, m in zip(batch.sheets, priced, strict=True)]
    result = account(replace(batch, materials=tuple(priced), sheets=tuple(sheets)))
    assert [m["price"] for m in result["materials"].values()] == [60.0, None]
    assert result["totals"]["price"] is None


def owned(batch: Batch, part: str) -> Batch:
    """The batch with all rolls of its nest, or of common practice, owned already."""
    (material,) = batch.materials
    nest = getattr(material, part)
    return one_material(
        batch, **{part: with_rolls(nest, *(replace(n.roll, owned=True, price=None) for n in nest.rolls))}
    )


def test_nothing_bought_costs_nothing():
    """One roll for 60 against two for 35: none of the one, or none of the other, is paid for."""
    batch = least_bought(price=60.0, usual_price=35.0)
    saved = [
        account(owned(batch, part))["totals"]["common_practice"]["saved_price"] for part in ("nest", "common_practice")
    ]
    assert saved == [70.0, -60.0]
    assert summary(account(owned(batch, "nest"))).endswith(
        "Nothing is bought, all of it is in stock; yield of the 7.35 kg drawn 40.0 %. "
        "That is 70.00 less than cutting one piece after another costs."
    )


def test_least_bought_is_told_in_lead_while_any_roll_of_the_list_lacks_its_price():
    batch = least_bought(price=60.0, usual_price=35.0)
    (material,) = batch.materials
    unknown = replace(material.problem, rolls=(*material.problem.rolls, Roll(600.0, 3000.0)))
    result = account(one_material(batch, problem=unknown))
    assert result["totals"]["common_practice"]["saved_price"] == 10.0
    assert summary(result).endswith("That is 4.29 kg less than cutting one piece after another buys.")


def test_least_bought_is_named_where_little_of_what_is_bought_is_used():
    totals = {"least": "drawn", "rolls_bought": 3, "bought_kg": 50.21, "yield_bought": 0.404}
    for codes, share in ((1, "40.4 %"), (2, "40.4 % by area")):  # of two codes the share by weight is another
        assert buying_hint({"totals": totals, "materials": [None] * codes}) == (
            f"Of the 3 rolls to buy, 50.21 kg, {share} is in pieces. If they are bought for this alone, --least bought "
            "may buy less."
        )
    for other in ({"least": "bought"}, {"rolls_bought": 1}, {"yield_bought": 0.7}, {"yield_bought": None}):
        assert buying_hint({"totals": {**totals, **other}, "materials": []}) == ""


def saving(kg: float, **parts) -> str:
    """The end of the summary where that much is drawn less than by common practice."""
    result = account(make_batch([Spec()]))
    totals = result["totals"]
    practice = None if parts else {**totals["common_practice"], "drawn_kg": totals["drawn_kg"] + kg}
    return summary({**result, "totals": {**totals, "common_practice": practice}}).split("yield 40.0 %.")[1]


def test_what_is_saved_is_what_the_figures_beside_it_differ_by():
    drawn = {"least": "drawn", "drawn_kg": 20.006}  # written 20.01 beside 21.09, and 1.088 less
    assert shown_saving_kg(drawn, {"drawn_kg": 21.094}) == pytest.approx(1.08)


def test_what_is_saved_in_lead_drawn_is_said():
    after = "than cutting one piece after another."
    assert saving(0.5) == f" 0.50 kg less {after}"
    assert saving(0.0) == f" 0.00 kg less {after}"
    assert saving(-0.5) == f" 0.50 kg more {after}"
    assert saving(0.0, practice=None) == ""


@pytest.mark.parametrize(
    ("usual_price", "said"),
    [
        (30.25, "0.50 less than cutting one piece after another costs."),
        (30.0, "as much as cutting one piece after another costs."),
        (29.5, "1.00 more than cutting one piece after another costs; what stays on the rolls, worth keeping, was"),
    ],
)
def test_what_is_saved_in_money_is_said(usual_price, said):
    assert f"That is {said}" in summary(account(least_bought(price=60.0, usual_price=usual_price)))


def lines(text: str, name: str) -> list[str]:
    """Cells of the lines that begin with a name, under the second head: beside common practice, money below it."""
    part = text.partition("Compared with")[2].partition("Roll by roll")[0]
    return [re.split(r"  +", line) for line in part.splitlines() if line.startswith(name)]


def test_the_table_of_what_is_bought_in_money():
    """One roll 300 x 1700 for 60 against two of 300 x 1200 for 35 each, code 4: 10.41 and 14.70 kg."""
    text = yield_table(account(least_bought(price=60.0, usual_price=35.0)))
    own = (["1", "10.41", "28.2 %", "2", "14.70"], ["60.00", "70.00", "10.00"])
    assert lines(text, "lead code 4") == [["lead code 4", *row] for row in own]
    assert lines(text, "total") == [["total", *row] for row in own]
    for body in (part.splitlines() for part in text.split("\n\n")[3:5]):
        rule = "  ".join("-" * len(cell) for cell in body[1].split("  "))
        assert body[-2] == body[1] == rule, "a rule above the total"
    codes = text.split("\n\n")[1].splitlines()
    assert codes[-2] == codes[1], "and above that of lead by code"


def test_the_table_beside_common_practice_is_that_of_the_total():
    """Least bought for code 3, least drawn for code 4: the total is held against what is bought."""
    batch = make_batch([Spec(code=3), Spec(code=4)])
    bought, drawn = least_bought().materials[0].problem, batch.materials[1]
    first = replace(batch.materials[0], problem=replace(batch.materials[0].problem, objective=bought.objective))
    result = account(replace(batch, materials=(first, drawn)))
    assert [m["least"] for m in result["materials"].values()] == ["bought", "drawn"]
    assert result["totals"]["least"] == "bought"
    assert "one by one: rolls" in yield_table(result)


def test_jobs_and_their_lead_stand_on_the_left():
    text = yield_table(account(make_batch([Spec()]))).partition("Job by job")[2].split("\n\n")[1]
    head, _, whole, part, *_ = text.splitlines()
    assert head.index("lead") == whole.index("all") == part.index("lead code 4")
    assert whole.startswith("Mill cottage")
    assert whole.index("  1  ") + 2 == head.index("pieces") + len("pieces") - 1
