use kurbo::{Point, Vec2};
use proptest::prelude::*;

use super::*;
use crate::PARAM_COUNT;

/// Whether some value of the parameter puts the handle at this height without a fold of the tail on the way there;
/// heights at the very end of its reach are left out.
fn is_within_reach(params: &OutlineParams, id: &str, param: Param, height: f64) -> bool {
    const CLEARLY_MM: f64 = 0.02;
    const STEPS: u32 = 400;
    let now = params.get(param);
    let (least, greatest) = param.info().range;
    let heights_towards = |end: f64| {
        (0..=STEPS)
            .map_while(move |i| {
                let value = now + (end - now) * f64::from(i) / f64::from(STEPS);
                handle_at(&params.with(param, value), id)
            })
            .map(|at| at.y)
    };
    let heights: Vec<f64> = heights_towards(least).chain(heights_towards(greatest)).collect();
    heights.iter().any(|at| *at > height + CLEARLY_MM) && heights.iter().any(|at| *at < height - CLEARLY_MM)
}

/// Parameters in the middle 60 % of every range around the natural median, so that small drags meet no bound.
fn params() -> impl Strategy<Value = OutlineParams> {
    prop::array::uniform17(-0.3..0.3).prop_map(|u: [f64; PARAM_COUNT]| {
        OutlineParams(std::array::from_fn(|i| {
            let info = &Param::ALL[i];
            let (least, greatest) = info.range;
            let room =
                (info.natural_median - least).min(greatest - info.natural_median).max(0.4 * info.scale);
            (info.natural_median + u[i] * room).clamp(least, greatest)
        }))
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn dragging_a_handle_nowhere_changes_nothing(params in params()) {
        let Ok(outline) = Outline::try_new(&params) else { return Ok(()) };
        for handle in outline.handles() {
            let same = params_with_handle_at(&params, handle.id, handle.at).unwrap();
            for info in &Param::ALL {
                let difference = (same.get(info.param) - params.get(info.param)).abs();
                prop_assert!(difference < 1e-7 * info.scale, "{} {} {difference}", handle.id, info.id);
            }
        }
    }

    #[test]
    fn handles_go_where_they_are_dragged(params in params(), dx in -0.4..0.4, dy in -0.4..0.4) {
        let Ok(outline) = Outline::try_new(&params) else { return Ok(()) };
        for handle in outline.handles() {
            let to = handle.at + Vec2::new(dx, dy);
            let new = params_with_handle_at(&params, handle.id, to).unwrap();
            let at_bound = handle.moves.iter().any(|&param| {
                let (least, greatest) = param.info().range;
                (new.get(param) - least).abs() < 1e-9
                    || (new.get(param) - greatest).abs() < 1e-9
                    || matches!(handle.id, "tail_tens" | "full") && !is_within_reach(&params, handle.id, param, to.y)
            });
            let Some(at) = handle_at(&new, handle.id) else { continue };
            let off = at - to;
            match handle.id {
                _ if at_bound => {}
                "front" | "bulb_bottom" | "bulb_top" | "arch_top" | "tail_end" => prop_assert!(off.hypot() < 1e-9, "{} {off:?}", handle.id),
                "arch_under" | "low_dip" | "under" => prop_assert!(off.y.abs() < 1e-9, "{} {off:?}", handle.id),
                // A tension that hardly acts, because arch and bulb or tail are equally high, is left alone.
                "up_tens" | "tail_tens" | "full" => prop_assert!(off.y.abs() < 1e-7 || new == params, "{} {off:?}", handle.id),
                "round" => prop_assert!(off.x.abs() < 1e-9, "{off:?}"),
                "soft" => prop_assert!(off.dot(soft_direction()).abs() < 1e-9, "{off:?}"),
                "tip" => prop_assert!(off.dot(below(tail_axis(&params).1)).abs() < 1e-9, "{off:?}"),
                other => prop_assert!(false, "no law for {other}"),
            }
        }
    }

    #[test]
    fn only_the_named_parameters_move_and_stay_in_range(params in params(), x in -100.0..200.0, y in -100.0..200.0) {
        for info in &OUTLINE_HANDLES {
            let Some(new) = params_with_handle_at(&params, info.id, Point::new(x, y)) else { continue };
            prop_assert_eq!(new.first_out_of_range(), None);
            for param in &Param::ALL {
                let moved = new.get(param.param) != params.get(param.param);
                prop_assert!(!moved || info.moves.contains(&param.param), "{} moves {}", info.id, param.id);
            }
        }
    }
}

#[test]
fn every_parameter_has_a_handle() {
    for info in &Param::ALL {
        assert!(OUTLINE_HANDLES.iter().any(|handle| handle.moves.contains(&info.param)), "{}", info.id);
    }
    let outline = Outline::try_new(&OutlineParams::natural_median()).unwrap();
    assert_eq!(outline.handles().len(), OUTLINE_HANDLES.len());
}

#[test]
fn handles_of_a_median_brow_are_a_finger_apart_or_nearly() {
    let outline = Outline::try_new(&OutlineParams::natural_median()).unwrap();
    let handles = outline.handles();
    for (i, a) in handles.iter().enumerate() {
        for b in &handles[i + 1..] {
            assert!(a.at.distance(b.at) > 1.0, "{} and {} lie {} mm apart", a.id, b.id, a.at.distance(b.at));
        }
    }
}

#[test]
fn bad_points_and_names_are_refused() {
    let params = OutlineParams::natural_median();
    assert_eq!(params_with_handle_at(&params, "front", Point::new(f64::NAN, 0.0)), None);
    assert_eq!(params_with_handle_at(&params, "front", Point::new(0.0, f64::INFINITY)), None);
    assert_eq!(params_with_handle_at(&params, "nose", Point::ORIGIN), None);
    let broken = params.with(Param::TailX, f64::NAN);
    assert_eq!(params_with_handle_at(&broken, "front", Point::ORIGIN), None);
}

#[test]
fn height_that_is_passed_before_the_effect_shows_is_found_all_the_same() {
    let params = OutlineParams([
        13.5,
        15.6,
        5.8,
        2.4,
        0.72,
        41.463483183453725,
        25.353049885052123,
        7.452213833789774,
        0.5,
        52.54630147530217,
        9.849978093622493,
        3.1948714486701815,
        0.4,
        0.77,
        0.5280879095171643,
        5.5,
        0.052517004181715614,
    ]);
    let to = handle_at(&params, "full").unwrap().y - 0.0015642169435823223;
    let new = params_with_handle_at(&params, "full", Point::new(0.0, to)).unwrap();
    let off = handle_at(&new, "full").unwrap().y - to;
    assert!(off.abs() < 1e-9, "{off}");
}
