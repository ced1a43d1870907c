//! How even the pair can be, and what it costs in hair removed and skin added.
//!
//! Minimises the mean squared distance of corresponding points of the two mirrored outlines over both sides' numbers,
//! under limits on the area removed and added on each side. Along a curve the limits are tightened from loose to tight,
//! each answer starting the next: this project's model study on the Face Research Lab London Set found that way to end
//! within 0.005 mm of the best of many starts, where the way from tight to loose gets stuck.

mod answer;
mod blends;
mod one_side;
mod overlap;
mod prepared;
mod quadratic;
mod rules;
mod solver;

pub use self::answer::{BalanceError, Balanced, CurvePoint, LIMIT_SLACK_PCT, Recipe, SidePrice, knee};
use self::blends::Blends;
use self::prepared::{Pair, Prepared, contour_of};
pub use self::rules::{AreaLimit, Drop, GuidePull, NaturalSide, Preference, PullGuide, SideRules, TwoStates};
use self::solver::{State, solve, standing};
use crate::{Outline, OutlineParams, Param, PerSide, Side, mean_contour_distance, rising};

/// Added limits on the way from loose to tight, %.
const ADDED_SWEEP_PCT: [f64; 5] = [80.0, 45.0, 30.0, 20.0, 14.0];
/// Removed limits through which a single balance passes on its way from loose to tight, %.
const REMOVED_SWEEP_PCT: [f64; 7] = [30.0, 20.0, 12.0, 7.0, 4.0, 2.0, 1.0];

/// A pair to be balanced, and the rules for it.
#[derive(Clone, Debug)]
pub struct BalanceProblem {
    /// The natural brows.
    pub natural: PerSide<NaturalSide>,
    /// Outlines shaped by hand so far: the balance starts there, keeps locked numbers of theirs, and leaves what
    /// evenness does not decide as it is there. `None`: the natural fits.
    pub start: Option<PerSide<OutlineParams>>,
    /// Rules for each side.
    pub rules: PerSide<SideRules>,
    /// Least thickness of bulb and arch, mm.
    pub min_thickness_mm: f64,
    /// Removal is counted against the natural brow shrunk by this, mm: how far its edge may be off.
    pub edge_tolerance_mm: f64,
    /// What to prefer where both even the pair.
    pub preference: Preference,
    /// Open and closed eyes balanced together.
    pub two_states: Option<TwoStates>,
}

impl BalanceProblem {
    /// A problem with default rules: 5 % removed, 25 % added, edge tolerance 0.25 mm.
    #[must_use]
    pub fn new(natural: PerSide<NaturalSide>) -> Self {
        BalanceProblem {
            natural,
            start: None,
            rules: PerSide { right: SideRules::default(), left: SideRules::default() },
            min_thickness_mm: 2.0,
            edge_tolerance_mm: 0.25,
            preference: Preference::Neither,
            two_states: None,
        }
    }

    /// Unevenness of the natural brows: mean mirrored contour distance, mm.
    #[must_use]
    pub fn natural_asymmetry_mm(&self) -> f64 {
        mean_contour_distance(&self.natural.right.contour, &self.natural.left.contour)
    }

    /// The evenest pair within the limits of the rules. It takes several ways to it, so it costs about as much as a
    /// whole [`BalanceProblem::curve`] and may be a little evener than the curve's point at the same limits.
    ///
    /// # Errors
    /// See [`BalanceError`].
    pub fn solve(&self) -> Result<Balanced, BalanceError> {
        let mut prepared = self.prepare()?;
        let begin = self.begin(&prepared)?;
        let most = |limit: fn(&SideRules) -> AreaLimit| {
            limit(&self.rules.right).percent.max(limit(&self.rules.left).percent)
        };
        // Where outlines run along natural edges the areas have kinks, and each way can come to rest at another place: so
        // three are gone, and the evenest taken.
        let mut ways = [begin.clone(), begin.clone(), begin];
        let [by_removed, by_added, _straight] = &mut ways;
        for percent in REMOVED_SWEEP_PCT.into_iter().filter(|&percent| percent > most(|rules| rules.removed))
        {
            prepared.limit_removed(self, percent);
            solve(&prepared, by_removed).ok_or(BalanceError::NoStart)?;
        }
        prepared.limit_as_ruled(self);
        for percent in ADDED_SWEEP_PCT.into_iter().filter(|&percent| percent > most(|rules| rules.added)) {
            prepared.limit_added(self, percent);
            solve(&prepared, by_added).ok_or(BalanceError::NoStart)?;
        }
        prepared.limit_as_ruled(self);
        for way in &mut ways {
            // The second time with fresh trust in the model.
            solve(&prepared, way).ok_or(BalanceError::NoStart)?;
            solve(&prepared, way).ok_or(BalanceError::NoStart)?;
        }
        let state = ways
            .into_iter()
            .min_by(|a, b| standing(&prepared, a).total_cmp(&standing(&prepared, b)))
            .ok_or(BalanceError::NoStart)?;
        let blends = self.blends(&prepared);
        let balanced = self.evenest(&prepared, &blends, &state)?;
        if balanced.keeps_limits { Ok(balanced) } else { Err(self.contradiction(&balanced)) }
    }

