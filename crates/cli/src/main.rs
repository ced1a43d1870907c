//! `counterpoise`: the planner's core without a browser, for scripts, teachers and tests.
//!
//! Exit codes: 0 done, 1 the input was refused or could not be read, 2 wrong usage.

mod balance;
mod draw;
mod find;
mod fit;
mod folder;
mod input;
mod mark;
mod messages;
mod outlines;
mod report;
mod share;
mod sheet;

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
    /// Lay a plan out for the couch: full size, with the numbers in the order of drawing.
    Sheet {
        /// The plan file (*.counterpoise.json).
        plan: PathBuf,
        /// Where to write the whole sheet.
        #[arg(long, value_name = "OUT")]
        pdf: Option<PathBuf>,
        /// Where to write the page at full size; further pages get a number before the ending.
        #[arg(long, value_name = "OUT")]
        svg: Option<PathBuf>,
        /// Where to write the numbers.
        #[arg(long, value_name = "OUT")]
        csv: Option<PathBuf>,
        /// The paper it is printed on.
        #[arg(long, value_enum, default_value_t = PaperSize::A4)]
        paper: PaperSize,
        /// Add the drawing the other way round, for transfer paper.
        #[arg(long)]
        mirrored: bool,
        /// As she lies: `couch`, or the id of a recorded pose.
        #[arg(long, value_name = "POSE")]
        pose: Option<String>,
        /// The date to print.
        #[arg(long, default_value = "")]
        date: String,
        /// What the bar of 100 mm measured on an earlier print, mm: the drawing is corrected by it.
        #[arg(long, value_name = "MM")]
        printed_bar: Option<f64>,
    },
    /// Guess the landmarks of a face and the hair of its brows, on a photo or on every photo of a folder.
    Find {
        /// The photo (JPEG or PNG), or a folder of photos.
        photo: PathBuf,
        /// The client's right and left pupil where they are known: x,y,x,y in px.
        #[arg(long, value_name = "RX,RY,LX,LY", value_parser = four_numbers)]
        pupils: Option<[f64; 4]>,
        /// The photo shows her as in a mirror.
        #[arg(long)]
        mirrored: bool,
        /// Write JSON instead of a table; one line per photo.
        #[arg(long)]
        json: bool,
        /// The file of the face network.
        #[arg(long, env = "COUNTERPOISE_WEIGHTS", value_name = "FILE")]
        weights: PathBuf,
    },
    /// Mark a plan handed in for an exercise, or every one of a folder.
    Mark {
        /// The exercise (*.json).
        exercise: PathBuf,
        /// The plan or submission that was handed in, or a folder of them.
        handed_in: PathBuf,
        /// Write JSON, a line each, in place of a table or of CSV.
        #[arg(long)]
        json: bool,
    },
    /// Turn a plan file into a link of the page, without name, notes and photo; or a link back into a plan file.
    Share {
        /// The plan file (*.counterpoise.json).
        #[arg(required_unless_present = "link")]
        plan: Option<PathBuf>,
        /// Where the page lies.
        #[arg(long, value_name = "ADDRESS", default_value = "")]
        page: String,
        /// Print the plan of this link instead.
        #[arg(long, value_name = "LINK", conflicts_with = "plan")]
        link: Option<String>,
    },
    /// Print the JSON Schema of a kind of file.
    Schema {
        /// Which kind.
        #[arg(default_value = "plan", value_parser = ["plan", "exercise", "lesson", "set"])]
        of: String,
    },
}

#[derive(Clone, Copy, ValueEnum)]
enum PaperSize {
    A4,
    Letter,
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
        Command::Sheet { plan, pdf, svg, csv, paper, mirrored, pose, date, printed_bar } => sheet::run(
            &plan,
            &sheet::Ways { pdf: pdf.as_deref(), svg: svg.as_deref(), csv: csv.as_deref() },
            &sheet::Wishes {
                paper: match paper {
                    PaperSize::A4 => counterpoise_sheet::Paper::A4,
                    PaperSize::Letter => counterpoise_sheet::Paper::Letter,
                },
                mirrored,
                pose: pose.as_deref(),
                date: &date,
                printed_bar_mm: printed_bar,
            },
        ),
        Command::Find { photo, pupils, mirrored, json, weights } => {
            let wishes = find::Wishes { weights: &weights, pupils, mirrored, json };
            find::run(&photo, &wishes).and_then(|text| print(&text))
        }
        Command::Mark { exercise, handed_in, json } => {
            mark::run(&exercise, &handed_in, json).and_then(|text| print(&text))
        }
        Command::Share { plan, page, link } => match (link, plan) {
            (Some(link), _) => share::plan(&link),
            (None, Some(plan)) => share::link(&plan, &page),
            // The command line was refused before.
            (None, None) => Err("name a plan, or a link with --link".into()),
        }
        .and_then(|text| print(&text)),
        Command::Schema { of } => {
            print(&counterpoise_teaching::schema_json(&of).unwrap_or_else(counterpoise_plan::schema_json))
        }
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            eprintln!("counterpoise: {failure}");
            ExitCode::FAILURE
        }
    }
}

/// Two places, px.
fn four_numbers(text: &str) -> Result<[f64; 4], String> {
    let numbers: Result<Vec<f64>, _> = text.split(',').map(|part| part.trim().parse::<f64>()).collect();
    let numbers = numbers.ok().filter(|numbers| numbers.iter().all(|number| number.is_finite()));
    numbers
        .and_then(|numbers| numbers.try_into().ok())
        .ok_or("four numbers with commas between are needed".into())
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
