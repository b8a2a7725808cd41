//! What is due as a calendar that other programs read: RFC 5545, one entry of a whole day a matter.
//!
//! An entry is known by what it is about and by its register, never by its day: a calendar that is read in again moves it.

use chrono::{DateTime, Utc};
use icalendar::{Class, Component, Event, EventLike, Property};
use sha2::{Digest, Sha256};

use crate::commands::due::Calendar;
use crate::commands::due::rank::{Kind, Matter};
use crate::hazard::storage::Severity;

/// Who made the calendar: a file with this line is one of ours.
const MAKER: &str = "-//brimstock//what is due//EN";

/// Octets of a line without its break. Source: RFC 5545, section 3.1.
const LINE: usize = 75;

/// True for a calendar that this program wrote.
#[must_use]
pub fn is_ours(bytes: &[u8]) -> bool {
    let maker = format!("PRODID:{MAKER}");
    let text = String::from_utf8_lossy(bytes);
    text.starts_with("BEGIN:VCALENDAR\r\n") && text.lines().take(8).any(|line| line == maker)
}

/// The calendar, the same bytes for the same register, day and moment.
#[must_use]
pub fn calendar(calendar: &Calendar) -> String {
    let mut file = icalendar::Calendar::empty();
    for (name, value) in
        [("VERSION", "2.0"), ("PRODID", MAKER), ("CALSCALE", "GREGORIAN"), ("X-WR-CALNAME", "brimstock")]
    {
        file.append_property(Property::new(name, value));
    }
    for matter in &calendar.matters {
        file.push(event(calendar, matter));
    }
    folded(&file.to_string())
}

fn event(calendar: &Calendar, matter: &Matter) -> Event {
    let written_at = moment(&calendar.written_at);
    let day = matter.day.map_or(calendar.on, |day| day.max(calendar.on));
    let late = matter.day.filter(|day| *day < calendar.on);
    let since = late.map_or_else(String::new, |day| format!("due since {day}\n"));
    Event::new()
        .uid(&uid(&calendar.register, matter.kind, &matter.key))
        .timestamp(written_at)
        .last_modified(written_at)
        .sequence(sequence(written_at))
        .starts(day)
        .summary(&plain(&matter.says()))
        .description(&plain(&format!("{since}next: {}", matter.next)))
        .categories([matter.kind.word()])
        .priority(priority(matter.severity))
        .class(Class::Private)
        .add_property("TRANSP", "TRANSPARENT")
        .done()
}

/// A name that no other entry of any register has: digits of a SHA-256 as a UUID of version 8 (RFC 9562, section 5.8), so that
/// it tells nobody anything (RFC 7986, section 5.3).
fn uid(register: &str, kind: Kind, key: &str) -> String {
    let digest = Sha256::digest(format!("{register}\n{}\n{key}", kind.word()));
    let mut hex: Vec<char> =
        digest.iter().take(16).flat_map(|byte| format!("{byte:02x}").into_bytes()).map(char::from).collect();
    // Where version and variant stand.
    hex[12] = '8';
    hex[16] = '8';
    let part = |from: usize, to: usize| hex[from..to].iter().collect::<String>();
    [part(0, 8), part(8, 12), part(12, 16), part(16, 20), part(20, 32)].join("-")
}

/// The moment of writing.
fn moment(written_at: &str) -> DateTime<Utc> {
    // The program writes it itself: it always reads.
    written_at.parse().unwrap_or_default()
}

/// The number of a revision: minutes since 1970, so that what was written later wins; within a minute the stamp decides.
fn sequence(written_at: DateTime<Utc>) -> u32 {
    u32::try_from(written_at.timestamp() / 60).unwrap_or_default()
}

/// 1 is the highest, 9 the lowest. Source: RFC 5545, section 3.8.1.9.
fn priority(severity: Severity) -> u32 {
    match severity {
        Severity::Danger => 1,
        Severity::Serious => 5,
        Severity::Minor => 9,
    }
}

/// A text without control characters, which no calendar holds but for the line break.
fn plain(text: &str) -> String {
    text.chars().map(|c| if c.is_control() && c != '\n' { ' ' } else { c }).collect()
}

/// No line is longer than it may be: the crate's own folding leaves some last parts one octet too long.
fn folded(text: &str) -> String {
    let mut lines = String::with_capacity(text.len());
    for line in text.split_terminator("\r\n") {
        let mut octets = 0;
        for c in line.chars() {
            if octets + c.len_utf8() > LINE {
                lines.push_str("\r\n ");
                octets = 1;
            }
            lines.push(c);
            octets += c.len_utf8();
        }
        lines.push_str("\r\n");
    }
    lines
}
