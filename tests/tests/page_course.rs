//! Lessons and exercises in the page: worked through by hand, marked as the command line marks, kept, and refused in plain words where a file is bad.

use std::collections::BTreeSet;
use std::path::Path;

use counterpoise_geometry::SortedMap;
use counterpoise_teaching::{CONSTRUCTIONS, Work, read_exercise};
use counterpoise_tests::browser::{Browser, Failure, Outcome, cli_mark, shots_dir, words_of};
use counterpoise_tests::{in_both_browsers, in_both_engines, in_chromium};
use serde_json::{Value, json};

in_both_browsers!(axe_finds_nothing_in_lesson_exercise_and_list);
in_both_engines!(
    a_lesson_is_worked_through,
    an_exercise_is_marked_as_the_command_line_marks_it,
    bad_files_and_addresses_leave_free_exploration
);
in_chromium!(a_lesson_needs_no_pointer);

fn demo(name: &str) -> Value {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo").join(name);
    serde_json::from_str(&std::fs::read_to_string(path).expect("a file of the demo")).expect("JSON")
}

async fn open_list(browser: &Browser) -> Outcome {
    browser.click("#more").await?;
    browser.click("#teaching").await?;
    browser.until("return document.querySelectorAll('.course-row').length === 6").await
}

async fn next(browser: &Browser, to: &str) -> Outcome {
    browser.click("#lesson-next").await?;
    browser
        .until_with(
            "return document.querySelector('.course-count').textContent.startsWith(`${arguments[0]} `)",
            vec![json!(to)],
        )
        .await
}

async fn drawn_kinds(browser: &Browser) -> Result<BTreeSet<String>, Failure> {
    Ok(serde_json::from_value(browser.value("return counterpoise.stage.kinds()").await?)?)
}

async fn a_lesson_is_worked_through(browser: &Browser) -> Outcome {
    browser.ready().await?;
    // Something of her own that must come back.
    browser.click("#more").await?;
    browser.click("#new-case").await?;
    browser.step("hair").await?;
    browser.click("#more").await?;
    browser.click("#demo-case").await?;
    browser.until("return counterpoise.planJson().includes('Marisol')").await?;

    for id in ["even-frame", "low-brow", "strong-muscle"] {
        let lesson = demo(&format!("{id}.lesson.json"));
        let steps = lesson["steps"].as_array().ok_or("steps")?;
        if id == "even-frame" {
            open_list(browser).await?;
            browser.click(&format!(".course-row[data-kind=lesson][data-id={id}]")).await?;
        } else {
            browser.open_anew(&format!("#case={id}&mode=demonstration")).await?;
            browser.ready().await?;
        }
        browser.until("return Boolean(document.getElementById('lesson-next'))").await?;
        assert_eq!(browser.text("#course-title").await?, lesson["title"].as_str().unwrap_or_default());
        assert_eq!(
            browser.value("return getComputedStyle(document.getElementById('steps')).display").await?,
            "none"
        );
        for (index, step) in steps.iter().enumerate() {
            next(browser, &(index + 1).to_string()).await?;
            browser.settle().await?;
            let body = browser.text("#lesson-body").await?;
            assert!(body.contains(step["text"].as_str().unwrap_or_default()), "{id} {index}: {body}");
            // Why, in the teacher's words or the page's own.
            let why = step["why"].as_str().unwrap_or_default();
            let key = format!("lesson.why.{}", step["show"].as_str().unwrap_or_default());
            let words = if why.is_empty() { words_of(&key)? } else { why.to_owned() };
            assert!(body.contains(&words), "{id} {index}: {body}");
            // Each construction is drawn, and it alone: what is on the canvas is of its kinds.
            let construction =
                CONSTRUCTIONS.iter().find(|known| step["show"] == known.id).ok_or("a construction")?;
            let wanted: BTreeSet<String> = construction
                .kinds
                .iter()
                .filter_map(|kind| Some(serde_json::to_value(kind).ok()?.as_str()?.to_owned()))
                .collect();
            assert_eq!(drawn_kinds(browser).await?, wanted, "{id} {index}");
            if let Some(pose) = step["pose"].as_str() {
                browser
                    .until("return document.querySelectorAll('#lesson-lifts tbody tr').length === 3")
                    .await?;
                browser.shows(".stage-note", &format!("pose.{pose}")).await?;
            }
            if ["shaping", "balance", "sheet"].contains(&construction.id) {
                assert!(browser.plan().await?["planned"]["right"].is_object(), "{id} {index}");
            }
            browser.shot(&format!("{id}-{}", index + 1)).await?;
        }
        browser.click("#lesson-back").await?;
        next(browser, &steps.len().to_string()).await?;
        if id == "even-frame" {
            // On to the exercise that follows it in the course, and out of it.
            browser.click("#lesson-next").await?;
            browser.until("return Boolean(document.getElementById('exercise-mark'))").await?;
            assert!(
                browser
                    .value("return location.hash")
                    .await?
                    .as_str()
                    .unwrap_or_default()
                    .contains("mode=exercise")
            );
            browser.click("#course-leave").await?;
            browser.until("return document.getElementById('course').hidden && location.hash === ''").await?;
        }
    }
    // Leaving is free exploration of the same case, with all steps.
    browser.click("#course-leave").await?;
    browser.until("return document.getElementById('course').hidden").await?;
    assert_eq!(
        browser.value("return document.querySelectorAll('#steps [role=tab]:not([hidden])').length").await?,
        10
    );
    browser.step("shape").await
}

