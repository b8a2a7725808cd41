-- Who may stand beside whom: where a place lies, what it has around it, how a cap closes, how much a container holds, why a
-- warning was overruled, who took what left, and the supplier's safety data sheets.
--
-- A table's checks cannot be changed in place: the journal is copied into one that knows the new containers and columns.

-- What it lies in (nothing: a cabinet of its own), how high above the floor, and what is around it, as a JSON list.
ALTER TABLE place_state ADD COLUMN cabinet TEXT CHECK (length(cabinet) BETWEEN 1 AND 40);
ALTER TABLE place_state ADD COLUMN height_cm REAL CHECK (height_cm BETWEEN 0 AND 1000);
ALTER TABLE place_state ADD COLUMN around TEXT CHECK (around IS NULL OR json_valid(around));

-- A supplier's sheet for a stock; the file lies beside the register under its digest. Of two the later entry holds.
CREATE TABLE sheet (
    id         INTEGER PRIMARY KEY,
    stock      INTEGER NOT NULL REFERENCES stock (id),
    name       TEXT NOT NULL CHECK (length(name) > 0),
    digest     TEXT NOT NULL CHECK (length(digest) = 64),
    bytes      INTEGER NOT NULL CHECK (bytes > 0),
    revised    TEXT CHECK (revised GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    entered_at TEXT NOT NULL CHECK (entered_at GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]T[0-9][0-9]:[0-9][0-9]:[0-9][0-9]Z')
) STRICT;
CREATE INDEX sheet_by_stock ON sheet (stock, id);
CREATE TRIGGER sheet_keeps BEFORE UPDATE ON sheet BEGIN SELECT RAISE(ABORT, 'sheets are append-only'); END;
CREATE TRIGGER sheet_stays BEFORE DELETE ON sheet BEGIN SELECT RAISE(ABORT, 'sheets are append-only'); END;
CREATE TRIGGER sheet_once BEFORE INSERT ON sheet WHEN EXISTS (SELECT 1 FROM sheet WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'sheets are append-only'); END;

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
    container     TEXT CHECK (container IN ('clear-glass', 'amber-glass', 'opaque-plastic', 'natural-plastic', 'metal', 'paper', 'drink-bottle')),
    wall_mm       REAL CHECK (wall_mm > 0 AND wall_mm <= 50),
    diameter_cm   REAL CHECK (diameter_cm > 0 AND diameter_cm <= 500),
    -- The day it was made, or `unknown`; nothing where it was new.
    made_on       TEXT CHECK (made_on = 'unknown' OR made_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    -- The stock it was poured from: its label is then our own estimate.
    poured_from   TEXT REFERENCES stock (code),
    -- What was read in a test, as JSON.
    readings      TEXT CHECK (readings IS NULL OR json_valid(readings)),
    -- How its cap closes; nothing where nobody said.
    cap           TEXT CHECK (cap IN ('vented', 'tight')),
    -- How much it holds to the brim, mL.
    brim_ml       REAL CHECK (brim_ml > 0 AND brim_ml <= 1e9),
    -- Why the keeper puts it there against a warning.
    overruled     TEXT CHECK (length(overruled) > 0),
    -- Who took it.
    handed_to     TEXT CHECK (length(handed_to) > 0),
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
    ),
    CHECK (overruled IS NULL OR kind IN ('received', 'moved', 'corrected')),
    CHECK (handed_to IS NULL OR kind IN ('retired', 'corrected'))
) STRICT;

INSERT INTO event_new (id, stock, kind, day, entered_at, corrects, happened, event_day, place, amount, amount_unit, strength,
    strength_unit, relative_sd, condition, method, hold, written, note, container, wall_mm, diameter_cm,
    made_on, poured_from, readings)
SELECT id, stock, kind, day, entered_at, corrects, happened, event_day, place, amount, amount_unit, strength,
    strength_unit, relative_sd, condition, method, hold, written, note, container, wall_mm, diameter_cm,
    made_on, poured_from, readings
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
