"""Files of every kind that is read, and ways to spoil them: slips of a hand, other units and types, stray bytes.

A mutant is made by chance from a number alone, so that one that was found once is found again.
"""

from __future__ import annotations

import contextlib
import csv
import io
import json
import random
import re
import zipfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from openpyxl import Workbook

from cutpath import again, making, pipeline, stock
from cutpath.families.registry import FAMILIES
from cutpath.intake.files import remembering
from cutpath.jobs.starters import starter
from cutpath.machines import machines
from cutpath.nesting import one_after_another
from cutpath.output import MANIFEST
from cutpath.output.manifest import sealed
from cutpath.stock.file import StockFile
from cutpath.values.formats import Format
from cutpath.values.made_from import Asked
from cutpath.values.nest import Roll

ROOT = Path(__file__).resolve().parents[2]

NUMBERS = (
    "0", "-1", "1", "3", "1e9", "-1e300", "1e308", "1e-9", "inf", "-inf", "nan", "9" * 400, "0x7f", "1_0", "4.2",
    "25.4", "1000000000", "18446744073709551616", "0.0001", "179.99", "-0.0",
)  # fmt: skip
TEXTS = (
    '""', '"1.2 m"', '"23 5/8 in"', '"35 deg"', '"7:12"', '"-3 in"', '"=1+1"', '"\\u202eabc"', '"\\u0000"',
    '"\\u001b[31m"', '"<script>x</script>"', '"a/../../b"', '"x' + "y" * 300 + '"', '"\\ud83d\\ude00"', "'''\n'''",
    '"true"', '"left"',
)  # fmt: skip
OTHERS = (
    "true", "false", "[]", "{}", "[[]]", "[1, 2]", "{ rise = 1, run = 0 }", "[[1, 2], [3]]", "1979-05-27", "[" * 40,
)  # fmt: skip
STRAYS = "\x00\x01\x1b\u202e\u2028\ufeff\xa0°ßé\U0001f600\t\r"

_NUMBER = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?![\w.])")
_TEXT = re.compile(r'"[^"\n]*"')
_VALUE = re.compile(r"(?<== ).+$", re.MULTILINE)
_KEY = re.compile(r"^\s*([a-z_]+)(?= *=)", re.MULTILINE)


@dataclass(frozen=True)
class Seeds:
    """Sound files of one kind, and the keys that stand in them."""

    kind: str
    ending: str
    made: Callable[[], Sequence[str]]

    @cached_property
    def texts(self) -> Sequence[str]:
        """The files, made when they are asked for."""
        return self.made()

    @cached_property
    def keys(self) -> list[str]:
        """Every key of theirs."""
        return sorted({key for text in self.texts for key in _KEY.findall(text)}) or ["name"]


def _files(*patterns: str) -> Callable[[], list[str]]:
    def read() -> list[str]:
        found = sorted({file for pattern in patterns for file in ROOT.glob(pattern)})
        return [text for file in found if "\ufffd" not in (text := file.read_text(encoding="utf-8", errors="replace"))]

    return read


SHOP = """[[fact]]
name = "upstand"
value = 100
unit = "mm"
source = "the van"

[[range]]
name = "pipe"
usual = [20, 400]
possible = [10, 900]
source = "the yard"
"""
SETTLED = 'rolls = "ladder-30"\ngap = 3\nformats = ["csv", "svg"]\nmachine = "flatbed-knife"\n'
ORDERS = (
    "Customer,Order,Kind,Quantity,Code,Length,Width,Pitch,Covering,Count\nHollin,417,rectangle,4,4,325,175,,,\n"
    "Hollin,417,soakers,1,3,,,35,slate 500,20\nFern,8,cover flashing,2,4,1.2 m,,,,\nFern,8,apron,1,4,,900,40,,\n"
)
SHEET_PART = "xl/worksheets/sheet1.xml"


