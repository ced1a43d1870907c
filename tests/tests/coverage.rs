//! Do the 95 % intervals hold what they promise? Simulated faces with known millimetres go through the whole way of a
//! photo: true face → turned head → pixels → misplaced landmarks and a wavering trace → frame, contour, measures.
//! The interval of every natural measure must hold the truth on 93 to 97 % of the faces.

use counterpoise_geometry::{
    CI95_SD, CaliperScale, Contour, ErrorModel, FrameInput, IRIS_WIDTH_MM, IRIS_WIDTH_SD_MM, ImagePoint,
    Landmark, Measure, MeasuredBrow, Outline, OutlineParams, Param, PerSide, RULER_SD_MM, Side,
    contour_from_trace, depth_behind_centre_line, estimate_frame, mean_contour_distance, measure_pair,
};
use counterpoise_plan::{CaliperDistance, FrameSettings, NaturalBrow, Noise, Photo, Plan, PointPx, report};
use counterpoise_tests::{Chance, wavering};
use kurbo::{Point, Vec2};

const FACES: usize = 2000;
/// How often a refused trace is drawn again before the test gives up.
const REDRAWN: usize = 20;

/// A point of the true face, mm: x towards the client's left, y up, z towards the camera.
#[derive(Clone, Copy)]
struct Place {
    x: f64,
    y: f64,
    z: f64,
}

/// The landmark of a kind on one side.
type OfSide = fn(Side) -> Landmark;

/// The true face: its own landmarks define its frame.
struct Face {
    landmarks: Vec<(Landmark, Place)>,
    /// True outlines in the frame that the true landmarks define.
    brows: PerSide<Contour>,
    /// How steeply this forehead falls back, against the mean.
    depth: f64,
    /// Depth that the centre line is taken at.
    centre_depth: f64,
    iris_mm: f64,
}

impl Face {
    fn draw(chance: &mut Chance) -> Face {
        let mut landmarks = Vec::new();
        let iris_mm = IRIS_WIDTH_MM + chance.normal(IRIS_WIDTH_SD_MM);
        // Half distances beside the pupil's with their SD, heights, depths; eye distances as of adults (inner corners 33, outer 88, pupils 62 mm).
        let pairs: [(OfSide, f64, f64, f64, f64); 3] = [
            (Landmark::Pupil, 0.0, 0.0, 1.0, 0.0),
            (Landmark::InnerCorner, -14.7, 0.8, 0.0, -1.0),
            (Landmark::OuterCorner, 13.0, 0.8, 1.5, -9.0),
        ];
        let half_pupil_distance = 31.0 + chance.normal(1.7);
        for (make, half, sd, y, z) in pairs {
            let half = half_pupil_distance + half + chance.normal(sd);
            for side in Side::BOTH {
                let place =
                    Place { x: side.sign() * (half + chance.normal(0.5)), y: y + chance.normal(0.4), z };
                landmarks.push((make(side), place));
                if make(side) == Landmark::Pupil(side) {
                    let rim = |way: f64| Place { x: place.x + side.sign() * way * 0.5 * iris_mm, ..place };
                    landmarks.push((Landmark::IrisInner(side), rim(-1.0)));
                    landmarks.push((Landmark::IrisOuter(side), rim(1.0)));
                }
            }
        }
        for (landmark, y, z) in [(Landmark::BridgeUpper, -2.0, 7.0), (Landmark::BridgeLower, -14.0, 11.0)] {
            landmarks.push((landmark, Place { x: chance.normal(0.4), y, z }));
        }
        let centre_depth = (-1.0 - 9.0 + 7.0 + 11.0) / 5.0;
        let (start, end) =
            (Place { x: -25.0, y: 40.0, z: centre_depth }, Place { x: 25.0, y: 40.0, z: centre_depth });
        landmarks.push((Landmark::RulerStart, start));
        landmarks.push((Landmark::RulerEnd, end));
        Face { landmarks, brows: brows(chance), depth: 1.0 + chance.normal(0.15), centre_depth, iris_mm }
    }

