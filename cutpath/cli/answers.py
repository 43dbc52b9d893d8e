"""What each command prints with ``--json``: one object, the same keys each time, findings among them.

A command that is refused prints its findings alone and exits with 1, as without ``--json``.
"""

from __future__ import annotations

import inspect
import types
import typing
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from typing import Any, Literal, TypedDict, Union

from cutpath.errors import Finding
from cutpath.jobs.starters import KindOfDetail
from cutpath.reports.account.changes import ChangeRow
from cutpath.reports.account.cutting_list import CuttingRow
from cutpath.reports.account.yields import Account
from cutpath.reports.words.guide import CodeRow, RuleRow, SizeRow
from cutpath.reports.words.run_list import Progress, RunRow
from cutpath.reports.words.stock_list import CollectionRow, ItemRow, MovementRow, ScrapRow


class Answer(TypedDict):
    """Findings of every severity, in the order in which they were made."""

    findings: list[Finding]


class NewAnswer(Answer):
    """A starter file: where it was written (None: nowhere), and its text; empty for a workbook."""

    kind: str
    file: str | None
    text: str


class MeasureAnswer(Answer):
    """A blank measuring sheet, and where it was written."""

    kind: str
    file: str


class KindsAnswer(Answer):
    """Kinds of detail with their keys."""

    kinds: list[KindOfDetail]


class MakeAnswer(Answer):
    """What was made: the folder and the paths of its files, the run, and the account of ``yield.json``.

    ``reserved`` tells whether the stock keeps rolls for the run; ``divided`` names runs that the nest divided as suits
    the rolls, ``face_down`` pieces that lie so, ``machines`` the work on each machine in words.
    """

    folder: str
    files: list[str]
    run: str
    reserved: bool
    divided: list[str]
    face_down: list[str]
    machines: list[str]
    account: Account


class BatchRow(TypedDict):
    """What became of one batch: ``made``, ``failed``, or ``there`` already; files and account only of one made now."""

    name: str
    state: Literal["made", "failed", "there"]
    folder: str
    findings: list[Finding]
    files: list[str]
    run: str
    account: Account | None


class BatchesAnswer(Answer):
    """Every batch of a list, in its order; where one failed, the command exits with 1 all the same."""

    batches: list[BatchRow]


class PiecesAnswer(Answer):
    """The cutting list."""

    pieces: list[CuttingRow]


class PlacementRow(TypedDict):
    """One copy of an outline: flipped if asked (x -> -x), turned about (0, 0), then moved by (x, y)."""

    id: str
    copy: int
    turn_deg: float
    flipped: bool
    x_mm: float
    y_mm: float


class OffcutRow(TypedDict):
    """A free rectangle that is kept, by its lower corner and its size along and across the roll."""

    x_mm: float
    y_mm: float
    length_mm: float
    width_mm: float


class NestedRow(TypedDict):
    """One roll, what of its length is drawn, where straight cuts right across part no piece, and what lies on it."""

    width_mm: float
    length_mm: float
    drawn_mm: float
    square_cuts_mm: list[float]
    placements: list[PlacementRow]
    offcuts: list[OffcutRow]


NestAnswer = TypedDict(
    "NestAnswer",
    {
        "findings": list[Finding],
        "units": Literal["mm"],
        "rolls": list[NestedRow],
        "yield": float,
        "drawn_mm2": float,
        "bound_mm2": float,
    },
)
NestAnswer.__doc__ = "A nest of plain outlines: what the nest command writes, with its findings."


class ItemsAnswer(Answer):
    """Items of the stock: those on the shelf, or those that a movement put there."""

    items: list[ItemRow]


class HistoryAnswer(Answer):
    """Movements of the stock, from the first one on."""

    movements: list[MovementRow]


class ScrapAnswer(Answer):
    """What lies on the scrap pile."""

    scrap: list[ScrapRow]


class CollectAnswer(Answer):
    """What was collected off the scrap pile."""

    collected: list[CollectionRow]


class LabelsAnswer(Answer):
    """A file of labels, and how many there are in it."""

    file: str
    labels: int


class BackupAnswer(Answer):
    """Where the copy lies."""

    file: str


class RunsAnswer(Answer):
    """Runs, and how far each is."""

    runs: list[RunRow]


class RunAnswer(Answer, Progress):
    """One run, roll by roll and piece by piece."""


class DoneRow(TypedDict):
    """One thing that was told: so many of a piece are at a stage, or a roll is cut (1) or not (0)."""

    run: str
    stage: str
    thing: str
    count: int


class DoneAnswer(Answer):
    """What was told of a run."""

    told: list[DoneRow]


class RecutAnswer(Answer):
    """Pieces of a run that are cut once more: the new folder, its files and its run, and the run that had them first.

    ``reserved`` tells whether the stock keeps rolls for it.
    """

    folder: str
    files: list[str]
    run: str
    of: str
    reserved: bool


class RepeatAnswer(Answer):
    """A run that was made once more, every file of it the same."""

    run: str
    files: list[str]


