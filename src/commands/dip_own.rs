//! What the keeper says of a dip of their own, from words to a checked dip.

use chrono::NaiveDate;
use clap::Args;

use super::dose::goal_of;
use super::{Problem, Session, arguments};
use crate::catalogue::{After, Bathed, Dip, Evidence, Grade, KEEPERS_OWN, Reagent, Target, promise};
use crate::dip::Goal;
use crate::dip::course;
use crate::dip::recipe::{counted, goal};
use crate::units::{show, time};

/// Above this no bath is made, g/L. Source: `judgement`.
const STRONGEST_G_PER_L: f64 = 500.0;

/// Water of a bath is no colder and no warmer, °C. Source: `judgement`.
const WATER_CELSIUS: [f64; 2] = [0.0, 45.0];

/// What the keeper says of a dip; each part is kept as written.
#[derive(Debug, Args)]
pub struct Given {
    /// What it is called
    #[arg(long, value_parser = name)]
    pub name: Option<String>,
    /// The reagent that it is made with
    #[arg(long)]
    pub reagent: Option<String>,
    /// Below this it is not the dip: a strength as on the bottle or in a recipe
    #[arg(long)]
    pub low: Option<String>,
    /// What to aim at
    #[arg(long)]
    pub aim: Option<String>,
    /// Above this it is another dip
    #[arg(long)]
    pub high: Option<String>,
    /// Time in the bath: 2, 2-3, 110s, 24-48h; of a change also the longest alone, "max 110 s"
    #[arg(long)]
    pub minutes: Option<String>,
    /// Coldest and warmest water, °C: 15-22
    #[arg(long, value_name = "CELSIUS", value_parser = water)]
    pub water: Option<Water>,
    /// What goes into the bath: plants, gear or tank [default: plants]
    #[arg(long, value_parser = bathed)]
    pub bathed: Option<Bathed>,
    /// What it is used for
    #[arg(long, value_parser = words)]
    pub used_for: Option<String>,
    /// Which plants it is for, and what they bear
    #[arg(long, value_parser = words)]
    pub plants: Option<String>,
    /// What it is not shown to do; once a line
    #[arg(long, value_name = "LINE", value_parser = line)]
    pub not_shown: Vec<String>,
    /// A caution for the person at the bench; once a line
    #[arg(long, value_name = "LINE", value_parser = line)]
    pub caution: Vec<String>,
    /// What you have seen or were told of it; once a line
    #[arg(long, value_name = "LINE", value_parser = line)]
    pub evidence: Vec<String>,
    /// What follows: "rinse 2, quench, hold 14, look 7 14 21 28, dip alum-soak", or none
    #[arg(long)]
    pub steps: Option<String>,
}

/// Lowest and highest temperature of the water, °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Water([f64; 2]);

/// A dip that was entered or changed.
#[derive(Debug, Clone)]
pub struct Kept {
    /// The dip as it is now.
    pub dip: Dip,
    /// Its band.
    pub goal: Goal,
    /// From which day on.
    pub day: NaiveDate,
    /// Why.
    pub why: String,
    /// What changed; nothing of a new one.
    pub changes: Vec<Change>,
    /// What the keeper did not say, and where it was taken from.
    pub taken: Vec<String>,
    /// What is to be asked before anybody follows it.
    pub questions: Vec<String>,
    /// Who has read an earlier version and must read this one.
    pub read_again: Vec<String>,
}

