//! Pixels of any size, and patches taken out of them by any map.
#![no_main]

use counterpoise_fuzz::made;
use counterpoise_tests::any_plan::number;
use counterpoise_tests::laws;
use libfuzzer_sys::fuzz_target;
use proptest::prelude::*;

fuzz_target!(|bytes: &[u8]| {
    let map = proptest::array::uniform6(prop_oneof![3 => -3.0..3.0_f64, 1 => number()]);
    let size = prop_oneof![9 => 1_usize..40, 1 => any::<usize>()];
    let Some((map, width, height, channels)) = made(bytes, &(map, size.clone(), size, 0_usize..6)) else {
        return;
    };
    let count = width.saturating_mul(height).saturating_mul(channels);
    let pixels: Vec<u8> = bytes.iter().copied().cycle().take(count.min(40 * 40 * 6)).collect();
    laws::patch_of_any_picture_is_a_patch(&pixels, [width, height], channels, map);
});
