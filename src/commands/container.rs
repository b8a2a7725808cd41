//! What a stock is kept in and how old it came, as typed.

use chrono::NaiveDate;
use clap::Args;

use super::{Problem, arguments};
use crate::catalogue::{Cap, Container};
use crate::register::event::{KeptIn, Made};
use crate::units::parse::{self, Unreadable};
use crate::units::reading;

/// The container's arguments, shared by `receive`, `decant` and `correct`.
#[derive(Debug, Clone, Args)]
pub struct ContainerArguments {
    /// What it is kept in: clear-glass, amber-glass, opaque-plastic, natural-plastic (milky, shows the level), metal,
    /// paper, drink-bottle
    #[arg(long, value_parser = container, value_name = "KIND")]
    pub container: Option<Container>,
    /// The thickness of a clear glass wall, as 2mm [default: 2mm]
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub wall: Option<String>,
    /// Its diameter, as 7cm [default: that of a bottle 2.5 times as tall as wide]
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub diameter: Option<String>,
    /// How much it holds to the brim, as 1L [default: a tenth more than came in it]
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    pub holds: Option<String>,
    /// How its cap closes: vented (lets gas out) or tight
    #[arg(long, value_parser = cap, value_name = "KIND")]
    pub cap: Option<Cap>,
}

fn cap(word: &str) -> Result<Cap, String> {
    Cap::called(word).ok_or_else(|| format!("`{word}` is no kind of cap; accepted: vented, tight"))
}

fn container(word: &str) -> Result<Container, String> {
    Container::called(word).ok_or_else(|| {
        let words: Vec<&str> = Container::ALL.iter().map(|container| container.word()).collect();
        format!("`{word}` is no kind of container; accepted: {}", words.join(", "))
    })
}

/// Reads the day a stock was made, or `unknown`.
///
/// # Errors
/// What is wrong with it, for clap to show.
pub fn made(text: &str) -> Result<Made, String> {
    match text {
        "unknown" => Ok(Made::Unknown),
        day => arguments::day(day)
            .map(Made::On)
            .map_err(|error| format!("{error}; or `unknown`, if nobody knows how old it is")),
    }
}

impl ContainerArguments {
    /// True if something was said of it.
    #[must_use]
    pub fn is_given(&self) -> bool {
        self.container.is_some()
            || self.wall.is_some()
            || self.diameter.is_some()
            || self.holds.is_some()
            || self.cap.is_some()
    }

    /// What was typed over what was known before.
    ///
    /// # Errors
    /// For a length that cannot be read or is no length of a container.
    pub fn kept_in(&self, before: KeptIn) -> Result<KeptIn, Problem> {
        let container = self.container.unwrap_or(before.container);
        // A wall that was measured belongs to the glass it was measured on.
        let wall_before = before.wall_mm.filter(|_| container == Container::ClearGlass);
        let kept = KeptIn {
            container,
            wall_mm: millimetres("--wall", self.wall.as_deref(), 0.1, 50.0)?.or(wall_before),
            diameter_cm: millimetres("--diameter", self.diameter.as_deref(), 5.0, 5000.0)?
                .map(|mm| mm / 10.0)
                .or(before.diameter_cm),
            brim_ml: self.holds.as_deref().map(brim).transpose()?.or(before.brim_ml),
            cap: self.cap.or(before.cap),
        };
        if kept.wall_mm.is_some() && kept.container != Container::ClearGlass {
            return Err(Problem::question(format!("--wall does not count for {}", kept.container.word()))
                .because("only through clear glass does the thickness decide what light gets in")
                .hint("leave --wall away, or give --container clear-glass"));
        }
        Ok(kept)
    }
}

/// A container of which nothing was said.
pub const UNKNOWN: KeptIn =
    KeptIn { container: Container::Unknown, wall_mm: None, diameter_cm: None, brim_ml: None, cap: None };

fn brim(text: &str) -> Result<f64, Problem> {
    let ml = parse::volume(text, None)?.to_ml();
    if !(1.0..=1e7).contains(&ml) {
        return Err(
            Problem::question(format!("--holds {text} is no volume of a container")).hint("accepted: 1 mL to 10,000 L")
        );
    }
    Ok(ml)
}

fn millimetres(field: &'static str, text: Option<&str>, low: f64, high: f64) -> Result<Option<f64>, Problem> {
    let Some(text) = text else { return Ok(None) };
    let mm = reading::length(text).map_err(|error: Unreadable| Problem::from(error))?.to_mm();
    if !(low..=high).contains(&mm) {
        return Err(Problem::question(format!("{field} {text} is no such length of a container"))
            .hint(format!("accepted: {low} to {high} mm")));
    }
    Ok(Some(mm))
}

/// Refuses a day of making that lies after the one it came on.
///
/// # Errors
/// For such a day.
pub fn made_before(made: Made, received: NaiveDate) -> Result<Made, Problem> {
    match made {
        Made::On(day) if day > received => {
            Err(Problem::question(format!("--made {day} lies after the day it came, {received}"))
                .hint("give the day on the label, or `unknown`"))
        }
        _ => Ok(made),
    }
}
