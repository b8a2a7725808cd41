//! The book of baths: what went in and came out, what was seen, and what is still there.

use chrono::{NaiveDate, NaiveTime};
use comfy_table::Cell;

use crate::commands::bathe::bring::Went;
use crate::commands::bathe::draw::Draw;
use crate::commands::bathe::pages::{BathPage, Listed, LotPage, Running};
use crate::commands::bathe::quench::Quenched;
use crate::commands::bathe::stop::Stopped;
use crate::commands::bathe::watch::Watched;
use crate::commands::bathe::{Bathed, Noted};
use crate::dip::log::book::{LoadOf, LookOf};
use crate::dip::log::countdown::{Kept, Span, face, overrun, time};
use crate::dip::log::disagreement::time as moment;
use crate::dip::log::look::LookDay;
use crate::dip::log::outcome::Outcome;
use crate::render::Style;
use crate::render::table::{sentence, table};
use crate::units::show;

/// What was entered, or is there.
pub(super) fn bathed(style: &Style, bathed: &Bathed) -> String {
    match bathed {
        Bathed::Went(given) => went(style, given),
        Bathed::Stopped(given) => stopped(style, given),
        Bathed::Quenched(given) => quenched(style, given),
        Bathed::Noted(given) => noted(style, given),
        Bathed::Listed(given) => listed(style, given),
        Bathed::Lot(given) => lot(style, given),
        Bathed::Bath(given) => bath(style, given),
        Bathed::Watched(given) => watched(style, given),
    }
}

fn went(style: &Style, went: &Went) -> String {
    let load = &went.load;
    let vessel = went.vessel.as_ref().map_or(String::new(), |name| format!(" in `{name}`"));
    let mut text = sentence(
        style,
        "",
        &format!(
            "bath {}, load {}: {} into {}, {}{vessel}, {}",
            load.bath,
            load.number,
            load.load.lot,
            load.dip,
            show::millilitres(went.volume.to_ml()),
            moment(load.load.at)
        ),
    );
    text.push_str(&taken(style, &went.draws));
    text.push_str(&sentence(style, "time: ", &span(went.span)));
    let out = if went.out_from == went.out_by {
        moment(went.out_from)
    } else {
        format!("{}, at the latest {}", moment(went.out_from), moment(went.out_by))
    };
    text.push_str(&sentence(style, "out at: ", &out));
    text.push_str(&warnings(style, &went.warnings));
    text.push_str(&then(style, &went.then));
    if !went.looks.is_empty() {
        let days: Vec<String> = went.looks.iter().map(day).collect();
        text.push_str(&sentence(style, "look over on: ", &days.join(", ")));
    }
    text.push_str(&sentence(style, "wrong? ", &format!("`brimstock bathe withdraw {} --because …`", load.row)));
    text
}

/// `2 min to 3 min (120–180 s)`.
fn span(span: Span) -> String {
    let seconds = if span.low < 600 { format!(" ({} s)", span.low) } else { String::new() };
    if span.low == span.high {
        return format!("{}{seconds}", time(span.low));
    }
    format!("{} to {}", time(span.low), time(span.high))
}

fn day(look: &LookDay) -> String {
    format!("{} (day {})", look.day, look.after)
}

fn taken(style: &Style, draws: &[Draw]) -> String {
    let lines = draws.iter().map(|draw| {
        let [amount, left] = [draw.amount, draw.left].map(|value| show::amount(value, &draw.unit));
        sentence(style, "taken: ", &format!("{amount} of {}; {left} left", draw.stock))
    });
    lines.collect()
}

fn warnings(style: &Style, warnings: &[String]) -> String {
    warnings.iter().map(|line| sentence(style, "warning: ", line)).collect()
}

fn then(style: &Style, steps: &[String]) -> String {
    let numbered = steps.iter().enumerate();
    numbered.map(|(index, line)| sentence(style, &format!("{:>3}. ", index + 1), line)).collect()
}

fn stopped(style: &Style, stopped: &Stopped) -> String {
    let mut text = sentence(
        style,
        "",
        &format!(
            "{} out of bath {} ({}) on {}, after {} (entry {})",
            stopped.lot,
            stopped.bath,
            stopped.dip,
            moment(stopped.at),
            time(stopped.seconds),
            stopped.row
        ),
    );
    let wanted = stopped.span.map_or(String::new(), span);
    text.push_str(&match stopped.kept() {
        Some(Kept::Within) => sentence(style, "time: ", &format!("within {wanted}")),
        Some(Kept::Over(over)) => sentence(
            style,
            "OVERRUN: ",
            &format!("{} longer than {wanted}: look at the plants, and look again tomorrow", time(over)),
        ),
        Some(Kept::Short(short)) => {
            sentence(style, "too short: ", &format!("{} less than {wanted}: not this dip", time(short)))
        }
        None => sentence(style, "time: ", "that version of the dip is not known here"),
    });
    if !stopped.still_in.is_empty() {
        text.push_str(&sentence(style, "still in it: ", &stopped.still_in.join(", ")));
    }
    text.push_str(&then(style, &stopped.then));
    text
}

