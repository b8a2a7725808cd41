//! What is wrong with a register.

use crate::commands::verify::Verified;
use crate::render::Style;
use crate::render::table::sentence;

/// What to do with a damaged register.
const NEXT: &str = "keep the file as it is, and put back a copy: `brimstock restore COPY`; what is still sound comes out with `brimstock export csv FOLDER --sound-only`";

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
    if verified.of_reagents > 0 {
        text.push_str(&sentence(
            style,
            "next: ",
            "`brimstock reagents check FILE` tells what a reagent's file accepts",
        ));
    }
    if verified.faults.len() > verified.of_reagents {
        text.push_str(&sentence(style, "next: ", NEXT));
    }
    text
}
