//! The page that `watch` keeps current.

use std::path::PathBuf;

use chrono::TimeDelta;

use crate::app::report::shop_page;
use crate::app::session::Session;
use crate::app::view::View;
use crate::cli::Failure;
use crate::cli::out::write_whole;
use crate::engine::assess::SurveyOptions;
use crate::engine::units::Moment;

/// A page whose words do not change is written again after this, so that its age says that it is looked after.
const AGAIN_AFTER: TimeDelta = TimeDelta::seconds(60);
const MADE_BY: &str = concat!("curewright ", env!("CARGO_PKG_VERSION"));

pub struct Page {
    file: PathBuf,
    /// What was written last, and when; None after a failure.
    last: Option<(View, Moment)>,
}

impl Page {
    /// Writes it for the first time, so that a file that cannot be written is said at once.
    pub fn begin(file: PathBuf, session: &Session<'_>) -> Result<Self, Failure> {
        let now = session.now();
        let view = session.view(&session.survey(now, SurveyOptions::default())?, now)?;
        let mut page = Self { file, last: None };
        page.write(&view)?;
        Ok(page)
    }

    /// Writes it if it says something else now, or has not been written for a minute.
    ///
    /// # Errors
    /// The trouble, as a sentence; it is tried again at the next look.
    pub fn keep(&mut self, view: &View) -> Result<(), String> {
        if let Some((written, at)) = &self.last {
            let since = view.now - *at;
            if (TimeDelta::zero()..AGAIN_AFTER).contains(&since) && says_the_same(written, view) {
                return Ok(());
            }
        }
        self.last = None;
        self.write(view).map_err(|failure| failure.to_string())
    }

    /// Writes it.
    pub fn write(&mut self, view: &View) -> Result<(), Failure> {
        write_whole(&self.file, shop_page(view, MADE_BY).as_bytes())?;
        self.last = Some((view.clone(), view.now));
        Ok(())
    }
}

/// Whether two views differ in nothing but their moment: ages count in minutes, countdowns by their end.
fn says_the_same(one: &View, other: &View) -> bool {
    let verdicts = |view: &View| -> Vec<_> {
        view.ribbons
            .iter()
            .map(|area| (area.area.clone(), area.head.clone(), area.says.clone(), area.countdown.clone()))
            .collect()
    };
    verdicts(one) == verdicts(other)
        && (&one.next, &one.banners, &one.piece) == (&other.next, &other.banners, &other.piece)
        && one
            .pots
            .iter()
            .map(|pot| (pot.batch, &pot.says))
            .eq(other.pots.iter().map(|pot| (pot.batch, &pot.says)))
}
