//! Finds amounts, ratios, strengths, times, names and hiding words in a recipe, in whatever order they are told.
//!
//! Every number must find its meaning; a word without one is passed over and told.

use super::lexicon::Page;
use super::token::{Kind, tidy, tokens, unreadable};
use super::{Counting, Dose, Portion, Ratio, Said, Span, StrengthWord, Told, UnitWord, Water};
use crate::catalogue::Catalogue;
use crate::units::measure::Kitchen;
use crate::units::parse::Unreadable;
use crate::units::strength::Basis;

/// Words that carry nothing in a recipe.
const FILLERS: &str = "
    a an the of for and or with then about approx approximately roughly around until till it is its solution
    bottle household water bath dip soak use add mix put dissolve at strength plants plant looks colour color
    like fresh dose up plus them diluted dilute you to in per into each every on by as be from after within
    dips minimum least most max only so that this turns plain tap clean tank bucket full size sized volume
    weight parts part i we your my one";

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
        page: Page { catalogue, text: &text, tokens: &tokens },
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
            let rest = reader.page.words(at, tokens.len()).to_owned();
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
    page: Page<'a>,
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
    fn stuck(&self, from: usize, why: &str) -> Unreadable {
        let to = (from + 3).min(self.page.tokens.len());
        unreadable(self.page.text, format!("stopped at `{}`: {why}", self.page.words(from, to)))
    }

    /// True for a `then` behind which no number stands: what comes after the bath.
    fn is_aftermath(&self, at: usize) -> bool {
        let told = &self.told;
        let is_told =
            !told.doses.is_empty() || told.ratio.is_some() || !told.strengths.is_empty() || told.shade.is_some();
        self.page.word(at) == Some("then")
            && is_told
            && (at..self.page.tokens.len()).all(|at| self.page.number(at).is_none())
    }

    /// Reads what begins here and tells where the rest begins.
    fn step(&mut self, at: usize) -> Result<usize, Unreadable> {
        if let Some((span, behind)) = self.page.number(at) {
            return self.numbered(span, at, behind);
        }
        if let Some(sign) = self.page.sign(at) {
            match sign {
                '/' => return self.joined(at, Joint::MadeUp),
                ',' | ';' => self.joint = None,
                _ => {}
            }
            return Ok(at + 1);
        }
        self.spoken(at)
    }

    /// A number, and what it counts.
    fn numbered(&mut self, span: Span, from: usize, behind: usize) -> Result<usize, Unreadable> {
        let mut at = behind;
        // `10-volume`, `3-percent`.
        if self.page.sign(at) == Some('-') && self.page.word(at + 1).is_some() {
            at += 1;
        }
        if self.page.sign(at) == Some(':') {
            let Some((other, to)) = self.page.number(at + 1) else {
                return Err(self.stuck(from, "a ratio needs two numbers"));
            };
            self.ratio(span.low, other.low, Counting::Bare, from)?;
            return Ok(self.page.skip(to, &["parts", "part"]));
        }
        if matches!(self.page.word(at), Some("part" | "parts")) {
            return self.parts(span, from, at + 1);
        }
        if let Some((unit, as_chlorine, to)) = self.page.strength(at) {
            return self.strong(span, unit, as_chlorine, to);
        }
        if let Some((minutes, to)) = self.page.time(at) {
            self.timed(span.scaled(minutes), minutes, from, to);
            return Ok(to);
        }
        if let Some((unit, to)) = self.page.unit(at) {
            self.heaping(at);
            return self.portion(Portion { count: span, unit }, from, to);
        }
        if let Some(joint @ ("in" | "to")) = self.page.word(at)
            && let Some((other, to)) = self.page.number(at + 1)
            && (!self.page.is_measured(to) || matches!(self.page.word(to), Some("part" | "parts")))
        {
            let counting = if joint == "in" { Counting::OneIn } else { Counting::Parts };
            self.ratio(span.low, other.low, counting, from)?;
            return Ok(self.page.skip(to, &["parts", "part"]));
        }
        if self.page.sign(at) == Some('°')
            || matches!(self.page.word(at), Some("c" | "f" | "degrees" | "celsius" | "fahrenheit"))
        {
            let to = if self.page.sign(at) == Some('°') || self.page.word(at) == Some("degrees") {
                self.page.skip(at + 1, &["c", "f", "celsius", "fahrenheit"])
            } else {
                at + 1
            };
            self.told.unused.push(self.page.words(from, to).to_owned());
            return Ok(to);
        }
        // `1/20` of the whole.
        if let Some(("1", whole)) = self.page.words(from, behind).split_once('/')
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
        for at in at..self.page.sized(at) {
            match self.page.word(at) {
                Some("heaped" | "heaping" | "rounded") => self.told.heaped = Some(true),
                Some("level" | "levelled" | "leveled") => self.told.heaped = Some(false),
                _ => {
                    let word = self.page.words(at, at + 1).to_owned();
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
        let behind = self.page.skip(to, &["of"]);
        let of_water = self.page.word(behind) == Some("water");
        match (self.product.take(), self.water.take()) {
            (Some(product), _) => {
                self.ratio(product, span.low, Counting::Parts, from)?;
                Ok(self.page.skip(behind, &["water"]))
            }
            (None, Some(water)) => {
                self.ratio(span.low, water, Counting::Parts, from)?;
                Ok(behind)
            }
            (None, None) => {
                *(if of_water { &mut self.water } else { &mut self.product }) = Some(span.low);
                let behind = self.page.skip(behind, &["water"]);
                if self.page.sign(behind) == Some(':') { Ok(behind + 1) } else { Ok(behind) }
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
            return Ok(self.page.chlorine(to).unwrap_or(to));
        }
        if as_chlorine {
            self.name_chlorine();
        }
        let of = self.page.skip(to, &["solution", "strength", "mix", "mixture"]);
        let share = match &said.unit {
            StrengthWord::Percent => true,
            StrengthWord::Unit(unit) => unit.basis == Basis::VolumeInVolume,
        };
        if share && self.page.word(of) == Some("of") {
            let product = self.page.skip(of + 1, &["a", "an", "the"]);
            if let Some((_, behind)) = self.page.number(product)
                && self.page.strength(behind).is_some()
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
        let keys = self.page.catalogue.reagents().filter(holds).map(|reagent| reagent.key.clone()).collect();
        self.told.named.push(("chlorine".to_owned(), keys));
    }

    /// An amount finds its place: what it is of, or what that goes into.
    fn portion(&mut self, portion: Portion, from: usize, to: usize) -> Result<usize, Unreadable> {
        let bracket = from > 0 && self.page.sign(from - 1) == Some('(');
        if let (true, Some(last)) = (bracket, self.last.take()) {
            self.bracketed(last, portion, from, to);
            return Ok(to);
        }
        let joint = self.joint.take();
        let of_water = self.page.word(self.page.skip(to, &["of", "tap", "tank", "clean", "plain"])) == Some("water");
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
                let weight = self.page.words(from, to).to_owned();
                self.told.unused.push(format!("the measure before `({weight})`, for the weight is"));
            }
            _ => self.told.equated.push((last, portion)),
        }
    }

    /// A joint before a volume; one without a number counts once: `per gal`.
    fn joined(&mut self, at: usize, joint: Joint) -> Result<usize, Unreadable> {
        self.joint = Some(joint);
        if joint != Joint::Loose
            && self.page.number(at + 1).is_none()
            && let Some((unit @ UnitWord::Volume(_), to)) =
                self.page.unit(self.page.skip(at + 1, &["the", "each", "every"]))
        {
            let portion = Portion { count: Span::exact(1.0), unit };
            return self.portion(portion, at, to);
        }
        Ok(at + 1)
    }

    /// A word, or several that belong together.
    fn spoken(&mut self, at: usize) -> Result<usize, Unreadable> {
        let word = self.page.word(at).unwrap_or_default().to_owned();
        match word.as_str() {
            "straight" | "undiluted" | "neat" | "unthinned" => {
                self.told.straight = true;
                return Ok(at + 1);
            }
            "full" if self.page.word(at + 1) == Some("strength") => {
                self.told.straight = true;
                return Ok(at + 2);
            }
            "overnight" => {
                self.told.minutes = Some(Span { low: 480.0, high: 720.0 });
                self.told.unused.push("`overnight` read as 8 to 12 h".to_owned());
                return Ok(at + 1);
            }
            "ph" if matches!(self.page.tokens.get(at + 1).map(|token| &token.kind), Some(Kind::Number(_))) => {
                self.told.unused.push(self.page.words(at, at + 2).to_owned());
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
        if let Some((place, to)) = self.page.loose(at) {
            if self.page.catalogue.loose().words[place].range.unit == "mg/L" {
                if self.told.shade.is_some_and(|before| before != place) {
                    let second = self.page.words(at, to).to_owned();
                    self.told.unread.push(second);
                } else {
                    self.told.shade = Some(place);
                }
                return Ok(to);
            }
            let portion = Portion { count: Span::exact(1.0), unit: UnitWord::Loose(place) };
            return self.portion(portion, at, to);
        }
        if self.page.sized(at) > at {
            self.heaping(at);
            return Ok(self.page.sized(at));
        }
        if self.page.whole(at).is_some() && !matches!(word.as_str(), "a" | "an" | "one") {
            return Err(self.stuck(at, "a number whose unit cannot be read"));
        }
        let country = match (word.as_str(), self.page.words(at, at + 1)) {
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
        let of_plants = self.page.word(at + 1).is_some_and(|word| word.starts_with("leav"));
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
        if !FILLERS.split_whitespace().any(|filler| filler == word) {
            let said = self.page.words(at, at + 1).to_owned();
            self.told.unread.push(said);
        }
        Ok(at + 1)
    }

    /// The name of a reagent, the longest that fits.
    fn named(&mut self, at: usize) -> Option<usize> {
        for to in (at + 1..=(at + 5).min(self.page.tokens.len())).rev() {
            if (at..to).any(|at| self.page.word(at).is_none()) {
                continue;
            }
            let words = self.page.words(at, to);
            let found = self.page.catalogue.reagents_called(words);
            if !found.is_empty() {
                let keys = found.iter().map(|reagent| reagent.key.clone()).collect();
                let words = words.to_owned();
                if at > 0
                    && let Some(before) = self.told.unread.last().filter(|word| *word == self.page.words(at - 1, at))
                {
                    let before = before.clone();
                    self.told.qualified.push((before, words.clone()));
                }
                self.told.named.push((words, keys));
                return Some(to);
            }
        }
        let to = self.page.chlorine(at).filter(|_| self.page.word(at) != Some("cl"))?;
        self.told.as_chlorine = true;
        self.name_chlorine();
        Some(to)
    }
}
