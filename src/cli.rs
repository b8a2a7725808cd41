//! Every verb with its arguments, and one line each that sends it to its command.

pub mod demo;
pub mod one_verb;
pub mod progress;
pub mod watch;

use std::path::PathBuf;

use chrono::NaiveDate;
use clap::{Parser, Subcommand};

use crate::commands::about::{About, Itself};
use crate::commands::assay::Answered;
use crate::commands::assay_arguments::Assay;
use crate::commands::audit::{Audit, Audited};
use crate::commands::backup::{Backup, Restore};
use crate::commands::bathe::{Bathe, Bathed};
use crate::commands::card::{Card, Drawn};
use crate::commands::classify::{Classify, Judged};
use crate::commands::convert::{Convert, Converted};
use crate::commands::correct::Correct;
use crate::commands::decant::Decant;
use crate::commands::dip_book::{Book, Dips, DipsVerb, Page};
use crate::commands::dip_own::Kept;
use crate::commands::dip_read::Recipe;
use crate::commands::discard::{Discard, Discarded};
use crate::commands::dose::{DoseArguments, Dosed};
use crate::commands::due::{Due, DueArguments};
use crate::commands::event::{Count, Move, Note, Open, Retire, Take};
use crate::commands::export::{Export, Outcome};
use crate::commands::import::{Import, ImportVerb, Imported};
use crate::commands::local::{LocalArguments, LocalVerb, OnRecord};
use crate::commands::local_check::Filled;
use crate::commands::measure::{Measure, Measures};
use crate::commands::place::{Place, Places};
use crate::commands::quench::{Quench, Quenched};
use crate::commands::ready::{Readiness, ReadyFor};
use crate::commands::reagents::{Known, Reagents};
use crate::commands::receive::{Entered, Receive};
use crate::commands::sds::{Sds, Sheets};
use crate::commands::settings::{Done, New, Set};
use crate::commands::shelf::{Shelf, Shelved, Show, Shown};
use crate::commands::signatures::Readers;
use crate::commands::strength::{Check, Checked};
use crate::commands::verify::{Verified, Verify};
use crate::commands::{
    Problem, Session, about, arguments, assay, audit, backup, bathe, card, classify, convert, correct, decant, dip_add,
    dip_book, dip_read, dip_revise, discard, dose, due, event, export, import, local, local_check, local_set, measure,
    place, quench, ready, reagents, receive, sds, settings, shelf, signatures, strength, verify,
};
use crate::dip::Verdict;
use crate::disposal::quench::Verdict as Ended;
use demo::{Demo, Played};
pub use one_verb::parse;

/// The command line.
pub type Cli = CommandLine<Verb>;

/// Keeps the small chemical shelf of someone who dips incoming water plants
///
/// It knows what stands there and how strong it still is, what dip it can make, with which dose, and until when; what must
/// not stand beside what; how a used bath is ended and unwanted stock is handed over.
#[derive(Debug, Parser)]
#[command(name = "brimstock", version, max_term_width = 100)]
#[command(after_help = "\
A first look: brimstock demo
Exit codes:
  0  done, or yes
  1  the answer is not yes (test first, short, too weak, held, refused; something found)
  2  the question was wrong
  3  data are missing or contradict each other
  4  a file or the register could not be read or written
  130  interrupted; nothing was written")]
pub struct CommandLine<V: Subcommand> {
    /// The register's file [default: brimstock/register.brimstock in the user's data folder]
    #[arg(long, global = true, env = "BRIMSTOCK_REGISTER", value_name = "PATH")]
    pub register: Option<PathBuf>,
    /// The day the question is asked for [default: today]
    #[arg(long, global = true, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
    pub on: Option<NaiveDate>,
    /// Answer as one JSON object
    #[arg(long, global = true)]
    pub json: bool,
    /// Show every step of a number with its source
    #[arg(long, global = true)]
    pub why: bool,
    /// No colour, no box lines
    #[arg(long, global = true)]
    pub plain: bool,
    /// What to do
    #[command(subcommand)]
    pub verb: V,
}

/// Every verb.
#[derive(Debug, Subcommand)]
#[allow(missing_docs, reason = "each variant's help stands on its arguments")]
pub enum Verb {
    New(New),
    Set(Set),
    Place(Place),
    Measure(Measure),
    Receive(Receive),
    Open(Open),
    Note(Note),
    Move(Move),
    Decant(Decant),
    Take(Take),
    Count(Count),
    Correct(Correct),
    Retire(Retire),
    Shelf(Shelf),
    Show(Show),
    Sds(Sds),
    Check(Check),
    Assay(Assay),
    Dips(Dips),
    Dose(DoseArguments),
    ReadyFor(ReadyFor),
    Quench(Quench),
    Bathe(Bathe),
    Audit(Audit),
    Due(DueArguments),
    Classify(Classify),
    Card(Card),
    Discard(Discard),
    Local(LocalArguments),
    Convert(Convert),
    Reagents(Reagents),
    Verify(Verify),
    Backup(Backup),
    Restore(Restore),
    Export(Export),
    Import(Import),
    About(About),
    Demo(Demo),
    /// Print a completion script for a shell
    #[command(
        after_help = "Example: brimstock completions bash > ~/.local/share/bash-completion/completions/brimstock"
    )]
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
}

