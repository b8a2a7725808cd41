//! The `shelf` card: all that stands there, what is wrong, what is left open.

use brimstock::register::Register;
use rusqlite::Connection;

use super::{card, tool};
use crate::harness::Bench;

const DAY: &str = "2031-03-06";

#[test]
fn it_says_what_shelf_audit_and_sheets_say() {
    let bench = Bench::demo();
    let paper = card(&bench, DAY, "shelf");
    let words = paper.words();
    let shelf = bench.on(DAY, "--json shelf").json();
    let stocks = shelf["stocks"].as_array().unwrap();
    assert!(
        words.contains(&format!("{} stocks", stocks.len())) || words.contains(&stocks.len().to_string()),
        "{words}"
    );
    for stock in stocks {
        for key in ["stock", "place"] {
            assert!(words.contains(stock[key].as_str().unwrap()), "{key}: {words}");
        }
    }
    let audit = bench.on(DAY, "--json audit").json();
    for finding in audit["findings"].as_array().unwrap() {
        // The first letter of some becomes a capital.
        let rule = &finding["rule"].as_str().unwrap()[1..];
        let advice = finding["advice"].as_str().unwrap();
        assert!(words.contains(rule) && words.contains(advice), "{rule}: {words}");
    }
    for one in audit["moves"].as_array().unwrap() {
        let [stock, from, to] = ["stock", "from", "to"].map(|key| one[key].as_str().unwrap());
        assert!(words.contains(&format!("Carry {stock} from {from} to {to}")), "{words}");
    }
    let danger = words.find("DANGER: ").unwrap();
    assert!(danger < words.find("Serious: ").unwrap() && danger < words.find("What stands where").unwrap());
    paper.says(&[
        "≈ 35 % w/w (32–38)",
        "held: date unknown",
        "Left open",
        "None on file: ask the supplier",
        "To hand over",
    ]);
    let again = card(&bench, DAY, "shelf");
    assert_eq!(again.bytes(), paper.bytes());
}

#[test]
fn symbols_and_signal_word_are_those_of_classify() {
    let bench = Bench::demo();
    let words = card(&bench, DAY, "shelf").words();
    for code in ["S04", "S10", "S14"] {
        let judged = bench.on(DAY, &format!("--json classify {code}")).json();
        let symbols: Vec<&str> =
            judged["pictograms"].as_array().unwrap().iter().map(|symbol| symbol.as_str().unwrap()).collect();
        let signal = judged["signal_word"].as_str().unwrap();
        assert!(words.contains(&format!("{signal} {}", symbols.join(" "))), "{code} {symbols:?}: {words}");
    }
}

#[test]
fn an_empty_register_has_a_card() {
    let bench = Bench::bare();
    bench.on(DAY, "new").ok();
    let paper = card(&bench, DAY, "shelf");
    assert_eq!(paper.pages, 1);
    paper.says(&["No place is on record", "No limit is on record", "the poison centre's number", "2031-03-06"]);
    assert!(!paper.words().contains("≈"), "nothing is estimated");
}

/// 120 bottles, straight into the file: the program would take ten seconds for it.
fn fill(bench: &Bench, many: i64) {
    let connection = Connection::open(bench.register()).unwrap();
    for number in 1..=many {
        let stock = "INSERT INTO stock (id, code, reagent, form) VALUES (?1, ?2, 'hydrogen-peroxide', 'solution')";
        connection.execute(stock, (number, format!("B{number:03}"))).unwrap();
        let received = "INSERT INTO event (stock, kind, day, entered_at, place, amount, amount_unit, strength, \
             strength_unit, relative_sd, condition) VALUES (?1, 'received', '2031-01-02', '2031-01-02T12:00:00Z', 1, 500, \
             'mL', 12, '% w/w', 0.01, 'sealed')";
        connection.execute(received, [number]).unwrap();
    }
    drop(connection);
    Register::open(&bench.register()).unwrap().seal_again().unwrap();
}

#[test]
fn many_stocks_fill_pages_and_no_row_is_torn() {
    let bench = Bench::new();
    fill(&bench, 120);
    for size in ["a4", "a5", "a6", "letter"] {
        let paper = card(&bench, DAY, &format!("shelf --paper {size}"));
        assert!(paper.pages > 3, "{size}: {}", paper.pages);
        let mut seen = 0;
        for number in 1..=paper.pages {
            let number = number.to_string();
            let path = paper.path.to_str().unwrap();
            let text = tool("pdftotext", &["-layout", "-f", &number, "-l", &number, path, "-"]);
            // A row begins with its code and ends with its symbols.
            let rows = text
                .lines()
                .filter(|line| {
                    line.trim_start().starts_with('B')
                        && line.trim_start()[1..].starts_with(|c: char| c.is_ascii_digit())
                })
                .filter(|line| !line.contains(',') && !line.contains("more"))
                .count();
            assert_eq!(rows, text.matches("GHS03 GHS05").count(), "{size}, page {number}: {text}");
            assert_eq!(rows > 0, text.contains("Hazards"), "{size}, page {number} without a head: {text}");
            seen += rows;
        }
        assert_eq!(seen, 120, "{size}");
    }
}

#[test]
fn what_is_held_stands_against_the_limit() {
    let bench = Bench::new();
    let rules = "[[store]]\nreagent = \"hydrogen-peroxide\"\nstronger_than = \"8 % w/w\"\nmost = \"1 L\"\n\
        asked = \"the fire warden\"\non = \"2031-02-03\"\n\
        [[strength]]\nreagent = \"hydrogen-peroxide\"\nmost = \"12 % w/w\"\nasked = \"the office\"\non = \"2028-01-01\"\n";
    std::fs::write(bench.folder().join("local.toml"), rules).unwrap();
    bench.on(DAY, "receive hydrogen-peroxide \"12 % w/w\" 1L --at cupboard --code A").ok();
    card(&bench, DAY, "shelf").says(&[
        "1 L (A)",
        "nothing above it",
        "Ask the office again",
        "the fire warden, 2031-02-03",
    ]);
    bench.on(DAY, "receive hydrogen-peroxide \"12.1 % w/w\" 1mL --at cupboard --code B").ok();
    card(&bench, DAY, "shelf").says(&["TOO MUCH: 1.001 L (A, B)", "ABOVE IT: B"]);
}

#[test]
fn a_sheet_is_listed_with_its_revision() {
    let bench = Bench::new();
    for code in ["A", "B"] {
        bench.on(DAY, &format!("receive citric-acid 500g --at cupboard --code {code}")).ok();
    }
    std::fs::write(bench.folder().join("citric.pdf"), b"%PDF-1.4\n%%EOF\n").unwrap();
    bench.on(DAY, "sds attach A citric.pdf --revised 2029-05-04").ok();
    card(&bench, DAY, "shelf").says(&["citric.pdf", "2029-05-04", "citric acid (anhydrous): B"]);
}

#[test]
fn it_takes_no_names() {
    let bench = Bench::new();
    bench.on(DAY, "card shelf HP-1").fails(2, &["takes no names"]);
    bench.on(DAY, "card shelf --paper label-74x52").fails(2, &["belongs to the `bottle` card"]);
    bench.on(DAY, "card shelf --lang es").fails(2, &["not there in `es`"]);
}
