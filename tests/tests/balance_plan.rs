//! Balancing a plan: the curve and its price hold what the rules say, the answer does not depend on which side is
//! called right, and what cannot be balanced is refused with a reason.

use std::sync::LazyLock;

use counterpoise_geometry::{Outline as Shape, OutlineParams, Param, PerSide, Side};
use counterpoise_plan::{
    ArchGuide, Balance, BalanceCurve, DeriveMemo, Edit, Level, NaturalBrow, Plan, Prefer, Pull, PullTo,
    SideBalance, apply, balance_curve, balance_family, codes, explain_move, explain_move_after, open, report,
    to_json,
};
use counterpoise_tests::cases::{Camera, natural_params, outline, photo_plan, trace, whole_plan, written};
use proptest::prelude::*;

/// What counts as keeping a limit, % of the natural area.
const SLACK_PCT: f64 = 0.2;

/// Natural brows as outlines, without a photo; nothing planned.
fn shaped(right: &OutlineParams, left: &OutlineParams) -> Plan {
    let shape = |side, params| Edit::ShapeNatural { side, outline: written(params) };
    let edits = vec![shape(Side::Right, right), shape(Side::Left, left)];
    apply(&Plan::default(), &Edit::Many { edits }).expect("valid outlines")
}

fn uneven() -> Plan {
    shaped(&natural_params(Side::Right), &natural_params(Side::Left))
}

fn with_rules(plan: &Plan, change: impl FnOnce(&mut Balance)) -> Plan {
    let mut balance = plan.balance.clone();
    change(&mut balance);
    apply(plan, &Edit::SetBalance { balance }).expect("rules in their ranges")
}

fn planned(plan: &Plan, right: &OutlineParams, left: &OutlineParams) -> Plan {
    let outlines = PerSide { right: Some(written(right)), left: Some(written(left)) };
    apply(plan, &Edit::SetOutlines { outlines }).expect("valid outlines")
}

fn curve(plan: &Plan, added_pct: f64) -> BalanceCurve {
    balance_curve(plan, added_pct).unwrap_or_else(|error| panic!("{error}"))
}

/// The usual curve, worked out once.
static UNEVEN_15: LazyLock<BalanceCurve> = LazyLock::new(|| curve(&uneven(), 15.0));

#[test]
fn curve_has_the_written_form() {
    let json = serde_json::to_value(&*UNEVEN_15).expect("plain data");
    let keys = |value: &serde_json::Value| -> Vec<String> {
        value.as_object().expect("an object").keys().cloned().collect()
    };
    assert_eq!(
        keys(&json),
        ["added_limit_pct", "current", "knee", "measuring_error_mm", "natural_mm", "points", "recipes"]
    );
    let points = json["points"].as_array().expect("a list");
    assert_eq!(points.len(), 21);
    for point in points {
        assert_eq!(
            keys(point),
            ["added_pct", "asymmetry_mm", "keeps_limits", "outlines", "removed_limit_pct", "removed_pct"]
        );
        for side in ["right", "left"] {
            assert_eq!(keys(&point["outlines"][side]).len(), Param::ALL.len());
        }
    }
    let ids: Vec<_> = UNEVEN_15.recipes.iter().map(|recipe| recipe.id).collect();
    assert_eq!(ids, ["mirror_right", "mirror_left", "average"]);
    assert!(json["current"].is_null(), "nothing is planned yet");
}

#[test]
fn curve_falls_keeps_its_limits_and_ends_even() {
    let curve = &*UNEVEN_15;
    assert!(curve.points.windows(2).all(|pair| {
        pair[0].removed_limit_pct < pair[1].removed_limit_pct && pair[1].asymmetry_mm <= pair[0].asymmetry_mm
    }));
    for point in &curve.points {
        assert!(point.keeps_limits);
        for side in Side::BOTH {
            assert!(*point.removed_pct.get(side) <= point.removed_limit_pct + SLACK_PCT, "{point:?}");
            assert!(*point.added_pct.get(side) <= 15.0 + SLACK_PCT, "{point:?}");
        }
    }
    assert!(curve.points[0].asymmetry_mm < curve.natural_mm);
    assert!(curve.points[20].asymmetry_mm < 0.05, "{}", curve.points[20].asymmetry_mm);
    assert!(curve.knee.is_some_and(|knee| (1..20).contains(&knee)));
    for recipe in &curve.recipes {
        assert!(recipe.asymmetry_mm < 1e-9, "a recipe makes both sides equal");
    }
}

