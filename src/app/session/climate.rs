//! The climate after the forecast ends, by place: from a named file, and from the earlier years of the place's
//! own record.

use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use chrono::TimeDelta;

use super::free::at_home;
use super::{PlanRequest, Session, SessionError};
use crate::engine::air::{SeasonalMeans, Shop, indoors};
use crate::engine::assess::{Sky, Survey, is_outdoors};
use crate::engine::cure::Reading;
use crate::engine::plan::{Climate, ClimateFrom};
use crate::engine::units::{Moment, clean};
use crate::io::sources::{LoggerError, RowFault, read_logger};

/// The climates of the places, in their order, with their notes.
#[derive(Default)]
pub(super) struct Climates {
    pub by_place: Vec<Vec<Climate>>,
    pub notes: Vec<String>,
}

impl Climates {
    pub fn of(&self, place: usize) -> &[Climate] {
        self.by_place.get(place).map_or(&[], Vec::as_slice)
    }
}

/// A file with the air of any years.
pub(super) struct ClimateFile {
    path: PathBuf,
    name: String,
    /// The readings in order of time; rows without a place under no name.
    places: Vec<(Arc<str>, Vec<Reading>)>,
    fault: Option<RowFault>,
    bad_rows: usize,
}

/// The most years of a record for a season: older ones count less in a changing climate.
const YEARS: i64 = 10;
/// A film is followed this long after the last planned day.
const FOLLOWED: i64 = 95;
/// The margin of a season beyond its dates, with a leap day and a day of tolerance.
const MARGIN: TimeDelta = TimeDelta::days(SeasonalMeans::DAYS + 2);
/// A larger file is not read: ten years of minutes are smaller.
const LIMIT: u64 = 512 << 20;

impl Session<'_> {
    /// The climates of a plan of this number of days.
    pub(super) fn climates(
        &self,
        request: &PlanRequest,
        survey: &Survey<'_>,
        now: Moment,
    ) -> Result<Climates, SessionError> {
        // A plan with a fixed temperature needs no climate, unless one is named.
        if request.temperature.is_some() && request.climate.is_none() {
            return Ok(Climates::default());
        }
        let file = self.climate_file(request).map_err(SessionError::Input)?;
        let mut climates = Climates::default();
        climates.notes.extend(file.as_ref().and_then(|file| file.faults()));
        for (place, sky) in survey.places.iter().zip(&survey.skies) {
            let mut of_place = Vec::new();
            match file.as_ref().map(|file| file.of(&place.place, sky)) {
                Some(Ok(climate)) => of_place.push(climate),
                Some(Err(note)) => climates.notes.push(note),
                None => {}
            }
            if request.temperature.is_none() {
                of_place.extend(self.earlier_years(&place.place, now, request.days)?);
            }
            climates.by_place.push(of_place);
        }
        Ok(climates)
    }

    /// The earlier years of a place, if it has readings at the planned time of the year.
    fn earlier_years(&self, place: &str, now: Moment, days: u32) -> Result<Option<Climate>, SessionError> {
        let Some(store) = &self.store else { return Ok(None) };
        let (mut readings, mut read_until) = (Vec::new(), None);
        for back in (1..=YEARS).rev() {
            let shift = TimeDelta::hours(back * 8766);
            // The days just past belong to this year and are not a climate.
            let to = (now + TimeDelta::days(i64::from(days) + FOLLOWED) + MARGIN - shift).min(now - MARGIN);
            let from = (now - MARGIN - shift).max(read_until.unwrap_or(now - MARGIN - shift));
            if from < to {
                readings.extend(store.hourly_readings(place, from, to)?);
                read_until = Some(to + TimeDelta::seconds(1));
            }
        }
        let season = SeasonalMeans::of(&readings);
        Ok((!season.is_empty()).then_some(Climate { season, from: ClimateFrom::Record }))
    }

    /// The requested file, or that of the settings; read once.
    fn climate_file(&self, request: &PlanRequest) -> Result<Option<Arc<ClimateFile>>, String> {
        let path = match (&request.climate, &self.config.weather.climate) {
            (Some(file), _) => file.clone(),
            (None, Some(file)) => at_home(file).map_err(|error| format!("weather.climate: {error}"))?,
            (None, None) => return Ok(None),
        };
        if let Some(known) = self.climate_file.borrow().as_ref().filter(|known| known.path == path) {
            return Ok(Some(Arc::clone(known)));
        }
        let read = Arc::new(ClimateFile::read(path, &self.words.civil)?);
        *self.climate_file.borrow_mut() = Some(Arc::clone(&read));
        Ok(Some(read))
    }
}

