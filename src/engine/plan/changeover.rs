//! Mixing before a coat and cleaning up after it, as steps of a plan.
//!
//! The search keeps the time for both free between two blocks of different products and at both ends of a session.
//! Between two coats of one product they are steps only where the time between is long enough for both.

use chrono::TimeDelta;

use super::explain::{Ready, Step, What};
use super::planning::Planning;
use super::work::induction;
use crate::engine::profile::Product;

/// A coat with its tape: the numbers of its steps.
#[derive(Clone, Copy)]
struct Block {
    first: usize,
    coat: usize,
    last: usize,
}

/// Adds them to steps in the order of time.
pub(super) fn add(planning: &Planning<'_>, steps: &mut Vec<Step>) {
    let coats = (0..steps.len()).filter(|index| steps[*index].what == What::Coat);
    let blocks: Vec<Block> = coats.map(|coat| with_tape(steps, coat)).collect();
    let mut more = Vec::new();
    for block in &blocks {
        let coat = &steps[block.coat];
        let Some(product) = product_of(planning, coat) else { continue };
        let (mixing, cleaning) = times(planning, product);
        // Whether two blocks are of one batch: the second follows the first with no time for both between.
        let one_batch = |first: &Block, then: &Block| {
            first.last + 1 == then.first
                && steps[first.coat].product == steps[then.coat].product
                && steps[then.first].from - steps[first.last].to < mixing + cleaning
        };
        if mixing > TimeDelta::zero() && !blocks.iter().any(|other| one_batch(other, block)) {
            let to = coat.from;
            let ready =
                if block.first < block.coat { Ready::StepBefore(to - mixing) } else { Ready::StepAfter };
            more.push(Step { what: What::Mix, from: to - mixing, to, ready, ..bare(coat) });
        }
        if cleaning > TimeDelta::zero() && !blocks.iter().any(|other| one_batch(block, other)) {
            let from = steps[block.last].to;
            let ready = Ready::StepBefore(from);
            more.push(Step { what: What::CleanUp, from, to: from + cleaning, ready, ..bare(coat) });
        }
    }
    // Tape goes on before the product is mixed.
    for mix in more.iter().filter(|step| step.what == What::Mix) {
        let taped =
            |step: &&mut Step| step.what == What::TapeOn && step.area == mix.area && step.to == mix.to;
        if let Some(tape) = steps.iter_mut().find(taped) {
            let length = mix.to - mix.from;
            (tape.from, tape.to) = (tape.from - length, tape.to - length);
        }
    }
    steps.extend(more);
    steps.sort_by_key(|step| step.from);
}

fn bare(coat: &Step) -> Step {
    Step { wet_on_wet: false, owed: false, by: None, held: None, ..coat.clone() }
}

fn product_of<'p>(planning: &'p Planning<'_>, step: &Step) -> Option<&'p Product> {
    planning.input().library.get(step.product.as_deref()?).ok()
}

/// The time to mix a product, with its induction time, and to clean up after it, on the grid of the plan.
fn times(planning: &Planning<'_>, product: &Product) -> (TimeDelta, TimeDelta) {
    let session = planning.input().session;
    let on_grid = super::work::ticks_if_any;
    let length = |time| super::grid::Grid::length(on_grid(time));
    (length(session.mixing + induction(product)), length(session.cleaning))
}

/// Tape goes on just before its coat and comes off right after it.
fn with_tape(steps: &[Step], coat: usize) -> Block {
    let same = |other: &usize| steps.get(*other).is_some_and(|step| step.area == steps[coat].area);
    let on = coat.checked_sub(1).filter(same);
    let on = on.filter(|on| steps[*on].what == What::TapeOn && steps[*on].to == steps[coat].from);
    let off = Some(coat + 1).filter(same);
    let off = off.filter(|off| steps[*off].what == What::TapeOff && steps[*off].from == steps[coat].to);
    Block { first: on.unwrap_or(coat), coat, last: off.unwrap_or(coat) }
}
