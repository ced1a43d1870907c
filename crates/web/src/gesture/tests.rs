//! Traces as they come from tablets, replayed.

use super::*;

fn event(kind: EventKind, id: i64, by: PointerKind, x: f64, y: f64, t_ms: f64) -> Event {
    let buttons = u16::from(matches!(kind, EventKind::Down | EventKind::Move));
    Event {
        kind,
        pointer_id: id,
        pointer_type: by,
        x,
        y,
        buttons,
        t_ms,
        shift: false,
        ctrl: false,
        dx: 0.0,
        dy: 0.0,
        key: String::new(),
    }
}

fn down(id: i64, by: PointerKind, x: f64, y: f64, t: f64) -> Event {
    event(EventKind::Down, id, by, x, y, t)
}
fn to(id: i64, by: PointerKind, x: f64, y: f64, t: f64) -> Event {
    event(EventKind::Move, id, by, x, y, t)
}
fn up(id: i64, by: PointerKind, x: f64, y: f64, t: f64) -> Event {
    event(EventKind::Up, id, by, x, y, t)
}
fn plain(kind: EventKind) -> Event {
    event(kind, 0, Mouse, 0.0, 0.0, 0.0)
}

use PointerKind::{Mouse, Pen, Touch};

fn spot(id: &str, x: f64, y: f64) -> Spot {
    Spot { id: id.into(), x, y }
}

fn shape(handles: &[Spot]) -> Context {
    Context { mode: Mode::Shape, handles: handles.to_vec(), ..Context::default() }
}

fn mode(mode: Mode) -> Context {
    Context { mode, ..Context::default() }
}

fn run(context: &Context, events: &[Event]) -> (GestureState, Vec<Command>) {
    // One call per event, with the state going through JSON: what the page does.
    let mut state = GestureState::default();
    let mut all = Vec::new();
    for event in events {
        let text = serde_json::to_string(&state).unwrap();
        let (next, commands) =
            gesture(serde_json::from_str(&text).unwrap(), std::slice::from_ref(event), context);
        state = next;
        all.extend(commands);
    }
    let (at_once, together) = gesture(GestureState::default(), events, context);
    assert_eq!((&at_once, &together), (&state, &all), "one call or many must not matter");
    (state, all)
}

fn names(commands: &[Command]) -> Vec<String> {
    commands
        .iter()
        .map(|command| serde_json::to_value(command).unwrap()["do"].as_str().unwrap().to_owned())
        .collect()
}

#[test]
fn mouse_drag_keeps_the_grab_offset() {
    let (state, commands) = run(
        &shape(&[spot("a", 100.0, 100.0)]),
        &[
            down(1, Mouse, 104.0, 101.0, 0.0),
            to(1, Mouse, 114.0, 121.0, 16.0),
            up(1, Mouse, 115.0, 121.0, 30.0),
        ],
    );
    assert_eq!(
        commands,
        [
            Command::DragStart { id: "a".into(), x: 100.0, y: 100.0 },
            Command::DragTo { id: "a".into(), x: 110.0, y: 120.0 },
            Command::DragTo { id: "a".into(), x: 111.0, y: 120.0 },
            Command::DragEnd { id: "a".into() },
        ]
    );
    assert_eq!(state.doing, Doing::Nothing);
    assert!(state.contacts.is_empty());
}

#[test]
fn drag_back_to_its_start_is_no_change() {
    let (_, commands) = run(
        &shape(&[spot("a", 100.0, 100.0)]),
        &[
            down(1, Mouse, 100.0, 100.0, 0.0),
            to(1, Mouse, 110.0, 100.0, 16.0),
            to(1, Mouse, 100.0, 100.0, 32.0),
            up(1, Mouse, 100.0, 100.0, 40.0),
        ],
    );
    assert_eq!(names(&commands), ["drag_start", "drag_to", "drag_to", "drag_cancel"]);
}

#[test]
fn hovering_pen_draws_nothing() {
    let mut hover = to(5, Pen, 40.0, 40.0, 0.0);
    hover.buttons = 0;
    let (state, commands) = run(&mode(Mode::Trace), &[hover.clone(), hover]);
    assert!(commands.is_empty());
    assert!(!state.pen_mode, "a hover is no contact");
}

