//! Places: where stocks stand, how warm and how light it is there, from which day on.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::NaiveDate;

use super::system::json;
use super::{StoreError, Writing};
use crate::catalogue::{Around, Light};
use crate::decay::climate::{Climate, LoggedDay, Season};
use crate::decay::light::Daylight;
use crate::units::Temperature;

/// A place with its history.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// Row in the register.
    pub id: i64,
    /// Its name.
    pub name: String,
    /// What it was like from which day on, in order of the day.
    pub states: Vec<PlaceState>,
    /// What a thermometer logged there, day by day.
    pub logged: Option<Arc<BTreeMap<NaiveDate, LoggedDay>>>,
}

/// What a place is like from a day on.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaceState {
    /// The first day.
    pub from: NaiveDate,
    /// How warm, as the keeper says.
    pub season: Season,
    /// How light.
    pub daylight: Daylight,
    /// What it lies in; nothing for a place that is a cabinet of its own.
    pub cabinet: Option<String>,
    /// How high above the floor, cm, where somebody said.
    pub height_cm: Option<f64>,
    /// What is around it, in the order of the words; nothing where nobody said.
    pub around: Option<Vec<Around>>,
}

impl Place {
    /// What the place is like on a day; its first state also speaks for the days before.
    ///
    /// # Panics
    /// Never for a place read from a register: each is entered with its first state.
    #[must_use]
    pub fn on(&self, day: NaiveDate) -> &PlaceState {
        self.states.iter().rev().find(|state| state.from <= day).unwrap_or(&self.states[0])
    }

    /// How warm the place is from a day on, logged days included.
    #[must_use]
    pub fn climate(&self, day: NaiveDate) -> Climate {
        Climate { season: self.on(day).season, logged: self.logged.clone() }
    }

    /// The days between two dates on which the place changed.
    pub fn changes(&self, from: NaiveDate, to: NaiveDate) -> impl Iterator<Item = NaiveDate> {
        self.states.iter().skip(1).map(|state| state.from).filter(move |day| *day > from && *day < to)
    }
}

