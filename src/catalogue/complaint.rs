//! What the readers of TOML complain of, in words of whoever wrote the file; theirs stand in brackets behind.

/// A text that is no TOML: what is accepted on a line.
#[must_use]
pub fn of_syntax(message: &str) -> String {
    let message = message.trim().replace('\n', " ");
    if message.contains("duplicate key") {
        return format!("a key stands there twice; accepted: each once ({message})");
    }
    format!(
        "is no TOML from here on; accepted: `key = value`, `[table]` and `[[row]]`, each on its own line, text in double quotes \
         ({message})"
    )
}

/// A value of another shape than its key wants: what is wanted. What says so in our own words already is left as it is.
#[must_use]
pub fn of_shape(complaint: &str) -> String {
    if complaint.starts_with("unknown variant") {
        let mut words = complaint.split('`').skip(1).step_by(2);
        let word = words.next().unwrap_or_default();
        return format!("`{word}` is not known; accepted: {}", words.collect::<Vec<_>>().join(", "));
    }
    let is_the_readers =
        ["invalid type: ", "invalid value: ", "invalid length "].iter().any(|begun| complaint.starts_with(begun));
    match complaint.rsplit_once("expected ").filter(|_| is_the_readers) {
        Some((_, expected)) => format!("accepted: {} ({complaint})", wanted(expected)),
        None => complaint.to_owned(),
    }
}

/// What a reader wants, as the keeper would write it.
fn wanted(expected: &str) -> &str {
    let has = |words: &[&str]| words.iter().any(|word| expected.contains(word));
    match expected {
        _ if has(&["array", "sequence", "tuple"]) => "a list in square brackets",
        _ if has(&["string"]) => "text in double quotes",
        _ if has(&["bool"]) => "true or false",
        _ if has(&["struct", "map", "table", "enum"]) => "a table of keys and values",
        _ if has(&["f32", "f64", "float"]) => "a number",
        _ if has(&["u8", "u16", "u32", "u64", "usize", "i32", "i64", "integer"]) => "a whole number",
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_readers_words_stand_in_brackets_behind_ours() {
        for (text, says) in
            [("key = \"open", "is no TOML"), ("key 1", "is no TOML"), ("a = 1\na = 2", "stands there twice")]
        {
            let error = toml::from_str::<toml::Table>(text).map(|_| ()).unwrap_err();
            let told = of_syntax(error.message());
            let bracket = format!("({})", error.message().trim().replace('\n', " "));
            assert!(told.contains(says) && told.ends_with(&bracket), "{text}: {told}");
        }
        for (complaint, told) in [
            ("unknown variant `x`, expected `a` or `b`", "`x` is not known; accepted: a, b"),
            (
                "invalid type: string \"x\", expected f64",
                "accepted: a number (invalid type: string \"x\", expected f64)",
            ),
            (
                "invalid length 1, expected an array of length 2",
                "accepted: a list in square brackets (invalid length 1, expected an array of length 2)",
            ),
            ("`2031-13-01` is no day; expected YYYY-MM-DD", "`2031-13-01` is no day; expected YYYY-MM-DD"),
        ] {
            assert_eq!(of_shape(complaint), told);
        }
    }
}
