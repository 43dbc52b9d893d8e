"""From text that somebody wrote to checked data: every fault becomes a finding with its key path.

Terminology
-----------
Key path: keys joined by points, places in a list counted from 1, such as ``detail[2].riser``.
Raw data: what the TOML or JSON parser gave, before any check.
"""

from __future__ import annotations

import difflib
import errno
import io
import json
import os
import re
import stat
import sys
import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from decimal import Decimal
from itertools import islice
from pathlib import Path
from types import UnionType
from typing import Annotated, TypeVar, Union, get_args, get_origin

from pydantic import AfterValidator, BaseModel, ConfigDict, ValidationError, ValidationInfo, model_validator
from pydantic_core import ErrorDetails, SchemaError

from cutpath.ceilings import DEEPEST, FAULTS, TEXT_BYTES, bytes_text
from cutpath.errors import Finding
from cutpath.plain import LINES_AND_TABS, is_unseen, prints, seen
from cutpath.units import COMMA_IN_NUMBER, COMMA_REMEDY, NotUnderstoodError, written

_PLAIN_WORDS = {
    "string_type": "text in quotes",
    "string_too_short": "at least {min_length} letters",
    "string_too_long": "at most {max_length} letters",
    "bool_type": "true or false",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "float_type": "a number",
    "finite_number": "a number that ends",
    "greater_than": "more than {gt}",
    "greater_than_equal": "{ge} or more",
    "less_than": "less than {lt}",
    "less_than_equal": "{le} or less",
    "list_type": "a list",
    "too_short": "a list of {min_length} or more",
    "too_long": "a list of {max_length} or fewer",
    "model_type": "a table",
    "dict_type": "a table",
    "date_type": "a valid date",
}
"""What pydantic's commonest errors mean to a person who writes a file."""

Keys = tuple[str | int, ...]
"""A path into raw data: keys of tables and places in lists, counted from 0."""


def key_path(keys: Keys) -> str:
    """Write ``keys`` for a person, places counted from 1: ``detail[2].riser``."""
    out = ""
    for key in keys:
        out += f"[{key + 1}]" if isinstance(key, int) else f".{_name(key)}" if out else _name(key)
    return out


def _name(key: str) -> str:
    return seen(key if len(key) <= _LONGEST_NAME else f"{key[:_LONGEST_NAME]}...")


_LONGEST_NAME = 80


def where(file: str, keys: Keys) -> str:
    """Return ``<file>: <key path>``, or the file alone for the whole of it."""
    return f"{file}: {key_path(keys)}" if keys else file


def did_you_mean(word: str, known: Iterable[str]) -> str | None:
    """Return the one of ``known`` that ``word`` was most likely meant to be, or None.

    Few slips are in the first letter: what begins with another must be closer, or code would be taken for order.
    """
    folded = {name.casefold(): name for name in known}
    told = word.casefold()
    close = difflib.get_close_matches(told, folded, n=3, cutoff=_CLOSE)
    near = (name for name in close if name[:1] == told[:1] or difflib.get_close_matches(told, [name], cutoff=_CLOSER))
    return next((folded[name] for name in near), None)


_CLOSE, _CLOSER = 0.6, 0.7


def file_name(path: Path | str) -> str:
    """Name a file for a person; ``-`` is standard input."""
    return "standard input" if str(path) == "-" else str(path) or "a file without a name"


_READ: ContextVar[dict[str, bytes] | None] = ContextVar("_READ", default=None)
"""What was read so far by its name, where that is remembered."""
_ALONE: ContextVar[bool] = ContextVar("_ALONE", default=False)
"""Whether nothing else is read."""


@contextmanager
def remembering(read: Mapping[str, bytes] | None = None, *, alone: bool = False) -> Iterator[dict[str, bytes]]:
    """Remember every file that is read by its name, and read none of them twice.

    What a run was made from can so be kept with it as it was read, and what is done once more is done from the same.

    Parameters
    ----------
    read : mapping, optional
        Names, and what is to be taken for the contents of such files in place of what lies on the disk.
    alone : bool
        Whether there are no other files, as on a machine that has those of another.

    Yields
    ------
    dict
        Name of each file as it was given, ``-`` for standard input, to what it held; it grows.
    """
    kept = dict(read or {})
    token, other = _READ.set(kept), _ALONE.set(alone)
    try:
        yield kept
    finally:
        _ALONE.reset(other)
        _READ.reset(token)