    fn at(&self, landmark: Landmark) -> Place {
        self.landmarks.iter().find(|(name, _)| *name == landmark).expect("every face has it").1
    }

    /// The true frame, by its definition: origin and the direction of its x axis.
    fn frame(&self) -> (Point, Vec2) {
        let at = |landmark| {
            let place = self.at(landmark);
            Point::new(place.x, place.y)
        };
        let kinds: [OfSide; 3] = [Landmark::Pupil, Landmark::InnerCorner, Landmark::OuterCorner];
        let line =
            kinds.iter().fold(Vec2::ZERO, |sum, make| sum + (at(make(Side::Left)) - at(make(Side::Right))));
        let ex = line.normalize();
        let middle = |make: &fn(Side) -> Landmark| at(make(Side::Left)).midpoint(at(make(Side::Right)));
        let points = kinds.iter().map(middle).chain([at(Landmark::BridgeUpper), at(Landmark::BridgeLower)]);
        let centre = points.map(|p| ex.dot(p.to_vec2())).sum::<f64>() / 5.0;
        let ey = ex.turn_90();
        let level = ey.dot(middle(&kinds[1]).to_vec2());
        ((ex * centre + ey * level).to_point(), ex)
    }

    /// A point of a brow, in the true frame's `(out, up)`, as a place of the face.
    fn place(&self, side: Side, at: Point, (origin, ex): (Point, Vec2)) -> Place {
        let p = origin + ex * (side.sign() * at.x) + ex.turn_90() * at.y;
        Place { x: p.x, y: p.y, z: self.centre_depth - self.depth * depth_behind_centre_line(at.x) }
    }
}

/// An uneven pair of natural brows with the spread of the model study's table (Face Research Lab London Set).
fn brows(chance: &mut Chance) -> PerSide<Contour> {
    let level = chance.normal(3.0);
    let spreads = [
        (Param::FrontX, 0.0, 2.5, 1.2),
        (Param::BulbY, level, 1.0, 0.7),
        (Param::BulbT, 0.0, 1.2, 0.5),
        (Param::Slant, 0.0, 6.0, 4.0),
        (Param::Soft, 0.0, 0.15, 0.1),
        (Param::ArchX, 0.0, 3.0, 1.5),
        (Param::ArchY, level, 1.5, 0.8),
        (Param::ArchT, 0.0, 1.2, 0.4),
        (Param::Round, 0.0, 0.15, 0.1),
        (Param::TailX, 0.0, 3.2, 1.2),
        (Param::TailY, level, 2.5, 1.2),
        (Param::TipT, -0.5, 0.7, 0.3),
        (Param::UpTens, 0.0, 0.15, 0.1),
        (Param::LowDip, 0.0, 0.3, 0.2),
        (Param::TailTens, 0.0, 0.15, 0.1),
        (Param::Under, 0.0, 5.0, 3.0),
    ];
    loop {
        let mut both = OutlineParams::natural_median();
        for (param, shift, sd, _) in spreads {
            both = both.with(param, both.get(param) + shift + chance.normal(sd));
        }
        let one = |chance: &mut Chance| {
            let params = spreads.iter().fold(both, |params, &(param, _, _, sd)| {
                params.with(param, params.get(param) + chance.normal(sd))
            });
            Outline::try_new(&params).ok().map(|outline| outline.contour().resampled(240))
        };
        if let (Some(right), Some(left)) = (one(chance), one(chance)) {
            return PerSide { right, left };
        }
    }
}

/// What came of one photo.
struct Outcome {
    /// For each measure (error, SD) of right, left and difference.
    rows: Vec<[(f64, f64); 3]>,
    /// The same of the headline.
    headline: (f64, f64),
}

