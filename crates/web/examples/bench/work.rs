//! The work that is timed, the same natively and as wasm. No clock in here: whoever calls has one.

use counterpoise_geometry::{
    AreaLimit, BalanceProblem, Contour, Drop, NaturalSide, Outline, OutlineParams, PARAM_COUNT, Param,
    PerSide, Side, TwoStates, count_regions, fit_outline, regions,
};
use counterpoise_plan::{DeriveMemo, Edit, Plan, apply, frame, glance_after, open, scene_after};
use kurbo::Point;
use serde_json::Value;

/// The plan to work on.
pub fn plan(text: &str) -> Result<Plan, String> {
    open(text).map_err(|error| format!("{error:?}"))
}

/// The same plan with nothing recorded of other poses: a pair and no more.
pub fn upright(plan: &Plan) -> Plan {
    Plan { poses: Default::default(), ..plan.clone() }
}

/// Derives report and scene of a pair so many times. Gives a number that depends on all of it, so that nothing can be
/// left out by the optimizer.
pub fn frames(plan: &Plan, times: u32) -> f64 {
    let mut sum = 0.0;
    for _ in 0..times {
        let (scene, report) = frame(std::hint::black_box(plan));
        sum += report.natural_symmetry.map_or(0.0, |symmetry| symmetry.mean_distance_mm);
        sum += scene.handles.len() as f64;
    }
    sum
}

/// What is drawn and shown while one parameter of one outline is dragged to and fro: photo and natural brows stay.
pub fn drags(plan: &Plan, times: u32) -> Result<f64, String> {
    let moved = |value: f64| {
        let edit = Edit::SetParam { side: Side::Right, param: "arch_y".into(), value, linked: false };
        apply(plan, &edit).map_err(|error| format!("{error:?}"))
    };
    let now = plan.planned.right.as_ref().and_then(|outline| outline.0.get("arch_y")).copied();
    let now = now.ok_or("no outline on the right")?;
    let plans = [moved(now)?, moved(now + 0.1)?];
    let mut memo = DeriveMemo::default();
    let mut sum = 0.0;
    for time in 0..times {
        let plan = if time % 2 == 0 { &plans[0] } else { &plans[1] };
        let plan = std::hint::black_box(plan);
        let (scene, glance) = (scene_after(&mut memo, plan), glance_after(&mut memo, plan));
        sum += glance.planned_symmetry.map_or(0.0, |symmetry| symmetry.mean_distance_mm);
        sum += scene.handles.len() as f64;
    }
    Ok(sum)
}

/// Starts both planned outlines from the natural brows so many times: two fits each.
pub fn fits(plan: &Plan, times: u32) -> Result<f64, String> {
    let edit = Edit::StartFromNatural { sides: Side::BOTH.to_vec() };
    let mut sum = 0.0;
    for _ in 0..times {
        let next = apply(std::hint::black_box(plan), &edit).map_err(|error| format!("{error:?}"))?;
        let outline = next.planned.get(Side::Right).as_ref();
        sum += outline.and_then(|outline| outline.0.values().next()).copied().unwrap_or(0.0);
    }
    Ok(sum)
}

/// What an independent library computes as well, from the fixtures that the reference tests read.
pub struct Common {
    pairs: Vec<[Contour; 2]>,
    brow: Contour,
    uneven: BalanceProblem,
}

/// Limits of the balance, % of the natural brow: the second of those that the fixture has answers for.
const REMOVED_PCT: f64 = 5.0;
const ADDED_PCT: f64 = 10.0;

impl Common {
    /// Reads `shapes.json`, `fit-scipy.json` and `balance-slsqp.json`.
    pub fn read(shapes: &str, brow: &str, balance: &str) -> Result<Common, String> {
        let value = |text: &str| serde_json::from_str::<Value>(text).map_err(|error| error.to_string());
        let contour = |ring: &Value| {
            let points = ring.as_array().into_iter().flatten();
            let points = points.filter_map(|at| Some(Point::new(at[0].as_f64()?, at[1].as_f64()?))).collect();
            Contour::try_new(points).map_err(|error| error.to_string())
        };
        let shapes = value(shapes)?;
        let pairs = shapes["cases"].as_array().into_iter().flatten();
        let pairs = pairs.map(|case| Ok::<_, String>([contour(&case["a"])?, contour(&case["b"])?]));
        Ok(Common {
            pairs: pairs.collect::<Result<_, _>>()?,
            brow: contour(&value(brow)?["brow_mm"])?,
            uneven: uneven(&value(balance)?["pairs"][0])?,
        })
    }

    /// Balances the first invented pair so many times. Gives the outlines: all numbers of the right one, then of the left one.
    pub fn balance(&self, times: u32) -> Result<Vec<f64>, String> {
        let mut found = Vec::new();
        for _ in 0..times {
            let balanced = std::hint::black_box(&self.uneven).solve().map_err(|error| error.to_string())?;
            found = Side::BOTH.iter().flat_map(|&side| balanced.outlines.get(side).params().0).collect();
        }
        Ok(found)
    }

    /// How many pairs there are.
    pub fn pairs(&self) -> u32 {
        self.pairs.len() as u32
    }

    /// Kept, removed and added of every pair, so many times. Gives the sum of all areas of one time, mm².
    pub fn areas(&self, times: u32) -> f64 {
        let mut sum = 0.0;
        for _ in 0..times {
            sum = 0.0;
            for [one, other] in &self.pairs {
                let found = regions(std::hint::black_box(one), other);
                let found = count_regions(one, other, &found.removed, 0.0).areas;
                sum += found.kept + found.removed + found.added;
            }
        }
        sum
    }

    /// Fits the brow so many times. Gives the first number of the outline.
    pub fn fit(&self, times: u32) -> Result<f64, String> {
        let mut first = 0.0;
        for _ in 0..times {
            let found = fit_outline(std::hint::black_box(&self.brow)).map_err(|error| error.to_string())?;
            first = found.outline.params().get(Param::FrontX);
        }
        Ok(first)
    }
}

/// What the other library balances, too: no tolerance at the hair's edge, and none of the simple recipes as a start.
fn uneven(pair: &Value) -> Result<BalanceProblem, String> {
    let side = |name: &str| {
        let numbers: Vec<f64> =
            pair[name].as_array().into_iter().flatten().filter_map(Value::as_f64).collect();
        let outline = OutlineParams(
            <[f64; PARAM_COUNT]>::try_from(numbers).map_err(|_| "an outline has other numbers")?,
        );
        let contour = Outline::try_new(&outline).map_err(|error| error.to_string())?.contour();
        Ok::<_, String>(NaturalSide { contour, outline })
    };
    let mut problem = BalanceProblem::new(PerSide { right: side("right")?, left: side("left")? });
    for side in Side::BOTH {
        let rules = problem.rules.get_mut(side);
        (rules.removed, rules.added) = (AreaLimit::percent(REMOVED_PCT), AreaLimit::percent(ADDED_PCT));
    }
    problem.edge_tolerance_mm = 0.0;
    let drop = PerSide { right: Drop::default(), left: Drop::default() };
    problem.two_states = Some(TwoStates { drop, closed_weight: 0.0 });
    Ok(problem)
}
