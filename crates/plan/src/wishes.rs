//! What a client may move: a few wishes, each of which moves several numbers of both outlines, within the artist's limits.

use counterpoise_geometry::{
    Contour, Outline as Shape, OutlineParams, Param, PerSide, RegionAreas, Side, counted_regions, within,
};
use serde::{Deserialize, Serialize};

use crate::apply::{checked_outline, frame_of};
use crate::codes::refused;
use crate::convert;
use crate::derive::natural_contour;
use crate::field::{self, FieldInfo};
use crate::notation::Read;
use crate::validate::number;
use crate::{Limits, Outline, Plan, PlanError};

/// How far each wish may go, as the artist sets it; 0 takes the wish away. The starts are judgement: what can be seen, and
/// drawn again on the same brow.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields, default)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ClientLimits {
    /// Thicker or thinner at the arch, mm; 0 to 3.
    pub fullness_mm: f64,
    /// Arch higher or lower, mm; 0 to 4.
    pub arch_mm: f64,
    /// Tail longer or shorter, mm; 0 to 6.
    pub length_mm: f64,
    /// Softer or crisper corners and arch, a bare number; 0 to 1.
    pub softness: f64,
    /// Share of the way from the artist's pair to two equal brows; 0 to 1.
    pub evenness: f64,
    /// More hair that may go than the artist's pair takes, % of the natural area; 0 to 20. What the plan's limits leave is hers
    /// in any case.
    pub hair_pct: f64,
    /// More skin that may be added than the artist's pair adds, % of the natural area; 0 to 100.
    pub skin_pct: f64,
}

impl Default for ClientLimits {
    fn default() -> Self {
        ClientLimits {
            fullness_mm: 0.8,
            arch_mm: 1.0,
            length_mm: 2.0,
            softness: 0.3,
            evenness: 1.0,
            hair_pct: 2.0,
            skin_pct: 15.0,
        }
    }
}

impl ClientLimits {
    /// True where the artist has set nothing.
    #[must_use]
    pub fn are_untouched(&self) -> bool {
        *self == ClientLimits::default()
    }
}

/// What a client wishes, from −1 to 1 of each limit; evenness from 0. All 0 is the artist's own pair.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields, default)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[expect(missing_docs, reason = "the fields of `ClientLimits`, where they are described")]
pub struct Wishes {
    pub fullness: f64,
    pub arch: f64,
    pub length: f64,
    pub softness: f64,
    pub evenness: f64,
}

/// One wish: the table that sliders, limits and outlines are made from.
pub struct WishInfo {
    /// Name in files and messages.
    pub id: &'static str,
    /// The limit's range.
    pub limit: FieldInfo,
    /// Least and greatest value of the wish.
    pub range: (f64, f64),
    limit_of: fn(&ClientLimits) -> f64,
    value_of: fn(&Wishes) -> f64,
    /// What the wish moves, for each unit of its limit.
    moves: &'static [(Param, f64)],
}

/// Both ways.
const EITHER: (f64, f64) = (-1.0, 1.0);

