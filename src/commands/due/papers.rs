//! Dips to be signed again, answers of the local rules to be asked for again, and data sheets grown old.

use std::collections::BTreeMap;

use super::rank::{Kind, Matter};
use crate::commands::layout::Layout;
use crate::commands::{Problem, Session, local, local_check, sds, signatures};
use crate::disposal::local::Asked;
use crate::hazard::storage::Severity;
use crate::register::Writing;

/// Everything that is only paper.
///
/// # Errors
/// If the register cannot be read.
pub(super) fn matters(session: &Session, reading: &Writing<'_>, layout: &Layout<'_>) -> Result<Vec<Matter>, Problem> {
    let mut found = sheets(reading, layout)?;
    found.extend(unsigned(session, reading)?);
    found.extend(rules(session));
    Ok(found)
}

/// Who has signed a dip that was changed since, one matter a dip.
fn unsigned(session: &Session, reading: &Writing<'_>) -> Result<Vec<Matter>, Problem> {
    let mut found: BTreeMap<String, Matter> = BTreeMap::new();
    for (who, dip, in_force) in signatures::to_sign_again(session, reading)? {
        let matter = found.entry(dip.clone()).or_insert_with(|| Matter {
            kind: Kind::Unsigned,
            severity: Severity::Minor,
            about: Vec::new(),
            what: format!("read version {in_force} of `{dip}` and sign it"),
            day: None,
            next: format!("brimstock dips signed {dip}"),
            key: format!("sign {dip}"),
        });
        matter.about.push(who);
    }
    Ok(found.into_values().collect())
}

/// The answers that grow too old, all in one matter: they are asked for on one walk.
fn rules(session: &Session) -> Option<Matter> {
    let matter = |what: String, next: &str| Matter {
        kind: Kind::AskAgain,
        severity: Severity::Minor,
        about: Vec::new(),
        what,
        day: None,
        next: next.to_owned(),
        key: "local rules".to_owned(),
    };
    let local = match local::of(session) {
        Ok(local) => local,
        // A slip in the local rules is no reason to say nothing of the rest.
        Err(_) => return Some(matter("the local rules cannot be read".to_owned(), "brimstock local")),
    };
    let rows = local_check::rows(&local);
    // An answer of a day still to come is wrong now.
    let day = |asked: &Asked| Some(asked.holds_to()).filter(|_| asked.on <= session.day);
    let (row, asked) = rows.iter().min_by_key(|(_, asked)| day(asked))?;
    let what = format!("ask again for the answer in {row}");
    Some(Matter { day: day(asked), ..matter(what, "brimstock local check") })
}

/// Data sheets grown old, one matter a file.
fn sheets(reading: &Writing<'_>, layout: &Layout<'_>) -> Result<Vec<Matter>, Problem> {
    let mut found: BTreeMap<String, Matter> = BTreeMap::new();
    for sheet in reading.sheets()? {
        let Some(revised) = sheet.revised else { continue };
        let Some(stock) = layout.stocks.iter().find(|stock| stock.id == sheet.stock) else { continue };
        let matter = found.entry(sheet.digest.clone()).or_insert_with(|| Matter {
            kind: Kind::Sheet,
            severity: Severity::Minor,
            about: Vec::new(),
            what: format!("data sheet of {revised}: ask for a newer one"),
            day: sds::old_after(revised),
            next: "brimstock sds list".to_owned(),
            key: sheet.digest.clone(),
        });
        matter.about.push(stock.code.clone());
    }
    Ok(found.into_values().collect())
}