impl Verb {
    /// True if it makes a new register, for which the usual folder is made.
    #[must_use]
    pub fn makes_a_register(&self) -> bool {
        matches!(self, Verb::New(_) | Verb::Import(Import { verb: ImportVerb::Archive(_) }))
    }

    /// True if it may ask for a dip, so that those of the keeper's own must be known.
    #[must_use]
    pub fn asks_for_dips(&self) -> bool {
        !matches!(
            self,
            Verb::New(_)
                | Verb::Sds(_)
                | Verb::Local(_)
                | Verb::Convert(_)
                | Verb::Verify(_)
                | Verb::Backup(_)
                | Verb::Restore(_)
                | Verb::Export(_)
                | Verb::Import(_)
                | Verb::Reagents(_)
                | Verb::About(_)
                | Verb::Demo(_)
                | Verb::Completions { .. }
        )
    }
}

/// What a command returns.
#[derive(Debug)]
#[allow(missing_docs, reason = "named after the verbs")]
pub enum Answer {
    Done(Done),
    Places(Places),
    Measures(Measures),
    Entered(Entered),
    Shelved(Shelved),
    Shown(Box<Shown>),
    Sheets(Sheets),
    Checked(Box<Checked>),
    Assay(Answered),
    Book(Book),
    Recipe(Box<Recipe>),
    Kept(Box<Kept>),
    Readers(Readers),
    Dosed(Box<Dosed>),
    Readiness(Box<Readiness>),
    Quenched(Box<Quenched>),
    Bathed(Box<Bathed>),
    Audited(Box<Audited>),
    Due(Box<Due>),
    Judged(Box<Judged>),
    Drawn(Box<Drawn>),
    Discarded(Box<Discarded>),
    OnRecord(Box<OnRecord>),
    Filled(Filled),
    Converted(Converted),
    Reagents(Known),
    Verified(Verified),
    Export(Outcome),
    Imported(Imported),
    Itself(Itself),
    Played(Played),
    Script(String),
}

impl Answer {
    /// 0 for done or yes, 1 for any answer that is not yes; 3 for one that lacks something that it should be made of.
    #[must_use]
    pub fn exit_code(&self) -> u8 {
        if let Answer::Verified(Verified { of_reagents: 1.., .. }) = self {
            return 3;
        }
        let yes = match self {
            Answer::Checked(checked) => checked.is_good(),
            Answer::Reagents(Known::LookedThrough(looked)) => looked.faults.is_empty(),
            Answer::Judged(judged) => !judged.is_never(),
            Answer::Audited(audited) => audited.is_clean(),
            Answer::Due(due) => due.matters.is_empty(),
            Answer::Sheets(Sheets::Listed(listed)) => listed.is_good(),
            Answer::Export(Outcome::Exported(exported)) => exported.notes.is_empty(),
            Answer::Verified(verified) => verified.faults.is_empty(),
            Answer::Filled(filled) => filled.by_hand.is_empty(),
            Answer::Drawn(drawn) => drawn.not_ready().is_empty(),
            Answer::Dosed(dosed) => dosed.verdict == Verdict::Ready,
            Answer::Readiness(readiness) => readiness.allocation.is_ready(),
            Answer::Quenched(quenched) => quenched.verdict == Ended::CanBeEnded,
            Answer::Bathed(bathed) => bathed.is_yes(),
            _ => true,
        };
        u8::from(!yes)
    }
}