/// Every wish.
pub const WISHES: [WishInfo; 5] = [
    WishInfo {
        id: "fullness",
        limit: field::CLIENT_FULLNESS,
        range: EITHER,
        limit_of: |limits| limits.fullness_mm,
        value_of: |wishes| wishes.fullness,
        // The bulb goes along less, so that the front does not grow blunt.
        moves: &[(Param::ArchT, 1.0), (Param::BulbT, 0.7), (Param::TipT, 0.2)],
    },
    WishInfo {
        id: "arch",
        limit: field::CLIENT_ARCH,
        range: EITHER,
        limit_of: |limits| limits.arch_mm,
        value_of: |wishes| wishes.arch,
        // Mostly by filling above, so that a higher arch costs little of the hair below it.
        moves: &[(Param::ArchY, 1.0), (Param::ArchT, 0.6)],
    },
    WishInfo {
        id: "length",
        limit: field::CLIENT_LENGTH,
        range: EITHER,
        limit_of: |limits| limits.length_mm,
        value_of: |wishes| wishes.length,
        // A longer tail goes on falling about as it fell.
        moves: &[(Param::TailX, 1.0), (Param::TailY, -0.5)],
    },
    WishInfo {
        id: "softness",
        limit: field::CLIENT_SOFTNESS,
        range: EITHER,
        limit_of: |limits| limits.softness,
        value_of: |wishes| wishes.softness,
        moves: &[(Param::Soft, 1.0), (Param::Round, 1.0)],
    },
    WishInfo {
        id: "evenness",
        limit: field::CLIENT_EVENNESS,
        range: (0.0, 1.0),
        limit_of: |limits| limits.evenness,
        value_of: |wishes| wishes.evenness,
        moves: &[],
    },
];

/// Checks the artist's limits.
///
/// # Errors
/// `not_finite` or `out_of_range`.
pub fn check_limits(limits: &ClientLimits) -> Result<(), PlanError> {
    crate::in_range(&field::CLIENT_HAIR, limits.hair_pct)?;
    crate::in_range(&field::CLIENT_SKIN, limits.skin_pct)?;
    WISHES.iter().try_for_each(|wish| crate::in_range(&wish.limit, (wish.limit_of)(limits)))
}

/// Halvings of the way back to the artist's pair: a sixty-fourth of a wish is far below what can be seen.
const HALVINGS: usize = 6;

/// The artist's pair `base` with the client's wishes, as far as they go on the way from `before`, what she wished until now:
/// the slider that is dragged stops, the others stay. No outline becomes invalid, and no side takes away or adds more than the
/// plan's limits allow, or than the artist's own pair does by more than the client is given, whichever is more.
///
/// # Errors
/// Where a wish or an outline of `base` cannot be used, or there is none.
pub fn wished(
    plan: &Plan,
    base: &PerSide<Option<Outline>>,
    before: &Wishes,
    wishes: &Wishes,
) -> Result<PerSide<Option<Outline>>, PlanError> {
    let (pair, way) = reached(plan, base, before, wishes)?;
    Ok(moved(&pair, &way).map(|outline| outline.as_ref().map(convert::outline)))
}

/// How far the same wishes go, each as a wish: where the sliders come to rest.
///
/// # Errors
/// As [`wished`].
pub fn wishes_held(
    plan: &Plan,
    base: &PerSide<Option<Outline>>,
    before: &Wishes,
    wishes: &Wishes,
) -> Result<Wishes, PlanError> {
    let (_, way) = reached(plan, base, before, wishes)?;
    let [fullness, arch, length, softness, evenness] = std::array::from_fn(|k| {
        let limit = (WISHES[k].limit_of)(&plan.client);
        if limit > 0.0 { way[k] / limit } else { 0.0 }
    });
    Ok(Wishes { fullness, arch, length, softness, evenness })
}

type Pair = PerSide<Option<OutlineParams>>;

fn reached(
    plan: &Plan,
    base: &PerSide<Option<Outline>>,
    before: &Wishes,
    wishes: &Wishes,
) -> Result<(Pair, Way), PlanError> {
    for all in [before, wishes] {
        WISHES.iter().try_for_each(|wish| number(wish.id, wish.range, (wish.value_of)(all)))?;
    }
    let mut pair = PerSide::default();
    for side in Side::BOTH {
        *pair.get_mut(side) = base.get(side).as_ref().map(checked_outline).transpose()?;
    }
    if pair.right.is_none() && pair.left.is_none() {
        return Err(PlanError::refused(refused::PLANNED_FIRST, Side::Right.name()));
    }
    let room = Room::of(plan, &pair);
    let [none, before, wanted] = [&Wishes::default(), before, wishes]
        .map(|all| WISHES.each_ref().map(|wish| (wish.limit_of)(&plan.client) * (wish.value_of)(all)));
    let held = farthest(&none, &before, |way| room.holds(&moved(&pair, way)));
    let found = farthest(&held, &wanted, |way| room.holds(&moved(&pair, way)));
    Ok((pair, found))
}

