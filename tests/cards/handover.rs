//! The `handover` card.
