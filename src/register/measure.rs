//! What the keeper measures with, what was weighed with it, and until when it is used.

use chrono::NaiveDate;

use super::system::json;
use super::{StoreError, Writing};

/// What a measure is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A tub or bucket that a bath is made in.
    Vessel,
    /// A jug or cylinder with marks.
    Jug,
    /// A syringe.
    Syringe,
    /// A spoon that is filled level.
    Spoon,
    /// A scale.
    Scale,
    /// A dropper.
    Dropper,
}

impl Kind {
    /// Every kind with its word in the register and on the command line.
    pub const ALL: [(Kind, &'static str); 6] = [
        (Kind::Vessel, "vessel"),
        (Kind::Jug, "jug"),
        (Kind::Syringe, "syringe"),
        (Kind::Spoon, "spoon"),
        (Kind::Scale, "scale"),
        (Kind::Dropper, "dropper"),
    ];

    /// The kind with this word.
    #[must_use]
    pub fn called(word: &str) -> Option<Kind> {
        Self::ALL.iter().find(|(_, name)| *name == word).map(|(kind, _)| *kind)
    }

    /// The word for it.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::ALL.iter().find(|(kind, _)| *kind == self).map_or("", |(_, name)| name)
    }
}

/// A measure as it was entered.
#[derive(Debug, Clone, PartialEq)]
pub struct Described {
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: Kind,
    /// What it holds when full or level, mL; the most that a scale bears, g.
    pub most: Option<f64>,
    /// The distance of two marks, mL; the last figure that a scale shows, g.
    pub step: Option<f64>,
    /// How many drops make a millilitre.
    pub drops_per_ml: Option<f64>,
    /// From which day on it is there.
    pub from: NaiveDate,
}

/// What was weighed with a measure on one day.
#[derive(Debug, Clone, PartialEq)]
pub struct Weighing {
    /// The day.
    pub day: NaiveDate,
    /// What was weighed.
    pub what: Weighed,
    /// Grams of each weighing; at least one.
    pub grams: Vec<f64>,
}

/// What was weighed.
#[derive(Debug, Clone, PartialEq)]
pub enum Weighed {
    /// A level spoon of the reagent with this key.
    Reagent(String),
    /// Water.
    Water {
        /// How warm it was, °C.
        celsius: f64,
        /// Up to which mark, or how much the measure was said to hold, mL; nothing for drops.
        mark_ml: Option<f64>,
        /// How many drops at a time, from a dropper.
        drops: Option<f64>,
    },
}

/// A measure with everything that was entered of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Owned {
    /// Row in the register.
    pub id: i64,
    /// As it was entered.
    pub described: Described,
    /// What was weighed with it, in order of the day and then of entry.
    pub weighings: Vec<Weighing>,
    /// From which day on it is no longer used.
    pub ended: Option<NaiveDate>,
}

impl Owned {
    /// True if it is there and used on that day.
    #[must_use]
    pub fn is_used_on(&self, day: NaiveDate) -> bool {
        self.described.from <= day && self.ended.is_none_or(|ended| day < ended)
    }

    /// The weighing that holds on a day, of water or of a reagent: the last one up to that day.
    #[must_use]
    pub fn weighing_on(&self, day: NaiveDate, reagent: Option<&str>) -> Option<&Weighing> {
        self.weighings.iter().rev().find(|weighing| {
            let same = match &weighing.what {
                Weighed::Reagent(key) => reagent == Some(key.as_str()),
                Weighed::Water { .. } => reagent.is_none(),
            };
            same && weighing.day <= day
        })
    }
}