/// How far each of [`WISHES`] goes, in units of its limit.
type Way = [f64; WISHES.len()];

/// The farthest point found on the straight way from one, which holds, to another that does.
fn farthest(from: &Way, to: &Way, holds: impl Fn(&Way) -> bool) -> Way {
    let at = |share: f64| std::array::from_fn(|k| from[k] + share * (to[k] - from[k]));
    if from == to || holds(to) {
        return *to;
    }
    let (mut held, mut too_far) = (0.0, 1.0);
    for _ in 0..HALVINGS {
        let share = 0.5 * (held + too_far);
        if holds(&at(share)) { held = share } else { too_far = share }
    }
    at(held)
}

/// The pair moved so far by the wishes.
fn moved(base: &Pair, way: &Way) -> Pair {
    if way.iter().all(|far| *far == 0.0) {
        return *base;
    }
    let even = WISHES.iter().zip(way).find(|(wish, _)| wish.moves.is_empty()).map_or(0.0, |(_, far)| *far);
    let mean = base.right.as_ref().zip(base.left.as_ref()).map(|(right, left)| right.mean(left));
    PerSide::from_fn(|side| {
        let own = (*base.get(side))?;
        let mut next = Param::ALL.iter().fold(own, |next, info| {
            let to = mean.map_or(own.get(info.param), |mean| mean.get(info.param));
            next.with(info.param, own.get(info.param) + even * (to - own.get(info.param)))
        });
        for (wish, far) in WISHES.iter().zip(way) {
            for (param, by) in wish.moves {
                let (low, high) = param.info().range;
                next = next.with(*param, within(next.get(*param) + by * far, low, high));
            }
        }
        Some(next)
    })
}

/// What a pair may take away and add.
struct Room<'a> {
    limits: &'a Limits,
    client: &'a ClientLimits,
    natural: PerSide<Option<Contour>>,
    /// What the artist's own pair takes and adds, mm².
    own: PerSide<Option<RegionAreas>>,
}

impl<'a> Room<'a> {
    fn of(plan: &'a Plan, base: &Pair) -> Room<'a> {
        let frame = frame_of(plan).ok().flatten();
        let natural = PerSide::from_fn(|side| {
            natural_contour(side, plan.natural.get(side).as_ref()?, frame.as_ref()).ok()
        });
        let mut room = Room { limits: &plan.limits, client: &plan.client, natural, own: PerSide::default() };
        room.own = PerSide::from_fn(|side| room.areas(side, &Shape::try_new(base.get(side).as_ref()?).ok()?));
        room
    }

    fn areas(&self, side: Side, shape: &Shape) -> Option<RegionAreas> {
        let natural = self.natural.get(side).as_ref()?;
        Some(counted_regions(natural, &shape.contour(), self.limits.edge_tolerance_mm).areas)
    }

    fn holds(&self, pair: &Pair) -> bool {
        Side::BOTH.into_iter().all(|side| {
            let Some(params) = pair.get(side) else { return true };
            let Ok(shape) = Shape::try_new(params) else { return false };
            let Some((found, own)) = self.areas(side, &shape).zip(*self.own.get(side)) else { return true };
            let mm2 = |pct: f64| 0.01 * pct * found.natural;
            let (limits, client) = (self.limits, self.client);
            let hair =
                mm2(limits.removed_pct_of(found.natural)).max(own.removed_counted + mm2(client.hair_pct));
            let skin = mm2(limits.added_pct_of(found.natural)).max(own.added + mm2(client.skin_pct));
            found.removed_counted <= hair && found.added <= skin
        })
    }
}
