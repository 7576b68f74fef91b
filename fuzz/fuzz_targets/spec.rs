#![no_main]
#[path = "../readers.rs"]
#[expect(dead_code, reason = "a target reads one kind of file")]
mod readers;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| readers::spec(bytes));
