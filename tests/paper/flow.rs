//! Pages: whatever is laid on them lies inside the margins, whole and in order, in type that can be read.

use std::collections::BTreeMap;
use std::rc::Rc;

use brimstock::render::pdf::block::{Align, Block, Frame, Row, Table, Text, Width, height, stacked};
use brimstock::render::pdf::flow::{Sheet, Unfit, boxed, pages};
use brimstock::render::pdf::{Face, Ink, Mark, Page};
use proptest::prelude::*;

use super::cases;

const FLOOR: f64 = 0.74;

fn sheet(width: f64, height: f64, floor: f64) -> Sheet {
    let foot = vec![
        Block::Gap(2.0),
        Block::Rule { thickness: 0.3, ink: Ink::Black },
        Text::new(Face::Regular, 7.0, "FOOT {page} of {pages}").into(),
    ];
    let head = vec![Text::new(Face::Bold, 8.0, "HEAD").into(), Block::Gap(2.0)];
    Sheet { width, height, margin: 9.0, head, foot, floor }
}

/// What a paragraph is made of: sizes are those of cards.
#[derive(Debug, Clone)]
enum Part {
    Text { words: Vec<usize>, size: f64, sign: bool, heading: bool, align: Align },
    Row(Vec<Vec<Part>>),
    Table(Vec<Vec<Part>>),
    Frame(Vec<Part>),
    Together(Vec<Part>),
    WriteIn(usize),
    Gap(f64),
    Pictures(usize),
}

fn text(largest: f64) -> impl Strategy<Value = Part> {
    let align = prop::sample::select(vec![Align::Left, Align::Centre, Align::Right]);
    // Words as long as a number says; some are wider than any line.
    let word = prop_oneof![9 => 0..8usize, 1 => 8..120usize];
    (prop::collection::vec(word, 1..60), 7.0..largest, any::<bool>(), prop::bool::weighted(0.15), align)
        .prop_map(|(words, size, sign, heading, align)| Part::Text { words, size, sign, heading, align })
}

fn part() -> impl Strategy<Value = Part> {
    // In the narrowest column a paragraph's `n12x34.` is not cut, so that it can be found again.
    let leaf = prop_oneof![
        6 => text(10.0),
        1 => (0..40usize).prop_map(Part::WriteIn),
        1 => (0.0..12.0f64).prop_map(Part::Gap),
        1 => (1..9usize).prop_map(Part::Pictures),
    ];
    let cells = leaf.clone().boxed();
    let nested = leaf.prop_recursive(2, 16, 4, move |inner| {
        let some = || prop::collection::vec(inner.clone(), 1..4);
        prop_oneof![
            prop::collection::vec(some(), 1..3).prop_map(Part::Row),
            prop::collection::vec(prop::collection::vec(cells.clone(), 2..=3), 1..6).prop_map(Part::Table),
            some().prop_map(Part::Frame),
            some().prop_map(Part::Together),
        ]
    });
    prop_oneof![1 => text(30.0), 4 => nested]
}

/// Makes blocks, and notes each paragraph's words: `n12x3.` is the third word of the twelfth.
#[derive(Default)]
struct Maker {
    paragraphs: Vec<(usize, f64)>,
    wide: usize,
}

