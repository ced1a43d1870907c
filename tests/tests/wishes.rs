//! What a client moves stays within what the artist allows, however the sliders are dragged.

use counterpoise_geometry::{Param, PerSide, Side};
use counterpoise_plan::{
    ClientLimits, Edit, Outline, Plan, PlanError, Wishes, apply, describe, report, to_json, wishes_held,
};
use counterpoise_tests::Chance;
use counterpoise_tests::cases::{Camera, whole_plan};

/// Steps of all drags together.
const STEPS: usize = 100_000;
/// A drag goes on for so many steps from one pair.
const STEPS_OF_A_DRAG: usize = 500;

fn wish(plan: &Plan, wishes: Wishes) -> Result<Plan, PlanError> {
    wish_on(plan, Wishes::default(), wishes)
}

fn wish_on(plan: &Plan, before: Wishes, wishes: Wishes) -> Result<Plan, PlanError> {
    apply(plan, &Edit::Wish { base: plan.planned.clone(), before, wishes })
}

fn limited(plan: &Plan, client: ClientLimits) -> Plan {
    apply(plan, &Edit::SetClient { client }).expect("the case has it")
}

/// An artist's pair: the even one of the case, a little changed, within random limits.
fn artists(chance: &mut Chance) -> Plan {
    let mut plan = whole_plan(&Camera::default()).expect("the case has it");
    for _ in 0..6 {
        let info = &Param::ALL[(chance.between(0.0, 17.0) as usize).min(16)];
        let side = if chance.between(0.0, 1.0) < 0.5 { Side::Right } else { Side::Left };
        let now = plan.planned.get(side).as_ref().expect("the case has it").0[info.id];
        let value = (now + chance.normal(info.scale)).clamp(info.range.0, info.range.1);
        let edit = Edit::SetParam { side, param: info.id.into(), value, linked: false };
        plan = apply(&plan, &edit).unwrap_or(plan);
    }
    let mut limits = plan.limits.clone();
    limits.removed_pct = chance.between(2.0, 25.0);
    limits.added_pct = chance.between(20.0, 120.0);
    limits.added_mm2 = (chance.between(0.0, 1.0) < 0.3).then(|| chance.between(40.0, 200.0));
    plan = apply(&plan, &Edit::SetLimits { limits }).expect("the case has it");
    let client = ClientLimits {
        fullness_mm: chance.between(0.0, 3.0),
        arch_mm: chance.between(0.0, 4.0),
        length_mm: chance.between(0.0, 6.0),
        softness: chance.between(0.0, 1.0),
        evenness: chance.between(0.0, 1.0),
        hair_pct: chance.between(0.0, 4.0),
        skin_pct: chance.between(0.0, 20.0),
    };
    limited(&plan, client)
}

fn value(outlines: &PerSide<Option<Outline>>, side: Side, id: &str) -> f64 {
    outlines.get(side).as_ref().expect("the case has it").0[id]
}

