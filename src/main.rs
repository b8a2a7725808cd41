//! Reads the command line and the clock, runs the verb, prints the answer or the problem, sets the exit code.

#[path = "main/publish.rs"]
mod publish;

use std::fs::File;
use std::io::{self, IsTerminal, Write};
use std::path::PathBuf;
use std::process::ExitCode;

use anstream::{AutoStream, ColorChoice};
use brimstock::catalogue::Catalogue;
use brimstock::cli::{self, Cli};
use brimstock::commands::assay::Answered;
use brimstock::commands::bathe::watch::Watched;
use brimstock::commands::export::Outcome;
use brimstock::commands::import::Imported;
use brimstock::commands::own_dips::Book;
use brimstock::commands::reagents::{Reagents, ReagentsVerb};
use brimstock::commands::sds::{Copied, Sheets};
use brimstock::commands::{Kind, Problem, Session, own_reagents, told};
use brimstock::register::work::Work;
use brimstock::render::{self, Style};
use chrono::{Local, Utc};
use clap::error::ErrorKind;
use etcetera::BaseStrategy;
use publish::{Over, publish};

fn main() -> ExitCode {
    let cli = match cli::parse(&std::env::args_os().collect::<Vec<_>>()) {
        Ok(cli) => cli,
        Err(error) => return usage(&error),
    };
    let json = cli.json;
    // Without them Ctrl-C ends the program at once, and what was begun is taken back later.
    let (work, stopped) = cli::progress::work(cli.plain).unwrap_or_default();
    match answer(cli, work) {
        Ok((text, code, watched)) => {
            let printed = print(&text, code);
            if let Some(watched) = watched {
                cli::watch::watch(&watched, &stopped);
            }
            printed
        }
        Err(problem) => {
            let text = if json { render::problem::json(&problem) } else { render::problem::text(&problem) };
            // Nobody is left to be told if even this cannot be written.
            let _ = io::stderr().write_all(text.as_bytes());
            ExitCode::from(problem.kind.exit_code())
        }
    }
}

/// The answer as it is printed, its exit code, and what is watched once it is printed.
fn answer(cli: Cli, work: Work) -> Result<(String, u8, Option<Watched>), Problem> {
    let clock = Local::now().naive_local();
    let today = clock.date();
    let day = cli.on.unwrap_or(today);
    let path = match cli.register {
        Some(path) => path,
        None => usual_register(cli.verb.makes_a_register())?,
    };
    let mut book = Book::default();
    let catalogue = match cli.verb {
        // A broken file of the keeper's own must not stand in the way of looking it or the register through, or of a copy.
        cli::Verb::Reagents(Reagents { verb: Some(ReagentsVerb::Check(_)), .. })
        | cli::Verb::Verify(_)
        | cli::Verb::Backup(_)
        | cli::Verb::Restore(_) => Catalogue::shipped()?,
        // Nothing of it is there yet.
        _ if cli.verb.makes_a_register() => Catalogue::shipped()?,
        _ if cli.verb.asks_for_dips() => book.catalogue(own_reagents::catalogue(&path)?, &path, day)?,
        _ => own_reagents::catalogue(&path)?,
    };
    let style = style(cli.json, cli.why, cli.plain, catalogue);
    let entered_at = Utc::now().format("%Y-%m-%dT%H:%M:%SZ").to_string();
    let session = Session { catalogue, path, day, entered_at, clock, opened: book.opened, work };
    let mut answer = cli::run(&session, cli.verb)?;
    if let cli::Answer::Export(Outcome::Streamed(file)) = &mut answer {
        // It is the answer, and nothing more is said.
        stream(file)?;
        return Ok((String::new(), answer.exit_code(), None));
    }
    if let cli::Answer::Drawn(drawn) = &mut answer {
        let printed = render::card::print(catalogue, drawn, &session.work)?;
        drawn.pages = printed.pages;
        let over = if drawn.force { Over::Anything } else { Over::Nothing };
        publish(&drawn.out, ".pdf", &printed.bytes, over)?;
        drawn.labels = printed.labels;
    }
    let entered_for = match &answer {
        cli::Answer::Entered(entered) => Some(entered.day),
        cli::Answer::Kept(kept) => Some(kept.day),
        cli::Answer::Assay(Answered::Assayed(assayed)) => Some(assayed.day),
        cli::Answer::Bathed(bathed) => bathed.entered_for(),
        cli::Answer::Imported(Imported::Csv(listed)) => (!listed.dry_run).then_some(listed.day),
        _ => None,
    };
    if let Some(entered_for) = entered_for.filter(|day| *day > today) {
        let note =
            format!("note: entered for {entered_for}, which is after today by this computer's clock ({today})\n");
        let _ = io::stderr().write_all(note.as_bytes());
    }
    if let cli::Answer::Sheets(Sheets::One(kept)) = &answer
        && kept.copy == Copied::Changed
    {
        let note = format!("note: {} has changed since it was attached\n", kept.path.display());
        let _ = io::stderr().write_all(note.as_bytes());
    }
    if let cli::Answer::Checked(checked) = &answer
        && let (Some(path), Some(chart)) = (&checked.svg, &checked.chart)
    {
        let drawing = render::svg::chart(&checked.stock, &checked.name, chart);
        let ours = Over::Only(|there| there.starts_with(b"<svg"), "is there already and is no drawing of ours");
        publish(path, ".svg", drawing.as_bytes(), ours)?;
    }
    if let cli::Answer::Due(due) = &answer
        && let Some(calendar) = &due.calendar
    {
        let ours = Over::Only(render::calendar::is_ours, "is there already and is no calendar of ours");
        publish(&calendar.out, ".ics", render::calendar::calendar(calendar).as_bytes(), ours)?;
    }
    // Text is made of the same numbers: what cannot be told as data is not told at all.
    let data = render::data::answer(&answer, style.why, catalogue)?;
    let text = if style.json { data } else { render::text::answer(&style, &answer) };
    let watched = match &answer {
        cli::Answer::Bathed(bathed) => bathed.watched().cloned(),
        _ => None,
    };
    session.leave_open();
    Ok((text, answer.exit_code(), watched))
}

