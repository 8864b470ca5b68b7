//! The planned stack of steps of every area, read from a TOML file.

use chrono::TimeDelta;
use serde::{Deserialize, Serialize};

use super::entry::StepKind;
use crate::engine::hours::{FreeHours, RawFree};
use crate::engine::profile::nearest;
use crate::engine::units::{SquareMetres, clean, parse_duration};

/// Why a text is no scheme: with line and column as far as they are known.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct SchemeError(String);

/// Whether the coat after this one should go on while this one is still open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum WetOnWet {
    /// Where it can be had.
    Prefer,
    /// Always.
    Must,
    /// Never.
    Never,
}

/// What an area is made of, or covered with, before its first coat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(try_from = "String")]
pub enum Ground {
    /// Bare wood with wide pores and soft early wood.
    BareSoftwood,
    /// Bare dense wood.
    BareHardwood,
    /// Bare plywood.
    Plywood,
    /// Wood whose pores are closed.
    Sealed,
    /// Metal.
    Metal,
    /// Fibre and resin.
    Composite,
    /// A coat from before this record.
    OldPaint,
}

impl Ground {
    /// Every ground.
    pub const ALL: [Self; 7] = [
        Self::BareSoftwood,
        Self::BareHardwood,
        Self::Plywood,
        Self::Sealed,
        Self::Metal,
        Self::Composite,
        Self::OldPaint,
    ];

    /// Its word in schemes and in JSON.
    pub const fn key(self) -> &'static str {
        match self {
            Self::BareSoftwood => "bare softwood",
            Self::BareHardwood => "bare hardwood",
            Self::Plywood => "plywood",
            Self::Sealed => "sealed",
            Self::Metal => "metal",
            Self::Composite => "composite",
            Self::OldPaint => "old paint",
        }
    }

    /// Whether air leaves its pores as it warms, and takes up rain.
    pub const fn is_porous(self) -> bool {
        matches!(self, Self::BareSoftwood | Self::BareHardwood | Self::Plywood)
    }
}

impl Serialize for Ground {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.key())
    }
}

impl TryFrom<String> for Ground {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        let plain = text.trim().to_lowercase().replace(['-', '_'], " ");
        if let Some(ground) = Self::ALL.into_iter().find(|ground| ground.key() == plain) {
            return Ok(ground);
        }
        let keys = Self::ALL.map(Self::key);
        let advice = match nearest(&plain, &keys) {
            Some(meant) => format!("did you mean \"{meant}\"?"),
            None => format!("write one of \"{}\"", keys.join("\", \"")),
        };
        Err(format!("\"{}\" is not a known ground; {advice}", clean(&text)))
    }
}

/// One planned step of an area.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SchemeStep {
    /// A coat of a product.
    Coat {
        /// The product's id.
        product: String,
        /// How it should follow the coat before.
        wet_on_wet: Option<WetOnWet>,
    },
    /// Sanding, with the grit where it was said.
    Sand {
        /// "120"
        grit: String,
        /// How long it takes.
        minutes: Option<u32>,
    },
    /// Washing.
    Wash,
    /// Tape on or off.
    Tape {
        /// Whether it goes on.
        on: bool,
    },
}

impl SchemeStep {
    /// The product of a coat; None for any other step.
    pub fn product(&self) -> Option<&str> {
        match self {
            Self::Coat { product, .. } => Some(product),
            _ => None,
        }
    }

    /// The step as the record knows it; None for a coat.
    pub fn kind(&self) -> Option<StepKind> {
        match self {
            Self::Coat { .. } => None,
            Self::Sand { .. } => Some(StepKind::Sand),
            Self::Wash => Some(StepKind::Wash),
            Self::Tape { on: true } => Some(StepKind::TapeOn),
            Self::Tape { on: false } => Some(StepKind::TapeOff),
        }
    }
}

/// One area of a scheme.
#[derive(Debug, Clone, PartialEq)]
pub struct SchemeArea {
    /// Its name.
    pub name: String,
    /// Its name in the scheme before, if it has another one now.
    pub was: Option<String>,
    /// Where it stands.
    pub place: String,
    /// How large it is.
    pub square_metres: Option<SquareMetres>,
    /// How long a coat takes.
    pub takes: Option<TimeDelta>,
    /// How slowly its surface follows the air.
    pub surface_lag: TimeDelta,
    /// What the first coat goes on; None where the scheme does not say.
    pub ground: Option<Ground>,
    /// The stack, from the ground up.
    pub steps: Vec<SchemeStep>,
}

