//! The `storage` card.
