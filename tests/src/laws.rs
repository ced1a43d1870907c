//! What holds of every plan, edit and file, whatever it is. Each of these panics where it does not hold, so that tests by chance and a fuzzer can use it.

use counterpoise_geometry::{PerSide, SortedMap};
use counterpoise_plan::{
    BalanceCurve, Edit, Outline, Plan, PlanError, SvgOptions, apply, balance_curve, codes, frame, open,
    read_edit, svg, to_json, validate,
};
use counterpoise_sheet::{Mark, Paper, Sheet, SheetOptions, csv, pdf};
use counterpoise_teaching::{Marker, Work, read_exercise, read_lesson, read_set, read_submission, read_work};
use counterpoise_vision::{Network, OUTPUTS, Picture};
use kurbo::Affine;

fn is_known(refusal: &PlanError) {
    assert!(codes::refused::ALL.iter().any(|code| code.code == refusal.code), "{}", refusal.code);
}

/// A plan that may exist can be drawn, measured, written down, read again and passed on.
///
/// # Panics
/// Where it cannot; so does everything below.
pub fn plan_can_be_used(plan: &Plan) {
    assert_eq!(validate(plan), Ok(()));
    let (scene, report) = frame(plan);
    assert!(scene.bounds_mm.iter().all(|edge| edge.is_finite()));
    assert!(report.problems.iter().all(|problem| !problem.code.is_empty()));
    let text = to_json(plan);
    assert_eq!(open(&text).as_ref(), Ok(plan), "{text}");
    assert_eq!(to_json(plan), text);
}

/// A file is a plan that can be used, or is refused with a reason that the page has words for.
pub fn plan_file_opens_or_is_refused(text: &str) {
    match open(text) {
        Ok(plan) => {
            plan_can_be_used(&plan);
            let drawn = svg(&plan, &SvgOptions::default());
            assert!(drawn.trim_end().ends_with("</svg>"));
            let passed_on = plan.shareable();
            assert_eq!(open(&to_json(&passed_on)).as_ref(), Ok(&passed_on));
        }
        Err(refusal) => is_known(&refusal),
    }
}

/// An edit leaves a plan that can be used, or is refused and changes nothing. Gives the plan after all of them.
#[must_use]
pub fn edits_keep_the_plan_usable(start: Plan, edits: &[Edit]) -> Plan {
    let mut plan = start;
    for edit in edits {
        let before = plan.clone();
        match apply(&plan, edit) {
            Ok(next) => {
                plan_can_be_used(&next);
                assert_eq!(plan, before, "the old plan is never changed");
                plan = next;
            }
            Err(refusal) => {
                is_known(&refusal);
                assert!(refusal.values.values().all(|v| v.is_finite()) || refusal.code == "outline_invalid");
                assert_eq!(plan, before, "a refused edit changes nothing");
            }
        }
    }
    plan
}

/// What is written as an edit is one, which may be done, or is refused.
pub fn edit_text_is_done_or_refused(plan: &Plan, text: &str) {
    match read_edit(text) {
        Ok(edit) => {
            let _ = edits_keep_the_plan_usable(plan.clone(), &[edit]);
        }
        Err(refusal) => is_known(&refusal),
    }
}

/// A balance is refused with a reason, or every pair of it may be taken.
pub fn balance_is_found_or_refused(plan: &Plan, added_pct: f64) {
    let curve: BalanceCurve = match balance_curve(plan, added_pct) {
        Ok(curve) => curve,
        Err(refusal) => return is_known(&refusal),
    };
    assert!(!curve.points.is_empty());
    for point in &curve.points {
        assert!(point.asymmetry_mm.is_finite() && point.asymmetry_mm >= 0.0);
        let outlines: PerSide<Option<Outline>> = point.outlines.clone().map(Some);
        let taken = apply(plan, &Edit::SetOutlines { outlines });
        assert!(taken.is_ok(), "{taken:?}");
    }
}

/// A sheet is made of any plan or refused with a reason; every mark lies at a finite place.
pub fn sheet_is_made_or_refused(plan: &Plan, options: &SheetOptions) {
    let sheet = match Sheet::of(plan, options) {
        Ok(sheet) => sheet,
        Err(refusal) => {
            let expected = ["planned_first", "pose_first", "out_of_range", "not_finite"];
            return assert!(expected.contains(&refusal.code), "{}", refusal.code);
        }
    };
    for mark in sheet.pages.iter().flat_map(|page| &page.marks) {
        let is_placed = match mark {
            Mark::Line { points, .. } => points.iter().all(|at| at.is_finite()),
            Mark::Text { at, size_mm, .. } => at.is_finite() && *size_mm > 0.0,
        };
        assert!(is_placed, "{mark:?}");
    }
    assert!(pdf(&sheet).starts_with(b"%PDF"));
    assert!(sheet.pages.iter().all(|page| counterpoise_sheet::svg(page).ends_with("</svg>\n")));
    assert!(csv(&sheet).lines().count() > sheet.rows.len());
}

/// Options of a sheet that change nothing.
#[must_use]
pub fn plain_sheet(words: &SortedMap<String, String>) -> SheetOptions<'_> {
    SheetOptions { paper: Paper::A4, mirrored: false, date: "", printed_bar_mm: None, pose: None, words }
}

/// Whatever a teacher's or learner's file says, it is read or refused; an exercise that is read can be marked and worked on.
pub fn teaching_file_is_read_or_refused(text: &str) {
    let _ = read_set(text);
    let _ = read_submission(text);
    if let Ok(told) = read_lesson(text) {
        told.scenes.iter().for_each(|(_, plan)| plan_can_be_used(plan));
    }
    let Ok(exercise) = read_exercise(text) else { return };
    let work = Work::of(&exercise, &exercise.given, SortedMap::new());
    let kept = counterpoise_plan::notation::write(&work);
    let again = read_work(&kept).unwrap_or_else(|error| panic!("{error:?}: {kept}"));
    let resumed = again.resumed(&exercise);
    assert!(resumed.is_ok(), "{resumed:?}");
    let _ = Marker::new(exercise);
}

/// What is handed in or kept for an exercise is marked, resumed or refused.
pub fn work_is_marked_or_refused(marker: &Marker, text: &str) {
    if let Ok(submission) = read_submission(text)
        && let Ok(mark) = marker.mark(&submission)
    {
        assert!(mark.score.is_finite());
    }
    if let Ok(work) = read_work(text)
        && let Ok(plan) = work.resumed(marker.exercise())
    {
        plan_can_be_used(&plan);
    }
}

/// A network's file is read or refused, and what was read can be asked, or says that it cannot.
pub fn network_file_is_read_or_refused(file: &[u8]) {
    /// Largest picture that is asked for here, numbers.
    const MOST: usize = 4096;
    let Ok(network) = Network::read(file, &OUTPUTS) else { return };
    let asked = network.input_shape().iter().try_fold(1_usize, |all, one| all.checked_mul(*one));
    if let Some(count) = asked.filter(|count| *count <= MOST) {
        let _ = network.run(&vec![0.5; count]);
    }
}

/// A patch of any picture by any map has as many numbers as it should, each a colour.
pub fn patch_of_any_picture_is_a_patch(bytes: &[u8], size: [usize; 2], channels: usize, map: [f64; 6]) {
    let Some(picture) = Picture::new(bytes, size[0], size[1], channels) else { return };
    let (columns, rows) = (5, 3);
    let patch = picture.patch(columns, rows, Affine::new(map));
    assert_eq!(patch.len(), columns * rows * 3);
    assert!(patch.iter().all(|value| (-1e-3..=1.001).contains(value)), "{patch:?}");
}
