use kurbo::{Point, Vec2};

use super::*;
use crate::hausdorff;

fn side(params: OutlineParams) -> NaturalSide {
    NaturalSide { contour: Outline::try_new(&params).unwrap().contour(), outline: params }
}

fn changed(changes: &[(Param, f64)]) -> OutlineParams {
    changes.iter().fold(OutlineParams::natural_median(), |p, &(param, by)| p.with(param, p.get(param) + by))
}

/// An uneven pair: the client's left higher, thinner in front, with a lower tail.
fn uneven() -> BalanceProblem {
    let right = changed(&[(Param::TipT, -1.5), (Param::Slant, 4.0)]);
    let left = changed(&[
        (Param::TipT, -1.2),
        (Param::FrontX, -1.5),
        (Param::BulbY, 1.2),
        (Param::BulbT, -0.8),
        (Param::ArchX, 2.0),
        (Param::ArchY, 1.8),
        (Param::TailY, -1.0),
    ]);
    BalanceProblem::new(PerSide { right: side(right), left: side(left) })
}

fn with_limits(mut problem: BalanceProblem, removed: f64, added: f64) -> BalanceProblem {
    for side in Side::BOTH {
        let rules = problem.rules.get_mut(side);
        (rules.removed, rules.added) = (AreaLimit::percent(removed), AreaLimit::percent(added));
    }
    problem
}

/// The two straight brows of the worked examples: 8 mm thick, 40 mm wide with rounded ends, the left 3 mm higher.
fn straight(removed: f64, added: f64) -> BalanceProblem {
    let low = OutlineParams([
        15.0, 20.0, 8.0, 0.0, 0.6, 35.0, 28.0, 8.0, 0.5, 55.0, 24.0, 7.9, 0.0, 0.0, 0.0, 0.0, 0.0,
    ]);
    let high = low.with(Param::BulbY, 23.0).with(Param::ArchY, 31.0).with(Param::TailY, 27.0);
    let mut problem = BalanceProblem::new(PerSide { right: side(low), left: side(high) });
    problem.edge_tolerance_mm = 0.0;
    with_limits(problem, removed, added)
}

#[test]
fn straight_pair_meets_in_the_middle_as_far_as_the_budgets_reach() {
    // Closed form for rectangles of thickness T, width W, area S, one d higher: the offset left is
    // e = max(0, d − (r + g) S / W), and the index 2 W / (2 W + 2 T) e for small e. The rounded ends make 0.879 of it.
    for (added, removed) in [(10.0, 0.0), (10.0, 10.0), (10.0, 20.0), (25.0, 0.0), (25.0, 10.0)] {
        let problem = straight(removed, added);
        let area = problem.natural.right.contour.area();
        let left = (3.0 - (removed + added) / 100.0 * area / 40.0).max(0.0);
        let ours = problem.solve().unwrap().asymmetry_mm;
        // With nothing removed the rounded ends have to be covered as well, which costs skin.
        let ends = if removed == 0.0 && added > 20.0 { 0.2 } else { 0.0 };
        assert!((ours - 0.879 * left).abs() < 0.06 + 0.08 * left + ends, "{added} {removed}: {ours} {left}");
    }
}

#[test]
fn straight_pair_is_even_beyond_the_closed_forms_bound() {
    // e = 0 at r = d W / S − g.
    let area = straight(0.0, 0.0).natural.right.contour.area();
    for added in [10.0, 25.0] {
        let enough = 100.0 * 3.0 * 40.0 / area - added;
        assert!(straight(enough + 1.5, added).solve().unwrap().asymmetry_mm < 0.03);
        assert!(straight(enough - 5.0, added).solve().unwrap().asymmetry_mm > 0.08);
    }
}

#[test]
fn free_skin_evens_a_pair_without_removing() {
    // The union of both brows has nothing removed and adds d / T to each; the family has no union with both rounded
    // ends, so it adds more.
    let balanced = straight(0.0, 300.0).solve().unwrap();
    assert!(balanced.asymmetry_mm < 0.05, "{}", balanced.asymmetry_mm);
    for side in Side::BOTH {
        let price = balanced.prices.get(side);
        assert!(price.removed_pct() < 0.2 && (35.0..65.0).contains(&price.added_pct()), "{price:?}");
    }
}

