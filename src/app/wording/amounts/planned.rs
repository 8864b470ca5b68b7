//! The materials of a plan in words.

use super::stock::money;
use crate::app::wording::{Words, count};
use crate::engine::amounts::ProductNeed;
use crate::engine::units::{Money, clean};

impl Words {
    /// The need of the planned coats, a line per product, and the total cost.
    pub fn materials(&self, needs: &[ProductNeed], currency: &str) -> Vec<String> {
        let mut lines: Vec<String> = needs.iter().map(|need| self.product_need(need, currency)).collect();
        let costs: Vec<Money> = needs.iter().filter_map(|need| need.cost).collect();
        let unpriced: Vec<String> =
            needs.iter().filter(|need| need.cost.is_none()).map(|need| clean(&need.product)).collect();
        if !costs.is_empty() {
            let without = match unpriced.is_empty() {
                true => String::new(),
                false => format!(", without {} (price unknown)", unpriced.join(", ")),
            };
            let paid = money(costs.into_iter().sum(), currency);
            lines.push(format!("About {paid} in all at the prices paid{without}."));
        }
        lines
    }

    fn product_need(&self, need: &ProductNeed, currency: &str) -> String {
        let coats = count(need.coats, "coat", "coats");
        let product = clean(&need.product);
        if need.uncounted == need.coats {
            return format!(
                "{product}, {coats}: amount unknown: the area has no size, or the profile no film thickness."
            );
        }
        let missing = match need.uncounted {
            0 => String::new(),
            some => format!(", {some} of them not counted"),
        };
        let cost = need.cost.map(|cost| format!(", about {}", money(cost, currency))).unwrap_or_default();
        format!("{product}, {coats}{missing}: {}{cost}.", self.material(need.need, true))
    }
}
