"""The shop's prices: read as they are written, every fault with its key path, and none come with the tool."""

from __future__ import annotations

import tomllib
from decimal import Decimal
from pathlib import Path

import pytest

from cutpath.errors import Refused, Severity
from cutpath.prices import odd_prices, read_prices
from cutpath.values.price import Charge, Per, Work

ROOT = Path(__file__).parents[1]
INVENTED = ROOT / "fixtures" / "prices" / "invented.toml"


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "prices.toml"
    path.write_text(text)
    return path


def test_figures_are_decimals_as_they_were_written():
    prices = read_prices(INVENTED)
    assert prices.lead == {3: Decimal("3.07"), 4: Decimal("3.11"), 5: Decimal("3.23")}
    assert prices.cutting == Work(Per.METRE, Decimal("0.37"))
    assert prices.welding == Work(Per.CORNER, Decimal("7.13"))
    assert (prices.charge, prices.places, prices.currency) == (Charge.DRAWN, 2, "crowns")
    assert (prices.markup_work, prices.tax, prices.tax_name) == (Decimal("17.5"), Decimal(19), "sales tax")
    assert prices.file == "invented.toml", "no folder of this machine stands on a quote"


def test_a_mark_up_may_stand_in_the_prices_where_no_customer_sees_it(tmp_path):
    """Derived: 3.07 + 11 %, 0.37, 0.29 and 7.13 + 17.5 %, halves up to the hundredth."""
    text = INVENTED.read_text().replace("[markup]", "[markup]\nin_prices = true")
    prices, own = read_prices(written(tmp_path, text)), read_prices(INVENTED)
    assert prices.lead == {3: Decimal("3.41"), 4: Decimal("3.45"), 5: Decimal("3.59")}
    assert [work.price for work in (prices.cutting, prices.folding, prices.welding)] == [
        Decimal("0.43"), Decimal("0.34"), Decimal("8.38"),
    ]  # fmt: skip
    assert (prices.markup_lead, prices.markup_work) == (None, None)
    assert (prices.tax, prices.scrap, prices.kept) == (own.tax, own.scrap, own.kept)


def test_a_price_of_nought_is_a_price(tmp_path):
    """It was told to be none."""
    prices = read_prices(written(tmp_path, 'currency = "crowns"\n[folding]\nfold = 0\n'))
    assert prices.folding == Work(Per.FOLD, Decimal(0))


def test_what_is_left_out_has_no_price(tmp_path):
    prices = read_prices(written(tmp_path, 'currency = "crowns"\n[folding]\nincluded = true\n'))
    assert prices.lead == {}
    assert (prices.cutting, prices.folding, prices.tax) == (None, Work(Per.FOLD, None), None)
    assert prices.charge is Charge.USED


@pytest.mark.parametrize(
    ("text", "path", "says"),
    [
        ("", "prices.toml", "currency is missing"),
        ('[lead]\n"9" = 1', "lead.9", "one of"),
        ("[lead]\n4 = true", "lead.4", "true"),
        ("[lead]\n4 = -1", "lead.4", "-1"),
        ("[lead]\n4 = nan", "lead.4", "nan"),
        ("[lead]\n4 = 1.23456", "lead.4", "decimals"),
        ('[lead]\n4 = "3,10"', "lead.4", "its decimals with a point"),
        ('[lead]\n4 = "£3.10"', "lead.4", "currency"),
        ("[cutting]\nmetre = 1\nminute = 2\nmetres_per_minute = 3", "cutting", "metre and minute"),
        ("[cutting]\nminute = 2", "cutting.metres_per_minute", "Time how many"),
        ("[cutting]\nminute = 2\nmetres_per_minute = 0", "cutting.metres_per_minute", "more than 0"),
        ("[welding]", "welding", "no price"),
        ("[welding]\nmetre = 0\ncorner = 2", "welding", "metre and corner"),
        ("[welding]\ncorner = 1\nincluded = true", "welding", "corner and included"),
        ("[folding]\nfolds = 1", "folding.folds", "Did you mean fold?"),
        ("[credit]\nkept = 1", "credit.kept", "charge = drawn"),
        ('charge = "pieces"\n[credit]\nscrap = 1', "credit.scrap", "used or drawn"),
        ('charge = "all"', "charge", "pieces"),
        ("[tax]\nname = 'VAT'", "tax.percent", "missing"),
        ("[tax]\npercent = 0.19", "tax.percent", "Write 19 for 19 per cent"),
        ("[markup]\nlead = 0.175", "markup.lead", "Write 17.5 for 17.5 per cent"),
        ("[lead]\n3 = 3\n4 = 3.1\n[credit]\nscrap = 3.2", "credit.scrap", "what lead costs, 3.1 at most"),
        ("[tax]\npercent = 19\nname = ' '", "tax.name", "signs that print"),
    ],
)
def test_faults_are_told_with_their_key_paths(tmp_path, text, path, says):
    head = "" if not text else 'currency = "crowns"\n'
    with pytest.raises(Refused) as refused:
        read_prices(written(tmp_path, head + text))
    (finding,) = refused.value.findings
    assert finding.code == "CP206"
    assert path in finding.where
    assert says in str(finding)


def test_less_than_one_per_cent_is_written_in_quotes(tmp_path):
    assert read_prices(written(tmp_path, 'currency = "crowns"\n[tax]\npercent = "0.5"\n')).tax == Decimal("0.5")


def test_all_faults_are_told_at_once(tmp_path):
    with pytest.raises(Refused) as refused:
        read_prices(written(tmp_path, "places = 9\n[lead]\n4 = -1\n"))
    assert {f.where.rpartition(": ")[2] for f in refused.value.findings} == {"currency", "places", "lead.4"}


def test_no_price_comes_with_the_tool():
    """Profiles and starter files hold none; invented ones lie with the tests' fixtures, outside of the package."""

    def keys(table: object) -> set[str]:
        below = table.values() if isinstance(table, dict) else table if isinstance(table, list) else ()
        own = {str(key) for key in table} if isinstance(table, dict) else set()
        return own.union(*map(keys, below))

    data = [*ROOT.glob("profiles/**/*.toml"), *ROOT.glob("fixtures/jobs/*.toml"), *ROOT.glob("cutpath/**/*.toml")]
    assert len(data) > 20
    money = {"price", "prices", "cost", "currency", "metre", "minute", "credit", "markup", "tax"}
    assert {path.name: found for path in data if (found := keys(tomllib.loads(path.read_text())) & money)} == {}
    assert "invented" in INVENTED.read_text().splitlines()[0]


@pytest.mark.parametrize(
    ("lead", "found"),
    [
        ("3 = 307\n4 = 3.11", "307 for a kilogram of code 3, 3.11 for one of code 4"),
        ("3 = 0\n4 = 3.11", "3.11 for a kilogram of code 4, 0 for one of code 3"),
        ("3 = 3.4\n4 = 3.11\n8 = 2.90", ""),
        ("4 = 3.11", ""),
    ],
)
def test_prices_of_lead_that_are_many_times_each_other_are_doubted(tmp_path, lead, found):
    file = tmp_path / "own.toml"
    file.write_text(f'currency = "crowns"\ncharge = "drawn"\n[lead]\n{lead}\n', encoding="utf-8")
    odd = odd_prices(read_prices(file))
    assert [(f.where, f.found, f.severity) for f in odd] == [("own.toml: lead", found, Severity.WARNING)] * bool(found)