impl Maker {
    fn block(&mut self, part: &Part) -> Block {
        match part {
            Part::Text { words, size, sign, heading, align } => {
                let number = self.paragraphs.len();
                self.paragraphs.push((words.len(), *size));
                self.wide += words.iter().sum::<usize>();
                let words: Vec<String> = words
                    .iter()
                    .enumerate()
                    .map(|(at, long)| format!("n{number}x{at}.{}", "W".repeat(*long)))
                    .collect();
                let mut text = Text::new(Face::Regular, *size, &words.join(" ")).aligned(*align);
                if *sign {
                    text = text.signed("☐");
                }
                if *heading { text.heading(1).into() } else { text.into() }
            }
            Part::Row(cells) => {
                let cells = cells.iter().map(|cell| (Width::Share(1.0), self.blocks(cell))).collect();
                Block::Row(Row { cells, gap: 2.0 })
            }
            Part::Table(rows) => Block::Table(Table {
                widths: vec![Width::Share(1.0), Width::Fixed(20.0), Width::Share(1.0)],
                head: ["HEAD A", "B", "C"].map(str::to_owned).to_vec(),
                rows: rows.iter().map(|row| row.iter().map(|part| vec![self.block(part)]).collect()).collect(),
                size: 8.0,
            }),
            Part::Frame(inner) => {
                Block::Frame(Frame { inner: self.blocks(inner), line: 0.6, padding: 1.5, fill: Some(Ink::Grey(0.9)) })
            }
            Part::Together(inner) => Block::Together(self.blocks(inner)),
            Part::WriteIn(long) => {
                self.wide += long;
                Block::WriteIn { label: "W".repeat(*long), size: 9.0 }
            }
            Part::Gap(mm) => Block::Gap(*mm),
            Part::Pictures(many) => Block::Pictures { names: vec!["GHS05"; *many], side: 12.0, gap: 1.0 },
        }
    }

    fn blocks(&mut self, parts: &[Part]) -> Vec<Block> {
        parts.iter().map(|part| self.block(part)).collect()
    }
}

fn texts(page: &Page) -> impl Iterator<Item = (f64, f64, f64, Face, &str)> {
    page.marks.iter().filter_map(|mark| match mark {
        Mark::Text { x, y, size, face, text, .. } => Some((*x, *y, *size, *face, text.as_str())),
        _ => None,
    })
}

/// Everything that must be true of pages, whatever is on them.
fn hold(sheet: &Sheet, maker: &Maker, made: &[Page]) -> Result<(), TestCaseError> {
    let width = sheet.width - 2.0 * sheet.margin;
    let foot = sheet.height - sheet.margin - height(&stacked(&sheet.foot, width, 1.0));
    let (left, right) = (sheet.margin - 1e-6, sheet.width - sheet.margin + 1e-6);
    let mut last: BTreeMap<usize, usize> = BTreeMap::new();
    let mut wide = 0;
    for (index, page) in made.iter().enumerate() {
        let number = format!("FOOT {} of {}", index + 1, made.len());
        prop_assert_eq!(texts(page).filter(|(.., text)| *text == number).count(), 1, "the foot of every page");
        prop_assert_eq!(texts(page).filter(|(.., text)| *text == "HEAD").count(), usize::from(index > 0));
        for (x, y, size, face, text) in texts(page) {
            let mm = size * 25.4 / 72.0;
            prop_assert!(x >= left && x + face.width(text, size) <= right, "{} at {} on page {}", text, x, index + 1);
            prop_assert!(y - 0.7 * mm >= sheet.margin - 1e-6, "{} is too high: {}", text, y);
            let is_foot = text.starts_with("FOOT");
            let lowest = if is_foot { sheet.height - sheet.margin } else { foot };
            prop_assert!(y + 0.2 * mm <= lowest + 1e-6, "{} is too low: {} over {}", text, y, lowest);
            if let Some((paragraph, word)) = text.split(' ').find_map(token) {
                let full = maker.paragraphs[paragraph].1;
                prop_assert!(size <= full + 1e-9 && size >= full * sheet.floor - 1e-9, "{} in {} pt", text, size);
                let _ = word;
            }
            for (paragraph, word) in text.split(' ').filter_map(token) {
                let wanted = last.get(&paragraph).map_or(0, |last| last + 1);
                prop_assert_eq!(word, wanted, "word of paragraph {}", paragraph);
                last.insert(paragraph, word);
            }
            wide += text.matches('W').count();
        }
        for mark in &page.marks {
            if let Mark::Picture { x, y, side, .. } = mark {
                prop_assert!(
                    *x >= left && x + side <= right + 12.0 && *y >= sheet.margin - 1e-6 && y + side <= foot + 1e-6
                );
            }
        }
    }
    let found: Vec<usize> =
        maker.paragraphs.iter().enumerate().map(|(at, _)| last.get(&at).map_or(0, |last| last + 1)).collect();
    let wanted: Vec<usize> = maker.paragraphs.iter().map(|(many, _)| *many).collect();
    prop_assert_eq!(found, wanted, "every word of every paragraph");
    prop_assert_eq!(wide, maker.wide, "no letter lost");
    Ok(())
}

