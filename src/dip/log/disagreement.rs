//! What in a book of baths cannot be.

use chrono::{NaiveDate, NaiveDateTime};
use thiserror::Error;

/// A row that does not go together with the others, with all that is to be told of it. `row` is always that row.
#[derive(Debug, Clone, Error, PartialEq)]
pub enum Disagreement {
    /// A row that names one which is not there, was withdrawn, or is something else.
    #[error("entry {row} is about {what} {named}, and there is none")]
    NotThere {
        /// The row.
        row: i64,
        /// What it names: a bath, a load, an entry.
        what: &'static str,
        /// The number that it names.
        named: i64,
    },
    /// A lot was taken out that was in no bath.
    #[error("the lot {lot} was taken out on {}, and was in no bath then", time(*at))]
    StopWithoutStart {
        /// The row.
        row: i64,
        /// The lot.
        lot: String,
        /// When.
        at: NaiveDateTime,
    },
    /// A load was taken out twice.
    #[error("the lot {lot} was taken out on {} already", time(*ended))]
    StoppedTwice {
        /// The row.
        row: i64,
        /// The lot.
        lot: String,
        /// When it was taken out.
        ended: NaiveDateTime,
    },
    /// Taken out before it went in.
    #[error("the lot {lot} was taken out on {}, but it went in on {}", time(*at), time(*started))]
    StopBeforeStart {
        /// The row.
        row: i64,
        /// The lot.
        lot: String,
        /// When it was taken out.
        at: NaiveDateTime,
        /// When it went in.
        started: NaiveDateTime,
    },
    /// A lot went in that was in a bath already.
    #[error("the lot {lot} is in bath {bath} since {}", time(*since))]
    StartedTwice {
        /// The row.
        row: i64,
        /// The lot.
        lot: String,
        /// The bath in which it is.
        bath: i64,
        /// Since when.
        since: NaiveDateTime,
    },
    /// A lot was in two baths at the same time.
    #[error("the lot {lot} was in bath {bath} from {} to {}", time(*started), time(*ended))]
    TwoBathsAtOnce {
        /// The row.
        row: i64,
        /// The lot.
        lot: String,
        /// The other bath.
        bath: i64,
        /// From when.
        started: NaiveDateTime,
        /// Until when.
        ended: NaiveDateTime,
    },
    /// Something with a bath before it was made up.
    #[error("{what} on {day}, but bath {bath} was made up on {}", time(*began))]
    BeforeBath {
        /// The row.
        row: i64,
        /// What.
        what: &'static str,
        /// The day.
        day: NaiveDate,
        /// The bath.
        bath: i64,
        /// When it was made up.
        began: NaiveDateTime,
    },
    /// Something with a bath that was ended or drained.
    #[error("{what}, but bath {bath} was {how} on {day}")]
    BathGone {
        /// The row.
        row: i64,
        /// What.
        what: &'static str,
        /// The bath.
        bath: i64,
        /// `ended` or `drained`.
        how: &'static str,
        /// When.
        day: NaiveDate,
        /// The row that says so.
        by: i64,
    },
    /// Plants are still in it.
    #[error("{what}, but the lot {lot} is in bath {bath} since {}", time(*since))]
    StillIn {
        /// The row.
        row: i64,
        /// What.
        what: &'static str,
        /// The lot.
        lot: String,
        /// The bath.
        bath: i64,
        /// Since when.
        since: NaiveDateTime,
    },
    /// A lot that was never in a bath.
    #[error("{what}, but no lot {lot} was ever in a bath")]
    NeverBathed {
        /// The row.
        row: i64,
        /// What.
        what: &'static str,
        /// The lot.
        lot: String,
    },
    /// A lot before its first bath.
    #[error("{what} on {day}, but its first bath was on {}", time(*first))]
    BeforeFirstBath {
        /// The row.
        row: i64,
        /// What.
        what: &'static str,
        /// The lot.
        lot: String,
        /// The day.
        day: NaiveDate,
        /// When it first went in.
        first: NaiveDateTime,
    },
    /// A lot that has left.
    #[error("{what}, but the lot {lot} was {how} on {day}")]
    LotLeft {
        /// The row.
        row: i64,
        /// What.
        what: &'static str,
        /// The lot.
        lot: String,
        /// `released` or `destroyed`.
        how: &'static str,
        /// When.
        day: NaiveDate,
        /// The row that says so.
        by: i64,
    },
    /// A row that was withdrawn before.
    #[error("entry {withdrawn} was withdrawn already, by entry {by}")]
    WithdrawnTwice {
        /// The row.
        row: i64,
        /// The row that it withdraws.
        withdrawn: i64,
        /// The row that withdrew it first.
        by: i64,
    },
    /// A withdrawal that is withdrawn.
    #[error("entry {withdrawn} withdraws another and stays")]
    Withdrawal {
        /// The row.
        row: i64,
        /// The row that it withdraws.
        withdrawn: i64,
    },
    /// A row that others rest on.
    #[error("entry {withdrawn} is what entry {by} rests on")]
    RestedOn {
        /// The row.
        row: i64,
        /// The row that it withdraws.
        withdrawn: i64,
        /// The last one that rests on it.
        by: i64,
    },
}

impl Disagreement {
    /// The row that does not go together with the others.
    #[must_use]
    pub fn row(&self) -> i64 {
        match self {
            Disagreement::NotThere { row, .. }
            | Disagreement::StopWithoutStart { row, .. }
            | Disagreement::StoppedTwice { row, .. }
            | Disagreement::StopBeforeStart { row, .. }
            | Disagreement::StartedTwice { row, .. }
            | Disagreement::TwoBathsAtOnce { row, .. }
            | Disagreement::BeforeBath { row, .. }
            | Disagreement::BathGone { row, .. }
            | Disagreement::StillIn { row, .. }
            | Disagreement::NeverBathed { row, .. }
            | Disagreement::BeforeFirstBath { row, .. }
            | Disagreement::LotLeft { row, .. }
            | Disagreement::WithdrawnTwice { row, .. }
            | Disagreement::Withdrawal { row, .. }
            | Disagreement::RestedOn { row, .. } => *row,
        }
    }
}

/// A moment as it is told: to the second only where it has some.
#[must_use]
pub fn time(at: NaiveDateTime) -> String {
    let with_seconds = at.format("%Y-%m-%d %H:%M:%S").to_string();
    with_seconds.strip_suffix(":00").map_or(with_seconds.clone(), str::to_owned)
}
