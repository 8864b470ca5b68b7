//! `import`: the readings of a logger.

use std::io::{self, Write};
use std::path::Path;

use serde_json::json;

use super::args::{ImportArguments, Zone};
use super::setup::Setup;
use super::{Failure, input, json};
use crate::engine::units::{Civil, ClockFace, clean};
use crate::io::sources::{DateOrder, LoggerOptions, read_logger_with};

pub fn run(setup: &Setup, import: &ImportArguments, out: &mut dyn Write) -> Result<u8, Failure> {
    let shown = input::name(&import.file);
    let bytes = read(&import.file).map_err(|error| Failure::File { path: shown.clone(), error })?;
    let mut session = setup.session()?;
    let latest = session.clock().latest();
    let options = LoggerOptions {
        columns: import.columns.clone(),
        unit: import.unit,
        skip: import.skip,
        dates: import.dates,
    };
    let civil = match import.zone {
        Zone::Local => setup.words.civil.clone(),
        Zone::Offset(offset) => Civil::new(offset, ClockFace::default()),
    };
    let place = import.place.as_deref().map(|place| clean(place.trim()));
    let place = place.map_or_else(|| session.first_place(), Ok)?;
    let logger = read_logger_with(&bytes, &place, &civil, latest, &options)
        .map_err(|error| Failure::Input(format!("{shown}: {error}")))?;
    let name = import.file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let name = if name == "-" { shown.clone() } else { name };
    let (faults, bad_rows, recognised) = (logger.faults.clone(), logger.bad_rows, logger.recognised.clone());
    let dates = logger.dates;
    let imported = session.import_readings(&name, logger)?;
    if setup.json {
        let faults: Vec<_> = faults.iter().map(|f| json!({ "line": f.line, "what": f.what })).collect();
        json(
            out,
            &json!({
                "taken": imported.taken,
                "already_there": imported.already_there,
                "bad_rows": bad_rows,
                "dates": dates.map(DateOrder::key),
                "faults": faults,
                "recognised": recognised
                    .iter()
                    .map(|found| (found.column.name().to_owned(), json!(found.heading)))
                    .collect::<serde_json::Map<_, _>>(),
            }),
        )?;
    } else {
        let mut nowhere = io::sink();
        let out: &mut dyn Write = if setup.quiet { &mut nowhere } else { out };
        writeln!(out, "{} imported from {shown}.", count(imported.taken, "reading"))?;
        if !recognised.is_empty() {
            let taken: Vec<String> = recognised.iter().map(ToString::to_string).collect();
            writeln!(out, "Taken: {}.", taken.join(", "))?;
        }
        if let Some(dates) = dates {
            writeln!(out, "Dates are read as {dates}.")?;
        }
        match imported.already_there {
            0 => {}
            1 => writeln!(out, "One was already imported.")?,
            many => writeln!(out, "{many} were already imported.")?,
        }
        let mut stderr = io::stderr().lock();
        for fault in &faults {
            writeln!(stderr, "{shown}: {fault}")?;
        }
        if bad_rows > faults.len() {
            let more = bad_rows - faults.len();
            writeln!(stderr, "{shown}: and {more} more rows that are not readable")?;
        }
        match bad_rows {
            0 => {}
            1 => writeln!(out, "One row was not readable and is ignored.")?,
            many => writeln!(out, "{many} rows were not readable and are ignored.")?,
        }
    }
    Ok(0)
}

/// Years of one reading a minute.
const LIMIT: u64 = 100 << 20;

fn read(path: &Path) -> io::Result<Vec<u8>> {
    let bytes = input::beginning(path, LIMIT)?;
    if bytes.len() as u64 > LIMIT {
        return Err(io::Error::new(io::ErrorKind::FileTooLarge, "larger than 100 MB; take it in parts"));
    }
    Ok(bytes)
}

fn count<N: std::fmt::Display + PartialEq + From<u8>>(number: N, noun: &str) -> String {
    if number == N::from(1) { format!("One {noun}") } else { format!("{number} {noun}s") }
}
