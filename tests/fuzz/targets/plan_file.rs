//! Plan files: reading, checking, bringing up to date; then drawing, measuring and passing on what was read.
#![no_main]

use counterpoise_tests::laws;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| laws::plan_file_opens_or_is_refused(text));
