//! Working without a pointer.

use serde_json::json;

use super::{Browser, Keys, Outcome};
use crate::face::ImageXy;

impl Browser {
    /// Presses Tab, or with Shift where it lies before, until the focus is on what a selector names.
    ///
    /// # Errors
    /// Where the focus does not reach it.
    pub async fn tab_to(&self, css: &str) -> Outcome {
        // More than there are controls on any screen, twice over.
        const TURNS: u32 = 400;
        for _ in 0..TURNS {
            let where_it_is = "const at = document.activeElement; if (at?.matches(arguments[0])) return 'here'; \
                const wanted = document.querySelector(arguments[0]); \
                return wanted && at !== document.body && at.compareDocumentPosition(wanted) & Node.DOCUMENT_POSITION_PRECEDING ? 'before' : 'after'";
            match self.value_with(where_it_is, vec![json!(css)]).await?.as_str() {
                Some("here") => return Ok(()),
                Some("before") => self.press_with(Keys::SHIFT, Keys::TAB).await?,
                _ => self.press(&[Keys::TAB]).await?,
            }
        }
        Err(format!("Tab does not reach {css}").into())
    }

    /// Types text where the focus is.
    ///
    /// # Errors
    /// The driver's.
    pub async fn type_text(&self, text: &str) -> Outcome {
        let keys: Vec<String> = text.chars().map(String::from).collect();
        self.press(&keys.iter().map(String::as_str).collect::<Vec<_>>()).await
    }

    /// Moves a placed landmark with the arrow keys on its twin until it is within a pixel of its place.
    ///
    /// # Errors
    /// Where the keys do not bring it there.
    pub async fn move_landmark_by_keys(&self, id: &str, to: ImageXy) -> Outcome {
        self.tab_to(&format!("#twins [data-id$=\"{id}\"]")).await?;
        for _ in 0..200 {
            let plan = self.plan().await?;
            let at =
                |key: &str| plan["landmarks"][id][key].as_f64().ok_or_else(|| format!("{id} is not placed"));
            let (dx, dy) = (to.0 - at("x_px")?, to.1 - at("y_px")?);
            if dx.abs() <= 1.5 && dy.abs() <= 1.5 {
                return Ok(());
            }
            let (left, key) = if dx.abs() >= dy.abs() {
                (dx.abs(), if dx > 0.0 { Keys::RIGHT } else { Keys::LEFT })
            } else {
                (dy.abs(), if dy > 0.0 { Keys::DOWN } else { Keys::UP })
            };
            // With Shift ten steps at once, so far that is not too far.
            if left > 30.0 { self.press_with(Keys::SHIFT, key).await? } else { self.press(&[key]).await? }
        }
        Err(format!("arrow keys do not bring {id} to {to:?}").into())
    }

    /// Presses the theme button until the page is light or dark.
    ///
    /// # Errors
    /// Where it never is.
    pub async fn until_theme(&self, theme: &str) -> Outcome {
        for _ in 0..4 {
            if self.value("return document.documentElement.dataset.theme").await? == theme {
                return Ok(());
            }
            self.click("#theme").await?;
        }
        Err(format!("the page does not become {theme}").into())
    }
}
