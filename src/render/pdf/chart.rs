//! A strength over time, drawn into a page: black lines, hatching and words, so that a photocopy still tells everything.

use std::rc::Rc;

use chrono::NaiveDate;
use kurbo::{Circle, Shape};

use super::block::{Block, line, polyline};
use super::{Face, Ink, MM_PER_PT, Mark, Paint};
use crate::commands::chart::Chart;
use crate::render::scale::{Scale, spread};
use crate::units::estimate::Estimate;
use crate::units::show;

/// From the baseline up to the middle of a figure, over the size of the type.
const HALF_FIGURE: f64 = 0.365;
/// Between the lines of the hatching, over the size of the type.
const HATCH: f64 = 0.34;
/// The size of type for which the thicknesses of lines are given, points; they grow and shrink with it.
const FULL: f64 = 10.0;
/// Lines that only guide the eye.
const FAINT: Ink = Ink::Grey(0.7);

/// The words of a drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Captions {
    /// Over the line of the day of the question.
    pub today: String,
    /// Over the strength axis: what is counted, with its unit.
    pub axis: String,
}

/// A chart as a block of a height, mm, with labels of a size in points; nothing where nothing is known on any day.
///
/// The median is a line, dashed from the day of the question on; the band is hatched; tests are rings with error bars and
/// their day; what dips need are dashed levels with the dip's name.
#[must_use]
pub fn drawing(chart: &Chart, captions: Captions, size: f64, height: f64) -> Option<Block> {
    let scale = Scale::of(chart)?;
    let chart = chart.clone();
    let draw = move |width: f64, height: f64| Field::new(&chart, scale, &captions, size, (width, height)).marks();
    Some(Block::Drawing { height, draw: Rc::new(draw) })
}

/// The field of a chart between its axes, and what is written round it. Lengths in millimetres.
struct Field<'a> {
    chart: &'a Chart,
    scale: Scale,
    captions: &'a Captions,
    /// Points.
    size: f64,
    /// Of the whole drawing.
    width: f64,
    left: f64,
    right: f64,
    top: f64,
    floor: f64,
    /// Baseline of the labels over the field.
    lane: f64,
    marks: Vec<Mark>,
}

