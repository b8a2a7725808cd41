//! What is to be classified, from the words of the keeper: a reagent at a strength, a stock, a bath, a list of parts.

use std::collections::BTreeSet;

use super::receive::label_text;
use super::sight::{Sight, Strongest, strongest};
use super::{Problem, Session, arguments};
use crate::catalogue::{Catalogue, Counted, Form, Reagent};
use crate::chem::reading;
use crate::chem::solubility::saturated;
use crate::chem::solution::{self, chlorine_per_gram};
use crate::chem::{ChemError, Substance, density};
use crate::dip::recipe::goal;
use crate::hazard::exact::Exact;
use crate::hazard::label::{Label, label};
use crate::hazard::{Ingredient, Mixture, Regime, Rules, classify};
use crate::units::estimate::Z_95;
use crate::units::parse::{self, Written};
use crate::units::show::{plain, significant};
use crate::units::step::Step;
use crate::units::strength::{Basis, Strength, StrengthUnit};
use crate::units::{Concentration, MassFraction, Temperature};

/// A mixture with how it was read.
#[derive(Debug)]
pub struct Composition {
    /// What was asked about, in words.
    pub what: String,
    /// A solution, or a powder.
    pub form: Form,
    /// Its parts beside water.
    pub parts: Vec<Part>,
    /// What was taken for granted.
    pub assumed: Vec<String>,
    /// How percentages by weight were reached.
    pub steps: Vec<Step>,
}

/// One part of a composition.
#[derive(Debug)]
pub struct Part {
    /// What it is.
    pub reagent: &'static Reagent,
    /// Grams in 100 g, counted as its hazard table counts.
    pub percent: f64,
    /// The same had its bare `%` been meant by weight, where it was read by volume.
    pub by_weight: Option<f64>,
    /// Grams of the reagent itself in 100 g.
    pub whole: f64,
}

/// What a container must show for what is in it.
#[derive(Debug, Clone)]
pub struct Shown {
    /// Signal word, pictograms and statements.
    pub label: Label,
    /// Codes of the Union's statements beyond the classes.
    pub extra: Vec<String>,
    /// Keys of the sources of all that.
    pub sources: BTreeSet<String>,
}

/// Percentages by weight hold at the bench.
const BENCH_C: f64 = 20.0;

impl Composition {
    fn new(what: impl Into<String>, form: Form) -> Self {
        Composition { what: what.into(), form, parts: Vec::new(), assumed: Vec::new(), steps: Vec::new() }
    }

    /// A reagent as its solid, or at a strength in water.
    ///
    /// # Errors
    /// For a strength that cannot be read, none where one is needed, and one that no solution can have.
    pub fn of_reagent(session: &Session, reagent: &'static Reagent, at: Option<&str>) -> Result<Self, Problem> {
        let Some(at) = at else {
            if reagent.forms.contains(&Form::Solid) {
                return Self::undiluted(reagent.key.clone(), reagent);
            }
            return Err(Problem::question(format!("how strong is the {}?", reagent.name))
                .because("its classes depend on its strength")
                .hint("add it, as --at \"12 % w/w\""));
        };
        let what = format!("{} {at}", reagent.key);
        if let Some(percent) = content_of_a_solid(reagent, &parse::strength(at, None)?) {
            let said =
                format!("no solution is so strong: taken as the solid that holds {} % w/w of it", plain(percent));
            return Self::dry(what, reagent, percent, said);
        }
        let mut made = Self::new(what, Form::Solution);
        made.add(session, reagent, at)?;
        made.checked()
    }

    /// A stock at the highest strength that it can credibly have: its label, or where it was tested the upper end of its
    /// band if that is above. A weak test never thins a label. What was decanted has no maker's label: the upper end of the
    /// estimate that it bears counts.
    ///
    /// # Errors
    /// For an unknown stock, and as [`Composition::of_reagent`].
    pub fn of_stock(session: &Session, code: &str) -> Result<Self, Problem> {
        let mut register = session.register()?;
        register.read(|reading| {
            let places = reading.places()?;
            let sight = Sight::on_shelf(session, reading, &places, code)?;
            Self::of_sight(session.catalogue, &sight)
        })
    }