#[test]
fn points_taken_over_report_what_the_curve_promised() {
    let plan = uneven();
    for index in [0, 5, 20] {
        let point = &UNEVEN_15.points[index];
        let outlines = point.outlines.clone().map(Some);
        let next = apply(&plan, &Edit::SetOutlines { outlines }).expect("a point is always valid");
        let report = report(&next);
        let headline = report.planned_symmetry.expect("both planned").mean_distance_mm;
        assert!((headline - point.asymmetry_mm).abs() < 1e-9, "{headline}");
        for side in Side::BOTH {
            let areas = report.areas.get(side).expect("both there");
            // The report clips polygons on a grid; the balance integrates along the outline.
            assert!((areas.removed_pct - point.removed_pct.get(side)).abs() < 0.05, "{areas:?}");
            assert!((areas.added_pct - point.added_pct.get(side)).abs() < 0.05, "{areas:?}");
        }
        let current = curve(&next, 15.0).current.expect("both planned");
        assert!((current.asymmetry_mm - point.asymmetry_mm).abs() < 1e-9);
        assert_eq!((current.removed_pct, current.added_pct), (point.removed_pct, point.added_pct));
    }
}

#[test]
fn family_falls_with_either_limit_and_gives_each_curve_in_order() {
    let family = balance_family(&uneven(), &[25.0, 10.0, 15.0]).expect("can be balanced");
    let limits: Vec<f64> = family.iter().map(|curve| curve.added_limit_pct).collect();
    assert_eq!(limits, [10.0, 15.0, 25.0]);
    for curves in family.windows(2) {
        for (tight, loose) in curves[0].points.iter().zip(&curves[1].points) {
            assert!(loose.asymmetry_mm <= tight.asymmetry_mm);
        }
    }
}

#[test]
fn limits_in_square_millimetres_bind_where_they_are_tighter() {
    let mut plan = uneven();
    plan.limits.removed_mm2 = Some(6.0);
    plan.limits.added_mm2 = Some(20.0);
    plan.limits.added_pct = 25.0;
    let found = curve(&plan, 15.0);
    let loosest = found.points.last().expect("21 points");
    let next =
        apply(&plan, &Edit::SetOutlines { outlines: loosest.outlines.clone().map(Some) }).expect("valid");
    let report = report(&next);
    for side in Side::BOTH {
        let areas = report.areas.get(side).expect("both there");
        let slack = SLACK_PCT / 100.0 * areas.natural_mm2 + 0.1;
        assert!(areas.removed_counted_mm2 <= 6.0 + slack, "{areas:?}");
        assert!(areas.added_mm2 <= 20.0 + slack, "{areas:?}");
    }
    assert!(loosest.asymmetry_mm > UNEVEN_15.points[20].asymmetry_mm);
    // The check of the report goes by the same tighter limit.
    let check = report.checks.iter().find(|check| check.id == "removed_within").expect("both there");
    let areas = report.areas.get(check.side.expect("a side")).expect("both there");
    assert!((check.values["limit_pct"] - 100.0 * 6.0 / areas.natural_mm2).abs() < 1e-9, "{check:?}");
}

/// A balanced pair lies on its limit, a hair to this side of it or to that: the checks must not cry wolf over it.
#[test]
fn balanced_pair_passes_the_checks_of_its_own_limits() {
    let mut plan = uneven();
    for point in curve(&plan, 15.0).points.iter().filter(|point| point.keeps_limits) {
        plan.limits.removed_pct = point.removed_limit_pct;
        plan.limits.added_pct = 15.0;
        let edit = Edit::SetOutlines { outlines: point.outlines.clone().map(Some) };
        let report = report(&apply(&plan, &edit).expect("valid"));
        let warned = report.checks.iter().find(|check| {
            matches!(check.id, "removed_within" | "added_within") && check.level == Level::Warn
        });
        assert_eq!(warned.map(|check| &check.values), None, "at {} %", point.removed_limit_pct);
    }
}

