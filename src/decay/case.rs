//! One bottle's case: what is on file of its reagent, and its history.

use super::History;
use super::law::{self, Kinetics, RatePrior};
use super::light::{self, Daylight, Fading};
use crate::catalogue::{Condition, Decay, Form, Light, Optics, Reagent};
use crate::chem::ChemError;
use crate::chem::formula::molar_mass;
use crate::units::show::plain;
use crate::units::{Concentration, MolarMass};

/// What a walk through a history is given.
#[derive(Debug, Clone, Copy)]
pub(super) struct Case<'a> {
    pub(super) optics: &'a Optics,
    pub(super) reagent: &'a Reagent,
    /// The entry of the catalogue that holds for this stock.
    pub(super) decay: &'a Decay,
    pub(super) history: &'a History,
    /// Grams in a mole of what is counted.
    molar_mass: f64,
}

impl<'a> Case<'a> {
    /// The case of a stock, if the catalogue has an entry for its form and strength.
    pub(super) fn of(
        optics: &'a Optics,
        reagent: &'a Reagent,
        history: &'a History,
    ) -> Result<Option<Self>, ChemError> {
        let molar_mass = molar_mass(&reagent.formula.value)?.to_g_per_mol();
        Ok(entry(reagent, history).map(|decay| Case { optics, reagent, decay, history, molar_mass }))
    }

    /// The same with another history.
    pub(super) fn with<'b>(self, history: &'b History) -> Case<'b>
    where
        'a: 'b,
    {
        Case { history, ..self }
    }

    /// How it falls in a condition, if its law has a rate.
    pub(super) fn kinetics(self, condition: Condition) -> Option<Kinetics> {
        let (label, percent) = (self.history.label.0, self.history.label_percent_w_w);
        Kinetics::of(self.decay, condition, percent, label, self.molar_mass)
    }

    /// The rate that is believed in a condition; none for one that keeps. The error says that no rate is on file.
    pub(super) fn prior(self, kinetics: Kinetics, condition: Condition) -> Result<Option<RatePrior>, String> {
        if kinetics == Kinetics::Keeps {
            return Ok(None);
        }
        law::prior(self.decay, condition, self.history.label_percent_w_w)
            .map(Some)
            .ok_or_else(|| format!("no rate is on file for {} that is {}", self.reagent.name, condition.word()))
    }

    /// What light does in a place, around a content, where that is computed.
    pub(super) fn fading(self, daylight: Daylight, reference: f64) -> Option<Fading> {
        let photolysis = self.decay.photolysis.as_ref().filter(|_| self.history.form == Form::Solution)?;
        let molarity = Concentration::g_per_l(reference).in_moles(MolarMass::g_per_mol(self.molar_mass));
        light::fading(self.optics, photolysis, self.history.bottle, daylight, molarity, libm::log(reference))
    }

    /// How many times faster light makes it, where no more than that is known: in a wall that shades nothing, outside of a
    /// closed cupboard.
    pub(super) fn faster(self, daylight: Daylight) -> f64 {
        let dark = daylight.light == Light::Dark || self.optics.wall(self.history.bottle.container).shades;
        self.decay.in_light.as_ref().filter(|_| !dark).map_or(1.0, |factor| factor.value)
    }

    /// How often the condition changes after it came.
    pub(super) fn changes(self) -> usize {
        let mut condition = self.history.came;
        let changed = |next: Condition| std::mem::replace(&mut condition, next) != next;
        self.history.stretches.iter().map(|stretch| stretch.condition).map(changed).filter(|changed| *changed).count()
    }

    /// A content in words.
    pub(super) fn content_text(self, content: f64) -> String {
        match self.history.form {
            Form::Solution => format!("{} g/L", plain(content)),
            Form::Solid => format!("{} % w/w", plain(100.0 * content)),
        }
    }
}

/// The entry of the catalogue that holds for a stock: the first for its form whose strength it does not pass.
#[must_use]
pub fn entry<'a>(reagent: &'a Reagent, history: &History) -> Option<&'a Decay> {
    let percent = history.label_percent_w_w.unwrap_or(0.0);
    reagent.decay.iter().find(|decay| decay.form == history.form && percent <= decay.up_to_percent_w_w)
}
