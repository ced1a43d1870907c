//! The case book: a whole visit comes back from its file bit for bit, and nothing is lost on the way.

use counterpoise_tests::browser::{Browser, Failure, Outcome, Tool, from_base64, shots_dir};
use counterpoise_tests::face::RealFace;
use counterpoise_tests::{in_both_browsers, in_both_engines, in_firefox, pictures};
use serde_json::{Value, json};

in_both_browsers!(axe_finds_nothing_in_the_case_book);
in_both_engines!(
    whole_visit_comes_back_from_its_file,
    sealed_file_is_an_independent_librarys,
    bad_files_are_refused_and_nothing_is_lost,
    what_differs_is_never_overwritten_silently,
    full_storage_in_mid_write_loses_nothing,
    work_of_the_first_version_is_brought_over,
    case_book_says_where_nothing_can_be_stored,
    keys_alone_find_and_open_a_case,
    forgetting_everything_empties_the_book,
);
in_firefox!(whole_visit_comes_back_from_its_file, full_storage_in_mid_write_loses_nothing);

/// The name of the case as it is typed.
const LABEL: &str = "Client 12";

async fn whole_visit_comes_back_from_its_file(browser: &Browser) -> Outcome {
    let Some(mut face) = RealFace::numbered("001_03") else { return Ok(()) };
    // As a camera writes it: with an EXIF part, which may hold place and device.
    let with_exif = pictures::with_orientation(&std::fs::read(&face.photo)?, 1);
    assert!(with_exif.windows(4).any(|part| part == b"Exif"));
    face.photo = shots_dir()?.join(format!("with-exif-{:?}.jpg", browser.engine));
    std::fs::write(&face.photo, with_exif)?;
    browser.ready().await?;
    browser.watch_files().await?;
    browser.measure_face(Tool::Finger, &face).await?;
    browser.start_outlines().await?;
    browser.step("photo").await?;
    browser.fill("#case-label", LABEL).await?;

    // With the client: she drags, a variant is kept, questions are asked, she signs.
    browser.step("client").await?;
    browser.turn_to_client().await?;
    let before = browser.plan().await?["planned"].clone();
    let (x, y) = browser.middle_of("[data-wish=\"fullness\"]").await?;
    browser.draw(Tool::Finger, &[(x, y), (x + 20.0, y), (x + 45.0, y)]).await?;
    let moved = "return JSON.stringify(JSON.parse(counterpoise.planJson()).planned) !== arguments[0]";
    browser.until_with(moved, vec![json!(before.to_string())]).await?;
    browser.hold("#client-back").await?;
    browser.until("return document.documentElement.dataset.view !== 'client'").await?;
    browser.let_go("#stage", 0).await?;
    browser.fill("#variant-name", "fuller").await?;
    browser.click("#variant-keep").await?;
    browser.click("#asked-pregnancy-no").await?;
    browser.click("#asked-bleeding-yes").await?;
    // A dot is no signature.
    browser.fill("#agree-initials", "QX").await?;
    let middle = browser.middle_of("#signature").await?;
    browser.tap(Tool::Finger, middle).await?;
    browser.click("#agree-sign").await?;
    browser.message_is("refused.signature_too_short").await?;
    browser.click("#signature-clear").await?;
    sign(browser, "QX").await?;
    browser.shows("#agree-seal", "seal.whole").await?;
    let agreed = browser.plan().await?["agreements"][0].clone();
    assert_eq!((agreed["initials"].as_str(), agreed["variant"].as_str()), (Some("QX"), Some("fuller")));
    assert_eq!(agreed["asked"], json!([1, 1, 13]));

    // Reload, and it is all there.
    browser.kept().await?;
    let plan = browser.plan_text().await?;
    browser.go("").await?;
    browser.ready().await?;
    assert_eq!(browser.plan_text().await?, plan, "after reopening the page");
    let photo = stored_photo(browser).await?;
    assert!(!photo.contains("Exif"), "the stored photo tells nothing of where it was taken");

    // Into a file, all gone, back from the file.
    browser.watch_files().await?;
    open_book(browser).await?;
    assert_eq!(rows(browser).await?, json!([LABEL]));
    // Without photos, and in plain text: the plan alone.
    browser.click("#book-export").await?;
    browser.click("label[for=export-photos]").await?;
    let bare = browser.file_of("#export-go").await?;
    let bare = String::from_utf8(bare)?;
    assert!(bare.contains("\"with_photos\":false") && bare.contains("\"photos\":[]") && bare.contains(LABEL));
    let exported = export(browser, "#book-export", Some("correct horse")).await?;
    assert!(exported.starts_with(br#"{"format":"counterpoise-cases","version":1,"sealed":{"#));
    assert!(!exported.windows(LABEL.len()).any(|part| part == LABEL.as_bytes()), "the name can be read");
    browser.shot("exported").await?;
    browser.click("#book-delete").await?;
    browser.click("#dialog .button.primary").await?;
    browser.until("return document.querySelectorAll('[data-case]').length === 0").await?;
    assert_ne!(browser.plan_text().await?, plan, "the case in work is gone too");
    bring(browser, "visit", &exported, Some("correct horse")).await?;
    browser.until("return document.querySelectorAll('[data-case]').length === 1").await?;
    browser.click("[data-case] [data-act=\"open\"]").await?;
    browser.until_with("return counterpoise.planJson() === arguments[0]", vec![json!(plan)]).await?;
    assert_eq!(stored_photo(browser).await?, photo, "the photo to the byte");
    browser.step("client").await?;
    browser.shows("#agree-seal", "seal.whole").await?;

    // A change after the agreement shows at once, everywhere.
    browser.step("shape").await?;
    browser.tab_to("input[type=range][data-param=\"arch_y\"]").await?;
    browser.press(&["\u{E014}"; 3]).await?;
    browser.shows("#agreed", "live.seal_broken").await?;
    browser.step("client").await?;
    browser.shows("#agree-seal", "seal.pair_changed").await?;
    browser.shot("broken-seal").await?;
    browser.click("#agree-back").await?;
    browser.shows("#agree-seal", "seal.whole").await
}

async fn sealed_file_is_an_independent_librarys(browser: &Browser) -> Outcome {
    browser.ready().await?;
    let vector = vector()?;
    // Both ways: ours is theirs to the byte, theirs is read by us.
    let script = "const [vector, done] = arguments; \
        const bytes = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0)); \
        const text = (list) => btoa([...list].map((byte) => String.fromCharCode(byte)).join('')); \
        (async () => { \
          const { sealed, readCases } = await import(new URL('js/case_file.js', document.baseURI)); \
          const { password, salt, nonce, chunk, iterations } = vector; \
          const given = { salt: bytes(salt), nonce: bytes(nonce), chunk, iterations }; \
          const parts = await sealed([bytes(vector.body)], password, given); \
          const whole = new Uint8Array(await new Blob(parts).arrayBuffer()); \
          const { cases } = await readCases(bytes(vector.sealed), password); \
          const sum = await crypto.subtle.digest('SHA-256', cases[0].photos[0].bytes); \
          return { sealed: text(whole), label: JSON.parse(cases[0].text).case.label, missing: cases[0].missing, \
            sum: [...new Uint8Array(sum)].map((byte) => byte.toString(16).padStart(2, '0')).join('') }; \
        })().then(done, (error) => done(String(error)))";
    let found = browser.value_later(script, vec![vector.clone()]).await?;
    assert_eq!(found["sealed"], vector["sealed"], "{found}");
    assert_eq!(found["sum"], vector["photo_sha256"]);
    assert_eq!((found["label"].as_str(), found["missing"].as_u64()), (Some("Zoë"), Some(0)));
    Ok(())
}

async fn bad_files_are_refused_and_nothing_is_lost(browser: &Browser) -> Outcome {
    browser.ready().await?;
    let vector = vector()?;
    let password = vector["password"].as_str();
    let good = from_base64(vector["sealed"].as_str().ok_or("no sealed file")?)?;
    let head = good.iter().position(|byte| *byte == b'\n').ok_or("no first line")? + 1;
    let changed = |from: &str, to: &str| -> Result<Vec<u8>, Failure> {
        let first = std::str::from_utf8(good.get(..head).ok_or("no first line")?)?;
        assert!(first.contains(from), "{first}");
        Ok([first.replace(from, to).as_bytes(), good.get(head..).unwrap_or_default()].concat())
    };
    let flipped = |at: usize| {
        let mut file = good.clone();
        file[at] ^= 1;
        file
    };
    open_book(browser).await?;
    let before = browser.stored().await?;
    let cases: Vec<(&str, Vec<u8>, Option<&str>, &str)> = vec![
        ("wrong-password", good.clone(), Some("not this one"), "case_file.password"),
        ("flipped-first", flipped(head + 3), password, "case_file.password"),
        ("flipped-later", flipped(good.len() - 40), password, "case_file.damaged"),
        ("cut-off", good[..good.len() - 100].to_vec(), password, "case_file.damaged"),
        ("cut-at-a-piece", good[..head + 528].to_vec(), password, "case_file.password"),
        ("old-header", changed("\"version\":1", "\"version\":0")?, None, "case_file.other_version"),
        ("newer", changed("\"version\":1", "\"version\":2")?, None, "case_file.newer"),
        ("weak", changed("600000", "1000")?, password, "case_file.weak"),
        ("relabelled", changed("AES-256-GCM", "AES-256-CBC")?, password, "case_file.other_version"),
        ("greedy", changed("600000", "600000000")?, password, "case_file.damaged"),
        ("words", b"these are words\n".to_vec(), None, "case_file.not_cases"),
        ("empty", Vec::new(), None, "case_file.not_cases"),
        ("plan", b"{\"format\":\"counterpoise-plan\",\"version\":1}\n".to_vec(), None, "case_file.not_cases"),
    ];
    for (name, file, password, key) in cases {
        bring(browser, name, &file, password).await?;
        browser.shows("#book-said", key).await.map_err(|error| format!("{name}: {error}"))?;
        assert_eq!(browser.stored().await?, before, "{name} changed the store");
    }
    // Plain files: hostile lists are refused, a photo that is missing is said and its plan still comes.
    let plain = |list: Value, bytes: &[u8]| {
        let line = "{\"format\":\"counterpoise-cases\",\"version\":1,\"sealed\":null}\n";
        [line.as_bytes(), list.to_string().as_bytes(), b"\n", bytes].concat()
    };
    let case = |plan: &str, photos: Value| json!({ "id": "c0ffee", "changed_at": "2026-01-01T00:00:00Z", "photo": "p", "plan": plan, "photos": photos });
    for (name, list) in [
        ("no-list", json!({ "cases": { "__proto__": 1 } })),
        ("no-photo", json!({ "cases": [case("{}", json!([null]))] })),
        ("no-plan", json!({ "cases": [case("", json!([]))] })),
        (
            "long-photo",
            json!({ "cases": [case("{}", json!([{ "id": "p", "type": "image/jpeg", "bytes": -1 }]))] }),
        ),
    ] {
        bring(browser, name, &plain(list, b""), None).await?;
        browser.shows("#book-said", "case_file.damaged").await.map_err(|error| format!("{name}: {error}"))?;
    }
    let newer = "{\"format\":\"counterpoise-plan\",\"version\":99}";
    bring(browser, "newer-plan", &plain(json!({ "cases": [case(newer, json!([]))] }), b""), None).await?;
    browser.shows("#book-said", "import.unreadable").await?;
    assert_eq!(browser.stored().await?, before, "none of them changed the store");
    let blank = "{\"format\":\"counterpoise-plan\",\"version\":1}";
    let lacking =
        json!({ "cases": [case(blank, json!([{ "id": "p", "type": "image/jpeg", "bytes": 500 }]))] });
    bring(browser, "photo-missing", &plain(lacking, b"short"), None).await?;
    browser.shows("#book-said", "import.missing").await?;
    browser.until("return document.querySelectorAll('[data-case]').length === 1").await?;
    bring(browser, "good", &good, password).await?;
    browser.until("return document.querySelectorAll('[data-case]').length === 2").await
}

async fn what_differs_is_never_overwritten_silently(browser: &Browser) -> Outcome {
    browser.begin_case("Ana").await?;
    browser.watch_files().await?;
    open_book(browser).await?;
    let exported = export(browser, "#book-export", None).await?;
    bring(browser, "same", &exported, None).await?;
    browser.shows("#book-said", "import.same").await?;
    browser.click("#book-close").await?;
    browser.fill("#case-label", "Ana B").await?;
    browser.kept().await?;
    open_book(browser).await?;
    browser.shows("[data-case] .wants", "book.in_old_file").await?;
    let mine = browser.stored().await?;
    // Left: nothing happens. Both: mine stays. Taken: the file's is there.
    bring(browser, "left", &exported, None).await?;
    browser.click("#dialog .answers button:nth-child(3)").await?;
    browser.shows("#book-said", "import.left").await?;
    assert_eq!(browser.stored().await?, mine);
    bring(browser, "both", &exported, None).await?;
    browser.click("#dialog .answers button:nth-child(1)").await?;
    browser.shows("#book-said", "import.kept").await?;
    assert_eq!(rows(browser).await?, json!(["Ana B", "Ana"]));
    bring(browser, "taken", &exported, None).await?;
    browser.click("#dialog .answers button:nth-child(2)").await?;
    browser.shows("#book-said", "import.replaced").await?;
    assert_eq!(rows(browser).await?, json!(["Ana", "Ana"]));
    assert_eq!(browser.plan().await?["case"]["label"], "Ana", "the open case is the one that was taken");

    // Deleted, and brought back.
    let all = browser.stored().await?;
    browser.click("[data-case] [data-act=\"delete\"]").await?;
    browser.click("#dialog .button.primary").await?;
    browser.until("return document.querySelectorAll('[data-case]').length === 1").await?;
    browser.click("#book-undo").await?;
    browser.until("return document.querySelectorAll('[data-case]').length === 2").await?;
    let of_ana = |store: &Value| {
        let plans = store["plans"].as_array().into_iter().flatten().filter_map(Value::as_str);
        let mut plans: Vec<String> =
            plans.filter(|plan| plan.contains("\"Ana\"")).map(str::to_owned).collect();
        plans.sort();
        plans
    };
    assert_eq!(of_ana(&browser.stored().await?), of_ana(&all), "brought back");

    // The same id twice in one file: the first is taken, the other is asked about.
    let twice = String::from_utf8(three_cases()?)?.replace("id2", "id1").replace("id3", "id1");
    bring(browser, "twice", twice.as_bytes(), None).await?;
    browser.click("#dialog .answers button:nth-child(3)").await?;
    browser.shows("#book-said", "import.left").await?;
    browser.until("return document.querySelectorAll('[data-case]').length === 3").await?;

    // Found by name and by age.
    browser.fill("#book-find", "nobody").await?;
    browser.shows("#book-none", "book.none_found").await?;
    browser.fill("#book-find", "aNA").await?;
    browser.until("return document.querySelectorAll('[data-case]').length === 2").await?;
    browser.choose_option("#book-age", "6").await?;
    browser.until("return document.querySelectorAll('[data-case]').length === 0").await
}

async fn full_storage_in_mid_write_loses_nothing(browser: &Browser) -> Outcome {
    browser.begin_case("Before").await?;
    let before = browser.stored().await?;
    // The head is written, and then the disk is full.
    browser
        .value(
            "const put = IDBObjectStore.prototype.put; window.mend = () => { IDBObjectStore.prototype.put = put }; \
             IDBObjectStore.prototype.put = function (...given) { \
               if (this.name === 'plans') throw new DOMException('', 'QuotaExceededError'); return put.apply(this, given); }",
        )
        .await?;
    browser.fill("#case-label", "After").await?;
    browser.until("return document.getElementById('saved').dataset.state === 'failed'").await?;
    assert_eq!(browser.stored().await?, before, "half a write");
    // What could not be stored can still be given as a file, and is stored as soon as there is room.
    browser.watch_files().await?;
    let saved = browser.file_of("#message-action").await?;
    assert_eq!(String::from_utf8(saved)?, browser.plan_text().await?);
    browser.value("window.mend()").await?;
    browser.fill("#case-label", "After all").await?;
    browser.kept().await?;
    open_book(browser).await?;
    assert_eq!(rows(browser).await?, json!(["After all"]));

    // The same while a file of three cases is read: what was written before stays whole.
    let exported = three_cases()?;
    browser
        .value(
            "const put = IDBObjectStore.prototype.put; let plans = 0; \
             IDBObjectStore.prototype.put = function (...given) { \
               if (this.name === 'plans' && ++plans === 2) throw new DOMException('', 'QuotaExceededError'); return put.apply(this, given); }",
        )
        .await?;
    bring(browser, "three", &exported, None).await?;
    browser.shows("#book-said", "book.failed").await?;
    browser.until("return document.querySelectorAll('[data-case]').length === 2").await?;
    let halves = browser.stored().await?;
    assert_eq!(
        halves["heads"].as_array().map(Vec::len),
        halves["plans"].as_array().map(Vec::len),
        "{halves}"
    );
    bring(browser, "three-again", &exported, None).await?;
    browser.until("return document.querySelectorAll('[data-case]').length === 4").await
}

async fn work_of_the_first_version_is_brought_over(browser: &Browser) -> Outcome {
    browser.ready().await?;
    let pose = json!({ "heights": { "right": null, "left": null }, "photo": { "key": "q-1", "photo": { "width_px": 900, "height_px": 900 } } });
    let plan = json!({
        "format": "counterpoise-plan", "version": 1, "case": { "label": "Old", "note": "", "date": "" },
        "photo": { "width_px": 900, "height_px": 900 }, "poses": { "upright_closed_resting": pose },
    });
    let script = "const [plan, done] = arguments; const go = () => { \
        const gone = indexedDB.deleteDatabase('counterpoise'); gone.onblocked = () => setTimeout(go, 50); \
        gone.onsuccess = () => { const open = indexedDB.open('counterpoise', 1); \
        open.onupgradeneeded = () => open.result.createObjectStore('work'); \
        open.onsuccess = () => { const all = open.result.transaction('work', 'readwrite'); const work = all.objectStore('work'); \
        work.put({ text: plan, photoId: 'p-1', isDemo: false, isInFile: true, savedAt: '2026-01-02T03:04:05.000Z' }, 'plan'); \
        work.put({ id: 'p-1', bytes: new Uint8Array([1, 2, 3]).buffer, type: 'image/jpeg' }, 'photo'); \
        work.put({ id: 'q-1', bytes: new Uint8Array([4]).buffer, type: 'image/jpeg' }, 'pose:q-1'); \
        all.oncomplete = () => { open.result.close(); done(true) }; }; }; }; go();";
    // From a page that keeps no store open.
    browser.go("manifest.webmanifest").await?;
    browser.value_later(script, vec![json!(plan.to_string())]).await?;
    browser.go("").await?;
    browser.ready().await?;
    assert_eq!(browser.plan().await?["case"]["label"], "Old");
    // Its photo cannot be decoded, which is said; the bytes stay.
    browser.message_is("work.photo_lost").await?;
    let kept = browser.stored().await?;
    assert_eq!(kept["heads"][0]["changedAt"], "2026-01-02T03:04:05.000Z");
    assert_eq!(kept["photos"], json!([3, 1]), "{kept}");
    // A browser that is sent to a bare file asks for an icon.
    browser.expect_errors(&["favicon"]).await
}

async fn case_book_says_where_nothing_can_be_stored(browser: &Browser) -> Outcome {
    browser.ready().await?;
    browser
        .value("IDBFactory.prototype.open = () => { throw new DOMException('', 'SecurityError') }")
        .await?;
    browser.click("#book-open").await?;
    browser.shows("#book-said", "book.failed").await?;
    browser.click("#book-close").await?;
    browser.watch_files().await?;
    let saved = browser.file_of("#save-plan").await?;
    assert_eq!(String::from_utf8(saved)?, browser.plan_text().await?);
    browser.expect_errors(&["SecurityError"]).await
}

async fn keys_alone_find_and_open_a_case(browser: &Browser) -> Outcome {
    browser.begin_case("Bea").await?;
    browser.click("#more").await?;
    browser.click("#new-case").await?;
    browser.until("return JSON.parse(counterpoise.planJson()).case.label === ''").await?;
    browser.tab_to("#book-open").await?;
    browser.press(&["\u{E007}"]).await?;
    browser
        .until("return document.getElementById('book')?.open && document.querySelector('[data-case]')")
        .await?;
    browser.tab_to("#book-find").await?;
    browser.type_text("bea").await?;
    browser.tab_to("[data-case] [data-act=\"open\"]").await?;
    browser.press(&["\u{E007}"]).await?;
    browser.until("return JSON.parse(counterpoise.planJson()).case.label === 'Bea'").await?;
    browser.until("return document.getElementById('book') === null").await
}

async fn forgetting_everything_empties_the_book(browser: &Browser) -> Outcome {
    browser.begin_case("Dora").await?;
    browser.begin_case("Eva").await?;
    open_book(browser).await?;
    assert_eq!(rows(browser).await?, json!(["Eva", "Dora"]));
    // From one to the other, and what was open stays a tap away.
    browser.click("[data-case]:nth-child(2) [data-act=\"open\"]").await?;
    browser.until("return JSON.parse(counterpoise.planJson()).case.label === 'Dora'").await?;
    browser.click("#message-action").await?;
    browser.until("return JSON.parse(counterpoise.planJson()).case.label === 'Eva'").await?;
    browser.step("photo").await?;
    browser.unfold("#forget").await?;
    browser.click("#forget").await?;
    browser.click("#dialog .button.primary").await?;
    browser.message_is("privacy.forgotten").await?;
    assert_eq!(browser.stored().await?["plans"], json!([]));
    open_book(browser).await?;
    assert_eq!(rows(browser).await?, json!([]));
    browser.go("").await?;
    browser.ready().await?;
    assert_eq!(browser.plan().await?["case"]["label"], "Demo: Marisol");
    Ok(())
}

async fn axe_finds_nothing_in_the_case_book(browser: &Browser) -> Outcome {
    browser.begin_case("Cleo").await?;
    for theme in ["light", "dark"] {
        browser.until_theme(theme).await?;
        open_book(browser).await?;
        browser.accessible(&format!("case book, {theme}")).await?;
        browser.shot(&format!("book-{theme}")).await?;
        browser.click("#book-export").await?;
        browser.element("#export-go").await?;
        browser.accessible(&format!("export, {theme}")).await?;
        browser.click("#dialog .message-close").await?;
        browser.click("#book-close").await?;
    }
    Ok(())
}

async fn open_book(browser: &Browser) -> Outcome {
    browser.click("#book-open").await?;
    browser.until("return document.getElementById('book')?.open && document.getElementById('book-count').textContent !== ''").await?;
    browser.settle().await
}

/// The names in the list.
async fn rows(browser: &Browser) -> Result<Value, Failure> {
    browser
        .value("return [...document.querySelectorAll('.case-label')].map((label) => label.textContent)")
        .await
}

async fn export(browser: &Browser, button: &str, password: Option<&str>) -> Result<Vec<u8>, Failure> {
    browser.click(button).await?;
    for field in ["#export-password", "#export-again"] {
        if let Some(password) = password {
            browser.fill(field, password).await?;
        }
    }
    browser.file_of("#export-go").await
}

async fn bring(browser: &Browser, name: &str, file: &[u8], password: Option<&str>) -> Outcome {
    let path = shots_dir()?.join(format!("{name}-{:?}.counterpoise-cases", browser.engine));
    std::fs::write(&path, file)?;
    browser.value("document.getElementById('book-said').textContent = ''").await?;
    browser.choose_file("#book-import", &path).await?;
    if let Some(password) = password {
        browser.fill("#import-password", password).await?;
        browser.click("#import-go").await?;
    }
    Ok(())
}

/// Three plain cases with nothing but a name.
fn three_cases() -> Result<Vec<u8>, Failure> {
    let case = |number: usize| {
        let plan = json!({ "format": "counterpoise-plan", "version": 1, "case": { "label": format!("Case {number}"), "note": "", "date": "" } });
        json!({ "id": format!("id{number}"), "changed_at": "2026-01-01T00:00:00.000Z", "photo": null, "plan": plan.to_string(), "photos": [] })
    };
    let list = json!({ "made_at": "2026-01-01T00:00:00.000Z", "with_photos": true, "cases": [case(1), case(2), case(3)] });
    Ok(format!("{{\"format\":\"counterpoise-cases\",\"version\":1,\"sealed\":null}}\n{list}\n").into_bytes())
}

/// The bytes of the one stored photo, as text of one letter a byte.
async fn stored_photo(browser: &Browser) -> Result<String, Failure> {
    let script = "const done = arguments[arguments.length - 1]; const open = indexedDB.open('counterpoise'); \
        open.onsuccess = () => { const get = open.result.transaction('photos').objectStore('photos').getAll(); \
        get.onsuccess = () => { open.result.close(); \
        done([...new Uint8Array(get.result[0].bytes)].map((byte) => String.fromCharCode(byte)).join('')) }; }";
    let text = browser.value_later(script, Vec::new()).await?;
    text.as_str().map(str::to_owned).ok_or_else(|| "no photo".into())
}

/// Initials and a wavy line.
async fn sign(browser: &Browser, initials: &str) -> Outcome {
    browser.fill("#agree-initials", initials).await?;
    let (x, y) = browser.middle_of("#signature").await?;
    let along: Vec<(f64, f64)> =
        (0..24).map(|k| (x - 110.0 + 9.0 * f64::from(k), y + 22.0 * (f64::from(k) / 2.0).sin())).collect();
    browser.draw(Tool::Finger, &along).await?;
    browser.until("return !document.getElementById('agree-sign').disabled").await?;
    browser.click("#agree-sign").await
}

fn vector() -> Result<Value, Failure> {
    let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/case-file.json");
    Ok(serde_json::from_str(&std::fs::read_to_string(file)?)?)
}
