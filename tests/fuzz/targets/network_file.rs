//! The face network's file.
#![no_main]

use counterpoise_tests::laws;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|file: &[u8]| laws::network_file_is_read_or_refused(file));
