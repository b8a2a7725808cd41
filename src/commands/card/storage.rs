//! The `storage` card: what stands at a place, how it wants to be kept, and what must never come beside it.

use std::collections::{BTreeMap, BTreeSet};

use super::spill::Standing;
use crate::catalogue::{Apart, Around, Form, Keeping, Verdict};
use crate::commands::audit::{self, Audit, Finding};
use crate::commands::layout::{Layout, Stands};
use crate::commands::looking::each_on_shelf;
use crate::commands::receive::label_text;
use crate::commands::{Problem, Session, arguments};
use crate::disposal::local::{About, Local, Store};
use crate::hazard::apart::{against_group, ill_placed};
use crate::hazard::storage::Site;
use crate::units::show::amount;

/// What the card says.
#[derive(Debug)]
pub struct Storage {
    /// The stock, if it was one that was asked about.
    pub stock: Option<String>,
    /// The place.
    pub site: Site,
    /// What stands there.
    pub standing: Vec<Stood>,
    /// What each reagent wants, by its name.
    pub wants: BTreeMap<String, Wants>,
    /// What must not come beside it, the worst first.
    pub never: Vec<Never>,
    /// What must not be around it, the worst first.
    pub around: Vec<Near>,
    /// How much may be kept of what stands there, as the keeper was told.
    pub limits: Vec<Limit>,
    /// What `audit` finds there.
    pub findings: Vec<Finding>,
    /// True if the rules are past their day of review.
    pub check: bool,
}

/// One container.
#[derive(Debug)]
pub struct Stood {
    /// Code, place, label and amount.
    pub at: Standing,
    /// Its reagent's name.
    pub name: String,
    /// What it is made of.
    pub container: &'static str,
}

/// What a reagent wants where it stands.
#[derive(Debug, Clone)]
pub struct Wants {
    /// Its keeping.
    pub keeping: Keeping,
    /// True if light must not get at it in the form in which it stands there.
    pub dark: bool,
    /// True if its cap must let gas out at the strength at which it stands there.
    pub vent: bool,
}

/// What must not come beside it.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Never {
    /// How far apart; the strictest first.
    pub verdict: std::cmp::Reverse<Verdict>,
    /// What must not come.
    pub group: String,
    /// What happens.
    pub consequence: String,
    /// Codes of the stocks to which it does that.
    pub stocks: Vec<String>,
    /// Key of the source.
    pub source: String,
}

/// What must not be around it.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Near {
    /// What.
    pub around: Around,
    /// What happens.
    pub consequence: String,
    /// Key of the source.
    pub source: String,
}

/// How much may be kept.
#[derive(Debug)]
pub struct Limit {
    /// Of what.
    pub of: String,
    /// The rule.
    pub store: Store,
}

/// Gathers a card for each place or stock.
///
/// # Errors
/// For a word that is neither, and a register that contradicts itself.
pub fn gather(session: &Session, local: &Local, what: &[String]) -> Result<Vec<Storage>, Problem> {
    let mut register = session.register()?;
    let (layout, held) = register.read(|reading| {
        let layout = Layout::of(session, reading)?;
        let mut held = BTreeMap::new();
        each_on_shelf(
            session,
            reading,
            &layout.places,
            |_| true,
            |sight| {
                let standing = Standing {
                    code: sight.stock.code.clone(),
                    place: sight.state.place.clone(),
                    label: label_text(&sight.state.label),
                    left: amount(sight.state.left, &sight.state.unit),
                };
                held.insert(sight.stock.code.clone(), standing);
                Ok(())
            },
        )?;
        Ok::<_, Problem>((layout, held))
    })?;
    what.iter().map(|word| of(session, local, &layout, &held, word)).collect()
}