#[test]
fn locked_side_and_locked_numbers_stay_to_the_last_digit() {
    let hers = outline(&[(Param::ArchY, 27.9), (Param::TipT, 1.1), (Param::FrontX, 13.1)]);
    let other = outline(&[(Param::ArchY, 27.1), (Param::TipT, 1.3), (Param::FrontX, 13.9)]);
    let plan = planned(&uneven(), &hers, &other);
    let locked = with_rules(&plan, |balance| balance.sides.right.locked = true);
    let found = curve(&locked, 40.0);
    assert!(found.points.iter().all(|point| point.outlines.right == written(&hers)));
    assert!(found.points.iter().any(|point| point.outlines.left != written(&other)), "the other side moves");
    assert!(found.points[20].asymmetry_mm < found.current.expect("both planned").asymmetry_mm);

    let some = with_rules(&plan, |balance| {
        balance.sides.left.locked_params = vec!["front_x".into(), "tip_t".into()];
    });
    for point in &curve(&some, 40.0).points {
        for param in ["front_x", "tip_t"] {
            assert_eq!(point.outlines.left.0[param], written(&other).0[param], "{param}");
        }
    }
}

#[test]
fn lift_and_lowering_stay_within_their_bounds() {
    let plan = with_rules(&uneven(), |balance| {
        balance.sides.right.lower_mm = 0.5;
        balance.sides.left.lift_mm = 0.25;
    });
    for point in &curve(&plan, 60.0).points {
        for param in [Param::BulbY, Param::ArchY, Param::TailY] {
            let change =
                |side: Side| point.outlines.get(side).0[param.info().id] - natural_params(side).get(param);
            assert!(change(Side::Right) >= -0.5 - 1e-9, "{param:?} {}", change(Side::Right));
            assert!(change(Side::Left) <= 0.25 + 1e-9, "{param:?} {}", change(Side::Left));
        }
    }
}

#[test]
fn preference_decides_between_filling_and_trimming() {
    let sums = |prefer| {
        let found = curve(&with_rules(&uneven(), |balance| balance.prefer = prefer), 60.0);
        let point = &found.points[20];
        (
            point.removed_pct.right + point.removed_pct.left,
            point.added_pct.right + point.added_pct.left,
            point.asymmetry_mm,
        )
    };
    let (filling, trimming) = (sums(Prefer::Filling), sums(Prefer::Trimming));
    assert!(filling.0 < trimming.0 - 2.0, "removed {filling:?} {trimming:?}");
    assert!(filling.1 > trimming.1 + 2.0, "added {filling:?} {trimming:?}");
}

#[test]
fn guide_pulls_the_arch_towards_the_chosen_candidate() {
    let mut plan = uneven();
    plan.guides.arch = ArchGuide::Measure;
    plan.guides.arch_measure_mm = 42.0;
    let pull = Pull { guide: PullTo::Arch, weight: 2.0 };
    let pulled = with_rules(&plan, |balance| {
        balance.sides.right.pulls = vec![pull];
        balance.sides.left.pulls = vec![pull];
    });
    let off = |plan: &Plan| {
        let found = curve(plan, 60.0);
        let point = &found.points[20];
        Side::BOTH.map(|side| (point.outlines.get(side).0["arch_x"] - 42.0).abs())
    };
    let (free, drawn) = (off(&plan), off(&pulled));
    for (free, drawn) in free.into_iter().zip(drawn) {
        assert!(free > 2.0 && drawn < 0.5 * free, "{free} {drawn}");
    }
}

