//! Mouse, finger and pen.

use serde_json::{Value, json};

use super::{Browser, Failure, Outcome};

/// What touches the screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tool {
    /// A mouse.
    Mouse,
    /// A finger. WebKit's driver delivers it as a mouse.
    Finger,
    /// A pen.
    Pen,
}

impl Tool {
    fn kind(self) -> &'static str {
        match self {
            Tool::Mouse => "mouse",
            Tool::Finger => "touch",
            Tool::Pen => "pen",
        }
    }
}

/// One pointer and the steps it takes, in CSS px of the viewport.
#[derive(Clone, Debug)]
pub struct Pointer {
    tool: Tool,
    id: String,
    steps: Vec<Value>,
}

impl Pointer {
    /// A pointer that has done nothing yet; two fingers need two ids.
    #[must_use]
    pub fn new(tool: Tool, id: &str) -> Pointer {
        Pointer { tool, id: id.to_owned(), steps: Vec::new() }
    }

    /// Moves there within so many ms.
    #[must_use]
    pub fn to(mut self, at: (f64, f64), ms: u64) -> Pointer {
        // Whole pixels: the drivers of today take no others.
        let (x, y) = (at.0.round(), at.1.round());
        self.steps.push(json!({
            "type": "pointerMove", "duration": ms, "origin": "viewport", "x": x as i64, "y": y as i64,
        }));
        self
    }

    /// Presses down.
    #[must_use]
    pub fn down(mut self) -> Pointer {
        // WebKit takes no pressure from the driver, and the page must not need any.
        self.steps.push(json!({ "type": "pointerDown", "button": 0 }));
        self
    }

    /// Lifts.
    #[must_use]
    pub fn up(mut self) -> Pointer {
        self.steps.push(json!({ "type": "pointerUp", "button": 0 }));
        self
    }

    /// Waits, ms.
    #[must_use]
    pub fn rest(mut self, ms: u64) -> Pointer {
        self.steps.push(json!({ "type": "pause", "duration": ms }));
        self
    }

    fn source(self) -> Value {
        json!({
            "type": "pointer", "id": self.id, "parameters": { "pointerType": self.tool.kind() },
            "actions": self.steps,
        })
    }
}

/// The mouse of [`Browser::hold`].
const HOLDING: &str = "holding";

impl Browser {
    /// Lets pointers take their steps together, one step of each at a time.
    ///
    /// # Errors
    /// The driver's, such as a place outside the window.
    pub async fn point(&self, pointers: Vec<Pointer>) -> Outcome {
        let sources: Vec<Value> = pointers.into_iter().map(Pointer::source).collect();
        self.actions(Value::Array(sources)).await
    }

    /// Taps a place.
    ///
    /// # Errors
    /// The driver's.
    pub async fn tap(&self, tool: Tool, at: (f64, f64)) -> Outcome {
        self.point(vec![Pointer::new(tool, tool.kind()).to(at, 0).down().rest(20).up()]).await
    }

    /// Presses the mouse on an element and keeps it pressed; [`Browser::let_go`] ends it.
    ///
    /// # Errors
    /// The driver's, or where there is no such element.
    pub async fn hold(&self, css: &str) -> Outcome {
        let at = self.middle_of(css).await?;
        self.point(vec![Pointer::new(Tool::Mouse, HOLDING).to(at, 0).down().rest(200)]).await?;
        self.settle().await
    }

    /// Lets go of an element that was held so many ms more.
    ///
    /// # Errors
    /// The driver's.
    pub async fn let_go(&self, css: &str, after_ms: u64) -> Outcome {
        let at = self.middle_of(css).await?;
        self.point(vec![Pointer::new(Tool::Mouse, HOLDING).to(at, 0).rest(after_ms).up()]).await?;
        self.settle().await
    }

    /// Draws along places without lifting.
    ///
    /// # Errors
    /// The driver's.
    pub async fn draw(&self, tool: Tool, along: &[(f64, f64)]) -> Outcome {
        let [first, rest @ ..] = along else { return Err("nothing to draw along".into()) };
        let start = Pointer::new(tool, tool.kind()).to(*first, 0).down();
        let stroke = rest.iter().fold(start, |pointer, &at| pointer.to(at, 8));
        self.point(vec![stroke.rest(20).up()]).await
    }

    /// Where a point of the photo lies on the screen, CSS px.
    ///
    /// # Errors
    /// Where the page shows no photo.
    pub async fn screen_from_image(&self, x: f64, y: f64) -> Result<(f64, f64), Failure> {
        place(
            &self
                .value_with(
                    "return window.counterpoise.view.screenFromImage(arguments[0], arguments[1])",
                    vec![json!(x), json!(y)],
                )
                .await?,
        )
    }

    /// Where a point of one side's frame (mm) lies on the screen, CSS px.
    ///
    /// # Errors
    /// Where there is no frame yet.
    pub async fn screen_from_side(&self, side: &str, out: f64, up: f64) -> Result<(f64, f64), Failure> {
        let script =
            "return window.counterpoise.view.screenFromSide(arguments[0], arguments[1], arguments[2])";
        place(&self.value_with(script, vec![json!(side), json!(out), json!(up)]).await?)
    }

    /// The middle of an element on the screen, CSS px.
    ///
    /// # Errors
    /// Where it does not appear.
    pub async fn middle_of(&self, css: &str) -> Result<(f64, f64), Failure> {
        let element = self.element_at_rest(css).await?;
        let script =
            "const r = arguments[0].getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]";
        place(&self.value_with(script, vec![serde_json::to_value(&element)?]).await?)
    }
}

/// A place written as `[x, y]` or `{x, y}`.
fn place(value: &Value) -> Result<(f64, f64), Failure> {
    let x = value.get(0).or_else(|| value.get("x")).and_then(Value::as_f64);
    let y = value.get(1).or_else(|| value.get("y")).and_then(Value::as_f64);
    x.zip(y).ok_or_else(|| format!("{value} is no place").into())
}
