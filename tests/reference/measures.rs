//! How people measure, and the errors, as a file of facts on the trade tells them: its sections A3 (rules of thumb, common
//! practice with conversions computed there), B2 (confusions, found or recalled) and D (tools and errors, working estimates).
//! Its "± x %" are taken as bands that hold nine times in ten.

use brimstock::dip::tool::{Tool, Way};
use brimstock::dip::weighing::Holds;
use brimstock::units::estimate::Z_95;
use brimstock::units::measure::VolumeUnit;

use super::{check, reagent, row, shipped};

fn scale(step: f64) -> Tool {
    let shows = Holds::said(1.0, shipped().measuring().scale.value);
    Tool { name: "scale".to_owned(), unit: "g", way: Way::Marks { step, most: None, shows, is_scale: true } }
}

/// Half-width of a band that holds nine times in ten.
fn band(relative_sd: f64) -> f64 {
    Z_95 * relative_sd
}

#[test]
fn tools_are_as_good_as_is_told() {
    let measuring = shipped().measuring();
    let pocket = scale(0.01).take(0.3, 240.0).expect("thirty steps");
    let kitchen = scale(1.0).take(50.0, 1000.0).expect("fifty steps");
    let drops = Way::Counted { thing: "drop", one: Holds::said(0.05, measuring.drop.value), taken_as: None };
    let drops = Tool { name: "dropper".to_owned(), unit: "mL", way: drops }.take(1.0, 10.0).expect("twenty drops");
    check(vec![
        row("pocket scale at 0.3 g: 2 to 5 %", band(pocket.relative_sd), 0.035, 0.015, "D, memory"),
        row("kitchen scale at 50 g: fine", band(kitchen.relative_sd), 0.02, 0.02, "D, memory"),
        row("syringe: 2 %", band(measuring.syringe.value), 0.02, 0.015, "D, memory"),
        row("a drop: 20 %", band(drops.relative_sd), 0.20, 0.05, "D, memory"),
        row("twenty drops are 1 mL", drops.amount, 1.0, 1e-12, "D, found"),
        row("household spoon: 50 %", band(measuring.household_spoon.value), 0.50, 0.05, "D, memory"),
        row("volume of a bucket: 10 %", band(measuring.vessel.value), 0.10, 0.02, "D, memory"),
    ]);
}

#[test]
fn a_tablespoon_of_alum_in_a_gallon() {
    // Told as 3.5 to 5.3 g/L: 13 to 20 g in a US gallon, by bulk densities of 0.9 to 1.35 g/mL for which no source was found.
    let gallon = VolumeUnit::exactly_called("gal-us").expect("a gallon").ml / 1000.0;
    let spoon = VolumeUnit::exactly_called("tbsp-us").expect("a tablespoon").ml;
    let fine = &reagent("potassium-alum").solid.as_ref().expect("a solid").spooned[0].density;
    let weighed = Holds::weighed(&[13.8], shipped().measuring().spoon.value);
    check(vec![
        row("0.9 g/mL", 0.9 * spoon / gallon, 3.5, 0.05, "A3, computed"),
        row("1.35 g/mL", 1.35 * spoon / gallon, 5.3, 0.05, "A3, computed"),
        row("a spoon that was weighed", weighed.mean / gallon, 3.65, 0.01, "13.8 g in 3.785 L, computed"),
        row("fine powder is nearer 0.9", fine.value, 0.9, 0.13, "B2, memory"),
    ]);
}

#[test]
fn household_teaspoons_lie_in_the_band_of_a_spoon_nobody_weighed() {
    // Greek study, as quoted: 2.5 to 7.3 mL, all of them; taken as where nineteen of twenty lie or more.
    let sd = shipped().measuring().household_spoon.value;
    let (low, high) = (5.0 * (-2.0 * sd).exp(), 5.0 * (2.0 * sd).exp());
    check(vec![
        row("low end", f64::from(u8::from(low <= 2.75)), 1.0, 0.0, "B2, found at second hand"),
        row("high end", f64::from(u8::from(high >= 7.3)), 1.0, 0.0, "B2, found at second hand"),
    ]);
}

#[test]
fn weighings_by_hand() {
    let holds = Holds::weighed(&[13.5, 13.8, 14.1], 0.08);
    check(vec![
        row("mean", holds.mean, 13.8, 1e-12, "computed by hand"),
        row("one filling", holds.once_sd, 0.049_49, 1e-5, "sqrt((0.0064 + 2 (0.3/13.8)^2) / 3)"),
        row("the mean", holds.mean_sd, 0.028_57, 1e-5, "the same over sqrt(3)"),
        row("one weighing", Holds::weighed(&[13.8], 0.08).relative_sd(1.0), 0.113_137, 1e-6, "0.08 sqrt(2)"),
        row("four spoons", Holds::weighed(&[13.8], 0.08).relative_sd(4.0), 0.089_443, 1e-6, "0.08 sqrt(1.25)"),
        row("0.1 g on 1 g steps", f64::from(u8::from(scale(1.0).take(0.1, 9.0).is_none())), 1.0, 0.0, "D: useless"),
    ]);
}
