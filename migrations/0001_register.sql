-- The register: what stands on the shelf, where, and what happened to it.
--
-- Everything is appended. A thing that was entered wrongly is answered by a later `corrected` event, so that what was
-- believed at any time can be seen again. The triggers guard against our own mistakes, not against the file's owner.

CREATE TABLE setting (
    id         INTEGER PRIMARY KEY,
    name       TEXT NOT NULL CHECK (name IN ('kitchen', 'threshold')),
    value      TEXT NOT NULL CHECK (length(value) > 0),
    entered_at TEXT NOT NULL CHECK (entered_at GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]T[0-9][0-9]:[0-9][0-9]:[0-9][0-9]Z')
) STRICT;

CREATE TABLE place (
    id         INTEGER PRIMARY KEY,
    name       TEXT NOT NULL UNIQUE COLLATE NOCASE CHECK (length(name) BETWEEN 1 AND 40),
    entered_at TEXT NOT NULL CHECK (entered_at GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]T[0-9][0-9]:[0-9][0-9]:[0-9][0-9]Z')
) STRICT;

-- How warm and how light a place is from a day on; the first row also speaks for the days before it.
CREATE TABLE place_state (
    id            INTEGER PRIMARY KEY,
    place         INTEGER NOT NULL REFERENCES place (id),
    from_day      TEXT NOT NULL CHECK (from_day GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    summer_c      REAL NOT NULL CHECK (summer_c BETWEEN -40 AND 70),
    winter_c      REAL NOT NULL CHECK (winter_c BETWEEN -40 AND 70),
    warmest_month INTEGER NOT NULL CHECK (warmest_month BETWEEN 1 AND 12),
    light         TEXT NOT NULL CHECK (light IN ('dark', 'dim', 'bright', 'sill', 'outdoors')),
    entered_at    TEXT NOT NULL CHECK (entered_at GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]T[0-9][0-9]:[0-9][0-9]:[0-9][0-9]Z'),
    CHECK (summer_c >= winter_c)
) STRICT;
CREATE INDEX place_state_by_place ON place_state (place, from_day, id);

CREATE TABLE stock (
    id      INTEGER PRIMARY KEY,
    code    TEXT NOT NULL UNIQUE COLLATE NOCASE CHECK (length(code) BETWEEN 1 AND 20),
    reagent TEXT NOT NULL CHECK (length(reagent) > 0),
    form    TEXT NOT NULL CHECK (form IN ('solid', 'solution'))
) STRICT;

-- One row an event. Which columns a kind fills is said by the last check; `corrected` carries those of its target.
CREATE TABLE event (
    id            INTEGER PRIMARY KEY,
    stock         INTEGER NOT NULL REFERENCES stock (id),
    kind          TEXT NOT NULL CHECK (kind IN ('received', 'opened', 'moved', 'taken', 'counted', 'assayed', 'corrected', 'retired')),
    day           TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    entered_at    TEXT NOT NULL CHECK (entered_at GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]T[0-9][0-9]:[0-9][0-9]:[0-9][0-9]Z'),
    corrects      INTEGER REFERENCES event (id),
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
            WHEN 'retired'  THEN note IS NOT NULL AND place IS NULL AND amount IS NULL AND strength IS NULL
            ELSE 1
        END
    )
) STRICT;
CREATE INDEX event_by_stock ON event (stock, id);

CREATE TRIGGER setting_keeps BEFORE UPDATE ON setting BEGIN SELECT RAISE(ABORT, 'settings are append-only'); END;
CREATE TRIGGER setting_stays BEFORE DELETE ON setting BEGIN SELECT RAISE(ABORT, 'settings are append-only'); END;
CREATE TRIGGER setting_once BEFORE INSERT ON setting WHEN EXISTS (SELECT 1 FROM setting WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'settings are append-only'); END;

CREATE TRIGGER place_keeps BEFORE UPDATE ON place BEGIN SELECT RAISE(ABORT, 'places are append-only'); END;
CREATE TRIGGER place_stays BEFORE DELETE ON place BEGIN SELECT RAISE(ABORT, 'places are append-only'); END;
CREATE TRIGGER place_once BEFORE INSERT ON place WHEN EXISTS (SELECT 1 FROM place WHERE id = NEW.id OR name = NEW.name)
BEGIN SELECT RAISE(ABORT, 'places are append-only'); END;

CREATE TRIGGER place_state_keeps BEFORE UPDATE ON place_state BEGIN SELECT RAISE(ABORT, 'the history of a place is append-only'); END;
CREATE TRIGGER place_state_stays BEFORE DELETE ON place_state BEGIN SELECT RAISE(ABORT, 'the history of a place is append-only'); END;
CREATE TRIGGER place_state_once BEFORE INSERT ON place_state WHEN EXISTS (SELECT 1 FROM place_state WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'the history of a place is append-only'); END;

CREATE TRIGGER stock_keeps BEFORE UPDATE ON stock BEGIN SELECT RAISE(ABORT, 'stocks are append-only'); END;
CREATE TRIGGER stock_stays BEFORE DELETE ON stock BEGIN SELECT RAISE(ABORT, 'stocks are append-only'); END;
CREATE TRIGGER stock_once BEFORE INSERT ON stock WHEN EXISTS (SELECT 1 FROM stock WHERE id = NEW.id OR code = NEW.code)
BEGIN SELECT RAISE(ABORT, 'stocks are append-only'); END;

CREATE TRIGGER event_keeps BEFORE UPDATE ON event BEGIN SELECT RAISE(ABORT, 'events are append-only: add a correction'); END;
CREATE TRIGGER event_stays BEFORE DELETE ON event BEGIN SELECT RAISE(ABORT, 'events are append-only: add a correction'); END;
CREATE TRIGGER event_once BEFORE INSERT ON event WHEN EXISTS (SELECT 1 FROM event WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'events are append-only: add a correction'); END;
CREATE TRIGGER event_own_stock BEFORE INSERT ON event
WHEN NEW.corrects IS NOT NULL AND NOT EXISTS (
    SELECT 1 FROM event WHERE id = NEW.corrects AND stock = NEW.stock AND kind <> 'corrected'
)
BEGIN SELECT RAISE(ABORT, 'a correction points at an event of its own stock'); END;
