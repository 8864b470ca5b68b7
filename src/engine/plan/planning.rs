//! From a job and its free hours to the problem that is searched, and from what was found back to steps.

use std::ops::ControlFlow;

use chrono::TimeDelta;

use super::air::{Expected, PlaceAir};
use super::climatology::AirBasis;
use super::explain::{Step, What};
use super::films::{Films, NEVER};
use super::free::FreeTime;
use super::grid::Grid;
use super::heat::Heating;
use super::infeasible::{Infeasible, blocked, too_long};
use super::milestones::Milestones;
use super::precedence::{Windows, build_chain};
use super::problem::{Problem, Schedule, Tick};
use super::progress::{PlanProgress, ProgressSink};
use super::solve::{Aim, Effort, Progress, Solved, Unsolved, front, least_owed, solve};
use super::suitability::{Fitness, LONGEST_WET};
use super::work::{AreaNow, Site, Work};
use crate::engine::profile::Library;
use crate::engine::units::{Celsius, Moment};

/// All that a plan rests on.
#[derive(Clone, Copy)]
pub struct Input<'a> {
    /// Now.
    pub now: Moment,
    /// Nothing is planned behind so many days.
    pub days: u32,
    /// The free hours.
    pub free: &'a FreeTime,
    /// The places, in the order that the areas count them by.
    pub places: &'a [PlaceAir<'a>],
    /// The areas.
    pub areas: &'a [AreaNow<'a>],
    /// The products.
    pub library: &'a Library,
    /// What a last call leaves in hand.
    pub lead: TimeDelta,
    /// The shop is held at this temperature at least.
    pub heat: Option<Celsius>,
    /// How far the pace of the record's coats strays: one standard deviation, as a share.
    pub pace: Option<f64>,
    /// What has to be told of all this.
    pub notes: &'a [String],
}

/// A plan that can be searched.
pub struct Planning<'a> {
    pub(super) input: Input<'a>,
    pub(super) grid: Grid,
    pub(super) works: Vec<Work<'a>>,
    pub(super) films: Vec<Films<'a>>,
    pub(super) air: Vec<Expected>,
    pub(super) fit: Vec<Vec<Fitness>>,
    /// What is searched.
    pub problem: Problem,
}

/// A plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// When it begins.
    pub from: Moment,
    /// When the last work is done.
    pub work_done: Moment,
    /// When all areas are fit for service, as far as that is known.
    pub service: Moment,
    /// The areas of which it is unknown when they are.
    pub unknown: Vec<String>,
    /// How often something is mixed: once for a product and a session.
    pub mixings: usize,
    /// In how many sessions work is done.
    pub sessions: usize,
    /// The hours of work.
    pub work: TimeDelta,
    /// The sandings, planned and owed.
    pub sandings: usize,
    /// Those of them that another plan would have spared.
    pub owed: usize,
    /// Whether no plan spares any of them: each area by itself owes as much.
    pub owed_in_any: bool,
    /// Whether it is proven that there is no sooner one with as little work owed.
    pub optimal: bool,
    /// How much sooner a better one could be at most.
    pub gap: TimeDelta,
    /// The steps, in the order of time.
    pub steps: Vec<Step>,
    /// When each area is through.
    pub areas: Vec<Milestones>,
    /// The hours of heating, where the shop is heated.
    pub heating: Option<Heating>,
    /// What was taken for want of a figure.
    pub assumed: Vec<String>,
}

impl Plan {
    /// When all areas are fit for service; None where that is unknown of one.
    pub fn in_service(&self) -> Option<Moment> {
        self.unknown.is_empty().then_some(self.service)
    }
}

impl<'a> Planning<'a> {
    /// Reckons all windows, and the air in every free hour.
    ///
    /// # Errors
    /// [`Infeasible`] names what stands in the way of any plan.
    pub fn prepare(input: Input<'a>) -> Result<Self, Infeasible> {
        Self::prepare_while(input, &mut |_| ControlFlow::Continue(()))
    }

