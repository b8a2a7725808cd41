//! A command line that is read with one verb says what it says when it is read with all of them.

use std::ffi::OsString;

use brimstock::cli::{Cli, one_verb};
use clap::{CommandFactory, Parser};

use crate::harness::Bench;

/// What was read, or what is wrong with it.
fn told(read: Result<Cli, clap::Error>) -> String {
    read.map_or_else(|error| error.render().to_string(), |cli| format!("{cli:?}"))
}

#[test]
fn every_verb_has_its_own_arguments() {
    let whole = Cli::command();
    let verbs: Vec<&str> = whole.get_subcommands().map(clap::Command::get_name).collect();
    assert!(verbs.len() > 30, "{verbs:?}");
    for verb in verbs {
        // A shell asks for its script once in its life.
        let Some(only) = one_verb::with_only(verb) else {
            assert_eq!(verb, "completions", "not in the list");
            continue;
        };
        let help = |command: clap::Command| {
            let help = command.try_get_matches_from(["brimstock", verb, "--help"]).expect_err("help");
            help.render().to_string()
        };
        assert_eq!(help(only), help(Cli::command()), "{verb}");
    }
    assert!(one_verb::with_only("no-such-verb").is_none());
}

#[test]
fn one_verb_or_all_it_reads_the_same() {
    for line in [
        "check S03",
        "--on 2031-03-15 check S03 --json",
        "check S03 --on 2031-03-15 --where --bath 16L",
        // A verb's name where something else is asked for.
        "--register shelf check S03",
        "--register check check S03",
        "check check",
        "check --dip dose S03",
        "--register=dose --plain shelf",
        "move S03 take",
        "dips show peroxide-weak --version 1",
        "dose peroxide-weak --bath 10L",
        "ready-for --help",
        "completions bash",
        // Nothing that can be done.
        "",
        "check",
        "--register check",
        "check S03 S04",
        "check S03 --no-such-option",
        "--json check --on never S03",
        "chekc S03",
        "shelf check S03 --dip",
        "-- check S03",
        "help check",
        "help",
        "check --help",
        "check help",
        "--help check",
        "--version check",
        "completions check",
    ] {
        let words: Vec<OsString> =
            ["brimstock"].into_iter().chain(line.split_whitespace()).map(OsString::from).collect();
        assert_eq!(told(one_verb::parse(&words)), told(Cli::try_parse_from(&words)), "`{line}`");
    }
}

#[test]
fn the_usage_of_a_test_names_its_stock_and_all_that_it_wants() {
    let mut whole = Cli::command();
    let assay = whole.find_subcommand_mut("assay").expect("a verb");
    let tests: Vec<clap::Command> = assay.get_subcommands().filter(|test| test.get_name() != "plan").cloned().collect();
    assert_eq!(tests.len(), 7);
    for mut test in tests {
        let name = test.get_name().to_owned();
        let usage = test.render_usage().to_string();
        assert!(usage.starts_with(&format!("Usage: brimstock assay <STOCK> {name} [OPTIONS] ")), "{usage}");
        let wanted = test.get_arguments().filter(|argument| argument.is_required_set());
        let named: Vec<String> = wanted.map(ToString::to_string).collect();
        assert!(!named.is_empty() && named.iter().all(|argument| usage.contains(argument)), "{named:?}: {usage}");
        assert_eq!(usage.matches('<').count(), 1 + named.len(), "{named:?}: {usage}");
    }
}

#[test]
fn a_program_that_asks_is_told_all_that_is_wrong() {
    let bench = Bench::bare();
    for (line, wrong) in [
        ("--json check", "the following required arguments were not provided: <STOCK>"),
        ("--json set", "'brimstock set' requires a subcommand but one was not provided [subcommands: kitchen, "),
        ("--json chekc S03", "unrecognized subcommand 'chekc' tip: "),
    ] {
        let ran = bench.run(&line.split(' ').collect::<Vec<_>>());
        let told: serde_json::Value = serde_json::from_str(&ran.stderr).unwrap();
        let what = told["error"]["what"].as_str().unwrap_or_default();
        assert!(ran.code == 2 && what.starts_with(wrong), "{line}: {ran:?}");
    }
}

#[cfg(unix)]
#[test]
fn words_that_are_no_text_are_refused() {
    use std::os::unix::ffi::OsStrExt;
    let bench = Bench::bare();
    for words in [[&b"check"[..], b"S\xff"], [b"\xff", b"--json"], [b"--on", b"\xff"]] {
        let ran = bench.command().args(words.map(std::ffi::OsStr::from_bytes)).output().unwrap();
        assert_eq!(ran.status.code(), Some(2), "{ran:?}");
    }
}