    /// The same of a stock that is seen.
    ///
    /// # Errors
    /// As [`Composition::of_reagent`].
    pub fn of_sight(catalogue: &'static Catalogue, sight: &Sight<'_>) -> Result<Self, Problem> {
        let what = format!("{} ({})", sight.stock.code, sight.reagent.name);
        let reagent = known(catalogue, &sight.reagent.key)?;
        if sight.stock.form == Form::Solid {
            return Self::undiluted(what, reagent);
        }
        let mut made = Self::new(what, Form::Solution);
        let (said, strength) = match strongest(&sight.history, Some(&sight.standing)) {
            Strongest::Tested(high) => (
                format!(
                    "counted at {} g/L: it was tested, and this is the upper end of its band",
                    significant(high, 3)
                ),
                Strength::InVolume(Concentration::g_per_l(high)),
            ),
            Strongest::Poured(high) => (
                format!(
                    "counted at {} g/L: it was decanted, its label is an estimate, and this is the upper end of its band",
                    significant(high, 3)
                ),
                Strength::InVolume(Concentration::g_per_l(high)),
            ),
            Strongest::Label => {
                let label = &sight.state.label;
                let strength = StrengthUnit::named(&label.unit).of(label.value);
                (format!("counted as its label says: {}", label_text(label)), strength)
            }
        };
        made.assumed.push(said);
        made.weigh(reagent, strength, None, true)?;
        made.checked()
    }

    /// What a stock must show by a regime's rules; nothing without data.
    #[must_use]
    pub fn shown(catalogue: &'static Catalogue, sight: &Sight<'_>, regime: Regime) -> Option<Shown> {
        let composition = Self::of_sight(catalogue, sight).ok()?;
        composition.label(catalogue, regime)
    }

    /// What it must show by a regime's rules; nothing without data.
    #[must_use]
    pub fn label(&self, catalogue: &Catalogue, regime: Regime) -> Option<Shown> {
        let judged = classify(&self.mixture(None).ok()?, Rules { regime, specific: true });
        let rests_on = judged.classes.iter().flat_map(|found| &found.rests_on).map(|entry| entry.source.clone());
        let rules = judged.classes.iter().map(|found| found.rule.clone());
        let beyond = judged.supplements.iter().map(|extra| extra.source.clone());
        Some(Shown {
            label: label(&judged, catalogue.elements(), catalogue.choice()),
            sources: rests_on.chain(rules).chain(beyond).collect(),
            extra: judged.supplements.into_iter().map(|extra| extra.statement).collect(),
        })
    }

    /// The working bath of a dip, at the upper end of its band.
    ///
    /// # Errors
    /// For an unknown dip.
    pub fn of_bath(session: &Session, word: &str) -> Result<Self, Problem> {
        let dip = arguments::dip(session.catalogue, word)?;
        let reagent = known(session.catalogue, &dip.reagent)?;
        let goal = goal(dip, reagent, session.catalogue.measuring())?;
        let mut made = Self::new(format!("bath of {}", dip.key), Form::Solution);
        made.assumed
            .push(format!("counted at {} g/L, the upper end of its band", significant(goal.high.to_g_per_l(), 3)));
        made.weigh(reagent, Strength::InVolume(goal.high), None, true)?;
        made.checked()
    }