#[test]
fn barrel_button_and_eraser_do_nothing() {
    for buttons in [2, 32] {
        let mut press = down(5, Pen, 40.0, 40.0, 0.0);
        press.buttons = buttons;
        let mut drag = to(5, Pen, 90.0, 40.0, 20.0);
        drag.buttons = buttons;
        let (_, commands) = run(&mode(Mode::Trace), &[press, drag, up(5, Pen, 90.0, 40.0, 40.0)]);
        assert!(commands.is_empty(), "buttons {buttons}: {commands:?}");
    }
}

#[test]
fn pen_stroke_draws_and_turns_pen_mode_on() {
    let (state, commands) = run(
        &mode(Mode::Trace),
        &[
            down(5, Pen, 10.0, 10.0, 0.0),
            to(5, Pen, 20.0, 10.0, 8.0),
            to(5, Pen, 30.0, 12.0, 16.0),
            up(5, Pen, 30.0, 12.0, 20.0),
        ],
    );
    assert_eq!(
        names(&commands),
        ["pen_mode", "stroke_start", "stroke_point", "stroke_point", "stroke_point", "stroke_end"]
    );
    assert!(state.pen_mode);
}

#[test]
fn after_a_pen_touch_pans_and_zooms_only() {
    let context = Context { mode: Mode::Trace, ..Context::default() };
    let state = GestureState { pen_mode: true, ..GestureState::default() };
    let (state, commands) = gesture(
        state,
        &[
            down(1, Touch, 100.0, 100.0, 0.0),
            to(1, Touch, 120.0, 100.0, 100.0),
            down(2, Touch, 220.0, 100.0, 200.0),
            to(2, Touch, 320.0, 100.0, 220.0),
            up(2, Touch, 320.0, 100.0, 240.0),
            up(1, Touch, 120.0, 100.0, 250.0),
        ],
        &context,
    );
    assert_eq!(
        commands,
        [
            Command::Pan { dx: 20.0, dy: 0.0 },
            Command::Pan { dx: 50.0, dy: 0.0 },
            Command::Zoom { factor: 2.0, x: 220.0, y: 100.0 },
        ]
    );
    let (state, commands) = gesture(state, &[plain(EventKind::LeavePen)], &context);
    assert_eq!(commands, [Command::PenMode { on: false }]);
    assert!(!state.pen_mode);
}

#[test]
fn palm_beside_a_drawing_pen_is_ignored() {
    let (_, commands) = run(
        &mode(Mode::Trace),
        &[
            down(5, Pen, 10.0, 10.0, 0.0),
            to(5, Pen, 20.0, 10.0, 8.0),
            down(7, Touch, 200.0, 200.0, 10.0),
            to(7, Touch, 230.0, 200.0, 12.0),
            to(5, Pen, 30.0, 10.0, 16.0),
            up(7, Touch, 230.0, 200.0, 18.0),
            up(5, Pen, 30.0, 10.0, 20.0),
        ],
    );
    assert!(!names(&commands).iter().any(|name| name == "pan" || name == "zoom" || name == "stroke_cancel"));
    assert_eq!(names(&commands).last().unwrap(), "stroke_end");
}

#[test]
fn touch_stroke_is_dropped_when_a_pen_lands() {
    let (_, commands) = run(
        &mode(Mode::Trace),
        &[
            down(7, Touch, 200.0, 200.0, 0.0),
            to(7, Touch, 230.0, 200.0, 100.0),
            down(5, Pen, 10.0, 10.0, 120.0),
            to(7, Touch, 240.0, 200.0, 122.0),
            to(5, Pen, 20.0, 10.0, 130.0),
            up(5, Pen, 20.0, 10.0, 140.0),
            up(7, Touch, 240.0, 200.0, 150.0),
        ],
    );
    assert_eq!(
        names(&commands),
        [
            "stroke_start",
            "stroke_point",
            "pen_mode",
            "stroke_cancel",
            "stroke_start",
            "stroke_point",
            "stroke_point",
            "stroke_end"
        ]
    );
}

#[test]
fn two_fingers_within_the_landing_time_pinch_about_their_midpoint() {
    for context in [shape(&[spot("a", 100.0, 100.0)]), mode(Mode::Trace)] {
        let (_, commands) = run(
            &context,
            &[
                down(1, Touch, 100.0, 100.0, 0.0),
                to(1, Touch, 112.0, 100.0, 30.0),
                down(2, Touch, 212.0, 100.0, 60.0),
                to(2, Touch, 312.0, 100.0, 90.0),
                up(1, Touch, 112.0, 100.0, 100.0),
                up(2, Touch, 312.0, 100.0, 110.0),
            ],
        );
        assert_eq!(
            commands,
            [Command::Pan { dx: 50.0, dy: 0.0 }, Command::Zoom { factor: 2.0, x: 212.0, y: 100.0 }],
            "{:?}",
            context.mode
        );
    }
}