@contextmanager
def reading_once() -> Iterator[None]:
    """Read no file twice, so that all who name it have the same of it, whoever writes to it meanwhile."""
    if _READ.get() is not None:
        yield
        return
    with remembering():
        yield


class TooLargeError(OSError):
    """A file holds more than is read of its kind."""


_ALSO: ContextVar[tuple[Path, ...]] = ContextVar("_ALSO", default=())
"""Folders from which any job may take drawings, beside its own."""


@contextmanager
def also_from(folders: Iterable[Path]) -> Iterator[None]:
    """Let jobs name drawings in these folders too."""
    token = _ALSO.set((*_ALSO.get(), *folders))
    try:
        yield
    finally:
        _ALSO.reset(token)


def read_bytes(path: Path | str, most: int = TEXT_BYTES, *, inside: Path | None = None) -> bytes:
    """Read a file, standard input for ``-``; a file that is remembered is as it was.

    Parameters
    ----------
    path : Path or str
    most : int
        Bytes that it may hold.
    inside : Path, optional
        For a name that somebody else wrote: only a plain file in this folder is read, wherever links lead, or in those
        of `also_from`.

    Raises
    ------
    TooLargeError
        When it holds more.
    FileNotFoundError
        When it is not among those that are remembered, and nothing else is read.
    OSError
        When it cannot be read, or lies elsewhere.
    ValueError
        When that is no name of a file.
    """
    kept, name = _READ.get(), str(path)
    hidden = next(filter(is_unseen, name), None)  # bytes of a name that is no text come as surrogates
    if hidden is not None:
        raise OSError(errno.EILSEQ, f"its name holds a character that cannot be seen (\\u{ord(hidden):04x})")
    if kept is not None and name in kept:
        return kept[name]
    if _ALONE.get():
        raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT))
    if name == "-":
        data = _standard_input(most)
    elif inside is None:
        with Path(path).open("rb") as file:
            data = file.read(most + 1)
    else:
        data = _plain_file(Path(path), inside, most)
    if len(data) > most:
        raise TooLargeError(errno.EFBIG, f"more than {bytes_text(most)}")
    if kept is not None:
        kept[name] = data
    return data


def _plain_file(path: Path, inside: Path, most: int) -> bytes:
    """Read a plain file of a folder; nothing else is opened, not even to look at it.

    Raises
    ------
    OSError
        When it is none, or lies elsewhere.
    """
    real, *folders = (Path(os.path.realpath(place, strict=True)) for place in (path, inside, *_ALSO.get()))
    if not any(map(real.is_relative_to, folders)):
        raise OSError(errno.EACCES, "it lies outside the folder of the job file")
    way = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)  # a pipe would wait for its writer
    with os.fdopen(os.open(real, way), "rb") as file:
        if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
            raise OSError(errno.EINVAL, "it is not a plain file")
        return file.read(most + 1)


def read_text(path: Path | str, most: int = TEXT_BYTES) -> str | Finding:
    """Read a text file, standard input for ``-``, or give the finding why it cannot be read."""
    accepted = "a readable text file"
    try:
        return io.TextIOWrapper(io.BytesIO(read_bytes(path, most)), encoding="utf-8-sig").read()
    except UnicodeDecodeError as error:
        found = f"not UTF-8 text at byte {error.start + 1}"
        remedy = _NO_SHEET if _is_sheet(str(path)) else "Save the file as UTF-8."
    except TooLargeError as error:
        found, accepted = str(error.strerror), f"a text file of {bytes_text(most)} at most"
        remedy = "Check that it is the file that was meant; else make several of it."
    except (OSError, ValueError) as error:
        found, remedy = _unread(error, Path(path))
    return Finding("CP101", file_name(path), found, accepted, remedy)


def _is_sheet(name: str) -> bool:
    return name.lower().endswith((".csv", ".tsv", ".xls", ".xlsx", ".ods"))


