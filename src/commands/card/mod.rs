//! `card`: what is printed for the wall, the bench and the bottle. Each kind gathers what its card says; nothing is laid
//! out here.

pub mod bench;
pub mod bottle;
pub mod handover;
pub mod paper;
pub mod shelf;
pub mod spill;
pub mod storage;
pub mod strength;

use std::path::PathBuf;

use chrono::NaiveDate;
use clap::{Args, ValueEnum};

use super::local;
use super::{Problem, Session, arguments};
use crate::catalogue::Language;
use crate::dip::Verdict;
use crate::disposal::local::Local;
use paper::{Paper, Tiles};

/// Print a card: a label, a wall card, a card for the bench
///
/// Writes a PDF. Every card is reckoned from the register on the day of the question; what is estimated is marked ≈.
/// Exit code 1 for a bench card of a bath that is not ready; it is written all the same.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  brimstock card bottle HP-1 HP-2
  brimstock card bottle HP-1 --paper label-105x74 --sheet a4
  brimstock card storage cupboard
  brimstock card spill hydrogen-peroxide --lang es
  brimstock card bench alum-soak --bath 10L --paper a5
  brimstock card handover HP-4
  brimstock card strength HP-1
  brimstock card shelf --out shelf.pdf --force")]
pub struct Card {
    /// Which card
    #[arg(value_enum)]
    pub kind: Kind,
    /// Stocks, places, reagents or dips, by kind of card
    pub what: Vec<String>,
    /// a4, a5, a6, letter, or label-WxH in millimetres [default: that of the local rules, or a4; for a bottle its label]
    #[arg(long, value_name = "PAPER", value_parser = paper::read)]
    pub paper: Option<Paper>,
    /// The file to write [default: named after the card, in this folder]
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Write over a file that is there
    #[arg(long)]
    pub force: bool,
    /// en or es [default: that of the local rules, or en]
    #[arg(long, value_name = "LANGUAGE", value_parser = language)]
    pub lang: Option<Language>,
    /// The volume of the bath (bench)
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    pub bath: Option<String>,
    /// Tile the labels on a sheet: a4, a5 or letter (bottle)
    #[arg(long, value_name = "PAPER", value_parser = paper::read)]
    pub sheet: Option<Paper>,
    /// Where the first label of the sheet begins, from the left and from the top, mm (bottle)
    #[arg(long, value_name = "LEFTxTOP", value_parser = paper::pair, requires = "sheet")]
    pub from: Option<(f64, f64)>,
    /// White between the labels of the sheet, across and down, mm (bottle)
    #[arg(long, value_name = "ACROSSxDOWN", value_parser = paper::pair, requires = "sheet")]
    pub gap: Option<(f64, f64)>,
    /// How many labels of the sheet are used up already (bottle)
    #[arg(long, value_name = "NUMBER", requires = "sheet", value_parser = arguments::whole(0_usize..=999_999_999))]
    pub skip: Option<usize>,
    /// A label to be folded once: what must be seen in front, the statements behind (bottle)
    #[arg(long)]
    pub folded: bool,
}

/// The cards.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Kind {
    /// The label of stocks
    Bottle,
    /// What stands at places, or how stocks are kept
    Storage,
    /// What to do when a reagent is spilled
    Spill,
    /// One dip for one bath, step by step
    Bench,
    /// What goes to whoever is licensed to take it
    Handover,
    /// The strength of a stock over time
    Strength,
    /// The whole shelf on paper
    Shelf,
}

impl Kind {
    /// The word typed.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Kind::Bottle => "bottle",
            Kind::Storage => "storage",
            Kind::Spill => "spill",
            Kind::Bench => "bench",
            Kind::Handover => "handover",
            Kind::Strength => "strength",
            Kind::Shelf => "shelf",
        }
    }

    /// True if it is there in a language.
    #[must_use]
    pub fn speaks(self, language: Language) -> bool {
        language == Language::English || matches!(self, Kind::Bottle | Kind::Spill | Kind::Bench)
    }
}

fn language(word: &str) -> Result<Language, String> {
    let codes = Language::ALL.map(Language::code).join(", ");
    Language::read(word).ok_or_else(|| format!("`{word}` is no language of the cards; accepted: {codes}"))
}

/// A card that is ready to be laid out.
#[derive(Debug)]
pub struct Drawn {
    /// Which.
    pub kind: Kind,
    /// The file to write.
    pub out: PathBuf,
    /// Whether it may write over one.
    pub force: bool,
    /// The paper, if it was asked for.
    pub paper: Option<Paper>,
    /// The language.
    pub language: Language,
    /// The register's name: that of its file.
    pub register: String,
    /// The day of the question.
    pub day: NaiveDate,
    /// What the keeper was told.
    pub local: Local,
    /// How many pages it came to; known once it is laid out.
    pub pages: usize,
    /// The labels on it, if it is of labels; known once they are laid out.
    pub labels: Vec<bottle::Set>,
    /// What it says.
    pub body: Body,
}