impl SchemeArea {
    /// The coats of the stack, in order.
    pub fn coats(&self) -> impl Iterator<Item = &str> {
        self.steps.iter().filter_map(SchemeStep::product)
    }
}

/// The planned stacks of a piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Scheme {
    /// The piece.
    pub name: String,
    /// Its areas.
    pub areas: Vec<SchemeArea>,
    /// When the person is free for it, where that is not as in the settings.
    pub free: FreeHours,
}

impl Scheme {
    /// Reads a scheme from its text.
    ///
    /// # Errors
    /// [`SchemeError`] with line, column and what would be right.
    pub fn read(text: &str) -> Result<Self, SchemeError> {
        let raw: RawScheme = toml::from_str(text).map_err(|error| located(text, &error))?;
        let areas = raw.area.into_iter().map(RawArea::check).collect::<Result<Vec<_>, _>>()?;
        for (index, area) in areas.iter().enumerate() {
            if areas[..index].iter().any(|other| other.name.eq_ignore_ascii_case(&area.name)) {
                return Err(SchemeError(format!(
                    "two areas are called \"{}\"; give each its own name",
                    area.name
                )));
            }
            let taken = |was: &str| areas.iter().any(|other| other.name.eq_ignore_ascii_case(was));
            if let Some(was) = area.was.as_deref().filter(|was| taken(was)) {
                return Err(SchemeError(format!(
                    "area \"{}\": was = \"{was}\" is the name of another area; remove the key or that area",
                    area.name
                )));
            }
        }
        let free = raw.free.check(text).map_err(|error| SchemeError(error.to_string()))?;
        Ok(Self { name: clean(&raw.name), areas, free })
    }

    /// The area of this name, upper and lower case alike.
    pub fn area(&self, name: &str) -> Option<&SchemeArea> {
        self.areas.iter().find(|area| area.name.eq_ignore_ascii_case(name))
    }
}

