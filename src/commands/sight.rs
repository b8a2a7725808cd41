//! A stock as it is seen on a day: journal, state, strength, and what it offers to a bath.

use std::collections::BTreeSet;

use chrono::NaiveDate;

use super::{Problem, Session};
use crate::catalogue::{Catalogue, Condition, Decay, Figure, Form, Law, Light, Optics, Reagent};
use crate::chem::solution;
use crate::chem::{ChemError, Substance};
use crate::decay::History;
use crate::decay::case::entry;
use crate::decay::crystals::too_much_by_weight;
use crate::decay::posterior::{Standing, standing};
use crate::dip::Offer;
use crate::hazard::apart::Neighbour;
use crate::hazard::upkeep::left_closed;
use crate::register::Writing;
use crate::register::checkpoint::Journal;
use crate::register::event::Made;
use crate::register::history::{self, brightest};
use crate::register::ledger::State;
use crate::register::place::Place;
use crate::register::stock::Stock;
use crate::units::Temperature;
use crate::units::estimate::{Estimate, Z_95};
use crate::units::show::{plain, significant};
use crate::units::strength::{Basis, Strength, StrengthUnit};

/// Why the strongest peroxide is poured from by nobody here.
pub const LEFT_CLOSED: &str = "too strong to be handled at home: left closed";

/// What a stock is counted at where safety asks, grams in a litre for a solution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Strongest {
    /// As its label says.
    Label,
    /// The upper end of the estimate that stands on the label of what was poured here.
    Poured(f64),
    /// The upper end of its band, because it was tested and that is above the label.
    Tested(f64),
}

/// The highest strength that a stock can credibly have: its label, and where it was tested the upper end of its band if that
/// is above. A weak test never thins a label; what was poured here has an estimate of our own for a label, with a band.
#[must_use]
pub fn strongest(history: &History, standing: Option<&Standing>) -> Strongest {
    let spread = if history.decanted { libm::exp(Z_95 * history.label_sd_ln) } else { 1.0 };
    let label = history.label.0 * spread;
    match standing {
        Some(Standing::Known(known)) if !history.assays.is_empty() && known.estimate().high > label => {
            Strongest::Tested(known.estimate().high)
        }
        _ if spread > 1.0 => Strongest::Poured(label),
        _ => Strongest::Label,
    }
}

/// How a strength is judged: told in steps or not.
pub(super) type Judge = fn(&Optics, &Reagent, &History, NaiveDate) -> Result<Standing, ChemError>;

/// A stock on a day.
#[derive(Debug)]
pub struct Sight<'a> {
    /// The container.
    pub stock: Stock,
    /// What is in it.
    pub reagent: &'a Reagent,
    /// Its journal, as far as that day needs it.
    pub journal: Journal,
    /// Its state on that day.
    pub state: State,
    /// The same as `decay` sees it.
    pub history: History,
    /// What the label comes to, grams in a litre or in a gram.
    pub label: f64,
    /// What can be said of its strength on that day.
    pub standing: Standing,
    /// True if its container is sold to keep light out.
    pub shaded: bool,
}

/// A strength in the unit in which the keeper speaks of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Usual {
    /// The unit's name.
    pub unit: String,
    /// The strength in it.
    pub estimate: Estimate,
}

