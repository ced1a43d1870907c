//! Reading a natural brow.
//!
//! The derived reading of a tagged enum keeps every field of it in a general form until it has found the tag, which
//! for two traces takes as long as all the rest of a plan. Here the fields are read straight into their types, and the
//! tag then says which of them must be there.

use serde::de::Error;
use serde::{Deserialize, Deserializer};

use crate::document::default_tail_thickness;
use crate::{BrowCalipers, FrameStamp, NaturalBrow, Outline};

#[derive(Clone, Copy, Deserialize, PartialEq)]
#[serde(rename_all = "lowercase")]
enum By {
    Trace,
    Shape,
    Calipers,
}

/// The fields of every way to measure a brow.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct NaturalFields {
    by: By,
    points_px: Option<Vec<[f64; 2]>>,
    outline: Option<Outline>,
    at: Option<FrameStamp>,
    front_out_mm: Option<f64>,
    bulb_bottom_mm: Option<f64>,
    bulb_top_mm: Option<f64>,
    arch_out_mm: Option<f64>,
    arch_top_mm: Option<f64>,
    arch_thickness_mm: Option<f64>,
    tail_out_mm: Option<f64>,
    tail_up_mm: Option<f64>,
    tail_thickness_mm: Option<f64>,
}

impl<'de> Deserialize<'de> for NaturalBrow {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let mut fields = NaturalFields::deserialize(deserializer)?;
        let number =
            |field: &mut Option<f64>, name| field.take().ok_or_else(|| D::Error::missing_field(name));
        let brow = match fields.by {
            By::Trace => {
                let points_px =
                    fields.points_px.take().ok_or_else(|| D::Error::missing_field("points_px"))?;
                NaturalBrow::Trace { points_px }
            }
            By::Shape => {
                let outline = fields.outline.take().ok_or_else(|| D::Error::missing_field("outline"))?;
                NaturalBrow::Shape { outline, at: fields.at.take() }
            }
            By::Calipers => NaturalBrow::Calipers(BrowCalipers {
                front_out_mm: number(&mut fields.front_out_mm, "front_out_mm")?,
                bulb_bottom_mm: number(&mut fields.bulb_bottom_mm, "bulb_bottom_mm")?,
                bulb_top_mm: number(&mut fields.bulb_top_mm, "bulb_top_mm")?,
                arch_out_mm: number(&mut fields.arch_out_mm, "arch_out_mm")?,
                arch_top_mm: number(&mut fields.arch_top_mm, "arch_top_mm")?,
                arch_thickness_mm: number(&mut fields.arch_thickness_mm, "arch_thickness_mm")?,
                tail_out_mm: number(&mut fields.tail_out_mm, "tail_out_mm")?,
                tail_up_mm: number(&mut fields.tail_up_mm, "tail_up_mm")?,
                tail_thickness_mm: fields.tail_thickness_mm.take().unwrap_or_else(default_tail_thickness),
            }),
        };
        // What is left belongs to another way of measuring.
        match fields.left_over() {
            Some(name) => Err(D::Error::custom(format_args!("field `{name}` does not belong to this `by`"))),
            None => Ok(brow),
        }
    }
}

impl NaturalFields {
    fn left_over(&self) -> Option<&'static str> {
        [
            (self.points_px.is_some(), "points_px"),
            (self.outline.is_some(), "outline"),
            (self.at.is_some(), "at"),
            (self.front_out_mm.is_some(), "front_out_mm"),
            (self.bulb_bottom_mm.is_some(), "bulb_bottom_mm"),
            (self.bulb_top_mm.is_some(), "bulb_top_mm"),
            (self.arch_out_mm.is_some(), "arch_out_mm"),
            (self.arch_top_mm.is_some(), "arch_top_mm"),
            (self.arch_thickness_mm.is_some(), "arch_thickness_mm"),
            (self.tail_out_mm.is_some(), "tail_out_mm"),
            (self.tail_up_mm.is_some(), "tail_up_mm"),
            (self.tail_thickness_mm.is_some(), "tail_thickness_mm"),
        ]
        .into_iter()
        .find_map(|(is_there, name)| is_there.then_some(name))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_way_of_measuring_is_read_as_it_was_written() {
        let stamp = FrameStamp { image_from_face: [1.0, 0.0, 0.0, -1.0, 2.0, 3.0] };
        let outline = Outline([("arch_y".to_owned(), 27.0)].into());
        let calipers = BrowCalipers {
            front_out_mm: 13.5,
            bulb_bottom_mm: 15.5,
            bulb_top_mm: 21.5,
            arch_out_mm: 38.5,
            arch_top_mm: 27.0,
            arch_thickness_mm: 7.5,
            tail_out_mm: 55.5,
            tail_up_mm: 15.5,
            tail_thickness_mm: 2.5,
        };
        for brow in [
            NaturalBrow::Trace { points_px: vec![[1.0, 2.5], [3.0, 4.0]] },
            NaturalBrow::Shape { outline: outline.clone(), at: Some(stamp) },
            NaturalBrow::Shape { outline, at: None },
            NaturalBrow::Calipers(calipers),
        ] {
            let text = serde_json::to_string(&brow).unwrap();
            assert_eq!(serde_json::from_str::<NaturalBrow>(&text).unwrap(), brow, "{text}");
        }
    }

    #[test]
    fn missing_and_foreign_fields_are_refused() {
        for text in [
            r#"{}"#,
            r#"{"by": "trace"}"#,
            r#"{"by": "eye", "points_px": []}"#,
            r#"{"by": "trace", "points_px": [], "outline": {}}"#,
            r#"{"by": "trace", "points_px": [], "extra": 1}"#,
            r#"{"by": "shape", "points_px": []}"#,
            r#"{"by": "calipers", "front_out_mm": 13.0}"#,
            r#"{"by": "trace", "points_px": [[1.0]]}"#,
        ] {
            assert!(serde_json::from_str::<NaturalBrow>(text).is_err(), "{text}");
        }
    }
}