#[test]
fn guides_of_the_photo_pull_and_are_asked_for_where_they_are_missing() {
    let plan = whole_plan(&Camera::default()).expect("can be built");
    let pulls = vec![Pull { guide: PullTo::Front, weight: 1.0 }, Pull { guide: PullTo::End, weight: 1.0 }];
    let pulled = with_rules(&plan, |balance| balance.sides.left.pulls = pulls.clone());
    assert_ne!(curve(&pulled, 25.0).points[10].outlines, curve(&plan, 25.0).points[10].outlines);
    for (gone, weight, expected) in [
        ("nostril.left", 1.0, Some("nostril.left")),
        ("outer_corner.left", 1.0, Some("outer_corner.left")),
        // A guide that pulls at nothing need not be there, nor that of the other side.
        ("nostril.left", 0.0, None),
        ("nostril.right", 1.0, None),
    ] {
        let less = apply(&pulled, &Edit::RemoveLandmark { landmark: gone.into() }).expect("known");
        let less = with_rules(&less, |balance| {
            balance.sides.left.pulls.iter_mut().for_each(|pull| pull.weight = weight);
        });
        let found = balance_curve(&less, 25.0).err().map(|error| (error.code, error.subject));
        let expected = expected.map(|id| ("pull_guide_missing", id.to_owned()));
        assert_eq!(found, expected, "{gone} {weight}");
    }
}

#[test]
fn balancing_again_starts_from_what_she_shaped() {
    // She bent what evenness does not decide: with all skin to spend, the balance leaves it as she has it.
    let bent = |params: OutlineParams| params.with(Param::Soft, 0.3).with(Param::Round, 0.8);
    let plan = planned(&uneven(), &bent(natural_params(Side::Right)), &bent(natural_params(Side::Left)));
    let hers = curve(&plan, 60.0);
    let point = &hers.points[20];
    for side in Side::BOTH {
        for (param, value) in [("soft", 0.3), ("round", 0.8)] {
            let found = point.outlines.get(side).0[param];
            let untouched = curve(&uneven(), 60.0).points[20].outlines.get(side).0[param];
            assert!(
                (found - value).abs() < (untouched - value).abs(),
                "{param}: {found}, untouched {untouched}"
            );
        }
    }
}

#[test]
fn explained_move_names_what_moves_and_its_price() {
    let before = outline(&[(Param::ArchY, 27.0), (Param::TipT, 1.2)]);
    let plan = planned(&uneven(), &before, &before);
    let right = before.with(Param::ArchY, 28.2).with(Param::Slant, 16.4).with(Param::FrontX, 13.55);
    let left = before.with(Param::TailX, 54.9).with(Param::ArchT, 7.2);
    let outlines = PerSide { right: written(&right), left: written(&left) };
    let found = explain_move(&plan, &outlines).expect("valid outlines");
    let moved: Vec<_> = found.moves.iter().map(|moved| (moved.side, moved.param, moved.unit)).collect();
    // In units of a typical change: 14 of 10 degrees, 1.2 mm, 0.4 mm, 0.1 mm; half a step of the front is not worth a
    // word.
    assert_eq!(
        moved,
        [
            (Side::Right, "slant", "deg"),
            (Side::Right, "arch_y", "mm"),
            (Side::Left, "tail_x", "mm"),
            (Side::Left, "arch_t", "mm"),
        ]
    );
    for made in &found.moves {
        let (from, to) = (written(&before).0[made.param], outlines.get(made.side).0[made.param]);
        assert_eq!((made.from, made.to, made.change), (from, to, to - from));
    }
    let next = apply(&plan, &Edit::SetOutlines { outlines: outlines.clone().map(Some) }).expect("valid");
    let report = report(&next);
    assert_eq!(json(&found.areas), json(&report.areas));
    assert_eq!(json(&found.strips), json(&report.strips));

    // What is remembered of another pair of brows changes no answer.
    let mut memo = DeriveMemo::default();
    for plan in [&uneven(), &plan, &next] {
        let after = explain_move_after(&mut memo, plan, &outlines).expect("valid outlines");
        assert_eq!(json(&after), json(&explain_move(plan, &outlines).expect("valid outlines")));
    }
    let stays = explain_move(&next, &outlines).expect("valid outlines");
    assert!(stays.moves.is_empty(), "{:?}", stays.moves);
    // Without a plan the move starts from the natural brows.
    let fresh =
        explain_move(&uneven(), &PerSide::from_fn(|side| written(&natural_params(side)))).expect("valid");
    assert!(fresh.moves.is_empty(), "{:?}", fresh.moves);
}

