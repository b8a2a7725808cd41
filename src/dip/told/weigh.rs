//! From what a recipe tells to grams of the reagent in a litre, with everything that had to be assumed.
//!
//! Whatever the text leaves open (country, powder, bottle) is worked out for each of its meanings; the band reaches from the
//! lowest to the highest, and the middle is the geometric mean of the two ends.

use super::kitchen::Setting;
use super::token::unreadable;
use super::{Counting, Dose, Said, Span, StrengthWord, Told};
use crate::catalogue::{Catalogue, Form, Range, Reagent, Spooned};
use crate::chem::reading::{self, Reading};
use crate::chem::{ChemError, Substance, solution};
use crate::units::estimate::Estimate;
use crate::units::measure::{Amount, Kitchen, Measure, Quantity};
use crate::units::parse::{self, Share, Written};
use crate::units::show::{millilitres, plain};
use crate::units::step::Step;
use crate::units::strength::{Basis, Strength, StrengthUnit};
use crate::units::{Concentration, Mass, MassFraction, Temperature, Volume};

/// Parts of water from which `1:20` and `1 in 20` are near enough to be written for each other.
const EITHER_FROM: f64 = 5.0;

/// Grams in a litre that no pure substance of the catalogue holds.
const MOST: f64 = 3000.0;

/// A recipe in grams.
#[derive(Debug, Clone, PartialEq)]
pub struct Weighed {
    /// Grams of the reagent in a litre of bath; nothing where no volume is told.
    pub g_per_l: Option<Estimate>,
    /// Grams of the reagent, where only an amount is told.
    pub grams: Option<Estimate>,
    /// The strength that the text itself claims for its amounts, g/L.
    pub claimed: Option<Span>,
    /// The strength of the stock solution that is made first, g/L.
    pub stock: Option<f64>,
    /// True if the bottle's strength is not told.
    pub any_bottle: bool,
    /// What was taken for granted.
    pub assumed: Vec<String>,
    /// How it was done, for the first of the meanings.
    pub steps: Vec<Step>,
}

/// Works a recipe out.
///
/// `g/L = amount × bulk density / volume` of a powder, `bottle × share` of a liquid. Two level US tablespoons of powdered
/// alum (0.80 g/mL) per US gallon: `2 × 14.787 × 0.80 / 3.7854` = 6.25 g/L.
///
/// # Errors
/// For a text without amount, ratio or strength, two of them that exclude each other, and chemistry that has no answer.
///
/// Source: `definition`, and those of the measures, bulk densities and ranges used.
pub fn weigh(
    told: &Told,
    reagent: &Reagent,
    kitchen: Option<Kitchen>,
    catalogue: &Catalogue,
) -> Result<Weighed, ChemError> {
    let mut weigher = Weigher {
        told,
        reagent,
        substance: Substance::of(reagent),
        catalogue,
        bench: Temperature::celsius(20.0),
        claimed: Vec::new(),
        assumed: Vec::new(),
        steps: Vec::new(),
        joints: None,
        stock: None,
    };
    weigher.weigh(told.kitchen.or(kitchen))
}

/// One meaning worked out: the value, the deviation of its logarithm, and true if it is the first choice.
type Meaning = (f64, f64, bool);

pub(super) struct Weigher<'a> {
    pub(super) told: &'a Told,
    pub(super) reagent: &'a Reagent,
    substance: Substance<'a>,
    pub(super) catalogue: &'a Catalogue,
    bench: Temperature,
    claimed: Vec<f64>,
    assumed: Vec<String>,
    steps: Vec<Step>,
    /// What the first meaning comes to, and what it would be with the other of `made up to` and `added to`.
    pub(super) joints: Option<(f64, f64)>,
    stock: Option<f64>,
}

