//! Answers as JSON: the machine's own types, never those of the domain.
//!
//! Names never change within one format number; numbers carry six significant figures.

use serde::Serialize;

use crate::catalogue::{Catalogue, Form};
use crate::cli::Answer;
use crate::commands::convert::Converted;
use crate::commands::dip::{Book, Dosed};
use crate::commands::place::Places;
use crate::commands::reagents::{Known, ReagentLine, ReagentPage};
use crate::commands::receive::Entered;
use crate::commands::settings::Done;
use crate::commands::shelf::{Shelved, Shown};
use crate::commands::sight;
use crate::commands::strength;
use crate::dip::{Dose, Until};
use crate::units::estimate::Estimate;
use crate::units::step;

/// The number that stands first in every object.
pub const FORMAT: u32 = 1;

/// The answer as one object on one line.
#[must_use]
pub fn answer(answer: &Answer, why: bool, catalogue: &Catalogue) -> String {
    let writer = Writer { why, catalogue };
    match answer {
        Answer::Done(done) => line(&DoneData::of(done)),
        Answer::Places(places) => line(&PlacesData::of(places)),
        Answer::Entered(entered) => line(&EnteredData::of(entered)),
        Answer::Shelved(shelved) => line(&ShelvedData::of(shelved)),
        Answer::Shown(shown) => line(&writer.shown(shown)),
        Answer::Checked(checked) => line(&writer.checked(checked)),
        Answer::Assayed(assayed) => line(&writer.assayed(assayed)),
        Answer::Book(book) => line(&writer.book(book)),
        Answer::Dosed(dosed) => line(&writer.dosed(dosed)),
        Answer::Converted(converted) => line(&writer.converted(converted)),
        Answer::Reagents(Known::List(lines)) => {
            line(&ReagentsData { format: FORMAT, reagents: lines.iter().map(ReagentData::of).collect() })
        }
        Answer::Reagents(Known::One(page)) => line(&writer.reagent(page)),
        Answer::Played(played) => {
            let scenes = played
                .scenes
                .iter()
                .map(|scene| SceneData {
                    heading: &scene.heading,
                    command: &scene.command,
                    // Each answer is an object of its own kind: it is put in as it would have been printed.
                    answer: serde_json::from_str(&self::answer(&scene.answer, why, catalogue)).unwrap_or_default(),
                })
                .collect();
            line(&PlayedData { format: FORMAT, scenes, next_step: &played.next })
        }
        Answer::Script(script) => line(&ScriptData { format: FORMAT, script }),
    }
}

/// One object on one line.
pub(super) fn line(data: &impl Serialize) -> String {
    let mut text = serde_json::to_string(data).unwrap_or_default();
    text.push('\n');
    text
}

/// Six significant figures: enough for any reader, and the same on every machine.
fn six(value: f64) -> f64 {
    format!("{value:.5e}").parse().unwrap_or(value)
}

#[derive(Serialize)]
struct DoneData<'a> {
    format: u32,
    done: &'a str,
    next_step: Option<&'a str>,
}

impl<'a> DoneData<'a> {
    fn of(done: &'a Done) -> Self {
        DoneData { format: FORMAT, done: &done.said, next_step: done.next.as_deref() }
    }
}

#[derive(Serialize)]
struct PlacesData<'a> {
    format: u32,
    done: Option<&'a str>,
    assumed: &'a [String],
    places: Vec<PlaceData<'a>>,
}

#[derive(Serialize)]
struct PlaceData<'a> {
    name: &'a str,
    summer_c: f64,
    winter_c: f64,
    light: &'a str,
    since: String,
}

impl<'a> PlacesData<'a> {
    fn of(places: &'a Places) -> Self {
        PlacesData {
            format: FORMAT,
            done: places.said.as_deref(),
            assumed: &places.assumed,
            places: places
                .places
                .iter()
                .map(|place| PlaceData {
                    name: &place.name,
                    summer_c: six(place.summer_c),
                    winter_c: six(place.winter_c),
                    light: place.light.word(),
                    since: place.since.to_string(),
                })
                .collect(),
        }
    }
}

#[derive(Serialize)]
struct Amount<'a> {
    value: f64,
    unit: &'a str,
}

impl<'a> Amount<'a> {
    fn of(value: f64, unit: &'a str) -> Self {
        Amount { value: six(value), unit }
    }
}