#[test]
fn pinch_keeps_the_point_between_the_fingers() {
    // Whatever the two fingers do, the picture point under their first midpoint ends under their last.
    let (_, commands) = run(
        &mode(Mode::Look),
        &[
            down(1, Touch, 100.0, 100.0, 0.0),
            down(2, Touch, 200.0, 140.0, 20.0),
            to(1, Touch, 80.0, 90.0, 40.0),
            to(2, Touch, 260.0, 190.0, 60.0),
            to(1, Touch, 90.0, 120.0, 80.0),
        ],
    );
    let mut at = [150.0, 120.0];
    for command in &commands {
        match command {
            Command::Pan { dx, dy } => at = [at[0] + dx, at[1] + dy],
            Command::Zoom { factor, x, y } => at = [x + (at[0] - x) * factor, y + (at[1] - y) * factor],
            other => panic!("{other:?}"),
        }
    }
    assert!((at[0] - 175.0).abs() < 1e-9 && (at[1] - 155.0).abs() < 1e-9, "{at:?}");
}

#[test]
fn finger_that_lands_late_does_not_disturb_a_drag() {
    let (_, commands) = run(
        &shape(&[spot("a", 100.0, 100.0)]),
        &[
            down(1, Touch, 100.0, 100.0, 0.0),
            to(1, Touch, 120.0, 100.0, 100.0),
            down(2, Touch, 300.0, 300.0, 300.0),
            to(1, Touch, 130.0, 100.0, 320.0),
            up(2, Touch, 300.0, 300.0, 340.0),
            up(1, Touch, 130.0, 100.0, 360.0),
        ],
    );
    assert_eq!(names(&commands), ["drag_start", "drag_to", "drag_to", "drag_end"]);
}

#[test]
fn flick_shorter_than_the_landing_time_still_counts() {
    let (_, commands) = run(
        &shape(&[spot("a", 100.0, 100.0)]),
        &[
            down(1, Touch, 100.0, 100.0, 0.0),
            to(1, Touch, 120.0, 100.0, 30.0),
            up(1, Touch, 140.0, 100.0, 60.0),
        ],
    );
    assert_eq!(names(&commands), ["drag_start", "drag_to", "drag_end"]);
    assert!(commands.contains(&Command::DragTo { id: "a".into(), x: 140.0, y: 100.0 }));
}

#[test]
fn pointercancel_drops_and_pointerup_keeps() {
    let start = [down(1, Touch, 100.0, 100.0, 0.0), to(1, Touch, 120.0, 100.0, 100.0)];
    let mut cancelled = start.to_vec();
    cancelled.push(event(EventKind::Cancel, 1, Touch, 0.0, 0.0, 120.0));
    let (state, commands) = run(&shape(&[spot("a", 100.0, 100.0)]), &cancelled);
    assert_eq!(names(&commands), ["drag_start", "drag_to", "drag_cancel"]);
    assert_eq!(state.doing, Doing::Nothing);
}

#[test]
fn escape_drops_and_the_rest_of_the_drag_is_silent() {
    let mut escape = plain(EventKind::Key);
    escape.key = "Escape".into();
    let (_, commands) = run(
        &shape(&[spot("a", 100.0, 100.0)]),
        &[
            down(1, Mouse, 100.0, 100.0, 0.0),
            to(1, Mouse, 120.0, 100.0, 10.0),
            escape,
            to(1, Mouse, 140.0, 100.0, 20.0),
            up(1, Mouse, 140.0, 100.0, 30.0),
        ],
    );
    assert_eq!(names(&commands), ["drag_start", "drag_to", "drag_cancel"]);
}

#[test]
fn release_outside_ends_the_drag_where_it_was_seen_last() {
    let mut back = to(1, Mouse, 300.0, 300.0, 50.0);
    back.buttons = 0;
    let (_, commands) = run(
        &shape(&[spot("a", 100.0, 100.0)]),
        &[down(1, Mouse, 100.0, 100.0, 0.0), to(1, Mouse, 120.0, 100.0, 10.0), back],
    );
    assert_eq!(names(&commands), ["drag_start", "drag_to", "drag_end"]);
}

