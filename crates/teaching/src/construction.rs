//! What can be shown of a mapping, one step after the other.

use counterpoise_plan::Kind;

/// Whose numbers go with a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Brows {
    /// The hair as it grew.
    Natural,
    /// The planned pair; the natural one until there is a plan.
    Planned,
}

/// One step of a mapping: what is drawn for it, and which numbers belong to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Construction {
    /// Its name in lessons.
    pub id: &'static str,
    /// What is drawn; all else is left out.
    pub kinds: &'static [Kind],
    /// Measures that are read off it.
    pub measures: &'static [&'static str],
    /// Of which brows.
    pub brows: Brows,
    /// Whether it shows the brows in a recorded pose.
    pub in_pose: bool,
}

/// Every step that a lesson can show, in the order in which brows are mapped.
pub const CONSTRUCTIONS: [Construction; 10] = {
    use Kind::{
        Added, ArchBone, ArchMeasure, ArchNatural, CentreLine, EndLine, FrontLine, HeightLine, Kept, Natural,
        Planned, Removed, Thread,
    };
    const fn of(
        id: &'static str,
        kinds: &'static [Kind],
        measures: &'static [&'static str],
        brows: Brows,
    ) -> Construction {
        Construction { id, kinds, measures, brows, in_pose: false }
    }
    [
        of("centre_line", &[CentreLine], &[], Brows::Natural),
        of(
            "heights",
            &[CentreLine, Natural, HeightLine],
            &["bulb_bottom", "bulb_top", "arch_top"],
            Brows::Natural,
        ),
        of("fronts", &[CentreLine, Natural, FrontLine], &["front_distance"], Brows::Natural),
        of("ends", &[CentreLine, Natural, EndLine], &["tail_out", "tail_up"], Brows::Natural),
        of(
            "arches",
            &[CentreLine, Natural, ArchMeasure, ArchNatural, ArchBone],
            &["arch_distance", "arch_top"],
            Brows::Natural,
        ),
        of(
            "threads",
            &[CentreLine, Natural, Planned, Thread],
            &["front_to_arch", "front_to_tail", "tail_angle"],
            Brows::Planned,
        ),
        of(
            "shaping",
            &[CentreLine, Natural, Planned],
            &["bulb_thickness", "arch_thickness", "brow_length"],
            Brows::Planned,
        ),
        of("balance", &[Kept, Removed, Added, Natural, Planned, CentreLine], &["area"], Brows::Planned),
        Construction {
            in_pose: true,
            ..of("movement", &[CentreLine, Natural, Planned, Removed], &[], Brows::Planned)
        },
        of(
            "sheet",
            &[CentreLine, FrontLine, HeightLine, Planned, Thread],
            &[
                "front_distance",
                "bulb_bottom",
                "bulb_top",
                "arch_distance",
                "arch_top",
                "tail_out",
                "tail_up",
            ],
            Brows::Planned,
        ),
    ]
};

impl Construction {
    /// The step with this name.
    #[must_use]
    pub fn from_id(id: &str) -> Option<&'static Construction> {
        CONSTRUCTIONS.iter().find(|step| step.id == id)
    }
}
