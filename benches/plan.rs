//! The search of a plan beside another solver's time on the same pieces (`tests/reference/plan`), and large pieces of
//! real products over ninety days.

#[path = "../tests/library/plan/large.rs"]
mod large;
#[path = "../tests/library/plan/medium.rs"]
mod medium;
#[path = "../tests/library/plan/model.rs"]
mod model;

use std::ops::ControlFlow;
use std::time::Instant;

use curewright::engine::plan::{Aim, Effort, solve};

#[derive(serde::Deserialize)]
struct Other {
    end: Option<u32>,
    seconds: f64,
}

fn main() {
    let text = include_str!("../tests/reference/plan/cp_sat.json");
    let others: Vec<Other> = serde_json::from_str(text).unwrap_or_default();
    let (mut ours, mut theirs, mut same, mut proven) = (0.0, 0.0, 0, 0);
    for (seed, other) in (1..).zip(&others) {
        let problem = medium::made(seed).problem();
        let begun = Instant::now();
        let solved = solve(&problem, Aim::Soonest, Effort::default(), &mut |_| ControlFlow::Continue(()));
        ours += begun.elapsed().as_secs_f64();
        theirs += other.seconds;
        same += usize::from(solved.as_ref().ok().map(|solved| solved.schedule.service) == other.end);
        proven += usize::from(solved.is_ok_and(|solved| solved.is_optimal()));
    }
    println!(
        "plan: {} medium pieces in {ours:.2} s, {same} as soon as CP-SAT's, {proven} proven; {:.3} times CP-SAT's {theirs:.1} s",
        others.len(),
        ours / theirs
    );
    for (areas, evening_ends, draws) in [(6, 22, 1000), (6, 20, 100), (10, 22, 100), (10, 20, 100)] {
        let large = large::planned(areas, 90, evening_ends, draws);
        println!(
            "plan: {areas} areas of 8 steps over 90 days, evenings of {} h, in {:.2} s, a better one could end {:.1} days sooner at most; {draws} draws in {:.2} s",
            evening_ends - 18,
            large.planned_in.as_secs_f64(),
            large.plan.gap.num_minutes() as f64 / 1440.0,
            large.drawn_in.as_secs_f64()
        );
    }
}
