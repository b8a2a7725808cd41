//! Which tests suit a stock, with the numbers to expect, and which of them is worth doing first.

use super::sight::Sight;
use super::{Problem, Session};
use crate::catalogue::{Form, Method, Test};
use crate::chem::formula::molar_mass;
use crate::chem::solution::{self, chlorine_per_gram};
use crate::chem::{Substance, density};
use crate::decay::posterior::Standing;
use crate::decay::reaction::{PERMANGANATE_PER_PEROXIDE, gas_expected, titre_expected};
use crate::units::estimate::{Estimate, Z_95};
use crate::units::strength::{Basis, Strength};
use crate::units::{MassFraction, MolarMass, Pressure, Temperature, Volume, show};

/// How much gas a test should give, mL; how much titrant; what a scale is taken to hold.
const GAS: f64 = 50.0;
const TITRE: f64 = 18.0;

/// A test is worth it if it leaves less than this of what is unknown.
const WORTH: f64 = 0.8;

/// A test with its numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedTest {
    /// Which.
    pub test: Test,
    /// Its name.
    pub name: String,
    /// What happens in it.
    pub says: String,
    /// Its usual relative standard deviation.
    pub relative_sd: f64,
    /// What is known now and would be afterwards: standard deviations of the logarithm.
    pub narrows: Option<(f64, f64)>,
    /// What will be read, if the bottle is as it is believed.
    pub expected: Option<(Estimate, &'static str)>,
    /// Cautions, first.
    pub cautions: Vec<String>,
    /// What one needs.
    pub needs: Vec<String>,
    /// Steps with their numbers.
    pub steps: Vec<String>,
    /// What makes it read wrong.
    pub traps: String,
}

/// Every test that suits a stock, the cheapest first; the last is always a figure from elsewhere.
///
/// # Errors
/// If its strength cannot be converted.
pub fn tests_for(session: &Session, sight: &Sight<'_>, scale: Option<&[f64]>) -> Result<Vec<PlannedTest>, Problem> {
    let planner = Planner::of(sight, scale);
    methods(session).filter_map(|method| planner.planned(method).transpose()).collect()
}

/// The first of them that would leave much less unknown than there is.
#[must_use]
pub fn worth_doing(tests: &[PlannedTest]) -> Option<usize> {
    tests.iter().position(|test| is_worth_doing(test.narrows))
}

/// A test that is worth doing.
#[derive(Debug, Clone, Copy)]
pub struct Worth<'a> {
    /// Which.
    pub method: &'a Method,
    /// What is known now and would be afterwards: standard deviations of the logarithm.
    pub narrows: Option<(f64, f64)>,
}

/// What [`worth_doing`] finds, by itself: those behind it are not looked at, nor are its steps told.
///
/// # Errors
/// If its strength cannot be converted.
pub fn first_worth_doing<'a>(session: &'a Session, sight: &Sight<'_>) -> Result<Option<Worth<'a>>, Problem> {
    let planner = Planner::of(sight, None);
    for method in methods(session) {
        if let Some(filling) = planner.filling(method)? {
            let narrows = planner.narrows(&filling);
            if is_worth_doing(narrows) {
                return Ok(Some(Worth { method, narrows }));
            }
        }
    }
    Ok(None)
}

fn methods(session: &Session) -> impl Iterator<Item = &Method> {
    Test::ALL.into_iter().map(|test| session.catalogue.method(test))
}

fn is_worth_doing(narrows: Option<(f64, f64)>) -> bool {
    narrows.is_none_or(|(now, after)| after < WORTH * now)
}

struct Planner<'a> {
    sight: &'a Sight<'a>,
    /// What the bottle is believed to hold, or what it might, grams in a litre or in a gram.
    believed: Estimate,
    known: bool,
    scale: Option<&'a [f64]>,
}

/// What is filled into a test's steps.
struct Filling {
    sample: String,
    expected: Estimate,
    unit: &'static str,
    relative_sd: f64,
    dilution: f64,
    how: String,
    scale: String,
}

impl<'a> Planner<'a> {
    fn of(sight: &'a Sight<'a>, scale: Option<&'a [f64]>) -> Self {
        let known = match &sight.standing {
            Standing::Known(known) => Some(known.estimate()),
            Standing::Unknown { .. } => None,
        };
        // Without an estimate the label is the most it can hold, and a third of it about the least that is worth testing for.
        let believed = known.unwrap_or(Estimate { low: 0.3 * sight.label, mid: 0.8 * sight.label, high: sight.label });
        // Where something is known to be left out, the estimate's own band says nothing.
        Planner { sight, believed, known: known.is_some() && sight.doubt().is_none(), scale }
    }

