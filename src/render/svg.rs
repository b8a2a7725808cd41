//! A strength over time as a drawing.

use std::fmt::Write as _;

use chrono::NaiveDate;

use super::scale::{Scale, spread};
use crate::commands::chart::Chart;
use crate::units::show;

const WIDTH: f64 = 860.0;
const HEIGHT: f64 = 440.0;
const LEFT: f64 = 70.0;
const RIGHT: f64 = 180.0;
const TOP: f64 = 50.0;
const BOTTOM: f64 = 60.0;

/// The drawing of a stock's chart, a whole SVG file.
#[must_use]
pub fn chart(stock: &str, name: &str, chart: &Chart) -> String {
    let title = escaped(&format!("{stock}  {name}, {}", chart.unit));
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" font-family=\"sans-serif\" font-size=\"13\">\n\
         <title>{title}</title>\n<desc>Median and 5 to 95 % band of the strength over time, tests as points, what dips need as \
         lines.</desc>\n<rect width=\"{WIDTH}\" height=\"{HEIGHT}\" fill=\"#fff\"/>\n\
         <text x=\"{LEFT}\" y=\"28\" font-size=\"17\">{title}</text>\n"
    );
    let Some(scale) = Scale::of(chart) else {
        svg.push_str("<text x=\"70\" y=\"80\">nothing is known of its strength on any day</text>\n</svg>\n");
        return svg;
    };
    let x = |day: NaiveDate| LEFT + (WIDTH - LEFT - RIGHT) * scale.across(day);
    let y = |value: f64| TOP + (HEIGHT - TOP - BOTTOM) * (1.0 - scale.up(value));
    let (edge, floor) = (WIDTH - RIGHT, HEIGHT - BOTTOM);
    let mut add = |line: String| {
        svg.push_str(&line);
        svg.push('\n');
    };
    for value in scale.values() {
        let at = y(value);
        add(format!("<path d=\"M{LEFT:.1} {at:.1}H{edge:.1}\" stroke=\"#ddd\"/>"));
        add(format!(
            "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
            LEFT - 8.0,
            at + 4.5,
            show::plain(value)
        ));
    }
    let mut band = String::new();
    let upper = chart.band.iter().map(|(day, estimate)| (*day, estimate.high));
    let lower = chart.band.iter().rev().map(|(day, estimate)| (*day, estimate.low));
    for (day, value) in upper.chain(lower) {
        let _ = write!(band, "{:.1},{:.1} ", x(day), y(value));
    }
    add(format!("<polygon points=\"{}\" fill=\"#9cb8d4\" fill-opacity=\"0.6\"/>", band.trim_end()));
    let mut median = String::new();
    for (day, estimate) in &chart.band {
        let _ = write!(median, "{:.1},{:.1} ", x(*day), y(estimate.mid));
    }
    add(format!("<polyline points=\"{}\" fill=\"none\" stroke=\"#1d3f66\" stroke-width=\"2.5\"/>", median.trim_end()));
    let limits: Vec<&(String, f64)> = chart.limits.iter().rev().filter(|(_, value)| *value <= scale.top).collect();
    let levels: Vec<f64> = limits.iter().map(|(_, value)| y(*value)).collect();
    let written = spread(&levels, 14.0, TOP, floor);
    for (((dip, _), at), written) in limits.into_iter().zip(&levels).zip(written) {
        add(format!("<path d=\"M{LEFT:.1} {at:.1}H{edge:.1}\" stroke=\"#a33\" stroke-dasharray=\"7 5\"/>"));
        let (x, baseline) = (edge + 8.0, written + 4.5);
        add(format!("<text x=\"{x:.1}\" y=\"{baseline:.1}\" fill=\"#a33\">{}</text>", escaped(dip)));
    }
    let today = x(chart.today);
    add(format!("<path d=\"M{today:.1} {TOP:.1}V{floor:.1}\" stroke=\"#555\" stroke-dasharray=\"2 4\"/>"));
    for (day, found) in &chart.tests {
        let (at, low, high) = (x(*day), y(found.low), y(found.high));
        add(format!("<path d=\"M{at:.1} {low:.1}V{high:.1}\" stroke=\"#000\" stroke-width=\"1.5\"/>"));
        add(format!(
            "<circle cx=\"{at:.1}\" cy=\"{:.1}\" r=\"4.5\" fill=\"#fff\" stroke=\"#000\" stroke-width=\"2\"/>",
            y(found.mid)
        ));
    }
    add(format!("<path d=\"M{LEFT:.1} {TOP:.1}V{floor:.1}H{edge:.1}\" fill=\"none\" stroke=\"#000\"/>"));
    for (day, anchor) in [(scale.first, "start"), (chart.today, "middle"), (scale.last, "end")] {
        add(format!("<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"{anchor}\">{day}</text>", x(day), floor + 20.0));
    }
    add(format!(
        "<text x=\"{LEFT:.1}\" y=\"{:.1}\" fill=\"#555\">line: median; band: nine times in ten; circles: tests; dashed red: what is left of it must hold this</text>",
        floor + 44.0
    ));
    svg.push_str("</svg>\n");
    svg
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
