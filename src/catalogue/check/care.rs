//! The rules of what is kept apart, of what is done in trouble, and of how things leave.

use std::collections::{BTreeMap, BTreeSet};

use super::{Place, Sources};
use crate::catalogue::{
    Apart, CareText, CatalogueError, Disposal, Neutralise, Occasion, Reagent, Topic, Use, Verdict, problem,
};
use crate::catalogue::{Figure, Said};

/// Words that no text may hold: nothing here promises anything.
const UNSAID: [&str; 4] = ["safe", "guarantee", "harmless", "snail-free"];

/// Groups, their pairs, reliefs and surroundings.
pub(in crate::catalogue) fn apart(file: &str, apart: &Apart, sources: &Sources) -> Result<(), CatalogueError> {
    let at = Place { file, sources };
    let mut keys = BTreeSet::new();
    for group in &apart.groups {
        at.source(&format!("group.{}", group.key), &group.source)?;
        if !keys.insert(group.key.as_str()) {
            return Err(problem(file, &format!("group.{}", group.key), "stands twice"));
        }
    }
    let known = |key: &str, group: &String| {
        if keys.contains(group.as_str()) { Ok(()) } else { Err(problem(file, key, format!("no group `{group}`"))) }
    };
    let mut seen = BTreeSet::new();
    for pair in &apart.pairs {
        let [a, b] = &pair.groups;
        let key = format!("pair.{a}+{b}");
        known(&key, a)?;
        known(&key, b)?;
        at.source(&key, &pair.source)?;
        if !seen.insert(if a <= b { (a, b) } else { (b, a) }) {
            return Err(problem(file, &key, "stands twice"));
        }
        if pair.consequence.is_some() == (pair.verdict == Verdict::None) {
            return Err(problem(file, &key, "`consequence` belongs to every verdict but `none`"));
        }
        unsaid(file, &key, pair.consequence.iter().chain(&pair.note))?;
    }
    for a in &keys {
        for b in keys.iter().filter(|b| *b > a) {
            if apart.pair(a, b).is_none() {
                return Err(problem(file, &format!("pair.{a}+{b}"), "is missing"));
            }
        }
    }
    for planned in &apart.planned {
        let key = format!("planned.{}+{}", planned.groups[0], planned.groups[1]);
        planned.groups.iter().try_for_each(|group| known(&key, group))?;
        at.source(&key, &planned.source)?;
        unsaid(file, &key, [&planned.what])?;
    }
    for relief in &apart.reliefs {
        let key = format!("relief.{}", relief.group);
        relief.against.iter().chain([&relief.group]).try_for_each(|group| known(&key, group))?;
        at.source(&key, &relief.source)?;
        if !(relief.up_to_percent_w_w > 0.0 && relief.up_to_percent_w_w < 100.0) {
            return Err(problem(file, &key, "`up_to_percent_w_w` must lie between 0 and 100"));
        }
    }
    for row in &apart.surroundings {
        let key = format!("around.{}", row.tag.word());
        row.groups.iter().try_for_each(|group| known(&key, group))?;
        at.source(&key, &row.source)?;
        if row.verdict == Verdict::None {
            return Err(problem(file, &key, "`none` is no verdict of a row"));
        }
        unsaid(file, &key, row.note.iter().chain([&row.consequence]))?;
    }
    Ok(())
}

/// Spills, first aid, protection.
pub(in crate::catalogue) fn care(file: &str, texts: &[CareText], sources: &Sources) -> Result<(), CatalogueError> {
    let at = Place { file, sources };
    for (row, text) in texts.iter().enumerate() {
        let key = format!("{}.{}", text.occasion, text.key);
        if texts[..row].iter().any(|other| other.occasion == text.occasion && other.key == text.key) {
            return Err(problem(file, &key, "stands twice"));
        }
        at.said(&key, &text.lines)?;
        let spilt = text.occasion == Occasion::Spill;
        if let Some(line) = text.lines.iter().find(|line| line.part.is_some() != spilt) {
            let what = if spilt { "a line of a spill needs its `part`" } else { "only lines of spills have a `part`" };
            return Err(problem(file, &key, format!("{what}: {}", line.say)));
        }
    }
    Ok(())
}

/// How unwanted stock leaves.
pub(in crate::catalogue) fn disposal(file: &str, disposal: &Disposal, sources: &Sources) -> Result<(), CatalogueError> {
    let at = Place { file, sources };
    let mut keys = BTreeSet::new();
    for class in &disposal.classes {
        let key = format!("class.{}", class.key);
        if !keys.insert(&class.key) {
            return Err(problem(file, &key, "stands twice"));
        }
        at.said(&format!("{key}.pack"), &class.pack)?;
        at.said(&format!("{key}.never"), &class.never)?;
        at.said(&format!("{key}.bath"), &class.bath)?;
    }
    for code in &disposal.codes {
        at.source(&format!("code.{}", code.code), &code.source)?;
        if !keys.contains(&code.class) {
            return Err(problem(file, &format!("code.{}", code.code), format!("no class `{}`", code.class)));
        }
    }
    for row in &disposal.households {
        at.source("household", &row.source)?;
        unsaid(file, "household", [&row.say])?;
    }
    for question in &disposal.questions {
        at.source("question", &question.source)?;
        unsaid(file, "question", &question.ask)?;
    }
    for topic in Topic::ALL {
        if disposal.questions(topic).next().is_none() {
            return Err(problem(file, "question", format!("nobody is asked about `{}`", topic.word())));
        }
    }
    at.said("label", &disposal.labels)
}