def _unread(error: OSError | ValueError, path: Path) -> tuple[str, str]:
    """Return in plain words why a file cannot be read, and what to do about it."""
    if isinstance(error, FileNotFoundError):
        try:
            beside = () if _ALONE.get() else [other.name for other in islice(path.parent.iterdir(), _MOST_BESIDE)]
        except OSError:
            return f"{NO_SUCH_FILE}, and no such folder", "Check the name of the folder."
        meant = did_you_mean(path.name, beside)
        return NO_SUCH_FILE, f"Did you mean {meant}?" if meant else "Check the name of the file."
    if isinstance(error, IsADirectoryError):
        return "it is a folder", "Name a file in it."
    if isinstance(error, OSError) and error.errno == errno.EILSEQ:
        return str(error.strerror), "Give it another name."
    reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    return reason.lower(), "Check the name of the file and whether you may read it."


NO_SUCH_FILE = "there is no such file"
_MOST_BESIDE = 1000


def _standard_input(most: int) -> bytes:
    """Read standard input as it comes, whatever the terminal speaks, and no more than shows that it is too much.

    Raises
    ------
    OSError
        When it is closed.
    """
    if sys.stdin is None:
        raise OSError(errno.EBADF, "standard input is closed")
    return sys.stdin.buffer.read(most + 1)


def parse_toml(text: str, file: str) -> dict[str, object] | Finding:
    """Parse TOML, or give the finding where it is broken, with line and column, and what is likely wrong there."""
    slip = None
    try:
        data = None if _MANY_PARTS.search(text) else tomllib.loads(text)
        if data is not None and not _too_deep(data):
            return data
        found = f"tables nested more than {DEEPEST} deep"
    except tomllib.TOMLDecodeError as error:
        match = re.fullmatch(r"(.*) \(at (?:line (\d+), column (\d+)|end of document)\)", str(error), re.DOTALL)
        reason, line, column = match.groups() if match else (str(error), None, None)
        place = f"line {line}, column {column}" if line else "the end of the file"
        reason = reason.replace("Illegal character '\\n'", "the line ends inside a text")
        found = f"{reason[:1].lower()}{reason[1:]} at {place}"
        slip = _slip(reason, text.split("\n")[int(line) - 1] if line else "")
    except (RecursionError, ValueError):
        found = "tables nested too deep, or a number too long"
    other = file.lower().endswith((".json", ".yaml", ".yml"))
    remedy = _NO_SHEET if _is_sheet(file) else _NO_JSON if other else slip or _BROKEN
    return Finding("CP102", file, found, "valid TOML", remedy)


def _slip(reason: str, line: str) -> str | None:
    """Return what to do about a line that is no TOML, as far as its parser and the line by itself tell."""
    line = line[:_LONGEST_LINE].partition("#")[0].rstrip()
    if _ZERO_AFTER_COMMA.search(line):
        return COMMA_REMEDY
    told = ((pattern, reason, remedy) for pattern, remedy in _REASONS)
    seen_in = ((pattern, line, remedy) for pattern, remedy in _SLIPS)
    return next((remedy for pattern, where_in, remedy in (*told, *seen_in) if pattern.search(where_in)), None)


_LONGEST_LINE = 1000
_ZERO_AFTER_COMMA = re.compile(r"\d,0\d")
_REASONS = tuple(
    (re.compile(pattern), remedy)
    for pattern, remedy in (
        (r"^Cannot declare .* twice", "Write its header in two brackets, as in [[detail]], or take one of them out."),
        (r"^Cannot overwrite", "Look for a key that stands twice in one table, and take one out."),
        (r"^Unclosed array", "Put a comma between what stands in a list, and a bracket ] at its end."),
        (r"^Unclosed inline table", "Put a comma between what stands in braces, and a brace } at their end."),
    )
)
"""What the parser says, and what to do about it."""
_SLIPS = tuple(
    (re.compile(pattern), remedy)
    for pattern, remedy in (
        ("[\u201c\u201d\u201e\u2018\u2019]", 'Write straight quotes, as in "this".'),
        (r"^\s*//", "Begin a comment with #."),
        (r"^\s*[A-Za-z_][\w.-]*\s*:", "Write = between a key and its value, in place of the colon."),
        (r"^\s*[A-Za-z_][\w.-]*\s+[^=\s][^=]*$", "Write = between a key and its value."),
        (r";$", "Take the semicolon out."),
        (r"=\s*\d+[-/.]\d+[-/.]\d", "Write a day as year, month and day: 2026-03-02."),
        (r"=\s*-?[\d.]+,\d", COMMA_REMEDY),
        (r"=\s*-?0\d", "Write the figure without the zero before it."),
        (r"=\s*-?[\d.]+\s+\d+$", "Write the figure without a space in it."),
        (r"=\s*-?[\d.]+[\d\s]*[^\d\s.\]},]", 'Put a figure with its unit or sign in quotes: "1.2 m", "7:12".'),
        (r"=\s*(?!true|false|inf|nan)[^\W\d_]", 'Put words in quotes, as in "this".'),
        (r"=\s*'[^']*'\w", "Put a text with an apostrophe in it in double quotes."),
        (r"\\", "Write a backslash twice, or put the text in single quotes."),
    )
)
"""What people write that is no TOML, and what to do about it."""

