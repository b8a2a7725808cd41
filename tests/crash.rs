//! Nothing is lost when commands meet or are killed, when the disk is full, or when it fails.
//!
//! What a command promised by printing its success is there afterwards; of any other there is all or nothing.

#[cfg(target_os = "linux")]
mod disk;
#[cfg(target_os = "linux")]
mod drawn;
#[cfg(target_os = "linux")]
mod faults;
mod look;
mod many;
#[cfg(target_os = "linux")]
mod storm;