impl ClimateFile {
    fn read(path: PathBuf, civil: &crate::engine::units::Civil) -> Result<Self, String> {
        let shown = clean(&path.display().to_string());
        let bytes =
            bytes_of(&path).map_err(|error| format!("{shown} is not a valid climate file: {error}"))?;
        // Its years do not count, so none of them is in the future.
        let file = read_logger(&bytes, "", civil, Moment::MAX_UTC).map_err(|error| match error {
            LoggerError::DatesEither { date } => format!(
                "{shown}: \"{date}\" may be day/month or month/day; write the dates of a climate year first, such as 2025-11-30"
            ),
            error => format!("{shown}: {error}"),
        })?;
        let mut places: Vec<(Arc<str>, Vec<Reading>)> = Vec::new();
        for (place, reading) in file.readings {
            match places.iter_mut().find(|known| known.0.eq_ignore_ascii_case(&place)) {
                Some(known) => known.1.push(reading),
                None => places.push((place, vec![reading])),
            }
        }
        let fault = file.faults.into_iter().next();
        if places.is_empty() {
            let why = fault.map_or_else(|| "it has no rows".to_owned(), |fault| fault.to_string());
            return Err(format!("{shown} has no climate data: {why}"));
        }
        // A typical year is composed of months of several years, and may begin with a later one.
        places.iter_mut().for_each(|place| place.1.sort_by_key(|reading| reading.at));
        let name = path.file_name().map(|name| clean(&name.to_string_lossy())).unwrap_or(shown);
        Ok(Self { path, name, places, fault, bad_rows: file.bad_rows })
    }

    /// The faults of the file.
    fn faults(&self) -> Option<String> {
        let fault = self.fault.as_ref()?;
        Some(match self.bad_rows {
            1 => format!("{}: a row is ignored: {fault}", self.name),
            many => format!("{}: {many} rows are ignored; the first, {fault}", self.name),
        })
    }

    /// The climate of a place; or why the file has none for it.
    fn of(&self, place: &str, sky: &Sky) -> Result<Climate, String> {
        let outside = is_outdoors(place);
        let named = |wanted: &dyn Fn(&str) -> bool| {
            self.places.iter().find(|known| wanted(&known.0)).map(|known| known.1.as_slice())
        };
        let own = named(&|name| name.eq_ignore_ascii_case(place) || outside && is_outdoors(name));
        let outdoors = named(&is_outdoors).filter(|_| own.is_none());
        let climate = |readings: &[Reading], outdoors: bool| {
            let season = SeasonalMeans::of(readings);
            let from = ClimateFrom::File { name: self.name.clone(), outdoors };
            (!season.is_empty()).then_some(Climate { season, from }).ok_or_else(|| {
                format!(
                    "{} is too short for a season: a date needs readings on {} days around it, at most 6 h apart",
                    self.name,
                    SeasonalMeans::DAYS_AT_LEAST
                )
            })
        };
        let any = named(&str::is_empty);
        match (own, outdoors.zip(sky.follows), any) {
            (Some(own), ..) => climate(own, false),
            (None, Some((outdoors, (tau, gain))), _) => {
                climate(&indoors(outdoors, Shop::new(tau, gain), sky.exchanges), true)
            }
            (None, None, Some(any)) => climate(any, false),
            (None, None, None) if outdoors.is_some() => Err(format!(
                "{} holds outdoor air; how the {} follows it is unknown, so it is not used there",
                self.name,
                clean(place)
            )),
            (None, None, None) => Err(format!(
                "{} names other places ({}); it is not used for the {}",
                self.name,
                self.places.iter().map(|known| known.0.to_string()).collect::<Vec<_>>().join(", "),
                clean(place)
            )),
        }
    }
}

/// The bytes of a regular file, not of an endless stream.
fn bytes_of(path: &Path) -> io::Result<Vec<u8>> {
    let metadata = path.metadata()?;
    if !metadata.is_file() {
        return Err(io::Error::new(io::ErrorKind::InvalidInput, "it is not a file"));
    }
    if metadata.len() > LIMIT {
        return Err(io::Error::new(io::ErrorKind::FileTooLarge, "larger than 512 MiB"));
    }
    let mut bytes = Vec::new();
    File::open(path)?.take(LIMIT).read_to_end(&mut bytes)?;
    Ok(bytes)
}
