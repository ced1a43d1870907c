//! What was read last. A drag sends the kept plan again and again with another edit, and a view that moves sends the same plan
//! at every frame; reading and deriving take far longer than comparing two texts. Pure all the same: a text and an edit always
//! give the same answer, and a fresh instance only has to read them once more.

use std::cell::{OnceCell, RefCell};
use std::rc::Rc;

use counterpoise_plan::{
    DeriveMemo, Glance, Plan, PlanError, Report, Scene, apply, glance_after, open, read_edit, report_after,
    same_frame, scene_after, to_json,
};

/// The kept plan, the one that is shown, and the one that a move is explained from.
const MOST: usize = 3;

thread_local! {
    /// The latest first.
    static KNOWN: RefCell<Vec<Rc<Known>>> = const { RefCell::new(Vec::new()) };
    /// What the last plan amounts to: a drag of an outline leaves most of it as it is.
    static DERIVED: RefCell<DeriveMemo> = RefCell::default();
}

/// A plan with what is derived from it, once it was asked for.
pub struct Known {
    /// In a drag nobody asks for the text of what is shown before the picture is there.
    text: OnceCell<Rc<str>>,
    /// The text and the edit, as JSON text, that it was made from.
    made: Option<(Rc<str>, String)>,
    /// What the text says.
    pub plan: Plan,
    scene: OnceCell<Rc<Scene>>,
    glance: OnceCell<Rc<Glance>>,
    report: OnceCell<Rc<Report>>,
}

impl Known {
    /// The plan's text: the one that was read, or else the canonical one.
    pub fn text(&self) -> &Rc<str> {
        self.text.get_or_init(|| to_json(&self.plan).into())
    }

    fn is_of(&self, text: &[u8]) -> bool {
        self.text.get().is_some_and(|known| is_same(known.as_bytes(), text))
    }

    /// The drawing.
    pub fn scene(&self) -> &Scene {
        self.scene.get_or_init(|| {
            let known = self.of_a_like(|other| other.scene.get());
            known.unwrap_or_else(|| Rc::new(on_last(|last| scene_after(last, &self.plan))))
        })
    }

    /// The numbers that are shown with the drawing.
    pub fn glance(&self) -> &Glance {
        self.glance.get_or_init(|| {
            let known = self.of_a_like(|other| other.glance.get());
            known.unwrap_or_else(|| Rc::new(on_last(|last| glance_after(last, &self.plan))))
        })
    }

    /// All numbers.
    pub fn report(&self) -> &Report {
        self.report.get_or_init(|| {
            let known = self.of_a_like(|other| other.report.get());
            known.unwrap_or_else(|| Rc::new(on_last(|last| report_after(last, &self.plan))))
        })
    }

    /// What was derived of another plan that is drawn and counted alike: a rule or a note changes nothing of it.
    fn of_a_like<T>(&self, derived: impl Fn(&Known) -> Option<&Rc<T>>) -> Option<Rc<T>> {
        KNOWN.with_borrow(|all| {
            let mut there = all.iter().filter(|other| derived(other).is_some());
            there.find(|other| same_frame(&other.plan, &self.plan)).and_then(|other| derived(other).cloned())
        })
    }
}

/// Works with what the last plan amounted to.
pub fn on_last<T>(work: impl FnOnce(&mut DeriveMemo) -> T) -> T {
    DERIVED.with_borrow_mut(work)
}

/// The plan of a text in UTF-8.
///
/// # Errors
/// As `counterpoise_plan::open`.
pub fn read(text: &[u8]) -> Result<Rc<Known>, PlanError> {
    match latest(|known| known.is_of(text)) {
        Some(known) => Ok(known),
        None => {
            // The page's own encoder made the bytes, so they are UTF-8; what is not is no plan.
            let text = str::from_utf8(text).unwrap_or_default();
            let plan = open(text)?;
            Ok(remember(OnceCell::from(Rc::from(text)), None, plan))
        }
    }
}

/// The plan of a text in UTF-8 after an edit, which is JSON text; the plan itself where the edit is empty.
///
/// # Errors
/// As `counterpoise_plan::open`, `counterpoise_plan::read_edit` and `counterpoise_plan::apply`.
pub fn edited(text: &[u8], edit: &str) -> Result<Rc<Known>, PlanError> {
    let before = read(text)?;
    if edit.is_empty() {
        return Ok(before);
    }
    let made_so = |(from, by): &(Rc<str>, String)| Rc::ptr_eq(from, before.text()) && by == edit;
    if let Some(known) = latest(|known| known.made.as_ref().is_some_and(made_so)) {
        return Ok(known);
    }
    let plan = apply(&before.plan, &read_edit(edit)?)?;
    Ok(remember(OnceCell::new(), Some((before.text().clone(), edit.to_owned())), plan))
}