#[test]
fn trimming_alone_evens_a_pair_at_its_closed_form() {
    // With nothing added, each plan lies inside its brow: even at r = d / T.
    let most = straight(42.0, 0.3).solve().unwrap().asymmetry_mm;
    assert!(most < 0.06, "{most}");
    let half = straight(18.75, 0.3).solve().unwrap().asymmetry_mm;
    assert!((half - 0.879 * 1.5).abs() < 0.2, "{half}");
}

#[test]
fn identical_brows_are_even_at_every_limit() {
    let params = changed(&[(Param::TipT, -1.5)]);
    let problem = BalanceProblem::new(PerSide { right: side(params), left: side(params) });
    for point in problem.curve(&[0.0, 5.0, 20.0]).unwrap() {
        assert!(point.balanced.asymmetry_mm < 1e-9, "{}", point.balanced.asymmetry_mm);
    }
}

#[test]
fn swapped_sides_swap_the_answer() {
    let problem = uneven();
    let swapped = BalanceProblem {
        natural: problem.natural.clone().swapped(),
        rules: problem.rules.clone().swapped(),
        ..problem.clone()
    };
    let (a, b) = (problem.solve().unwrap(), swapped.solve().unwrap());
    assert_eq!(a.outlines.right.params(), b.outlines.left.params());
    assert_eq!(a.outlines.left.params(), b.outlines.right.params());
    assert_eq!(a.prices, b.prices.swapped());
    assert!((a.asymmetry_mm - b.asymmetry_mm).abs() < 1e-12);
}

#[test]
fn same_problem_same_answer() {
    assert_eq!(uneven().curve(&[0.0, 5.0]), uneven().curve(&[0.0, 5.0]));
}

#[test]
fn common_shift_leaves_the_answer() {
    let problem = uneven();
    let mut shifted = problem.clone();
    for at in Side::BOTH {
        let natural = shifted.natural.get_mut(at);
        for param in [Param::BulbY, Param::ArchY, Param::TailY] {
            natural.outline = natural.outline.with(param, natural.outline.get(param) - 2.0);
        }
        natural.contour = natural.contour.translated(Vec2::new(0.0, -2.0));
    }
    let (a, b) = (problem.solve().unwrap(), shifted.solve().unwrap());
    assert!((a.asymmetry_mm - b.asymmetry_mm).abs() < 2e-3, "{} {}", a.asymmetry_mm, b.asymmetry_mm);
    let back = b.outlines.right.contour().translated(Vec2::new(0.0, 2.0));
    assert!(hausdorff(&a.outlines.right.contour(), &back) < 0.1);
}

#[test]
fn curves_fall_with_either_limit() {
    let curves = uneven().curves(&[25.0, 5.0, 15.0], &[0.0, 2.0, 5.0, 10.0, 20.0]).unwrap();
    let index = |c: usize, k: usize| curves[c][k].balanced.asymmetry_mm;
    for (c, curve) in curves.iter().enumerate() {
        for (k, point) in curve.iter().enumerate() {
            assert!(k == 0 || index(c, k) <= index(c, k - 1));
            assert!(c == 0 || index(c, k) <= index(c - 1, k));
            assert!(point.balanced.keeps_limits);
            for at in Side::BOTH {
                let price = point.balanced.prices.get(at);
                assert!(price.removed_pct() <= point.removed_limit_pct + 0.2, "{price:?}");
                assert!(price.added_pct() <= [5.0, 15.0, 25.0][c] + 0.2, "{price:?}");
            }
        }
    }
    assert!(index(1, 2) < 0.6 * uneven().natural_asymmetry_mm());
    assert!(knee(&curves[1]).is_some_and(|k| k > 0 && k < 4));
}

#[test]
fn locks_hold_exactly() {
    let mut problem = uneven();
    problem.rules.left.locked = true;
    problem.rules.right.locked_params = vec![Param::ArchX, Param::Soft, Param::TailX];
    let start = PerSide {
        right: problem.natural.right.outline.with(Param::ArchX, 37.25),
        left: problem.natural.left.outline.with(Param::TailY, 13.5),
    };
    problem.start = Some(start);
    let balanced = problem.solve().unwrap();
    assert_eq!(balanced.outlines.left.params(), &start.left);
    for param in [Param::ArchX, Param::Soft, Param::TailX] {
        assert_eq!(balanced.outlines.right.params().get(param), start.right.get(param));
    }
    assert_ne!(balanced.outlines.right.params(), &start.right);
}

