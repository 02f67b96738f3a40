-- What the person owns. `name_key` is the name folded for comparison: names are unique whatever their case.
CREATE TABLE papers (
    id INTEGER PRIMARY KEY,
    name_key TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    surface TEXT,
    weight_g_m2 REAL,
    stock TEXT NOT NULL,
    prices TEXT NOT NULL
) STRICT;

CREATE TABLE lights (
    id INTEGER PRIMARY KEY,
    name_key TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    illuminance_lx REAL NOT NULL,
    illuminance_low_lx REAL NOT NULL,
    illuminance_high_lx REAL NOT NULL,
    cct_k REAL,
    duv_from_d50 REAL NOT NULL,
    surround TEXT NOT NULL,
    paper_white_cd_m2 REAL NOT NULL
) STRICT;

CREATE TABLE displays (
    id INTEGER PRIMARY KEY,
    name_key TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    profile_sha256 TEXT NOT NULL,
    profile_description TEXT NOT NULL,
    white_cd_m2 REAL,
    calibrated_on TEXT
) STRICT;

CREATE TABLE conditions (
    id INTEGER PRIMARY KEY,
    name_key TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    paper_id INTEGER REFERENCES papers (id),
    profile_sha256 TEXT NOT NULL,
    delivery TEXT NOT NULL,
    media TEXT,
    guess INTEGER NOT NULL CHECK (guess IN (0, 1)),
    facts TEXT NOT NULL
) STRICT;
