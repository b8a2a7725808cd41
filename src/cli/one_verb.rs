//! Reads a command line with the arguments of the verb that it names and no other.
//!
//! To lay out the arguments of every verb takes longer than to read a register. What cannot be read so is read again with all
//! of them: help and what is wrong with a command line are told from the whole.

use std::ffi::OsString;

use clap::error::Error;
use clap::{Args, Command, CommandFactory, FromArgMatches, Parser, Subcommand};

use super::{
    About, Assay, Audit, Backup, Bathe, Card, Check, Classify, Cli, CommandLine, Convert, Correct, Count, Decant, Demo,
    Dips, Discard, DoseArguments, DueArguments, Export, Import, LocalArguments, Measure, Move, New, Note, Open, Place,
    Quench, ReadyFor, Reagents, Receive, Restore, Retire, Sds, Set, Shelf, Show, Take, Verify,
};

/// Adds a verb's arguments to its command.
type Arguments = fn(Command) -> Command;

/// Every verb with its arguments, in the order of [`super::Verb`].
const VERBS: &[(&str, Arguments)] = &[
    ("new", New::augment_args),
    ("set", Set::augment_args),
    ("place", Place::augment_args),
    ("measure", Measure::augment_args),
    ("receive", Receive::augment_args),
    ("open", Open::augment_args),
    ("note", Note::augment_args),
    ("move", Move::augment_args),
    ("decant", Decant::augment_args),
    ("take", Take::augment_args),
    ("count", Count::augment_args),
    ("correct", Correct::augment_args),
    ("retire", Retire::augment_args),
    ("shelf", Shelf::augment_args),
    ("show", Show::augment_args),
    ("sds", Sds::augment_args),
    ("check", Check::augment_args),
    ("assay", Assay::augment_args),
    ("dips", Dips::augment_args),
    ("dose", DoseArguments::augment_args),
    ("ready-for", ReadyFor::augment_args),
    ("quench", Quench::augment_args),
    ("bathe", Bathe::augment_args),
    ("audit", Audit::augment_args),
    ("due", DueArguments::augment_args),
    ("classify", Classify::augment_args),
    ("card", Card::augment_args),
    ("discard", Discard::augment_args),
    ("local", LocalArguments::augment_args),
    ("convert", Convert::augment_args),
    ("reagents", Reagents::augment_args),
    ("verify", Verify::augment_args),
    ("backup", Backup::augment_args),
    ("restore", Restore::augment_args),
    ("export", Export::augment_args),
    ("import", Import::augment_args),
    ("about", About::augment_args),
    ("demo", Demo::augment_args),
];

/// The command line before a verb is given to it.
#[derive(Debug, Subcommand)]
enum NoVerb {}

/// The command line with one verb; nothing for one that is not in the list.
#[must_use]
pub fn with_only(verb: &str) -> Option<Command> {
    let (name, arguments) = VERBS.iter().find(|(name, _)| *name == verb)?;
    Some(CommandLine::<NoVerb>::command().subcommand(arguments(Command::default().name(*name))))
}

/// Reads a command line, the program's own name first.
///
/// The first word that names a verb may stand for something else, as the value of an option. Then either that verb is not met,
/// which is an error, and all of them are tried; or it is met further on, with only options of the whole before it, and those are
/// the same with one verb as with all.
///
/// # Errors
/// Help, or what is wrong with it, as the whole command line tells it.
pub fn parse(words: &[OsString]) -> Result<Cli, Error> {
    let only = words.iter().skip(1).filter_map(|word| word.to_str()).find_map(with_only);
    if let Some(only) = only
        && let Ok(mut found) = only.try_get_matches_from(words)
        && let Ok(cli) = Cli::from_arg_matches_mut(&mut found)
    {
        return Ok(cli);
    }
    Cli::try_parse_from(words)
}
