//! How near a submission comes to the goals of an exercise.

use counterpoise_geometry::{Landmark, PerSide, Side};
use counterpoise_plan::{Plan, Report, report};
use serde::Serialize;

use crate::document::cut;
use crate::exercise::{Exercise, Goal};
use crate::{Submission, TeachingError};

/// All marks together.
const FULL: f64 = 100.0;
/// Rounding of sums never costs a mark: values so much over a limit are on it.
const ON_LIMIT: f64 = 1e-9;
/// Scores are rounded to one of so many parts.
const PARTS: f64 = 100.0;
/// Distances are told to one of so many parts of a mm: sines differ in their last digits from machine to machine.
const TOLD_PARTS: f64 = 1e6;

/// The result.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Mark {
    /// The exercise.
    pub exercise: String,
    /// 0 to 100, rounded to 0.01.
    pub score: f64,
    /// Each thing that was asked for, goal by goal.
    pub items: Vec<Item>,
}

/// One thing that was asked for.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Item {
    /// Which goal, counted from 1.
    pub goal: usize,
    /// `met`, `off` (not near the key), `over` (a limit), `missing` (nothing to mark) or `wrong` (an answer).
    pub outcome: &'static str,
    /// A landmark, a measure, `asymmetry`, `removed`, `added` or `failing_pose`.
    pub subject: String,
    /// The side, where it has one.
    pub side: Option<Side>,
    /// Marks of 100 that it is worth.
    pub worth: f64,
    /// Marks of 100 that were given.
    pub earned: f64,
    /// How far off, in the item's own unit (mm, or a measure's or limit's unit): the distance from the key, or the value itself where the goal is a
    /// limit.
    pub value: Option<f64>,
    /// Where the goal ends, in the same unit.
    pub limit: Option<f64>,
    /// Where a landmark lies from the key's: mm outwards from the centre line (towards the client's left for one on it) and up.
    pub from_key_mm: Option<[f64; 2]>,
    /// The key's own value of a measure.
    pub key: Option<f64>,
}

/// An exercise made ready to mark many submissions.
pub struct Marker {
    exercise: Exercise,
    key: Report,
}

impl Marker {
    /// Of an exercise that was read by [`read_exercise`](crate::read_exercise).
    #[must_use]
    pub fn new(exercise: Exercise) -> Marker {
        let key = report(&exercise.key);
        Marker { exercise, key }
    }

    /// The exercise.
    #[must_use]
    pub fn exercise(&self) -> &Exercise {
        &self.exercise
    }

    /// Marks a submission. Its landmarks and planned outlines count, its natural brows and settings do not: those are the exercise's.
    ///
    /// # Errors
    /// `other_exercise` where it says that it belongs to another one.
    pub fn mark(&self, submission: &Submission) -> Result<Mark, TeachingError> {
        if let Some(id) = submission.exercise.as_ref().filter(|id| **id != self.exercise.id) {
            return Err(TeachingError::new("other_exercise").about(cut(id)));
        }
        let marked = Plan { planned: submission.plan.planned.clone(), ..self.exercise.given.clone() };
        let report = report(&marked);
        let all: f64 = self.exercise.goals.iter().map(Goal::points).sum();
        let mut items = Vec::new();
        for (index, goal) in self.exercise.goals.iter().enumerate() {
            let mut found = self.items(goal, submission, &report);
            let worth = FULL * goal.points() / all / found.len().max(1) as f64;
            for item in &mut found {
                item.goal = index + 1;
                item.worth = worth;
                item.earned = if item.outcome == "met" { worth } else { 0.0 };
                item.round();
            }
            items.append(&mut found);
        }
        let score: f64 = items.iter().map(|item| item.earned).sum();
        Ok(Mark { exercise: self.exercise.id.clone(), score: (score * PARTS).round() / PARTS, items })
    }

