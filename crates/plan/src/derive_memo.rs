//! Many plans that differ little, as in a drag: what stayed is not derived again. Photo, face and natural brows stay while an
//! outline is dragged, and the other side's outline does.

use std::rc::Rc;

use counterpoise_geometry::{PerSide, SortedMap};

use crate::derive::{Derived, OnSide, SideInputs};
use crate::ground::Ground;
use crate::{FrameSettings, NaturalBrow, Noise, Photo, Plan, PointPx};

/// Remembers what the last plan amounted to: its ground, and each side on it. What is derived does not depend on it; only the
/// time does.
#[derive(Default)]
pub struct DeriveMemo {
    ground: Option<(GroundInputs, Rc<Ground>)>,
    /// Each on the ground above.
    sides: PerSide<Option<(SideInputs, Rc<OnSide>)>>,
}

/// All of a plan that a ground depends on.
#[derive(Clone, PartialEq)]
struct GroundInputs {
    photo: Option<Photo>,
    landmarks: SortedMap<String, PointPx>,
    frame: FrameSettings,
    noise: Noise,
    natural: PerSide<Option<NaturalBrow>>,
}

impl GroundInputs {
    fn of(plan: &Plan) -> GroundInputs {
        GroundInputs {
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

impl DeriveMemo {
    /// Derives everything of a plan, less what stayed as it was.
    pub(crate) fn derive(&mut self, plan: &Plan) -> Derived {
        let ground = self.ground(plan);
        let sides = PerSide::from_fn(|side| {
            let inputs = SideInputs::of(plan, side);
            let last = self.sides.get_mut(side);
            if let Some((known, on_side)) = last
                && *known == inputs
            {
                return Rc::clone(on_side);
            }
            let on_side = Rc::new(OnSide::of(&ground, side, &inputs));
            *last = Some((inputs, Rc::clone(&on_side)));
            on_side
        });
        Derived { ground, sides }
    }

    fn ground(&mut self, plan: &Plan) -> Rc<Ground> {
        if let Some((inputs, ground)) = &self.ground
            && inputs.are_of(plan)
        {
            return Rc::clone(ground);
        }
        let ground = Rc::new(Ground::of(plan));
        self.ground = Some((GroundInputs::of(plan), Rc::clone(&ground)));
        self.sides = PerSide::default();
        ground
    }
}
