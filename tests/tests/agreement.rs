//! What she agreed to: recorded as shown, and sealed so that a later change shows.

use counterpoise_geometry::Side;
use counterpoise_plan::notation::canonical_text;
use counterpoise_plan::{Edit, Plan, PlanError, apply, open, report, to_json};
use counterpoise_tests::cases::{Camera, whole_plan};
use proptest::prelude::*;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};

/// The examples of RFC 8785, from memory: §3.2.2 (primitive data), §3.2.3 (order of names).
#[test]
fn canonical_form_is_that_of_the_rfcs_examples() {
    let primitive = r#"{
      "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
      "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
      "literals": [null, true, false]
    }"#;
    let wanted = "{\"literals\":[null,true,false],\"numbers\":[333333333.3333333,1e+30,4.5,0.002,1e-27],\
                  \"string\":\"€$\\u000f\\nA'B\\\"\\\\\\\\\\\"/\"}";
    assert_eq!(canonical_text(primitive).as_deref(), Some(wanted));

    let names = r#"{"\u20ac": "Euro Sign", "\r": "Carriage Return", "\ufb33": "Hebrew Letter Dalet With Dagesh",
      "1": "One", "\ud83d\ude00": "Emoji: Grinning Face", "\u0080": "Control", "\u00f6": "Latin Small Letter O With Diaeresis"}"#;
    let order = [
        "Carriage Return",
        "One",
        "Control",
        "Latin Small Letter O With Diaeresis",
        "Euro Sign",
        "Emoji: Grinning Face",
        "Hebrew Letter Dalet With Dagesh",
    ];
    let canonical = canonical_text(names).unwrap();
    let places: Vec<usize> = order.iter().map(|value| canonical.find(value).unwrap()).collect();
    assert!(places.is_sorted(), "{canonical}");
}

/// RFC 8785, appendix B, from memory: the bits of a number and its text. The library below is asked about the same kinds of numbers.
#[test]
fn canonical_numbers_are_those_of_the_rfcs_table() {
    let table: [(u64, &str); 22] = [
        (0x0000_0000_0000_0000, "0"),
        (0x8000_0000_0000_0000, "0"),
        (0x0000_0000_0000_0001, "5e-324"),
        (0x8000_0000_0000_0001, "-5e-324"),
        (0x7fef_ffff_ffff_ffff, "1.7976931348623157e+308"),
        (0x4340_0000_0000_0000, "9007199254740992"),
        (0xc340_0000_0000_0000, "-9007199254740992"),
        (0x4430_0000_0000_0000, "295147905179352830000"),
        (0x44b5_2d02_c7e1_4af5, "9.999999999999997e+22"),
        (0x44b5_2d02_c7e1_4af6, "1e+23"),
        (0x44b5_2d02_c7e1_4af7, "1.0000000000000001e+23"),
        (0x444b_1ae4_d6e2_ef4e, "999999999999999700000"),
        (0x444b_1ae4_d6e2_ef4f, "999999999999999900000"),
        (0x444b_1ae4_d6e2_ef50, "1e+21"),
        (0x3eb0_c6f7_a0b5_ed8c, "9.999999999999997e-7"),
        (0x3eb0_c6f7_a0b5_ed8d, "0.000001"),
        (0x41b3_de43_5555_5553, "333333333.3333332"),
        (0x41b3_de43_5555_5554, "333333333.33333325"),
        (0x41b3_de43_5555_5555, "333333333.3333333"),
        (0x41b3_de43_5555_5557, "333333333.33333343"),
        (0xbecb_f647_612f_3696, "-0.0000033333333333333333"),
        (0x4314_3ff3_c1cb_0959, "1424953923781206.2"),
    ];
    for (bits, wanted) in table {
        let written = serde_json::to_string(&f64::from_bits(bits)).unwrap();
        assert_eq!(canonical_text(&written).as_deref(), Some(wanted), "{bits:016x}");
    }
}