    /// What is known now and would be after a test: standard deviations of the logarithm.
    fn narrows(&self, filling: &Filling) -> Option<(f64, f64)> {
        let sd_now = libm::log(self.believed.high / self.believed.low) / (2.0 * Z_95);
        (self.known && sd_now > 0.0).then(|| {
            let r = filling.relative_sd;
            (sd_now, 1.0 / libm::sqrt(1.0 / (sd_now * sd_now) + 1.0 / (r * r)))
        })
    }

    /// The test for this stock; nothing where it does not suit or is not worth doing.
    fn planned(&self, method: &Method) -> Result<Option<PlannedTest>, Problem> {
        let Some(filling) = self.filling(method)? else { return Ok(None) };
        let stock = &self.sight.stock.code;
        let narrows = self.narrows(&filling);
        // A density tells in its third and fourth figure.
        let figures = if filling.unit == "g/mL" { 4 } else { 2 };
        let shown = |value: f64| format!("{} {}", show::significant(value, figures), filling.unit);
        let fill = |step: &String| {
            step.replace("{stock}", stock)
                .replace("{sample_typed}", &filling.sample.replace(' ', ""))
                .replace("{sample}", &filling.sample)
                .replace("{expected}", &shown(filling.expected.mid))
                .replace("{low}", &show::significant(filling.expected.low, figures))
                .replace("{high}", &show::significant(filling.expected.high, figures))
                .replace("{dilution}", &show::plain(filling.dilution))
                .replace("{how}", &filling.how)
                .replace("{scale}", &filling.scale)
                .replace("{unit}", &self.sight.state.label.unit)
        };
        Ok(Some(PlannedTest {
            test: method.word,
            name: method.name.clone(),
            says: method.says.clone(),
            relative_sd: filling.relative_sd,
            narrows,
            expected: (!filling.unit.is_empty()).then_some((filling.expected, filling.unit)),
            cautions: method.cautions.clone(),
            needs: method.needs.iter().map(fill).collect(),
            steps: method.steps.iter().map(fill).collect(),
            traps: method.traps.clone(),
        }))
    }

    fn filling(&self, method: &Method) -> Result<Option<Filling>, Problem> {
        let reagent = self.sight.reagent;
        let dissolved = self.sight.stock.form == Form::Solution;
        let none = Filling {
            sample: String::new(),
            expected: self.believed,
            unit: "",
            relative_sd: 0.03,
            dilution: 1.0,
            how: String::new(),
            scale: String::new(),
        };
        if method.word == Test::Figure {
            return Ok(Some(none));
        }
        if method.word == Test::Drying {
            let suits = !dissolved && method.suits(reagent).is_some();
            let relative_sd = libm::hypot(method.error("share"), self.sight.history.label_sd_ln);
            let grams =
                if self.sight.state.left >= 100.0 { 50.0 } else { libm::round(0.5 * self.sight.state.left).max(1.0) };
            return Ok(suits.then(|| Filling { sample: show::grams(grams), relative_sd, ..none }));
        }
        let Some(suits) = method.suits(reagent).filter(|_| dissolved) else { return Ok(None) };
        if self.percent_in_weight().is_some_and(|percent| percent > suits.up_to_percent_w_w) {
            return Ok(None);
        }
        let mass = MolarMass::g_per_mol(molar_mass(&reagent.formula.value)?.to_g_per_mol());
        let bench = Temperature::celsius(20.0);
        Ok(match method.word {
            Test::OxygenVolume => {
                let gas = |content: f64, sample: f64| {
                    gas_expected(content, mass, Volume::ml(sample), bench, Pressure::kpa(101.325)).to_ml()
                };
                Some(self.drawn(method, "gas", &[0.5, 1.0, 2.0, 3.0, 5.0, 10.0], GAS, gas, none))
            }
            Test::Permanganate | Test::Iodometric => {
                let (per_mole, titrant) = match suits.electrons {
                    Some(electrons) => (electrons, 0.1),
                    None => (PERMANGANATE_PER_PEROXIDE, 0.02),
                };
                let titre = |content: f64, sample: f64| {
                    titre_expected(content, mass, Volume::ml(sample), per_mole, titrant).to_ml()
                };
                Some(self.drawn(method, "titre", &[0.2, 0.5, 1.0, 2.0, 5.0, 10.0], TITRE, titre, none))
            }
            Test::Strip => {
                let scale = self.scale.unwrap_or(&method.scale);
                let middle = scale[scale.len() / 2];
                let counted = if suits.as_chlorine { chlorine_per_gram(Substance::of(reagent))? } else { 1.0 };
                let dilution = round_dilution(1000.0 * counted * self.believed.mid / middle);
                let expected = each(self.believed, |content| 1000.0 * counted * content / dilution);
                let steps = libm::ceil(libm::log10(dilution) / 2.0).max(0.0);
                let block = libm::log(method.error("step")) / libm::sqrt(12.0);
                let parts = [block, method.error("share"), method.error("dilution") * libm::sqrt(steps)];
                Some(Filling {
                    expected,
                    unit: "mg/L",
                    relative_sd: root(&parts),
                    dilution,
                    how: how_to_thin(dilution),
                    scale: scale.iter().map(|block| show::plain(*block)).collect::<Vec<_>>().join(","),
                    ..none
                })
            }
            Test::Density => {
                let substance = Substance::of(reagent);
                let at = |content: f64| -> Result<(f64, f64), Problem> {
                    let strength = Strength::from_base(Basis::InVolume, content);
                    let w = solution::converted(substance, strength, Basis::InWeight, bench)?.base();
                    let found = density::of_solution(substance, MassFraction::fraction(w), bench)?;
                    Ok((w, found.density.to_g_per_ml()))
                };
                // Beyond the table a density tells nothing.
                let (Ok((w, mid)), Ok((_, low)), Ok((_, high))) =
                    (at(self.believed.mid), at(self.believed.low), at(self.believed.high))
                else {
                    return Ok(None);
                };
                let water = density::water(bench)?.to_kg_per_m3() / 1000.0;
                let slope = (mid - water) / w;
                let relative_sd = method.error("density") / (slope * w);
                if relative_sd > method.error("most") {
                    return Ok(None);
                }
                Some(Filling { expected: Estimate { low, mid, high }, unit: "g/mL", relative_sd, ..none })
            }
            Test::Drying | Test::Figure => None,
        })
    }

