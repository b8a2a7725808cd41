//! `dips`: the dip book.

use clap::{Args, Subcommand};

use super::bathe::outcome;
use super::dip_add::Add;
use super::dip_read::Read;
use super::dip_revise::Revise;
use super::dose::goal_of;
use super::own_dips::{self, VersionLine};
use super::signatures::{Sign, Signed};
use super::{Problem, Session, arguments};
use crate::catalogue::Dip;
use crate::dip::Goal;
use crate::dip::log::outcome::Outcome;

/// List the dip book, show one dip with its evidence, read a recipe, enter and change dips, sign them
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
#[command(
    after_help = "Examples:\n  brimstock dips\n  brimstock dips bleach-fine-leaved\n  brimstock dips read \"2 tbsp alum per gal for 3 h\""
)]
pub struct Dips {
    /// One dip
    pub dip: Option<String>,
    /// An earlier version of it
    #[arg(long, value_name = "N", requires = "dip", value_parser = arguments::whole(0_u32..=999_999_999))]
    pub version: Option<u32>,
    /// Something else than showing the book
    #[command(subcommand)]
    pub verb: Option<DipsVerb>,
}

/// What can be done beside showing the dip book.
#[derive(Debug, Subcommand)]
#[allow(missing_docs, reason = "each variant's help stands on its arguments")]
pub enum DipsVerb {
    Show(Page),
    Read(Read),
    Add(Box<Add>),
    Revise(Box<Revise>),
    Sign(Sign),
    Signed(Signed),
}

/// Show one dip, as `dips DIP` does
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock dips show bleach-fine-leaved")]
pub struct Page {
    /// The dip
    pub dip: String,
    /// An earlier version of it
    #[arg(long, value_name = "N", value_parser = arguments::whole(0_u32..=999_999_999))]
    pub version: Option<u32>,
}

impl DipsVerb {
    /// True for a word that a key must not be.
    #[must_use]
    pub fn is_word(word: &str) -> bool {
        DipsVerb::has_subcommand(word)
    }
}

/// The dip book.
#[derive(Debug, Clone)]
pub struct Book {
    /// Its dips, with their bands; one if one was asked for.
    pub dips: Vec<(Dip, Goal)>,
    /// True if one was asked for.
    pub single: bool,
    /// Where one was asked for, the other dips of its reagent, each with how many times stronger this one's aim is.
    pub kin: Vec<(String, f64)>,
    /// The keeper's own results with it, where one was asked for.
    pub own: Vec<Outcome>,
    /// From which day after the last bath on a look counts among them.
    pub counts_after: i64,
    /// Its versions then, oldest first.
    pub versions: Vec<VersionLine>,
}

/// Lists the book.
///
/// # Errors
/// For an unknown dip or version, and a register that cannot be read.
pub fn dips(session: &Session, arguments: &Dips) -> Result<Book, Problem> {
    let entered = own_dips::versions(session)?;
    let mut versions = Vec::new();
    let chosen: Vec<Dip> = match &arguments.dip {
        Some(word) => {
            let dip = arguments::dip(session.catalogue, word)?;
            versions = own_dips::history(session, &entered, &dip.key);
            match arguments.version {
                Some(number) => vec![own_dips::numbered(session, &entered, dip, number)?],
                None => vec![dip.clone()],
            }
        }
        None => session.catalogue.dips().to_vec(),
    };
    let with_goal = |dip: Dip| goal_of(session, &dip).map(|goal| (dip, goal));
    let dips = chosen.into_iter().map(with_goal).collect::<Result<Vec<_>, Problem>>()?;
    let (kin, own) = match (&arguments.dip, &dips[..]) {
        (Some(_), [(dip, goal)]) => (kin(session, dip, goal)?, outcome::own(session, &dip.key)?),
        _ => (Vec::new(), Vec::new()),
    };
    let counts_after = outcome::counts_after(session);
    Ok(Book { dips, single: arguments.dip.is_some(), kin, own, counts_after, versions })
}

/// The other dips of a dip's reagent, each with the ratio of this one's aim to its own, the strongest of them first.
///
/// 10 mg/L of permanganate are 5 times the 2 mg/L of another bath.
///
/// Source: `definition`.
fn kin(session: &Session, dip: &Dip, goal: &Goal) -> Result<Vec<(String, f64)>, Problem> {
    let aim = goal.aim.to_g_per_l();
    let others = session.catalogue.dips().iter().filter(|other| other.reagent == dip.reagent && other.key != dip.key);
    let mut kin = others
        .map(|other| Ok((other.key.clone(), aim / goal_of(session, other)?.aim.to_g_per_l())))
        .collect::<Result<Vec<_>, Problem>>()?;
    kin.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
    Ok(kin)
}