_NO_JSON = "No JSON or YAML is read here. A job file to begin with: cutpath new KIND."
_NO_SHEET = "A spreadsheet is read as an order sheet alone; write this file as text, in TOML."
_BROKEN = "Look for a missing quote, bracket or equals sign just before it."


_MOST_PARTS = 200
_PART = r"""(?:[\w-]+|"[^"\n]*"|'[^'\n]*')"""
_MANY_PARTS = re.compile(rf"(?:^|[\[{{,])[ \t]*{_PART}(?:[ \t]*\.[ \t]*{_PART}){{{_MOST_PARTS}}}", re.MULTILINE)
"""A key of very many parts, as ``a.b.c`` has three: the parser takes the square of them."""


def _too_deep(data: object) -> bool:
    """Tell whether tables and lists stand deeper inside each other than any file needs, without going down as deep."""
    level: list[object] = [data]
    for _ in range(DEEPEST):
        level = [
            item
            for value in level
            if isinstance(value, (dict, list))
            for item in (value.values() if isinstance(value, dict) else value)
        ]
    return bool(level)


def parse_json(text: str, file: str, code: str) -> dict[str, object] | Finding:
    """Parse a JSON object, or give the finding (with ``code``) where it is broken."""
    twice: list[str] = []

    def table(pairs: list[tuple[str, object]]) -> dict[str, object]:
        out = dict(pairs)
        if len(out) < len(pairs):
            twice.extend(key for number, (key, _) in enumerate(pairs) if key in [k for k, _ in pairs[:number]])
        return out

    try:
        data = json.loads(text, object_pairs_hook=table)
    except json.JSONDecodeError as error:
        found = f"{error.msg.lower()} at line {error.lineno}, column {error.colno}"
    except (RecursionError, ValueError):
        found = "tables nested too deep, or a number too long"
    else:
        if twice:
            found = f"the key {written(twice[0])} stands twice in one table"
            return Finding(code, file, found, "each key once", "Take one of the two out.")
        if isinstance(data, dict) and not _too_deep(data):
            return data
        found = "tables nested too deep" if isinstance(data, dict) else written(data)
    return Finding(code, file, found, "one JSON table, in braces", "Correct the file.")


@dataclass(frozen=True, slots=True)
class Known:
    """The keys that a table may hold, with what each of them is, and the model of the table."""

    keys: Mapping[str, str]
    model: type[BaseModel] | None = None

    def holders(self, name: str) -> list[str]:
        """Return the keys whose own tables may hold ``name``."""
        fields = self.model.model_fields.items() if self.model else ()
        return [
            field.alias or key
            for key, field in fields
            if any(name in {f.alias or k for k, f in inner.model_fields.items()} for inner in _tables(field.annotation))
        ]

    def lists(self, name: str) -> list[str]:
        """Return the keys under which lists of tables stand that may hold ``name``."""
        fields = self.model.model_fields.items() if self.model else ()
        own = (
            (field.alias or key, get_args(field.annotation))
            for key, field in fields
            if get_origin(field.annotation) is list
        )
        return [key for key, (row,) in own if any(name in table.model_fields for table in _tables(row))]

    def inside(self, name: str) -> list[str]:
        """Return the keys that the table under ``name`` may hold: those that must be there first."""
        fields = self.model.model_fields.items() if self.model else ()
        inner = (model for key, field in fields if name in (key, field.alias) for model in _tables(field.annotation))
        keys = [pair for model in inner for pair in model.model_fields.items()]
        keys.sort(key=lambda pair: (pair[0] == "confirmed", not pair[1].is_required()))
        return [field.alias or key for key, field in keys]


