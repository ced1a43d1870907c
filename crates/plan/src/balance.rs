//! Balancing a plan: the curve of unevenness left against natural brow removed, and what a move means in words.

mod explain;
mod problem;

use counterpoise_geometry::{
    BalanceProblem, Balanced, CurvePoint, OutlineParams, PerSide, Recipe, Side, SidePrice, knee, rising,
};
use serde::Serialize;

pub use self::explain::{Move, OutlineMove, explain_move, explain_move_after};
use self::problem::{limits_contradict, problem, refusal};
use crate::build_report::planned_symmetry;
use crate::convert;
use crate::derive::{Derived, derive};
use crate::headline::measuring_error;
use crate::validate::in_range;
use crate::{Outline, Plan, PlanError, field};

/// Removed limits of a curve, % of the natural area: every per cent where the first ones tell most, then every second
/// one. Nothing beyond 30 % is offered: it would be another brow.
pub const REMOVED_LIMITS_PCT: [f64; 21] = [
    0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 12.0, 14.0, 16.0, 18.0, 20.0, 22.0, 24.0, 26.0,
    28.0, 30.0,
];

/// How even the pair can be under one limit of added skin, for growing limits of natural brow removed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BalanceCurve {
    /// Skin that may be added per side, % of the natural area. The plan's limit in mm² binds as well.
    pub added_limit_pct: f64,
    /// Headline of the natural brows, mm.
    pub natural_mm: f64,
    /// 95 % half width of the headline, mm: below it further balancing chases noise. 0 where no error is known.
    pub measuring_error_mm: f64,
    /// The curve, in the order of growing removed limits.
    pub points: Vec<BalancePoint>,
    /// Index of the point beyond which removing more gains little.
    pub knee: Option<usize>,
    /// The simple recipes, those that make valid outlines.
    pub recipes: Vec<BalanceRecipe>,
    /// The present plan, where both outlines are planned.
    pub current: Option<PairPrice>,
}

/// One point of a curve.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BalancePoint {
    /// Natural brow that may be removed per side, % of its area. The plan's limit in mm² binds as well.
    pub removed_limit_pct: f64,
    /// Headline left, mm.
    pub asymmetry_mm: f64,
    /// Removed beyond the edge tolerance, % of the natural area.
    pub removed_pct: PerSide<f64>,
    /// Added, % of the natural area.
    pub added_pct: PerSide<f64>,
    /// The outlines that reach it.
    pub outlines: PerSide<Outline>,
    /// False where no outlines were found that keep every limit and lock; the areas then say by how much.
    pub keeps_limits: bool,
}

/// What a simple recipe gives.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BalanceRecipe {
    /// `mirror_right` or `mirror_left` (that side's natural brow on both sides), or `average`.
    pub id: &'static str,
    /// Headline, mm.
    pub asymmetry_mm: f64,
    /// Removed beyond the edge tolerance, % of the natural area.
    pub removed_pct: PerSide<f64>,
    /// Added, % of the natural area.
    pub added_pct: PerSide<f64>,
}

/// How even a pair is and what it costs.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PairPrice {
    /// Headline, mm.
    pub asymmetry_mm: f64,
    /// Removed beyond the edge tolerance, % of the natural area.
    pub removed_pct: PerSide<f64>,
    /// Added, % of the natural area.
    pub added_pct: PerSide<f64>,
}

/// The recipes by name; text `recipe.ID`.
pub const RECIPES: [(&str, Recipe); 3] = [
    ("mirror_right", Recipe::Mirror(Side::Right)),
    ("mirror_left", Recipe::Mirror(Side::Left)),
    ("average", Recipe::Average),
];

