//! What a move from the present outlines to others means: how far each number moves, and the price.

use counterpoise_geometry::{OutlineParams, Param, PerSide, Side, by_number};
use serde::Serialize;

use super::problem::{both, start};
use crate::apply::{checked_outline, fitted};
use crate::build_report::{areas, strips};
use crate::{Areas, DeriveMemo, Outline, Plan, PlanError, Strip};

/// A move and its price.
#[derive(Clone, Debug, Serialize)]
pub struct OutlineMove {
    /// Numbers that move by at least one step of their control, the largest move first.
    pub moves: Vec<Move>,
    /// Kept, removed and added after the move, where the natural brow is there.
    pub areas: PerSide<Option<Areas>>,
    /// Hair to remove after the move.
    pub strips: Vec<Strip>,
}

/// One number that moves.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Move {
    /// The client's side.
    pub side: Side,
    /// Outline parameter; text `param.ID`.
    pub param: &'static str,
    /// Unit of the three numbers.
    pub unit: &'static str,
    /// Now.
    pub from: f64,
    /// After the move.
    pub to: f64,
    /// `to` − `from`.
    pub change: f64,
}

/// What would move, from the outlines planned so far (else the natural fits) to these, and what they cost.
///
/// # Errors
/// Where these are no outlines, or there is nothing to move from.
pub fn explain_move(plan: &Plan, outlines: &PerSide<Outline>) -> Result<OutlineMove, PlanError> {
    explain_move_after(&mut DeriveMemo::default(), plan, outlines)
}

/// The same for moves of which each stands on the same brows as the one before, as along a curve.
///
/// # Errors
/// As [`explain_move`].
pub fn explain_move_after(
    memo: &mut DeriveMemo,
    plan: &Plan,
    outlines: &PerSide<Outline>,
) -> Result<OutlineMove, PlanError> {
    let to = both(|side| checked_outline(outlines.get(side)))?;
    let from = both(|side| start(plan, side, || fitted(plan, side)))?;
    let mut next = plan.clone();
    next.planned = outlines.clone().map(Some);
    let derived = memo.derive(&next);
    Ok(OutlineMove { moves: moves(&from, &to), areas: areas(&derived), strips: strips(&derived) })
}

/// Largest first: as seen in units of each parameter's typical change, so that degrees and millimetres compare.
fn moves(from: &PerSide<OutlineParams>, to: &PerSide<OutlineParams>) -> Vec<Move> {
    /// A step by hand leaves rounding behind.
    const WHOLE_STEP: f64 = 1.0 - 1e-9;
    let mut found: Vec<(f64, Move)> = Vec::new();
    for side in Side::BOTH {
        for info in &Param::ALL {
            let (from, to) = (from.get(side).get(info.param), to.get(side).get(info.param));
            let change = to - from;
            if change.abs() >= WHOLE_STEP * info.step {
                let made = Move { side, param: info.id, unit: info.unit.name(), from, to, change };
                found.push((change.abs() / info.scale, made));
            }
        }
    }
    by_number(found, |(weight, _)| -weight).into_iter().map(|(_, made)| made).collect()
}