#[derive(Serialize)]
struct EnteredData<'a> {
    format: u32,
    stock: &'a str,
    line: usize,
    event: &'a str,
    day: String,
    said: &'a str,
    left: Amount<'a>,
    assumed: &'a [String],
    next_step: Option<&'a str>,
}

impl<'a> EnteredData<'a> {
    fn of(entered: &'a Entered) -> Self {
        EnteredData {
            format: FORMAT,
            stock: &entered.stock,
            line: entered.line,
            event: entered.kind,
            day: entered.day.to_string(),
            said: &entered.said,
            left: Amount::of(entered.left, &entered.unit),
            assumed: &entered.assumed,
            next_step: entered.next.as_deref(),
        }
    }
}

#[derive(Serialize)]
struct ShelvedData<'a> {
    format: u32,
    on: String,
    stocks: Vec<ShelfData<'a>>,
}

#[derive(Serialize)]
struct ShelfData<'a> {
    stock: &'a str,
    reagent: &'a str,
    label: &'a str,
    usual: Option<UsualData<'a>>,
    left: Amount<'a>,
    place: &'a str,
    condition: &'a str,
    note: &'a str,
}

impl<'a> ShelvedData<'a> {
    fn of(shelved: &'a Shelved) -> Self {
        ShelvedData {
            format: FORMAT,
            on: shelved.on.to_string(),
            stocks: shelved
                .stocks
                .iter()
                .map(|stock| ShelfData {
                    stock: &stock.code,
                    reagent: &stock.reagent,
                    label: &stock.label,
                    usual: stock.strength.as_ref().map(UsualData::of),
                    left: Amount::of(stock.left, &stock.unit),
                    place: &stock.place,
                    condition: stock.condition.word(),
                    note: &stock.note,
                })
                .collect(),
        }
    }
}

#[derive(Serialize)]
struct UsualData<'a> {
    value: f64,
    low: f64,
    high: f64,
    unit: &'a str,
}

impl<'a> UsualData<'a> {
    fn of(usual: &'a sight::Usual) -> Self {
        let Estimate { low, mid, high } = usual.estimate;
        UsualData { value: six(mid), low: six(low), high: six(high), unit: &usual.unit }
    }
}

/// Of a solution the fields in g/L are filled, of a solid those in g/kg; without an estimate only the label's.
#[derive(Serialize)]
struct StrengthData<'a> {
    median_g_per_l: Option<f64>,
    low_g_per_l: Option<f64>,
    high_g_per_l: Option<f64>,
    label_g_per_l: Option<f64>,
    median_g_per_kg: Option<f64>,
    low_g_per_kg: Option<f64>,
    high_g_per_kg: Option<f64>,
    label_g_per_kg: Option<f64>,
    usual: Option<UsualData<'a>>,
}

impl<'a> StrengthData<'a> {
    fn of(checked: &'a strength::Checked) -> Self {
        let (dissolved, factor) = match checked.form {
            Form::Solution => (true, 1.0),
            Form::Solid => (false, 1000.0),
        };
        let value = |wanted: bool, value: Option<f64>| value.filter(|_| wanted).map(|value| six(value * factor));
        let content = checked.content;
        let [low, median, high] = [content.map(|c| c.low), content.map(|c| c.mid), content.map(|c| c.high)];
        StrengthData {
            median_g_per_l: value(dissolved, median),
            low_g_per_l: value(dissolved, low),
            high_g_per_l: value(dissolved, high),
            label_g_per_l: value(dissolved, Some(checked.label)),
            median_g_per_kg: value(!dissolved, median),
            low_g_per_kg: value(!dissolved, low),
            high_g_per_kg: value(!dissolved, high),
            label_g_per_kg: value(!dissolved, Some(checked.label)),
            usual: checked.usual.as_ref().map(UsualData::of),
        }
    }
}

#[derive(Serialize)]
struct DipData<'a> {
    dip: &'a str,
    verdict: &'a str,
    chance: Option<f64>,
    until: Option<String>,
    /// True if `until` is absent because no end is in sight.
    keeps: bool,
    reasons: &'a [String],
}

