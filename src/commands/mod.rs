//! One verb family a file: each takes the session and its arguments and returns an answer or a problem.

pub mod about;
pub mod allocating;
pub mod archive;
pub mod arguments;
pub mod assay;
pub mod assay_arguments;
pub mod assay_plan;
pub mod audit;
pub mod backup;
pub mod bathe;
pub mod card;
pub mod chart;
pub mod classify;
pub mod composition;
pub mod container;
pub mod convert;
pub mod correct;
pub mod decant;
pub mod dip_add;
pub mod dip_book;
pub mod dip_own;
pub mod dip_read;
pub mod dip_revise;
pub mod discard;
pub mod dose;
pub mod dose_baths;
pub mod dose_steps;
pub mod due;
pub mod elsewhere;
pub mod event;
pub mod export;
pub mod gas;
pub mod import;
pub mod layout;
pub mod local;
pub mod local_check;
pub mod local_set;
pub mod looking;
pub mod measure;
pub mod own_dips;
pub mod own_measures;
pub mod own_reagents;
pub mod place;
pub mod placing;
pub mod quench;
pub mod readings;
pub mod ready;
pub mod reagents;
pub mod receipt;
pub mod receive;
pub mod sds;
pub mod settings;
pub mod shelf;
pub mod shopping;
pub mod sight;
pub mod signatures;
pub mod strength;
pub mod testing;
pub mod verify;

use std::cell::RefCell;
use std::path::PathBuf;

use chrono::{NaiveDate, NaiveDateTime};
use thiserror::Error;

use crate::catalogue::{Catalogue, CatalogueError};
use crate::chem::ChemError;
use crate::decay::assay::AssayError;
use crate::disposal::balance::BalanceError;
use crate::register::ledger::Contradiction;
pub use crate::register::system::told;
use crate::register::work::Work;
use crate::register::{Register, StoreError};
use crate::units::parse::Unreadable;

/// What every command receives.
#[derive(Debug)]
pub struct Session {
    /// What `hazards/` says.
    pub catalogue: &'static Catalogue,
    /// The register's file.
    pub path: PathBuf,
    /// The day the question is asked for.
    pub day: NaiveDate,
    /// The moment of entry, `YYYY-MM-DDTHH:MM:SSZ`.
    pub entered_at: String,
    /// The same by the clock on the wall.
    pub clock: NaiveDateTime,
    /// The register, where it was looked into already.
    pub opened: Opened,
    /// Who watches long work.
    pub work: Work,
}

/// A register that was opened before a command asks for it, and is handed on once.
#[derive(Debug, Default)]
pub struct Opened(RefCell<Option<Register>>);

impl Opened {
    /// This one, if it was opened.
    #[must_use]
    pub fn of(register: Option<Register>) -> Self {
        Opened(RefCell::new(register))
    }
}

impl Session {
    /// Opens the register.
    ///
    /// # Errors
    /// The [`StoreError`] as a problem.
    pub fn register(&self) -> Result<Register, Problem> {
        let register = match self.opened.0.take() {
            Some(register) => register.up_to_date()?,
            None => Register::open(&self.path)?,
        };
        Ok(register.watched(self.work.clone())?)
    }

    /// Takes back a register that was only read, for whoever asks next. It is closed with the session.
    pub fn give_back(&self, register: Register) {
        self.opened.0.replace(Some(register));
    }

    /// Leaves a register that was given back to the end of the program, which closes its file at once: to give up a schema
    /// piece by piece takes as long as a third of reading it.
    pub fn leave_open(self) {
        std::mem::forget(self.opened);
    }
}

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, Error)]
#[error("{what}")]
pub struct Problem {
    /// Whose doing it is, which decides the exit code.
    pub kind: Kind,
    /// What is wrong.
    pub what: String,
    /// Why that is wrong.
    pub why: Option<String>,
    /// What to do.
    pub hint: Option<String>,
    /// What is wrong with single rows of a list; nothing of anything else.
    pub rows: Vec<RowFault>,
}

/// What is wrong with one cell of a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RowFault {
    /// The line of the file on which the row begins; the headings stand on row 1.
    pub row: u64,
    /// The column, as its heading has it.
    pub column: String,
    /// What stands there.
    pub value: String,
    /// What is wrong with it.
    pub problem: String,
    /// What is accepted there.
    pub accepted: String,
}

/// Whose doing a problem is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The question was wrong: exit 2.
    Question,
    /// Data are missing or contradict each other: exit 3.
    Data,
    /// A file or the register could not be read or written: exit 4.
    Store,
    /// The answer is no, and nothing was entered: exit 1.
    No,
    /// The keeper wanted it to end: exit 130.
    Interrupted,
}

impl Kind {
    /// The exit code.
    #[must_use]
    pub fn exit_code(self) -> u8 {
        match self {
            Kind::Question => 2,
            Kind::Data => 3,
            Kind::Store => 4,
            Kind::No => 1,
            Kind::Interrupted => 130,
        }
    }

    /// The word in JSON.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Kind::Question => "question",
            Kind::Data => "data",
            Kind::Store => "store",
            Kind::No => "refused",
            Kind::Interrupted => "interrupted",
        }
    }
}

impl Problem {
    /// The question was wrong.
    #[must_use]
    pub fn question(what: impl Into<String>) -> Self {
        Problem { kind: Kind::Question, what: what.into(), why: None, hint: None, rows: Vec::new() }
    }

    /// Data are missing or contradict each other.
    #[must_use]
    pub fn data(what: impl Into<String>) -> Self {
        Problem { kind: Kind::Data, ..Problem::question(what) }
    }

    /// The answer is no, and nothing was entered.
    #[must_use]
    pub fn refused(what: impl Into<String>) -> Self {
        Problem { kind: Kind::No, ..Problem::question(what) }
    }

