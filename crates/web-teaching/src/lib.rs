//! Lessons and exercises for the page, as a module of their own: who is not taught never loads it.
//!
//! Stateless like `counterpoise-web`, whose rules hold here too. What goes in and out structured is JSON text.

use counterpoise_plan::notation::{read, write};
use counterpoise_plan::{Kind, SortedMap, open, to_json};
use counterpoise_teaching::{
    Brows, Exercise, Goal, Marker, Set, Submission, TeachingError, Work, read_exercise, read_lesson,
    read_set, read_work,
};
use serde::Serialize;
use wasm_bindgen::JsValue;
use wasm_bindgen::prelude::wasm_bindgen;

/// Panics reach the console with their place in the source.
#[wasm_bindgen(start)]
pub fn start() {
    console_error_panic_hook::set_once();
}

#[derive(Serialize)]
struct ShownLesson<'a> {
    id: &'a str,
    title: &'a str,
    text: &'a str,
    picture: &'a str,
    steps: Vec<ShownStep<'a>>,
}

#[derive(Serialize)]
struct ShownStep<'a> {
    show: &'static str,
    text: &'a str,
    why: &'a str,
    /// `null` where it shows no pose.
    pose: Option<&'a str>,
    kinds: &'static [Kind],
    measures: &'static [&'static str],
    /// `natural` or `planned`.
    brows: &'static str,
    plan: String,
}

/// A lesson: `{id, title, text, picture, steps: [{show, text, why, pose, kinds, measures, brows, plan}]}`, each step with the text of the plan as it is then.
///
/// # Errors
/// Throws `{code, part, subject, plan}`; so does everything below.
#[wasm_bindgen]
pub fn lesson(text: &str) -> Result<JsValue, JsValue> {
    let told = read_lesson(text).map_err(refusal)?;
    let steps = told.lesson.steps.iter().zip(&told.scenes).map(|(step, (construction, plan))| ShownStep {
        show: construction.id,
        text: &step.text,
        why: &step.why,
        pose: construction.in_pose.then_some(step.pose.as_str()),
        kinds: construction.kinds,
        measures: construction.measures,
        brows: match construction.brows {
            Brows::Natural => "natural",
            Brows::Planned => "planned",
        },
        plan: to_json(plan),
    });
    to_js(&ShownLesson {
        id: &told.lesson.id,
        title: &told.lesson.title,
        text: &told.lesson.text,
        picture: &told.lesson.picture,
        steps: steps.collect(),
    })
}

#[derive(Serialize)]
struct ShownExercise<'a> {
    id: &'a str,
    title: &'a str,
    task: &'a str,
    picture: &'a str,
    given: String,
    key: String,
    goals: &'a [Goal],
    /// Poses among which the one in which the plan fails is to be named; empty where that is not asked.
    poses: Vec<&'a String>,
}

/// An exercise: `{id, title, task, picture, given, key, goals, poses}` with the texts of both plans.
///
/// # Errors
/// Where it cannot be marked.
#[wasm_bindgen]
pub fn exercise(text: &str) -> Result<JsValue, JsValue> {
    let exercise = read_exercise(text).map_err(refusal)?;
    let asks = exercise.goals.iter().any(|goal| matches!(goal, Goal::FailingPose { .. }));
    to_js(&ShownExercise {
        id: &exercise.id,
        title: &exercise.title,
        task: &exercise.task,
        picture: &exercise.picture,
        given: to_json(&exercise.given),
        key: to_json(&exercise.key),
        goals: &exercise.goals,
        poses: exercise.given.poses.keys().filter(|_| asks).collect(),
    })
}

/// A set: `{id, title, pass, items: [{lesson} | {exercise}]}`.
///
/// # Errors
/// Where it cannot be used.
#[wasm_bindgen]
pub fn set(text: &str) -> Result<JsValue, JsValue> {
    let set: Set = read_set(text).map_err(refusal)?;
    to_js(&set)
}

/// How near a plan comes to the goals: `{exercise, score, items}`. `answers` are texts by what is asked.
///
/// # Errors
/// Where the exercise or the plan cannot be used.
#[wasm_bindgen]
pub fn mark(exercise: &str, plan: &str, answers: &str) -> Result<JsValue, JsValue> {
    let marker = Marker::new(read_exercise(exercise).map_err(refusal)?);
    let submission = Submission {
        exercise: None,
        plan: open(plan).map_err(|error| JsValue::from_str(&error.to_string()))?,
        answers: answers_of(answers)?,
    };
    to_js(&marker.mark(&submission).map_err(refusal)?)
}

/// What was done of an exercise, as the text that is kept to go on from.
///
/// # Errors
/// As [`mark`].
#[wasm_bindgen]
pub fn work(exercise: &str, plan: &str, answers: &str) -> Result<String, JsValue> {
    let exercise = read_exercise(exercise).map_err(refusal)?;
    let plan = open(plan).map_err(|error| JsValue::from_str(&error.to_string()))?;
    Ok(write(&Work::of(&exercise, &plan, answers_of(answers)?)))
}

/// `{plan, answers}`: the exercise's plan with what was kept in it.
///
/// # Errors
/// Where it belongs to another exercise, or is damaged.
#[wasm_bindgen]
pub fn resumed(exercise: &str, work: &str) -> Result<JsValue, JsValue> {
    #[derive(Serialize)]
    struct Resumed<'a> {
        plan: String,
        answers: &'a SortedMap<String, String>,
    }
    let exercise: Exercise = read_exercise(exercise).map_err(refusal)?;
    let work = read_work(work).map_err(refusal)?;
    let plan = work.resumed(&exercise).map_err(refusal)?;
    to_js(&Resumed { plan: to_json(&plan), answers: &work.answers })
}

fn answers_of(text: &str) -> Result<SortedMap<String, String>, JsValue> {
    read(text).map_err(|error| JsValue::from_str(&error.to_string()))
}

fn to_js(value: &impl Serialize) -> Result<JsValue, JsValue> {
    js_sys::JSON::parse(&write(value))
}

fn refusal(error: TeachingError) -> JsValue {
    to_js(&error).unwrap_or_else(|_| JsValue::from_str(&error.to_string()))
}
