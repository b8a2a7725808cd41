//! What a lot and a helper may be called in the book of baths.

/// Reads the name of a lot, as it stands on its tray.
///
/// A name of digits alone would be taken for an entry's number.
///
/// # Errors
/// What is wrong with it, and what is accepted.
pub fn lot(text: &str) -> Result<String, String> {
    let name = line(text).ok_or("is no name of a lot; accepted: 1 to 30 characters on one line")?;
    if name.contains(['@', '`', '"']) {
        return Err("is no name of a lot; accepted: no @ and no quotes in it".to_owned());
    }
    if name.chars().all(|c| c.is_ascii_digit()) {
        return Err("would be taken for the number of an entry; accepted: a letter in it, as A1".to_owned());
    }
    Ok(name)
}

/// Reads a role or initials: nobody's address, nobody's number.
///
/// # Errors
/// What is wrong with it, and what is accepted.
pub fn who(text: &str) -> Result<String, String> {
    let name = line(text).ok_or("is no role; accepted: 1 to 30 characters on one line")?;
    if name.contains('@') {
        return Err("looks like an address; accepted: a role or initials, as `helper` or `R`".to_owned());
    }
    if name.chars().filter(char::is_ascii_digit).count() >= 5 {
        return Err("looks like a number to ring; accepted: a role or initials, as `helper` or `R`".to_owned());
    }
    Ok(name)
}

fn line(text: &str) -> Option<String> {
    let text = text.trim();
    let good = (1..=30).contains(&text.chars().count()) && !text.chars().any(char::is_control);
    (good && !text.starts_with('-')).then(|| text.to_owned())
}

/// True if two names are the same lot's: `a1` is `A1`.
#[must_use]
pub fn same(one: &str, other: &str) -> bool {
    one == other || one.to_lowercase() == other.to_lowercase()
}