/// To compare what has no equality of its own.
fn json(value: &impl serde::Serialize) -> serde_json::Value {
    serde_json::to_value(value).expect("plain data")
}

#[test]
fn rules_survive_the_file_and_older_files_open_without_them() {
    let rules = |balance: &mut Balance| {
        balance.prefer = Prefer::Trimming;
        balance.sides.left = SideBalance {
            locked: false,
            locked_params: vec!["arch_x".into(), "soft".into()],
            lift_mm: 1.5,
            lower_mm: 0.0,
            pulls: vec![Pull { guide: PullTo::End, weight: 0.75 }],
        };
    };
    let plan = with_rules(&uneven(), rules);
    let text = to_json(&plan);
    assert_eq!(open(&text).expect("its own file"), plan);
    let mut older: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    older.as_object_mut().expect("an object").remove("balance");
    for limit in ["removed_mm2", "added_mm2"] {
        older["limits"].as_object_mut().expect("an object").remove(limit);
    }
    let older = open(&older.to_string()).expect("as version 1 was first written");
    assert_eq!(older.balance, Balance::default());
    assert_eq!(Plan { balance: plan.balance.clone(), ..older }, plan);
}

#[test]
fn rules_out_of_range_are_refused_and_change_nothing() {
    let plan = uneven();
    type Break = fn(&mut SideBalance);
    let cases: [(&str, Break, &str, &str); 7] = [
        ("NaN", |side| side.lift_mm = f64::NAN, "not_finite", "balance.lift_mm"),
        ("below", |side| side.lower_mm = -0.1, "out_of_range", "balance.lower_mm"),
        ("above", |side| side.lift_mm = 15.1, "out_of_range", "balance.lift_mm"),
        ("unknown", |side| side.locked_params = vec!["curl".into()], "unknown_param", "curl"),
        ("twice", |side| side.locked_params = vec!["soft".into(); 2], "named_twice", "soft"),
        (
            "weight",
            |side| side.pulls = vec![Pull { guide: PullTo::End, weight: 10.5 }],
            "out_of_range",
            "balance.pulls.weight",
        ),
        (
            "pulled twice",
            |side| side.pulls = vec![Pull { guide: PullTo::Front, weight: 1.0 }; 2],
            "named_twice",
            "front",
        ),
    ];
    for (name, break_it, code, subject) in cases {
        for side in Side::BOTH {
            let mut balance = Balance::default();
            break_it(balance.sides.get_mut(side));
            let error = apply(&plan, &Edit::SetBalance { balance }).expect_err(name);
            assert_eq!((error.code, error.subject.as_str()), (code, subject), "{name}");
        }
    }
    for limit in [f64::NAN, -1.0, 2000.5] {
        let mut limits = plan.limits.clone();
        limits.added_mm2 = Some(limit);
        let error = apply(&plan, &Edit::SetLimits { limits }).expect_err("out of range");
        assert_eq!(error.subject, "limits.added_mm2", "{limit}");
    }
}

