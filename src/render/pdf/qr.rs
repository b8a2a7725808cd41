//! A square code that a telephone reads, as one path.

use kurbo::{BezPath, Rect, Shape};
use qrcodegen::{QrCode, QrCodeEcc};

use super::{Ink, Mark, Paint};

/// White modules round the code. Source: ISO/IEC 18004 asks for four.
const QUIET: i32 = 4;

/// The code in a square of `side` mm, with its quiet zone; nothing for a text too long for any code.
#[must_use]
pub fn marks(text: &str, side: f64) -> Vec<Mark> {
    let Ok(code) = QrCode::encode_text(text, QrCodeEcc::Medium) else { return Vec::new() };
    let module = side / f64::from(code.size() + 2 * QUIET);
    let at = |index: i32| f64::from(index + QUIET) * module;
    let mut path = BezPath::new();
    for y in 0..code.size() {
        let mut x = 0;
        while x < code.size() {
            let from = x;
            while x < code.size() && code.get_module(x, y) {
                x += 1;
            }
            if x > from {
                path.extend(Rect::new(at(from), at(y), at(x), at(y + 1)).path_elements(0.1));
            }
            x += 1;
        }
    }
    vec![Mark::Path { path, paint: Paint::Fill(Ink::Black) }]
}
