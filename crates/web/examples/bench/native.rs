//! The timed work natively: `native PLAN.json shapes.json fit-scipy.json balance-slsqp.json` prints microseconds as JSON.

use std::process::ExitCode;
use std::time::Instant;

mod work;

fn main() -> ExitCode {
    match run() {
        Ok(line) => {
            println!("{line}");
            ExitCode::SUCCESS
        }
        Err(problem) => {
            eprintln!("{problem}");
            ExitCode::FAILURE
        }
    }
}

fn run() -> Result<String, String> {
    let file = std::env::args().nth(1).ok_or("which plan?")?;
    let text = std::fs::read_to_string(&file).map_err(|error| format!("{file}: {error}"))?;
    let plan = work::plan(&text)?;
    let frames = median_us(50, |times| Ok(work::frames(&work::upright(&plan), times)))?;
    let posed = median_us(50, |times| Ok(work::frames(&plan, times)))?;
    let drags = median_us(50, |times| work::drags(&plan, times))?;
    let fits = median_us(2, |times| work::fits(&plan, times))?;
    let read = |which: usize| {
        let file = std::env::args().nth(which).ok_or("which fixtures?")?;
        std::fs::read_to_string(&file).map_err(|error| format!("{file}: {error}"))
    };
    let common = work::Common::read(&read(2)?, &read(3)?, &read(4)?)?;
    let areas = median_us(5, |times| Ok(common.areas(times)))? / f64::from(common.pairs());
    let common_fit = median_us(2, |times| common.fit(times))?;
    let balance = median_us(1, |times| Ok(common.balance(times)?.iter().sum()))?;
    Ok(format!(
        "{{\"frame_us\":{frames:.2},\"posed_us\":{posed:.2},\"drag_us\":{drags:.2},\"fit_us\":{:.2},\
         \"areas_us\":{areas:.2},\"areas_mm2\":{},\"common_fit_us\":{common_fit:.2},\
         \"balance_us\":{balance:.2},\"balance\":{:?}}}",
        fits / 2.0,
        common.areas(1),
        common.balance(1)?,
    ))
}

/// Median over nine rounds of the time of one turn, after a warm-up.
fn median_us(times: u32, mut work: impl FnMut(u32) -> Result<f64, String>) -> Result<f64, String> {
    let mut rounds = Vec::new();
    std::hint::black_box(work(times)?);
    for _ in 0..9 {
        let start = Instant::now();
        std::hint::black_box(work(times)?);
        rounds.push(start.elapsed().as_secs_f64() * 1e6 / f64::from(times));
    }
    rounds.sort_by(f64::total_cmp);
    rounds.get(rounds.len() / 2).copied().ok_or_else(|| "no rounds".into())
}
