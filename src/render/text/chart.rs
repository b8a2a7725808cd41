//! A strength over time, drawn with characters.

use chrono::NaiveDate;

use crate::commands::chart::Chart;
use crate::render::Style;
use crate::units::show;

const ROWS: usize = 14;
const COLUMNS: usize = 60;

/// What lies lower than this share of the chart cannot be told from nothing.
const LEAST: f64 = 0.05;

/// What is drawn with.
struct Signs {
    band: char,
    median: char,
    test: char,
    limit: char,
    today: char,
}

const DRAWN: Signs = Signs { band: '░', median: '●', test: '×', limit: '─', today: '│' };
const PLAIN: Signs = Signs { band: '.', median: 'o', test: 'x', limit: '-', today: '|' };

/// The chart with its legend.
pub(super) fn chart(style: &Style, chart: &Chart) -> String {
    let (Some((first, _)), Some((last, _))) = (chart.band.first(), chart.band.last()) else {
        return "No chart: nothing is known of its strength on any day.\n".to_owned();
    };
    let signs = if style.lines { DRAWN } else { PLAIN };
    let top = chart.band.iter().chain(&chart.tests).map(|(_, estimate)| estimate.high).fold(0.0, f64::max) * 1.05;
    let days = (*last - *first).num_days().max(1) as f64;
    let column = |day: NaiveDate| {
        let share = (day - *first).num_days() as f64 / days;
        libm::round(share * (COLUMNS - 1) as f64).clamp(0.0, (COLUMNS - 1) as f64) as usize
    };
    let row = |value: f64| {
        let share = (value / top).clamp(0.0, 1.0);
        ROWS - 1 - libm::round(share * (ROWS - 1) as f64) as usize
    };
    let mut grid = vec![[' '; COLUMNS]; ROWS];
    let limits: Vec<&(String, f64)> =
        chart.limits.iter().filter(|(_, value)| (LEAST..=1.0).contains(&(value / top))).collect();
    for (_, value) in &limits {
        grid[row(*value)].fill(signs.limit);
    }
    for line in &mut grid {
        line[column(chart.today)] = signs.today;
    }
    for pair in chart.band.windows(2) {
        let (from, to) = (column(pair[0].0), column(pair[1].0));
        for (at, cell) in (from..=to).enumerate() {
            let share = if to == from { 1.0 } else { at as f64 / (to - from) as f64 };
            let between = |a: f64, b: f64| a + share * (b - a);
            let (a, b) = (pair[0].1, pair[1].1);
            for line in &mut grid[row(between(a.high, b.high))..=row(between(a.low, b.low))] {
                line[cell] = signs.band;
            }
            grid[row(between(a.mid, b.mid))][cell] = signs.median;
        }
    }
    for (day, found) in &chart.tests {
        grid[row(found.mid)][column(*day)] = signs.test;
    }
    let mut text = format!("Strength in {}\n", chart.unit);
    for (index, line) in grid.iter().enumerate() {
        let value = top * (ROWS - 1 - index) as f64 / (ROWS - 1) as f64;
        let label = if index % 3 == 1 { show::significant(value, 2) } else { String::new() };
        let drawn: String = line.iter().collect();
        text.push_str(format!("{label:>7} {drawn}").trim_end());
        text.push('\n');
    }
    let mut axis = vec![' '; COLUMNS + 10];
    for (day, at) in [(*first, 0), (chart.today, column(chart.today)), (*last, COLUMNS - 1)] {
        let word = day.to_string();
        let start = (at + 8).saturating_sub(word.len() / 2).min(COLUMNS + 10 - word.len());
        if axis[start.saturating_sub(1)..start + word.len()].iter().all(|sign| *sign == ' ') {
            axis.splice(start..start + word.len(), word.chars());
        }
    }
    text.push_str(axis.into_iter().collect::<String>().trim_end());
    text.push_str(&format!(
        "\n{} median, {} nine times in ten, {} test, {} the day asked for\n",
        signs.median, signs.band, signs.test, signs.today
    ));
    for (dip, value) in limits {
        text.push_str(&format!(
            "{} {} {}: what is left of it must hold this for {dip}\n",
            signs.limit,
            show::significant(*value, 2),
            chart.unit
        ));
    }
    text
}
