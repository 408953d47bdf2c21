//! Any text as a project file: refused with words, or read, written and read back the same.

#![no_main]

use keepside_tests::fuzzed;
use libfuzzer_sys::{fuzz_mutator, fuzz_target, fuzzer_mutate};

fuzz_target!(|bytes: &[u8]| {
    fuzzed::project(bytes);
});

fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    fuzzed::exchange_word(data, size, max_size, seed)
        .unwrap_or_else(|| fuzzer_mutate(data, size, max_size))
});
