//! Lines: none wider than it may be, nothing lost.

use brimstock::render::pdf::Face;
use brimstock::render::pdf::wrap::{Line, Span, lines};
use proptest::prelude::*;

use super::cases;

fn text(line: &Line) -> String {
    line.spans.iter().map(|(span, _)| span.text.as_str()).collect()
}

fn solid(text: &str) -> String {
    text.chars().filter(|letter| *letter != ' ').collect()
}

/// Words short and far too long, of narrow and wide letters, with marks that combine, hyphens and hard blanks.
fn words() -> impl Strategy<Value = String> {
    let letter = prop::sample::select(vec![
        "i",
        "W",
        "m",
        "é",
        "e\u{301}",
        "x\u{308}\u{304}",
        "ß",
        "я",
        "Ω",
        "₂",
        "-",
        "/",
        "\u{a0}",
        "≈",
        ".",
    ]);
    let word = prop::collection::vec(letter, 0..24).prop_map(|letters| letters.concat());
    let long = (1..200usize).prop_map(|many| "W".repeat(many));
    let word = prop_oneof![8 => word, 1 => long, 1 => Just("\t\n".to_owned())];
    prop::collection::vec(word, 0..12).prop_map(|words| words.join(" "))
}

proptest! {
    #![proptest_config(cases(300))]

    #[test]
    fn no_line_is_too_wide_and_no_letter_lost(
        parts in prop::collection::vec((words(), any::<bool>()), 0..4), size in 4.0..50.0f64, width in 0.1..200.0f64,
    ) {
        let face = |bold| if bold { Face::Bold } else { Face::Regular };
        let spans: Vec<Span> = parts.iter().map(|(text, bold)| Span::new(face(*bold), text)).collect();
        let whole: String = spans.iter().map(|span| span.text.as_str()).collect();
        let lines = lines(&spans, size, width);
        prop_assert!(!lines.is_empty());
        let joined: Vec<String> = lines.iter().map(text).collect();
        prop_assert_eq!(solid(&joined.concat()), solid(&whole));
        for line in &lines {
            let sum: f64 = line.spans.iter().map(|(span, width)| {
                assert!((span.face.width(&span.text, size) - width).abs() < 1e-9);
                width
            }).sum();
            prop_assert!((sum - line.width).abs() < 1e-9);
            let text = text(line);
            // One letter with its marks is the least that a line holds.
            let letters = text.chars().filter(|letter| !('\u{300}'..'\u{370}').contains(letter)).count();
            prop_assert!(line.width <= width + 1e-6 || letters <= 1, "{} wide in {}: {:?}", line.width, width, text);
            prop_assert!(!text.ends_with(' '));
            prop_assert!(!text.starts_with(|first| ('\u{300}'..'\u{370}').contains(&first)), "{:?} begins with a mark", text);
        }
    }

    #[test]
    fn words_that_fit_are_not_cut(many in 1..30usize, size in 6.0..14.0f64) {
        let words: Vec<String> = (0..many).map(|number| format!("word{number}")).collect();
        let lines = lines(&[Span::new(Face::Regular, &words.join(" "))], size, 40.0);
        let again: Vec<String> = lines.iter().map(text).collect();
        prop_assert_eq!(again.join(" "), words.join(" "));
        // As many words on a line as it holds: the first of the next would not have fitted.
        for pair in again.windows(2) {
            let first = pair[1].split(' ').next().unwrap();
            let longer = [pair[0].as_str(), first].join(" ");
            prop_assert!(Face::Regular.width(&longer, size) > 40.0);
        }
    }
}

#[test]
fn a_figure_stays_with_its_unit() {
    let span = [Span::new(Face::Regular, "measure out 2.7\u{a0}g/L")];
    let width = Face::Regular.width("measure out 2.7", 10.0);
    let found: Vec<String> = lines(&span, 10.0, width).iter().map(text).collect();
    assert_eq!(found, ["measure out", "2.7\u{a0}g/L"]);
}
