"""How the book of press tests is laid out, one step a version; a step once used never changes."""

_FIRST = """
CREATE TABLE tests (
    number INTEGER PRIMARY KEY,
    recorded_at TEXT NOT NULL,
    tested_on TEXT NOT NULL,
    tested_by TEXT NOT NULL,
    study TEXT NOT NULL,
    layout TEXT NOT NULL,
    pattern TEXT NOT NULL,
    block_key TEXT NOT NULL,
    rated_load_n REAL NOT NULL CHECK (rated_load_n > 0),
    gauge_unit TEXT NOT NULL,
    full_scale REAL NOT NULL CHECK (full_scale > 0),
    division REAL NOT NULL CHECK (division > 0),
    zero REAL NOT NULL CHECK (zero >= 0 AND zero < full_scale),
    accuracy TEXT NOT NULL,
    middle_share REAL NOT NULL,
    outer_share REAL NOT NULL,
    newtons_per_unit REAL NOT NULL CHECK (newtons_per_unit > 0),
    seen_at REAL,
    no_set_at REAL,
    set_at REAL,
    crushed_at REAL,
    note TEXT NOT NULL
) STRICT;
CREATE TABLE readings (
    number INTEGER NOT NULL REFERENCES tests,
    place INTEGER NOT NULL,
    gauge REAL NOT NULL,
    travel_mm REAL,
    saw TEXT NOT NULL,
    PRIMARY KEY (number, place)
) STRICT;
CREATE TABLE photos (
    number INTEGER NOT NULL REFERENCES tests,
    place INTEGER NOT NULL,
    file_name TEXT NOT NULL,
    PRIMARY KEY (number, place)
) STRICT;
"""

_PREDICTIONS = """
CREATE TABLE predictions (
    number INTEGER PRIMARY KEY REFERENCES tests,
    before_the_test INTEGER NOT NULL CHECK (before_the_test IN (0, 1)),
    body TEXT NOT NULL
) STRICT;
"""

STEPS: tuple[str, ...] = (_FIRST, _PREDICTIONS)
"""``STEPS[n]`` takes a book from version n to n + 1."""

VERSION = len(STEPS)

APPLICATION = 0x47757373
"""Marks the file as a book of press tests: the letters "Guss"."""
