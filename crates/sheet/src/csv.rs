//! The table as comma-separated values.

use std::fmt::Write as _;

use counterpoise_plan::{Measured, shown};

use crate::sheet::Sheet;

/// The numbers as RFC 4180 text with a head line. Units stand in a column; an absent number is empty.
#[must_use]
pub fn csv(sheet: &Sheet) -> String {
    let mut out = String::from(
        "step,measure,unit,right,right_ci95,left,left_ci95,couch_right,couch_right_ci95,couch_left,couch_left_ci95\r\n",
    );
    for row in &sheet.rows {
        let _ = write!(out, "{},{},{}", row.step, row.measure, row.unit);
        let couch = row.couch.unwrap_or_default();
        for found in [row.upright.right, row.upright.left, couch.right, couch.left] {
            let Some(Measured { value, ci95 }) = found else {
                out.push_str(",,");
                continue;
            };
            let _ = write!(out, ",{},{}", shown(row.unit, value), shown(row.unit, ci95));
        }
        out.push_str("\r\n");
    }
    out
}
