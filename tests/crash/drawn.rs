//! Commands drawn at random, with what the register must hold after each.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use super::look::{Held, Line};

/// Numbers that look random and are the same in every run: the moments of death still differ.
pub struct Dice(pub u64);

impl Dice {
    /// SplitMix64 (Steele, Lea and Flood 2014, doi 10.1145/2660193.2660195) [memory].
    pub fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    pub fn below(&mut self, limit: usize) -> usize {
        (self.roll() % limit as u64) as usize
    }

    pub fn part(&mut self) -> f64 {
        (self.roll() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn one<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        &of[self.below(of.len())]
    }
}

/// What the register must hold, and what commands need to know of it.
#[derive(Clone, Default)]
pub struct Shelf {
    pub held: Held,
    pub sealed: BTreeSet<String>,
    pub gone: BTreeSet<String>,
    /// Those whose sheet was perhaps attached: a second time would be no change.
    pub sheets: BTreeSet<String>,
    pub places: Vec<String>,
    pub spoons: Vec<String>,
    /// Lots in a bath, and those that came out.
    pub bathed: Vec<String>,
    pub out: Vec<String>,
    /// Lines that were entered by `take` and not corrected: the stock, the place of the line.
    pub taken: Vec<(String, usize)>,
}

impl Shelf {
    fn more(&mut self, table: &'static str, rows: i64) {
        *self.held.rows.entry(table).or_default() += rows;
    }

    fn line(&mut self, code: &str, kind: &str, grams: Option<i64>) -> usize {
        self.corrected(code, kind, grams, None, true)
    }

    fn corrected(
        &mut self,
        code: &str,
        kind: &str,
        grams: Option<i64>,
        corrects: Option<usize>,
        happened: bool,
    ) -> usize {
        self.more("event", 1);
        let lines = self.held.journals.entry(code.to_owned()).or_default();
        let millionths = grams.map(|grams| grams * 1_000_000);
        lines.push(Line { kind: kind.to_owned(), millionths, corrects, happened });
        lines.len() - 1
    }

    fn came(&mut self, code: &str, grams: i64) {
        self.more("stock", 1);
        self.line(code, "received", Some(grams));
    }

    /// Open alum with enough in it.
    fn usable(&self) -> Vec<String> {
        let codes = self.held.journals.keys();
        codes
            .filter(|code| {
                code.starts_with("PA")
                    && !self.sealed.contains(*code)
                    && !self.gone.contains(*code)
                    && self.held.left(code) > 100_000_000
            })
            .cloned()
            .collect()
    }

    pub fn here(&self) -> Vec<String> {
        self.held.journals.keys().filter(|code| !self.gone.contains(*code)).cloned().collect()
    }

