//! The arguments. Help, the manual page and the completions are made from here.

use std::path::PathBuf;

use chrono::{FixedOffset, Offset, Utc};
use clap::builder::PossibleValue;
use clap::{Args, Parser, Subcommand, ValueEnum};

use super::calendar::CalendarArguments;
use super::film::FilmArguments;
use super::free::FreeArguments;
use super::mix::MixArguments;
use super::profile::ProfileCommand;
use super::quantity::QuantityArguments;
use super::stock::StockArguments;
use crate::engine::job::StepKind;
use crate::engine::units::TemperatureUnit;
use crate::io::sources::{DateOrder, NamedColumn};

/// Times every coat by the temperature of the shop: when the next may go on, until when, and when to sand.
///
/// Without a command the board opens. A TIME is -25m, 14:20, "Sat 14:20", "2026-05-02 14:20" or RFC 3339.
#[derive(Debug, Parser)]
#[command(name = "curewright", version, max_term_width = 100)]
pub struct Arguments {
    /// The file of the job
    #[arg(long, global = true, value_name = "FILE", env = "CUREWRIGHT_JOB")]
    pub job: Option<PathBuf>,
    /// A folder of product profiles, beside the built-in ones; they win by their id
    #[arg(long, global = true, value_name = "DIR", env = "CUREWRIGHT_PROFILES")]
    pub profiles: Option<PathBuf>,
    /// Do it, or show it, as of that moment
    #[arg(long, global = true, value_name = "TIME", allow_hyphen_values = true)]
    pub at: Option<String>,
    /// Answer in JSON
    #[arg(long, global = true)]
    pub json: bool,
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// What is to be done.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Open the board on a built-in job whose clock runs fast
    Demo {
        /// How many seconds pass in one
        #[arg(long, value_name = "N", default_value_t = crate::app::session::demo::SPEED,
              value_parser = clap::value_parser!(u32).range(1..=86_400))]
        speed: u32,
        /// Write the report of that job to a file, as its name ends (.html, .md, .csv), and open no board
        #[arg(long, value_name = "FILE", conflicts_with = "speed")]
        report: Option<PathBuf>,
    },
    /// A batch is mixed: until when it is usable, how warm it makes itself, what would be safe
    Mix(MixArguments),
    /// A batch is used up, or thrown away
    Emptied {
        /// Its number; may be left out where one only stands here
        batch: Option<i64>,
    },
    /// The first stroke of a coat goes on
    Coat(CoatArguments),
    /// The last stroke of a coat is done
    Done {
        /// The area; may be left out where one only is being coated
        area: Option<String>,
    },
    /// Another step is done: sanding, washing, tape
    Step(StepArguments),
    /// A temperature was read
    Reading(ReadingArguments),
    /// Work: start and stop a clock, or enter minutes; alone, the hours so far
    Work(super::work::WorkArguments),
    /// Something to remember: on the piece, an area or an entry
    Note(super::note::NoteArguments),
    /// Take in the readings of a logger: a CSV with the columns time, temperature and, where known,
    /// humidity, surface and place
    Import(ImportArguments),
    /// Take a forecast of the outdoor air in, or show the one that is stored
    Forecast(ForecastArguments),
    /// Take in a scheme: the planned steps of every area; without a file, show it
    Scheme {
        /// The scheme, a TOML file
        file: Option<PathBuf>,
    },
    /// What may be done now, area by area
    Status {
        /// Every coat, not the newest of each area alone
        #[arg(long)]
        all: bool,
    },
    /// Dew point, margin of the surface over it, and whether that is dry enough; exit status 1 where not
    Air(AirArguments),
    /// Whether a coat may go on an area now; if not, when next. Exit status 1 where not now
    Check {
        /// The area
        area: String,
        /// The product; left out: what goes on next
        product: Option<String>,
        /// Both data sheets allow it on the film below, though no profile lists it: record that
        #[arg(long)]
        yes: bool,
    },
    /// How much the coats to come need: what to weigh out, in how many batches, and what to buy
    Quantity(QuantityArguments),
    /// New material; without a product: what came in, was used, is left, and what it cost
    Stock(StockArguments),
    /// A wet film was measured on the newest coat of an area
    Film(FilmArguments),
    /// When you are free to work, as the settings and the scheme say, less what your calendars hold
    Free(FreeArguments),
    /// Every coat in a free hour, and when the piece is ready. Exit status 1 where there is no plan
    Plan(super::plan::PlanArguments),
    /// Write the plan's sessions, the windows and deadlines that lie ahead into a calendar file, with alarms, for a phone
    Calendar(CalendarArguments),
    /// Raise alerts without a screen, until stopped
    Watch {
        /// Read every sensor once, raise what is due now, and stop
        #[arg(long)]
        once: bool,
        /// Leave the desktop alone: print, and run the configured command
        #[arg(long)]
        no_desktop: bool,
    },
    /// Show the alerts, or acknowledge them
    Alerts {
        /// Acknowledge the alert of this number, or "all"
        #[arg(long, value_name = "N")]
        ack: Option<String>,
    },
    /// Check that the job's file is as it was written; save what is sound where it is not
    CheckJob(super::check_job::CheckJobArguments),
    /// Take an entry back: the last one, or the one of this number
    Undo {
        /// The number of the entry, as "curewright record" shows it
        entry: Option<i64>,
    },
    /// Correct an entry: its time with --at, or what it says; the old one stays, struck
    Correct(Box<super::correct::CorrectArguments>),
    /// Show every entry of the job; or write the whole job to a file, and take it back
    Record(super::record::RecordArguments),
    /// Write the record for others: coats, air, films, hours and what was outside the limits
    Report(super::report::ReportArguments),
    /// What this job has taught: pace, shop and windows, as lines for the next scheme
    Learned,
    /// Products: list, show, check, new
    Profile {
        #[command(subcommand)]
        command: ProfileCommand,
    },
    /// Show the settings and where they are kept
    Config,
    /// Print completions for a shell
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// Print the manual page
    Man,
}

