//! Poses of head, eyes and brows.

/// How the head is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Head {
    /// Sitting or standing.
    Upright,
    /// Lying on the couch.
    Reclined,
}

/// How the eyes are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Eyes {
    /// Open, looking straight ahead.
    Open,
    /// Gently closed.
    Closed,
}

/// What the brow muscles do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Muscles {
    /// Nothing on purpose.
    Resting,
    /// Lifting.
    Raised,
    /// Drawing together.
    Frowning,
}

/// One way of looking at a face. A brow is measured and planned in [`Pose::BASELINE`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Pose {
    /// The head.
    pub head: Head,
    /// The eyes.
    pub eyes: Eyes,
    /// The brows.
    pub brows: Muscles,
}

const fn pose(head: Head, eyes: Eyes, brows: Muscles) -> Pose {
    Pose { head, eyes, brows }
}

impl Pose {
    /// Upright, eyes open, resting: the pose of every plan.
    pub const BASELINE: Pose = pose(Head::Upright, Eyes::Open, Muscles::Resting);
    /// Reclined, eyes closed, resting: how the client lies while she is drawn on.
    pub const COUCH: Pose = pose(Head::Reclined, Eyes::Closed, Muscles::Resting);

    /// Every pose but the baseline, in the order in which they are worth recording.
    pub const OTHERS: [Pose; 11] = [
        pose(Head::Upright, Eyes::Closed, Muscles::Resting),
        Pose::COUCH,
        pose(Head::Reclined, Eyes::Open, Muscles::Resting),
        pose(Head::Upright, Eyes::Open, Muscles::Raised),
        pose(Head::Upright, Eyes::Open, Muscles::Frowning),
        pose(Head::Upright, Eyes::Closed, Muscles::Raised),
        pose(Head::Upright, Eyes::Closed, Muscles::Frowning),
        pose(Head::Reclined, Eyes::Open, Muscles::Raised),
        pose(Head::Reclined, Eyes::Open, Muscles::Frowning),
        pose(Head::Reclined, Eyes::Closed, Muscles::Raised),
        pose(Head::Reclined, Eyes::Closed, Muscles::Frowning),
    ];

    /// The name in files and messages, such as `reclined_closed_resting`.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match (self.head, self.eyes, self.brows) {
            (Head::Upright, Eyes::Open, Muscles::Resting) => "upright_open_resting",
            (Head::Upright, Eyes::Open, Muscles::Raised) => "upright_open_raised",
            (Head::Upright, Eyes::Open, Muscles::Frowning) => "upright_open_frowning",
            (Head::Upright, Eyes::Closed, Muscles::Resting) => "upright_closed_resting",
            (Head::Upright, Eyes::Closed, Muscles::Raised) => "upright_closed_raised",
            (Head::Upright, Eyes::Closed, Muscles::Frowning) => "upright_closed_frowning",
            (Head::Reclined, Eyes::Open, Muscles::Resting) => "reclined_open_resting",
            (Head::Reclined, Eyes::Open, Muscles::Raised) => "reclined_open_raised",
            (Head::Reclined, Eyes::Open, Muscles::Frowning) => "reclined_open_frowning",
            (Head::Reclined, Eyes::Closed, Muscles::Resting) => "reclined_closed_resting",
            (Head::Reclined, Eyes::Closed, Muscles::Raised) => "reclined_closed_raised",
            (Head::Reclined, Eyes::Closed, Muscles::Frowning) => "reclined_closed_frowning",
        }
    }

    /// The pose with this name, the baseline included.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Pose> {
        std::iter::once(Pose::BASELINE).chain(Pose::OTHERS).find(|pose| pose.id() == id)
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn every_pose_has_a_name_of_its_own() {
        let names: BTreeSet<_> = Pose::OTHERS.iter().map(|pose| pose.id()).collect();
        assert_eq!(names.len(), 11);
        assert!(!names.contains(Pose::BASELINE.id()));
        assert!(Pose::OTHERS.iter().all(|pose| Pose::from_id(pose.id()) == Some(*pose)));
        assert_eq!(Pose::from_id("upright_open_resting"), Some(Pose::BASELINE));
        assert_eq!(Pose::from_id("sideways"), None);
    }
}
