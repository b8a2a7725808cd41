//! The `strength` card.
