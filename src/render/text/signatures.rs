//! Who has read which version of a dip.

use comfy_table::Cell;

use crate::commands::signatures::Readers;
use crate::render::Style;
use crate::render::table::{sentence, table};

/// The signatures, and who must read again.
pub(super) fn readers(style: &Style, readers: &Readers) -> String {
    let mut text = readers.said.as_ref().map_or(String::new(), |said| sentence(style, "", said));
    if readers.lines.is_empty() {
        text.push_str(&sentence(style, "", "nobody has signed; enter it: `brimstock dips sign DIP --who ROLE`"));
        return text;
    }
    let rows = readers.lines.iter().map(|line| {
        let signature = &line.signature;
        let then = match line.again {
            true => format!("must read version {}", line.in_force),
            false if signature.version < line.in_force => "has read a later one".to_owned(),
            false => "in force".to_owned(),
        };
        [signature.dip.clone(), signature.who.clone(), signature.version.to_string(), signature.day.to_string(), then]
            .map(Cell::new)
            .to_vec()
    });
    text.push_str(&table(style, &["dip", "who", "version", "read on", "and now"], &[4], rows.collect()));
    text
}