/// Where the register is when nobody says: in the user's data folder, which is made for a new one.
fn usual_register(make_folder: bool) -> Result<PathBuf, Problem> {
    let cannot = |what: String| Problem {
        hint: Some("name the register's file with --register PATH".to_owned()),
        kind: Kind::Store,
        ..Problem::question(what)
    };
    let base = etcetera::choose_base_strategy().map_err(|error| cannot(format!("no home folder: {error}")))?;
    let folder = base.data_dir().join("brimstock");
    if make_folder {
        std::fs::create_dir_all(&folder)
            .map_err(|error| cannot(format!("{} cannot be made: {}", folder.display(), told(&error))))?;
    }
    Ok(folder.join("register.brimstock"))
}

fn style(json: bool, why: bool, plain: bool, catalogue: &'static Catalogue) -> Style {
    let terminal = io::stdout().is_terminal();
    let colour = !plain && AutoStream::choice(&io::stdout()) != ColorChoice::Never;
    let width = if terminal && !plain { Some(comfy_table::Table::new().width().map_or(80, usize::from)) } else { None };
    Style { json, why, lines: terminal && !plain, colour, width, catalogue }
}

/// What clap has to say: help and version on standard output, a wrong command line on standard error.
fn usage(error: &clap::Error) -> ExitCode {
    let wrong = error.use_stderr();
    if !wrong {
        return print(&error.render().to_string(), 0);
    }
    if std::env::args_os().any(|word| word == "--json") {
        let what = match error.kind() {
            ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand => "what to do is missing".to_owned(),
            _ => above_usage(&error.render().to_string()),
        };
        let problem =
            Problem::question(what).hint("`brimstock help` lists the verbs, `brimstock help VERB` their arguments");
        let _ = io::stderr().write_all(render::problem::json(&problem).as_bytes());
    } else {
        let _ = error.print();
    }
    ExitCode::from(2)
}

/// What clap says above its line of usage, as one line.
fn above_usage(message: &str) -> String {
    let lines = message.lines().take_while(|line| !line.starts_with("Usage:")).map(str::trim);
    lines.filter(|line| !line.is_empty()).collect::<Vec<_>>().join(" ").trim_start_matches("error: ").to_owned()
}

/// Sends what lies in a file to standard output. A pipe that was closed early is no error.
fn stream(file: &mut File) -> Result<(), Problem> {
    let mut out = io::stdout().lock();
    match io::copy(file, &mut out).and_then(|_| out.flush()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => Err(Problem {
            kind: Kind::Store,
            ..Problem::question(format!("the answer cannot be written: {}", told(&error)))
        }),
        _ => Ok(()),
    }
}

/// Prints the answer. A pipe that was closed early is no error; a full disk is.
fn print(text: &str, code: u8) -> ExitCode {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Ok(()) => ExitCode::from(code),
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => ExitCode::from(code),
        Err(error) => {
            let _ = writeln!(io::stderr(), "error: the answer cannot be written: {}", told(&error));
            ExitCode::from(4)
        }
    }
}
