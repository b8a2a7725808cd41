//! The `bench` card.