@cache
def _book() -> Mapping[str, bytes]:
    """Return the parts of an order sheet as a workbook, with formats, a hidden row and a hidden column in it."""
    book = Workbook()
    for row in csv.reader(ORDERS.splitlines()):
        book.active.append([float(cell) if re.fullmatch(r"\d+", cell) else cell or None for cell in row])
    book.active["F2"].number_format = "0.0"
    book.active.row_dimensions[4].hidden = book.active.column_dimensions["H"].hidden = True
    book.create_sheet("Notes").append(["call first"])
    file = io.BytesIO()
    book.save(file)
    with zipfile.ZipFile(file) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def _as_book(sheet: str) -> bytes:
    """Return a workbook with another sheet of orders in it, as XML."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as archive:
        for name, data in _book().items():
            archive.writestr(name, sheet.encode("utf-8", "surrogatepass") if name == SHEET_PART else data)
    return file.getvalue()


PIECES = """{"units": "mm", "gap_mm": 0, "pieces": [
 {"id": "a", "quantity": 3, "outline": [[0, 0], [400, 0], [400, 90], [0, 90]]},
 {"id": "b", "quantity": 1, "holes": [[[20, 20], [40, 20], [40, 40]]], "outline": [[0, 0], [200, 0], [90, 160]]}]}
"""
DRAWING = (
    "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n0\nPOLYLINE\n8\nOUTER\n66\n1\n70\n1\n"
    "0\nVERTEX\n8\nOUTER\n10\n0\n20\n0\n0\nVERTEX\n8\nOUTER\n10\n400\n20\n0\n42\n0.3\n0\nVERTEX\n8\nOUTER\n10\n400\n20\n300\n"
    "0\nVERTEX\n8\nOUTER\n10\n0\n20\n300\n0\nSEQEND\n0\nCIRCLE\n8\nINNER\n10\n100\n20\n100\n40\n30\n"
    "0\nLINE\n8\nFOLD\n10\n0\n20\n200\n11\n400\n21\n200\n0\nINSERT\n8\nX\n2\nB\n10\n0\n20\n0\n0\nENDSEC\n0\nEOF\n"
)


BATCHES = (
    'seconds = 2\nrolls = "ladder-30"\nkeep = [300, 150]\n[[batch]]\njobs = ["job.toml"]\nfolder = "monday"\n'
    'least = "bought"\nopening = 2.5\n[[batch]]\nname = "tuesday"\njobs = ["*.toml"]\nfolder = "tuesday"\n'
    'labels = "3x7"\nmachine = "flatbed-knife"\ngap = "2 mm"\nseed = 4\nformats = ["csv"]\n'
)


def _stock() -> str:
    """Return a stock file with something on the shelf and gone from it, byte for byte as Latin-1."""
    at = "2026-03-02T08:00:00+00:00"
    with TemporaryDirectory() as folder:
        file = StockFile(Path(folder) / "shop.db")
        for code, mass, cost in ((4, 20.41, 61.5), (3, 14.97, None)):
            delivery = stock.Delivery(code, mass, 300.0, 6000.0, quantity=2, place="rack 2", batch="B7", cost=cost)
            file.change(lambda holding, own=delivery: stock.add(holding, own, at), create=True)
        file.change(lambda holding: stock.take(holding, 1, at, note="lent to the yard"))
        return file.copy().decode("latin-1")


RUN = """name = "Fern Cottage"
pitch = 35
[[detail]]
kind = "cover flashing"
length = 4000
[[detail]]
kind = "outline"
points = [[0, 0], [300, 0], [260, 90], [0, 120]]
quantity = 2
"""
_ROLLS = "rolls = [{ width_mm = 300, length_mm = 3000 }, { width_mm = 450, length_mm = 6000 }]\n"


def _manifests() -> list[str]:
    """Return what two runs keep of themselves: on the rolls of a list, and a piece cut once more from a stock."""
    asked = Asked(("job.toml",), rolls="rolls.toml", machines=("flatbed-knife",), formats=frozenset({Format.JSON}))
    with remembering({"job.toml": RUN.encode(), "rolls.toml": _ROLLS.encode()}, alone=True) as read:
        tools = machines(asked.machines)
        plans = [(making.plan(asked, tools), making.Ground(read))]
        name = plans[0][0].pieces[-1].id
        shelf = [Roll(450.0, 6000.0, 1, owned=True, name="L7")]
        planned = again.only(making.plan(asked, tools, shelf), {name: 1}, "R0123456789")
        plans.append((planned, making.Ground(read, shelf, None, {}, {name: 1}, "R0123456789")))
        out = []
        for planned, ground in plans:
            batch = pipeline.batch_of(planned, [one_after_another(problem) for _, problem in planned.problems])
            out.append(making.made_of(asked, tools, batch, ground).files[MANIFEST].decode())
    return out


def _places(value: object, at: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Give the path to everything in tables and lists."""
    for key, inside in (
        value.items() if isinstance(value, dict) else enumerate(value if isinstance(value, list) else ())
    ):
        yield (*at, key)
        yield from _places(inside, (*at, key))


