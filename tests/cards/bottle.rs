//! The `bottle` card.