fn any_json() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        any::<f64>().prop_filter("JSON has no other", |number| number.is_finite()).prop_map(Value::from),
        (-1_000_000_i64..1_000_000).prop_map(Value::from),
        any::<String>().prop_map(Value::from),
    ];
    leaf.prop_recursive(4, 40, 6, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..6).prop_map(Value::from),
            prop::collection::btree_map(any::<String>(), inner, 0..6)
                .prop_map(|map| Value::from(map.into_iter().collect::<serde_json::Map<_, _>>())),
        ]
    })
}

proptest! {
    /// The library `serde_json_canonicalizer` shares no code with ours.
    #[test]
    fn canonical_form_is_an_independent_librarys(value in any_json()) {
        let wanted = serde_json_canonicalizer::to_string(&value).unwrap();
        prop_assert_eq!(canonical_text(&value.to_string()), Some(wanted));
    }
}

/// A signature as a hand might draw it.
fn strokes() -> Vec<Vec<[f64; 2]>> {
    vec![(0..60).map(|k| [300.0 + 20.0 * f64::from(k), 500.0 + 200.0 * (f64::from(k) / 5.0).sin()]).collect()]
}

fn agree_at(plan: &Plan, at: &str) -> Result<Plan, PlanError> {
    apply(plan, &Edit::Agree { at: at.into(), initials: "ab".into(), strokes: strokes() })
}

fn seal(plan: &Plan) -> &'static str {
    report(plan).agreement.expect("an agreement").seal
}

fn done(plan: &Plan, edit: &Edit) -> Plan {
    apply(plan, edit).expect("the edit is taken")
}

fn arch(value: f64) -> Edit {
    Edit::SetParam { side: Side::Right, param: "arch_y".into(), value, linked: false }
}

const NOON: &str = "2026-11-28T12:00:00+01:00";

#[test]
fn agreement_holds_what_was_shown() {
    let plan = whole_plan(&Camera::default()).unwrap();
    assert!(!to_json(&plan).contains("agreements"), "none are not written");
    assert!(report(&plan).agreement.is_none());
    let named = done(&plan, &Edit::KeepVariant { name: "soft".into() });
    let asked = done(&named, &Edit::AnswerCaution { caution: "bleeding".into(), yes: Some(true) });
    let agreed = agree_at(&asked, NOON).unwrap();
    let record = &agreed.agreements[0];
    assert_eq!((record.variant.as_str(), record.initials.as_str(), record.asked), ("soft", "ab", [0, 1, 14]));
    assert_eq!(record.planned, plan.planned);
    let shown = report(&agreed);
    for side in Side::BOTH {
        let (agreed, areas) = (record.shown.sides.get(side).unwrap(), shown.areas.get(side).unwrap());
        assert!((agreed.removed_pct - areas.removed_pct).abs() <= 0.05 + 1e-9);
        assert!((agreed.added_mm2 - areas.added_mm2).abs() <= 0.5 + 1e-9);
    }
    assert_eq!(seal(&agreed), "whole");
    assert_eq!(open(&to_json(&agreed)).unwrap(), agreed);
    assert_eq!(seal(&open(&to_json(&agreed)).unwrap()), "whole");
}

/// The seal made again from the file alone, with another canonicalizer.
#[test]
fn seal_is_the_sum_of_the_canonical_record() {
    let agreed = agree_at(&whole_plan(&Camera::default()).unwrap(), NOON).unwrap();
    let file: Value = serde_json::from_str(&to_json(&agreed)).unwrap();
    let sum = |value: &Value| {
        let canonical = serde_json_canonicalizer::to_string(value).unwrap();
        Sha256::digest(canonical).iter().map(|byte| format!("{byte:02x}")).collect::<String>()
    };
    let mut record = file["agreements"][0].clone();
    let sealed = record["seal_sha256"].take();
    record["seal_sha256"] = json!("");
    assert_eq!(json!(sum(&record)), sealed);
    let members =
        ["format", "version", "photo", "landmarks", "frame", "noise", "natural", "planned"].into_iter();
    let mut part: Value = members.map(|name| (name.to_owned(), file[name].clone())).collect();
    part["cautions"] = json!({ "answers": {}, "note": "" });
    part["upkeep"] = json!("");
    assert_eq!(json!(sum(&part)), record["plan_sha256"]);
}

