//! What the artist asks of the balance.

use kurbo::Point;

use crate::{Contour, OutlineParams, Param, PerSide};

/// Highest limit taken, %: more than any outline can remove or add.
const MOST_PCT: f64 = 1000.0;

/// The natural brow of one side.
#[derive(Clone, Debug)]
pub struct NaturalSide {
    /// Its edge; areas are counted against it.
    pub contour: Contour,
    /// The outline fitted to it; see [`crate::fit_outline`].
    pub outline: OutlineParams,
}

/// A limit on an area: per cent of the natural brow, and mm² if given; the tighter of the two binds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AreaLimit {
    /// % of the natural area.
    pub percent: f64,
    /// mm².
    pub mm2: Option<f64>,
}

impl AreaLimit {
    /// A limit in per cent alone.
    #[must_use]
    pub const fn percent(percent: f64) -> Self {
        AreaLimit { percent, mm2: None }
    }

    /// The limit that binds for a natural brow of this area, mm².
    #[must_use]
    pub fn mm2(&self, natural_mm2: f64) -> f64 {
        let by_percent = self.percent / 100.0 * natural_mm2;
        self.mm2.map_or(by_percent, |mm2| mm2.min(by_percent))
    }

    pub(super) fn is_sound(&self) -> bool {
        (0.0..=MOST_PCT).contains(&self.percent) && self.mm2.is_none_or(|mm2| mm2.is_finite() && mm2 >= 0.0)
    }
}

/// The artist's rules for one side.
#[derive(Clone, Debug, PartialEq)]
pub struct SideRules {
    /// How much natural brow may be removed, beyond the edge tolerance.
    pub removed: AreaLimit,
    /// How much skin may be added.
    pub added: AreaLimit,
    /// "Leave this brow": nothing of it moves.
    pub locked: bool,
    /// Parameters that stay as they are.
    pub locked_params: Vec<Param>,
    /// How far bulb, arch and tail end may be lifted above the natural fit, mm.
    pub lift_mm: f64,
    /// How far they may be lowered, mm.
    pub lower_mm: f64,
    /// Guides that draw the outline towards them.
    pub pulls: Vec<GuidePull>,
}

impl Default for SideRules {
    /// 5 % removed, 25 % added, 3 mm up and down, nothing locked (the model study's usual case).
    fn default() -> Self {
        SideRules {
            removed: AreaLimit::percent(5.0),
            added: AreaLimit::percent(25.0),
            locked: false,
            locked_params: Vec::new(),
            lift_mm: 3.0,
            lower_mm: 3.0,
            pulls: Vec::new(),
        }
    }
}

/// A wish to be near a guide: its squared distance, mm², is weighed against the mean square of the unevenness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GuidePull {
    /// Which guide.
    pub guide: PullGuide,
    /// 0 does nothing; at 1 a millimetre off the guide counts like a millimetre of unevenness everywhere. 0 to 100.
    pub weight: f64,
}

/// A guide that the balance can be drawn to; mm, side frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PullGuide {
    /// The front's bottom corner to the vertical this far from the centre line.
    FrontLine {
        /// Distance from the centre line.
        out: f64,
    },
    /// The end of the tail to the line through two points.
    EndLine {
        /// The nostril corner.
        from: Point,
        /// The outer eye corner.
        through: Point,
    },
    /// The arch to the chosen candidate.
    Arch {
        /// Its distance from the centre line.
        out: f64,
    },
}

/// What to prefer where both even the pair.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Preference {
    /// Neither.
    #[default]
    Neither,
    /// Adding skin to removing hair.
    Filling,
    /// Removing hair to adding skin.
    Trimming,
}

/// How far one side drops when the eyes close: mm at front, arch and tail end, straight in between.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Drop {
    /// At the front.
    pub front: f64,
    /// At the arch.
    pub arch: f64,
    /// At the tail end.
    pub tail: f64,
}

impl Drop {
    pub(super) fn at(&self, out: f64, outline: &OutlineParams) -> f64 {
        let (front, arch, tail) =
            (outline.get(Param::FrontX), outline.get(Param::ArchX), outline.get(Param::TailX));
        let between =
            |a: f64, b: f64, from: f64, to: f64| from + (to - from) * ((out - a) / (b - a)).clamp(0.0, 1.0);
        if out < arch {
            between(front, arch, self.front, self.arch)
        } else {
            between(arch, tail, self.arch, self.tail)
        }
    }
}

/// Two states of the face, open and closed eyes, to be balanced together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoStates {
    /// How far each side drops.
    pub drop: PerSide<Drop>,
    /// 0: open eyes alone count; 1: closed eyes alone.
    pub closed_weight: f64,
}

impl PullGuide {
    pub(super) fn is_finite(&self) -> bool {
        match self {
            PullGuide::FrontLine { out } | PullGuide::Arch { out } => out.is_finite(),
            PullGuide::EndLine { from, through } => {
                from.is_finite() && through.is_finite() && from != through
            }
        }
    }
}
