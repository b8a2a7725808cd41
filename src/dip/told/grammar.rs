//! Finds amounts, ratios, strengths, times, names and hiding words in a recipe, in whatever order they are told.
//!
//! Every number must find its meaning; a word without one is passed over and told.

use super::token::{Kind, Token, tidy, tokens, unreadable};
use super::{Counting, Dose, Portion, Ratio, Said, Span, StrengthWord, Told, UnitWord, Water};
use crate::catalogue::Catalogue;
use crate::units::measure::{Kitchen, MassUnit, VolumeUnit};
use crate::units::parse::Unreadable;
use crate::units::strength::{Basis, StrengthUnit};

/// Words that carry nothing in a recipe.
const FILLERS: &[&str] = &[
    "a",
    "an",
    "the",
    "of",
    "for",
    "and",
    "or",
    "with",
    "then",
    "about",
    "approx",
    "approximately",
    "roughly",
    "around",
    "until",
    "till",
    "it",
    "is",
    "its",
    "solution",
    "bottle",
    "household",
    "water",
    "bath",
    "dip",
    "soak",
    "use",
    "add",
    "mix",
    "put",
    "dissolve",
    "at",
    "strength",
    "plants",
    "plant",
    "looks",
    "colour",
    "color",
    "like",
    "fresh",
    "dose",
    "up",
    "plus",
    "them",
    "diluted",
    "dilute",
    "you",
    "to",
    "in",
    "per",
    "into",
    "each",
    "every",
    "on",
    "by",
    "as",
    "be",
    "from",
    "after",
    "within",
    "dips",
    "minimum",
    "least",
    "most",
    "max",
    "only",
    "so",
    "that",
    "this",
    "turns",
    "plain",
    "tap",
    "clean",
    "tank",
    "bucket",
    "full",
    "size",
    "sized",
    "volume",
    "weight",
    "parts",
    "part",
    "i",
    "we",
    "your",
    "my",
    "one",
];

const NUMBERS: &[(&str, f64)] = &[
    ("a", 1.0),
    ("an", 1.0),
    ("one", 1.0),
    ("two", 2.0),
    ("three", 3.0),
    ("four", 4.0),
    ("five", 5.0),
    ("six", 6.0),
    ("seven", 7.0),
    ("eight", 8.0),
    ("nine", 9.0),
    ("ten", 10.0),
    ("twelve", 12.0),
    ("fifteen", 15.0),
    ("twenty", 20.0),
    ("thirty", 30.0),
    ("forty", 40.0),
    ("sixty", 60.0),
    ("half", 0.5),
    ("quarter", 0.25),
];

/// Minutes in a unit of time.
const TIMES: &[(&[&str], f64)] = &[
    (&["s", "sec", "secs", "second", "seconds"], 1.0 / 60.0),
    (&["min", "mins", "minute", "minutes"], 1.0),
    (&["h", "hr", "hrs", "hour", "hours"], 60.0),
    (&["d", "day", "days"], 1440.0),
    (&["week", "weeks", "wk", "wks"], 10_080.0),
];

/// Kinds of powder and crystal: how they begin, and the kind that reagents' files name.
const GRAINS: &[(&str, &str)] = &[
    ("fine", "fine"),
    ("coarse", "coarse"),
    ("flak", "flaky"),
    ("solar", "solar"),
    ("powder", "powder"),
    ("granul", "granular"),
    ("crystal", "crystals"),
];

/// Reads the words of a recipe.
///
/// # Errors
/// [`Unreadable`] for a number that finds no meaning, and for a text that tells two things of one kind.
pub fn read(text: &str, catalogue: &Catalogue) -> Result<Told, Unreadable> {
    let text = tidy(text)?;
    let tokens = tokens(&text)?;
    let mut reader = Reader {
        catalogue,
        text: &text,
        tokens: &tokens,
        told: Told { text: text.clone(), ..Told::default() },
        joint: None,
        product: None,
        water: None,
        clock: None,
        last: None,
        removing: false,
    };
    let mut at = 0;
    while at < tokens.len() {
        if reader.is_aftermath(at) {
            let rest = reader.words(at, tokens.len()).to_owned();
            reader.told.unused.push(format!("`{rest}`"));
            break;
        }
        at = reader.step(at)?;
    }
    if let Some(product) = reader.product {
        return Err(unreadable(&text, format!("`{product} part` to how many parts of water?")));
    }
    if let Some(water) = reader.water {
        return Err(unreadable(&text, format!("`{water} parts water` to how many parts of the product?")));
    }
    Ok(reader.told)
}