impl<'a> Field<'a> {
    fn new(
        chart: &'a Chart,
        scale: Scale,
        captions: &'a Captions,
        size: f64,
        (width, height): (f64, f64),
    ) -> Field<'a> {
        let em = size * MM_PER_PT;
        let widest = |texts: Vec<String>| texts.iter().map(|text| Face::Regular.width(text, size)).fold(0.0, f64::max);
        let left = widest(scale.values().map(show::plain).collect()) + 0.6 * em;
        let limits = widest(limits(chart, scale).into_iter().map(|(text, _)| text).collect());
        let right = width - if limits > 0.0 { limits + 1.4 * em } else { 0.3 * em };
        let lane = 2.3 * em;
        // The field keeps a part of the drawing, however long the names of dips are.
        let right = right.max(left + 0.4 * (width - left));
        let (top, floor) = (lane + 1.3 * em, height - 1.9 * em);
        Field { chart, scale, captions, size, width, left, right, top, floor, lane, marks: Vec::new() }
    }

    fn x(&self, day: NaiveDate) -> f64 {
        self.left + (self.right - self.left) * self.scale.across(day)
    }

    fn y(&self, value: f64) -> f64 {
        self.floor - (self.floor - self.top) * self.scale.up(value)
    }

    /// The thickness of a line that is so thick beside type of full size, mm.
    fn thick(&self, full: f64) -> f64 {
        full * self.size / FULL
    }

    fn em(&self) -> f64 {
        self.size * MM_PER_PT
    }

    fn marks(mut self) -> Vec<Mark> {
        self.axes();
        self.band();
        self.levels();
        self.days();
        self.tests();
        self.marks
    }

    /// Words with their middle at `x` and `y`.
    fn centred(&mut self, face: Face, text: &str, x: f64, y: f64) {
        let half = face.width(text, self.size) / 2.0;
        let x = x.clamp(half, (self.width - half).max(half)) - half;
        self.write(face, text, x, y);
    }

    /// Words that begin at `x`, their figures' middle at `y`.
    fn write(&mut self, face: Face, text: &str, x: f64, y: f64) {
        let y = y + HALF_FIGURE * self.em();
        self.marks.push(Mark::Text { x, y, size: self.size, face, ink: Ink::Black, text: text.to_owned() });
    }

    fn axes(&mut self) {
        let (left, right, floor, top, em) = (self.left, self.right, self.floor, self.top, self.em());
        for value in self.scale.values() {
            let (text, y) = (show::plain(value), self.y(value));
            self.marks.push(line((left, y), (right, y), self.thick(0.15), FAINT));
            let x = left - 0.5 * em - Face::Regular.width(&text, self.size);
            self.write(Face::Regular, &text, x, y);
        }
        let axis = self.captions.axis.clone();
        self.write(Face::Bold, &axis, 0.0, 0.6 * em);
        let room = Face::Regular.width("0000-00", self.size) + em;
        let most = ((right - left) / room) as usize;
        for day in self.scale.days(most) {
            let x = self.x(day);
            self.marks.push(line((x, floor), (x, floor + 0.35 * em), self.thick(0.3), Ink::Black));
            self.centred(Face::Regular, &day.format("%Y-%m").to_string(), x, floor + 1.1 * em);
        }
        let path = polyline(&[(left, top), (left, floor), (right, floor)]);
        self.marks.push(Mark::Path { path, paint: Paint::Stroke(Ink::Black, self.thick(0.4)) });
    }

    /// The band, hatched upright, with its edges; over it the median.
    fn band(&mut self) {
        let band = &self.chart.band;
        let at = |of: fn(&Estimate) -> f64| -> Vec<(f64, f64)> {
            band.iter().map(|(day, estimate)| (self.x(*day), self.y(of(estimate)))).collect()
        };
        let (low, mid, high) = (at(|of| of.low), at(|of| of.mid), at(|of| of.high));
        let mut drawn = Vec::new();
        let hatch = HATCH * self.em();
        let lines = ((self.right - self.left) / hatch) as usize;
        for x in (1..=lines).map(|number| self.left + number as f64 * hatch) {
            if let (Some(from), Some(to)) = (height_at(&low, x), height_at(&high, x)) {
                drawn.push(line((x, from), (x, to), self.thick(0.18), Ink::Grey(0.35)));
            }
        }
        for edge in [&low, &high] {
            drawn.push(Mark::Path { path: polyline(edge), paint: Paint::Stroke(Ink::Grey(0.35), self.thick(0.25)) });
        }
        let today = self.x(self.chart.today);
        let known: Vec<(f64, f64)> = mid.iter().copied().filter(|(x, _)| *x <= today).collect();
        let expected: Vec<(f64, f64)> = mid.iter().copied().filter(|(x, _)| *x >= today).collect();
        drawn.push(Mark::Path { path: polyline(&known), paint: Paint::Stroke(Ink::Black, self.thick(0.8)) });
        drawn.push(Mark::Path {
            path: polyline(&expected),
            paint: Paint::Dashed(Ink::Black, self.thick(0.8), self.thick(1.6)),
        });
        self.marks.extend(drawn);
    }

    /// What dips need, each with its name at the end of its level.
    fn levels(&mut self) {
        let em = self.em();
        let limits = limits(self.chart, self.scale);
        let levels: Vec<f64> = limits.iter().map(|(_, value)| self.y(*value)).collect();
        let places = spread(&levels, 1.15 * em, self.top, self.floor);
        for (((text, _), y), place) in limits.into_iter().zip(levels).zip(places) {
            // On the axis itself the level would only make it look thicker.
            if self.floor - y > 0.5 {
                let path = polyline(&[(self.left, y), (self.right, y)]);
                self.marks
                    .push(Mark::Path { path, paint: Paint::Dashed(Ink::Black, self.thick(0.3), self.thick(0.9)) });
            }
            let link = line((self.right, y), (self.right + 0.9 * em, place), self.thick(0.2), Ink::Black);
            self.marks.push(link);
            self.write(Face::Regular, &text, self.right + 1.1 * em, place);
        }
    }

    /// The day of the question and the days of tests, over the field, with lines down to what they speak of. Where there are
    /// more tests than room, the latest are named.
    fn days(&mut self) {
        let (em, today) = (self.em(), self.chart.today);
        let room =
            Face::Bold.width("0000-00-00", self.size).max(Face::Bold.width(&self.captions.today, self.size)) + em;
        let most = ((self.width / room) as usize).max(1);
        let tests = self.chart.tests.iter().rev().take(most - 1).rev();
        let mut named: Vec<(NaiveDate, Option<f64>)> = tests.map(|(day, found)| (*day, Some(found.high))).collect();
        named.push((today, None));
        let wanted: Vec<f64> = named.iter().map(|(day, _)| self.x(*day)).collect();
        let places = spread(&wanted, room, room / 2.0, self.width - room / 2.0);
        for (((day, found), x), place) in named.into_iter().zip(wanted).zip(places) {
            let (text, face, end, thickness) = match found {
                Some(high) => (day.to_string(), Face::Regular, self.y(high), self.thick(0.15)),
                None => (self.captions.today.clone(), Face::Bold, self.floor, self.thick(0.5)),
            };
            self.centred(face, &text, place, self.lane);
            let down = polyline(&[(place, self.lane + 0.6 * em), (x, self.top), (x, end)]);
            self.marks.push(Mark::Path { path: down, paint: Paint::Stroke(Ink::Black, thickness) });
        }
    }

    /// What tests found: a ring, and a bar over what it may have been.
    fn tests(&mut self) {
        let arm = 0.35 * self.em();
        for (day, found) in &self.chart.tests {
            let (x, low, mid, high) = (self.x(*day), self.y(found.low), self.y(found.mid), self.y(found.high));
            for (from, to) in
                [((x, low), (x, high)), ((x - arm, low), (x + arm, low)), ((x - arm, high), (x + arm, high))]
            {
                self.marks.push(line(from, to, self.thick(0.35), Ink::Black));
            }
            let ring = Circle::new((x, mid), self.thick(1.1)).to_path(0.01);
            self.marks.push(Mark::Path { path: ring.clone(), paint: Paint::Fill(Ink::White) });
            self.marks.push(Mark::Path { path: ring, paint: Paint::Stroke(Ink::Black, self.thick(0.5)) });
        }
    }
}

/// What dips need, the most first, as it is written, and how strong that is; what lies beyond the axis is left out.
fn limits(chart: &Chart, scale: Scale) -> Vec<(String, f64)> {
    let shown = chart.limits.iter().rev().filter(|(_, value)| *value <= scale.top);
    shown.map(|(dip, value)| (format!("{} {dip}", show::significant(*value, 2)), *value)).collect()
}

/// How high a broken line lies at `x`; nothing outside of it.
fn height_at(points: &[(f64, f64)], x: f64) -> Option<f64> {
    points.windows(2).find(|pair| pair[0].0 <= x && x <= pair[1].0).map(|pair| {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        if x1 > x0 { y0 + (y1 - y0) * (x - x0) / (x1 - x0) } else { y0 }
    })
}
