//! `stock`: what came into the shop, what was used, what is left, what it cost.

use std::io::Write;

use clap::Args;

use super::entries::execute;
use super::quantity::print;
use super::setup::Setup;
use super::{Failure, json};
use crate::app::json::stock_json;
use crate::app::session::{Order, SessionError, parse_amount};
use crate::engine::units::Money;

#[derive(Debug, Args)]
pub struct StockArguments {
    /// The product's id; left out: shows the stock
    #[arg(requires = "amount")]
    pub product: Option<String>,
    /// How much came in, as the tin says: 2kg, 750ml, 1qt
    #[arg(allow_hyphen_values = true)]
    pub amount: Option<String>,
    /// What it cost, all of it: 24.90
    #[arg(long, value_name = "P", allow_hyphen_values = true)]
    pub price: Option<String>,
    /// The number on the tin
    #[arg(long, value_name = "L")]
    pub lot: Option<String>,
    /// Record it in spite of the question
    #[arg(long)]
    pub yes: bool,
}

pub fn run(setup: &Setup, arguments: StockArguments, out: &mut dyn Write) -> Result<u8, Failure> {
    let mut session = setup.session()?;
    if let (Some(product), Some(amount)) = (arguments.product, arguments.amount) {
        let units = &setup.config.units;
        let price = arguments.price.as_deref().map(Money::parse).transpose().map_err(SessionError::from)?;
        let amount = parse_amount(&amount, units).map_err(SessionError::from)?;
        let order = Order::Stock { product, amount, price, lot: arguments.lot, sure: arguments.yes };
        return execute(setup, &mut session, order, out);
    }
    setup.tell_faults();
    let now = session.now();
    let ledgers = session.ledgers(now)?;
    let currency = &setup.config.amounts.currency;
    if setup.json {
        json(out, &stock_json(&ledgers, currency, now))?;
        return Ok(0);
    }
    print(&session.words().stock(&ledgers, currency, now), out)
}