    /// A test that draws one of these samples and reads millilitres: `read` is what the error of the reading is filed under,
    /// `wanted` what it should come near.
    fn drawn(
        &self,
        method: &Method,
        read: &str,
        samples: &[f64],
        wanted: f64,
        reading: impl Fn(f64, f64) -> f64,
        none: Filling,
    ) -> Filling {
        let sample = self.nearest(samples, |sample| reading(self.believed.mid, sample), wanted);
        let expected = each(self.believed, |content| reading(content, sample));
        let parts = [method.error(read) / expected.mid, method.error("sample") / sample, method.error("share")];
        Filling {
            sample: format!("{} mL", show::plain(sample)),
            expected,
            unit: "mL",
            relative_sd: root(&parts).max(method.error("least")),
            ..none
        }
    }

    /// The sample whose reading comes nearest to what is wanted, by ratio, of those that are there.
    fn nearest(&self, samples: &[f64], reading: impl Fn(f64) -> f64, wanted: f64) -> f64 {
        let off = |sample: f64| libm::log(reading(sample) / wanted).abs();
        let there = samples.iter().copied().filter(|sample| *sample <= self.sight.state.left);
        there.min_by(|a, b| off(*a).total_cmp(&off(*b))).unwrap_or(samples[0])
    }

    fn percent_in_weight(&self) -> Option<f64> {
        self.sight.history.label_percent_w_w
    }
}

fn each(estimate: Estimate, of: impl Fn(f64) -> f64) -> Estimate {
    Estimate { low: of(estimate.low), mid: of(estimate.mid), high: of(estimate.high) }
}

fn root(parts: &[f64]) -> f64 {
    libm::sqrt(parts.iter().map(|part| part * part).sum())
}

/// A dilution that can be made with a syringe and a jug: one figure.
fn round_dilution(times: f64) -> f64 {
    if times <= 1.5 {
        return 1.0;
    }
    let power = libm::pow(10.0, libm::floor(libm::log10(times)));
    [1.0, 2.0, 3.0, 5.0, 10.0]
        .into_iter()
        .map(|figure| figure * power)
        .min_by(|a, b| libm::log(a / times).abs().total_cmp(&libm::log(b / times).abs()))
        .unwrap_or(power)
}

/// In two steps where one would need too small a sample.
fn how_to_thin(times: f64) -> String {
    match times {
        t if t <= 1.0 => "as it is".to_owned(),
        t if t <= 100.0 => format!("1 mL made up to {} mL", show::plain(t)),
        t if t <= 1000.0 => format!("1 mL made up to {}", show::millilitres(t)),
        t => format!("1 mL made up to 100 mL, and 1 mL of that made up to {}", show::millilitres(t / 100.0)),
    }
}

/// The blocks of a strip's scale, rising.
pub(super) fn blocks(text: &str) -> Result<Vec<f64>, Problem> {
    let wrong = || {
        Problem::question(format!("--scale `{text}` cannot be read"))
            .hint("accepted: the blocks of the scale in mg/L, rising, as 0.5,2,5,10,25")
    };
    let text = text.trim().trim_end_matches("mg/L").trim_end_matches("ppm");
    let mut scale: Vec<f64> =
        text.split(',').map(|part| part.trim().parse::<f64>()).collect::<Result<_, _>>().map_err(|_| wrong())?;
    scale.retain(|block| *block != 0.0);
    if scale.len() < 2
        || scale.windows(2).any(|pair| pair[0] >= pair[1])
        || scale.iter().any(|block| *block <= 0.0 || !block.is_finite())
    {
        return Err(wrong());
    }
    Ok(scale)
}
