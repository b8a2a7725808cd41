//! How a reagent is carried and kept, and from which strength or amount the law looks at it: information, never advice.

use serde::Deserialize;

use super::{Container, Figure, Form, Word};

/// A name under which it is carried, by form and strength.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Carriage {
    /// `UN2014`.
    pub un: String,
    /// Class and subsidiary class: `5.1 (8)`.
    pub class: String,
    /// Packing group: `I`, `II`, `III`.
    pub group: String,
    /// The form that it holds for, where it is one of two.
    #[serde(default)]
    pub form: Option<Form>,
    /// The strengths it holds for, in words: `20 to 60 % w/w`.
    #[serde(default)]
    pub strength: Option<String>,
    /// The same as figures, counted as the hazard table counts: from this on.
    #[serde(default)]
    pub from_percent_w_w: Option<f64>,
    /// Above this, not at it.
    #[serde(default)]
    pub above_percent_w_w: Option<f64>,
    /// Up to and including this.
    #[serde(default)]
    pub up_to_percent_w_w: Option<f64>,
    /// Below this, not at it.
    #[serde(default)]
    pub below_percent_w_w: Option<f64>,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// A bound of the law, as information.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Regulated {
    /// `EU`, `GB`, `US`.
    pub place: String,
    /// The bound in words: `above 12 % w/w`.
    pub bound: String,
    /// The strength above which it holds, counted as the hazard table counts; nothing where the bound is no strength.
    #[serde(default)]
    pub above_percent_w_w: Option<f64>,
    /// The strength below which it holds.
    #[serde(default)]
    pub below_percent_w_w: Option<f64>,
    /// What follows.
    pub effect: String,
    /// What follows if it is stolen or lost.
    #[serde(default)]
    pub loss: Option<String>,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// What it needs where it stands, and what it eats.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Keeping {
    /// What its place and container must give, one short sentence each.
    pub needs: Vec<String>,
    /// Materials that it attacks or that spoil it.
    pub never_in: Vec<String>,
    /// Its place should stay below so many °C.
    #[serde(default)]
    pub below_c: Option<Figure>,
    /// Why light must not get at it, if it must not.
    #[serde(default)]
    pub dark: Option<Word>,
    /// The form that it holds for, where the other bears light.
    #[serde(default)]
    pub dark_form: Option<Form>,
    /// From so many % w/w on its cap must let gas out.
    #[serde(default)]
    pub vent_above: Option<Figure>,
    /// Above so many % w/w it is left closed: nobody handles it at home.
    #[serde(default)]
    pub closed_above: Option<Figure>,
    /// Kinds of container that it must not stand in.
    #[serde(default)]
    pub not_in: Vec<Container>,
    /// How many days an own dilution is worth keeping.
    #[serde(default)]
    pub made_up_keeps: Option<Figure>,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}
