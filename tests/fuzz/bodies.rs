//! What is done with a piece of fuzz: one function a target. The fuzz targets and `tests/fuzzed.rs` share these, so that
//! whatever was found once is tried again by every `cargo test`.
//!
//! A function returns for whatever it is given, or panics: on a panic of the program's own, and where what it answers breaks
//! a promise (a number that is none, a damaged file that is believed).

#[path = "exchange.rs"]
mod exchange;
#[path = "files.rs"]
mod files;
#[path = "shelf.rs"]
mod shelf;

use std::fmt::Debug;
use std::path::PathBuf;

use brimstock::catalogue::Catalogue;
use brimstock::chem::formula::molar_mass;
use brimstock::chem::{Substance, reading};
use brimstock::commands::convert::{self, Convert};
use brimstock::commands::dip_read::{self, Read};
use brimstock::commands::{Session, arguments};
use brimstock::decay;
use brimstock::dip::{course, expected, log};
use brimstock::units::measure::Kitchen;
use brimstock::units::{Temperature, parse, reading as instrument, show, time};

pub use exchange::{archives, lists};
pub use files::{catalogues, own_files};
pub use shelf::{answer, commands, registers};

/// Longer texts are not tried: a command line has no longer words, and the search would only grow slower.
const LONGEST: usize = 400;

const KITCHENS: [Option<Kitchen>; 5] =
    [None, Some(Kitchen::Us), Some(Kitchen::Imperial), Some(Kitchen::Metric), Some(Kitchen::Australian)];

/// A session without a register.
pub fn session(catalogue: &'static Catalogue) -> Session {
    Session {
        opened: brimstock::commands::Opened::default(),
        catalogue,
        path: PathBuf::from("/nonexistent/shelf.brimstock"),
        day: "2031-03-15".parse().unwrap(),
        entered_at: "2031-03-15T12:00:00Z".to_owned(),
        clock: "2031-03-15T12:00:00".parse().unwrap(),
        work: Default::default(),
    }
}

fn shipped() -> &'static Catalogue {
    Catalogue::shipped().unwrap()
}

/// The first byte as a choice, the rest as a text, if it is one.
fn chosen(data: &[u8]) -> Option<(usize, &str)> {
    let (first, rest) = data.split_first()?;
    Some((usize::from(*first), std::str::from_utf8(rest).ok()?))
}

/// Every number of a value is one: as `{:?}` writes it, `NaN` and `inf` stand in no place but inside of quoted words.
#[track_caller]
pub fn finite(value: &impl Debug) {
    let written = format!("{value:?}");
    let mut bare = String::with_capacity(written.len());
    let mut quoted = false;
    let mut signs = written.chars();
    while let Some(sign) = signs.next() {
        match sign {
            '\\' if quoted => drop(signs.next()),
            '"' => quoted = !quoted,
            _ if !quoted => bare.push(sign),
            _ => {}
        }
    }
    let none = bare.split(|c: char| !c.is_ascii_alphanumeric()).find(|word| matches!(*word, "NaN" | "inf"));
    assert!(none.is_none(), "a number that is none: {written}");
}

