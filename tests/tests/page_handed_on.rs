//! What is handed on of the page: one file, opened from a disk; and a package for courses, in a stand-in for their server.

use std::collections::{BTreeMap, BTreeSet};
use std::io::Read;
use std::path::{Path, PathBuf};

use counterpoise_plan::{SortedMap, open};
use counterpoise_teaching::{Work, read_exercise};
use counterpoise_tests::browser::{Browser, Failure, Outcome, Tool, cli_mark, packed_dir, site_address};
use counterpoise_tests::{in_both_engines, in_chromium};
use serde_json::{Value, json};

in_both_engines!(
    a_file_on_a_disk_teaches_saves_and_opens,
    a_course_is_taken_left_and_taken_up_again,
    a_course_without_a_server_can_be_taken_all_the_same
);
in_chromium!(the_package_is_as_the_standard_wants_it);

/// What the first exercise asks to be placed.
const POINTS: [&str; 10] = [
    "pupil.right",
    "pupil.left",
    "inner_corner.right",
    "inner_corner.left",
    "outer_corner.right",
    "outer_corner.left",
    "nostril.right",
    "nostril.left",
    "bridge_upper",
    "bridge_lower",
];
const STEP: &str =
    "return document.querySelector('.course-count').textContent.startsWith(`${arguments[0]} `)";

async fn next(browser: &Browser, to: usize) -> Outcome {
    browser.click("#lesson-next").await?;
    browser.until_with(STEP, vec![json!(to.to_string())]).await
}

fn demo(name: &str) -> Result<Value, Failure> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo").join(name);
    Ok(serde_json::from_str(&std::fs::read_to_string(path)?)?)
}

async fn a_file_on_a_disk_teaches_saves_and_opens(browser: &Browser) -> Outcome {
    let file = format!("file://{}", packed_dir().join("counterpoise.html").display());
    browser.client.goto(&format!("{file}#case=low-brow&mode=demonstration")).await?;
    browser.ready().await?;
    browser.until("return Boolean(document.getElementById('lesson-next'))").await?;
    // Nothing but the file itself is asked for.
    assert_eq!(browser.value("return performance.getEntriesByType('resource').filter(({ name }) => !/^(blob|data):/.test(name)).map(({ name }) => name)").await?, json!([]));
    let steps = demo("low-brow.lesson.json")?["steps"].as_array().map_or(0, Vec::len);
    for step in 1..=steps {
        next(browser, step).await?;
        browser.settle().await?;
    }
    browser.shot("lesson-from-disk").await?;
    browser.click("#course-leave").await?;
    browser.until("return document.getElementById('course').hidden").await?;

    // The page's other modules are in it too: a balanced pair from the worker, and the sheet.
    browser.step("balance").await?;
    browser.until("return document.querySelectorAll('#panel-balance svg path').length > 3").await?;
    browser.step("sheet").await?;
    browser.watch_files().await?;
    let pdf = browser.file_of("#sheet-pdf").await?;
    assert!(pdf.starts_with(b"%PDF"), "{} bytes", pdf.len());

    // Saved and opened again; photo assist says that it is not there.
    let saved = browser.file_of("#save-plan").await?;
    let kept = std::env::temp_dir().join(format!("from-disk-{:?}.counterpoise.json", browser.engine));
    std::fs::write(&kept, &saved)?;
    let before = open(&browser.plan_text().await?).map_err(|error| error.to_string())?;
    browser.client.goto("about:blank").await?;
    browser.client.goto(&file).await?;
    browser.ready().await?;
    browser.choose_file("#open-plan", &kept).await?;
    browser.message_is("work.opened_without_photo").await?;
    assert_eq!(open(&browser.plan_text().await?).map_err(|error| error.to_string())?, before);
    browser.until("return counterpoise.offline() === 'file'").await?;
    browser.click("#more").await?;
    browser.shows("#offline-state", "offline.file").await?;
    browser.press(&["\u{E00C}"]).await?;
    // Kept on this device as well: reopening the file brings it back.
    browser.kept().await?;
    browser.client.goto("about:blank").await?;
    browser.client.goto(&file).await?;
    browser.ready().await?;
    assert_eq!(open(&browser.plan_text().await?).map_err(|error| error.to_string())?, before);
    std::fs::remove_file(&kept)?;
    Ok(())
}

