//! `demo`: plays the fictional bench of `demo/` into a throw-away register and asks it the main questions.

use std::fs;
use std::path::{Path, PathBuf};

use chrono::{NaiveDate, NaiveTime};
use clap::{Args, Parser};

use super::{Answer, Cli, run as run_verb};
use crate::commands::arguments::words;
use crate::commands::own_dips::Book;
use crate::commands::{Kind, Problem, Session, told};

/// What happened at the bench, one command a line.
const BENCH: &str = include_str!("../../demo/bench.txt");

/// What is asked of it, one command a line with a comment before it.
const QUESTIONS: &str = include_str!("../../demo/questions.txt");

/// What is asked once the local rules are known.
const QUESTIONS_WITH_RULES: &str = include_str!("../../demo/questions-with-rules.txt");

/// The local rules of the bench.
const LOCAL: &str = include_str!("../../demo/local.toml");

/// Play a fictional bench into a throw-away register and ask it the main questions
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  brimstock demo\n  brimstock demo --keep practice.brimstock")]
pub struct Demo {
    /// Keep the register here, to practise on
    #[arg(long, value_name = "PATH")]
    pub keep: Option<PathBuf>,
}

/// The questions with their answers.
#[derive(Debug)]
pub struct Played {
    /// Each question.
    pub scenes: Vec<Scene>,
    /// Where the register was kept, if it was.
    pub kept: Option<PathBuf>,
    /// What to type next.
    pub next: String,
}

/// One question of the demo.
#[derive(Debug)]
pub struct Scene {
    /// Why it is asked.
    pub heading: String,
    /// The command, as one would type it.
    pub command: String,
    /// The answer.
    pub answer: Answer,
}

/// Plays the demo.
///
/// # Errors
/// If the register cannot be written; never for a line of the scripts, which a test plays.
pub fn run(session: &Session, arguments: &Demo) -> Result<Played, Problem> {
    let failed = |error: std::io::Error| Problem {
        kind: Kind::Store,
        ..Problem::question(format!("no demo: {}", told(&error)))
    };
    let folder = tempfile::tempdir().map_err(failed)?;
    let path = arguments.keep.clone().unwrap_or_else(|| folder.path().join("demo.brimstock"));
    let mut book = Book::default();
    for (_, line) in lines(BENCH) {
        play(session, &mut book, &path, &line)?;
    }
    let mut scenes = Vec::new();
    let mut last_day = session.day;
    let mut ask = |path: &Path, questions: &str| {
        for (heading, line) in lines(questions) {
            let (day, answer) = play(session, &mut book, path, &line)?;
            last_day = day;
            scenes.push(Scene { heading, command: format!("brimstock {line}"), answer });
        }
        Ok::<(), Problem>(())
    };
    ask(&path, QUESTIONS)?;
    // The rules lie beside a copy of the register, so that nothing of the keeper's own is written over.
    let ruled = folder.path().join("with-rules");
    fs::create_dir(&ruled).map_err(failed)?;
    fs::copy(&path, ruled.join("demo.brimstock")).map_err(failed)?;
    fs::write(ruled.join("local.toml"), LOCAL).map_err(failed)?;
    ask(&ruled.join("demo.brimstock"), QUESTIONS_WITH_RULES)?;
    let next = match &arguments.keep {
        Some(path) => format!("brimstock --register {} --on {last_day} dose alum-soak --bath 40L", path.display()),
        None => "brimstock demo --keep practice.brimstock".to_owned(),
    };
    Ok(Played { scenes, kept: arguments.keep.clone(), next })
}

/// The commands of a script, each with the comment lines before it.
fn lines(script: &str) -> Vec<(String, String)> {
    let mut lines = Vec::new();
    let mut heading = Vec::new();
    for line in script.lines().map(str::trim) {
        if let Some(comment) = line.strip_prefix('#') {
            heading.push(comment.trim());
        } else if line.is_empty() {
            heading.clear();
        } else {
            lines.push((heading.join(" "), line.to_owned()));
            heading.clear();
        }
    }
    lines
}

fn play(session: &Session, book: &mut Book, path: &Path, line: &str) -> Result<(NaiveDate, Answer), Problem> {
    let words = std::iter::once("brimstock".to_owned()).chain(words(line));
    let cli = Cli::try_parse_from(words).map_err(|error| Problem::data(format!("demo line `{line}`: {error}")))?;
    let day = cli.on.unwrap_or(session.day);
    // Entered at noon of its own day, so that two demos are alike.
    let noon = NaiveTime::from_hms_opt(12, 0, 0).unwrap_or_default();
    // A line sees the dips that the lines before it have entered.
    let catalogue = book.catalogue(session.catalogue, path, day)?;
    let session = Session {
        catalogue,
        path: path.to_owned(),
        day,
        entered_at: format!("{day}T12:00:00Z"),
        clock: day.and_time(noon),
        opened: std::mem::take(&mut book.opened),
        work: session.work.clone(),
    };
    Ok((day, run_verb(&session, cli.verb)?))
}
