//! A plan that may be passed on: what was measured and drawn, without whose it is.

use counterpoise_geometry::PerSide;

use crate::agreement::Agreement;
use crate::cautions::Cautions;
use crate::document::{Case, NaturalBrow, Plan, PointPx};
use crate::poses::PoseRecord;
use crate::touch_up::TouchUp;
use crate::variants::Variant;

/// Photo places are rounded to one of so many parts of a px: far below the error of any hand, and a third of the text.
const PARTS: f64 = 100.0;

impl Plan {
    /// The plan without name, note, date, answers to the questions, words of the artist, kept pairs, agreements, touch-up and the keys of photos: brows,
    /// landmarks, poses, planned outlines and settings stay. Places on photos are rounded to 0.01 px.
    #[must_use]
    pub fn shareable(&self) -> Plan {
        // Every field is named here, so that a new one is kept or dropped on purpose.
        let Plan {
            format,
            version,
            case: _,
            photo,
            landmarks,
            frame,
            noise,
            natural,
            planned,
            guides,
            limits,
            balance,
            client,
            cautions: _,
            upkeep: _,
            variants: _,
            agreements: _,
            touch_up: _,
            poses,
        } = self.clone();
        Plan {
            format,
            version,
            case: Case::default(),
            photo,
            landmarks: landmarks.into_iter().map(|(id, at)| (id, rounded(at))).collect(),
            frame,
            noise,
            natural: PerSide { right: natural.right.map(brow), left: natural.left.map(brow) },
            planned,
            guides,
            limits,
            balance,
            client,
            cautions: Cautions::default(),
            upkeep: String::new(),
            variants: Vec::<Variant>::new(),
            agreements: Vec::<Agreement>::new(),
            touch_up: None::<TouchUp>,
            poses: poses.into_iter().map(|(id, record)| (id, pose(record))).collect(),
        }
    }
}

fn round(px: f64) -> f64 {
    (px * PARTS).round() / PARTS
}

fn rounded(at: PointPx) -> PointPx {
    PointPx { x_px: round(at.x_px), y_px: round(at.y_px) }
}

fn brow(brow: NaturalBrow) -> NaturalBrow {
    match brow {
        NaturalBrow::Trace { points_px } => {
            NaturalBrow::Trace { points_px: points_px.into_iter().map(|at| at.map(round)).collect() }
        }
        other => other,
    }
}

fn pose(mut record: PoseRecord) -> PoseRecord {
    if let Some(photo) = &mut record.photo {
        photo.key.clear();
        photo.points.values_mut().for_each(|at| *at = rounded(*at));
    }
    record
}
