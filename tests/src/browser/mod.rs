//! Real browsers for the acceptance tests, driven over WebDriver (W3C Recommendation).
//!
//! `cargo xtask test page` builds and serves the page and says where it is by environment variables; a test then opens
//! it in [`Engine::Chromium`] and [`Engine::WebKit`], at the sizes of a tablet lying and standing, and the main things in
//! [`Engine::Firefox`] as well.

mod accessibility;
mod driver;
mod files;
mod keyboard;
mod pointer;
mod session;
mod site;
mod steps;
mod surroundings;

pub use driver::Engine;
pub use pointer::{Pointer, Tool};
pub use session::{Browser, Keys, Window, run};
pub use site::Site;
pub use steps::{STEPS, ShownTable, words_of};
pub use surroundings::{
    cli_mark, cli_report, cli_sheet, cli_text, from_base64, packed_dir, page_address, releases_dir,
    shots_dir, site_address,
};

/// What an acceptance test returns: the first thing that went wrong.
pub type Outcome = Result<(), Failure>;
/// What went wrong: a driver's error, or a sentence.
pub type Failure = Box<dyn std::error::Error>;

/// Makes four tests of one `async fn(&Browser) -> Outcome`: both engines, lying and standing.
#[macro_export]
macro_rules! in_both_browsers {
    ($($name:ident),+ $(,)?) => {
        mod in_chromium_lying { $( #[test] fn $name() { $crate::in_both_browsers!(@ Chromium, Lying, $name) } )+ }
        mod in_chromium_standing { $( #[test] fn $name() { $crate::in_both_browsers!(@ Chromium, Standing, $name) } )+ }
        mod in_webkit_lying { $( #[test] fn $name() { $crate::in_both_browsers!(@ WebKit, Lying, $name) } )+ }
        mod in_webkit_standing { $( #[test] fn $name() { $crate::in_both_browsers!(@ WebKit, Standing, $name) } )+ }
    };
    (@ $engine:ident, $window:ident, $name:ident) => {
        $crate::browser::run(
            $crate::browser::Engine::$engine, $crate::browser::Window::$window, stringify!($name), super::$name,
        )
    };
}

/// Makes one test, in Chromium lying, of an `async fn(&Browser) -> Outcome`: for what WebKit's driver cannot do, and
/// for what does not depend on the engine.
#[macro_export]
macro_rules! in_chromium {
    ($($name:ident),+ $(,)?) => {
        mod in_chromium { $( #[test] fn $name() { $crate::in_both_browsers!(@ Chromium, Lying, $name) } )+ }
    };
}

/// Makes two tests, both engines lying, of an `async fn(&Browser) -> Outcome`: where the layout does not matter.
#[macro_export]
macro_rules! in_both_engines {
    ($($name:ident),+ $(,)?) => {
        mod in_chromium_engine { $( #[test] fn $name() { $crate::in_both_browsers!(@ Chromium, Lying, $name) } )+ }
        mod in_webkit_engine { $( #[test] fn $name() { $crate::in_both_browsers!(@ WebKit, Lying, $name) } )+ }
    };
}

/// Makes one test, in Firefox lying, of an `async fn(&Browser) -> Outcome`: the third engine does the main job, what hangs on an engine's own ways
/// of storing, saving and drawing, and every screen once.
#[macro_export]
macro_rules! in_firefox {
    ($($name:ident),+ $(,)?) => {
        mod in_firefox { $( #[test] fn $name() { $crate::in_both_browsers!(@ Firefox, Lying, $name) } )+ }
    };
}