#[test]
fn what_cannot_be_balanced_is_refused_with_its_reason() {
    let plan = uneven();
    let all_locked = with_rules(&plan, |balance| {
        balance.sides.right.locked = true;
        balance.sides.left.locked_params = Param::ALL.iter().map(|info| info.id.to_owned()).collect();
    });
    let half = Plan { natural: PerSide { left: None, ..plan.natural.clone() }, ..plan.clone() };
    let mut lost = whole_plan(&Camera::default()).expect("can be built");
    lost.landmarks.remove("inner_corner.right");
    let mut thick = plan.clone();
    thick.limits.min_thickness_mm = 10.0;
    // Above every height that an outline can have.
    let camera = Camera::default();
    let high = photo_plan(&camera).and_then(|plan| {
        let lifted =
            |side| trace(&camera, side).iter().map(|[x, y]| [*x, y - 25.0 * camera.px_per_mm]).collect();
        let edits = Side::BOTH.map(|side| Edit::TraceNatural { side, points_px: lifted(side) }).to_vec();
        apply(&plan, &Edit::Many { edits })
    });
    let high = high.expect("a trace is a trace");
    let mut crossing = plan.clone();
    crossing.planned.right = Some(written(&natural_params(Side::Right).with(Param::TailX, 37.0)));
    for (name, plan, added, code, subject) in [
        ("nothing at all", &Plan::default(), 15.0, "natural_first", "right"),
        ("one brow", &half, 15.0, "natural_first", "left"),
        ("no frame", &lost, 15.0, "frame_first", "inner_corner.right"),
        ("no fit", &high, 15.0, "no_fit", "right"),
        ("planned outline crosses itself", &crossing, 15.0, "outline_invalid", "tail_x"),
        ("everything locked", &all_locked, 15.0, "everything_locked", ""),
        ("ten millimetres thick without skin", &thick, 0.0, "limits_contradict", "left"),
        ("NaN", &plan, f64::NAN, "not_finite", "limits.added_pct"),
        ("too much", &plan, 301.0, "out_of_range", "limits.added_pct"),
        ("too little", &plan, -1.0, "out_of_range", "limits.added_pct"),
    ] {
        let before = plan.clone();
        let error = balance_curve(plan, added).expect_err(name);
        assert_eq!((error.code, error.subject.as_str()), (code, subject), "{name}");
        let known = codes::refused::ALL.iter().find(|known| known.code == code).expect("in the table");
        assert!(known.values.iter().all(|value| error.values.contains_key(value)), "{name}: {error:?}");
        assert_eq!(plan, &before, "{name}");
    }
    let error = balance_curve(&thick, 0.0).expect_err("contradicts");
    assert!(error.values["added_excess_mm2"] > 10.0, "{error:?}");
}

#[test]
fn measuring_error_comes_from_photo_or_calipers_and_says_when_balancing_chases_noise() {
    let photo = whole_plan(&Camera::default()).expect("can be built");
    let found = curve(&photo, 25.0);
    assert!((0.2..1.5).contains(&found.measuring_error_mm), "{}", found.measuring_error_mm);
    let noise = |index: usize| {
        let outlines = found.points[index].outlines.clone().map(Some);
        let report = report(&apply(&photo, &Edit::SetOutlines { outlines }).expect("valid"));
        let check = report.checks.iter().find(|check| check.id == "balance_noise").expect("both planned");
        assert_eq!(check.values["planned_mm"], report.planned_symmetry.expect("both").mean_distance_mm);
        check.level
    };
    assert_eq!(noise(20), Level::Note);
    let natural = PerSide::from_fn(natural_params);
    let untouched = planned(&photo, &natural.right, &natural.left);
    let check = report(&untouched).checks.into_iter().find(|check| check.id == "balance_noise");
    assert_eq!(check.expect("both planned").level, Level::Ok);

    // Calipers are read to half a millimetre, so a headline made of them is no better known than that allows.
    let typed = open(include_str!("../../demo/calipers.counterpoise.json")).expect("the demo opens");
    assert!(matches!(typed.natural.right, Some(NaturalBrow::Calipers(_))));
    let error = curve(&typed, 25.0).measuring_error_mm;
    assert!((0.2..1.0).contains(&error), "{error}");
    let mut rougher = typed.clone();
    rougher.noise.caliper_mm *= 2.0;
    assert!((curve(&rougher, 25.0).measuring_error_mm - 2.0 * error).abs() < 1e-9);
}

#[test]
fn wide_removed_strip_is_flagged_with_its_place() {
    // 2.4 mm off the top of the right arch.
    let lowered = natural_params(Side::Right).with(Param::ArchY, 26.0).with(Param::ArchT, 5.4);
    let plan = planned(&uneven(), &lowered, &natural_params(Side::Left));
    let report = report(&plan);
    let check = |side| {
        let found = report.checks.iter().find(|check| check.id == "strip_width" && check.side == Some(side));
        found.unwrap_or_else(|| panic!("no check of {side:?}"))
    };
    let flagged = check(Side::Right);
    assert_eq!((flagged.level, flagged.subject), (Level::Warn, "above"));
    assert!((1.5..3.0).contains(&flagged.values["widest_mm"]), "{flagged:?}");
    assert_eq!(check(Side::Left).level, Level::Ok);
}