fn unpacked() -> Result<BTreeMap<String, Vec<u8>>, Failure> {
    let mut zip = zip::ZipArchive::new(std::fs::File::open(packed_dir().join("course.scorm12.zip"))?)?;
    let mut files = BTreeMap::new();
    for index in 0..zip.len() {
        let mut file = zip.by_index(index)?;
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes)?;
        files.insert(file.name().to_owned(), bytes);
    }
    Ok(files)
}

/// The rules of the schemas that SCORM 1.2 publishes (`imscp_rootv1p1p2.xsd`, `adlcp_rootv1p2.xsd`), and of its Content Aggregation Model 1.2, 2.3.2. From
/// memory: the order of elements and their multiplicities.
async fn the_package_is_as_the_standard_wants_it(browser: &Browser) -> Outcome {
    browser.ready().await?;
    const CP: &str = "http://www.imsproject.org/xsd/imscp_rootv1p1p2";
    const ADL: &str = "http://www.adlnet.org/xsd/adlcp_rootv1p2";
    let files = unpacked()?;
    let text = String::from_utf8(files.get("imsmanifest.xml").ok_or("a manifest at the top")?.clone())?;
    let xml = roxmltree::Document::parse(&text)?;
    let root = xml.root_element();
    assert!(root.has_tag_name((CP, "manifest")));
    let children = |node: roxmltree::Node<'_, '_>| -> Vec<String> {
        node.children()
            .filter(roxmltree::Node::is_element)
            .map(|child| child.tag_name().name().to_owned())
            .collect()
    };
    assert_eq!(children(root), ["metadata", "organizations", "resources"]);
    let one = |name: (&'static str, &'static str)| {
        let found: Vec<_> = root.descendants().filter(|node| node.has_tag_name(name)).collect();
        assert_eq!(found.len(), 1, "{name:?}");
        found[0]
    };
    assert_eq!(one((CP, "schema")).text(), Some("ADL SCORM"));
    assert_eq!(one((CP, "schemaversion")).text(), Some("1.2"));
    let organization = one((CP, "organization"));
    assert_eq!(one((CP, "organizations")).attribute("default"), organization.attribute("identifier"));
    assert_eq!(children(organization), ["title", "item"]);
    let item = one((CP, "item"));
    assert_eq!(children(item), ["title", "masteryscore"]);
    let resource = one((CP, "resource"));
    assert_eq!(item.attribute("identifierref"), resource.attribute("identifier"));
    assert_eq!(resource.attribute("type"), Some("webcontent"));
    assert_eq!(resource.attribute((ADL, "scormtype")), Some("sco"));
    let mastery: f64 = one((ADL, "masteryscore")).text().unwrap_or_default().parse()?;
    assert_eq!(Some(mastery), demo("course.set.json")?["pass"].as_f64());
    // Identifiers are XML names, each used once; every file of the package is listed, the first page among them.
    let ids: Vec<&str> = root.descendants().filter_map(|node| node.attribute("identifier")).collect();
    assert_eq!(ids.iter().collect::<BTreeSet<_>>().len(), ids.len());
    for id in &ids {
        let mut letters = id.chars();
        assert!(
            letters.next().is_some_and(|first| first.is_alphabetic() || first == '_')
                && letters.all(|c| c.is_alphanumeric() || "-_.".contains(c)),
            "{id}"
        );
    }
    let listed: BTreeSet<String> = resource
        .children()
        .filter(|node| node.has_tag_name((CP, "file")))
        .filter_map(|file| file.attribute("href"))
        .map(str::to_owned)
        .collect();
    let there: BTreeSet<String> = files.keys().filter(|name| *name != "imsmanifest.xml").cloned().collect();
    assert_eq!(listed, there);
    assert!(resource.attribute("href").is_some_and(|href| listed.contains(href)));
    // One title for people, taken from the set.
    assert_eq!(
        item.children().find(|node| node.has_tag_name((CP, "title"))).and_then(|title| title.text()),
        demo("course.set.json")?["title"].as_str()
    );
    Ok(())
}