class QuoteLineRow(TypedDict):
    """One line; figures are text, so that they stay decimal. ``amount`` is None where nothing prices it."""

    kind: str
    what: str
    code: int | None
    quantity: str
    unit: str
    price: str | None
    amount: str | None
    included: bool


class QuoteRow(TypedDict):
    """One job priced: its lines, their sums (None: nothing has a price), what has no price, what it rests on."""

    job: str
    date: str
    currency: str
    lines: list[QuoteLineRow]
    net: str | None
    total: str | None
    missing: list[str]
    basis: list[str]


class QuoteAnswer(Answer):
    """Quotes, and the folder with their files."""

    folder: str
    files: list[str]
    quotes: list[QuoteRow]


class CompareAnswer(Answer):
    """What became of the pieces of a run since; ``left_out`` names jobs of it that were not compared."""

    run: str
    pieces: list[ChangeRow]
    left_out: list[str]


class ExplainAnswer(Answer):
    """Codes, rules and ranges of sizes that were asked for, or a kind of detail."""

    codes: list[CodeRow]
    rules: list[RuleRow]
    sizes: list[SizeRow]
    kinds: list[KindOfDetail]


class SettingRow(TypedDict):
    """One setting: its value as it was written, where it comes from, and in which file it stands."""

    key: str
    value: str | float | bool | list[str] | None
    origin: str
    file: str | None


class SettingsAnswer(Answer):
    """What is settled, and where the user's own settings lie or would lie; empty without a home."""

    settings: list[SettingRow]
    user_file: str


ANSWERS: Mapping[str, Any] = {
    "demo": MakeAnswer,
    "new": NewAnswer,
    "measure": MeasureAnswer,
    "kinds": KindsAnswer,
    "make": MakeAnswer,
    "batches": BatchesAnswer,
    "check": Answer,
    "pieces": PiecesAnswer,
    "nest": NestAnswer,
    "quote": QuoteAnswer,
    "run list": RunsAnswer,
    "run show": RunAnswer,
    "run done": DoneAnswer,
    "run repeat": RepeatAnswer,
    "run compare": CompareAnswer,
    "recut": RecutAnswer,
    "stock add": ItemsAnswer,
    "stock list": ItemsAnswer,
    "stock take": ItemsAnswer,
    "stock adjust": ItemsAnswer,
    "stock history": HistoryAnswer,
    "stock commit": ItemsAnswer,
    "stock undo": HistoryAnswer,
    "stock release": ItemsAnswer,
    "stock scrap": ScrapAnswer,
    "stock collect": CollectAnswer,
    "stock labels": LabelsAnswer,
    "stock check": Answer,
    "stock backup": BackupAnswer,
    "explain": ExplainAnswer,
    "settings": SettingsAnswer,
}
"""Every command that has ``--json``, and what it then prints."""


def answer_schema(command: str) -> dict[str, object]:
    """Return the JSON Schema of what a command prints with ``--json``: its answer, or findings alone when refused.

    Raises
    ------
    KeyError
        When there is no such command.
    """
    shapes = [_schema(ANSWERS[command])] + ([] if ANSWERS[command] is Answer else [_schema(Answer)])
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": f"cutpath {command} --json"}
    return {**head, **shapes[0]} if len(shapes) == 1 else {**head, "anyOf": shapes}


_PLAIN: Mapping[object, str] = {str: "string", bool: "boolean", int: "integer", float: "number", types.NoneType: "null"}


def _schema(kind: Any) -> dict[str, object]:  # noqa: ANN401 - any type that an answer is made of
    """Return the JSON Schema of a type: tables, lists, texts, numbers and choices of them."""
    origin, parts = typing.get_origin(kind), typing.get_args(kind)
    if kind in _PLAIN:
        return {"type": _PLAIN[kind]}
    if origin is Literal:
        return {"enum": list(parts)}
    if origin in (Union, types.UnionType):
        return {"anyOf": [_schema(part) for part in parts]}
    if origin is dict:
        return {"type": "object", "additionalProperties": _schema(parts[1])}
    if origin is tuple and parts[-1] is not ...:
        return {"type": "array", "prefixItems": [_schema(part) for part in parts], "minItems": len(parts)}
    if origin in (list, tuple):
        return {"type": "array", "items": _schema(parts[0])}
    if isinstance(kind, type) and issubclass(kind, Enum):
        return {"enum": [member.value for member in kind]}
    return _table(kind)


def _table(kind: Any) -> dict[str, object]:  # noqa: ANN401 - a class of named parts
    hints = typing.get_type_hints(kind)
    names = [field.name for field in fields(kind)] if is_dataclass(kind) else list(hints)
    needed = names if is_dataclass(kind) else [name for name in names if name in kind.__required_keys__]
    return {
        "type": "object",
        "description": inspect.cleandoc(kind.__doc__ or ""),
        "properties": {name: _schema(hints[name]) for name in names},
        "required": needed,
        "additionalProperties": False,
    }
