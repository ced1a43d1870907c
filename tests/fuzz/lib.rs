//! How the bytes of a fuzzer become plans and edits: by the very generators of the tests by chance, with the bytes as their seed.

use std::sync::LazyLock;

use counterpoise_plan::Plan;
use counterpoise_tests::cases::{Camera, whole_plan};
use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};

/// What a generator makes of these bytes; `None` where it makes nothing of them. They are the seed of its chance: handed on as they are, as the
/// library would allow, they are halved at each branch, and generators loop for ever on the zeros that follow their end.
pub fn made<T: Strategy>(bytes: &[u8], strategy: &T) -> Option<T::Value> {
    let mut seed = [0; 32];
    seed.iter_mut().zip(bytes).for_each(|(seed, byte)| *seed = *byte);
    let chance = TestRng::from_seed(RngAlgorithm::ChaCha, &seed);
    let config = Config { failure_persistence: None, ..Config::default() };
    let mut runner = TestRunner::new_with_rng(config, chance);
    Some(strategy.new_tree(&mut runner).ok()?.current())
}

/// The whole invented case.
pub static WHOLE: LazyLock<Plan> =
    LazyLock::new(|| whole_plan(&Camera::default()).expect("the invented case can be built"));
