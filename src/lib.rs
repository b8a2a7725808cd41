//! Brimstock keeps the chemical shelf of someone who dips incoming water plants.
//!
//! The modules stand in the order of the house: each may use itself and those above it, and `tests/layers.rs` says so.
//! Down to `dip` nothing prints, reads a clock, an environment or a file: the day is an argument.

pub mod catalogue;
pub mod chem;
pub mod cli;
pub mod commands;
pub mod decay;
pub mod dip;
pub mod disposal;
pub mod hazard;
pub mod register;
pub mod render;
pub mod units;
