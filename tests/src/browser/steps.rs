//! The steps of the work as a person takes them, with pointer and keys only.

use std::path::Path;

use counterpoise_geometry::{Outline, OutlineParams, Param};
use serde_json::{Value, json};

use super::{Browser, Failure, Outcome, Tool};
use crate::face::{ImageXy, RealFace};

/// What a table of the report shows: by measure, then by column, the number and the small print.
pub type ShownTable = serde_json::Map<String, Value>;

/// The ids of all steps, in working order.
pub const STEPS: [&str; 10] =
    ["photo", "points", "hair", "poses", "shape", "balance", "check", "client", "sheet", "later"];

impl Browser {
    /// Waits until the page has opened what it kept, or the demo.
    ///
    /// # Errors
    /// Where it does not come up.
    pub async fn ready(&self) -> Outcome {
        self.until("return document.documentElement.dataset.ready === 'true'").await?;
        self.settle().await
    }

    /// Goes to a step of the work: the id of its tab without `step-`.
    ///
    /// # Errors
    /// Where there is no such step.
    pub async fn step(&self, name: &str) -> Outcome {
        self.click(&format!("#step-{name}")).await?;
        let is_there = "const panel = document.getElementById('panel-' + arguments[0]); \
                        return !panel.hidden && panel.children.length > 0";
        self.until_with(is_there, vec![json!(name)]).await?;
        self.settle().await
    }

    /// Opens a photo through the file input and waits until the plan has it.
    ///
    /// # Errors
    /// Where the page refuses it.
    pub async fn open_photo(&self, file: &Path, width: u32, height: u32) -> Outcome {
        self.step("photo").await?;
        self.choose_file("#open-photo", file).await?;
        let script = "const p = JSON.parse(counterpoise.planJson()).photo; \
                      return Boolean(p) && p.width_px === arguments[0] && p.height_px === arguments[1]";
        self.until_with(script, vec![json!(width), json!(height)]).await?;
        self.settle().await
    }

    /// Makes the picture larger on the stage.
    ///
    /// # Errors
    /// The driver's.
    pub async fn zoom_in(&self, times: u32) -> Outcome {
        for _ in 0..times {
            self.click("#zoom-in").await?;
        }
        self.settle().await
    }

    /// Places landmarks one after the other: chooses each in the list and taps on the photo.
    ///
    /// # Errors
    /// Where one does not land within half a screen pixel and its rounding.
    pub async fn place_landmarks(&self, tool: Tool, landmarks: &[(&str, ImageXy)]) -> Outcome {
        self.step("points").await?;
        for (id, at) in landmarks {
            self.choose_landmark(id).await?;
            let screen = self.screen_from_image(at.0, at.1).await?;
            self.tap(tool, screen).await?;
            let script = "return Boolean(JSON.parse(counterpoise.planJson()).landmarks[arguments[0]])";
            self.until_with(script, vec![json!(id)]).await.map_err(|error| format!("{id}: {error}"))?;
            self.landmark_lies_at(id, *at).await?;
        }
        Ok(())
    }

    /// Chooses a landmark in the list, unfolding the part of the list it is in.
    ///
    /// # Errors
    /// Where it is not listed.
    pub async fn choose_landmark(&self, id: &str) -> Outcome {
        let css = format!("[data-landmark=\"{id}\"]");
        self.unfold(&css).await?;
        self.click(&css).await?;
        self.settle().await
    }

    /// Turns the tablet to the client, from the step of that name. Her view is fetched when it is first opened.
    ///
    /// # Errors
    /// Where it does not open.
    pub async fn turn_to_client(&self) -> Outcome {
        self.click("#client-start").await?;
        self.until("return document.documentElement.dataset.view === 'client'").await?;
        self.settle().await
    }

    /// Opens everything that is folded away.
    ///
    /// # Errors
    /// The driver's.
    pub async fn unfold_all(&self) -> Outcome {
        self.value("for (const fold of document.querySelectorAll('details')) fold.open = true").await?;
        self.settle().await
    }

