//! `dips add`: a dip of the keeper's own.

use clap::Args;

use super::dip_book::DipsVerb;
use super::dip_own::{Given, Kept, keepers, questions, strength};
use super::{Problem, Session, arguments};
use crate::catalogue::{After, Bathed, Dip, KEEPERS_OWN, Minutes, Target};
use crate::register::dip_book::DipVersion;
use crate::units::time;

/// What is said of a dip of which the keeper says nothing that it is not shown to do.
const NOTHING_SHOWN: &str =
    "Nobody here has shown what this dip does to snails, eggs or algae, nor what plants bear of it.";

/// Enter a dip of your own
///
/// Cautions, neutraliser and steps that you do not give are those of the shipped dip of the reagent that is nearest in
/// strength; its cautions stay below yours.
#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  brimstock dips add alum-mild --name \"Alum soak, mild\" --reagent potassium-alum --low \"1.5 g/L\" --aim \"2 g/L\" --high \"2.5 g/L\" --minutes 24-48h --used-for \"snails, tried here\" --plants \"mosses\" --because \"the usual strength browned the moss\""
)]
pub struct Add {
    /// The word to type for it: small letters, digits and hyphens
    #[arg(value_name = "KEY", value_parser = key)]
    pub key: String,
    #[command(flatten)]
    pub given: Given,
    /// Why it is entered
    #[arg(long, value_name = "REASON", value_parser = arguments::reason)]
    pub because: String,
}

fn key(text: &str) -> Result<String, String> {
    let good = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    let shaped = (3..=40).contains(&text.len())
        && text.chars().all(good)
        && text.starts_with(|c: char| c.is_ascii_lowercase())
        && !text.ends_with('-')
        && !text.contains("--");
    if !shaped {
        return Err(
            "is no key of a dip; accepted: 3 to 40 small letters, digits and single hyphens, a letter first".to_owned()
        );
    }
    if text == "help" || DipsVerb::is_word(text) {
        return Err("is a word of the program; choose another".to_owned());
    }
    Ok(text.to_owned())
}

/// Enters it.
///
/// # Errors
/// For a key that is taken, a part that is missing or cannot be, and no caution at all.
pub fn run(session: &Session, arguments: &Add) -> Result<Kept, Problem> {
    let given = &arguments.given;
    let [reagent, low, aim, high, minutes, name, used_for, plants] = whole(given)?;
    let reagent = arguments::reagent(session.catalogue, reagent)?;
    free(session, &arguments.key)?;
    let bathed = given.bathed.unwrap_or_default();
    let wanted = strength(session, reagent, "aim", aim.trim())?;
    let near = nearest(session, &reagent.key, wanted, bathed)?;
    let time = time::minutes(minutes)?;
    let Some(shortest) = time.low else {
        return Err(Problem::question(format!("--minutes: `{minutes}` tells the longest time alone"))
            .because("a new dip has no shortest time yet")
            .hint("give both, as --minutes 90-110s, or one time, as --minutes 110s"));
    };
    let own = || KEEPERS_OWN.to_owned();
    let stop = near.iter().find_map(|dip| Some((dip, dip.stop.as_ref()?)));
    let base = near.first().copied();
    let mut taken = Vec::new();
    if given.caution.is_empty() && base.is_none() {
        return Err(Problem::question(format!("which cautions does a dip of {} need?", reagent.key))
            .because("no shipped dip is made with it, so there are none to take over; nothing was written")
            .hint("give them with --caution, once a line"));
    }
    if let Some(base) = base {
        taken.push(format!("cautions as of `{}`, the shipped dip of {} nearest to it", base.key, reagent.key));
    }
    match stop {
        Some((of, stop)) => {
            taken.push(format!("it must be stopped with {}, as `{}`", stop.reagent, of.key));
        }
        None => taken.push(format!("no neutraliser: no shipped dip of {} has one", reagent.key)),
    }
    let is_dip = |step: &After| matches!(step, After::Dip(_));
    let steps: Vec<After> =
        base.map_or_else(Vec::new, |base| base.steps.iter().filter(|step| !is_dip(step)).cloned().collect());
    if let (Some(base), None, false) = (base, &given.steps, steps.is_empty()) {
        taken.push(format!("steps afterwards as of `{}`", base.key));
    }
    if given.not_shown.is_empty() {
        taken.push("what it is not shown to do: that nobody here has shown what it does".to_owned());
    }
    if given.evidence.is_empty() {
        taken.push("evidence: none told, only why it was entered".to_owned());
    }
    let start = Dip {
        key: arguments.key.clone(),
        version: 1,
        name: name.to_owned(),
        reagent: reagent.key.clone(),
        target: Target {
            low: low.trim().to_owned(),
            aim: aim.trim().to_owned(),
            high: high.trim().to_owned(),
            source: own(),
            band_source: own(),
        },
        minutes: Minutes { low: shortest, high: time.high, source: own() },
        water_c: None,
        used_for: used_for.to_owned(),
        plants: plants.to_owned(),
        bathed,
        not_shown: vec![NOTHING_SHOWN.to_owned()],
        evidence: vec![keepers(&format!("No result is told. Entered because: {}", arguments.because))],
        tolerance: Vec::new(),
        stop: stop.map(|(_, stop)| stop.clone()),
        steps,
        cautions: base.map_or_else(Vec::new, |base| base.cautions.clone()),
    };
    // Of a shipped dip that is only near, nothing but the cautions speaks of this one.
    let stays =
        base.map(|base| Dip { not_shown: Vec::new(), evidence: Vec::new(), tolerance: Vec::new(), ..base.clone() });
    let (dip, goal) = given.over(session, &start, stays.as_ref())?;
    session.register()?.write(|writing| {
        if let Some(version) = writing.dip_versions()?.iter().find(|version| version.dip == dip.key) {
            return Err(taken_key(&dip.key, &format!("your own, since {}", version.day)));
        }
        keep(session, &dip, &arguments.because, |version| writing.add_dip_version(version, &session.entered_at))
    })?;
    let questions = questions(session, &dip, &goal)?;
    Ok(Kept {
        questions,
        dip,
        goal,
        day: session.day,
        why: arguments.because.clone(),
        changes: Vec::new(),
        taken,
        read_again: Vec::new(),
    })
}

