//! Notes on the piece, an area or an entry, with the path of a photo.

use std::path::Path;

use super::{Done, Session, SessionError};
use crate::engine::job::{EntryId, EntryKind};
use crate::engine::units::{Moment, clean};

impl Session<'_> {
    /// Records a note. A photo is not copied: its path is kept, and a missing file is reported.
    pub(super) fn note(
        &mut self,
        area: Option<&str>,
        entry: Option<EntryId>,
        text: &str,
        photo: Option<&Path>,
        at: Moment,
    ) -> Result<Done, SessionError> {
        let area = area.map(|area| self.area_name(area, true)).transpose()?;
        let about = entry.map(|id| {
            let entries = self.entries()?;
            let found = entries.into_iter().find(|known| known.id == id);
            found.ok_or(SessionError::NoSuchEntry { entry: id })
        });
        let about = about.transpose()?;
        let area = area.or_else(|| about.as_ref().and_then(|entry| entry.kind.area()).map(str::to_owned));
        let text = clean(text.trim());
        if text.is_empty() && photo.is_none() {
            return Err(SessionError::Input("a note needs a text or a photo".into()));
        }
        // A relative path has no meaning later.
        let photo = photo.map(|path| std::path::absolute(path).unwrap_or_else(|_| path.to_owned()));
        let photo = photo.as_deref();
        let missing = photo.filter(|path| !path.is_file()).map(|path| {
            let path = clean(&path.display().to_string());
            format!("There is no photo at {path} now; the path is recorded anyway.")
        });
        let photo = photo.map(|path| clean(&path.display().to_string()));
        let says = self.note_down(at, EntryKind::Note { area, entry, text, photo })?;
        Ok(Done { says, cautions: missing.into_iter().collect() })
    }
}
