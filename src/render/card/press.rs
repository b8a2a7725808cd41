//! What all cards share: the scale of type, the band at the head, the foot, and words in the card's language.

use std::cell::RefCell;
use std::collections::BTreeSet;

use crate::catalogue::{Catalogue, Dip, Language, Signal, Words};
use crate::commands::Problem;
use crate::commands::card::Drawn;
use crate::commands::card::paper::Paper;
use crate::disposal::caution;
use crate::register::work::Work;
use crate::render::pdf::block::{Align, Block, Frame, Row, Text, Width};
use crate::render::pdf::flow::{self, Sheet, Unfit};
use crate::render::pdf::wrap::Span;
use crate::render::pdf::{Face, Ink, Page};

/// Sizes of type on A4, in points; smaller paper has smaller type.
const HUGE: f64 = 44.0;
const TITLE: f64 = 27.0;
const HEAD: f64 = 15.0;
const BODY: f64 = 12.0;
const SMALL: f64 = 8.0;

/// The smallest over the full size of type before a card goes on at a second page.
const FLOOR: f64 = 0.74;

/// A card laid out: its title and its blocks.
pub struct Laid {
    /// What it is called in the file and on later pages.
    pub title: String,
    /// Its blocks, the first of which is its band.
    pub blocks: Vec<Block>,
    /// Keys of the sources of its figures.
    pub sources: BTreeSet<String>,
    /// True if a figure on it is marked as estimated.
    pub estimates: bool,
}

/// Sets the words of one card in type.
pub struct Press<'a> {
    /// Where sources are looked up.
    pub catalogue: &'static Catalogue,
    /// The words of its language.
    pub words: &'static Words,
    /// The card.
    pub card: &'a Drawn,
    /// The work that it is part of.
    pub work: &'a Work,
    paper: Paper,
    /// Sentences that the language does not have.
    untranslated: RefCell<BTreeSet<String>>,
}

