"""TOML and JSON parsed, or a finding where they are broken, with what is likely wrong there."""

from __future__ import annotations

import json
import re
import tomllib

from cutpath.ceilings import DEEPEST
from cutpath.errors import Finding
from cutpath.intake.files import NO_SHEET, is_sheet
from cutpath.units import COMMA_REMEDY, written

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
_BROKEN = "Look for a missing quote, bracket or equals sign just before it."
_MOST_PARTS = 200
_PART = r"""(?:[\w-]+|"[^"\n]*"|'[^'\n]*')"""
_MANY_PARTS = re.compile(rf"(?:^|[\[{{,])[ \t]*{_PART}(?:[ \t]*\.[ \t]*{_PART}){{{_MOST_PARTS}}}", re.MULTILINE)
"""A key of very many parts, as ``a.b.c`` has three: the parser takes the square of them."""


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
    remedy = NO_SHEET if is_sheet(file) else _NO_JSON if other else slip or _BROKEN
    return Finding("CP102", file, found, "valid TOML", remedy)


def _slip(reason: str, line: str) -> str | None:
    """Return what to do about a line that is no TOML, as far as its parser and the line by itself tell."""
    line = line[:_LONGEST_LINE].partition("#")[0].rstrip()
    if _ZERO_AFTER_COMMA.search(line):
        return COMMA_REMEDY
    told = ((pattern, reason, remedy) for pattern, remedy in _REASONS)
    seen_in = ((pattern, line, remedy) for pattern, remedy in _SLIPS)
    return next((remedy for pattern, where_in, remedy in (*told, *seen_in) if pattern.search(where_in)), None)


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
