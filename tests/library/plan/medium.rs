//! Medium pieces: three to five areas of two to four coats over some weeks of evenings.

use super::model::{Dice, Made, MadeArea, MadeCoat};
use curewright::engine::plan::Tick;

/// Ticks of ten minutes.
const DAY: Tick = 144;

pub fn made(seed: u64) -> Made {
    let mut dice = Dice(seed.wrapping_mul(0xD134_2543_DE82_EF95) | 1);
    let days = dice.roll(12, 20);
    let mut free = Vec::new();
    for day in 0..days {
        if day % 7 == 5 {
            free.push((day * DAY + 54, day * DAY + dice.roll(70, 96)));
        }
        let from = day * DAY + dice.roll(108, 116);
        if dice.chance(75) {
            free.push((from, from + dice.roll(8, 16)));
        }
    }
    // Warm at noon, cool at night, another mean every day.
    let mut warmth = Vec::new();
    for _ in 0..days {
        let mean = dice.roll(6, 14);
        warmth.extend((0..DAY).map(|tick| mean + (tick % DAY).abs_diff(72).abs_diff(72) / 12));
    }
    let areas = dice.roll(3, 5);
    let areas = (0..areas).map(|_| area(&mut dice)).collect();
    Made { horizon: days * DAY, warmth, free, areas }
}

fn area(dice: &mut Dice) -> MadeArea {
    let run_limit = dice.chance(50).then_some(2);
    let coats = dice.roll(2, 4);
    let recorded = dice.chance(30);
    let opens = dice.roll(0, 60);
    let coats = (0..coats).map(|number| {
        let follows = number > 0 || recorded;
        let planned = follows && dice.chance(25);
        let length = dice.roll(3, 7);
        let opens = dice.roll(60, 400);
        MadeCoat {
            before: if dice.chance(10) { 2 } else { 0 },
            takes: dice.roll(2, 5),
            after: u32::from(dice.chance(10)),
            follows: if planned { "prepared" } else { "either" }.into(),
            preps: if follows { vec![(length, !planned)] } else { Vec::new() },
            run_limit,
            opens,
            closes: dice.chance(85).then(|| opens + dice.roll(100, 1800)),
            tape_by: dice.chance(50).then(|| dice.roll(150, 600)),
            tack: opens / 2,
            sands: opens + dice.roll(300, 2000),
            cures: dice.roll(1500, 7000),
            unfit: Vec::new(),
        }
    });
    let coats = coats.collect();
    MadeArea {
        product: 0,
        changeover: (0, 0),
        open: Some(if recorded { (opens, Some(opens + dice.roll(40, 400))) } else { (0, None) }),
        sandable: recorded.then(|| opens + dice.roll(50, 300)),
        room: dice.roll(0, 3) as usize / 3,
        coats,
    }
}
