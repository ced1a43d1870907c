//! `share`: a plan as a link of the page, and back. What a link says is written down in `www/js/share_link.js`.

use std::io::{Read, Write};
use std::path::Path;

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use counterpoise_plan::{open, to_json};
use flate2::Compression;
use flate2::read::DeflateDecoder;
use flate2::write::DeflateEncoder;

use crate::Failure;
use crate::input::read_plan;
use crate::messages::{refusal, text};

/// Begins the fragment of a link that holds a plan.
const BEGINS: &str = "#plan=";
const VERSION: &str = "1";
/// A link's plan has no more text than this, bytes: a little deflated text may hold a great deal.
const MOST_PLAN: u64 = 1_000_000;

/// The link of a plan, without name, notes and all that says whose it is; `page` is where the page lies.
///
/// # Errors
/// Where the plan cannot be read.
pub fn link(plan: &Path, page: &str) -> Result<String, Failure> {
    let shareable = to_json(&read_plan(plan)?.shareable());
    let mut encoder = DeflateEncoder::new(Vec::new(), Compression::best());
    let deflated = encoder.write_all(shareable.as_bytes()).and_then(|()| encoder.finish());
    let letters = URL_SAFE_NO_PAD.encode(deflated.map_err(|error| error.to_string())?);
    let page = page.split('#').next().unwrap_or_default();
    Ok(format!("{page}{BEGINS}{VERSION}.{letters}\n"))
}

/// The plan in a link, as a plan file.
///
/// # Errors
/// Where the link is not whole, newer, or holds no plan.
pub fn plan(link: &str) -> Result<String, Failure> {
    let said = |key: &str| text(&format!("share.{key}")).to_owned();
    let (_, rest) = link.trim().split_once(BEGINS).ok_or_else(|| said("cut"))?;
    let (version, letters) = rest.split_once('.').ok_or_else(|| said("cut"))?;
    if version != VERSION {
        let is_newer = version.parse::<u32>().is_ok_and(|version| version > 1);
        return Err(said(if is_newer { "newer" } else { "cut" }));
    }
    let deflated = URL_SAFE_NO_PAD.decode(letters).map_err(|_| said("cut"))?;
    let mut json = String::new();
    let read = DeflateDecoder::new(deflated.as_slice()).take(MOST_PLAN + 1).read_to_string(&mut json);
    read.map_err(|_| said("cut"))?;
    if json.len() as u64 > MOST_PLAN {
        return Err(said("long"));
    }
    open(&json).map(|plan| to_json(&plan)).map_err(|error| refusal(&error))
}
