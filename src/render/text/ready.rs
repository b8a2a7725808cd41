//! Whether the shelf will be ready for what is expected, and several baths of one dip.

use comfy_table::Cell;

use crate::commands::allocating::{BathLine, NeedLine, StockLine};
use crate::commands::dose::Dosed;
use crate::commands::dose_baths::Baths;
use crate::commands::ready::Readiness;
use crate::commands::shopping::Purchase;
use crate::dip::{Dose, Plan, Verdict};
use crate::render::Style;
use crate::render::table::{sentence, table, verdict};
use crate::units::show;

/// As many reasons as a page bears.
const REASONS: usize = 6;

/// Every lot's baths, the stocks that they draw on, and what to buy.
pub(super) fn readiness(style: &Style, readiness: &Readiness) -> String {
    let baths = &readiness.allocation.baths;
    let ready = baths.iter().filter(|bath| bath.plan.verdict == Verdict::Ready).count();
    let mut text = format!("asked on {}: {ready} of {} ready\n", readiness.on, number(baths.len()));
    let alike = |a: &BathLine, b: &BathLine| {
        (a.day, &a.lot, &a.dip, a.volume.to_ml().to_bits()) == (b.day, &b.lot, &b.dip, b.volume.to_ml().to_bits())
            && same(&a.plan, &b.plan)
            && amounts(&a.neutraliser) == amounts(&b.neutraliser)
    };
    let mut rows = Vec::new();
    let mut reasons: Vec<String> = Vec::new();
    for group in baths.chunk_by(|a, b| alike(a, b)) {
        let (first, many) = (&group[0], group.len());
        let volume = show::millilitres(first.volume.to_ml());
        let plan = &first.plan;
        rows.push(vec![
            Cell::new(first.day),
            Cell::new(&first.lot),
            Cell::new(&first.dip),
            Cell::new(if many == 1 { volume } else { format!("{many} x {volume}") }),
            verdict(style, plan.verdict),
            Cell::new(plan.chance.map_or_else(|| "-".to_owned(), show::chance)),
            Cell::new(measure_out(&plan.doses, &first.neutraliser)),
        ]);
        if plan.verdict != Verdict::Ready {
            for reason in &plan.reasons {
                if !reasons.iter().any(|told| told.ends_with(reason)) {
                    reasons.push(format!("{}, {}: {reason}", first.lot, first.dip));
                }
            }
        }
    }
    text.push_str(&table(style, &["date", "lot", "dip", "baths", "verdict", "chance", "for each bath"], &[6], rows));
    text.push_str(&own_measures(style, baths.iter().flat_map(|bath| bath.plan.doses.iter().chain(&bath.neutraliser))));
    let more = reasons.len().saturating_sub(REASONS);
    for reason in reasons.iter().take(REASONS) {
        text.push_str(&sentence(style, "because: ", reason));
    }
    if more > 0 {
        text.push_str(&format!("and {more} more reasons: --json tells them all\n"));
    }
    text.push_str(&stocks(style, &readiness.allocation.stocks));
    text.push_str(&sentence(style, "all baths take: ", &needs(&readiness.allocation.needs)));
    for purchase in &readiness.shopping {
        text.push_str(&sentence(style, "get: ", &get(purchase, readiness)));
    }
    if !readiness.shopping.is_empty() {
        let whose = if readiness.delivery_assumed { " (taken as usual; else --delivery DAYS) [judgement]" } else { "" };
        text.push_str(&sentence(style, "delivery: ", &format!("{} days from the order{whose}", readiness.delivery)));
    }
    if readiness.kept {
        text.push_str("kept as what is expected; `brimstock ready-for --plan` asks for it again\n");
    }
    text.push_str(&sentence(
        style,
        "mind: ",
        "enter what is poured, and ask again on the day; `brimstock dips NAME` has the cautions of each dip; local rules come first",
    ));
    text.push_str(&super::why(style, &readiness.allocation.steps));
    text
}

fn number(baths: usize) -> String {
    if baths == 1 { "1 bath".to_owned() } else { format!("{baths} baths") }
}

/// True if both read alike.
fn same(a: &Plan, b: &Plan) -> bool {
    a.verdict == b.verdict
        && a.chance.map(show::chance) == b.chance.map(show::chance)
        && amounts(&a.doses) == amounts(&b.doses)
        && a.reasons == b.reasons
}

/// `S06 307 mL + S05 20 mL`.
fn amounts(doses: &[Dose]) -> String {
    let each: Vec<String> =
        doses.iter().map(|dose| format!("{} {}", dose.code, show::amount(dose.amount, &dose.unit))).collect();
    each.join(" + ")
}

fn measure_out(doses: &[Dose], neutraliser: &[Dose]) -> String {
    match (doses, neutraliser) {
        ([], []) => "-".to_owned(),
        (doses, []) => amounts(doses),
        ([], stop) => format!("to stop it {}", amounts(stop)),
        (doses, stop) => format!("{}; to stop it {}", amounts(doses), amounts(stop)),
    }
}

/// What the keeper's own measures make of the amounts, each once.
fn own_measures<'a>(style: &Style, doses: impl Iterator<Item = &'a Dose>) -> String {
    let mut told: Vec<String> = Vec::new();
    for dose in doses.filter(|dose| !dose.own.is_empty()) {
        let line = format!("{} {}: {}", dose.code, show::amount(dose.amount, &dose.unit), dose.measure);
        if !told.contains(&line) {
            told.push(line);
        }
    }
    told.iter().map(|line| sentence(style, "measure: ", line)).collect()
}

