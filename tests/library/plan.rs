//! The plan: against every possible plan of small pieces, and against another solver on larger ones.

mod damp;
mod medium;
mod model;
mod small;
mod walked;

use std::ops::ControlFlow;

use curewright::engine::plan::{Aim, Draws, Effort, Infeasible, PlanProgress, Progress, front, solve};
use curewright::engine::profile::Library;
use curewright::engine::units::Moment;

#[test]
fn no_way_and_no_start_of_a_small_piece_is_better_than_the_plan() {
    let (mut compared, mut traded, mut none) = (0, 0, 0);
    for seed in 1..=900 {
        let made = small::made(seed);
        let tried = small::Tried::all(&made);
        let front = front(&made.problem(), Effort::default(), &mut |_| ControlFlow::Continue(()));
        let mut expected: Vec<(usize, u32)> = Vec::new();
        for (owed, best) in tried.best.iter().enumerate() {
            if let Some(best) = best
                && expected.last().is_none_or(|last| *best < last.1)
            {
                expected.push((owed, *best));
            }
        }
        let found: Vec<_> = front.iter().map(|s| (s.schedule.owed as usize, s.schedule.service)).collect();
        assert_eq!(found, expected, "seed {seed}: {made:?}");
        assert!(front.iter().all(|solved| solved.is_optimal()), "seed {seed} was not proven");
        compared += 1;
        traded += usize::from(expected.len() > 1);
        none += usize::from(expected.is_empty());
    }
    println!("{compared} pieces, {traded} with a choice between end and work, {none} without a plan");
    assert!(compared - none >= 200 && traded >= 20 && none >= 5);
}

#[test]
fn every_step_of_every_plan_keeps_to_its_window_its_free_hours_and_its_air() {
    let library = Library::built_in();
    let (mut walked, mut owed, mut wet, mut none) = (0, 0, 0, 0);
    for seed in 1..=32 {
        let piece = walked::piece(seed);
        let mut on = |_| ControlFlow::Continue(());
        let plans =
            piece.walked(&library, &[Aim::Soonest, Aim::LeastWork], &mut on).unwrap_or_else(|trouble| {
                println!("seed {seed}: {trouble}");
                none += 1;
                Vec::new()
            });
        for (plan, faults) in plans {
            assert!(faults.is_empty(), "seed {seed}: {faults:#?}\n{:#?}\n{plan:#?}", piece.scheme);
            walked += 1;
            owed += plan.owed;
            wet += plan.steps.iter().filter(|step| step.wet_on_wet).count();
        }
    }
    println!("{walked} plans walked, {owed} extra sandings, {wet} coats wet on wet, {none} without a plan");
    assert!(walked >= 50 && owed >= 10 && wet >= 60);
}

#[test]
fn nothing_is_planned_if_it_is_stopped_before_the_windows_are_calculated() {
    let (piece, library) = (walked::piece(1), Library::built_in());
    let mut asked = 0;
    let mut off = |busy| {
        assert!(matches!(busy, PlanProgress::Preparing { done, of } if done < of), "{busy:?}");
        asked += 1;
        ControlFlow::Break(())
    };
    assert_eq!(piece.walked(&library, &[Aim::Soonest], &mut off), Err(Infeasible::Stopped));
    assert_eq!(asked, 1);
}

#[test]
fn a_search_that_is_stopped_gives_the_best_so_far_and_a_bound_that_holds() {
    let mut better = 0;
    for seed in [1, 3, 23, 28] {
        let problem = medium::made(seed).problem();
        let mut first = None;
        let mut watch = |progress: Progress| match progress.best {
            Some(best) => {
                first = Some(best);
                ControlFlow::Break(())
            }
            None => ControlFlow::Continue(()),
        };
        let stopped = solve(&problem, Aim::Soonest, Effort::default(), &mut watch).unwrap();
        assert_eq!(Some(stopped.schedule.service), first, "piece {seed}");
        let usual = Effort { near: 0, ..Effort::default() };
        let ended = solve(&problem, Aim::Soonest, usual, &mut |_| ControlFlow::Continue(())).unwrap();
        let (early, late) = (stopped.schedule.service, ended.schedule.service);
        assert!(stopped.bound <= late && late <= early, "piece {seed}: {stopped:?} {ended:?}");
        better += usize::from(late < early);
    }
    assert!(better > 0, "no search went on for anything");
}

/// What finds a first plan, and no more.
const FIRST_PLAN: Effort = Effort { each: 0, tries: 0, proof: 0, near: 0, polish: 0 };

#[test]
fn a_piece_of_32_areas_gets_a_plan() {
    let mut areas = Vec::new();
    let mut piece = medium::made(1);
    for seed in 2.. {
        areas.extend(medium::made(seed).areas);
        if areas.len() >= 32 {
            break;
        }
    }
    areas.truncate(32);
    // What was recorded has long closed its window by the time that it is its turn.
    for area in &mut areas {
        (area.open, area.sandable) = (area.sandable.map_or(area.open, |_| None), area.sandable);
    }
    piece.areas = areas;
    let day = 144;
    piece.free = (0..60).map(|night| (night * day + 108, night * day + 126)).collect();
    piece.horizon = 60 * day;
    let problem = piece.problem();
    let solved = solve(&problem, Aim::Soonest, FIRST_PLAN, &mut |_| ControlFlow::Continue(())).unwrap();
    assert_eq!(problem.fault(&solved.schedule), None);
}

