//! What stands on a bottle's label, from above to below: what it is, how dangerous, what to do, how to keep it, until when,
//! who answers for it.

use std::rc::Rc;

use super::press::Press;
use crate::catalogue::Form;
use crate::commands::card::bottle::{Bottle, Hazards};
use crate::hazard::label::Label;
use crate::render::pdf::block::{Align, Block, LEADING, Row, Text, Width};
use crate::render::pdf::wrap::Span;
use crate::render::pdf::{Face, Ink, MM_PER_PT, picture};
use crate::units::show;

/// Sizes of type over that of the statements.
const CODE: f64 = 2.6;
const NAME: f64 = 1.5;
const STRENGTH: f64 = 1.35;
const SIGNAL: f64 = 1.8;

/// Between a group and the next, mm.
const SPACE: f64 = 0.9;
/// Between columns, mm.
const GUTTER: f64 = 2.0;

/// Side of the square code on the narrowest label, mm, and how much of a wider label it takes.
const CODE_SIDE: f64 = 16.0;
const CODE_SHARE: f64 = 0.2;

/// How a label looks at one size.
#[derive(Debug, Clone, Copy)]
pub struct Look {
    /// Size of the statements, points, before it is made smaller.
    pub type_size: f64,
    /// The smallest size, points.
    pub floor: f64,
    /// Width of what is printed on, mm.
    pub width: f64,
    /// Side of a pictogram's diamond, mm.
    pub diamond: f64,
}

/// The blocks of a label or of one of its panels, and those at its lower edge.
pub type Panel = (Vec<Block>, Vec<Block>);

/// The parts of a label.
pub struct Parts<'a> {
    press: &'a Press<'a>,
    bottle: &'a Bottle,
    look: Look,
    /// What it bears; nothing where nothing is on file.
    shown: Option<&'a Label>,
}

