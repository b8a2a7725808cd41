//! How unwanted stock travels: the name it is carried under, what the law looks at, which stocks may share a box, and which
//! stocks nobody should want to keep.

use chrono::NaiveDate;

use crate::catalogue::{Apart, Carriage, Form, Jurisdiction, Reagent, Regulated, Verdict};
use crate::hazard::apart::{Conflict, Neighbour, conflict};
use crate::hazard::exact::Exact;

/// The names under which a reagent is carried, at a strength.
#[derive(Debug, Clone, Default)]
pub struct Carried<'a> {
    /// Those whose bounds it is within.
    pub fits: Vec<&'a Carriage>,
    /// Those that hold on a condition which only the keeper can see, told in their words.
    pub may: Vec<&'a Carriage>,
}

/// The names for a form and a strength: peroxide of 8.0 % w/w is UN2984, of 7.9 % it has none.
///
/// The strength is the highest that can be believed, counted as the hazard table counts, and compared as a decimal; where it
/// is not known, every row of the form may hold.
///
/// Source: that of each row.
#[must_use]
pub fn carried(reagent: &Reagent, form: Form, percent_w_w: Option<f64>) -> Carried<'_> {
    let mut carried = Carried::default();
    for row in reagent.carriage.iter().filter(|row| row.form.is_none_or(|of| of == form)) {
        let bounds = [row.from_percent_w_w, row.above_percent_w_w, row.up_to_percent_w_w, row.below_percent_w_w];
        let in_figures = bounds.iter().any(Option::is_some);
        match percent_w_w {
            // A row in words only leaves it to the keeper.
            _ if !in_figures && row.strength.is_some() => carried.may.push(row),
            None if in_figures => carried.may.push(row),
            Some(percent) if !within(row, percent) => {}
            _ => carried.fits.push(row),
        }
    }
    carried
}

fn within(row: &Carriage, percent: f64) -> bool {
    let percent = Exact::of(percent);
    row.from_percent_w_w.is_none_or(|bound| percent >= Exact::of(bound))
        && row.above_percent_w_w.is_none_or(|bound| percent > Exact::of(bound))
        && row.up_to_percent_w_w.is_none_or(|bound| percent <= Exact::of(bound))
        && row.below_percent_w_w.is_none_or(|bound| percent < Exact::of(bound))
}

/// What the law says of a reagent at a strength: 12.0 % w/w peroxide is free in the Union, 12.1 % is not.
///
/// Rows without a strength, as amounts a month, are told whatever it is. Without a place all are told.
///
/// Source: that of each row.
pub fn regulated<'a>(
    reagent: &'a Reagent,
    percent_w_w: Option<f64>,
    places: &'a [Jurisdiction],
) -> impl Iterator<Item = &'a Regulated> {
    reagent.regulated.iter().filter(move |row| {
        // A place that is none of the three, as the road, is told everywhere.
        let place = place_of(row);
        let here = place.is_none_or(|place| places.contains(&place));
        let holds = percent_w_w.is_none_or(|percent| {
            let percent = Exact::of(percent);
            row.above_percent_w_w.is_none_or(|bound| percent > Exact::of(bound))
                && row.below_percent_w_w.is_none_or(|bound| percent < Exact::of(bound))
        });
        here && holds
    })
}

/// Where a row of the law holds; nothing for one that is no country's.
fn place_of(row: &Regulated) -> Option<Jurisdiction> {
    match row.place.as_str() {
        "GB" => Some(Jurisdiction::Uk),
        word => Jurisdiction::called(word),
    }
}

/// Which stocks share a box: the first box in which nothing conflicts with it, else a new one.
///
/// One reagent keeps together; what is in no reaction group stays alone, for nobody knows what it does. Peroxide of 3 %,
/// permanganate and salt: peroxide and salt in one box, permanganate in another.
///
/// Source: `facts` of the pairs.
#[must_use]
pub fn boxes(apart: &Apart, stocks: &[Neighbour<'_>]) -> Vec<Vec<usize>> {
    let mut boxes: Vec<Vec<usize>> = Vec::new();
    for (stock, one) in stocks.iter().enumerate() {
        let goes = |other: &usize| goes_with(apart, *one, stocks[*other]);
        match boxes.iter_mut().find(|shared| shared.iter().all(goes)) {
            Some(shared) => shared.push(stock),
            None => boxes.push(vec![stock]),
        }
    }
    boxes
}

fn goes_with(apart: &Apart, one: Neighbour<'_>, other: Neighbour<'_>) -> bool {
    let alike = one.reagent.key == other.reagent.key && one.form == other.form;
    let known = !one.groups().is_empty() && !other.groups().is_empty();
    alike || (known && conflict(apart, one, other).is_none())
}

/// Every two stocks that must not meet, with what would happen.
///
/// Source: `facts` of the pairs.
#[must_use]
pub fn never_together<'a>(apart: &'a Apart, stocks: &[Neighbour<'a>]) -> Vec<(usize, usize, Conflict<'a>)> {
    let mut found = Vec::new();
    for (one, stock) in stocks.iter().enumerate() {
        for (further, other) in stocks[one + 1..].iter().enumerate() {
            let worst = conflict(apart, *stock, *other).filter(|conflict| conflict.verdict == Verdict::Never);
            found.extend(worst.map(|conflict| (one, one + 1 + further, conflict)));
        }
    }
    found
}

/// What is known of a stock that may not be wanted any more.
#[derive(Debug, Clone, Default)]
pub struct Kept<'a> {
    /// Why it may not be used, if it may not.
    pub hold: Option<&'a str>,
    /// What was noticed since its last test that makes it unfit to be carried: swollen, gassing.
    pub noticed: Option<(NaiveDate, &'a str)>,
    /// For a solution made up here: its age in days, and how long one is worth keeping.
    pub made_up: Option<(i64, f64)>,
    /// What the label says and the low end of what is left of it, in one unit.
    pub strength: Option<(f64, f64)>,
}

/// Why a stock should go; nothing where no reason is known.
///
/// Held; swollen or gassing; made up and older than its kind is worth keeping; or weaker, at the low end of its band, than
/// half of its label.
///
/// Source: `judgement`.
#[must_use]
pub fn unwanted(kept: &Kept<'_>) -> Vec<String> {
    let mut reasons = Vec::new();
    if let Some(hold) = kept.hold {
        reasons.push(format!("held: {hold}"));
    }
    if let Some((day, what)) = kept.noticed {
        reasons.push(format!("noted as {what} on {day}"));
    }
    if let Some((age, keeps)) = kept.made_up.filter(|(age, keeps)| *age as f64 > *keeps) {
        reasons.push(format!("made up {age} days ago, and worth keeping for {keeps}"));
    }
    if kept.strength.is_some_and(|(label, low)| low < 0.5 * label) {
        reasons.push("it may hold less than half of what its label says".to_owned());
    }
    reasons
}