def _tables(annotation: object) -> Iterator[type[BaseModel]]:
    """Yield the tables that may stand under a key itself, not in a list or under a name of the user's own."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    elif get_origin(annotation) in (Annotated, Union, UnionType):
        for part in get_args(annotation):
            yield from _tables(part)


class Strict(BaseModel):
    """A table that holds no keys but its own; numbers are not read out of text, nor text out of numbers."""

    # Most tables are never met in one run, so each is made ready when it first is.
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, defer_build=True)

    @model_validator(mode="before")
    @classmethod
    def _note_keys(cls, data: object, info: ValidationInfo) -> object:
        """Note for the findings which keys this table of the raw data may hold, and what each of them is."""
        if isinstance(info.context, dict):
            info.context[id(data)] = Known(
                {field.alias or name: field.description or "" for name, field in cls.model_fields.items()}, cls
            )
        return data


M = TypeVar("M", bound=BaseModel)


def _in_one_line(value: str) -> str:
    if "\n" in value:
        raise NotUnderstoodError("a text of several lines", "one line", "Write it in one line; notes may have more.")
    return value


ONE_LINE = AfterValidator(_in_one_line)
"""For text that stands in rows of tables and lists."""


def _that_print(value: str) -> str:
    if not prints(value):
        raise NotUnderstoodError(written(value), "letters, figures and signs that print", "Write what is to be read.")
    return _in_one_line(value)


THAT_PRINT = AfterValidator(_that_print)
"""For names that somebody reads on paper: in one line, not blank, nor of nothing that is seen."""


def _unseen(data: object, at: Keys) -> Iterator[tuple[Keys, str]]:
    """Yield the path of every text that holds what cannot be seen, with the first such character; lines may end."""
    if isinstance(data, str):
        found = next((c for c in data if is_unseen(c) and c not in LINES_AND_TABS), None)
        if found is not None:
            yield at, found
    elif isinstance(data, Mapping):
        for key, value in data.items():
            yield from ((((*at, key), c) for _, c in _unseen(key, at)))
            yield from _unseen(value, (*at, key))
    elif isinstance(data, list | tuple):
        for place, value in enumerate(data):
            yield from _unseen(value, (*at, place))


def check(
    model: type[M], raw: Mapping[str, object], file: str, *, code: str | None = None
) -> tuple[M | None, list[tuple[Keys, Finding]]]:
    """Check raw data against ``model``, and give the checked value or every finding with its path into ``raw``.

    Parameters
    ----------
    model : type
        A pydantic model made of `Strict` tables.
    raw : mapping
        What the parser gave.
    file : str
    code : str, optional
        One code for all findings; else each kind of fault has its own.

    Returns
    -------
    tuple
        The value and no findings, or None and at least one finding, one to a place.

    Raises
    ------
    KeyboardInterrupt
    SchemaError
        Never, but for a model that is wrong in itself.
    """
    known: dict[int, Known] = {}
    out: dict[Keys, Finding] = {
        keys: Finding(
            code or "CP107",
            where(file, keys),
            f"a character that cannot be seen ({seen(character)})",
            "letters, figures and signs that print",
            "Type the text again by hand; it was copied with something hidden in it.",
        )
        for keys, character in islice(_unseen(raw, ()), FAULTS)
    }
    try:
        value = model.model_validate(raw, context=known)
        return (None, list(out.items())) if out else (value, [])
    except SchemaError as broken:  # a table is made ready here when it is first met, and may be broken off there
        if KeyboardInterrupt.__name__ in str(broken):
            raise KeyboardInterrupt from None
        raise
    except ValidationError as refused:
        errors = refused.errors()
    for error in errors[:FAULTS]:
        keys, table = _place(raw, error["loc"], missing=error["type"] == "missing")
        if error["type"].startswith("union_tag"):
            keys = (*keys, _discriminator(error))
        own_code, found, accepted, remedy = _words(error, keys, known.get(id(table), Known({})))
        out.setdefault(keys, Finding(code or own_code, where(file, keys), found, accepted, remedy))
    if len(errors) > FAULTS:
        told = f"{len(errors):,} faults, of which {FAULTS:,} are told"
        out[()] = Finding(code or "CP107", file, told, "a file without faults", "Mend these, then look at the rest.")
    return None, list(out.items())


def _place(raw: object, loc: Sequence[str | int], *, missing: bool) -> tuple[Keys, object]:
    """Follow ``loc`` through ``raw``, passing over the names of alternatives; give path and innermost table."""
    keys: list[str | int] = []
    here: object = raw
    table: object = raw
    for number, step in enumerate(loc):
        last = number == len(loc) - 1
        if isinstance(here, dict):
            table = here
            if step in here:
                keys.append(step)
                here = here[str(step)]
            elif last and missing:
                keys.append(step)
        elif isinstance(here, list) and isinstance(step, int) and step < len(here):
            keys.append(step)
            here = here[step]
    return tuple(keys), table


def _discriminator(error: ErrorDetails) -> str:
    """Return the key that tells one alternative from another."""
    return str(error.get("ctx", {}).get("discriminator", "kind")).strip("'")


def _words(error: ErrorDetails, keys: Keys, table: Known) -> tuple[str, str, str, str]:
    """Return code, found, accepted and remedy of one error."""
    name, known = str(keys[-1]) if keys else "the file", table.keys
    kind = error["type"]
    context = error.get("ctx", {})
    cause = context.get("error")
    value = error.get("input")
    if isinstance(cause, NotUnderstoodError):
        return cause.code, cause.found, f"accepted: {cause.accepted}", cause.remedy
    if kind == "extra_forbidden":
        meant = did_you_mean(name, known)
        remedy = f"Did you mean {meant}?" if meant else "Take the line out, or correct the key."
        holders = table.holders(name)
        if holders:
            remedy = f"It belongs in {' or '.join(holders)}: write {holders[0]} = {{ {name} = ... }}."
        elif lists := table.lists(name):
            remedy = f"It belongs in a [[{lists[0]}]]: write it there, in each that it is for."
        listed = ", ".join(sorted(known)) or "no keys"
        return "CP103", f"unknown key {written(name)}", f"accepted: one of {listed}", remedy
    if kind == "missing":
        meaning = known.get(name)
        return "CP104", "nothing", f"needed: {name}", f"Add {name}: {meaning}." if meaning else f"Add {name}."
    if kind == "union_tag_not_found":
        key = _discriminator(error)
        return "CP104", "nothing", f"needed: {key}", f"Add {key} = ..., to tell what it is."
    if kind in {"literal_error", "enum", "union_tag_invalid"}:
        expected = str(context.get("expected") or context.get("expected_tags") or "")
        shown = context.get("tag") if kind == "union_tag_invalid" else value
        meant = did_you_mean(str(shown), re.findall(r"'([^']*)'", expected))
        remedy = f'Did you mean "{meant}"?' if meant else "Choose one of these."
        return "CP107", written(shown), f"accepted: {expected.replace(chr(39), chr(34))}", remedy
    meaning = known.get(name)
    remedy = f"Correct it: {meaning}." if meaning else "Correct the value."
    inner = table.inside(name) if kind in {"model_type", "string_type"} else []
    if inner:
        remedy = f"Write {name} = {{ {inner[0]} = ... }}; its keys: {', '.join(inner)}."
    if kind in {"float_type", "int_type"} and isinstance(value, str):
        figure = _FIGURE.fullmatch(value)
        alone = f"Write the figure alone: {name} = {figure[1]}." if figure else remedy
        remedy = COMMA_REMEDY if COMMA_IN_NUMBER.search(value) else alone
    if kind == "list_type" and isinstance(value, dict) and isinstance(keys[-1], str):
        remedy = f"Write [[{name}]] with two brackets above each table."
    return "CP107", written(value), f"accepted: {_accepted(error)}", remedy


_FIGURE = re.compile(r"[^\d,.-]*(-?\d+(?:\.\d+)?)[^\d,.]*")


def _accepted(error: ErrorDetails) -> str:
    """Say in plain words what a value should have been."""
    limits = error.get("ctx", {})
    words = _PLAIN_WORDS.get(error["type"])
    if words is None:
        return error["msg"].removeprefix("Input ")
    told = {k: f"{limit:.15g}" for k, limit in limits.items() if isinstance(limit, int | float | Decimal)}
    return re.sub(r"\b1 letters$", "1 letter", words.format_map(told))
