//! Poses: photos laid over the baseline, heights by calipers, and what the muscle does.
#![no_main]

use counterpoise_fuzz::{WHOLE, made};
use counterpoise_plan::Edit;
use counterpoise_tests::any_plan::{pose_id, pose_record};
use counterpoise_tests::laws;
use libfuzzer_sys::fuzz_target;
use proptest::strategy::Strategy;

fuzz_target!(|bytes: &[u8]| {
    let pose = (pose_id(), pose_record()).prop_map(|(pose, record)| Edit::SetPose { pose, record });
    if let Some(edits) = made(bytes, &proptest::collection::vec(pose, 1..4)) {
        let _ = laws::edits_keep_the_plan_usable(WHOLE.clone(), &edits);
    }
});
