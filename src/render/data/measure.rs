//! The fields of `measure`.

use serde::Serialize;

use super::{FORMAT, line, six};
use crate::commands::measure::{MeasureLine, Measures};
use crate::register::measure::{Kind, Weighed, Weighing};

/// The measures in use, or one with everything that was entered of it.
pub(super) fn measures(measures: &Measures) -> String {
    line(&MeasuresData {
        format: FORMAT,
        done: measures.said.as_deref(),
        assumed: &measures.assumed,
        next_step: measures.next.as_deref(),
        measures: measures.measures.iter().map(MeasureData::of).collect(),
    })
}

#[derive(Serialize)]
struct MeasuresData<'a> {
    format: u32,
    done: Option<&'a str>,
    assumed: &'a [String],
    next_step: Option<&'a str>,
    measures: Vec<MeasureData<'a>>,
}

#[derive(Serialize)]
struct MeasureData<'a> {
    measure: &'a str,
    kind: &'a str,
    holds_ml: Option<f64>,
    most_g: Option<f64>,
    step: Option<f64>,
    step_unit: Option<&'a str>,
    drops_per_ml: Option<f64>,
    shown_to_true: f64,
    relative_sd: f64,
    weighed_on: Option<String>,
    since: String,
    retired: Option<String>,
    spoons: Vec<SpoonData<'a>>,
    weighings: Vec<WeighingData<'a>>,
}

#[derive(Serialize)]
struct SpoonData<'a> {
    reagent: &'a str,
    mean_g: f64,
    relative_sd: f64,
    on: String,
}

#[derive(Serialize)]
struct WeighingData<'a> {
    day: String,
    reagent: Option<&'a str>,
    grams: Vec<f64>,
    water_c: Option<f64>,
    mark_ml: Option<f64>,
    drops: Option<f64>,
}

impl<'a> MeasureData<'a> {
    fn of(line: &'a MeasureLine) -> Self {
        let described = &line.described;
        let (kind, holds) = (described.kind, line.holds.mean);
        let is_filled = matches!(kind, Kind::Vessel | Kind::Spoon);
        let most = described.most;
        MeasureData {
            measure: &described.name,
            kind: kind.word(),
            holds_ml: if is_filled { Some(six(holds)) } else { most.filter(|_| kind != Kind::Scale).map(six) },
            most_g: most.filter(|_| kind == Kind::Scale).map(six),
            step: described.step.map(six),
            step_unit: described.step.map(|_| if kind == Kind::Scale { "g" } else { "mL" }),
            drops_per_ml: described.drops_per_ml.map(|_| six(1.0 / holds)),
            shown_to_true: if is_filled || kind == Kind::Dropper { 1.0 } else { six(holds) },
            relative_sd: six(line.holds.relative_sd(1.0)),
            weighed_on: line.weighed_on.map(|day| day.to_string()),
            since: described.from.to_string(),
            retired: line.ended.map(|day| day.to_string()),
            spoons: line
                .spoons
                .iter()
                .map(|spoon| SpoonData {
                    reagent: &spoon.reagent,
                    mean_g: six(spoon.grams.mean),
                    relative_sd: six(spoon.grams.relative_sd(1.0)),
                    on: spoon.on.to_string(),
                })
                .collect(),
            weighings: line.weighings.iter().map(WeighingData::of).collect(),
        }
    }
}

impl<'a> WeighingData<'a> {
    fn of(weighing: &'a Weighing) -> Self {
        let (reagent, [water_c, mark_ml, drops]) = match &weighing.what {
            Weighed::Reagent(key) => (Some(key.as_str()), [None; 3]),
            Weighed::Water { celsius, mark_ml, drops } => (None, [Some(*celsius), *mark_ml, *drops]),
        };
        WeighingData {
            day: weighing.day.to_string(),
            reagent,
            grams: weighing.grams.iter().map(|grams| six(*grams)).collect(),
            water_c,
            mark_ml,
            drops,
        }
    }
}