impl<'a> Sight<'a> {
    /// Looks at a stock. Nothing if it had not come by that day, or never came.
    ///
    /// # Errors
    /// A contradiction in the journal, a reagent that the catalogue does not know, a strength that cannot be converted.
    pub fn of(
        session: &Session,
        stock: Stock,
        journal: Journal,
        places: &[Place],
        day: NaiveDate,
    ) -> Result<Option<Sight<'a>>, Problem> {
        Sight::judged(session.catalogue, stock, journal, places, day, standing)
    }

    /// As [`Sight::of`], its strength judged in this way.
    ///
    /// # Errors
    /// As [`Sight::of`].
    pub(super) fn judged(
        catalogue: &'a Catalogue,
        stock: Stock,
        journal: Journal,
        places: &[Place],
        day: NaiveDate,
        judge: Judge,
    ) -> Result<Option<Sight<'a>>, Problem> {
        let reagent = catalogue.reagent(&stock.reagent).ok_or_else(|| {
            Problem::data(format!(
                "`{}` holds `{}`, which this program's catalogue does not know",
                stock.code, stock.reagent
            ))
            .hint("use the program that wrote it, or a newer one")
        })?;
        let state = journal
            .state(day)
            .map_err(|contradiction| Problem::data(format!("the journal of `{}`: {contradiction}", stock.code)))?;
        let Some(state) = state else { return Ok(None) };
        let history = history::history(catalogue, &stock, &state, reagent, places, day)?;
        let standing = judge(catalogue.optics(), reagent, &history, day)?;
        let shaded = catalogue.optics().wall(history.bottle.container).shades;
        Ok(Some(Sight { stock, reagent, journal, state, label: history.label.0, history, standing, shaded }))
    }

    /// Looks at the stock with a code, which must be on the shelf on that day.
    ///
    /// # Errors
    /// As [`Sight::of`], and for a stock that had not come yet.
    pub fn on_shelf(
        session: &Session,
        writing: &Writing<'_>,
        places: &[Place],
        code: &str,
    ) -> Result<Sight<'a>, Problem> {
        Sight::of_shelf(session, writing, places, super::arguments::stock(writing, code)?)
    }

    /// Looks at a stock, which must be on the shelf on that day.
    ///
    /// # Errors
    /// As [`Sight::on_shelf`].
    pub fn of_shelf(
        session: &Session,
        writing: &Writing<'_>,
        places: &[Place],
        stock: Stock,
    ) -> Result<Sight<'a>, Problem> {
        let code = stock.code.clone();
        let journal = writing.journal(&stock, places, session.day)?;
        Sight::of(session, stock, journal, places, session.day)?.ok_or_else(|| {
            Problem::question(format!("`{code}` was not on the shelf on {}", session.day))
                .hint(format!("`brimstock show {code} --on DATE` with a later day"))
        })
    }

    /// When an own dilution was made, and how long one of its kind is worth keeping; nothing for what was bought.
    #[must_use]
    pub fn own_dilution(&self) -> Option<(NaiveDate, &'a Figure)> {
        let made_here = matches!(self.state.came, Condition::MadeUp | Condition::MadeUpTap);
        let keeps = self.reagent.keeping.as_ref()?.made_up_keeps.as_ref()?;
        let made = match self.state.made {
            Made::On(day) => day.min(self.state.received),
            Made::New | Made::Unknown => self.state.received,
        };
        made_here.then_some((made, keeps))
    }

    /// Refuses what left the shelf.
    ///
    /// # Errors
    /// When, why and to whom it went.
    pub fn still_there(&self) -> Result<(), Problem> {
        let Some((day, why)) = &self.state.retired else { return Ok(()) };
        let code = &self.stock.code;
        let whom = self.state.handed_to.as_ref().map_or(String::new(), |whom| format!(", handed over to {whom}"));
        Err(Problem::question(format!("`{code}` left the shelf on {day}: {why}{whom}"))
            .hint(format!("`brimstock show {code}` shows its journal")))
    }

    /// Keys of the sources of its strength.
    #[must_use]
    pub fn sources(&self) -> BTreeSet<String> {
        match &self.standing {
            Standing::Known(known) => known.steps.iter().map(|step| step.source.clone()).collect(),
            Standing::Unknown { .. } => BTreeSet::new(),
        }
    }

    /// What it offers to a bath.
    #[must_use]
    pub fn offer(&self) -> Offer {
        Offer {
            code: self.stock.code.clone(),
            form: self.stock.form,
            left: self.state.left,
            unit: self.state.unit.clone(),
            received: self.state.received,
            hold: self.left_closed().map(str::to_owned).or_else(|| self.state.hold.clone()),
            label: self.label,
            standing: self.standing.clone(),
            doubt: self.doubt(),
        }
    }

    /// What is known to be left out of its estimate.
    #[must_use]
    pub fn doubt(&self) -> Option<String> {
        self.misfit().or_else(|| self.noticed()).or_else(|| self.sunlight()).or_else(|| self.dissolved_again())
    }

    /// Why it is left closed, whatever the keeper says of it: it is, by its label or by a test above it, too strong.
    #[must_use]
    pub fn left_closed(&self) -> Option<&'static str> {
        let tested = match &self.standing {
            Standing::Known(known) if !self.history.assays.is_empty() => known.estimate().mid,
            _ => 0.0,
        };
        let percent = in_unit(Substance::of(self.reagent), self.label.max(tested), &StrengthUnit::named("% w/w"));
        // What is beyond the density on file is beyond the bound as well.
        let percent_w_w = Some(percent.unwrap_or(100.0));
        let stock = Neighbour { reagent: self.reagent, form: self.stock.form, percent_w_w };
        left_closed(stock).map(|_| LEFT_CLOSED)
    }

    /// The entry of the catalogue on how it weakens.
    #[must_use]
    pub fn decay(&self) -> Option<&'a Decay> {
        entry(self.reagent, &self.history)
    }

    /// True if daylight weakens it by an amount that is not counted.
    #[must_use]
    pub fn fears_light(&self) -> bool {
        let uncounted = self.decay().is_some_and(|decay| {
            matches!(decay.law, Law::FirstOrder | Law::SecondOrderHypochlorite)
                && decay.photolysis.is_none()
                && decay.in_light.is_none()
        });
        uncounted && !self.shaded
    }

    /// The lightest class it has stood in since its last test, and where.
    #[must_use]
    pub fn light(&self) -> Option<(Light, String)> {
        brightest(&self.history)
    }

    /// That the last test contradicts what was known: neither can be relied on before another.
    fn misfit(&self) -> Option<String> {
        match &self.standing {
            Standing::Known(known) => known.misfit.map(|day| {
                format!(
                    "{}: the test of {day} fits neither its label nor its other tests; it waits for a second one that agrees",
                    self.stock.code
                )
            }),
            Standing::Unknown { .. } => None,
        }
    }

    /// That light has weakened it by an amount that is not counted, if it has.
    #[must_use]
    pub fn uncounted_light(&self) -> Option<String> {
        let (light, place) = self.light().filter(|(light, _)| *light >= Light::Bright)?;
        let container = self.state.kept_in.container.word();
        self.fears_light().then(|| format!("light at {place} ({}), container {container}", light.word()))
    }

    /// What was noticed since the last test that makes it doubtful: gas, or brown oxide.
    fn noticed(&self) -> Option<String> {
        let tested = self.history.assays.iter().map(|assay| assay.day).max();
        let (day, what) = self.state.notes.iter().rev().find(|(day, what)| {
            tested.is_none_or(|tested| *day >= tested)
                && matches!(what.as_str(), "swollen" | "gassing" | "brown deposit" | "dirty")
        })?;
        Some(format!(
            "{} was noted as {what} on {day}: vented cap, away from what burns; test it, or leave it closed and hand it over",
            self.stock.code
        ))
    }

    /// What direct sun may have done since the last test, which the estimate does not count.
    fn sunlight(&self) -> Option<String> {
        let (light, place) = self.light().filter(|(light, _)| *light >= Light::Sill)?;
        self.fears_light().then(|| {
            format!(
                "{} has stood at {place} ({}), and what sun takes from it is not counted: only a test can tell",
                self.stock.code,
                light.word()
            )
        })
    }

    /// That it was made stronger than the water of its coldest place can hold, if it was.
    #[must_use]
    pub fn crystals(&self) -> Option<String> {
        let code = &self.stock.code;
        if let Standing::Known(known) = &self.standing
            && let Some(clear) = &known.clear
        {
            return Some(format!(
                "{code} was made as {} g/L, but at {} °C water holds only about {} g/L of it: crystals, and a weaker clear liquid",
                plain(self.label),
                plain(libm::round(clear.coldest.to_celsius() * 10.0) / 10.0),
                significant(clear.holds.0.0, 2),
            ));
        }
        let percent = self.history.label_percent_w_w?;
        let tested = self.history.assays.iter().map(|assay| assay.day).max();
        let substance = Substance::of(self.reagent);
        let stretches = self.history.stretches.iter().filter(|stretch| tested.is_none_or(|day| stretch.to > day));
        let too_much = self.stock.form == Form::Solution
            && stretches.into_iter().any(|stretch| too_much_by_weight(substance, stretch, percent));
        too_much.then(|| {
            format!(
                "{code} was made as {} g/L, more than cold water holds of it: crystals, and a weaker clear liquid",
                plain(self.label)
            )
        })
    }

    /// That some of its crystals may have dissolved again, or that nobody can tell what its clear liquid holds.
    fn dissolved_again(&self) -> Option<String> {
        let settled = match &self.standing {
            Standing::Known(known) => known.clear.as_ref().is_some_and(|clear| !clear.warmed),
            Standing::Unknown { .. } => false,
        };
        self.crystals().filter(|_| !settled)
    }

    /// A content in the unit of the label, so that the keeper can compare the two; a solid never holds more than all.
    ///
    /// # Errors
    /// If it cannot be converted.
    pub fn usual(&self, content: Estimate) -> Result<Usual, Problem> {
        if self.stock.form == Form::Solid {
            let Estimate { low, mid, high } = content.scaled(100.0);
            let estimate = Estimate { low: low.min(100.0), mid: mid.min(100.0), high: high.min(100.0) };
            return Ok(Usual { unit: "% w/w".to_owned(), estimate });
        }
        let substance = Substance::of(self.reagent);
        let unit = StrengthUnit::named(&self.state.label.unit);
        let convert = |value: f64| in_unit(substance, value, &unit);
        let converted = (convert(content.low), convert(content.mid), convert(content.high));
        // Beyond what the density is on file for, grams in a litre are said instead.
        let (unit, estimate) = match converted {
            (Ok(low), Ok(mid), Ok(high)) => (unit.name, Estimate { low, mid, high }),
            _ => ("g/L".to_owned(), content),
        };
        Ok(Usual { unit, estimate })
    }
}

fn in_unit(substance: Substance<'_>, g_per_l: f64, unit: &StrengthUnit) -> Result<f64, Problem> {
    let strength = Strength::from_base(Basis::InVolume, g_per_l);
    let converted = solution::converted(substance, strength, unit.basis, Temperature::celsius(20.0))?;
    Ok(converted.base() / unit.factor)
}
