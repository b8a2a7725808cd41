//! Which spoon, which gallon, which powder a recipe may mean, and how that is said.

use super::token::unreadable;
use super::weigh::Weigher;
use super::{Dose, Portion, UnitWord, Water};
use crate::catalogue::{Range, Spooned};
use crate::chem::ChemError;
use crate::chem::reading::measure_sd;
use crate::units::measure::{Kitchen, Measure, Quantity, VolumeReading, VolumeUnit};
use crate::units::parse::Unreadable;
use crate::units::show::{millilitres, plain, significant};
use crate::units::step::Step;
use crate::units::{Mass, Volume};

/// Grams in an ounce. Source: `nist-hb44`.
const OUNCE: f64 = 28.349_523_125;

/// How the kitchen settles words: the kitchen, and which of two gallons where it has none.
pub(super) type Setting = (Kitchen, usize);

impl Weigher<'_> {
    /// The kitchens that the words may come from.
    pub(super) fn settings(&self, doses: &[Dose], kitchen: Option<Kitchen>) -> Vec<Setting> {
        let words = self.volume_words(doses);
        let open: Vec<&String> = words.iter().filter(|word| VolumeUnit::exactly_called(word).is_none()).collect();
        // A gallon that says its country speaks for the spoon beside it.
        let spoken = words.iter().find_map(|word| VolumeUnit::exactly_called(word).and_then(VolumeUnit::kitchen));
        let one =
            |word: &String, kitchen| !matches!(VolumeUnit::called(word, Some(kitchen)), Some(VolumeReading::Ask(..)));
        if open.is_empty() {
            return vec![(Kitchen::Us, 0)];
        }
        if let Some(kitchen) = spoken.or(kitchen) {
            // A metric kitchen has no gallon of its own: either may be meant.
            let choices = if open.iter().all(|word| one(word, kitchen)) { 1 } else { 2 };
            return (0..choices).map(|choice| (kitchen, choice)).collect();
        }
        let fits = Kitchen::ALL.into_iter().map(|(kitchen, _)| kitchen);
        fits.filter(|kitchen| open.iter().all(|word| one(word, *kitchen))).map(|kitchen| (kitchen, 0)).collect()
    }

    pub(super) fn volume_words(&self, doses: &[Dose]) -> Vec<String> {
        let mut words = Vec::new();
        for dose in doses {
            match dose.portion.as_ref().map(|portion| &portion.unit) {
                Some(UnitWord::Volume(word)) => words.push(word.clone()),
                Some(UnitWord::Ounce) if !self.is_solid() => words.push("floz".to_owned()),
                _ => {}
            }
            words.extend(dose.water.as_ref().map(|water| water.unit.clone()));
        }
        words
    }

    pub(super) fn volume_unit(&self, word: &str, setting: Setting) -> Result<VolumeUnit, Unreadable> {
        let (kitchen, choice) = setting;
        match VolumeUnit::called(word, Some(kitchen)) {
            Some(VolumeReading::One(unit) | VolumeReading::Guessed(unit)) => Ok(unit),
            Some(VolumeReading::Ask(us, imperial)) => Ok(if choice == 0 { us } else { imperial }),
            None => Err(unreadable(&self.told.text, format!("`{word}` is no measure of a {} kitchen", kitchen.word()))),
        }
    }

    /// The kinds of powder that may be meant: the one that is told, else all, the first of the file first.
    pub(super) fn kinds(&mut self, dose: &Dose, solid: bool) -> Vec<Option<Spooned>> {
        let by_weight = dose.portion.as_ref().is_some_and(|portion| match portion.unit {
            UnitWord::Mass(_) | UnitWord::Ounce => true,
            UnitWord::Loose(place) => self.catalogue.loose().words[place].range.unit == "g",
            UnitWord::Volume(_) => false,
        });
        let Some(powder) = self.reagent.solid.as_ref().filter(|_| solid && !by_weight) else { return vec![None] };
        let told = self.told.grain.as_deref();
        let name = self.reagent.short_name();
        let list = |kinds: &[Spooned]| {
            let figures = kinds.iter().map(|kind| format!("{} {} g/mL", kind.kind, plain(kind.density.value)));
            figures.collect::<Vec<_>>().join(", ")
        };
        let chosen: Vec<Spooned> =
            powder.spooned.iter().filter(|kind| told.is_none_or(|told| kind.kind == told)).cloned().collect();
        if chosen.is_empty() {
            let told = told.unwrap_or_default();
            self.assume(format!("no bulk density of {told} {name} on file: any that is ({})", list(&powder.spooned)));
            return powder.spooned.iter().cloned().map(Some).collect();
        }
        self.assume(match (told, &chosen[..]) {
            (None, [first, _, ..]) => {
                format!("{name} of unstated kind: {} first, the band over {}", first.kind, list(&chosen))
            }
            _ => format!("bulk density of {name}: {}", list(&chosen)),
        });
        chosen.into_iter().map(Some).collect()
    }

    /// What an amount may come to, with the deviation that its measure brings.
    pub(super) fn portions(&self, portion: &Portion, setting: Setting) -> Result<Vec<(Quantity, f64)>, ChemError> {
        let volume = |word: &str| -> Result<Vec<(Quantity, f64)>, ChemError> {
            let unit = self.volume_unit(word, setting)?;
            let spoon = matches!(unit.measure, Measure::Spoon | Measure::UnknownSpoon);
            let heaped = &self.catalogue.loose().reading.heaped;
            let filled =
                if spoon && self.told.heaped == Some(true) { vec![heaped.low, heaped.high] } else { vec![1.0] };
            let sd = measure_sd(if spoon { Measure::Spoon } else { unit.measure }, self.catalogue.measuring());
            let counts = portion.count.ends();
            let sizes = counts.iter().flat_map(|count| filled.iter().map(move |times| count * times));
            Ok(sizes.map(|size| (Quantity::Volume(Volume::ml(size * unit.ml)), sd)).collect())
        };
        match &portion.unit {
            UnitWord::Mass(unit) => {
                Ok(portion.count.ends().iter().map(|n| (Quantity::Mass(Mass::g(n * unit.grams)), 0.0)).collect())
            }
            UnitWord::Ounce if self.is_solid() => {
                Ok(portion.count.ends().iter().map(|n| (Quantity::Mass(Mass::g(n * OUNCE)), 0.0)).collect())
            }
            UnitWord::Ounce => volume("floz"),
            UnitWord::Volume(word) => volume(word),
            UnitWord::Loose(place) => {
                let Range { low, high, unit, .. } = &self.catalogue.loose().words[*place].range;
                let ends = [portion.count.low * low, portion.count.high * high];
                let by_weight = unit == "g";
                let quantity = |size: f64| {
                    if by_weight { Quantity::Mass(Mass::g(size)) } else { Quantity::Volume(Volume::ml(size)) }
                };
                Ok(ends.map(|size| (quantity(size), 0.0)).to_vec())
            }
        }
    }

    pub(super) fn waters(&self, water: &Water, setting: Setting) -> Result<Vec<f64>, ChemError> {
        let unit = self.volume_unit(&water.unit, setting)?;
        Ok(water.count.ends().iter().map(|count| count * unit.ml).collect())
    }

    /// Which spoon, which gallon, level or heaped.
    pub(super) fn say_measures(&mut self, doses: &[Dose], settings: &[Setting], kitchen: Option<Kitchen>) {
        let words = self.volume_words(doses);
        let mut open = words.clone();
        open.retain(|word| VolumeUnit::exactly_called(word).is_none());
        open.sort();
        open.dedup();
        let sizes = |setting: &Setting| {
            let units = open.iter().filter_map(|word| self.volume_unit(word, *setting).ok());
            let mut units: Vec<String> = units.map(|unit| format!("{} {}", unit.name, millilitres(unit.ml))).collect();
            units.dedup();
            units.join(", ")
        };
        if !open.is_empty() {
            let mut told: Vec<(String, String)> = Vec::new();
            for setting in settings {
                let (name, sizes) = (setting.0.word(), sizes(setting));
                match told.iter_mut().find(|(_, before)| *before == sizes) {
                    Some((names, _)) => *names = format!("{names} and {name}"),
                    None => told.push((name.to_owned(), sizes)),
                }
            }
            let told: Vec<String> = told.into_iter().map(|(names, sizes)| format!("{names} ({sizes})")).collect();
            let spoken = words.iter().find_map(|word| VolumeUnit::exactly_called(word).and_then(VolumeUnit::kitchen));
            let line = match (&told[..], kitchen) {
                ([one], _) if spoken.is_some() => format!("kitchen, by the measure that names its own: {one}"),
                ([one], Some(_)) => format!("kitchen: {one}"),
                ([one], None) => format!("kitchen not told, the same in every one that fits: {one}"),
                (several, Some(_)) => format!("this kitchen has no gallon of its own: {}", several.join(" or ")),
                (several, None) => {
                    format!("kitchen not told (--kitchen), the band over {}", several.join(", "))
                }
            };
            self.assume(line);
        }
        for word in &words {
            if let Some(unit) = settings.first().and_then(|setting| self.volume_unit(word, *setting).ok())
                && unit.source != "definition"
            {
                self.note_step(Step::new(format!("{} is {}", unit.name, millilitres(unit.ml)), unit.source));
            }
        }
        let spoon = |word: &String| {
            let Some(VolumeReading::One(unit) | VolumeReading::Guessed(unit)) = VolumeUnit::called(word, None) else {
                return false;
            };
            matches!(unit.measure, Measure::Spoon | Measure::UnknownSpoon)
        };
        let portion = |dose: &Dose| match dose.portion.as_ref().map(|portion| &portion.unit) {
            Some(UnitWord::Volume(word)) => spoon(word),
            _ => false,
        };
        if doses.iter().any(portion) {
            let reading = &self.catalogue.loose().reading;
            let (heaped, house) = (&reading.heaped, &reading.household_teaspoon);
            let times = format!("{} to {} level ones", plain(heaped.low), plain(heaped.high));
            let line = match self.told.heaped {
                Some(true) => format!("a heaped measure counted as {times}"),
                Some(false) => "level measuring spoons and cups, as told".to_owned(),
                None if self.is_solid() => format!("level measuring spoons and cups; a heaped one would be {times}"),
                None => "measuring spoons and cups, full".to_owned(),
            };
            let drawer = format!("; teaspoons out of a drawer hold {} to {} {}", house.low, house.high, house.unit);
            let spoons = words.iter().any(|word| word.starts_with('t'));
            self.assume(line + if spoons { &drawer } else { "" });
            if self.told.heaped == Some(true) {
                self.note_step(Step::new(format!("a heaped measure: {times}"), heaped.source.clone()));
            }
        }
        if doses.iter().any(|dose| matches!(&dose.portion, Some(Portion { unit: UnitWord::Ounce, .. }))) {
            let what = if self.is_solid() { "a weight, 28.35 g" } else { "fluid ounces" };
            self.assume(format!("oz of {} read as {what}", self.reagent.short_name()));
        }
    }

    /// Made up to a volume or added to it.
    pub(super) fn say_joint(&mut self, doses: &[Dose]) {
        let Some(water) = doses.iter().find_map(|dose| dose.water.as_ref()) else { return };
        let (line, other) = if water.made_up {
            ("made up to the volume told", "added to that much water")
        } else {
            ("added to that much water", "made up to that volume")
        };
        // A hundredth is less than any measure here tells.
        let far = self.joints.filter(|(value, other)| libm::fabs(other / value - 1.0) > 0.01);
        self.assume(match far {
            Some((_, grams)) => format!("{line}; {other} it would be {} g/L", significant(grams, 3)),
            None => format!("{line}; {other} it would be the same within 1 %"),
        });
    }
}