#[test]
fn later_change_breaks_the_seal_and_going_back_mends_it() {
    let plan = whole_plan(&Camera::default()).unwrap();
    let agreed = agree_at(&plan, NOON).unwrap();
    let higher = done(&agreed, &arch(29.5));
    assert_eq!(seal(&higher), "pair_changed");
    let back = Edit::SetOutlines { outlines: higher.agreements[0].planned.clone() };
    assert_eq!(seal(&done(&higher, &back)), "whole");
    let answered = Edit::AnswerCaution { caution: "fever".into(), yes: Some(false) };
    assert_eq!(seal(&done(&agreed, &answered)), "plan_changed");
    assert_eq!(seal(&done(&agreed, &Edit::NoteUpkeep { note: "weekly".into() })), "plan_changed");
    let moved = Edit::PlaceLandmark { landmark: "pupil.right".into(), x_px: 500.0, y_px: 600.0 };
    assert_eq!(seal(&done(&agreed, &moved)), "plan_changed");
    // What moves no outline of hers breaks nothing.
    for edit in [
        Edit::KeepVariant { name: "other".into() },
        Edit::SetLimits { limits: counterpoise_plan::Limits { removed_pct: 9.0, ..agreed.limits.clone() } },
        Edit::SetCase { case: counterpoise_plan::Case { note: "came again".into(), ..agreed.case.clone() } },
    ] {
        assert_eq!(seal(&done(&agreed, &edit)), "whole", "{edit:?}");
    }
    // Agreed anew, the latest counts.
    let anew = agree_at(&higher, "2026-11-28T12:10:00+01:00").unwrap();
    assert_eq!((anew.agreements.len(), seal(&anew)), (2, "whole"));
}

#[test]
fn changed_record_is_told_from_a_changed_plan() {
    let agreed = agree_at(&whole_plan(&Camera::default()).unwrap(), NOON).unwrap();
    let text = to_json(&agreed);
    for (from, to) in [("\"ab\"", "\"cd\""), (NOON, "2026-11-28T13:00:00+01:00")] {
        assert!(text.contains(from), "{text}");
        assert_eq!(seal(&open(&text.replace(from, to)).unwrap()), "record_changed");
    }
}

#[test]
fn clock_set_back_is_noticed_and_stops_nobody() {
    let plan = whole_plan(&Camera::default()).unwrap();
    let clock_back = |plan: &Plan| report(plan).agreement.unwrap().clock_back;
    let first = agree_at(&plan, NOON).unwrap();
    assert!(!clock_back(&first));
    // The same hour elsewhere on earth is later or earlier.
    assert!(clock_back(&agree_at(&first, "2026-11-28T12:30:00+02:00").unwrap()));
    assert!(!clock_back(&agree_at(&first, "2026-11-28T11:30:00+00:00").unwrap()));
    let case = counterpoise_plan::Case { date: "2026-12-01".into(), ..plan.case.clone() };
    assert!(clock_back(&agree_at(&done(&plan, &Edit::SetCase { case }), NOON).unwrap()));
}

#[test]
fn agreement_that_says_nothing_is_refused() {
    let plan = whole_plan(&Camera::default()).unwrap();
    let code = |plan: &Plan, at: &str, initials: &str, strokes: Vec<Vec<[f64; 2]>>| {
        apply(plan, &Edit::Agree { at: at.into(), initials: initials.into(), strokes }).unwrap_err().code
    };
    assert_eq!(code(&Plan::default(), NOON, "ab", strokes()), "planned_first");
    assert_eq!(code(&plan, "yesterday", "ab", strokes()), "bad_moment");
    assert_eq!(code(&plan, NOON, "  ", strokes()), "initials_first");
    assert_eq!(code(&plan, NOON, "abcdefghijklm", strokes()), "text_too_long");
    assert_eq!(code(&plan, NOON, "ab", vec![vec![[500.0, 500.0]]]), "signature_too_short");
    let mut full = plan.clone();
    for _ in 0..12 {
        full = agree_at(&full, NOON).unwrap();
    }
    assert_eq!(agree_at(&full, NOON).unwrap_err().code, "too_many_agreements");
}
