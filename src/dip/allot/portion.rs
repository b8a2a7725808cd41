//! What a bath is allotted, measured out: rounded to what measures show, and still no stock over-drawn.

use super::super::measure::{Measured, measured, measured_down, measured_up};
use super::super::pick;
use super::super::plan::{Source, plan};
use super::super::stop::{Stopping, limit};
use super::super::{Dose, Offer, Plan, Verdict};
use super::{Portion, Shelf, Want};
use crate::units::{Mass, Volume, show};

/// What an allotment is rounded down to at the least, in parts of it. Source: `judgement`.
const LITTLE_LESS: f64 = 0.995;

/// A stock that brings less than this beside another one is left off, in parts of what that brings. Source: `judgement`.
const DREGS: f64 = 0.005;

/// Amounts of stocks, by their number on the shelf.
type Amounts = Vec<(usize, f64)>;

/// One bath with what it was allotted of reagent and neutraliser, if it was.
pub(super) struct Part {
    pub(super) want: usize,
    pub(super) number: u32,
    pub(super) allotted: Option<(Amounts, Amounts)>,
}

/// Plans every bath: first those that were allotted something, then the others from what nobody takes.
pub(super) fn portions(wants: &[Want<'_>], shelf: &Shelf<'_>, parts: Vec<Part>) -> Vec<Portion> {
    let mut desk = Desk { shelf, spare: shelf.left.clone() };
    let (mut served, others): (Vec<Part>, Vec<Part>) = parts.into_iter().partition(|part| part.allotted.is_some());
    for part in &mut served {
        if let Some((reagent, _)) = &mut part.allotted {
            without_dregs(shelf, &wants[part.want], reagent);
        }
    }
    for (reagent, stop) in served.iter_mut().filter_map(|part| part.allotted.as_mut()) {
        for (stock, amount) in reagent.iter_mut().chain(stop) {
            // What the solver gave too much, within its tolerance, is not there.
            *amount = amount.min(desk.spare[*stock]);
            desk.spare[*stock] -= *amount;
        }
    }
    let mut portions = Vec::with_capacity(served.len() + others.len());
    for part in &served {
        let (reagent, stop) = part.allotted.as_ref().map_or((&[][..], &[][..]), |(a, b)| (&a[..], &b[..]));
        portions.push(desk.portion(&wants[part.want], part, reagent, stop));
    }
    for part in &others {
        portions.push(desk.rest(&wants[part.want], part));
    }
    portions
}

/// Leaves off stocks that would bring next to nothing to a bath: nobody measures that out.
fn without_dregs(shelf: &Shelf<'_>, want: &Want<'_>, reagent: &mut Amounts) {
    let grams = |(stock, amount): &(usize, f64)| {
        let offer = shelf.supplies[*stock].offer;
        let content = shelf.content(*stock, want.day).map_or(offer.label, |content| content.quantile(0.5));
        amount * offer.per_unit() * content
    };
    let most = reagent.iter().map(grams).fold(0.0, f64::max);
    reagent.retain(|part| grams(part) >= DREGS * most);
}

struct Desk<'a> {
    shelf: &'a Shelf<'a>,
    /// What of each stock nobody takes so far.
    spare: Vec<f64>,
}

