#![no_main]

#[path = "../bodies.rs"]
#[allow(dead_code, reason = "each target has its own")]
mod bodies;

libfuzzer_sys::fuzz_target!(|data: &[u8]| bodies::archives(data));