    /// The same, as long as whoever waits for it wants it.
    ///
    /// # Errors
    /// [`Infeasible`]; of them `Stopped` where it is not wanted any more.
    pub fn prepare_while(input: Input<'a>, watch: &mut ProgressSink<'_>) -> Result<Self, Infeasible> {
        let grid = Grid::new(input.now, input.days);
        let free = grid.free(input.free);
        if free.is_empty() {
            return Err(Infeasible::NoFreeHour { days: input.days });
        }
        let mut films: Vec<Films<'a>> = input.places.iter().map(|_| Films::new()).collect();
        let works = input.areas.iter().map(|area| {
            let films = &films[area.place];
            Work::of(area, &Site { library: input.library, films, grid: &grid, lead: input.lead })
        });
        let mut works = works.collect::<Result<Vec<_>, _>>()?;
        for work in &mut works {
            let room = work.stack.room;
            let here = input.areas.iter().filter(|area| area.place == room);
            let wet = here.filter_map(|area| area.tack_free(input.now)).max();
            work.stack.dust_from = wet.map_or(0, |wet| grid.not_before(wet));
        }
        let mut products: Vec<&str> = Vec::new();
        for work in &mut works {
            for (coat, task) in work.coats.iter().zip(&mut work.stack.coats) {
                let id = coat.product.id.as_str();
                task.mix = Some(products.iter().position(|known| *known == id).unwrap_or(products.len()));
                if task.mix == Some(products.len()) {
                    products.push(id);
                }
            }
        }
        too_long(&works, input.areas, &free)?;
        let air = input.places.iter().map(|place| {
            let air = Expected::of(place, input.now, input.days, input.heat);
            air.ok_or_else(|| Infeasible::NoTemperature { place: place.name.to_owned() })
        });
        let air = air.collect::<Result<Vec<_>, _>>()?;
        for (films, air) in films.iter_mut().zip(&air) {
            if films.calculate(air, &grid, &free, watch).is_break() {
                return Err(Infeasible::Stopped);
            }
        }
        let mut planning = Self {
            input,
            grid,
            works,
            films,
            air,
            fit: Vec::new(),
            problem: Problem { free, chains: Vec::new(), horizon: grid.horizon },
        };
        planning.fit = planning.judge_air();
        let chains = (0..planning.works.len()).map(|area| {
            let windows = AreaFilms { planning: &planning, area };
            build_chain(&planning.works[area].stack, &windows, &planning.problem.free)
        });
        planning.problem.chains = chains.collect();
        blocked(&planning)?;
        Ok(planning)
    }

    /// The best schedule by an aim.
    ///
    /// # Errors
    /// Where none ends inside the days.
    pub fn solve(
        &self,
        aim: Aim,
        effort: Effort,
        watch: &mut ProgressSink<'_>,
    ) -> Result<Solved, Infeasible> {
        let mut stopped = false;
        let mut told = |progress| {
            let go_on = watch(self.searching(progress));
            stopped |= go_on.is_break();
            go_on
        };
        let solved = solve(&self.problem, aim, effort, &mut told);
        solved.map_err(|unsolved| match unsolved {
            _ if stopped => Infeasible::Stopped,
            Unsolved::None => Infeasible::NotWithin { days: self.input.days },
            Unsolved::NotFound => Infeasible::NotFound { days: self.input.days },
        })
    }

    /// The schedules from the least work to the soonest end.
    pub fn front(&self, effort: Effort, watch: &mut ProgressSink<'_>) -> Vec<Solved> {
        front(&self.problem, effort, &mut |progress| watch(self.searching(progress)))
    }

    fn searching(&self, progress: Progress) -> PlanProgress {
        let best = progress.best.map(|best| self.moment(best));
        PlanProgress::Searching { best, bound: self.moment(progress.bound) }
    }

    /// A schedule as a plan.
    pub fn plan(&self, solved: &Solved) -> Plan {
        let Schedule { service, work_done, .. } = solved.schedule;
        let steps = self.steps(&solved.schedule);
        let gap = Grid::length(service.saturating_sub(solved.bound));
        let assumed = self.works.iter().zip(self.input.areas).flat_map(|(work, area)| {
            let owed = steps.iter().any(|step| step.owed && step.area == area.name);
            work.assumed.iter().chain(work.assumed_if_owed.iter().filter(move |_| owed)).cloned()
        });
        let mut assumed: Vec<String> = self.input.notes.iter().cloned().chain(assumed).collect();
        assumed.dedup();
        let (mixings, sessions) = self.problem.mixings_and_evenings(&solved.schedule.placed);
        let areas = self.milestones(&solved.schedule);
        let unknown = areas.iter().filter(|area| area.service.is_none()).map(|area| area.area.clone());
        let sandings = || steps.iter().filter(|step| step.what == What::Sand);
        Plan {
            from: self.grid.moment(0),
            work_done: self.grid.moment(work_done),
            service: self.grid.moment(service),
            work: steps.iter().map(|step| step.to - step.from).sum(),
            sandings: sandings().count(),
            owed: sandings().filter(|step| step.owed).count(),
            owed_in_any: solved.schedule.owed <= least_owed(&self.problem),
            optimal: solved.is_optimal(),
            gap,
            unknown: unknown.collect(),
            mixings,
            sessions,
            areas,
            heating: self.heating(&solved.schedule),
            steps,
            assumed,
        }
    }

