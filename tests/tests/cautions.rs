//! What is asked before anything is agreed: answers are kept and nothing more.

use counterpoise_plan::{
    CAUTIONS, Edit, Plan, PlanError, apply, describe, open, report, same_frame, to_json,
};
use counterpoise_tests::cases::{Camera, whole_plan};

fn answer(plan: &Plan, caution: &str, yes: Option<bool>) -> Result<Plan, PlanError> {
    apply(plan, &Edit::AnswerCaution { caution: caution.into(), yes })
}

#[test]
fn answers_are_kept_taken_back_and_change_no_number() {
    let plan = whole_plan(&Camera::default()).unwrap();
    assert!(!to_json(&plan).contains("cautions"), "nothing asked, nothing written");
    let asked = answer(&answer(&plan, "pregnancy", Some(false)).unwrap(), "bleeding", Some(true)).unwrap();
    assert_eq!((asked.cautions.answers["pregnancy"], asked.cautions.answers["bleeding"]), (false, true));
    assert_eq!(open(&to_json(&asked)).unwrap(), asked);
    assert!(same_frame(&plan, &asked));
    // The tool clears nobody and stops nobody: a yes is no check of the plan.
    assert_eq!(format!("{:?}", report(&plan)), format!("{:?}", report(&asked)));
    let back = answer(&answer(&asked, "bleeding", None).unwrap(), "pregnancy", None).unwrap();
    assert_eq!(back, plan);
    assert_eq!(describe().cautions, CAUTIONS);
}

#[test]
fn what_nobody_asks_is_refused() {
    let plan = Plan::default();
    let code = |result: Result<Plan, PlanError>| result.unwrap_err().code;
    assert_eq!(code(answer(&plan, "shoe_size", Some(true))), "unknown_caution");
    let note = Edit::NoteCautions { note: "n".repeat(2_001) };
    assert_eq!(code(apply(&plan, &note)), "text_too_long");
    let broken = to_json(&plan).replacen('{', "{\"cautions\": {\"answers\": {\"pregnancy\": \"no\"}},", 1);
    assert!(open(&broken).is_err());
}