impl<'a> Press<'a> {
    /// A press for a card.
    pub fn new(catalogue: &'static Catalogue, words: &'static Words, card: &'a Drawn, work: &'a Work) -> Press<'a> {
        let paper = card.paper.unwrap_or(Paper::A4);
        Press { catalogue, words, card, work, paper, untranslated: RefCell::default() }
    }

    /// Refuses a card with holes in its language.
    ///
    /// # Errors
    /// The sentences without a translation.
    pub fn complete(&self) -> Result<(), Problem> {
        let missing = self.untranslated.borrow();
        let Some(first) = missing.first() else { return Ok(()) };
        Err(Problem::data(format!("no `{}` words for: {first}", self.words.language.code()))
            .because(format!("{} sentences of this card are not translated", missing.len()))
            .hint("print it with `--lang en`"))
    }

    /// How much smaller type is on this paper than on A4.
    fn ratio(&self) -> f64 {
        match self.paper {
            Paper::A4 | Paper::Letter | Paper::Label { .. } => 1.0,
            Paper::A5 => 0.78,
            Paper::A6 => 0.6,
        }
    }

    /// White on every side, mm.
    fn margin(&self) -> f64 {
        match self.paper {
            Paper::A4 | Paper::Letter | Paper::Label { .. } => 14.0,
            Paper::A5 => 10.0,
            Paper::A6 => 7.0,
        }
    }

    /// A length of A4 on this paper, mm: for pictures and columns.
    pub fn mm(&self, on_a4: f64) -> f64 {
        on_a4 * self.ratio()
    }

    /// A phrase of the card's language.
    pub fn say(&self, key: &'static str) -> &'static str {
        self.words.phrase(key)
    }

    /// A phrase with its names filled in.
    pub fn fill(&self, key: &str, values: &[(&str, &str)]) -> String {
        self.words.filled(key, values)
    }

    /// A sentence of the catalogue in the card's language. What has no translation is noted, and no card is printed.
    pub fn text(&self, english: &str) -> String {
        match self.words.text(english) {
            Some(text) => self.words.tied(text),
            None => {
                self.untranslated.borrow_mut().insert(english.to_owned());
                english.to_owned()
            }
        }
    }

    /// A sentence of a dip: a shipped one as [`Press::text`], one of the keeper's own as the keeper wrote it.
    pub fn of_dip(&self, english: &str) -> String {
        let lines = |dip: &'static Dip| {
            [&dip.name, &dip.plants, &dip.used_for].into_iter().chain(&dip.cautions).chain(&dip.not_shown)
        };
        let shipped = self.catalogue.shipped_dips().iter().flat_map(lines).any(|line| line == english);
        if shipped { self.text(english) } else { self.name(english) }
    }

    /// A name: that of the language, or as the keeper gave it.
    pub fn name(&self, english: &str) -> String {
        self.words.text(english).unwrap_or(english).to_owned()
    }

    /// A statement of the standard by its code, in the card's language.
    pub fn statement(&self, code: &str) -> String {
        self.catalogue.statement(code).map_or_else(
            || code.to_owned(),
            |row| match self.words.language {
                Language::English => row.en.clone(),
                Language::Spanish => row.es.clone(),
            },
        )
    }

    /// A signal word.
    pub fn signal(&self, signal: Signal) -> &'static str {
        self.say(match signal {
            Signal::Danger => "frame.danger",
            Signal::Warning => "frame.warning",
        })
    }

    /// A number with its unit.
    pub fn amount(&self, written: &str) -> String {
        self.words.amount(written)
    }

    /// Type that is read from across a room: seconds, the emergency number.
    pub fn huge(&self, text: &str) -> Text {
        Text::new(Face::Bold, HUGE * self.ratio(), text)
    }

    /// As large as the name of the card: a figure that is second to the one that is huge.
    pub fn title(&self, text: &str) -> Text {
        Text::new(Face::Bold, TITLE * self.ratio(), text)
    }

    /// The heading of a part of a card, bookmarked.
    pub fn head(&self, text: &str) -> Text {
        Text::new(Face::Bold, HEAD * self.ratio(), text).heading(1)
    }

    /// What is read at arm's length.
    pub fn body(&self, text: &str) -> Text {
        Text::new(Face::Regular, BODY * self.ratio(), text)
    }

    /// The same, for what must not be missed.
    pub fn strong(&self, text: &str) -> Text {
        Text::new(Face::Bold, BODY * self.ratio(), text)
    }

    /// A strong beginning and the rest of a paragraph.
    pub fn led(&self, strong: &str, rest: &str) -> Text {
        let rest = format!(" {rest}");
        Text::spans(BODY * self.ratio(), vec![Span::new(Face::Bold, strong), Span::new(Face::Regular, &rest)])
    }

    /// What is looked up, not read.
    pub fn small(&self, text: &str) -> Text {
        Text::new(Face::Regular, SMALL * self.ratio().max(0.8), text)
    }

    /// A box to tick and what is to be done.
    pub fn tick(&self, text: &str) -> Text {
        self.body(text).signed("☐")
    }

    /// White space, as high as a part of a line of reading type.
    pub fn gap(&self, lines: f64) -> Block {
        Block::Gap(lines * BODY * self.ratio() * 0.44)
    }

    /// A line to write on by hand behind some words.
    pub fn write_in(&self, label: &str) -> Block {
        Block::WriteIn { label: label.to_owned(), size: BODY * self.ratio() }
    }

    /// A number of the local rules, large, or a line to write it on.
    pub fn contact(&self, label: &str, number: Option<&str>) -> Block {
        match number {
            Some(number) => Block::Row(Row {
                cells: vec![
                    (Width::Share(2.0), vec![self.body(label).into()]),
                    (Width::Share(3.0), vec![Text::new(Face::Bold, HEAD * 1.2 * self.ratio(), number).into()]),
                ],
                gap: 2.0,
            }),
            None => self.write_in(label),
        }
    }

    /// Whom to call: the emergency number, the fire service and the poison centre of the local rules.
    pub fn contacts(&self) -> Vec<Block> {
        let local = &self.card.local;
        let lines = [
            ("frame.emergency", &local.emergency),
            ("frame.fire", &local.fire),
            ("frame.poison", &local.poison_centre),
        ];
        let contact = |(label, number): (&'static str, &Option<String>)| {
            [self.contact(self.say(label), number.as_deref()), self.gap(0.3)]
        };
        lines.into_iter().flat_map(contact).collect()
    }

    /// The band at the head of a card, white on black: what kind of card it is, and of what.
    pub fn band(&self, kind: &str, name: &str) -> Block {
        let white = |text: Text| -> Block { text.inked(Ink::White).into() };
        Block::Frame(Frame {
            inner: vec![
                white(Text::new(Face::Bold, HEAD * self.ratio(), kind)),
                white(Text::new(Face::Bold, TITLE * self.ratio(), name).heading(0)),
            ],
            line: 0.0,
            padding: self.mm(3.0),
            fill: Some(Ink::Black),
        })
    }

    /// A box with a strong line round it.
    pub fn boxed(&self, inner: Vec<Block>) -> Block {
        Block::Frame(Frame { inner, line: self.mm(0.9), padding: self.mm(2.5), fill: None })
    }

    /// A table with reading type a little smaller than the body.
    pub fn cell(&self, text: &str) -> Vec<Block> {
        vec![Text::new(Face::Regular, self.table_size(), text).into()]
    }

    /// The size of type in tables.
    pub fn table_size(&self) -> f64 {
        (BODY - 2.0) * self.ratio()
    }

    /// The pages of a card.
    ///
    /// # Errors
    /// A character that the fonts do not have, a part higher than a page.
    pub fn pages(&self, laid: &Laid) -> Result<Vec<Page>, Problem> {
        let (width, height) = self.paper.size();
        let mut blocks = laid.blocks.clone();
        blocks.push(self.gap(0.8));
        if let Some(sources) = self.sources(laid) {
            blocks.push(sources);
        }
        let title = self.fill("frame.continued", &[("title", &laid.title)]);
        let head = vec![
            Text::new(Face::Bold, SMALL * 1.2 * self.ratio().max(0.8), &title).into(),
            Block::Rule { thickness: 0.4, ink: Ink::Black },
            Block::Gap(3.0),
        ];
        let sheet = Sheet { width, height, margin: self.margin(), head, foot: self.foot(laid), floor: FLOOR };
        flow::pages(&sheet, &blocks).map_err(|unfit| problem(&unfit))
    }

    /// Where the figures of a card come from, by the titles of the sources.
    fn sources(&self, laid: &Laid) -> Option<Block> {
        let titles: Vec<&str> = laid
            .sources
            .iter()
            .filter_map(|key| self.catalogue.source(key))
            .map(|source| source.title.as_str())
            .collect();
        (!titles.is_empty()).then(|| {
            let sources = titles.join("; ");
            self.small(&self.fill("frame.sources", &[("sources", sources.trim_end_matches('.'))])).into()
        })
    }

    /// The foot of every page: the caution, what ≈ means, whose card, of which day, which page.
    fn foot(&self, laid: &Laid) -> Vec<Block> {
        let local = &self.card.local;
        let whose = [Some(&self.card.register), local.place.as_ref(), local.print.keeper.as_ref()];
        let register = whose.into_iter().flatten().cloned().collect::<Vec<_>>().join(", ");
        let printed = self.fill("frame.printed", &[("register", &register), ("day", &self.card.day.to_string())]);
        let mut foot = vec![Block::Gap(2.0), Block::Rule { thickness: 0.3, ink: Ink::Black }, Block::Gap(0.8)];
        if laid.estimates {
            foot.push(self.small(self.say("frame.estimate")).into());
        }
        foot.push(self.small(&self.text(caution::short())).into());
        foot.push(Block::Row(Row {
            cells: vec![
                (Width::Share(3.0), vec![self.small(&printed).into()]),
                (Width::Share(1.0), vec![self.small(self.say("frame.page")).aligned(Align::Right).into()]),
            ],
            gap: 2.0,
        }));
        foot
    }
}

/// What stands in the way of printing, to the keeper.
pub fn problem(unfit: &Unfit) -> Problem {
    match unfit {
        Unfit::Letter { letter, words } => Problem::question(format!(
            "the card's fonts have no `{letter}` (U+{:04X}), which stands in `{}`",
            u32::from(*letter),
            words.trim()
        ))
        .hint("they have Latin, Greek and Cyrillic letters; write that name, or that line of local.toml, with those"),
        Unfit::TooHigh(_) | Unfit::TooSmall { .. } => {
            Problem::question(format!("the card does not fit on the paper: {unfit}")).hint("take larger paper")
        }
    }
}