fn located(text: &str, error: &toml::de::Error) -> SchemeError {
    let place = error.span().map(|span| {
        let before = &text[..span.start.min(text.len())];
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
        format!("line {line}, column {column}: ")
    });
    let message = match error.message() {
        "missing field `name`" if !text.lines().any(|line| line.trim_start().starts_with("name")) => {
            "the piece has no name; write name = \"…\" as the first line".into()
        }
        message => clean(message),
    };
    SchemeError(format!("{}{message}", place.unwrap_or_default()))
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawScheme {
    name: String,
    #[serde(default)]
    area: Vec<RawArea>,
    #[serde(default)]
    free: RawFree,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawArea {
    name: String,
    was: Option<String>,
    place: Option<String>,
    square_metres: Option<f64>,
    minutes_per_square_metre: Option<f64>,
    surface_lag: Option<String>,
    ground: Option<Ground>,
    #[serde(default)]
    steps: Vec<RawStep>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawStep {
    coat: Option<String>,
    wet_on_wet: Option<WetOnWet>,
    sand: Option<String>,
    wash: Option<bool>,
    tape: Option<Tape>,
    minutes: Option<u32>,
}

#[derive(Deserialize, PartialEq)]
#[serde(rename_all = "lowercase")]
enum Tape {
    On,
    Off,
}

impl RawArea {
    fn check(self) -> Result<SchemeArea, SchemeError> {
        let name = clean(self.name.trim());
        let wrong = |what: &str| SchemeError(format!("area \"{name}\": {what}"));
        if name.is_empty() {
            return Err(SchemeError("an area has no name".into()));
        }
        let positive = |value: Option<f64>, key: &str| match value {
            Some(value) if !(value.is_finite() && value > 0.0 && value < 1e5) => {
                Err(wrong(&format!("{key} must be more than zero")))
            }
            other => Ok(other),
        };
        let square_metres = positive(self.square_metres, "square_metres")?;
        let pace = positive(self.minutes_per_square_metre, "minutes_per_square_metre")?;
        let lag = self.surface_lag.as_deref().unwrap_or("1 h");
        let surface_lag = parse_duration(lag).map_err(|error| wrong(&format!("surface_lag: {error}")))?;
        let steps = self.steps.into_iter().enumerate();
        let steps = steps
            .map(|(index, step)| step.check().map_err(|what| wrong(&format!("step {}: {what}", index + 1))))
            .collect::<Result<Vec<_>, _>>()?;
        let takes =
            square_metres.zip(pace).map(|(area, pace)| TimeDelta::seconds((area * pace * 60.0) as i64));
        Ok(SchemeArea {
            was: self.was.map(|was| clean(was.trim())).filter(|was| !was.is_empty()),
            place: self.place.map_or_else(|| "shop".into(), |place| clean(place.trim())),
            square_metres: square_metres.map(SquareMetres::new),
            takes,
            surface_lag,
            ground: self.ground,
            steps,
            name,
        })
    }
}

impl RawStep {
    fn check(self) -> Result<SchemeStep, &'static str> {
        match (self.coat, self.sand, self.wash, self.tape) {
            (Some(product), None, None, None) => {
                Ok(SchemeStep::Coat { product: clean(product.trim()), wet_on_wet: self.wet_on_wet })
            }
            (None, Some(grit), None, None) => {
                Ok(SchemeStep::Sand { grit: clean(grit.trim()), minutes: self.minutes })
            }
            (None, None, Some(true), None) => Ok(SchemeStep::Wash),
            (None, None, None, Some(tape)) => Ok(SchemeStep::Tape { on: tape == Tape::On }),
            _ => Err("give one of coat = \"product\", sand = \"grit\", wash = true or tape = \"on\"/\"off\""),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HUT: &str = r#"
        name = "Hut, outside"
        [[area]]
        name = "roof"
        square_metres = 6.5
        minutes_per_square_metre = 4
        surface_lag = "45 min"
        steps = [
          { coat = "epoxy-sealer" }, { sand = "120", minutes = 60 },
          { coat = "primer-two-part", wet_on_wet = "prefer" }, { tape = "off" },
        ]
    "#;

    #[test]
    fn a_scheme_lists_the_steps_of_every_area() {
        let hut = Scheme::read(HUT).unwrap();
        let roof = hut.area("Roof").unwrap();
        assert_eq!(roof.place, "shop");
        assert_eq!(roof.takes, Some(TimeDelta::minutes(26)));
        assert_eq!(roof.coats().collect::<Vec<_>>(), ["epoxy-sealer", "primer-two-part"]);
        assert_eq!(roof.steps[3], SchemeStep::Tape { on: false });
    }

    #[test]
    fn an_area_says_what_its_ground_is() {
        let plywood = HUT.replace("square_metres = 6.5", "square_metres = 6.5\nground = \"Plywood\"");
        assert_eq!(Scheme::read(&plywood).unwrap().areas[0].ground, Some(Ground::Plywood));
        assert_eq!(Scheme::read(HUT).unwrap().areas[0].ground, None);
        for ground in Ground::ALL {
            assert_eq!(Ground::try_from(ground.key().to_owned()), Ok(ground));
        }
        let error = Scheme::read(&plywood.replace("Plywood", "bare softwod")).unwrap_err().to_string();
        assert!(error.starts_with("line 6, column 10: "), "{error}");
        assert!(error.ends_with("did you mean \"bare softwood\"?"), "{error}");
        let error = Scheme::read(&plywood.replace("Plywood", "glass")).unwrap_err().to_string();
        assert!(error.contains("write one of \"bare softwood\", "), "{error}");
    }

    #[test]
    fn air_leaves_bare_wood_and_plywood_alone() {
        let porous: Vec<_> = Ground::ALL.into_iter().filter(|ground| ground.is_porous()).collect();
        assert_eq!(porous, [Ground::BareSoftwood, Ground::BareHardwood, Ground::Plywood]);
    }

    #[test]
    fn an_error_has_its_line_and_column() {
        let wrong = |text: &str| Scheme::read(text).unwrap_err().to_string();
        assert!(wrong("name = 3").starts_with("line 1, column 8: "), "{}", wrong("name = 3"));
        let twice = format!("{HUT}\n[[area]]\nname = \"ROOF\"\n");
        assert!(wrong(&twice).contains("two areas are called \"ROOF\""));
        let both = HUT.replace("{ tape = \"off\" }", "{ tape = \"off\", coat = \"x\" }");
        assert!(wrong(&both).contains("area \"roof\": step 4: give one of"));
        assert!(wrong(&HUT.replace("6.5", "-1")).contains("square_metres must be more than zero"));
        assert!(wrong(&HUT.replace("45 min", "45")).contains("surface_lag"));
        let free = format!("{HUT}\n[free]\nhours = [\"Sat 9\"]\n");
        assert!(wrong(&free).starts_with("line 14, column 10: free.hours: "), "{}", wrong(&free));
    }
}