    fn items(&self, goal: &Goal, submission: &Submission, report: &Report) -> Vec<Item> {
        match goal {
            Goal::Landmarks { landmarks, within_mm, .. } => {
                landmarks.iter().map(|id| self.landmark(id, *within_mm, &submission.plan)).collect()
            }
            Goal::Measures { measures, within, .. } => {
                measures.iter().flat_map(|id| self.measure(id, *within, report)).collect()
            }
            Goal::Asymmetry { at_most_mm, .. } => {
                let value = report.planned_symmetry.as_ref().map(|pair| pair.mean_distance_mm);
                vec![at_most("asymmetry", None, value, *at_most_mm)]
            }
            Goal::Removed { at_most_pct, .. } => Side::BOTH
                .map(|side| {
                    let value = report.areas.get(side).as_ref().map(|areas| areas.removed_pct);
                    at_most("removed", Some(side), value, *at_most_pct)
                })
                .into(),
            Goal::Added { at_most_pct, .. } => Side::BOTH
                .map(|side| {
                    let value = report.areas.get(side).as_ref().map(|areas| areas.added_pct);
                    at_most("added", Some(side), value, *at_most_pct)
                })
                .into(),
            Goal::FailingPose { pose, .. } => {
                let outcome = match submission.answers.get("failing_pose") {
                    None => "missing",
                    Some(answer) if answer == pose => "met",
                    Some(_) => "wrong",
                };
                vec![Item { outcome, ..item("failing_pose") }]
            }
        }
    }

    /// A landmark against the key's, in the key's frame: the learner's own would hide what is off.
    fn landmark(&self, id: &str, within_mm: f64, plan: &Plan) -> Item {
        let landmark = Landmark::from_id(id);
        let side = landmark.and_then(|landmark| landmark.side());
        let blank = Item { side, limit: Some(within_mm), ..item(id) };
        let (Some(wanted), Some(placed), Some(frame)) =
            (self.exercise.key.landmarks.get(id), plan.landmarks.get(id), &self.key.frame)
        else {
            return blank;
        };
        let (sin, cos) = frame.roll_deg.to_radians().sin_cos();
        let [right, down] = [placed.x_px - wanted.x_px, placed.y_px - wanted.y_px];
        // Roll is positive where the client's left sits higher; her left is the picture's right unless it is mirrored.
        let mirror =
            if self.exercise.key.photo.as_ref().is_some_and(|photo| photo.mirrored) { -1.0 } else { 1.0 };
        let to_left = (mirror * right * cos - down * sin) / frame.px_per_mm;
        let up = (-mirror * right * sin - down * cos) / frame.px_per_mm;
        let out = side.map_or(to_left, |side| side.sign() * to_left);
        let off = out.hypot(up);
        let outcome = if off <= within_mm + ON_LIMIT { "met" } else { "off" };
        Item { outcome, value: Some(off), from_key_mm: Some([out, up]), ..blank }
    }

    fn measure(&self, id: &str, within: f64, report: &Report) -> Vec<Item> {
        let sides = |report: &Report| {
            let row = report.planned.iter().find(|row| row.id == id);
            row.map_or(PerSide::default(), |row| row.sides.map(|side| side.map(|found| found.value)))
        };
        let (key, planned) = (sides(&self.key), sides(report));
        let of = |side: Side| {
            let key = (*key.get(side))?;
            let blank = Item { side: Some(side), limit: Some(within), key: Some(key), ..item(id) };
            let Some(value) = planned.get(side) else { return Some(blank) };
            let off = value - key;
            let outcome = if off.abs() <= within + ON_LIMIT { "met" } else { "off" };
            Some(Item { outcome, value: Some(off), ..blank })
        };
        Side::BOTH.into_iter().filter_map(of).collect()
    }
}

impl Item {
    /// Leaves of each distance what is the same on every machine.
    fn round(&mut self) {
        let round = |value: f64| (value * TOLD_PARTS).round() / TOLD_PARTS;
        for value in [&mut self.value, &mut self.key] {
            *value = value.map(round);
        }
        self.from_key_mm = self.from_key_mm.map(|place| place.map(round));
    }
}

/// Nothing there yet.
fn item(subject: &str) -> Item {
    Item {
        goal: 0,
        outcome: "missing",
        subject: subject.to_owned(),
        side: None,
        worth: 0.0,
        earned: 0.0,
        value: None,
        limit: None,
        from_key_mm: None,
        key: None,
    }
}

fn at_most(subject: &str, side: Option<Side>, value: Option<f64>, limit: f64) -> Item {
    let outcome = match value {
        None => "missing",
        Some(value) if value <= limit + ON_LIMIT => "met",
        Some(_) => "over",
    };
    Item { outcome, side, value, limit: Some(limit), ..item(subject) }
}
