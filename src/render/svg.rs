//! A strength over time as a drawing.

use std::fmt::Write as _;

use chrono::NaiveDate;

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
    let (Some((first, _)), Some((last, _))) = (chart.band.first(), chart.band.last()) else {
        svg.push_str("<text x=\"70\" y=\"80\">nothing is known of its strength on any day</text>\n</svg>\n");
        return svg;
    };
    let highest = chart.band.iter().chain(&chart.tests).map(|(_, estimate)| estimate.high).fold(0.0, f64::max);
    let step = round_step(highest / 5.0);
    let top = step * libm::ceil(highest * 1.02 / step);
    let days = (*last - *first).num_days().max(1) as f64;
    let x = |day: NaiveDate| LEFT + (WIDTH - LEFT - RIGHT) * (day - *first).num_days() as f64 / days;
    let y = |value: f64| TOP + (HEIGHT - TOP - BOTTOM) * (1.0 - (value / top).clamp(0.0, 1.0));
    let (edge, floor) = (WIDTH - RIGHT, HEIGHT - BOTTOM);
    let mut add = |line: String| {
        svg.push_str(&line);
        svg.push('\n');
    };
    for tick in 0..=(libm::round(top / step) as u32) {
        let value = f64::from(tick) * step;
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
    let mut written = f64::INFINITY;
    for (dip, value) in chart.limits.iter().filter(|(_, value)| *value <= top) {
        let at = y(*value);
        add(format!("<path d=\"M{LEFT:.1} {at:.1}H{edge:.1}\" stroke=\"#a33\" stroke-dasharray=\"7 5\"/>"));
        // Names of limits that lie close together are pushed apart upwards.
        written = (at + 4.5).min(written - 14.0);
        add(format!("<text x=\"{:.1}\" y=\"{written:.1}\" fill=\"#a33\">{}</text>", edge + 8.0, escaped(dip)));
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
    for (day, anchor) in [(*first, "start"), (chart.today, "middle"), (*last, "end")] {
        add(format!("<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"{anchor}\">{day}</text>", x(day), floor + 20.0));
    }
    add(format!(
        "<text x=\"{LEFT:.1}\" y=\"{:.1}\" fill=\"#555\">line: median; band: nine times in ten; circles: tests; dashed red: what is left of it must hold this</text>",
        floor + 44.0
    ));
    svg.push_str("</svg>\n");
    svg
}

/// 1, 2 or 5 times a power of ten, at least this.
fn round_step(least: f64) -> f64 {
    let power = libm::pow(10.0, libm::floor(libm::log10(least.max(1e-12))));
    [1.0, 2.0, 5.0].into_iter().map(|figure| figure * power).find(|step| *step >= least).unwrap_or(10.0 * power)
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