    /// Adds why.
    #[must_use]
    pub fn because(mut self, why: impl Into<String>) -> Self {
        self.why = Some(why.into());
        self
    }

    /// Adds what to do.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }
}

impl From<StoreError> for Problem {
    fn from(error: StoreError) -> Self {
        let kind = if matches!(error, StoreError::Interrupted) { Kind::Interrupted } else { Kind::Store };
        let hint = match &error {
            StoreError::Unconfirmed(_) => "do not enter it again; look to the disk, then run `brimstock verify`",
            StoreError::Interrupted => "ask again when there is time",
            StoreError::Missing(_) => "make one with `brimstock new`, or name another with --register PATH",
            StoreError::Exists(_) => "nothing was changed; choose another path with --register PATH",
            StoreError::Empty(_) => "run `brimstock new` with the same path to make it a register",
            StoreError::Foreign(_) => {
                "nothing was changed; name the right file with --register PATH; if this is your register, the head of its file is damaged: `brimstock restore COPY` puts your last copy back, and `brimstock export csv FOLDER --sound-only` saves what is sound"
            }
            StoreError::Newer { .. } => {
                "nothing was changed; use the newer program for it; if no newer one was ever here, the file is damaged: `brimstock restore COPY` puts your last copy back, and `brimstock export csv FOLDER --sound-only` saves what is sound"
            }
            StoreError::Busy(_) => {
                "nothing was written; a long import or an upgrade of an old register holds it until it ends: wait for it and try again"
            }
            StoreError::Full(_) => "make room and try again",
            StoreError::Disk { .. } => {
                "nothing was entered, or it will be taken back; look to the disk, then run `brimstock verify` and try again"
            }
            StoreError::Refused { .. } => "see who may read and write the file and its folder",
            StoreError::NoFolder(_) => "make the folder first, or choose another path with --register PATH",
            StoreError::Damaged { .. } => {
                "nothing was written; keep the file as it is; `brimstock restore COPY` puts your last copy back, `brimstock verify` tells all that is wrong as far as the file can be opened, and `brimstock export csv FOLDER --sound-only` saves what is sound"
            }
            StoreError::Sql { .. } => "nothing was written",
        };
        Problem { kind, hint: Some(hint.to_owned()), ..Problem::question(error.to_string()) }
    }
}

impl From<Unreadable> for Problem {
    fn from(error: Unreadable) -> Self {
        Problem::question(format!("cannot read `{}` as {}", error.text, error.what))
            .because(error.why)
            .hint(format!("accepted: {}", error.accepted))
    }
}

impl From<ChemError> for Problem {
    fn from(error: ChemError) -> Self {
        let what = error.to_string();
        match error {
            ChemError::Unreadable(inner) => inner.into(),
            ChemError::NotThisReagent { .. } => Problem::question(what).hint("choose a unit of mass or volume"),
            ChemError::ShareOfWhat { .. } => Problem::question(what).hint("add it: `1:3 of 3 % w/v`"),
            ChemError::ProductUnnamed { .. } => Problem::question(what).hint("or give the strength in % w/w or % w/v"),
            ChemError::DensityUnknown { .. } => {
                Problem::data(what).hint("give the strength in the basis you want, or weigh and measure it yourself")
            }
            ChemError::OutsideData { .. } => Problem::data(what).hint("nothing is extrapolated; choose a value inside"),
            ChemError::BulkUnknown { .. } => Problem::data(what).hint("weigh it and give grams"),
            ChemError::SolubilityUnknown { .. } | ChemError::Formula { .. } | ChemError::DensityModel { .. } => {
                Problem::data(what)
            }
        }
    }
}

impl From<BalanceError> for Problem {
    fn from(error: BalanceError) -> Self {
        match error {
            BalanceError::Chem(inner) => inner.into(),
            other => Problem::data(other.to_string()),
        }
    }
}

impl From<AssayError> for Problem {
    fn from(error: AssayError) -> Self {
        let what = error.to_string();
        match error {
            AssayError::Chem(inner) => inner.into(),
            AssayError::Unsuited { .. } => {
                Problem::question(what).hint("`brimstock assay plan STOCK` tells which tests suit it")
            }
            AssayError::Impossible { accepted, .. } => {
                Problem::question(what).because("nothing was written").hint(format!("accepted: {accepted}"))
            }
            AssayError::Worthless { why, .. } => {
                Problem::question(what).because(why).hint("`brimstock assay plan STOCK` tells which tests are worth it")
            }
        }
    }
}

impl From<CatalogueError> for Problem {
    fn from(error: CatalogueError) -> Self {
        Problem { kind: Kind::Store, ..Problem::question(error.to_string()) }
    }
}

/// A contradiction as the fault of the entry that brought it.
#[must_use]
pub fn refused(code: &str, contradiction: &Contradiction) -> Problem {
    let hint = match contradiction {
        Contradiction::BeforeReceipt { .. } | Contradiction::NeverReceived { .. } => {
            "give the day with --date YYYY-MM-DD, or correct the day of receipt: `brimstock correct`"
        }
        Contradiction::OpenedTwice { .. } => "if the first day was wrong, correct that line: `brimstock correct`",
        Contradiction::HadNoSeal { .. } => "if it did come sealed, correct its receipt: `brimstock correct`",
        Contradiction::MoreThanLeft { .. } => {
            "if more is there than the book says, enter what you find: `brimstock count`"
        }
        Contradiction::AfterRetirement { .. } => "if it did not leave, correct that line: `brimstock correct`",
    };
    Problem::question(format!("`{code}`: {contradiction}")).because("nothing was written").hint(hint)
}
