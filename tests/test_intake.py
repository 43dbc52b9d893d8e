"""From text to checked data: places, words, hints."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

import pytest
from pydantic import Field
from pydantic_core import SchemaError

from cutpath.errors import Finding
from cutpath.intake.checking import Strict, _accepted, check
from cutpath.intake.files import read_bytes, read_text, remembering
from cutpath.intake.parsing import parse_json, parse_toml
from cutpath.intake.places import did_you_mean, key_path, where


class Inner(Strict):
    size: float = Field(gt=0, description="size, mm")


class Outer(Strict):
    name: str = Field(description="a name; no unit")
    inner: list[Inner] = Field(default=[], description="parts")
    other_: int = Field(default=0, alias="other", description="another; a number")


def test_places_are_counted_from_1() -> None:
    assert key_path(("detail", 1, "coursing", "joints", 2)) == "detail[2].coursing.joints[3]"
    assert where("job.toml", ()) == "job.toml"
    assert where("job.toml", ("pitch",)) == "job.toml: pitch"


def test_a_key_of_no_end_is_cut_short_where_it_is_told() -> None:
    _, ((_, finding),) = check(Outer, {"name": "x", "k" * 5000: 1}, "f")
    assert len(finding.sentence) < 250
    assert finding.where == f"f: {'k' * 80}..."


@pytest.mark.parametrize(
    ("word", "meant"),
    [("gaug", "gauge"), ("First_Joint", "first_joint"), ("lenght", "length"), ("zzz", None), ("", None)],
)
def test_hints(word: str, meant: str | None) -> None:
    assert did_you_mean(word, ["gauge", "first_joint", "length"]) == meant


def test_a_word_that_begins_otherwise_must_be_closer_to_be_meant():
    """To code nothing was nearer than order in a job, and than folder in a batch."""
    assert did_you_mean("code", ["order", "folder", "name"]) is None
    assert did_you_mean("olength", ["length"]) == "length"
    assert did_you_mean("corder", ["order", "colour"]) == "order"


def test_a_key_by_another_name_of_the_trade_is_known_where_the_table_has_none_so_written():
    """An apron is 2.1 m long to who cuts it; of `longest`, which is more like it in letters, nobody thinks there."""
    assert did_you_mean("length", ["longest", "width"]) == "width"
    assert did_you_mean("width", ["widths", "length"]) == "widths"
    assert did_you_mean("qty", ["quote"]) is None


def test_good_data_pass() -> None:
    value, findings = check(Outer, {"name": "x", "inner": [{"size": 1}], "other": 2}, "f")
    assert findings == []
    assert value is not None
    assert (value.name, value.inner[0].size, value.other_) == ("x", 1, 2)


def test_every_fault_has_its_place_and_hint() -> None:
    value, placed = check(Outer, {"nam": "x", "inner": [{"size": 0}, {"size": "2"}, {}, 4], "other": 1.5}, "f")
    assert value is None
    found = {finding.where: finding for _, finding in placed}
    assert {key: finding.code for key, finding in found.items()} == {
        "f: name": "CP104",
        "f: nam": "CP103",
        "f: inner[1].size": "CP107",
        "f: inner[2].size": "CP107",
        "f: inner[3].size": "CP104",
        "f: inner[4]": "CP107",
        "f: other": "CP107",
    }
    assert found["f: nam"].remedy == "Did you mean name?"
    assert found["f: inner[3].size"].remedy == "Add size: size, mm."
    assert "a number" in found["f: other"].remedy
    assert {keys for keys, _ in placed} >= {("inner", 1, "size"), ("nam",)}


def test_one_code_for_all_when_asked() -> None:
    _, placed = check(Outer, {"nam": 1}, "f", code="CP202")
    assert {finding.code for _, finding in placed} == {"CP202"}


def test_json_must_be_an_object() -> None:
    assert parse_json('{"a": 1}', "f", "CP202") == {"a": 1}
    for text in ("[1]", "{", '{"a": ' + "9" * 5000 + "}", "[" * 100_000):
        found = parse_json(text, "f", "CP202")
        assert isinstance(found, Finding)
        assert (found.code, found.where) == ("CP202", "f")


def test_toml_with_a_number_too_long_is_refused() -> None:
    found = parse_toml("a = " + "9" * 5000, "f")
    assert isinstance(found, Finding)
    assert found.code == "CP102"
    assert "No JSON or YAML" not in found.remedy
    assert all("No JSON or YAML" in parse_toml("name: x", f"job.{kind}").remedy for kind in ("yaml", "YML", "json"))


@pytest.mark.parametrize("text", ["a{} = 1", "b = 1\n[c{}]", "b = [{{ d{} = 1 }}]", '  "a" {} = 1', "[[ a{}]]"])
def test_a_key_of_very_many_parts_is_refused_at_once(text: str) -> None:
    """The parser would take minutes for it: the square of its parts."""
    found = parse_toml(text.format(" . a" * 100_000), "f")
    assert isinstance(found, Finding)
    assert (found.code, found.found) == ("CP102", "tables nested more than 30 deep")


def test_points_inside_texts_are_no_keys_of_many_parts() -> None:
    dotted = ".".join("a" * 150)
    assert parse_toml(f'a = "{dotted}"\nb = """x\n{dotted}"""', "f") == {"a": dotted, "b": f"x\n{dotted}"}


def test_of_very_many_faults_the_first_are_told_and_how_many_there_are(monkeypatch) -> None:
    monkeypatch.setattr("cutpath.intake.checking.FAULTS", 20)
    _, placed = check(Outer, {"name": "x"} | {f"k{number}": 1 for number in range(50)}, "f")
    assert [finding.found for _, finding in placed[-2:]] == ['unknown key "k19"', "50 faults, of which 20 are told"]
    assert len(placed) == 21


class Every(Strict):
    text: str = Field(default="ab", min_length=2, max_length=3)
    yes: bool = False
    whole: int = 1
    above: float = Field(default=1, gt=0.5, lt=9)
    upto: float = Field(default=1, ge=1, le=8, allow_inf_nan=False)
    many: list[int] = Field(default=[1], min_length=1, max_length=2)
    inner: Inner | None = None
    most: float = Field(default=1, le=1e9)
    day: dt.date = dt.date(2026, 11, 30)


@pytest.mark.parametrize(
    ("key", "value", "accepted"),
    [
        ("text", 3, "text in quotes"),
        ("text", "a", "at least 2 letters"),
        ("text", "abcd", "at most 3 letters"),
        ("yes", "yes", "true or false"),
        ("whole", "1", "a whole number"),
        ("whole", 1.5, "a whole number"),
        ("above", "1", "a number"),
        ("above", 0.5, "more than 0.5"),
        ("above", 9, "less than 9"),
        ("upto", 0, "1 or more"),
        ("upto", 9, "8 or less"),
        ("most", 2e9, "1000000000 or less"),
        ("upto", float("inf"), "a number that ends"),
        ("many", 3, "a list"),
        ("many", [], "a list of 1 or more"),
        ("many", [1, 2, 3], "a list of 2 or fewer"),
        ("inner", 3, "a table"),
        ("day", 3, "a valid date"),
    ],
)
def test_what_is_accepted_is_said_in_plain_words(key: str, value: object, accepted: str) -> None:
    _, ((keys, finding),) = check(Every, {key: value}, "f")
    assert keys == (key,)
    assert finding.accepted == f"accepted: {accepted}"


def test_a_limit_may_be_a_decimal() -> None:
    """pydantic tells those of decimals as decimals from some releases on, and as floats from others."""
    for limit in (0, 0.0, Decimal(0)):
        assert (
            _accepted({"type": "greater_than", "loc": (), "msg": "", "input": -1, "ctx": {"gt": limit}})
            == "more than 0"
        )


def test_one_bracket_in_place_of_two_is_hinted_at() -> None:
    _, ((_, finding),) = check(Every, {"many": {"x": 1}}, "f")
    assert "[[many]]" in finding.remedy


class Sized(Strict):
    confirmed: str = ""
    high: float = 1
    wide: float


def test_a_figure_in_place_of_a_table_is_answered_with_its_keys() -> None:
    class Outer(Strict):
        sized: Sized
        either: str | Sized

    _, found = check(Outer, {"sized": 3, "either": 3}, "f")
    assert [finding.remedy for _, finding in found] == [
        f"Write {key} = {{ wide = ... }}; its keys: wide, high, confirmed." for key in ("sized", "either")
    ]


def test_a_byte_order_mark_at_the_head_is_no_part_of_the_text(tmp_path):
    file = tmp_path / "job.toml"
    file.write_bytes(b'\xef\xbb\xbfname = "A"\n')
    assert read_text(file) == 'name = "A"\n'


def test_what_is_remembered_alone_is_all_that_there_is(tmp_path):
    (tmp_path / "here").write_text("here")
    with remembering({"there": b"there"}, alone=True):
        assert read_bytes("there") == b"there"
        with pytest.raises(FileNotFoundError):
            read_bytes(tmp_path / "here")
    assert read_bytes(tmp_path / "here") == b"here"


def test_a_file_without_a_name_is_called_so():
    finding = read_text("")
    assert isinstance(finding, Finding)
    assert finding.where == "a file without a name"


@pytest.mark.parametrize(
    ("text", "remedy"),
    [
        ("length = 1,200", "Write decimals with a point and thousands without a comma"),
        ("length = 1.200,5", "Write decimals with a point"),
        ("length = 1 200", "Write the figure without a space"),
        ("length = 1200 mm", "Put a figure with its unit or sign in quotes"),
        ("pitch = 40\u00b0", "Put a figure with its unit or sign in quotes"),
        ("pitch = 7:12", "Put a figure with its unit or sign in quotes"),
        ("length = 4' 6\"", "Put a figure with its unit or sign in quotes"),
        ("length = 0120", "Write the figure without the zero"),
        ("length = 1200;", "Take the semicolon out"),
        ("length: 1200", "in place of the colon"),
        ("length 1200", "Write = between a key and its value"),
        ("due = 02/03/2026", "Write a day as year, month and day: 2026-03-02"),
        ("name = \u201cFern\u201d", "Write straight quotes"),
        ("name = Fern", "Put words in quotes"),
        ("name = 'O'Hara'", "in double quotes"),
        ('name = "a\\user"', "Write a backslash twice"),
        ("// measured in March", "Begin a comment with #"),
        ("joints = [945, 1,020]", "thousands without a comma"),
        ("joints = [120 195]", "Put a comma between what stands in a list"),
        ("a = { b = 1 c = 2 }", "Put a comma between what stands in braces"),
        ("[detail]\n[detail]", "Write its header in two brackets"),
        ("a = 1\na = 2", "Look for a key that stands twice"),
        ("a = # \u201cx\u201d", "Look for a missing quote"),
        ("a = = 1", "Look for a missing quote"),
    ],
)
def test_what_people_write_that_is_no_toml_is_told_with_what_to_do(text: str, remedy: str) -> None:
    found = parse_toml(f"# a job\n{text}\n", "job.toml")
    assert isinstance(found, Finding)
    assert found.code == "CP102"
    assert remedy in found.remedy


@pytest.mark.parametrize(("said", "told"), [("KeyboardInterrupt: ", KeyboardInterrupt), ("unknown", SchemaError)])
def test_an_interruption_while_a_table_is_made_ready_is_one_and_no_fault_of_the_table(monkeypatch, said, told):
    """Tables are made ready when they are first met, in the library, which tells of what came there as of its own."""

    def broken(*_: object, **__: object) -> None:
        raise SchemaError(f'Error building "model" validator:\n  SchemaError: Field "units":\n  {said}')

    monkeypatch.setattr(Strict, "model_validate", broken)
    with pytest.raises(told):
        check(Strict, {}, "job.toml")
