//! `audit`: what stands where it must not, and the moves that clear it.

use std::collections::BTreeSet;

use chrono::NaiveDate;
use clap::Args;

use super::layout::{Layout, Stands};
use super::local;
use super::{Problem, Session, arguments};
use crate::disposal::local::{About, Store};
use crate::hazard::storage::{Fault, Severity};
use crate::register::Writing;
use crate::units::measure::Quantity;
use crate::units::show;

/// Look for what stands where it must not, and for the moves that clear it
///
/// It looks at what stands beside and above what, at warmth, light and what is around each place, at caps, containers,
/// labels and data sheets, at own dilutions, and at the amounts of your local rules. It knows nothing of what is not entered.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  brimstock audit\n  brimstock audit --at porch\n  brimstock audit --before \"move HP-1 porch\""
)]
pub struct Audit {
    /// Ask before a move: what it would make wrong, and what it would clear
    #[arg(long, value_name = "MOVE")]
    pub before: Option<String>,
    /// Only what concerns the stocks of this place
    #[arg(long, value_name = "PLACE", conflicts_with = "before")]
    pub at: Option<String>,
}

/// What is wrong, with whom it concerns.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Finding {
    /// What is wrong.
    pub fault: Fault,
    /// Where; nothing where it concerns several places that share no cabinet.
    pub place: Option<String>,
    /// Codes of the stocks.
    pub stocks: Vec<String>,
    /// Reasons for which the keeper lets it stand.
    pub overruled: Vec<Overruled>,
    /// True if the reasons do not speak for all of it.
    pub open: bool,
}

impl Finding {
    /// True if both say the same of the same place, of whichever stocks.
    pub(super) fn is_same(&self, other: &Finding) -> bool {
        self.fault.rule == other.fault.rule && self.place == other.place
    }
}

/// A reason for which a stock stands against a warning.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Overruled {
    /// The stock's code.
    pub stock: String,
    /// Since when.
    pub since: NaiveDate,
    /// The reason.
    pub why: String,
}

/// One stock to be carried.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Carry {
    /// Its code.
    pub stock: String,
    /// From where.
    pub from: String,
    /// Where to.
    pub to: String,
    /// Which step it belongs to; several items of one step are lifted out together, before any is put down.
    pub step: usize,
}

/// A move that is no clean one, and still better than none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeastBad {
    /// The stocks and where they would go.
    pub carries: Vec<Carry>,
    /// How many findings it would leave, by severity, the gravest first; before it and after.
    pub before: [usize; 3],
    /// The same after it.
    pub after: [usize; 3],
    /// What it would make, as bad as serious.
    pub makes: Vec<String>,
}

/// What `audit` answers.
#[derive(Debug, Clone)]
pub struct Audited {
    /// The day.
    pub on: NaiveDate,
    /// How many stocks were looked at.
    pub stocks: usize,
    /// What is wrong, the gravest first.
    pub findings: Vec<Finding>,
    /// The moves that clear what moves can clear.
    pub moves: Vec<Carry>,
    /// False if there may be a better set of moves.
    pub proven: bool,
    /// How many findings would be left that another place could clear.
    pub stuck: usize,
    /// Where a danger is left: the one move that would make least of it, on top of the others.
    pub least_bad: Option<LeastBad>,
    /// For a question before a move: the move, what it would clear.
    pub before: Option<Before>,
    /// What is held of what the local rules limit.
    pub limits: Vec<Held>,
    /// What could not be looked at.
    pub unseen: Vec<String>,
    /// The rules are due for review since that day, if they are.
    pub review: Option<NaiveDate>,
}

/// What is held against a local limit of amount.
#[derive(Debug, Clone)]
pub struct Held {
    /// The limit.
    pub rule: Store,
    /// Of what, in words: a reagent's key, a group's name.
    pub of: String,
    /// Codes of the stocks that it concerns.
    pub stocks: Vec<String>,
    /// How much of them could be counted, in the unit of the limit.
    pub held: f64,
    /// Codes of the stocks that could not be counted.
    pub uncounted: Vec<String>,
}

impl Held {
    /// True if more is held than the rule allows.
    #[must_use]
    pub fn is_over(&self) -> bool {
        self.held > self.rule.most.base() * (1.0 + 1e-9)
    }

    /// The limit in words: `at most 1 L of hydrogen-peroxide above 8 % w/w`.
    #[must_use]
    pub fn limit(&self) -> String {
        let stronger =
            self.rule.stronger_than.map_or(String::new(), |bound| format!(" above {} % w/w", show::plain(bound)));
        let most = show::amount(self.rule.most.base(), self.rule.most.base_unit());
        format!("at most {most} of {}{stronger}", self.of)
    }
}

/// A move that was asked about; the findings are then those that it would make.
#[derive(Debug, Clone, PartialEq)]
pub struct Before {
    /// The move.
    pub carry: Carry,
    /// What it would clear.
    pub cleared: Vec<Finding>,
}