/// The package, unpacked where the other site serves it; gives its address.
fn served(name: &str) -> Result<(String, PathBuf), Failure> {
    let folder = packed_dir().join(name);
    std::fs::create_dir_all(&folder)?;
    for (file, bytes) in unpacked()? {
        std::fs::write(folder.join(file), bytes)?;
    }
    Ok((format!("{}packed/{name}/index.html", site_address()), folder))
}

async fn record(browser: &Browser, name: &str) -> Result<String, Failure> {
    Ok(browser
        .value_with("return record[arguments[0]] ?? ''", vec![json!(name)])
        .await?
        .as_str()
        .unwrap_or_default()
        .to_owned())
}

async fn mark(browser: &Browser) -> Result<(f64, Value), Failure> {
    browser.click("#exercise-mark").await?;
    browser.until("return counterpoise.result() !== null").await?;
    let result = browser.value("return counterpoise.result()").await?;
    Ok((result["score"].as_f64().ok_or("a score")?, result))
}

async fn a_course_is_taken_left_and_taken_up_again(browser: &Browser) -> Outcome {
    let (address, folder) = served(&format!("course-{:?}", browser.engine))?;
    let into = async || -> Outcome {
        browser.client.enter_frame(0).await?;
        browser.ready().await?;
        browser.until("return Boolean(document.getElementById('course-title'))").await
    };
    let out = async || -> Outcome { Ok(browser.client.enter_parent_frame().await?) };
    browser.client.goto(&format!("{}lms.html", site_address())).await?;
    browser.value_with("visit(arguments[0])", vec![json!(address)]).await?;
    into().await?;
    // The first lesson, then the first exercise.
    for step in 1..=8 {
        next(browser, step).await?;
    }
    browser.shot("course").await?;
    browser.click("#lesson-next").await?;
    browser.until("return Boolean(document.getElementById('exercise-mark'))").await?;
    browser.click("#embed-wake").await?;
    let key = demo("even-frame.exercise.json")?["key"]["landmarks"].clone();
    let at = |id: &'static str| {
        (id, (key[id]["x_px"].as_f64().unwrap_or_default(), key[id]["y_px"].as_f64().unwrap_or_default()))
    };
    browser.place_landmarks(Tool::Mouse, &POINTS.map(at)).await?;
    browser.click("#step-shape").await?;
    browser.click("#start-mean").await?;
    browser.until("return Boolean(JSON.parse(counterpoise.planJson()).planned.right)").await?;
    browser.watch_files().await?;
    let (score, result) = mark(browser).await?;
    let handed_in = String::from_utf8(browser.file_of("#exercise-hand-in").await?)?;
    let by_cli =
        cli_mark("demo/even-frame.exercise.json", &handed_in, &format!("course-{:?}", browser.engine))?;
    assert_eq!((&result["score"], &result["items"]), (&by_cli["score"], &by_cli["items"]));
    let planned = browser.plan().await?["planned"].clone();
    out().await?;
    browser.until("return record['cmi.core.lesson_status'] === 'incomplete'").await?;
    // The score of the course is the mean of its three exercises, two of which are still to be done.
    let third = |score: f64| (score / 3.0 * 100.0).round() / 100.0;
    assert_eq!(record(browser, "cmi.core.score.raw").await?.parse::<f64>()?, third(score));

    // Left by closing the frame: finished, with its time, to be gone on with.
    browser.value("leave()").await?;
    browser.until("return calls.at(-1)[0] === 'LMSFinish'").await?;
    assert_eq!(record(browser, "cmi.core.exit").await?, "suspend");
    assert_eq!(record(browser, "cmi.core.entry").await?, "resume");
    let kept = record(browser, "cmi.suspend_data").await?;
    println!("{:?}: {} letters kept", browser.engine, kept.len());
    assert!(kept.len() < 4096);
    // Nothing of a client, and nothing of the learner: ids, numbers and answers alone.
    for word in ["label", "note", "points_px", "Noor", "Invented", "s-0815"] {
        assert!(!kept.contains(word), "{word}");
    }

    // Taken up again: the same exercise with the same work.
    browser.value_with("visit(arguments[0])", vec![json!(address)]).await?;
    into().await?;
    browser.until("return Boolean(document.getElementById('exercise-mark'))").await?;
    assert_eq!(browser.plan().await?["planned"], planned);
    assert!(browser.text("#exercise-score").await?.contains(&score.round().to_string()));
    let (again, _) = mark(browser).await?;
    assert_eq!(again, score);
    out().await?;
    browser.value("leave()").await?;
    browser.until("return calls.at(-1)[0] === 'LMSFinish'").await?;

    // The other two done by the teacher's own solution, as work that was kept: passed or failed by the mean.
    for (id, at) in [("low-brow", 3), ("strong-muscle", 5)] {
        let exercise = read_exercise(&demo(&format!("{id}.exercise.json"))?.to_string())
            .map_err(|error| error.to_string())?;
        let answers = SortedMap::from([("failing_pose".to_owned(), "upright_open_raised".to_owned())]);
        let work = serde_json::to_string(&Work::of(&exercise, &exercise.key, answers))?;
        let mut state: Value = serde_json::from_str(&record(browser, "cmi.suspend_data").await?)?;
        state["at"] = json!(at);
        state["work"] = json!({ "id": id, "text": work });
        browser
            .value_with(
                "record['cmi.suspend_data'] = arguments[0]; visit(arguments[1])",
                vec![json!(state.to_string()), json!(address)],
            )
            .await?;
        into().await?;
        browser.until("return Boolean(document.getElementById('exercise-mark'))").await?;
        assert_eq!(mark(browser).await?.0, 100.0, "{id}");
        out().await?;
        browser.value("leave()").await?;
        browser.until("return calls.at(-1)[0] === 'LMSFinish'").await?;
    }
    let mean = ((score + 200.0) / 3.0 * 100.0).round() / 100.0;
    assert_eq!(record(browser, "cmi.core.score.raw").await?.parse::<f64>()?, mean);
    assert_eq!(
        record(browser, "cmi.core.lesson_status").await?,
        if mean >= 70.0 { "passed" } else { "failed" }
    );
    assert_eq!(record(browser, "cmi.core.exit").await?, "");
    // A teacher who looks at it changes nothing.
    let before = browser.value("return record").await?;
    browser
        .value_with("record['cmi.core.lesson_mode'] = 'review'; visit(arguments[0])", vec![json!(address)])
        .await?;
    into().await?;
    mark(browser).await?;
    out().await?;
    browser.value("leave()").await?;
    browser.until("return calls.at(-1)[0] === 'LMSFinish'").await?;
    for name in ["cmi.core.lesson_status", "cmi.core.score.raw", "cmi.suspend_data"] {
        assert_eq!(before[name], record(browser, name).await?, "{name}");
    }
    // The server found no fault with any call.
    assert_eq!(browser.value("return faults").await?, json!([]));
    std::fs::remove_dir_all(folder)?;
    Ok(())
}