    /// Asymmetry left for each removed limit, %, under the added limits of the rules. The points come in the order of
    /// growing limits, and asymmetry never grows with the limit.
    ///
    /// The removed limits in per cent of the rules are set aside; those in mm² go on binding.
    ///
    /// # Errors
    /// See [`BalanceError`]; limits that no pair keeps are not an error here but marked in their point.
    pub fn curve(&self, removed_pct: &[f64]) -> Result<Vec<CurvePoint>, BalanceError> {
        let mut prepared = self.prepare()?;
        let blends = self.blends(&prepared);
        self.curve_of(&mut prepared, &blends, removed_pct)
    }

    /// One curve for each added limit, %, which replaces that of the rules. Asymmetry never grows with either limit.
    ///
    /// # Errors
    /// See [`BalanceProblem::curve`].
    pub fn curves(
        &self,
        added_pct: &[f64],
        removed_pct: &[f64],
    ) -> Result<Vec<Vec<CurvePoint>>, BalanceError> {
        let mut prepared = self.prepare()?;
        let mut limits = added_pct.to_vec();
        if limits.iter().any(|limit| !AreaLimit::percent(*limit).is_sound()) {
            return Err(BalanceError::OutOfRange { what: "added", side: None });
        }
        rising(&mut limits);
        let blends = self.blends(&prepared);
        let mut curves: Vec<Vec<CurvePoint>> = Vec::with_capacity(limits.len());
        for limit in limits {
            prepared.limit_added(self, limit);
            let mut curve = self.curve_of(&mut prepared, &blends, removed_pct)?;
            if let Some(tighter) = curves.last() {
                for (point, tighter) in curve.iter_mut().zip(tighter) {
                    point.improve_by(tighter);
                }
            }
            curves.push(curve);
        }
        Ok(curves)
    }

    /// What a simple recipe gives and costs; `None` where it is no valid outline.
    #[must_use]
    pub fn recipe(&self, recipe: Recipe) -> Option<Balanced> {
        let natural = self.natural.as_ref().map(|side| side.outline);
        let params = match recipe {
            Recipe::Mirror(side) => *natural.get(side),
            Recipe::Average => natural.right.mean(&natural.left),
        };
        self.price_of(&PerSide { right: params, left: params })
    }

    /// Asymmetry and price of any pair of outlines under these rules; `None` where one is not valid.
    #[must_use]
    pub fn price_of(&self, outlines: &PerSide<OutlineParams>) -> Option<Balanced> {
        let prepared = Prepared::new(self)?;
        let pair = prepared.order.map(|side| *outlines.get(side));
        self.balanced(&prepared, &pair)
    }

    /// Where the balance starts: the outlines shaped by hand, else the natural fits.
    fn home(&self) -> PerSide<OutlineParams> {
        self.start.unwrap_or_else(|| self.natural.as_ref().map(|side| side.outline))
    }

    fn prepare(&self) -> Result<Prepared, BalanceError> {
        self.check()?;
        Prepared::new(self).ok_or(BalanceError::NoStart)
    }

    fn begin(&self, prepared: &Prepared) -> Result<State, BalanceError> {
        let pair = prepared.start().ok_or(BalanceError::NoStart)?;
        Ok(State { pair, prices: [0.0; prepared::LIMITS] })
    }

    fn check(&self) -> Result<(), BalanceError> {
        let refuse = |what, side| Err(BalanceError::OutOfRange { what, side });
        let mut free = false;
        for side in Side::BOTH {
            let rules = self.rules.get(side);
            let at = Some(side);
            let bound = |value: f64| (0.0..=100.0).contains(&value);
            if !rules.removed.is_sound() {
                return refuse("removed", at);
            }
            if !rules.added.is_sound() {
                return refuse("added", at);
            }
            if !bound(rules.lift_mm) {
                return refuse("lift", at);
            }
            if !bound(rules.lower_mm) {
                return refuse("lower", at);
            }
            if !rules.pulls.iter().all(|pull| bound(pull.weight) && pull.guide.is_finite()) {
                return refuse("pull", at);
            }
            if self.home().get(side).first_out_of_range().is_some()
                || self.natural.get(side).outline.first_out_of_range().is_some()
            {
                return refuse("start", at);
            }
            free |= !rules.locked && Param::ALL.iter().any(|info| !rules.locked_params.contains(&info.param));
        }
        if !(0.0..=20.0).contains(&self.min_thickness_mm) {
            return refuse("min_thickness", None);
        }
        if !(0.0..=1.0).contains(&self.edge_tolerance_mm) {
            return refuse("edge_tolerance", None);
        }
        if let Some(states) = &self.two_states {
            let drops = [states.drop.right, states.drop.left];
            let sound =
                drops.iter().flat_map(|drop| [drop.front, drop.arch, drop.tail]).all(|mm| mm.abs() <= 30.0);
            if !sound || !(0.0..=1.0).contains(&states.closed_weight) {
                return refuse("two_states", None);
            }
        }
        if free { Ok(()) } else { Err(BalanceError::EverythingLocked) }
    }

