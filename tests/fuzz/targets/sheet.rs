//! The printed sheet of any plan, with any words.
#![no_main]

use counterpoise_fuzz::made;
use counterpoise_plan::apply;
use counterpoise_tests::any_plan::{edit, start};
use counterpoise_tests::laws;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let words = proptest::collection::btree_map("sheet\\.[a-z_]{3,9}|side\\.right", ".{0,40}", 0..6);
    let strategy = (start(), proptest::collection::vec(edit(), 0..4), words);
    let Some((start, edits, words)) = made(bytes, &strategy) else { return };
    let plan = edits.iter().fold(start, |plan, edit| apply(&plan, edit).unwrap_or(plan));
    laws::sheet_is_made_or_refused(&plan, &laws::plain_sheet(&words.into_iter().collect()));
});
