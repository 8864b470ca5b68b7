//! Export and import of the job as lines.

use std::io::{BufRead, Write};

use super::{Session, SessionError};
use crate::app::report::{read_lines, write_lines};
use crate::engine::units::clean;
use crate::io::store::{Soundness, Store, Whole};

impl Session<'_> {
    /// Everything in the job.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn whole(&self) -> Result<Whole, SessionError> {
        Ok(self.store.as_ref().map(Store::whole).transpose()?.unwrap_or_default())
    }

    /// Whether the job is as it was written; None where there is none.
    ///
    /// # Errors
    /// Where the job cannot be read at all.
    pub fn soundness(&self) -> Result<Option<Soundness>, SessionError> {
        Ok(self.store.as_ref().map(Store::soundness).transpose()?)
    }

    /// Writes the whole job as lines.
    ///
    /// # Errors
    /// Where the job cannot be read, or the lines cannot be written.
    pub fn write_whole(&self, out: &mut dyn Write) -> Result<(), SessionError> {
        self.write_lines(&self.whole()?, out)
    }

    /// Writes a whole job, or what of it is sound, as lines.
    ///
    /// # Errors
    /// Where the lines cannot be written.
    pub fn write_lines(&self, whole: &Whole, out: &mut dyn Write) -> Result<(), SessionError> {
        write_lines(whole, env!("CARGO_PKG_VERSION"), self.clock.latest(), out)
            .map_err(|error| SessionError::World(format!("the job cannot be written: {error}")))
    }

    /// Takes a whole job in from its lines, all of it or nothing. This one has to be new, or empty.
    ///
    /// # Errors
    /// [`SessionError`] with the line that is wrong, or what is in the way.
    pub fn import_job(&mut self, file: &str, lines: impl BufRead) -> Result<Whole, SessionError> {
        let whole =
            read_lines(lines).map_err(|fault| SessionError::Input(format!("{}: {fault}", clean(file))))?;
        self.writer()?.import_job(&whole)?;
        Ok(whole)
    }
}