/// One photo of one face, and its reading.
fn photograph(face: &Face, case: usize, errors: ErrorModel, chance: &mut Chance) -> Outcome {
    let frame = face.frame();
    let mirrored = case % 2 == 1;
    let yaw = chance.normal(errors.yaw_deg).to_radians();
    let roll = chance.normal(3.0_f64.to_radians());
    let px_per_mm = chance.between(3.0, 12.0);
    let image = |place: Place| {
        let turned = Vec2::new(place.x * yaw.cos() + place.z * yaw.sin(), place.y);
        let rolled = Vec2::from_angle(roll) * turned.x + Vec2::from_angle(roll).turn_90() * turned.y;
        let x = if mirrored { -rolled.x } else { rolled.x };
        ImagePoint::new(700.0 + px_per_mm * x, 600.0 - px_per_mm * rolled.y)
    };
    let mut input = FrameInput { mirrored, errors, ..FrameInput::default() };
    for &(landmark, place) in &face.landmarks {
        let Place { x, y, z } = place;
        let picked =
            Place { x: x + chance.normal(errors.landmark_mm), y: y + chance.normal(errors.landmark_mm), z };
        input.landmarks.insert(landmark, image(picked));
    }
    // Three ways to a scale by turns: iris alone, with a ruler, with a caliper distance.
    match case % 3 {
        1 => input.ruler_mm = Some(50.0 + chance.normal(RULER_SD_MM)),
        2 => {
            let [from, to] = Side::BOTH.map(Landmark::OuterCorner);
            let (a, b) = (face.at(from), face.at(to));
            let mm = (a.x - b.x).hypot(a.y - b.y) + chance.normal(errors.caliper_mm);
            input.calipers.push(CaliperScale { from, to, mm });
        }
        _ => {}
    }
    let estimated = estimate_frame(&input).expect("a simulated face has a frame");
    let measured = PerSide::from_fn(|side| {
        let contour = face.brows.get(side);
        // A line that crosses itself at a thin tail is refused, and she draws it again.
        let traced = (0..REDRAWN).find_map(|_| {
            let trace: Vec<_> = wavering(contour, errors.edge_mm, chance)
                .into_iter()
                .map(|at| estimated.side_from_image(side, image(face.place(side, at, frame))))
                .collect();
            contour_from_trace(&trace).ok()
        });
        traced.expect("one of many simulated traces is a brow")
    });
    let brows = measured.as_ref().map(|traced| MeasuredBrow::traced(traced, &errors));
    let rows = measure_pair(brows.as_ref().map(Some), &estimated);
    let rows = rows
        .iter()
        .map(|row| {
            let truth = face.brows.as_ref().map(|c| row.measure.value(&c.caliper_points(), c.area()));
            let sides = row.sides.both().expect("both brows are there");
            let difference = row.difference.expect("both brows are there");
            [
                (sides.right.value - truth.right, sides.right.sd),
                (sides.left.value - truth.left, sides.left.sd),
                (difference.value - (truth.right - truth.left), difference.sd),
            ]
        })
        .collect();
    let pixels = PerSide::from_fn(|side| {
        let points = measured.get(side).points().iter();
        points.map(|&at| estimated.image_from_side(side, at)).map(|at| [at.x_px, at.y_px]).collect()
    });
    Outcome { rows, headline: headline(face, &input, pixels) }
}

/// Error and SD of the headline that a plan reports of what was placed and traced.
fn headline(face: &Face, input: &FrameInput, traces: PerSide<Vec<[f64; 2]>>) -> (f64, f64) {
    let caliper = |caliper: &CaliperScale| CaliperDistance {
        from: caliper.from.id().into(),
        to: caliper.to.id().into(),
        mm: caliper.mm,
    };
    let ErrorModel { landmark_mm, edge_mm, caliper_mm, yaw_deg } = input.errors;
    let plan = Plan {
        photo: Some(Photo { width_px: 3000, height_px: 3000, mirrored: input.mirrored }),
        landmarks: input
            .landmarks
            .iter()
            .map(|(landmark, at)| (landmark.id().to_owned(), PointPx { x_px: at.x_px, y_px: at.y_px }))
            .collect(),
        frame: FrameSettings {
            ruler_mm: input.ruler_mm,
            calipers: input.calipers.iter().map(caliper).collect(),
            ..FrameSettings::default()
        },
        noise: Noise { landmark_mm, edge_mm, caliper_mm, yaw_deg },
        natural: traces.map(|points_px| Some(NaturalBrow::Trace { points_px })),
        ..Plan::default()
    };
    let found = report(&plan).natural_symmetry.expect("both brows are there");
    let truth = mean_contour_distance(&face.brows.right, &face.brows.left);
    (found.mean_distance_mm - truth, found.ci95_mm / CI95_SD)
}

