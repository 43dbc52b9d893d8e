"""Search for spoilt files by what of the program they reach: ``python -m tests.fuzz.guided KIND [--seconds N]``.

Needs atheris, which has wheels for Linux alone and so is no dependency of the tests. What it finds of new ground stays
in ``--keep`` for the next time, beginning with the sound files of that kind; the first mutant that ends in anything but
pieces or whole findings ends the search, and lies there.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["cutpath"]):
    from tests.fuzz.mutants import seeds
    from tests.fuzz.readers import tried


class Found(Exception):  # noqa: N818 - what is looked for
    """A file that the readers do not bear."""


def main() -> None:
    """Search until the seconds are over, or something is found."""
    asked = argparse.ArgumentParser(prog="tests.fuzz.guided")
    asked.add_argument("kind", choices=list(seeds()))
    asked.add_argument("--seconds", type=int, default=60)
    asked.add_argument("--keep", type=Path, default=Path(".fuzz"))
    given = asked.parse_args()
    known = given.keep / given.kind.replace(" ", "-")
    known.mkdir(parents=True, exist_ok=True)
    for number, text in enumerate(seeds()[given.kind].texts):
        (known / f"sound-{number}").write_text(text, encoding="utf-8")
    folder = Path(tempfile.mkdtemp())

    def one(data: bytes) -> None:
        end = tried(given.kind, data, folder)
        if end not in {"made", "refused"}:
            raise Found(end)

    how = f"-max_total_time={given.seconds}", f"-artifact_prefix={known}/found-"
    atheris.Setup([sys.argv[0], str(known), *how], one)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
