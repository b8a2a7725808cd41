//! What is wrong with a register.

use crate::commands::verify::Verified;
use crate::render::Style;
use crate::render::table::sentence;

/// Every fault, or that none was found.
pub(super) fn verified(style: &Style, verified: &Verified) -> String {
    let file = verified.file.display();
    if verified.faults.is_empty() {
        return format!("{file}: nothing wrong in {} stocks and {} journal lines\n", verified.stocks, verified.lines);
    }
    let mut text = format!("{file}:\n");
    for fault in &verified.faults {
        text.push_str(&sentence(style, "  - ", fault));
    }
    text.push_str("next: keep the file as it is, and put back a copy: `brimstock restore FILE`\n");
    text
}
