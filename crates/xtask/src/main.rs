//! `cargo xtask serve | test | bench | release`: everything that is done to the project and not by it.

mod axe;
mod bench;
mod browsers;
mod command;
mod demo;
mod demo_command;
mod fuzz;
mod licences;
mod likeness;
mod link;
mod offline;
mod page;
mod pinned;
mod ready;
mod release;
mod scorm;
mod server;
mod shrink;
mod single;
mod test;
mod tool;
mod weights;

use std::process::ExitCode;

use clap::{Parser, Subcommand};

/// Builds, serves, checks and packs the planner.
#[derive(Parser)]
#[command(name = "cargo xtask", bin_name = "cargo xtask", version)]
struct Args {
    #[command(subcommand)]
    task: Task,
}

#[derive(Subcommand)]
enum Task {
    /// Builds the page and serves it on this machine; prints the address and opens nothing.
    Serve {
        /// The port; without it 8740, or any free one where that is taken. 0 takes any free one.
        #[arg(long)]
        port: Option<u16>,
    },
    /// Runs the checks of one area, or of all.
    Test {
        /// Which part; all of them when left out.
        area: Option<test::Area>,
        /// Handed on to the test programs, after `--`: a filter, `--nocapture` …
        #[arg(last = true)]
        rest: Vec<String>,
    },
    /// Measures speed and size against their limits and prints one table.
    Bench {
        /// Fails where a line is beyond `crates/xtask/bench-limits.json`.
        #[arg(long)]
        check: bool,
    },
    /// Feeds parsers, edits and solvers what a fuzzer makes up, and checks what must hold of everything.
    Fuzz {
        /// How long all of it may take.
        #[arg(long, default_value_t = 10.0)]
        minutes: f64,
        /// One target; all of them when left out.
        target: Option<String>,
    },
    /// Draws the demo case (`demo/`) anew.
    Demo {
        /// Only says whether the files are what would be drawn.
        #[arg(long)]
        check: bool,
    },
    /// Fetches the face network of photo assist and says where it is.
    Weights,
    /// Builds the page as plain files in `dist/`, ready for any static host, as one file, and as packages for courses.
    Release {
        /// Builds everything once more from nothing, and says whether each file came out the same.
        #[arg(long)]
        twice: bool,
    },
}

fn main() -> ExitCode {
    let done = match Args::parse().task {
        Task::Serve { port } => serve(port),
        Task::Test { area, rest } => test::run_areas(area, &rest),
        Task::Bench { check } => bench::run(check),
        Task::Fuzz { minutes, target } => fuzz::run_all(minutes, target.as_deref()),
        Task::Demo { check } => demo_command::run(check),
        Task::Weights => weights::fetch().map(|file| println!("{}", file.display())),
        Task::Release { twice } => release::run(twice),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(problem) => {
            eprintln!("error: {problem}");
            ExitCode::FAILURE
        }
    }
}

/// What went wrong, in words for the person at the terminal.
type Problem = String;

fn serve(port: Option<u16>) -> Result<(), Problem> {
    page::build()?;
    let server = server::Server::of_page(port, Vec::new())?;
    println!("The planner is at {}", server.address());
    println!("Stop it with Ctrl+C.");
    server.wait();
    Ok(())
}
