//! The board: connects the screen with a session.

mod planner;

use std::collections::VecDeque;
use std::io::{self, IsTerminal};
use std::time::{Duration, Instant};

use super::args::When;
use super::setup::Setup;
use super::shown::Shown;
use super::{Failure, status};
use crate::app::session::{Clock, Done, Live, Order, Refused, Session, SessionError};
use crate::app::view::{CoatView, PlanShown, RecordView, View, WeatherView};
use crate::app::wording::{AmountsPage, Check};
use crate::engine::config::Colours;
use crate::engine::job::{Entry, EntryId, EntryKind, voided};
use crate::engine::units::{Civil, Moment, Units, clean};
use crate::io::notifier::{Command, Desktop, Outlet, Screen};
use crate::tui::{self, Desk};
use planner::Planner;

/// The number of queued messages.
const NEWS: usize = 16;

/// On exit, alerts being sent get this time.
const LEAVES_WITHIN: Duration = Duration::from_millis(300);

/// Opens the board on the job; where standard output is no terminal, prints the status.
pub fn open(setup: &Setup) -> Result<u8, Failure> {
    if setup.json || !io::stdout().is_terminal() {
        return status::run(setup, false, &mut Shown::new(io::stdout().lock()));
    }
    match setup.at {
        // A clock that stands: it shows, and records and sends nothing.
        Some(at) => show(setup, &mut setup.session_at(Clock::At(at))?),
        None => show(setup, &mut setup.session_at(Clock::Wall)?),
    }
}

/// Shows a session on the terminal until the person leaves.
pub fn show(setup: &Setup, session: &mut Session<'_>) -> Result<u8, Failure> {
    let faults = setup.library.faults().iter().map(|fault| clean(&fault.to_string())).collect();
    session.hurry();
    let path = session.path().to_owned();
    std::thread::scope(|scope| run(setup, session, Planner::new(scope, setup, path), faults))
}

/// Runs the board; the planner thread ends with it.
fn run(
    setup: &Setup,
    session: &mut Session<'_>,
    planner: Planner<'_, '_>,
    faults: Vec<String>,
) -> Result<u8, Failure> {
    let live = Live::new(session, if session.clock().stands() { Vec::new() } else { outlets(setup) });
    let mut desk = JobDesk {
        session,
        planner,
        live,
        rings: false,
        news: VecDeque::new(),
        troubles: Vec::new(),
        weather: (None, Vec::new()),
        faults,
    };
    let colour = match setup.config.colours {
        _ if setup.color == When::Never || (setup.color == When::Auto && no_colour()) => tui::ColorMode::None,
        Colours::Auto => tui::ColorMode::Auto,
        Colours::Contrast => tui::ColorMode::Contrast,
        Colours::None if setup.color == When::Always => tui::ColorMode::Auto,
        Colours::None => tui::ColorMode::None,
    };
    tui::run(&mut desk, tui::Options { color: colour, bell: true, ascii: ascii_alone() })
        .map_err(|error| SessionError::World(format!("the terminal cannot be used: {error}")))?;
    desk.finish_sending();
    Ok(0)
}

fn outlets(setup: &Setup) -> Vec<Box<dyn Outlet>> {
    let mut outlets: Vec<Box<dyn Outlet>> =
        vec![Box::new(Screen::default()), Box::new(Desktop::new(Some(setup.config.leads.snooze)))];
    if let Some(command) = Command::new(&setup.config.alert_command) {
        outlets.push(Box::new(command));
    }
    outlets
}

fn no_colour() -> bool {
    #[expect(clippy::disallowed_methods, reason = "the command line is where the environment enters")]
    std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty())
}

/// Whether the terminal shows only ASCII, by its locale.
fn ascii_alone() -> bool {
    #[expect(clippy::disallowed_methods, reason = "the command line is where the environment enters")]
    let said = ["LC_ALL", "LC_CTYPE", "LANG"]
        .into_iter()
        .find_map(|name| std::env::var(name).ok().filter(|value| !value.is_empty()));
    said.is_some_and(|locale| {
        let locale = locale.to_ascii_lowercase();
        !locale.contains("utf-8") && !locale.contains("utf8")
    })
}

struct JobDesk<'s, 'a, 'scope, 'env> {
    session: &'s mut Session<'a>,
    planner: Planner<'scope, 'env>,
    live: Live<'a>,
    /// Whether the last tick changed the screen.
    rings: bool,
    news: VecDeque<String>,
    troubles: Vec<String>,
    /// The weather, and the moment of its survey.
    weather: (Option<Moment>, Vec<WeatherView>),
    faults: Vec<String>,
}

