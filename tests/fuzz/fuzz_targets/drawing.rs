//! Any file as a drawing, DXF or SVG: refused with words, or read and made into runs that can be saved.

#![no_main]

use keepside_tests::fuzzed;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    fuzzed::drawing(bytes);
});