    /// Opens the folded part that an element is in, if it is in one.
    ///
    /// # Errors
    /// Where there is no such element.
    pub async fn unfold(&self, css: &str) -> Outcome {
        let script = "const fold = document.querySelector(arguments[0])?.closest('details'); \
                      return fold && !fold.open ? fold.querySelector('summary') : null";
        let summary = self.value_with(script, vec![json!(css)]).await?;
        if !summary.is_null() {
            self.value_with(
                "arguments[0].scrollIntoView({ block: 'center' }); arguments[0].click()",
                vec![summary],
            )
            .await?;
        }
        Ok(())
    }

    async fn landmark_lies_at(&self, id: &str, at: ImageXy) -> Outcome {
        let plan = self.plan().await?;
        let place = &plan["landmarks"][id];
        let (x, y) = (place["x_px"].as_f64(), place["y_px"].as_f64());
        let (x, y) = x.zip(y).ok_or_else(|| format!("{id} is not in the plan"))?;
        let per_css = self.image_px_per_css_px().await?;
        // A pointer stands on whole CSS pixels: up to half of one off in each direction, and a little for the tap.
        let bound = 0.75 * per_css;
        let off = (x - at.0).abs().max((y - at.1).abs());
        if off <= bound {
            Ok(())
        } else {
            Err(format!("{id} lies {off:.2} px off its place (bound {bound:.2}): {x:.1}, {y:.1} for {at:?}")
                .into())
        }
    }

    /// How many px of the photo a CSS px shows.
    ///
    /// # Errors
    /// Where there is no photo.
    pub async fn image_px_per_css_px(&self) -> Result<f64, Failure> {
        let (a, b) = (self.screen_from_image(0.0, 0.0).await?, self.screen_from_image(1000.0, 0.0).await?);
        Ok(1000.0 / (b.0 - a.0).hypot(b.1 - a.1))
    }

    /// Types the distance between two landmarks, taken with calipers, mm.
    ///
    /// # Errors
    /// Where the plan does not take it.
    pub async fn add_caliper(&self, from: &str, to: &str, mm: &str) -> Outcome {
        self.step("points").await?;
        self.choose_option("#caliper-from", from).await?;
        self.choose_option("#caliper-to", to).await?;
        self.fill("#caliper-mm", mm).await?;
        self.click("#add-caliper").await?;
        self.until("return JSON.parse(counterpoise.planJson()).frame.calipers.length > 0").await
    }

    /// Chooses an option of a list.
    ///
    /// # Errors
    /// Where there is no such option.
    pub async fn choose_option(&self, css: &str, value: &str) -> Outcome {
        self.element(css)
            .await?
            .select_by_value(value)
            .await
            .map_err(|error| format!("{css} {value}: {error}").into())
    }

    /// Traces one side's natural brow by drawing around it.
    ///
    /// # Errors
    /// Where the plan does not take the trace.
    pub async fn trace(&self, tool: Tool, side: &str, around: &[ImageXy]) -> Outcome {
        self.step("hair").await?;
        if self
            .value_with(
                "return document.getElementById('trace-' + arguments[0]).getAttribute('aria-pressed')",
                vec![json!(side)],
            )
            .await?
            != "true"
        {
            self.click(&format!("#trace-{side}")).await?;
        }
        self.settle().await?;
        let mut stroke = Vec::with_capacity(around.len() + 1);
        for &(x, y) in around.iter().chain(around.first()) {
            stroke.push(self.screen_from_image(x, y).await?);
        }
        self.draw(tool, &stroke).await?;
        let script = "return JSON.parse(counterpoise.planJson()).natural[arguments[0]]?.by === 'trace'";
        self.until_with(script, vec![json!(side)])
            .await
            .map_err(|error| format!("trace {side}: {error}").into())
    }

    /// Everything up to two traced brows, on a real face.
    ///
    /// # Errors
    /// Where a step fails.
    pub async fn measure_face(&self, tool: Tool, face: &RealFace) -> Outcome {
        self.open_photo(&face.photo, 1350, 1350).await?;
        self.zoom_in(2).await?;
        self.place_landmarks(tool, &face.landmarks).await?;
        self.add_caliper("pupil.right", "pupil.left", "61,5").await?;
        self.trace(tool, "right", &face.right_brow).await?;
        self.trace(tool, "left", &face.left_brow).await
    }