    /// What stands for the air that nobody foresees until a moment, by place.
    pub fn basis(&self, until: Moment) -> Vec<(String, AirBasis)> {
        let places = self.input.places.iter().zip(&self.air);
        let all = places.flat_map(|(place, air)| {
            air.basis(until).into_iter().map(|basis| (place.name.to_owned(), basis))
        });
        all.collect()
    }

    /// What it rests on.
    pub const fn input(&self) -> &Input<'a> {
        &self.input
    }

    /// The moment of a tick.
    pub fn moment(&self, tick: Tick) -> Moment {
        self.grid.moment(tick)
    }
}

/// The films of one area as the search asks for them.
pub(super) struct AreaFilms<'p, 'a> {
    pub planning: &'p Planning<'a>,
    pub area: usize,
}

impl AreaFilms<'_, '_> {
    fn read(&self, table: Option<usize>, from: Tick) -> Option<Tick> {
        let films = &self.planning.films[self.planning.input.areas[self.area].place];
        let tick = films.at(table?, from);
        (tick != NEVER).then_some(tick)
    }

    /// From when the film of the area's last coat may be handled.
    pub(super) fn handled(&self, coat: usize, first_stroke: Tick) -> Option<Tick> {
        let table = self.planning.works[self.area].coats[coat].handled;
        self.read(table, self.last_stroke(coat, first_stroke))
    }

    fn last_stroke(&self, coat: usize, first_stroke: Tick) -> Tick {
        first_stroke + self.planning.works[self.area].stack.coats[coat].takes
    }
}

impl Windows for AreaFilms<'_, '_> {
    fn fit(&self, coat: usize, first_stroke: Tick) -> bool {
        self.planning.fit[self.area][coat].suits(first_stroke)
    }

    fn open(&self, coat: usize, first_stroke: Tick) -> Option<Tick> {
        let table = self.planning.works[self.area].coats[coat].open;
        self.read(table, self.last_stroke(coat, first_stroke))
    }

    fn close(&self, coat: usize, first_stroke: Tick) -> Tick {
        let table = self.planning.works[self.area].coats[coat].close;
        let lead = (self.planning.input.lead.num_seconds().max(0) + 299) / 300;
        self.read(table, first_stroke).map_or(Tick::MAX, |close| close.saturating_sub(lead as Tick))
    }

    fn tape_by(&self, coat: usize, first_stroke: Tick) -> Tick {
        let table = self.planning.works[self.area].coats[coat].tape_by;
        self.read(table, first_stroke).unwrap_or(Tick::MAX)
    }

    fn tack_free(&self, coat: usize, first_stroke: Tick) -> Tick {
        let last_stroke = self.last_stroke(coat, first_stroke);
        let table = self.planning.works[self.area].coats[coat].tack_free;
        table.map_or(last_stroke, |_| {
            self.read(table, last_stroke).unwrap_or(last_stroke.saturating_add(LONGEST_WET))
        })
    }

    fn sandable(&self, coat: usize, first_stroke: Tick) -> Option<Tick> {
        let table = self.planning.works[self.area].coats[coat].sandable;
        self.read(table, self.last_stroke(coat, first_stroke))
    }

    fn done(&self, coat: usize, first_stroke: Tick) -> Option<Tick> {
        let last_stroke = self.last_stroke(coat, first_stroke);
        match self.planning.works[self.area].coats[coat].done {
            // A profile that knows no stage says nothing of service either.
            None => Some(last_stroke),
            table => self.read(table, last_stroke),
        }
    }
}
