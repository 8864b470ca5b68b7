//! The cost of the work, in a sentence.

use super::{Words, money_text};
use crate::engine::amounts::Costs;
use crate::engine::units::clean;

impl Words {
    /// The cost so far and to come, in a sentence; None without prices.
    pub fn costs(&self, costs: &Costs) -> Option<String> {
        let Costs { used_up, to_come, unpriced } = costs;
        let used_up = used_up.map(|money| format!("about {} used so far", money_text(money)));
        let to_come = to_come.map(|money| format!("the remaining coats need about {}", money_text(money)));
        let told: Vec<String> = used_up.into_iter().chain(to_come).collect();
        let unknown = match unpriced.as_slice() {
            [] => String::new(),
            products => format!(" (not counting {}: no price or no size)", clean(&products.join(", "))),
        };
        (!told.is_empty()).then(|| format!("At the prices paid: {}{unknown}.", told.join("; ")))
    }
}