/// What is to be asked of a dip that is stronger, or works longer at its strength, than any shipped one of its reagent for the
/// same things.
///
/// # Errors
/// If a strength of the shipped book cannot be read.
pub(super) fn questions(session: &Session, dip: &Dip, goal: &Goal) -> Result<Vec<String>, Problem> {
    let alike = session.catalogue.shipped_dips().iter();
    let alike = alike.filter(|shipped| shipped.reagent == dip.reagent && shipped.bathed == dip.bathed);
    let mut shipped = Vec::new();
    for other in alike {
        let its_goal = goal_of(session, other)?;
        let (high, minutes) = (its_goal.high.to_g_per_l(), other.minutes.high);
        shipped.push((other.key.as_str(), high, high * minutes));
    }
    let aim = goal.aim.to_g_per_l();
    let compare = |what: &str, mine: f64, of: fn(&(&str, f64, f64)) -> f64| {
        let most = shipped.iter().max_by(|a, b| of(a).total_cmp(&of(b)))?;
        let times = mine / of(most);
        (times > 1.0).then(|| {
            let times = show::significant(times, 2);
            format!(
                "its {what} is {times} times that of `{}` at its upper end, the most on file for {}: is that meant?",
                most.0,
                dip.bathed.word()
            )
        })
    };
    let strength = compare("strength", aim, |row| row.1);
    let dose = compare("strength times time", aim * dip.minutes.high, |row| row.2);
    Ok(strength.into_iter().chain(dose).collect())
}

/// One thing that changed.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// Which: `aim`.
    pub what: &'static str,
    /// What it was; nothing where something came in addition.
    pub before: Option<String>,
    /// What it is; nothing where something went.
    pub after: Option<String>,
}

fn text(text: &str, most: usize) -> Result<String, String> {
    let text = text.trim();
    if let Some(word) = promise(text) {
        return Err(format!("`{word}` promises what nobody can; say what was seen"));
    }
    match text.chars().count() {
        0 => Err("is empty; leave it away or say it in a few words".to_owned()),
        long if long <= most && !text.chars().any(char::is_control) => Ok(text.to_owned()),
        _ => Err(format!("is no single line; accepted: 1 to {most} characters")),
    }
}

fn name(given: &str) -> Result<String, String> {
    text(given, 60)
}

fn words(given: &str) -> Result<String, String> {
    text(given, 150)
}

fn line(given: &str) -> Result<String, String> {
    text(given, 300)
}

fn bathed(word: &str) -> Result<Bathed, String> {
    let all = [Bathed::Plants, Bathed::Gear, Bathed::Tank];
    let found = all.into_iter().find(|bathed| bathed.word() == word);
    found.ok_or_else(|| format!("`{word}` is nothing that goes into a bath; accepted: plants, gear, tank"))
}

fn water(given: &str) -> Result<Water, String> {
    let [least, most] = WATER_CELSIUS;
    let refused = || {
        let (least, most) = (show::plain(least), show::plain(most));
        format!("`{given}` is no span of temperatures; accepted: two numbers from {least} to {most}, as 15-22")
    };
    let plain = given.trim().trim_end_matches(['C', 'c']).trim_end_matches('°').replace(" to ", "-");
    let (low, high) = plain.split_once(['-', '–']).ok_or_else(refused)?;
    let number = |text: &str| text.trim().parse::<f64>().ok().filter(|value| (least..=most).contains(value));
    match (number(low), number(high)) {
        (Some(low), Some(high)) if low <= high => Ok(Water([low, high])),
        (Some(low), Some(high)) => {
            Err(format!("its low end, {} °C, is above its high end, {} °C", show::plain(low), show::plain(high)))
        }
        _ => Err(refused()),
    }
}

