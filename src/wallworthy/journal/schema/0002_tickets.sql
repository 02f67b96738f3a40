-- Masters are known by their content; tickets by a number that AUTOINCREMENT never gives twice.
CREATE TABLE masters (
    sha256 TEXT PRIMARY KEY,
    path TEXT NOT NULL,
    profile_sha256 TEXT,
    facts TEXT NOT NULL
) STRICT;

CREATE TABLE tickets (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    master_sha256 TEXT NOT NULL REFERENCES masters (sha256),
    master_path TEXT NOT NULL,
    title TEXT NOT NULL,
    width_mm REAL NOT NULL,
    height_mm REAL NOT NULL,
    crop_px TEXT,
    fill INTEGER NOT NULL CHECK (fill IN (0, 1)),
    distance_mm REAL NOT NULL,
    condition_id INTEGER NOT NULL REFERENCES conditions (id),
    light_id INTEGER REFERENCES lights (id),
    display_id INTEGER REFERENCES displays (id),
    way TEXT NOT NULL,
    correction TEXT NOT NULL,
    correction_origin TEXT NOT NULL CHECK (correction_origin IN ('zero', 'house', 'user')),
    border_mm REAL NOT NULL,
    assumed_profile_sha256 TEXT,
    stage TEXT NOT NULL,
    created TEXT NOT NULL,
    updated TEXT NOT NULL
) STRICT;
