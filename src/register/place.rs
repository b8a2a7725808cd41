//! Places: where stocks stand, how warm and how light it is there, from which day on.

use chrono::NaiveDate;

use super::{StoreError, Writing};
use crate::decay::climate::Climate;
use crate::units::Temperature;

/// How much daylight reaches a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Light {
    /// A closed cupboard.
    Dark,
    /// A room away from the window.
    Dim,
    /// A bright room.
    Bright,
    /// A window sill.
    Sill,
    /// Open sky.
    Outdoors,
}

impl Light {
    /// Every class with its word, darkest first.
    pub const ALL: [(Light, &'static str); 5] = [
        (Light::Dark, "dark"),
        (Light::Dim, "dim"),
        (Light::Bright, "bright"),
        (Light::Sill, "sill"),
        (Light::Outdoors, "outdoors"),
    ];

    /// The class with this word.
    #[must_use]
    pub fn called(word: &str) -> Option<Light> {
        Self::ALL.iter().find(|(_, name)| *name == word).map(|(light, _)| *light)
    }

    /// The word for it.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::ALL.iter().find(|(light, _)| *light == self).map_or("", |(_, name)| name)
    }
}

/// A place with its history.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// Row in the register.
    pub id: i64,
    /// Its name.
    pub name: String,
    /// What it was like from which day on, in order of the day.
    pub states: Vec<PlaceState>,
}

/// What a place is like from a day on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlaceState {
    /// The first day.
    pub from: NaiveDate,
    /// How warm.
    pub climate: Climate,
    /// How light.
    pub light: Light,
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
        let mut places: Vec<Place> = self.all("SELECT id, name FROM place ORDER BY id", [], |row| {
            Ok(Place { id: row.get(0)?, name: row.get(1)?, states: Vec::new() })
        })?;
        let states = self.all(
            "SELECT place, from_day, summer_c, winter_c, warmest_month, light FROM place_state ORDER BY from_day, id",
            [],
            |row| {
                let day: String = row.get(1)?;
                let light: String = row.get(5)?;
                Ok((row.get::<_, i64>(0)?, day, [row.get(2)?, row.get(3)?], row.get::<_, u32>(4)?, light))
            },
        )?;
        for (id, day, [summer, winter], warmest_month, light) in states {
            let from = self.day(&day)?;
            let light = Light::called(&light).ok_or_else(|| self.damaged(format!("unknown light class `{light}`")))?;
            let climate = if summer == winter {
                Climate::Constant(Temperature::celsius(summer))
            } else {
                let (summer, winter) = (Temperature::celsius(summer), Temperature::celsius(winter));
                Climate::Seasonal { summer, winter, warmest_month }
            };
            let place = places.iter_mut().find(|place| place.id == id);
            let place = place.ok_or_else(|| self.damaged(format!("a state of place {id}, which is not there")))?;
            // Of two states from the same day the later entry holds.
            place.states.retain(|state| state.from != from);
            place.states.push(PlaceState { from, climate, light });
        }
        match places.iter().find(|place| place.states.is_empty()) {
            Some(place) => Err(self.damaged(format!("place `{}` has no temperature", place.name))),
            None => Ok(places),
        }
    }

    /// Enters a place.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be written; the caller has seen to it that the name is free.
    pub fn add_place(&self, name: &str, entered_at: &str) -> Result<i64, StoreError> {
        self.run("INSERT INTO place (name, entered_at) VALUES (?1, ?2)", (name, entered_at))?;
        Ok(self.transaction.last_insert_rowid())
    }

    /// Enters what a place is like from a day on.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be written.
    pub fn set_place(&self, place: i64, state: &PlaceState, entered_at: &str) -> Result<(), StoreError> {
        let (summer, winter, month) = match state.climate {
            Climate::Constant(temperature) => (temperature.to_celsius(), temperature.to_celsius(), 7),
            Climate::Seasonal { summer, winter, warmest_month } => {
                (summer.to_celsius(), winter.to_celsius(), warmest_month)
            }
        };
        // A temperature goes through kelvin and back: a thousandth of a degree is what anybody could have typed.
        let [summer, winter] = [summer, winter].map(|celsius| libm::round(celsius * 1000.0) / 1000.0);
        self.run(
            "INSERT INTO place_state (place, from_day, summer_c, winter_c, warmest_month, light, entered_at) \
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
            (place, state.from.to_string(), summer, winter, month, state.light.word(), entered_at),
        )
    }
}
