//! What is shown of a running load at a second.

use super::book::LoadOf;

/// How long a load may be in, in whole seconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    /// The least.
    pub low: i64,
    /// The most.
    pub high: i64,
}

/// How a time in the bath lies to what the dip says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kept {
    /// So many seconds less than the least.
    Short(i64),
    /// Within.
    Within,
    /// So many seconds more than the most.
    Over(i64),
}

/// How many seconds a load was in too long; nothing where it was not, is still in, or its time is not known.
#[must_use]
pub fn overrun(load: &LoadOf, span: Option<Span>) -> Option<i64> {
    match span?.kept(load.seconds()?) {
        Kept::Over(seconds) => Some(seconds),
        Kept::Short(_) | Kept::Within => None,
    }
}

impl Span {
    /// From minutes, to the nearest second: 0.3333 min are 20 s.
    #[must_use]
    #[allow(clippy::cast_possible_truncation, reason = "minutes of a dip are months at the most")]
    pub fn minutes(low: f64, high: f64) -> Self {
        let seconds = |minutes: f64| libm::round(minutes * 60.0) as i64;
        Span { low: seconds(low), high: seconds(high) }
    }

    /// How a time lies to it; both ends belong to it.
    #[must_use]
    pub fn kept(self, seconds: i64) -> Kept {
        match seconds {
            s if s > self.high => Kept::Over(s - self.high),
            s if s < self.low => Kept::Short(self.low - s),
            _ => Kept::Within,
        }
    }
}

/// What is shown at a second.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Face {
    /// The words.
    pub words: String,
    /// Seconds that have passed of the least time.
    pub passed: i64,
    /// True from the second on at which the plants come out.
    pub out: bool,
}

/// What is shown so many seconds after a load went in: what is left up to the least time, then how long there still is up to
/// the most, then how long it has run over.
#[must_use]
pub fn face(span: Span, seconds: i64) -> Face {
    let seconds = seconds.max(0);
    let words = match span.kept(seconds) {
        Kept::Short(left) => format!("{} left", time(left)),
        Kept::Within if span.high > seconds => {
            format!("TAKE OUT NOW: {} of the longest time left", time(span.high - seconds))
        }
        Kept::Within => "TAKE OUT NOW".to_owned(),
        Kept::Over(over) => format!("TAKE OUT NOW: {} over", time(over)),
    };
    Face { words, passed: seconds.min(span.low), out: seconds >= span.low }
}

/// Seconds as they are told: `45 s`, `2 min 05 s`, `1 h 30 min`, `2 d 4 h`.
#[must_use]
pub fn time(seconds: i64) -> String {
    match seconds {
        s if s < 60 => format!("{s} s"),
        s if s < 3600 && s % 60 == 0 => format!("{} min", s / 60),
        s if s < 3600 => format!("{} min {:02} s", s / 60, s % 60),
        s if s < 172_800 && s % 3600 < 60 => format!("{} h", s / 3600),
        s if s < 172_800 => format!("{} h {:02} min", s / 3600, s % 3600 / 60),
        s if s % 86_400 < 3600 => format!("{} d", s / 86_400),
        s => format!("{} d {} h", s / 86_400, s % 86_400 / 3600),
    }
}
