//! From a job and its free hours to the search problem, and from its result to steps.

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
use crate::engine::config::SessionTimes;
use crate::engine::profile::Library;
use crate::engine::units::{Celsius, Moment};

/// The inputs of a plan.
#[derive(Clone, Copy)]
pub struct Input<'a> {
    /// Now.
    pub now: Moment,
    /// The horizon in days.
    pub days: u32,
    /// The free hours.
    pub free: &'a FreeTime,
    /// The places, by the numbers that the areas use.
    pub places: &'a [PlaceAir<'a>],
    /// The areas.
    pub areas: &'a [AreaNow<'a>],
    /// The products.
    pub library: &'a Library,
    /// The lead of the last call.
    pub lead: TimeDelta,
    /// What a session takes besides its steps.
    pub session: SessionTimes,
    /// Minimum temperature of the shop.
    pub heat: Option<Celsius>,
    /// Spread of the pace in the record: one standard deviation, as a fraction.
    pub pace: Option<f64>,
    /// Notes to show.
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
    /// The search problem.
    pub problem: Problem,
}

/// A plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// When it begins.
    pub from: Moment,
    /// The end of the last work.
    pub work_done: Moment,
    /// When all areas are in service, as far as known.
    pub service: Moment,
    /// The areas for which that is unknown.
    pub unknown: Vec<String>,
    /// Mixings: one per product and session.
    pub mixings: usize,
    /// Sessions with work.
    pub sessions: usize,
    /// Working time.
    pub work: TimeDelta,
    /// Sandings, including extra ones.
    pub sandings: usize,
    /// Extra sandings that another plan would save.
    pub owed: usize,
    /// Whether every plan has as many extra sandings: each area alone needs them.
    pub owed_in_any: bool,
    /// Whether no sooner plan with as little extra work exists.
    pub optimal: bool,
    /// How much sooner a better plan could be.
    pub gap: TimeDelta,
    /// The steps, in order of time.
    pub steps: Vec<Step>,
    /// When each area is ready.
    pub areas: Vec<Milestones>,
    /// Heating hours, if the shop is heated.
    pub heating: Option<Heating>,
    /// Assumptions for missing values.
    pub assumed: Vec<String>,
}

impl Plan {
    /// Whether all areas are in service by a moment.
    pub fn is_ready_by(&self, by: Moment) -> bool {
        self.in_service().is_some_and(|service| service <= by)
    }

    /// When all areas are in service; None if unknown for one.
    pub fn in_service(&self) -> Option<Moment> {
        self.unknown.is_empty().then_some(self.service)
    }
}

impl<'a> Planning<'a> {
    /// Calculates all windows, and the air in every free hour.
    ///
    /// # Errors
    /// [`Infeasible`] names the obstacle to any plan.
    pub fn prepare(input: Input<'a>) -> Result<Self, Infeasible> {
        Self::prepare_while(input, &mut |_| ControlFlow::Continue(()))
    }

    /// The same with a progress callback.
    ///
    /// # Errors
    /// [`Infeasible`]; `Stopped` if the callback ends it.
    pub fn prepare_while(input: Input<'a>, watch: &mut ProgressSink<'_>) -> Result<Self, Infeasible> {
        let grid = Grid::new(input.now, input.days);
        let free = grid.free(input.free);
        if free.is_empty() {
            return Err(Infeasible::NoFreeHour { days: input.days });
        }
        let mut films: Vec<Films<'a>> = input.places.iter().map(|_| Films::new()).collect();
        let works = input.areas.iter().map(|area| {
            let films = &films[area.place];
            let Input { library, lead, session, .. } = input;
            Work::of(area, &Site { library, films, grid: &grid, lead, session })
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

    /// The best schedule for an objective.
    ///
    /// # Errors
    /// If none ends inside the horizon.
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

    /// The schedules from the least extra work to the earliest end.
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
        let (_, sessions) = self.problem.mixings_and_evenings(&solved.schedule.placed);
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
            mixings: steps.iter().filter(|step| step.what == What::Mix).count(),
            sessions,
            areas,
            heating: self.heating(&solved.schedule),
            steps,
            assumed,
        }
    }

    /// The sources of the assumed air up to a moment, by place.
    pub fn basis(&self, until: Moment) -> Vec<(String, AirBasis)> {
        let places = self.input.places.iter().zip(&self.air);
        let all = places.flat_map(|(place, air)| {
            air.basis(until).into_iter().map(|basis| (place.name.to_owned(), basis))
        });
        all.collect()
    }

    /// Its inputs.
    pub const fn input(&self) -> &Input<'a> {
        &self.input
    }

    /// The moment of a tick.
    pub fn moment(&self, tick: Tick) -> Moment {
        self.grid.moment(tick)
    }
}

/// The films of one area, for the search.
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

    /// When the film of the area's last coat may be handled.
    pub(super) fn handled(&self, coat: usize, first_stroke: Tick) -> Option<Tick> {
        let table = self.planning.works[self.area].coats[coat].handled;
        self.read(table, self.last_stroke(coat, first_stroke))
    }

    /// When the film of a coat is in service; None if its film never gets there in the expected air.
    pub(super) fn in_service(&self, coat: usize, first_stroke: Tick) -> Option<Tick> {
        let last_stroke = self.last_stroke(coat, first_stroke);
        match self.planning.works[self.area].coats[coat].done {
            // A profile without stages gives no service date.
            None => Some(last_stroke),
            table => self.read(table, last_stroke),
        }
    }

    fn last_stroke(&self, coat: usize, first_stroke: Tick) -> Tick {
        first_stroke + self.planning.works[self.area].stack.coats[coat].takes
    }
}

/// What is counted for a film that is never in service in the expected air: later than any that is.
const NO_SERVICE: Tick = 200 * 24 * 12;

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
        let (planned, last) =
            (&self.planning.works[self.area].coats[coat], self.last_stroke(coat, first_stroke));
        let hard = self.read(planned.sandable, last)?;
        match planned.sanded_for_next {
            None => Some(hard),
            asked => Some(hard.max(self.read(asked, last)?)),
        }
    }

    fn done(&self, coat: usize, first_stroke: Tick) -> Option<Tick> {
        // The work can be planned although nothing says when its film is in service.
        let unknown = || self.last_stroke(coat, first_stroke) + NO_SERVICE;
        Some(self.in_service(coat, first_stroke).unwrap_or_else(unknown))
    }
}
