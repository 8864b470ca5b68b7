//! A made-up shop for plans: films that come on by whole numbers of warmth, so that another program in
//! another language calculates exactly the same windows.

use curewright::engine::plan::{
    Chain, CoatTask, Follows, Ground, Prep, Problem, Stack, Tick, Windows, build_chain,
};
use serde::{Deserialize, Serialize};

#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Made {
    pub horizon: Tick,
    /// Warmth of every tick, held after the last.
    pub warmth: Vec<u32>,
    pub free: Vec<(Tick, Tick)>,
    pub areas: Vec<MadeArea>,
}

#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct MadeArea {
    /// From when on the first coat may go on, by when it has to be finished.
    pub open: Option<(Tick, Option<Tick>)>,
    pub sandable: Option<Tick>,
    /// The place that it shares its dust with.
    pub room: usize,
    /// The number of its product, and how long it takes to mix it and to clean up after it.
    #[serde(default, skip_serializing)]
    pub product: usize,
    #[serde(default, skip_serializing)]
    pub changeover: (Tick, Tick),
    pub coats: Vec<MadeCoat>,
}

#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct MadeCoat {
    pub before: Tick,
    pub takes: Tick,
    pub after: Tick,
    /// "open", "either" or "prepared".
    pub follows: String,
    /// The work of each preparation, and whether another way would have spared it.
    pub preps: Vec<(Tick, bool)>,
    pub run_limit: Option<usize>,
    /// Warmth until the window opens, from the last stroke.
    pub opens: u32,
    /// Warmth until it closes, from the first stroke.
    pub closes: Option<u32>,
    pub tape_by: Option<u32>,
    /// Warmth until it is tack-free, from the last stroke; no more than sanding needs.
    pub tack: u32,
    pub sands: u32,
    pub cures: u32,
    /// No coat is begun in these ticks.
    pub unfit: Vec<(Tick, Tick)>,
}

impl Made {
    /// The first tick at which so much warmth has come together.
    pub fn reach(&self, from: Tick, warmth: u32) -> Tick {
        let (mut at, mut sum) = (from, 0);
        while sum < warmth {
            let index = (at as usize).min(self.warmth.len() - 1);
            sum += self.warmth[index];
            at += 1;
        }
        at
    }

    pub fn problem(&self) -> Problem {
        let chains = self.areas.iter().map(|area| self.chain(area)).collect();
        Problem { free: self.free.clone(), chains, horizon: self.horizon }
    }

    fn chain(&self, area: &MadeArea) -> Chain {
        let coats = area.coats.iter().enumerate().map(|(number, coat)| CoatTask {
            before: coat.before,
            takes: coat.takes,
            after: coat.after,
            follows: match coat.follows.as_str() {
                "open" => Follows::Open,
                "either" => Follows::Either,
                _ => Follows::Prepared,
            },
            preps: coat
                .preps
                .iter()
                .map(|&(length, owed)| Prep { length, owed, dusty: true, dries: 0 })
                .collect(),
            run_limit: coat.run_limit,
            same_product: number > 0,
            mix: (area.changeover != (0, 0)).then_some(area.product),
            mixing: area.changeover.0,
            cleaning: area.changeover.1,
        });
        let ground =
            Ground { open: area.open, sandable: area.sandable, run: 0, done: 0, done_unknown: false };
        let stack = Stack {
            ground,
            first: None,
            coats: coats.collect(),
            last: Vec::new(),
            room: area.room,
            dust_from: 0,
        };
        build_chain(&stack, &Films { made: self, area }, &self.free)
    }
}

struct Films<'a> {
    made: &'a Made,
    area: &'a MadeArea,
}

impl Windows for Films<'_> {
    fn fit(&self, coat: usize, first_stroke: Tick) -> bool {
        self.area.coats[coat].unfit.iter().all(|&(from, to)| first_stroke < from || first_stroke >= to)
    }

    fn open(&self, coat: usize, first_stroke: Tick) -> Option<Tick> {
        let coat = &self.area.coats[coat];
        Some(self.made.reach(first_stroke + coat.takes, coat.opens))
    }

    fn close(&self, coat: usize, first_stroke: Tick) -> Tick {
        self.area.coats[coat].closes.map_or(Tick::MAX, |closes| self.made.reach(first_stroke, closes))
    }

    fn tape_by(&self, coat: usize, first_stroke: Tick) -> Tick {
        self.area.coats[coat].tape_by.map_or(Tick::MAX, |by| self.made.reach(first_stroke, by))
    }

    fn tack_free(&self, coat: usize, first_stroke: Tick) -> Tick {
        let coat = &self.area.coats[coat];
        self.made.reach(first_stroke + coat.takes, coat.tack)
    }

    fn sandable(&self, coat: usize, first_stroke: Tick) -> Option<Tick> {
        let coat = &self.area.coats[coat];
        Some(self.made.reach(first_stroke + coat.takes, coat.sands))
    }

    fn done(&self, coat: usize, first_stroke: Tick) -> Option<Tick> {
        let coat = &self.area.coats[coat];
        Some(self.made.reach(first_stroke + coat.takes, coat.cures))
    }
}

/// Numbers that look like chance and are the same every time.
pub struct Dice(pub u64);

impl Dice {
    /// A number from `low` to `high`, both included (xorshift64*).
    pub fn roll(&mut self, low: u32, high: u32) -> u32 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        let drawn = self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 33;
        low + (drawn as u32) % (high - low + 1)
    }

    pub fn chance(&mut self, percent: u32) -> bool {
        self.roll(1, 100) <= percent
    }
}
