//! What every table of the register holds, column by column: the one place from which exports and their schema are made.
//!
//! A test holds it against the register itself: every table, every column, every word and bound of the migrations' checks.

use Kind::{
    Day, DayOrUnknown, Digest, List, Moment, Numbers, Object, Objects, Of, Real, Row, Text, Whole, Words, YesNo,
};

/// A table as it is exported.
#[derive(Debug)]
pub struct Table {
    /// Its name in the register, and in every export.
    pub name: &'static str,
    /// What a row of it is.
    pub about: &'static str,
    /// Its columns, in the order of the register.
    pub columns: &'static [Column],
}

/// A column as it is exported.
#[derive(Debug)]
pub struct Column {
    /// Its name in the register.
    pub name: &'static str,
    /// Its name in exports.
    pub field: &'static str,
    /// What it holds.
    pub kind: Kind,
    /// True if it may be empty.
    pub may_be_empty: bool,
    /// What it means, with its unit.
    pub about: &'static str,
}

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// The row's own number.
    Row,
    /// The number of a row of another table; where a reader needs it, that row's name as a field of its own.
    Of {
        /// The other table.
        table: &'static str,
        /// The column there that is shown, the name of the field that shows it, and what it means.
        shown: Option<(&'static str, &'static str, &'static str)>,
    },
    /// A whole number, from a least to a greatest.
    Whole(i64, i64),
    /// A number: the bounds, and whether the lower one is itself allowed.
    Real {
        /// The lower bound.
        low: f64,
        /// True if the lower bound itself is allowed.
        from: bool,
        /// The upper bound; infinite where there is none.
        high: f64,
    },
    /// Some text of at least so many characters, and at most so many; 0 where there is no limit.
    Text(u32, u32),
    /// One of these words.
    Words(&'static [&'static str]),
    /// A day, `2031-03-15`.
    Day,
    /// A day, or the word `unknown`.
    DayOrUnknown,
    /// A moment in universal time, `2031-03-15T12:00:00Z`.
    Moment,
    /// Yes or no.
    YesNo,
    /// SHA-256 in 64 small hexadecimal digits.
    Digest,
    /// A list of numbers.
    Numbers,
    /// A list of words.
    List,
    /// Named values whose shape is the program's.
    Object,
    /// A list of such.
    Objects,
}

/// Tables that are reckoned from the others: never exported, made anew by an import.
pub const DERIVED: &[&str] = &["seal", "checkpoint"];

const fn must(name: &'static str, kind: Kind, about: &'static str) -> Column {
    Column { name, field: name, kind, may_be_empty: false, about }
}

const fn may(name: &'static str, kind: Kind, about: &'static str) -> Column {
    Column { name, field: name, kind, may_be_empty: true, about }
}

const fn called(field: &'static str, column: Column) -> Column {
    Column { field, ..column }
}

const fn between(low: f64, high: f64) -> Kind {
    Real { low, from: true, high }
}

const fn above(low: f64, high: f64) -> Kind {
    Real { low, from: false, high }
}

const ID: Column = must("id", Row, "Number of the row; a later row was entered later.");
const ENTERED: Column = must("entered_at", Moment, "The moment of entry, in universal time.");
const SOME: Kind = Text(1, 0);
const ANY: Kind = Text(0, 0);
const FREE: f64 = f64::INFINITY;

const CONDITIONS: &[&str] = &["sealed", "opened", "made-up", "made-up-tap", "dirty"];
const CONTAINERS: &[&str] =
    &["clear-glass", "amber-glass", "opaque-plastic", "natural-plastic", "metal", "paper", "drink-bottle"];
const KINDS: &[&str] = &["received", "opened", "moved", "taken", "counted", "assayed", "noted", "corrected", "retired"];
const BENCH: &[&str] =
    &["started", "loaded", "stopped", "quenched", "drained", "looked", "released", "destroyed", "withdrawn"];

const OF_STOCK: Kind = Of { table: "stock", shown: Some(("code", "stock", "Code of the stock.")) };
const OF_PLACE: Kind = Of { table: "place", shown: Some(("name", "place", "Name of the place.")) };
const OF_MEASURE: Kind = Of { table: "measure", shown: Some(("name", "measure", "Name of the measure.")) };
const OF_LOG: Kind =
    Of { table: "place_log", shown: Some(("file", "log_file", "The file that the log was read from.")) };

