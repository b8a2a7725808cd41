-- What a strength depends on beside label and days: what a stock is kept in, how old it came, what it was poured from, what
-- was read in a test, what was noticed on it, how many hours of sun a place has, and what a thermometer logged there.
--
-- A table's checks cannot be changed in place: the journal is copied into one that knows the new kind and columns.

ALTER TABLE place_state ADD COLUMN sun_hours REAL CHECK (sun_hours BETWEEN 0 AND 16);

CREATE TABLE place_log (
    id         INTEGER PRIMARY KEY,
    place      INTEGER NOT NULL REFERENCES place (id),
    file       TEXT NOT NULL CHECK (length(file) > 0),
    readings   INTEGER NOT NULL CHECK (readings > 0),
    entered_at TEXT NOT NULL CHECK (entered_at GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]T[0-9][0-9]:[0-9][0-9]:[0-9][0-9]Z')
) STRICT;

-- A day of a log: as much of it as any answer uses. Of two logs of one day the later entry holds.
CREATE TABLE place_day (
    id       INTEGER PRIMARY KEY,
    log      INTEGER NOT NULL REFERENCES place_log (id),
    day      TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    readings INTEGER NOT NULL CHECK (readings > 0),
    mean_c   REAL NOT NULL CHECK (mean_c BETWEEN low_c AND high_c),
    sd_c     REAL NOT NULL CHECK (sd_c >= 0),
    low_c    REAL NOT NULL CHECK (low_c BETWEEN -40 AND 70),
    high_c   REAL NOT NULL CHECK (high_c BETWEEN -40 AND 70)
) STRICT;
CREATE INDEX place_day_by_log ON place_day (log, day);

CREATE TABLE event_new (
    id            INTEGER PRIMARY KEY,
    stock         INTEGER NOT NULL REFERENCES stock (id),
    kind          TEXT NOT NULL CHECK (kind IN ('received', 'opened', 'moved', 'taken', 'counted', 'assayed', 'noted', 'corrected', 'retired')),
    day           TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    entered_at    TEXT NOT NULL CHECK (entered_at GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]T[0-9][0-9]:[0-9][0-9]:[0-9][0-9]Z'),
    corrects      INTEGER REFERENCES event_new (id),
    happened      INTEGER CHECK (happened IN (0, 1)),
    event_day     TEXT CHECK (event_day GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    place         INTEGER REFERENCES place (id),
    amount        REAL CHECK (amount >= 0 AND amount <= 1e9),
    amount_unit   TEXT CHECK (amount_unit IN ('g', 'mL')),
    strength      REAL CHECK (strength > 0),
    strength_unit TEXT,
    relative_sd   REAL CHECK (relative_sd >= 0 AND relative_sd <= 1),
    condition     TEXT CHECK (condition IN ('sealed', 'opened', 'made-up', 'made-up-tap', 'dirty')),
    method        TEXT,
    hold          TEXT,
    written       TEXT,
    note          TEXT,
    -- What it is kept in; nothing where nobody said.
    container     TEXT CHECK (container IN ('clear-glass', 'amber-glass', 'opaque-plastic', 'natural-plastic')),
    wall_mm       REAL CHECK (wall_mm > 0 AND wall_mm <= 50),
    diameter_cm   REAL CHECK (diameter_cm > 0 AND diameter_cm <= 500),
    -- The day it was made, or `unknown`; nothing where it was new.
    made_on       TEXT CHECK (made_on = 'unknown' OR made_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    -- The stock it was poured from: its label is then our own estimate.
    poured_from   TEXT REFERENCES stock (code),
    -- What was read in a test, as JSON.
    readings      TEXT CHECK (readings IS NULL OR json_valid(readings)),
    CHECK ((amount IS NULL) = (amount_unit IS NULL)),
    CHECK ((strength IS NULL) = (strength_unit IS NULL)),
    CHECK ((kind = 'corrected') = (corrects IS NOT NULL)),
    CHECK ((kind = 'corrected') = (happened IS NOT NULL)),
    CHECK ((kind = 'corrected') = (event_day IS NOT NULL)),
    CHECK (
        CASE kind
            WHEN 'received' THEN place IS NOT NULL AND amount > 0 AND strength IS NOT NULL AND condition IS NOT NULL AND relative_sd IS NOT NULL
            WHEN 'opened'   THEN place IS NULL AND amount IS NULL AND strength IS NULL AND condition IS NOT NULL
            WHEN 'moved'    THEN place IS NOT NULL AND amount IS NULL AND strength IS NULL
            WHEN 'taken'    THEN amount > 0 AND place IS NULL AND strength IS NULL
            WHEN 'counted'  THEN amount IS NOT NULL AND place IS NULL AND strength IS NULL
            WHEN 'assayed'  THEN strength IS NOT NULL AND relative_sd > 0 AND method IS NOT NULL AND amount IS NULL
            WHEN 'noted'    THEN condition IS NOT NULL AND note IS NOT NULL AND place IS NULL AND amount IS NULL AND strength IS NULL
            WHEN 'retired'  THEN note IS NOT NULL AND place IS NULL AND amount IS NULL AND strength IS NULL
            ELSE 1
        END
    )
) STRICT;

INSERT INTO event_new (id, stock, kind, day, entered_at, corrects, happened, event_day, place, amount, amount_unit, strength,
    strength_unit, relative_sd, condition, method, hold, written, note)
SELECT id, stock, kind, day, entered_at, corrects, happened, event_day, place, amount, amount_unit, strength,
    strength_unit, relative_sd, condition, method, hold, written, note
FROM event ORDER BY id;

DROP TABLE event;
ALTER TABLE event_new RENAME TO event;
CREATE INDEX event_by_stock ON event (stock, id);

CREATE TRIGGER event_keeps BEFORE UPDATE ON event BEGIN SELECT RAISE(ABORT, 'events are append-only: add a correction'); END;
CREATE TRIGGER event_stays BEFORE DELETE ON event BEGIN SELECT RAISE(ABORT, 'events are append-only: add a correction'); END;
CREATE TRIGGER event_once BEFORE INSERT ON event WHEN EXISTS (SELECT 1 FROM event WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'events are append-only: add a correction'); END;
CREATE TRIGGER event_own_stock BEFORE INSERT ON event
WHEN NEW.corrects IS NOT NULL AND NOT EXISTS (
    SELECT 1 FROM event WHERE id = NEW.corrects AND stock = NEW.stock AND kind <> 'corrected'
)
BEGIN SELECT RAISE(ABORT, 'a correction points at an event of its own stock'); END;

CREATE TRIGGER place_log_keeps BEFORE UPDATE ON place_log BEGIN SELECT RAISE(ABORT, 'logs are append-only'); END;
CREATE TRIGGER place_log_stays BEFORE DELETE ON place_log BEGIN SELECT RAISE(ABORT, 'logs are append-only'); END;
CREATE TRIGGER place_log_once BEFORE INSERT ON place_log WHEN EXISTS (SELECT 1 FROM place_log WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'logs are append-only'); END;

CREATE TRIGGER place_day_keeps BEFORE UPDATE ON place_day BEGIN SELECT RAISE(ABORT, 'logs are append-only'); END;
CREATE TRIGGER place_day_stays BEFORE DELETE ON place_day BEGIN SELECT RAISE(ABORT, 'logs are append-only'); END;
CREATE TRIGGER place_day_once BEFORE INSERT ON place_day WHEN EXISTS (SELECT 1 FROM place_day WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'logs are append-only'); END;
