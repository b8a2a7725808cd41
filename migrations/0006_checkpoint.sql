-- What a stock had come to at a line of its journal, so that a long one is not read from its beginning for every answer.
--
-- Derived like the seals, and never the only place of anything: it may be thrown away and is made anew. `crc` covers the row.
-- `sealed` is the seal of the journal up to that line, from which the lines after it are checked. `state` is JSON.
CREATE TABLE checkpoint (
    stock    INTEGER PRIMARY KEY REFERENCES stock (id),
    line     INTEGER NOT NULL REFERENCES event (id),
    lines    INTEGER NOT NULL CHECK (lines > 0),
    last_day TEXT NOT NULL CHECK (last_day GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    sealed   INTEGER NOT NULL CHECK (sealed BETWEEN 0 AND 4294967295),
    -- The number of the rules by which the state follows from the lines; another program's are not relied on.
    rules    INTEGER NOT NULL,
    state    TEXT NOT NULL CHECK (length(state) > 0),
    crc      INTEGER NOT NULL CHECK (crc BETWEEN 0 AND 4294967295)
) STRICT;