/// Every table of the register but the [`DERIVED`] ones.
pub const TABLES: &[Table] = &[
    Table {
        name: "identity",
        about: "The register itself.",
        columns: &[
            must("id", Whole(1, 1), "Always 1."),
            must("name", Text(32, 32), "A name that no other register has: calendars know its entries by it."),
        ],
    },
    Table {
        name: "setting",
        about: "A setting as it was entered; the later row holds.",
        columns: &[
            ID,
            must(
                "name",
                Words(&["kitchen", "threshold"]),
                "Which setting: the measures of the kitchen, or the certainty asked for.",
            ),
            must("value", SOME, "Its value."),
            ENTERED,
        ],
    },
    Table {
        name: "place",
        about: "A place where stocks stand.",
        columns: &[ID, must("name", Text(1, 40), "Its name."), ENTERED],
    },
    Table {
        name: "place_state",
        about: "How a place is from a day on; its first row also speaks for the days before.",
        columns: &[
            ID,
            called("place_id", must("place", OF_PLACE, "Number of the place.")),
            must("from_day", Day, "The day from which on it is so."),
            must("summer_c", between(-40.0, 70.0), "Mean temperature of the warmest month, °C."),
            must(
                "winter_c",
                between(-40.0, 70.0),
                "Mean temperature of the coldest month, °C; never above `summer_c`.",
            ),
            must("warmest_month", Whole(1, 12), "The warmest month: 1 is January."),
            must("light", Words(&["dark", "dim", "bright", "sill", "outdoors"]), "How light it is."),
            ENTERED,
            may("sun_hours", between(0.0, 16.0), "Hours of direct sun on a clear day."),
            may("cabinet", Text(1, 40), "What it lies in; empty for a cabinet of its own."),
            may("height_cm", between(0.0, 1000.0), "How high above the floor, cm."),
            may("around", List, "What is around it; empty where nobody said, a list of nothing where somebody looked."),
        ],
    },
    Table {
        name: "place_log",
        about: "A thermometer's log of a place, as it was read.",
        columns: &[
            ID,
            called("place_id", must("place", OF_PLACE, "Number of the place.")),
            must("file", SOME, "The file that it was read from."),
            must("readings", Whole(1, i64::MAX), "How many readings it had."),
            ENTERED,
        ],
    },
    Table {
        name: "place_day",
        about: "A day of a log; of two logs of one day the later entry holds.",
        columns: &[
            ID,
            called("log_id", must("log", OF_LOG, "Number of the log.")),
            must("day", Day, "The day."),
            must("readings", Whole(1, i64::MAX), "How many readings it had."),
            must("mean_c", between(-40.0, 70.0), "Their mean, °C; from `low_c` to `high_c`."),
            must("sd_c", between(0.0, FREE), "Their standard deviation, K."),
            must("low_c", between(-40.0, 70.0), "The lowest, °C."),
            must("high_c", between(-40.0, 70.0), "The highest, °C."),
        ],
    },
    Table {
        name: "stock",
        about: "A container with a reagent in it.",
        columns: &[
            ID,
            must("code", Text(1, 20), "The code that stands on it."),
            must("reagent", SOME, "Key of its reagent."),
            must("form", Words(&["solid", "solution"]), "What it is."),
        ],
    },
    Table {
        name: "event",
        about: "A line of a stock's journal. `kind` says which fields are filled; `corrected` carries those of the line that it corrects.",
        columns: &[
            ID,
            called("stock_id", must("stock", OF_STOCK, "Number of the stock.")),
            must("kind", Words(KINDS), "What happened."),
            must("day", Day, "The day of it; of a correction the day on which it was made."),
            ENTERED,
            called(
                "corrects_event_id",
                may(
                    "corrects",
                    Of { table: "event", shown: None },
                    "Of a correction: number of the line that it corrects.",
                ),
            ),
            may("happened", YesNo, "Of a correction: whether the corrected line happened at all."),
            may("event_day", Day, "Of a correction: the day on which the corrected line happened."),
            called("place_id", may("place", OF_PLACE, "Number of the place where it stands from then on.")),
            may("amount", between(0.0, 1e9), "How much: came, was taken, or was found; its unit is `amount_unit`."),
            may("amount_unit", Words(&["g", "mL"]), "Unit of `amount`."),
            may(
                "strength",
                above(0.0, FREE),
                "How strong: by its label, or as a test found; its unit is `strength_unit`.",
            ),
            may("strength_unit", ANY, "Unit of `strength` with its basis, as `% w/w`, `% w/v`, `g/L`."),
            may("relative_sd", between(0.0, 1.0), "Standard error of `strength`, as a share of it."),
            may("condition", Words(CONDITIONS), "In which condition it is from then on."),
            may("method", ANY, "Of a test: by which method."),
            may("hold", ANY, "Why it is not to be used before somebody has looked."),
            may("written", ANY, "What was typed."),
            may("note", ANY, "What was noticed, or why."),
            may("container", Words(CONTAINERS), "What it is kept in; empty where nobody said."),
            may("wall_mm", above(0.0, 50.0), "How thick its wall is, mm."),
            may("diameter_cm", above(0.0, 500.0), "How wide it is, cm."),
            may("made_on", DayOrUnknown, "The day it was made, or `unknown`; empty where it was new."),
            called("poured_from_stock", may("poured_from", Text(1, 20), "Code of the stock that it was poured from.")),
            may("readings", Object, "What was read in a test."),
            may("cap", Words(&["vented", "tight"]), "How its cap closes; empty where nobody said."),
            may("brim_ml", above(0.0, 1e9), "How much it holds to the brim, mL."),
            may("overruled", SOME, "Why the keeper put it there against a warning."),
            may("handed_to", SOME, "Who took it."),
        ],
    },
    Table {
        name: "sheet",
        about: "A supplier's safety data sheet of a stock; of two the later row holds.",
        columns: &[
            ID,
            called("stock_id", must("stock", OF_STOCK, "Number of the stock.")),
            must("name", SOME, "What the file was called."),
            called("sha256", must("digest", Digest, "SHA-256 of the file, in small hexadecimal digits.")),
            must("bytes", Whole(1, i64::MAX), "How long the file is, in bytes."),
            may("revised", Day, "The day of its revision."),
            ENTERED,
        ],
    },
    Table {
        name: "measure",
        about: "Something that the keeper measures with.",
        columns: &[
            ID,
            must("name", Text(1, 40), "Its name."),
            must("kind", Words(&["vessel", "jug", "syringe", "spoon", "scale", "dropper"]), "What it is."),
            may("most", above(0.0, 1e9), "What it holds when full or level, mL; of a scale what it bears at most, g."),
            may("step", above(0.0, 1e9), "The distance of two marks, mL; of a scale the last figure that it shows, g."),
            may("drops_per_ml", above(0.0, 1000.0), "How many drops make a millilitre."),
            must("day", Day, "The day from which on it is used."),
            ENTERED,
        ],
    },
    Table {
        name: "measure_weighing",
        about: "What was weighed with a measure.",
        columns: &[
            ID,
            called("measure_id", must("measure", OF_MEASURE, "Number of the measure.")),
            must("day", Day, "The day of it."),
            may("reagent", SOME, "Key of the reagent; empty for water."),
            must("grams", Numbers, "Grams of each weighing."),
            called("water_c", may("celsius", between(0.0, 100.0), "How warm the water was, °C.")),
            may("mark_ml", above(0.0, 1e9), "What it was said to hold then, mL."),
            may("drops", between(1.0, 1e6), "How many drops were weighed at a time."),
            ENTERED,
        ],
    },
    Table {
        name: "measure_end",
        about: "From this day on a measure is no longer used.",
        columns: &[
            ID,
            called("measure_id", must("measure", OF_MEASURE, "Number of the measure.")),
            must("day", Day, "The day."),
            ENTERED,
        ],
    },
    Table {
        name: "dip_version",
        about: "A dip of the keeper's own as it holds from a day on.",
        columns: &[
            ID,
            must("dip", Text(1, 40), "Key of the dip."),
            must("version", Whole(1, i64::MAX), "Its version; the shipped book is version 1 of its dips."),
            must("day", Day, "The day from which on it holds."),
            must("content", Object, "The dip: shape as in the program's dip book."),
            must("why", SOME, "Why it was entered or changed."),
            ENTERED,
        ],
    },
    Table {
        name: "signature",
        about: "Somebody has read a version of a dip.",
        columns: &[
            ID,
            must("who", Text(1, 30), "Who: a role or initials."),
            must("dip", Text(1, 40), "Key of the dip."),
            must("version", Whole(1, i64::MAX), "Which version."),
            must("day", Day, "The day of it."),
            ENTERED,
        ],
    },
    Table {
        name: "plan",
        about: "What is expected, as a whole; the later row holds.",
        columns: &[
            ID,
            must("day", Day, "The day from which on it holds."),
            must("content", Objects, "One object a line of the plan."),
            ENTERED,
        ],
    },
    Table {
        name: "bench",
        about: "A row of the book of baths.",
        columns: &[
            ID,
            must("kind", Words(BENCH), "What happened."),
            must("day", Day, "The day of it."),
            must("content", Object, "What happened, by name."),
            must("written", ANY, "What was typed."),
            ENTERED,
        ],
    },
    Table {
        name: "bench_draw",
        about: "A line of a stock's journal that a row of the book of baths brought about.",
        columns: &[
            ID,
            called("bench_id", must("bench", Of { table: "bench", shown: None }, "Number of the row of the book.")),
            called("event_id", must("event", Of { table: "event", shown: None }, "Number of the line of the journal.")),
        ],
    },
];
