//! What a comma and a point within figures mean, where the keeper says so: never guessed from a list.

/// The sign between whole numbers and their parts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Decimal {
    /// 1,5 is one and a half, 1.234,5 is 1234.5
    Comma,
    /// 1.5 is one and a half, 1,234.5 is 1234.5
    Point,
}

impl Decimal {
    /// A cell with points before the parts of its numbers and nothing between their thousands: `1.234,5 g` becomes `1234.5 g`
    /// where the comma is the decimal sign.
    ///
    /// # Errors
    /// For figures that cannot be so written, in words: `1,5,2`, or a sign of thousands that three figures do not follow.
    pub fn in_points(self, cell: &str) -> Result<String, String> {
        let mut text = String::with_capacity(cell.len());
        let mut rest = cell;
        while let Some(start) = rest.find(|c: char| c.is_ascii_digit()) {
            // A sign before the first figure belongs to it: `,5` is a half.
            let start = start - usize::from(rest[..start].ends_with(['.', ',']));
            let end = rest[start..].find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',')));
            let whole = &rest[start..end.map_or(rest.len(), |end| start + end)];
            // One that ends them is of the sentence.
            let figures = whole.trim_end_matches(['.', ',']);
            text.push_str(&rest[..start]);
            text.push_str(&self.number(figures)?);
            rest = &rest[start + figures.len()..];
        }
        text.push_str(rest);
        Ok(text)
    }

    fn number(self, figures: &str) -> Result<String, String> {
        let (decimal, thousands) = match self {
            Decimal::Comma => (',', '.'),
            Decimal::Point => ('.', ','),
        };
        let (whole, parts) = figures.split_once(decimal).map_or((figures, None), |(whole, parts)| (whole, Some(parts)));
        let mut groups = whole.split(thousands);
        let first = groups.next().unwrap_or_default();
        let mut joined = first.to_owned();
        for group in groups {
            if !(1..=3).contains(&first.len()) || first.starts_with('0') || group.len() != 3 {
                return Err(format!(
                    "`{figures}`: between thousands stands a `{thousands}`, and three figures behind it"
                ));
            }
            joined.push_str(group);
        }
        match parts {
            Some(parts) if !parts.bytes().all(|byte| byte.is_ascii_digit()) => {
                Err(format!("`{figures}`: behind the decimal `{decimal}` stand figures alone"))
            }
            Some(parts) => Ok(format!("{joined}.{parts}")),
            None => Ok(joined),
        }
    }

    /// True if figures of a cell hold a comma, so that it must be said what it means.
    #[must_use]
    pub fn is_asked(cell: &str) -> bool {
        cell.as_bytes()
            .windows(3)
            .any(|three| three[0].is_ascii_digit() && three[1] == b',' && three[2].is_ascii_digit())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_ways_of_writing_a_number() {
        for (cell, comma, point) in [
            ("1.234,5 g", Some("1234.5 g"), None),
            ("1,234.5 g", None, Some("1234.5 g")),
            ("2,5 kg", Some("2.5 kg"), None),
            ("2.5 kg", None, Some("2.5 kg")),
            ("1.000", Some("1000"), Some("1.000")),
            ("1,000", Some("1.000"), Some("1000")),
            ("12.345.678", Some("12345678"), None),
            ("0.500 kg", None, Some("0.500 kg")),
            ("1234.500", None, Some("1234.500")),
            (",5 %", Some(".5 %"), None),
            ("1:3 of 3,5 % w/v", Some("1:3 of 3.5 % w/v"), None),
            ("3 % w/v, 500 mL.", Some("3 % w/v, 500 mL."), Some("3 % w/v, 500 mL.")),
            ("1,5,2", None, None),
            ("1.5.2", None, None),
            ("½ L", Some("½ L"), Some("½ L")),
            ("1/2 L", Some("1/2 L"), Some("1/2 L")),
            ("", Some(""), Some("")),
        ] {
            assert_eq!(Decimal::Comma.in_points(cell).ok().as_deref(), comma, "comma: {cell}");
            assert_eq!(Decimal::Point.in_points(cell).ok().as_deref(), point, "point: {cell}");
        }
    }

    #[test]
    fn a_comma_within_figures_is_seen() {
        assert!(Decimal::is_asked("2,5 g") && Decimal::is_asked("1.234,5"));
        assert!(!Decimal::is_asked("3 %, 500 mL") && !Decimal::is_asked("2.5") && !Decimal::is_asked(""));
    }
}
