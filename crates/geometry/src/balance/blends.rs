//! The ways straight from home to the simple recipes, as further candidates.
//!
//! The solver minimises the distance of corresponding points; the unevenness reported is the distance of the edges. On
//! a few pairs a blend towards the mean or a mirrored brow is evener by that measure at the same price, so the evenest
//! blend inside the limits is compared with the solver's answer.

use super::prepared::{AREA_LIMITS, Pair, Prepared, contour_of};
use crate::{OutlineParams, mean_contour_distance};

/// Steps on each way: where a limit binds in between, the place is found by halving.
const STEPS: usize = 12;
/// Halvings between two steps: to a 50,000th of the way, far below what changes a reported number.
const HALVINGS: usize = 12;
/// A blend is taken where it is evener than the solver's answer by more than this, mm.
const EVENER_MM: f64 = 1e-5;

/// One place on a way.
#[derive(Clone)]
struct Blend {
    pair: Pair,
    share: f64,
    spent: [f64; AREA_LIMITS],
    asymmetry_mm: f64,
}

/// All places on all ways that are valid outlines inside the boxes.
pub(crate) struct Blends {
    /// Ends of the ways.
    ends: Vec<Pair>,
    places: Vec<Vec<Blend>>,
}

impl Blends {
    pub(crate) fn new(problem: &Prepared) -> Blends {
        let home = problem.home();
        let mean = home[0].mean(&home[1]);
        let ends = vec![[mean, mean], [home[0], home[0]], [home[1], home[1]]];
        let places = ends
            .iter()
            .map(|end| {
                let shares = (0..=STEPS).map(|k| k as f64 / STEPS as f64);
                shares.filter_map(|share| Blend::at(problem, end, share)).collect()
            })
            .collect();
        Blends { ends, places }
    }

    /// The evenest blend inside the present limits, if it is evener than this.
    pub(crate) fn evener_than(&self, problem: &Prepared, asymmetry_mm: f64) -> Option<Pair> {
        let mut best: Option<Blend> = None;
        let mut most = asymmetry_mm - EVENER_MM;
        for (end, places) in self.ends.iter().zip(&self.places) {
            // The blend with the larger share is nearly always the evener one, so the last that keeps the limits leads.
            let Some(k) = places.iter().rposition(|place| problem.is_inside(&place.spent)) else { continue };
            let mut low = places[k].share;
            let mut here = places[k].clone();
            if let Some(next) = places.get(k + 1)
                && next.asymmetry_mm < most
            {
                let mut high = next.share;
                for _ in 0..HALVINGS {
                    let middle = 0.5 * (low + high);
                    let spent = problem.spent(&pair_at(problem, end, middle));
                    if spent.is_some_and(|spent| problem.is_inside(&spent)) {
                        low = middle;
                    } else {
                        high = middle;
                    }
                }
                here = Blend::at(problem, end, low).unwrap_or(here);
            }
            if here.asymmetry_mm < most {
                most = here.asymmetry_mm;
                best = Some(here);
            }
        }
        best.map(|blend| blend.pair)
    }
}

impl Blend {
    fn at(problem: &Prepared, end: &Pair, share: f64) -> Option<Blend> {
        let pair = pair_at(problem, end, share);
        let asymmetry_mm = mean_contour_distance(&contour_of(&pair[0])?, &contour_of(&pair[1])?);
        Some(Blend { pair, share, spent: problem.spent(&pair)?, asymmetry_mm })
    }
}

/// The pair at this share of the way from home to an end, moved into the boxes.
fn pair_at(problem: &Prepared, end: &Pair, share: f64) -> Pair {
    let home = problem.home();
    problem.boxed(&std::array::from_fn(|s| {
        OutlineParams(std::array::from_fn(|i| home[s].0[i] + share * (end[s].0[i] - home[s].0[i])))
    }))
}