impl Audited {
    /// True if nothing is wrong.
    #[must_use]
    pub fn is_clean(&self) -> bool {
        self.findings.is_empty()
    }
}

/// Looks through the shelf.
///
/// # Errors
/// For a question before a move that cannot be read, local rules with a fault, and a register that contradicts itself.
pub fn run(session: &Session, arguments: &Audit) -> Result<Audited, Problem> {
    let mut register = session.register()?;
    register.read(|reading| {
        let layout = Layout::of(session, reading)?;
        let review = Some(session.catalogue.apart().review_by).filter(|day| session.day > *day);
        let answer = Audited {
            on: session.day,
            stocks: layout.stocks.len(),
            findings: Vec::new(),
            moves: Vec::new(),
            proven: true,
            stuck: 0,
            least_bad: None,
            before: None,
            limits: Vec::new(),
            unseen: layout.unseen(),
            review,
        };
        match &arguments.before {
            Some(text) => before(&layout, text, answer),
            None => all(session, &layout, arguments.at.as_deref(), answer),
        }
    })
}

/// What a move would make, and what it would clear.
fn before(layout: &Layout<'_>, text: &str, answer: Audited) -> Result<Audited, Problem> {
    let carry = read_move(layout, text)?;
    let after = layout.with(&carry.stock, &carry.to);
    let (now, then) = (layout.placing(), after.placing());
    let concerns = |finding: &Finding| finding.stocks.contains(&carry.stock);
    let known = |finding: &Finding, among: &[Finding]| among.iter().any(|other| other.is_same(finding));
    // It makes what holds the moved stock and did not before; it clears what is gone altogether.
    let held: Vec<Finding> = now.iter().filter(|finding| concerns(finding)).cloned().collect();
    let findings = then.iter().filter(|finding| concerns(finding) && !known(finding, &held)).cloned().collect();
    let cleared = now.iter().filter(|finding| !known(finding, &then)).cloned().collect();
    Ok(Audited { findings, before: Some(Before { carry, cleared }), ..answer })
}

/// Everything that is wrong, or all that concerns one place, and the moves.
fn all(session: &Session, layout: &Layout<'_>, at: Option<&str>, mut answer: Audited) -> Result<Audited, Problem> {
    let mut findings = layout.placing();
    findings.extend(layout.upkeep(session));
    // A slip in the local rules is no reason to say nothing of the rest.
    match against_limits(session, layout) {
        Ok(limits) => {
            findings.extend(limits.iter().flat_map(too_much));
            answer.limits = limits;
        }
        Err(problem) => answer
            .unseen
            .push(format!("amounts against your local rules: {problem} (`brimstock local` tells every fault)")),
    }
    findings.sort();
    let plan = layout.moves();
    answer = Audited { proven: plan.proven, stuck: plan.stuck, least_bad: plan.least_bad, ..answer };
    let Some(name) = at else { return Ok(Audited { findings, moves: plan.moves, ..answer }) };
    let name = &arguments::place(&layout.places, name)?.name;
    let there = |code: &String| {
        let stock = layout.stocks.iter().find(|stock| stock.code == *code);
        stock.is_some_and(|stock| layout.sites[stock.place].name == *name)
    };
    findings.retain(|finding| finding.stocks.iter().any(there));
    let moves = plan.moves.into_iter().filter(|carry| carry.from == *name || carry.to == *name).collect();
    Ok(Audited { findings, moves, ..answer })
}

/// What is wrong with where a stock stands now, in a line each: for whoever has just put it there.
///
/// What cannot be looked at is no reason to lose an entry: it is said instead.
pub fn warnings(session: &Session, reading: &Writing<'_>, code: &str) -> Vec<String> {
    let among = BTreeSet::from([code]);
    concerning(session, reading, &among)
        .iter()
        .map(|found| {
            found.as_ref().map_or_else(Clone::clone, |finding| {
                let others: Vec<&str> = finding.stocks.iter().map(String::as_str).collect();
                let others = others.into_iter().filter(|stock| finding.fault.mutual && *stock != code).collect();
                in_a_line(finding, others)
            })
        })
        .collect()
}

/// The same for several stocks that came together, each thing once with all whom it concerns.
pub fn warnings_among(session: &Session, reading: &Writing<'_>, codes: &BTreeSet<&str>) -> Vec<String> {
    let found = concerning(session, reading, codes);
    let line = |finding: &Finding| in_a_line(finding, finding.stocks.iter().map(String::as_str).collect());
    found.iter().map(|found| found.as_ref().map_or_else(Clone::clone, line)).collect()
}

/// What is wrong that concerns some stocks, or why it could not be looked at.
fn concerning(session: &Session, reading: &Writing<'_>, codes: &BTreeSet<&str>) -> Vec<Result<Finding, String>> {
    let layout = match Layout::of(session, reading) {
        Ok(layout) => layout,
        Err(problem) => return vec![Err(format!("what stands beside it could not be looked at: {problem}"))],
    };
    let mut findings = layout.placing();
    // Of the container itself what can hurt; labels and sheets come later.
    findings.extend(layout.upkeep(session).into_iter().filter(|finding| finding.fault.severity < Severity::Minor));
    findings.sort();
    let concerned = |finding: &Finding| finding.stocks.iter().any(|stock| codes.contains(stock.as_str()));
    findings.into_iter().filter(concerned).map(Ok).collect()
}