#[derive(Debug, Args)]
pub struct CoatArguments {
    /// The area: "roof"
    pub area: String,
    /// The product's id; left out: as the scheme says, else the last coat's
    pub product: Option<String>,
    /// What goes on after it; left out: as the scheme says, else the same
    #[arg(long, value_name = "PRODUCT")]
    pub next: Option<String>,
    /// This was the last stroke too
    #[arg(long)]
    pub done: bool,
    /// The batch it is taken from; left out: the one that stands here, where there is one only
    #[arg(long, value_name = "N")]
    pub batch: Option<i64>,
    /// Record it though it was asked about
    #[arg(long)]
    pub yes: bool,
    /// A new area, though another is nearly called so
    #[arg(long)]
    pub new: bool,
}

impl ValueEnum for StepKind {
    fn value_variants<'a>() -> &'a [Self] {
        &Self::ALL
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        Some(PossibleValue::new(self.key()).help(self.about()))
    }
}

#[derive(Debug, Args)]
pub struct StepArguments {
    /// The area
    pub area: String,
    /// Which step
    pub step: StepKind,
    /// How long it took
    #[arg(long, value_name = "N", allow_negative_numbers = true)]
    pub minutes: Option<u32>,
    /// How many of the newest coats a strip took off; left out: one
    #[arg(long, value_name = "N", allow_negative_numbers = true)]
    pub coats: Option<usize>,
    /// Why they were taken off
    #[arg(long, value_name = "TEXT")]
    pub why: Option<String>,
    /// A new area, though another is nearly called so
    #[arg(long)]
    pub new: bool,
}

#[derive(Debug, Args)]
pub struct ReadingArguments {
    /// The air: 17.5, 17.5C or 63F
    #[arg(allow_negative_numbers = true)]
    pub temperature: String,
    /// Relative humidity in per cent
    #[arg(long, value_name = "P", allow_negative_numbers = true)]
    pub humidity: Option<String>,
    /// The surface
    #[arg(long, value_name = "TEMPERATURE", allow_negative_numbers = true)]
    pub surface: Option<String>,
    /// The place; left out: the first of the job
    #[arg(long)]
    pub place: Option<String>,
}

#[derive(Debug, Args)]
pub struct AirArguments {
    /// The air; left out, with the rest: as it was last read
    #[arg(long, value_name = "TEMPERATURE", allow_negative_numbers = true)]
    pub temperature: Option<String>,
    /// Relative humidity in per cent
    #[arg(long, value_name = "P")]
    pub humidity: Option<String>,
    /// The surface
    #[arg(long, value_name = "TEMPERATURE", allow_negative_numbers = true)]
    pub surface: Option<String>,
}

impl AirArguments {
    /// Whether any figure was given.
    pub const fn any_given(&self) -> bool {
        self.temperature.is_some() || self.humidity.is_some() || self.surface.is_some()
    }
}

#[derive(Debug, Args)]
pub struct ImportArguments {
    /// The file
    pub file: PathBuf,
    /// The place of rows that do not name one
    #[arg(long, default_value = "shop")]
    pub place: String,
    /// What a column holds, and its heading: --column temperature="Temp (°F)"; once a column
    #[arg(long = "column", value_name = "WHAT=HEADING")]
    pub columns: Vec<NamedColumn>,
    /// What temperatures without a unit of their own are in
    #[arg(long, value_name = "C|F", value_parser = unit)]
    pub unit: Option<TemperatureUnit>,
    /// Where the clock of the logger stands, for times that do not say it: local, UTC or +02:00
    #[arg(long, value_name = "ZONE", default_value = "local", value_parser = zone, allow_hyphen_values = true)]
    pub zone: Zone,
    /// How many lines stand before the one that names the columns
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub skip: usize,
    /// What comes first in dates such as 5/2/2026, where the file does not show it: mdy or dmy
    #[arg(long, value_name = "ORDER")]
    pub dates: Option<DateOrder>,
}

/// Where the clock of a logger stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Zone {
    /// Where the person is.
    Local,
    /// So far east of Greenwich.
    Offset(FixedOffset),
}

fn zone(text: &str) -> Result<Zone, String> {
    match text.trim() {
        "local" => Ok(Zone::Local),
        "UTC" | "utc" | "Z" => Ok(Zone::Offset(Utc.fix())),
        text => {
            let offset = text.parse().map(Zone::Offset);
            offset.map_err(|_| "write local, UTC or an offset such as +02:00".into())
        }
    }
}

fn unit(text: &str) -> Result<TemperatureUnit, String> {
    match text.trim_start_matches('°') {
        "C" | "c" => Ok(TemperatureUnit::Celsius),
        "F" | "f" => Ok(TemperatureUnit::Fahrenheit),
        _ => Err("write C or F".into()),
    }
}

#[derive(Debug, Args)]
pub struct ForecastArguments {
    /// A CSV with the columns time, temperature and, where known, humidity, rain and wind; or the JSON of a
    /// point forecast
    pub file: Option<PathBuf>,
    /// Ask the weather service of the settings, by the coordinates that are set there
    #[arg(long, conflicts_with = "file")]
    pub fetch: bool,
}
