//! Rows of edits, sensible or not, with frame, report and drawing of every plan on the way.
#![no_main]

use counterpoise_fuzz::made;
use counterpoise_tests::any_plan::{edit, start};
use counterpoise_tests::laws;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let strategy = (start(), proptest::collection::vec(edit(), 1..8));
    if let Some((start, edits)) = made(bytes, &strategy) {
        let _ = laws::edits_keep_the_plan_usable(start, &edits);
    }
});