/// `n12x3.WW` is word 3 of paragraph 12.
fn token(word: &str) -> Option<(usize, usize)> {
    let (paragraph, rest) = word.strip_prefix('n')?.split_once('x')?;
    let (number, _) = rest.split_once('.')?;
    Some((paragraph.parse().ok()?, number.parse().ok()?))
}

proptest! {
    #![proptest_config(cases(16))]

    #[test]
    fn whatever_is_laid_out_lies_inside_whole_and_in_order(
        parts in prop::collection::vec(part(), 1..8), small in any::<bool>(),
    ) {
        let (width, height) = if small { (148.0, 210.0) } else { (210.0, 297.0) };
        let mut maker = Maker::default();
        let blocks = maker.blocks(&parts);
        let sheet = |floor| sheet(width, height, floor);
        let made = pages(&sheet(FLOOR), &blocks).unwrap();
        hold(&sheet(FLOOR), &maker, &made)?;
        // Smaller type is taken only where it saves a page.
        for floor in [0.9, 1.0] {
            let larger = pages(&sheet(floor), &blocks).unwrap();
            prop_assert!(made.len() <= larger.len());
            prop_assert!(made.len() < larger.len() || made == larger || floor > FLOOR);
        }
        prop_assert_eq!(&made, &pages(&sheet(FLOOR), &blocks).unwrap());
    }

    #[test]
    fn a_box_holds_what_it_says_it_needs(words in 1..120usize, size in 6.0..20.0f64, width in 30.0..120.0f64) {
        let mut maker = Maker::default();
        let part = Part::Text { words: vec![3; words], size, sign: true, heading: false, align: Align::Left };
        let blocks = vec![maker.block(&part), Block::Gap(2.0), Block::Rule { thickness: 0.5, ink: Ink::Black }];
        let needs = match boxed(width, 0.1, FLOOR, &blocks, &[]) {
            Err(Unfit::TooSmall { needs, has }) => {
                prop_assert_eq!(has, 0.1);
                needs
            }
            other => panic!("{other:?}"),
        };
        let marks = boxed(width, needs, FLOOR, &blocks, &[]).unwrap();
        let page = Page { width, height: needs, marks };
        let lowest = texts(&page).map(|(_, y, size, ..)| y + 0.2 * size * 25.4 / 72.0).fold(0.0, f64::max);
        prop_assert!(lowest <= needs);
        prop_assert!(texts(&page).all(|(_, _, found, ..)| (found - FLOOR * size).abs() < 1e-9), "with the smallest type");
        prop_assert!(boxed(width, needs - 0.01, FLOOR, &blocks, &[]).is_err());
        // With room to spare nothing is made smaller.
        let roomy = Page { width, height: 0.0, marks: boxed(width, 20.0 * needs, FLOOR, &blocks, &[]).unwrap() };
        prop_assert!(texts(&roomy).all(|(_, _, found, ..)| found == size));
    }
}

/// Texts of so many lines.
fn lines(many: usize) -> Vec<Block> {
    (0..many).map(|at| Text::new(Face::Regular, 10.0, &format!("line{at}")).into()).collect()
}

#[test]
fn the_largest_type_that_saves_a_page_is_taken() {
    let sheet = sheet(148.0, 210.0, FLOOR);
    let one_page = pages(&Sheet { floor: 1.0, ..sheet.clone() }, &lines(30)).unwrap();
    assert_eq!(one_page.len(), 1);
    let room = 210.0 - 18.0 - height(&stacked(&sheet.foot, 130.0, 1.0));
    let line = height(&stacked(&lines(1), 130.0, 1.0));
    // A few lines too many: a little smaller. Twice as many: two pages, full size.
    let full = (room / line) as usize;
    let size = |blocks: &[Block]| {
        let made = pages(&sheet, blocks).unwrap();
        let size = texts(&made[0]).find(|(.., text)| text.starts_with("line")).unwrap().2;
        (made.len(), size)
    };
    assert_eq!(size(&lines(full)), (1, 10.0));
    let (many, little) = size(&lines(full + 2));
    assert!(many == 1 && (9.0..10.0).contains(&little), "{little}");
    assert_eq!(size(&lines(2 * full - 8)), (2, 10.0));
}