/// Reactions and what they end; every reagent is either ended or said not to be.
pub(in crate::catalogue) fn neutralise(
    file: &str,
    neutralise: &Neutralise,
    reagents: &BTreeMap<String, Reagent>,
    sources: &Sources,
) -> Result<(), CatalogueError> {
    let at = Place { file, sources };
    let known = |key: &str, reagent: &String| {
        if reagents.contains_key(reagent) { Ok(()) } else { Err(problem(file, key, format!("no reagent `{reagent}`"))) }
    };
    for row in &neutralise.reactions {
        let key = format!("reaction.{}", row.key);
        known(&key, &row.destroys)?;
        row.with.iter().try_for_each(|with| known(&key, with))?;
        at.source(&key, &row.source)?;
        if row.with.is_some() != row.reducer.is_some() || row.with.is_some() != row.reducer_per_formula.is_some() {
            return Err(problem(file, &key, "`with`, `reducer` and `reducer_per_formula` belong together"));
        }
        let planned = usize::from(row.planned.is_some()) + usize::from(row.planned_g_per_g.is_some());
        if planned != usize::from(row.purpose == Use::Planned && row.with.is_some()) {
            return Err(problem(file, &key, "one of `planned`, `planned_g_per_g` belongs to `use = \"planned\"`"));
        }
        let figure = |name: &str, figure: &Option<Figure>, unit: &str, most: f64| match figure {
            Some(figure) => at.figure(&format!("{key}.{name}"), figure, unit, 0.01..=most),
            None => Ok(()),
        };
        figure("planned", &row.planned, "1", 10.0)?;
        figure("planned_g_per_g", &row.planned_g_per_g, "g/g", 100.0)?;
        figure("heat", &row.heat, "kJ/g", 100.0)?;
        for published in &row.published {
            at.figure(&format!("{key}.published"), published, "g/g", 0.01..=100.0)?;
        }
    }
    for row in &neutralise.treatments {
        let key = format!("treatment.{}", row.reagent);
        known(&key, &row.reagent)?;
        at.figure(&format!("{key}.up_to"), &row.up_to, "g/L", 1e-3..=100.0)?;
        at.source(&format!("{key}.minutes"), &row.minutes.source)?;
        at.said(&format!("{key}.cautions"), &row.cautions)?;
        let with = row.default.as_deref();
        if !neutralise.ways(&row.reagent, with).any(|way| way.purpose == Use::Planned) {
            return Err(problem(file, &format!("{key}.default"), "no reaction to plan with"));
        }
    }
    for row in &neutralise.untreatables {
        let key = format!("untreatable.{}", row.reagent);
        known(&key, &row.reagent)?;
        at.source(&key, &row.source)?;
        unsaid(file, &key, [&row.why])?;
    }
    for row in &neutralise.sewer_examples {
        row.reagents.iter().try_for_each(|reagent| known("sewer_example", reagent))?;
        at.figure("sewer_example.limit", &row.limit, "mg/L", 1e-3..=1e6)?;
    }
    Ok(())
}

/// That the keys of a reagent's `[care]` lead somewhere.
pub(in crate::catalogue) fn cared_for(
    file: &str,
    reagent: &Reagent,
    apart: &Apart,
    texts: &[CareText],
    disposal: &Disposal,
    sources: &Sources,
) -> Vec<CatalogueError> {
    let Some(care) = &reagent.care else { return Vec::new() };
    let mut faults: Vec<CatalogueError> =
        Place { file, sources }.source("care.source", &care.source).err().into_iter().collect();
    let mut wrong = |key: &str, word: &str, accepted: Vec<&str>| {
        if !accepted.contains(&word) {
            let accepted = accepted.join(", ");
            faults.push(problem(file, &format!("care.{key}"), format!("`{word}` is not known; accepted: {accepted}")));
        }
    };
    for group in &care.groups {
        wrong("groups", group, apart.groups.iter().map(|group| group.key.as_str()).collect());
    }
    let keys = |occasion: Occasion| -> Vec<&str> {
        texts.iter().filter(|text| text.occasion == occasion).map(|text| text.key.as_str()).collect()
    };
    wrong("spill", &care.spill, keys(Occasion::Spill));
    wrong("first_aid", &care.first_aid, keys(Occasion::FirstAid));
    wrong("protection", &care.protection, keys(Occasion::Protection));
    wrong("disposal", &care.disposal, disposal.classes.iter().map(|class| class.key.as_str()).collect());
    if care.groups.is_empty() {
        faults.push(problem(file, "care.groups", "name at least one group"));
    }
    faults
}

impl Place<'_> {
    fn said(&self, key: &str, lines: &[Said]) -> Result<(), CatalogueError> {
        if lines.is_empty() {
            return Err(problem(self.file, key, "needs a line"));
        }
        lines.iter().try_for_each(|line| self.source(key, &line.source))?;
        unsaid(self.file, key, lines.iter().map(|line| &line.say))
    }
}

/// The first word of a text that promises what nobody can.
#[must_use]
pub fn promise(text: &str) -> Option<&'static str> {
    let lower = text.to_lowercase();
    UNSAID.into_iter().find(|word| lower.contains(word))
}

fn unsaid<'a>(file: &str, key: &str, texts: impl IntoIterator<Item = &'a String>) -> Result<(), CatalogueError> {
    for text in texts {
        if let Some(word) = promise(text) {
            return Err(problem(file, key, format!("`{word}` promises what nobody can: `{text}`")));
        }
    }
    Ok(())
}