/// A hundred thousand steps of drags: `apply` takes every one, so the outlines are valid; no number goes farther than its
/// limits let it, and no side takes or adds more than the plan allows, or than the artist's pair did already.
#[test]
fn drags_stay_within_the_artists_limits() {
    let mut chance = Chance::new(21);
    let (mut farthest, mut held_back) = (0.0_f64, 0_usize);
    for drag in 0..STEPS / STEPS_OF_A_DRAG {
        let mut plan = artists(&mut chance);
        // Areas take most of the time, so most drags are of pairs without natural brows under them.
        let has_hair = drag % 8 == 0;
        if !has_hair {
            plan.natural = PerSide::default();
        }
        let own = report(&plan).areas;
        let mut wishes = Wishes::default();
        let mut before = wishes;
        for step in 0..STEPS_OF_A_DRAG {
            let which = (chance.between(0.0, 5.0) as usize).min(4);
            let [fullness, arch, length, softness, evenness] = [
                &mut wishes.fullness,
                &mut wishes.arch,
                &mut wishes.length,
                &mut wishes.softness,
                &mut wishes.evenness,
            ];
            let slider = [fullness, arch, length, softness, evenness].into_iter().nth(which).unwrap();
            let to = if chance.between(0.0, 1.0) < 0.1 {
                chance.between(-1.0, 1.0).signum()
            } else {
                *slider + chance.normal(0.3)
            };
            *slider = to.clamp(if which == 4 { 0.0 } else { -1.0 }, 1.0);
            let next = wish_on(&plan, before, wishes)
                .unwrap_or_else(|refusal| panic!("{drag}.{step} {wishes:?}: {refusal}"));

            let limits = &plan.client;
            for side in Side::BOTH {
                for (id, reach) in [
                    ("arch_t", limits.fullness_mm + 0.6 * limits.arch_mm),
                    ("bulb_t", 0.7 * limits.fullness_mm),
                    ("arch_y", limits.arch_mm),
                    ("tail_x", limits.length_mm),
                    ("soft", limits.softness),
                    ("front_x", 0.0),
                ] {
                    let (was, other) =
                        (value(&plan.planned, side, id), value(&plan.planned, side.other(), id));
                    // On the way from before to now: anywhere between the two.
                    let even =
                        was + limits.evenness * wishes.evenness.max(before.evenness) * 0.5 * (other - was);
                    let (low, high) = (was.min(even) - reach, was.max(even) + reach);
                    let is = value(&next.planned, side, id);
                    assert!(
                        (low - 1e-9..=high + 1e-9).contains(&is),
                        "{drag}.{step} {id}: {is} of {low} to {high}"
                    );
                    farthest = farthest.max((is - was).abs());
                }
            }
            // The page holds on to what was wished when a drag ends.
            if step % 7 == 0 {
                before = wishes;
            }
            if has_hair && step % 20 == 0 {
                let areas = report(&next).areas;
                for side in Side::BOTH {
                    let (found, own) = (areas.get(side).unwrap(), own.get(side).unwrap());
                    let limits = &plan.limits;
                    let added = limits
                        .added_pct
                        .min(limits.added_mm2.map_or(f64::INFINITY, |mm2| 100.0 * mm2 / found.natural_mm2));
                    assert!(
                        found.removed_pct
                            <= limits.removed_pct.max(own.removed_pct + plan.client.hair_pct) + 1e-6,
                        "{drag}.{step}"
                    );
                    assert!(
                        found.added_pct <= added.max(own.added_pct + plan.client.skin_pct) + 1e-6,
                        "{drag}.{step}"
                    );
                }
            }
            held_back += usize::from(next.planned == plan.planned);
        }
    }
    println!("{STEPS} steps; farthest {farthest:.2}; held at the artist's own pair {held_back} times");
    assert!(farthest > 3.0, "the drags did go somewhere");
    assert!(held_back < STEPS / 2);
}

#[test]
fn no_wish_is_the_artists_own_pair() {
    let plan = whole_plan(&Camera::default()).unwrap();
    assert_eq!(wish(&plan, Wishes::default()).unwrap(), plan);
    // Limits of nothing leave nothing to wish.
    let none = ClientLimits {
        fullness_mm: 0.0,
        arch_mm: 0.0,
        length_mm: 0.0,
        softness: 0.0,
        evenness: 0.0,
        ..ClientLimits::default()
    };
    let plan = limited(&plan, none);
    let all = Wishes { fullness: 1.0, arch: -1.0, length: 1.0, softness: -1.0, evenness: 1.0 };
    assert_eq!(wish(&plan, all).unwrap(), plan);
    assert!(
        !to_json(&whole_plan(&Camera::default()).unwrap()).contains("\"client\""),
        "untouched limits are not written"
    );
}