async fn select_answer(browser: &Browser, pose: &str) -> Outcome {
    browser.choose_option("#exercise-answer", pose).await
}

async fn score(browser: &Browser) -> Result<Value, Failure> {
    browser.click("#exercise-mark").await?;
    browser.until("return document.querySelectorAll('#exercise-marks li').length > 0 && document.getElementById('exercise-stale').hidden").await?;
    browser.value("return counterpoise.result()").await
}

async fn an_exercise_is_marked_as_the_command_line_marks_it(browser: &Browser) -> Outcome {
    browser.open_anew("#case=strong-muscle&mode=exercise").await?;
    browser.ready().await?;
    browser.watch_files().await?;
    browser.until("return Boolean(document.getElementById('exercise-mark'))").await?;
    let tabs = browser
        .value(
            "return [...document.querySelectorAll('#steps [role=tab]:not([hidden])')].map((tab) => tab.id)",
        )
        .await?;
    assert_eq!(tabs, json!(["step-points", "step-poses", "step-shape", "step-balance", "step-check"]));

    // Nothing done: what is missing is said, and the solution can be looked at from then on.
    assert_eq!(browser.value("return document.getElementById('exercise-solution').hidden").await?, true);
    let empty = score(browser).await?;
    assert_eq!(empty["score"], 0.0);
    browser.click("#exercise-solution").await?;
    browser.settle().await?;
    browser.shot("solution").await?;
    browser.click("#exercise-solution").await?;

    // Half of it: the answer, and the mean of both brows.
    select_answer(browser, "upright_open_raised").await?;
    browser.step("shape").await?;
    browser.click("#start-mean").await?;
    browser.until("return Boolean(JSON.parse(counterpoise.planJson()).planned.right)").await?;
    let half = score(browser).await?;
    browser.shot("half").await?;
    let handed_in = String::from_utf8(browser.file_of("#exercise-hand-in").await?)?;
    let marked =
        cli_mark("demo/strong-muscle.exercise.json", &handed_in, &format!("half-{:?}", browser.engine))?;
    assert_eq!((&half["score"], &half["items"]), (&marked["score"], &marked["items"]));
    let missed: Vec<&Value> =
        half["items"].as_array().ok_or("items")?.iter().filter(|item| item["outcome"] != "met").collect();
    assert!(!missed.is_empty() && half["score"].as_f64() > Some(30.0), "{half:#}");
    // Each says what is off by how much.
    for item in missed {
        let css = format!(
            "#exercise-marks li[data-subject='{}']:not([data-outcome=met])",
            item["subject"].as_str().unwrap_or_default()
        );
        let said = browser.text(&css).await?;
        assert!(said.chars().any(|letter| letter.is_ascii_digit()), "{said}");
    }

    // Kept on the device: work, answer and score come back.
    browser.pause(600).await;
    let before = browser.plan().await?["planned"].clone();
    browser.open_anew("#case=strong-muscle&mode=exercise").await?;
    browser.ready().await?;
    browser.until("return Boolean(document.getElementById('exercise-mark'))").await?;
    let after = browser.plan().await?["planned"].clone();
    assert_eq!(before, after);
    assert_eq!(
        browser.value("return document.getElementById('exercise-answer').value").await?,
        "upright_open_raised"
    );
    assert!(
        browser
            .text("#exercise-score")
            .await?
            .contains(&half["score"].as_f64().unwrap_or_default().round().to_string())
    );

    // The teacher's own pair, as work that was kept, is worth all.
    let exercise =
        read_exercise(&demo("low-brow.exercise.json").to_string()).map_err(|error| error.to_string())?;
    let work = serde_json::to_string(&Work::of(&exercise, &exercise.key, SortedMap::new()))?;
    browser
        .value_with(
            "localStorage.setItem('counterpoise.exercise.low-brow.work', JSON.stringify(arguments[0]))",
            vec![json!(work)],
        )
        .await?;
    browser.open_anew("#case=low-brow&mode=exercise").await?;
    browser.ready().await?;
    browser.until("return Boolean(document.getElementById('exercise-mark'))").await?;
    assert_eq!(score(browser).await?["score"], 100.0);
    // Begun anew it is worth what the given plan is.
    browser.click("#exercise-again").await?;
    browser.until("return JSON.parse(counterpoise.planJson()).planned.right === null").await?;
    assert_eq!(score(browser).await?["score"], 0.0);
    Ok(())
}

