-- What happened. Rows are only ever added: a record that can be rewritten proves nothing.
CREATE TABLE events (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    ticket_id INTEGER NOT NULL REFERENCES tickets (id),
    at TEXT NOT NULL,
    kind TEXT NOT NULL,
    detail TEXT NOT NULL
) STRICT;

CREATE INDEX events_by_ticket ON events (ticket_id, id);

CREATE TRIGGER events_are_not_changed BEFORE UPDATE ON events
BEGIN
    SELECT RAISE(ABORT, 'events are never changed');
END;

CREATE TRIGGER events_are_not_removed BEFORE DELETE ON events
BEGIN
    SELECT RAISE(ABORT, 'events are never removed');
END;

CREATE TABLE proofs (
    ticket_id INTEGER NOT NULL REFERENCES tickets (id),
    no INTEGER NOT NULL,
    at TEXT NOT NULL,
    figures TEXT NOT NULL,
    files TEXT NOT NULL,
    PRIMARY KEY (ticket_id, no)
) STRICT;

CREATE TABLE finals (
    ticket_id INTEGER NOT NULL REFERENCES tickets (id),
    no INTEGER NOT NULL,
    at TEXT NOT NULL,
    pixels_sha256 TEXT NOT NULL,
    settings TEXT NOT NULL,
    files TEXT NOT NULL,
    PRIMARY KEY (ticket_id, no)
) STRICT;