#[test]
fn lift_and_lower_are_bounds() {
    let mut problem = with_limits(uneven(), 30.0, 60.0);
    problem.rules.right.lift_mm = 0.4;
    problem.rules.left.lower_mm = 0.3;
    let balanced = problem.solve().unwrap();
    for param in [Param::BulbY, Param::ArchY, Param::TailY] {
        let moved = |at: Side| {
            balanced.outlines.get(at).params().get(param) - problem.natural.get(at).outline.get(param)
        };
        assert!(moved(Side::Right) <= 0.4 + 1e-9 && moved(Side::Left) >= -0.3 - 1e-9);
    }
}

#[test]
fn limits_in_square_millimetres_bind_where_they_are_tighter() {
    let mut problem = with_limits(uneven(), 10.0, 40.0);
    problem.rules.right.added.mm2 = Some(8.0);
    problem.rules.left.removed.mm2 = Some(3.0);
    let balanced = problem.solve().unwrap();
    assert!(balanced.prices.right.added_mm2 < 8.0 + 0.6, "{:?}", balanced.prices.right);
    assert!(balanced.prices.left.removed_counted_mm2 < 3.0 + 0.6, "{:?}", balanced.prices.left);
}

#[test]
fn thickness_has_a_floor() {
    let mut problem = with_limits(uneven(), 20.0, 40.0);
    problem.min_thickness_mm = 6.5;
    let balanced = problem.solve().unwrap();
    for at in Side::BOTH {
        let params = balanced.outlines.get(at).params();
        assert!(params.get(Param::BulbT) >= 6.5 - 1e-9 && params.get(Param::ArchT) >= 6.5 - 1e-9);
    }
}

#[test]
fn preference_shifts_the_price() {
    let total = |preference| {
        let mut problem = with_limits(uneven(), 15.0, 30.0);
        problem.preference = preference;
        let prices = problem.solve().unwrap().prices;
        [
            prices.right.removed_counted_mm2 + prices.left.removed_counted_mm2,
            prices.right.added_mm2 + prices.left.added_mm2,
        ]
    };
    let (filling, trimming) = (total(Preference::Filling), total(Preference::Trimming));
    assert!(filling[0] < trimming[0] - 2.0 && filling[1] > trimming[1] + 2.0, "{filling:?} {trimming:?}");
}

#[test]
fn guides_pull() {
    let mut problem = with_limits(uneven(), 15.0, 30.0);
    let free = problem.solve().unwrap();
    for at in Side::BOTH {
        problem.rules.get_mut(at).pulls = vec![
            GuidePull { guide: PullGuide::FrontLine { out: 15.0 }, weight: 2.0 },
            GuidePull { guide: PullGuide::Arch { out: 41.0 }, weight: 2.0 },
            GuidePull {
                guide: PullGuide::EndLine { from: Point::new(17.0, -35.0), through: Point::new(45.0, 2.0) },
                weight: 2.0,
            },
        ];
    }
    let pulled = problem.solve().unwrap();
    let off = |balanced: &Balanced, param: Param, target: f64| {
        (balanced.outlines.right.params().get(param) - target).abs()
    };
    assert!(off(&pulled, Param::FrontX, 15.0) < 0.7 * off(&free, Param::FrontX, 15.0));
    assert!(off(&pulled, Param::ArchX, 41.0) < 0.7 * off(&free, Param::ArchX, 41.0));
}

#[test]
fn two_states_share_what_cannot_be_removed() {
    // Equal brows of which the right drops 2 mm more when the eyes close: with free skin and hair the outlines differ
    // by the weight's share of it when open, and by the rest when closed.
    let params = changed(&[(Param::TipT, -1.5)]);
    let mut problem =
        with_limits(BalanceProblem::new(PerSide { right: side(params), left: side(params) }), 100.0, 300.0);
    for closed_weight in [0.0, 0.25, 0.5, 1.0] {
        let drop = |mm| Drop { front: mm, arch: mm, tail: mm };
        problem.two_states =
            Some(TwoStates { drop: PerSide { right: drop(2.5), left: drop(0.5) }, closed_weight });
        let balanced = problem.solve().unwrap();
        let higher = balanced.outlines.right.params().get(Param::ArchY)
            - balanced.outlines.left.params().get(Param::ArchY);
        assert!((higher - 2.0 * closed_weight).abs() < 0.1, "{closed_weight}: {higher}");
    }
}

