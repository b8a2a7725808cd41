//! The `shelf` card.
