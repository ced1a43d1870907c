//! Photo assist against the reference runtime, real faces, and what may happen to a photo.

use std::path::Path;

use counterpoise_tests::face::RealFace;
use counterpoise_tests::vision::{changed_photos, network, pixels, weights};
use counterpoise_vision::{Face, FacePoint, Network, NetworkError, NoFace, OUTPUTS, Picture, find_pupils};
use kurbo::{Affine, Point, Vec2};
use serde_json::Value;

const FIXTURES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures");
/// Visible width of an iris, mm (this project's model study on the Face Research Lab London Set).
const IRIS_MM: f64 = 11.7;

/// MediaPipe's own runtime on the invented face (`tests/oracle/face_network.py`). Of its 478 points those that are refined stand where the
/// parts that look closer have them.
#[test]
fn network_says_what_the_reference_runtime_says() {
    let Some(network) = network() else { return };
    let fixture: Value = serde_json::from_str(
        &std::fs::read_to_string(Path::new(FIXTURES).join("face-network.json")).unwrap(),
    )
    .unwrap();
    let wanted: Vec<[f64; 2]> = serde_json::from_value(fixture["points_px"].clone()).unwrap();
    let (bytes, width, height) = pixels(&Path::new(FIXTURES).join("face-192.png"));
    let picture = Picture::new(&bytes, width, height, 3).unwrap();
    let values = network.run(&picture.square(width, Affine::IDENTITY)).unwrap();
    let [mesh, left_eye, right_eye, left_iris, right_iris, flag] = <[Vec<f32>; 6]>::try_from(values).unwrap();
    assert!(flag[0] > 0.0, "a face: {flag:?}");
    let mut farthest: f64 = 0.0;
    let mut compare = |index: usize, at: &[f32]| {
        let off = [0, 1].map(|k| (f64::from(at[k]) - wanted[index][k]).abs());
        farthest = farthest.max(off[0]).max(off[1]);
        assert!(off[0] < 1e-3 && off[1] < 1e-3, "point {index}: {:?} against {:?}", &at[..2], wanted[index]);
    };
    // The corners of eyes and the irises come from the parts that look closer, the wings of the nose and the bridge from all points.
    for (index, at) in [(33, 0), (133, 8)] {
        compare(index, &left_eye[2 * at..]);
    }
    for (index, at) in [(263, 0), (362, 8)] {
        compare(index, &right_eye[2 * at..]);
    }
    for k in 0..5 {
        compare(468 + k, &left_iris[2 * k..]);
        compare(473 + k, &right_iris[2 * k..]);
    }
    for index in [48, 278, 168, 197, 1, 10, 152, 234, 454] {
        compare(index, &mesh[3 * index..]);
    }
    println!("farthest from the reference runtime: {farthest:.1e} px");
}

/// Cut short or with bits turned, the file is refused or gives some numbers; nothing panics, and it takes no longer than the network.
#[test]
fn damaged_network_files_are_refused_without_panic() {
    let Some(file) = weights() else { return };
    let good = std::fs::read(file).unwrap();
    assert!(matches!(Network::read(b"", &OUTPUTS), Err(NetworkError::Damaged)));
    assert!(matches!(Network::read(&good, &["no such value"]), Err(NetworkError::Damaged)));
    let mut random = counterpoise_tests::Chance::new(7);
    for k in 0..200 {
        let len = good.len() * k / 200;
        assert!(Network::read(&good[..len], &OUTPUTS).is_err(), "cut at {len}");
    }
    // The tables of the file lie at its end; its front is weights.
    for _ in 0..400 {
        let mut bad = good.clone();
        for _ in 0..4 {
            let back = (random.uniform() * 200_000.0) as usize;
            let at = bad.len() - 1 - back;
            bad[at] = bad[at].wrapping_add((random.uniform() * 255.0) as u8 + 1);
        }
        let _ = Network::read(&bad, &OUTPUTS);
    }
}

struct Found {
    name: String,
    face: RealFace,
    points: Vec<FacePoint>,
    score: f64,
    px_per_mm: f64,
    across: Vec2,
}

