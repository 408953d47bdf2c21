//! Projects of any permitted numbers: written, read back the same, and computed.

#![no_main]

use keepside_tests::fuzzed;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    fuzzed::numbers(bytes);
});
