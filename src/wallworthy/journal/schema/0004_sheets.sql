-- Test sheets, what was said and measured of them, and what verdicts taught.
-- A part sheet is a large sheet of paper that is printed on slot by slot.
CREATE TABLE part_sheets (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    condition_id INTEGER NOT NULL REFERENCES conditions (id),
    width_mm REAL NOT NULL,
    height_mm REAL NOT NULL,
    slots INTEGER NOT NULL CHECK (slots > 0),
    used INTEGER NOT NULL CHECK (used BETWEEN 0 AND slots)
) STRICT;

CREATE TABLE sheets (
    ticket_id INTEGER NOT NULL REFERENCES tickets (id),
    no INTEGER NOT NULL,
    at TEXT NOT NULL,
    layout TEXT NOT NULL,
    design TEXT NOT NULL,
    files TEXT NOT NULL,
    part_sheet_id INTEGER REFERENCES part_sheets (id),
    slot INTEGER,
    PRIMARY KEY (ticket_id, no)
) STRICT;

CREATE TABLE verdicts (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    ticket_id INTEGER NOT NULL,
    sheet_no INTEGER NOT NULL,
    at TEXT NOT NULL,
    said TEXT NOT NULL,
    result TEXT NOT NULL,
    FOREIGN KEY (ticket_id, sheet_no) REFERENCES sheets (ticket_id, no)
) STRICT;

CREATE TABLE readings (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    ticket_id INTEGER NOT NULL,
    sheet_no INTEGER NOT NULL,
    at TEXT NOT NULL,
    result TEXT NOT NULL,
    FOREIGN KEY (ticket_id, sheet_no) REFERENCES sheets (ticket_id, no)
) STRICT;

CREATE TABLE lessons (
    ticket_id INTEGER PRIMARY KEY REFERENCES tickets (id),
    condition_id INTEGER NOT NULL REFERENCES conditions (id),
    light_id INTEGER REFERENCES lights (id),
    display_id INTEGER REFERENCES displays (id),
    profile_sha256 TEXT NOT NULL,
    at TEXT NOT NULL,
    record TEXT NOT NULL
) STRICT;

-- Profile, ink or paper lot changed: what was learned before counts, but less surely.
CREATE TABLE changes (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    condition_id INTEGER NOT NULL REFERENCES conditions (id),
    at TEXT NOT NULL,
    what TEXT NOT NULL
) STRICT;
