//! The teacher's file.

use counterpoise_geometry::{Landmark, Measure};
use counterpoise_plan::notation::Read;
use counterpoise_plan::{Plan, field::FILE_BYTES, report, validate};
use serde::{Deserialize, Serialize};

use crate::TeachingError;
use crate::document::{check_names, read_as, text_of};

/// The value of [`Exercise::format`].
pub const FORMAT: &str = "counterpoise-exercise";
/// An exercise holds two plans and some goals, bytes.
const MOST_BYTES: usize = 3 * FILE_BYTES;
/// Goals of one exercise.
const MOST_GOALS: usize = 50;
/// Marks of one goal.
const MOST_POINTS: f64 = 1000.0;
/// Limits of goals, mm or %: wider than any brow.
const MOST_LIMIT: f64 = 1000.0;

/// A case to work on, the teacher's own solution, and what counts.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Exercise {
    /// Always [`FORMAT`].
    pub format: String,
    /// The version of this document, 1 or more.
    pub version: u32,
    /// A name in file names and results: letters, digits and hyphens.
    pub id: String,
    /// What it is called.
    #[serde(default)]
    pub title: String,
    /// What is to be done, in the teacher's words.
    #[serde(default)]
    pub task: String,
    /// The name of the picture file that lies beside this one, or empty: the photo of both plans.
    #[serde(default)]
    pub picture: String,
    /// The plan that the learner begins with. Natural brows and settings are marked as they are here, whatever is handed in.
    pub given: Plan,
    /// The teacher's solution.
    pub key: Plan,
    /// What counts.
    pub goals: Vec<Goal>,
}

/// What counts, and how much. Each thing that a goal asks for is met or not; its marks are shared evenly among them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(tag = "aim", rename_all = "snake_case", deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum Goal {
    /// Landmarks lie near those of the key.
    Landmarks {
        /// Marks for all of them.
        points: f64,
        /// Their ids.
        landmarks: Vec<String>,
        /// So near, mm.
        within_mm: f64,
    },
    /// Measures of the planned outlines are those of the key, on both sides.
    Measures {
        /// Marks for all of them.
        points: f64,
        /// Their ids, such as `arch_out`.
        measures: Vec<String>,
        /// So near, in the measure's unit.
        within: f64,
    },
    /// The planned pair is even.
    Asymmetry {
        /// Marks.
        points: f64,
        /// Mean distance of the mirrored outlines, mm.
        at_most_mm: f64,
    },
    /// Little natural brow is removed, on each side.
    Removed {
        /// Marks for both sides.
        points: f64,
        /// % of the natural brow.
        at_most_pct: f64,
    },
    /// Little skin is added, on each side.
    Added {
        /// Marks for both sides.
        points: f64,
        /// % of the natural brow's area.
        at_most_pct: f64,
    },
    /// The pose in which the plan fails is named.
    FailingPose {
        /// Marks.
        points: f64,
        /// The id of a recorded pose of the given plan.
        pose: String,
    },
}

impl Goal {
    /// Its marks.
    #[must_use]
    pub const fn points(&self) -> f64 {
        match self {
            Goal::Landmarks { points, .. }
            | Goal::Measures { points, .. }
            | Goal::Asymmetry { points, .. }
            | Goal::Removed { points, .. }
            | Goal::Added { points, .. }
            | Goal::FailingPose { points, .. } => *points,
        }
    }

    /// How near or how little.
    const fn limit(&self) -> f64 {
        match self {
            Goal::Landmarks { within_mm: limit, .. }
            | Goal::Measures { within: limit, .. }
            | Goal::Asymmetry { at_most_mm: limit, .. }
            | Goal::Removed { at_most_pct: limit, .. }
            | Goal::Added { at_most_pct: limit, .. } => *limit,
            Goal::FailingPose { .. } => 1.0,
        }
    }
}

/// Reads an exercise and checks that it can be marked.
///
/// # Errors
/// What is wrong with it, and with which goal.
pub fn read_exercise(text: &str) -> Result<Exercise, TeachingError> {
    let exercise: Exercise = read_as(text_of(text, MOST_BYTES)?, FORMAT, "not_an_exercise")?;
    check(&exercise)?;
    Ok(exercise)
}

fn check(exercise: &Exercise) -> Result<(), TeachingError> {
    validate(&exercise.given).map_err(|error| TeachingError::of_plan("given_refused", error))?;
    validate(&exercise.key).map_err(|error| TeachingError::of_plan("key_refused", error))?;
    check_names(&exercise.id, &exercise.picture)?;
    if exercise.goals.is_empty() || exercise.goals.len() > MOST_GOALS {
        return Err(TeachingError::new("no_goals"));
    }
    let (key, given) = (report(&exercise.key), report(&exercise.given));
    for (index, goal) in exercise.goals.iter().enumerate() {
        let wrong = |code: &'static str, subject: &str| {
            Err(TeachingError::new(code).about(subject).of_part(index + 1))
        };
        if !(goal.points() > 0.0 && goal.points() <= MOST_POINTS) {
            return wrong("bad_points", "");
        }
        if !(goal.limit() > 0.0 && goal.limit() <= MOST_LIMIT) {
            return wrong("bad_limit", "");
        }
        match goal {
            Goal::Landmarks { landmarks, .. } => {
                if landmarks.is_empty() {
                    return wrong("unknown", "");
                }
                if key.frame.is_none() {
                    return wrong("key_lacks", "frame");
                }
                for id in landmarks {
                    if Landmark::from_id(id).is_none() {
                        return wrong("unknown", id);
                    }
                    if !exercise.key.landmarks.contains_key(id) {
                        return wrong("key_lacks", id);
                    }
                }
            }
            Goal::Measures { measures, .. } => {
                if measures.is_empty() {
                    return wrong("unknown", "");
                }
                for id in measures {
                    let Some(row) = key.planned.iter().find(|row| row.id == *id) else {
                        let is_known = Measure::from_id(id).is_some();
                        return wrong(if is_known { "key_lacks" } else { "unknown" }, id);
                    };
                    if row.sides.right.is_none() && row.sides.left.is_none() {
                        return wrong("key_lacks", id);
                    }
                }
            }
            Goal::Asymmetry { .. } | Goal::Removed { .. } | Goal::Added { .. } => {
                if given.natural_symmetry.is_none() {
                    return wrong("given_lacks", "natural");
                }
            }
            Goal::FailingPose { pose, .. } => {
                if !exercise.given.poses.contains_key(pose) {
                    return wrong("given_lacks", pose);
                }
            }
        }
    }
    Ok(())
}
