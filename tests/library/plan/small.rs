//! Every way and every start of small plans, tried one after the other.

use curewright::engine::plan::Tick;

use super::model::{Dice, Made, MadeArea, MadeCoat};

/// A small piece: two or three areas of one to three coats, a few short evenings.
pub fn made(seed: u64) -> Made {
    let mut dice = Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    let days = dice.roll(3, 5);
    let mut free = Vec::new();
    for day in 0..days {
        let from = day * 12 + dice.roll(0, 5);
        if dice.chance(85) {
            free.push((from, from + dice.roll(2, 5)));
        }
    }
    let warmth = (0..days * 12).map(|tick| dice.roll(1, 3) + u32::from(tick % 12 < 6)).collect();
    let areas = if dice.chance(40) { 3 } else { 2 };
    let most = if areas == 3 { 2 } else { 3 };
    let areas = (0..areas).map(|_| area(&mut dice, most, days * 12)).collect();
    Made { horizon: days * 12, warmth, free, areas }
}

fn area(dice: &mut Dice, most: u32, horizon: Tick) -> MadeArea {
    let coats = dice.roll(1, most);
    let recorded = dice.chance(30);
    let opens = dice.roll(0, 6);
    let run_limit = dice.chance(40).then_some(2);
    let coats =
        (0..coats).map(|number| MadeCoat { run_limit, ..coat(dice, number > 0 || recorded, horizon) });
    let coats = coats.collect();
    let changeover = if dice.chance(50) { (0, 0) } else { (dice.roll(0, 1), dice.roll(0, 1)) };
    MadeArea {
        product: dice.roll(0, 1) as usize,
        changeover,
        open: Some(if recorded { (opens, Some(opens + dice.roll(2, 20))) } else { (0, None) }),
        sandable: recorded.then(|| opens + dice.roll(5, 20)),
        room: dice.roll(0, 3) as usize / 3,
        coats,
    }
}

fn coat(dice: &mut Dice, follows: bool, horizon: Tick) -> MadeCoat {
    let planned = follows && dice.chance(20);
    let preps = if planned { vec![(1, false)] } else { vec![(dice.roll(1, 2), true)] };
    let opens = dice.roll(1, 10);
    let unfit = dice.roll(0, horizon);
    MadeCoat {
        before: u32::from(dice.chance(10)),
        takes: dice.roll(1, 2),
        after: u32::from(dice.chance(10)),
        follows: match () {
            () if planned => "prepared",
            () if dice.chance(10) => "open",
            () => "either",
        }
        .into(),
        preps: if follows { preps } else { Vec::new() },
        run_limit: None,
        opens,
        closes: dice.chance(85).then(|| opens + dice.roll(4, 40)),
        tape_by: dice.chance(50).then(|| dice.roll(4, 20)),
        tack: opens / 2,
        sands: opens + dice.roll(8, 40),
        cures: dice.roll(5, 60),
        unfit: if dice.chance(20) { vec![(unfit, unfit + 6)] } else { Vec::new() },
    }
}

/// The earliest end for every limit of extra work, up to 39 ticks of it.
pub struct Tried<'a> {
    made: &'a Made,
    busy: Vec<Busy>,
    /// Place, first stroke and the tick at which it is tack-free, of every coat.
    wet: Vec<(usize, Tick, Tick)>,
    /// Place, begin and end of every sanding.
    sanded: Vec<(usize, Tick, Tick)>,
    pub best: [Option<Tick>; 40],
}

/// The worker's time that a block takes.
#[derive(Clone, Copy)]
struct Busy {
    from: Tick,
    to: Tick,
    /// The product, and how long it takes to mix it and to clean up after it; None of a sanding.
    mix: Option<(usize, (Tick, Tick))>,
}

impl Busy {
    /// Whether another block may come after this one.
    fn leaves(self, next: Self) -> bool {
        let same = self.mix.map(|mix| mix.0) == next.mix.map(|mix| mix.0);
        let clean = self.mix.map_or(0, |mix| mix.1.1);
        let mix = next.mix.map_or(0, |mix| mix.1.0);
        self.to + if same { 0 } else { clean + mix } <= next.from
    }
}

/// What is under the next coat: when the last one went on, and how many lie wet on wet.
#[derive(Clone, Copy)]
struct Substrate {
    coat: usize,
    first_stroke: Tick,
    run: usize,
}

impl<'a> Tried<'a> {
    pub fn all(made: &'a Made) -> Self {
        let mut tried =
            Self { made, busy: Vec::new(), wet: Vec::new(), sanded: Vec::new(), best: [None; 40] };
        tried.area(0, 0, 0);
        tried
    }