async fn a_course_without_a_server_can_be_taken_all_the_same(browser: &Browser) -> Outcome {
    let (address, folder) = served(&format!("alone-{:?}", browser.engine))?;
    browser.client.goto(&format!("{}lms.html", site_address())).await?;
    browser.value_with("visit(arguments[0], false)", vec![json!(address)]).await?;
    browser.client.enter_frame(0).await?;
    browser.ready().await?;
    browser.message_is("course.no_server").await?;
    browser.until("return Boolean(document.getElementById('lesson-next'))").await?;
    next(browser, 1).await?;
    browser.client.enter_parent_frame().await?;
    // One that refuses to begin, and kept words of another course.
    browser
        .value_with("visit(arguments[0]); API.LMSInitialize = () => 'false'", vec![json!(address)])
        .await?;
    browser.client.enter_frame(0).await?;
    browser.ready().await?;
    browser.message_is("course.no_server").await?;
    browser.client.enter_parent_frame().await?;
    browser.value_with("record['cmi.suspend_data'] = '{\"v\":1,\"at\":-4,\"scores\":\"x\",\"work\":{\"id\":3}}'; visit(arguments[0])", vec![json!(address)]).await?;
    browser.client.enter_frame(0).await?;
    browser.ready().await?;
    browser.until("return document.getElementById('course-title')?.textContent.length > 3").await?;
    browser.client.enter_parent_frame().await?;
    std::fs::remove_dir_all(folder)?;
    Ok(())
}