impl Given {
    /// A dip with what is given put over it, whole and checked. `shipped` is the dip of the program's own whose lines stay:
    /// of cautions and of what is not shown the keeper's come before them, of evidence behind them.
    ///
    /// # Errors
    /// For a strength that cannot be read, a band whose ends or aim stand wrong, a time, a step that cannot be.
    pub(super) fn over(&self, session: &Session, old: &Dip, shipped: Option<&Dip>) -> Result<(Dip, Goal), Problem> {
        let reagent = arguments::reagent(session.catalogue, &old.reagent)?;
        let mut dip = old.clone();
        replace(&mut dip.name, self.name.as_ref());
        replace(&mut dip.used_for, self.used_for.as_ref());
        replace(&mut dip.plants, self.plants.as_ref());
        let given = |text: &Option<String>| text.as_ref().map(|text| text.trim().to_owned());
        let Target { low, aim, high, source, band_source } = &mut dip.target;
        for (end, given, source) in [(aim, given(&self.aim), source), (low, given(&self.low), &mut *band_source)] {
            if replace(end, given.as_ref()) {
                KEEPERS_OWN.clone_into(source);
            }
        }
        if replace(high, given(&self.high).as_ref()) {
            KEEPERS_OWN.clone_into(band_source);
        }
        if let Some(given) = &self.minutes {
            let read = time::minutes(given)?;
            let low = read.low.unwrap_or_else(|| old.minutes.low.min(read.high));
            if (low, read.high) != (old.minutes.low, old.minutes.high) {
                (dip.minutes.low, dip.minutes.high) = (low, read.high);
                KEEPERS_OWN.clone_into(&mut dip.minutes.source);
            }
        }
        if let Some(Water(water)) = self.water {
            dip.water_c = Some(water);
        }
        if let Some(bathed) = self.bathed {
            dip.bathed = bathed;
        }
        let none = Vec::new();
        let stay = |lines: &dyn Fn(&Dip) -> Vec<String>| shipped.map_or_else(|| none.clone(), lines);
        dip.not_shown = before(&self.not_shown, &old.not_shown, &stay(&|dip| dip.not_shown.clone()));
        dip.cautions = before(&self.caution, &old.cautions, &stay(&|dip| dip.cautions.clone()));
        if !self.evidence.is_empty() {
            dip.evidence.retain(|row| row.grade != Grade::Keeper);
            dip.evidence.extend(self.evidence.iter().map(|says| keepers(says)));
        }
        if let Some(given) = &self.steps {
            dip.steps = course::read(given)?;
        }
        let goal = in_its_band(session, reagent, &dip)?;
        steps_fit(session, &dip)?;
        Ok((dip, goal))
    }
}

/// Puts a value in the place of another; true if it is another.
fn replace(place: &mut String, given: Option<&String>) -> bool {
    match given {
        Some(given) if given != place => {
            place.clone_from(given);
            true
        }
        _ => false,
    }
}

/// The keeper's lines before those that stay; the old ones where none is given.
fn before(given: &[String], old: &[String], stay: &[String]) -> Vec<String> {
    if given.is_empty() {
        return old.to_vec();
    }
    let mut lines: Vec<String> = Vec::new();
    for line in given.iter().chain(old.iter().filter(|line| stay.contains(line))) {
        if !lines.contains(line) {
            lines.push(line.clone());
        }
    }
    lines
}

/// A row of evidence that is the keeper's.
pub(super) fn keepers(says: &str) -> Evidence {
    Evidence { grade: Grade::Keeper, says: says.to_owned(), source: KEEPERS_OWN.to_owned(), row: None }
}

/// A strength of a target in g/L of its reagent.
///
/// # Errors
/// For one that cannot be read, with the field named.
pub(super) fn strength(session: &Session, reagent: &Reagent, field: &str, text: &str) -> Result<f64, Problem> {
    let named = |problem: Problem| Problem { what: format!("--{field}: {}", problem.what), ..problem };
    let (found, _) =
        counted(text, reagent, session.catalogue.measuring()).map_err(|error| named(Problem::from(error)))?;
    let found = found.to_g_per_l();
    if found > 0.0 && found <= STRONGEST_G_PER_L {
        return Ok(found);
    }
    Err(Problem::question(format!("--{field}: `{text}` is {} g/L of {}", show::plain(found), reagent.key))
        .because("no bath is made that strong")
        .hint(format!("accepted: above 0, up to {} g/L", show::plain(STRONGEST_G_PER_L))))
}

/// The band of a dip, its low end not above its aim, its aim not above its high end.
fn in_its_band(session: &Session, reagent: &Reagent, dip: &Dip) -> Result<Goal, Problem> {
    let target = &dip.target;
    let ends = [("low", &target.low), ("aim", &target.aim), ("high", &target.high)];
    let mut grams = Vec::new();
    for (field, text) in ends {
        grams.push((field, text, strength(session, reagent, field, text)?));
    }
    for (below, above) in [(0, 2), (0, 1), (1, 2)] {
        let ((field, text, value), (other, than, most)) = (grams[below], grams[above]);
        if value > most * (1.0 + 1e-9) {
            let (value, most) = (show::plain(value), show::plain(most));
            return Err(Problem::question(format!("--{field} `{text}` is above --{other} `{than}`"))
                .because(format!("that is {value} g/L against {most} g/L of {}; nothing was written", reagent.key))
                .hint("accepted: low not above aim, aim not above high"));
        }
    }
    Ok(goal(dip, reagent, session.catalogue.measuring())?)
}