/// What people type at a prompt: amounts, strengths, times, temperatures, dates, names.
pub fn quantities(data: &[u8]) {
    let Some((choice, text)) = chosen(data).filter(|(_, text)| text.len() <= LONGEST) else { return };
    let kitchen = KITCHENS[choice % KITCHENS.len()];
    let catalogue = shipped();
    finite(&parse::volume(text, kitchen));
    finite(&parse::number(text));
    finite(&parse::relative_sd(text));
    finite(&instrument::pressure(text));
    finite(&instrument::length(text));
    finite(&instrument::density(text));
    finite(&instrument::temperature(text));
    finite(&instrument::dilution(text));
    finite(&arguments::celsius(text));
    finite(&molar_mass(text));
    let _ = (arguments::day(text), arguments::reason(text), arguments::words(text));
    let _ = (log::name::lot(text), log::name::who(text));
    if let Ok(minutes) = time::minutes(text) {
        finite(&minutes);
        let _ = time::words(minutes.low.unwrap_or(minutes.high), minutes.high);
    }
    if let Ok(steps) = course::read(text) {
        assert_eq!(course::read(&course::typed(&steps)).as_ref(), Ok(&steps), "what is typed again reads the same");
        let _ = steps.iter().map(course::words).collect::<Vec<_>>();
    }
    let amount = parse::amount(text, kitchen);
    finite(&amount);
    let strength = parse::strength(text, kitchen);
    finite(&strength);
    if let Ok(amount) = &amount {
        assert!(amount.quantity.base() > 0.0, "{text}: an amount that is nothing");
        let _ = show::amount(amount.quantity.base(), amount.quantity.base_unit());
    }
    if amount.is_err() && strength.is_err() {
        return;
    }
    for reagent in catalogue.reagents() {
        let substance = Substance::of(reagent);
        if let Ok(amount) = &amount {
            finite(&reading::mass_of(substance, amount, catalogue.measuring()));
        }
        if let Ok(written) = &strength {
            finite(&reading::read(substance, written, catalogue.measuring(), Temperature::celsius(20.0)));
        }
    }
    // One of them through the command, into a unit of each kind.
    let reagents: Vec<&str> = catalogue.reagents().map(|reagent| reagent.key.as_str()).collect();
    let to = ["g/L", "% w/w", "% w/v", "mol/L", "mg/L", "g", "mL", "oz/gal-us", "% v/v"][choice / 7 % 9];
    let asked = Convert {
        what: text.to_owned(),
        of: Some(reagents[choice % reagents.len()].to_owned()),
        to: to.to_owned(),
        temp: 20.0,
        kitchen,
    };
    if let Ok(converted) = convert::run(&session(catalogue), &asked) {
        finite(&converted);
    }
}

/// A recipe as somebody tells it.
pub fn recipes(data: &[u8]) {
    let Some((choice, text)) = chosen(data).filter(|(_, text)| text.len() <= LONGEST) else { return };
    let catalogue = shipped();
    let reagents: Vec<&str> = catalogue.reagents().map(|reagent| reagent.key.as_str()).collect();
    // Above the reagents: none is named.
    let of = reagents.get(choice / KITCHENS.len() % (2 * reagents.len())).map(|key| (*key).to_owned());
    let kitchen = KITCHENS[choice % KITCHENS.len()].or(Some(Kitchen::Us));
    let asked = Read { text: vec![text.to_owned()], of, kitchen };
    if let Ok(recipe) = dip_read::run(&session(catalogue), &asked) {
        finite(&recipe);
    }
}

/// The folder of the repository: the fuzz crate lies in it, the tests run from it.
fn repository() -> PathBuf {
    let here = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    if here.join("hazards").is_dir() { here } else { here.join("../..") }
}

/// Small changes to a text or a file, as pieces of fuzz tell them: where (a share of its length), how much is cut out there,
/// how much is put in and what.
fn edited(base: &[u8], mut edits: &[u8]) -> Vec<u8> {
    let mut edited = base.to_vec();
    for _ in 0..16 {
        let [high, low, cut, put, rest @ ..] = edits else { break };
        let at = usize::from(u16::from_be_bytes([*high, *low])) * edited.len() / 65_536;
        let end = (at + usize::from(*cut)).min(edited.len());
        let put = &rest[..usize::from(*put).min(rest.len())];
        edited.splice(at..end, put.iter().copied());
        edits = &rest[put.len()..];
    }
    edited
}

/// Tables that others wrote: a thermometer's log, a plan of what is expected.
fn tables(choice: usize, data: &[u8]) {
    let Some(text) = std::str::from_utf8(data).ok().filter(|text| text.len() <= 4096) else { return };
    if choice.is_multiple_of(2) {
        match decay::log::read(text) {
            Ok(log) => {
                assert!(!log.days.is_empty() && !log.readings.is_empty());
                finite(&log);
            }
            Err(bad) => assert!(!bad.is_empty()),
        }
        return;
    }
    let known = |word: &str| match arguments::dip(shipped(), word) {
        Ok(dip) => Ok(dip.key.clone()),
        Err(problem) => Err((problem.what, problem.hint.unwrap_or_default())),
    };
    match expected::read(text, KITCHENS[choice / 2 % KITCHENS.len()], "2031-03-15".parse().unwrap(), known) {
        Ok(plan) => finite(&plan),
        Err(faults) => {
            assert!(!faults.is_empty());
            let _ = faults.iter().map(expected::Fault::line).collect::<Vec<_>>();
        }
    }
}