    /// Starts both planned outlines from the natural brows.
    ///
    /// # Errors
    /// Where none fits.
    pub async fn start_outlines(&self) -> Outcome {
        self.step("shape").await?;
        self.click("#side-both").await?;
        self.click("#start-natural").await?;
        self.until(
            "const p = JSON.parse(counterpoise.planJson()).planned; return Boolean(p.right && p.left)",
        )
        .await?;
        self.settle().await
    }

    /// A value of one planned outline.
    ///
    /// # Errors
    /// Where there is none.
    pub async fn planned(&self, side: &str, param: &str) -> Result<f64, Failure> {
        let plan = self.plan().await?;
        plan["planned"][side][param].as_f64().ok_or_else(|| format!("no {param} on the {side}").into())
    }

    /// Where a handle of a planned outline lies on the screen, CSS px: computed from the plan alone.
    ///
    /// # Errors
    /// Where that side has no outline, or the outline no such handle.
    pub async fn handle_on_screen(&self, side: &str, handle: &str) -> Result<(f64, f64), Failure> {
        let plan = self.plan().await?;
        let mut params = OutlineParams::natural_median();
        for info in &Param::ALL {
            let value = plan["planned"][side][info.id]
                .as_f64()
                .ok_or_else(|| format!("no {} on the {side}", info.id))?;
            params = params.with(info.param, value);
        }
        let outline = Outline::try_new(&params).map_err(|error| format!("{error:?}"))?;
        let found = outline.handles().into_iter().find(|each| each.id == handle).ok_or("no such handle")?;
        self.screen_from_side(side, found.at.x, found.at.y).await
    }

    /// What a table of the report shows: `natural` or `planned`.
    ///
    /// # Errors
    /// Where there is no such table.
    pub async fn shown_table(&self, which: &str) -> Result<ShownTable, Failure> {
        let script = "const rows = document.querySelectorAll(`#report-${arguments[0]} tr[data-measure]`); \
            return Object.fromEntries([...rows].map((row) => [row.dataset.measure, Object.fromEntries( \
            [...row.querySelectorAll('td[data-col]')].map((cell) => [cell.dataset.col, { \
            value: cell.querySelector('.value').textContent.trim(), more: cell.querySelector('small').textContent.trim() }]))]))";
        match self.value_with(script, vec![json!(which)]).await? {
            Value::Object(table) if !table.is_empty() => Ok(table),
            other => Err(format!("the table {which} shows {other}").into()),
        }
    }

    /// The message the page shows now, or an empty text.
    ///
    /// # Errors
    /// The driver's.
    pub async fn message(&self) -> Result<String, Failure> {
        let text = self
            .value("const m = document.getElementById('message'); return m.hidden ? '' : document.getElementById('message-text').textContent")
            .await?;
        Ok(text.as_str().unwrap_or_default().to_owned())
    }

    /// Waits for the message with this key of the catalogue, whatever numbers stand in it.
    ///
    /// # Errors
    /// Where there is no such key, or another message stays.
    pub async fn message_is(&self, key: &str) -> Outcome {
        self.message_says(&longest_words(&catalogue(key)?)).await
    }

    /// Like [`Browser::message_is`], where more than one message would be right.
    ///
    /// # Errors
    /// Where there is no such key, or another message stays.
    pub async fn message_is_one_of(&self, keys: &[&str]) -> Outcome {
        let words: Result<Vec<String>, Failure> =
            keys.iter().map(|key| Ok(longest_words(&catalogue(key)?))).collect();
        let script = "const m = document.getElementById('message'); const said = m.textContent; \
                      return !m.hidden && arguments[0].some((words) => said.includes(words))";
        match self.until_with(script, vec![json!(words?)]).await {
            Ok(()) => Ok(()),
            Err(_) => Err(format!("none of {keys:?}; shown: “{}”", self.message().await?).into()),
        }
    }