#[test]
fn what_no_page_holds_is_refused() {
    let high = Block::Picture { name: "GHS05", side: 250.0 };
    match pages(&sheet(300.0, 200.0, FLOOR), &[high]) {
        Err(Unfit::TooHigh(mm)) => assert_eq!(mm, 250.0),
        other => panic!("{other:?}"),
    }
    let drawn: Block = Block::Drawing {
        height: 20.0,
        draw: Rc::new(|_, _| {
            vec![Mark::Text { x: 0.0, y: 9.0, size: 9.0, face: Face::Bold, ink: Ink::Black, text: "塩".to_owned() }]
        }),
    };
    for block in
        [Text::new(Face::Bold, 9.0, "sal 塩").into(), drawn, Block::WriteIn { label: "塩".to_owned(), size: 9.0 }]
    {
        let refused = pages(&sheet(210.0, 297.0, FLOOR), &[Block::Together(vec![block])]);
        let named = matches!(&refused, Err(Unfit::Letter { letter: '塩', words }) if words.contains('塩'));
        assert!(named, "{refused:?}");
    }
}

#[test]
fn what_belongs_together_stays_together() {
    let mut blocks = lines(38);
    blocks.push(Text::new(Face::Bold, 10.0, "heading").heading(1).into());
    blocks.extend(lines(2));
    blocks.push(Block::Together(lines(6)));
    // Whatever is before it, the heading is on the page of its first line, and six lines are not parted.
    for before in 0..60 {
        let mut all = lines(before);
        all.extend(blocks.clone());
        let made = pages(&sheet(148.0, 210.0, 1.0), &all).unwrap();
        let page = |at: usize| -> Vec<&str> { texts(&made[at]).map(|(.., text)| text).collect() };
        for at in 0..made.len() {
            let words = page(at);
            let foot = words.iter().position(|word| word.starts_with("FOOT")).unwrap();
            assert_ne!(words[foot - 1], "heading", "{before} lines before");
        }
        let last = page(made.len() - 1);
        assert!(last.contains(&"line5"), "{last:?}");
        let at = last.iter().position(|word| *word == "line5").unwrap();
        assert_eq!(last[at - 5..=at], ["line0", "line1", "line2", "line3", "line4", "line5"], "{before} lines before");
    }
}

#[test]
fn a_table_goes_on_under_its_head() {
    let rows =
        (0..60).map(|at| vec![lines(1), vec![Text::new(Face::Regular, 10.0, &format!("row{at}")).into()]]).collect();
    let table = Table { widths: vec![Width::Share(1.0); 2], head: vec!["Dip".into(), "Until".into()], rows, size: 9.0 };
    let made = pages(&sheet(148.0, 210.0, 1.0), &[Block::Table(table)]).unwrap();
    assert!(made.len() > 1);
    for page in &made {
        assert_eq!(texts(page).filter(|(.., text)| *text == "Until").count(), 1);
    }
}

#[test]
fn columns_that_share_no_edge_are_still_cut() {
    let column = |size: f64, many: usize| -> Vec<Block> {
        (0..many).map(|at| Text::new(Face::Regular, size, &format!("n{}x{at}.", size as usize)).into()).collect()
    };
    let row =
        Row { cells: vec![(Width::Share(1.0), column(10.0, 150)), (Width::Share(1.0), column(13.7, 110))], gap: 3.0 };
    let made = pages(&sheet(148.0, 210.0, 1.0), &[Block::Row(row)]).unwrap();
    let found: usize = made.iter().map(|page| texts(page).filter(|(.., text)| text.starts_with('n')).count()).sum();
    assert_eq!(found, 260);
    assert!((4..8).contains(&made.len()), "{}", made.len());
}
