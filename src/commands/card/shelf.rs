//! The `shelf` card: what it says.

use std::collections::BTreeSet;

use chrono::NaiveDate;

use crate::catalogue::{Container, Jurisdiction};
use crate::commands::audit::{self, Audit, Audited};
use crate::commands::composition::{Composition, Shown};
use crate::commands::local::{self, Unanswered};
use crate::commands::looking::each_on_shelf;
use crate::commands::sds::{self, List, SheetLine};
use crate::commands::shelf::{self, ShelfLine};
use crate::commands::sight::Sight;
use crate::commands::{Problem, Session, discard, layout, local_check};
use crate::disposal::local::{Asked, Local};
use crate::hazard::storage::Site;
use crate::units::strength::StrengthUnit;

/// What the card says.
#[derive(Debug)]
pub struct Shelf {
    /// The places with what stands there, in the order in which they were made.
    pub places: Vec<Shelved>,
    /// What `audit` finds.
    pub audited: Audited,
    /// The stocks with their data sheets.
    pub sheets: Vec<SheetLine>,
    /// What the local rules are silent about.
    pub unanswered: Vec<Unanswered>,
    /// Answers that want to be asked for again: of whom, and when they were given.
    pub ask_again: Vec<(String, Asked)>,
    /// The day since which the rules of handing over want a second look, if it has passed.
    pub due_since: Option<NaiveDate>,
}

/// A place with what stands there.
#[derive(Debug)]
pub struct Shelved {
    /// The place.
    pub site: Site,
    /// Its stocks, in the order of receipt.
    pub holdings: Vec<Holding>,
}

/// One stock.
#[derive(Debug)]
pub struct Holding {
    /// As `shelf` lists it.
    pub line: ShelfLine,
    /// Its full name.
    pub name: String,
    /// What it is kept in.
    pub container: Container,
    /// The day it came.
    pub received: NaiveDate,
    /// The day its seal was broken here.
    pub opened: Option<NaiveDate>,
    /// What its label shows; nothing without data.
    pub shown: Option<Shown>,
    /// Why its strength cannot be relied on before a test.
    pub doubt: Option<String>,
    /// Why it should go.
    pub because: Vec<String>,
    /// True if its label is above the local limit of its strength.
    pub too_strong: bool,
    /// Keys of the sources of its strength.
    pub sources: BTreeSet<String>,
}

impl Shelf {
    /// Every stock.
    pub fn holdings(&self) -> impl Iterator<Item = &Holding> {
        self.places.iter().flat_map(|place| &place.holdings)
    }
}

/// Gathers it.
///
/// # Errors
/// A register that cannot be read or contradicts itself.
pub fn gather(session: &Session, local: &Local) -> Result<Shelf, Problem> {
    let places = standing(session, local)?;
    let record = local::run(session)?;
    Ok(Shelf {
        places,
        audited: audit::run(session, &Audit { before: None, at: None })?,
        sheets: sds::list(session, &List { missing: false })?.lines,
        unanswered: record.unanswered,
        ask_again: local_check::run(session)?.ask_again,
        due_since: record.due_since,
    })
}

/// The places with what stands there.
fn standing(session: &Session, local: &Local) -> Result<Vec<Shelved>, Problem> {
    let mut register = session.register()?;
    register.read(|reading| {
        let places = reading.places()?;
        let site = |place| Shelved { site: layout::site(place, session.day), holdings: Vec::new() };
        let mut shelved: Vec<Shelved> = places.iter().map(site).collect();
        each_on_shelf(
            session,
            reading,
            &places,
            |_| true,
            |sight| {
                let holding = holding(session, local, &sight)?;
                if let Some(place) = shelved.iter_mut().find(|place| place.site.name == holding.line.place) {
                    place.holdings.push(holding);
                }
                Ok(())
            },
        )?;
        Ok(shelved)
    })
}

fn holding(session: &Session, local: &Local, sight: &Sight<'_>) -> Result<Holding, Problem> {
    let line = shelf::line(sight)?;
    let doubt = match &line.strength {
        Some(_) => sight.offer().doubt,
        None => Some("nobody can tell how strong it is".to_owned()),
    };
    let label = &sight.state.label;
    let written = StrengthUnit::named(&label.unit).of(label.value);
    let whose = local.jurisdiction.map_or(Jurisdiction::ALL.to_vec(), |place| vec![place]);
    Ok(Holding {
        name: sight.reagent.name.clone(),
        container: sight.state.kept_in.container,
        received: sight.state.received,
        opened: sight.state.opened,
        shown: Composition::shown(session.catalogue, sight, discard::regime(&whose)),
        doubt: doubt.map(|why| why.trim_start_matches(&format!("{}: ", sight.stock.code)).to_owned()),
        because: discard::reasons(session, sight),
        too_strong: local::above(local, sight.reagent, written).is_ok_and(|above| above.is_some()),
        sources: sight.sources(),
        line,
    })
}
