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

/// The heading of the options that every command has.
const EVERYWHERE: &str = "Options of every command";

/// Times every coat from the temperature of the shop: when to recoat, until when, and when to sand.
///
/// Without a command the board opens. A TIME is -25m, "30 min ago", 14:20, 7pm, "yesterday 19:00",
/// "Sat 14:20", "2026-05-02 14:20" or RFC 3339. A FILE that is read may be "-": standard input.
#[derive(Debug, Parser)]
#[command(name = "curewright", version, max_term_width = 100)]
pub struct Arguments {
    /// The file of the job
    #[arg(long, global = true, help_heading = EVERYWHERE, value_name = "FILE", env = "CUREWRIGHT_JOB")]
    pub job: Option<PathBuf>,
    /// A folder of product profiles, beside the built-in ones; they win by their id
    #[arg(long, global = true, help_heading = EVERYWHERE, value_name = "DIR", env = "CUREWRIGHT_PROFILES")]
    pub profiles: Option<PathBuf>,
    /// Take this moment instead of now
    #[arg(long, global = true, help_heading = EVERYWHERE, value_name = "TIME", allow_hyphen_values = true)]
    pub at: Option<String>,
    /// Answer in JSON
    #[arg(long, global = true, help_heading = EVERYWHERE)]
    pub json: bool,
    /// Print no confirmation; cautions and errors are printed
    #[arg(long, short, global = true, help_heading = EVERYWHERE)]
    pub quiet: bool,
    /// Whether the board has colours: auto (as the settings and NO_COLOR say), always or never
    #[arg(
        long,
        global = true, help_heading = EVERYWHERE,
        value_name = "WHEN",
        default_value = "auto",
        hide_default_value = true,
        hide_possible_values = true
    )]
    pub color: When,
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// When there are colours.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum When {
    /// As the settings and the environment say
    Auto,
    /// Whatever they say
    Always,
    /// Not at all
    Never,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Open the board on a built-in job whose clock runs fast
    Demo {
        /// How many seconds pass in one
        #[arg(long, value_name = "N", default_value_t = crate::app::session::demo::SPEED,
              value_parser = clap::value_parser!(u32).range(1..=86_400))]
        speed: u32,
        /// Write the report of that job to a file (.html, .md, .csv); the board does not open
        #[arg(long, value_name = "FILE", conflicts_with = "speed")]
        report: Option<PathBuf>,
    },
    /// Record a mixed batch: until when it is usable, how hot it gets, what is safe
    Mix(MixArguments),
    /// Record that a batch is used up, or thrown away
    Emptied {
        /// Its number; optional where only one batch is in use
        batch: Option<i64>,
    },
    /// Record the first stroke of a coat
    Coat(CoatArguments),
    /// Record the last stroke of a coat
    Done {
        /// The area; optional where only one is being coated
        area: Option<String>,
    },
    /// Record another step: sanding, washing, tape, a coat that was interrupted or taken off
    Step(StepArguments),
    /// Record a reading: temperature, humidity, surface
    Reading(ReadingArguments),
    /// Start and stop the work clock, or enter minutes; without an argument, show the hours so far
    Work(super::work::WorkArguments),
    /// Record a note: on the piece, an area or an entry
    Note(super::note::NoteArguments),
    /// Import the readings of a logger: a CSV with the columns time, temperature and, where known,
    /// humidity, surface and place
    Import(ImportArguments),
    /// Load a forecast of the outdoor air, or show the stored one
    Forecast(ForecastArguments),
    /// Load a scheme: the planned steps of every area; without a file, show it
    Scheme {
        /// The scheme, a TOML file
        file: Option<PathBuf>,
    },
    /// Show what can be done now, area by area
    Status {
        /// Every coat, not only the newest of each area
        #[arg(long)]
        all: bool,
    },
    /// Show the dew point and how far the surface is above it; exit status 1 if not far enough
    Air(AirArguments),
    /// Check whether a coat can go on an area now; if not, when. Exit status 1 if not now
    Check {
        /// The area
        area: String,
        /// The product; default: the next one
        product: Option<String>,
        /// Both data sheets allow this product on the film below: record that, so that it is asked about no more
        #[arg(long)]
        yes: bool,
    },
    /// Show how much the remaining coats need: what to weigh out, in how many batches, and what to buy
    Quantity(QuantityArguments),
    /// New material; without a product: what came in, was used, is left, and what it cost
    Stock(StockArguments),
    /// Record a measured wet film on the newest coat of an area
    Film(FilmArguments),
    /// Show your free hours: settings and scheme, minus the busy times of your calendars
    Free(FreeArguments),
    /// Plan every coat in your free hours, and when the piece is ready. Exit status 1 if there is no plan
    Plan(super::plan::PlanArguments),
    /// Write the plan's sessions, the coming windows and deadlines into a calendar file, with alarms, for a phone
    Calendar(CalendarArguments),
    /// Raise alerts without a screen, until stopped
    Watch {
        /// Read every sensor once, raise what is due now, and stop
        #[arg(long)]
        once: bool,
        /// No desktop notifications: print, and run the configured command
        #[arg(long)]
        no_desktop: bool,
        /// Keep a page of the board current in this file, for a phone: whatever serves or copies it may read it
        #[arg(long, value_name = "FILE")]
        page: Option<PathBuf>,
    },
    /// Show the alerts, or acknowledge them
    Alerts {
        /// Acknowledge the alert of this number, or "all"
        #[arg(long, value_name = "N")]
        ack: Option<String>,
        /// Put the alert of this number off, as "Later" on the desktop does
        #[arg(long, value_name = "N", conflicts_with = "ack")]
        later: Option<i64>,
    },
    /// Check the job's file for damage; save what is valid
    CheckJob(super::check_job::CheckJobArguments),
    /// Take back an entry: the last one, or the one with this number
    Undo {
        /// The number of the entry, as "curewright record" shows it
        entry: Option<i64>,
    },
    /// Correct an entry: its time with --at, or its text; the old one stays, struck through
    Correct(Box<super::correct::CorrectArguments>),
    /// Show every entry of the job; or export the whole job to a file, or import it
    Record(super::record::RecordArguments),
    /// Write the record for others: coats, air, films, hours and what was outside the limits
    Report(super::report::ReportArguments),
    /// Show what was learned from this job: pace, shop and windows, as lines for the next scheme
    Learned,
    /// Products: list, show, check, new
    Profile {
        #[command(subcommand)]
        command: ProfileCommand,
    },
    /// Show the settings and where they are kept
    Config {
        /// Write a file with every setting explained, where there is none yet
        #[arg(long)]
        init: bool,
        /// Open the settings in your editor, then check them
        #[arg(long)]
        edit: bool,
    },
    /// Print completions for a shell
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// Print the manual page
    Man {
        /// Write it, and a page for every command, into this folder
        #[arg(long, value_name = "DIR")]
        all: Option<PathBuf>,
    },
}