fn of(
    session: &Session,
    local: &Local,
    layout: &Layout<'_>,
    held: &BTreeMap<String, Standing>,
    word: &str,
) -> Result<Storage, Problem> {
    let stock = layout.stocks.iter().find(|stock| stock.code.eq_ignore_ascii_case(word));
    let place = match stock {
        Some(stock) => stock.place,
        None => {
            let name = &arguments::place(&layout.places, word)?.name;
            layout.sites.iter().position(|site| site.name == *name).unwrap_or_default()
        }
    };
    let meant = |other: &&Stands<'_>| match stock {
        Some(stock) => other.code == stock.code,
        None => other.place == place,
    };
    let here: Vec<&Stands<'_>> = layout.stocks.iter().filter(meant).collect();
    let site = layout.sites[place].clone();
    let codes: BTreeSet<&str> = here.iter().map(|stock| stock.code.as_str()).collect();
    let mut findings = audit::run(session, &Audit { at: Some(site.name.clone()), before: None })?.findings;
    findings.retain(|finding| finding.stocks.iter().any(|code| codes.contains(code.as_str())));
    // What two stocks do to each other names both, wherever the other stands.
    for finding in findings.iter_mut().filter(|finding| !finding.fault.mutual) {
        finding.stocks.retain(|code| codes.contains(code.as_str()));
    }
    Ok(Storage {
        stock: stock.map(|stock| stock.code.clone()),
        standing: here.iter().filter_map(|stock| stood(stock, held)).collect(),
        wants: wants(&here),
        never: never(layout.apart, &here),
        around: around(layout.apart, &here),
        limits: limits(session, local, &here),
        findings,
        check: layout.apart.review_by < session.day,
        site,
    })
}

fn stood(stock: &Stands<'_>, held: &BTreeMap<String, Standing>) -> Option<Stood> {
    let at = held.get(&stock.code)?;
    let at =
        Standing { code: at.code.clone(), place: at.place.clone(), label: at.label.clone(), left: at.left.clone() };
    Some(Stood { at, name: stock.neighbour().reagent.name.clone(), container: stock.kept.container.word() })
}

fn wants(here: &[&Stands<'_>]) -> BTreeMap<String, Wants> {
    let mut wants: BTreeMap<String, Wants> = BTreeMap::new();
    for stock in here.iter().map(|stock| stock.neighbour()) {
        let Some(keeping) = &stock.reagent.keeping else { continue };
        let dark = keeping.dark.is_some() && keeping.dark_form.is_none_or(|form| form == stock.form);
        let vents = |bound: f64| stock.percent_w_w.is_none_or(|percent| percent >= bound);
        let vent = stock.form == Form::Solution && keeping.vent_above.as_ref().is_some_and(|bound| vents(bound.value));
        let row = wants.entry(stock.reagent.name.clone());
        let row = row.or_insert_with(|| Wants { keeping: keeping.clone(), dark: false, vent: false });
        row.dark |= dark;
        row.vent |= vent;
    }
    wants
}

/// Every group that conflicts with something here: how far apart at the worst, and what happens, with whom it does.
fn never(apart: &Apart, here: &[&Stands<'_>]) -> Vec<Never> {
    let mut rows: Vec<Never> = Vec::new();
    for group in &apart.groups {
        let met = here.iter().filter_map(|stock| Some((stock, against_group(apart, stock.neighbour(), &group.key)?)));
        let met: Vec<_> = met.collect();
        let Some(worst) = met.iter().map(|(_, conflict)| conflict.verdict).max() else { continue };
        for (stock, conflict) in met.iter().filter(|(_, conflict)| conflict.verdict == worst) {
            let consequence = conflict.pair.consequence.clone().unwrap_or_default();
            // What happens is told once, with everybody to whom it does.
            match rows.iter_mut().find(|row| row.group == group.name && row.consequence == consequence) {
                Some(row) => row.stocks.push(stock.code.clone()),
                None => rows.push(Never {
                    verdict: std::cmp::Reverse(worst),
                    group: group.name.clone(),
                    consequence,
                    stocks: vec![stock.code.clone()],
                    source: conflict.pair.source.clone(),
                }),
            }
        }
    }
    rows.sort();
    rows
}

fn around(apart: &Apart, here: &[&Stands<'_>]) -> Vec<Near> {
    let rows = here.iter().flat_map(|stock| ill_placed(apart, stock.neighbour(), &Around::ALL));
    let rows: BTreeMap<Around, Near> = rows
        .map(|row| {
            let near = Near { around: row.tag, consequence: row.consequence.clone(), source: row.source.clone() };
            (row.tag, near)
        })
        .collect();
    rows.into_values().collect()
}

fn limits(session: &Session, local: &Local, here: &[&Stands<'_>]) -> Vec<Limit> {
    let of = |about: &About| match about {
        About::Reagent(key) => {
            let reagent = here.iter().map(|stock| stock.neighbour().reagent).find(|reagent| reagent.key == *key)?;
            Some(reagent.name.clone())
        }
        About::Group(key) => {
            here.iter().find(|stock| stock.neighbour().groups().contains(key))?;
            Some(session.catalogue.apart().group(key).map_or_else(|| key.clone(), |group| group.name.clone()))
        }
    };
    let rules = local.stores.iter();
    rules.filter_map(|store| Some(Limit { of: of(&store.about)?, store: store.clone() })).collect()
}
