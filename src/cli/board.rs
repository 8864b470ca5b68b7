//! The board: the desk behind the screen.

mod planner;

use std::collections::VecDeque;
use std::io::{self, IsTerminal};

use super::setup::Setup;
use super::watch::deliver;
use super::{Failure, status};
use crate::app::session::{Clock, Done, ForecastKeeper, Order, Refused, SensorLog, Session, SessionError};
use crate::app::view::{CoatView, PlanShown, RecordView, View, WeatherView};
use crate::app::wording::{AmountsPage, Check};
use crate::engine::assess::{Survey, SurveyOptions};
use crate::engine::config::Colours;
use crate::engine::job::{Entry, EntryId, EntryKind, voided};
use crate::engine::units::{Civil, Moment, Units, clean};
use crate::io::notifier::{Notifier, NotifierOptions};
use crate::tui::{self, Desk};
use planner::Planner;

/// Without news from outside the survey is made again after so long.
const SURVEY_EVERY: chrono::TimeDelta = chrono::TimeDelta::seconds(60);
/// So many sentences of sensors wait to be seen.
const NEWS: usize = 16;

/// Opens the board on the job; where standard output is no terminal, prints the status.
pub fn open(setup: &Setup) -> Result<u8, Failure> {
    if setup.at.is_some() || setup.json || !io::stdout().is_terminal() {
        return status::run(setup, false, &mut io::stdout().lock());
    }
    show(setup, &mut setup.session_at(Clock::Wall)?)
}

/// Shows a session on the terminal until the person leaves.
pub fn show(setup: &Setup, session: &mut Session<'_>) -> Result<u8, Failure> {
    let options = NotifierOptions { desktop: true, command: setup.config.alert_command.clone() };
    let faults = setup.library.faults().iter().map(|fault| clean(&fault.to_string())).collect();
    let sensors = SensorLog::start(session);
    let path = session.path().to_owned();
    std::thread::scope(|scope| {
        run(setup, session, Planner::new(scope, setup, path), faults, options, sensors)
    })
}

/// Runs the board; what is planned aside ends with it.
fn run(
    setup: &Setup,
    session: &mut Session<'_>,
    planner: Planner<'_, '_>,
    faults: Vec<String>,
    options: NotifierOptions,
    sensors: Option<SensorLog>,
) -> Result<u8, Failure> {
    let mut desk = JobDesk {
        session,
        planner,
        sensors,
        sensor_news: VecDeque::new(),
        keeper: ForecastKeeper::default(),
        notifier: Notifier::new(options),
        survey: None,
        weather: Vec::new(),
        version: None,
        due: None,
        faults,
        told_trouble: None,
    };
    let colour = match setup.config.colours {
        _ if no_colour() => tui::ColorMode::None,
        Colours::Auto => tui::ColorMode::Auto,
        Colours::Contrast => tui::ColorMode::Contrast,
        Colours::None => tui::ColorMode::None,
    };
    tui::run(&mut desk, tui::Options { color: colour, bell: true, ascii: ascii_alone() })
        .map_err(|error| SessionError::World(format!("the terminal cannot be used: {error}")))?;
    desk.notifier.settle(std::time::Duration::from_millis(300));
    Ok(0)
}

fn no_colour() -> bool {
    #[expect(clippy::disallowed_methods, reason = "the command line is where the environment enters")]
    std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty())
}

/// Whether the terminal shows nothing but ASCII: the locale says so, unless nothing says anything.
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
    sensors: Option<SensorLog>,
    sensor_news: VecDeque<String>,
    keeper: ForecastKeeper,
    notifier: Notifier,
    survey: Option<Survey<'a>>,
    weather: Vec<WeatherView>,
    version: Option<i64>,
    due: Option<Moment>,
    faults: Vec<String>,
    told_trouble: Option<String>,
}

impl<'a> JobDesk<'_, 'a, '_, '_> {
    /// The survey, made again where it is too old to be true.
    fn survey(&mut self, now: Moment) -> Result<&Survey<'a>, SessionError> {
        let age = |survey: &Survey<'_>| now - survey.at;
        let fresh = |survey: &Survey<'_>| (chrono::TimeDelta::zero()..SURVEY_EVERY).contains(&age(survey));
        let survey = match self.survey.take().filter(fresh) {
            Some(survey) => survey,
            None => {
                let survey = self.session.survey(now, SurveyOptions::default())?;
                self.weather = WeatherView::all(&survey, self.session.words(), survey.at);
                survey
            }
        };
        Ok(self.survey.insert(survey))
    }

    /// Takes in what the sensors have measured, and says whether there is something new in the job.
    fn sense(&mut self) -> bool {
        let Some(sensors) = &mut self.sensors else { return false };
        let sensed = sensors.take(self.session);
        self.sensor_news.extend(sensed.says);
        // What was told an hour ago need not be told.
        while self.sensor_news.len() > NEWS {
            self.sensor_news.pop_front();
        }
        sensed.written
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
        self.survey(now).map_err(|error| error.to_string())?;
        let survey = self.survey.as_ref().ok_or("the job cannot be read")?;
        let view = self.session.view(survey, now).map_err(|error| error.to_string())?;
        Ok(View { weather: self.weather.clone(), ..view })
    }

    fn enough_planned(&mut self) {
        self.planner.enough();
    }

    fn plan(&mut self, wanted: bool) -> PlanShown {
        self.planner.plan(wanted, self.session.now())
    }

    fn execute(&mut self, order: Order, at: Option<Moment>) -> Result<Done, Refused> {
        let done = self.session.execute(order, at).map_err(|error| Refused::from(&error));
        self.survey = None;
        self.due = None;
        self.planner.forget();
        done
    }

    fn changed(&mut self) -> bool {
        let now = self.session.now();
        let written = self.sense() | self.keeper.tick(self.session, now);
        let newest = self.session.version().ok();
        let changed = written || self.version != newest;
        self.version = newest;
        if changed {
            self.survey = None;
            self.due = None;
            self.planner.forget();
        }
        changed
    }

    fn ring(&mut self, now: Moment) -> bool {
        if self.due.is_some_and(|due| due > now) {
            return false;
        }
        if self.survey(now).is_err() {
            return false;
        }
        let Some(survey) = &self.survey else { return false };
        let Ok(raised) = self.session.raise_due(survey, now) else { return false };
        self.due = raised.next.map(|next| next.min(now + SURVEY_EVERY)).or(Some(now + SURVEY_EVERY));
        raised.alerts.iter().for_each(|alert| deliver(&self.notifier, alert, now));
        if let Some(trouble) = self.notifier.trouble() {
            self.told_trouble.get_or_insert(trouble);
        }
        !raised.alerts.is_empty()
    }

    fn notices(&self) -> Vec<String> {
        let told = self.faults.iter().chain(&self.told_trouble).chain(&self.sensor_news).cloned();
        told.chain(self.keeper.trouble().map(str::to_owned)).collect()
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