/// A day, with the time where one was said.
fn day_or_moment(day: NaiveDate, at: Option<NaiveTime>) -> String {
    at.map_or_else(|| day.to_string(), |at| moment(day.and_time(at)))
}

fn quenched(style: &Style, quenched: &Quenched) -> String {
    let what = &quenched.what;
    let verdict = if what.proven { "ended" } else { "NOT ENDED" };
    let mut text = sentence(
        style,
        "",
        &format!(
            "bath {} ({}) on {}: {verdict}, reading \"{}\" (entry {})",
            what.bath,
            quenched.dip,
            day_or_moment(quenched.day, what.at),
            what.reading,
            quenched.row
        ),
    );
    text.push_str(&taken(style, &quenched.draws));
    if let Some(proof) = &quenched.proof {
        text.push_str(&sentence(style, "proof: ", proof));
    }
    text.push_str(&warnings(style, &quenched.warnings));
    text.push_str(&sentence(style, "next: ", &quenched.next));
    text
}

fn noted(style: &Style, noted: &Noted) -> String {
    let mut text = sentence(style, "", &format!("{}, on {} (entry {})", noted.said, noted.day, noted.row));
    text.push_str(&warnings(style, &noted.warnings));
    if let Some(next) = &noted.next {
        text.push_str(&sentence(style, "next: ", next));
    }
    text
}

fn listed(style: &Style, listed: &Listed) -> String {
    let mut text = String::new();
    for running in &listed.running {
        text.push_str(&sentence(style, "in a bath: ", &in_a_bath(running)));
    }
    for bath in &listed.baths {
        let state = match bath.quenched.last() {
            Some(last) if last.what.proven => format!("ended on {}", last.day),
            Some(last) => format!("NOT ENDED, reading \"{}\"", last.what.reading),
            None => "made up".to_owned(),
        };
        let what = format!(
            "{} ({}), {}, {}: {state}, not drained",
            bath.row,
            bath.dip,
            show::millilitres(bath.volume.to_ml()),
            moment(bath.began)
        );
        text.push_str(&sentence(style, "bath ", &what));
    }
    if !listed.lots.is_empty() {
        let rows = listed.lots.iter().map(|line| {
            let looked = line.looked.as_ref().map_or("-".to_owned(), |look| format!("{}: {}", look.day, seen(look)));
            let next = match &line.next {
                Some(next) if next.day <= listed.on => format!("{}, DUE", day(next)),
                Some(next) => day(next),
                None => "-".to_owned(),
            };
            [line.name.clone(), line.dip.clone(), line.bathed.to_string(), looked, next].map(Cell::new).to_vec()
        });
        let heads = ["lot", "last dip", "out on", "last look", "next look"];
        text.push_str(&table(style, &heads, &[], rows.collect()));
    }
    if text.is_empty() {
        return sentence(
            style,
            "",
            "nothing is in a bath, and no lot is here: `brimstock bathe start DIP --bath … --lot …`",
        );
    }
    text
}

fn in_a_bath(running: &Running) -> String {
    let load = &running.load;
    let face = running.seconds.zip(running.span).map(|(seconds, span)| format!(": {}", face(span, seconds).words));
    format!(
        "{} in bath {} ({}) since {}{}",
        load.load.lot,
        load.bath,
        load.dip,
        moment(load.load.at),
        face.unwrap_or_default()
    )
}

fn seen(look: &LookOf) -> String {
    let what = &look.what;
    let mut parts = vec![format!("adults {}, egg masses {}", what.adults, what.eggs)];
    parts.extend(what.damage_percent.map(|share| format!("damage {} %", show::plain(share))));
    parts.extend(what.note.clone());
    parts.extend(what.photo.as_ref().map(|photo| format!("picture {photo}")));
    parts.join("; ")
}

/// What is known of a load, but for its lot and its bath.
fn load(load: &LoadOf, span: Option<Span>) -> String {
    let given = &load.load;
    let mut parts = vec![match (load.ended, load.seconds()) {
        (Some(_), Some(seconds)) => format!("{}, in for {}", moment(given.at), time(seconds)),
        _ => format!("{}, still in", moment(given.at)),
    }];
    parts.extend(overrun(load, span).map(|seconds| format!("OVERRUN of {}", time(seconds))));
    parts.extend(given.plants.clone());
    parts.extend(given.kind.clone());
    parts.extend(given.water_c.map(|celsius| format!("{} °C", show::plain(celsius))));
    parts.extend(given.ph.map(|ph| format!("pH {}", show::plain(ph))));
    parts.extend(given.dirt.map(|dirt| format!("dirt {dirt}")));
    parts.extend(given.who.as_ref().map(|who| format!("by {who}")));
    parts.extend(load.note.clone());
    parts.extend(load.overruled.as_ref().map(|why| format!("overruled: {why}")));
    parts.join("; ")
}

