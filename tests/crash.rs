//! Nothing is lost when commands meet or are killed, when the disk is full, or when it fails.
//!
//! What a command promised by printing its success is there afterwards; of any other there is all or nothing.

//D #[cfg(target_os = "linux")]
//D mod disk;
//D #[cfg(target_os = "linux")]
//D mod faults;
mod look;
mod many;
#[cfg(unix)]
mod storm;
