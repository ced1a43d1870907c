//! Balances of any pair under any rules.
#![no_main]

use counterpoise_fuzz::{WHOLE, made};
use counterpoise_plan::{Balance, Edit, apply};
use counterpoise_tests::any_plan::{edit, number, prefer, side_balance};
use counterpoise_tests::laws;
use libfuzzer_sys::fuzz_target;
use proptest::prelude::*;

fuzz_target!(|bytes: &[u8]| {
    let rules = (side_balance(), side_balance(), prefer(), 0.0..=1.0_f64).prop_map(
        |(right, left, prefer, relaxed_weight)| Edit::SetBalance {
            balance: Balance {
                sides: counterpoise_geometry::PerSide { right, left },
                prefer,
                relaxed_weight,
            },
        },
    );
    let strategy =
        (proptest::collection::vec(edit(), 0..3), rules, prop_oneof![9 => 0.0..60.0_f64, 1 => number()]);
    let Some((edits, rules, added_pct)) = made(bytes, &strategy) else { return };
    let plan =
        edits.iter().chain([&rules]).fold(WHOLE.clone(), |plan, edit| apply(&plan, edit).unwrap_or(plan));
    laws::balance_is_found_or_refused(&plan, added_pct);
});
