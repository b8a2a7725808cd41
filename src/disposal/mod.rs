//! Getting rid of things: ending a used bath, handing over unwanted stock. Every limit is left to the local rules.

pub mod after;
pub mod balance;
pub mod caution;
pub mod hand_over;
pub mod local;
pub mod local_edit;
mod local_read;
pub mod proof;
pub mod quench;
