//! What the profile of a film does not say of the coat that is to go on it.

use super::survey::AreaSurvey;
use crate::engine::profile::Product;
use crate::engine::units::clean;

impl AreaSurvey<'_> {
    /// Where the profile of the newest film does not name a product among those that may follow, sanded or
    /// not: that it does not, and what it notes.
    pub fn not_listed(&self, product: &Product) -> Option<String> {
        let under = self.newest.as_ref()?.product;
        if under.id == product.id || under.recoat_before(product).is_some() {
            return None;
        }
        let note = under.notes.as_deref().map(|note| format!(" It notes: {}", clean(note)));
        Some(format!(
            "the profile of {} does not name {} among what may go on it, sanded or not: ask both data sheets.{}",
            under.id,
            product.id,
            note.unwrap_or_default()
        ))
    }
}