#[test]
fn mirroring_is_even_and_keeps_the_mirrored_side() {
    let problem = uneven();
    let mirrored = problem.recipe(Recipe::Mirror(Side::Right)).unwrap();
    assert!(mirrored.asymmetry_mm < 1e-9);
    assert!(mirrored.prices.right.removed_mm2 < 1e-3 && mirrored.prices.right.added_mm2 < 1e-3);
    assert!(mirrored.prices.left.removed_mm2 > 1.0);
    let average = problem.recipe(Recipe::Average).unwrap();
    assert!(
        average.asymmetry_mm < 1e-9 && average.prices.left.removed_mm2 < mirrored.prices.left.removed_mm2
    );
}

#[test]
fn prices_are_those_of_the_polygon_overlay() {
    let problem = uneven();
    let balanced = problem.solve().unwrap();
    for at in Side::BOTH {
        let regions = crate::regions(&problem.natural.get(at).contour, &balanced.outlines.get(at).contour());
        let price = balanced.prices.get(at);
        assert!((crate::patches_area(&regions.removed) - price.removed_mm2).abs() < 1e-3);
        assert!((crate::patches_area(&regions.added) - price.added_mm2).abs() < 1e-3);
        assert!((crate::patches_area(&regions.kept) + price.added_mm2 - price.planned_mm2).abs() < 1e-3);
    }
}

#[test]
fn bad_rules_are_refused_by_name() {
    let check = |change: &dyn Fn(&mut BalanceProblem), want: &str| {
        let mut problem = uneven();
        change(&mut problem);
        assert_eq!(problem.solve().unwrap_err().code(), want);
        assert_eq!(problem.curve(&[5.0]).unwrap_err().code(), want);
    };
    check(&|p| p.rules.right.removed.percent = f64::NAN, "balance_out_of_range");
    check(&|p| p.rules.left.added.percent = -1.0, "balance_out_of_range");
    check(&|p| p.rules.left.added.mm2 = Some(f64::INFINITY), "balance_out_of_range");
    check(&|p| p.rules.left.lift_mm = -0.1, "balance_out_of_range");
    check(&|p| p.min_thickness_mm = f64::NAN, "balance_out_of_range");
    check(&|p| p.edge_tolerance_mm = 2.0, "balance_out_of_range");
    check(
        &|p| p.rules.right.pulls.push(GuidePull { guide: PullGuide::Arch { out: f64::NAN }, weight: 1.0 }),
        "balance_out_of_range",
    );
    check(
        &|p| p.start = Some(PerSide { right: OutlineParams([f64::NAN; 17]), left: p.natural.left.outline }),
        "balance_out_of_range",
    );
    check(
        &|p| {
            p.rules.right.locked = true;
            p.rules.left.locked_params = Param::ALL.map(|info| info.param).to_vec();
        },
        "everything_locked",
    );
    assert_eq!(uneven().curve(&[f64::NAN]).unwrap_err().code(), "balance_out_of_range");
    assert_eq!(uneven().curves(&[-3.0], &[5.0]).unwrap_err().code(), "balance_out_of_range");
}

#[test]
fn contradicting_limits_are_named_with_their_excess() {
    // The locked side was drawn 3 mm too high by hand: it removes more than it may, and cannot move.
    let mut problem = with_limits(uneven(), 1.0, 2.0);
    let natural = problem.natural.left.outline;
    let raised = natural
        .with(Param::BulbY, natural.get(Param::BulbY) + 3.0)
        .with(Param::ArchY, natural.get(Param::ArchY) + 3.0)
        .with(Param::TailY, natural.get(Param::TailY) + 3.0);
    problem.start = Some(PerSide { right: problem.natural.right.outline, left: raised });
    problem.rules.left.locked = true;
    match problem.solve().unwrap_err() {
        BalanceError::LimitsContradict { side, removed_excess_mm2, added_excess_mm2 } => {
            assert_eq!(side, Side::Left);
            assert!(removed_excess_mm2 > 10.0 && added_excess_mm2 > 10.0);
        }
        other => panic!("{other}"),
    }
    let curve = problem.curve(&[1.0, 90.0]).unwrap();
    assert!(!curve[0].balanced.keeps_limits);
}