/// What is found on each real face, from pupils that were tapped a little off.
fn found_on_real_faces(network: &Network) -> Option<Vec<Found>> {
    const FIT: &str = "the data and the network fit";
    let look = |name: String| {
        let face = RealFace::numbered(&name).expect(FIT);
        let (bytes, width, height) = pixels(&face.photo);
        let picture = Picture::new(&bytes, width, height, 3).expect(FIT);
        let [right, left] = face.pupils();
        let taps = [right + Vec2::new(4.0, -3.0), left + Vec2::new(-3.0, 5.0)];
        let guess = Face::look(network, &picture, taps, false).expect(FIT).guess(&picture);
        let iris = |side: &str| {
            let [outer, inner] = ["outer", "inner"].map(|rim| face.at(&format!("iris_{rim}.{side}")));
            (outer.x - inner.x).abs()
        };
        let px_per_mm = 0.5 * (iris("right") + iris("left")) / IRIS_MM;
        let across = (left - right).normalize();
        Found { name, points: guess.points, score: guess.score, px_per_mm, across, face }
    };
    Some(RealFace::names()?.into_iter().map(look).collect())
}

fn guess(points: &[FacePoint], id: &str) -> Point {
    let point = points.iter().find(|point| point.id == id).unwrap_or_else(|| panic!("no {id}"));
    Point::new(point.x_px, point.y_px)
}

fn quantile(values: &[f64], part: f64) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted[((sorted.len() - 1) as f64 * part).round() as usize]
}

/// Median and 95th percentile of the distance from the template's points, mm. The two constants (how low the network has an iris, how high the corners) were fitted to the
/// faces of even place; these are the others.
#[test]
fn points_on_real_faces_are_near_the_templates() {
    let Some(network) = network() else { return };
    let Some(found) = found_on_real_faces(&network) else { return };
    assert_eq!(found.len(), 51);
    let mut missed = Vec::new();
    let halves = [
        (0, 2, "faces of even place, used for the constants"),
        (1, 2, "faces of odd place"),
        (0, 1, "all faces"),
    ];
    for (first, step, name) in halves {
        println!("{name}: median and 95th percentile, mm");
        for (point, sideways, limits) in [
            ("pupil", false, (0.6, 1.1)),
            ("inner_corner", false, (1.0, 2.0)),
            ("outer_corner", false, (1.15, 2.8)),
            ("nostril", true, (1.4, 3.6)),
        ] {
            let mut off = Vec::new();
            for found in found.iter().skip(first).step_by(step) {
                for side in ["right", "left"] {
                    let id = format!("{point}.{side}");
                    let by = guess(&found.points, &id) - found.face.at(&id);
                    let by = if sideways { by.dot(found.across).abs() } else { by.hypot() };
                    off.push(by / found.px_per_mm);
                }
            }
            let (median, p95) = (quantile(&off, 0.5), quantile(&off, 0.95));
            println!("  {point}: {median:.2} / {p95:.2}");
            if median > limits.0 || p95 > limits.1 {
                missed.push(format!("{point}: {median:.2} / {p95:.2}"));
            }
        }
    }
    assert!(missed.is_empty(), "{missed:?}");
    for found in &found {
        assert!(found.score > 0.5, "{}", found.name);
    }
}

/// Without a tap: on each real photo, whole, and with room around it so that the face is smaller and to a side.
#[test]
fn faces_are_found_without_a_tap() {
    let Some(network) = network() else { return };
    let Some(names) = RealFace::names() else { return };
    let mut missed = Vec::new();
    let mut count = 0;
    // A look takes several runs of the network, so that every third face has to do; all 51 were found when this was written.
    for number in names.iter().step_by(3) {
        let face = RealFace::numbered(number).unwrap();
        let (bytes, width, height) = pixels(&face.photo);
        let picture = Picture::new(&bytes, width, height, 3).unwrap();
        let pupils = face.pupils();
        let apart = (pupils[1] - pupils[0]).hypot();
        // Whole; from farther away; brows and eyes alone.
        let views = [
            ("whole", Affine::IDENTITY),
            ("small", Affine::translate((180.0, 260.0)) * Affine::scale(0.6)),
            ("near", Affine::translate((-675.0, -500.0)) * Affine::scale(2.0)),
        ];
        for (view, map) in views {
            let side = 1350;
            let seen: Vec<u8> = picture
                .square(side, map.inverse())
                .iter()
                .map(|value| (value * 255.0).round() as u8)
                .collect();
            let seen = Picture::new(&seen, side, side, 3).unwrap();
            count += 1;
            let found = find_pupils(&network, &seen);
            let is_near = found.as_ref().is_ok_and(|found| {
                (0..2).all(|k| (map.inverse() * found[k] - pupils[k]).hypot() < 0.06 * apart)
            });
            if !is_near {
                missed.push(format!("{number} {view}: {found:?}"));
            }
        }
    }
    println!("found without a tap: {} of {count}; missed: {missed:#?}", count - missed.len());
    assert!(missed.len() * 50 <= count, "more than 2 % are missed");
}