#[test]
fn no_block_of_a_plan_can_begin_sooner_by_itself_and_nothing_more_be_mixed() {
    let mut blocks = 0;
    for seed in 1..=12 {
        let problem = medium::made(seed).problem();
        let effort = Effort { polish: 30, ..FIRST_PLAN };
        let Ok(solved) = solve(&problem, Aim::Soonest, effort, &mut |_| ControlFlow::Continue(())) else {
            continue;
        };
        let schedule = solved.schedule;
        assert_eq!(problem.fault(&schedule), None, "piece {seed}");
        let figures = problem.figures(&schedule);
        for (which, placed) in schedule.placed.iter().enumerate() {
            blocks += 1;
            for index in 0..placed.index {
                if problem.obstacle(&schedule.placed, which, index).is_none() {
                    let mut moved = schedule.placed.clone();
                    moved[which].index = index;
                    let moved = problem.figures(&problem.schedule(moved));
                    assert!(moved > figures, "piece {seed}, block {which} at {index}");
                }
            }
        }
    }
    assert!(blocks > 100);
}

#[derive(serde::Deserialize)]
struct Other {
    piece: usize,
    status: String,
    end: Option<u32>,
    bound: Option<u32>,
}

/// OR-Tools CP-SAT on the same pieces: `tests/reference/plan/solve_plans.py`.
#[test]
fn a_constraint_solver_finds_no_better_plan_for_medium_pieces() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/plan");
    let pieces: Vec<model::Made> = (1..=36).map(medium::made).collect();
    let text = serde_json::to_string(&pieces).unwrap().replace("},{\"horizon\"", "},\n{\"horizon\"") + "\n";
    if option_env!("BLESS").is_some() {
        std::fs::write(folder.join("pieces.json"), &text).unwrap();
    }
    // Either text is too long to be shown.
    let same = std::fs::read_to_string(folder.join("pieces.json")).unwrap() == text;
    assert!(same, "other pieces were solved");
    let solved: Vec<Other> =
        serde_json::from_str(&std::fs::read_to_string(folder.join("cp_sat.json")).unwrap()).unwrap();
    assert!(solved.len() >= 30 && solved.len() == pieces.len());
    let (mut proven, mut optimal, mut later) = (0, 0, 0);
    for other in solved {
        let problem = pieces[other.piece].problem();
        // Where the end cannot be bettered, a long search for a better one shows nothing.
        let mut watch = |progress: Progress| match progress.best == other.end && progress.tried > 6_000 {
            true => ControlFlow::Break(()),
            false => ControlFlow::Continue(()),
        };
        let ours = solve(&problem, Aim::Soonest, Effort::default(), &mut watch);
        let (Ok(ours), Some(end)) = (ours, other.end) else {
            assert_eq!(other.status, "INFEASIBLE", "piece {}", other.piece);
            continue;
        };
        let end_of_ours = ours.schedule.service;
        println!(
            "piece {}: {end_of_ours} (bound {}), CP-SAT {} {end}",
            other.piece, ours.bound, other.status
        );
        // Where sandings and wet films exclude each other the search may miss the best by a little.
        assert!(end_of_ours <= end + end / 50, "piece {}: {end_of_ours}, but {end} can be had", other.piece);
        later += usize::from(end_of_ours > end);
        assert!(
            ours.bound <= end,
            "piece {}: nothing ends before {}, but {end} does",
            other.piece,
            ours.bound
        );
        assert!(other.bound.is_none_or(|bound| bound <= end_of_ours), "piece {}", other.piece);
        proven += usize::from(ours.is_optimal());
        optimal += usize::from(other.status == "OPTIMAL");
    }
    println!("{proven} proven here, {optimal} there, {later} end later here");
    assert!(optimal >= 20 && proven >= 17 && later <= 2);
}

/// NumPy on the same draws: `tests/reference/plan/make_percentiles.py`.
#[test]
fn the_percentiles_of_draws_are_those_of_numpy() {
    #[derive(serde::Deserialize)]
    struct Case {
        seconds: Vec<i64>,
        percentiles: std::collections::BTreeMap<String, f64>,
    }
    let cases: Vec<Case> = serde_json::from_str(include_str!("../reference/plan/percentiles.json")).unwrap();
    for case in cases {
        let ends: Vec<Moment> =
            case.seconds.iter().map(|seconds| Moment::from_timestamp(*seconds, 0).unwrap()).collect();
        let draws = Draws { seed: 0, count: ends.len(), ends, pace: 0.1, pace_known: true };
        for (percent, expected) in case.percentiles {
            let found = draws.percentile(percent.parse().unwrap()).unwrap();
            let seconds = found.timestamp_millis() as f64 / 1000.0;
            assert!((seconds - expected).abs() < 2e-3, "{percent} %: {seconds}, not {expected}");
        }
    }
}