    /// Parts written as `copper-sulfate 2 %; citric-acid 10 %`.
    ///
    /// # Errors
    /// For a part without a strength, an unknown reagent, and parts that come to more than the whole.
    pub fn of_parts(session: &Session, text: &str) -> Result<Self, Problem> {
        let mut made = Self::new(text.trim(), Form::Solution);
        for part in text.split(';').map(str::trim).filter(|part| !part.is_empty()) {
            let Some((word, strength)) = split_part(part) else {
                return Err(Problem::question(format!("`{part}`: how much of it?"))
                    .hint("write each part with its strength: \"copper-sulfate 2 %; citric-acid 10 %\""));
            };
            if word.eq_ignore_ascii_case("water") {
                continue;
            }
            let reagent = arguments::reagent(session.catalogue, word)?;
            if part == text.trim() {
                return Self::of_reagent(session, reagent, Some(strength));
            }
            made.add(session, reagent, strength)?;
        }
        if made.parts.is_empty() {
            return Err(Problem::question("what is in it?")
                .hint("write each part with its strength: \"copper-sulfate 2 %; citric-acid 10 %\""));
        }
        made.checked()
    }

    /// The same as the engine takes it.
    ///
    /// # Errors
    /// For a reagent without hazard data.
    pub fn mixture(&self, ph: Option<f64>) -> Result<Mixture<'static>, Problem> {
        self.mixed(ph, |part| part.percent)
    }

    /// The same had every bare `%` been meant by weight; nothing if that is how it was read, or none was bare.
    ///
    /// # Errors
    /// As [`Composition::mixture`].
    pub fn read_by_weight(&self, ph: Option<f64>) -> Result<Option<Mixture<'static>>, Problem> {
        if self.parts.iter().all(|part| part.by_weight.is_none()) {
            return Ok(None);
        }
        self.mixed(ph, |part| part.by_weight.unwrap_or(part.percent)).map(Some)
    }

    fn mixed(&self, ph: Option<f64>, percent: impl Fn(&Part) -> f64) -> Result<Mixture<'static>, Problem> {
        let mut ingredients = Vec::new();
        for part in &self.parts {
            let hazard = part.reagent.hazard.as_ref().ok_or_else(|| {
                Problem::data(format!("no hazard data of {} are on file", part.reagent.name))
                    .because("its file has no `[hazard]` table: classes, toxicity, specific limits")
            })?;
            ingredients.push(Ingredient {
                name: part.reagent.key.clone(),
                percent: Exact::of(percent(part)),
                kin: kin(part.reagent).map(str::to_owned),
                hazard,
            });
        }
        Ok(Mixture { form: self.form, ingredients, ph })
    }

    /// The reagent as it is sold, solid and whole.
    fn undiluted(what: String, reagent: &'static Reagent) -> Result<Self, Problem> {
        Self::dry(what, reagent, 100.0, "a solid, counted as 100 % of the substance".to_owned())
    }

    /// A solid that holds so many per cent of the substance.
    fn dry(what: String, reagent: &'static Reagent, percent: f64, said: String) -> Result<Self, Problem> {
        let mut made = Self::new(what, Form::Solid);
        made.assumed.push(said);
        let share = counted_share(reagent)?;
        made.parts.push(Part { reagent, percent: percent * share, by_weight: None, whole: percent });
        Ok(made)
    }

    fn add(&mut self, session: &Session, reagent: &'static Reagent, text: &str) -> Result<(), Problem> {
        let written = parse::strength(text, None)?;
        if let (Written::BarePercent(percent), None) = (&written, &reagent.solution) {
            self.assumed.push(format!("{} % of {} read as % w/w", plain(*percent), reagent.name));
            return self.weigh(reagent, Strength::InWeight(MassFraction::percent(*percent)), None, false);
        }
        let bench = Temperature::celsius(BENCH_C);
        let read = reading::read(Substance::of(reagent), &written, session.catalogue.measuring(), bench)?;
        self.assumed.extend(read.assumed);
        self.steps.extend(read.steps);
        let bare = match written {
            Written::BarePercent(percent) => Some(percent),
            _ => None,
        };
        // Safety reads the high end of what a spoon or a kitchen measure may have brought.
        let high = libm::exp(Z_95 * read.sd_ln);
        if read.sd_ln > 0.0 {
            let said = format!("counted {} times as strong: the upper end of what such a measure brings", plain(high));
            self.assumed.push(said);
        }
        let strength = Strength::from_base(read.strength.basis(), read.strength.base() * high);
        self.weigh(reagent, strength, bare, false)
    }

    /// Adds a part, its strength brought to per cent by weight. A strength that water cannot hold is an error, or, where it
    /// stands in the books already, counted as saturated.
    fn weigh(
        &mut self,
        reagent: &'static Reagent,
        strength: Strength,
        bare: Option<f64>,
        booked: bool,
    ) -> Result<(), Problem> {
        let (fraction, assumed, steps) = by_weight(reagent, strength)?;
        self.assumed.extend(assumed);
        self.steps.extend(steps);
        let mut percent = 100.0 * fraction;
        if let Some((most, spread)) = most_by_weight(reagent)
            && percent > most
        {
            let said = format!(
                "water of {BENCH_C} °C holds {} % w/w of {} at the most; this would be {} %",
                significant(most, 2),
                reagent.name,
                significant(percent, 3)
            );
            if !booked && percent > most * (1.0 + 2.0 * spread) {
                return Err(Problem::question(said)
                    .because("beyond that there are crystals, another layer or gas, and no solution")
                    .hint(format!("accepted: up to \"{} % w/w\"; a solid by its name alone", significant(most, 2))));
            }
            self.assumed.push(format!("{said}: counted as saturated"));
            percent = most;
        }
        if booked && percent > 100.0 {
            self.assumed.push(format!(
                "{} % of {} would be more than the whole: counted as the pure thing",
                significant(percent, 4),
                reagent.name
            ));
            percent = 100.0;
        }
        let whole = percent;
        let percent = whole * counted_share(reagent)?;
        let by_weight = bare.filter(|bare| *bare > percent * (1.0 + 1e-9));
        match self.parts.iter_mut().find(|part| part.reagent.key == reagent.key) {
            Some(part) => {
                part.percent += percent;
                part.whole += whole;
                self.assumed.push(format!("{} was told twice: the amounts are added", reagent.key));
            }
            None => self.parts.push(Part { reagent, percent, by_weight, whole }),
        }
        self.said_of_kin(reagent);
        Ok(())
    }

    /// Two that bring the same into the water are told apart no more.
    fn said_of_kin(&mut self, reagent: &Reagent) {
        let Some(what) = kin(reagent) else { return };
        let other = self.parts.iter().find(|part| part.reagent.key != reagent.key && kin(part.reagent) == Some(what));
        if let Some(other) = other {
            self.assumed.push(format!(
                "{} and {} both bring {what}: in water they are one solution; each is counted by its own entry and the sums add them",
                other.reagent.key, reagent.key
            ));
        }
    }

    fn checked(self) -> Result<Self, Problem> {
        let whole: f64 = self.parts.iter().map(|part| part.percent).sum();
        if whole > 100.0 + 1e-7 {
            return Err(Problem::question(format!("the parts come to {} % by weight", significant(whole, 4)))
                .because("more than 100 % of a mixture cannot be in it"));
        }
        Ok(self)
    }
}