/// The same face turned, halved, brighter, darker and mirrored: the same places, sides swapped where the picture is mirrored.
#[test]
fn what_happens_to_a_photo_moves_points_little() {
    const NEAR_MM: f64 = 0.3;
    let Some(network) = network() else { return };
    let Some(face) = RealFace::numbered("001_03") else { return };
    let (bytes, width, height) = pixels(&face.photo);
    let picture = Picture::new(&bytes, width, height, 3).unwrap();
    let pupils = face.pupils();
    let straight = Face::look(&network, &picture, pupils, false).unwrap().points();
    let px_per_mm = (pupils[1] - pupils[0]).hypot() / 61.8;
    for changed in changed_photos(&picture, pupils) {
        let (name, map) = (changed.name, changed.map);
        let picture = Picture::new(&changed.bytes, changed.side, changed.side, 3).unwrap();
        let again = Face::look(&network, &picture, changed.pupils, changed.is_mirrored).unwrap().points();
        let farthest = straight
            .iter()
            .filter(|point| !point.is_seed)
            .map(|point| {
                let back = map.inverse() * guess(&again, &point.id);
                (back - Point::new(point.x_px, point.y_px)).hypot() / px_per_mm
            })
            .fold(0.0, f64::max);
        println!("{name}: farthest {farthest:.2} mm");
        assert!(farthest <= NEAR_MM, "{name}: {farthest:.2} mm");
    }
}

/// A photo of two people, side by side: whose brows are meant is not guessed.
#[test]
fn two_faces_are_said() {
    let Some(network) = network() else { return };
    let (Some(one), Some(other)) = (RealFace::numbered("001_03"), RealFace::numbered("039_03")) else {
        return;
    };
    let side = 900;
    let half = |face: &RealFace| {
        let (bytes, width, height) = pixels(&face.photo);
        let picture = Picture::new(&bytes, width, height, 3).unwrap();
        picture.square(side, Affine::scale(width as f64 / side as f64))
    };
    let (one, other) = (half(&one), half(&other));
    let rows = one.chunks_exact(3 * side).zip(other.chunks_exact(3 * side));
    let bytes: Vec<u8> = rows
        .flat_map(|(one, other)| one.iter().chain(other))
        .map(|value| (value * 255.0).round() as u8)
        .collect();
    let both = Picture::new(&bytes, 2 * side, side, 3).unwrap();
    assert_eq!(find_pupils(&network, &both), Err(NoFace::TwoFaces));
}

#[test]
fn no_face_is_said_and_nothing_is_guessed() {
    let Some(network) = network() else { return };
    let (width, height) = (600, 600);
    let grey = vec![128_u8; width * height * 3];
    let picture = Picture::new(&grey, width, height, 3).unwrap();
    let look = |left: (f64, f64), right: (f64, f64)| {
        Face::look(&network, &picture, [Point::from(left), Point::from(right)], false).map(|_| ())
    };
    assert_eq!(look((250.0, 300.0), (350.0, 300.0)), Err(NoFace::NotSeen));
    for pupils in
        [((300.0, 300.0), (305.0, 300.0)), ((f64::NAN, 0.0), (1.0, 1.0)), ((-900.0, 300.0), (350.0, 300.0))]
    {
        assert_eq!(look(pupils.0, pupils.1), Err(NoFace::Pupils), "{pupils:?}");
    }
}
