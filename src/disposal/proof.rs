//! What a reading of a used bath proves: that nothing is left of the reagent, that something is, or neither.

/// What a reading tells; neither where it is in doubt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Told {
    /// Something is left.
    pub something: bool,
    /// Nothing is left.
    pub nothing: bool,
}

/// What is still seen of a reagent that has a colour.
const LEFT: [&str; 7] = ["pink", "purple", "violet", "brown", "yellow", "trace", "traces"];

/// What nothing is left of, to the eye: chlorine and peroxide are clear as well.
const SEEN: [&str; 3] = ["clear", "colourless", "colorless"];

/// What nothing is left of, on a strip.
const READ: [&str; 3] = ["none", "nil", "zero"];

/// What makes a reading no proof of anything.
const DOUBT: [&str; 12] = [
    "almost", "nearly", "hardly", "barely", "faint", "slightly", "maybe", "perhaps", "unsure", "settled", "below",
    "sediment",
];

/// Reads a reading, as `strip 0`, `clear` or `no pink or purple`.
///
/// 0 and nothing else in numbers says that nothing is left; of a reagent whose end is seen by its colour, clear or none of it too.
/// A doubt (`clear?`, `nearly clear`) says neither. A `no` holds for the words that are joined to it, up to the next comma.
///
/// Source: `judgement`; what proves the end of each reagent stands in `hazards/neutralise.toml`.
#[must_use]
pub fn told(reading: &str, by_colour: bool) -> Told {
    let text = reading.to_lowercase();
    let numbers: Vec<f64> = text
        .split(|c: char| !(c.is_ascii_digit() || c == '.'))
        .filter_map(|part| part.trim_matches('.').parse().ok())
        .collect();
    let mut something = numbers.iter().any(|number| *number > 0.0);
    let mut nothing = !numbers.is_empty();
    let mut doubt = text.contains('?');
    for part in text.split([',', ';', ':', '.', '!', '(', ')', '-', '–', '—']) {
        // An answer to a question that nobody knows.
        doubt |= part.trim() == "no";
        let mut denied = false;
        for word in part.split(|c: char| !c.is_alphabetic()).filter(|word| !word.is_empty()) {
            match word {
                "no" | "without" => denied = true,
                "or" | "nor" | "and" | "longer" | "more" | "any" => {}
                "not" | "still" => (something, denied) = (true, false),
                _ => {
                    let (left, gone) = (LEFT.contains(&word), SEEN.contains(&word) || READ.contains(&word));
                    let counts = by_colour || READ.contains(&word);
                    something |= (left && !denied) || (gone && denied);
                    nothing |= counts && ((gone && !denied) || (left && denied));
                    doubt |= DOUBT.contains(&word);
                    denied &= left || gone;
                }
            }
        }
    }
    Told { something, nothing: nothing && !something && !doubt }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reading_proves_or_denies_or_does_neither() {
        let [nothing, something, neither] =
            [(false, true), (true, false), (false, false)].map(|(something, nothing)| Told { something, nothing });
        for reading in ["0", "strip 0 mg/L", "0.0", "zero", "nil", "strip: none", "no trace, 0"] {
            for by_colour in [true, false] {
                assert_eq!(told(reading, by_colour), nothing, "{reading}");
            }
        }
        // Chlorine and peroxide cannot be seen.
        for reading in [
            "clear",
            "Clear, colourless",
            "no pink or purple",
            "no pink, clear",
            "clear, no pink",
            "no more purple",
            "no trace",
        ] {
            assert_eq!([true, false].map(|by_colour| told(reading, by_colour)), [nothing, neither], "{reading}");
        }
        for reading in [
            "5",
            "0 or 1",
            "0.1",
            "pink",
            "no, pink",
            "no purple, still pink",
            "no pink, purple",
            "not clear",
            "no longer clear",
        ] {
            assert_eq!(told(reading, true), something, "{reading}");
        }
        for reading in
            ["clear?", "0?", "nearly clear", "faint", "hm", "no", "no, clear", "no change", "clear above what settled"]
        {
            assert_eq!(told(reading, true), neither, "{reading}");
        }
    }
}