    /// Waits until an element shows the text with this key of the catalogue.
    ///
    /// # Errors
    /// Where there is no such key, or it is not shown.
    pub async fn shows(&self, css: &str, key: &str) -> Outcome {
        let words = longest_words(&catalogue(key)?);
        let script = "return [...document.querySelectorAll(arguments[0])].some((e) => e.textContent.includes(arguments[1]))";
        self.until_with(script, vec![json!(css), json!(words)])
            .await
            .map_err(|error| format!("{key}: {error}").into())
    }

    /// Waits for a message that has these words in it.
    ///
    /// # Errors
    /// Where another one stays.
    pub async fn message_says(&self, words: &str) -> Outcome {
        let script = "const m = document.getElementById('message'); \
                      return !m.hidden && document.getElementById('message-text').textContent.includes(arguments[0])";
        match self.until_with(script, vec![json!(words)]).await {
            Ok(()) => Ok(()),
            Err(_) => Err(format!("no message with “{words}”; shown: “{}”", self.message().await?).into()),
        }
    }

    /// A case of this name, with nothing else in it.
    ///
    /// # Errors
    /// The driver's.
    pub async fn begin_case(&self, label: &str) -> Outcome {
        self.ready().await?;
        self.click("#more").await?;
        self.click("#new-case").await?;
        self.step("photo").await?;
        self.fill("#case-label", label).await?;
        self.until_with(
            "return JSON.parse(counterpoise.planJson()).case.label === arguments[0]",
            vec![json!(label)],
        )
        .await?;
        self.kept().await
    }

    /// All that is stored of cases, in the order of the keys; of photos their lengths.
    ///
    /// # Errors
    /// The driver's.
    pub async fn stored(&self) -> Result<Value, Failure> {
        let script = "const done = arguments[arguments.length - 1]; const open = indexedDB.open('counterpoise'); \
            open.onsuccess = () => { const all = open.result.transaction(['heads', 'plans', 'photos']); \
            const get = (name) => all.objectStore(name).getAll(); \
            const [heads, plans, photos] = ['heads', 'plans', 'photos'].map(get); \
            all.oncomplete = () => { open.result.close(); \
            done({ heads: heads.result, plans: plans.result, photos: photos.result.map(({ bytes }) => bytes.byteLength) }) }; }";
        self.value_later(script, Vec::new()).await
    }

    /// Waits until the page says that the present plan is kept on the device.
    ///
    /// # Errors
    /// Where it is not.
    pub async fn kept(&self) -> Outcome {
        // Read from the store itself: the line on the page may still speak of the state before.
        let script = "const done = arguments[arguments.length - 1]; const open = indexedDB.open('counterpoise'); \
            open.onerror = () => done(null); open.onsuccess = () => { try { \
            const all = open.result.transaction(['plans', 'state']); \
            const current = all.objectStore('state').get('current'); \
            current.onsuccess = () => { const get = all.objectStore('plans').get(current.result ?? ''); \
            get.onsuccess = () => { open.result.close(); done(get.result ?? null) }; get.onerror = () => done(null); }; \
            } catch { open.result.close(); done(null) } }";
        let wanted = self.plan_text().await?;
        for _ in 0..200 {
            if self.value_later(script, Vec::new()).await?.as_str() == Some(wanted.as_str()) {
                return Ok(());
            }
            self.pause(50).await;
        }
        Err("the plan is not kept on the device".into())
    }
}

/// A text of the English catalogue.
fn catalogue(key: &str) -> Result<String, Failure> {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../www/messages/en.json");
    let texts: Value = serde_json::from_str(&std::fs::read_to_string(file)?)?;
    texts[key].as_str().map(str::to_owned).ok_or_else(|| format!("the catalogue has no {key}").into())
}

/// The longest stretch of a text of the catalogue that has no value in it.
///
/// # Errors
/// Where the catalogue does not have it.
pub fn words_of(key: &str) -> Result<String, Failure> {
    Ok(longest_words(&catalogue(key)?))
}

fn longest_words(text: &str) -> String {
    let stretches = text.split('{').enumerate().map(|(index, part)| match part.split_once('}') {
        Some((_, words)) if index > 0 => words,
        _ => part,
    });
    stretches.max_by_key(|words| words.len()).unwrap_or_default().trim().to_owned()
}
