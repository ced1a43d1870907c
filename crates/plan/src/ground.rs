//! What the planned outlines stand on: photo, face and natural brows. It stays the same while an outline is dragged, and
//! is most of the work.

use counterpoise_geometry::{PerSide, Side, measure_pair};

use crate::build_report::rows;
use crate::derive::{FrameState, Natural, derive_natural, needs_frame};
use crate::headline::symmetry;
use crate::{MeasureRow, Plan, PlanError, Symmetry};

/// Everything derived from photo, landmarks and natural brows alone.
pub struct Ground {
    /// Photo and face.
    pub frame: FrameState,
    /// Natural brows: not entered, usable, or refused with a reason.
    pub natural: PerSide<Option<Result<Natural, PlanError>>>,
    /// Their measures.
    pub rows: Vec<MeasureRow>,
    /// How uneven they are, where there are two.
    pub symmetry: Option<Symmetry>,
}

impl Ground {
    /// Of a plan.
    pub fn of(plan: &Plan) -> Ground {
        let frame = FrameState::of(plan);
        let natural = PerSide::from_fn(|side| {
            let natural = plan.natural.get(side).as_ref()?;
            // A trace without a frame is no mistake of the artist: it only waits for the landmarks.
            if matches!(frame, FrameState::Missing(..)) && needs_frame(natural) {
                return None;
            }
            Some(derive_natural(plan, side, natural, frame.of_photo()))
        });
        let mut ground = Ground { frame, natural, rows: Vec::new(), symmetry: None };
        let brows = PerSide::from_fn(|side| ground.natural(side));
        let measuring = ground.frame.measuring();
        let measured = rows(measure_pair(brows.map(|found| found.map(|found| &found.brow)), measuring));
        let uneven = brows.both().map(|pair| {
            symmetry(pair.map(|brow| &brow.contour), pair.map(|brow| brow.edge_sd_mm), measuring)
        });
        (ground.rows, ground.symmetry) = (measured, uneven);
        ground
    }

    /// The usable natural brow of one side.
    pub fn natural(&self, side: Side) -> Option<&Natural> {
        self.natural.get(side).as_ref()?.as_ref().ok()
    }
}