/// What stands before a volume.
#[derive(Clone, Copy, PartialEq)]
enum Joint {
    /// `per`, `/`, `each`.
    MadeUp,
    /// `in`, `into`, `to`.
    Added,
    /// `for`, `with`, `and`: only after an amount.
    Loose,
}

struct Reader<'a> {
    catalogue: &'a Catalogue,
    text: &'a str,
    tokens: &'a [Token],
    told: Told,
    joint: Option<Joint>,
    /// Parts of product that still wait for their water.
    product: Option<f64>,
    /// Parts of water that still wait for their product.
    water: Option<f64>,
    /// Where the time told last ended, and the minutes in its unit.
    clock: Option<(usize, f64)>,
    /// The measure told last, for what stands behind it in brackets.
    last: Option<Portion>,
    removing: bool,
}

impl Reader<'_> {
    fn word(&self, at: usize) -> Option<&str> {
        match self.tokens.get(at).map(|token| &token.kind) {
            Some(Kind::Word(word)) => Some(word),
            _ => None,
        }
    }

    fn sign(&self, at: usize) -> Option<char> {
        match self.tokens.get(at).map(|token| &token.kind) {
            Some(Kind::Sign(sign)) => Some(*sign),
            _ => None,
        }
    }

    /// The text of these tokens.
    fn words(&self, from: usize, to: usize) -> &str {
        match (self.tokens.get(from), self.tokens.get(to.saturating_sub(1))) {
            (Some(first), Some(last)) if first.start <= last.end => &self.text[first.start..last.end],
            _ => "",
        }
    }

    fn stuck(&self, from: usize, why: &str) -> Unreadable {
        let to = (from + 3).min(self.tokens.len());
        unreadable(self.text, format!("stopped at `{}`: {why}", self.words(from, to)))
    }

    /// True for a `then` behind which no number stands: what comes after the bath.
    fn is_aftermath(&self, at: usize) -> bool {
        let told = &self.told;
        let is_told =
            !told.doses.is_empty() || told.ratio.is_some() || !told.strengths.is_empty() || told.shade.is_some();
        self.word(at) == Some("then") && is_told && (at..self.tokens.len()).all(|at| self.number(at).is_none())
    }

    fn skip(&self, at: usize, words: &[&str]) -> usize {
        let mut at = at;
        while self.word(at).is_some_and(|word| words.contains(&word)) {
            at += 1;
        }
        at
    }

    /// Reads what begins here and tells where the rest begins.
    fn step(&mut self, at: usize) -> Result<usize, Unreadable> {
        if let Some((span, behind)) = self.number(at) {
            return self.numbered(span, at, behind);
        }
        if let Some(sign) = self.sign(at) {
            match sign {
                '/' => return self.joined(at, Joint::MadeUp),
                ',' | ';' => self.joint = None,
                _ => {}
            }
            return Ok(at + 1);
        }
        self.spoken(at)
    }

    /// A number in figures or in words, or two with a hyphen, a `to` or an `or` between.
    fn number(&self, at: usize) -> Option<(Span, usize)> {
        let (first, behind) = self.single(at)?;
        let hyphen = self.sign(behind).is_some_and(|sign| matches!(sign, '-' | '–' | '—'));
        let spelled = matches!(self.word(behind), Some("to" | "or"));
        if let Some((second, after)) = (hyphen || spelled).then(|| self.single(behind + 1)).flatten()
            && (hyphen || self.is_measured(after))
        {
            return Some((Span::between(first, second), after));
        }
        Some((Span::exact(first), behind))
    }

    fn single(&self, at: usize) -> Option<(f64, usize)> {
        let (value, behind) = self.whole(at)?;
        // `2 and a half cups`, `one and a quarter`.
        if self.word(behind) == Some("and") {
            let fraction = self.skip(behind + 1, &["a", "one"]);
            let added = match self.word(fraction) {
                Some("half") => Some(0.5),
                Some("quarter") => Some(0.25),
                _ => None,
            };
            if let Some(added) = added {
                return Some((value + added, fraction + 1));
            }
        }
        if let Some(Kind::Number(_)) = self.tokens.get(at).map(|token| &token.kind) {
            // `1/2 a teaspoon`.
            let to = self.skip(behind, &["a", "an"]);
            return Some((value, if self.is_measured(to) { to } else { behind }));
        }
        let part = matches!(self.word(behind), Some("part" | "parts"));
        let ratio = matches!(self.word(behind), Some("in" | "to"))
            && matches!(self.tokens.get(behind + 1).map(|token| &token.kind), Some(Kind::Number(_)))
            && self.word(at) != Some("a");
        let in_words =
            self.word(behind) == Some("in") && self.word(at) == Some("one") && self.whole(behind + 1).is_some();
        let last = at > 1 && self.word(at - 1) == Some("in") && !matches!(self.word(at), Some("a" | "an"));
        (part || ratio || in_words || last || self.is_measured(behind)).then_some((value, behind))
    }

    /// A number in figures, or a word for one, whatever stands behind it.
    fn whole(&self, at: usize) -> Option<(f64, usize)> {
        if let Some(Kind::Number(value)) = self.tokens.get(at).map(|token| &token.kind) {
            return Some((*value, at + 1));
        }
        let word = self.word(at)?;
        let (_, value) = NUMBERS.iter().find(|(name, _)| *name == word)?;
        // `half a cup`, `half an hour`, `a quarter teaspoon`, `a half cup`, `a couple of`.
        let next = at + 1;
        Some(match (word, self.word(next)) {
            ("half" | "quarter", Some("a" | "an" | "of")) => (*value, self.skip(next, &["a", "an", "of"])),
            ("a" | "an" | "one", Some("half")) => (0.5, next + 1),
            ("a" | "an" | "one", Some("quarter")) => (0.25, next + 1),
            ("a", Some("couple")) => (2.0, self.skip(next, &["couple", "of"])),
            _ => (*value, next),
        })
    }

    /// True if a unit of anything stands here.
    fn is_measured(&self, at: usize) -> bool {
        self.time(at).is_some() || self.unit(at).is_some() || self.strength(at).is_some()
    }

    fn time(&self, at: usize) -> Option<(f64, usize)> {
        let word = self.word(at)?;
        TIMES.iter().find(|(names, _)| names.contains(&word)).map(|(_, minutes)| (*minutes, at + 1))
    }

    /// A unit of an amount, the longest that fits.
    fn unit(&self, at: usize) -> Option<(UnitWord, usize)> {
        let at = self.sized(at);
        for to in (at + 1..=(at + 3).min(self.tokens.len())).rev() {
            if (at..to).any(|at| self.word(at).is_none()) {
                continue;
            }
            let words = self.words(at, to);
            if let Some(mass) = MassUnit::called(words) {
                return Some((if mass.name == "oz" { UnitWord::Ounce } else { UnitWord::Mass(mass) }, to));
            }
            if VolumeUnit::called(words, None).is_some() {
                return Some((UnitWord::Volume(words.to_owned()), to));
            }
        }
        let (place, to) = self.loose(at)?;
        (self.catalogue.loose().words[place].range.unit != "mg/L").then_some((UnitWord::Loose(place), to))
    }

    /// Behind `heaped`, `level` and the like: they are read with the unit.
    fn sized(&self, at: usize) -> usize {
        self.skip(at, &["heaped", "heaping", "rounded", "level", "levelled", "leveled", "small", "large", "big"])
    }

    /// A word that hides a number, the longest that fits.
    fn loose(&self, at: usize) -> Option<(usize, usize)> {
        (at + 1..=(at + 3).min(self.tokens.len())).rev().find_map(|to| {
            if (at..to).any(|at| self.word(at).is_none()) {
                return None;
            }
            let words = self.words(at, to).to_lowercase().replace('-', " ");
            let singular = words.strip_suffix("es").filter(|word| word.ends_with("sh") || word.ends_with("ch"));
            let singular = singular.or_else(|| words.strip_suffix('s')).unwrap_or(&words);
            let names = |name: &String| *name == words || name == singular;
            self.catalogue.loose().words.iter().position(|word| word.says.iter().any(names)).map(|place| (place, to))
        })
    }

    /// A unit of strength, with the chlorine that it may count, and whether it counts it.
    fn strength(&self, at: usize) -> Option<(StrengthWord, bool, usize)> {
        if self.sign(at) == Some('%') || matches!(self.word(at), Some("percent" | "pct")) {
            return Some(self.percent(at + 1));
        }
        if self.word(at) == Some("per") && self.word(at + 1) == Some("cent") {
            return Some(self.percent(at + 2));
        }
        let word = self.word(at)?;
        let joined = self.sign(at + 1) == Some('/') || self.word(at + 1) == Some("per");
        let (name, to) = match word {
            "ppm" => ("mg/L".to_owned(), at + 1),
            "vol" | "vols" | "volume" | "volumes" => ("vol".to_owned(), at + 1),
            "m" | "molar" if self.words(at, at + 1) != "m" => ("mol/L".to_owned(), at + 1),
            "mol" | "mmol" if joined && self.is_litre(at + 2) => (format!("{word}/L"), at + 3),
            _ if joined && self.is_litre(at + 2) => (format!("{}/L", MassUnit::called(word)?.name), at + 3),
            _ => return None,
        };
        let unit = StrengthUnit::called(&name)?;
        match self.chlorine(to) {
            Some(behind) if matches!(name.as_str(), "mg/L" | "g/L") => {
                let unit = StrengthUnit::called(&format!("{name} available chlorine"))?;
                Some((StrengthWord::Unit(unit), true, behind))
            }
            _ => Some((StrengthWord::Unit(unit), false, to)),
        }
    }

    fn is_litre(&self, at: usize) -> bool {
        self.word(at).is_some_and(|word| VolumeUnit::exactly_called(word).is_some_and(|unit| unit.name == "L"))
    }

    /// What stands behind a per cent: `w/v`, `available chlorine`.
    fn percent(&self, at: usize) -> (StrengthWord, bool, usize) {
        let of = |at: usize| self.word(at).filter(|word| matches!(*word, "w" | "v" | "m"));
        let based = of(at).zip(of(at + 2)).filter(|_| self.sign(at + 1) == Some('/'));
        let unit = based.and_then(|(part, whole)| StrengthUnit::called(&format!("% {part}/{whole}")));
        let (unit, to) = unit.map_or((None, at), |unit| (Some(unit), at + 3));
        match (unit, self.chlorine(to)) {
            (Some(unit), Some(behind)) if unit.name == "% w/w" => {
                (StrengthWord::Unit(StrengthUnit::named("% w/w available chlorine")), true, behind)
            }
            (Some(unit), _) => (StrengthWord::Unit(unit), false, to),
            (None, Some(behind)) => (StrengthWord::Percent, true, behind),
            (None, None) => (StrengthWord::Percent, false, to),
        }
    }

    fn chlorine(&self, at: usize) -> Option<usize> {
        let at = self.skip(at, &["of", "as", "available", "active", "free"]);
        matches!(self.word(at), Some("chlorine" | "cl" | "cl2")).then_some(at + 1)
    }

    /// A number, and what it counts.
    fn numbered(&mut self, span: Span, from: usize, behind: usize) -> Result<usize, Unreadable> {
        let mut at = behind;
        // `10-volume`, `3-percent`.
        if self.sign(at) == Some('-') && self.word(at + 1).is_some() {
            at += 1;
        }
        if self.sign(at) == Some(':') {
            let Some((other, to)) = self.number(at + 1) else {
                return Err(self.stuck(from, "a ratio needs two numbers"));
            };
            self.ratio(span.low, other.low, Counting::Bare, from)?;
            return Ok(self.skip(to, &["parts", "part"]));
        }
        if matches!(self.word(at), Some("part" | "parts")) {
            return self.parts(span, from, at + 1);
        }
        if let Some((unit, as_chlorine, to)) = self.strength(at) {
            return self.strong(span, unit, as_chlorine, to);
        }
        if let Some((minutes, to)) = self.time(at) {
            self.timed(span.scaled(minutes), minutes, from, to);
            return Ok(to);
        }
        if let Some((unit, to)) = self.unit(at) {
            self.heaping(at);
            return self.portion(Portion { count: span, unit }, from, to);
        }
        if let Some(joint @ ("in" | "to")) = self.word(at)
            && let Some((other, to)) = self.number(at + 1)
            && (!self.is_measured(to) || matches!(self.word(to), Some("part" | "parts")))
        {
            let counting = if joint == "in" { Counting::OneIn } else { Counting::Parts };
            self.ratio(span.low, other.low, counting, from)?;
            return Ok(self.skip(to, &["parts", "part"]));
        }
        if self.sign(at) == Some('°') || matches!(self.word(at), Some("c" | "f" | "degrees" | "celsius" | "fahrenheit"))
        {
            let to = if self.sign(at) == Some('°') || self.word(at) == Some("degrees") {
                self.skip(at + 1, &["c", "f", "celsius", "fahrenheit"])
            } else {
                at + 1
            };
            self.told.unused.push(self.words(from, to).to_owned());
            return Ok(to);
        }
        // `1/20` of the whole.
        if let Some(("1", whole)) = self.words(from, behind).split_once('/')
            && let Ok(whole) = whole.parse()
            && whole >= 5.0
        {
            self.ratio(1.0, whole, Counting::OneIn, from)?;
            return Ok(at);
        }
        if let Some(product) = self.product.take() {
            self.ratio(product, span.low, Counting::Parts, from)?;
            return Ok(at);
        }
        Err(self.stuck(from, "a number whose unit cannot be read"))
    }

    /// A time: the first, one that goes on from the last (`1 h 30 min`), or another.
    fn timed(&mut self, span: Span, unit: f64, from: usize, to: usize) {
        let goes_on = self.clock.is_some_and(|(end, before)| end == from && unit < before);
        self.clock = Some((to, unit));
        self.told.minutes = match self.told.minutes {
            Some(before) if goes_on => Some(Span { low: before.low + span.low, high: before.high + span.high }),
            Some(before) => {
                self.told.several_times = true;
                Some(before.with(span))
            }
            None => Some(span),
        };
    }

    /// `level` or `heaped` before a unit.
    fn heaping(&mut self, at: usize) {
        for at in at..self.sized(at) {
            match self.word(at) {
                Some("heaped" | "heaping" | "rounded") => self.told.heaped = Some(true),
                Some("level" | "levelled" | "leveled") => self.told.heaped = Some(false),
                _ => {
                    let word = self.words(at, at + 1).to_owned();
                    self.told.unread.push(word);
                }
            }
        }
    }

    fn ratio(&mut self, product: f64, other: f64, counting: Counting, from: usize) -> Result<(), Unreadable> {
        if self.told.ratio.is_some() {
            return Err(self.stuck(from, "a second ratio; write one recipe at a time"));
        }
        if counting == Counting::OneIn && product >= other {
            return Err(self.stuck(from, "the part must be smaller than the whole"));
        }
        self.told.ratio = Some(Ratio { product, other, counting });
        Ok(())
    }

    /// `1 part bleach`, `19 parts water`, `1 part to 3`.
    fn parts(&mut self, span: Span, from: usize, to: usize) -> Result<usize, Unreadable> {
        let behind = self.skip(to, &["of"]);
        let of_water = self.word(behind) == Some("water");
        match (self.product.take(), self.water.take()) {
            (Some(product), _) => {
                self.ratio(product, span.low, Counting::Parts, from)?;
                Ok(self.skip(behind, &["water"]))
            }
            (None, Some(water)) => {
                self.ratio(span.low, water, Counting::Parts, from)?;
                Ok(behind)
            }
            (None, None) => {
                *(if of_water { &mut self.water } else { &mut self.product }) = Some(span.low);
                let behind = self.skip(behind, &["water"]);
                if self.sign(behind) == Some(':') { Ok(behind + 1) } else { Ok(behind) }
            }
        }
    }

    fn strong(&mut self, value: Span, unit: StrengthWord, as_chlorine: bool, to: usize) -> Result<usize, Unreadable> {
        if as_chlorine {
            self.told.as_chlorine = true;
        }
        let said = Said { value, unit };
        if std::mem::take(&mut self.removing) && as_chlorine {
            self.told.removes = Some(said);
            return Ok(self.chlorine(to).unwrap_or(to));
        }
        if as_chlorine {
            self.name_chlorine();
        }
        let of = self.skip(to, &["solution", "strength", "mix", "mixture"]);
        let share = match &said.unit {
            StrengthWord::Percent => true,
            StrengthWord::Unit(unit) => unit.basis == Basis::VolumeInVolume,
        };
        if share && self.word(of) == Some("of") {
            let product = self.skip(of + 1, &["a", "an", "the"]);
            if let Some((_, behind)) = self.number(product)
                && self.strength(behind).is_some()
            {
                self.told.share = Some(value);
                return Ok(product);
            }
        }
        self.told.strengths.push(said);
        Ok(to)
    }

    fn name_chlorine(&mut self) {
        let holds = |reagent: &&crate::catalogue::Reagent| {
            reagent.solution.as_ref().is_some_and(|solution| solution.available_chlorine)
        };
        let keys = self.catalogue.reagents().filter(holds).map(|reagent| reagent.key.clone()).collect();
        self.told.named.push(("chlorine".to_owned(), keys));
    }

    /// An amount finds its place: what it is of, or what that goes into.
    fn portion(&mut self, portion: Portion, from: usize, to: usize) -> Result<usize, Unreadable> {
        let bracket = from > 0 && self.sign(from - 1) == Some('(');
        if let (true, Some(last)) = (bracket, self.last.take()) {
            self.bracketed(last, portion, from, to);
            return Ok(to);
        }
        let joint = self.joint.take();
        let of_water = self.word(self.skip(to, &["of", "tap", "tank", "clean", "plain"])) == Some("water");
        let waits = self.told.doses.last().is_some_and(|dose| dose.water.is_none() && dose.portion.is_some());
        let strong = matches!(joint, Some(Joint::MadeUp | Joint::Added));
        self.last = Some(portion.clone());
        if let UnitWord::Volume(unit) = &portion.unit
            && (strong || of_water || (joint.is_some() && waits))
        {
            let water = Water { count: portion.count, unit: unit.clone(), made_up: joint == Some(Joint::MadeUp) };
            if let Some(dose) = self.told.doses.last_mut().filter(|dose| dose.water.is_none()) {
                dose.water = Some(water);
            } else {
                self.told.doses.push(Dose { portion: None, water: Some(water) });
            }
        } else if let Some(dose) = self.told.doses.last_mut().filter(|dose| dose.portion.is_none()) {
            dose.portion = Some(portion);
        } else {
            self.told.doses.push(Dose { portion: Some(portion), water: None });
        }
        if self.told.doses.len() > 2 {
            return Err(self.stuck(from, "a third amount; write one recipe at a time"));
        }
        Ok(to)
    }

    /// A second measure in brackets: a weight is counted in place of the spoon before it, a volume is compared with it.
    fn bracketed(&mut self, last: Portion, portion: Portion, from: usize, to: usize) {
        let by_weight = matches!(portion.unit, UnitWord::Mass(_)) && !matches!(last.unit, UnitWord::Mass(_));
        match self.told.doses.last_mut() {
            Some(dose) if by_weight && dose.portion.as_ref() == Some(&last) => {
                dose.portion = Some(portion);
                let weight = self.words(from, to).to_owned();
                self.told.unused.push(format!("the measure before `({weight})`, for the weight is"));
            }
            _ => self.told.equated.push((last, portion)),
        }
    }

    /// A joint before a volume; one without a number counts once: `per gal`.
    fn joined(&mut self, at: usize, joint: Joint) -> Result<usize, Unreadable> {
        self.joint = Some(joint);
        if joint != Joint::Loose
            && self.number(at + 1).is_none()
            && let Some((unit @ UnitWord::Volume(_), to)) = self.unit(self.skip(at + 1, &["the", "each", "every"]))
        {
            let portion = Portion { count: Span::exact(1.0), unit };
            return self.portion(portion, at, to);
        }
        Ok(at + 1)
    }

    /// A word, or several that belong together.
    fn spoken(&mut self, at: usize) -> Result<usize, Unreadable> {
        let word = self.word(at).unwrap_or_default().to_owned();
        match word.as_str() {
            "straight" | "undiluted" | "neat" | "unthinned" => {
                self.told.straight = true;
                return Ok(at + 1);
            }
            "full" if self.word(at + 1) == Some("strength") => {
                self.told.straight = true;
                return Ok(at + 2);
            }
            "overnight" => {
                self.told.minutes = Some(Span { low: 480.0, high: 720.0 });
                self.told.unused.push("`overnight` read as 8 to 12 h".to_owned());
                return Ok(at + 1);
            }
            "ph" if matches!(self.tokens.get(at + 1).map(|token| &token.kind), Some(Kind::Number(_))) => {
                self.told.unused.push(self.words(at, at + 2).to_owned());
                return Ok(at + 2);
            }
            "then" => self.joint = None,
            _ => {}
        }
        if ["remove", "neutralis", "neutraliz"].iter().any(|stem| word.starts_with(stem)) {
            self.removing = true;
            return Ok(at + 1);
        }
        if let Some(to) = self.named(at) {
            return Ok(to);
        }
        if let Some((place, to)) = self.loose(at) {
            if self.catalogue.loose().words[place].range.unit == "mg/L" {
                if self.told.shade.is_some_and(|before| before != place) {
                    let second = self.words(at, to).to_owned();
                    self.told.unread.push(second);
                } else {
                    self.told.shade = Some(place);
                }
                return Ok(to);
            }
            let portion = Portion { count: Span::exact(1.0), unit: UnitWord::Loose(place) };
            return self.portion(portion, at, to);
        }
        if self.sized(at) > at {
            self.heaping(at);
            return Ok(self.sized(at));
        }
        if self.whole(at).is_some() && !matches!(word.as_str(), "a" | "an" | "one") {
            return Err(self.stuck(at, "a number whose unit cannot be read"));
        }
        let country = match (word.as_str(), self.words(at, at + 1)) {
            ("us", "US") | ("usa", _) => Some(Kitchen::Us),
            ("uk" | "imperial" | "imp", _) => Some(Kitchen::Imperial),
            ("metric", _) => Some(Kitchen::Metric),
            ("australian", _) => Some(Kitchen::Australian),
            _ => None,
        };
        if country.is_some() {
            self.told.kitchen = country;
            return Ok(at + 1);
        }
        let of_plants = self.word(at + 1).is_some_and(|word| word.starts_with("leav"));
        if let Some((_, kind)) = GRAINS.iter().find(|(stem, _)| word.starts_with(stem) && !of_plants) {
            self.told.grain = Some((*kind).to_owned());
            return Ok(at + 1);
        }
        let joint = match word.as_str() {
            "per" | "each" | "every" => Some(Joint::MadeUp),
            "in" | "into" | "to" => Some(Joint::Added),
            "for" | "with" | "and" | "plus" => Some(Joint::Loose),
            _ => None,
        };
        if let Some(joint) = joint {
            return self.joined(at, joint);
        }
        if !FILLERS.contains(&word.as_str()) {
            let said = self.words(at, at + 1).to_owned();
            self.told.unread.push(said);
        }
        Ok(at + 1)
    }

    /// The name of a reagent, the longest that fits.
    fn named(&mut self, at: usize) -> Option<usize> {
        for to in (at + 1..=(at + 5).min(self.tokens.len())).rev() {
            if (at..to).any(|at| self.word(at).is_none()) {
                continue;
            }
            let words = self.words(at, to);
            let found = self.catalogue.reagents_called(words);
            if !found.is_empty() {
                let keys = found.iter().map(|reagent| reagent.key.clone()).collect();
                let words = words.to_owned();
                if at > 0
                    && let Some(before) = self.told.unread.last().filter(|word| *word == self.words(at - 1, at))
                {
                    let before = before.clone();
                    self.told.qualified.push((before, words.clone()));
                }
                self.told.named.push((words, keys));
                return Some(to);
            }
        }
        let to = self.chlorine(at).filter(|_| self.word(at) != Some("cl"))?;
        self.told.as_chlorine = true;
        self.name_chlorine();
        Some(to)
    }
}