    /// Draws a command that the register cannot refuse.
    pub fn draw(&self, dice: &mut Dice, number: usize, folder: &Path, copies: &BTreeMap<String, Shelf>) -> Step {
        let mut after = self.clone();
        let mut aim = Aim::Register;
        let usable = self.usable();
        let alum = dice.one(&usable).clone();
        let place = dice.one(&self.places).clone();
        let stocks = self.here();
        let stock = dice.one(&stocks).clone();
        let lot = (!self.bathed.is_empty()).then(|| dice.below(self.bathed.len()));
        let come_out = (!self.out.is_empty()).then(|| dice.one(&self.out).clone());
        let taken = (!self.taken.is_empty()).then(|| dice.below(self.taken.len()));
        let few = self.held.journals.len() < 40;
        let line = match dice.below(48) {
            0..=2 if few => {
                let open = dice.below(3) > 0;
                let code = format!("PA-{number}x");
                after.came(&code, 500);
                if !open {
                    after.sealed.insert(code.clone());
                }
                let condition = if open { "opened" } else { "sealed" };
                format!("receive potassium-alum 500g --at {place} --condition {condition} --code {code}")
            }
            3..=6 if few => {
                let code = format!("PA-{number}y");
                after.came(&code, 20);
                after.line(&alum, "taken", Some(20));
                format!("decant {alum} 20g --code {code}")
            }
            7 => match self.sealed.iter().next() {
                Some(code) => {
                    after.line(code, "opened", None);
                    after.sealed.remove(code);
                    format!("open {code}")
                }
                None => {
                    after.line(&stock, "noted", None);
                    format!("note {stock} labelled")
                }
            },
            8..=9 => {
                after.line(&stock, "moved", None);
                format!("move {stock} {place}")
            }
            10 => {
                after.line(&alum, "counted", Some(400));
                after.taken.retain(|(code, _)| *code != alum);
                format!("count {alum} 400g")
            }
            11 => {
                after.line(&alum, "assayed", None);
                format!("assay {alum} figure \"98 % w/w\" --sd 3%")
            }
            12 => {
                after.line(&stock, "noted", None);
                format!("note {stock} damp")
            }
            13..=16 if taken.is_some() => {
                let (code, line) = after.taken.swap_remove(taken.unwrap());
                let never = dice.below(2) == 0;
                after.corrected(&code, "corrected", (!never).then_some(2), Some(line), !never);
                let what = if never { "--never" } else { "--amount 2g" };
                format!("correct {code} {} {what} --because mistaken", line + 1)
            }
            17 if stocks.len() > 20 && stock.ends_with('y') => {
                after.line(&stock, "retired", None);
                after.gone.insert(stock.clone());
                after.taken.retain(|(code, _)| *code != stock);
                format!("retire {stock} --because empty")
            }
            18 => {
                after.more("place", 1);
                after.more("place_state", 1);
                after.places.push(format!("place{number}"));
                format!("place add place{number} --temp 12")
            }
            19 => {
                after.more("place_state", 1);
                format!("place set {place} --temp 17")
            }
            20..=22 => {
                after.more("place_log", 1);
                after.more("place_day", 50);
                format!("place log {place} log.csv")
            }
            23 => {
                after.more("measure", 1);
                after.spoons.push(format!("spoon{number}"));
                format!("measure add spoon{number} spoon 15mL")
            }
            24 if !self.spoons.is_empty() => {
                after.more("measure_weighing", 1);
                let spoon = dice.one(&self.spoons);
                format!("measure weigh {spoon} --of potassium-alum 13.5g 13.8g 14.1g")
            }
            25 if self.held.rows["dip_version"] < 8 => {
                after.more("dip_version", 1);
                format!(
                    "dips add soak{number} --name \"Alum soak\" --reagent potassium-alum --low \"1.5 g/L\" --aim \"2 g/L\" \
                     --high \"2.5 g/L\" --minutes 24-48h --used-for snails --plants mosses --because \"browned moss\""
                )
            }
            26..=29 if usable.len() > 1 && self.held.rows["bench"] < 80 => {
                let other = usable.iter().find(|code| **code != alum).unwrap();
                after.line(&alum, "taken", Some(3));
                after.line(other, "taken", Some(2));
                after.more("bench", 1);
                after.more("bench_draw", 2);
                after.bathed.push(format!("L{number}"));
                format!(
                    "bathe start alum-short --bath 1L --lot L{number} --at 10:00 --drew \"{alum} 3g\" --drew \"{other} 2g\""
                )
            }
            30..=31 if lot.is_some() => {
                let lot = after.bathed.swap_remove(lot.unwrap());
                after.more("bench", 1);
                after.out.push(lot.clone());
                format!("bathe stop {lot} --after 2h")
            }
            32..=33 if come_out.is_some() => {
                after.more("bench", 1);
                format!("bathe look {} --adults 0 --eggs 1", come_out.unwrap())
            }
            34 => {
                after.more("setting", 1);
                format!("set kitchen {}", dice.one(&["us", "metric"]))
            }
            35 if !self.sheets.contains(&stock) => {
                after.sheets.insert(stock.clone());
                after.more("sheet", 1);
                format!("sds attach {stock} sheet.pdf")
            }
            36..=37 => {
                aim = Aim::Copy;
                "backup".to_owned()
            }
            38 if !copies.is_empty() => {
                let known: Vec<&String> = copies.keys().collect();
                let name = (*dice.one(&known[known.len().saturating_sub(3)..])).clone();
                after = copies[&name].clone();
                aim = Aim::Copy;
                format!("restore shelf.copies/{name}")
            }
            39..=40 => {
                let path = folder.join(format!("new{number}.brimstock"));
                let line = format!("--register {} new --kitchen us", path.display());
                aim = Aim::New(path);
                line
            }
            _ => {
                let line = after.line(&alum, "taken", Some(1));
                after.taken.push((alum.clone(), line));
                format!("take {alum} 1g")
            }
        };
        Step { line, after, aim }
    }
}

/// A command, what the register holds after it, and what it changes beside the register.
pub struct Step {
    pub line: String,
    pub after: Shelf,
    pub aim: Aim,
}

pub enum Aim {
    /// The register alone.
    Register,
    /// A copy comes into the folder of the copies.
    Copy,
    /// Another register is made.
    New(PathBuf),
}