async fn bad_files_and_addresses_leave_free_exploration(browser: &Browser) -> Outcome {
    browser.ready().await?;
    let before = browser.plan_text().await?;
    let changed = |change: &dyn Fn(&mut Value)| {
        let mut lesson = demo("even-frame.lesson.json");
        change(&mut lesson);
        lesson.to_string()
    };
    let mut exercise = demo("low-brow.exercise.json");
    exercise["goals"] = json!([]);
    let mut wild = demo("low-brow.exercise.json");
    wild["key"]["planned"]["left"]["arch_x"] = json!(-1e5);
    let files = [
        (
            "unknown step",
            changed(&|lesson| lesson["steps"][1]["show"] = json!("tails_of_fire")),
            "teaching.unknown_step",
        ),
        ("newer", changed(&|lesson| lesson["version"] = json!(7)), "teaching.newer_version"),
        ("no goals", exercise.to_string(), "teaching.no_goals"),
        ("key outside", wild.to_string(), "teaching.key_refused"),
        ("no JSON", "Dear teacher".to_owned(), "teaching.unreadable"),
        (
            "prototype",
            r#"{"format": "counterpoise-lesson", "version": 1, "__proto__": {"steps": 3}}"#.to_owned(),
            "teaching.unreadable",
        ),
        (
            "set of what is not here",
            r#"{"format": "counterpoise-set", "version": 1, "id": "x", "items": [{"lesson": "nowhere"}]}"#
                .to_owned(),
            "teaching.missing",
        ),
    ];
    for (name, text, key) in files {
        let file = shots_dir()?.join(format!("bad-{:?}-{}.json", browser.engine, name.replace(' ', "-")));
        std::fs::write(&file, text)?;
        open_list(browser).await?;
        browser.choose_file("#course-file", &file).await?;
        browser.message_is(key).await.map_err(|error| format!("{name}: {error}"))?;
        assert_eq!(browser.plan_text().await?, before, "{name}");
        assert_eq!(browser.value("return document.getElementById('course').hidden").await?, true);
        browser.value("document.getElementById('message-close').click()").await?;
    }
    assert_eq!(browser.value("return ({}).steps === undefined").await?, true);
    for (hash, key) in [
        ("#case=nowhere&mode=demonstration", "teaching.missing"),
        ("#case=nowhere", "fragment.case"),
        ("#case=..%2F..%2Fsecret", "fragment.case"),
        ("#case=even-frame&mode=demonstra", "fragment.mode"),
        ("#mode=exer", "fragment.mode"),
        ("#case=first&controls=shape,levers", "fragment.controls"),
        ("#language=tlh", "fragment.language"),
        ("#host=everyone", "fragment.host"),
        ("#host=https%3A%2F%2Fa.example%2Fpath", "fragment.host"),
    ] {
        browser.open_anew(hash).await?;
        browser.ready().await?;
        browser.message_is(key).await.map_err(|error| format!("{hash}: {error}"))?;
        assert!(browser.plan_text().await?.contains("Marisol"), "{hash}");
        browser.step("shape").await?;
    }
    // A teacher's own file that is fine is shown, and the address names nothing that is not there.
    let own = shots_dir()?.join(format!("own-{:?}.json", browser.engine));
    std::fs::write(&own, changed(&|lesson| lesson["id"] = json!("my-own")))?;
    browser.open_anew("").await?;
    browser.ready().await?;
    open_list(browser).await?;
    browser.choose_file("#course-file", &own).await?;
    browser.until("return Boolean(document.getElementById('lesson-next')) && location.hash === ''").await?;
    next(browser, "1").await?;
    browser.click("#course-leave").await?;
    // What can be read of an address is done.
    browser.open_anew("#case=calipers&controls=shape,check").await?;
    browser.ready().await?;
    assert!(browser.plan_text().await?.contains("Anneke"));
    let tabs = browser
        .value(
            "return [...document.querySelectorAll('#steps [role=tab]:not([hidden])')].map((tab) => tab.id)",
        )
        .await?;
    assert_eq!(tabs, json!(["step-shape", "step-check"]));
    // Files that are not there are asked for, and their absence is an error in the browser's log.
    browser.expect_errors(&["404"]).await
}