impl Desk<'_> {
    /// A bath from its allotment.
    fn portion(&mut self, want: &Want<'_>, part: &Part, reagent: &[(usize, f64)], stop: &[(usize, f64)]) -> Portion {
        let given: Vec<(usize, f64)> =
            reagent.iter().map(|(stock, amount)| (*stock, self.rounded(want, *stock, *amount))).collect();
        let plan = self.plan(want, &given);
        let mut drawn = Vec::new();
        for ((stock, allotted), (_, given)) in reagent.iter().zip(&given) {
            let code = &self.shelf.supplies[*stock].offer.code;
            // Without an estimate nothing is measured out yet, but it stays set aside.
            let used = match plan.chance {
                Some(_) => plan.doses.iter().filter(|dose| dose.code == *code).map(|dose| dose.amount).sum(),
                None => *allotted,
            };
            debug_assert!(used <= given.max(*allotted) + 1e-9);
            self.spare[*stock] += allotted - used;
            drawn.push((*stock, used));
        }
        let (stopping, neutraliser) = match &want.stopping {
            Some(stopping) => {
                let (doses, grams) = self.neutraliser(want, stop, &mut drawn);
                // The programme allots what is planned, exact to its tolerance; a rounding down is no lack.
                let held = if grams >= stopping.planned.to_g() * (1.0 - 1e-5) {
                    grams.max(stopping.planned.to_g())
                } else {
                    grams
                };
                (Some(Stopping { held: Mass::g(held), ..stopping.clone() }), doses)
            }
            None => (None, Vec::new()),
        };
        self.finish(part, plan, stopping, neutraliser, drawn)
    }

    /// A bath that was allotted nothing, from what nobody takes: near enough to the aim it may still do.
    fn rest(&mut self, want: &Want<'_>, part: &Part) -> Portion {
        let reagent: Vec<usize> = self.shelf.of_reagent(&want.bath.dip.reagent).collect();
        let spare: Vec<(usize, f64)> =
            reagent.iter().map(|stock| (*stock, self.spare[*stock])).filter(|(_, spare)| *spare > 0.0).collect();
        let mut plan = if spare.is_empty() { self.empty(want, reagent.is_empty()) } else { self.plan(want, &spare) };
        let stopping = want.stopping.as_ref().map(|stopping| {
            let held = self.shelf.of_reagent(&stopping.neutraliser).map(|stock| {
                let kept = if stopping.neutraliser == want.bath.dip.reagent { 0.0 } else { self.spare[stock] };
                kept * self.shelf.stop_grams(stock, want.day)
            });
            Stopping { held: Mass::g(held.sum()), ..stopping.clone() }
        });
        let works = matches!(plan.verdict, Verdict::Ready | Verdict::TestFirst) && plan.chance.is_some();
        if works && stopping.as_ref().is_none_or(Stopping::enough) {
            let reagent: Vec<(usize, f64)> = plan
                .doses
                .iter()
                .filter_map(|dose| {
                    let (stock, _) =
                        spare.iter().find(|(stock, _)| self.shelf.supplies[*stock].offer.code == dose.code)?;
                    Some((*stock, dose.amount))
                })
                .collect();
            let mut drawn = Vec::new();
            for (stock, amount) in reagent {
                self.spare[stock] -= amount;
                drawn.push((stock, amount));
            }
            let mut neutraliser = Vec::new();
            if let Some(stopping) = &stopping {
                let stop = self.set_aside(want, stopping);
                neutraliser = self.neutraliser(want, &stop, &mut drawn).0;
            }
            return self.finish(part, plan, stopping, neutraliser, drawn);
        }
        // Whatever it would take goes to nobody.
        plan.doses = Vec::new();
        plan.chance = None;
        plan.bath = None;
        if let Some(stopping) = &stopping {
            self.unstopped(want, &mut plan, stopping);
        }
        if matches!(plan.verdict, Verdict::Ready | Verdict::TestFirst) {
            plan.verdict = Verdict::Short;
        }
        plan.water = want.bath.volume;
        self.finish(part, plan, stopping, Vec::new(), Vec::new())
    }

    /// The answer where nothing can be poured: nothing may be used, or nothing is left over.
    fn empty(&self, want: &Want<'_>, nothing_usable: bool) -> Plan {
        let bath = &want.bath;
        if nothing_usable {
            let theirs = self.shelf.all.iter().filter(|supply| supply.reagent == bath.dip.reagent);
            let offers: Vec<Offer> = theirs.map(|supply| supply.offer.clone()).collect();
            return pick::nothing_usable(bath, &offers);
        }
        let why = format!("the other baths take all there is of {}", bath.dip.reagent);
        Plan::without_doses(Verdict::Short, bath, Volume::ml(0.0), vec![why])
    }

    /// Says why a bath that was allotted nothing could not be stopped, if it could not.
    fn unstopped(&self, want: &Want<'_>, plan: &mut Plan, stopping: &Stopping) {
        let before = plan.reasons.len();
        limit(plan, &want.bath, stopping);
        let taken =
            self.shelf.of_reagent(&stopping.neutraliser).any(|stock| self.spare[stock] < self.shelf.left[stock]);
        if taken && plan.reasons.len() > before {
            let [planned, rest] = [stopping.planned, stopping.held].map(|mass| show::grams(libm::round(mass.to_g())));
            plan.reasons.truncate(before);
            plan.reasons
                .push(format!("stopping it takes {planned} of {}, the other baths leave {rest}", stopping.neutraliser));
        }
    }

    /// Sets aside the neutraliser that a bath takes, from what nobody takes.
    fn set_aside(&mut self, want: &Want<'_>, stopping: &Stopping) -> Amounts {
        let mut grams = stopping.planned.to_g();
        let mut aside = Vec::new();
        for stock in self.shelf.of_reagent(&stopping.neutraliser) {
            let per_unit = self.shelf.stop_grams(stock, want.day);
            if per_unit > 0.0 && grams > 0.0 {
                let amount = (grams / per_unit).min(self.spare[stock]);
                self.spare[stock] -= amount;
                grams -= amount * per_unit;
                aside.push((stock, amount));
            }
        }
        aside
    }

    /// Measures the neutraliser out of what was set aside, rounded up where something is to spare; with its grams.
    fn neutraliser(&mut self, want: &Want<'_>, stop: &[(usize, f64)], drawn: &mut Amounts) -> (Vec<Dose>, f64) {
        let mut doses = Vec::new();
        let mut grams = 0.0;
        for (stock, amount) in stop.iter().copied() {
            let offer = self.shelf.supplies[stock].offer;
            let most = amount + self.spare[stock];
            let measure = measured_up(amount, most, offer.form, want.bench.measuring);
            let used = measure.amount;
            self.spare[stock] += amount - used;
            grams += used * self.shelf.stop_grams(stock, want.day);
            drawn.push((stock, used));
            doses.push(dose(offer, measure));
        }
        (doses, grams)
    }

    /// What a stock is asked for: the allotment rounded to what is measured, down where nothing is to spare and little is lost.
    fn rounded(&self, want: &Want<'_>, stock: usize, amount: f64) -> f64 {
        let offer = self.shelf.supplies[stock].offer;
        let most = amount + self.spare[stock];
        let bath_ml = want.bath.volume.to_ml();
        let up = measured(amount, f64::MAX, bath_ml, offer.form, &want.bench).amount;
        if up <= most {
            return up.max(amount);
        }
        let down = measured_down(amount, offer.form, want.bench.measuring).amount;
        if want.bench.tools.is_empty() && down >= LITTLE_LESS * amount { down } else { amount }
    }

    fn plan(&self, want: &Want<'_>, given: &[(usize, f64)]) -> Plan {
        let offers: Vec<(usize, Offer)> = given
            .iter()
            .map(|(stock, amount)| (*stock, Offer { left: *amount, ..self.shelf.supplies[*stock].offer.clone() }))
            .collect();
        let sources: Vec<Source<'_>> = offers
            .iter()
            .map(|(stock, offer)| Source { offer, content: self.shelf.content(*stock, want.day).cloned() })
            .collect();
        plan(&want.bath, &sources, &want.bench)
    }

    fn finish(
        &self,
        part: &Part,
        plan: Plan,
        stopping: Option<Stopping>,
        neutraliser: Vec<Dose>,
        drawn: Amounts,
    ) -> Portion {
        let drawn = drawn.into_iter().filter(|(_, amount)| *amount > 0.0);
        let drawn = drawn.map(|(stock, amount)| (self.shelf.numbers[stock], amount)).collect();
        Portion { want: part.want, number: part.number, plan, stopping, neutraliser, drawn }
    }
}

fn dose(offer: &Offer, measure: Measured) -> Dose {
    Dose {
        code: offer.code.clone(),
        amount: measure.amount,
        unit: offer.unit.clone(),
        measure: measure.words,
        tool: measure.tool,
        coarse: measure.coarse,
        own: measure.own,
        stock_solution: measure.stock_solution,
    }
}