impl Writing<'_> {
    /// Every place, in the order in which they were entered.
    ///
    /// # Errors
    /// [`StoreError`] if the register cannot be read.
    pub fn places(&self) -> Result<Vec<Place>, StoreError> {
        for table in ["place", "place_state", "place_log"] {
            self.whole(table)?;
        }
        let logged = self.whole("place_day")?;
        let mut places: Vec<Place> = self.all("SELECT id, name FROM place NOT INDEXED ORDER BY id", [], |row| {
            Ok(Place { id: row.get(0)?, name: row.get(1)?, states: Vec::new(), logged: None })
        })?;
        let states = self.all(
            "SELECT place, from_day, summer_c, winter_c, warmest_month, light, sun_hours, cabinet, height_cm, around \
             FROM place_state NOT INDEXED ORDER BY from_day, id",
            [],
            |row| {
                let (place, day, light): (i64, String, String) = (row.get(0)?, row.get(1)?, row.get(5)?);
                let (temperatures, month): ([f64; 2], u32) = ([row.get(2)?, row.get(3)?], row.get(4)?);
                let sun_hours: Option<f64> = row.get(6)?;
                let site: (Option<String>, Option<f64>, Option<String>) = (row.get(7)?, row.get(8)?, row.get(9)?);
                Ok((place, day, temperatures, month, light, sun_hours, site))
            },
        )?;
        for (id, day, [summer, winter], warmest_month, light, sun_hours, (cabinet, height_cm, around)) in states {
            let from = self.day(&day)?;
            let light = Light::called(&light).ok_or_else(|| self.damaged(format!("unknown light class `{light}`")))?;
            let season = if summer == winter {
                Season::Constant(Temperature::celsius(summer))
            } else {
                let (summer, winter) = (Temperature::celsius(summer), Temperature::celsius(winter));
                Season::Cosine { summer, winter, warmest_month }
            };
            let place = places.iter_mut().find(|place| place.id == id);
            let place = place.ok_or_else(|| self.damaged(format!("a state of place {id}, which is not there")))?;
            // Of two states from the same day the later entry holds.
            place.states.retain(|state| state.from != from);
            let daylight = Daylight { light, sun_hours };
            let around = self.around(around.as_deref())?;
            place.states.push(PlaceState { from, season, daylight, cabinet, height_cm, around });
        }
        if logged {
            self.read_logs(&mut places)?;
        }
        match places.iter().find(|place| place.states.is_empty()) {
            Some(place) => Err(self.damaged(format!("place `{}` has no temperature", place.name))),
            None => Ok(places),
        }
    }

    /// The words of what is around a place.
    fn around(&self, words: Option<&str>) -> Result<Option<Vec<Around>>, StoreError> {
        let Some(words) = words else { return Ok(None) };
        let words: Vec<String> = serde_json::from_str(words)
            .map_err(|error| self.damaged(format!("what is around a place is no list: {}", json(&error))))?;
        let known = |word: &String| {
            Around::called(word)
                .ok_or_else(|| self.damaged(format!("unknown word `{word}` for what is around a place")))
        };
        words.iter().map(known).collect::<Result<_, _>>().map(Some)
    }

    /// Enters a place.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be written; the caller has seen to it that the name is free.
    pub fn add_place(&self, name: &str, entered_at: &str) -> Result<i64, StoreError> {
        self.insert("place", "name, entered_at", (name, entered_at))?;
        Ok(self.transaction.last_insert_rowid())
    }

    /// Enters what a place is like from a day on.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be written.
    pub fn set_place(&self, place: i64, state: &PlaceState, entered_at: &str) -> Result<(), StoreError> {
        let (summer, winter, month) = match state.season {
            Season::Constant(temperature) => (temperature.to_celsius(), temperature.to_celsius(), 7),
            Season::Cosine { summer, winter, warmest_month } => {
                (summer.to_celsius(), winter.to_celsius(), warmest_month)
            }
        };
        // A temperature goes through kelvin and back: a thousandth of a degree is what anybody could have typed.
        let [summer, winter] = [summer, winter].map(|celsius| libm::round(celsius * 1000.0) / 1000.0);
        let Daylight { light, sun_hours } = state.daylight;
        let around = state.around.as_ref().map(|around| {
            let words: Vec<&str> = around.iter().map(|around| around.word()).collect();
            serde_json::to_string(&words).expect("words always make JSON")
        });
        let from = state.from.to_string();
        self.insert(
            "place_state",
            "place, from_day, summer_c, winter_c, warmest_month, light, sun_hours, cabinet, height_cm, around, entered_at",
            rusqlite::params![
                place,
                from,
                summer,
                winter,
                month,
                light.word(),
                sun_hours,
                state.cabinet,
                state.height_cm,
                around,
                entered_at
            ],
        )
    }

    fn read_logs(&self, places: &mut [Place]) -> Result<(), StoreError> {
        // No index is asked: what it no longer finds would be missed by nobody.
        let places_of: BTreeMap<i64, i64> = self
            .all("SELECT id, place FROM place_log NOT INDEXED", [], |row| Ok((row.get(0)?, row.get(1)?)))?
            .into_iter()
            .collect();
        let days = self.all(
            "SELECT log, day, readings, mean_c, sd_c, low_c, high_c FROM place_day NOT INDEXED ORDER BY log, id",
            [],
            |row| {
                let (log, day): (i64, String) = (row.get(0)?, row.get(1)?);
                let readings = row.get(2)?;
                let [mean_c, sd_c, low_c, high_c] = [row.get(3)?, row.get(4)?, row.get(5)?, row.get(6)?];
                Ok((log, day, LoggedDay { readings, mean_c, sd_c, low_c, high_c }))
            },
        )?;
        let mut logs: BTreeMap<i64, BTreeMap<NaiveDate, LoggedDay>> = BTreeMap::new();
        for (log, day, logged) in days {
            let place = *places_of.get(&log).ok_or_else(|| self.damaged(format!("a day of log {log}, not there")))?;
            logs.entry(place).or_default().insert(self.day(&day)?, logged);
        }
        for place in places {
            place.logged = logs.remove(&place.id).map(Arc::new);
        }
        Ok(())
    }

    /// Enters a thermometer's log of a place, a row a day.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be written.
    pub fn add_log(
        &self,
        place: i64,
        file: &str,
        days: &BTreeMap<NaiveDate, LoggedDay>,
        entered_at: &str,
    ) -> Result<(), StoreError> {
        let readings: u32 = days.values().map(|day| day.readings).sum();
        self.insert("place_log", "place, file, readings, entered_at", (place, file, readings, entered_at))?;
        let log = self.transaction.last_insert_rowid();
        for (day, logged) in days {
            let LoggedDay { readings, mean_c, sd_c, low_c, high_c } = *logged;
            self.insert(
                "place_day",
                "log, day, readings, mean_c, sd_c, low_c, high_c",
                (log, day.to_string(), readings, mean_c, sd_c, low_c, high_c),
            )?;
        }
        Ok(())
    }
}