#[test]
fn each_wish_does_what_it_says() {
    let plan = whole_plan(&Camera::default()).unwrap();
    let mut limits = plan.limits.clone();
    (limits.removed_pct, limits.added_pct) = (100.0, 300.0);
    let plan = apply(&plan, &Edit::SetLimits { limits }).unwrap();
    let measure = |wishes: Wishes, id: &str| {
        let rows = report(&wish(&plan, wishes).unwrap()).planned;
        rows.iter().find(|row| row.id == id).unwrap().sides.right.unwrap().value
    };
    let none = Wishes::default();
    for (more, less, id, by) in [
        (Wishes { fullness: 1.0, ..none }, Wishes { fullness: -1.0, ..none }, "arch_thickness", 0.8),
        (Wishes { arch: 1.0, ..none }, Wishes { arch: -1.0, ..none }, "arch_top", 1.0),
        (Wishes { length: 1.0, ..none }, Wishes { length: -1.0, ..none }, "tail_out", 2.0),
    ] {
        let (less, own, more) = (measure(less, id), measure(none, id), measure(more, id));
        assert!(
            (more - own - by).abs() < 0.15 && (own - less - by).abs() < 0.15,
            "{id}: {less} {own} {more}"
        );
    }
    // Evenness at its end leaves no difference.
    let uneven = apply(
        &plan,
        &Edit::SetParam { side: Side::Left, param: "arch_y".into(), value: 29.0, linked: false },
    )
    .unwrap();
    let even = wish(&uneven, Wishes { evenness: 1.0, ..none }).unwrap();
    assert_eq!(even.planned.right, even.planned.left);
    assert!(report(&even).planned_symmetry.unwrap().mean_distance_mm < 1e-9);
}

/// A slider that meets a limit stops by itself: what was wished before stays.
#[test]
fn slider_that_is_dragged_stops_alone() {
    let plan = whole_plan(&Camera::default()).unwrap();
    let mut limits = plan.limits.clone();
    let areas = report(&plan).areas;
    let own = areas.right.unwrap().added_pct.max(areas.left.unwrap().added_pct);
    (limits.removed_pct, limits.added_pct) = (100.0, own);
    let plan = apply(&plan, &Edit::SetLimits { limits }).unwrap();
    let before = Wishes { arch: 0.4, ..Wishes::default() };
    let held = wish(&plan, before).unwrap();
    let client = ClientLimits { fullness_mm: 3.0, skin_pct: 12.0, ..ClientLimits::default() };
    let more = wish_on(&limited(&plan, client), before, Wishes { fullness: 1.0, ..before }).unwrap();
    let of = |plan: &Plan, id: &str| value(&plan.planned, Side::Right, id);
    assert!((of(&more, "arch_y") - of(&held, "arch_y")).abs() < 1e-9);
    let thicker = of(&more, "arch_t") - of(&held, "arch_t");
    assert!(thicker > 0.1 && thicker < 2.9, "{thicker}");
    // The sliders come to rest where the outlines are.
    let plan = limited(&plan, ClientLimits { fullness_mm: 3.0, skin_pct: 12.0, ..ClientLimits::default() });
    let rest = wishes_held(&plan, &plan.planned, &before, &Wishes { fullness: 1.0, ..before }).unwrap();
    assert!((rest.arch - 0.4).abs() < 1e-9 && (3.0 * rest.fullness - thicker).abs() < 1e-9, "{rest:?}");
}

#[test]
fn what_cannot_be_wished_changes_nothing() {
    let plan = whole_plan(&Camera::default()).unwrap();
    let code = |result: Result<Plan, PlanError>| result.unwrap_err().code;
    assert_eq!(code(wish(&plan, Wishes { arch: 1.5, ..Wishes::default() })), "out_of_range");
    assert_eq!(code(wish(&plan, Wishes { evenness: -0.1, ..Wishes::default() })), "out_of_range");
    assert_eq!(code(wish(&plan, Wishes { length: f64::NAN, ..Wishes::default() })), "not_finite");
    assert_eq!(code(wish(&Plan::default(), Wishes::default())), "planned_first");
    let far = ClientLimits { arch_mm: 40.0, ..ClientLimits::default() };
    assert_eq!(code(apply(&plan, &Edit::SetClient { client: far })), "out_of_range");
    // One side alone can be wished for; there is nothing to even it with.
    let one = apply(&plan, &Edit::ClearOutline { side: Side::Left }).unwrap();
    let moved = wish(&one, Wishes { arch: 0.5, evenness: 1.0, ..Wishes::default() }).unwrap();
    assert!(moved.planned.left.is_none());
    let lifted = value(&moved.planned, Side::Right, "arch_y") - value(&one.planned, Side::Right, "arch_y");
    assert!((lifted - 0.5).abs() < 1e-9, "{lifted}");
    let ids: Vec<_> = describe().wishes.iter().map(|wish| wish.id).collect();
    assert_eq!(ids, ["fullness", "arch", "length", "softness", "evenness"]);
}
