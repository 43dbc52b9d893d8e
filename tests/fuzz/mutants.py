"""Files of every kind that is read, and ways to spoil them: slips of a hand, other units and types, stray bytes.

A mutant is made by chance from a number alone, so that one that was found once is found again.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from cutpath.families.registry import FAMILIES
from cutpath.jobs.starters import starter
from cutpath.stock import book
from cutpath.stock.file import StockFile

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
    texts: Sequence[str]

    @property
    def keys(self) -> list[str]:
        """Every key of theirs."""
        return sorted({key for text in self.texts for key in _KEY.findall(text)}) or ["name"]


def _files(*patterns: str) -> list[str]:
    found = sorted({file for pattern in patterns for file in ROOT.glob(pattern)})
    return [text for file in found if "\ufffd" not in (text := file.read_text(encoding="utf-8", errors="replace"))]


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
            delivery = book.Delivery(code, mass, 300.0, 6000.0, quantity=2, place="rack 2", batch="B7", cost=cost)
            file.change(lambda holding, own=delivery: book.add(holding, own, at), create=True)
        file.change(lambda holding: book.take(holding, 1, at, note="lent to the yard"))
        return file.copy().decode("latin-1")


@cache
def seeds() -> Mapping[str, Seeds]:
    """Return sound files of every kind that is read."""
    kinds = (
        Seeds(
            "job", ".toml", _files("fixtures/jobs/*.toml", "fixtures/golden/jobs/*.toml", "fixtures/warnings/*.toml")
        ),
        Seeds("near job", ".toml", _files("fixtures/broken/*.toml")),
        Seeds("starter", ".toml", [starter(family.kind, "job.toml") for family in FAMILIES]),
        Seeds("rolls", ".toml", _files("profiles/rolls/*.toml")),
        Seeds("practice", ".toml", [SHOP]),
        Seeds("machine", ".toml", _files("profiles/machines/*.toml")),
        Seeds("settings", ".toml", [SETTLED]),
        Seeds("prices", ".toml", _files("fixtures/prices/*.toml")),
        Seeds("orders", ".csv", [ORDERS]),
        Seeds("pieces", ".json", [PIECES]),
        Seeds("drawing", ".dxf", [DRAWING]),
        Seeds("batches", ".toml", [BATCHES]),
        Seeds("stock", ".db", [_stock()]),
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
    return text.encode("latin-1", "replace") if kind == "stock" else text.encode("utf-8", "surrogatepass")


def mutant(kind: str, number: int) -> bytes:
    """Return the mutant of a kind with a number; every fiftieth, and each stock file, has spoilt bytes besides."""
    chance = random.Random(f"{kind} {number}")  # noqa: S311 - mutants, not secrets
    of = seeds()[kind]
    text = chance.choice(of.texts)
    for _ in range(chance.choice((1, 1, 1, 2, 3, 8))):
        text = _spoilt(text or "\n", of, chance)
    data = bytearray(encoded(kind, text))
    if (kind == "stock" or not number % 50) and data:
        for _ in range(chance.randrange(1, 6)):
            data[chance.randrange(len(data))] = chance.randrange(256)
    return bytes(data)
