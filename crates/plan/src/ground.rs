//! What the planned outlines stand on: photo, face and natural brows. It stays the same while an outline is dragged, and
//! is most of the work.

use std::collections::BTreeMap;
use std::rc::Rc;

use counterpoise_geometry::{PerSide, Side, measure_pair};

use crate::build_report::rows;
use crate::derive::{FrameState, Natural, derive_natural, needs_frame};
use crate::headline::symmetry;
use crate::{FrameSettings, MeasureRow, NaturalBrow, Noise, Photo, Plan, PlanError, PointPx, Symmetry};

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

/// Remembers the ground of the last plan, for whoever derives many plans that differ in their outlines only. What is
/// derived does not depend on it; only the time does.
#[derive(Default)]
pub struct GroundMemo {
    last: Option<(Inputs, Rc<Ground>)>,
}

/// All of a plan that a ground depends on.
#[derive(Clone, PartialEq)]
struct Inputs {
    photo: Option<Photo>,
    landmarks: BTreeMap<String, PointPx>,
    frame: FrameSettings,
    noise: Noise,
    natural: PerSide<Option<NaturalBrow>>,
}

impl Inputs {
    fn of(plan: &Plan) -> Inputs {
        Inputs {
            photo: plan.photo.clone(),
            landmarks: plan.landmarks.clone(),
            frame: plan.frame.clone(),
            noise: plan.noise.clone(),
            natural: plan.natural.clone(),
        }
    }

    fn are_of(&self, plan: &Plan) -> bool {
        self.photo == plan.photo
            && self.landmarks == plan.landmarks
            && self.frame == plan.frame
            && self.noise == plan.noise
            && self.natural == plan.natural
    }
}

impl GroundMemo {
    /// The ground of a plan: the last one where it is the same.
    pub(crate) fn ground(&mut self, plan: &Plan) -> Rc<Ground> {
        if let Some((inputs, ground)) = &self.last
            && inputs.are_of(plan)
        {
            return Rc::clone(ground);
        }
        let ground = Rc::new(Ground::of(plan));
        self.last = Some((Inputs::of(plan), Rc::clone(&ground)));
        ground
    }
}