    fn area(&mut self, area: usize, owed: usize, end: Tick) {
        if self.best[owed].is_some_and(|best| best <= end) {
            return;
        }
        match self.made.areas.get(area) {
            Some(_) => self.coat(area, 0, None, owed, end),
            None => self.best[owed..].iter_mut().for_each(|best| {
                *best = Some(best.map_or(end, |best| best.min(end)));
            }),
        }
    }

    fn coat(&mut self, area: usize, number: usize, under: Option<Substrate>, owed: usize, end: Tick) {
        let made = self.made;
        let stack = &made.areas[area];
        let Some(coat) = stack.coats.get(number) else {
            return self.area(area + 1, owed, end);
        };
        let (window, sandable) = match under {
            None => (stack.open, stack.sandable),
            Some(under) => {
                let below = &stack.coats[under.coat];
                let last_stroke = under.first_stroke + below.takes;
                let closes = below.closes.map(|closes| made.reach(under.first_stroke, closes));
                (
                    Some((made.reach(last_stroke, below.opens), closes)),
                    Some(made.reach(last_stroke, below.sands)),
                )
            }
        };
        let free_from = under.map_or(0, |under| {
            let below = &stack.coats[under.coat];
            under.first_stroke + below.takes + below.after
        });
        let run = under.map_or(0, |under| under.run + 1);
        if coat.follows != "prepared"
            && coat.run_limit.is_none_or(|limit| run < limit)
            && let Some((open, close)) = window
        {
            self.strokes(area, number, (open, free_from, close), run, (owed, end));
        }
        if coat.follows != "open"
            && let Some(sandable) = sandable
        {
            self.prep(area, number, 0, sandable.max(free_from), (owed, end));
        }
    }

    fn prep(&mut self, area: usize, number: usize, which: usize, from: Tick, so_far: (usize, Tick)) {
        let Some(&(length, spared)) = self.made.areas[area].coats[number].preps.get(which) else {
            if which > 0 {
                self.strokes(area, number, (0, from, None), 0, so_far);
            }
            return;
        };
        let (owed, end) = so_far;
        let room = self.made.areas[area].room;
        for start in from..self.made.horizon {
            let end_of_it = start + length;
            let dust = |wet: &(usize, Tick, Tick)| wet.0 == room && start < wet.2 && wet.1 < end_of_it;
            if !self.wet.iter().any(dust) && self.take(start, length, None) {
                self.sanded.push((room, start, end_of_it));
                let owed = owed + if spared { length as usize } else { 0 };
                self.prep(area, number, which + 1, start + length, (owed, end.max(start + length)));
                self.sanded.pop();
                self.busy.pop();
            }
        }
    }

    /// Every first stroke of a coat: not before the window opens, the block not before the worker is free of
    /// the area, the last stroke not after the window.
    fn strokes(
        &mut self,
        area: usize,
        number: usize,
        (open, free_from, close): (Tick, Tick, Option<Tick>),
        run: usize,
        (owed, end): (usize, Tick),
    ) {
        let made = self.made;
        let coat = &made.areas[area].coats[number];
        let length = coat.before + coat.takes + coat.after;
        let stack = &made.areas[area];
        let mix = (stack.changeover != (0, 0)).then_some((stack.product, stack.changeover));
        for start in free_from..made.horizon {
            let first = start + coat.before;
            let unfit = coat.unfit.iter().any(|&(from, to)| (from..to).contains(&first));
            let taped = coat.after == 0
                || coat.tape_by.is_none_or(|by| first + coat.takes + coat.after <= made.reach(first, by));
            let inside = first >= open && close.is_none_or(|close| first + coat.takes <= close);
            let room = made.areas[area].room;
            let tack_free = made.reach(first + coat.takes, coat.tack);
            let dust =
                self.sanded.iter().any(|sanded| sanded.0 == room && sanded.1 < tack_free && start < sanded.2);
            if unfit || !taped || !inside || dust || !self.take(start, length, mix) {
                continue;
            }
            self.wet.push((room, start, tack_free));
            let last = number + 1 == made.areas[area].coats.len();
            let cured = if last { made.reach(first + coat.takes, coat.cures) } else { 0 };
            let under = Substrate { coat: number, first_stroke: first, run };
            self.coat(area, number + 1, Some(under), owed, end.max(start + length).max(cured));
            self.wet.pop();
            self.busy.pop();
        }
    }

    /// Takes the worker's time, where it is free.
    fn take(&mut self, start: Tick, length: Tick, mix: Option<(usize, (Tick, Tick))>) -> bool {
        let own = Busy { from: start, to: start + length, mix };
        let (mixing, cleaning) = mix.map_or((0, 0), |mix| mix.1);
        let free = self.made.free.iter().any(|&(from, to)| from + mixing <= start && own.to + cleaning <= to);
        let idle = self.busy.iter().all(|other| own.leaves(*other) || other.leaves(own));
        if free && idle {
            self.busy.push(own);
        }
        free && idle
    }
}