impl Command {
    /// Whether it shows what a job holds, and records nothing.
    pub const fn only_reads(&self) -> bool {
        match self {
            Self::Status { .. }
            | Self::Check { yes: false, .. }
            | Self::Quantity(_)
            | Self::Free(_)
            | Self::Plan(_)
            | Self::Calendar(_)
            | Self::Alerts { ack: None, later: None }
            | Self::CheckJob(_)
            | Self::Report(_)
            | Self::Learned => true,
            Self::Record(record) => record.import.is_none(),
            Self::Scheme { file } => file.is_none(),
            Self::Stock(stock) => stock.product.is_none(),
            Self::Forecast(forecast) => forecast.file.is_none() && !forecast.fetch,
            _ => false,
        }
    }
}

#[derive(Debug, Args)]
pub struct CoatArguments {
    /// The area: "roof"
    pub area: String,
    /// The product's id; default: as the scheme says, or that of the last coat
    pub product: Option<String>,
    /// The product of the next coat; default: as the scheme says, or the same
    #[arg(long, value_name = "PRODUCT")]
    pub next: Option<String>,
    /// The last stroke is done too
    #[arg(long)]
    pub done: bool,
    /// The batch it is taken from; default: the batch in use, if there is only one
    #[arg(long, value_name = "N")]
    pub batch: Option<i64>,
    /// Why it is not as the scheme says
    #[arg(long, value_name = "TEXT")]
    pub why: Option<String>,
    /// Record it in spite of the question
    #[arg(long)]
    pub yes: bool,
    /// A new area, though another has nearly the same name
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
    /// The reason, where coats are taken off or a coat is interrupted
    #[arg(long, value_name = "TEXT")]
    pub why: Option<String>,
    /// A new area, though another has nearly the same name
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
    /// The place; default: the first of the job
    #[arg(long)]
    pub place: Option<String>,
}

#[derive(Debug, Args)]
pub struct AirArguments {
    /// The air; default for all: the last reading
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
    /// The place of rows that do not name one; default: the first of the job
    #[arg(long)]
    pub place: Option<String>,
    /// What a column holds, and its heading: --column temperature="Temp (°F)"; once a column
    #[arg(long = "column", value_name = "WHAT=HEADING")]
    pub columns: Vec<NamedColumn>,
    /// The unit of temperatures that have none
    #[arg(long, value_name = "C|F", value_parser = unit)]
    pub unit: Option<TemperatureUnit>,
    /// The time zone of the logger, for times without one: local, UTC or +02:00
    #[arg(long, value_name = "ZONE", default_value = "local", value_parser = zone, allow_hyphen_values = true)]
    pub zone: Zone,
    /// Number of lines before the one that names the columns
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub skip: usize,
    /// The order in dates such as 5/2/2026, if the file does not show it: mdy or dmy
    #[arg(long, value_name = "ORDER")]
    pub dates: Option<DateOrder>,
}

/// The time zone of a logger.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Zone {
    /// The time zone of the person.
    Local,
    /// Offset east of Greenwich.
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
    /// Fetch it from the weather service of the settings, for the coordinates set there
    #[arg(long, conflicts_with = "file")]
    pub fetch: bool,
}