#[derive(Serialize)]
struct CheckedData<'a> {
    format: u32,
    stock: &'a str,
    reagent: &'a str,
    on: String,
    label: &'a str,
    strength: StrengthData<'a>,
    left: Amount<'a>,
    bath_l: f64,
    dips: Vec<DipData<'a>>,
    advice: &'a [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    steps: Option<Vec<StepData<'a>>>,
}

#[derive(Serialize)]
struct ShownData<'a> {
    #[serde(flatten)]
    checked: CheckedData<'a>,
    place: &'a str,
    condition: &'a str,
    retired: Option<RetiredData<'a>>,
    journal: Vec<JournalData<'a>>,
}

#[derive(Serialize)]
struct RetiredData<'a> {
    day: String,
    because: &'a str,
}

#[derive(Serialize)]
struct JournalData<'a> {
    line: usize,
    day: String,
    event: &'a str,
    says: &'a str,
    entered_at: &'a str,
}

#[derive(Serialize)]
struct AssayedData<'a> {
    format: u32,
    stock: &'a str,
    method: &'a str,
    day: String,
    g_per_l: Option<f64>,
    g_per_kg: Option<f64>,
    relative_sd: f64,
    comment: &'a str,
    strength: StrengthData<'a>,
    dips: Vec<DipData<'a>>,
    advice: &'a [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    steps: Option<Vec<StepData<'a>>>,
}

#[derive(Serialize)]
struct StepData<'a> {
    what: &'a str,
    source: &'a str,
    title: Option<&'a str>,
    mark: Option<&'a str>,
}

#[derive(Serialize)]
struct BookData<'a> {
    format: u32,
    dips: Vec<BookLine<'a>>,
}

#[derive(Serialize)]
struct BookLine<'a> {
    dip: &'a str,
    name: &'a str,
    reagent: &'a str,
    aim: &'a str,
    target: TargetData,
    minutes_low: f64,
    minutes_high: f64,
    water_c: Option<[f64; 2]>,
    used_for: &'a str,
    plants: &'a str,
    not_shown: &'a [String],
    evidence: Vec<EvidenceData<'a>>,
    cautions: &'a [String],
    stopped_with: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    steps: Option<Vec<StepData<'a>>>,
}

#[derive(Serialize)]
struct EvidenceData<'a> {
    grade: &'a str,
    says: &'a str,
    source: &'a str,
}

#[derive(Serialize)]
struct TargetData {
    low_g_per_l: f64,
    aim_g_per_l: f64,
    high_g_per_l: f64,
}

impl TargetData {
    fn of(goal: &crate::dip::Goal) -> Self {
        TargetData {
            low_g_per_l: six(goal.low.to_g_per_l()),
            aim_g_per_l: six(goal.aim.to_g_per_l()),
            high_g_per_l: six(goal.high.to_g_per_l()),
        }
    }
}

#[derive(Serialize)]
struct DosedData<'a> {
    format: u32,
    dip: &'a str,
    on: String,
    bath_l: f64,
    target: TargetData,
    verdict: &'a str,
    chance: Option<f64>,
    doses: Vec<DoseData<'a>>,
    water_l: f64,
    bath_strength: Option<BathData>,
    largest_bath_l: f64,
    until: Option<String>,
    keeps: bool,
    reasons: &'a [String],
    stopping: Option<StoppingData<'a>>,
    not_used: &'a [String],
    cautions: &'a [String],
    not_shown: &'a [String],
    next_step: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    steps: Option<Vec<StepData<'a>>>,
}

#[derive(Serialize)]
struct DoseData<'a> {
    stock: &'a str,
    value: f64,
    unit: &'a str,
    measure: &'a str,
}

#[derive(Serialize)]
struct BathData {
    median_g_per_l: f64,
    low_g_per_l: f64,
    high_g_per_l: f64,
}

#[derive(Serialize)]
struct StoppingData<'a> {
    neutraliser: &'a str,
    grams_theory: f64,
    grams_planned: f64,
    grams_on_shelf: f64,
    enough_on_shelf: bool,
}

#[derive(Serialize)]
struct ConvertedData<'a> {
    format: u32,
    from: &'a str,
    of: Option<&'a str>,
    value: f64,
    unit: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    low: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    high: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    g_per_l: Option<f64>,
    assumed: &'a [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    steps: Option<Vec<StepData<'a>>>,
}

#[derive(Serialize)]
struct ReagentsData<'a> {
    format: u32,
    reagents: Vec<ReagentData<'a>>,
}