#[test]
fn reach_is_larger_for_a_finger() {
    let context = shape(&[spot("a", 100.0, 100.0)]);
    for (by, distance, hit) in [
        (Touch, 21.5, true),
        (Touch, 22.5, false),
        (Mouse, 11.5, true),
        (Mouse, 12.5, false),
        (Pen, 11.5, true),
        (Pen, 12.5, false),
    ] {
        let (_, commands) = run(
            &context,
            &[down(1, by, 100.0 + distance, 100.0, 0.0), up(1, by, 100.0 + distance, 100.0, 100.0)],
        );
        let selected = commands.contains(&Command::Select { id: "a".into() });
        assert_eq!(selected, hit, "{by:?} at {distance}");
    }
}

#[test]
fn repeated_tap_goes_through_overlapping_handles() {
    let context = shape(&[spot("far", 110.0, 100.0), spot("near", 103.0, 100.0), spot("away", 400.0, 100.0)]);
    let tap = |t: f64| [down(1, Touch, 101.0, 100.0, t), up(1, Touch, 101.0, 100.0, t + 50.0)];
    let events: Vec<Event> = (0..3).flat_map(|i| tap(f64::from(i) * 900.0)).collect();
    let (_, commands) = run(&context, &events);
    assert_eq!(commands, ["near", "far", "near"].map(|id| Command::Select { id: id.into() }));
}

#[test]
fn drag_takes_the_selected_of_two_overlapping_handles() {
    let mut context = shape(&[spot("far", 110.0, 100.0), spot("near", 103.0, 100.0)]);
    context.selected = Some("far".into());
    let (_, commands) = run(&context, &[down(1, Mouse, 102.0, 100.0, 0.0), to(1, Mouse, 102.0, 120.0, 9.0)]);
    assert_eq!(commands.first(), Some(&Command::DragStart { id: "far".into(), x: 110.0, y: 100.0 }));
}

#[test]
fn landmark_is_placed_by_tap_or_by_press_and_slide() {
    let mut context = mode(Mode::Points);
    context.placing = true;
    context.handles = vec![spot("landmark:pupil.right", 300.0, 300.0)];
    let (_, commands) = run(&context, &[down(1, Touch, 50.0, 60.0, 0.0), up(1, Touch, 51.0, 60.0, 90.0)]);
    assert_eq!(commands, [Command::Tap { x: 50.0, y: 60.0, touch: true }]);
    let (_, commands) = run(
        &context,
        &[down(1, Touch, 50.0, 60.0, 0.0), to(1, Touch, 70.0, 60.0, 100.0), up(1, Touch, 50.0, 60.0, 200.0)],
    );
    assert_eq!(names(&commands), ["drag_start", "drag_to", "drag_to", "drag_end"]);
    // Beside a placed point, too: its reach shrinks meanwhile.
    let (_, commands) = run(&context, &[down(1, Touch, 315.0, 300.0, 0.0), up(1, Touch, 315.0, 300.0, 90.0)]);
    assert_eq!(names(&commands), ["tap"]);
}

#[test]
fn empty_ground_pans() {
    let (_, commands) = run(
        &shape(&[]),
        &[down(1, Touch, 50.0, 60.0, 0.0), to(1, Touch, 70.0, 60.0, 100.0), to(1, Touch, 75.0, 61.0, 110.0)],
    );
    assert_eq!(commands, [Command::Pan { dx: 20.0, dy: 0.0 }, Command::Pan { dx: 5.0, dy: 1.0 }]);
}

#[test]
fn middle_button_and_shift_pan_in_every_mode() {
    for what in [Mode::Look, Mode::Points, Mode::Trace, Mode::Shape] {
        let mut press = down(1, Mouse, 50.0, 60.0, 0.0);
        press.buttons = 4;
        let mut drag = to(1, Mouse, 70.0, 60.0, 10.0);
        drag.buttons = 4;
        let (_, commands) = run(&mode(what), &[press, drag, up(1, Mouse, 70.0, 60.0, 20.0)]);
        assert_eq!(commands, [Command::Pan { dx: 20.0, dy: 0.0 }], "{what:?}");
        let mut press = down(1, Mouse, 50.0, 60.0, 0.0);
        press.shift = true;
        let (_, commands) =
            run(&mode(what), &[press, to(1, Mouse, 70.0, 60.0, 10.0), up(1, Mouse, 70.0, 60.0, 20.0)]);
        assert_eq!(commands, [Command::Pan { dx: 20.0, dy: 0.0 }], "{what:?}");
    }
}