impl Weigher<'_> {
    pub(super) fn fault(&self, why: impl Into<String>) -> ChemError {
        unreadable(&self.told.text, why).into()
    }

    fn weigh(&mut self, kitchen: Option<Kitchen>) -> Result<Weighed, ChemError> {
        let told = self.told;
        let mut only_amount = false;
        let (meanings, any_bottle) = match (&told.ratio, told.share, &told.doses[..]) {
            (Some(_), None, []) | (None, Some(_), []) => self.thinned()?,
            (None, None, []) => self.as_it_is()?,
            (None, None, doses) => {
                only_amount = doses[0].water.is_none();
                self.dosed(doses, kitchen)?
            }
            _ => return Err(self.fault("a ratio, a share and an amount exclude each other; write one of them")),
        };
        let estimate = band(&meanings).ok_or_else(|| self.fault("it comes to no strength at all"))?;
        if !only_amount && estimate.mid > MOST {
            return Err(self.fault(format!(
                "it comes to {} g/L, more than the pure substance holds; look for a slip in the amount or the volume",
                plain(estimate.mid)
            )));
        }
        let claimed = (self.claimed.iter().copied()).map(Span::exact).reduce(Span::with);
        Ok(Weighed {
            g_per_l: (!only_amount).then_some(estimate),
            grams: only_amount.then_some(estimate),
            claimed,
            stock: self.stock,
            any_bottle,
            assumed: std::mem::take(&mut self.assumed),
            steps: std::mem::take(&mut self.steps),
        })
    }

    /// A strength in the words of the text, for the reagent.
    fn written(&self, said: &Said, value: f64, bath: bool) -> Result<Written, ChemError> {
        Ok(match &said.unit {
            StrengthWord::Percent if value > 100.0 => {
                return Err(self.fault(format!("{} % is more than the whole", plain(value))));
            }
            StrengthWord::Percent if self.told.as_chlorine => {
                let name = if bath { "trade % chlorine" } else { "% w/w available chlorine" };
                let unit = StrengthUnit::named(name);
                Written::Plain(unit.of(value), unit)
            }
            StrengthWord::Percent => Written::BarePercent(value),
            StrengthWord::Unit(unit) => {
                let whole = matches!(unit.basis, Basis::InWeight | Basis::VolumeInVolume | Basis::ChlorineInWeight);
                if whole && unit.of(value).base() > 1.0 {
                    return Err(self.fault(format!("{} {} is more than the whole", plain(value), unit.name)));
                }
                Written::Plain(unit.of(value), unit.clone())
            }
        })
    }

    /// Grams in a litre and their deviation; the steps and assumptions of the first one are kept.
    fn in_grams(&mut self, written: &Written) -> Result<(f64, f64), ChemError> {
        let read = reading::read(self.substance, written, self.catalogue.measuring(), self.bench)?;
        let (concentration, converted) = solution::concentration(self.substance, read.strength, self.bench)?;
        self.keep(&read);
        for step in converted.steps {
            self.note_step(step);
        }
        Ok((concentration.to_g_per_l(), libm::hypot(read.sd_ln, converted.sd_ln)))
    }

    fn keep(&mut self, read: &Reading) {
        for step in &read.steps {
            self.note_step(step.clone());
        }
        for line in &read.assumed {
            self.assume(line.clone());
        }
    }

    pub(super) fn note_step(&mut self, step: Step) {
        if !self.steps.contains(&step) {
            self.steps.push(step);
        }
    }

    pub(super) fn assume(&mut self, line: String) {
        if !self.assumed.contains(&line) {
            self.assumed.push(line);
        }
    }

    /// The strengths that the bottle may have: as told, else as sold.
    fn bottles(&mut self) -> Result<(Vec<Written>, bool), ChemError> {
        let said = match self.bottle_strengths()[..] {
            [said] => said.clone(),
            [_, _, ..] => {
                return Err(self.fault("two strengths beside an amount or a ratio: which one is the bottle's?"));
            }
            [] => return Ok((self.sold()?, true)),
        };
        let bottles = said.value.ends().into_iter().map(|value| self.written(&said, value, false));
        let bottles = bottles.collect::<Result<_, _>>()?;
        if let StrengthWord::Unit(unit) = &said.unit {
            self.assume(format!("{} {} is the strength of the bottle", plain(said.value.low), unit.name));
        }
        Ok((bottles, false))
    }

    /// Every strength that the reagent is sold at.
    fn sold(&mut self) -> Result<Vec<Written>, ChemError> {
        let sold = self.reagent.solution.as_ref().map_or(&[][..], |solution| &solution.sold);
        if sold.is_empty() {
            return Err(self.fault(format!(
                "{} is no liquid with a usual strength: say the strength of what is thinned, or write grams",
                self.reagent.short_name()
            )));
        }
        let bottles = sold.iter().map(|text| parse::strength(text, None)).collect::<Result<_, _>>()?;
        self.assume(format!("no bottle strength told: any that is sold ({})", sold.join(", ")));
        Ok(bottles)
    }

    /// Grams in a litre of each bottle; only the first one's steps are kept.
    fn bottled(&mut self) -> Result<(Vec<(f64, f64)>, bool), ChemError> {
        let (bottles, any) = self.bottles()?;
        Ok((self.all_in_grams(&bottles, any)?, any))
    }

    fn all_in_grams(&mut self, bottles: &[Written], any: bool) -> Result<Vec<(f64, f64)>, ChemError> {
        let mut found = Vec::new();
        for bottle in bottles {
            let kept = (self.assumed.len(), self.steps.len());
            found.push(self.in_grams(bottle)?);
            if any {
                self.assumed.truncate(kept.0);
                self.steps.truncate(kept.1);
            }
        }
        Ok(found)
    }

    /// A ratio or a share of a product.
    fn thinned(&mut self) -> Result<(Vec<Meaning>, bool), ChemError> {
        self.split_claims();
        if self.is_solid() && self.reagent.solution.as_ref().is_none_or(|solution| solution.sold.is_empty()) {
            return Err(self.fault(format!(
                "a ratio or share of a solid ({}) leaves open what is counted: write grams, or spoons in a volume",
                self.reagent.short_name()
            )));
        }
        let (bottles, any) = self.bottled()?;
        let mut parts = Vec::new();
        if let Some(share) = self.told.share {
            parts.extend(share.ends().into_iter().map(|percent| (percent / 100.0, true)));
        }
        if let Some(ratio) = self.told.ratio {
            parts = self.ratio_parts(ratio.product, ratio.other, ratio.counting);
        }
        let mut meanings = Vec::new();
        for (grams, sd) in bottles {
            for (part, first) in &parts {
                if *part > 1.0 {
                    return Err(self.fault("it thins to more than the product itself"));
                }
                meanings.push((grams * part, sd, *first));
            }
        }
        Ok((meanings, any))
    }

    fn ratio_parts(&mut self, one: f64, other: f64, counting: Counting) -> Vec<(f64, bool)> {
        let (product, water) = if counting == Counting::Bare { (one.min(other), one.max(other)) } else { (one, other) };
        if counting == Counting::Bare && one > other {
            self.assume(format!(
                "{}:{} read as {} of water to {} of the product, the smaller number",
                plain(one),
                plain(other),
                plain(water),
                plain(product)
            ));
        }
        let (to_water, in_whole) = (product / (product + water), product / water);
        let parts = match counting {
            Counting::Parts => vec![(to_water, true)],
            Counting::OneIn => vec![(in_whole, true)],
            Counting::Bare if water / product >= EITHER_FROM => {
                self.assume(format!(
                    "`:` read as parts to parts of water; {} in {} of the whole would be {} times that",
                    plain(product),
                    plain(water),
                    plain(in_whole / to_water)
                ));
                vec![(to_water, true), (in_whole, false)]
            }
            Counting::Bare => vec![(to_water, true)],
        };
        let what = format!("the product is {} of the whole", plain(parts[0].0));
        self.note_step(Step::new(what, "definition"));
        parts
    }

    /// A strength of the bath itself, a word for one, or the product as it is.
    fn as_it_is(&mut self) -> Result<(Vec<Meaning>, bool), ChemError> {
        if let Some(place) = self.told.shade.filter(|_| self.told.strengths.is_empty()) {
            let word = &self.catalogue.loose().words[place];
            let Range { low, high, source, .. } = &word.range;
            let what = format!("`{}` has meant {} to {} mg/L", word.says[0], plain(*low), plain(*high));
            self.note_step(Step::new(what, source.clone()));
            return Ok((vec![(low / 1000.0, 0.0, true), (high / 1000.0, 0.0, true)], false));
        }
        if self.told.straight && self.told.strengths.is_empty() {
            let (bottles, any) = self.bottled()?;
            return Ok((bottles.into_iter().map(|(grams, sd)| (grams, sd, true)).collect(), any));
        }
        let [said] = &self.told.strengths[..] else {
            return Err(self.fault(match self.told.strengths[..] {
                [] => "no amount, no ratio and no strength stands in it",
                _ => "two strengths: which one is the bath's?",
            }));
        };
        if self.told.as_chlorine {
            self.assume("counted as available chlorine".to_owned());
        }
        if !self.told.straight {
            self.assume("read as the strength of the bath itself, nothing thinned".to_owned());
        }
        let (mut meanings, mut any) = (Vec::new(), false);
        for value in said.value.ends() {
            let written = self.written(said, value, true)?;
            match self.in_grams(&written) {
                Ok((grams, sd)) => meanings.push((grams, sd, true)),
                // So much of a product by volume, and the product is not told.
                Err(ChemError::ProductUnnamed { .. }) => {
                    let sold = self.sold()?;
                    let bottles = self.all_in_grams(&sold, true)?;
                    meanings.extend(bottles.into_iter().map(|(grams, sd)| (grams * value / 100.0, sd, true)));
                    any = true;
                }
                Err(other) => return Err(other),
            }
        }
        Ok((meanings, any))
    }

    /// Amounts in volumes.
    fn dosed(&mut self, doses: &[Dose], kitchen: Option<Kitchen>) -> Result<(Vec<Meaning>, bool), ChemError> {
        for dose in doses {
            if dose.portion.is_none() {
                return Err(self.fault("a volume of water and no amount that goes into it"));
            }
        }
        if doses.len() == 2 && doses.iter().any(|dose| dose.water.is_none()) {
            return Err(self.fault("two amounts, and not for each of them what it goes into"));
        }
        self.split_claims();
        let solid = self.is_solid();
        let (bottles, any) = if solid { (vec![(0.0, 0.0)], false) } else { self.bottled()? };
        let settings = self.settings(doses, kitchen);
        let kinds = self.kinds(&doses[0], solid);
        let mut meanings = Vec::new();
        for setting in &settings {
            for (place, kind) in kinds.iter().enumerate() {
                for (bottle, bottle_sd) in &bottles {
                    let product = if solid { None } else { Some(*bottle) };
                    for (value, sd) in self.each(doses, *setting, kind.as_ref(), product)? {
                        meanings.push((value, libm::hypot(sd, *bottle_sd), place == 0));
                    }
                }
            }
        }
        self.say_measures(doses, &settings, kitchen);
        self.say_joint(doses);
        Ok((meanings, any))
    }

    /// A strength in mg/L beside an amount is what somebody claims for it, not a bottle's.
    fn split_claims(&mut self) {
        for said in &self.told.strengths {
            if let StrengthWord::Unit(unit) = &said.unit
                && unit.name.starts_with("mg/L")
                && let Ok(written) = self.written(said, said.value.low, true)
                && let Written::Plain(strength, _) = written
                && let Ok((concentration, _)) = solution::concentration(self.substance, strength, self.bench)
            {
                let low = concentration.to_g_per_l();
                self.claimed.extend([low, low * said.value.high / said.value.low]);
            }
        }
    }

    /// The strengths that are not claims.
    fn bottle_strengths(&self) -> Vec<&Said> {
        let claim = |said: &Said| matches!(&said.unit, StrengthWord::Unit(unit) if unit.name.starts_with("mg/L"));
        self.told.strengths.iter().filter(|said| !claim(said)).collect()
    }

    /// True if the reagent is measured out as powder or crystals.
    pub(super) fn is_solid(&self) -> bool {
        self.reagent.forms.contains(&Form::Solid) && self.bottle_strengths().is_empty()
    }

    /// Everything that amounts and volumes may come to in one kitchen, of one powder or bottle.
    fn each(
        &mut self,
        doses: &[Dose],
        setting: Setting,
        kind: Option<&Spooned>,
        product: Option<f64>,
    ) -> Result<Vec<(f64, f64)>, ChemError> {
        let Some(portion) = doses.first().and_then(|dose| dose.portion.as_ref()) else { return Ok(Vec::new()) };
        let mut found = Vec::new();
        for (quantity, sd) in self.portions(portion, setting)? {
            let (put, sd) = self.put_in(quantity, sd, kind, product)?;
            let Some(water) = &doses[0].water else {
                found.push((put.grams, sd));
                continue;
            };
            for volume in self.waters(water, setting)? {
                found.push((self.in_water(&put, volume, water.made_up)?, sd));
            }
        }
        let [_, Dose { portion: Some(second), water: Some(water) }] = doses else { return Ok(found) };
        self.assume("two amounts: the first makes a stock solution, the second is a measure of that".to_owned());
        let mut thinned = Vec::new();
        self.stock = self.stock.or(found.first().map(|(stock, _)| *stock));
        for (stock, stock_sd) in found {
            for (quantity, sd) in self.portions(second, setting)? {
                let Quantity::Volume(poured) = quantity else {
                    return Err(
                        self.fault("the second amount is a weight; a measure of the stock solution was expected")
                    );
                };
                for volume in self.waters(water, setting)? {
                    let put = Put { grams: stock * poured.to_l(), filled: Some(poured.to_ml()) };
                    thinned.push((self.in_water(&put, volume, water.made_up)?, libm::hypot(stock_sd, sd)));
                }
            }
        }
        Ok(thinned)
    }

    /// Grams of the reagent that an amount brings, and the room its liquid takes.
    fn put_in(
        &mut self,
        quantity: Quantity,
        sd: f64,
        kind: Option<&Spooned>,
        product: Option<f64>,
    ) -> Result<(Put, f64), ChemError> {
        match (quantity, product) {
            (Quantity::Mass(mass), None) => Ok((Put { grams: mass.to_g(), filled: None }, sd)),
            (Quantity::Volume(volume), None) => {
                let Some(kind) = kind else {
                    return Err(ChemError::BulkUnknown { reagent: self.reagent.name.clone() });
                };
                let grams = volume.to_ml() * kind.density.value;
                if self.steps.is_empty() {
                    let what = format!(
                        "{} of {} {} at {} g/mL: {} g",
                        millilitres(volume.to_ml()),
                        kind.kind,
                        self.reagent.short_name(),
                        plain(kind.density.value),
                        plain(grams)
                    );
                    self.note_step(Step::new(what, kind.density.source.clone()));
                }
                let sd = libm::hypot(sd, kind.density.relative_sd.unwrap_or(0.0));
                Ok((Put { grams, filled: None }, sd))
            }
            (Quantity::Volume(volume), Some(strength)) => {
                Ok((Put { grams: volume.to_l() * strength, filled: Some(volume.to_ml()) }, sd))
            }
            (Quantity::Mass(mass), Some(strength)) => {
                let strength = Strength::InVolume(Concentration::g_per_l(strength));
                let share = solution::convert(self.substance, strength, Basis::InWeight, self.bench)?;
                let share = MassFraction::fraction(share.strength.base());
                let found = crate::chem::density::of_solution(self.substance, share, self.bench)?;
                self.assume(format!("a weight of {} is a weight of the liquid itself", self.reagent.short_name()));
                let filled = mass.to_g() / found.density.to_g_per_ml();
                Ok((Put { grams: mass.to_g() * share.to_fraction(), filled: Some(filled) }, sd))
            }
        }
    }

    /// Grams in a litre of what is put into so many millilitres, made up to them or added.
    fn in_water(&mut self, put: &Put, volume: f64, made_up: bool) -> Result<f64, ChemError> {
        let litres = |ml: f64| ml / 1000.0;
        let added = match put.filled {
            Some(filled) => put.grams / litres(volume + filled),
            None => self.dissolved(put.grams, volume, !made_up)?,
        };
        let value = match put.filled {
            Some(filled) if made_up && filled > volume * (1.0 + 1e-9) => {
                return Err(self.fault(format!("{} does not go into {}", millilitres(filled), millilitres(volume))));
            }
            _ if made_up => put.grams / litres(volume),
            _ => added,
        };
        if self.joints.is_none() {
            self.joints = Some((value, if made_up { added } else { put.grams / litres(volume) }));
            let joint = if made_up { "made up to" } else { "added to" };
            let what = format!("{} g {joint} {}: {} g/L", plain(put.grams), millilitres(volume), plain(value));
            self.note_step(Step::new(what, "definition"));
        }
        Ok(value)
    }

    /// A solid added to water: by the density of its solution, where that is on file, else as if it took no room.
    fn dissolved(&mut self, grams: f64, volume: f64, is_said: bool) -> Result<f64, ChemError> {
        let amount = Amount {
            quantity: Quantity::Mass(Mass::g(grams)),
            measure: Measure::Weighed,
            unit: "g",
            source: "definition",
        };
        let share = Share::PerVolume { amount, volume: Volume::ml(volume), made_up: false };
        let read = reading::read(self.substance, &Written::Share(share, None), self.catalogue.measuring(), self.bench);
        match read.and_then(|read| solution::concentration(self.substance, read.strength, self.bench)) {
            Ok((concentration, _)) => Ok(concentration.to_g_per_l()),
            Err(ChemError::DensityUnknown { .. } | ChemError::OutsideData { .. }) => {
                if is_said {
                    self.assume(format!("{} taken to take no room in the water", self.reagent.short_name()));
                }
                Ok(1000.0 * grams / volume)
            }
            Err(other) => Err(other),
        }
    }
}

/// Grams of the reagent, and the millilitres that a liquid brings with them.
struct Put {
    grams: f64,
    filled: Option<f64>,
}

/// From the lowest meaning to the highest; the middle is the geometric mean of what the first choices come to.
fn band(meanings: &[Meaning]) -> Option<Estimate> {
    let ends = |only_first: bool| {
        let values = meanings.iter().filter(move |meaning| meaning.2 || !only_first);
        values.fold((f64::INFINITY, 0.0_f64), |(low, high), (value, sd, _)| {
            let Estimate { low: least, high: most, .. } =
                Estimate::log_normal(*value, if only_first { 0.0 } else { *sd });
            (low.min(least), high.max(most))
        })
    };
    let (low, high) = ends(false);
    let (first, last) = ends(true);
    let mid = if first == last { first } else { libm::sqrt(first) * libm::sqrt(last) };
    let found = Estimate { low: low.min(mid), mid, high: high.max(mid) };
    (found.low > 0.0 && found.high.is_finite()).then_some(found)
}