/// Sends a verb to its command.
///
/// # Errors
/// The command's problem.
pub fn run(session: &Session, verb: Verb) -> Result<Answer, Problem> {
    Ok(match verb {
        Verb::New(given) => Answer::Done(settings::new(session, &given)?),
        Verb::Set(given) => Answer::Done(settings::set(session, &given)?),
        Verb::Place(given) => Answer::Places(place::run(session, given)?),
        Verb::Measure(given) => Answer::Measures(measure::run(session, &given)?),
        Verb::Receive(given) => Answer::Entered(receive::run(session, given)?),
        Verb::Open(given) => Answer::Entered(event::open(session, &given)?),
        Verb::Note(given) => Answer::Entered(event::note(session, &given)?),
        Verb::Decant(given) => Answer::Entered(decant::run(session, &given)?),
        Verb::Move(given) => Answer::Entered(event::shift(session, &given)?),
        Verb::Take(given) => Answer::Entered(event::take(session, &given)?),
        Verb::Count(given) => Answer::Entered(event::count(session, &given)?),
        Verb::Correct(given) => Answer::Entered(correct::run(session, &given)?),
        Verb::Retire(given) => Answer::Entered(event::retire(session, &given)?),
        Verb::Shelf(given) => Answer::Shelved(shelf::shelf(session, &given)?),
        Verb::Show(given) if given.sds => Answer::Sheets(Sheets::One(sds::one(session, &given.stock)?)),
        Verb::Show(given) => Answer::Shown(Box::new(shelf::show(session, &given)?)),
        Verb::Sds(given) => Answer::Sheets(sds::run(session, &given)?),
        Verb::Check(given) => Answer::Checked(Box::new(strength::check(session, &given)?)),
        Verb::Assay(given) => Answer::Assay(assay::run(session, &given)?),
        Verb::Dips(Dips { verb: Some(DipsVerb::Read(given)), .. }) => {
            Answer::Recipe(Box::new(dip_read::run(session, &given)?))
        }
        Verb::Dips(Dips { verb: Some(DipsVerb::Add(given)), .. }) => {
            Answer::Kept(Box::new(dip_add::run(session, &given)?))
        }
        Verb::Dips(Dips { verb: Some(DipsVerb::Revise(given)), .. }) => {
            Answer::Kept(Box::new(dip_revise::run(session, &given)?))
        }
        Verb::Dips(Dips { verb: Some(DipsVerb::Sign(given)), .. }) => {
            Answer::Readers(signatures::sign(session, &given)?)
        }
        Verb::Dips(Dips { verb: Some(DipsVerb::Signed(given)), .. }) => {
            Answer::Readers(signatures::signed(session, &given)?)
        }
        Verb::Dips(Dips { verb: Some(DipsVerb::Show(Page { dip, version })), .. }) => {
            Answer::Book(dip_book::dips(session, &Dips { dip: Some(dip), version, verb: None })?)
        }
        Verb::Dips(given) => Answer::Book(dip_book::dips(session, &given)?),
        Verb::Dose(given) => Answer::Dosed(Box::new(dose::dose(session, &given)?)),
        Verb::ReadyFor(given) => Answer::Readiness(Box::new(ready::run(session, &given)?)),
        Verb::Quench(given) => Answer::Quenched(Box::new(quench::run(session, &given)?)),
        Verb::Bathe(given) => Answer::Bathed(Box::new(bathe::run(session, &given)?)),
        Verb::Audit(given) => Answer::Audited(Box::new(audit::run(session, &given)?)),
        Verb::Due(given) => Answer::Due(Box::new(due::run(session, &given)?)),
        Verb::Classify(given) => Answer::Judged(Box::new(classify::run(session, &given)?)),
        Verb::Card(given) => Answer::Drawn(Box::new(card::run(session, given)?)),
        Verb::Discard(given) => Answer::Discarded(Box::new(discard::run(session, &given)?)),
        Verb::Local(LocalArguments { template: true, .. }) => Answer::Script(local::TEMPLATE.to_owned()),
        Verb::Local(LocalArguments { verb: Some(LocalVerb::Set(given)), .. }) => {
            Answer::Done(local_set::run(session, &given)?)
        }
        Verb::Local(LocalArguments { verb: Some(LocalVerb::Check), .. }) => Answer::Filled(local_check::run(session)?),
        Verb::Local(_) => Answer::OnRecord(Box::new(local::run(session)?)),
        Verb::Convert(given) => Answer::Converted(convert::run(session, &given)?),
        Verb::Reagents(given) => Answer::Reagents(reagents::run(session, &given)?),
        Verb::Verify(given) => Answer::Verified(verify::run(session, &given)?),
        Verb::Backup(given) => Answer::Done(backup::backup(session, &given)?),
        Verb::Restore(given) => Answer::Done(backup::restore(session, &given)?),
        Verb::Export(given) => Answer::Export(export::run(session, &given)?),
        Verb::Import(given) => Answer::Imported(import::run(session, &given)?),
        Verb::About(About {}) => Answer::Itself(about::run()),
        Verb::Demo(given) => Answer::Played(demo::run(session, &given)?),
        Verb::Completions { shell } => Answer::Script(completions(shell)),
    })
}

fn completions(shell: clap_complete::Shell) -> String {
    use clap::CommandFactory;
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Cli::command(), "brimstock", &mut script);
    String::from_utf8_lossy(&script).into_owned()
}