/// The reagent with a key, for as long as the program runs.
fn known(catalogue: &'static Catalogue, key: &str) -> Result<&'static Reagent, Problem> {
    catalogue.reagent(key).ok_or_else(|| Problem::data(format!("the catalogue does not know `{key}`")))
}

/// `citric-acid 10 %` as its name and its strength, which begins with the first figure after a blank.
fn split_part(part: &str) -> Option<(&str, &str)> {
    let begin = part
        .char_indices()
        .zip(part.chars().skip(1))
        .find(|((_, before), c)| before.is_whitespace() && c.is_ascii_digit())
        .map(|((place, before), _)| place + before.len_utf8())?;
    Some((part[..begin].trim(), &part[begin..]))
}

/// True if its hazard table counts available chlorine.
pub(super) fn as_chlorine(reagent: &Reagent) -> bool {
    reagent.hazard.as_ref().is_some_and(|hazard| hazard.counted_as == Counted::AvailableChlorine)
}

/// What it brings into the water, where others bring the same.
fn kin(reagent: &Reagent) -> Option<&str> {
    if as_chlorine(reagent) {
        return Some("available chlorine");
    }
    reagent.contains.as_ref().map(|contains| contains.what.as_str())
}

/// Grams counted by the hazard table in a gram of the reagent.
pub(super) fn counted_share(reagent: &Reagent) -> Result<f64, Problem> {
    match reagent.hazard.as_ref().map(|hazard| hazard.counted_as) {
        Some(Counted::AvailableChlorine) => Ok(chlorine_per_gram(Substance::of(reagent))?),
        _ => Ok(1.0),
    }
}

/// Of a solid's usual purity, the share from which a strength by weight is that of the solid.
const NEARLY_PURE: f64 = 0.8;

/// The content of a solid, where a strength by weight is one: near its usual purity, and more than water holds.
fn content_of_a_solid(reagent: &Reagent, written: &Written) -> Option<f64> {
    let Written::Plain(Strength::InWeight(fraction), _) = written else { return None };
    let percent = fraction.to_percent();
    let purity = reagent.solid.as_ref().filter(|_| reagent.forms.contains(&Form::Solid))?.purity.value;
    let dissolves = most_by_weight(reagent).is_some_and(|(most, spread)| percent <= most * (1.0 + 2.0 * spread));
    (percent >= NEARLY_PURE * purity && percent <= 100.0 && !dissolves).then_some(percent)
}

/// The most per cent by weight that water of the bench holds, and how sure that is: by solubility, else by the strongest
/// that is on file. Nothing for what mixes in all proportions, and where nothing is on file.
fn most_by_weight(reagent: &Reagent) -> Option<(f64, f64)> {
    let bench = Temperature::celsius(BENCH_C);
    if let Ok(full) = saturated(Substance::of(reagent), bench) {
        return Some((100.0 * full.fraction.to_fraction(), full.spread));
    }
    // What has a density up to the pure thing mixes with water in all proportions.
    if density::of_solution(Substance::of(reagent), MassFraction::fraction(1.0), bench).is_ok() {
        return None;
    }
    let strongest = reagent.solution.as_ref()?.strongest.as_ref()?;
    let strength = Strength::InVolume(Concentration::g_per_l(strongest.value));
    // Where the density of the strongest is not on file, that of water reads it high: nothing possible is refused.
    let (fraction, ..) = by_weight(reagent, strength).ok()?;
    Some((100.0 * fraction.min(1.0), 0.0))
}

/// The mass fraction of a strength; without a density, that of the saturated solution or of water is taken and said.
pub(super) fn by_weight(reagent: &Reagent, strength: Strength) -> Result<(f64, Vec<String>, Vec<Step>), Problem> {
    let substance = Substance::of(reagent);
    let bench = Temperature::celsius(BENCH_C);
    match solution::convert(substance, strength, Basis::InWeight, bench) {
        Ok(converted) => Ok((converted.strength.base(), Vec::new(), converted.steps)),
        Err(ChemError::DensityUnknown { .. } | ChemError::OutsideData { .. }) => {
            let converted = solution::convert(substance, strength, Basis::InVolume, bench)?;
            let full =
                saturated(substance, bench).and_then(|full| density::of_solution(substance, full.fraction, bench));
            // More than the pure thing in a litre is at the most the pure thing.
            let pure = || density::of_solution(substance, MassFraction::fraction(1.0), bench);
            let full = full.or_else(|_| pure());
            let g_per_l = full.map_or(1000.0, |full| MassFraction::fraction(1.0).in_volume(full.density).to_g_per_l());
            let said = format!(
                "{} g/mL taken for {}: its density at this strength is not on file",
                significant(g_per_l / 1000.0, 3),
                reagent.name
            );
            Ok((converted.strength.base() / g_per_l, vec![said], converted.steps))
        }
        Err(other) => Err(other.into()),
    }
}
