//! `report`: the record for the next owner, a surveyor, a claim, or oneself in five years.

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use serde_json::json;

use super::out::{is_stdout, write_whole};
use super::setup::Setup;
use super::{Failure, json};
use crate::app::report::{coats_csv, html, markdown, readings_csv};
use crate::app::session::Session;
use crate::engine::units::{Moment, clean};

#[derive(Debug, Args)]
pub struct ReportArguments {
    /// Where it is written; "-", or nothing: standard output
    pub file: Option<PathBuf>,
    /// What it is written as; left out: as the file's name ends, else md
    #[arg(long)]
    pub format: Option<Format>,
    /// The readings, one a row, in place of the coats (csv)
    #[arg(long)]
    pub readings: bool,
}

/// What a report is written as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// A page for a browser and for paper
    Html,
    /// A Markdown text
    Md,
    /// A table, one row a coat
    Csv,
}

impl Format {
    /// As the name of a file ends.
    pub fn of(file: &Path) -> Option<Self> {
        let ending = file.extension()?.to_str()?.to_ascii_lowercase();
        match ending.as_str() {
            "html" | "htm" => Some(Self::Html),
            "md" | "markdown" => Some(Self::Md),
            "csv" => Some(Self::Csv),
            _ => None,
        }
    }

    /// As the name of a report's file ends.
    ///
    /// # Errors
    /// Where it ends like a document of another program.
    pub fn of_report(file: &Path) -> Result<Option<Self>, Failure> {
        let ending =
            file.extension().map(|ending| ending.to_string_lossy().to_ascii_lowercase()).unwrap_or_default();
        let way = match ending.as_str() {
            "pdf" | "ps" => "open it in a browser and print it to a file",
            "doc" | "docx" | "odt" | "rtf" => "open it in a word processor",
            "xls" | "xlsx" | "ods" => {
                return Err(Failure::Input(format!(
                    "a report is not written as .{ending}: write a .csv file, and open it in the spreadsheet"
                )));
            }
            _ => return Ok(Self::of(file)),
        };
        let page = clean(&file.with_extension("html").display().to_string());
        Err(Failure::Input(format!("a report is not written as .{ending}: write {page}, and {way}")))
    }
}

pub fn run(setup: &Setup, report: &ReportArguments, out: &mut dyn Write) -> Result<u8, Failure> {
    setup.tell_faults();
    let by_name = report.file.as_deref().map(Format::of_report).transpose()?.flatten();
    let format = report.format.or(by_name).or(report.readings.then_some(Format::Csv)).unwrap_or(Format::Md);
    if report.readings && format != Format::Csv {
        return Err(Failure::Input("readings are a table: --format csv".into()));
    }
    let session = setup.session()?;
    let text = text(&session, format, report.readings, session.now())?;
    write(setup, report.file.as_deref(), &text, out)
}

/// Writes a report to its target and reports it.
pub fn write(setup: &Setup, file: Option<&Path>, text: &str, out: &mut dyn Write) -> Result<u8, Failure> {
    match file.filter(|file| !is_stdout(Some(file))) {
        None => out.write_all(text.as_bytes())?,
        Some(file) => {
            write_whole(file, text.as_bytes())?;
            let file = clean(&file.display().to_string());
            if setup.json {
                json(out, &json!({ "file": file, "bytes": text.len() }))?;
            } else if !setup.quiet {
                writeln!(out, "Wrote {file}.")?;
            }
        }
    }
    Ok(0)
}

/// The report of a session as of a moment.
pub fn text(session: &Session<'_>, format: Format, readings: bool, now: Moment) -> Result<String, Failure> {
    let made_by = concat!("curewright ", env!("CARGO_PKG_VERSION"));
    if readings {
        return Ok(readings_csv(&session.all_readings(now)?, session.words()));
    }
    let (report, words) = (session.report(now)?, session.words());
    Ok(match format {
        Format::Html => html(&report, words, made_by),
        Format::Md => markdown(&report, words, made_by),
        Format::Csv => coats_csv(&report, words),
    })
}
