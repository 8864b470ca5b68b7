//! Errors of a session and their exit statuses.

use crate::engine::config::ConfigError;
use crate::engine::job::{AlertId, SchemeError};
use crate::engine::profile::UnknownProduct;
use crate::engine::units::{UnitError, WhenError, clean};
use crate::io::store::StoreError;

/// Why an action failed. Nothing was recorded.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum SessionError {
    /// The job's file.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// An unknown product.
    #[error(transparent)]
    UnknownProduct(#[from] UnknownProduct),
    /// An invalid quantity.
    #[error(transparent)]
    Unit(#[from] UnitError),
    /// An invalid moment.
    #[error(transparent)]
    When(#[from] WhenError),
    /// An invalid scheme.
    #[error("{file}: {error}")]
    Scheme {
        /// The file.
        file: String,
        /// What is wrong with it.
        error: SchemeError,
    },
    /// An invalid configuration.
    #[error("{file}: {error}")]
    Config {
        /// The file.
        file: String,
        /// What is wrong with it.
        error: ConfigError,
    },
    /// The product is not given and not planned.
    #[error(
        "which product goes on {area}? No scheme and no coat that was entered before that moment says it: curewright coat \"{area}\" PRODUCT; \"curewright profile list\" shows them all"
    )]
    WhichProduct {
        /// The area.
        area: String,
    },
    /// An unknown area with a name like a known one.
    #[error("there is no area \"{given}\"; did you mean \"{nearest}\"? For a new area add --new")]
    PerhapsMeant {
        /// What was given.
        given: String,
        /// What is there.
        nearest: String,
    },
    /// A beginning that fits several areas.
    #[error("\"{given}\" fits {}; type more of the name", listed(areas))]
    SeveralAreas {
        /// What was given.
        given: String,
        /// The areas that begin with it.
        areas: Vec<String>,
    },
    /// An unknown area.
    #[error("there is no area \"{given}\"{}", known(areas))]
    NoSuchArea {
        /// What was given.
        given: String,
        /// The areas that are there.
        areas: Vec<String>,
    },
    /// Several areas are being coated, or none.
    #[error("{}", which_area(areas))]
    WhichArea {
        /// Those being coated.
        areas: Vec<String>,
    },
    /// An entry that is not there.
    #[error("there is no entry {entry}; \"curewright record\" shows them all")]
    NoSuchEntry {
        /// Its number.
        entry: crate::engine::job::EntryId,
    },
    /// An entry that cannot be changed so.
    #[error(transparent)]
    Change(#[from] crate::engine::job::ChangeError),
    /// A name without a letter.
    #[error("an area needs a name")]
    NoName,
    /// The entry needs a confirmation.
    #[error("{0} To record it anyway, add --yes.")]
    Ask(String),
    /// A coat that is not as the scheme says, which is recorded only where the person says yes.
    #[error("{0} To record it anyway, add --yes.")]
    AgainstScheme(String),
    /// Wrong input of another kind.
    #[error("{0}")]
    Input(String),
    /// An external failure.
    #[error("{0}")]
    World(String),
}

impl SessionError {
    /// An alert that the job does not have.
    pub(super) fn no_alert(id: AlertId) -> Self {
        Self::Input(format!("there is no alert {}; \"curewright alerts\" shows them all", id.0))
    }

    /// The exit status: 1 asked first and not recorded, 2 wrong usage or input, 3 could not.
    pub const fn status(&self) -> u8 {
        match self {
            Self::Store(StoreError::Refused(_) | StoreError::Improper(_) | StoreError::NotEmpty { .. }) => 2,
            Self::Store(_) | Self::World(_) => 3,
            Self::AgainstScheme(_) => 1,
            _ => 2,
        }
    }
}

fn known(areas: &[String]) -> String {
    match areas {
        [] => "; nothing has been recorded yet".into(),
        areas => format!("; there is {}", areas.join(", ")),
    }
}

fn listed(areas: &[String]) -> String {
    let names: Vec<String> = areas.iter().map(|area| format!("\"{}\"", clean(area))).collect();
    names.join(" and ")
}

fn which_area(areas: &[String]) -> String {
    match areas {
        [] => "no coat is being applied; start one with \"curewright coat AREA\"".into(),
        areas => format!("which area has its last stroke: {}?", areas.join(" or ")),
    }
}