impl JobDesk<'_, '_, '_, '_> {
    /// Alerts being sent get a moment; then another process takes over.
    fn finish_sending(&mut self) {
        let until = Instant::now() + LEAVES_WITHIN;
        while self.live.is_sending() && Instant::now() < until {
            std::thread::sleep(Duration::from_millis(20));
            let now = self.session.now();
            self.live.tick(self.session, now);
        }
    }
}

impl Desk for JobDesk<'_, '_, '_, '_> {
    fn now(&self) -> Moment {
        self.session.now()
    }

    fn speed(&self) -> u32 {
        self.session.clock().speed()
    }

    fn view(&mut self, now: Moment) -> Result<View, String> {
        let survey = self.live.survey(self.session, now).map_err(|error| error.to_string())?;
        if self.weather.0 != Some(survey.at) {
            let weather = WeatherView::all(survey, self.session.words(), survey.at);
            self.weather = (Some(survey.at), weather);
        }
        let view = self.live.view(self.session, now).map_err(|error| error.to_string())?;
        Ok(View { weather: self.weather.1.clone(), ..view })
    }

    fn enough_planned(&mut self) {
        self.planner.enough();
    }

    fn plan(&mut self, wanted: bool) -> PlanShown {
        self.planner.plan(wanted, self.session.now())
    }

    fn execute(&mut self, order: Order, at: Option<Moment>) -> Result<Done, Refused> {
        if self.session.clock().stands() {
            return Err(Refused::from(&SessionError::Input(
                "the board is frozen at this moment (--at): nothing is recorded. Open it without --at".into(),
            )));
        }
        if let Order::Acknowledge { alert } = order {
            let seen = self.live.acknowledge_unrecorded(alert, self.session.now());
            if alert.is_some_and(|alert| alert.0 < 0) {
                let says = if seen == 1 {
                    "One alert marked as seen."
                } else {
                    "The alert was already marked as seen."
                };
                return Ok(Done { says: says.into(), cautions: Vec::new() });
            }
        }
        let done = self.session.execute(order, at).map_err(|error| Refused::from(&error));
        self.live.forget();
        self.planner.forget();
        done
    }

    fn changed(&mut self) -> bool {
        if self.session.clock().stands() {
            return false;
        }
        let now = self.session.now();
        let tick = self.live.tick(self.session, now);
        if tick.changed {
            self.planner.forget();
        }
        self.rings = tick.rings;
        self.troubles = tick.troubles;
        self.news.extend(tick.says);
        while self.news.len() > NEWS {
            self.news.pop_front();
        }
        tick.changed
    }

    fn ring(&mut self, _now: Moment) -> bool {
        std::mem::take(&mut self.rings)
    }

    fn notices(&self) -> Vec<String> {
        self.faults.iter().chain(&self.troubles).chain(&self.news).cloned().collect()
    }

    fn products(&self) -> Vec<(String, String)> {
        self.session.library().iter().map(|product| (product.id.clone(), product.name.clone())).collect()
    }

    fn mixtures(&self) -> Vec<(String, String)> {
        let mixed = self.session.library().iter().filter(|product| product.mix.is_some());
        mixed.map(|product| (product.id.clone(), product.name.clone())).collect()
    }

    fn next_product(&self, area: &str) -> Option<String> {
        self.session.next_product(area, self.session.now()).ok().flatten()
    }

    fn check(&self, area: &str, product: &str) -> Option<Check> {
        self.session.check(area, Some(product), self.session.now()).ok()
    }

    fn amounts(&self) -> Vec<AmountsPage> {
        self.session.amount_pages(self.session.now()).unwrap_or_default()
    }

    fn last_entry(&self) -> Option<(EntryId, String)> {
        let entries = self.session.entries().ok()?;
        let voided = voided(&entries);
        let counts =
            |entry: &&Entry| !voided.contains(&entry.id) && !matches!(entry.kind, EntryKind::Void { .. });
        let last = entries.iter().rev().find(counts)?;
        let words = self.session.words();
        let when = words.when(last.at, self.session.now());
        Some((last.id, format!("{}, {when}", clean(&last.summary(&words.units)))))
    }

    fn record(&self) -> RecordView {
        self.session.record_view(self.session.now()).unwrap_or_default()
    }

    fn coat_view(&self, coat: EntryId) -> Option<CoatView> {
        self.session.coat_view(coat, self.session.now()).ok().flatten()
    }

    fn civil(&self) -> &Civil {
        &self.session.words().civil
    }

    fn units(&self) -> Units {
        self.session.words().units
    }
}
