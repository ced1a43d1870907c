//! Edits as the page sends them, done to the whole invented case.
#![no_main]

use counterpoise_fuzz::WHOLE;
use counterpoise_tests::laws;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| laws::edit_text_is_done_or_refused(&WHOLE, text));
