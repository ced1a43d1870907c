//! Pairs kept by name.

use counterpoise_geometry::Side;
use counterpoise_plan::{Edit, Plan, PlanError, apply, open, same_frame, to_json};
use counterpoise_tests::cases::{Camera, whole_plan};

fn done(plan: &Plan, edit: Edit) -> Plan {
    apply(plan, &edit).expect("the edit is taken")
}

fn code(result: Result<Plan, PlanError>) -> &'static str {
    result.expect_err("it is refused").code
}

fn names(plan: &Plan) -> Vec<&str> {
    plan.variants.iter().map(|variant| variant.name.as_str()).collect()
}

fn higher(plan: &Plan) -> Plan {
    done(plan, Edit::SetParam { side: Side::Right, param: "arch_y".into(), value: 29.5, linked: true })
}

#[test]
fn variant_is_kept_taken_copied_renamed_and_forgotten() {
    let plan = whole_plan(&Camera::default()).unwrap();
    assert!(!to_json(&plan).contains("variants"), "none are not written");
    let kept = done(&plan, Edit::KeepVariant { name: "soft".into() });
    assert_eq!(names(&kept), ["soft"]);
    assert!(same_frame(&plan, &kept), "keeping draws nothing new");
    let other = done(&higher(&kept), Edit::KeepVariant { name: "high".into() });
    assert_eq!(names(&other), ["soft", "high"]);
    let back = done(&other, Edit::TakeVariant { name: "soft".into() });
    assert_eq!((&back.planned, &back.variants), (&plan.planned, &other.variants));
    let copied = done(&back, Edit::DuplicateVariant { name: "soft".into(), to: "soft 2".into() });
    assert_eq!(names(&copied), ["soft", "soft 2", "high"]);
    let renamed = done(&copied, Edit::RenameVariant { name: "soft 2".into(), to: "évasée".into() });
    let fewer = done(&renamed, Edit::RemoveVariant { name: "soft".into() });
    assert_eq!(names(&fewer), ["évasée", "high"]);
    assert_eq!(fewer.variants[0].planned, plan.planned);
    // The same name keeps anew.
    let anew = done(&higher(&fewer), Edit::KeepVariant { name: "évasée".into() });
    assert_eq!(anew.variants[0].planned, anew.variants[1].planned);
    assert_eq!(open(&to_json(&anew)).unwrap(), anew);
}

/// The sides of a variant change with those of the plan.
#[test]
fn mirrored_switch_swaps_variants_too() {
    let plan = whole_plan(&Camera::default()).unwrap();
    let one_side = Edit::SetParam { side: Side::Right, param: "arch_y".into(), value: 29.5, linked: false };
    let kept = done(&done(&plan, one_side), Edit::KeepVariant { name: "a".into() });
    let turned = done(&kept, Edit::SetMirrored { mirrored: true });
    assert_eq!(turned.variants[0].planned.left, kept.variants[0].planned.right);
    assert_eq!(turned.variants[0].planned, turned.planned);
}

#[test]
fn what_cannot_be_kept_changes_nothing() {
    let plan = whole_plan(&Camera::default()).unwrap();
    let keep = |plan: &Plan, name: &str| apply(plan, &Edit::KeepVariant { name: name.into() });
    assert_eq!(code(keep(&Plan::default(), "a")), "planned_first");
    assert_eq!(code(keep(&plan, "  ")), "name_empty");
    assert_eq!(code(keep(&plan, &"n".repeat(41))), "text_too_long");
    let full = (0..8).fold(plan, |plan, n| keep(&plan, &format!("v{n}")).unwrap());
    assert_eq!(code(keep(&full, "one more")), "too_many_variants");
    assert!(keep(&full, "v3").is_ok(), "a name that is there takes no more room");
    assert_eq!(code(apply(&full, &Edit::TakeVariant { name: "w".into() })), "unknown_variant");
    let rename = Edit::RenameVariant { name: "v1".into(), to: "v2".into() };
    assert_eq!(code(apply(&full, &rename)), "name_taken");
}