#[derive(Serialize)]
struct ReagentData<'a> {
    reagent: &'a str,
    code: &'a str,
    formula: &'a str,
    forms: &'a [String],
    also: &'a [String],
}

impl<'a> ReagentData<'a> {
    fn of(line: &'a ReagentLine) -> Self {
        ReagentData {
            reagent: &line.key,
            code: &line.code,
            formula: &line.formula,
            forms: &line.forms,
            also: &line.also,
        }
    }
}

#[derive(Serialize)]
struct ReagentPageData<'a> {
    format: u32,
    #[serde(flatten)]
    line: ReagentData<'a>,
    name: &'a str,
    cas: &'a str,
    molar_mass_g_per_mol: f64,
    facts: Vec<StepData<'a>>,
    taken_for: Vec<TakenForData<'a>>,
}

#[derive(Serialize)]
struct TakenForData<'a> {
    name: &'a str,
    difference: &'a str,
    source: &'a str,
}

#[derive(Serialize)]
struct PlayedData<'a> {
    format: u32,
    scenes: Vec<SceneData<'a>>,
    next_step: &'a str,
}

#[derive(Serialize)]
struct SceneData<'a> {
    heading: &'a str,
    command: &'a str,
    answer: serde_json::Value,
}

#[derive(Serialize)]
struct ScriptData<'a> {
    format: u32,
    script: &'a str,
}

struct Writer<'c> {
    why: bool,
    catalogue: &'c Catalogue,
}