    fn curve_of(
        &self,
        prepared: &mut Prepared,
        blends: &Option<Blends>,
        removed_pct: &[f64],
    ) -> Result<Vec<CurvePoint>, BalanceError> {
        if removed_pct.iter().any(|limit| !AreaLimit::percent(*limit).is_sound()) {
            return Err(BalanceError::OutOfRange { what: "removed", side: None });
        }
        let mut limits = removed_pct.to_vec();
        rising(&mut limits);
        limits.reverse();
        let mut state = self.begin(prepared)?;
        let mut points = Vec::with_capacity(limits.len());
        for limit in limits {
            prepared.limit_removed(self, limit);
            solve(prepared, &mut state).ok_or(BalanceError::NoStart)?;
            let balanced = self.evenest(prepared, blends, &state)?;
            points.push(CurvePoint { removed_limit_pct: limit, balanced });
        }
        points.reverse();
        // What a tighter limit allows, a looser one allows too.
        for i in 1..points.len() {
            let (tighter, looser) = points.split_at_mut(i);
            if let (Some(tighter), Some(looser)) = (tighter.last(), looser.first_mut()) {
                looser.improve_by(tighter);
            }
        }
        Ok(points)
    }

    /// The ways to the recipes; none where more is asked for than evenness, which is all the recipes know.
    fn blends(&self, prepared: &Prepared) -> Option<Blends> {
        let plain = self.two_states.is_none()
            && self.preference == Preference::Neither
            && Side::BOTH.iter().all(|&side| self.rules.get(side).pulls.is_empty());
        plain.then(|| Blends::new(prepared))
    }

    /// The solver's answer, or a blend that is evener inside the same limits.
    fn evenest(
        &self,
        prepared: &Prepared,
        blends: &Option<Blends>,
        state: &State,
    ) -> Result<Balanced, BalanceError> {
        let solved = self.balanced(prepared, &state.pair).ok_or(BalanceError::NoStart)?;
        let most = if solved.keeps_limits { solved.asymmetry_mm } else { f64::INFINITY };
        let blend = blends.as_ref().and_then(|blends| blends.evener_than(prepared, most));
        Ok(blend.and_then(|pair| self.balanced(prepared, &pair)).unwrap_or(solved))
    }

    fn balanced(&self, prepared: &Prepared, pair: &Pair) -> Option<Balanced> {
        let contours = [contour_of(&pair[0])?, contour_of(&pair[1])?];
        let prices = prepared.prices(pair)?;
        let outlines = [Outline::try_new(&pair[0]).ok()?, Outline::try_new(&pair[1]).ok()?];
        let keeps_limits = prepared.keeps_limits(&prices);
        let per_side = |first, second| {
            if prepared.order[0] == Side::Right { (first, second) } else { (second, first) }
        };
        let (right, left) = per_side(0, 1);
        Some(Balanced {
            asymmetry_mm: mean_contour_distance(&contours[0], &contours[1]),
            outlines: PerSide { right: outlines[right].clone(), left: outlines[left].clone() },
            prices: PerSide { right: prices[right], left: prices[left] },
            keeps_limits,
        })
    }

    fn contradiction(&self, balanced: &Balanced) -> BalanceError {
        let excess = |side: Side| {
            let (price, rules) = (balanced.prices.get(side), self.rules.get(side));
            let removed = price.removed_counted_mm2 - rules.removed.mm2(price.natural_mm2);
            (removed.max(0.0), (price.added_mm2 - rules.added.mm2(price.natural_mm2)).max(0.0))
        };
        let (right, left) = (excess(Side::Right), excess(Side::Left));
        let (side, (removed_excess_mm2, added_excess_mm2)) =
            if right.0 + right.1 >= left.0 + left.1 { (Side::Right, right) } else { (Side::Left, left) };
        BalanceError::LimitsContradict { side, removed_excess_mm2, added_excess_mm2 }
    }
}

#[cfg(test)]
mod tests;
