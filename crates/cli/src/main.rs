//! `counterpoise`: the planner's core without a browser, for scripts, teachers and tests.
//!
//! Exit codes: 0 done, 1 the input was refused or could not be read, 2 wrong usage.

mod balance;
mod draw;
mod fit;
mod input;
mod messages;
mod outlines;
mod report;

use std::io::{self, Write};
use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Parser, Subcommand, ValueEnum};

/// Brow mapping without a browser: read a plan, report its numbers, draw it.
#[derive(Parser)]
#[command(name = "counterpoise", version, about)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Report the measures, areas and checks of a plan file.
    Report {
        /// The plan file (*.counterpoise.json).
        plan: PathBuf,
        /// Write the report as JSON instead of a table.
        #[arg(long)]
        json: bool,
    },
    /// Draw a plan file as SVG, true to the millimetre.
    Draw {
        /// The plan file (*.counterpoise.json).
        plan: PathBuf,
        /// Where to write the drawing.
        #[arg(long, value_name = "OUT")]
        svg: PathBuf,
        /// Ground of the drawing.
        #[arg(long, value_enum, default_value_t = Theme::Light)]
        theme: Theme,
    },
    /// Fit outlines to the natural brows of a file.
    Fit {
        /// The outlines: `outlines[]` with `id`, `side` and `outline_mm`, mm in the side's own (out, up).
        outlines: PathBuf,
        /// Write one JSON line per brow instead of a table.
        #[arg(long)]
        json: bool,
    },
    /// Show how even the pair can be for what is removed and added.
    Balance {
        /// The plan file (*.counterpoise.json).
        #[arg(required_unless_present = "outlines")]
        plan: Option<PathBuf>,
        /// Balance every complete pair of a file of natural brows instead, with the usual rules.
        #[arg(long, value_name = "OUTLINES", conflicts_with = "plan")]
        outlines: Option<PathBuf>,
        /// Skin that may be added per side, % of the natural brow's area [default: the plan's limit, or 25].
        #[arg(long, value_name = "PERCENT", value_parser = added_pct)]
        added: Option<f64>,
        /// Write JSON instead of a table; one line per pair for a file of natural brows.
        #[arg(long)]
        json: bool,
    },
    /// Print the JSON Schema of the plan file.
    Schema,
}

#[derive(Clone, Copy, ValueEnum)]
enum Theme {
    Light,
    Dark,
}

/// What went wrong, as one sentence for the terminal.
type Failure = String;

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let done = match arguments.command {
        Command::Report { plan, json } => report::run(&plan, json).and_then(|text| print(&text)),
        Command::Draw { plan, svg, theme } => {
            let theme = match theme {
                Theme::Light => counterpoise_plan::Theme::Light,
                Theme::Dark => counterpoise_plan::Theme::Dark,
            };
            draw::run(&plan, &svg, theme)
        }
        Command::Fit { outlines, json } => fit::run(&outlines, json).and_then(|text| print(&text)),
        Command::Balance { plan, outlines, added, json } => match (plan, outlines) {
            (Some(plan), _) => balance::of_plan(&plan, added, json),
            (None, Some(outlines)) => balance::of_outlines(&outlines, added, json),
            // The command line was refused before.
            (None, None) => Err("name a plan, or a file of brows with --outlines".into()),
        }
        .and_then(|text| print(&text)),
        Command::Schema => print(&counterpoise_plan::schema_json()),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            eprintln!("counterpoise: {failure}");
            ExitCode::FAILURE
        }
    }
}

/// A limit of added skin.
fn added_pct(text: &str) -> Result<f64, String> {
    let (min, max) = counterpoise_plan::field::ADDED.range;
    match text.parse::<f64>() {
        Ok(value) if (min..=max).contains(&value) => Ok(value),
        _ => Err(format!("a number from {min} to {max} is needed")),
    }
}

/// Writes to the standard output. A reader that has seen enough (`| head`) is no failure.
fn print(text: &str) -> Result<(), Failure> {
    match io::stdout().lock().write_all(text.as_bytes()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => Err(format!("cannot write: {error}")),
        _ => Ok(()),
    }
}
