//! The suppliers' safety data sheets.

use std::collections::BTreeSet;

use comfy_table::Cell;

use super::{assumed, mark};
use crate::commands::sds::{Attached, Copied, Kept, Listed, SheetLine, Sheets};
use crate::render::Style;
use crate::render::table::{sentence, table};

const NO_DATE: &str = "revision date not given: read it off the first page, `--revised`";

/// A sheet that was attached, all of them, or the path of one.
pub(super) fn sheets(style: &Style, sheets: &Sheets) -> String {
    match sheets {
        Sheets::Attached(attached) => self::attached(style, attached),
        Sheets::Listed(listed) => self::listed(style, listed),
        Sheets::One(kept) => format!("{}\n", kept.path.display()),
    }
}

/// The line of `show`: where its sheet lies. A path is never broken.
pub(super) fn line(style: &Style, code: &str, gone: bool, kept: Option<&Kept>) -> String {
    let Some(kept) = kept else {
        let how = if gone { String::new() } else { format!("; brimstock sds attach {code} FILE") };
        return format!("data sheet: none{how}\n");
    };
    let mut notes = vec![match kept.revised {
        Some(day) => format!("revised {day}"),
        None => "revision date not given".to_owned(),
    }];
    if kept.old {
        notes.push(old(style));
    }
    match kept.copy {
        Copied::There => {}
        Copied::Missing => notes.push("missing: attach it again".to_owned()),
        Copied::Changed => notes.push("changed since it was attached: attach it again".to_owned()),
        Copied::Unreadable => notes.push("cannot be read".to_owned()),
    }
    format!("data sheet: {} ({})\n", kept.path.display(), notes.join("; "))
}

fn attached(style: &Style, attached: &Attached) -> String {
    let SheetLine { stock, kept, shared_with, .. } = &attached.line;
    let Some(kept) = kept else { return String::new() };
    let mut text = if attached.entered {
        let revised = kept.revised.map_or(String::new(), |day| format!(", revised {day}"));
        sentence(style, "", &format!("{stock}: data sheet {} attached{revised}", kept.name))
    } else {
        let rest = if attached.copied { "its copy was put back" } else { "nothing was written" };
        sentence(style, "", &format!("{stock}: this very sheet is attached already, as {}; {rest}", kept.name))
    };
    text.push_str(&format!("copy: {}\n", kept.path.display()));
    text.push_str(&assumed(style, &attached.assumed));
    text.push_str(&checks(style, "", kept));
    if !shared_with.is_empty() {
        text.push_str(&sentence(style, "", &format!("the same file as that of {}", shared_with.join(", "))));
    }
    if !attached.without.is_empty() {
        let (codes, first) = (attached.without.join(", "), &attached.without[0]);
        text.push_str(&sentence(
            style,
            "next: ",
            &format!(
                "the same reagent without a sheet: {codes}; if maker and strength are the same, this one will do: `brimstock sds attach {first} FILE`"
            ),
        ));
    }
    text
}

fn listed(style: &Style, listed: &Listed) -> String {
    if listed.stocks == 0 {
        return sentence(style, "", &format!("nothing stands on the shelf on {}", listed.on));
    }
    if listed.lines.is_empty() {
        return sentence(style, "", &format!("every stock on the shelf on {} has its data sheet", listed.on));
    }
    let what = if listed.missing { "Without a whole data sheet" } else { "Data sheets" };
    let mut text = format!("{what} on {}\n", listed.on);
    let rows = listed.lines.iter().map(|line| row(line).map(Cell::new).to_vec()).collect();
    text.push_str(&table(style, &["code", "reagent", "sheet", "revised", "age"], &[2], rows));
    let mut told = BTreeSet::new();
    for line in &listed.lines {
        let beginning = format!("{}: ", line.stock);
        if let Some(kept) = &line.kept {
            text.push_str(&checks(style, &beginning, kept));
        }
        if !line.shared_with.is_empty() && told.insert(line.kept.as_ref().map(|kept| &kept.digest)) {
            let others = line.shared_with.join(", ");
            text.push_str(&sentence(style, &beginning, &format!("the same file as that of {others}")));
        }
        if let Some((other, path)) = &line.may_share {
            let said =
                format!("{other} holds the same reagent: if maker and strength are the same, its sheet will do:");
            text.push_str(&sentence(style, &beginning, &said));
            text.push_str(&format!("  brimstock sds attach {} \"{}\"\n", line.stock, path.display()));
        }
    }
    if listed.lines.iter().any(|line| line.kept.is_none()) {
        text.push_str(&sentence(
            style,
            "next: ",
            "ask the supplier for the sheet, then `brimstock sds attach CODE FILE --revised YYYY-MM-DD`",
        ));
    }
    text
}

fn row(line: &SheetLine) -> [String; 5] {
    let (code, reagent) = (line.stock.clone(), line.reagent.clone());
    let Some(kept) = &line.kept else {
        return [code, reagent, "none".to_owned(), "-".to_owned(), "-".to_owned()];
    };
    let revised = kept.revised.map_or("not given".to_owned(), |day| day.to_string());
    let age = match kept.age_months {
        None => "-".to_owned(),
        Some(1) => "1 month".to_owned(),
        Some(months @ 0..24) => format!("{months} months"),
        Some(months) => format!("{} years", months / 12),
    };
    [code, reagent, kept.name.clone(), revised, age]
}

/// What is to be seen to about a sheet, one line each.
fn checks(style: &Style, beginning: &str, kept: &Kept) -> String {
    let mut text = String::new();
    if kept.revised.is_none() {
        text.push_str(&sentence(style, beginning, NO_DATE));
    }
    if kept.old {
        text.push_str(&sentence(style, beginning, &format!("{}; ask the supplier for a newer one", old(style))));
    }
    let path = kept.path.display();
    match kept.copy {
        Copied::There => {}
        Copied::Missing => text.push_str(&format!("{beginning}missing: {path}; attach the sheet again\n")),
        Copied::Changed => {
            text.push_str(&format!("{beginning}changed since it was attached: {path}; attach the sheet again\n"));
        }
        Copied::Unreadable => text.push_str(&format!("{beginning}cannot be read: {path}\n")),
    }
    text
}

fn old(style: &Style) -> String {
    format!("check: older than 3 years{}", mark(style, "judgement"))
}
