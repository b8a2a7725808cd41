//! `assay plan`: the cheapest test that is worth it, what to expect in it, and what it would settle.

use chrono::NaiveDate;
use clap::Args;

use super::sight::{Sight, Usual};
use super::strength::{Asked, checked};
use super::testing::{PlannedTest, blocks, tests_for, worth_doing};
use super::{Problem, Session};
use crate::catalogue::Test;
use crate::dip::Verdict;
use crate::units::Volume;

/// Plan a test of a stock
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  brimstock assay plan HP-1\n  brimstock assay plan HP-1 --by strip --scale 1,3,10,30,100"
)]
pub struct PlanArguments {
    /// The stock's code
    #[arg(required = false, value_name = "STOCK")]
    pub code: Option<String>,
    /// By this test, and no other
    #[arg(long, value_name = "TEST", value_parser = test)]
    pub by: Option<Test>,
    /// Every block of your strip's scale, mg/L
    #[arg(long)]
    pub scale: Option<String>,
}

fn test(word: &str) -> Result<Test, String> {
    Test::ALL.into_iter().find(|test| test.word() == word).ok_or_else(|| {
        let words: Vec<&str> = Test::ALL.iter().map(|test| test.word()).collect();
        format!("`{word}` is no test; accepted: {}", words.join(", "))
    })
}

/// A plan for a test.
#[derive(Debug, Clone, PartialEq)]
pub struct AssayPlan {
    /// The stock's code.
    pub stock: String,
    /// The reagent's name.
    pub name: String,
    /// The day.
    pub on: NaiveDate,
    /// What is believed now, in its usual unit.
    pub now: Option<Usual>,
    /// The test to do.
    pub test: PlannedTest,
    /// The other tests that suit it.
    pub others: Vec<(Test, String)>,
    /// Dips that are `test first` now.
    pub settles: Vec<String>,
}

/// Plans a test.
///
/// # Errors
/// For an unknown stock or one that has left, a test that does not suit, a scale that cannot be read.
pub fn plan(session: &Session, outer: Option<&str>, given: &PlanArguments) -> Result<AssayPlan, Problem> {
    let code = given.code.as_deref().or(outer).ok_or_else(|| {
        Problem::question("a test of which stock?")
            .hint("`brimstock assay plan HP-1`; `brimstock shelf` lists the codes")
    })?;
    let scale = given.scale.as_deref().map(blocks).transpose()?;
    let mut register = session.register()?;
    register.read(|reading| {
        let places = reading.places()?;
        let sight = Sight::on_shelf(session, reading, &places, code)?;
        if let Some((day, why)) = &sight.state.retired {
            return Err(Problem::question(format!("`{}` left the shelf on {day}: {why}", sight.stock.code)));
        }
        let mut tests = tests_for(session, &sight, scale.as_deref())?;
        let index = match given.by {
            Some(test) => tests.iter().position(|planned| planned.test == test).ok_or_else(|| {
                let method = session.catalogue.method(test);
                let too_strong = method.suits(sight.reagent).filter(|suits| {
                    sight.history.label_percent_w_w.is_some_and(|percent| percent > suits.up_to_percent_w_w)
                });
                let why = match (method.suits(sight.reagent), too_strong) {
                    (None, _) => format!("it is not told for {} as a {}", sight.reagent.name, sight.stock.form),
                    (Some(_), Some(suits)) => {
                        format!("it is told for at most {} % w/w", crate::units::show::plain(suits.up_to_percent_w_w))
                    }
                    (Some(_), None) => "it would tell too little of this strength".to_owned(),
                };
                Problem::question(format!("{} is no test to plan for `{}`", method.name, sight.stock.code))
                    .because(why)
                    .hint(format!("`brimstock assay plan {}` tells which are", sight.stock.code))
            })?,
            None => worth_doing(&tests).unwrap_or(tests.len() - 1),
        };
        let test = tests.remove(index);
        let checked = checked(session, reading, &places, &sight, &Asked::of(Volume::l(10.0)))?;
        Ok(AssayPlan {
            stock: sight.stock.code.clone(),
            name: sight.reagent.name.clone(),
            on: session.day,
            now: checked.usual.clone(),
            test,
            others: tests.into_iter().map(|test| (test.test, test.says)).collect(),
            settles: checked
                .dips
                .iter()
                .filter(|dip| dip.verdict == Verdict::TestFirst)
                .map(|dip| dip.dip.clone())
                .collect(),
        })
    })
}