impl<'a> Parts<'a> {
    /// The parts of a label: with everything for 0, then step by step without what a very small package may leave off.
    pub fn of(press: &'a Press<'a>, bottle: &'a Bottle, look: Look, less: usize) -> Parts<'a> {
        let shown = bottle.hazards.as_ref().map(|hazards| match less.checked_sub(1) {
            Some(step) => hazards.small.get(step).unwrap_or(&hazards.label),
            None => &hazards.label,
        });
        Parts { press, bottle, look, shown }
    }

    /// On one panel.
    pub fn flat(&self) -> Panel {
        let mut body = self.head();
        if !self.stand_beside() {
            body.extend(self.statements());
        }
        body.extend(self.first_aid());
        body.push(Block::Gap(SPACE));
        body.extend(self.keep());
        body.extend(self.dates());
        let mut foot = self.supplier();
        foot.extend(self.marks());
        (body, foot)
    }

    /// On two: what must be seen in front, what is read behind.
    pub fn folded(&self) -> [Panel; 2] {
        let mut front = self.head();
        front.push(Block::Gap(SPACE));
        front.extend(self.keep());
        front.extend(self.dates());
        let mut front_foot = vec![self.plain(self.press.say("bottle.turn"))];
        front_foot.extend(self.marks());
        let name = format!("{}  {}", self.bottle.code, self.name());
        let mut back = vec![self.text(Face::Bold, 1.0, &name).into()];
        if !self.stand_beside() {
            back.extend(self.statements());
        }
        back.extend(self.first_aid());
        [(front, front_foot), (back, self.supplier())]
    }

    /// Codes of the statements that are left off.
    pub fn left_off(&self) -> Vec<String> {
        let Some(Hazards { label, .. }) = &self.bottle.hazards else { return Vec::new() };
        let Some(shown) = self.shown else { return Vec::new() };
        let gone = |all: &[String], kept: &[String]| -> Vec<String> {
            all.iter().filter(|code| !kept.contains(code)).cloned().collect()
        };
        let mut codes = gone(&label.statements, &shown.statements);
        codes.extend(gone(&label.precautions, &shown.precautions));
        codes
    }

    fn text(&self, face: Face, factor: f64, text: &str) -> Text {
        Text::new(face, self.look.type_size * factor, text)
    }

    fn plain(&self, text: &str) -> Block {
        self.text(Face::Regular, 1.0, text).into()
    }

    fn name(&self) -> String {
        let name = self.press.name(&self.bottle.name);
        let mut letters = name.chars();
        letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
    }

    /// Strength, unit, and what it is of.
    fn strength(&self) -> String {
        let bottle = self.bottle;
        let unit = self.press.name(&bottle.unit);
        let strength = self.press.amount(&format!("{} {unit}", bottle.strength));
        let values = [("strength", strength.as_str()), ("formula", &formula(&bottle.formula))];
        self.press.fill(if bottle.form == Form::Solution { "bottle.solution" } else { "bottle.solid" }, &values)
    }

    /// Code, name, strength, pictograms and signal word, and the square code.
    fn head(&self) -> Vec<Block> {
        let side = CODE_SIDE.max(self.look.width * CODE_SHARE);
        let left = self.look.width - side - GUTTER;
        // As wide as its column, but no smaller than the statements; a longer one stands above the name.
        let widest = Face::Bold.width(&self.bottle.code, 1.0);
        let code = (side / widest).min(self.look.type_size * CODE);
        let beside = code >= self.look.floor * STRENGTH;
        let mut column = Vec::new();
        if beside {
            let size = code / self.look.type_size;
            column.push(self.text(Face::Bold, size.max(STRENGTH), &self.bottle.code).aligned(Align::Centre).into());
        }
        column.push(Block::Qr { text: self.qr(), side });
        let mut words = Vec::new();
        if !beside {
            words.push(self.text(Face::Bold, NAME, &self.bottle.code).into());
        }
        words.push(self.text(Face::Bold, NAME, &self.name()).into());
        words.push(self.text(Face::Bold, STRENGTH, &self.strength()).into());
        words.push(self.plain(&self.under_the_strength()));
        let signs = self.signs(left);
        let mut below = Vec::new();
        match signs {
            Some((true, signs)) => words.extend(signs),
            Some((false, signs)) => below = signs,
            None => {}
        }
        if self.stand_beside() {
            words.extend(self.statements());
        }
        let row = Row { cells: vec![(Width::Share(1.0), words), (Width::Fixed(side), column)], gap: GUTTER };
        let mut blocks = vec![Block::Row(row)];
        blocks.extend(below);
        blocks
    }

    /// True if what is said of dangers is so little that it stands beside the square code.
    fn stand_beside(&self) -> bool {
        self.shown.is_some_and(|shown| shown.pictograms.is_empty() && shown.precautions.is_empty())
    }

    /// What the dangers are reckoned for, that a strength is an estimate, and the registry number.
    fn under_the_strength(&self) -> String {
        let mut said = Vec::new();
        if let Some(why) = &self.bottle.hold {
            said.push(self.press.fill("bottle.held", &[("why", &self.press.name(why))]));
        }
        if self.bottle.estimated {
            said.push(self.press.say("bottle.estimate").to_owned());
        }
        if let Some(hazards) = &self.bottle.hazards {
            let percent = self.press.amount(&up_to(hazards.percent));
            let key = match (self.bottle.form, hazards.as_chlorine) {
                (Form::Solid, _) => "bottle.computed-solid",
                (Form::Solution, true) => "bottle.computed-chlorine",
                (Form::Solution, false) => "bottle.computed",
            };
            said.push(self.press.fill(key, &[("percent", &percent)]));
        }
        said.push(self.press.fill("bottle.cas", &[("cas", &self.bottle.cas)]));
        let amount = self.press.amount(&self.bottle.amount);
        said.push(self.press.fill("bottle.amount", &[("amount", &amount)]));
        said.join(" ")
    }

    /// Pictograms with the signal word beside them, and whether they fit into a width.
    fn signs(&self, width: f64) -> Option<(bool, Vec<Block>)> {
        let shown = self.shown?;
        let word = shown.signal.map(|signal| self.press.signal(signal).to_uppercase());
        let word = word.map(|word| self.text(Face::Bold, SIGNAL, &word));
        let names: Vec<&'static str> = shown.pictograms.iter().filter_map(|code| picture::name(code)).collect();
        if names.is_empty() {
            return word.map(|word| (true, vec![word.into()]));
        }
        let side = self.look.diamond * std::f64::consts::SQRT_2;
        let across = names.len() as f64 * (side + 0.5) - 0.5;
        let fits = across <= width;
        let pictures = Block::Pictures { names, side, gap: 0.5 };
        let Some(word) = word else { return Some((fits, vec![Block::Gap(SPACE), pictures])) };
        let room = if fits { width } else { self.look.width } - across - GUTTER;
        let longest = word.spans.iter().map(|span| Face::Bold.width(&span.text, self.look.floor * SIGNAL)).sum::<f64>();
        let blocks = if across <= self.look.width && longest <= room {
            // In the middle of the symbols' height, which does not shrink with the type.
            let above = (side - self.look.floor * SIGNAL * LEADING * MM_PER_PT).max(0.0) / 2.0;
            let cells =
                vec![(Width::Fixed(across), vec![pictures]), (Width::Share(1.0), vec![firm(above), word.into()])];
            vec![Block::Gap(SPACE), Block::Row(Row { cells, gap: GUTTER })]
        } else {
            vec![Block::Gap(SPACE), pictures, word.into()]
        };
        Some((fits, blocks))
    }

    /// Hazard statements and supplements in bold, then the precautions.
    fn statements(&self) -> Vec<Block> {
        let press = self.press;
        let (Some(shown), Some(hazards)) = (self.shown, &self.bottle.hazards) else {
            let blank = || Block::WriteIn { label: String::new(), size: self.look.type_size };
            let unknown = self.text(Face::Bold, 1.0, press.say("bottle.unknown"));
            return vec![Block::Gap(SPACE), unknown.into(), blank(), blank()];
        };
        let mut strong: Vec<String> = shown.statements.iter().map(|code| self.statement(code, None)).collect();
        if hazards.label.statements.is_empty() && hazards.supplements.is_empty() {
            let solid = self.bottle.form == Form::Solid;
            strong.push(press.say(if solid { "bottle.unclassified-solid" } else { "bottle.unclassified" }).to_owned());
        }
        strong.extend(hazards.supplements.iter().map(|(code, names)| self.statement(code, names.as_deref())));
        let precautions: Vec<String> = shown.precautions.iter().map(|code| self.statement(code, None)).collect();
        let mut blocks = vec![Block::Gap(SPACE)];
        if !strong.is_empty() {
            blocks.push(self.text(Face::Bold, 1.0, &strong.join(" ")).into());
        }
        if !precautions.is_empty() {
            blocks.push(self.plain(&precautions.join(" ")));
        }
        if hazards.gaps {
            blocks.push(self.plain(press.say("bottle.gaps")));
        }
        blocks
    }

    /// A statement of the standard with the blanks filled in that it leaves to whoever writes the label.
    fn statement(&self, code: &str, names: Option<&str>) -> String {
        let words = self.press.statement(code);
        let mut words = words.replace("/…", "").replace(['[', ']'], "");
        if !words.ends_with(['.', '!']) {
            words.push('.');
        }
        let words = names.map_or(words.clone(), |names| words.replace("<substance>", &self.press.name(names)));
        let key = format!("bottle.fill-{}", code.replace('+', "-"));
        let fill = self.press.words.phrase(&key);
        if fill == key { words } else { words.replace('…', fill) }
    }

    /// First aid for eye and mouth, and whom to call.
    fn first_aid(&self) -> Vec<Block> {
        let size = self.look.type_size;
        let mut spans = Vec::new();
        for line in &self.bottle.first_aid {
            let line = self.press.text(line);
            let (start, rest) = line.split_once(':').map_or(("", line.as_str()), |(start, rest)| (start, rest));
            spans.push(Span::new(Face::Bold, &format!("{start}:")));
            spans.push(Span::new(Face::Regular, &format!("{rest} ")));
        }
        if let Some(number) = &self.press.card.local.poison_centre {
            let number = self.press.amount(number);
            spans.push(Span::new(Face::Bold, &self.press.fill("bottle.poison-centre", &[("number", &number)])));
        }
        if spans.is_empty() { Vec::new() } else { vec![Block::Gap(SPACE), Text::spans(size, spans).into()] }
    }

    /// How it is kept: a sign and a word for each.
    fn keep(&self) -> Vec<Block> {
        let press = self.press;
        let keep = &self.bottle.keep;
        let cool = keep
            .below_c
            .map(|degrees| press.fill("bottle.keep-cool", &[("degrees", &press.amount(&show::plain(degrees)))]));
        let asked = [
            keep.vented.then(|| ("vented-cap", press.say("bottle.keep-vented").to_owned())),
            keep.dark.then(|| ("dark", press.say("bottle.keep-dark").to_owned())),
            cool.map(|words| ("cool", words)),
        ];
        let side = (self.look.floor * MM_PER_PT * 2.2).max(self.look.width * 0.06);
        let mut cells = Vec::new();
        for (icon, words) in asked.into_iter().flatten() {
            let picture = picture::name(icon).map(|name| Block::Picture { name, side });
            cells.push((Width::Fixed(side), picture.into_iter().collect()));
            let above = (side - self.look.floor * LEADING * MM_PER_PT).max(0.0) / 2.0;
            cells.push((Width::Share(1.0), vec![firm(above), self.text(Face::Bold, 1.0, &words).into()]));
        }
        if cells.is_empty() { Vec::new() } else { vec![Block::Row(Row { cells, gap: 1.0 }), Block::Gap(SPACE)] }
    }

    /// When it came, was opened, and wants a test: known days in bold, the others to be written.
    fn dates(&self) -> Vec<Block> {
        let (press, bottle) = (self.press, self.bottle);
        let came = match (&bottle.poured_from, bottle.filled_here) {
            (Some(_), _) => "bottle.poured",
            (None, true) => "bottle.made-up",
            (None, false) => "bottle.received",
        };
        let day = |key: &'static str, day: String| self.day(press.fill(key, &[("day", &day)]));
        let mut cells = vec![day(came, bottle.received.to_string())];
        if let Some(made) = bottle.made {
            cells.push(day("bottle.made", made.to_string()));
        }
        cells.push(match bottle.opened {
            Some(opened) => day("bottle.opened", opened.to_string()),
            None => self.blank(press.say("bottle.opened-blank")),
        });
        cells.push(match bottle.use_by {
            Some(by) if by < press.card.day => day("bottle.use-by-past", by.to_string()),
            Some(by) => day("bottle.use-by", by.to_string()),
            None => self.blank(press.say("bottle.use-by-blank")),
        });
        let last = cells.len() - 1;
        let share = |at: usize| if at == last { 1.4 } else { 1.0 };
        let cells = cells.into_iter().enumerate().map(|(at, cell)| (Width::Share(share(at)), cell)).collect();
        vec![Block::Row(Row { cells, gap: GUTTER })]
    }

    /// A day, as high as a line to write on.
    fn day(&self, words: String) -> Vec<Block> {
        vec![Block::Gap(self.look.type_size * MM_PER_PT * 0.5), self.text(Face::Bold, 1.0, &words).into()]
    }

    fn blank(&self, words: &str) -> Vec<Block> {
        vec![Block::WriteIn { label: words.to_owned(), size: self.look.type_size }]
    }

    /// Who supplied or filled it: lines for the keeper to write on.
    fn supplier(&self) -> Vec<Block> {
        let who = self.press.say(if self.bottle.filled_here { "bottle.maker" } else { "bottle.supplier" });
        let cells = vec![
            (Width::Share(5.0), self.blank(who)),
            (Width::Share(2.0), self.blank(self.press.say("bottle.telephone"))),
        ];
        vec![Block::Row(Row { cells, gap: GUTTER }), Block::Gap(SPACE)]
    }

    /// How much it holds, where it came from, what was left off, and that it is no label for supply.
    fn marks(&self) -> Vec<Block> {
        let (press, bottle) = (self.press, self.bottle);
        let mut said = Vec::new();
        if let Some(code) = &bottle.poured_from {
            said.push(press.fill("bottle.poured-from", &[("code", code)]));
        }
        let left_off = self.left_off();
        if !left_off.is_empty() {
            let bound = show::plain(press.catalogue.label_sizes().small.up_to_l * 1000.0);
            said.push(press.fill("bottle.left-off", &[("bound", &bound), ("codes", &left_off.join(", "))]));
        }
        let card = press.card;
        said.push(press.fill("frame.printed", &[("register", &card.register), ("day", &card.day.to_string())]));
        said.push(press.say("bottle.rules").to_owned());
        said.push(press.say("bottle.workplace").to_owned());
        said.push(press.say("bottle.first").to_owned());
        vec![Block::Rule { thickness: 0.2, ink: Ink::Black }, Block::Gap(0.4), self.plain(&said.join(" · "))]
    }

    /// What the square code says.
    fn qr(&self) -> String {
        let bottle = self.bottle;
        let values = [
            ("code", bottle.code.as_str()),
            ("name", &self.press.name(&bottle.name)),
            ("strength", &format!("{} {}", bottle.strength, self.press.name(&bottle.unit))),
            ("day", &bottle.received.to_string()),
        ];
        self.press.fill("bottle.qr", &values)
    }
}

/// White space that does not shrink with the type, mm.
fn firm(height: f64) -> Block {
    Block::Drawing { height, draw: Rc::new(|_, _| Vec::new()) }
}

/// A bound in two figures, never rounded down: 11.49 is up to 12.
fn up_to(value: f64) -> String {
    let rounded: f64 = show::significant(value, 2).parse().unwrap_or(value);
    if rounded >= value * (1.0 - 1e-6) {
        return show::plain(rounded);
    }
    let step = libm::pow(10.0, libm::floor(libm::log10(value)) - 1.0);
    show::plain(rounded + step)
}

/// A formula with its numbers set low and a raised point before water of crystallisation: `CuSO4.5H2O` as CuSO₄·5H₂O.
fn formula(plain: &str) -> String {
    const LOW: [char; 10] = ['₀', '₁', '₂', '₃', '₄', '₅', '₆', '₇', '₈', '₉'];
    let mut before = ' ';
    plain
        .chars()
        .map(|letter| {
            let follows = before.is_ascii_alphabetic() || before == ')' || LOW.contains(&before);
            let set = match letter.to_digit(10) {
                Some(digit) if follows => LOW[digit as usize],
                _ if letter == '.' => '·',
                _ => letter,
            };
            before = set;
            set
        })
        .collect()
}