impl Drawn {
    /// The dips whose bath is not ready, each with its verdict; of the `bench` card alone.
    #[must_use]
    pub fn not_ready(&self) -> Vec<(&str, Verdict)> {
        let Body::Bench(cards) = &self.body else { return Vec::new() };
        let cards = cards.iter().filter(|card| card.verdict != Verdict::Ready);
        cards.map(|card| (card.dip.key.as_str(), card.verdict)).collect()
    }
}

/// What a card says.
#[derive(Debug)]
#[allow(missing_docs, reason = "named after the cards")]
pub enum Body {
    Bottles { labels: Vec<bottle::Bottle>, tiles: Option<Tiles>, folded: bool },
    Storage(Vec<storage::Storage>),
    Spill(Vec<spill::Spill>),
    Bench(Vec<bench::Bench>),
    Handover(Box<handover::Handover>),
    Strength(Vec<strength::Strength>),
    Shelf(Box<shelf::Shelf>),
}

/// Gathers a card.
///
/// # Errors
/// What the kind of card complains of: unknown names, a stock without a strength, options of another card.
pub fn run(session: &Session, card: Card) -> Result<Drawn, Problem> {
    fits(&card)?;
    let local = local::of(session)?;
    let language = match card.lang {
        Some(language) => language,
        // Who prints in Spanish gets in English what is only there in English.
        None => local.print.language.filter(|language| card.kind.speaks(*language)).unwrap_or_default(),
    };
    if !card.kind.speaks(language) {
        let kind = card.kind.word();
        return Err(Problem::question(format!("the `{kind}` card is not there in `{}`", language.code()))
            .hint("bottle, spill and bench cards are there in en and es, the others in en"));
    }
    let body = match card.kind {
        Kind::Bottle => Body::Bottles {
            labels: bottle::gather(session, &local, &card.what)?,
            tiles: paper::tiles(&card)?,
            folded: card.folded,
        },
        Kind::Storage => Body::Storage(storage::gather(session, &local, &card.what)?),
        Kind::Spill => Body::Spill(spill::gather(session, &card.what)?),
        Kind::Bench => Body::Bench(bench::gather(session, &local, &card.what, card.bath.as_deref())?),
        Kind::Handover => Body::Handover(Box::new(handover::gather(session, &card.what)?)),
        Kind::Strength => Body::Strength(strength::gather(session, &card.what)?),
        Kind::Shelf => Body::Shelf(Box::new(shelf::gather(session, &local)?)),
    };
    // A label takes its size from its bottle; every other card the paper of the local rules.
    let usual = local.print.paper.as_deref().filter(|_| card.kind != Kind::Bottle);
    let paper = card.paper.or_else(|| usual.and_then(|word| paper::read(word).ok()));
    let register = session.path.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
    let out = card.out.unwrap_or_else(|| usual_name(card.kind, &card.what));
    Ok(Drawn {
        kind: card.kind,
        out,
        force: card.force,
        paper,
        language,
        register,
        day: session.day,
        local,
        pages: 0,
        labels: Vec::new(),
        body,
    })
}

/// `bottle-HP-1.pdf`, or `bottle.pdf` for several.
fn usual_name(kind: Kind, what: &[String]) -> PathBuf {
    let plain = |word: &str| -> String {
        word.chars()
            .map(|letter| if letter.is_alphanumeric() || letter == '-' { letter } else { '_' })
            .take(60)
            .collect()
    };
    PathBuf::from(match what {
        [one] => format!("{}-{}.pdf", kind.word(), plain(one)),
        _ => format!("{}.pdf", kind.word()),
    })
}

/// Refuses options and names that belong to another card.
fn fits(card: &Card) -> Result<(), Problem> {
    let kind = card.kind.word();
    let other =
        |option: &str, of: &str| Problem::question(format!("`{option}` belongs to the `{of}` card, not to `{kind}`"));
    if card.bath.is_some() && card.kind != Kind::Bench {
        return Err(other("--bath", "bench"));
    }
    if card.kind != Kind::Bottle {
        if card.sheet.is_some() {
            return Err(other("--sheet", "bottle"));
        }
        if card.folded {
            return Err(other("--folded", "bottle"));
        }
        if matches!(card.paper, Some(Paper::Label { .. })) {
            return Err(other("--paper label-WxH", "bottle"));
        }
    }
    match (card.kind, card.what.is_empty()) {
        (Kind::Shelf, false) => Err(Problem::question("the `shelf` card is of the whole register and takes no names")),
        (Kind::Shelf, true) | (_, false) => Ok(()),
        (_, true) => Err(Problem::question(format!("the `{kind}` card wants to know of what"))
            .hint(format!("for example `brimstock card {kind} {}`", example(card.kind)))),
    }
}

fn example(kind: Kind) -> &'static str {
    match kind {
        Kind::Storage => "cupboard",
        Kind::Spill => "hydrogen-peroxide",
        Kind::Bench => "alum-soak --bath 10L",
        _ => "HP-1",
    }
}
