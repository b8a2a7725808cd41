//! The same strengths as a spreadsheet: three tables of formulas, recalculated by LibreOffice without a screen.
//!
//! `days` adds up the speed of both laws over the days of every place, `nodes` has a row a rate and a few columns a test, `stocks`
//! looks up the times and finds the three quantiles by Newton steps. Nothing is computed beforehand but the bounds of the grid,
//! which are those that numpy found.

use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;
use std::time::Instant;

use super::{Told, World};

/// Rates of a stock.
const RATES: usize = 121;

/// Newton steps of a quantile.
const NEWTON: usize = 7;

/// A document with tables.
const HEAD: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\
<office:document xmlns:office=\"urn:oasis:names:tc:opendocument:xmlns:office:1.0\" \
xmlns:table=\"urn:oasis:names:tc:opendocument:xmlns:table:1.0\" \
xmlns:text=\"urn:oasis:names:tc:opendocument:xmlns:text:1.0\" \
xmlns:of=\"urn:oasis:names:tc:opendocument:xmlns:of:1.2\" office:version=\"1.2\" \
office:mimetype=\"application/vnd.oasis.opendocument.spreadsheet\"><office:body><office:spreadsheet>";

/// A table under construction: its cells, and where it stands.
struct Table {
    text: String,
    columns: Vec<String>,
}

impl Table {
    fn new(name: &str) -> Table {
        Table { text: format!("<table:table table:name=\"{name}\">"), columns: Vec::new() }
    }

    fn row(&mut self) {
        let end = if self.text.ends_with("\">") { "" } else { "</table:table-row>" };
        self.text.push_str(end);
        self.text.push_str("<table:table-row>");
        self.columns.clear();
    }

    /// A formula, and the letters of its column.
    fn put(&mut self, formula: &str) -> String {
        let formula = formula.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
        write!(self.text, "<table:table-cell table:formula=\"of:={formula}\"/>").expect("a String takes text");
        let letters = letters(self.columns.len());
        self.columns.push(letters.clone());
        letters
    }

    /// A figure, and the letters of its column.
    fn figure(&mut self, value: f64) -> String {
        write!(self.text, "<table:table-cell office:value-type=\"float\" office:value=\"{value:?}\"/>")
            .expect("a String takes text");
        let letters = letters(self.columns.len());
        self.columns.push(letters.clone());
        letters
    }

    fn end(mut self) -> String {
        self.text.push_str("</table:table-row></table:table>");
        self.text
    }
}

/// The letters of a column: A, B ... Z, AA.
fn letters(mut index: usize) -> String {
    let mut letters = Vec::new();
    loop {
        letters.push(b'A' + u8::try_from(index % 26).expect("a letter"));
        match (index / 26).checked_sub(1) {
            Some(rest) => index = rest,
            None => break,
        }
    }
    letters.reverse();
    String::from_utf8(letters).expect("letters")
}

/// Seconds from the start of LibreOffice to the written figures, and the figures.
pub fn strengths(
    folder: &Path,
    world: &World,
    told: &[Told],
    windows: &[[f64; 2]],
) -> Result<(f64, Vec<[f64; 3]>), String> {
    let book = folder.join("strengths.fods");
    let (nodes, stocks) = nodes_and_stocks(world, told, windows);
    let text = format!("{HEAD}{stocks}{}{nodes}</office:spreadsheet></office:body></office:document>", days(world));
    std::fs::write(&book, text).map_err(|error| error.to_string())?;
    let start = Instant::now();
    let output = Command::new("timeout")
        .args(["300", "soffice"])
        .arg(format!("-env:UserInstallation=file://{}", folder.join("office").display()))
        .args([
            "--headless",
            "--convert-to",
            "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false,false,false,1",
        ])
        .arg("--outdir")
        .arg(folder)
        .arg(&book)
        .output()
        .map_err(|error| format!("soffice: {error}"))?;
    let seconds = start.elapsed().as_secs_f64();
    let made = std::fs::read_dir(folder).map_err(|error| error.to_string())?;
    let made = made.flatten().map(|entry| entry.path()).find(|path| path.extension().is_some_and(|end| end == "csv"));
    let made = made.ok_or_else(|| String::from_utf8_lossy(&output.stderr).trim().to_owned())?;
    let text = std::fs::read_to_string(made).map_err(|error| error.to_string())?;
    let mut found = Vec::new();
    for line in text.lines().take(told.len()) {
        let figures: Vec<f64> =
            line.split(',').take(3).filter_map(|figure| figure.trim_matches('"').parse().ok()).collect();
        found.push(
            figures.try_into().map_err(|_| format!("no figures: {}", line.chars().take(80).collect::<String>()))?,
        );
    }
    Ok((seconds, found))
}

