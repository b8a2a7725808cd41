//! The `spill` card.