impl<'c> Writer<'c> {
    fn steps<'a>(&self, steps: &'a [step::Step]) -> Option<Vec<StepData<'a>>>
    where
        'c: 'a,
    {
        self.why.then(|| steps.iter().map(|step| self.step(&step.what, &step.source)).collect())
    }

    fn step<'a>(&self, what: &'a str, source: &'a str) -> StepData<'a>
    where
        'c: 'a,
    {
        let found = self.catalogue.source(source);
        StepData {
            what,
            source,
            title: found.map(|source| source.title.as_str()),
            mark: found.and_then(|source| source.mark()),
        }
    }

    fn checked<'a>(&self, checked: &'a strength::Checked) -> CheckedData<'a>
    where
        'c: 'a,
    {
        CheckedData {
            format: FORMAT,
            stock: &checked.stock,
            reagent: &checked.reagent,
            on: checked.on.to_string(),
            label: &checked.label_text,
            strength: StrengthData::of(checked),
            left: Amount::of(checked.left, &checked.unit),
            bath_l: six(checked.bath.to_l()),
            dips: dips(checked),
            advice: &checked.advice,
            steps: self.steps(&checked.steps),
        }
    }

    fn shown<'a>(&self, shown: &'a Shown) -> ShownData<'a>
    where
        'c: 'a,
    {
        ShownData {
            checked: self.checked(&shown.checked),
            place: &shown.place,
            condition: shown.condition.word(),
            retired: shown.retired.as_ref().map(|(day, because)| RetiredData { day: day.to_string(), because }),
            journal: shown
                .journal
                .iter()
                .map(|line| JournalData {
                    line: line.number,
                    day: line.day.to_string(),
                    event: &line.kind,
                    says: &line.says,
                    entered_at: &line.entered_at,
                })
                .collect(),
        }
    }

    fn assayed<'a>(&self, assayed: &'a strength::Assayed) -> AssayedData<'a>
    where
        'c: 'a,
    {
        let dissolved = assayed.form == Form::Solution;
        AssayedData {
            format: FORMAT,
            stock: &assayed.stock,
            method: assayed.method,
            day: assayed.day.to_string(),
            g_per_l: dissolved.then(|| six(assayed.content)),
            g_per_kg: (!dissolved).then(|| six(1000.0 * assayed.content)),
            relative_sd: six(assayed.relative_sd),
            comment: &assayed.comment,
            strength: StrengthData::of(&assayed.after),
            dips: dips(&assayed.after),
            advice: &assayed.after.advice,
            steps: self.steps(&assayed.after.steps),
        }
    }

    fn book<'a>(&self, book: &'a Book) -> BookData<'a>
    where
        'c: 'a,
    {
        let dips = book
            .dips
            .iter()
            .map(|(dip, goal)| BookLine {
                dip: &dip.key,
                name: &dip.name,
                reagent: &dip.reagent,
                aim: &dip.target.aim,
                target: TargetData::of(goal),
                minutes_low: dip.minutes.low,
                minutes_high: dip.minutes.high,
                water_c: dip.water_c,
                used_for: &dip.used_for,
                plants: &dip.plants,
                not_shown: &dip.not_shown,
                evidence: dip
                    .evidence
                    .iter()
                    .map(|row| EvidenceData { grade: row.grade.word(), says: &row.says, source: &row.source })
                    .collect(),
                cautions: &dip.cautions,
                stopped_with: dip.stop.as_ref().map(|stop| stop.reagent.as_str()),
                steps: self.steps(&goal.steps),
            })
            .collect();
        BookData { format: FORMAT, dips }
    }

    fn dosed<'a>(&self, dosed: &'a Dosed) -> DosedData<'a>
    where
        'c: 'a,
    {
        let plan = &dosed.plan;
        DosedData {
            format: FORMAT,
            dip: &dosed.dip.key,
            on: dosed.on.to_string(),
            bath_l: six(dosed.bath.to_l()),
            target: TargetData::of(&dosed.goal),
            verdict: plan.verdict.words(),
            chance: plan.chance.map(six),
            doses: plan.doses.iter().map(dose).collect(),
            water_l: six(plan.water.to_l()),
            bath_strength: plan.bath.map(|bath| BathData {
                median_g_per_l: six(bath.mid),
                low_g_per_l: six(bath.low),
                high_g_per_l: six(bath.high),
            }),
            largest_bath_l: six(plan.largest.to_l()),
            until: until(plan.until),
            keeps: plan.until == Some(Until::NoEnd),
            reasons: &plan.reasons,
            stopping: dosed.stopping.as_ref().map(|stopping| StoppingData {
                neutraliser: &stopping.neutraliser,
                grams_theory: six(stopping.theory.to_g()),
                grams_planned: six(stopping.planned.to_g()),
                grams_on_shelf: six(stopping.held.to_g()),
                enough_on_shelf: stopping.enough(),
            }),
            not_used: &dosed.lookalikes,
            cautions: &dosed.dip.cautions,
            not_shown: &dosed.dip.not_shown,
            next_step: &dosed.next_step,
            steps: self.steps(&dosed.steps),
        }
    }

    fn converted<'a>(&self, converted: &'a Converted) -> ConvertedData<'a>
    where
        'c: 'a,
    {
        let Estimate { low, mid, high } = converted.value;
        let band = |value: f64| (!converted.value.is_exact()).then(|| six(value));
        ConvertedData {
            format: FORMAT,
            from: &converted.from,
            of: converted.of.as_deref(),
            value: six(mid),
            unit: &converted.unit,
            low: band(low),
            high: band(high),
            g_per_l: converted.g_per_l.map(six),
            assumed: &converted.assumed,
            steps: self.steps(&converted.steps),
        }
    }

    fn reagent<'a>(&self, page: &'a ReagentPage) -> ReagentPageData<'a>
    where
        'c: 'a,
    {
        ReagentPageData {
            format: FORMAT,
            line: ReagentData::of(&page.line),
            name: &page.name,
            cas: &page.cas,
            molar_mass_g_per_mol: six(page.molar_mass),
            facts: page.facts.iter().map(|(what, source)| self.step(what, source)).collect(),
            taken_for: page
                .taken_for
                .iter()
                .map(|(name, difference, source)| TakenForData { name, difference, source })
                .collect(),
        }
    }
}

fn dips(checked: &strength::Checked) -> Vec<DipData<'_>> {
    checked
        .dips
        .iter()
        .map(|dip| DipData {
            dip: &dip.dip,
            verdict: dip.verdict.words(),
            chance: dip.chance.map(six),
            until: until(dip.until),
            keeps: dip.until == Some(Until::NoEnd),
            reasons: &dip.reasons,
        })
        .collect()
}

fn until(until: Option<Until>) -> Option<String> {
    match until {
        Some(Until::Day(day)) => Some(day.to_string()),
        Some(Until::NoEnd) | None => None,
    }
}

fn dose(dose: &Dose) -> DoseData<'_> {
    DoseData { stock: &dose.code, value: six(dose.amount), unit: &dose.unit, measure: &dose.measure }
}