#[test]
fn wheel_zooms_about_the_pointer_but_not_under_a_drag() {
    let mut wheel = plain(EventKind::Wheel);
    (wheel.x, wheel.y, wheel.dy) = (30.0, 40.0, -100.0);
    let (_, commands) = run(&mode(Mode::Look), std::slice::from_ref(&wheel));
    let [Command::Zoom { factor, x, y }] = commands.as_slice() else { panic!("{commands:?}") };
    assert!(*factor > 1.0 && *factor < 1.3);
    assert_eq!((*x, *y), (30.0, 40.0));
    let (_, commands) = run(
        &shape(&[spot("a", 100.0, 100.0)]),
        &[down(1, Mouse, 100.0, 100.0, 0.0), to(1, Mouse, 120.0, 100.0, 10.0), wheel],
    );
    assert_eq!(names(&commands), ["drag_start", "drag_to"]);
}

#[test]
fn numbers_that_are_none_are_ignored() {
    let (state, commands) =
        run_raw(&[down(1, Mouse, f64::NAN, 0.0, 0.0), to(1, Mouse, f64::INFINITY, 0.0, 1.0)]);
    assert!(commands.is_empty());
    assert_eq!(state, GestureState::default());
}

fn run_raw(events: &[Event]) -> (GestureState, Vec<Command>) {
    gesture(GestureState::default(), events, &mode(Mode::Trace))
}

#[test]
fn lost_pointerup_does_not_block_the_next_press() {
    let (_, commands) = run(
        &shape(&[spot("a", 100.0, 100.0)]),
        &[
            down(1, Mouse, 100.0, 100.0, 0.0),
            to(1, Mouse, 120.0, 100.0, 10.0),
            down(1, Mouse, 100.0, 100.0, 500.0),
            up(1, Mouse, 100.0, 100.0, 520.0),
        ],
    );
    assert_eq!(names(&commands), ["drag_start", "drag_to", "drag_cancel", "select"]);
}

/// Any sequence of events leaves a state from which everything coming up leads back to rest, starts and ends of drags
/// and strokes alternate, and nothing panics.
#[test]
fn any_sequence_is_well_formed() {
    // A small linear congruential generator (Knuth, MMIX): reproducible without a library.
    let mut seed: u64 = 1;
    let mut random = move |n: u64| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) % n
    };
    let kinds = [
        EventKind::Down,
        EventKind::Move,
        EventKind::Move,
        EventKind::Up,
        EventKind::Cancel,
        EventKind::Abort,
    ];
    for round in 0..2_000 {
        let mut context = shape(&[spot("a", 20.0, 20.0), spot("b", 30.0, 20.0)]);
        context.mode = [Mode::Look, Mode::Points, Mode::Trace, Mode::Shape][round % 4];
        context.placing = random(2) == 0;
        let mut events = Vec::new();
        for step in 0..40_u32 {
            let id = i64::try_from(random(3)).unwrap();
            let by = [Touch, Touch, Pen][usize::try_from(id).unwrap()];
            let kind = kinds[usize::try_from(random(6)).unwrap()];
            #[expect(clippy::cast_precision_loss, reason = "small numbers")]
            let (x, y) = (random(60) as f64, random(60) as f64);
            events.push(event(kind, id, by, x, y, f64::from(step) * 30.0));
        }
        for id in 0..3 {
            events.push(event(EventKind::Up, id, Touch, 1.0, 1.0, 5_000.0));
        }
        let (state, commands) = gesture(GestureState::default(), &events, &context);
        assert_eq!(state.doing, Doing::Nothing);
        assert!(state.contacts.is_empty());
        let mut open = None;
        for name in names(&commands) {
            match name.as_str() {
                "drag_start" | "stroke_start" => {
                    assert_eq!(open, None);
                    open = Some(name.starts_with("drag"));
                }
                "drag_to" => assert_eq!(open, Some(true)),
                "stroke_point" => assert_eq!(open, Some(false)),
                "drag_end" | "drag_cancel" => assert_eq!(open.take(), Some(true)),
                "stroke_end" | "stroke_cancel" => assert_eq!(open.take(), Some(false)),
                "zoom" | "pan" => assert_eq!(open, None, "the view moved under an edit"),
                _ => {}
            }
        }
    }
}
