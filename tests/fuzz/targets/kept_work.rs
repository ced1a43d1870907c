//! What a course's server or a learner gives back: work that was kept, and submissions.
#![no_main]

use std::sync::LazyLock;

use counterpoise_teaching::{Marker, read_exercise};
use counterpoise_tests::laws;
use libfuzzer_sys::fuzz_target;

static MARKER: LazyLock<Marker> = LazyLock::new(|| {
    let text = include_str!("../../../demo/low-brow.exercise.json");
    Marker::new(read_exercise(text).expect("the demo's exercise"))
});

fuzz_target!(|text: &str| laws::work_is_marked_or_refused(&MARKER, text));