fn lot(style: &Style, page: &LotPage) -> String {
    let lot = &page.lot;
    let mut text = sentence(style, "lot ", &lot.name);
    for (of, span) in lot.loads.iter().zip(&page.spans) {
        let what = format!("{} version {}, load {}; {}", of.dip, of.version, of.number, load(of, *span));
        text.push_str(&sentence(style, &format!("bath {}: ", of.bath), &what));
    }
    for look in &lot.looks {
        text.push_str(&sentence(
            style,
            &format!("looked {}: ", look.day),
            &format!("{} (entry {})", seen(look), look.row),
        ));
    }
    if let Some(left) = &lot.left {
        let mut parts = vec![format!("{} (entry {})", left.day, left.row)];
        parts.extend(left.what.note.clone());
        parts.extend(left.what.witness.as_ref().map(|witness| format!("seen by {witness}")));
        parts.extend(left.what.overruled.as_ref().map(|why| format!("overruled: {why}")));
        text.push_str(&sentence(style, &format!("{}: ", left.how()), &parts.join("; ")));
    }
    if let Some(next) = &page.next {
        text.push_str(&sentence(style, "next look: ", &day(next)));
    }
    text
}

fn bath(style: &Style, page: &BathPage) -> String {
    let bath = &page.bath;
    let vessel = bath.vessel.as_ref().map_or(String::new(), |name| format!(" in `{name}`"));
    let mut text = sentence(
        style,
        &format!("bath {}: ", bath.row),
        &format!(
            "{} version {}, {}{vessel}, made up {}",
            bath.dip,
            bath.version,
            show::millilitres(bath.volume.to_ml()),
            moment(bath.began)
        ),
    );
    if let Some(wanted) = page.span {
        text.push_str(&sentence(style, "time: ", &span(wanted)));
    }
    for draw in &page.draws {
        text.push_str(&sentence(
            style,
            "taken: ",
            &format!("{} of {}", show::amount(draw.amount, &draw.unit), draw.stock),
        ));
    }
    for of in &bath.loads {
        let what = format!("{}; {} (entry {})", of.load.lot, load(of, page.span), of.row);
        text.push_str(&sentence(style, &format!("load {}: ", of.number), &what));
    }
    for quenched in &bath.quenched {
        let verdict = if quenched.what.proven { "ended" } else { "NOT ENDED" };
        let what = format!(
            "{}, reading \"{}\" (entry {})",
            day_or_moment(quenched.day, quenched.what.at),
            quenched.what.reading,
            quenched.row
        );
        text.push_str(&sentence(style, &format!("{verdict}: "), &what));
    }
    if let Some(drained) = &bath.drained {
        let by = drained.what.permission.as_ref().map_or(String::new(), |permission| format!(", by {permission}"));
        let why = drained.what.overruled.as_ref().map_or(String::new(), |why| format!("; overruled: {why}"));
        let what = format!(
            "{}: {}{by}{why} (entry {})",
            day_or_moment(drained.day, drained.what.at),
            drained.what.into,
            drained.row
        );
        text.push_str(&sentence(style, "drained ", &what));
    }
    text
}

fn watched(style: &Style, watched: &Watched) -> String {
    let Watched { lot, bath, dip, started, span: wanted, .. } = watched;
    let words = face(*wanted, watched.seconds()).words;
    sentence(style, "", &format!("{lot} in bath {bath} ({dip}) since {}: {words}; {}", moment(*started), span(*wanted)))
}

/// The keeper's own results of a dip, a line a version and kind of plant.
pub(super) fn own(style: &Style, outcomes: &[Outcome], after: i64) -> String {
    let lines = outcomes.iter().map(|outcome| {
        let kind = outcome.kind.as_ref().map_or(String::new(), |kind| format!(", {kind}"));
        let over = match outcome.overrun {
            [0, _] => String::new(),
            [over, clear] => format!("; {over} of them ran over, {clear} of those without"),
        };
        let [low, high] = [outcome.low, outcome.high].map(|share| libm::round(100.0 * share));
        let what = format!(
            "version {}{kind}: {} of {} lots without snails or eggs at the last look, day {after} or later: {} to {} %{over}",
            outcome.version,
            outcome.clear,
            outcome.looked,
            show::plain(low),
            show::plain(high)
        );
        sentence(style, "your own: ", &what)
    });
    lines.collect()
}