_PLAIN = (None, True, 0, -1, 7, 10**30, 0.5, -1e300, 1e308, float("inf"), float("nan"), "", "x", "\u202e", "-", "../a",
          "/", [], {}, [[]], [1, 2], {"base64": "AA=="})  # fmt: skip


def _at_path(told: Any, way: Sequence[str | int]) -> Any:
    for key in way:
        told = told[key]
    return told


def _other(value: object, chance: random.Random) -> object:
    """Return something else of the same kind, more often than not."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, float | int):
        figures = [
            _slipped(f"{value}", chance),
            "-1",
            "0",
            "1e999",
            "1e-9",
            "3",
            "1e5",
            "1e15",
            "NaN",
            "1000000000",
            "1" * 30,
        ]
        with contextlib.suppress(ValueError):
            return json.loads(figures[0] if chance.randrange(2) else chance.choice(figures))
    if isinstance(value, str):
        return _spoilt(value or "x", seeds()["job"], chance)
    return chance.choice(_PLAIN)


def _spoilt_manifest(text: str, chance: random.Random) -> str:
    """Spoil what a run keeps of itself, once, and seal it again."""
    told = json.loads(text)
    kept = list(_places(told.get("made_from"), ("made_from",)))
    places = kept if kept and chance.randrange(10) else list(_places(told))
    *way, last = chance.choice(places)
    inside = _at_path(told, way)
    match chance.randrange(12):
        case 0:
            del inside[last]
        case 1 if isinstance(inside, list):
            inside.insert(last, inside[last])
        case 1:
            inside[str(last) + chance.choice(("x", "_mm", ""))] = chance.choice(_PLAIN)
        case 2:
            inside[last] = _at_path(told, chance.choice(places))
        case 3:
            inside[last] = chance.choice(_PLAIN)
        case _:
            inside[last] = _other(inside[last], chance)
    try:
        del told["seal"]
        return sealed(told)
    except (KeyError, ValueError, RecursionError):
        return text


@cache
def seeds() -> Mapping[str, Seeds]:
    """Return sound files of every kind that is read."""
    kinds = (
        Seeds(
            "job", ".toml", _files("fixtures/jobs/*.toml", "fixtures/golden/jobs/*.toml", "fixtures/warnings/*.toml")
        ),
        Seeds("near job", ".toml", _files("fixtures/broken/*.toml")),
        Seeds("starter", ".toml", lambda: [starter(family.kind, "job.toml") for family in FAMILIES]),
        Seeds("rolls", ".toml", _files("profiles/rolls/*.toml")),
        Seeds("practice", ".toml", lambda: [SHOP]),
        Seeds("machine", ".toml", _files("profiles/machines/*.toml")),
        Seeds("settings", ".toml", lambda: [SETTLED]),
        Seeds("prices", ".toml", _files("fixtures/prices/*.toml")),
        Seeds("orders", ".csv", lambda: [ORDERS]),
        Seeds("workbook", ".xlsx", lambda: [_book()[SHEET_PART].decode().replace("><", ">\n<")]),
        Seeds("pieces", ".json", lambda: [PIECES]),
        Seeds("drawing", ".dxf", lambda: [DRAWING]),
        Seeds("batches", ".toml", lambda: [BATCHES]),
        Seeds("stock", ".db", lambda: [_stock()]),
        Seeds("manifest", ".json", _manifests),
    )
    return {kind.kind: kind for kind in kinds}


def _at(pattern: re.Pattern[str], text: str, chance: random.Random, new: Callable[[str], str]) -> str:
    """Put something else in the place of one match of a pattern."""
    found = list(pattern.finditer(text))
    if not found:
        return text
    one = chance.choice(found)
    return text[: one.start()] + new(one.group()) + text[one.end() :]


def _slipped(figure: str, chance: random.Random) -> str:
    """Return a figure as a hand slips: another unit, a digit twice, left out, changed or turned round."""
    place = chance.randrange(len(figure))
    return chance.choice(
        [
            figure[:place] + figure[place] + figure[place:],
            figure[:place] + figure[place + 1 :] or "0",
            figure[:place] + str(chance.randrange(10)) + figure[place + 1 :],
            f"{float(figure) / 1000:g}",
            f"{float(figure) / 25.4:g}",
            f"{float(figure) * 10:g}",
            f"-{figure}".replace("--", ""),
        ]
    )


def _spoilt(text: str, kind: Seeds, chance: random.Random) -> str:
    """Spoil a text once."""
    lines = text.split("\n")
    at = chance.randrange(len(lines))
    match chance.randrange(14):
        case 0:
            return _at(_NUMBER, text, chance, lambda _: chance.choice(NUMBERS))
        case 1 | 2 | 3:
            return _at(_NUMBER, text, chance, lambda figure: _slipped(figure, chance))
        case 4:
            return _at(_TEXT, text, chance, lambda _: chance.choice(TEXTS))
        case 5:
            return _at(_VALUE, text, chance, lambda _: chance.choice((*OTHERS, *TEXTS, *NUMBERS)))
        case 6:
            return _at(_KEY, text, chance, lambda _: chance.choice(kind.keys))
        case 7:
            return "\n".join(lines[:at] + lines[at + 1 :])
        case 8:
            return "\n".join([*lines[: at + 1], lines[at], *lines[at + 1 :]])
        case 9:
            other = chance.choice(kind.texts).split("\n")
            start = chance.randrange(len(other))
            return "\n".join(lines[:at] + other[start : start + chance.randrange(1, 12)] + lines[at:])
        case 10:
            lines.insert(at, f"{chance.choice(kind.keys)} = {chance.choice((*NUMBERS, *TEXTS, *OTHERS))}")
            return "\n".join(lines)
        case 11:
            spot = chance.randrange(len(text) + 1)
            return text[:spot] + chance.choice(STRAYS) + text[spot:]
        case 12:
            return text[: chance.randrange(len(text) + 1)]
        case _:
            spot = chance.randrange(max(1, len(text)))
            return text[:spot] + chance.choice("[]{}\"'=#,.\n-+") + text[spot + 1 :]


def encoded(kind: str, text: str) -> bytes:
    """Return what a file of a kind holds whose text is given."""
    if kind == "workbook":
        return _as_book(text)
    return text.encode("latin-1", "replace") if kind == "stock" else text.encode("utf-8", "surrogatepass")


def mutant(kind: str, number: int) -> bytes:
    """Return the mutant of a kind with a number; every fiftieth, and each stock file, has spoilt bytes besides."""
    chance = random.Random(f"{kind} {number}")  # noqa: S311 - mutants, not secrets
    of = seeds()[kind]
    text = chance.choice(of.texts)
    for _ in range(chance.choice((1, 1, 1, 2, 3, 8))):
        text = _spoilt_manifest(text, chance) if kind == "manifest" else _spoilt(text or "\n", of, chance)
    data = bytearray(encoded(kind, text))
    if (kind == "stock" or not number % 50) and data:
        for _ in range(chance.randrange(1, 6)):
            data[chance.randrange(len(data))] = chance.randrange(256)
    return bytes(data)