/// The one that is asked for, which is the latest from now on.
fn latest(is_asked: impl Fn(&Known) -> bool) -> Option<Rc<Known>> {
    KNOWN.with_borrow_mut(|all| {
        let at = all.iter().position(|known| is_asked(known))?;
        all.get_mut(..=at)?.rotate_right(1);
        all.first().cloned()
    })
}

/// Whether two texts are the same, eight bytes at a time: the way that the compiler has for WebAssembly goes byte by byte, and
/// whole plans are compared several times a frame.
fn is_same(one: &[u8], other: &[u8]) -> bool {
    let (ones, one_rest) = one.as_chunks::<8>();
    let (others, other_rest) = other.as_chunks::<8>();
    let mut pairs = ones.iter().zip(others);
    one.len() == other.len()
        && pairs.all(|(one, other)| u64::from_ne_bytes(*one) == u64::from_ne_bytes(*other))
        && one_rest == other_rest
}

fn remember(text: OnceCell<Rc<str>>, made: Option<(Rc<str>, String)>, plan: Plan) -> Rc<Known> {
    let known = Rc::new(Known {
        text,
        made,
        plan,
        scene: OnceCell::new(),
        glance: OnceCell::new(),
        report: OnceCell::new(),
    });
    KNOWN.with_borrow_mut(|all| {
        all.insert(0, known.clone());
        all.truncate(MOST);
    });
    known
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(label: &str) -> String {
        let mut plan = Plan::default();
        plan.case.label = label.into();
        to_json(&plan)
    }

    #[test]
    fn text_read_again_gives_the_same_plan_without_reading() {
        let (a, b) = (text("a"), text("b"));
        let first = read(a.as_bytes()).unwrap();
        read(b.as_bytes()).unwrap();
        assert!(Rc::ptr_eq(&first, &read(a.as_bytes()).unwrap()));
        assert_eq!(first.plan, open(&a).unwrap());
    }

    #[test]
    fn no_more_plans_are_kept_than_are_in_use() {
        let first = read(text("a").as_bytes()).unwrap();
        for other in ["b", "c", "d"] {
            read(text(other).as_bytes()).unwrap();
        }
        let a = text("a");
        assert!(!Rc::ptr_eq(&first, &read(a.as_bytes()).unwrap()));
        KNOWN.with_borrow(|all| assert_eq!(all.len(), MOST));
    }

    #[test]
    fn plan_after_an_edit_is_made_once_and_is_what_its_text_says() {
        let a = text("a");
        let edit = r#"{"do": "set_case", "case": {"label": "b", "note": "", "date": ""}}"#;
        let shown = edited(a.as_bytes(), edit).unwrap();
        assert!(shown.text.get().is_none());
        assert!(Rc::ptr_eq(&shown, &edited(a.as_bytes(), edit).unwrap()));
        assert!(Rc::ptr_eq(&read(a.as_bytes()).unwrap(), &edited(a.as_bytes(), "").unwrap()));
        assert_eq!(&**shown.text(), text("b"));
        // What was shown is kept: nothing is read anew.
        assert!(Rc::ptr_eq(&shown, &read(text("b").as_bytes()).unwrap()));
        // The same edit of another plan is another plan.
        let other = edited(shown.text().as_bytes(), edit).unwrap();
        assert!(!Rc::ptr_eq(&shown, &other));
        assert_eq!(
            edited(a.as_bytes(), r#"{"do": "?"}"#).err().map(|error| error.code),
            read_edit(r#"{"do": "?"}"#).err().map(|error| error.code)
        );
    }

    #[test]
    fn plans_that_are_drawn_alike_share_what_is_derived() {
        let first = read(text("a").as_bytes()).unwrap();
        let known: *const Scene = first.scene();
        assert!(std::ptr::eq(known, read(text("b").as_bytes()).unwrap().scene()));
        let glance: *const Glance = first.glance();
        assert!(std::ptr::eq(glance, read(text("b").as_bytes()).unwrap().glance()));
        let report: *const Report = first.report();
        assert!(std::ptr::eq(report, read(text("b").as_bytes()).unwrap().report()));
        let mut plan = Plan::default();
        plan.limits.strip_mm += 1.0;
        assert!(!std::ptr::eq(known, read(to_json(&plan).as_bytes()).unwrap().scene()));
    }

    #[test]
    fn texts_are_the_same_to_the_last_byte() {
        for length in [0, 1, 7, 8, 9, 40] {
            let one = vec![7; length];
            assert!(is_same(&one, &one.clone()));
            assert!(!is_same(&one, &[7; 41]));
            for at in 0..length {
                let mut other = one.clone();
                other[at] = 8;
                assert!(!is_same(&one, &other), "{at} of {length}");
            }
        }
    }

    #[test]
    fn what_cannot_be_read_is_refused_every_time() {
        assert!(read(b"{").is_err());
        assert!(read(b"{").is_err());
    }
}
