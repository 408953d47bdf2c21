//! Any project that opens, through the engine: no panic, and an end in bounded time.

#![no_main]

use keepside_tests::fuzzed;
use libfuzzer_sys::{Corpus, fuzz_mutator, fuzz_target, fuzzer_mutate};

fuzz_target!(|bytes: &[u8]| -> Corpus {
    match fuzzed::project(bytes) {
        Some(project) if fuzzed::is_small(&project) => {
            fuzzed::engine(&project);
            Corpus::Keep
        }
        _ => Corpus::Reject,
    }
});

fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    fuzzed::exchange_word(data, size, max_size, seed)
        .unwrap_or_else(|| fuzzer_mutate(data, size, max_size))
});
