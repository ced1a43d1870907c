//! The sheet for the couch: both outlines at 1:1, and the numbers in the order in which they are drawn.
//!
//! [`Sheet::of`] lays a plan out on pages of marks in millimetres; [`pdf`], [`svg`] and [`csv`] write it down. Pages are in mm
//! with x to the right and y down from the top left corner of the paper. No sentence is made here: every word comes from the
//! catalogue that the caller hands in.

mod csv;
mod direction;
mod drawing;
mod font;
mod hatch;
mod numbers;
mod page;
mod pdf;
mod sheet;
mod svg;
mod table;

pub use csv::csv;
pub use font::Fonts;
pub use page::{Align, Ink, Mark, Page, Paper, Weight};
pub use pdf::pdf;
pub use sheet::{Sheet, SheetOptions};
pub use svg::svg;
pub use table::{Row, STEPS, Step};
