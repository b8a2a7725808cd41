//! The suppliers' safety data sheets.

use serde::Serialize;

use super::{FORMAT, line};
use crate::commands::sds::{Kept, SheetLine, Sheets};

/// A sheet that was attached, all of them, or one.
pub(super) fn sheets(sheets: &Sheets) -> String {
    match sheets {
        Sheets::Attached(attached) => line(&AttachedData {
            format: FORMAT,
            entered: attached.entered,
            copied: attached.copied,
            sheets: [SheetLineData::of(&attached.line)],
            assumed: &attached.assumed,
        }),
        Sheets::Listed(listed) => line(&ListedData {
            format: FORMAT,
            on: listed.on.to_string(),
            sheets: listed.lines.iter().map(SheetLineData::of).collect(),
        }),
        Sheets::One(kept) => line(&OneData { format: FORMAT, sheet: SheetData::of(kept) }),
    }
}

/// A sheet by itself, as `show` has it.
#[derive(Serialize)]
pub(super) struct SheetData<'a> {
    path: String,
    name: &'a str,
    digest: &'a str,
    revised: Option<String>,
    check: Option<&'static str>,
    /// `there`, `missing`, `changed` or `unreadable`.
    copy: &'static str,
}

impl<'a> SheetData<'a> {
    pub(super) fn of(kept: &'a Kept) -> Self {
        SheetData {
            path: kept.path.display().to_string(),
            name: &kept.name,
            digest: &kept.digest,
            revised: kept.revised.map(|day| day.to_string()),
            check: check(kept),
            copy: kept.copy.word(),
        }
    }
}

#[derive(Serialize)]
struct AttachedData<'a> {
    format: u32,
    entered: bool,
    copied: bool,
    sheets: [SheetLineData<'a>; 1],
    assumed: &'a [String],
}

#[derive(Serialize)]
struct ListedData<'a> {
    format: u32,
    on: String,
    sheets: Vec<SheetLineData<'a>>,
}

#[derive(Serialize)]
struct OneData<'a> {
    format: u32,
    sheet: SheetData<'a>,
}

/// A stock with its sheet; without one `missing` is true and what a sheet has is null.
#[derive(Serialize)]
struct SheetLineData<'a> {
    stock: &'a str,
    reagent: &'a str,
    missing: bool,
    name: Option<&'a str>,
    path: Option<String>,
    digest: Option<&'a str>,
    revised: Option<String>,
    age_months: Option<u32>,
    check: Option<&'static str>,
    copy: Option<&'static str>,
    shared_with: &'a [String],
    may_share_with: Option<&'a str>,
}

impl<'a> SheetLineData<'a> {
    fn of(line: &'a SheetLine) -> Self {
        let sheet = line.kept.as_ref().map(SheetData::of);
        let (name, digest) = line.kept.as_ref().map(|kept| (kept.name.as_str(), kept.digest.as_str())).unzip();
        SheetLineData {
            stock: &line.stock,
            reagent: &line.reagent,
            missing: line.kept.is_none(),
            name,
            digest,
            age_months: line.kept.as_ref().and_then(|kept| kept.age_months),
            check: sheet.as_ref().and_then(|sheet| sheet.check),
            copy: sheet.as_ref().map(|sheet| sheet.copy),
            revised: sheet.as_ref().and_then(|sheet| sheet.revised.clone()),
            path: sheet.map(|sheet| sheet.path),
            shared_with: &line.shared_with,
            may_share_with: line.may_share.as_ref().map(|(code, _)| code.as_str()),
        }
    }
}

fn check(kept: &Kept) -> Option<&'static str> {
    match kept.revised {
        None => Some("revision date not given"),
        Some(_) if kept.old => Some("older than 3 years"),
        Some(_) => None,
    }
}
