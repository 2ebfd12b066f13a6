#![no_main]
#[path = "../clips.rs"]
mod clips;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| clips::clip(bytes));
