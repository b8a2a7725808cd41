//! A square code that a telephone reads.

use std::cell::RefCell;
use std::sync::Arc;

use kurbo::Rect;
use qrcodegen::{QrCode, QrCodeEcc};

use super::Mark;

/// White modules round the code. Source: ISO/IEC 18004 asks for four.
const QUIET: i32 = 4;

thread_local! {
    /// The code made last: a label is set at many sizes with the same one.
    static LAST: RefCell<Option<(String, Arc<Code>)>> = const { RefCell::new(None) };
}

/// A code without its size on paper.
#[derive(Debug, PartialEq)]
pub struct Code {
    /// Modules on a side, the quiet zone counted.
    side: i32,
    /// Black modules beside each other: the first of them, its row, and how many.
    runs: Vec<(i32, i32, i32)>,
}

impl Code {
    /// What is black in a square of `side` mm, from its upper left corner.
    pub fn black(&self, side: f64) -> impl Iterator<Item = Rect> {
        let module = side / f64::from(self.side);
        let at = move |index: i32| f64::from(index) * module;
        self.runs.iter().map(move |(x, y, many)| Rect::new(at(*x), at(*y), at(x + many), at(y + 1)))
    }
}

/// The code in a square of `side` mm, with its quiet zone; nothing for a text too long for any code.
#[must_use]
pub fn marks(text: &str, side: f64) -> Vec<Mark> {
    code(text).map(|code| Mark::Code { code, x: 0.0, y: 0.0, side }).into_iter().collect()
}

fn code(text: &str) -> Option<Arc<Code>> {
    LAST.with_borrow_mut(|last| {
        if let Some((_, code)) = last.as_ref().filter(|(said, _)| said == text) {
            return Some(Arc::clone(code));
        }
        let code = Arc::new(encoded(text)?);
        *last = Some((text.to_owned(), Arc::clone(&code)));
        Some(code)
    })
}

fn encoded(text: &str) -> Option<Code> {
    let code = QrCode::encode_text(text, QrCodeEcc::Medium).ok()?;
    let mut runs = Vec::new();
    for y in 0..code.size() {
        let mut x = 0;
        while x < code.size() {
            let from = x;
            while x < code.size() && code.get_module(x, y) {
                x += 1;
            }
            if x > from {
                runs.push((from + QUIET, y + QUIET, x - from));
            }
            x += 1;
        }
    }
    Some(Code { side: code.size() + 2 * QUIET, runs })
}