/// Every step of a dip can be done: a dip that is known, goes on with the same things and does not lead back here; a
/// neutraliser where one is told.
fn steps_fit(session: &Session, dip: &Dip) -> Result<(), Problem> {
    let refused = |what: String, why: String| {
        Problem::question(format!("--steps: {what}")).because(why).hint("`brimstock dips` lists the dips")
    };
    for step in &dip.steps {
        match step {
            After::Quench if dip.stop.is_none() => {
                return Err(refused(
                    format!("`quench` after `{}`", dip.key),
                    format!("no neutraliser is on file for a dip of {}", dip.reagent),
                )
                .hint("leave it away; `rinse 2` thins what is carried along"));
            }
            After::Dip(key) => {
                let next = if *key == dip.key { dip } else { arguments::dip(session.catalogue, key)? };
                if next.bathed != dip.bathed {
                    return Err(refused(
                        format!("`dip {key}` after `{}`", dip.key),
                        format!("`{key}` is for {}, this one for {}", next.bathed.word(), dip.bathed.word()),
                    ));
                }
                if *key == dip.key || leads_to(session, next, &dip.key, &mut Vec::new()) {
                    return Err(refused(
                        format!("`dip {key}` leads back to `{}`", dip.key),
                        "a course must come to an end".to_owned(),
                    ));
                }
            }
            _ => {}
        }
    }
    Ok(())
}

/// True if the steps of a dip, or of those that follow it, name a dip.
fn leads_to(session: &Session, dip: &Dip, key: &str, seen: &mut Vec<String>) -> bool {
    if seen.contains(&dip.key) {
        return false;
    }
    seen.push(dip.key.clone());
    dip.steps.iter().any(|step| match step {
        After::Dip(next) => {
            next == key || session.catalogue.dip(next).is_some_and(|next| leads_to(session, next, key, seen))
        }
        _ => false,
    })
}

/// What differs between two versions of a dip, in words.
#[must_use]
pub fn changes(old: &Dip, new: &Dip) -> Vec<Change> {
    let water = |dip: &Dip| {
        dip.water_c
            .map_or("not told".to_owned(), |[low, high]| format!("{}–{} °C", show::plain(low), show::plain(high)))
    };
    let time = |dip: &Dip| time::words(dip.minutes.low, dip.minutes.high);
    let mut found = Vec::new();
    for (what, before, after) in [
        ("name", old.name.clone(), new.name.clone()),
        ("low", old.target.low.clone(), new.target.low.clone()),
        ("aim", old.target.aim.clone(), new.target.aim.clone()),
        ("high", old.target.high.clone(), new.target.high.clone()),
        ("time", time(old), time(new)),
        ("water", water(old), water(new)),
        ("bathed", old.bathed.word().to_owned(), new.bathed.word().to_owned()),
        ("used for", old.used_for.clone(), new.used_for.clone()),
        ("plants", old.plants.clone(), new.plants.clone()),
        ("steps", course::typed(&old.steps), course::typed(&new.steps)),
    ] {
        if before != after {
            found.push(Change { what, before: Some(before), after: Some(after) });
        }
    }
    let says = |dip: &Dip| dip.evidence.iter().map(|row| row.says.clone()).collect::<Vec<_>>();
    for (what, before, after) in [
        ("not shown", old.not_shown.clone(), new.not_shown.clone()),
        ("evidence", says(old), says(new)),
        ("caution", old.cautions.clone(), new.cautions.clone()),
    ] {
        let gone = before.iter().filter(|line| !after.contains(line));
        found.extend(gone.map(|line| Change { what, before: Some(line.clone()), after: None }));
        let come = after.iter().filter(|line| !before.contains(line));
        found.extend(come.map(|line| Change { what, before: None, after: Some(line.clone()) }));
    }
    found
}
