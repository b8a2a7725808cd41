//! What can be due, and in which order it is told.

use chrono::NaiveDate;

use crate::hazard::storage::Severity;

/// Kinds of matters, in the order in which they are told: first what can hurt somebody or something now, then what spoils a
/// treatment, then what is only late. Source of the order: `judgement`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Plants are still in a bath whose time is over: leaves and hands are in it.
    Overrun,
    /// A container that can hurt whoever is near, or that is to be looked at, or held.
    Container,
    /// A used bath that nobody ended or drained.
    UsedBath,
    /// A solution made up here that is past its time.
    PastItsTime,
    /// A container of which nobody knows that it bears a label.
    Label,
    /// A lot to be looked over.
    Look,
    /// A bottle to be tested.
    Test,
    /// Not enough of something for what is planned.
    Low,
    /// A bath that is planned.
    Planned,
    /// Somebody has read an earlier version of a dip, and not the one in force.
    Unsigned,
    /// Answers of the local rules to be asked for again.
    AskAgain,
    /// A data sheet to be asked for again.
    Sheet,
}

impl Kind {
    /// The word for it in JSON and in a calendar.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Kind::Overrun => "bath running over",
            Kind::Container => "container",
            Kind::UsedBath => "used bath",
            Kind::PastItsTime => "past its time",
            Kind::Label => "label",
            Kind::Look => "look",
            Kind::Test => "test",
            Kind::Low => "low stock",
            Kind::Planned => "planned bath",
            Kind::Unsigned => "sign again",
            Kind::AskAgain => "ask again",
            Kind::Sheet => "data sheet",
        }
    }
}

/// One thing to be done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Matter {
    /// Of which kind.
    pub kind: Kind,
    /// How bad; among those of a kind the gravest is told first.
    pub severity: Severity,
    /// Which stocks, lot or bath; nothing for what concerns none of them.
    pub about: Vec<String>,
    /// What is to be done, or what is wrong, in a few words.
    pub what: String,
    /// The day from which it is due; nothing for what is due now and nobody knows since when.
    pub day: Option<NaiveDate>,
    /// What to type next.
    pub next: String,
    /// What tells it from others of its kind and never changes, whatever becomes of its day: a calendar knows it by this.
    pub key: String,
}

/// So many are named before the rest is counted.
const NAMED: usize = 3;

impl Matter {
    /// What it is about and what is to be done, in one line.
    #[must_use]
    pub fn says(&self) -> String {
        let what = &self.what;
        match &self.about[..] {
            [] => what.clone(),
            few if few.len() <= NAMED + 1 => format!("{}: {what}", few.join(", ")),
            many => format!("{} and {} more: {what}", many[..NAMED].join(", "), many.len() - NAMED),
        }
    }
}

/// What is due up to a day, in the order in which it is told: kinds, then the gravest, then the oldest, then by name.
#[must_use]
pub fn rank(mut matters: Vec<Matter>, on: NaiveDate, to: NaiveDate) -> Vec<Matter> {
    matters.retain(|matter| matter.day.is_none_or(|day| day <= to));
    matters.sort_by(|one, other| {
        let order = |matter: &Matter| (matter.kind, matter.severity, matter.day.unwrap_or(on));
        order(one).cmp(&order(other)).then_with(|| (&one.about, &one.key).cmp(&(&other.about, &other.key)))
    });
    matters
}
