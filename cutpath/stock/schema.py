"""The tables of a stock file, version by version; an old file is brought up to date when it is opened.

A step that stands here is never changed again: files made by it lie in shops. A new version is a new step.
"""

from __future__ import annotations

APPLICATION_ID = 0x4C454144
"""By which a stock file is told from any other SQLite file."""

STEPS: tuple[tuple[str, ...], ...] = (
    (
        """CREATE TABLE item (
            number INTEGER PRIMARY KEY,
            kind TEXT NOT NULL,
            code INTEGER NOT NULL,
            width_mm REAL NOT NULL CHECK (width_mm > 0),
            length_mm REAL NOT NULL CHECK (length_mm > 0),
            mass_ug INTEGER NOT NULL CHECK (mass_ug >= 0),
            cost_u INTEGER CHECK (cost_u >= 0),
            place TEXT NOT NULL,
            batch TEXT NOT NULL,
            exact INTEGER NOT NULL,
            run TEXT NOT NULL,
            gone INTEGER NOT NULL DEFAULT 0,
            CHECK (run = '' OR NOT gone)
        ) STRICT""",
        "CREATE INDEX item_there ON item (gone)",
        """CREATE TABLE run (
            id TEXT PRIMARY KEY,
            state TEXT NOT NULL,
            at TEXT NOT NULL,
            out TEXT NOT NULL,
            plan TEXT NOT NULL
        ) STRICT""",
        """CREATE TABLE movement (
            number INTEGER PRIMARY KEY,
            verb TEXT NOT NULL,
            at TEXT NOT NULL,
            run TEXT NOT NULL,
            note TEXT NOT NULL
        ) STRICT""",
        """CREATE TABLE posting (
            movement INTEGER NOT NULL REFERENCES movement (number),
            account TEXT NOT NULL,
            code INTEGER NOT NULL,
            mass_ug INTEGER NOT NULL,
            cost_u INTEGER NOT NULL,
            item INTEGER REFERENCES item (number)
        ) STRICT""",
        "CREATE INDEX posting_item ON posting (item)",
        "CREATE INDEX posting_movement ON posting (movement)",
        "CREATE TRIGGER item_stays BEFORE DELETE ON item BEGIN SELECT RAISE(ABORT, 'items are kept'); END",
        "CREATE TRIGGER movement_stays BEFORE DELETE ON movement BEGIN SELECT RAISE(ABORT, 'movements are kept'); END",
        "CREATE TRIGGER movement_as_is BEFORE UPDATE ON movement BEGIN SELECT RAISE(ABORT, 'movements are kept'); END",
        "CREATE TRIGGER posting_stays BEFORE DELETE ON posting BEGIN SELECT RAISE(ABORT, 'postings are kept'); END",
        "CREATE TRIGGER posting_as_is BEFORE UPDATE ON posting BEGIN SELECT RAISE(ABORT, 'postings are kept'); END",
    ),
    (
        """CREATE TABLE done (
            number INTEGER PRIMARY KEY,
            run TEXT NOT NULL REFERENCES run (id),
            stage TEXT NOT NULL,
            thing TEXT NOT NULL,
            count INTEGER NOT NULL CHECK (count >= 0),
            at TEXT NOT NULL,
            note TEXT NOT NULL
        ) STRICT""",
        "CREATE INDEX done_run ON done (run)",
        "CREATE TRIGGER done_stays BEFORE DELETE ON done BEGIN SELECT RAISE(ABORT, 'what was done is kept'); END",
        "CREATE TRIGGER done_as_is BEFORE UPDATE ON done BEGIN SELECT RAISE(ABORT, 'what was done is kept'); END",
    ),
    (),  # the same tables, but with accounts, and in runs with words, that earlier programs do not know
    (
        "ALTER TABLE movement ADD COLUMN undoes INTEGER REFERENCES movement (number)",
        "CREATE UNIQUE INDEX movement_undone ON movement (undoes)",
    ),
)
"""What leads from each version to the next one; version 0 is an empty file."""

VERSION = len(STEPS)