#[test]
fn rules_change_sides_with_the_brows_they_are_about() {
    let plan = whole_plan(&Camera::default()).expect("can be built");
    let plan = with_rules(&plan, |balance| balance.sides.right.locked = true);
    let next = apply(&plan, &Edit::SetMirrored { mirrored: true }).expect("there is a photo");
    assert!(next.balance.sides.left.locked && !next.balance.sides.right.locked);
    assert_eq!(apply(&next, &Edit::SetMirrored { mirrored: false }), Ok(plan));
}

/// Outlines near the natural median, as different as two brows of one face.
fn natural() -> impl Strategy<Value = OutlineParams> {
    (11.0..16.0, 25.0..29.0, 6.0..8.5, 53.0..58.0, 13.0..18.0_f64).prop_map(
        |(front_x, arch_y, arch_t, tail_x, tail_y)| {
            outline(&[
                (Param::FrontX, front_x),
                (Param::ArchY, arch_y),
                (Param::ArchT, arch_t),
                (Param::TailX, tail_x),
                (Param::TailY, tail_y),
            ])
        },
    )
}

fn side_rules() -> impl Strategy<Value = SideBalance> {
    let locked = proptest::sample::subsequence(Param::ALL.map(|info| info.id.to_owned()).to_vec(), 0..4);
    (locked, 0.0..4.0, 0.0..4.0, proptest::option::of(0.0..3.0_f64)).prop_map(
        |(locked_params, lift_mm, lower_mm, pull)| SideBalance {
            locked: false,
            locked_params,
            lift_mm,
            lower_mm,
            pulls: pull.map(|weight| Pull { guide: PullTo::Arch, weight }).into_iter().collect(),
        },
    )
}

proptest! {
    // Each case is two curves.
    #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

    /// The client's right and left are names: exchanging brows and rules exchanges the answer to the last digit, and
    /// every point of it is a pair of valid outlines that keeps locks and bounds.
    #[test]
    fn exchanging_the_sides_exchanges_the_answer(
        right in natural(),
        left in natural(),
        rules in (side_rules(), side_rules()),
        added in 0.0..40.0_f64,
    ) {
        prop_assume!(Shape::try_new(&right).is_ok() && Shape::try_new(&left).is_ok());
        let plan = with_rules(&shaped(&right, &left), |balance| {
            balance.sides = PerSide { right: rules.0.clone(), left: rules.1.clone() };
        });
        let swapped = with_rules(&shaped(&left, &right), |balance| {
            balance.sides = PerSide { right: rules.1.clone(), left: rules.0.clone() };
        });
        let (found, other) = (balance_curve(&plan, added), balance_curve(&swapped, added));
        match (found, other) {
            (Ok(found), Ok(other)) => {
                prop_assert_eq!(found.natural_mm, other.natural_mm);
                prop_assert_eq!(found.knee, other.knee);
                for (point, other) in found.points.iter().zip(&other.points) {
                    prop_assert_eq!(point.asymmetry_mm, other.asymmetry_mm);
                    prop_assert_eq!(&point.outlines.right, &other.outlines.left);
                    prop_assert_eq!(&point.outlines.left, &other.outlines.right);
                    prop_assert_eq!(point.removed_pct, other.removed_pct.swapped());
                    prop_assert_eq!(point.added_pct, other.added_pct.swapped());
                    for side in Side::BOTH {
                        let natural = if side == Side::Right { &right } else { &left };
                        for id in &plan.balance.sides.get(side).locked_params {
                            prop_assert_eq!(point.outlines.get(side).0[id], written(natural).0[id]);
                        }
                        let outlines = point.outlines.clone().map(Some);
                        let taken = apply(&plan, &Edit::SetOutlines { outlines });
                        prop_assert!(taken.is_ok(), "{:?}", taken.err());
                    }
                }
            }
            (found, other) => {
                let code = |found: Result<BalanceCurve, counterpoise_plan::PlanError>| found.err().map(|e| e.code);
                prop_assert_eq!(code(found), code(other));
            }
        }
    }
}
