-- What is done at the bench: dips of the keeper's own and their versions, who has read them, what is expected, and the book
-- of baths: started, loaded, stopped, ended, drained; lots looked at, released, destroyed.
--
-- All of it is appended. The rows of the book hold what happened as JSON: its shape is the program's, its day, kind and
-- number are the register's. What was entered wrongly is withdrawn by a later row.

-- A name of this register that no other has: calendars know its entries by it.
CREATE TABLE identity (
    id   INTEGER PRIMARY KEY CHECK (id = 1),
    name TEXT NOT NULL CHECK (length(name) = 32)
) STRICT;
INSERT INTO identity (id, name) VALUES (1, lower(hex(randomblob(16))));

-- A dip as it holds from a day on. The shipped book is version 1 of its dips.
CREATE TABLE dip_version (
    id         INTEGER PRIMARY KEY,
    dip        TEXT NOT NULL CHECK (length(dip) BETWEEN 1 AND 40),
    version    INTEGER NOT NULL CHECK (version >= 1),
    day        TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    content    TEXT NOT NULL CHECK (content IS NULL OR json_valid(content)),
    why        TEXT NOT NULL CHECK (length(why) > 0),
    entered_at TEXT NOT NULL CHECK (entered_at GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]T[0-9][0-9]:[0-9][0-9]:[0-9][0-9]Z'),
    UNIQUE (dip, version)
) STRICT;

-- Who has read a version of a dip: a role or initials, never a name in full.
CREATE TABLE signature (
    id         INTEGER PRIMARY KEY,
    who        TEXT NOT NULL COLLATE NOCASE CHECK (length(who) BETWEEN 1 AND 30),
    dip        TEXT NOT NULL CHECK (length(dip) BETWEEN 1 AND 40),
    version    INTEGER NOT NULL CHECK (version >= 1),
    day        TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    entered_at TEXT NOT NULL CHECK (entered_at GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]T[0-9][0-9]:[0-9][0-9]:[0-9][0-9]Z'),
    UNIQUE (who, dip, version)
) STRICT;

-- What is expected, as a whole; the later row holds.
CREATE TABLE plan (
    id         INTEGER PRIMARY KEY,
    day        TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    content    TEXT NOT NULL CHECK (content IS NULL OR json_valid(content)),
    entered_at TEXT NOT NULL CHECK (entered_at GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]T[0-9][0-9]:[0-9][0-9]:[0-9][0-9]Z')
) STRICT;

-- The book of baths, one row a thing that happened.
CREATE TABLE bench (
    id         INTEGER PRIMARY KEY,
    kind       TEXT NOT NULL CHECK (kind IN ('started', 'loaded', 'stopped', 'quenched', 'drained', 'looked', 'released', 'destroyed', 'withdrawn')),
    day        TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    content    TEXT NOT NULL CHECK (content IS NULL OR json_valid(content)),
    written    TEXT NOT NULL,
    entered_at TEXT NOT NULL CHECK (entered_at GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]T[0-9][0-9]:[0-9][0-9]:[0-9][0-9]Z')
) STRICT;

-- The lines of the stocks' journals that a row of the book brought about.
CREATE TABLE bench_draw (
    id    INTEGER PRIMARY KEY,
    bench INTEGER NOT NULL REFERENCES bench (id),
    event INTEGER NOT NULL UNIQUE REFERENCES event (id)
) STRICT;
CREATE INDEX bench_draw_by_bench ON bench_draw (bench);

-- What the rows of a table, or the journal lines of one stock, come to: how many there are, and a CRC-32 chained over them in
-- the order of their numbers. A file that was damaged is noticed before it is believed. Not history: renewed by every entry.
CREATE TABLE seal (
    scope TEXT PRIMARY KEY,
    rows  INTEGER NOT NULL CHECK (rows >= 0),
    crc   INTEGER NOT NULL CHECK (crc BETWEEN 0 AND 4294967295)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER identity_keeps BEFORE UPDATE ON identity BEGIN SELECT RAISE(ABORT, 'the name of a register stays'); END;
CREATE TRIGGER identity_stays BEFORE DELETE ON identity BEGIN SELECT RAISE(ABORT, 'the name of a register stays'); END;
CREATE TRIGGER identity_once BEFORE INSERT ON identity WHEN EXISTS (SELECT 1 FROM identity WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'the name of a register stays'); END;
CREATE TRIGGER dip_version_keeps BEFORE UPDATE ON dip_version BEGIN SELECT RAISE(ABORT, 'versions of dips are append-only'); END;
CREATE TRIGGER dip_version_stays BEFORE DELETE ON dip_version BEGIN SELECT RAISE(ABORT, 'versions of dips are append-only'); END;
CREATE TRIGGER dip_version_once BEFORE INSERT ON dip_version WHEN EXISTS (SELECT 1 FROM dip_version WHERE id = NEW.id OR (dip = NEW.dip AND version = NEW.version))
BEGIN SELECT RAISE(ABORT, 'versions of dips are append-only'); END;
CREATE TRIGGER signature_keeps BEFORE UPDATE ON signature BEGIN SELECT RAISE(ABORT, 'signatures are append-only'); END;
CREATE TRIGGER signature_stays BEFORE DELETE ON signature BEGIN SELECT RAISE(ABORT, 'signatures are append-only'); END;
CREATE TRIGGER signature_once BEFORE INSERT ON signature WHEN EXISTS (SELECT 1 FROM signature WHERE id = NEW.id OR (who = NEW.who AND dip = NEW.dip AND version = NEW.version))
BEGIN SELECT RAISE(ABORT, 'signatures are append-only'); END;
CREATE TRIGGER plan_keeps BEFORE UPDATE ON plan BEGIN SELECT RAISE(ABORT, 'plans are append-only'); END;
CREATE TRIGGER plan_stays BEFORE DELETE ON plan BEGIN SELECT RAISE(ABORT, 'plans are append-only'); END;
CREATE TRIGGER plan_once BEFORE INSERT ON plan WHEN EXISTS (SELECT 1 FROM plan WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'plans are append-only'); END;
CREATE TRIGGER bench_keeps BEFORE UPDATE ON bench BEGIN SELECT RAISE(ABORT, 'the book of baths is append-only: withdraw the entry'); END;
CREATE TRIGGER bench_stays BEFORE DELETE ON bench BEGIN SELECT RAISE(ABORT, 'the book of baths is append-only: withdraw the entry'); END;
CREATE TRIGGER bench_once BEFORE INSERT ON bench WHEN EXISTS (SELECT 1 FROM bench WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'the book of baths is append-only: withdraw the entry'); END;
CREATE TRIGGER bench_draw_keeps BEFORE UPDATE ON bench_draw BEGIN SELECT RAISE(ABORT, 'the book of baths is append-only'); END;
CREATE TRIGGER bench_draw_stays BEFORE DELETE ON bench_draw BEGIN SELECT RAISE(ABORT, 'the book of baths is append-only'); END;
CREATE TRIGGER bench_draw_once BEFORE INSERT ON bench_draw WHEN EXISTS (SELECT 1 FROM bench_draw WHERE id = NEW.id OR event = NEW.event)
BEGIN SELECT RAISE(ABORT, 'the book of baths is append-only'); END;
