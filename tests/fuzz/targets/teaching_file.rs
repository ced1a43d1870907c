//! Lessons, exercises, sets and what is handed in, as files.
#![no_main]

use counterpoise_tests::laws;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| laws::teaching_file_is_read_or_refused(text));