/// The stocks that are drawn on, with their strength on the first and the last day.
fn stocks(style: &Style, stocks: &[StockLine]) -> String {
    if stocks.is_empty() {
        return String::new();
    }
    let rows = stocks.iter().map(|stock| {
        let ends = match &stock.strengths[..] {
            [] => "as it stands".to_owned(),
            [(_, one)] => format!("{} {}", show::with_band(one.estimate), one.unit),
            [(first_day, first), .., (last_day, last)] => format!(
                "{} {} on {first_day}, {} on {last_day}",
                show::with_band(first.estimate),
                first.unit,
                show::with_band(last.estimate)
            ),
        };
        let [taken, left] = [stock.taken, stock.left].map(|amount| show::amount(amount, &stock.unit));
        [stock.code.clone(), stock.baths.to_string(), taken, left, ends].map(Cell::new).to_vec()
    });
    table(style, &["stock", "baths", "takes", "leaves", "strength then"], &[4], rows.collect())
}

fn needs(needs: &[NeedLine]) -> String {
    let each = needs.iter().map(|need| {
        let [wanted, there] = [need.wanted, need.there].map(show::planned_grams);
        let stops = if need.stops { " to stop them" } else { "" };
        format!("{wanted} of {}{stops} ({there} there)", need.reagent)
    });
    each.collect::<Vec<_>>().join("; ")
}

fn get(purchase: &Purchase, readiness: &Readiness) -> String {
    let missing = show::planned_grams(purchase.grams);
    let what = match purchase.containers {
        Some((size, count)) => format!("{count} x {} of {}", show::amount(size, purchase.unit), purchase.label),
        None => {
            let amount = show::significant(purchase.amount, 2).parse().unwrap_or(purchase.amount);
            format!("about {} of {}, as it is usually sold", show::amount(amount, purchase.unit), purchase.label)
        }
    };
    let by = match purchase.late(readiness.on) {
        0 => format!("order by {}", purchase.order_by),
        late => {
            let days = if late == 1 { "1 day".to_owned() } else { format!("{late} days") };
            format!("order at once: {} was the day, it comes {days} late", purchase.order_by)
        }
    };
    format!("{missing} of {} are missing from {} on: {what}; {by}", purchase.reagent, purchase.from)
}

/// Several equal baths of one dip.
pub(super) fn baths(style: &Style, dosed: &Dosed, baths: &Baths) -> String {
    let volume = show::millilitres(dosed.bath.to_ml());
    let count = baths.portions.len();
    let mut text = format!("{}, {} of {volume} on {}\n", dosed.dip.key, number(count), dosed.on);
    text.push_str(&format!("verdict: {}, {} of {count} ready\n", baths.verdict().words(), baths.ready()));
    let mut rows = Vec::new();
    let mut reasons: Vec<&String> = Vec::new();
    let alike = |a: &crate::dip::allot::Portion, b: &crate::dip::allot::Portion| {
        same(&a.plan, &b.plan) && amounts(&a.neutraliser) == amounts(&b.neutraliser)
    };
    for group in baths.portions.chunk_by(alike) {
        let (first, last) = (&group[0], &group[group.len() - 1]);
        let numbers = match (first.number, last.number) {
            (one, other) if one == other => one.to_string(),
            (one, other) => format!("{one}–{other}"),
        };
        rows.push(vec![
            Cell::new(numbers),
            verdict(style, first.plan.verdict),
            Cell::new(first.plan.chance.map_or_else(|| "-".to_owned(), show::chance)),
            Cell::new(measure_out(&first.plan.doses, &first.neutraliser)),
        ]);
        let told = first.plan.reasons.iter().filter(|_| first.plan.verdict != Verdict::Ready);
        for reason in told {
            if !reasons.contains(&reason) {
                reasons.push(reason);
            }
        }
    }
    for reason in reasons.iter().take(REASONS) {
        text.push_str(&sentence(style, "because: ", reason));
    }
    text.push_str(&table(style, &["bath", "verdict", "chance", "for each"], &[3], rows));
    let doses = baths.portions.iter().flat_map(|portion| portion.plan.doses.iter().chain(&portion.neutraliser));
    text.push_str(&own_measures(style, doses));
    if !baths.taken.is_empty() {
        let taken =
            baths.taken.iter().map(|taken| format!("{} {}", taken.code, show::amount(taken.amount, &taken.unit)));
        text.push_str(&sentence(style, "taken: ", &taken.collect::<Vec<_>>().join(", ")));
    }
    text.push_str(&sentence(style, "all baths take: ", &needs(&baths.needs)));
    let largest = libm::floor(dosed.plan.largest.to_l() * 10.0 + 1e-6) / 10.0;
    text.push_str(&format!("largest bath, one alone: {} L\n", show::plain(largest)));
    text.push_str("mind:\n");
    for line in dosed.dip.cautions.iter().chain(dosed.dip.not_shown.first()) {
        text.push_str(&sentence(style, "  - ", line));
    }
    text.push_str(&sentence(style, "next: ", &dosed.next_step));
    text.push_str(&super::why(style, &dosed.steps));
    text
}