impl Writing<'_> {
    /// Every measure, in the order in which they were entered.
    ///
    /// # Errors
    /// [`StoreError`] if the register cannot be read, or a row of it makes no sense.
    pub fn measures(&self) -> Result<Vec<Owned>, StoreError> {
        let mut has_rows = false;
        for table in ["measure", "measure_weighing", "measure_end"] {
            has_rows |= self.whole(table)?;
        }
        if !has_rows {
            return Ok(Vec::new());
        }
        let rows = self.all(
            "SELECT measure.id, name, kind, most, step, drops_per_ml, measure.day, measure_end.day FROM measure NOT INDEXED \
             LEFT JOIN measure_end NOT INDEXED ON measure_end.measure = measure.id ORDER BY measure.id",
            [],
            |row| {
                let (id, name, kind, day): (i64, String, String, String) =
                    (row.get(0)?, row.get(1)?, row.get(2)?, row.get(6)?);
                let numbers: [Option<f64>; 3] = [row.get(3)?, row.get(4)?, row.get(5)?];
                let ended: Option<String> = row.get(7)?;
                Ok((id, name, kind, numbers, day, ended))
            },
        )?;
        let mut measures = Vec::with_capacity(rows.len());
        for (id, name, kind, [most, step, drops_per_ml], day, ended) in rows {
            let kind = Kind::called(&kind).ok_or_else(|| self.damaged(format!("unknown kind of measure `{kind}`")))?;
            let described = Described { name, kind, most, step, drops_per_ml, from: self.day(&day)? };
            let ended = ended.map(|day| self.day(&day)).transpose()?;
            measures.push(Owned { id, described, weighings: Vec::new(), ended });
        }
        self.read_weighings(&mut measures)?;
        Ok(measures)
    }

    fn read_weighings(&self, measures: &mut [Owned]) -> Result<(), StoreError> {
        let rows = self.all(
            "SELECT measure, day, reagent, grams, celsius, mark_ml, drops FROM measure_weighing NOT INDEXED ORDER BY day, id",
            [],
            |row| {
                let (measure, day, grams): (i64, String, String) = (row.get(0)?, row.get(1)?, row.get(3)?);
                let reagent: Option<String> = row.get(2)?;
                let numbers: [Option<f64>; 3] = [row.get(4)?, row.get(5)?, row.get(6)?];
                Ok((measure, day, reagent, grams, numbers))
            },
        )?;
        for (id, day, reagent, grams, [celsius, mark_ml, drops]) in rows {
            let grams: Vec<f64> = serde_json::from_str(&grams)
                .map_err(|error| self.damaged(format!("what was weighed is no list of grams: {}", json(&error))))?;
            if grams.is_empty() || grams.iter().any(|grams| *grams <= 0.0) {
                return Err(self.damaged(format!("a weighing of measure {id} without grams")));
            }
            let what = match (reagent, celsius) {
                (Some(reagent), _) => Weighed::Reagent(reagent),
                (None, Some(celsius)) => Weighed::Water { celsius, mark_ml, drops },
                (None, None) => return Err(self.damaged(format!("a weighing of measure {id} of nothing"))),
            };
            let measure = measures.iter_mut().find(|measure| measure.id == id);
            let measure = measure.ok_or_else(|| self.damaged(format!("a weighing of measure {id}, not there")))?;
            measure.weighings.push(Weighing { day: self.day(&day)?, what, grams });
        }
        Ok(())
    }

    /// Enters a measure.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be written; the caller has seen to it that the name is free.
    pub fn add_measure(&self, measure: &Described, entered_at: &str) -> Result<(), StoreError> {
        let Described { name, kind, most, step, drops_per_ml, from } = measure;
        self.insert(
            "measure",
            "name, kind, most, step, drops_per_ml, day, entered_at",
            (name, kind.word(), most, step, drops_per_ml, from.to_string(), entered_at),
        )
    }

    /// Enters what was weighed with a measure, which holds from its day on.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be written.
    ///
    /// # Panics
    /// Never: a list of numbers always makes JSON.
    pub fn add_weighing(&self, measure: i64, weighing: &Weighing, entered_at: &str) -> Result<(), StoreError> {
        let grams = serde_json::to_string(&weighing.grams).expect("numbers always make JSON");
        let (reagent, [celsius, mark_ml, drops]) = match &weighing.what {
            Weighed::Reagent(key) => (Some(key), [None; 3]),
            Weighed::Water { celsius, mark_ml, drops } => (None, [Some(*celsius), *mark_ml, *drops]),
        };
        self.insert(
            "measure_weighing",
            "measure, day, reagent, grams, celsius, mark_ml, drops, entered_at",
            (measure, weighing.day.to_string(), reagent, grams, celsius, mark_ml, drops, entered_at),
        )
    }

    /// Enters that a measure is no longer used from a day on.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be written; the caller has seen to it that it is still used.
    pub fn end_measure(&self, measure: i64, day: NaiveDate, entered_at: &str) -> Result<(), StoreError> {
        self.insert("measure_end", "measure, day, entered_at", (measure, day.to_string(), entered_at))
    }
}
