//! How far long work has come, as a bar in the terminal, and the keys that end it.

use std::io::{self, IsTerminal};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use crate::register::work::{Watcher, Work};

/// Work that is shorter than this shows no bar.
const PATIENCE: Duration = Duration::from_millis(500);

/// Long work with a bar on a terminal, none in a pipe or with `plain`. The first Ctrl-C ends it at the next stock, with nothing
/// half written; the second ends the program at once, and what was begun is taken back when the register is next opened.
///
/// # Errors
/// What the system says if it does not let itself be asked for signals.
pub fn work(plain: bool) -> io::Result<(Work, Arc<AtomicBool>)> {
    let stopped = Arc::new(AtomicBool::new(false));
    #[cfg(unix)]
    for signal in [signal_hook::consts::SIGINT, signal_hook::consts::SIGTERM] {
        signal_hook::flag::register_conditional_shutdown(signal, INTERRUPTED, Arc::clone(&stopped))?;
        signal_hook::flag::register(signal, Arc::clone(&stopped))?;
    }
    let shows = io::stderr().is_terminal() && !plain;
    let bar = Bar { shows, stopped: Arc::clone(&stopped), shown: Mutex::default() };
    Ok((Work::watched(Arc::new(bar)), stopped))
}

/// The exit code of a program that was interrupted, as shells have it: 128 and the number of the signal.
#[cfg(unix)]
const INTERRUPTED: i32 = 130;

#[derive(Debug)]
struct Bar {
    shows: bool,
    stopped: Arc<AtomicBool>,
    shown: Mutex<Option<Shown>>,
}

#[derive(Debug)]
struct Shown {
    bar: ProgressBar,
    began: Instant,
}

impl Watcher for Bar {
    fn begun(&self, what: &'static str, all: usize) {
        if !self.shows {
            return;
        }
        let (length, template) = match all {
            0 => (None, "{msg} {spinner} {elapsed}"),
            all => (u64::try_from(all).ok(), "{msg} [{bar:30}] {pos} of {len}, {eta} left"),
        };
        let bar = ProgressBar::with_draw_target(length, ProgressDrawTarget::hidden()).with_message(what);
        if let Ok(style) = ProgressStyle::with_template(template) {
            bar.set_style(style.progress_chars("=> "));
        }
        if all == 0 {
            // Nobody counts: it is shown at once, and turns by itself.
            bar.set_draw_target(ProgressDrawTarget::stderr());
            bar.enable_steady_tick(PATIENCE / 2);
        }
        *self.shown.lock().unwrap_or_else(PoisonError::into_inner) = Some(Shown { bar, began: Instant::now() });
    }

    fn came(&self, done: usize) {
        if !self.shows {
            return;
        }
        if let Some(shown) = &*self.shown.lock().unwrap_or_else(PoisonError::into_inner) {
            if shown.bar.is_hidden() && shown.began.elapsed() > PATIENCE {
                shown.bar.set_draw_target(ProgressDrawTarget::stderr());
            }
            shown.bar.set_position(u64::try_from(done).unwrap_or(0));
        }
    }

    fn ended(&self) {
        if let Some(shown) = self.shown.lock().unwrap_or_else(PoisonError::into_inner).take() {
            shown.bar.finish_and_clear();
        }
    }

    fn is_stopped(&self) -> bool {
        self.stopped.load(Ordering::Relaxed)
    }
}