/// Share of |error| ≤ 1.96 SD, mean error, root mean square of error / SD, mean SD.
fn summary(results: &[(f64, f64)]) -> [f64; 4] {
    let n = results.len() as f64;
    let held = results.iter().filter(|(error, sd)| error.abs() <= 1.959_964 * sd).count() as f64 / n;
    let bias = results.iter().map(|(error, _)| error).sum::<f64>() / n;
    let rms = (results.iter().map(|(error, sd)| (error / sd).powi(2)).sum::<f64>() / n).sqrt();
    let sd = results.iter().map(|(_, sd)| sd).sum::<f64>() / n;
    [held, bias, rms, sd]
}

#[test]
fn intervals_of_every_natural_measure_hold_the_truth() {
    check_coverage(ErrorModel::default(), 20_250_101);
}

#[test]
fn intervals_hold_for_a_careful_photo() {
    check_coverage(ErrorModel { landmark_mm: 0.2, edge_mm: 0.12, caliper_mm: 0.3, yaw_deg: 0.5 }, 99);
}

/// Where this stops: with edges that waver by 0.35 mm the caliper distance from bulb to arch is held on 92.9 % of the
/// faces, with 0.4 mm that and the arch distance on 92.5 to 92.8 %. The top of a flat brow is then not there
/// to be found within the length that it is sought on.
#[test]
fn intervals_hold_for_a_careless_photo() {
    check_coverage(ErrorModel { landmark_mm: 0.5, edge_mm: 0.3, caliper_mm: 1.0, yaw_deg: 2.0 }, 99);
}

/// Every measure of every simulated face with these errors.
fn check_coverage(errors: ErrorModel, seed: u64) {
    let mut chance = Chance::new(seed);
    let outcomes: Vec<Outcome> = (0..FACES)
        .map(|case| {
            let face = Face::draw(&mut chance);
            assert!(face.iris_mm > 9.0);
            photograph(&face, case, errors, &mut chance)
        })
        .collect();
    let mut wrong = Vec::new();
    println!("{:16}{:>38} | {:>30}", "", "sides: held  bias  rms z  mean SD", "difference");
    for (k, info) in Measure::ALL.iter().enumerate() {
        let sides: Vec<_> = outcomes.iter().flat_map(|photo| [photo.rows[k][0], photo.rows[k][1]]).collect();
        let differences: Vec<_> = outcomes.iter().map(|photo| photo.rows[k][2]).collect();
        let (s, d) = (summary(&sides), summary(&differences));
        let shown =
            |[held, bias, rms, sd]: [f64; 4]| format!("{:6.2} % {bias:+.3} {rms:.3} {sd:7.3}", 100.0 * held);
        println!("{:16}{:>38} | {:>30}", info.id, shown(s), shown(d));
        for (what, held) in [("sides", s[0]), ("difference", d[0])] {
            if !(0.93..=0.97).contains(&held) {
                wrong.push(format!("{} {what}: {:.2} %", info.id, 100.0 * held));
            }
        }
    }
    let headlines: Vec<_> = outcomes.iter().map(|photo| photo.headline).collect();
    let [held, bias, rms, sd] = summary(&headlines);
    println!("headline         {:6.2} % {bias:+.3} {rms:.3} {sd:7.3}", 100.0 * held);
    if !(0.93..=0.97).contains(&held) {
        wrong.push(format!("headline: {:.2} %", 100.0 * held));
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}