/// Writes a version of a dip.
pub(super) fn keep(
    session: &Session,
    dip: &Dip,
    why: &str,
    write: impl FnOnce(&DipVersion) -> Result<(), crate::register::StoreError>,
) -> Result<(), Problem> {
    let content = serde_json::to_string(dip)
        .map_err(|error| Problem::data(format!("the dip `{}` cannot be written: {error}", dip.key)))?;
    let version =
        DipVersion { dip: dip.key.clone(), version: dip.version, day: session.day, content, why: why.to_owned() };
    Ok(write(&version)?)
}

/// The parts that a new dip needs, or all that are missing at once.
fn whole(given: &Given) -> Result<[&str; 8], Problem> {
    let parts = [
        ("--reagent", &given.reagent),
        ("--low", &given.low),
        ("--aim", &given.aim),
        ("--high", &given.high),
        ("--minutes", &given.minutes),
        ("--name", &given.name),
        ("--used-for", &given.used_for),
        ("--plants", &given.plants),
    ];
    let missing: Vec<&str> = parts.iter().filter(|(_, part)| part.is_none()).map(|(name, _)| *name).collect();
    if missing.is_empty() {
        return Ok(parts.map(|(_, part)| part.as_deref().unwrap_or_default()));
    }
    Err(Problem::question(format!("a dip of your own also needs {}", missing.join(", ")))
        .because("nothing was written")
        .hint("`brimstock help dips add` shows a whole one"))
}

/// A new key is neither that of a dip nor that of a reagent.
fn free(session: &Session, key: &str) -> Result<(), Problem> {
    if session.catalogue.dip(key).is_some() {
        return Err(taken_key(key, "in the book"));
    }
    if session.catalogue.reagent(key).is_some() {
        return Err(Problem::question(format!("`{key}` is the key of a reagent"))
            .because("one word must not mean both; nothing was written")
            .hint("choose another key"));
    }
    Ok(())
}

fn taken_key(key: &str, whose: &str) -> Problem {
    Problem::question(format!("there is already a dip `{key}`, {whose}"))
        .because("nothing was written")
        .hint(format!("choose another key, or change it: `brimstock dips revise {key} … --because …`"))
}

/// The shipped dips of a reagent, those for the same things first, then by how near their aim is, as a ratio.
fn nearest<'a>(session: &'a Session, reagent: &str, aim: f64, bathed: Bathed) -> Result<Vec<&'a Dip>, Problem> {
    let made_with = arguments::reagent(session.catalogue, reagent)?;
    let mut found = Vec::new();
    for dip in session.catalogue.shipped_dips().iter().filter(|dip| dip.reagent == reagent) {
        let other = strength(session, made_with, "aim", &dip.target.aim)?;
        found.push((dip.bathed != bathed, libm::fabs(libm::log(other / aim)), dip));
    }
    found.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    Ok(found.into_iter().map(|(_, _, dip)| dip).collect())
}
