//! `new` and `set`: a register, and what it is told once.

use clap::{Args, Subcommand};

use super::{Problem, Session};
use crate::register::Register;
use crate::units::measure::Kitchen;
use crate::units::{parse, show};

/// Make a new register
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock --register shelf.brimstock new --kitchen us")]
pub struct New {
    /// Which kitchen a bare `cup` or `gal` comes from: us, imperial, metric or australian
    #[arg(long, value_parser = kitchen)]
    pub kitchen: Option<Kitchen>,
}

/// Tell the register something once
#[derive(Debug, Args)]
pub struct Set {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Which kitchen a bare `cup` or `gal` comes from
    #[command(after_help = "Example: brimstock set kitchen imperial")]
    Kitchen {
        /// us, imperial, metric or australian
        #[arg(value_parser = kitchen)]
        kitchen: Kitchen,
    },
    /// From which chance on a dip counts as ready
    #[command(after_help = "Example: brimstock set threshold 95%")]
    Threshold {
        /// A chance between 50 and 99 %
        chance: String,
    },
}

fn kitchen(word: &str) -> Result<Kitchen, String> {
    Kitchen::called(&word.to_lowercase()).ok_or_else(|| {
        let words: Vec<&str> = Kitchen::ALL.iter().map(|(_, word)| *word).collect();
        format!("`{word}` is no kitchen; accepted: {}", words.join(", "))
    })
}

/// What was done, in one sentence, and what to type next.
#[derive(Debug, Clone, PartialEq)]
pub struct Done {
    /// What was done.
    pub said: String,
    /// What to type next.
    pub next: Option<String>,
}

/// Makes the register.
///
/// # Errors
/// For a file that is there already, and what the system says.
pub fn new(session: &Session, arguments: &New) -> Result<Done, Problem> {
    Register::create(&session.path, |writing| match arguments.kitchen {
        Some(kitchen) => writing.set("kitchen", kitchen.word(), &session.entered_at),
        None => Ok(()),
    })?;
    Ok(Done {
        said: format!("new register at {}", session.path.display()),
        next: Some("enter a place: `brimstock place add cupboard --temp 19 --light dark`".to_owned()),
    })
}

/// Enters a setting.
///
/// # Errors
/// For a chance that is none.
pub fn set(session: &Session, arguments: &Set) -> Result<Done, Problem> {
    let (name, value, said) = match &arguments.what {
        What::Kitchen { kitchen } => {
            let word = kitchen.word();
            ("kitchen", word.to_owned(), format!("a bare spoon, cup or gallon is {word} from now on"))
        }
        What::Threshold { chance } => {
            let value =
                parse::relative_sd(chance).ok().filter(|value| (0.5..=0.99).contains(value)).ok_or_else(|| {
                    Problem::question(format!("`{chance}` is no threshold")).hint("accepted: a chance from 50% to 99%")
                })?;
            (
                "threshold",
                value.to_string(),
                format!("a dip counts as ready from a chance of {} on", show::chance(value)),
            )
        }
    };
    session.register()?.write(|writing| writing.set(name, &value, &session.entered_at))?;
    Ok(Done { said, next: None })
}