/// A finding in a line, with the stocks that it names.
fn in_a_line(finding: &Finding, stocks: Vec<&str>) -> String {
    let Fault { severity, rule, consequence, advice, .. } = &finding.fault;
    let beside = match &stocks[..] {
        [] => String::new(),
        few if few.len() <= 4 => format!(" ({})", few.join(", ")),
        many => format!(" ({} and {} more)", many[..3].join(", "), many.len() - 3),
    };
    format!("{severity}: {rule}{beside}; {}; do: {advice}", consequence.trim_end_matches('.'))
}

/// `move CODE PLACE`, as it would be typed.
fn read_move(layout: &Layout<'_>, text: &str) -> Result<Carry, Problem> {
    let words = arguments::words(text);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let unreadable = || {
        Problem::question(format!("cannot read `{text}` as a move"))
            .hint("write it as you would type it: --before \"move HP-1 porch\"")
    };
    let [verb, code, place @ ..] = &words[..] else { return Err(unreadable()) };
    if *verb != "move" || place.is_empty() {
        return Err(unreadable());
    }
    let stock = layout.stocks.iter().find(|stock| stock.code.eq_ignore_ascii_case(code)).ok_or_else(|| {
        Problem::question(format!("there is no stock `{code}` on the shelf"))
            .hint("`brimstock shelf` lists what stands there")
    })?;
    let to = arguments::place(&layout.places, &place.join(" "))?.name.clone();
    Ok(Carry { stock: stock.code.clone(), from: layout.sites[stock.place].name.clone(), to, step: 1 })
}

/// What is held of what the keeper's local rules limit.
fn against_limits(session: &Session, layout: &Layout<'_>) -> Result<Vec<Held>, Problem> {
    let rules = local::of(session)?.stores;
    Ok(rules.into_iter().map(|rule| held(session, layout, rule)).collect())
}

fn held(session: &Session, layout: &Layout<'_>, rule: Store) -> Held {
    let concerned = layout.stocks.iter().filter(|stock| match &rule.about {
        About::Reagent(key) => stock.neighbour().reagent.key == *key,
        About::Group(group) => stock.neighbour().groups().contains(group),
    });
    // Of what strength nobody knows it may be the strongest sold.
    let concerned: Vec<&Stands<'_>> = concerned
        .filter(|stock| {
            let percent = stock.neighbour().percent_w_w;
            rule.stronger_than.is_none_or(|bound| percent.is_none_or(|percent| percent > bound))
        })
        .collect();
    let mut held = 0.0;
    let mut uncounted = Vec::new();
    for stock in &concerned {
        match stock.amount_in(rule.most) {
            Some(amount) => held += amount,
            None => uncounted.push(stock.code.clone()),
        }
    }
    let of = match &rule.about {
        About::Reagent(key) => key.clone(),
        About::Group(key) => {
            session.catalogue.apart().group(key).map_or_else(|| key.clone(), |group| group.name.clone())
        }
    };
    let stocks = concerned.iter().map(|stock| stock.code.clone()).collect();
    Held { rule, of, stocks, held, uncounted }
}

/// That more is held than a rule allows, or that not all of it could be counted.
fn too_much(limit: &Held) -> Vec<Finding> {
    let Held { rule, stocks, held, uncounted, .. } = limit;
    let words = limit.limit();
    let said = format!("{} said so on {}", rule.asked.whom, rule.asked.on);
    let found = |severity, rule: String, consequence: String, advice: &str, stocks: &[String]| {
        let (rank, source, advice) = (3, "local-rules".to_owned(), advice.to_owned());
        let consequence = format!("{consequence}; {said}");
        let fault = Fault { severity, rank, mutual: false, rule, consequence, source, advice };
        Finding { fault, place: None, stocks: stocks.to_vec(), overruled: Vec::new(), open: true }
    };
    let mut findings = Vec::new();
    if limit.is_over() {
        let there = format!("{} stand on the shelf", show::amount(*held, rule.most.base_unit()));
        let advice = "use up or hand over the rest: `brimstock discard CODE`";
        findings.push(found(Severity::Serious, format!("{words}, by your local rules"), there, advice, stocks));
    }
    if !uncounted.is_empty() {
        let unit = match rule.most {
            Quantity::Mass(_) => "weight",
            Quantity::Volume(_) => "volume",
        };
        let words = format!("{words}, by your local rules: not all could be counted");
        let unknown = format!("the {unit} of these is not known");
        let advice = "ask for a limit in the unit that they are counted in";
        findings.push(found(Severity::Minor, words, unknown, advice, uncounted));
    }
    findings
}