/// Day by day, what has passed in each place since the first: years at 20 °C, then the integral of hypochlorite's constant.
fn days(world: &World) -> String {
    let mut table = Table::new("days");
    table.row();
    (0..2 * world.places.len()).for_each(|_| drop(table.figure(0.0)));
    for (index, day) in world.day_of_year.iter().enumerate() {
        table.row();
        for law in [1, 2] {
            for (place, (summer, winter, month)) in world.places.iter().enumerate() {
                let column = letters((law - 1) * world.places.len() + place);
                let turn = format!("({day}+0.5-({month}-0.5)*365.25/12)/365.25");
                let swing = format!("0.5*({summer}-{winter})/(SIN(PI()/4)/(PI()/4))");
                let kelvin = format!("(0.5*({summer}+{winter})+{swing}*COS(2*PI()*{turn})+273.15)");
                let speed = match law {
                    1 => format!("EXP({}*1000/8.314462618*(1/293.15-1/{kelvin}))/365.25", world.activation),
                    _ => format!("2.083E10*{kelvin}*EXP(-101800/(8.314462618*{kelvin}))*EXP(-56.5/8.314462618)"),
                };
                table.put(&format!("[.{column}{}]+{speed}", index + 1));
            }
        }
    }
    table.end()
}

/// The two tables that speak of each other: `stocks` has a row a stock, `nodes` as many rows as a stock has rates.
fn nodes_and_stocks(world: &World, told: &[Told], windows: &[[f64; 2]]) -> (String, String) {
    let (mut nodes, mut stocks) = (Table::new("nodes"), Table::new("stocks"));
    for (index, (told, window)) in told.iter().zip(windows).enumerate() {
        let (row, first, last) = (index + 1, index * RATES + 1, (index + 1) * RATES);
        let tests = told.found.len();
        stocks.row();
        // The answers come first; what they are made of stands behind them.
        let behind = 3;
        let at = |column: usize| format!("$stocks.${}${row}", letters(column));
        let span = |column: &str| format!("[$nodes.{column}{first}:.{column}{last}]");
        let reach = 5.5 * told.rate.1;
        let (low, high) = (window[0].max(told.rate.0 - reach), window[1].min(told.rate.0 + reach));
        let step = (high - low) / (RATES - 1) as f64;

        // The columns of `nodes`, in order: rate, first weight; a test each: mean, variance, slope, then likelihood of a good
        // test and of a slip, share of the good one, new mean, variance, slope, weight.
        let a_test = 10;
        let column = |test: usize, which: usize| letters(2 + test * a_test + which);
        let factor = match told.law {
            1 => "1".to_owned(),
            _ => format!("(10^(0.149*{:?})*86400/{:?})", told.ionic_strength, world.molar_mass),
        };
        let times: Vec<String> = (0..tests)
            .map(|test| {
                let passed = told.stretches[2 * test..2 * test + 2].iter().map(|(place, from, to)| {
                    let column = letters(usize::from(told.law - 1) * world.places.len() + place);
                    format!("[$days.{column}{}]-[$days.{column}{}]", to + 1, from + 1)
                });
                format!("({})*{factor}", passed.collect::<Vec<_>>().join("+"))
            })
            .collect();
        // Behind the answers: time and largest weight of every test, the sum of weights, then mean and width, then the steps.
        let (time_at, largest_at) = (|test: usize| behind + test, |test: usize| behind + tests + test);
        let most_at = behind + 2 * tests;
        let (sum_at, mean_at, width_at) = (most_at + 1, most_at + 2, most_at + 3);
        let newton_at = |quantile: usize, step: usize| width_at + 1 + quantile * (NEWTON + 1) + step;

        for node in 0..RATES {
            nodes.row();
            let here = first + node;
            let cell = |letters: &str| format!("[.{letters}{here}]");
            let rate = cell(&nodes.put(&format!("{low:?}+{node}*{step:?}")));
            let begun = format!("EXP(-0.5*(({rate}-{:?})/{:?})^2)", told.rate.0, told.rate.1);
            let mut weight = cell(&nodes.put(&begun));
            let (mut mean, mut variance, mut slope) =
                (format!("{:?}", told.content.0), format!("{:?}^2", told.content.1), "0".to_owned());
            for (test, (found, sd)) in told.found.iter().enumerate() {
                let lost = format!("EXP({rate})*[{}]", at(time_at(test)));
                let (next_mean, next_variance, next_slope) = match told.law {
                    1 => (format!("{mean}-{lost}"), variance.clone(), format!("{slope}-{lost}")),
                    _ => {
                        let growth = format!("(EXP({mean})*{lost})");
                        (
                            format!("{mean}-LN(1+{growth})"),
                            format!("{variance}/(1+{growth})^2"),
                            format!("({slope}-{growth})/(1+{growth})"),
                        )
                    }
                };
                let (m, v, s) =
                    (cell(&nodes.put(&next_mean)), cell(&nodes.put(&next_variance)), cell(&nodes.put(&next_slope)));
                let bell =
                    |noise: &str| format!("EXP(-0.5*({found:?}-{m})^2/({v}+{noise}))/SQRT(2*PI()*({v}+{noise}))");
                let noise = format!("{:?}", sd * sd);
                let slipping = format!("({noise}+2.25)");
                let good = cell(&nodes.put(&bell(&noise)));
                let slip = cell(&nodes.put(&bell(&slipping)));
                let most = "0.01/(1.5*SQRT(2*PI()))";
                let share =
                    cell(&nodes.put(&format!("IF({good}>1000*{most};1;0.99*{good}/(0.99*{good}+0.01*{slip}))")));
                let (good_mean, slip_mean) = (
                    format!("({m}+{v}/({v}+{noise})*({found:?}-{m}))"),
                    format!("({m}+{v}/({v}+{slipping})*({found:?}-{m}))"),
                );
                mean = cell(&nodes.put(&format!("{share}*{good_mean}+(1-{share})*{slip_mean}")));
                let (good_kept, slip_kept) = (format!("{noise}/({v}+{noise})"), format!("{slipping}/({v}+{slipping})"));
                variance = cell(&nodes.put(&format!(
                    "{share}*({v}*{good_kept}+({good_mean}-{mean})^2)+(1-{share})*({v}*{slip_kept}+({slip_mean}-{mean})^2)"
                )));
                slope = cell(&nodes.put(&format!("{s}*({share}*{good_kept}+(1-{share})*{slip_kept})")));
                let likely = format!("IF({share}=1;0.99*{good};0.99*{good}+0.01*{slip})");
                let before = if test == 0 { "1".to_owned() } else { format!("[{}]", at(largest_at(test - 1))) };
                let kept = format!("IF({weight}>0.000001*{before};{weight};0)");
                weight = cell(&nodes.put(&format!("{kept}*{likely}")));
            }
            let kept = nodes.put(&format!("IF({weight}>0.000001*[{}];{weight};0)", at(largest_at(tests - 1))));
            let wide = nodes.put(&format!("SQRT(MAX({variance};MIN((0.3*{slope}*{step:?})^2;0.09)))"));
            debug_assert_eq!((kept, wide), (letters(2 + tests * a_test), letters(3 + tests * a_test)));
        }

        let (weights, widths) = (span(&letters(2 + tests * a_test)), span(&letters(3 + tests * a_test)));
        let means = span(&column(tests - 1, 6));
        (0..3).for_each(|quantile| {
            stocks.put(&format!("EXP([{}])", at(newton_at(quantile, NEWTON))));
        });
        times.iter().for_each(|time| drop(stocks.put(time)));
        (0..tests).for_each(|test| drop(stocks.put(&format!("MAX({})", span(&column(test, 9))))));
        stocks.put("0");
        let sum = at(sum_at);
        stocks.put(&format!("SUM({weights})"));
        stocks.put(&format!("SUMPRODUCT({weights};{means})/[{sum}]"));
        stocks.put(&format!("SQRT(SUMPRODUCT({weights};{widths}^2+({means}-[{}])^2)/[{sum}])", at(mean_at)));
        for (quantile, (share, z)) in [(0.05, -1.6449), (0.5, 0.0), (0.95, 1.6449)].into_iter().enumerate() {
            stocks.put(&format!("[{}]+{z}*[{}]", at(mean_at), at(width_at)));
            for step in 0..NEWTON {
                let x = format!("[{}]", at(newton_at(quantile, step)));
                let z = format!("({x}-{means})/{widths}");
                stocks.put(&format!(
                    "{x}+({share}-SUMPRODUCT({weights};LEGACY.NORMSDIST({z}))/[{sum}])/(SUMPRODUCT({weights};EXP(-0.5*({z})^2)/{widths})/SQRT(2*PI())/[{sum}])"
                ));
            }
        }
    }
    (nodes.end(), stocks.end())
}
