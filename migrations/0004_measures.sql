-- What the keeper measures with: vessels, jugs, syringes, spoons, scales and droppers, what was weighed with each, and from
-- which day on it is no longer used.
--
-- All of it is appended. Of two weighings of the same thing the one of the later day holds, and of one day the later entry;
-- an earlier day still sees the earlier one. A measure keeps its name for good, so that an old dose can be read.

CREATE TABLE measure (
    id           INTEGER PRIMARY KEY,
    name         TEXT NOT NULL UNIQUE COLLATE NOCASE CHECK (length(name) BETWEEN 1 AND 40),
    kind         TEXT NOT NULL CHECK (kind IN ('vessel', 'jug', 'syringe', 'spoon', 'scale', 'dropper')),
    -- What it holds when full or level, mL; the most that a scale bears, g. Nothing where nobody said.
    most         REAL CHECK (most > 0 AND most <= 1e9),
    -- The distance of two marks, mL; the last figure that a scale shows, g.
    step         REAL CHECK (step > 0 AND step <= 1e9),
    -- How many drops make a millilitre.
    drops_per_ml REAL CHECK (drops_per_ml > 0 AND drops_per_ml <= 1000),
    day          TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    entered_at   TEXT NOT NULL CHECK (entered_at GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]T[0-9][0-9]:[0-9][0-9]:[0-9][0-9]Z'),
    CHECK (
        CASE kind
            WHEN 'vessel'  THEN most IS NOT NULL AND step IS NULL AND drops_per_ml IS NULL
            WHEN 'spoon'   THEN most IS NOT NULL AND step IS NULL AND drops_per_ml IS NULL
            WHEN 'syringe' THEN most IS NOT NULL AND step IS NOT NULL AND drops_per_ml IS NULL
            WHEN 'jug'     THEN step IS NOT NULL AND drops_per_ml IS NULL
            WHEN 'scale'   THEN step IS NOT NULL AND drops_per_ml IS NULL
            ELSE most IS NULL AND step IS NULL AND drops_per_ml IS NOT NULL
        END
    )
) STRICT;

-- What was weighed with it, once or several times: a level spoon of a reagent, or water up to a mark, level, or in drops.
CREATE TABLE measure_weighing (
    id         INTEGER PRIMARY KEY,
    measure    INTEGER NOT NULL REFERENCES measure (id),
    day        TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    -- The reagent's key; nothing for water.
    reagent    TEXT CHECK (length(reagent) > 0),
    -- Grams of each weighing, as a JSON list.
    grams      TEXT NOT NULL CHECK (grams IS NULL OR json_valid(grams)),
    -- How warm the water was, °C.
    celsius    REAL CHECK (celsius BETWEEN 0 AND 100),
    -- What it was said to hold then, mL: the mark of a jug, or all of it.
    mark_ml    REAL CHECK (mark_ml > 0 AND mark_ml <= 1e9),
    -- How many drops were weighed at a time.
    drops      REAL CHECK (drops >= 1 AND drops <= 1e6),
    entered_at TEXT NOT NULL CHECK (entered_at GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]T[0-9][0-9]:[0-9][0-9]:[0-9][0-9]Z'),
    CHECK ((reagent IS NULL) = (celsius IS NOT NULL)),
    CHECK (reagent IS NULL OR (mark_ml IS NULL AND drops IS NULL))
) STRICT;
CREATE INDEX measure_weighing_by_measure ON measure_weighing (measure, id);

-- From this day on it is no longer used.
CREATE TABLE measure_end (
    id         INTEGER PRIMARY KEY,
    measure    INTEGER NOT NULL UNIQUE REFERENCES measure (id),
    day        TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    entered_at TEXT NOT NULL CHECK (entered_at GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]T[0-9][0-9]:[0-9][0-9]:[0-9][0-9]Z')
) STRICT;

CREATE TRIGGER measure_keeps BEFORE UPDATE ON measure BEGIN SELECT RAISE(ABORT, 'measures are append-only'); END;
CREATE TRIGGER measure_stays BEFORE DELETE ON measure BEGIN SELECT RAISE(ABORT, 'measures are append-only'); END;
CREATE TRIGGER measure_once BEFORE INSERT ON measure
WHEN EXISTS (SELECT 1 FROM measure WHERE id = NEW.id OR name = NEW.name)
BEGIN SELECT RAISE(ABORT, 'measures are append-only'); END;
CREATE TRIGGER measure_weighing_keeps BEFORE UPDATE ON measure_weighing BEGIN SELECT RAISE(ABORT, 'measures are append-only'); END;
CREATE TRIGGER measure_weighing_stays BEFORE DELETE ON measure_weighing BEGIN SELECT RAISE(ABORT, 'measures are append-only'); END;
CREATE TRIGGER measure_weighing_once BEFORE INSERT ON measure_weighing WHEN EXISTS (SELECT 1 FROM measure_weighing WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'measures are append-only'); END;
CREATE TRIGGER measure_end_keeps BEFORE UPDATE ON measure_end BEGIN SELECT RAISE(ABORT, 'measures are append-only'); END;
CREATE TRIGGER measure_end_stays BEFORE DELETE ON measure_end BEGIN SELECT RAISE(ABORT, 'measures are append-only'); END;
CREATE TRIGGER measure_end_once BEFORE INSERT ON measure_end
WHEN EXISTS (SELECT 1 FROM measure_end WHERE id = NEW.id OR measure = NEW.measure)
BEGIN SELECT RAISE(ABORT, 'measures are append-only'); END;