/// The curve of a plan under one limit of added skin, % of the natural area. It starts from the outlines planned so
/// far, else from the natural fits.
///
/// # Errors
/// `out_of_range`; `natural_first`, `frame_first`, `no_fit` or what else keeps a natural brow from being used;
/// `outline_invalid`; `pull_guide_missing`; `everything_locked`; `limits_contradict` where no point of the curve keeps
/// every limit; `no_start`.
pub fn balance_curve(plan: &Plan, added_pct: f64) -> Result<BalanceCurve, PlanError> {
    // One limit gives one curve.
    balance_family(plan, &[added_pct])?
        .pop()
        .ok_or_else(|| PlanError::refused(crate::codes::refused::NO_START, ""))
}

/// One curve for each limit of added skin, %, in the order of growing limits. Unevenness grows with neither limit.
///
/// # Errors
/// See [`balance_curve`].
pub fn balance_family(plan: &Plan, added_pct: &[f64]) -> Result<Vec<BalanceCurve>, PlanError> {
    added_pct.iter().try_for_each(|limit| in_range(&field::ADDED, *limit))?;
    let derived = derive(plan);
    let problem = problem(plan, &derived)?;
    let curves = problem.curves(added_pct, &REMOVED_LIMITS_PCT).map_err(|error| refusal(&error))?;
    let mut limits = added_pct.to_vec();
    rising(&mut limits);
    let common = Common::of(plan, &derived, &problem);
    limits.into_iter().zip(curves).map(|(limit, points)| common.curve(plan, limit, &points)).collect()
}

/// What all curves of a plan share.
struct Common {
    natural_mm: f64,
    measuring_error_mm: f64,
    recipes: Vec<BalanceRecipe>,
    current: Option<PairPrice>,
}

impl Common {
    fn of(plan: &Plan, derived: &Derived, problem: &BalanceProblem) -> Common {
        let frame = derived.frame().measuring();
        let (natural, planned) = (derived.ground.symmetry, planned_symmetry(derived, frame));
        let recipe = |(id, recipe): (&'static str, Recipe)| {
            let price = price(&problem.recipe(recipe)?);
            Some(BalanceRecipe {
                id,
                asymmetry_mm: price.asymmetry_mm,
                removed_pct: price.removed_pct,
                added_pct: price.added_pct,
            })
        };
        let planned_params = || -> Option<PerSide<OutlineParams>> {
            PerSide::from_fn(|side| convert::params(plan.planned.get(side).as_ref()?).ok()).both()
        };
        Common {
            natural_mm: problem.natural_asymmetry_mm(),
            measuring_error_mm: measuring_error((natural.as_ref(), planned.as_ref())).unwrap_or(0.0),
            recipes: RECIPES.into_iter().filter_map(recipe).collect(),
            current: planned_params().and_then(|pair| problem.price_of(&pair)).map(|found| price(&found)),
        }
    }

    fn curve(&self, plan: &Plan, limit: f64, points: &[CurvePoint]) -> Result<BalanceCurve, PlanError> {
        if let Some(loosest) = points.last()
            && !points.iter().any(|point| point.balanced.keeps_limits)
        {
            return Err(limits_contradict(plan, limit, loosest));
        }
        Ok(BalanceCurve {
            added_limit_pct: limit,
            natural_mm: self.natural_mm,
            measuring_error_mm: self.measuring_error_mm,
            points: points.iter().map(balance_point).collect(),
            knee: knee(points),
            recipes: self.recipes.clone(),
            current: self.current,
        })
    }
}

fn balance_point(point: &CurvePoint) -> BalancePoint {
    let price = price(&point.balanced);
    BalancePoint {
        removed_limit_pct: point.removed_limit_pct,
        asymmetry_mm: price.asymmetry_mm,
        removed_pct: price.removed_pct,
        added_pct: price.added_pct,
        outlines: point.balanced.outlines.as_ref().map(|outline| convert::outline(outline.params())),
        keeps_limits: point.balanced.keeps_limits,
    }
}

fn price(balanced: &Balanced) -> PairPrice {
    PairPrice {
        asymmetry_mm: balanced.asymmetry_mm,
        removed_pct: balanced.prices.as_ref().map(SidePrice::removed_pct),
        added_pct: balanced.prices.as_ref().map(SidePrice::added_pct),
    }
}