async fn a_lesson_needs_no_pointer(browser: &Browser) -> Outcome {
    use counterpoise_tests::browser::Keys;
    browser.open_anew("#case=low-brow&mode=demonstration").await?;
    browser.ready().await?;
    browser.until("return Boolean(document.getElementById('lesson-next'))").await?;
    browser.tab_to("#lesson-next").await?;
    for step in 1..=6 {
        browser.press(&[Keys::ENTER]).await?;
        browser
            .until_with(
                "return document.querySelector('.course-count').textContent.startsWith(`${arguments[0]} `)",
                vec![json!(step.to_string())],
            )
            .await?;
    }
    browser.press(&[Keys::ENTER]).await?;
    browser.until("return Boolean(document.getElementById('exercise-mark'))").await?;
    browser.tab_to("#exercise-mark").await?;
    browser.press(&[Keys::ENTER]).await?;
    browser.until("return document.querySelectorAll('#exercise-marks li').length === 5").await
}

async fn axe_finds_nothing_in_lesson_exercise_and_list(browser: &Browser) -> Outcome {
    browser.ready().await?;
    for theme in ["light", "dark"] {
        browser.until_theme(theme).await?;
        open_list(browser).await?;
        browser.accessible(&format!("list of lessons, {theme}")).await?;
        browser.shot(&format!("list-{theme}")).await?;
        browser.click(".course-row[data-kind=lesson][data-id=strong-muscle]").await?;
        browser.until("return Boolean(document.getElementById('lesson-next'))").await?;
        next(browser, "1").await?;
        next(browser, "2").await?;
        browser.settle().await?;
        browser.accessible(&format!("lesson, {theme}")).await?;
        browser.shot(&format!("lesson-{theme}")).await?;
        browser.click("#course-leave").await?;
        open_list(browser).await?;
        browser.click(".course-row[data-kind=exercise][data-id=strong-muscle]").await?;
        browser.until("return Boolean(document.getElementById('exercise-mark'))").await?;
        browser.click("#exercise-mark").await?;
        browser.until("return document.querySelectorAll('#exercise-marks li').length > 0").await?;
        browser.accessible(&format!("exercise, {theme}")).await?;
        browser.shot(&format!("exercise-{theme}")).await?;
        browser.click("#course-leave").await?;
    }
    Ok(())
}
