//! Counts a running load down in the terminal: the only loop of the program that waits for a clock.

use std::io::{self, BufRead, IsTerminal, Write};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{self, Receiver, RecvTimeoutError};
use std::thread;
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use crate::commands::bathe::watch::Watched;
use crate::dip::log::countdown::face;

/// Counts down, rings, counts what is over, until Enter or Ctrl-C. Into a pipe goes one line a minute, and it ends with the
/// longest time. Nothing depends on it: the start is in the book.
pub fn watch(watched: &Watched, stopped: &AtomicBool) {
    let began = Instant::now();
    let seconds = || watched.seconds() + i64::try_from(began.elapsed().as_secs()).unwrap_or(i64::MAX);
    let is_terminal = io::stderr().is_terminal();
    let enter = if io::stdin().is_terminal() { Some(pressed()) } else { None };
    let target = if is_terminal { ProgressDrawTarget::stderr() } else { ProgressDrawTarget::hidden() };
    let bar = ProgressBar::with_draw_target(Some(u64::try_from(watched.span.low).unwrap_or(0)), target);
    if let Ok(style) = ProgressStyle::with_template("{prefix} [{bar:30}] {msg}") {
        bar.set_style(style.progress_chars("=> "));
    }
    bar.set_prefix(format!("{} in {}", watched.lot, watched.dip));
    let (mut rung, mut told) = (false, None);
    loop {
        let now = seconds();
        let face = face(watched.span, now);
        bar.set_position(u64::try_from(face.passed).unwrap_or(0));
        bar.set_message(face.words.clone());
        let rings = face.out && !rung;
        if rings {
            rung = true;
            // Nobody is left to hear it if even this cannot be written.
            let _ = io::stderr().write_all(b"\x07");
        }
        if !is_terminal && (rings || told != Some(now / 60)) {
            told = Some(now / 60);
            let _ = writeln!(io::stderr(), "{} in {}: {}", watched.lot, watched.dip, face.words);
        }
        if !is_terminal && now >= watched.span.high {
            break;
        }
        if waited(enter.as_ref()) || stopped.load(Ordering::Relaxed) {
            break;
        }
    }
    bar.abandon();
    if is_terminal {
        let _ = writeln!(io::stderr(), "next: `brimstock bathe stop \"{}\"`", watched.lot);
    }
}

/// Waits a second, or until Enter.
fn waited(enter: Option<&Receiver<()>>) -> bool {
    let second = Duration::from_millis(250);
    match enter.map(|enter| enter.recv_timeout(second)) {
        Some(Ok(())) => true,
        Some(Err(RecvTimeoutError::Timeout)) => false,
        Some(Err(RecvTimeoutError::Disconnected)) | None => {
            thread::sleep(second);
            false
        }
    }
}

/// Says when Enter was pressed.
fn pressed() -> Receiver<()> {
    let (send, receive) = mpsc::channel();
    thread::spawn(move || {
        let mut line = String::new();
        if io::stdin().lock().read_line(&mut line).is_ok_and(|read| read > 0) {
            let _ = send.send(());
        }
    });
    receive
}
